// The inner loop from nodes against the inner loop at every angle, which the witness holds against
// the library's complex functions.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/absorbers/kernel_nodes.h"
#include "acoustics/absorbers/layers.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {
namespace {

/// Any layer that the checks let through, its figures spread evenly by their logarithms.
struct WideLayers {
  Random& random;
  double spread(double low, double high) {
    return std::exp(random.uniform(std::log(low), std::log(high)));
  }
  Layer any() {
    switch (random.below(6)) {
      case 0:
        return AirLayer{spread(1e-3, 0.5)};
      case 1:
        return MembraneLayer{spread(0.01, 50)};
      case 2:
        return ScreenLayer{spread(1, 1e5), std::nullopt};
      case 3:
        return PerforatedLayer{spread(1e-3, 0.03), spread(2e-4, 0.02), random.uniform(0.002, 0.9),
                               random.below(2) == 1};
      default: {
        PorousLayer layer;
        layer.thickness_m = spread(1e-3, 0.5);
        layer.flow_resistivity_pa_s_m2 = spread(100, 1e6);
        layer.model = random.below(2) ? PorousModel::miki : PorousModel::johnson_champoux_allard;
        layer.limp = random.below(3) == 0;
        layer.density_kg_m3 = random.uniform(5, 100);
        layer.tortuosity = random.uniform(1, 3);
        return layer;
      }
    }
  }
  Stack stack(std::uint32_t most) {
    Stack out;
    for (std::uint32_t n = 1 + random.below(most); n > 0; --n) out.layers.push_back(any());
    out.backing = random.below(8) == 0 ? Backing::open : Backing::rigid;
    return out;
  }
};

TEST(InnerLoop, from_nodes_agrees_with_every_angle_worked_out) {
  Random random(31);
  WideLayers layers{random};
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 600 : 20;
  double worst = 0;
  for (int round = 0; round < rounds; ++round) {
    std::vector<Stack> stacks;
    for (int i = 0; i < 60; ++i) stacks.push_back(layers.stack(round % 2 ? 12 : 3));
    AbsorptionOptions options;
    options.incidence.diffuse_to_deg = random.below(2) ? 78 : random.uniform(20, 90);
    options.angles = 8 + static_cast<int>(random.below(120));
    if (random.below(6) == 0) options.reaction = Reaction::local;
    if (random.below(6) == 0) options.size_m = Size2{random.uniform(0.3, 2), 1};
    std::vector<double> hz;
    for (int i = 0; i < 20; ++i) hz.push_back(layers.spread(20, 8000));
    // So many at once are worked out from nodes; one stack alone is not.
    const Air air = make_air({}).value();
    const auto many = absorptions(stacks, air, hz, options).value();
    for (std::size_t s = 0; s < stacks.size(); ++s) {
      const auto alone = absorptions({stacks[s]}, air, hz, options).value()[0];
      for (std::size_t f = 0; f < hz.size(); ++f) {
        worst = std::max(worst, std::abs(many[s][f] - alone[f]));
        EXPECT_NEAR(many[s][f], alone[f], 1e-11) << round << " " << s << " at " << hz[f] << " Hz";
      }
    }
  }
  RecordProperty("worst_e15", std::to_string(worst * 1e15));
}

TEST(InnerLoop, nodes_reproduce_polynomials_and_reach_further_the_more_they_are) {
  std::vector<double> sine2;
  for (int i = 0; i < 60; ++i) sine2.push_back(0.95 * i / 59);
  const KernelTable table(sine2);
  ASSERT_EQ(table.sets().size(), 11u);
  double reach = 0;
  for (const KernelNodes& nodes : table.sets()) {
    EXPECT_GT(nodes.reach, reach);
    reach = nodes.reach;
    EXPECT_EQ(nodes.worked_out % kernel_step, 0);
    // The greatest power that they stand for, and cos π t √(1 − x) of the greatest turn
    for (std::size_t a = 0; a < sine2.size(); ++a) {
      double power = 0, cosine = 0;
      for (int n = 0; n < nodes.count; ++n) {
        const double* share = nodes.share + (a / kernel_block * nodes.count + n) * kernel_block;
        power += share[a % kernel_block] * std::pow(nodes.sine2[n], nodes.count - 1);
        cosine += share[a % kernel_block] * std::cos(std::acos(-1.0) * reach * nodes.cosine[n]);
      }
      EXPECT_NEAR(power, std::pow(sine2[a], nodes.count - 1), 1e-13) << nodes.count;
      EXPECT_NEAR(cosine, std::cos(std::acos(-1.0) * reach * std::sqrt(1 - sine2[a])), 2e-13)
          << nodes.count;
    }
  }
}

}  // namespace
}  // namespace roomwright::acoustics
