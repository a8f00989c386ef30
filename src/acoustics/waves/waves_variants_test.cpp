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

// ---- other sizes --------------------------------------------------------------------------------

/// Each direction by up to 1 %, spread over the variants.
RoomStretch stretch_of(int i, Vec2 along = {1, 0}) {
  const auto by = [i](double step) { return 1 + 0.02 * (std::fmod(0.5 + i * step, 1.0) - 0.5); };
  return {{by(0.618), by(0.414), by(0.732)}, along};
}
/// At each frequency, the greatest difference in dB.
double apart_db(const std::vector<Pressure>& found, const std::vector<Pressure>& wanted) {
  double out = 0;
  for (std::size_t f = 0; f < wanted.size(); ++f)
    out = std::max(out, std::abs(20 * std::log10(std::abs(found[f] / wanted[f]))));
  return out;
}

// Source: the box's own solver, another method
TEST(Stretch, of_a_box_by_the_shared_model_is_the_box_of_those_sizes) {
  auto rooms = variants(18, false);
  for (ResponseRequest& room : rooms) room.frequencies_hz = {22, 41, 63, 86, 104, 127, 149};
  std::vector<RoomStretch> sizes;
  for (int i = 0; i < 18; ++i) sizes.push_back(stretch_of(i));
  ResponseOptions fine;
  fine.accuracy_db = 0.05;
  const auto shared = shared_variant_responses(rooms, fine, {}, sizes).value();
  const auto own = variant_responses(rooms, fine, {}, sizes).value();
  for (std::size_t v = 0; v < rooms.size(); ++v)
    EXPECT_LT(apart_db(shared.pressure_pa[v][0], own.pressure_pa[v][0]), 0.02) << v;
  EXPECT_GT(apart_db(own.pressure_pa[1][0], variant_responses(rooms, {}).value().pressure_pa[1][0]),
            0.3)
      << "the sizes are heard";
}

ResponseRequest in_room(Room room) {
  ResponseRequest out;
  out.room = std::move(room);
  const int surfaces = surface_count(out.room);
  for (int s = 0; s < surfaces; ++s) out.surfaces.push_back({0.02 + 0.01 * s});
  out.sources = {{{0.9, 0.7, 1.1}}};
  out.receivers_m = {{3.1, 1.9, 1.3}};
  out.frequencies_hz = {31, 52, 77, 104};
  return out;
}
ResponseRequest room_round_a_corner() {
  ResponseRequest out = in_room(
      make_room({{0, 0}, {4.6, 0}, {4.6, 2.2}, {3.9, 2.9}, {3.9, 3.3}, {0, 3.3}}, 2.4).value());
  out.patches = {{{3, {0.4, 0.5}, {1.6, 1.8}}, {Pressure(0.4, 0.2)}},
                 {{0, {0.5, 1.9}, {1.9, 2.9}}, {Pressure(0.3, 0)}}};
  return out;
}
ResponseRequest room_under_a_slope() {
  ResponseRequest out = in_room(make_sloped_room({{0, 0}, {4.2, 0}, {4.2, 3.1}, {0, 3.1}},
                                                 {Vec3{0, 0, 2.1}, {4.2, 0, 2.5}, {0, 3.1, 2.8}})
                                    .value());
  out.patches = {{{1, {0.5, 1.2}, {1.9, 2.4}}, {Pressure(0.3, 0.1)}}};
  return out;
}
ResponseRequest turned_round(ResponseRequest request, Vec2 along) {
  const auto turn = [along](Vec2 p) {
    return Vec2{along.x * p.x - along.y * p.y, along.y * p.x + along.x * p.y};
  };
  const auto turn_3 = [&](Vec3 p) {
    const Vec2 flat = turn({p.x, p.y});
    return Vec3{flat.x, flat.y, p.z};
  };
  for (Vec2& p : request.room.plan_m) p = turn(p);
  request.room.slope = turn(request.room.slope);
  for (auto& object : request.objects) {
    for (Vec2& p : object.plan_m) p = turn(p);
    object.axis = turn_3(object.axis);
  }
  for (auto& source : request.sources) source.at_m = turn_3(source.at_m);
  for (Vec3& at : request.receivers_m) at = turn_3(at);
  return request;
}
/// The outright weights of the one mesh against a mesh of the stretched room itself.
void expect_stretched_is_a_room_of_its_own(const ResponseRequest& room, Vec2 along = {1, 0}) {
  const std::vector<RoomStretch> sizes{{{1, 1, 1}, along}, {{1.01, 0.985, 1.02}, along}};
  const auto shared = variant_responses({room, room}, {}, {}, sizes).value();
  for (std::size_t v = 0; v < sizes.size(); ++v) {
    const auto own = response(stretched(room, sizes[v]), {}).value();
    EXPECT_LT(apart_db(shared.pressure_pa[v][0], own.pressure_pa[0]), 0.05) << v;
  }
}

// Source: a mesh of the room with those sizes
TEST(Stretch, of_an_l_with_oblique_walls_and_patches_is_a_room_of_its_own) {
  expect_stretched_is_a_room_of_its_own(room_round_a_corner());
}
TEST(Stretch, of_a_sloped_room_is_a_room_of_its_own) {
  expect_stretched_is_a_room_of_its_own(room_under_a_slope());
}
TEST(Stretch, of_a_room_with_traps_stretches_these_too) {
  ResponseRequest room = in_room(make_box(4.3, 3.1, 2.4).value());
  put_wool(room, 1000);
  ResponseObject& trap = room.objects[0];
  trap.axis = {std::sqrt(0.5), std::sqrt(0.5), 0};
  trap.slabs[0].thickness_m = 0.6 * std::sqrt(0.5);
  expect_stretched_is_a_room_of_its_own(room);
}
TEST(Stretch, runs_along_the_walls_of_a_turned_plan) {
  const Vec2 along{0.8, 0.6};
  ResponseRequest room = room_under_a_slope();
  room.patches.clear();
  expect_stretched_is_a_room_of_its_own(turned_round(room, along), along);
}

TEST(Stretch, of_all_sizes_alike_is_another_speed_of_sound) {
  // ∇²p + k²p = 0 knows lengths by their ratio to the wavelength alone; a point source gives 1/r.
  ResponseRequest room = room_round_a_corner(), slow = room;
  const double by = 1.03;
  slow.sound_speed_m_s /= by;
  const auto rooms =
      variant_responses({room, slow}, {}, {}, {{{by, by, by}, {1, 0}}, {{1, 1, 1}, {1, 0}}})
          .value();
  for (std::size_t f = 0; f < room.frequencies_hz.size(); ++f)
    EXPECT_NEAR(
        std::abs(rooms.pressure_pa[0][0][f] * by / rooms.pressure_pa[1][0][f] - Pressure(1)), 0,
        1e-6);  // factors are kept in single precision
}

TEST(Stretch, out_of_range_or_askew_is_refused) {
  const auto rooms = variants(2, true);
  const auto said = [&](const std::vector<RoomStretch>& sizes) {
    return variant_responses(rooms, {}, {}, sizes).mistakes().text();
  };
  EXPECT_NE(said({{}}).find("one for each room"), std::string::npos);
  EXPECT_NE(said({{}, {{1, 1, 1.6}, {1, 0}}}).find("stretches[1].by"), std::string::npos);
  EXPECT_NE(said({{}, {{1, 1, 1}, {0, 1}}}).find("stretches[1].along"), std::string::npos);
  EXPECT_NE(said({{}, {{1, 1, 1}, {2, 0}}}).find("length 1"), std::string::npos);
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
