// How many modes of the height are felt where: a mode n that cannot travel falls by
// e^(−d √((nπ/h)² − k²)) over a distance d from what makes it, a patch's or an object's edge or,
// for a receiver close by, a source.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_model.h"

namespace roomwright::acoustics {

namespace {

const double height_pi = std::acos(-1.0);
constexpr double felt = 4.5;  // e^−4.5 of a mode is not, at the degrees that 0.25 dB asks for
constexpr double open_way_m = 1.2;  // what a source far from receivers makes must come so far
constexpr int slope_margin = 5;     // modes more than travel; 4 moved fields by 0.1 dB, 7 as 5 did

/// From a point to a polygon, 0 inside it, or to a line of two points.
double away_from(Vec2 at, const Polygon& item) {
  if (item.size() > 2 && contains(item, at, 0)) return 0;
  double least = 1e300;
  for (std::size_t j = 0; j < item.size(); ++j)
    least = std::min(least, distance_to_segment(at, item[j], item[(j + 1) % item.size()]));
  return least;
}

/// The middle of what a function of the plan belongs to: a corner, a side, a triangle.
Vec2 middle_of(const TriangleShape& shape, const std::array<Vec2, 3>& corner) {
  const auto c = [&](int i) { return corner[static_cast<std::size_t>(i)]; };
  if (shape.kind == TriangleShape::corner) return c(shape.one);
  if (shape.kind == TriangleShape::side) return (c(shape.one) + c(shape.two)) * 0.5;
  return (c(0) + c(1) + c(2)) * (1 / 3.0);
}

/// What makes modes of the height, seen from above.
std::vector<Polygon> makers(const SolidAsk& ask) {
  std::vector<Polygon> out;
  for (const ResponseObject& object : ask.objects) out.push_back(object.plan_m);
  for (const ResponsePatch& patch : ask.patches) {
    const Vec2 a = patch.area.from_m, c = patch.area.to_m;
    if (patch.area.surface < 2) {
      out.push_back({a, {c.x, a.y}, c, {a.x, c.y}});
      continue;
    }
    const Vec3 p = from_uv(ask.room, patch.area.surface, {a.x, 0});
    const Vec3 q = from_uv(ask.room, patch.area.surface, {c.x, 0});
    out.push_back({{p.x, p.y}, {q.x, q.y}});
  }
  for (const Vec3& point : ask.near_sources_m)
    out.push_back({{point.x, point.y}, {point.x, point.y}});
  return out;
}

}  // namespace

void choose_modes(const SolidAsk& ask, SolidModel& model) {
  const std::vector<Polygon> items = makers(ask);
  double height = 0;
  for (const auto& level : model.level_m) height = std::max(height, level.back());
  const double k = ask.wave_number_1_m, reach = std::max(2.0, felt + ask.more_degrees);
  for (std::size_t t = 0; t < model.columns.size(); ++t) {
    std::array<Vec2, 3> corner{};
    // Where layers are bent against each other, smooth modes of the middle height are not smooth.
    bool bent = false;
    for (std::size_t i = 0; i < 3; ++i) {
      const auto p = static_cast<std::size_t>(model.mesh.triangles[t][i]);
      corner[i] = model.mesh.points[p];
      bent = bent || !model.alike[p];
    }
    const SolidColumn& column = model.columns[t];
    for (std::size_t f = 0; f < column.functions.size(); ++f) {
      double away = open_way_m;
      const Vec2 at = middle_of(column.shapes[f], corner);
      for (const Polygon& item : items) away = std::min(away, away_from(at, item));
      const double most = std::hypot(k, reach / std::max(away, 0.02)) * height / height_pi;
      const int margin = (ask.room.flat() ? 3 : slope_margin) + ask.more_degrees;
      const int wanted = bent ? model.height_size : static_cast<int>(std::ceil(most)) + margin;
      int& tall = model.tall[static_cast<std::size_t>(column.functions[f])];
      tall = std::max(tall, std::clamp(wanted, 1, model.height_size));
    }
  }
  model.unknowns_ = 0;
  for (const int tall : model.tall) {
    model.first.push_back(model.unknowns_);
    model.unknowns_ += tall;
  }
}

}  // namespace roomwright::acoustics
