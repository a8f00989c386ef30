// Image paths against computed tables, the box against the general search, and laws.
#include "acoustics/rays/rays.h"

#include <gtest/gtest.h>

#include <cmath>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

constexpr double speed = 343.2;

struct Scene {
  Room room;
  Vec3 source, receiver;
};
Scene scene(const std::string& name) {
  if (name == "S2") return {make_box(6.2, 4.5, 2.8).value(), {0.8, 1.35, 1.25}, {2.3, 2.25, 1.15}};
  if (name == "S3") return {make_box(3.6, 3.0, 2.4).value(), {0.6, 0.8, 1.1}, {1.5, 1.5, 1.1}};
  return {make_box(5, 4, 2.6).value(), {1.2, 1.3, 1.2}, {2.4, 2.0, 1.2}};
}

int surface_named(const std::string& wall) {
  const std::map<std::string, int> known = {{"x0", 5}, {"xL", 3}, {"y0", 2},
                                            {"yL", 4}, {"z0", 0}, {"zL", 1}};
  return known.at(wall);
}

/// A box that the general search must treat: its plan has a fifth corner in the middle of a wall.
Room general_box(double x, double y, double z) {
  return make_room({{0, 0}, {x, 0}, {x, y}, {x / 3, y}, {0, y}}, z).value();
}

TEST(Images, meet_the_table_of_first_reflections) {
  // Source: image method, table computed (tests/figures/first_reflections.csv)
  for (const auto& row : figures::rows("first_reflections.csv")) {
    if (row.at("wall") == "direct") continue;
    const Scene at = scene(row.at("case"));
    ReflectingBoundary boundary;
    boundary.surface_absorption.assign(6, std::stod(row.at("alpha_of_wall")));
    const auto report = image_paths(at.room, at.source, at.receiver, speed, boundary, {}).value();
    ASSERT_EQ(report.paths.size(), 6u);
    int met = 0;
    for (const ImagePath& path : report.paths) {
      if (path.surfaces[0] != surface_named(row.at("wall"))) continue;
      ++met;
      const auto point = figures::numbers(row.at("reflection_point_m"));
      EXPECT_NEAR(length(path.points_m[0] - Vec3{point[0], point[1], point[2]}), 0, 1e-5);
      EXPECT_NEAR(path.delay_ms, std::stod(row.at("delay_re_direct_ms")), 1e-5);
      EXPECT_NEAR(path.level_db, std::stod(row.at("level_re_direct_dB")), 1e-4);
    }
    EXPECT_EQ(met, 1);
  }
}

TEST(Images, are_as_many_as_the_lattice_has) {
  const Scene at = scene("S1");
  // Source: 4n² + 2 images of order n in a box (tests/figures/image_counts.csv)
  for (const auto& row : figures::rows("image_counts.csv")) {
    const int order = std::stoi(row.at("order_n"));
    if (order < 1) continue;
    const auto report = image_paths(at.room, at.source, at.receiver, speed, {}, {order}).value();
    EXPECT_EQ(report.paths.size() + 1, std::stoul(row.at("cumulative_incl_source")));
  }
}

TEST(Images, meet_the_list_of_first_and_second_order) {
  const Scene at = scene("S1");
  const auto report = image_paths(at.room, at.source, at.receiver, speed, {}, {2}).value();
  // Source: image method, list computed (tests/figures/image_list.csv)
  std::vector<double> wanted, got;
  for (const auto& row : figures::rows("image_list.csv"))
    wanted.push_back(std::stod(row.at("delay_re_direct_ms")));
  for (const ImagePath& path : report.paths) got.push_back(path.delay_ms);
  std::sort(wanted.begin(), wanted.end());
  ASSERT_EQ(got.size(), wanted.size());
  for (std::size_t i = 0; i < got.size(); ++i) EXPECT_NEAR(got[i], wanted[i], 1e-5);
}

TEST(Images, sums_without_paths_are_those_of_the_paths) {
  const Room room = make_box(5.2, 4.1, 2.6).value();
  const Vec3 source{0.6, 0.8, 1.1}, receiver{3.4, 2.05, 1.2};
  const std::vector<std::vector<double>> absorption{{0.1, 0.9}, {0.2, 0}, {0.3, 0.4},
                                                    {0.05, 0},  {0.5, 1}, {0.6, 0.7}};
  const BoxImageOptions options{.max_order = 7, .bin_s = 2e-3};
  const BoxImages found =
      box_image_echogram(room, source, receiver, 343, absorption, options).value();
  ASSERT_EQ(found.bands, 2u);
  std::vector<double> wanted(found.bins.size(), 0);
  int images = 1;
  for (std::size_t band = 0; band < 2; ++band) {
    ReflectingBoundary boundary;
    for (const auto& bands : absorption) boundary.surface_absorption.push_back(bands[band]);
    const auto report = image_paths(room, source, receiver, 343, boundary, {7}).value();
    const auto add = [&](double way_m, double kept) {
      const auto bin = static_cast<std::size_t>(way_m / 343 / options.bin_s);
      ASSERT_LT(bin * 2 + band, wanted.size());
      wanted[bin * 2 + band] += kept / (4 * std::acos(-1.0) * way_m * way_m);
    };
    add(report.direct_m, 1);
    for (const ImagePath& path : report.paths) {
      double kept = 1;
      for (const int surface : path.surfaces)
        kept *= 1 - boundary.surface_absorption[static_cast<std::size_t>(surface)];
      add(path.length_m, kept);
      images += band == 0;
    }
  }
  EXPECT_EQ(found.images, images);
  for (std::size_t i = 0; i < wanted.size(); ++i)
    EXPECT_NEAR(found.bins[i], wanted[i], 1e-12 + 1e-9 * wanted[i]) << i;
  EXPECT_FALSE(
      box_image_echogram(room, source, receiver, 343, absorption, {.max_order = 201}).ok());
  EXPECT_FALSE(box_image_echogram(room, source, receiver, 343, {{0.1}}, {.max_order = 5}).ok());
}

TEST(Images, bins_may_begin_and_end_anywhere_and_leave_the_direct_sound_out) {
  const Room room = make_box(5.2, 4.1, 2.6).value();
  const Vec3 source{0.6, 0.8, 1.1}, receiver{3.4, 2.05, 1.2};
  const std::vector<std::vector<double>> absorption(6, {0.2});
  const BoxImages all = box_image_echogram(room, source, receiver, 343, absorption, {}).value();
  const BoxImageOptions part{.bin_s = 1e-3, .from_s = 0.02, .window_s = 0.05, .direct = false};
  const BoxImages cut = box_image_echogram(room, source, receiver, 343, absorption, part).value();
  ASSERT_EQ(cut.bins.size(), 50u);
  for (std::size_t i = 0; i < 50; ++i)
    EXPECT_NEAR(cut.bins[i], all.bins[i + 20], 1e-12) << "bins of 1 ms share their edges " << i;
  const BoxImages images =
      box_image_echogram(room, source, receiver, 343, absorption, {.direct = false}).value();
  EXPECT_EQ(images.images, all.images - 1);
  const std::vector<std::vector<double>> octaves(6, std::vector<double>(8, 0.2));
  EXPECT_FALSE(
      box_image_echogram(room, source, receiver, 343, octaves, {.max_order = 200, .bin_s = 1e-5})
          .ok())
      << "more bins than memory is given";
}

TEST(Images, a_higher_order_adds_nothing_before_the_time_that_is_told) {
  const Room room = make_box(5.2, 4.1, 2.6).value();
  const Vec3 source{0.6, 0.8, 1.1}, receiver{3.4, 2.05, 1.2};
  const std::vector<std::vector<double>> absorption(6, {0.1});
  for (const int order : {1, 6, 30}) {
    const auto low =
        box_image_echogram(room, source, receiver, 343, absorption, {.max_order = order}).value();
    const auto high =
        box_image_echogram(room, source, receiver, 343, absorption, {.max_order = order + 9})
            .value();
    const auto whole = static_cast<std::size_t>(low.complete_s / 1e-3);
    ASSERT_LE(whole, low.bins.size());
    for (std::size_t i = 0; i < whole; ++i) EXPECT_EQ(low.bins[i], high.bins[i]) << order;
    EXPECT_GT(high.bins[whole], whole < low.bins.size() ? low.bins[whole] : 0) << order;
  }
}

/// The images' energy, the direct sound left out, as the mean over all places of a source and a
/// receiver: moving the receiver through the room moves the lattice's cells over all of space, so
/// it is ∫ (1 − α)^n / (4πd²) / V with n the walls met; of the crossings along one axis,
/// x = d |u| / l on the average, ⌊x⌋ are sure and one more as likely as what is left of x.
double even_images_energy(Vec3 side, double absorption) {
  constexpr int steps = 40;
  const double step_m = 0.05;
  double sum = 0;
  for (int i = 0; i < steps; ++i)
    for (int j = 0; j < steps; ++j) {
      const double z = (i + 0.5) / steps, turn = (j + 0.5) / steps * std::acos(-1.0) / 2;
      const double flat = std::sqrt(1 - z * z);
      const double each_m[] = {flat * std::cos(turn) / side.x, flat * std::sin(turn) / side.y,
                               z / side.z};
      double kept = 1;
      for (double d = step_m / 2; kept > 1e-6; d += step_m) {
        double direct = 1;
        kept = 1;
        for (const double per_m : each_m) {
          const double x = d * per_m, sure = std::floor(x);
          kept *= std::pow(1 - absorption, sure) * (1 - (x - sure) * absorption);
          direct *= std::max(0.0, 1 - x);
        }
        sum += (kept - direct) * step_m;
      }
    }
  return sum / (steps * steps) / (side.x * side.y * side.z);
}

TEST(Images, their_energy_comes_to_the_integral_over_directions) {
  const Vec3 side{5, 4, 2.6};
  const Room room = make_box(side.x, side.y, side.z).value();
  Random random(11);
  for (const double absorption : {0.2, 0.5}) {
    const std::vector<std::vector<double>> walls(6, {absorption});
    double reflected = 0;
    constexpr int pairs = 400;
    for (int pair = 0; pair < pairs; ++pair) {
      const auto anywhere = [&] {
        return Vec3{random.uniform(0.01, side.x - 0.01), random.uniform(0.01, side.y - 0.01),
                    random.uniform(0.01, side.z - 0.01)};
      };
      const Vec3 source = anywhere(), receiver = anywhere();
      const auto found =
          box_image_echogram(room, source, receiver, speed, walls,
                             {.max_order = absorption < 0.3 ? 40 : 20, .direct = false})
              .value();
      for (const double bin : found.bins) reflected += bin / pairs;
    }
    // 400 pairs of places tell it within some 2 %.
    EXPECT_NEAR(reflected / even_images_energy(side, absorption), 1, 0.03) << absorption;
  }
}

TEST(Images, a_cube_with_even_walls_rings_as_its_images_fall) {
  // Of all directions those that meet the fewest walls live longest: the energy is the mean of
  // e^(-a c t g(u)), told here by a fine sum over directions, and the images must fall as it does.
  const double side = 4, absorption = 0.3, a = -std::log(1 - absorption);
  const auto left_db = [&](double t) {
    double sum = 0;
    constexpr int steps = 60;
    for (int i = 0; i < steps; ++i)
      for (int j = 0; j < steps; ++j) {
        const double z = (i + 0.5) / steps, turn = (j + 0.5) / steps * std::acos(-1.0) / 2;
        const double flat = std::sqrt(1 - z * z);
        const double walls = (flat * (std::cos(turn) + std::sin(turn)) + z) / side;
        sum += std::exp(-a * speed * t * walls) / walls;
      }
    return 10 * std::log10(sum);
  };
  double wanted_20 = 0, wanted_5 = 0;
  const double top_db = left_db(0);
  for (double t = 0, db = top_db; db > top_db - 25; db = left_db(t += 1e-3)) {
    wanted_20 = t;
    if (db > top_db - 5) wanted_5 = t;
  }
  BoxDecayScene scene;
  scene.room = make_box(side, side, side).value();
  scene.source_m = {0.7, 1.1, 1.3};
  scene.receiver_m = {2.9, 2.7, 1.9};
  scene.absorption.assign(6, {absorption, 0});
  const BoxDecay decay = box_image_decay(scene, 60).value();
  ASSERT_TRUE(decay.bands[0].t20_s.value) << decay.bands[0].t20_s.reason;
  EXPECT_NEAR(*decay.bands[0].t20_s.value / (3 * (wanted_20 - wanted_5)), 1, 0.05);
  EXPECT_FALSE(decay.bands[1].t20_s.value) << "rigid walls do not let it fall";
  EXPECT_NE(decay.bands[1].t20_s.reason.find("raise max_order"), std::string::npos);
  scene.air_energy_1_m = {0.1, 0.1};
  const BoxDecay damped = box_image_decay(scene, 60).value();
  EXPECT_LT(*damped.bands[0].t20_s.value, *decay.bands[0].t20_s.value);
  ASSERT_TRUE(damped.bands[1].t20_s.value) << damped.bands[1].t20_s.reason;
  // Air alone: e^(-m c t), so 60 dB in 13.8155 / (m c).
  EXPECT_NEAR(*damped.bands[1].t20_s.value, 13.8155 / (0.1 * scene.sound_speed_m_s), 0.02);
  scene.air_energy_1_m = {0.1};
  EXPECT_FALSE(box_image_decay(scene, 60).ok());
}

TEST(Images, the_general_search_finds_the_boxs_lattice) {
  const Room room = general_box(5, 4, 2.6);
  const Scene at = scene("S1");
  const auto lattice = image_paths(at.room, at.source, at.receiver, speed, {}, {3}).value();
  const auto search = image_paths(room, at.source, at.receiver, speed, {}, {3}).value();
  ASSERT_EQ(search.paths.size(), lattice.paths.size());
  for (std::size_t i = 0; i < search.paths.size(); ++i) {
    EXPECT_NEAR(search.paths[i].delay_ms, lattice.paths[i].delay_ms, 1e-9);
    EXPECT_NEAR(search.paths[i].level_db, lattice.paths[i].level_db, 1e-9);
    for (std::size_t p = 0; p < search.paths[i].points_m.size(); ++p) {
      double nearest_m = 1e9;  // equal delays may stand in another order
      for (const ImagePath& other : lattice.paths)
        if (std::abs(other.delay_ms - search.paths[i].delay_ms) < 1e-9)
          nearest_m = std::min(nearest_m, length(other.points_m[p] - search.paths[i].points_m[p]));
      EXPECT_LT(nearest_m, 1e-6);
    }
  }
}

TEST(Images, source_and_receiver_may_be_swapped) {
  const Room ell = make_room({{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}}, 2.5).value();
  Random random(3);
  for (int i = 0; i < 30; ++i) {
    Vec3 a{random.uniform(0.1, 4.9), random.uniform(0.1, 3.9), random.uniform(0.1, 2.4)};
    Vec3 b{random.uniform(0.1, 4.9), random.uniform(0.1, 3.9), random.uniform(0.1, 2.4)};
    if (!contains(ell, a, 0.05) || !contains(ell, b, 0.05)) continue;
    const auto there = image_paths(ell, a, b, speed, {}, {3}).value();
    const auto back = image_paths(ell, b, a, speed, {}, {3}).value();
    ASSERT_EQ(there.paths.size(), back.paths.size());
    EXPECT_EQ(there.direct_clear, back.direct_clear);
    for (std::size_t k = 0; k < there.paths.size(); ++k)
      EXPECT_NEAR(there.paths[k].delay_ms, back.paths[k].delay_ms, 1e-9);
  }
}

TEST(Images, walls_hide_what_stands_behind_the_corner) {
  const Room ell = make_room({{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}}, 2.5).value();
  const auto hidden = image_paths(ell, {4.5, 1.5, 1.2}, {2.5, 3.7, 1.2}, speed, {}, {}).value();
  EXPECT_FALSE(hidden.direct_clear);
  // wall5 (x = 0) sees both: its point lies at y = 2.88, but the leg from the source crosses the
  // notch
  for (const ImagePath& path : hidden.paths)
    EXPECT_TRUE(path.surfaces[0] != 4 && path.surfaces[0] != 5)
        << "walls 2 and 3 face away from one of them";
  const auto clear = image_paths(ell, {1, 1, 1.2}, {2, 3, 1.2}, speed, {}, {}).value();
  EXPECT_TRUE(clear.direct_clear);
}

TEST(Images, a_patch_takes_the_place_of_its_surface) {
  const Scene at = scene("S1");
  ReflectingBoundary boundary;
  boundary.surface_absorption.assign(6, 0.1);
  boundary.patches = {{2, {1.5, 1.0}, {1.9, 1.4}}};
  boundary.patch_absorption = {0.9};
  const auto report = image_paths(at.room, at.source, at.receiver, speed, boundary, {}).value();
  int met = 0;
  for (const ImagePath& path : report.paths) {
    if (path.surfaces[0] != 2) continue;
    EXPECT_NEAR(path.level_db, 20 * std::log10(1.3892444 / 3.51140997) - 10, 1e-4);
    ++met;
  }
  EXPECT_EQ(met, 1);
}

TEST(Images, wrong_requests_are_told) {
  const Room box = make_box(5, 4, 2.6).value();
  EXPECT_EQ(image_paths(box, {-1, 1, 1}, {1, 1, 9}, speed, {}, {0}).mistakes().size(), 3u);
  EXPECT_FALSE(image_paths(box, {1, 1, 1}, {1, 1, 1}, speed, {}, {}).ok());
  EXPECT_FALSE(image_paths(general_box(5, 4, 2.6), {1, 1, 1}, {2, 1, 1}, speed, {}, {9}).ok());
}

}  // namespace
}  // namespace roomwright::acoustics
