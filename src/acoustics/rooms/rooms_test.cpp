// Rooms: sizes by closed forms, surfaces whose (u, v) go back and forth, and what is refused.
#include "acoustics/rooms/rooms.h"

#include <gtest/gtest.h>

namespace roomwright::acoustics {
namespace {

const Polygon l_plan{{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}};

TEST(Room, a_box_has_the_sizes_of_a_box) {
  const Room room = make_box(5, 4, 2.6).value();
  EXPECT_NEAR(volume_m3(room), 52, 1e-12);
  EXPECT_NEAR(total_area_m2(room), 86.8, 1e-12);
  EXPECT_NEAR(total_edge_m(room), 4 * (5 + 4 + 2.6), 1e-12);
  EXPECT_TRUE(is_box(room));
  EXPECT_EQ(surface_count(room), 6);
  EXPECT_EQ(surface_name(room, 4), "wall2");
  EXPECT_EQ(find_surface(room, "ceiling"), 1);
  EXPECT_FALSE(find_surface(room, "roof"));
}

TEST(Room, u_runs_along_the_wall_from_its_first_corner) {
  const Room room = make_box(5, 4, 2.6).value();
  const Vec3 on_wall2 = from_uv(room, 4, {1, 1.5});  // y = 4, from x = 5 backward
  EXPECT_NEAR(length(on_wall2 - Vec3{4, 4, 1.5}), 0, 1e-12);
  for (int s = 0; s < surface_count(room); ++s) {
    const Vec3 p = from_uv(room, s, {1.2, 0.7});
    EXPECT_NEAR(surface_plane(room, s).distance(p), 0, 1e-12);
    EXPECT_NEAR(to_uv(room, s, p).x, 1.2, 1e-12);
    EXPECT_GT(surface_plane(room, s).distance({2.5, 2, 1.3}), 0) << "normals point inward";
  }
}

TEST(Room, a_sloped_ceiling_keeps_volume_and_areas) {
  // z = 2 + 0.4 x over 5 by 4
  const Room room =
      make_sloped_room({{0, 0}, {5, 0}, {5, 4}, {0, 4}}, {Vec3{0, 0, 2}, {5, 0, 4}, {0, 4, 2}})
          .value();
  EXPECT_NEAR(volume_m3(room), 60, 1e-9);
  EXPECT_NEAR(surface_area_m2(room, 1), 20 * std::sqrt(1 + 0.16), 1e-9);
  EXPECT_NEAR(surface_area_m2(room, 2), 15, 1e-9);
  EXPECT_FALSE(is_box(room));
  EXPECT_TRUE(contains(room, {4.5, 2, 3.7}));
  EXPECT_FALSE(contains(room, {0.5, 2, 2.5}));
}

TEST(Room, the_volume_of_any_plan_is_its_area_times_its_height) {
  const Room room = make_room(l_plan, 2.5).value();
  EXPECT_NEAR(volume_m3(room), 40, 1e-12);
  EXPECT_NEAR(total_area_m2(room), 2 * 16 + 18 * 2.5, 1e-12);
  EXPECT_FALSE(contains(room, {4, 3, 1}));
  EXPECT_FALSE(contains(room, {2.9, 3, 1}, 0.2));
}

TEST(FacingPairs, are_the_parallel_walls_that_see_each_other) {
  const auto pairs = facing_pairs(make_room(l_plan, 2.5).value());
  // floor–ceiling; wall0–wall2, wall0–wall4; wall1–wall5, wall3–wall5
  ASSERT_EQ(pairs.size(), 5u);
  EXPECT_NEAR(pairs[1].distance_m, 2, 1e-12);
  EXPECT_NEAR(pairs[1].overlap_m2, 2 * 2.5, 1e-12);
  EXPECT_NEAR(pairs[2].distance_m, 4, 1e-12);
  EXPECT_NEAR(pairs[2].overlap_m2, 3 * 2.5, 1e-12);
}

TEST(Room, every_wrong_plan_is_refused_with_its_reason) {
  EXPECT_NE(make_room({{0, 0}, {0, 4}, {5, 4}, {5, 0}}, 2.5).mistakes().text().find("clockwise"),
            std::string::npos);
  EXPECT_NE(make_room({{0, 0}, {5, 4}, {5, 0}, {0, 4}}, 2.5).mistakes().text().find("crosses"),
            std::string::npos);
  EXPECT_FALSE(make_room({{0, 0}, {5, 0}}, 2.5).ok());
  EXPECT_FALSE(make_room(l_plan, 0.1).ok());
  EXPECT_EQ(make_box(0, -1, 1e9).mistakes().size(), 3u);
  EXPECT_FALSE(make_sloped_room(l_plan, {Vec3{0, 0, 2}, {1, 0, 2}, {2, 0, 2}}).ok());
  EXPECT_FALSE(make_sloped_room(l_plan, {Vec3{0, 0, 2}, {5, 0, -1}, {0, 4, 2}}).ok());
}

TEST(Patches, must_lie_on_their_surface_and_apart) {
  const Room room = make_room(l_plan, 2.5).value();
  EXPECT_TRUE(check_patches(room, {{2, {0, 0}, {1, 1}}, {2, {1, 0}, {2, 1}}}, "patches").empty());
  EXPECT_EQ(check_patches(room, {{2, {0, 0}, {1, 1}}, {2, {0.5, 0}, {2, 1}}}, "patches").size(),
            1u);
  EXPECT_EQ(check_patches(room, {{2, {4.5, 0}, {5.5, 1}}}, "patches").size(), 1u);
  EXPECT_EQ(check_patches(room, {{0, {3.5, 2.5}, {4.5, 3.5}}}, "patches").size(), 1u);
  EXPECT_EQ(check_patches(room, {{99, {0, 0}, {1, 1}}}, "patches").size(), 1u);
}

}  // namespace
}  // namespace roomwright::acoustics
