// Plane Neumann eigenvalues by continuous triangles of degree 8. The basis is nodal, built from
// orthonormal polynomials so that mass and stiffness are exact (J. S. Hesthaven & T. Warburton,
// Nodal Discontinuous Galerkin Methods, 2008, ch. 6); the lowest eigenvalues come from the Lanczos
// method on the shifted inverse, and their number is checked by Sylvester's law of inertia.
#include <Spectra/MatOp/SparseSymMatProd.h>
#include <Spectra/SymGEigsShiftSolver.h>
#include <Eigen/Dense>
#include <Eigen/Sparse>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "acoustics/waves/elements.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

namespace {

constexpr int degree = element_degree;
constexpr int node_count = element_nodes;
using Matrix = Eigen::MatrixXd;
using Sparse = Eigen::SparseMatrix<double>;
const double plane_pi = std::acos(-1.0);

// ---- orthonormal polynomials on the reference triangle (-1,-1), (1,-1), (-1,1) ---------------

/// Orthonormal Jacobi polynomial of the given order for weights (a, b) at x.
double jacobi(double x, double a, double b, int order) {
  const double sum = a + b;
  double before = 1 / std::sqrt(std::pow(2, sum + 1) / (sum + 1) * std::tgamma(a + 1) *
                                std::tgamma(b + 1) / std::tgamma(sum + 1));
  if (order == 0) return before;
  double here =
      before * ((sum + 2) * x / 2 + (a - b) / 2) / std::sqrt((a + 1) * (b + 1) / (sum + 3));
  double last = 2 / (2 + sum) * std::sqrt((a + 1) * (b + 1) / (sum + 3));
  for (int i = 1; i < order; ++i) {
    const double h = 2 * i + sum, n = i + 1;
    const double next =
        2 / (h + 2) * std::sqrt(n * (n + sum) * (n + a) * (n + b) / (h + 1) / (h + 3));
    const double middle = -(a * a - b * b) / h / (h + 2);
    const double value = (-last * before + (x - middle) * here) / next;
    before = here;
    here = value;
    last = next;
  }
  return here;
}

double jacobi_slope(double x, double a, double b, int order) {
  return order == 0 ? 0
                    : std::sqrt(order * (order + a + b + 1)) * jacobi(x, a + 1, b + 1, order - 1);
}

/// Value and gradient of polynomial (i, j).
struct Modal {
  double value, dr, ds;
};
Modal modal(int i, int j, double r, double s) {
  const double a = s < 1 - 1e-14 ? 2 * (1 + r) / (1 - s) - 1 : -1;
  const double fa = jacobi(a, 0, 0, i), dfa = jacobi_slope(a, 0, 0, i);
  const double gb = jacobi(s, 2 * i + 1, 0, j), dgb = jacobi_slope(s, 2 * i + 1, 0, j);
  const double half = (1 - s) / 2;
  const double power = i > 0 ? std::pow(half, i - 1) : 1;
  const double scale = std::pow(2, i + 0.5);
  double along = dgb * std::pow(half, i);
  if (i > 0) along -= 0.5 * i * gb * power;
  return {std::sqrt(2.0) * fa * gb * std::pow(1 - s, i), scale * dfa * gb * power,
          scale * (dfa * gb * (1 + a) / 2 * power + fa * along)};
}

/// Nodes in rows of equal steps; node (i, j) at r = -1 + 2i/p, s = -1 + 2j/p.
int node_index(int i, int j) {
  return element_node(i, j);
}

/// Mass and stiffness of the reference triangle.
struct Reference {
  Matrix mass, rr, rs, ss;
};

Reference make_reference() {
  Matrix v(node_count, node_count), vr(node_count, node_count), vs(node_count, node_count);
  for (int j = 0; j <= degree; ++j)
    for (int i = 0; i + j <= degree; ++i) {
      int column = 0;
      for (int m = 0; m <= degree; ++m)
        for (int n = 0; m + n <= degree; ++n, ++column) {
          const Modal at = modal(m, n, -1 + 2.0 * i / degree, -1 + 2.0 * j / degree);
          v(node_index(i, j), column) = at.value;
          vr(node_index(i, j), column) = at.dr;
          vs(node_index(i, j), column) = at.ds;
        }
    }
  const Matrix inverse = v.inverse();
  const Matrix dr = vr * inverse, ds = vs * inverse;
  Reference out;
  out.mass = inverse.transpose() * inverse;
  out.rr = dr.transpose() * out.mass * dr;
  out.rs = dr.transpose() * out.mass * ds;
  out.ss = ds.transpose() * out.mass * ds;
  return out;
}

// ---- assembly -------------------------------------------------------------------------------

/// Global numbers: corners first, then the inner nodes of each side, then of each triangle.
class Numbering {
 public:
  explicit Numbering(const Mesh& mesh) : next_(static_cast<int>(mesh.points.size())) {}

  std::array<int, node_count> of(const Corners& t) {
    std::array<int, node_count> out{};
    out[node(0, 0)] = t[0];
    out[node(degree, 0)] = t[1];
    out[node(0, degree)] = t[2];
    for (int k = 1; k < degree; ++k) {
      out[node(k, 0)] = on_side(t[0], t[1], k);
      out[node(degree - k, k)] = on_side(t[1], t[2], k);
      out[node(0, degree - k)] = on_side(t[2], t[0], k);
    }
    for (int j = 1; j < degree; ++j)
      for (int i = 1; i + j < degree; ++i) out[node(i, j)] = next_++;
    return out;
  }
  int count() const { return next_; }

 private:
  static std::size_t node(int i, int j) { return static_cast<std::size_t>(node_index(i, j)); }
  /// The k-th inner node on the way from a to b; the other way round it is the (degree − k)-th.
  int on_side(int a, int b, int k) {
    const auto [at, fresh] = sides_.try_emplace({std::min(a, b), std::max(a, b)}, next_);
    if (fresh) next_ += degree - 1;
    return at->second + (a < b ? k - 1 : degree - k - 1);
  }
  std::map<std::pair<int, int>, int> sides_;
  int next_;
};

struct System {
  Sparse stiffness, mass;
  std::vector<std::array<int, node_count>> nodes;  ///< by triangle
};

System assemble(const Mesh& mesh) {
  static const Reference reference = make_reference();
  Numbering numbering(mesh);
  std::vector<Eigen::Triplet<double>> k_entries, m_entries;
  std::vector<std::array<int, node_count>> nodes;
  for (const Corners& t : mesh.triangles) {
    const auto point = [&](std::size_t i) { return mesh.points[static_cast<std::size_t>(t[i])]; };
    const Vec2 r = (point(1) - point(0)) * 0.5, s = (point(2) - point(0)) * 0.5;
    const double area = cross(r, s);
    const Vec2 to_r{s.y / area, -s.x / area}, to_s{-r.y / area, r.x / area};
    const Matrix k = area * (dot(to_r, to_r) * reference.rr + dot(to_s, to_s) * reference.ss +
                             dot(to_r, to_s) * (reference.rs + reference.rs.transpose()));
    const auto at = numbering.of(t);
    nodes.push_back(at);
    for (int i = 0; i < node_count; ++i)
      for (int j = 0; j < node_count; ++j) {
        const int gi = at[static_cast<std::size_t>(i)], gj = at[static_cast<std::size_t>(j)];
        k_entries.emplace_back(gi, gj, k(i, j));
        m_entries.emplace_back(gi, gj, area * reference.mass(i, j));
      }
  }
  System out{Sparse(numbering.count(), numbering.count()),
             Sparse(numbering.count(), numbering.count()), std::move(nodes)};
  out.stiffness.setFromTriplets(k_entries.begin(), k_entries.end());
  out.mass.setFromTriplets(m_entries.begin(), m_entries.end());
  return out;
}

// ---- eigenvalues ----------------------------------------------------------------------------

using Factor = Eigen::SimplicialLDLT<Sparse>;

/// (K − σM)⁻¹ for the Lanczos solver.
class ShiftedInverse {
 public:
  using Scalar = double;
  explicit ShiftedInverse(const System& system) : system_(system) {}
  Eigen::Index rows() const { return system_.mass.rows(); }
  Eigen::Index cols() const { return system_.mass.cols(); }
  void set_shift(const double& shift) { factor_.compute(system_.stiffness - shift * system_.mass); }
  void perform_op(const double* in, double* out) const {
    Eigen::Map<const Eigen::VectorXd> x(in, rows());
    Eigen::Map<Eigen::VectorXd> y(out, rows());
    y = factor_.solve(x);
  }

 private:
  const System& system_;
  Factor factor_;
};

/// How many eigenvalues lie below: the negative pivots of K − λM (Sylvester).
int count_below(const System& system, double lambda) {
  const Factor factor(system.stiffness - lambda * system.mass);
  return static_cast<int>((factor.vectorD().array() < 0).count());
}

/// The `count` eigenvalues nearest above the shift, ascending; empty where the solver gave up.
/// With `vectors` their functions too, each of ∫ ψ² = 1.
std::vector<double> lowest(const System& system, int count, double shift,
                           Matrix* vectors = nullptr) {
  ShiftedInverse inverse(system);
  Spectra::SparseSymMatProd<double> mass(system.mass);
  const int size = static_cast<int>(system.mass.rows());
  const int kept =
      std::min(size, vectors ? count + std::max(20, count / 2) : std::max(2 * count, count + 20));
  Spectra::SymGEigsShiftSolver<ShiftedInverse, Spectra::SparseSymMatProd<double>,
                               Spectra::GEigsMode::ShiftInvert>
      solver(inverse, mass, count, kept, shift);
  solver.init();
  solver.compute(Spectra::SortRule::LargestMagn, 500, vectors ? 1e-9 : 1e-11);
  if (solver.info() != Spectra::CompInfo::Successful) return {};
  const Eigen::VectorXd values = solver.eigenvalues();
  std::vector<double> out(values.data(), values.data() + values.size());
  std::sort(out.begin(), out.end());
  if (vectors) {
    std::vector<Eigen::Index> order(out.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [&](Eigen::Index a, Eigen::Index b) { return values[a] < values[b]; });
    const Matrix found = solver.eigenvectors();
    vectors->resize(found.rows(), found.cols());
    for (std::size_t i = 0; i < order.size(); ++i)
      vectors->col(Eigen::Index(i)) = found.col(order[i]);
  }
  return out;
}

Complaint not_all_found() {
  return {"room.plan_m",
          "has modes that the solver did not find",
          {},
          "ask for a lower frequency, or simplify the plan",
          0};
}

}  // namespace

Result<PlaneReport> plane_eigenvalues(const Polygon& plan_m, double most) {
  const double k = std::sqrt(most);
  const double shortest_wave_m = 2 * plane_pi / k;
  const double area = signed_area(plan_m);
  const double side = std::min(0.7 * shortest_wave_m, std::sqrt(area) * 0.6);
  const System system = assemble(mesh_of(plan_m, side));
  const int size = static_cast<int>(system.mass.rows());
  const double edge = perimeter(plan_m);
  // Weyl's law with its boundary term, and room for what it misses.
  int wanted = static_cast<int>(area * most / (4 * plane_pi) + edge * k / (4 * plane_pi) + 8);
  const double shift = -0.3 * plane_pi * plane_pi / area;
  const int below = count_below(system, most);
  wanted = std::min(std::max(wanted, below + 2), size / 3);
  PlaneReport report;
  report.unknowns = size;
  const std::vector<double> values = lowest(system, wanted, shift);
  for (const double value : values)
    if (value > 1e-7 * plane_pi * plane_pi / area && value <= most)
      report.eigenvalues.push_back(value);
  if (values.empty() || static_cast<int>(report.eigenvalues.size()) + 1 < below)
    return not_all_found();
  return report;
}

Result<PlaneSolution> plane_solution(const Polygon& section_m, double most, double side_m,
                                     int rings) {
  PlaneSolution out;
  out.mesh = mesh_of(section_m, side_m, rings);
  const System system = assemble(out.mesh);
  const double unit = plane_pi * plane_pi / signed_area(section_m);
  const int below = count_below(system, most), size = static_cast<int>(system.mass.rows());
  const int wanted = std::min(std::max(below, 1), size / 3);
  out.eigenvalues = lowest(system, wanted, -0.3 * unit, &out.vectors);
  if (static_cast<int>(out.eigenvalues.size()) < below || out.eigenvalues[0] > 1e-6 * unit)
    return not_all_found();
  out.eigenvalues[0] = 0;
  out.vectors.col(0).setConstant(1 / std::sqrt(signed_area(section_m)));
  out.nodes = system.nodes;
  return out;
}

}  // namespace roomwright::acoustics
