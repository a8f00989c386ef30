// Quadrature against polynomials that it must integrate exactly.
#include "core/numerics/numerics.h"

#include <gtest/gtest.h>

#include <cmath>

namespace roomwright {
namespace {

TEST(GaussLegendre, is_exact_for_polynomials_up_to_twice_its_points) {
  for (const int count : {1, 2, 3, 8, 32, 100}) {
    const Quadrature rule = gauss_legendre(count, 0, 2);
    for (int degree = 0; degree < std::min(2 * count, 40); ++degree) {
      double sum = 0;
      for (std::size_t i = 0; i < rule.points.size(); ++i)
        sum += rule.weights[i] * std::pow(rule.points[i], degree);
      EXPECT_NEAR(sum * (degree + 1) / std::pow(2, degree + 1), 1, 1e-12) << count << " " << degree;
    }
  }
}

}  // namespace
}  // namespace roomwright
