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
constexpr double near_side_m = 0.45;  // of a triangle beside a source with a receiver close by
constexpr double slowest_up = 1.2;    // along the height waves in wool keep to the air's beside it
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

/// The field of a point is steep: small elements beside it do with no less.
int least_degree(const SolidAsk& ask) {
  return ask.near_sources_m.empty() ? 2 : 4;
}

/// Of a slab, counted over all objects.
int material_of(const SolidAsk& ask, int slab) {
  return ask.material_of.empty() ? slab + 1 : ask.material_of[spot(slab)];
}

// ---- the plan
// ------------------------------------------------------------------------------------

/// A level line across an object where one slab ends.
void add_slab_lines(const Room& room, const ResponseObject& object, std::vector<PlanLine>& lines) {
  const Vec2 axis{object.axis.x, object.axis.y};
  const std::vector<double> marks = slab_marks(object);
  const double start = -along_axis(room, object, {0, 0, 0});
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

/// Where a corner of an object all but touches a wall: sound slips by through what is left.
struct Slit {
  Vec2 at;
  double width_m;
};
std::vector<Slit> slits(const SolidAsk& ask) {
  std::vector<Slit> out;
  constexpr double widest_m = 0.06;
  for (const ResponseObject& object : ask.objects)
    for (const Vec2 corner : object.plan_m) {
      const double away = distance_to_edge(ask.room.plan_m, corner);
      if (away > plan_snap_m && away < widest_m) out.push_back({corner, away});
    }
  return out;
}
/// The point of a polygon's edge that lies nearest.
Vec2 nearest_on_edge(const Polygon& room, Vec2 at) {
  Vec2 best = room[0];
  for (std::size_t i = 0; i < room.size(); ++i) {
    const Vec2 a = room[i], run = room[(i + 1) % room.size()] - a;
    const Vec2 foot = a + run * std::clamp(dot(at - a, run) / dot(run, run), 0.0, 1.0);
    if (length(at - foot) < length(at - best)) best = foot;
  }
  return best;
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
    for (std::size_t i = 0; i < object.plan_m.size(); ++i)
      task.lines.push_back({object.plan_m[i], object.plan_m[(i + 1) % object.plan_m.size()]});
    if (!is_upright(ask.room, object)) add_slab_lines(ask.room, object, task.lines);
  }
  if (ask.follow_patches)
    for (const ResponsePatch& patch : ask.patches) add_patch_lines(ask.room, patch.area, task);
  for (const Vec3& source : ask.near_sources_m) {
    task.points.push_back({source.x, source.y});
    task.corners.push_back({{source.x, source.y}, 2});
  }
  const std::vector<Slit> narrow = slits(ask);
  for (const Slit& slit : narrow) task.points.push_back(nearest_on_edge(task.room, slit.at));
  task.longest_m = [&ask, narrow](Vec2 at) {
    double slowest = 1;
    int slab = 0;
    for (const ResponseObject& object : ask.objects)
      for (std::size_t s = 0; s < object.slabs.size(); ++s, ++slab)
        if (contains(object.plan_m, at, 0))
          slowest = std::max(slowest, ask.slowness[spot(material_of(ask, slab))]);
    double longest = side_of_wave / (ask.wave_number_1_m * slowest);
    for (const Slit& slit : narrow)
      longest =
          std::min(longest, ask.slit_step * std::max(3 * slit.width_m, 2 * length(at - slit.at)));
    for (const Vec3& source : ask.near_sources_m)
      longest = std::min(longest, std::max(near_side_m, length(at - Vec2{source.x, source.y})));
    return longest;
  };
  return task;
}

// ---- the height
// ----------------------------------------------------------------------------------

/// (1 − s)² and s² over the whole height, in the layers' functions; s from 0 to 1.
Matrix end_functions(const SolidModel& model, const Matrix& mass) {
  Matrix right = Matrix::Zero(model.height_size, 2);
  const double whole = model.middle_m.back();
  for (std::size_t l = 0; l < model.layers.size(); ++l) {
    const SolidLayer& layer = model.layers[l];
    const double low = model.middle_m[l], tall = model.middle_m[l + 1] - low;
    const Quadrature rule = gauss_legendre(layer.degree + 3, 0, 1);
    std::vector<double> value(layer.functions.size()), slope(value.size());
    for (std::size_t g = 0; g < rule.points.size(); ++g) {
      height_shapes(layer.degree, rule.points[g], value.data(), slope.data());
      const double s = (low + rule.points[g] * tall) / whole, w = rule.weights[g] * tall;
      for (std::size_t k = 0; k < value.size(); ++k) {
        right(layer.functions[k], 0) += w * value[k] * (1 - s) * (1 - s);
        right(layer.functions[k], 1) += w * value[k] * s * s;
      }
    }
  }
  return mass.ldlt().solve(right);
}

/// D v = μ M v over layers of the middle height, ascending; after the first of them two functions
/// that rise at one end alone, which surfaces that absorb or slope ask for and cosines give badly.
/// Orthonormal.
void make_modes(SolidModel& model) {
  Matrix mass = Matrix::Zero(model.height_size, model.height_size), stiff = mass;
  for (std::size_t l = 0; l < model.layers.size(); ++l) {
    const double h = model.middle_m[l + 1] - model.middle_m[l];
    const SolidLayer& layer = model.layers[l];
    const Matrix &m = layer.matrices.of[HeightMatrices::mass],
                 &d = layer.matrices.of[HeightMatrices::stiff];
    for (Eigen::Index a = 0; a < m.rows(); ++a)
      for (Eigen::Index b = 0; b < m.cols(); ++b) {
        const int row = layer.functions[static_cast<std::size_t>(a)];
        const int column = layer.functions[static_cast<std::size_t>(b)];
        mass(row, column) += h * m(a, b);
        stiff(row, column) += d(a, b) / h;
      }
  }
  const Matrix cosines =
      Eigen::GeneralizedSelfAdjointEigenSolver<Matrix>(stiff, mass).eigenvectors();
  Matrix wanted(model.height_size, model.height_size + 2);
  wanted << cosines.leftCols(1), end_functions(model, mass),
      cosines.rightCols(model.height_size - 1);
  model.modes.resize(model.height_size, model.height_size);
  Eigen::Index kept = 0;
  for (Eigen::Index c = 0; c < wanted.cols() && kept < model.height_size; ++c) {
    Eigen::VectorXd v = wanted.col(c);
    v /= std::sqrt(v.dot(mass * v));
    for (int turn = 0; turn < 2; ++turn)
      for (Eigen::Index k = 0; k < kept; ++k)
        v -= model.modes.col(k) * model.modes.col(k).dot(mass * v);
    const double size = std::sqrt(v.dot(mass * v));
    if (size < 1e-7) continue;
    model.modes.col(kept++) = v / size;
  }
  RW_ASSERT(kept == model.height_size);
}

void make_layers(const SolidAsk& ask, SolidModel& model) {
  const std::size_t count = model.level_m[0].size() - 1;
  const double slowest =
      std::min(slowest_up, *std::max_element(ask.slowness.begin(), ask.slowness.end()));
  int next = static_cast<int>(count) + 1;
  for (std::size_t l = 0; l < count; ++l) {
    double tall = 0;
    for (const auto& level : model.level_m) tall = std::max(tall, level[l + 1] - level[l]);
    SolidLayer layer;
    const double air = ask.wave_number_1_m * tall;
    // A slow material reaches only a part of the plan, and loses what it carries within it.
    const double size = std::max(air, std::min(air * slowest, 9.0));
    layer.degree = std::max(least_degree(ask), height_degree(size, ask.more_degrees));
    layer.functions = {static_cast<int>(l), static_cast<int>(l) + 1};
    for (int k = 2; k <= layer.degree; ++k) layer.functions.push_back(next++);
    layer.matrices = height_matrices(layer.degree);
    model.layers.push_back(std::move(layer));
  }
  model.height_size = next;
  make_modes(model);
}

// ---- materials
// -----------------------------------------------------------------------------------

/// The materials of the objects that hold a point.
std::vector<int> materials_at(const SolidAsk& ask, Vec3 at) {
  std::vector<int> out;
  int first = 0;
  for (const ResponseObject& object : ask.objects) {
    const int slabs = static_cast<int>(object.slabs.size());
    const HeightSpan ends = span_at(ask.room, object, {at.x, at.y});
    if (at.z > ends.low_m && at.z < ends.high_m && contains(object.plan_m, {at.x, at.y}, 0)) {
      const double s = along_axis(ask.room, object, at);
      const std::vector<double> marks = slab_marks(object);
      int slab = 0;
      while (slab + 1 < slabs && s > marks[spot(slab) + 1]) ++slab;
      out.push_back(material_of(ask, first + slab));
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

/// Heights in a layer at which what fills it changes, its ends among them.
std::vector<double> changes(const SolidAsk& ask, Vec2 at, double low, double high) {
  std::vector<double> out{low, high};
  if (ask.room.flat())
    for (const ResponseObject& object : ask.objects)
      if (contains(object.plan_m, at, 0))
        for (const double z : marks_at(ask.room, object, at))
          if (z > low + 1e-9 && z < high - 1e-9) out.push_back(z);
  std::sort(out.begin(), out.end());
  return out;
}

Diagnostics place_materials(const SolidAsk& ask, SolidModel& model) {
  Diagnostics found;
  bool overlap = false;
  for (std::size_t t = 0; t < model.columns.size(); ++t) {
    const Corners& c = model.mesh.triangles[t];
    const Vec2 middle = model.centres[t];
    std::vector<SolidFill>& fills = model.columns[t].fills;
    for (std::size_t l = 0; l < model.layers.size(); ++l) {
      double low = 0, high = 0;
      for (const int p : c)
        low += model.level_m[spot(p)][l] / 3, high += model.level_m[spot(p)][l + 1] / 3;
      const std::vector<double> z = changes(ask, middle, low, high);
      for (std::size_t i = 0; i + 1 < z.size(); ++i) {
        if (z[i + 1] - z[i] < 1e-12) continue;
        const auto here = materials_at(ask, {middle.x, middle.y, (z[i] + z[i + 1]) / 2});
        if (here.size() > 1 && z[i + 1] - z[i] > 2 * plan_snap_m) overlap = true;
        const int material = here.empty() ? 0 : here[0];
        const double to = i + 2 == z.size() ? 1 : (z[i + 1] - low) / (high - low);
        if (i > 0 && fills.back().material == material)
          fills.back().to = to;
        else
          fills.push_back({static_cast<int>(l), material, i == 0 ? 0 : fills.back().to, to});
      }
    }
  }
  if (overlap) found.add("objects", "overlap each other", {}, "move them apart");
  return found;
}

/// The triangle that holds a point of the plan, or comes nearest to it, and its coordinates there,
/// the least of which tells how far outside it lies.
struct InColumn {
  std::size_t column = 0;
  std::array<double, 3> lambda{};
  double least = -1e300;
};
InColumn nearest_column(const Mesh& mesh, Vec2 at) {
  InColumn out;
  for (std::size_t t = 0; t < mesh.triangles.size() && out.least < 0; ++t) {
    const Corners& c = mesh.triangles[t];
    const Vec2 p = mesh.points[spot(c[0])], q = mesh.points[spot(c[1])],
               r = mesh.points[spot(c[2])];
    const double whole = cross(q - p, r - p);
    const double one = cross(at - p, r - p) / whole, two = cross(q - p, at - p) / whole;
    const double least = std::min({one, two, 1 - one - two});
    if (least > out.least) out = {t, {1 - one - two, one, two}, least};
  }
  return out;
}
/// Where its layers meet there.
std::vector<double> levels_over(const SolidModel& model, std::size_t column,
                                const std::array<double, 3>& lambda) {
  std::vector<double> out(model.layers.size() + 1, 0);
  for (std::size_t l = 0; l < out.size(); ++l)
    for (std::size_t i = 0; i < 3; ++i)
      out[l] += lambda[i] * model.level_m[spot(model.mesh.triangles[column][i])][l];
  return out;
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
  auto levels = levels_of(ask, model.mesh);
  if (!levels) return levels.mistakes();
  model.level_m = std::move(levels->by_point_m);
  model.middle_m = std::move(levels->middle_m), model.alike = std::move(levels->alike);
  make_layers(ask, model);
  const int surfaces = surface_count(ask.room);
  model.boundaries = surfaces + static_cast<int>(ask.patches.size());
  model.materials = static_cast<int>(ask.slowness.size());
  model.stretch_along = ask.stretch_along;
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
    for (const SolidFill& fill : model.columns[t].fills)
      slow = std::max(slow, ask.slowness[spot(fill.material)]);
    highest.push_back(
        std::max(least_degree(ask), plan_degree(k * longest * slow, ask.more_degrees)));
  }
  PlanFunctions functions(model.mesh, highest);
  for (std::size_t t = 0; t < count; ++t) functions.give(t, model.columns[t]);
  model.tall.assign(spot(functions.count()), 0);
  choose_modes(ask, model);
  if (model.unknowns() > most_solid_unknowns) return too_many(double(model.unknowns()));
  for (std::size_t t = 0; t < count; ++t) {
    add_matrices(model, t);
    add_faces(ask.room, ask.patches, model, t);
  }
  return model;
}

std::optional<SolidPoint> SolidModel::point(Vec3 at) const {
  const auto [best, lambda, inside] = nearest_column(mesh, {at.x, at.y});
  if (inside < -0.05) return std::nullopt;
  const SolidColumn& column = columns[best];
  const std::vector<double> z = levels_over(*this, best, lambda);
  std::size_t l = 0;
  while (l + 1 < layers.size() && at.z > z[l + 1]) ++l;
  const double zeta = std::clamp((at.z - z[l]) / (z[l + 1] - z[l]), 0.0, 1.0);
  std::vector<double> value(spot(layers[l].degree) + 1), slope(value.size());
  height_shapes(layers[l].degree, zeta, value.data(), slope.data());
  std::vector<double> mode(spot(height_size), 0);
  for (std::size_t k = 0; k < value.size(); ++k)
    for (std::size_t a = 0; a < mode.size(); ++a)
      mode[a] += value[k] * modes(layers[l].functions[k], static_cast<Eigen::Index>(a));
  SolidPoint out;
  for (std::size_t f = 0; f < column.functions.size(); ++f) {
    const double across = shape_at(column.shapes[f], lambda).value;
    if (across == 0) continue;
    const auto function = spot(column.functions[f]);
    for (int a = 0; a < tall[function]; ++a) {
      out.unknowns.push_back(first[function] + a);
      out.weights.push_back(across * mode[spot(a)]);
    }
  }
  return out;
}

double SolidModel::bytes() const {
  double out = 0;
  for (const SolidColumn& column : columns)
    for (const Matrix& plan : column.plan) out += 8.0 * double(plan.size());
  for (const HeightMatrix& height : heights)
    out += double(sizeof(HeightMatrix::Entry)) * double(height.entries.size());
  return out;
}

int SolidModel::material_at(Vec3 at) const {
  const auto [best, lambda, inside] = nearest_column(mesh, {at.x, at.y});
  const std::vector<double> z = levels_over(*this, best, lambda);
  for (const SolidFill& fill : columns[best].fills) {
    const double low = z[spot(fill.layer)], high = z[spot(fill.layer) + 1];
    if (at.z <= low + fill.to * (high - low)) return fill.material;
  }
  return columns[best].fills.back().material;
}

}  // namespace roomwright::acoustics
