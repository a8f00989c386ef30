// Absorbers of volume: what may stand where, and how they cut the plan and the height.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_model.h"

namespace roomwright::acoustics {

namespace {

constexpr double ceiling_gap_m = 0.02;
/// Models fitted to measurements give slightly active values where flow resistivity is high.
constexpr double active_share = 0.1;

/// Of a distance along the ceiling's normal, in the height.
double normal_stretch(const Room& room) {
  return std::sqrt(1 + dot(room.slope, room.slope));
}

std::string object_at(std::size_t i) {
  return "objects[" + std::to_string(i) + "]";
}

double axis_extent(const Room& room, const ResponseObject& object) {
  if (is_upright(room, object)) {
    if (object.below_ceiling_m)
      return object.below_ceiling_m->far_m - object.below_ceiling_m->near_m;
    return object.high_m - object.low_m;
  }
  double low = 1e300, high = -1e300;
  for (const Vec2 p : object.plan_m) {
    const double s = object.axis.x * p.x + object.axis.y * p.y;
    low = std::min(low, s), high = std::max(high, s);
  }
  return high - low;
}

void check_values(const std::vector<std::complex<double>>& values, double least, double most,
                  const std::string& where, Diagnostics& found) {
  for (const auto& value : values)
    if (!(std::abs(value) >= least && std::abs(value) <= most &&
          value.imag() <= active_share * std::abs(value))) {
      found.add(where,
                "must have magnitudes from " + shortest(least) + " to " + shortest(most) +
                    " and next to no imaginary part above 0",
                std::abs(value), "a passive layer gives no energy");
      return;
    }
}

bool ends_in_order(const ResponseObject& object, const std::string& where, Diagnostics& found) {
  if (const auto& span = object.below_ceiling_m) {
    if (span->near_m >= -1e-9 && span->far_m > span->near_m + 2 * plan_snap_m) return true;
    found.add(where + ".below_ceiling_m", "must go down from at least 0 by 2 mm or more",
              span->far_m);
    return false;
  }
  if (object.low_m >= -1e-9 && object.high_m > object.low_m + 2 * plan_snap_m) return true;
  found.add(where + ".z_m", "must rise from at least 0 by 2 mm or more", object.high_m);
  return false;
}

/// Level ones keep away from a ceiling that slopes, those that follow it from the floor.
bool ends_in_room(const Room& room, const ResponseObject& object, const std::string& where,
                  Diagnostics& found) {
  const double beyond_m = room.flat() ? -plan_snap_m : ceiling_gap_m;
  double above = 1e300, below = 1e300;
  for (const Vec2 p : object.plan_m) {
    const HeightSpan ends = span_at(room, object, p);
    above = std::min(above, room.ceiling_at(p) - ends.high_m - beyond_m);
    below = std::min(below, ends.low_m - beyond_m);
  }
  if (!object.below_ceiling_m && above < 0)
    found.add(where + ".z_m",
              room.flat() ? "is higher than the room"
                          : "must end at least 20 mm below a ceiling that slopes",
              object.high_m,
              "at most " + fixed(object.high_m + above, 3) +
                  (room.flat() ? "" : ", or below_ceiling_m in its place"));
  else if (object.below_ceiling_m && below < 0)
    found.add(where + ".below_ceiling_m",
              room.flat() ? "goes down below the floor" : "must end at least 20 mm above the floor",
              object.below_ceiling_m->far_m,
              "at most " + fixed(object.below_ceiling_m->far_m + below / normal_stretch(room), 3));
  else
    return true;
  return false;
}

bool check_shape(const Room& room, const ResponseObject& object, const std::string& where,
                 Diagnostics& found) {
  const std::size_t before = found.size();
  if (object.plan_m.size() < 3 || object.plan_m.size() > 16)
    found.add(where + ".plan_m", "must have from 3 to 16 corners", double(object.plan_m.size()));
  else if (crossing_sides(object.plan_m, plan_snap_m))
    found.add(where + ".plan_m", "has sides that cross, touch or are shorter than 1 mm", {},
              "list each corner once, in order");
  else if (signed_area(object.plan_m) < 0)
    found.add(where + ".plan_m", "runs clockwise", {},
              "list the corners anticlockwise, seen from above");
  else
    for (const Vec2 p : object.plan_m)
      if (!contains(room.plan_m, p, plan_snap_m)) {
        found.add(where + ".plan_m", "sticks out of the room", {}, "keep it between the walls");
        break;
      }
  ends_in_order(object, where, found);
  return found.size() == before && ends_in_room(room, object, where, found);
}

void check_slabs(const Room& room, const ResponseObject& object, const std::string& where,
                 Diagnostics& found) {
  if (object.slabs.empty() || object.slabs.size() > 12) {
    found.add(where + ".layers", "must have from 1 to 12 entries", double(object.slabs.size()));
    return;
  }
  const double flat = std::hypot(object.axis.x, object.axis.y);
  const double size = length(object.axis);
  if (!(std::abs(size - 1) < 1e-6)) {
    found.add(where + ".axis", "must have length 1", size);
    return;
  }
  if (flat > 1e-6 && std::abs(object.axis.z) > 1e-6 && !is_upright(room, object)) {
    found.add(where + ".axis", "must be level or upright: an oblique one is not built yet",
              object.axis.z, "such as [0, 0, 1]");
    return;
  }
  double sum = 0;
  for (std::size_t i = 0; i < object.slabs.size(); ++i) {
    const FluidSlab& slab = object.slabs[i];
    const std::string at = where + ".layers[" + std::to_string(i) + "]";
    if (!(slab.thickness_m >= 2 * plan_snap_m && slab.thickness_m <= 30))
      found.add(at + ".thickness_m", "must be from 0.002 to 30 in an object", slab.thickness_m);
    sum += slab.thickness_m;
    check_values(slab.density, 1e-3, 1e5, at + ".density", found);
    check_values(slab.compressibility, 1e-3, 1e5, at + ".compressibility", found);
  }
  const double extent = axis_extent(room, object);
  if (!(std::abs(sum - extent) <= plan_snap_m + 1e-6 * extent))
    found.add(where + ".layers", "must together be as thick as the object is along its axis", sum,
              fixed(extent, 4) + " m");
}

/// Patch under an object that stands against its surface.
bool covers(const Room& room, const ResponseObject& object, const Patch& patch) {
  const double eps = 2 * plan_snap_m;
  const Vec2 low = patch.from_m, high = patch.to_m;
  if (patch.surface < 2) {
    const Vec2 there = object.plan_m[0];
    const HeightSpan ends = span_at(room, object, there);
    if (patch.surface == 0 && ends.low_m > eps) return false;
    if (patch.surface == 1 && ends.high_m < room.ceiling_at(there) - eps) return false;
    // Seen on a grid: enough to tell one that lies under an object from one that does not.
    for (int i = 0; i < 24; ++i)
      for (int j = 0; j < 24; ++j) {
        const Vec2 at{low.x + (high.x - low.x) * (i + 0.5) / 24,
                      low.y + (high.y - low.y) * (j + 0.5) / 24};
        if (contains(object.plan_m, at, 0) && distance_to_edge(object.plan_m, at) > eps)
          return true;
      }
    return false;
  }
  const std::size_t n = room.plan_m.size(), w = static_cast<std::size_t>(patch.surface - 2);
  const Vec2 a = room.plan_m[w], b = room.plan_m[(w + 1) % n];
  const Vec2 run = (b - a) * (1 / length(b - a));
  for (std::size_t i = 0; i < object.plan_m.size(); ++i) {
    const Vec2 p = object.plan_m[i], q = object.plan_m[(i + 1) % object.plan_m.size()];
    if (std::abs(cross(run, p - a)) > eps || std::abs(cross(run, q - a)) > eps) continue;
    const double u = dot(run, p - a), v = dot(run, q - a);
    const double from = std::max(low.x, std::min(u, v)), to = std::min(high.x, std::max(u, v));
    if (to - from <= eps) continue;
    for (int k = 0; k < 24; ++k) {
      const HeightSpan ends =
          span_at(room, object, a + run * (from + (to - from) * (k + 0.5) / 24));
      if (std::min(high.y, ends.high_m) - std::max(low.y, ends.low_m) >= eps) return true;
    }
  }
  return false;
}

}  // namespace

bool follows_ceiling(const Room& room, const ResponseObject& object) {
  return object.below_ceiling_m && !room.flat();
}

bool is_upright(const Room& room, const ResponseObject& object) {
  if (std::hypot(object.axis.x, object.axis.y) <= 1e-6) return true;
  return object.below_ceiling_m &&
         length(cross(object.axis, surface_plane(room, 1).normal)) <= 1e-6;
}

HeightSpan span_at(const Room& room, const ResponseObject& object, Vec2 at) {
  if (!object.below_ceiling_m) return {object.low_m, object.high_m};
  const double ceiling = room.ceiling_at(at), stretch = normal_stretch(room);
  return {ceiling - stretch * object.below_ceiling_m->far_m,
          ceiling - stretch * object.below_ceiling_m->near_m};
}

double along_axis(const Room& room, const ResponseObject& object, Vec3 at) {
  if (is_upright(room, object)) {
    const HeightSpan ends = span_at(room, object, {at.x, at.y});
    const double up = object.axis.z > 0 ? at.z - ends.low_m : ends.high_m - at.z;
    return object.below_ceiling_m ? up / normal_stretch(room) : up;
  }
  double low = 1e300;
  for (const Vec2 p : object.plan_m) low = std::min(low, object.axis.x * p.x + object.axis.y * p.y);
  return object.axis.x * at.x + object.axis.y * at.y - low;
}

std::vector<double> slab_marks(const ResponseObject& object) {
  std::vector<double> out{0};
  for (const FluidSlab& slab : object.slabs) out.push_back(out.back() + slab.thickness_m);
  return out;
}

std::vector<double> marks_at(const Room& room, const ResponseObject& object, Vec2 at) {
  const HeightSpan ends = span_at(room, object, at);
  std::vector<double> out{ends.low_m, ends.high_m};
  if (!is_upright(room, object)) return out;
  const double stretch = object.below_ceiling_m ? normal_stretch(room) : 1;
  const std::vector<double> marks = slab_marks(object);
  for (std::size_t i = 1; i + 1 < marks.size(); ++i)
    out.push_back(object.axis.z > 0 ? ends.low_m + stretch * marks[i]
                                    : ends.high_m - stretch * marks[i]);
  return out;
}

Diagnostics wrong_objects(const Room& room, const std::vector<ResponseObject>& objects,
                          const std::vector<ResponsePatch>& patches) {
  Diagnostics found;
  if (objects.size() > most_response_objects) {
    found.add("objects", "must be at most " + std::to_string(most_response_objects),
              double(objects.size()), "fewer of them");
    return found;
  }
  for (std::size_t i = 0; i < objects.size(); ++i) {
    const bool sound = check_shape(room, objects[i], object_at(i), found);
    if (sound) check_slabs(room, objects[i], object_at(i), found);
    if (!sound) continue;
    for (std::size_t p = 0; p < patches.size(); ++p) {
      const Patch& area = patches[p].area;
      if (area.surface >= 0 && area.surface < surface_count(room) && covers(room, objects[i], area))
        found.add("patches[" + std::to_string(p) + "]", "lies under " + object_at(i), {},
                  "move one of the two");
    }
  }
  return found;
}

}  // namespace roomwright::acoustics
