// Private to acoustics/waves: a mesh of a polygon for high-order elements.
#pragma once

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
Mesh mesh_of(const Polygon& plan, double longest);

}  // namespace roomwright::acoustics
