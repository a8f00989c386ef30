// Complex frequencies of rooms with bodies: against exact damped boxes, closed forms of layered
// fluids, the solver of prisms, and the laws they must obey.
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <complex>

#include "acoustics/waves/solid_decays.h"
#include "acoustics/waves/waves.h"
#include "figures/reference_room.h"

namespace roomwright::acoustics {
namespace {

using Number = std::complex<double>;
const double decay_test_pi = std::acos(-1.0);
constexpr double sound_m_s = 343.2;

ResponseRequest bare(const Room& room, const std::vector<double>& walls) {
  ResponseRequest out;
  out.room = room;
  out.sound_speed_m_s = sound_m_s;
  for (const double beta : walls) out.surfaces.push_back({beta});
  out.frequencies_hz = {200};
  return out;
}

SolidDecays decays(const ResponseRequest& request, double max_hz, int more = 0, int threads = 2) {
  auto found = solid_damped_waves(request, max_hz, {threads, more}, {});
  if (!found) throw std::runtime_error(found.mistakes().text());
  return std::move(found).value();
}
double time_of(Number hz) {
  return 3 * std::log(10.0) / (2 * decay_test_pi * hz.imag());
}

/// Each of `wanted` has one of its own in `found`, within these shares of frequency and time.
void expect_same(std::vector<Number> found, const std::vector<Number>& wanted, double of_hz,
                 double of_time) {
  ASSERT_EQ(found.size(), wanted.size());
  for (const Number& exact : wanted) {
    const auto near = std::min_element(found.begin(), found.end(), [&](Number a, Number b) {
      return std::abs(a - exact) < std::abs(b - exact);
    });
    EXPECT_NEAR(near->real() / exact.real(), 1, of_hz) << exact;
    EXPECT_NEAR(time_of(*near) / time_of(exact), 1, of_time) << exact << " and " << *near;
    found.erase(near);
  }
}
std::vector<Number> frequencies(const SolidDecays& decays) {
  std::vector<Number> out;
  for (const DampedWave& wave : decays.waves) out.push_back(wave.hz);
  return out;
}

// Source of both: separable Robin problem (damped_modes; P. M. Morse & K. U. Ingard, Theoretical
// Acoustics, ch. 9)
void expect_box(const std::vector<double>& walls, double of_time) {
  const Room box = make_box(5, 4, 2.6).value();
  const auto exact = damped_modes(box, sound_m_s, 110, walls).value();
  std::vector<Number> wanted;
  for (const Mode& mode : exact.modes)
    wanted.emplace_back(mode.hz, 3 * std::log(10.0) / (2 * decay_test_pi * *mode.decay_s));
  const SolidDecays found = decays(bare(box, walls), 110);
  EXPECT_LT(found.off, 0.005);
  expect_same(frequencies(found), wanted, 1e-4, of_time);
}
TEST(SolidDecays, meet_the_exact_ones_of_a_box_with_hard_walls) {
  expect_box({0.01, 0.005, 0.002, 0.01, 0.002, 0.002}, 1e-4);
}
TEST(SolidDecays, meet_the_exact_ones_of_a_box_with_walls_that_absorb) {
  expect_box({0.1, 0.05, 0.02, 0.1, 0.02, 0.02}, 1e-4);
}
TEST(SolidDecays, meet_the_exact_ones_of_a_box_with_soft_walls) {
  expect_box({0.3, 0.05, 0.1, 0.3, 0.1, 0.2}, 1e-4);
}

// ---- a wall lined by a volume -------------------------------------------------------------------

/// Resistive fluid that slowly takes up heat, at complex frequencies too: ρ = 1 − j r/f, κ = 1 +
/// 0.4 / (1 + j f/t). The shape of Rayleigh's model (K. Attenborough, J. Acoust. Soc. Am. 73
/// (1983), from memory); as a check only its being a function of frequency counts.
struct Lining {
  double resistance_hz = 0, heat_hz = 300;
  Number density(Number hz) const { return 1.0 - Number(0, resistance_hz) / hz; }
  Number compressibility(Number hz) const {
    return 1.0 + 0.4 / (1.0 + Number(0, 1) * hz / heat_hz);
  }
};

/// Damped frequencies of a rigid box whose wall x = length is lined over `lining` m, in closed
/// form: q tan(q a) + (s/ρ) tan(s b) = 0 for each pair of cosines across, followed by Newton's
/// method (secants) from the box full of air. Our own, from the wave equation of layered fluids.
std::vector<Number> lined_frequencies(Vec3 size, double lining, const Lining& fluid,
                                      double max_hz) {
  std::vector<Number> out;
  for (int l = 0; l < 40; ++l)
    for (int m = 0; m < 40; ++m)
      for (int n = 0; n < 40; ++n) {
        const double across =
            std::pow(m * decay_test_pi / size.y, 2) + std::pow(n * decay_test_pi / size.z, 2);
        const double rigid = sound_m_s / (2 * decay_test_pi) *
                             std::sqrt(std::pow(l * decay_test_pi / size.x, 2) + across);
        if (rigid > max_hz || l + m + n == 0) continue;
        const auto miss = [&](Number hz, double share) {
          const Number k = 2 * decay_test_pi * hz / sound_m_s;
          const Number light = 1.0 + share * (1.0 / fluid.density(hz) - 1.0);
          const Number springy = 1.0 + share * (fluid.compressibility(hz) - 1.0);
          const Number air = std::sqrt(k * k - across);
          const Number in = std::sqrt(k * k * springy / light - across);
          const double face = size.x - lining;
          // times both cosines: without poles
          return air * std::sin(air * face) * std::cos(in * lining) +
                 light * in * std::sin(in * lining) * std::cos(air * face);
        };
        Number at(rigid, 1e-6);
        const int steps = 400;
        for (int step = 1; step <= steps; ++step) {
          const double share = std::pow(double(step) / steps, 2);
          Number before = at * (1.0 + 1e-5);
          Number value = miss(before, share);
          for (int turn = 0; turn < 40; ++turn) {
            const Number here = miss(at, share);
            if (here == value || std::abs(at - before) < 1e-12 * std::abs(at)) break;
            const Number next = at - here * (at - before) / (here - value);
            before = at, value = here, at = next;
          }
        }
        out.push_back(at);
      }
  return out;
}

ResponseRequest lined_box(Vec3 size, double lining, const Lining& fluid) {
  ResponseRequest out = bare(make_box(size.x, size.y, size.z).value(), {});
  out.frequencies_hz.clear();
  FluidSlab slab{lining, {}, {}};
  for (double hz = 10; hz <= 150; hz += 2.5) {
    out.frequencies_hz.push_back(hz);
    slab.density.push_back(fluid.density(hz));
    slab.compressibility.push_back(fluid.compressibility(hz));
  }
  out.objects = {{{{size.x - lining, 0}, {size.x, 0}, {size.x, size.y}, {size.x - lining, size.y}},
                  0,
                  size.z,
                  {-1, 0, 0},
                  {slab}}};
  return out;
}

void expect_lined(double lining, double resistance_hz, double of_time) {
  const Vec3 size{4, 3, 2.4};
  const Lining fluid{resistance_hz};
  const SolidDecays found = decays(lined_box(size, lining, fluid), 110);
  EXPECT_LT(found.off, 0.005);
  expect_same(frequencies(found), lined_frequencies(size, lining, fluid, 110), 1e-4, of_time);
}
TEST(SolidDecays, meet_the_closed_form_of_a_wall_lined_by_a_light_volume) {
  expect_lined(0.3, 200, 0.002);
}
TEST(SolidDecays, meet_the_closed_form_of_a_wall_lined_by_wool) {
  expect_lined(0.1, 1300, 5e-4);  // 10 kPa s/m2 over 2 pi rho
}

// ---- laws ---------------------------------------------------------------------------------------

/// A body of wool in a corner from floor to ceiling, as light or heavy as asked.
void put_trap(ResponseRequest& request, double resistance_hz) {
  const Lining fluid{resistance_hz};
  request.frequencies_hz.clear();
  FluidSlab slab{0.6, {}, {}};
  for (double hz = 10; hz <= 150; hz += 2.5) {
    request.frequencies_hz.push_back(hz);
    slab.density.push_back(fluid.density(hz));
    slab.compressibility.push_back(fluid.compressibility(hz));
  }
  request.objects.push_back({{{0, 0}, {0.6, 0}, {0, 0.6}}, 0, 2.4, {0, 0, 1}, {slab}});
  request.objects.back().slabs[0].thickness_m = 2.4;
}

// Source: the solver of prisms (treated_modes), another method with its own derivation
TEST(SolidDecays, agree_with_the_solver_of_prisms_in_an_l_with_patches_and_under_a_slope) {
  const Room rooms[] = {reference::l_room(),
                        Room{make_box(4.3, 3.1, 2.4).value().plan_m, 2.4, {0.15, 0}}};
  for (const Room& room : rooms) {
    ResponseRequest request =
        bare(room, std::vector<double>(std::size_t(surface_count(room)), 0.02));
    request.patches = {{{2, {2, 0.5}, {3.2, 1.7}}, {0.3}}, {{3, {0.5, 0.7}, {1.7, 1.9}}, {0.3}}};
    const auto prism = treated_modes(room, sound_m_s, 90, request.surfaces, request.patches,
                                     request.frequencies_hz)
                           .value();
    std::vector<Number> wanted;
    for (const Mode& mode : prism.modes)
      wanted.emplace_back(mode.hz, 3 * std::log(10.0) / (2 * decay_test_pi * *mode.decay_s));
    ASSERT_GT(wanted.size(), 4u);
    expect_same(frequencies(decays(request, 90)), wanted, 1e-3, 0.005);
  }
}

TEST(SolidDecays, a_body_of_air_changes_nothing) {
  ResponseRequest request = bare(make_box(4.3, 3.1, 2.4).value(), std::vector<double>(6, 0.03));
  const auto without = frequencies(decays(request, 100));
  request.objects = {{{{0, 0}, {0.6, 0}, {0, 0.6}}, 0, 2.4, {0, 0, 1}, {{2.4, {1}, {1}}}}};
  expect_same(frequencies(decays(request, 100)), without, 1e-4, 2e-3);
}

TEST(SolidDecays, are_one_for_each_rigid_mode_and_a_trap_shortens_most_of_them) {
  ResponseRequest request = bare(reference::l_room(), std::vector<double>(std::size_t(8), 0.02));
  const auto rigid = modes(request.room, sound_m_s, 100).value();
  const auto before = treated_modes(request, 100).value();
  put_trap(request, 1300);
  const auto after = treated_modes(request, 100).value();
  ASSERT_EQ(before.modes.size(), rigid.modes.size());
  ASSERT_EQ(after.modes.size(), rigid.modes.size());
  int shorter = 0;
  for (std::size_t i = 0; i < rigid.modes.size(); ++i)
    for (const Mode& mode : after.modes)
      if (std::abs(*mode.rigid_hz - rigid.modes[i].hz) < 1e-6) {
        for (const Mode& was : before.modes)
          if (std::abs(*was.rigid_hz - rigid.modes[i].hz) < 1e-3) {
            EXPECT_LT(*mode.decay_s, 1.01 * *was.decay_s) << mode.hz;
            shorter += *mode.decay_s < 0.9 * *was.decay_s;
          }
      }
  EXPECT_GT(shorter, int(rigid.modes.size() / 2));
}

TEST(SolidDecays, are_all_different_where_deep_traps_of_dense_wool_bring_modes_of_their_own) {
  // Followed alone, some of these lose themselves in a mode of the wool.
  for (const double depth : {0.65, 0.75, 0.8}) {
    ResponseRequest request = bare(make_box(4.3, 3.1, 2.4).value(), std::vector<double>(6, 0.02));
    put_trap(request, 3000);
    request.objects.push_back(request.objects[0]);
    request.objects[0].plan_m = {{0, 0}, {depth, 0}, {0, depth}};
    request.objects[1].plan_m = {{4.3, 0}, {4.3, depth}, {4.3 - depth, 0}};
    const auto found = frequencies(decays(request, 100));
    EXPECT_EQ(found.size(), modes(request.room, sound_m_s, 100).value().modes.size());
    for (std::size_t a = 0; a < found.size(); ++a) {
      EXPECT_GT(found[a].imag(), 0);
      for (std::size_t b = a + 1; b < found.size(); ++b)
        EXPECT_GT(std::abs(found[a] - found[b]), 1e-3) << found[a];
    }
  }
}

TEST(SolidDecays, differ_little_as_the_degrees_rise) {
  ResponseRequest request = bare(make_box(4.3, 3.1, 2.4).value(), std::vector<double>(6, 0.03));
  put_trap(request, 1300);
  expect_same(frequencies(decays(request, 110)), frequencies(decays(request, 110, 2)), 1e-4, 0.002);
}

TEST(SolidDecays, have_the_same_bytes_on_any_number_of_threads_and_stop_when_cancelled) {
  ResponseRequest request = bare(make_box(4.3, 3.1, 2.4).value(), std::vector<double>(6, 0.03));
  put_trap(request, 400);
  EXPECT_EQ(frequencies(decays(request, 90, 0, 1)), frequencies(decays(request, 90, 0, 5)));
  const std::atomic<bool> cancel{true};
  EXPECT_FALSE(treated_modes(request, 90, {nullptr, &cancel}).ok());
}

TEST(SolidDecays, tell_what_is_wrong) {
  ResponseRequest request = bare(make_box(4.3, 3.1, 2.4).value(), std::vector<double>(6, 0.03));
  put_trap(request, 400);
  request.surfaces[1] = {Number(-0.1, 0)};
  EXPECT_NE(treated_modes(request, 90).mistakes().text().find("surfaces.ceiling"),
            std::string::npos);
  request.surfaces[1] = {0.1};
  std::reverse(request.frequencies_hz.begin(), request.frequencies_hz.end());
  EXPECT_NE(treated_modes(request, 90).mistakes().text().find("ascend"), std::string::npos);
}

}  // namespace
}  // namespace roomwright::acoustics
