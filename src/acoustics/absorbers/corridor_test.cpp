// Corridors against dense sampling, against the plain absorption where nothing is doubtful, and the
// closed form of Paris' integral for a constant impedance.
#include <gtest/gtest.h>

#include <cmath>

#include "acoustics/absorbers/absorbers.h"
#include "core/numerics/numerics.h"
#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

Stack panel(double resistivity) {
  PorousLayer wool;
  wool.thickness_m = 0.05;
  wool.flow_resistivity_pa_s_m2 = resistivity;
  return {{ScreenLayer{40, 0.2}, wool, AirLayer{0.06}}, Backing::rigid};
}

const std::vector<double> hz = {63, 125, 250, 500, 1000, 4000};

TEST(Corridor, of_one_doubt_meets_dense_sampling) {
  const Air air = standard_air();
  const LayerSpread spread{1, Quantity::flow_resistivity, 9000, 30000};
  const auto got = absorption_corridor(panel(17000), {spread}, air, hz, {}, {256, 5}).value();
  std::vector<Stack> dense;
  for (int i = 0; i < 2000; ++i)
    dense.push_back(panel(log_normal_between(9000, 17000, 30000, (i + 0.5) / 2000)));
  const auto rows = absorptions(dense, air, hz, {}).value();
  for (std::size_t f = 0; f < hz.size(); ++f) {
    std::vector<double> values;
    for (const auto& row : rows) values.push_back(row[f]);
    EXPECT_NEAR(got.low[f], quantile(values, 0.1), 0.003) << hz[f];
    EXPECT_NEAR(got.middle[f], quantile(values, 0.5), 0.003) << hz[f];
    EXPECT_NEAR(got.high[f], quantile(values, 0.9), 0.003) << hz[f];
    EXPECT_LT(got.low[f], got.high[f]);
  }
}

TEST(Corridor, has_no_width_where_nothing_is_doubtful) {
  const Air air = standard_air();
  const auto got = absorption_corridor(panel(17000),
                                       {{1, Quantity::flow_resistivity, 17000, 17000},
                                        {2, Quantity::thickness, 0.06, 0.06}},
                                       air, hz, {}, {})
                       .value();
  const auto plain = absorption(panel(17000), air, hz, {}).value();
  for (std::size_t f = 0; f < hz.size(); ++f) {
    EXPECT_NEAR(got.low[f], plain.absorption[f], 1e-9);
    EXPECT_NEAR(got.high[f], plain.absorption[f], 1e-9);
  }
}

TEST(Corridor, is_the_same_for_the_same_seed_and_wider_with_more_doubt) {
  const Air air = standard_air();
  const LayerSpread little{1, Quantity::flow_resistivity, 15000, 19000};
  const LayerSpread much{1, Quantity::flow_resistivity, 5000, 60000};
  const auto a = absorption_corridor(panel(17000), {little}, air, hz, {}, {64, 9}).value();
  const auto b = absorption_corridor(panel(17000), {little}, air, hz, {}, {64, 9}).value();
  const auto wide = absorption_corridor(panel(17000), {much}, air, hz, {}, {64, 9}).value();
  EXPECT_EQ(a.low, b.low);
  for (const std::size_t f : {1u, 2u}) EXPECT_GT(wide.high[f] - wide.low[f], a.high[f] - a.low[f]);
}

TEST(Corridor, keeps_the_pitch_where_a_hole_is_drilled_too_wide) {
  // A hole 10 % wider at its pitch is 21 % more open area. Below resonance absorption rises with
  // the hole, so the corridor's ends are the stacks drilled at the ends of the spread.
  const Air air = standard_air();
  const auto drilled = [](double by) {
    return Stack{{PerforatedLayer{0.006, 0.005 * by, 0.05 * by * by, false}, ScreenLayer{200, {}},
                  AirLayer{0.1}},
                 Backing::rigid};
  };
  const auto at = [&](double by) {
    return absorption(drilled(by), air, {900}, {}).value().absorption[0];
  };
  ASSERT_LT(at(0.9), at(1.1));
  const auto got = absorption_corridor(drilled(1), {{0, Quantity::hole, 0.0045, 0.0055}}, air,
                                       {900}, {}, {2048, 1})
                       .value();
  EXPECT_NEAR(got.low[0], at(0.9), 1e-3);
  EXPECT_NEAR(got.high[0], at(1.1), 1e-3);
}

TEST(Corridor, tells_what_it_cannot_spread) {
  const auto fault = [&](LayerSpread spread) {
    return absorption_corridor(panel(17000), {spread}, standard_air(), hz, {}, {}).ok();
  };
  EXPECT_FALSE(fault({7, Quantity::thickness, 0.01, 0.02}));
  EXPECT_FALSE(fault({2, Quantity::mass, 0.01, 0.02}));
  EXPECT_FALSE(fault({1, Quantity::flow_resistivity, 20000, 30000}));
  EXPECT_FALSE(fault({1, Quantity::flow_resistivity, -1, 30000}));
  EXPECT_TRUE(fault({0, Quantity::mass, 0.1, 0.3}));
}

TEST(Paris, resistance_of_absorption_undoes_the_closed_form) {
  // Source: tests/figures/paris_closed_form.csv
  for (const auto& row : figures::rows("paris_closed_form.csv"))
    if (std::stod(row.at("Im_zeta")) == 0 && std::stod(row.at("Re_zeta")) > 1.6)
      EXPECT_NEAR(resistance_of_absorption(std::stod(row.at("alpha_closed_form"))),
                  std::stod(row.at("Re_zeta")), 1e-5);
  EXPECT_NEAR(resistance_of_absorption(1.3), 1.567, 1e-6);
  EXPECT_GT(resistance_of_absorption(0), 1e8);
}

TEST(Paris, local_reaction_meets_the_closed_form_of_a_constant_impedance) {
  // Source: closed form of Paris' formula for a locally reacting plane, as in Kuttruff, Room
  // Acoustics (tests/figures/paris_closed_form.csv). A screen over a quarter-wave gap is a plain
  // resistance at one frequency.
  const Air air = standard_air();
  for (const auto& row : figures::rows("paris_closed_form.csv")) {
    if (std::stod(row.at("Im_zeta")) != 0) continue;
    const double depth_m = 0.1, quarter_hz = air.sound_speed_m_s / (4 * depth_m);
    const Stack stack{
        {ScreenLayer{std::stod(row.at("Re_zeta")) * air.impedance_pa_s_m(), {}}, AirLayer{depth_m}},
        Backing::rigid};
    AbsorptionOptions options;
    options.reaction = Reaction::local;
    options.incidence.diffuse_to_deg = 90;
    options.angles = 200;
    EXPECT_NEAR(absorption(stack, air, {quarter_hz}, options).value().absorption[0],
                std::stod(row.at("alpha_closed_form")), 1e-6);
  }
}

}  // namespace
}  // namespace roomwright::acoustics
