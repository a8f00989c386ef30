// Private to acoustics/waves: triangles over a plan that keep to lines drawn in it.
#pragma once

#include <functional>
#include <vector>

#include "acoustics/waves/elements.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

struct PlanLine {
  Vec2 from, to;
};
struct PlanCorner {
  Vec2 at;
  int rings = 0;  ///< of ever smaller triangles round it
};
struct PlanTask {
  Polygon room;
  std::vector<PlanLine> lines;      ///< inside the room or on its edge
  std::vector<Vec2> points;         ///< on the room's edge: corners of triangles
  std::vector<PlanCorner> corners;  ///< where the field has a kink
  /// The longest side that a triangle round a place may have.
  std::function<double(Vec2)> longest_m;
  std::size_t most_triangles = 4000;
};
inline constexpr double plan_snap_m = 1e-3;  ///< points nearer than that to a line lie on it

/// Errors: lines nearer to each other than can be meshed; more triangles than allowed. Points that
/// come within plan_snap_m of others or of lines move there.
Result<Mesh> mesh_with_lines(const PlanTask& task);

}  // namespace roomwright::acoustics
