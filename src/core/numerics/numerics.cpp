// Quadrature by Newton's method on the Legendre polynomials; see numerics.h.
#include "core/numerics/numerics.h"

#include <cmath>

#include "core/base/base.h"

namespace roomwright {

namespace {

/// P_n(x) and its derivative.
struct LegendreValue {
  double value, slope;
};
LegendreValue legendre(int n, double x) {
  double before = 1, here = x;
  for (int k = 2; k <= n; ++k) {
    const double next = ((2 * k - 1) * x * here - (k - 1) * before) / k;
    before = here;
    here = next;
  }
  return {here, n * (x * here - before) / (x * x - 1)};
}

}  // namespace

Quadrature gauss_legendre(int count, double from, double to) {
  RW_ASSERT(count >= 1 && count <= 2000);
  Quadrature out;
  const double half = (to - from) / 2, middle = (to + from) / 2;
  if (count == 1) return {{middle}, {to - from}};
  for (int i = 0; i < count; ++i) {
    double x = -std::cos(std::acos(-1.0) * (i + 0.75) / (count + 0.5));
    for (int turn = 0; turn < 100; ++turn) {
      const LegendreValue p = legendre(count, x);
      const double step = p.value / p.slope;
      x -= step;
      if (std::abs(step) < 1e-15) break;
    }
    const double slope = legendre(count, x).slope;
    out.points.push_back(middle + half * x);
    out.weights.push_back(half * 2 / ((1 - x * x) * slope * slope));
  }
  return out;
}

}  // namespace roomwright
