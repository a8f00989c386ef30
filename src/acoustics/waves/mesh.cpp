// Meshes: ears, then the longest side of all halved until none is too long, then rings of ever
// smaller triangles round each re-entrant corner, where eigenfunctions go as r^(π/ω).
#include <algorithm>
#include <cmath>
#include <map>

#include "acoustics/waves/elements.h"

namespace roomwright::acoustics {

namespace {

constexpr double ring_ratio = 0.15;
constexpr int most_rings = 7;  // 0.15^7: the corner's share of the error is below 1e-7
constexpr std::size_t most_triangles = 6000;

using Side = std::pair<int, int>;
Side side_of(int a, int b) {
  return {std::min(a, b), std::max(a, b)};
}

double side_length(const Mesh& mesh, Side side) {
  return length(mesh.points[static_cast<std::size_t>(side.first)] -
                mesh.points[static_cast<std::size_t>(side.second)]);
}

/// Halves one side and the one or two triangles that have it.
void halve_side(Mesh& mesh, Side side) {
  const int middle = static_cast<int>(mesh.points.size());
  mesh.points.push_back((mesh.points[static_cast<std::size_t>(side.first)] +
                         mesh.points[static_cast<std::size_t>(side.second)]) *
                        0.5);
  const std::size_t before = mesh.triangles.size();
  for (std::size_t t = 0; t < before; ++t)
    for (std::size_t i = 0; i < 3; ++i) {
      const Corners old = mesh.triangles[t];
      const int a = old[i], b = old[(i + 1) % 3], c = old[(i + 2) % 3];
      if (side_of(a, b) != side) continue;
      mesh.triangles[t] = {a, middle, c};
      mesh.triangles.push_back({middle, b, c});
      break;
    }
}

Side longest_side(const Mesh& mesh) {
  Side best{0, 0};
  double most = -1;
  for (const Corners& t : mesh.triangles)
    for (std::size_t i = 0; i < 3; ++i) {
      const Side side = side_of(t[i], t[(i + 1) % 3]);
      const double run = side_length(mesh, side);
      if (run > most * (1 + 1e-12)) most = run, best = side;
    }
  return best;
}

std::vector<bool> re_entrant(const Polygon& plan) {
  std::vector<bool> out;
  for (std::size_t i = 0; i < plan.size(); ++i) {
    const Vec2 before = plan[(i + plan.size() - 1) % plan.size()],
               after = plan[(i + 1) % plan.size()];
    const Vec2 in = plan[i] - before, on = after - plan[i];
    out.push_back(cross(in, on) < -1e-9 * length(in) * length(on));
  }
  return out;
}

/// A triangle at a re-entrant corner becomes a fan of rings; the ratio is the same in every
/// triangle round the corner, so that neighbours fit.
void grade_corner(Mesh& mesh, int corner, int rings) {
  std::map<std::pair<int, int>, int> made;  // (other end, ring) -> point
  const auto ring_point = [&](int other, int ring) {
    if (ring == 0) return other;
    const auto [at, fresh] = made.try_emplace({other, ring}, static_cast<int>(mesh.points.size()));
    if (fresh) {
      const Vec2 c = mesh.points[static_cast<std::size_t>(corner)];
      const Vec2 o = mesh.points[static_cast<std::size_t>(other)];
      mesh.points.push_back(c + (o - c) * std::pow(ring_ratio, ring));
    }
    return at->second;
  };
  const std::size_t before = mesh.triangles.size();
  for (std::size_t t = 0; t < before; ++t) {
    const Corners old = mesh.triangles[t];
    const auto at = std::find(old.begin(), old.end(), corner);
    if (at == old.end()) continue;
    const auto i = static_cast<std::size_t>(at - old.begin());
    const int a = old[(i + 1) % 3], b = old[(i + 2) % 3];
    for (int ring = 0; ring < rings; ++ring) {
      const int a0 = ring_point(a, ring), b0 = ring_point(b, ring);
      const int a1 = ring_point(a, ring + 1), b1 = ring_point(b, ring + 1);
      mesh.triangles.push_back({a1, a0, b0});
      mesh.triangles.push_back({a1, b0, b1});
    }
    mesh.triangles[t] = {corner, ring_point(a, rings), ring_point(b, rings)};
  }
}

/// No side may join two re-entrant corners: their rings would meet.
void part_corners(Mesh& mesh, const std::vector<bool>& singular) {
  const auto is = [&](int p) {
    return p < static_cast<int>(singular.size()) && singular[static_cast<std::size_t>(p)];
  };
  for (std::size_t t = 0; t < mesh.triangles.size(); ++t)
    for (std::size_t i = 0; i < 3; ++i) {
      const int a = mesh.triangles[t][i], b = mesh.triangles[t][(i + 1) % 3];
      if (is(a) && is(b)) halve_side(mesh, side_of(a, b));
    }
}

}  // namespace

Mesh mesh_of(const Polygon& plan, double longest, int rings) {
  RW_ASSERT(rings >= 0 && rings <= most_rings);
  Mesh mesh;
  mesh.points.assign(plan.begin(), plan.end());
  for (const auto& t : triangulate(plan))
    mesh.triangles.push_back(
        {static_cast<int>(t[0]), static_cast<int>(t[1]), static_cast<int>(t[2])});
  while (mesh.triangles.size() < most_triangles) {
    const Side side = longest_side(mesh);
    if (side_length(mesh, side) <= longest) break;
    halve_side(mesh, side);
  }
  const std::vector<bool> singular = re_entrant(plan);
  part_corners(mesh, singular);
  for (std::size_t i = 0; i < singular.size(); ++i)
    if (singular[i]) grade_corner(mesh, static_cast<int>(i), rings);
  return mesh;
}

}  // namespace roomwright::acoustics
