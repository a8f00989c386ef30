// Private to acoustics/waves: functions over a triangle and over a height from which the field of a
// room of any plan is put together.
#pragma once

#include <Eigen/Dense>
#include <array>
#include <vector>

#include "core/geometry/geometry.h"

namespace roomwright::acoustics {

/// Of a triangle, in its barycentric coordinates: corner functions (λ), side functions
/// λa λb J_k(λb − λa) with a before b in the mesh's numbers, inner ones λ0 λ1 λ2 P_i P_j.
/// Source: B. Szabó & I. Babuška, Finite Element Analysis, 1991, ch. 6 (from memory), with Jacobi
/// polynomials along the sides.
struct TriangleShape {
  enum Kind { corner, side, inner } kind = corner;
  int one = 0, two = 0;  ///< the corner; the side's corners; i and j
  int order = 0;         ///< k of a side
};
struct ShapeValue {
  double value = 0;
  std::array<double, 3> slope{};  ///< by λ
};
ShapeValue shape_at(const TriangleShape& shape, const std::array<double, 3>& lambda);

/// Over one layer, ζ from 0 to 1: 1 − ζ, ζ, then bubbles of degree 2 to `degree`.
void height_shapes(int degree, double zeta, double* value, double* slope);

/// Integrals over ζ of pairs of them.
struct HeightMatrices {
  enum Which { mass, stiff, stiff_up, stiff_up2, mixed, mixed_back, mixed_up, mixed_up_back };
  /// ∫ΨΨ, ∫Ψ'Ψ', ∫ζΨ'Ψ', ∫ζ²Ψ'Ψ', ∫ΨΨ' and its transpose, ∫ζΨΨ' and its transpose.
  std::array<Eigen::MatrixXd, 8> of;
};
HeightMatrices height_matrices(int degree);

}  // namespace roomwright::acoustics
