// Even points and quantiles against closed forms.
#include <gtest/gtest.h>

#include <cmath>

#include "core/numerics/numerics.h"

namespace roomwright {
namespace {

TEST(EvenPoints, fill_the_cube_more_evenly_than_chance_would) {
  const EvenPoints points(3, 42);
  double sum = 0;
  const int count = 1000;
  for (int i = 0; i < count; ++i) {
    const auto p = points.point(i);
    sum += p[0] * p[1] * p[2];
  }
  // ∫ xyz = 1/8; plain chance has a standard error of 0.0058 here.
  EXPECT_NEAR(sum / count, 0.125, 0.001);
  EXPECT_EQ(points.point(7), EvenPoints(3, 42).point(7));
  EXPECT_NE(points.point(7), EvenPoints(3, 43).point(7));
}

TEST(NormalQuantile, meets_the_tabulated_percentiles) {
  // Source: table of the standard normal distribution (from memory): 1.2815515655 and 1.9599639845
  EXPECT_NEAR(normal_quantile(0.9), 1.2815515655446, 1e-10);
  EXPECT_NEAR(normal_quantile(0.025), -1.9599639845401, 1e-10);
  EXPECT_NEAR(normal_quantile(0.5), 0, 1e-12);
}

TEST(Quantile, is_linear_between_the_values) {
  EXPECT_DOUBLE_EQ(quantile({3, 1, 2}, 0.5), 2);
  EXPECT_DOUBLE_EQ(quantile({0, 10}, 0.25), 2.5);
  EXPECT_DOUBLE_EQ(quantile({5}, 0.9), 5);
}

TEST(LogNormalBetween, gives_its_percentiles_back) {
  EXPECT_NEAR(log_normal_between(2, 3, 8, 0.1), 2, 1e-9);
  EXPECT_NEAR(log_normal_between(2, 3, 8, 0.5), 3, 1e-9);
  EXPECT_NEAR(log_normal_between(2, 3, 8, 0.9), 8, 1e-9);
}

}  // namespace
}  // namespace roomwright
