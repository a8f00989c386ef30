// Private to acoustics/waves: a mesh of a polygon for high-order elements.
#pragma once

#include <Eigen/Dense>

#include <array>
#include <vector>

#include "core/geometry/geometry.h"

namespace roomwright::acoustics {

using Corners = std::array<int, 3>;

/// Triangles of a polygon: sides no longer than `longest`, graded toward re-entrant corners.
struct Mesh {
  std::vector<Vec2> points;
  std::vector<Corners> triangles;  ///< anticlockwise
};
/// rings: 0 to 7, each 0.15 of the one before.
Mesh mesh_of(const Polygon& plan, double longest, int rings = 7);

inline constexpr int element_degree = 8;
inline constexpr int element_nodes = (element_degree + 1) * (element_degree + 2) / 2;
/// Node (i, j) of a triangle in rows of equal steps: i/8 of the way to corner 1, j/8 to corner 2.
constexpr int element_node(int i, int j) {
  return j * (element_degree + 1) - j * (j - 1) / 2 + i;
}

/// Neumann eigenfunctions of a polygon by their values at the nodes.
struct PlaneSolution {
  Mesh mesh;
  std::vector<std::array<int, element_nodes>> nodes;  ///< by triangle
  std::vector<double> eigenvalues;  ///< ascending, the static one first, exactly 0
  Eigen::MatrixXd vectors;          ///< node by function, ∫ ψ² dS = 1
};
/// Every function up to `most` (1/m²); sides of triangles up to `side_m`, `rings` round corners.
/// Errors: functions that the solver did not find.
Result<PlaneSolution> plane_solution(const Polygon& section_m, double most, double side_m,
                                     int rings);

}  // namespace roomwright::acoustics
