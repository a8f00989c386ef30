// Places: what fits, what hangs over a door, what runs into its neighbour, what meets a reflection.
#include "design/placement/placement.h"

#include <gtest/gtest.h>

#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

struct Scene {
  shop::Shop shop = figures::small_shop(true);
  acoustics::Room room =
      acoustics::make_room({{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}}, 2.5).value();
  Product panel, trap;

  Scene() {
    ProductSpec spec;
    spec.timber = "square";
    spec.board = "wool";
    spec.cloth = "cloth";
    panel = make_product(spec, shop, "p").value();  // 694 × 1288 mm
    spec.kind = Kind::straddling_trap;
    trap = make_product(spec, shop, "p").value();
  }
  Placement one(int surface, Vec2 from, const std::vector<KeepOut>& keep = {},
                const std::vector<Obstacle>& obstacles = {}) const {
    return place(room, {{"P", &panel, surface, -1, from, false}}, keep, obstacles, 0.02)[0];
  }
};

TEST(Place, a_panel_inside_its_wall_fits) {
  const Scene scene;
  EXPECT_TRUE(scene.one(2, {1, 0.6}).ok());
  EXPECT_NEAR(scene.one(2, {1, 0.6}).protrudes_m, 0.044, 1e-9);
}

TEST(Place, beyond_the_wall_is_told_with_the_distance) {
  const Scene scene;
  const Placement high = scene.one(2, {1, 1.5});
  ASSERT_EQ(high.faults.size(), 1u);
  EXPECT_EQ(high.faults[0].what, "reaches beyond wall0 by 288 mm");
  EXPECT_FALSE(scene.one(5, {1.7, 0.6}).ok()) << "wall3 is 2 m long";
  EXPECT_FALSE(scene.one(2, {0.005, 0.6}).ok()) << "closer to the edge than the rule";
}

TEST(Place, a_panel_over_a_door_is_told) {
  const Scene scene;
  const KeepOut door{"door", 2, {1.5, 0}, {2.4, 2.0}, 0.03};
  const Placement over = scene.one(2, {1.0, 0.6}, {door});
  ASSERT_EQ(over.faults.size(), 1u);
  EXPECT_EQ(over.faults[0].what, "hangs over the door by 194 mm");
  EXPECT_EQ(over.faults[0].remedy, "move it at least 224 mm sideways");
  EXPECT_TRUE(scene.one(2, {1.0 - 0.225, 0.6}, {door}).ok()) << "the remedy holds";
  EXPECT_EQ(scene.one(2, {1.0 - 0.2, 0.6}, {door}).faults[0].what,
            "comes too near the door by 24 mm");
}

TEST(Place, a_notch_goes_round_a_pipe_where_a_plain_piece_does_not) {
  const Scene scene;
  ProductSpec spec;
  spec.kind = Kind::custom;
  spec.timber = "square";
  const Length o;
  // The notch is nearer to the right-hand end, as one faces it.
  spec.custom = CustomPlan{{{o, o},
                            {1000_mm, o},
                            {1000_mm, 600_mm},
                            {800_mm, 600_mm},
                            {800_mm, 300_mm},
                            {650_mm, 300_mm},
                            {650_mm, 600_mm},
                            {o, 600_mm}},
                           {{LayerOf::cloth, "cloth", {}}, {LayerOf::board, "wool", {}}}};
  const Product notched = make_product(spec, scene.shop, "p").value();
  const auto at = [&](double u0, double u1, double v0, bool turned = false) {
    const KeepOut pipe{"pipe", 2, {u0, v0}, {u1, 2.5}, 0.01};
    return place(scene.room, {{"N", &notched, 2, -1, {1, 0.6}, turned}}, {pipe}, {}, 0.02)[0];
  };
  // On a wall u runs to the left: the notch lies from 1.2 to 1.35.
  EXPECT_TRUE(at(1.24, 1.31, 0.95).ok());
  EXPECT_FALSE(at(1.24, 1.31, 0.85).ok()) << "deeper than the notch";
  EXPECT_FALSE(at(1.655, 1.70, 0.95).ok()) << "where the notch is not";
  EXPECT_FALSE(at(1.24, 1.345, 0.95).ok()) << "10 mm clear are asked for";
  EXPECT_FALSE(at(1.24, 1.31, 0.95, true).ok()) << "turned, the notch looks to the side";
  const Placement over = at(1.655, 1.70, 0.95);
  EXPECT_EQ(over.faults[0].what, "hangs over the pipe by 45 mm");
}

TEST(Place, furniture_and_neighbours_are_kept_clear) {
  const Scene scene;
  EXPECT_FALSE(scene.one(2, {1, 0.6}, {}, {{"couch", {0.8, 0, 0}, {2.2, 0.9, 0.8}}}).ok());
  EXPECT_TRUE(scene.one(2, {1, 0.9}, {}, {{"couch", {0.8, 0, 0}, {2.2, 0.9, 0.8}}}).ok());
  const auto two = place(
      scene.room,
      {{"A", &scene.panel, 2, -1, {1, 0.6}, false}, {"B", &scene.panel, 2, -1, {1.7, 0.6}, false}},
      {}, {}, 0.02);
  EXPECT_TRUE(two[0].ok());
  ASSERT_EQ(two[1].faults.size(), 1u);
  EXPECT_EQ(two[1].faults[0].what, "leaves less than 20 mm to A");
}

TEST(Place, a_trap_covers_both_walls_of_its_corner_and_refuses_the_outer_one) {
  const Scene scene;
  const auto in_corner = [&](int corner) {
    return place(scene.room, {{"T", &scene.trap, -1, corner, {0, 0.3}, false}}, {}, {}, 0.02)[0];
  };
  const Placement trap = in_corner(0);
  EXPECT_TRUE(trap.ok());
  EXPECT_NEAR(trap.corner_angle_deg, 90, 1e-9);
  ASSERT_EQ(trap.footprints.size(), 2u);
  const double reach = scene.trap.width.metres() / std::sqrt(2.0);
  EXPECT_NEAR(trap.footprints[1].to_m.x, reach, 1e-9);
  EXPECT_NEAR(trap.footprints[0].from_m.x, 4 - reach, 1e-9) << "wall5 ends in corner 0";
  EXPECT_FALSE(in_corner(3).ok()) << "the corner that juts into the room";
}

TEST(Intercepts, a_reflection_behind_the_panel_meets_it) {
  const Scene scene;
  const Placement panel = scene.one(2, {1.2, 0.6});
  const Vec3 source{1, 1.2, 1.2}, receiver{2.2, 1.4, 1.2}, point{1.55, 0, 1.2};
  EXPECT_TRUE(intercepts(panel, source, point, receiver));
  EXPECT_FALSE(intercepts(panel, source, {3.0, 0, 1.2}, {4.5, 1.4, 1.2}));
}

}  // namespace
}  // namespace roomwright::design
