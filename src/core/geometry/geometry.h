// Vectors, planes and plane polygons in metres: what rooms, images and drawings stand on.
#pragma once

#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "core/base/base.h"

namespace roomwright {

struct Vec2 {
  double x = 0, y = 0;
  constexpr Vec2 operator+(Vec2 o) const { return {x + o.x, y + o.y}; }
  constexpr Vec2 operator-(Vec2 o) const { return {x - o.x, y - o.y}; }
  constexpr Vec2 operator*(double s) const { return {x * s, y * s}; }
  constexpr bool operator==(const Vec2&) const = default;
};
constexpr double dot(Vec2 a, Vec2 b) {
  return a.x * b.x + a.y * b.y;
}
constexpr double cross(Vec2 a, Vec2 b) {
  return a.x * b.y - a.y * b.x;
}
inline double length(Vec2 a) {
  return std::hypot(a.x, a.y);
}

struct Vec3 {
  double x = 0, y = 0, z = 0;
  constexpr Vec3 operator+(Vec3 o) const { return {x + o.x, y + o.y, z + o.z}; }
  constexpr Vec3 operator-(Vec3 o) const { return {x - o.x, y - o.y, z - o.z}; }
  constexpr Vec3 operator*(double s) const { return {x * s, y * s, z * s}; }
  constexpr bool operator==(const Vec3&) const = default;
};
constexpr double dot(Vec3 a, Vec3 b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
constexpr Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline double length(Vec3 a) {
  return std::sqrt(dot(a, a));
}
inline Vec3 normalised(Vec3 a) {
  return a * (1 / length(a));
}

/// normal · p = offset; the normal has length 1.
struct Plane {
  Vec3 normal;
  double offset = 0;
  double distance(Vec3 p) const { return dot(normal, p) - offset; }
  Vec3 mirror(Vec3 p) const { return p - normal * (2 * distance(p)); }
};

using Polygon = std::vector<Vec2>;

/// Above 0 where the corners run anticlockwise.
double signed_area(const Polygon& polygon);
double perimeter(const Polygon& polygon);
/// Where two segments meet, their ends included within the tolerance.
bool segments_touch(Vec2 a, Vec2 b, Vec2 c, Vec2 d, double tolerance = 1e-9);
/// The first pair of sides that cross or touch without being neighbours; a side shorter than the
/// tolerance or one that folds back on its neighbour counts with itself.
std::optional<std::array<std::size_t, 2>> crossing_sides(const Polygon& polygon,
                                                         double tolerance = 1e-6);
/// Inside or on the edge (within the tolerance).
bool contains(const Polygon& polygon, Vec2 point, double tolerance = 1e-9);
double distance_to_segment(Vec2 point, Vec2 a, Vec2 b);
/// From a point to the polygon's nearest side.
double distance_to_edge(const Polygon& polygon, Vec2 point);
/// Whether four corners at right angles.
bool is_rectangle(const Polygon& polygon, double tolerance = 1e-6);

/// Three corner indices a triangle, anticlockwise, by cutting ears; the polygon is simple and
/// anticlockwise. Source: G. H. Meisters, Amer. Math. Monthly 82 (1975), two-ears theorem.
std::vector<std::array<std::size_t, 3>> triangulate(const Polygon& polygon);

}  // namespace roomwright
