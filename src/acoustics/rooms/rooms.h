// The room as acoustics sees it: a plan polygon, a flat or sloped ceiling, its surfaces with their
// own coordinates (u, v), and patches on them. Boundary data are plain spectra; who has layers asks
// the absorbers first.
//
// Surfaces: 0 is the floor, 1 the ceiling, 2 + k the wall from plan corner k to k + 1. The plan
// runs anticlockwise from above, the floor is z = 0. On a wall u is the distance along it from its
// first corner and v the height; on floor and ceiling u = x and v = y (the plan's projection where
// it slopes).
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"
#include "core/geometry/geometry.h"

namespace roomwright::acoustics {

inline constexpr std::size_t most_plan_corners = 64;
inline constexpr double least_room_m = 0.5;
inline constexpr double greatest_room_m = 100;

/// A valid room; make it with one of the three below.
struct Room {
  Polygon plan_m;
  /// The ceiling: z = height_m + slope · (x, y).
  double height_m = 0;
  Vec2 slope;
  bool flat() const { return slope.x == 0 && slope.y == 0; }
  double ceiling_at(Vec2 at) const { return height_m + dot(slope, at); }
  bool operator==(const Room&) const = default;
};

/// Sides from least_room_m to greatest_room_m.
Result<Room> make_box(double x_m, double y_m, double z_m);
/// Errors: fewer than 3 or more than most_plan_corners corners; corners that run clockwise; sides
/// that cross, touch or are shorter than 1 mm; a plan or height out of the sizes above. All at
/// once.
Result<Room> make_room(const Polygon& plan_m, double height_m);
/// ceiling_m: three points of its plane. Further errors: points in one line, a ceiling that is not
/// at least least_room_m above the floor over the whole plan.
Result<Room> make_sloped_room(const Polygon& plan_m, const std::array<Vec3, 3>& ceiling_m);

int surface_count(const Room& room);
/// `floor`, `ceiling`, `wall0` …
std::string surface_name(const Room& room, int surface);
std::optional<int> find_surface(const Room& room, std::string_view name);
/// The outline in (u, v), anticlockwise as seen with u to the right and v up.
Polygon surface_outline(const Room& room, int surface);
double surface_area_m2(const Room& room, int surface);
/// Corners in the room, in the order of surface_outline.
std::vector<Vec3> surface_corners(const Room& room, int surface);
/// The plane with its normal into the room.
Plane surface_plane(const Room& room, int surface);
Vec3 from_uv(const Room& room, int surface, Vec2 uv);
Vec2 to_uv(const Room& room, int surface, Vec3 point);
/// A wall's length along u.
double wall_length_m(const Room& room, int surface);

double volume_m3(const Room& room);
double floor_area_m2(const Room& room);
double total_area_m2(const Room& room);
/// Of every edge once.
double total_edge_m(const Room& room);
bool is_box(const Room& room);
/// x, y, z of a box (x along the plan's first side).
Vec3 box_size_m(const Room& room);
/// In the room and at least margin_m from every surface.
bool contains(const Room& room, Vec3 point, double margin_m = 0);

/// Two surfaces that face each other in parallel.
struct FacingPair {
  int first = 0, second = 0;
  double distance_m = 0;
  double overlap_m2 = 0;  ///< of their outlines seen along the common normal
};
std::vector<FacingPair> facing_pairs(const Room& room);

/// A rectangle on a surface that has its own absorption.
struct Patch {
  int surface = 0;
  Vec2 from_m, to_m;  ///< (u, v)
};
/// Errors under where[i]: surfaces that are not there, rectangles outside their surface or empty,
/// patches that overlap.
Diagnostics check_patches(const Room& room, const std::vector<Patch>& patches,
                          const std::string& where);

}  // namespace roomwright::acoustics
