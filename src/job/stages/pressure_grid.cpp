// Points of the maps of pressure, and their places in words; see pressure_grid.h.
#include "job/stages/pressure_grid.h"

#include <algorithm>
#include <cmath>

namespace roomwright::job {

namespace {

constexpr double touching_m = 0.005;  // of a point on an edge
constexpr double beside_m = 0.15;     // of a place that a person would say is at one
constexpr double even_db = 1;         // an edge that presses alike all along

// ---- outlines -----------------------------------------------------------------------------------

/// The part of a polygon where normal · p ≤ offset.
Polygon cut_along(const Polygon& polygon, Vec2 normal, double offset) {
  Polygon out;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
    const double before = dot(normal, a) - offset, after = dot(normal, b) - offset;
    if (before <= 0) out.push_back(a);
    if ((before < 0 && after > 0) || (before > 0 && after < 0))
      out.push_back(a + (b - a) * (before / (before - after)));
  }
  return out;
}

double area_within(const Polygon& outline, Vec2 low, Vec2 high) {
  Polygon part = cut_along(outline, {-1, 0}, -low.x);
  part = cut_along(part, {1, 0}, high.x);
  part = cut_along(part, {0, -1}, -low.y);
  part = cut_along(part, {0, 1}, high.y);
  return part.size() < 3 ? 0 : std::max(0.0, signed_area(part));
}

Vec2 nearest_on(const Polygon& outline, Vec2 at) {
  Vec2 best = outline[0];
  double least = 1e18;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 a = outline[i], side = outline[(i + 1) % outline.size()] - a;
    const double size = dot(side, side);
    const double share = size > 0 ? std::clamp(dot(at - a, side) / size, 0.0, 1.0) : 0;
    const Vec2 place = a + side * share;
    if (const double away = length(place - at); away < least) least = away, best = place;
  }
  return best;
}

/// A level plane meets the ceiling that slopes in a line; what lies beyond it is no room.
Polygon plane_outline(const acoustics::Room& room, double plane_m) {
  if (room.flat()) return room.plan_m;
  return cut_along(room.plan_m, room.slope * -1, room.height_m - plane_m);
}

Vec3 place_of(const acoustics::Room& room, const PressureMap& map, double plane_m, Vec2 uv) {
  if (map.surface < 0) return {uv.x, uv.y, plane_m};
  return acoustics::from_uv(room, map.surface, uv);
}

void lay_points(const acoustics::Room& room, double plane_m,
                const std::vector<acoustics::ResponseObject>& objects, PressureMap& map) {
  const Vec2 size = map.to_m - map.from_m;
  const double reach = std::hypot(size.x / (map.across - 1), size.y / (map.up - 1));
  for (int j = 0; j < map.up; ++j)
    for (int i = 0; i < map.across; ++i) {
      Vec2 uv{map.from_m.x + size.x * i / (map.across - 1),
              map.from_m.y + size.y * j / (map.up - 1)};
      PressurePlace what = PressurePlace::air;
      if (!contains(map.outline_m, uv)) {
        const Vec2 edge = nearest_on(map.outline_m, uv);
        what = length(edge - uv) < reach ? PressurePlace::edge : PressurePlace::outside;
        uv = edge;
      }
      const Vec3 at = place_of(room, map, plane_m, uv);
      if (what != PressurePlace::outside && in_a_body(objects, at)) what = PressurePlace::body;
      map.point_m.push_back(at);
      map.what.push_back(what);
    }
}

}  // namespace

bool in_a_body(const std::vector<acoustics::ResponseObject>& objects, const Vec3& at) {
  constexpr double close_m = 1e-4;
  return std::any_of(objects.begin(), objects.end(), [&](const acoustics::ResponseObject& one) {
    return at.z > one.low_m - close_m && at.z < one.high_m + close_m &&
           contains(one.plan_m, {at.x, at.y}, close_m);
  });
}

PressureGrid pressure_grid(const acoustics::Room& room, int surface, double plane_m, double step_m,
                           const std::vector<acoustics::ResponseObject>& objects) {
  PressureGrid out;
  PressureMap& map = out.map;
  map.surface = surface;
  map.name = surface < 0 ? "plane" : acoustics::surface_name(room, surface);
  map.outline_m =
      surface < 0 ? plane_outline(room, plane_m) : acoustics::surface_outline(room, surface);
  map.from_m = map.to_m = map.outline_m[0];
  for (const Vec2& corner : map.outline_m) {
    map.from_m = {std::min(map.from_m.x, corner.x), std::min(map.from_m.y, corner.y)};
    map.to_m = {std::max(map.to_m.x, corner.x), std::max(map.to_m.y, corner.y)};
  }
  const Vec2 size = map.to_m - map.from_m;
  map.across = 1 + std::max(2, static_cast<int>(std::ceil(size.x / step_m - 1e-9)));
  map.up = 1 + std::max(2, static_cast<int>(std::ceil(size.y / step_m - 1e-9)));
  lay_points(room, plane_m, objects, map);
  map.level_db.assign(map.what.size(), -200);
  const Vec2 cell{size.x / (map.across - 1), size.y / (map.up - 1)};
  const bool whole = is_rectangle(map.outline_m);
  for (int j = 0; j + 1 < map.up; ++j)
    for (int i = 0; i + 1 < map.across; ++i) {
      const Vec2 low = map.from_m + Vec2{cell.x * i, cell.y * j};
      out.cell_m2.push_back(whole ? cell.x * cell.y : area_within(map.outline_m, low, low + cell));
    }
  return out;
}

// ---- words --------------------------------------------------------------------------------------

namespace {

/// A side of a map's outline and how a person names it.
struct Side {
  Vec2 from, to;
  std::string name;      ///< `the left corner`, `wall2`
  bool upright = false;  ///< of a wall: where it meets another
};

std::vector<Side> sides_of(const Job& job, const PressureMap& map) {
  std::vector<Side> out;
  for (std::size_t i = 0; i < map.outline_m.size(); ++i) {
    Side side{map.outline_m[i], map.outline_m[(i + 1) % map.outline_m.size()], "", false};
    const Vec2 middle = (side.from + side.to) * 0.5;
    if (map.surface >= 2) {
      // As one faces a wall, u runs from the right.
      side.upright = std::abs(side.from.x - side.to.x) < 1e-6;
      side.name = side.upright
                      ? (middle.x < map.to_m.x / 2 ? "the right corner" : "the left corner")
                      : (middle.y < touching_m ? "the floor" : "the ceiling");
    } else {
      side.name = "the ceiling";  // where a plane meets one that slopes
      for (int wall = 2; wall < acoustics::surface_count(job.room); ++wall) {
        const auto n = job.room.plan_m.size();
        const auto corner = static_cast<std::size_t>(wall - 2);
        if (distance_to_segment(middle, job.room.plan_m[corner],
                                job.room.plan_m[(corner + 1) % n]) < 1e-6)
          side.name = acoustics::surface_name(job.room, wall);
      }
    }
    out.push_back(side);
  }
  return out;
}

bool even(const PressureMap& map, double greatest_db, const Side* along) {
  int met = 0;
  for (std::size_t i = 0; i < map.what.size(); ++i) {
    if (map.what[i] != PressurePlace::air) continue;
    const Vec2 size = map.to_m - map.from_m;
    const auto a = static_cast<int>(i) % map.across, b = static_cast<int>(i) / map.across;
    const Vec2 at{map.from_m.x + size.x * a / (map.across - 1),
                  map.from_m.y + size.y * b / (map.up - 1)};
    if (along && distance_to_segment(at, along->from, along->to) > touching_m) continue;
    if (map.level_db[i] < greatest_db - even_db) return false;
    ++met;
  }
  return met > 2;
}

/// `0.8 m from wall1`, `0.8 m above the floor`.
std::string away_from(const Job& job, const Side& side, double away_m) {
  const std::string far = print_room_length(away_m, job.region.units);
  if (side.name == "the floor") return far + " above the floor";
  return far + (side.name == "the ceiling" ? " below the ceiling" : " from " + side.name);
}

std::string at_side(const Side& side) {
  return (side.upright ? "in " : "at ") + side.name;
}

struct Apart {
  std::size_t side = 0;
  double away_m = 0;
};

/// Of a place that touches one side: how far along it, from the nearer end.
std::string along_side(const Job& job, const PressureMap& map, const std::vector<Side>& sides,
                       std::size_t touched, Vec2 at) {
  const Side& side = sides[touched];
  const bool to_start = length(at - side.from) <= length(at - side.to);
  const double away_m = length(at - (to_start ? side.from : side.to));
  const std::size_t n = sides.size();
  const Side& other = sides[to_start ? (touched + n - 1) % n : (touched + 1) % n];
  if (map.surface >= 2) return away_from(job, other, away_m);
  return print_room_length(away_m, job.region.units) + " from " +
         (other.name == "the ceiling" ? other.name : "its corner with " + other.name);
}

std::string words_of(const Job& job, const PressureMap& map, double greatest_db, Vec2 at,
                     std::string& kind) {
  const std::vector<Side> sides = sides_of(job, map);
  std::vector<Apart> all;
  for (std::size_t s = 0; s < sides.size(); ++s)
    all.push_back({s, distance_to_segment(at, sides[s].from, sides[s].to)});
  std::stable_sort(all.begin(), all.end(), [](const Apart& a, const Apart& b) {
    return std::round(a.away_m * 1000) < std::round(b.away_m * 1000);
  });
  const auto touched = static_cast<std::size_t>(
      std::count_if(all.begin(), all.end(), [](const Apart& a) { return a.away_m < beside_m; }));
  kind = touched == 0 ? "middle" : touched == 1 ? "edge" : "corner";
  if (even(map, greatest_db, nullptr)) return "about alike all over";
  for (std::size_t t = 0; t < touched; ++t)
    if (even(map, greatest_db, &sides[all[t].side])) return "all along " + sides[all[t].side].name;
  if (touched == 0)
    return "off its edges, " + away_from(job, sides[all[0].side], all[0].away_m) + " and " +
           away_from(job, sides[all[1].side], all[1].away_m);
  // A wall's corner is named before floor and ceiling.
  if (touched >= 2) {
    const Side &one = sides[all[0].side], &two = sides[all[1].side];
    const bool turned = !one.upright && two.upright;
    const Side &first = turned ? two : one, &second = turned ? one : two;
    if (map.surface < 2) return "in the corner of " + first.name + " and " + second.name;
    return at_side(first) + ", " + at_side(second);
  }
  return at_side(sides[all[0].side]) + ", " + along_side(job, map, sides, all[0].side, at);
}

}  // namespace

PressureSpot greatest_place(const Job& job, const PressureMap& map,
                            const std::vector<Vec3>& sources) {
  PressureSpot out;
  out.level_db = -200;
  for (std::size_t i = 0; i < map.what.size(); ++i) {
    if (map.what[i] != PressurePlace::air && map.what[i] != PressurePlace::edge) continue;
    const double half = std::pow(10, map.level_db[i] / 20) / 2;
    if (std::any_of(sources.begin(), sources.end(), [&](const Vec3& source) {
          return 1 / std::max(length(source - map.point_m[i]), 1e-3) > half;
        }))
      continue;
    // Of those that are alike to a hundredth the first, on any machine.
    const double level_db = std::round(map.level_db[i] * 100) / 100;
    if (level_db <= std::round(out.level_db * 100) / 100) continue;
    out.level_db = map.level_db[i];
    out.at_m = map.surface < 0 ? Vec2{map.point_m[i].x, map.point_m[i].y}
                               : acoustics::to_uv(job.room, map.surface, map.point_m[i]);
  }
  if (out.level_db > -200)
    out.words = words_of(job, map, out.level_db, out.at_m, out.kind);
  else
    out.words = "not told: inside a piece, or beside a loudspeaker";
  return out;
}

}  // namespace roomwright::job
