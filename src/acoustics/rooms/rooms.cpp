// Rooms; see rooms.h.
#include "acoustics/rooms/rooms.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

std::string corner_text(std::size_t i) {
  return "corner " + std::to_string(i);
}

void check_plan(const Polygon& plan, Diagnostics& found) {
  if (plan.size() < 3 || plan.size() > most_plan_corners) {
    found.add("room.plan_m", "must have from 3 to 64 corners", double(plan.size()),
              "list the corners in order");
    return;
  }
  for (std::size_t i = 0; i < plan.size(); ++i)
    if (!(std::abs(plan[i].x) <= 1000 && std::abs(plan[i].y) <= 1000)) {
      found.add("room.plan_m[" + std::to_string(i) + "]", "must lie within 1000 m of the origin",
                {}, "check the unit");
      return;
    }
  if (const auto sides = crossing_sides(plan, 1e-3)) {
    const std::size_t n = plan.size();
    const auto side = [&](std::size_t i) {
      return "the side from " + corner_text(i) + " to " + corner_text((i + 1) % n);
    };
    found.add("room.plan_m",
              (*sides)[0] == (*sides)[1]
                  ? side((*sides)[0]) + " is shorter than 1 mm"
                  : side((*sides)[0]) + " crosses or touches " + side((*sides)[1]),
              {}, "list each corner once, in order round the room");
    return;
  }
  if (signed_area(plan) < 0)
    found.add("room.plan_m", "runs clockwise", {},
              "list the corners anticlockwise, seen from above");
  double left = 1e9, right = -1e9, front = 1e9, back = -1e9;
  for (const Vec2& p : plan) {
    left = std::min(left, p.x), right = std::max(right, p.x);
    front = std::min(front, p.y), back = std::max(back, p.y);
  }
  for (const double span : {right - left, back - front})
    if (span < least_room_m || span > greatest_room_m)
      found.add("room.plan_m", "must span from 0.5 to 100 m each way", span, "check the unit");
}

void check_height(double height, Diagnostics& found) {
  if (!(height >= least_room_m && height <= greatest_room_m))
    found.add("room.height_m", "must be from 0.5 to 100 m", height, "check the unit");
}

const Vec2& plan_corner(const Room& room, int i) {
  const auto n = static_cast<int>(room.plan_m.size());
  return room.plan_m[static_cast<std::size_t>(((i % n) + n) % n)];
}

}  // namespace

Result<Room> make_box(double x_m, double y_m, double z_m) {
  Diagnostics found;
  const char* keys[] = {"room.size_m[0]", "room.size_m[1]", "room.size_m[2]"};
  const double sides[] = {x_m, y_m, z_m};
  for (int i = 0; i < 3; ++i)
    if (!(sides[i] >= least_room_m && sides[i] <= greatest_room_m))
      found.add(keys[i], "must be from 0.5 to 100 m", sides[i], "check the unit");
  if (!found.empty()) return found;
  return Room{{{0, 0}, {x_m, 0}, {x_m, y_m}, {0, y_m}}, z_m, {}};
}

Result<Room> make_room(const Polygon& plan_m, double height_m) {
  Diagnostics found;
  check_plan(plan_m, found);
  check_height(height_m, found);
  if (!found.empty()) return found;
  return Room{plan_m, height_m, {}};
}

Result<Room> make_sloped_room(const Polygon& plan_m, const std::array<Vec3, 3>& ceiling_m) {
  Diagnostics found;
  check_plan(plan_m, found);
  const Vec3 normal = cross(ceiling_m[1] - ceiling_m[0], ceiling_m[2] - ceiling_m[0]);
  const double size = length(normal);
  if (!(size > 1e-6) || std::abs(normal.z) < 0.05 * size) {
    found.add("room.ceiling", "must be three points of a plane that can lie above the floor", {},
              "give three points that are not in one line, seen from above");
    return found;
  }
  Room room;
  room.plan_m = plan_m;
  room.slope = {-normal.x / normal.z, -normal.y / normal.z};
  room.height_m = ceiling_m[0].z - dot(room.slope, {ceiling_m[0].x, ceiling_m[0].y});
  if (std::abs(room.slope.x) < 1e-12) room.slope.x = 0;
  if (std::abs(room.slope.y) < 1e-12) room.slope.y = 0;
  for (std::size_t i = 0; i < plan_m.size(); ++i) {
    const double z = room.ceiling_at(plan_m[i]);
    if (!(z >= least_room_m && z <= greatest_room_m))
      found.add("room.ceiling", "must be from 0.5 to 100 m above the floor over the whole plan", z,
                "at " + corner_text(i) + " it is not");
  }
  if (!found.empty()) return found;
  return room;
}

int surface_count(const Room& room) {
  return 2 + static_cast<int>(room.plan_m.size());
}

std::string surface_name(const Room& room, int surface) {
  RW_ASSERT(surface >= 0 && surface < surface_count(room));
  (void)room;
  if (surface == 0) return "floor";
  return surface == 1 ? "ceiling" : "wall" + std::to_string(surface - 2);
}

std::optional<int> find_surface(const Room& room, std::string_view name) {
  for (int i = 0; i < surface_count(room); ++i)
    if (surface_name(room, i) == name) return i;
  return std::nullopt;
}

double wall_length_m(const Room& room, int surface) {
  return length(plan_corner(room, surface - 1) - plan_corner(room, surface - 2));
}

Polygon surface_outline(const Room& room, int surface) {
  if (surface < 2) return room.plan_m;
  const double run = wall_length_m(room, surface);
  return {{0, 0},
          {run, 0},
          {run, room.ceiling_at(plan_corner(room, surface - 1))},
          {0, room.ceiling_at(plan_corner(room, surface - 2))}};
}

double surface_area_m2(const Room& room, int surface) {
  const double area = signed_area(surface_outline(room, surface));
  return surface == 1 ? area * std::sqrt(1 + dot(room.slope, room.slope)) : area;
}

Vec3 from_uv(const Room& room, int surface, Vec2 uv) {
  if (surface == 0) return {uv.x, uv.y, 0};
  if (surface == 1) return {uv.x, uv.y, room.ceiling_at(uv)};
  const Vec2 a = plan_corner(room, surface - 2), b = plan_corner(room, surface - 1);
  const Vec2 at = a + (b - a) * (uv.x / length(b - a));
  return {at.x, at.y, uv.y};
}

Vec2 to_uv(const Room& room, int surface, Vec3 point) {
  if (surface < 2) return {point.x, point.y};
  const Vec2 a = plan_corner(room, surface - 2), b = plan_corner(room, surface - 1);
  return {dot(Vec2{point.x, point.y} - a, b - a) / length(b - a), point.z};
}

std::vector<Vec3> surface_corners(const Room& room, int surface) {
  std::vector<Vec3> out;
  for (const Vec2& uv : surface_outline(room, surface)) out.push_back(from_uv(room, surface, uv));
  return out;
}

Plane surface_plane(const Room& room, int surface) {
  Plane plane;
  if (surface == 0) {
    plane.normal = {0, 0, 1};
  } else if (surface == 1) {
    plane.normal = normalised({room.slope.x, room.slope.y, -1});
  } else {
    const Vec2 along = plan_corner(room, surface - 1) - plan_corner(room, surface - 2);
    plane.normal = normalised({-along.y, along.x, 0});
  }
  plane.offset =
      dot(plane.normal, from_uv(room, surface, surface < 2 ? room.plan_m[0] : Vec2{0, 0}));
  return plane;
}

double floor_area_m2(const Room& room) {
  return signed_area(room.plan_m);
}

double volume_m3(const Room& room) {
  if (room.flat()) return floor_area_m2(room) * room.height_m;
  // The mean height over a triangle is the mean of its corners' heights.
  double sum = 0;
  for (std::size_t i = 1; i + 1 < room.plan_m.size(); ++i) {
    const Vec2 a = room.plan_m[0], b = room.plan_m[i], c = room.plan_m[i + 1];
    sum += cross(b - a, c - a) / 2 *
           (room.ceiling_at(a) + room.ceiling_at(b) + room.ceiling_at(c)) / 3;
  }
  return sum;
}

double total_area_m2(const Room& room) {
  double sum = 0;
  for (int i = 0; i < surface_count(room); ++i) sum += surface_area_m2(room, i);
  return sum;
}

double total_edge_m(const Room& room) {
  double sum = perimeter(room.plan_m);
  for (std::size_t i = 0; i < room.plan_m.size(); ++i) {
    const Vec2 a = room.plan_m[i], b = room.plan_m[(i + 1) % room.plan_m.size()];
    sum += room.ceiling_at(a) + std::hypot(length(b - a), room.ceiling_at(b) - room.ceiling_at(a));
  }
  return sum;
}

bool is_box(const Room& room) {
  return room.flat() && is_rectangle(room.plan_m);
}

Vec3 box_size_m(const Room& room) {
  return {length(room.plan_m[1] - room.plan_m[0]), length(room.plan_m[2] - room.plan_m[1]),
          room.height_m};
}

bool contains(const Room& room, Vec3 point, double margin_m) {
  const Vec2 at{point.x, point.y};
  if (!contains(room.plan_m, at, 0) || distance_to_edge(room.plan_m, at) < margin_m) return false;
  const double below = (room.ceiling_at(at) - point.z) / std::sqrt(1 + dot(room.slope, room.slope));
  return point.z >= margin_m && below >= margin_m;
}

namespace {

/// Overlap of two walls that face each other, in the frame of the first: by its run and the lower
/// of the two ceilings (exact for flat ceilings).
double wall_overlap_m2(const Room& room, int first, int second) {
  const Polygon outline = surface_outline(room, first);
  const auto corners = surface_corners(room, second);
  const double u0 = to_uv(room, first, corners[0]).x, u1 = to_uv(room, first, corners[1]).x;
  const double from = std::max(0.0, std::min(u0, u1));
  const double to = std::min(outline[1].x, std::max(u0, u1));
  if (to <= from) return 0;
  const auto height = [&](double u) {
    const Vec3 here = from_uv(room, first, {u, 0});
    const Vec2 across = to_uv(room, second, here);
    const Vec3 there = from_uv(room, second, {across.x, 0});
    return std::min(room.ceiling_at({here.x, here.y}), room.ceiling_at({there.x, there.y}));
  };
  return (to - from) * (height(from) + height(to)) / 2;
}

}  // namespace

std::vector<FacingPair> facing_pairs(const Room& room) {
  std::vector<FacingPair> out;
  if (room.flat()) out.push_back({0, 1, room.height_m, floor_area_m2(room)});
  for (int i = 2; i < surface_count(room); ++i)
    for (int k = i + 1; k < surface_count(room); ++k) {
      const Plane a = surface_plane(room, i), b = surface_plane(room, k);
      if (dot(a.normal, b.normal) > -0.9999) continue;
      const double distance = a.distance(surface_corners(room, k)[0]);
      if (distance < 0.3) continue;
      const double overlap = wall_overlap_m2(room, i, k);
      if (overlap > 0) out.push_back({i, k, distance, overlap});
    }
  return out;
}

Diagnostics check_patches(const Room& room, const std::vector<Patch>& patches,
                          const std::string& where) {
  Diagnostics found;
  const auto at = [&](std::size_t i) { return where + "[" + std::to_string(i) + "]"; };
  for (std::size_t i = 0; i < patches.size(); ++i) {
    const Patch& patch = patches[i];
    if (patch.surface < 0 || patch.surface >= surface_count(room)) {
      found.add(at(i) + ".surface", "is not a surface of the room", double(patch.surface), {});
      continue;
    }
    if (!(patch.from_m.x < patch.to_m.x && patch.from_m.y < patch.to_m.y)) {
      found.add(at(i), "must reach from its lower to its upper corner", {},
                "from_m must be below to_m in both");
      continue;
    }
    const Polygon outline = surface_outline(room, patch.surface);
    for (const Vec2 corner : {patch.from_m, Vec2{patch.to_m.x, patch.from_m.y}, patch.to_m,
                              Vec2{patch.from_m.x, patch.to_m.y}})
      if (!contains(outline, corner, 1e-6)) {
        found.add(at(i), "reaches beyond " + surface_name(room, patch.surface), {},
                  "keep it inside the surface");
        break;
      }
    for (std::size_t k = 0; k < i; ++k) {
      const Patch& other = patches[k];
      constexpr double touch = 1e-9;
      if (other.surface == patch.surface && patch.from_m.x < other.to_m.x - touch &&
          other.from_m.x < patch.to_m.x - touch && patch.from_m.y < other.to_m.y - touch &&
          other.from_m.y < patch.to_m.y - touch)
        found.add(at(i), "overlaps " + at(k), {}, "let each place have one patch");
    }
  }
  return found;
}

}  // namespace roomwright::acoustics
