// Plane polygons; see geometry.h.
#include "core/geometry/geometry.h"

#include <algorithm>

namespace roomwright {

double signed_area(const Polygon& polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i)
    twice += cross(polygon[i], polygon[(i + 1) % polygon.size()]);
  return twice / 2;
}

double perimeter(const Polygon& polygon) {
  double sum = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i)
    sum += length(polygon[(i + 1) % polygon.size()] - polygon[i]);
  return sum;
}

double distance_to_segment(Vec2 point, Vec2 a, Vec2 b) {
  const Vec2 along = b - a;
  const double squared = dot(along, along);
  const double t = squared > 0 ? std::clamp(dot(point - a, along) / squared, 0.0, 1.0) : 0;
  return length(point - a - along * t);
}

bool segments_touch(Vec2 a, Vec2 b, Vec2 c, Vec2 d, double tolerance) {
  const double side_c = cross(b - a, c - a), side_d = cross(b - a, d - a);
  const double side_a = cross(d - c, a - c), side_b = cross(d - c, b - c);
  if (((side_c > 0) != (side_d > 0)) && ((side_a > 0) != (side_b > 0)) && side_c != side_d)
    return true;
  return std::min({distance_to_segment(c, a, b), distance_to_segment(d, a, b),
                   distance_to_segment(a, c, d), distance_to_segment(b, c, d)}) <= tolerance;
}

std::optional<std::array<std::size_t, 2>> crossing_sides(const Polygon& polygon, double tolerance) {
  const std::size_t n = polygon.size();
  const auto corner = [&](std::size_t i) { return polygon[i % n]; };
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 side = corner(i + 1) - corner(i), next = corner(i + 2) - corner(i + 1);
    if (length(side) <= tolerance) return {{i, i}};
    const bool folds =
        std::abs(cross(side, next)) <= tolerance * length(side) && dot(side, next) < 0;
    if (folds) return {{i, (i + 1) % n}};
  }
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = i + 2; k < n; ++k) {
      if (i == 0 && k == n - 1) continue;
      if (segments_touch(corner(i), corner(i + 1), corner(k), corner(k + 1), tolerance))
        return {{i, k}};
    }
  return std::nullopt;
}

double distance_to_edge(const Polygon& polygon, Vec2 point) {
  double least = 1e300;
  for (std::size_t i = 0; i < polygon.size(); ++i)
    least =
        std::min(least, distance_to_segment(point, polygon[i], polygon[(i + 1) % polygon.size()]));
  return least;
}

bool contains(const Polygon& polygon, Vec2 point, double tolerance) {
  if (distance_to_edge(polygon, point) <= tolerance) return true;
  bool inside = false;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
    if ((a.y > point.y) == (b.y > point.y)) continue;
    if (point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y)) inside = !inside;
  }
  return inside;
}

bool is_rectangle(const Polygon& polygon, double tolerance) {
  if (polygon.size() != 4) return false;
  for (std::size_t i = 0; i < 4; ++i) {
    const Vec2 a = polygon[(i + 1) % 4] - polygon[i],
               b = polygon[(i + 2) % 4] - polygon[(i + 1) % 4];
    if (std::abs(dot(a, b)) > tolerance * length(a) * length(b)) return false;
  }
  return true;
}

namespace {

bool in_triangle(Vec2 p, Vec2 a, Vec2 b, Vec2 c) {
  return cross(b - a, p - a) >= 0 && cross(c - b, p - b) >= 0 && cross(a - c, p - c) >= 0;
}

bool is_ear(const Polygon& polygon, const std::vector<std::size_t>& left, std::size_t at) {
  const std::size_t n = left.size();
  const std::size_t before = left[(at + n - 1) % n], here = left[at], after = left[(at + 1) % n];
  const Vec2 a = polygon[before], b = polygon[here], c = polygon[after];
  if (cross(b - a, c - b) <= 0) return false;
  return std::none_of(left.begin(), left.end(), [&](std::size_t i) {
    return i != before && i != here && i != after && in_triangle(polygon[i], a, b, c);
  });
}

/// Of all ears, the one whose smallest angle is largest: fat triangles serve finite elements.
double ear_quality(const Polygon& polygon, const std::vector<std::size_t>& left, std::size_t at) {
  const std::size_t n = left.size();
  const Vec2 a = polygon[left[(at + n - 1) % n]], b = polygon[left[at]],
             c = polygon[left[(at + 1) % n]];
  const double twice = cross(b - a, c - b);
  const double longest = std::max({length(b - a), length(c - b), length(a - c)});
  return twice / (longest * longest);
}

}  // namespace

std::vector<std::array<std::size_t, 3>> triangulate(const Polygon& polygon) {
  std::vector<std::size_t> left(polygon.size());
  for (std::size_t i = 0; i < left.size(); ++i) left[i] = i;
  std::vector<std::array<std::size_t, 3>> out;
  while (left.size() > 3) {
    std::size_t best = left.size();
    double best_quality = -1;
    for (std::size_t i = 0; i < left.size(); ++i)
      if (is_ear(polygon, left, i) && ear_quality(polygon, left, i) > best_quality) {
        best = i;
        best_quality = ear_quality(polygon, left, i);
      }
    const std::size_t n = left.size();
    if (best == n) {
      // Corners in one line: take one out without a triangle.
      best = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const Vec2 a = polygon[left[(i + n - 1) % n]], b = polygon[left[i]],
                   c = polygon[left[(i + 1) % n]];
        if (std::abs(cross(b - a, c - b)) < 1e-12) best = i;
      }
    } else {
      out.push_back({left[(best + n - 1) % n], left[best], left[(best + 1) % n]});
    }
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(best));
  }
  if (left.size() == 3) out.push_back({left[0], left[1], left[2]});
  return out;
}

}  // namespace roomwright
