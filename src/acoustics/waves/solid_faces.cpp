// What surfaces and patches add to a column of prisms: ∫ΦΦ over the faces that lie on walls, floor
// and ceiling, patches by clipping, so that their edges need not be the mesh's.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_model.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

std::size_t place(int i) {
  return static_cast<std::size_t>(i);
}

/// A rectangle in (u, v), or none: the whole surface.
struct Clip {
  bool whole = true;
  Vec2 low, high;
};

/// The wall on which a side of a triangle lies; −1: none.
int wall_of(const Room& room, Vec2 a, Vec2 b) {
  const std::size_t n = room.plan_m.size();
  for (std::size_t w = 0; w < n; ++w) {
    const Vec2 p = room.plan_m[w], q = room.plan_m[(w + 1) % n];
    // A point that snapped to a line may lie off the wall by as much.
    if (distance_to_segment(a, p, q) < 2 * plan_snap_m &&
        distance_to_segment(b, p, q) < 2 * plan_snap_m)
      return static_cast<int>(w) + 2;
  }
  return -1;
}

class ColumnFaces {
 public:
  ColumnFaces(const Room& room, SolidModel& model, std::size_t t)
      : room_(room), model_(model), corners_(model.mesh.triangles[t]), out_(model.columns[t]) {
    for (std::size_t i = 0; i < 3; ++i) p_[i] = model.mesh.points[place(corners_[i])];
  }

  /// Side i → i + 1 of the triangle, on a wall.
  void wall(std::size_t i, int surface, const Clip& clip, int boundary) {
    const std::size_t j = (i + 1) % 3;
    Part part;
    part.functions = on_side(static_cast<int>(i), static_cast<int>(j));
    part.u0 = to_u(surface, p_[i]), part.u1 = to_u(surface, p_[j]);
    part.i = i, part.j = j;
    for (std::size_t l = 0; l < model_.layers.size(); ++l) wall_layer(part, l, clip, boundary);
  }

  /// The floor's or the ceiling's face of the triangle.
  void level(bool top, const Clip& clip, int boundary) {
    Polygon area{p_[0], p_[1], p_[2]};
    if (!clip.whole) area = clipped(area, clip);
    const auto n = static_cast<Eigen::Index>(out_.functions.size());
    Matrix sum = Matrix::Zero(n, n);
    int highest = 0;
    for (const TriangleShape& shape : out_.shapes)
      highest = std::max({highest, shape.order, shape.one + shape.two + 3});
    const Quadrature rule = gauss_legendre(highest + 2, 0, 1);
    bool any = false;
    for (std::size_t c = 1; c + 1 < area.size(); ++c) {
      const double twice = cross(area[c] - area[0], area[c + 1] - area[0]);
      if (twice < 1e-14) continue;
      any = true;
      for (std::size_t g = 0; g < rule.points.size(); ++g)
        for (std::size_t h = 0; h < rule.points.size(); ++h) {
          const double y = rule.points[g], x = rule.points[h] * (1 - y);
          const Vec2 at = area[0] + (area[c] - area[0]) * x + (area[c + 1] - area[0]) * y;
          const Vector v = values(lambda(at));
          sum += rule.weights[g] * rule.weights[h] * (1 - y) * twice * v * v.transpose();
        }
    }
    if (!any) return;
    if (top) sum *= std::sqrt(1 + dot(room_.slope, room_.slope));
    const int level = top ? static_cast<int>(model_.layers.size()) : 0;
    Matrix end = Matrix::Zero(model_.height_size, model_.height_size);
    end(level, level) = 1;
    add(std::move(sum), end, boundary);
  }

 private:
  struct Part {
    std::vector<int> functions;  ///< those that are not 0 on the side
    double u0 = 0, u1 = 0;
    std::size_t i = 0, j = 0;
  };

  double to_u(int surface, Vec2 at) const { return to_uv(room_, surface, {at.x, at.y, 0}).x; }
  std::vector<int> on_side(int i, int j) const {
    std::vector<int> found;
    for (std::size_t f = 0; f < out_.shapes.size(); ++f) {
      const TriangleShape& s = out_.shapes[f];
      const bool corner = s.kind == TriangleShape::corner && (s.one == i || s.one == j);
      const bool side = s.kind == TriangleShape::side &&
                        ((s.one == i && s.two == j) || (s.one == j && s.two == i));
      if (corner || side) found.push_back(static_cast<int>(f));
    }
    return found;
  }
  std::array<double, 3> lambda(Vec2 at) const {
    const double whole = cross(p_[1] - p_[0], p_[2] - p_[0]);
    const double one = cross(at - p_[0], p_[2] - p_[0]) / whole;
    const double two = cross(p_[1] - p_[0], at - p_[0]) / whole;
    return {1 - one - two, one, two};
  }
  Vector values(const std::array<double, 3>& at) const {
    Vector v(static_cast<Eigen::Index>(out_.shapes.size()));
    for (std::size_t f = 0; f < out_.shapes.size(); ++f)
      v(static_cast<Eigen::Index>(f)) = shape_at(out_.shapes[f], at).value;
    return v;
  }
  double level_at(const Part& part, std::size_t level, double t) const {
    return (1 - t) * model_.level_m[place(corners_[part.i])][level] +
           t * model_.level_m[place(corners_[part.j])][level];
  }

  /// Where, along the side from 0 to 1, the integrand has kinks.
  std::vector<double> kinks(const Part& part, std::size_t l, const Clip& clip) const {
    std::vector<double> cuts{0, 1};
    if (!clip.whole) {
      const double run = part.u1 - part.u0;
      cuts.push_back((clip.low.x - part.u0) / run);
      cuts.push_back((clip.high.x - part.u0) / run);
      for (const double v : {clip.low.y, clip.high.y})
        for (const std::size_t level : {l, l + 1}) {
          const double z0 = level_at(part, level, 0), z1 = level_at(part, level, 1);
          if (std::abs(z1 - z0) > 1e-12) cuts.push_back((v - z0) / (z1 - z0));
        }
    }
    std::vector<double> inside;
    for (const double t : cuts) inside.push_back(std::clamp(t, 0.0, 1.0));
    std::sort(inside.begin(), inside.end());
    return inside;
  }

  /// Everything that a boundary adds is a matrix of the plan times one of the height.
  void add(Matrix plan, const Matrix& over_functions, int boundary) {
    SolidTerm term;
    term.plan = static_cast<int>(out_.plan.size());
    term.height = add_height(model_, over_functions);
    term.in_mass = 1;
    term.boundary = boundary;
    out_.plan.push_back(std::move(plan));
    out_.terms.push_back(term);
  }

  /// One layer's face: ∫∫ over a side and the height. Where the height's part is the same along the
  /// side it is one product; else one for each point of the rule along the side.
  void wall_layer(const Part& part, std::size_t l, const Clip& clip, int boundary) {
    const SolidLayer& layer = model_.layers[l];
    const double run = std::abs(part.u1 - part.u0);
    const std::vector<double> cuts = kinks(part, l, clip);
    const bool level = std::abs(level_at(part, l, 0) - level_at(part, l, 1)) +
                           std::abs(level_at(part, l + 1, 0) - level_at(part, l + 1, 1)) <
                       1e-12;
    const bool once = clip.whole || level;
    const auto size = static_cast<Eigen::Index>(out_.shapes.size());
    Matrix plan = Matrix::Zero(size, size), up;
    for (std::size_t c = 0; c + 1 < cuts.size(); ++c) {
      if (cuts[c + 1] - cuts[c] < 1e-12) continue;
      const double middle = part.u0 + (cuts[c] + cuts[c + 1]) / 2 * (part.u1 - part.u0);
      if (!clip.whole && (middle < clip.low.x || middle > clip.high.x)) continue;
      const Quadrature rule =
          gauss_legendre(static_cast<int>(part.functions.size()) + 2, cuts[c], cuts[c + 1]);
      for (std::size_t g = 0; g < rule.points.size(); ++g) {
        const double t = rule.points[g];
        const double z0 = level_at(part, l, t), z1 = level_at(part, l + 1, t);
        double from = 0, to = 1;
        if (!clip.whole) {
          from = std::clamp((clip.low.y - z0) / (z1 - z0), 0.0, 1.0);
          to = std::clamp((clip.high.y - z0) / (z1 - z0), 0.0, 1.0);
        }
        if (to - from < 1e-12) continue;
        std::array<double, 3> at{};
        at[part.i] = 1 - t, at[part.j] = t;
        Vector across = Vector::Zero(size);
        for (const int f : part.functions) across(f) = shape_at(out_.shapes[place(f)], at).value;
        plan += across * across.transpose() * (rule.weights[g] * run * (z1 - z0));
        if (!once || up.size() == 0) up = height_part(layer, from, to).mass;
        if (!once) {
          add(plan, over_all(layer, up), boundary);
          plan.setZero();
        }
      }
    }
    if (once && up.size() > 0) add(std::move(plan), over_all(layer, up), boundary);
  }

  Matrix over_all(const SolidLayer& layer, const Matrix& up) const {
    Matrix out = Matrix::Zero(model_.height_size, model_.height_size);
    for (Eigen::Index a = 0; a < up.rows(); ++a)
      for (Eigen::Index b = 0; b < up.cols(); ++b)
        out(layer.functions[static_cast<std::size_t>(a)],
            layer.functions[static_cast<std::size_t>(b)]) += up(a, b);
    return out;
  }

  /// The part of a convex polygon inside a rectangle (Sutherland and Hodgman).
  static Polygon clipped(Polygon area, const Clip& clip) {
    const struct {
      Vec2 normal;
      double offset;
    } sides[] = {{{1, 0}, clip.low.x},
                 {{-1, 0}, -clip.high.x},
                 {{0, 1}, clip.low.y},
                 {{0, -1}, -clip.high.y}};
    for (const auto& side : sides) {
      Polygon kept;
      for (std::size_t i = 0; i < area.size(); ++i) {
        const Vec2 a = area[i], b = area[(i + 1) % area.size()];
        const double da = dot(side.normal, a) - side.offset, db = dot(side.normal, b) - side.offset;
        if (da >= 0) kept.push_back(a);
        if ((da > 0 && db < 0) || (da < 0 && db > 0))
          kept.push_back(a + (b - a) * (da / (da - db)));
      }
      area = kept;
    }
    return area;
  }

  const Room& room_;
  SolidModel& model_;
  Corners corners_;
  SolidColumn& out_;
  std::array<Vec2, 3> p_{};
};

}  // namespace

void add_faces(const Room& room, const std::vector<ResponsePatch>& patches, SolidModel& model,
               std::size_t column) {
  ColumnFaces faces(room, model, column);
  const Corners t = model.mesh.triangles[column];
  std::vector<int> wall(3, -1);
  for (std::size_t i = 0; i < 3; ++i)
    wall[i] =
        wall_of(room, model.mesh.points[place(t[i])], model.mesh.points[place(t[(i + 1) % 3])]);
  const auto add = [&](int surface, const Clip& clip, int boundary) {
    if (surface < 2)
      faces.level(surface == 1, clip, boundary);
    else
      for (std::size_t i = 0; i < 3; ++i)
        if (wall[i] == surface) faces.wall(i, surface, clip, boundary);
  };
  const int surfaces = surface_count(room);
  for (int s = 0; s < surfaces; ++s) add(s, {}, s);
  for (std::size_t p = 0; p < patches.size(); ++p) {
    const Patch& area = patches[p].area;
    const Clip clip{false,
                    {std::min(area.from_m.x, area.to_m.x), std::min(area.from_m.y, area.to_m.y)},
                    {std::max(area.from_m.x, area.to_m.x), std::max(area.from_m.y, area.to_m.y)}};
    add(area.surface, clip, surfaces + static_cast<int>(p));
  }
}

}  // namespace roomwright::acoustics
