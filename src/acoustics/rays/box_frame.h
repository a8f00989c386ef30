// Private to acoustics/rays: a box's own axes. Its first wall runs along x, whichever way the plan
// is turned, and the corner where it begins is 0.
#pragma once

#include "acoustics/rooms/rooms.h"

namespace roomwright::acoustics {

struct BoxFrame {
  explicit BoxFrame(const Room& room)
      : side(box_size_m(room)),
        origin(room.plan_m[0]),
        x_way((room.plan_m[1] - origin) * (1 / side.x)),
        y_way{-x_way.y, x_way.x} {}
  Vec3 to_local(Vec3 p) const {
    const Vec2 d = Vec2{p.x, p.y} - origin;
    return {dot(d, x_way), dot(d, y_way), p.z};
  }
  Vec3 to_room(Vec3 p) const {
    const Vec2 at = origin + x_way * p.x + y_way * p.y;
    return {at.x, at.y, p.z};
  }
  Vec3 side;
  Vec2 origin, x_way, y_way;
};

/// Coordinate of image n along one side of the given length: n even 2·(n/2)·l + s, n odd mirrored.
inline double lattice(double s, double side, int n) {
  return n % 2 == 0 ? n * side + s : (n + 1) * side - s;
}

}  // namespace roomwright::acoustics
