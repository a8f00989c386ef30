// Places of pieces in the room, and what is wrong with each; see placement.h.
#include "design/placement/placement.h"

#include <algorithm>
#include <cmath>

namespace roomwright::design {

namespace {

constexpr double touch_m = 5e-4;  // less than this is touching, not overlapping

std::string millimetres(double metres) {
  return fixed(metres * 1000, 0) + " mm";
}

Vec2 corner_of(const acoustics::Room& room, int i) {
  const auto n = static_cast<int>(room.plan_m.size());
  return room.plan_m[static_cast<std::size_t>(((i % n) + n) % n)];
}

/// The two walls of a corner, seen from it.
struct CornerWalls {
  int before = 0, after = 0;  ///< surfaces: the wall that ends here, the one that begins here
  Vec2 along_before, along_after;
  double angle_deg = 0;  ///< inside the room
};
CornerWalls corner_walls(const acoustics::Room& room, int corner) {
  const auto n = static_cast<int>(room.plan_m.size());
  CornerWalls out;
  out.before = 2 + (corner + n - 1) % n;
  out.after = 2 + corner;
  const Vec2 here = corner_of(room, corner);
  const Vec2 b = corner_of(room, corner - 1) - here, a = corner_of(room, corner + 1) - here;
  out.along_before = b * (1 / length(b));
  out.along_after = a * (1 / length(a));
  double angle =
      std::atan2(cross(out.along_after, out.along_before), dot(out.along_after, out.along_before));
  if (angle < 0) angle += 2 * std::acos(-1.0);
  out.angle_deg = angle * 180 / std::acos(-1.0);
  return out;
}

Vec2 face_size(const PlacementRequest& request) {
  const Vec2 size{request.product->width.metres(), request.product->height.metres()};
  return request.turned ? Vec2{size.y, size.x} : size;
}

Placement place_flat(const acoustics::Room& room, const PlacementRequest& request) {
  Placement out;
  const Vec2 size = face_size(request), to = request.from_m + size;
  out.footprints = {{request.surface, request.from_m, to}};
  out.protrudes_m = (request.product->depth + request.product->stand_off).metres();
  if (request.product->spec.kind == Kind::window_plug) out.protrudes_m = 0;  // flush in its reveal
  const Vec3 step = acoustics::surface_plane(room, request.surface).normal * out.protrudes_m;
  const Vec2 corners[] = {request.from_m, {to.x, request.from_m.y}, to, {request.from_m.x, to.y}};
  for (std::size_t i = 0; i < 4; ++i)
    out.face_m[i] = acoustics::from_uv(room, request.surface, corners[i]) + step;
  if (!request.product->spec.custom || request.surface == 0) return out;
  // u runs to the left as one faces a wall, and to the right in a ceiling that is seen from above.
  for (const FaceBox& box : face_boxes(*request.product, request.turned))
    out.covers.push_back({request.surface,
                          {to.x - box.to_m.x, request.from_m.y + box.from_m.y},
                          {to.x - box.from_m.x, request.from_m.y + box.to_m.y}});
  return out;
}

/// The rectangles that nothing else may lie on.
const std::vector<Footprint>& covers_of(const Placement& placement) {
  return placement.covers.empty() ? placement.footprints : placement.covers;
}

/// Upright on the floor: its face looks to the plan's −y, turned to −x. The footprint is that of
/// its feet.
Placement place_screen(const PlacementRequest& request) {
  Placement out;
  const Product& product = *request.product;
  const double width = product.width.metres(), depth = product.depth.metres();
  const double forward = product.frame_z.metres(), top = product.height.metres();
  const Vec2 size = request.turned ? Vec2{depth, width} : Vec2{width, depth};
  const Vec2 a = request.from_m, b = a + size;
  out.footprints = {{request.surface, a, b}};
  out.protrudes_m = top;
  if (request.turned) {
    const double x = a.x + forward;
    out.face_m = {Vec3{x, b.y, 0}, {x, a.y, 0}, {x, a.y, top}, {x, b.y, top}};
  } else {
    const double y = a.y + forward;
    out.face_m = {Vec3{a.x, y, 0}, {b.x, y, 0}, {b.x, y, top}, {a.x, y, top}};
  }
  return out;
}

Placement place_trap(const acoustics::Room& room, const PlacementRequest& request) {
  Placement out;
  const CornerWalls walls = corner_walls(room, request.corner);
  out.corner_angle_deg = walls.angle_deg;
  if (walls.angle_deg < 40 || walls.angle_deg > 150) {
    out.faults.push_back({"stands in a corner of " + fixed(walls.angle_deg, 0) + " degrees", 0,
                          "choose a corner between 40 and 150 degrees"});
    return out;
  }
  const Product& product = *request.product;
  const double reach = corner_reach(product.width.metres(), walls.angle_deg).along_wall_m;
  const double foot = request.from_m.y, top = foot + product.height.metres();
  const double run = acoustics::wall_length_m(room, walls.before);
  out.footprints = {{walls.before, {run - reach, foot}, {run, top}},
                    {walls.after, {0, foot}, {reach, top}}};
  const double forward = product.spec.kind == Kind::straddling_trap ? product.depth.metres() : 0;
  Vec2 middle = walls.along_before + walls.along_after;
  middle = middle * (1 / length(middle));
  const Vec2 here = corner_of(room, request.corner);
  const Vec2 left = here + walls.along_after * reach + middle * forward;
  const Vec2 right = here + walls.along_before * reach + middle * forward;
  out.face_m = {Vec3{left.x, left.y, foot},
                {right.x, right.y, foot},
                {right.x, right.y, top},
                {left.x, left.y, top}};
  out.protrudes_m = corner_reach(product.width.metres(), walls.angle_deg).to_face_m + forward;
  return out;
}

// ---- what may be wrong ----------------------------------------------------------------------

struct Overlap {
  double u = 0, v = 0;  ///< how far two rectangles reach into each other, each way
  bool any() const { return u > touch_m && v > touch_m; }
  double least() const { return std::min(u, v); }
};
Overlap overlap_of(Vec2 a0, Vec2 a1, Vec2 b0, Vec2 b1, double clear) {
  return {std::min(a1.x, b1.x + clear) - std::max(a0.x, b0.x - clear),
          std::min(a1.y, b1.y + clear) - std::max(a0.y, b0.y - clear)};
}

std::string move_remedy(const Overlap& overlap) {
  return "move it at least " + millimetres(std::ceil(overlap.least() * 1000) / 1000) +
         (overlap.u < overlap.v ? " sideways" : " up or down");
}

void check_inside(const acoustics::Room& room, const Footprint& foot, bool trap, double keep_clear,
                  Placement& out) {
  const Polygon outline = acoustics::surface_outline(room, foot.surface);
  const std::string name = acoustics::surface_name(room, foot.surface);
  double beyond = 0, near = 1e9;
  const Vec2 corners[] = {
      foot.from_m, {foot.to_m.x, foot.from_m.y}, foot.to_m, {foot.from_m.x, foot.to_m.y}};
  for (const Vec2& corner : corners) {
    const double edge = distance_to_edge(outline, corner);
    if (!contains(outline, corner, touch_m))
      beyond = std::max(beyond, edge);
    else
      near = std::min(near, edge);
  }
  if (beyond > 0) {
    out.faults.push_back(
        {"reaches beyond " + name + " by " + millimetres(beyond), beyond,
         "move it at least " + millimetres(beyond + keep_clear) + " inward or make it smaller"});
  } else if (!trap && near + touch_m < keep_clear) {
    out.faults.push_back({"comes within " + millimetres(near) + " of the edge of " + name,
                          keep_clear - near, "keep " + millimetres(keep_clear) + " clear"});
  }
}

/// How far what a piece covers reaches into a rectangle: each way as far as it must move, so that
/// none of its strips lies there.
Overlap overlap_of(const std::vector<Footprint>& covers, const Footprint& other, double clear_m) {
  double across = 0, low = 1e9, high = -1e9;
  for (const Footprint& foot : covers) {
    if (foot.surface != other.surface) continue;
    const Overlap one = overlap_of(foot.from_m, foot.to_m, other.from_m, other.to_m, clear_m);
    if (!one.any()) continue;
    across = std::max(across, one.u);
    low = std::min(low, std::max(foot.from_m.y, other.from_m.y - clear_m));
    high = std::max(high, std::min(foot.to_m.y, other.to_m.y + clear_m));
  }
  return {across, high - low};
}

void check_keep_outs(const std::vector<KeepOut>& keep_outs, const std::string& inside,
                     Placement& out) {
  for (const KeepOut& keep : keep_outs) {
    if (!inside.empty() && keep.label == inside) continue;
    const Footprint there{keep.surface, keep.from_m, keep.to_m};
    const Overlap overlap = overlap_of(covers_of(out), there, keep.clear_m);
    if (!overlap.any()) continue;
    const Overlap bare = overlap_of(covers_of(out), there, 0);
    out.faults.push_back(
        {bare.any() ? "hangs over the " + keep.label + " by " + millimetres(bare.least())
                    : "comes too near the " + keep.label + " by " + millimetres(overlap.least()),
         overlap.least(), move_remedy(overlap)});
  }
}

/// What stands on the floor must stay under the ceiling.
void check_ceiling(const acoustics::Room& room, const Footprint& foot, double keep_clear,
                   Placement& out) {
  double lowest = 1e9;
  for (const Vec2 at :
       {foot.from_m, foot.to_m, Vec2{foot.from_m.x, foot.to_m.y}, Vec2{foot.to_m.x, foot.from_m.y}})
    lowest = std::min(lowest, room.ceiling_at(at));
  const double by = out.protrudes_m + keep_clear - lowest;
  if (by > touch_m)
    out.faults.push_back({"stands higher than the ceiling allows by " + millimetres(by), by,
                          "make it at least " + millimetres(by) + " lower"});
}

struct Body {
  Vec3 from, to;
};
Body body_of(const acoustics::Room& room, const Placement& placement) {
  Body body{{1e9, 1e9, 1e9}, {-1e9, -1e9, -1e9}};
  const auto take = [&](Vec3 p) {
    body.from = {std::min(body.from.x, p.x), std::min(body.from.y, p.y),
                 std::min(body.from.z, p.z)};
    body.to = {std::max(body.to.x, p.x), std::max(body.to.y, p.y), std::max(body.to.z, p.z)};
  };
  for (const Vec3& p : placement.face_m) take(p);
  for (const Footprint& foot : placement.footprints) {
    take(acoustics::from_uv(room, foot.surface, foot.from_m));
    take(acoustics::from_uv(room, foot.surface, foot.to_m));
  }
  return body;
}
double meet_m(const Body& a, const Body& b) {
  return std::min({std::min(a.to.x, b.to.x) - std::max(a.from.x, b.from.x),
                   std::min(a.to.y, b.to.y) - std::max(a.from.y, b.from.y),
                   std::min(a.to.z, b.to.z) - std::max(a.from.z, b.from.z)});
}

/// The bodies that a piece fills: one round it, of an outline one for each of its rectangles.
std::vector<Body> bodies_of(const acoustics::Room& room, const Placement& placement) {
  if (placement.covers.empty()) return {body_of(room, placement)};
  std::vector<Body> out;
  const Vec3 step =
      acoustics::surface_plane(room, placement.covers[0].surface).normal * placement.protrudes_m;
  for (const Footprint& foot : placement.covers) {
    Placement one;
    one.footprints = {foot};
    const Vec2 corners[] = {
        foot.from_m, {foot.to_m.x, foot.from_m.y}, foot.to_m, {foot.from_m.x, foot.to_m.y}};
    for (std::size_t i = 0; i < 4; ++i)
      one.face_m[i] = acoustics::from_uv(room, foot.surface, corners[i]) + step;
    out.push_back(body_of(room, one));
  }
  return out;
}
double meet_m(const std::vector<Body>& a, const std::vector<Body>& b) {
  double most = -1e9;
  for (const Body& one : a)
    for (const Body& other : b) most = std::max(most, meet_m(one, other));
  return most;
}

void check_obstacles(const acoustics::Room& room, const std::vector<Obstacle>& obstacles,
                     Placement& out) {
  const std::vector<Body> bodies = bodies_of(room, out);
  for (const Obstacle& obstacle : obstacles) {
    const double by = meet_m(bodies, {{obstacle.from_m, obstacle.to_m}});
    if (by > touch_m)
      out.faults.push_back({"runs into the " + obstacle.label + " by " + millimetres(by), by,
                            "move one of the two at least " + millimetres(by)});
  }
}

bool share_surface(const Placement& a, const Placement& b) {
  for (const Footprint& p : a.footprints)
    for (const Footprint& q : b.footprints)
      if (p.surface == q.surface) return true;
  return false;
}

void check_neighbours(const acoustics::Room& room, std::vector<Placement>& all, double keep_clear) {
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) {
      if (all[i].footprints.empty() || all[k].footprints.empty()) continue;
      for (const Footprint& foot : covers_of(all[k])) {
        const Overlap overlap = overlap_of(covers_of(all[i]), foot, keep_clear);
        if (!overlap.any()) continue;
        all[i].faults.push_back(
            {"leaves less than " + millimetres(keep_clear) + " to " + all[k].label, overlap.least(),
             move_remedy(overlap)});
        if (!all[k].covers.empty()) break;  // its strips are one piece
      }
      const double by = meet_m(bodies_of(room, all[i]), bodies_of(room, all[k]));
      if (!share_surface(all[i], all[k]) && by > touch_m)
        all[i].faults.push_back({"runs into " + all[k].label + " by " + millimetres(by), by,
                                 "move one of the two at least " + millimetres(by)});
    }
}

}  // namespace

std::vector<Placement> place(const acoustics::Room& room,
                             const std::vector<PlacementRequest>& requests,
                             const std::vector<KeepOut>& keep_outs,
                             const std::vector<Obstacle>& obstacles, double keep_clear_m) {
  std::vector<Placement> out;
  for (const PlacementRequest& request : requests) {
    const bool trap = request.corner >= 0;
    const bool stands = request.product->spec.kind == Kind::free_screen;
    Placement placement = trap     ? place_trap(room, request)
                          : stands ? place_screen(request)
                                   : place_flat(room, request);
    placement.label = request.label;
    for (const Footprint& foot : placement.footprints) {
      check_inside(room, foot, trap, keep_clear_m, placement);
      if (stands) check_ceiling(room, foot, keep_clear_m, placement);
    }
    check_keep_outs(keep_outs, request.inside, placement);
    if (!placement.footprints.empty()) check_obstacles(room, obstacles, placement);
    out.push_back(std::move(placement));
  }
  check_neighbours(room, out, keep_clear_m);
  return out;
}

namespace {

/// Whether the segment meets the face, a flat four-cornered polygon.
bool meets_face(const std::array<Vec3, 4>& face, Vec3 a, Vec3 b) {
  const Vec3 across = face[1] - face[0], up = face[3] - face[0];
  const Vec3 normal = cross(across, up);
  const double from = dot(normal, a - face[0]), to = dot(normal, b - face[0]);
  if ((from > 0) == (to > 0) || from == to) return false;
  const Vec3 p = a + (b - a) * (from / (from - to)) - face[0];
  const double u = dot(p, across) / dot(across, across), v = dot(p, up) / dot(up, up);
  return u >= 0 && u <= 1 && v >= 0 && v <= 1;
}

}  // namespace

bool intercepts(const Placement& placement, const Vec3& from_m, const Vec3& point_m,
                const Vec3& to_m) {
  if (placement.footprints.empty()) return false;
  return meets_face(placement.face_m, from_m, point_m) ||
         meets_face(placement.face_m, point_m, to_m);
}

}  // namespace roomwright::design
