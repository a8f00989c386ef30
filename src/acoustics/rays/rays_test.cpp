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
  const BoxImageOptions options{7, 2e-3};
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
  EXPECT_FALSE(box_image_echogram(room, source, receiver, 343, absorption, {21, 1e-3}).ok());
  EXPECT_FALSE(box_image_echogram(room, source, receiver, 343, {{0.1}}, {5, 1e-3}).ok());
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
