// Functions over triangles and heights; see solid_shapes.h.
#include "acoustics/waves/solid_shapes.h"

#include <cmath>

#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

struct Polynomial {
  double value, slope;
};
/// Legendre's of that highest.
Polynomial legendre(int highest, double x) {
  double before = 1, here = x, before_slope = 0, slope = 1;
  if (highest == 0) return {1, 0};
  for (int n = 2; n <= highest; ++n) {
    const double next = ((2 * n - 1) * x * here - (n - 1) * before) / n;
    const double next_slope = ((2 * n - 1) * (here + x * slope) - (n - 1) * before_slope) / n;
    before = here, here = next, before_slope = slope, slope = next_slope;
  }
  return {here, slope};
}
/// Jacobi's with weights (1, 1).
Polynomial jacobi_one(int highest, double x) {
  double before = 0, here = 1, before_slope = 0, slope = 0;
  for (int n = 1; n <= highest; ++n) {
    const double scale = (n + 1.0) / (n * (n + 2.0));
    const double next = scale * ((2 * n + 1) * x * here - n * before);
    const double next_slope = scale * ((2 * n + 1) * (here + x * slope) - n * before_slope);
    before = here, here = next, before_slope = slope, slope = next_slope;
  }
  return {here, slope};
}

}  // namespace

ShapeValue shape_at(const TriangleShape& shape, const std::array<double, 3>& lambda) {
  ShapeValue out;
  if (shape.kind == TriangleShape::corner) {
    const auto i = static_cast<std::size_t>(shape.one);
    out.value = lambda[i];
    out.slope[i] = 1;
  } else if (shape.kind == TriangleShape::side) {
    const auto a = static_cast<std::size_t>(shape.one), b = static_cast<std::size_t>(shape.two);
    const Polynomial j = jacobi_one(shape.order - 2, lambda[b] - lambda[a]);
    const double both = lambda[a] * lambda[b];
    out.value = both * j.value;
    out.slope[a] = lambda[b] * j.value - both * j.slope;
    out.slope[b] = lambda[a] * j.value + both * j.slope;
  } else {
    const Polynomial i = legendre(shape.one, lambda[1] - lambda[0]);
    const Polynomial j = legendre(shape.two, 2 * lambda[2] - 1);
    const double all = lambda[0] * lambda[1] * lambda[2];
    out.value = all * i.value * j.value;
    out.slope[0] = (lambda[1] * lambda[2] * i.value - all * i.slope) * j.value;
    out.slope[1] = (lambda[0] * lambda[2] * i.value + all * i.slope) * j.value;
    out.slope[2] = (lambda[0] * lambda[1] * j.value + all * 2 * j.slope) * i.value;
  }
  return out;
}

void height_shapes(int highest, double zeta, double* value, double* slope) {
  value[0] = 1 - zeta, slope[0] = -1;
  value[1] = zeta, slope[1] = 1;
  const double x = 2 * zeta - 1;
  for (int k = 2; k <= highest; ++k) {
    const Polynomial high = legendre(k, x), low = legendre(k - 2, x);
    const double scale = 1 / std::sqrt(2.0 * (2 * k - 1));
    value[k] = scale * (high.value - low.value);
    slope[k] = 2 * scale * (high.slope - low.slope);
  }
}

HeightMatrices height_matrices(int highest) {
  HeightMatrices out;
  const auto n = static_cast<Eigen::Index>(highest) + 1;
  for (auto& matrix : out.of) matrix = Eigen::MatrixXd::Zero(n, n);
  const Quadrature rule = gauss_legendre(highest + 2, 0, 1);
  Eigen::VectorXd v(n), s(n);
  for (std::size_t g = 0; g < rule.points.size(); ++g) {
    const double z = rule.points[g], w = rule.weights[g];
    height_shapes(highest, z, v.data(), s.data());
    out.of[HeightMatrices::mass] += w * v * v.transpose();
    out.of[HeightMatrices::stiff] += w * s * s.transpose();
    out.of[HeightMatrices::stiff_up] += w * z * s * s.transpose();
    out.of[HeightMatrices::stiff_up2] += w * z * z * s * s.transpose();
    out.of[HeightMatrices::mixed] += w * v * s.transpose();
    out.of[HeightMatrices::mixed_up] += w * z * v * s.transpose();
  }
  out.of[HeightMatrices::mixed_back] = out.of[HeightMatrices::mixed].transpose();
  out.of[HeightMatrices::mixed_up_back] = out.of[HeightMatrices::mixed_up].transpose();
  for (auto& matrix : out.of)
    for (Eigen::Index i = 0; i < matrix.size(); ++i)
      if (std::abs(matrix.data()[i]) < 1e-14) matrix.data()[i] = 0;
  return out;
}

}  // namespace roomwright::acoustics
