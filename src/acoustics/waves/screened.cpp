// The screened Green's function by images; see screened.h. Two tiles in one plane need their
// correlation functions alone: ∫∫∫∫ f g G = ∫∫ C(s) D(t) G(√(s² + t²)) ds dt, with the point
// s = t = 0 taken out by M. G. Duffy's change of variables (SIAM J. Numer. Anal. 19, 1982; from
// memory).
#include "acoustics/waves/screened.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

const double screened_pi = std::acos(-1.0);
constexpr double faded = 20;  ///< κr beyond which nothing is left

Vec2 section_corner(const Prism& prism, int i) {
  const int n = static_cast<int>(prism.section_m.size());
  return prism.section_m[static_cast<std::size_t>((i % n + n) % n)];
}

/// Whether the corner where edge `edge` starts is nearly a right one, seen from inside.
bool right_corner(const Prism& prism, int edge) {
  const Vec2 in = section_corner(prism, edge) - section_corner(prism, edge - 1);
  const Vec2 out = section_corner(prism, edge + 1) - section_corner(prism, edge);
  const double size = length(in) * length(out);
  return cross(in, out) > 0 && std::abs(dot(in, out)) < 0.35 * size;
}

struct EdgeFrame {
  Vec2 start, unit, inward;
  double run;
  double u(Vec2 p) const { return dot(p - start, unit); }
  double depth(Vec2 p) const { return dot(p - start, inward); }
  Vec2 mirror(Vec2 p) const { return p - inward * (2 * depth(p)); }
};
EdgeFrame edge_frame(const Prism& prism, int edge) {
  const Vec2 a = section_corner(prism, edge), b = section_corner(prism, edge + 1);
  const double run = length(b - a);
  const Vec2 unit = (b - a) * (1 / run);
  return {a, unit, {-unit.y, unit.x}, run};
}

bool cuts(const EdgeFrame& edge, Vec2 p, Vec2 q) {
  const double dp = edge.depth(p), dq = edge.depth(q);
  if (!((dp > 1e-9 && dq < -1e-9) || (dp < -1e-9 && dq > 1e-9))) return false;
  const double at = edge.u(p + (q - p) * (dp / (dp - dq)));
  return at > 1e-9 && at < edge.run - 1e-9;
}

/// Square distances across from q of the images of p that q sees.
std::vector<double> across_squares(const Prism& prism, Vec2 p, Vec2 q, double reach) {
  const int n = static_cast<int>(prism.section_m.size());
  std::vector<EdgeFrame> edges;
  for (int e = 0; e < n; ++e) edges.push_back(edge_frame(prism, e));
  std::vector<double> out;
  const auto add = [&](Vec2 image) {
    const double square = dot(image - q, image - q);
    if (square < reach * reach) out.push_back(square);
  };
  const bool seen = std::none_of(edges.begin(), edges.end(),
                                 [&](const EdgeFrame& edge) { return cuts(edge, p, q); });
  if (seen) add(p);
  for (const EdgeFrame& edge : edges) {
    const double dp = edge.depth(p), dq = edge.depth(q);
    if (dp < -1e-9 || dq < -1e-9) continue;
    const double sum = dp + dq, at = sum > 1e-12 ? (dp * edge.u(q) + dq * edge.u(p)) / sum
                                                 : (edge.u(p) + edge.u(q)) / 2;
    if (at > -1e-9 && at < edge.run + 1e-9) add(edge.mirror(p));
  }
  for (int e = 0; e < n; ++e) {
    if (!right_corner(prism, e)) continue;
    const EdgeFrame &here = edges[std::size_t(e)], &before = edges[std::size_t((e + n - 1) % n)];
    const auto beside = [](const EdgeFrame& edge, Vec2 x) {
      return edge.u(x) > -1e-9 && edge.u(x) < edge.run + 1e-9;
    };
    if (beside(here, p) && beside(here, q) && beside(before, p) && beside(before, q))
      add(here.mirror(before.mirror(p)));
  }
  return out;
}

/// Square distances along of the images of a from b.
std::vector<double> along_squares(double length_m, double a, double b, double reach) {
  std::vector<double> out;
  const int most = static_cast<int>(reach / (2 * length_m)) + 1;
  for (int n = -most; n <= most; ++n)
    for (const double sign : {1.0, -1.0}) {
      const double d = 2 * n * length_m + sign * a - b;
      if (std::abs(d) < reach) out.push_back(d * d);
    }
  return out;
}

}  // namespace

Screened screened_kernel(double kappa, double r) {
  const double x = kappa * r, fade = std::exp(-x);
  return {fade / (4 * screened_pi * r), fade / (8 * screened_pi * kappa),
          (1 + x) * fade / (32 * screened_pi * kappa * kappa * kappa),
          (3 + x * (3 + x)) * fade / (192 * screened_pi * (kappa * kappa * kappa * kappa * kappa))};
}

Screened screened_field(const Prism& prism, double kappa, const PrismPoint& a,
                        const PrismPoint& b) {
  const double reach = faded / kappa;
  Screened sum{};
  const auto along = along_squares(prism.length_m, a.along, b.along, reach);
  for (const double across : across_squares(prism, a.across, b.across, reach))
    for (const double square : along) {
      if (across + square > reach * reach) continue;
      const Screened one = screened_kernel(kappa, std::sqrt(std::max(across + square, 1e-12)));
      for (std::size_t p = 0; p < sum.size(); ++p) sum[p] += one[p];
    }
  return sum;
}

std::vector<std::vector<double>> section_image_squares(const Prism& prism, double kappa, Vec2 point,
                                                       int edge, const std::vector<double>& along) {
  std::vector<std::vector<double>> out;
  for (const double u : along)
    out.push_back(across_squares(prism, point, prism.on_edge(edge, u), faded / kappa));
  return out;
}

// ---- tiles: points --------------------------------------------------------------------------

namespace {

struct TilePoints {
  std::vector<PrismPoint> points;
  Eigen::MatrixXd functions;  ///< function by point, with the weights
};

PrismPoint tile_point(const Prism& prism, const PrismArea& area, Vec2 at) {
  if (area.edge >= 0) return {prism.on_edge(area.edge, at.x), at.y};
  return {at, area.edge == -1 ? 0 : prism.length_m};
}

TilePoints tile_points(const Prism& prism, const PrismTile& tile, int count_one, int count_two) {
  const Vec2 low = tile.area.low, high = tile.area.high;
  const Quadrature first = gauss_legendre(count_one, low.x, high.x);
  const Quadrature second = gauss_legendre(count_two, low.y, high.y);
  TilePoints out;
  out.functions.resize(tile.count(), count_one * count_two);
  Eigen::VectorXd f(tile.order[0]), g(tile.order[1]);
  Eigen::Index column = 0;
  for (std::size_t k = 0; k < second.points.size(); ++k)
    for (std::size_t i = 0; i < first.points.size(); ++i, ++column) {
      out.points.push_back(tile_point(prism, tile.area, {first.points[i], second.points[k]}));
      legendre_row(low.x, high.x, first.points[i], tile.order[0], f.data());
      legendre_row(low.y, high.y, second.points[k], tile.order[1], g.data());
      Eigen::Map<Eigen::MatrixXd>(out.functions.col(column).data(), tile.order[0], tile.order[1]) =
          (first.weights[i] * second.weights[k]) * f * g.transpose();
    }
  return out;
}

/// The least distance of a tile's middle and corners from a point, less than half its size.
double tile_distance(const Prism& prism, const PrismTile& tile, const PrismPoint& point) {
  Vec2 at{};
  const PrismArea& area = tile.area;
  double off;
  if (area.edge >= 0) {
    const EdgeFrame frame = edge_frame(prism, area.edge);
    at = {frame.u(point.across), point.along};
    off = frame.depth(point.across);
  } else {
    at = point.across;
    off = point.along - (area.edge == -1 ? 0 : prism.length_m);
  }
  const auto outside = [](double x, double low, double high) {
    return std::max({low - x, x - high, 0.0});
  };
  return std::sqrt(off * off + std::pow(outside(at.x, area.low.x, area.high.x), 2) +
                   std::pow(outside(at.y, area.low.y, area.high.y), 2));
}

}  // namespace

Eigen::MatrixXd screened_tile_field(const Prism& prism, double kappa, const PrismTile& tile,
                                    const PrismPoint& point) {
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(tile.count(), screened_terms);
  const double distance = tile_distance(prism, tile, point);
  if (distance * kappa > faded) return out;
  const Vec2 size = tile.area.high - tile.area.low;
  const auto points = [&](double side, int order) {
    return std::min(40, static_cast<int>(8 + order + 2 * side / std::max(distance, side / 12)));
  };
  const TilePoints on =
      tile_points(prism, tile, points(size.x, tile.order[0]), points(size.y, tile.order[1]));
  for (std::size_t i = 0; i < on.points.size(); ++i) {
    const Screened g = screened_field(prism, kappa, on.points[i], point);
    for (int p = 0; p < screened_terms; ++p)
      out.col(p) += g[std::size_t(p)] * on.functions.col(Eigen::Index(i));
  }
  return out;
}

// ---- tiles in one plane -----------------------------------------------------------------------

namespace {

/// One side of a pair of rectangles: Legendre functions on [a, b] and [c, d], those of the second
/// read backwards where it is a mirror image.
struct SidePair {
  double a, b, c, d;
  int rows, columns;
  bool mirrored;
  double least() const { return c - b; }
  double most() const { return d - a; }
};

/// ∫ f_i(u) g_k(u + s) du, i fastest.
void correlation(const SidePair& side, double s, double* out) {
  const int count = side.rows * side.columns;
  std::fill(out, out + count, 0.0);
  const double from = std::max(side.a, side.c - s), to = std::min(side.b, side.d - s);
  if (to <= from) return;
  static const Quadrature rule = gauss_legendre(12, -1, 1);
  std::array<double, 16> f{}, g{};
  const double half = (to - from) / 2, middle = (to + from) / 2;
  for (std::size_t q = 0; q < rule.points.size(); ++q) {
    const double u = middle + half * rule.points[q], weight = half * rule.weights[q];
    legendre_row(side.a, side.b, u, side.rows, f.data());
    const double v = u + s;
    legendre_row(side.c, side.d, side.mirrored ? side.c + side.d - v : v, side.columns, g.data());
    for (int k = 0; k < side.columns; ++k)
      for (int i = 0; i < side.rows; ++i)
        out[k * side.rows + i] += weight * f[std::size_t(i)] * g[std::size_t(k)];
  }
}

std::vector<double> side_breaks(const SidePair& side) {
  std::vector<double> out{side.c - side.b, side.c - side.a, side.d - side.b, side.d - side.a};
  if (out[0] < 0 && out[3] > 0) out.push_back(0);
  std::sort(out.begin(), out.end());
  std::vector<double> apart{out[0]};
  for (const double x : out)
    if (x - apart.back() > 1e-9) apart.push_back(x);
  for (double& x : apart)
    if (std::abs(x) < 1e-9) x = 0;
  return apart;
}

constexpr int plane_terms = screened_terms + 1;

/// The kernels in a plane, where each image counts twice: of half-space and, for the last, of what
/// two of them in a row make, 1/(q² + κ²) against 1/√(q² + κ²) of one.
std::array<double, plane_terms> plane_kernel(double kappa, double r) {
  const Screened g = screened_kernel(kappa, r);
  return {2 * g[0], 2 * g[1], 2 * g[2], 2 * g[3],
          std::cyl_bessel_k(0.0, kappa * r) / (2 * screened_pi)};
}

/// Sums up ∫∫ C(s) D(t) G ds dt: (pair along one side) by (pair along the other) for each term.
class PlaneSum {
 public:
  PlaneSum(double kappa, const SidePair& one, const SidePair& two)
      : kappa_(kappa), one_(one), two_(two) {
    for (auto& sum : sums_)
      sum = Eigen::MatrixXd::Zero(one.rows * one.columns, two.rows * two.columns);
  }
  void run() {
    const auto s = side_breaks(one_), t = side_breaks(two_);
    for (std::size_t i = 0; i + 1 < s.size(); ++i)
      for (std::size_t k = 0; k + 1 < t.size(); ++k) cell(s[i], s[i + 1], t[k], t[k + 1], 0);
  }
  std::array<Eigen::MatrixXd, plane_terms> sums_;

 private:
  static constexpr int points = 10;
  static double gap(double low, double high) { return std::max({low, -high, 0.0}); }

  void cell(double s0, double s1, double t0, double t1, int depth) {
    const double ds = gap(s0, s1), dt = gap(t0, t1), near = std::sqrt(ds * ds + dt * dt);
    if (near * kappa_ > faded) return;
    const double ws = s1 - s0, wt = t1 - t0;
    if (near == 0) {
      corner(s0, s1, t0, t1, false);
      corner(s0, s1, t0, t1, true);
    } else if (near < 0.6 * std::max(ws, wt) && depth < 8) {
      if (ws >= wt) {
        const double middle = ds == 0 ? (s0 == 0 ? s0 + ws / 3 : s1 - ws / 3) : (s0 + s1) / 2;
        cell(s0, middle, t0, t1, depth + 1), cell(middle, s1, t0, t1, depth + 1);
      } else {
        const double middle = dt == 0 ? (t0 == 0 ? t0 + wt / 3 : t1 - wt / 3) : (t0 + t1) / 2;
        cell(s0, s1, t0, middle, depth + 1), cell(s0, s1, middle, t1, depth + 1);
      }
    } else {
      plain(s0, s1, t0, t1);
    }
  }
  void plain(double s0, double s1, double t0, double t1) {
    static const Quadrature rule = gauss_legendre(points, -1, 1);
    std::array<double, points> s{}, t{};
    const double half_s = (s1 - s0) / 2, half_t = (t1 - t0) / 2;
    Eigen::MatrixXd c(one_.rows * one_.columns, points), d(two_.rows * two_.columns, points);
    for (std::size_t i = 0; i < s.size(); ++i) {
      s[i] = (s0 + s1) / 2 + half_s * rule.points[i];
      t[i] = (t0 + t1) / 2 + half_t * rule.points[i];
      correlation(one_, s[i], c.col(Eigen::Index(i)).data());
      correlation(two_, t[i], d.col(Eigen::Index(i)).data());
    }
    std::array<Eigen::MatrixXd, plane_terms> g;
    for (auto& part : g) part.resize(points, points);
    for (std::size_t i = 0; i < s.size(); ++i)
      for (std::size_t k = 0; k < t.size(); ++k) {
        const double weight = half_s * rule.weights[i] * half_t * rule.weights[k];
        const auto at = plane_kernel(kappa_, std::sqrt(s[i] * s[i] + t[k] * t[k]));
        for (std::size_t p = 0; p < at.size(); ++p)
          g[p](Eigen::Index(i), Eigen::Index(k)) = weight * at[p];
      }
    for (std::size_t p = 0; p < g.size(); ++p) {
      const Eigen::MatrixXd half = c * g[p];
      sums_[p].noalias() += half * d.transpose();
    }
  }
  /// Half of a cell whose corner is the origin: outer ρ along one side, inner ρw along the other.
  void corner(double s0, double s1, double t0, double t1, bool swapped) {
    const double s = s0 == 0 ? s1 : s0, t = t0 == 0 ? t1 : t0;  // the far corner
    const double outer = swapped ? t : s, inner = swapped ? s : t;
    const Quadrature rho = gauss_legendre(points + 2, 0, 1), w = gauss_legendre(points + 2, 0, 1);
    std::vector<double> at(w.points.size()), weights(w.points.size());
    for (std::size_t i = 0; i < rho.points.size(); ++i) {
      for (std::size_t k = 0; k < at.size(); ++k) {
        at[k] = inner * rho.points[i] * w.points[k];
        weights[k] = std::abs(inner) * rho.points[i] * w.weights[k];
      }
      line(outer * rho.points[i], std::abs(outer) * rho.weights[i], at, weights,
           swapped ? two_ : one_, swapped ? one_ : two_, swapped);
    }
  }
  void line(double outer, double weight, const std::vector<double>& at,
            const std::vector<double>& weights, const SidePair& outer_side,
            const SidePair& inner_side, bool swapped) {
    Eigen::VectorXd c(outer_side.rows * outer_side.columns);
    const int inner_count = inner_side.rows * inner_side.columns;
    Eigen::VectorXd d(inner_count);
    Eigen::MatrixXd sum = Eigen::MatrixXd::Zero(inner_count, plane_terms);
    correlation(outer_side, outer, c.data());
    for (std::size_t k = 0; k < at.size(); ++k) {
      correlation(inner_side, at[k], d.data());
      const auto g = plane_kernel(kappa_, std::sqrt(outer * outer + at[k] * at[k]));
      for (int p = 0; p < plane_terms; ++p) sum.col(p) += (weights[k] * g[std::size_t(p)]) * d;
    }
    for (int p = 0; p < plane_terms; ++p)
      if (swapped)
        sums_[std::size_t(p)] += weight * sum.col(p) * c.transpose();
      else
        sums_[std::size_t(p)] += weight * c * sum.col(p).transpose();
  }

  double kappa_;
  SidePair one_, two_;
};

/// The images of an interval along one side of a plane: the first as it is.
struct SideImage {
  double low, high;
  bool mirrored;
};
std::vector<SideImage> side_images(double low, double high, bool at_zero, bool at_end, double end,
                                   double reach) {
  std::vector<SideImage> out{{low, high, false}};
  if (!at_zero && !at_end) return out;
  if (at_zero != at_end) {
    const double far = at_zero ? 0 : 2 * end;
    out.push_back({far - high, far - low, true});
    return out;
  }
  const int most = static_cast<int>(reach / (2 * end)) + 1;
  for (int n = -most; n <= most; ++n) {
    const double shift = 2 * n * end;
    if (n != 0) out.push_back({low + shift, high + shift, false});
    out.push_back({shift - high, shift - low, true});
  }
  return out;
}

using TileMatrices = std::array<Eigen::MatrixXd, plane_terms>;

void add_plane_pair(double kappa, const PrismTile& one, const PrismTile& two, const SideImage& u,
                    const SideImage& v, TileMatrices& out) {
  PlaneSum sum(
      kappa,
      {one.area.low.x, one.area.high.x, u.low, u.high, one.order[0], two.order[0], u.mirrored},
      {one.area.low.y, one.area.high.y, v.low, v.high, one.order[1], two.order[1], v.mirrored});
  sum.run();
  for (std::size_t p = 0; p < out.size(); ++p)
    for (int l = 0; l < two.order[1]; ++l)
      for (int k = 0; k < two.order[0]; ++k)
        for (int j = 0; j < one.order[1]; ++j)
          for (int i = 0; i < one.order[0]; ++i)
            out[p](j * one.order[0] + i, l * two.order[0] + k) +=
                sum.sums_[p](k * one.order[0] + i, l * one.order[1] + j);
}

/// Both on one edge's face. images_only: without the pair as they lie.
void add_on_edge(const Prism& prism, double kappa, const PrismTile& one, const PrismTile& two,
                 bool images_only, TileMatrices& out) {
  bool first = images_only;
  const int edge = one.area.edge;
  const double reach = faded / kappa;
  for (const SideImage& u :
       side_images(two.area.low.x, two.area.high.x, right_corner(prism, edge),
                   right_corner(prism, edge + 1), prism.edge_length(edge), reach))
    for (const SideImage& v :
         side_images(two.area.low.y, two.area.high.y, true, true, prism.length_m, reach))
      if (!std::exchange(first, false)) add_plane_pair(kappa, one, two, u, v, out);
}

/// Both on one end: images in the edges that run about along s or t and lie beside the tile.
void add_on_end(const Prism& prism, double kappa, const PrismTile& one, const PrismTile& two,
                bool images_only, TileMatrices& out) {
  bool first = images_only;
  std::vector<SideImage> along_s{{two.area.low.x, two.area.high.x, false}};
  std::vector<SideImage> along_t{{two.area.low.y, two.area.high.y, false}};
  const Vec2 middle = (two.area.low + two.area.high) * 0.5;
  for (int e = 0; e < static_cast<int>(prism.section_m.size()); ++e) {
    const EdgeFrame frame = edge_frame(prism, e);
    const double at = frame.u(middle), depth = frame.depth(middle);
    if (at < 0 || at > frame.run || depth < 0 || depth * kappa > faded) continue;
    const Vec2 foot = middle - frame.inward * depth;
    const double x = 2 * foot.x, y = 2 * foot.y;
    if (std::abs(frame.unit.x) < 0.35)
      along_s.push_back({x - two.area.high.x, x - two.area.low.x, true});
    else if (std::abs(frame.unit.y) < 0.35)
      along_t.push_back({y - two.area.high.y, y - two.area.low.y, true});
  }
  for (const SideImage& u : along_s)
    for (const SideImage& v : along_t)
      if (!std::exchange(first, false)) add_plane_pair(kappa, one, two, u, v, out);
}

double tiles_apart(const Prism& prism, const PrismTile& one, const PrismTile& two) {
  double least = 1e300;
  for (const PrismPoint& p : tile_points(prism, one, 4, 4).points)
    least = std::min(least, tile_distance(prism, two, p));
  return least;
}

}  // namespace

TileMatrices screened_tiles(const Prism& prism, double kappa, const PrismTile& one,
                            const PrismTile& two) {
  TileMatrices out;
  for (auto& part : out) part = Eigen::MatrixXd::Zero(one.count(), two.count());
  if (one.area.edge == two.area.edge) {
    if (one.area.edge >= 0)
      add_on_edge(prism, kappa, one, two, false, out);
    else
      add_on_end(prism, kappa, one, two, false, out);
    return out;
  }
  const double apart = tiles_apart(prism, one, two);
  if (apart * kappa > faded) return out;
  const int more = apart < 0.3 ? 5 : 2;
  const TilePoints a = tile_points(prism, one, one.order[0] + more, one.order[1] + more);
  const TilePoints b = tile_points(prism, two, two.order[0] + more, two.order[1] + more);
  std::array<Eigen::MatrixXd, screened_terms> between;
  for (auto& part : between)
    part.resize(Eigen::Index(a.points.size()), Eigen::Index(b.points.size()));
  for (std::size_t i = 0; i < a.points.size(); ++i)
    for (std::size_t k = 0; k < b.points.size(); ++k) {
      const Screened g = screened_field(prism, kappa, a.points[i], b.points[k]);
      for (std::size_t p = 0; p < g.size(); ++p)
        between[p](Eigen::Index(i), Eigen::Index(k)) = g[p];
    }
  for (std::size_t p = 0; p < between.size(); ++p)
    out[p] = a.functions * between[p] * b.functions.transpose();
  return out;
}

TileMatrices screened_alone(double kappa, const PrismTile& tile) {
  TileMatrices out;
  for (auto& part : out) part = Eigen::MatrixXd::Zero(tile.count(), tile.count());
  const PrismArea& area = tile.area;
  add_plane_pair(kappa, tile, tile, {area.low.x, area.high.x, false},
                 {area.low.y, area.high.y, false}, out);
  return out;
}

TileMatrices screened_with_images(const Prism& prism, double kappa, const PrismTile& tile,
                                  TileMatrices alone) {
  if (tile.area.edge >= 0)
    add_on_edge(prism, kappa, tile, tile, true, alone);
  else
    add_on_end(prism, kappa, tile, tile, true, alone);
  return alone;
}

}  // namespace roomwright::acoustics
