// Prisms and the eigenfunctions of their polygon; see basis.h.
#include "acoustics/waves/basis.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

const double basis_pi = std::acos(-1.0);

Vec2 corner_of(const Polygon& polygon, int i) {
  return polygon[static_cast<std::size_t>(i) % polygon.size()];
}

/// A rectangular plan whose ceiling slopes along side `side` (0 or 1) of it.
Prism sloped_prism(const Room& room, int side) {
  const Vec2 first = corner_of(room.plan_m, side), second = corner_of(room.plan_m, side + 1);
  const Vec2 third = corner_of(room.plan_m, side + 2);
  const double run = length(second - first), depth = length(third - second);
  const Vec2 s = (second - first) * (1 / run), along = (third - second) * (1 / depth);
  Prism out;
  out.length_m = depth;
  out.section_m = {{0, 0}, {run, 0}, {run, room.ceiling_at(second)}, {0, room.ceiling_at(first)}};
  out.origin = {first.x, first.y, 0};
  out.s = {s.x, s.y, 0};
  out.t = {0, 0, 1};
  out.along = {along.x, along.y, 0};
  out.edges.assign(6, 0);
  out.edges[1] = 2;
  const auto wall = [&](int k) -> int& { return out.edges[static_cast<std::size_t>(2 + k % 4)]; };
  wall(side) = -1;
  wall(side + 1) = 1;
  wall(side + 2) = -2;
  wall(side + 3) = 3;
  return out;
}

}  // namespace

std::optional<Prism> prism_of(const Room& room) {
  if (room.flat()) {
    Prism out{room.plan_m, room.height_m, {0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {-1, -2}};
    for (int k = 0; k < static_cast<int>(room.plan_m.size()); ++k) out.edges.push_back(k);
    return out;
  }
  if (!is_rectangle(room.plan_m)) return std::nullopt;
  for (const int side : {0, 1}) {
    const Vec2 run = corner_of(room.plan_m, side + 1) - corner_of(room.plan_m, side);
    if (std::abs(cross(run, room.slope)) < 1e-9 * length(run)) return sloped_prism(room, side);
  }
  return std::nullopt;
}

PrismPoint Prism::of(Vec3 point) const {
  const Vec3 from = point - origin;
  return {{dot(from, s), dot(from, t)}, dot(from, along)};
}

int Prism::surface_of(int edge) const {
  const auto at = std::find(edges.begin(), edges.end(), edge);
  RW_ASSERT(at != edges.end());
  return static_cast<int>(at - edges.begin());
}

double Prism::edge_length(int edge) const {
  return length(corner_of(section_m, edge + 1) - corner_of(section_m, edge));
}

Vec2 Prism::on_edge(int edge, double along_m) const {
  const Vec2 a = corner_of(section_m, edge), b = corner_of(section_m, edge + 1);
  return a + (b - a) * (along_m / length(b - a));
}

PrismArea Prism::of(const Room& room, const Patch& patch) const {
  const PrismPoint a = of(from_uv(room, patch.surface, patch.from_m));
  const PrismPoint b = of(from_uv(room, patch.surface, patch.to_m));
  PrismArea out;
  out.surface = patch.surface;
  out.edge = edges[static_cast<std::size_t>(patch.surface)];
  Vec2 from = a.across, to = b.across;
  if (out.edge >= 0) {
    const Vec2 start = corner_of(section_m, out.edge);
    from = {length(a.across - start), a.along};
    to = {length(b.across - start), b.along};
  }
  out.low = {std::min(from.x, to.x), std::min(from.y, to.y)};
  out.high = {std::max(from.x, to.x), std::max(from.y, to.y)};
  return out;
}

// ---- eigenfunctions ---------------------------------------------------------------------------

namespace {

Complaint too_many_functions(double count) {
  return {"frequencies_hz",
          "ask for about " + fixed(count, 0) + " modes of the plan",
          {},
          "ask for a lower frequency, or a smaller room",
          0};
}

}  // namespace

Result<PlaneBasis> PlaneBasis::make(const Polygon& section_m, double most_1_m) {
  const double area = signed_area(section_m), most = most_1_m * most_1_m;
  const double expected =
      area * most / (4 * basis_pi) + perimeter(section_m) * most_1_m / (4 * basis_pi);
  if (expected > most_basis_functions) return too_many_functions(expected);
  PlaneBasis out;
  out.section_ = section_m;
  if (is_rectangle(section_m)) {
    const double lx = length(section_m[1] - section_m[0]), ly = length(section_m[2] - section_m[1]);
    std::vector<std::pair<double, std::array<int, 2>>> all;
    for (int i = 0; i * basis_pi / lx <= most_1_m; ++i)
      for (int k = 0;; ++k) {
        const double x = i * basis_pi / lx, y = k * basis_pi / ly;
        if (x * x + y * y > most) break;
        all.push_back({x * x + y * y, {i, k}});
      }
    std::sort(all.begin(), all.end());
    out.eigenvalues_.resize(static_cast<Eigen::Index>(all.size()));
    for (std::size_t i = 0; i < all.size(); ++i) {
      out.eigenvalues_[static_cast<Eigen::Index>(i)] = all[i].first;
      out.orders_.push_back(all[i].second);
    }
    return out;
  }
  // Triangles as large as degree 8 carries at `most`; the lower functions are far more exact.
  const double side = std::min(14 / most_1_m, std::sqrt(area) * 0.6);
  auto found = plane_solution(section_m, most, side, 4);
  if (!found) return found.mistakes();
  out.unknowns_ = static_cast<int>(found->vectors.rows());
  // Those above the limit are left out: of their neighbours some may be missing.
  const auto kept = std::upper_bound(found->eigenvalues.begin(), found->eigenvalues.end(), most);
  out.eigenvalues_ = Eigen::Map<const Eigen::VectorXd>(found->eigenvalues.data(),
                                                       kept - found->eigenvalues.begin());
  out.by_node_ = std::make_shared<const ByNode>(found->vectors.leftCols(out.count()));
  out.elements_ = std::make_shared<const PlaneSolution>(std::move(*found));
  return out;
}

void PlaneBasis::rectangle_values(Vec2 at, double* out) const {
  const Vec2 e = section_[1] - section_[0], f = section_[3] - section_[0];
  const double lx = length(e), ly = length(f);
  const double x = dot(at - section_[0], e) / lx, y = dot(at - section_[0], f) / ly;
  for (std::size_t i = 0; i < orders_.size(); ++i) {
    const auto [m, n] = orders_[i];
    out[i] = std::sqrt((m ? 2 : 1) * (n ? 2 : 1) / (lx * ly)) * std::cos(m * basis_pi * x / lx) *
             std::cos(n * basis_pi * y / ly);
  }
}

namespace {

/// Shares of the three corners at a point of a triangle; all from 0 to 1 inside.
std::array<double, 3> corner_shares(const Mesh& mesh, const Corners& t, Vec2 at) {
  const Vec2 a = mesh.points[static_cast<std::size_t>(t[0])],
             b = mesh.points[static_cast<std::size_t>(t[1])],
             c = mesh.points[static_cast<std::size_t>(t[2])];
  const double area = cross(b - a, c - a);
  const double second = cross(at - a, c - a) / area, third = cross(b - a, at - a) / area;
  return {1 - second - third, second, third};
}

/// Values at a point of the functions that are 1 at one node and 0 at the others.
std::array<double, element_nodes> node_shares(const std::array<double, 3>& corners) {
  std::array<std::array<double, element_degree + 1>, 3> rise{};
  for (std::size_t c = 0; c < 3; ++c) {
    rise[c][0] = 1;
    for (int m = 0; m < element_degree; ++m)
      rise[c][static_cast<std::size_t>(m) + 1] =
          rise[c][static_cast<std::size_t>(m)] * (element_degree * corners[c] - m) / (m + 1);
  }
  std::array<double, element_nodes> out{};
  for (int j = 0; j <= element_degree; ++j)
    for (int i = 0; i + j <= element_degree; ++i)
      out[static_cast<std::size_t>(element_node(i, j))] =
          rise[1][static_cast<std::size_t>(i)] * rise[2][static_cast<std::size_t>(j)] *
          rise[0][static_cast<std::size_t>(element_degree - i - j)];
  return out;
}

}  // namespace

void PlaneBasis::element_values(Vec2 at, double* out) const {
  const PlaneSolution& own = *elements_;
  std::size_t best = 0;
  double most = -1e300;
  std::array<double, 3> corners{};
  for (std::size_t i = 0; i < own.mesh.triangles.size() && most < 0; ++i) {
    const auto shares = corner_shares(own.mesh, own.mesh.triangles[i], at);
    const double least = *std::min_element(shares.begin(), shares.end());
    if (least > most) most = least, best = i, corners = shares;
  }
  const auto shares = node_shares(corners);
  Eigen::Map<Eigen::VectorXd> sum(out, count());
  sum.setZero();
  for (std::size_t n = 0; n < shares.size(); ++n)
    if (std::abs(shares[n]) > 1e-14)  // on a side of a triangle most are nothing but rounding
      sum += shares[n] * by_node_->row(own.nodes[best][n]).transpose();
}

void PlaneBasis::values(Vec2 at, double* out) const {
  if (elements_)
    element_values(at, out);
  else
    rectangle_values(at, out);
}

Eigen::MatrixXd PlaneBasis::at(const std::vector<Vec2>& points) const {
  Eigen::MatrixXd out(count(), static_cast<Eigen::Index>(points.size()));
  for (std::size_t i = 0; i < points.size(); ++i)
    values(points[i], out.col(static_cast<Eigen::Index>(i)).data());
  return out;
}

Eigen::MatrixXd PlaneBasis::on_edge(int edge, const std::vector<double>& along) const {
  const Vec2 a = corner_of(section_, edge), b = corner_of(section_, edge + 1);
  std::vector<Vec2> points;
  for (const double u : along) points.push_back(a + (b - a) * (u / length(b - a)));
  return at(points);
}

PlaneBasis::EdgePoints PlaneBasis::edge_points(int edge) const {
  const Vec2 a = corner_of(section_, edge), b = corner_of(section_, edge + 1);
  const double run = length(b - a);
  std::vector<double> breaks{0, run};
  int points = element_degree + 2;
  if (elements_) {
    for (const Vec2& p : elements_->mesh.points) {
      const double u = dot(p - a, b - a) / run, off = std::abs(cross(b - a, p - a)) / run;
      if (off < 1e-9 && u > 1e-9 && u < run - 1e-9) breaks.push_back(u);
    }
    std::sort(breaks.begin(), breaks.end());
  } else {
    points = static_cast<int>(std::sqrt(eigenvalues_[count() - 1]) * run / basis_pi) + 20;
  }
  EdgePoints out;
  for (std::size_t i = 0; i + 1 < breaks.size(); ++i) {
    if (breaks[i + 1] - breaks[i] < 1e-12) continue;
    const Quadrature rule = gauss_legendre(points, breaks[i], breaks[i + 1]);
    out.along.insert(out.along.end(), rule.points.begin(), rule.points.end());
    out.weights.insert(out.weights.end(), rule.weights.begin(), rule.weights.end());
  }
  return out;
}

Eigen::MatrixXd PlaneBasis::edge_coupling(int edge) const {
  const EdgePoints rule = edge_points(edge);
  const Eigen::MatrixXd traces = on_edge(edge, rule.along);
  const auto weights = Eigen::Map<const Eigen::VectorXd>(
      rule.weights.data(), static_cast<Eigen::Index>(rule.weights.size()));
  return traces * weights.asDiagonal() * traces.transpose();
}

// ---- functions of one length ------------------------------------------------------------------

void legendre_row(double low, double high, double x, int count, double* out) {
  const double half = (high - low) / 2, at = (x - (low + high) / 2) / half;
  double before = 0, here = 1;
  for (int n = 0; n < count; ++n) {
    out[n] = here * std::sqrt((2 * n + 1) / (2 * half));
    const double next = ((2 * n + 1) * at * here - n * before) / (n + 1);
    before = here;
    here = next;
  }
}

void cosine_row(double length, double x, int count, double* out) {
  const double first = std::cos(basis_pi * x / length);
  double before = first, here = 1;  // cos((m − 1)θ), cos(mθ)
  for (int m = 0; m < count; ++m) {
    out[m] = here * std::sqrt((m ? 2 : 1) / length);
    const double next = 2 * first * here - before;
    before = here;
    here = next;
  }
}

Eigen::MatrixXd cosine_integrals(double length, double low, double high, int order, int count) {
  const double waves = (high - low) * count / length;
  const Quadrature rule = gauss_legendre(static_cast<int>(waves * 2) + order + 10, low, high);
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(count, order);
  Eigen::VectorXd cosines(count), functions(order);
  for (std::size_t i = 0; i < rule.points.size(); ++i) {
    cosine_row(length, rule.points[i], count, cosines.data());
    legendre_row(low, high, rule.points[i], order, functions.data());
    out += (rule.weights[i] * cosines) * functions.transpose();
  }
  return out;
}

}  // namespace roomwright::acoustics
