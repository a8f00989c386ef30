// Rooms that differ in their values alone, and many sources, by a shared small model: against the
// box's own solver and outright solutions.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>

#include "acoustics/waves/solid_response.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {
namespace {

using Pressure = std::complex<double>;

ResponseRequest box_room() {
  ResponseRequest out;
  out.room = make_box(4.3, 3.1, 2.4).value();
  out.surfaces.assign(6, {0.03});
  return out;
}
/// In a corner from floor to ceiling, at the request's frequencies: ρ = 1 − j r/f, κ = 1 + 0.4 / (1
/// + j f/300), the shape of Rayleigh's model (from memory); both solvers are given the same.
void put_wool(ResponseRequest& request, double resistance_hz) {
  FluidSlab slab{2.4, {}, {}};
  for (const double hz : request.frequencies_hz) {
    slab.density.push_back(1.0 - Pressure(0, resistance_hz) / hz);
    slab.compressibility.push_back(1.0 + 0.4 / (1.0 + Pressure(0, 1) * hz / 300.0));
  }
  request.objects = {{{{0, 0}, {0.6, 0}, {0, 0.6}}, 0, 2.4, {0, 0, 1}, {slab}}};
}

// ---- one room with other values -----------------------------------------------------------------

/// A room with a block of wool and a patch, its values a little other for each `i`.
ResponseRequest variant(int i, bool block) {
  const auto share = [i](int base) {
    return std::fmod(0.5 + i * (base == 2 ? 0.618 : 0.414), 1.0);
  };
  ResponseRequest out = box_room();
  for (int s = 0; s < 6; ++s)
    out.surfaces[std::size_t(s)] = {0.02 * (0.7 + 0.7 * share(s % 2 + 2))};
  out.patches = {{{3, {0.5, 0.7}, {1.7, 1.9}}, {Pressure(0.2 + 0.2 * share(3), 0.1 * share(2))}}};
  out.sound_speed_m_s *= 1 + 0.012 * (share(3) - 0.5);
  out.sources = {{{0.9, 2.4, 1.1}}};
  out.receivers_m = {{3.2, 1.4, 1.2}};
  std::vector<double> hz;
  for (double f = 20; f <= 150; f += 10) hz.push_back(f);
  out.frequencies_hz = hz;
  if (block) put_wool(out, 600 + 1400 * share(2));
  return out;
}
std::vector<ResponseRequest> variants(int count, bool block) {
  std::vector<ResponseRequest> out;
  for (int i = 0; i < count; ++i) out.push_back(variant(i, block));
  return out;
}
void expect_level(const std::vector<Pressure>& found, const std::vector<Pressure>& wanted,
                  double within_db) {
  double greatest = 0;
  for (const Pressure value : wanted) greatest = std::max(greatest, std::abs(value));
  for (std::size_t f = 0; f < wanted.size(); ++f)
    EXPECT_NEAR(20 * std::log10(std::abs(found[f] / wanted[f])), 0,
                std::abs(wanted[f]) > greatest * std::pow(10, -1.5) ? within_db : 2 * within_db)
        << f;
}

// Source: the box's own solver, another method
TEST(Variants, of_a_box_by_the_shared_model_are_those_by_its_own_solver) {
  const auto rooms = variants(24, false);
  const auto shared = shared_variant_responses(rooms, {}).value();
  const auto own = variant_responses(rooms, {}).value();
  EXPECT_LT(shared.off, 0.03);
  for (std::size_t v = 0; v < rooms.size(); ++v) {
    EXPECT_EQ(own.pressure_pa[v], response(rooms[v], {}).value().pressure_pa);
    expect_level(shared.pressure_pa[v][0], own.pressure_pa[v][0], 0.05);
  }
}

TEST(Variants, of_a_room_with_a_body_are_those_solved_outright_one_by_one) {
  const auto rooms = variants(24, true);
  const auto shared = variant_responses(rooms, {}).value();
  for (const std::size_t v : {1u, 10u, 23u}) {
    SolidOptions outright;
    outright.every_outright = true;
    const auto alone = solid_responses(rooms[v], outright).value();
    expect_level(shared.pressure_pa[v][0], alone[0].pressure_pa[0], 0.03);
  }
}

TEST(Variants, have_the_same_bytes_on_any_number_of_threads) {
  const auto rooms = variants(20, true);
  ResponseOptions one, five;
  one.threads = 1, five.threads = 5;
  EXPECT_EQ(variant_responses(rooms, one).value().pressure_pa,
            variant_responses(rooms, five).value().pressure_pa);
}

TEST(Variants, that_differ_in_more_than_values_are_refused) {
  auto rooms = variants(3, true);
  rooms[2].objects[0].plan_m[1].x += 0.05;
  EXPECT_NE(variant_responses(rooms, {}).mistakes().text().find("variants[2]"), std::string::npos);
  rooms = variants(3, false);
  rooms[1].receivers_m[0].x += 0.1;
  EXPECT_NE(variant_responses(rooms, {}).mistakes().text().find("variants[1]"), std::string::npos);
  EXPECT_FALSE(variant_responses({}, {}).ok());
}

// ---- many sources -------------------------------------------------------------------------------

TEST(ManySources, of_which_some_make_the_small_model_are_those_solved_outright) {
  ResponseRequest request = box_room();
  for (double f = 20; f <= 140; f += 5) request.frequencies_hz.push_back(f);
  put_wool(request, 1000);
  for (int i = 0; i < 40; ++i) request.sources.push_back({{0.9 + 0.06 * i, 0.8 + 0.035 * i, 1.1}});
  for (int i = 0; i < 30; ++i) request.receivers_m.push_back({0.8 + 0.08 * i, 2.7 - 0.02 * i, 1.4});
  SolidOptions usual, outright;
  outright.every_outright = true;
  const auto found = solid_responses(request, usual).value();
  const auto wanted = solid_responses(request, outright).value();
  ASSERT_EQ(found.size(), 40u);
  for (std::size_t s = 0; s < found.size(); ++s)
    for (std::size_t r = 0; r < 30; ++r)
      expect_level(found[s].pressure_pa[r], wanted[s].pressure_pa[r], 0.1);
}

}  // namespace
}  // namespace roomwright::acoustics
