// What one screw may carry, against the handbook's worked values, and the answers where nothing is
// published.
#include "shop/fixings/fixings.h"

#include <gtest/gtest.h>

namespace roomwright::shop {
namespace {

FixingRequest into_wood(double gravity, double diameter_mm, double length_mm) {
  FixingRequest request;
  request.mass_kg = 10;
  request.points = 2;
  request.ground = Ground::wood;
  request.specific_gravity = gravity;
  request.screw_diameter_m = diameter_mm / 1e3;
  request.penetration_m = length_mm / 1e3;
  request.pull = Pull::along;
  return request;
}

TEST(Fixing, withdrawal_meets_the_handbooks_worked_values) {
  // Source: Wood Handbook, FPL-GTR-190 (2010), ch. 8, wood screw withdrawal, worked values
  EXPECT_NEAR(*fixing(into_wood(0.48, 4.166, 25)).value().ultimate_n, 2597.58, 0.01);
  EXPECT_NEAR(*fixing(into_wood(0.42, 4.166, 30)).value().ultimate_n, 2386.53, 0.01);
  EXPECT_NEAR(*fixing(into_wood(0.36, 4.826, 38)).value().ultimate_n, 2572.79, 0.01);
}

TEST(Fixing, lateral_load_grows_with_the_square_of_the_diameter) {
  FixingRequest thin = into_wood(0.40, 4, 30);
  thin.pull = Pull::across;
  FixingRequest thick = thin;
  thick.screw_diameter_m *= 2;
  EXPECT_NEAR(*fixing(thick).value().ultimate_n / *fixing(thin).value().ultimate_n, 4, 1e-12);
  // Source: Wood Handbook, FPL-GTR-190 (2010), ch. 8, lateral coefficient of softwoods, 23.17 D²
  EXPECT_NEAR(*fixing(thin).value().ultimate_n, 23.17 * 16, 1e-9);
}

TEST(Fixing, the_load_is_shared_as_if_one_point_had_failed) {
  FixingRequest request = into_wood(0.40, 4, 30);
  EXPECT_NEAR(fixing(request).value().load_n, 98.0665, 1e-9);
  request.points = 4;
  EXPECT_NEAR(fixing(request).value().load_n, 98.0665 / 3, 1e-9);
}

TEST(Fixing, unknown_ground_is_never_approved) {
  FixingRequest request;
  request.mass_kg = 8;
  const auto report = fixing(request).value();
  EXPECT_FALSE(report.ok);
  EXPECT_FALSE(report.ultimate_n.has_value());
  EXPECT_NE(report.verdict.find("No published value"), std::string::npos);
  EXPECT_FALSE(report.cautions.empty());
}

TEST(Fixing, wrong_requests_are_told_all_at_once) {
  FixingRequest request = into_wood(0, 0, 0);
  request.points = 0;
  request.mass_kg = -1;
  EXPECT_EQ(fixing(request).mistakes().size(), 5u);
}

}  // namespace
}  // namespace roomwright::shop
