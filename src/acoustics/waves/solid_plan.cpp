// Triangles over a plan that keep to lines: the drawing's points and crossings first, then
// Delaunay's triangles (incircle flips, C. L. Lawson 1977), the lines forced in by flips (S. W.
// Sloan, Comput. Struct. 47 (1993), from memory), what lies outside taken away, long sides halved,
// and steps round corners where the field has a kink.
#include "acoustics/waves/solid_plan.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <set>

namespace roomwright::acoustics {

namespace {

constexpr double ring_step = 0.25;
using Edge = std::pair<int, int>;

std::size_t at(int i) {
  return static_cast<std::size_t>(i);
}
Edge both_ways(int a, int b) {
  return {std::min(a, b), std::max(a, b)};
}

// ---- the drawing: points, and pieces of lines between them --------------------------------------

class Drawing {
 public:
  void add(const PlanLine& line) {
    const int a = point(line.from), b = point(line.to);
    if (a != b) pieces_.push_back({a, b});
  }
  void add(Vec2 where) { point(where); }
  /// Cuts pieces where points lie on them, then where others cross them. False where that has no
  /// end.
  bool settle() {
    for (int turns = 0; turns < 4000; ++turns) {
      bool changed = false;
      for (std::size_t i = 0; i < pieces_.size() && !changed; ++i) changed = cut_at_points(i);
      for (std::size_t i = 0; i < pieces_.size() && !changed; ++i) changed = cut_at_crossing(i);
      std::set<Edge> once;
      for (const Edge& piece : pieces_)
        if (piece.first != piece.second) once.insert(both_ways(piece.first, piece.second));
      pieces_.assign(once.begin(), once.end());
      if (!changed) return true;
    }
    return false;
  }
  const std::vector<Vec2>& points() const { return points_; }
  const std::vector<Edge>& pieces() const { return pieces_; }

 private:
  int point(Vec2 where) {
    for (std::size_t i = 0; i < points_.size(); ++i)
      if (length(points_[i] - where) < plan_snap_m) return static_cast<int>(i);
    for (const Edge& piece : pieces_) {
      const Vec2 a = points_[at(piece.first)], b = points_[at(piece.second)], run = b - a;
      const double t = dot(where - a, run) / dot(run, run);
      if (t > 0 && t < 1 && length(a + run * t - where) < plan_snap_m) {
        where = a + run * t;
        break;
      }
    }
    points_.push_back(where);
    return static_cast<int>(points_.size()) - 1;
  }
  void cut(std::size_t i, int p) {
    const Edge whole = pieces_[i];
    pieces_[i] = {whole.first, p};
    pieces_.push_back({p, whole.second});
  }
  bool cut_at_points(std::size_t i) {
    const Edge piece = pieces_[i];
    const Vec2 a = points_[at(piece.first)], b = points_[at(piece.second)];
    for (std::size_t p = 0; p < points_.size(); ++p) {
      const int index = static_cast<int>(p);
      if (index == piece.first || index == piece.second) continue;
      if (distance_to_segment(points_[p], a, b) < plan_snap_m) {
        cut(i, index);
        return true;
      }
    }
    return false;
  }
  bool cut_at_crossing(std::size_t i) {
    const Edge one = pieces_[i];
    const Vec2 a = points_[at(one.first)], run = points_[at(one.second)] - a;
    for (std::size_t j = i + 1; j < pieces_.size(); ++j) {
      const Edge two = pieces_[j];
      if (one.first == two.first || one.first == two.second || one.second == two.first ||
          one.second == two.second)
        continue;
      const Vec2 c = points_[at(two.first)], other = points_[at(two.second)] - c;
      const double turn = cross(run, other);
      if (std::abs(turn) < 1e-12 * length(run) * length(other)) continue;
      const double t = cross(c - a, other) / turn, s = cross(c - a, run) / turn;
      if (t <= 0 || t >= 1 || s <= 0 || s >= 1) continue;
      const int p = point(a + run * t);
      cut(i, p);
      cut(j, p);
      return true;
    }
    return false;
  }
  std::vector<Vec2> points_;
  std::vector<Edge> pieces_;
};

// ---- triangles that can be flipped
// --------------------------------------------------------------

class Triangles {
 public:
  explicit Triangles(const std::vector<Vec2>& points) : points_(points) {
    Vec2 low = points[0], high = points[0];
    for (const Vec2& p : points) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    const double far = 20 * (length(high - low) + 1);
    const Vec2 middle = (low + high) * 0.5;
    const int n = static_cast<int>(points_.size());
    points_.push_back(middle + Vec2{-far, -far});
    points_.push_back(middle + Vec2{far, -far});
    points_.push_back(middle + Vec2{0, far});
    make(n, n + 1, n + 2);
    for (int p = 0; p < n; ++p) insert(p);
    frame_ = n;
  }
  bool fix(Edge piece);
  void keep_inside(const Polygon& room);
  bool shorten(const PlanTask& task);
  const std::vector<Vec2>& points() const { return points_; }
  std::vector<Corners> triangles() const {
    std::vector<Corners> out;
    for (std::size_t t = 0; t < corners_.size(); ++t)
      if (alive_[t]) out.push_back(corners_[t]);
    return out;
  }

 private:
  double area2(int a, int b, int c) const {
    return cross(points_[at(b)] - points_[at(a)], points_[at(c)] - points_[at(a)]);
  }
  int make(int a, int b, int c) {
    const int t = static_cast<int>(corners_.size());
    corners_.push_back({a, b, c});
    alive_.push_back(true);
    of_[{a, b}] = of_[{b, c}] = of_[{c, a}] = t;
    return t;
  }
  void drop(int t) {
    alive_[at(t)] = false;
    const Corners c = corners_[at(t)];
    for (std::size_t i = 0; i < 3; ++i) of_.erase({c[i], c[(i + 1) % 3]});
  }
  /// The triangle with that side, that way round; −1 where there is none.
  int with(int a, int b) const {
    const auto found = of_.find({a, b});
    return found == of_.end() ? -1 : found->second;
  }
  int third(int t, int a, int b) const {
    for (const int c : corners_[at(t)])
      if (c != a && c != b) return c;
    return -1;
  }
  bool in_circle(int a, int b, int c, int d) const {
    const Vec2 o = points_[at(d)];
    const Vec2 p = points_[at(a)] - o, q = points_[at(b)] - o, r = points_[at(c)] - o;
    const double pp = dot(p, p), qq = dot(q, q), rr = dot(r, r);
    const double value = pp * cross(q, r) - qq * cross(p, r) + rr * cross(p, q);
    return value > 1e-12 * (pp + qq + rr) * (pp + qq + rr);
  }
  bool convex(int a, int b, int c, int d) const {  // the diagonal a-b, c and d on its sides
    return area2(c, d, b) > flat(c, d, b) && area2(d, c, a) > flat(d, c, a);
  }
  double flat(int a, int b, int c) const {
    return 1e-12 * (dot(points_[at(b)] - points_[at(a)], points_[at(b)] - points_[at(a)]) +
                    dot(points_[at(c)] - points_[at(a)], points_[at(c)] - points_[at(a)]));
  }
  /// Turns the diagonal a-b into c-d, c left of a→b.
  void flip(int a, int b) {
    const int one = with(a, b), two = with(b, a);
    const int c = third(one, a, b), d = third(two, b, a);
    drop(one);
    drop(two);
    make(c, d, b);
    make(d, c, a);
  }
  void legalise(std::deque<Edge> open) {
    for (int turns = 0; !open.empty() && turns < 100000; ++turns) {
      const Edge side = open.front();
      open.pop_front();
      if (fixed_.count(both_ways(side.first, side.second))) continue;
      const int one = with(side.first, side.second), two = with(side.second, side.first);
      if (one < 0 || two < 0) continue;
      const int c = third(one, side.first, side.second), d = third(two, side.first, side.second);
      if (!in_circle(side.first, side.second, c, d) || !convex(side.first, side.second, c, d))
        continue;
      flip(side.first, side.second);
      for (const Edge& next :
           {Edge{side.first, c}, {c, side.second}, {side.second, d}, {d, side.first}})
        open.push_back(next);
    }
  }
  /// Halves a side (a, b) at point p, and the one or two triangles that have it.
  void split_side(int a, int b, int p) {
    const bool line = fixed_.erase(both_ways(a, b)) > 0;
    std::deque<Edge> open;
    for (const Edge& way : {Edge{a, b}, {b, a}}) {
      const int t = with(way.first, way.second);
      if (t < 0) continue;
      const int c = third(t, a, b);
      drop(t);
      make(way.first, p, c);
      make(p, way.second, c);
      open.push_back({way.second, c});
      open.push_back({c, way.first});
    }
    if (line) fixed_.insert(both_ways(a, p)), fixed_.insert(both_ways(p, b));
    legalise(open);
  }
  void insert(int p) {
    for (std::size_t t = 0; t < corners_.size(); ++t) {
      if (!alive_[t]) continue;
      const Corners c = corners_[t];
      double side[3];
      bool inside = true;
      for (std::size_t i = 0; i < 3; ++i) {
        side[i] = area2(c[i], c[(i + 1) % 3], p);
        inside = inside && side[i] >= -flat(c[i], c[(i + 1) % 3], p);
      }
      if (!inside) continue;
      for (std::size_t i = 0; i < 3; ++i)
        if (side[i] <= flat(c[i], c[(i + 1) % 3], p)) {
          split_side(c[i], c[(i + 1) % 3], p);
          return;
        }
      drop(static_cast<int>(t));
      for (std::size_t i = 0; i < 3; ++i) make(c[i], c[(i + 1) % 3], p);
      legalise({{c[0], c[1]}, {c[1], c[2]}, {c[2], c[0]}});
      return;
    }
  }
  bool crosses(Edge side, Edge piece) const {
    const int a = piece.first, b = piece.second, c = side.first, d = side.second;
    if (a == c || a == d || b == c || b == d) return false;
    return (area2(a, b, c) > 0) != (area2(a, b, d) > 0) &&
           (area2(c, d, a) > 0) != (area2(c, d, b) > 0);
  }

  std::vector<Vec2> points_;
  std::vector<Corners> corners_;
  std::vector<bool> alive_;
  std::map<Edge, int> of_;
  std::set<Edge> fixed_;
  int frame_ = 0;
};

/// Forces a line in. False where that cannot be done in doubles.
bool Triangles::fix(Edge piece) {
  std::deque<Edge> open;
  for (const auto& [side, t] : of_)
    if (side.first < side.second && crosses(side, piece)) open.push_back(side);
  for (int turns = 0; !open.empty(); ++turns) {
    if (turns > 20000) return false;
    const Edge side = open.front();
    open.pop_front();
    const int one = with(side.first, side.second), two = with(side.second, side.first);
    if (one < 0 || two < 0) return false;
    const int c = third(one, side.first, side.second), d = third(two, side.first, side.second);
    if (!convex(side.first, side.second, c, d)) {
      open.push_back(side);
      continue;
    }
    flip(side.first, side.second);
    if (crosses({c, d}, piece)) open.push_back({c, d});
  }
  if (with(piece.first, piece.second) < 0 && with(piece.second, piece.first) < 0) return false;
  fixed_.insert(both_ways(piece.first, piece.second));
  std::deque<Edge> all;
  for (const auto& [side, t] : of_)
    if (side.first < side.second) all.push_back(side);
  legalise(all);
  return true;
}

void Triangles::keep_inside(const Polygon& room) {
  for (std::size_t t = 0; t < corners_.size(); ++t) {
    if (!alive_[t]) continue;
    const Corners c = corners_[t];
    const Vec2 middle = (points_[at(c[0])] + points_[at(c[1])] + points_[at(c[2])]) * (1 / 3.0);
    const bool frame = std::any_of(c.begin(), c.end(), [&](int p) { return p >= frame_; });
    if (frame || !contains(room, middle, 0)) drop(static_cast<int>(t));
  }
}

/// Halves the side that is longest against what its place allows, until none is too long.
bool Triangles::shorten(const PlanTask& task) {
  for (;;) {
    double most = 1;
    Edge worst{-1, -1};
    std::size_t count = 0;
    for (std::size_t t = 0; t < corners_.size(); ++t) {
      if (!alive_[t]) continue;
      ++count;
      const Corners c = corners_[t];
      const double allowed =
          task.longest_m((points_[at(c[0])] + points_[at(c[1])] + points_[at(c[2])]) * (1 / 3.0));
      for (std::size_t i = 0; i < 3; ++i) {
        const Vec2 run = points_[at(c[(i + 1) % 3])] - points_[at(c[i])];
        if (const double share = length(run) / allowed; share > most * (1 + 1e-9))
          most = share, worst = {c[i], c[(i + 1) % 3]};
      }
    }
    if (worst.first < 0) return true;
    if (count > task.most_triangles) return false;
    points_.push_back((points_[at(worst.first)] + points_[at(worst.second)]) * 0.5);
    split_side(worst.first, worst.second, static_cast<int>(points_.size()) - 1);
  }
}

// ---- steps
// ---------------------------------------------------------------------------------------

void ring_corner(Mesh& mesh, int corner, int steps) {
  std::map<Edge, int> made;  // (other end, ring) -> point
  const auto ring_point = [&](int other, int ring) {
    if (ring == 0) return other;
    const auto [place, fresh] =
        made.try_emplace({other, ring}, static_cast<int>(mesh.points.size()));
    if (fresh) {
      const Vec2 c = mesh.points[at(corner)], o = mesh.points[at(other)];
      mesh.points.push_back(c + (o - c) * std::pow(ring_step, ring));
    }
    return place->second;
  };
  const std::size_t before = mesh.triangles.size();
  for (std::size_t t = 0; t < before; ++t) {
    const Corners old = mesh.triangles[t];
    const auto found = std::find(old.begin(), old.end(), corner);
    if (found == old.end()) continue;
    const auto i = static_cast<std::size_t>(found - old.begin());
    const int a = old[(i + 1) % 3], b = old[(i + 2) % 3];
    for (int ring = 0; ring < steps; ++ring) {
      const int a0 = ring_point(a, ring), b0 = ring_point(b, ring);
      const int a1 = ring_point(a, ring + 1), b1 = ring_point(b, ring + 1);
      mesh.triangles.push_back({a1, a0, b0});
      mesh.triangles.push_back({a1, b0, b1});
    }
    mesh.triangles[t] = {corner, ring_point(a, steps), ring_point(b, steps)};
  }
}

void make_rings(Mesh& mesh, const PlanTask& task) {
  for (const PlanCorner& corner : task.corners)
    for (std::size_t p = 0; p < mesh.points.size(); ++p)
      if (length(mesh.points[p] - corner.at) < plan_snap_m) {
        if (corner.rings > 0) ring_corner(mesh, static_cast<int>(p), corner.rings);
        break;
      }
}

/// Only the points that triangles use, in the order of their use.
Mesh tidy(const std::vector<Vec2>& points, const std::vector<Corners>& triangles) {
  Mesh out;
  std::vector<int> number(points.size(), -1);
  for (Corners t : triangles) {
    for (int& c : t) {
      if (number[at(c)] < 0) {
        number[at(c)] = static_cast<int>(out.points.size());
        out.points.push_back(points[at(c)]);
      }
      c = number[at(c)];
    }
    out.triangles.push_back(t);
  }
  return out;
}

}  // namespace

Result<Mesh> mesh_with_lines(const PlanTask& task) {
  Drawing drawing;
  for (std::size_t i = 0; i < task.room.size(); ++i)
    drawing.add({task.room[i], task.room[(i + 1) % task.room.size()]});
  for (const PlanLine& line : task.lines) drawing.add(line);
  for (const Vec2 point : task.points) drawing.add(point);
  const Complaint too_near{"room.plan_m",
                           "has corners or objects too near each other for a mesh",
                           {},
                           "move them apart, or make them meet exactly",
                           0};
  if (!drawing.settle()) return too_near;
  Triangles triangles(drawing.points());
  for (const Edge& piece : drawing.pieces())
    if (!triangles.fix(piece)) return too_near;
  triangles.keep_inside(task.room);
  if (!triangles.shorten(task))
    return Complaint{"room.plan_m",
                     "needs more than " + std::to_string(task.most_triangles) + " triangles",
                     {},
                     "a lower greatest frequency, or a simpler plan",
                     0};
  Mesh mesh = tidy(triangles.points(), triangles.triangles());
  make_rings(mesh, task);
  double area = 0;
  for (const Corners& t : mesh.triangles)
    area += cross(mesh.points[at(t[1])] - mesh.points[at(t[0])],
                  mesh.points[at(t[2])] - mesh.points[at(t[0])]) /
            2;
  if (!(std::abs(area / signed_area(task.room) - 1) < 1e-2))
    return Complaint{
        "room.plan_m", "has parts too narrow for a mesh", {}, "widen them, or leave them out", 0};
  return mesh;
}

}  // namespace roomwright::acoustics
