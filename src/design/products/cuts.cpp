// Distances of screws; see cuts.h.
#include "design/products/cuts.h"

#include <algorithm>
#include <cmath>
#include <functional>

namespace roomwright::design {

namespace {

const double turn_rad = 2 * std::acos(-1.0);
constexpr double far_m = 4.0;  // no piece is deeper

double to_segment_m(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  if (a == b) return distance_to_segment(a, c, d);
  if (segments_touch(a, b, c, d, 0)) return 0;
  return std::min({distance_to_segment(a, c, d), distance_to_segment(b, c, d),
                   distance_to_segment(c, a, b), distance_to_segment(d, a, b)});
}

bool inside(const Region& r, Vec2 p) {
  switch (r.form) {
    case Region::Form::box:
      return p.x >= r.u0_m && p.x <= r.u_m && p.y >= r.v0_m && p.y <= r.v_m;
    case Region::Form::wedge:
      return p.x >= 0 && p.y >= 0 && p.x / r.u_m + p.y / r.v_m <= 1;
    case Region::Form::inside_arc:
      return p.x >= 0 && p.y >= 0 && std::hypot(p.x, p.y) <= r.u_m;
    default:
      return p.x >= 0 && p.y >= 0 && p.x <= r.u_m && p.y <= r.u_m &&
             std::hypot(r.u_m - p.x, r.u_m - p.y) >= r.u_m;
  }
}

/// Least distance to the straight sides of a region; arcs come apart.
double to_sides_m(const Region& r, Vec2 from, Vec2 to) {
  const Vec2 o{0, 0}, u{r.u_m, 0}, v{0, r.v_m};
  if (r.form == Region::Form::box) {
    const Vec2 a{r.u0_m, r.v0_m}, b{r.u_m, r.v0_m}, c{r.u_m, r.v_m}, d{r.u0_m, r.v_m};
    return std::min({to_segment_m(from, to, a, b), to_segment_m(from, to, b, c),
                     to_segment_m(from, to, c, d), to_segment_m(from, to, d, a)});
  }
  const double legs = std::min(to_segment_m(from, to, o, u), to_segment_m(from, to, o, v));
  return r.form == Region::Form::wedge ? std::min(legs, to_segment_m(from, to, u, v)) : legs;
}

/// The part of a segment that lies in a box, as shares; empty where from > to.
std::array<double, 2> clipped(Vec2 a, Vec2 b, double lo, double hi) {
  double from = 0, to = 1;
  for (const auto& [start, step] : {std::pair{a.x, b.x - a.x}, {a.y, b.y - a.y}}) {
    if (step == 0) {
      if (start < lo || start > hi) return {1, 0};
      continue;
    }
    const double s = (lo - start) / step, t = (hi - start) / step;
    from = std::max(from, std::min(s, t));
    to = std::min(to, std::max(s, t));
  }
  return {from, to};
}

/// From wood under a round-over to its arc: the circle's middle lies at (r, r), and the arc is met
/// only from the quarter that it bounds.
double to_outer_arc_m(double r, Vec2 a, Vec2 b) {
  const auto [from, to] = clipped(a, b, 0, r);
  if (from > to) return far_m;
  double least = far_m;
  for (const double share : {from, to}) {
    const Vec2 p = a + (b - a) * share;
    least = std::min(least, std::abs(r - std::hypot(r - p.x, r - p.y)));
  }
  return least;
}

/// From wood to the quarter disc of a cove.
double to_inner_arc_m(double r, Vec2 a, Vec2 b) {
  const auto [from, to] = clipped(a, b, 0, far_m);
  if (from > to) return far_m;
  const Vec2 p = a + (b - a) * from, q = a + (b - a) * to;
  return std::max(0.0, distance_to_segment({0, 0}, p, q) - r);
}

/// The least of a function over [0, 1]: even brackets, then golden sections of the best.
double least_over(const std::function<double(double)>& f, int brackets, bool ring) {
  double best = far_m;
  int at = 0;
  for (int i = 0; i <= brackets; ++i) {
    const double value = f(double(i) / brackets);
    if (value < best) best = value, at = i;
  }
  double lo = double(at - 1) / brackets, hi = double(at + 1) / brackets;
  if (!ring) lo = std::max(lo, 0.0), hi = std::min(hi, 1.0);
  const double golden = (std::sqrt(5.0) - 1) / 2;
  double a = hi - golden * (hi - lo), b = lo + golden * (hi - lo), fa = f(a), fb = f(b);
  for (int i = 0; i < 48; ++i) {
    if (fa < fb) {
      hi = b, b = a, fb = fa, a = hi - golden * (hi - lo), fa = f(a);
    } else {
      lo = a, a = b, fa = fb, b = lo + golden * (hi - lo), fb = f(b);
    }
  }
  return std::min({best, fa, fb});
}

struct Local {
  Vec2 across;
  double along = 0;
};
Local local_of(const Prism& prism, Vec3 point) {
  const Vec3 off = point - prism.from;
  return {{dot(off, prism.inward), off.z}, dot(off, prism.along)};
}

double beyond_m(const Prism& prism, double along) {
  return std::max({0.0, -along, along - prism.length_m});
}

double point_gap_m(const Prism& prism, Vec3 point) {
  const Local local = local_of(prism, point);
  return std::hypot(distance_m(prism.region, local.across), beyond_m(prism, local.along));
}

double segment_gap_m(const Prism& prism, Vec3 a, Vec3 b) {
  const Local p = local_of(prism, a), q = local_of(prism, b);
  if (beyond_m(prism, p.along) == 0 && beyond_m(prism, q.along) == 0)
    return distance_m(prism.region, p.across, q.across);
  return least_over([&](double share) { return point_gap_m(prism, a + (b - a) * share); }, 24,
                    false);
}

/// Two unit vectors square to one another and to the axis.
std::array<Vec3, 2> round_axis(Vec3 axis) {
  const Vec3 other = std::abs(axis.z) < 0.5 ? Vec3{0, 0, 1} : Vec3{1, 0, 0};
  const Vec3 u = normalised(cross(axis, other));
  return {u, cross(axis, u)};
}

double head_depth_m(const Screw& screw) {
  return std::max(0.0, (screw.head_m - screw.diameter_m) / 2);
}

std::array<Vec3, 2> axis_of(const Screw& screw) {
  const double run = std::max(0.0, screw.length_m - screw.diameter_m / 2);
  return {screw.at, screw.at + screw.along * run};
}

double head_gap_m(const Screw& screw, const Prism& prism) {
  const auto round = round_axis(screw.along);
  const double rim = screw.head_m / 2, neck = screw.diameter_m / 2;
  const Vec3 below = screw.at + screw.along * head_depth_m(screw);
  return least_over(
      [&](double share) {
        const Vec3 out =
            round[0] * std::cos(turn_rad * share) + round[1] * std::sin(turn_rad * share);
        return segment_gap_m(prism, screw.at + out * rim, below + out * neck);
      },
      16, true);
}

/// Least distance of two segments in space.
/// Source: C. Ericson, Real-Time Collision Detection, 5.1.9, from memory; tested against sampling.
double segments_apart_m(Vec3 p, Vec3 p2, Vec3 q, Vec3 q2) {
  const Vec3 d = p2 - p, e = q2 - q, r = p - q;
  const double a = dot(d, d), b = dot(d, e), c = dot(e, e), f = dot(d, r), g = dot(e, r);
  const double den = a * c - b * b;
  double s = den > 1e-18 ? std::clamp((b * g - c * f) / den, 0.0, 1.0) : 0;
  double t = c > 0 ? (b * s + g) / c : 0;
  if (t < 0 || t > 1) {
    t = std::clamp(t, 0.0, 1.0);
    s = a > 0 ? std::clamp((b * t - f) / a, 0.0, 1.0) : 0;
  }
  return length(p + d * s - (q + e * t));
}

}  // namespace

double distance_m(const Region& region, Vec2 point) {
  return distance_m(region, point, point);
}

double distance_m(const Region& region, Vec2 from, Vec2 to) {
  if (inside(region, from) || inside(region, to)) return 0;
  double least = to_sides_m(region, from, to);
  if (region.form == Region::Form::outside_arc) {
    // A straight line that neither starts nor ends in what is cut may still pass through it.
    least = std::min(least, to_outer_arc_m(region.u_m, from, to));
  }
  if (region.form == Region::Form::inside_arc)
    least = std::min(least, to_inner_arc_m(region.u_m, from, to));
  return least;
}

Region region_of(const EdgeSpec& edge) {
  Region out;
  out.form = edge.shape == EdgeShape::round_over ? Region::Form::outside_arc
             : edge.shape == EdgeShape::cove     ? Region::Form::inside_arc
                                                 : Region::Form::wedge;
  out.u_m = edge.face().metres();
  out.v_m = edge.side().metres();
  return out;
}

Prism prism_of(const OuterSide& side, const Region& region) {
  const Vec3 run = side.to - side.from;
  return {region, side.from, normalised(run), side.inward, length(run)};
}

double gap_m(const Screw& screw, const Prism& prism) {
  const auto [a, b] = axis_of(screw);
  const double shank = segment_gap_m(prism, a, b) - screw.diameter_m / 2;
  return std::max(0.0, std::min(shank, head_gap_m(screw, prism)));
}

double gap_m(const Screw& a, const Screw& b) {
  const auto [p, p2] = axis_of(a);
  const auto [q, q2] = axis_of(b);
  const double shanks = segments_apart_m(p, p2, q, q2) - (a.diameter_m + b.diameter_m) / 2;
  // Heads as balls of their width: they lie flush, side by side.
  const double heads = length(a.at - b.at) - (a.head_m + b.head_m) / 2;
  return std::min(shanks, heads);
}

double step_m(const Screw& screw, const Prism& prism, double wanted_m, int sense) {
  const auto gap_at = [&](double step) {
    Screw moved = screw;
    moved.at.z += sense * step;
    return gap_m(moved, prism);
  };
  if (gap_at(0) >= wanted_m) return 0;
  double lo = 0, hi = far_m / 16;
  if (gap_at(hi) < wanted_m) return far_m;
  for (int i = 0; i < 46; ++i) {
    const double middle = (lo + hi) / 2;
    (gap_at(middle) >= wanted_m ? hi : lo) = middle;
  }
  return hi;
}

double clearance_m(const Screw& screw, const Prism& prism) {
  const double gap = gap_m(screw, prism);
  if (gap > 0) return gap;
  return -step_m(screw, prism, 1e-10, 1);
}

}  // namespace roomwright::design
