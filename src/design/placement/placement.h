// Where a piece hangs, and whether it may: inside its wall, clear of keep-outs and of its
// neighbours, in front of nothing that it would block. Also which reflections it intercepts. It
// says what is wrong and by how much, and never moves anything itself.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "core/base/base.h"
#include "core/geometry/geometry.h"
#include "design/products/products.h"

namespace roomwright::design {

/// A rectangle on a surface that nothing may cover.
struct KeepOut {
  std::string label;
  int surface = 0;
  Vec2 from_m, to_m;   ///< (u, v)
  double clear_m = 0;  ///< all round
};

/// A box in the room (furniture) or a body that pieces must not run into.
struct Obstacle {
  std::string label;
  Vec3 from_m, to_m;
};

/// What a person asked for.
struct PlacementRequest {
  std::string label;
  const Product* product = nullptr;
  int surface = -1;  ///< wall panels, plugs, clouds; screens: the floor
  int corner = -1;   ///< traps
  Vec2 from_m;       ///< lower left corner on the surface; traps: y is the foot's height
  bool turned = false;
  std::string inside{};  ///< plugs: the label of the keep-out that they are pressed into
};

struct PlacementFault {
  std::string what;  ///< `reaches over door D1 by 45 mm`
  double by_m = 0;
  std::string remedy;  ///< `move it at least 45 mm to the left`
};

/// A rectangle that the piece covers on a surface: one for panels and clouds, two for traps.
struct Footprint {
  int surface = 0;
  Vec2 from_m, to_m;
};

struct Placement {
  std::string label;
  std::vector<Footprint> footprints;
  /// What it covers of its surface where that is less than its box: rectangles that hold the
  /// outline of a custom piece. Empty for other kinds.
  std::vector<Footprint> covers;
  std::array<Vec3, 4> face_m;    ///< the face's corners in the room, from its lower left
  double corner_angle_deg = 90;  ///< traps
  double protrudes_m = 0;        ///< from the surface into the room
  std::vector<PlacementFault> faults;
  bool ok() const { return faults.empty(); }
};

/// keep_clear_m: between a piece and its wall's edges or a neighbour.
std::vector<Placement> place(const acoustics::Room& room,
                             const std::vector<PlacementRequest>& requests,
                             const std::vector<KeepOut>& keep_outs,
                             const std::vector<Obstacle>& obstacles, double keep_clear_m);

/// Whether the leg from a to b of a sound path, or a reflection point on a surface, meets the
/// piece's face (a reflection at a point behind the face is intercepted).
bool intercepts(const Placement& placement, const Vec3& from_m, const Vec3& point_m,
                const Vec3& to_m);

}  // namespace roomwright::design
