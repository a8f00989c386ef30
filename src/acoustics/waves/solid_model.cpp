// Puts a room of any plan together from prisms; see solid_model.h.
#include "acoustics/waves/solid_model.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Matrix = Eigen::MatrixXd;
const double solid_pi = std::acos(-1.0);
constexpr double side_of_wave = 6.5;  // of a triangle, times the wave number
constexpr int most_plan_degree = 12, most_height_degree = 48;

std::size_t spot(int i) {
  return static_cast<std::size_t>(i);
}

/// Degrees that keep 0.25 dB, by wave number times size: chosen by trial against the reference
/// fields of the tests, not by theory.
int plan_degree(double size, int more) {
  return std::clamp(static_cast<int>(std::ceil(1.6 + 0.72 * size)) + more, 2, most_plan_degree);
}
int height_degree(double size, int more) {
  return std::clamp(static_cast<int>(std::ceil(2.2 + 0.62 * size)) + more, 2, most_height_degree);
}

// ---- the plan
// ------------------------------------------------------------------------------------

/// A level line across an object where one slab ends.
void add_slab_lines(const ResponseObject& object, std::vector<PlanLine>& lines) {
  const Vec2 axis{object.axis.x, object.axis.y};
  const std::vector<double> marks = slab_marks(object);
  const double start = axis_start(object);
  for (std::size_t m = 1; m + 1 < marks.size(); ++m) {
    const double level = start + marks[m];
    std::vector<Vec2> ends;
    const std::size_t n = object.plan_m.size();
    for (std::size_t i = 0; i < n; ++i) {
      const Vec2 a = object.plan_m[i], b = object.plan_m[(i + 1) % n];
      const double da = dot(axis, a) - level, db = dot(axis, b) - level;
      if (std::abs(da) < 1e-9) ends.push_back(a);
      if ((da > 1e-9 && db < -1e-9) || (da < -1e-9 && db > 1e-9))
        ends.push_back(a + (b - a) * (da / (da - db)));
    }
    const Vec2 along{-axis.y, axis.x};
    std::sort(ends.begin(), ends.end(),
              [&](Vec2 a, Vec2 b) { return dot(along, a) < dot(along, b); });
    for (std::size_t i = 0; i + 1 < ends.size(); ++i)
      if (contains(object.plan_m, (ends[i] + ends[i + 1]) * 0.5, 1e-9))
        lines.push_back({ends[i], ends[i + 1]});
  }
}

/// Edges of patches: the field has a kink there too, if a lesser one.
void add_patch_lines(const Room& room, const Patch& area, PlanTask& task) {
  const Vec2 a = area.from_m, c = area.to_m;
  if (area.surface < 2) {
    const Vec2 corner[] = {a, {c.x, a.y}, c, {a.x, c.y}};
    for (std::size_t i = 0; i < 4; ++i) task.lines.push_back({corner[i], corner[(i + 1) % 4]});
  } else {
    for (const double u : {a.x, c.x}) {
      const Vec3 at = from_uv(room, area.surface, {u, 0});
      task.points.push_back({at.x, at.y});
    }
  }
}

PlanTask plan_task(const SolidAsk& ask) {
  PlanTask task;
  task.room = ask.room.plan_m;
  const std::size_t n = task.room.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 in = task.room[i] - task.room[(i + n - 1) % n],
               on = task.room[(i + 1) % n] - task.room[i];
    if (cross(in, on) < -0.05 * length(in) * length(on)) task.corners.push_back({task.room[i], 2});
  }
  for (const ResponseObject& object : ask.objects) {
    for (std::size_t i = 0; i < object.plan_m.size(); ++i) {
      task.lines.push_back({object.plan_m[i], object.plan_m[(i + 1) % object.plan_m.size()]});
      if (distance_to_edge(task.room, object.plan_m[i]) > plan_snap_m)
        task.corners.push_back({object.plan_m[i], 1});
    }
    if (!is_upright(object)) add_slab_lines(object, task.lines);
  }
  if (ask.follow_patches)
    for (const ResponsePatch& patch : ask.patches) add_patch_lines(ask.room, patch.area, task);
  task.longest_m = [&ask](Vec2 at) {
    double slowest = 1;
    std::size_t material = 1;
    for (const ResponseObject& object : ask.objects)
      for (std::size_t s = 0; s < object.slabs.size(); ++s, ++material)
        if (contains(object.plan_m, at, 0)) slowest = std::max(slowest, ask.slowness[material]);
    return side_of_wave / (ask.wave_number_1_m * slowest);
  };
  return task;
}

// ---- the height
// ----------------------------------------------------------------------------------

/// Levels at each point of the plan: marks of objects as they are wherever an object needs them,
/// squeezed under a low ceiling elsewhere.
std::vector<std::vector<double>> levels(const SolidAsk& ask, const Mesh& mesh) {
  std::vector<double> marks = height_marks(ask.objects);
  if (ask.follow_patches && ask.room.flat()) {
    for (const ResponsePatch& patch : ask.patches)
      if (patch.area.surface >= 2)
        for (const double v : {patch.area.from_m.y, patch.area.to_m.y}) marks.push_back(v);
    std::sort(marks.begin(), marks.end());
    std::vector<double> kept;
    for (const double z : marks)
      if (z > plan_snap_m && (kept.empty() || z - kept.back() > plan_snap_m)) kept.push_back(z);
    marks = kept;
  }
  if (ask.room.flat())
    while (!marks.empty() && marks.back() > ask.room.height_m - plan_snap_m) marks.pop_back();
  const std::size_t count = marks.size();
  std::vector<std::vector<double>> out;
  for (const Vec2 p : mesh.points) {
    const double ceiling = ask.room.ceiling_at(p);
    std::size_t kept = 0;  // marks that stand as they are
    if (ask.room.flat())
      kept = count;
    else
      while (kept < count && marks[kept] < 0.8 * ceiling) ++kept;
    for (const ResponseObject& object : ask.objects)
      if (contains(object.plan_m, p, 2 * plan_snap_m))
        while (kept < count && marks[kept] <= object.high_m + plan_snap_m) ++kept;
    std::vector<double> here{0};
    here.insert(here.end(), marks.begin(), marks.begin() + static_cast<std::ptrdiff_t>(kept));
    const double base = here.back();
    const double steps = static_cast<double>(count - kept) + 1;
    for (std::size_t i = kept; i < count; ++i)
      here.push_back(base + (ceiling - base) * static_cast<double>(i - kept + 1) / steps);
    here.push_back(ceiling);
    out.push_back(std::move(here));
  }
  return out;
}

void make_layers(const SolidAsk& ask, SolidModel& model) {
  const std::size_t count = model.level_m[0].size() - 1;
  const double slowest = *std::max_element(ask.slowness.begin(), ask.slowness.end());
  int next = static_cast<int>(count) + 1;
  for (std::size_t l = 0; l < count; ++l) {
    double tall = 0;
    for (const auto& level : model.level_m) tall = std::max(tall, level[l + 1] - level[l]);
    SolidLayer layer;
    const double air = ask.wave_number_1_m * tall;
    // A slow material reaches only a part of the plan, and loses what it carries within it.
    const double size = std::max(air, std::min(air * slowest, 9.0));
    layer.degree = height_degree(size, ask.more_degrees);
    layer.functions = {static_cast<int>(l), static_cast<int>(l) + 1};
    for (int k = 2; k <= layer.degree; ++k) layer.functions.push_back(next++);
    layer.matrices = height_matrices(layer.degree);
    model.layers.push_back(std::move(layer));
  }
  model.height_size = next;
}

// ---- materials
// -----------------------------------------------------------------------------------

/// The materials of the objects that hold a point.
std::vector<int> materials_at(const std::vector<ResponseObject>& objects, Vec3 at) {
  std::vector<int> out;
  int first = 1;
  for (const ResponseObject& object : objects) {
    const int slabs = static_cast<int>(object.slabs.size());
    if (at.z > object.low_m && at.z < object.high_m && contains(object.plan_m, {at.x, at.y}, 0)) {
      const double s = dot(object.axis, at) - axis_start(object);
      const std::vector<double> marks = slab_marks(object);
      int slab = 0;
      while (slab + 1 < slabs && s > marks[spot(slab) + 1]) ++slab;
      out.push_back(first + slab);
    }
    first += slabs;
  }
  return out;
}

// ---- functions of the plan
// -----------------------------------------------------------------------

class PlanFunctions {
 public:
  PlanFunctions(const Mesh& mesh, const std::vector<int>& highest) : mesh_(mesh), degree_(highest) {
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t)
      for (std::size_t i = 0; i < 3; ++i) {
        int& most = side_degree_[side(mesh.triangles[t], i)];
        most = std::max(most, highest[t]);
      }
    next_ = static_cast<int>(mesh.points.size());
    for (const auto& [key, most] : side_degree_) {
      side_first_[key] = next_;
      next_ += most - 1;
    }
  }
  void give(std::size_t t, SolidColumn& column) {
    const Corners& c = mesh_.triangles[t];
    for (int i = 0; i < 3; ++i) add(column, c[spot(i)], {TriangleShape::corner, i, 0, 0});
    for (std::size_t i = 0; i < 3; ++i) {
      const auto key = side(c, i);
      int a = static_cast<int>(i), b = static_cast<int>((i + 1) % 3);
      if (c[spot(a)] > c[spot(b)]) std::swap(a, b);
      for (int k = 2; k <= side_degree_[key]; ++k)
        add(column, side_first_[key] + k - 2, {TriangleShape::side, a, b, k});
    }
    for (int i = 0; i + 3 <= degree_[t]; ++i)
      for (int j = 0; i + j + 3 <= degree_[t]; ++j)
        add(column, next_++, {TriangleShape::inner, i, j, 0});
  }
  int count() const { return next_; }

 private:
  static std::pair<int, int> side(const Corners& c, std::size_t i) {
    return {std::min(c[i], c[(i + 1) % 3]), std::max(c[i], c[(i + 1) % 3])};
  }
  static void add(SolidColumn& column, int function, TriangleShape shape) {
    column.functions.push_back(function);
    column.shapes.push_back(shape);
  }
  const Mesh& mesh_;
  const std::vector<int>& degree_;
  std::map<std::pair<int, int>, int> side_degree_, side_first_;
  int next_ = 0;
};

// ---- matrices of a column
// ------------------------------------------------------------------------

/// A plane through values at a triangle's corners.
struct Slope {
  double at0 = 0;
  Vec2 gradient;
};

class ColumnMatrices {
 public:
  ColumnMatrices(const SolidModel& model, std::size_t t, SolidColumn& out)
      : model_(model), corners_(model.mesh.triangles[t]), out_(out) {
    for (std::size_t i = 0; i < 3; ++i) p_[i] = model.mesh.points[spot(corners_[i])];
    const double twice = cross(p_[1] - p_[0], p_[2] - p_[0]);
    for (std::size_t i = 0; i < 3; ++i) {
      const Vec2 across = p_[(i + 2) % 3] - p_[(i + 1) % 3];
      gradient_[i] = Vec2{-across.y, across.x} * (1 / twice);
    }
    tabulate(twice);
  }
  void make() {
    const std::size_t layers = model_.layers.size();
    out_.terms.resize(layers);
    bool flat = true;
    for (std::size_t l = 0; l <= layers; ++l)
      flat = flat && std::abs(level(l).gradient.x) + std::abs(level(l).gradient.y) < 1e-12;
    if (flat) {
      const Eigen::Index n = points_.cols();
      out_.plan = {stiffness(Eigen::VectorXd::Ones(n)), mass(Eigen::VectorXd::Ones(n))};
    }
    for (std::size_t l = 0; l < layers; ++l) flat ? flat_layer(l) : sloped_layer(l);
  }

 private:
  void tabulate(double twice) {
    int highest = 2;
    for (const TriangleShape& shape : out_.shapes)
      highest = std::max({highest, shape.order, shape.one + shape.two + 3});
    const Quadrature rule = gauss_legendre(highest + 3, 0, 1);
    const auto g = static_cast<Eigen::Index>(rule.points.size());
    const auto n = static_cast<Eigen::Index>(out_.shapes.size());
    points_.resize(2, g * g), weight_.resize(g * g);
    value_.resize(n, g * g), dx_.resize(n, g * g), dy_.resize(n, g * g);
    for (Eigen::Index a = 0; a < g; ++a)
      for (Eigen::Index b = 0; b < g; ++b) {
        const double two = rule.points[static_cast<std::size_t>(a)];
        const double one = rule.points[static_cast<std::size_t>(b)] * (1 - two);
        const Eigen::Index q = a * g + b;
        weight_(q) = rule.weights[static_cast<std::size_t>(a)] *
                     rule.weights[static_cast<std::size_t>(b)] * (1 - two) * twice;
        points_(0, q) = one, points_(1, q) = two;
        for (Eigen::Index f = 0; f < n; ++f) {
          const ShapeValue v =
              shape_at(out_.shapes[static_cast<std::size_t>(f)], {1 - one - two, one, two});
          value_(f, q) = v.value;
          dx_(f, q) = dy_(f, q) = 0;
          for (std::size_t i = 0; i < 3; ++i) {
            dx_(f, q) += v.slope[i] * gradient_[i].x;
            dy_(f, q) += v.slope[i] * gradient_[i].y;
          }
        }
      }
  }
  Slope level(std::size_t l) const {
    Slope out;
    out.at0 = model_.level_m[spot(corners_[0])][l];
    for (std::size_t i = 0; i < 3; ++i)
      out.gradient = out.gradient + gradient_[i] * model_.level_m[spot(corners_[i])][l];
    return out;
  }
  Matrix stiffness(const Eigen::VectorXd& factor) const {
    const Eigen::VectorXd w = weight_.cwiseProduct(factor);
    return dx_ * w.asDiagonal() * dx_.transpose() + dy_ * w.asDiagonal() * dy_.transpose();
  }
  Matrix mass(const Eigen::VectorXd& factor) const {
    return value_ * weight_.cwiseProduct(factor).asDiagonal() * value_.transpose();
  }
  Matrix mixed(Vec2 along) const {
    return (along.x * dx_ + along.y * dy_) * weight_.asDiagonal() * value_.transpose();
  }
  void flat_layer(std::size_t l) {
    const double h = level(l + 1).at0 - level(l).at0;
    out_.terms[l] = {{0, HeightMatrices::mass, h, 0},
                     {1, HeightMatrices::mass, 0, h},
                     {1, HeightMatrices::stiff, 1 / h, 0}};
  }
  void sloped_layer(std::size_t l) {
    const Slope low = level(l), high = level(l + 1);
    const Vec2 b = low.gradient, s = high.gradient - low.gradient;
    Eigen::VectorXd h(points_.cols());
    for (Eigen::Index q = 0; q < h.size(); ++q) {
      const Vec2 away = (p_[1] - p_[0]) * points_(0, q) + (p_[2] - p_[0]) * points_(1, q);
      h(q) = high.at0 - low.at0 + dot(s, away);
    }
    const int first = static_cast<int>(out_.plan.size());
    out_.plan.push_back(stiffness(h));
    out_.plan.push_back(mass(h));
    out_.plan.push_back(mass(h.cwiseInverse()));
    auto& terms = out_.terms[l];
    terms = {{first, HeightMatrices::mass, 1, 0},
             {first + 1, HeightMatrices::mass, 0, 1},
             {first + 2, HeightMatrices::stiff, 1 + dot(b, b), 0},
             {first + 2, HeightMatrices::stiff_up, 2 * dot(b, s), 0},
             {first + 2, HeightMatrices::stiff_up2, dot(s, s), 0}};
    const auto add_mixed = [&](Vec2 along, int forth, int back) {
      if (length(along) < 1e-12) return;
      const int at = static_cast<int>(out_.plan.size());
      out_.plan.push_back(mixed(along));
      out_.plan.push_back(out_.plan.back().transpose());
      terms.push_back({at, forth, -1, 0});
      terms.push_back({at + 1, back, -1, 0});
    };
    add_mixed(b, HeightMatrices::mixed, HeightMatrices::mixed_back);
    add_mixed(s, HeightMatrices::mixed_up, HeightMatrices::mixed_up_back);
  }

  const SolidModel& model_;
  Corners corners_;
  SolidColumn& out_;
  std::array<Vec2, 3> p_{}, gradient_{};
  Matrix points_, value_, dx_, dy_;
  Eigen::VectorXd weight_;
};

Diagnostics place_materials(const SolidAsk& ask, SolidModel& model) {
  Diagnostics found;
  const std::size_t layers = model.layers.size();
  std::vector<double> filled(ask.objects.size(), 0);
  bool overlap = false;
  for (std::size_t t = 0; t < model.columns.size(); ++t) {
    const Corners& c = model.mesh.triangles[t];
    model.columns[t].material.assign(layers, 0);
    for (std::size_t l = 0; l < layers; ++l) {
      double z = 0;
      for (const int p : c) z += (model.level_m[spot(p)][l] + model.level_m[spot(p)][l + 1]) / 6;
      const std::vector<int> here =
          materials_at(ask.objects, {model.centres[t].x, model.centres[t].y, z});
      if (here.size() > 1) overlap = true;
      if (!here.empty()) model.columns[t].material[l] = here[0];
    }
  }
  if (overlap) found.add("objects", "overlap each other", {}, "move them apart");
  return found;
}

Complaint too_many(double unknowns) {
  return {"frequencies_hz",
          "ask for about " + fixed(unknowns, 0) + " unknowns; at most " +
              std::to_string(most_solid_unknowns) + " in a room of this kind",
          {},
          "a lower greatest frequency, or a smaller room",
          0};
}

}  // namespace

Result<SolidModel> make_solid(const SolidAsk& ask) {
  // What Weyl's count of waves in the volume asks for at the least, before anything is built.
  const double k = ask.wave_number_1_m;
  if (const double least = volume_m3(ask.room) * k * k * k * 0.7 / (solid_pi * solid_pi);
      least > most_solid_unknowns)
    return too_many(least);
  auto mesh = mesh_with_lines(plan_task(ask));
  if (!mesh) return mesh.mistakes();
  SolidModel model;
  model.mesh = std::move(mesh).value();
  model.level_m = levels(ask, model.mesh);
  make_layers(ask, model);
  const int surfaces = surface_count(ask.room);
  model.boundaries = surfaces + static_cast<int>(ask.patches.size());
  model.materials = static_cast<int>(ask.slowness.size());
  const std::size_t count = model.mesh.triangles.size();
  model.columns.resize(count);
  for (const Corners& c : model.mesh.triangles)
    model.centres.push_back((model.mesh.points[spot(c[0])] + model.mesh.points[spot(c[1])] +
                             model.mesh.points[spot(c[2])]) *
                            (1 / 3.0));
  if (Diagnostics found = place_materials(ask, model); !found.empty()) return found;
  std::vector<int> highest;
  for (std::size_t t = 0; t < count; ++t) {
    const Corners& c = model.mesh.triangles[t];
    double longest = 0, slow = 1;
    for (std::size_t i = 0; i < 3; ++i)
      longest = std::max(
          longest, length(model.mesh.points[spot(c[(i + 1) % 3])] - model.mesh.points[spot(c[i])]));
    for (const int m : model.columns[t].material) slow = std::max(slow, ask.slowness[spot(m)]);
    highest.push_back(plan_degree(k * longest * slow, ask.more_degrees));
  }
  PlanFunctions functions(model.mesh, highest);
  for (std::size_t t = 0; t < count; ++t) functions.give(t, model.columns[t]);
  model.plan_size = functions.count();
  if (double(model.plan_size) * model.height_size > most_solid_unknowns)
    return too_many(double(model.plan_size) * model.height_size);
  for (std::size_t t = 0; t < count; ++t) {
    ColumnMatrices(model, t, model.columns[t]).make();
    add_faces(ask.room, ask.patches, model, t, model.columns[t]);
  }
  return model;
}

std::optional<SolidPoint> SolidModel::point(Vec3 at) const {
  std::size_t best = 0;
  std::array<double, 3> lambda{};
  double most = -1e300;
  for (std::size_t t = 0; t < columns.size() && most < 0; ++t) {
    const Corners& c = mesh.triangles[t];
    const Vec2 p = mesh.points[spot(c[0])], q = mesh.points[spot(c[1])],
               r = mesh.points[spot(c[2])];
    const double whole = cross(q - p, r - p);
    const double one = cross(Vec2{at.x, at.y} - p, r - p) / whole;
    const double two = cross(q - p, Vec2{at.x, at.y} - p) / whole;
    const double least = std::min({one, two, 1 - one - two});
    if (least > most) most = least, best = t, lambda = {1 - one - two, one, two};
  }
  const SolidColumn& column = columns[best];
  const Corners& c = mesh.triangles[best];
  std::vector<double> z(layers.size() + 1, 0);
  for (std::size_t l = 0; l < z.size(); ++l)
    for (std::size_t i = 0; i < 3; ++i) z[l] += lambda[i] * level_m[spot(c[i])][l];
  std::size_t l = 0;
  while (l + 1 < layers.size() && at.z > z[l + 1]) ++l;
  const double zeta = std::clamp((at.z - z[l]) / (z[l + 1] - z[l]), 0.0, 1.0);
  if (most < -0.05) return std::nullopt;
  std::vector<double> value(spot(layers[l].degree) + 1), slope(value.size());
  height_shapes(layers[l].degree, zeta, value.data(), slope.data());
  SolidPoint out;
  for (std::size_t f = 0; f < column.functions.size(); ++f) {
    const double across = shape_at(column.shapes[f], lambda).value;
    for (std::size_t k = 0; k < value.size(); ++k) {
      out.unknowns.push_back(column.functions[f] * height_size + layers[l].functions[k]);
      out.weights.push_back(across * value[k]);
    }
  }
  return out;
}

int SolidModel::material_at(Vec3 at) const {
  // The nearest triangle's column, the layer at that height there.
  std::size_t best = 0;
  double most = -1e300;
  for (std::size_t t = 0; t < columns.size(); ++t) {
    const Corners& c = mesh.triangles[t];
    const Vec2 p = mesh.points[spot(c[0])], q = mesh.points[spot(c[1])],
               r = mesh.points[spot(c[2])];
    const Vec2 here{at.x, at.y};
    const double whole = cross(q - p, r - p);
    const double least =
        std::min({cross(q - p, here - p), cross(r - q, here - q), cross(p - r, here - r)}) / whole;
    if (least > most) most = least, best = t;
  }
  const Corners& c = mesh.triangles[best];
  for (std::size_t l = 0; l < layers.size(); ++l) {
    double top = 0;
    for (const int p : c) top += level_m[spot(p)][l + 1] / 3;
    if (at.z <= top) return columns[best].material[l];
  }
  return columns[best].material.back();
}

namespace {

/// Columns of `in` that go through a column of prisms together.
constexpr Eigen::Index batch = 16;

template <class Weight>
Matrix apply_terms(const SolidModel& model, int material, const Matrix& in, Weight weight) {
  Matrix out = Matrix::Zero(in.rows(), in.cols());
  const Eigen::Index tall = model.height_size;
  for (const SolidColumn& column : model.columns) {
    if (std::find(column.material.begin(), column.material.end(), material) ==
        column.material.end())
      continue;
    const auto n = static_cast<Eigen::Index>(column.functions.size());
    for (Eigen::Index from = 0; from < in.cols(); from += batch) {
      const Eigen::Index width = std::min(batch, in.cols() - from);
      Matrix x(n, tall * width), sum = Matrix::Zero(n, tall * width);
      for (Eigen::Index f = 0; f < n; ++f)
        for (Eigen::Index c = 0; c < width; ++c)
          for (Eigen::Index a = 0; a < tall; ++a)
            x(f, c * tall + a) =
                in(column.functions[static_cast<std::size_t>(f)] * tall + a, from + c);
      for (std::size_t p = 0; p < column.plan.size(); ++p) {
        // Heights first, over every layer that uses this matrix of the plan.
        Matrix y = Matrix::Zero(n, tall * width);
        bool any = false;
        for (std::size_t l = 0; l < model.layers.size(); ++l) {
          if (column.material[l] != material) continue;
          const SolidLayer& layer = model.layers[l];
          for (const SolidTerm& term : column.terms[l]) {
            if (term.plan != static_cast<int>(p) || weight(term) == 0) continue;
            any = true;
            const Matrix& up = layer.matrices.of[spot(term.height)];
            for (Eigen::Index a = 0; a < up.rows(); ++a)
              for (Eigen::Index b = 0; b < up.cols(); ++b)
                if (const double w = up(a, b) * weight(term); w != 0)
                  for (Eigen::Index c = 0; c < width; ++c)
                    y.col(c * tall + layer.functions[static_cast<std::size_t>(a)]) +=
                        w * x.col(c * tall + layer.functions[static_cast<std::size_t>(b)]);
          }
        }
        if (any) sum.noalias() += column.plan[p] * y;
      }
      for (Eigen::Index f = 0; f < n; ++f)
        for (Eigen::Index c = 0; c < width; ++c)
          for (Eigen::Index a = 0; a < tall; ++a)
            out(column.functions[static_cast<std::size_t>(f)] * tall + a, from + c) +=
                sum(f, c * tall + a);
    }
  }
  return out;
}

}  // namespace

Matrix apply_stiffness(const SolidModel& model, int material, const Matrix& in) {
  return apply_terms(model, material, in, [](const SolidTerm& term) { return term.in_stiffness; });
}
Matrix apply_mass(const SolidModel& model, int material, const Matrix& in) {
  return apply_terms(model, material, in, [](const SolidTerm& term) { return term.in_mass; });
}

Matrix apply_boundary(const SolidModel& model, int boundary, const Matrix& in) {
  Matrix out = Matrix::Zero(in.rows(), in.cols());
  for (const SolidColumn& column : model.columns)
    for (const SolidFace& face : column.faces) {
      if (face.boundary != boundary) continue;
      const auto n = static_cast<Eigen::Index>(face.local.size());
      Matrix x(n, in.cols());
      std::vector<Eigen::Index> row;
      for (const int local : face.local)
        row.push_back(column.functions[spot(local / model.height_size)] * model.height_size +
                      local % model.height_size);
      for (Eigen::Index i = 0; i < n; ++i) x.row(i) = in.row(row[static_cast<std::size_t>(i)]);
      const Matrix y = face.block * x;
      for (Eigen::Index i = 0; i < n; ++i) out.row(row[static_cast<std::size_t>(i)]) += y.row(i);
    }
  return out;
}

}  // namespace roomwright::acoustics
