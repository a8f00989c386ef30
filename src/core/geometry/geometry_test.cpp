// Polygons: areas, crossings, membership, triangles that cover exactly.
#include "core/geometry/geometry.h"

#include <gtest/gtest.h>

namespace roomwright {
namespace {

const Polygon ell{{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}};

TEST(Polygon, area_is_positive_when_the_corners_run_anticlockwise) {
  EXPECT_DOUBLE_EQ(signed_area(ell), 16);
  EXPECT_DOUBLE_EQ(signed_area(Polygon(ell.rbegin(), ell.rend())), -16);
  EXPECT_DOUBLE_EQ(perimeter(ell), 18);
}

TEST(Polygon, crossing_and_folded_sides_are_found) {
  EXPECT_FALSE(crossing_sides(ell));
  EXPECT_TRUE(crossing_sides({{0, 0}, {2, 2}, {2, 0}, {0, 2}}));
  EXPECT_TRUE(crossing_sides({{0, 0}, {2, 0}, {2, 0}, {0, 2}}));
  EXPECT_TRUE(crossing_sides({{0, 0}, {2, 0}, {1, 0}, {1, 2}}));
  EXPECT_TRUE(crossing_sides({{0, 0}, {4, 0}, {4, 4}, {2, 0}, {0, 4}}));
}

TEST(Polygon, contains_its_inside_and_its_edge) {
  EXPECT_TRUE(contains(ell, {1, 1}));
  EXPECT_TRUE(contains(ell, {5, 1}));
  EXPECT_TRUE(contains(ell, {3, 2}));
  EXPECT_FALSE(contains(ell, {4, 3}));
  EXPECT_FALSE(contains(ell, {-0.001, 1}));
  EXPECT_NEAR(distance_to_edge(ell, {4, 3}), 1, 1e-12);
}

TEST(Triangulate, covers_the_polygon_exactly) {
  Random random(7);
  for (int round = 0; round < 200; ++round) {
    Polygon star;
    const int corners = 3 + static_cast<int>(random.below(12));
    for (int i = 0; i < corners; ++i) {
      const double angle = 6.283185307179586 * (i + 0.8 * random.unit()) / corners;
      const double reach = random.uniform(0.5, 3);
      star.push_back({reach * std::cos(angle), reach * std::sin(angle)});
    }
    if (signed_area(star) <= 0 || crossing_sides(star)) continue;
    double sum = 0;
    for (const auto& triangle : triangulate(star)) {
      const double area = signed_area({star[triangle[0]], star[triangle[1]], star[triangle[2]]});
      EXPECT_GT(area, 0);
      sum += area;
    }
    EXPECT_NEAR(sum, signed_area(star), 1e-9);
  }
  EXPECT_EQ(triangulate(ell).size(), 4u);
}

TEST(Plane, mirror_is_its_own_inverse) {
  const Plane plane{normalised({1, 2, -0.5}), 0.7};
  const Vec3 p{0.3, -1.2, 2.2};
  const Vec3 twice = plane.mirror(plane.mirror(p));
  EXPECT_NEAR(length(twice - p), 0, 1e-12);
  EXPECT_NEAR(plane.distance(plane.mirror(p)), -plane.distance(p), 1e-12);
}

}  // namespace
}  // namespace roomwright
