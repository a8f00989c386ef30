// Small numerical tools that several engines share. Thin: what a library does well is left to it.
#pragma once

#include <vector>

namespace roomwright {

/// Points and weights for an integral over [from, to].
struct Quadrature {
  std::vector<double> points, weights;
};

/// Gauss-Legendre with `count` points (1 to 2000): exact for polynomials of degree 2 count − 1.
Quadrature gauss_legendre(int count, double from, double to);

}  // namespace roomwright
