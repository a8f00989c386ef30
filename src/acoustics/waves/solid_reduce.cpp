// The small model; see solid_reduce.h.
#include "acoustics/waves/solid_reduce.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/dense.h"

namespace roomwright::acoustics {

namespace {

using Matrix = Eigen::MatrixXd;
using Fields = Eigen::MatrixXcd;
constexpr double least_new = 1e-6;  // of a field's size; less of it adds nothing but noise

/// K + k²M of the air and of what stands in it, on the diagonal.
Eigen::VectorXd diagonal(const SolidModel& model, double k) {
  Eigen::VectorXd out = Eigen::VectorXd::Zero(model.unknowns());
  for (const SolidColumn& column : model.columns)
    for (const SolidTerm& term : column.terms) {
      if (term.material < 0) continue;
      const Matrix& plan = column.plan[static_cast<std::size_t>(term.plan)];
      for (const auto& e : model.heights[static_cast<std::size_t>(term.height)].entries) {
        if (e.row != e.column) continue;
        for (Eigen::Index f = 0; f < plan.rows(); ++f) {
          const auto function =
              static_cast<std::size_t>(column.functions[static_cast<std::size_t>(f)]);
          if (e.row < model.tall[function])
            out(model.first[function] + e.row) +=
                (term.in_stiffness + k * k * term.in_mass) * plan(f, f) * e.value;
        }
      }
    }
  return out;
}

/// left' · right.
Matrix product(const Matrix& left, const Matrix& right) {
  return real_product(dense_view(left).transposed(), dense_view(right));
}

/// left' · right over the rows where `right` is not 0: a wall's touch few of them, those of floor
/// and ceiling all, and then nothing is gathered.
Matrix sparse_product(const Matrix& left, const Matrix& right,
                      const std::vector<Eigen::Index>& rows) {
  if (2 * static_cast<Eigen::Index>(rows.size()) > left.rows()) return product(left, right);
  Matrix l(static_cast<Eigen::Index>(rows.size()), left.cols());
  Matrix r(l.rows(), right.cols());
  const auto gather = [&](const Matrix& from, Matrix& to) {
    for (Eigen::Index c = 0; c < from.cols(); ++c)
      for (Eigen::Index i = 0; i < to.rows(); ++i)
        to(i, c) = from(rows[static_cast<std::size_t>(i)], c);
  };
  gather(left, l), gather(right, r);
  return product(l, r);
}

/// The unknowns of the columns in which some term is wanted, ascending.
template <class Wanted>
std::vector<Eigen::Index> rows_with(const SolidModel& model, Wanted wanted) {
  std::vector<char> used(model.tall.size(), 0);
  for (const SolidColumn& column : model.columns)
    if (std::any_of(column.terms.begin(), column.terms.end(), wanted))
      for (const int f : column.functions) used[static_cast<std::size_t>(f)] = 1;
  std::vector<Eigen::Index> out;
  for (std::size_t f = 0; f < used.size(); ++f)
    for (int a = 0; used[f] && a < model.tall[f]; ++a) out.push_back(model.first[f] + a);
  return out;
}

void append(Matrix& to, const Matrix& columns) {
  const Eigen::Index before = to.cols();
  to.conservativeResize(columns.rows(), before + columns.cols());
  to.rightCols(columns.cols()) = columns;
}

/// The matrix on the old basis and on what joined it: `cross` is basis' · A · new.
void grow(Matrix& small, const Matrix& cross) {
  const Eigen::Index size = cross.rows(), before = size - cross.cols();
  Matrix out(size, size);
  out.topLeftCorner(before, before) = small;
  out.rightCols(cross.cols()) = cross;
  out.bottomRows(cross.cols()) = cross.transpose();
  small = std::move(out);
}

}  // namespace

SolidBasis::SolidBasis(const SolidModel& model, double wave_number_1_m,
                       std::vector<SolidPoint> loads)
    : model_(model), loads_(std::move(loads)), scale_(diagonal(model, wave_number_1_m)) {
  basis_.resize(model.unknowns(), 0);
  on_loads_.resize(static_cast<Eigen::Index>(loads_.size()), 0);
  stiffness_.resize(static_cast<std::size_t>(model.parts()));
  mass_.resize(stiffness_.size());
  boundary_.resize(static_cast<std::size_t>(model.boundaries));
  used_stiffness_.assign(stiffness_.size(), false);
  used_mass_ = used_stiffness_;
  used_boundary_.assign(boundary_.size(), false);
  for (const SolidColumn& column : model.columns) {
    for (const SolidTerm& term : column.terms) {
      if (term.boundary >= 0) {
        used_boundary_[static_cast<std::size_t>(term.boundary)] = true;
        continue;
      }
      const auto m = static_cast<std::size_t>(term.material);
      used_stiffness_[m] = used_stiffness_[m] || term.in_stiffness != 0;
      used_mass_[m] = used_mass_[m] || term.in_mass != 0;
    }
  }
  for (int m = 0; m < model.parts(); ++m)
    material_rows_.push_back(
        rows_with(model, [m](const SolidTerm& term) { return term.material == m; }));
  for (int b = 0; b < model.boundaries; ++b)
    boundary_rows_.push_back(
        rows_with(model, [b](const SolidTerm& term) { return term.boundary == b; }));
}

/// The part of the fields' real and imaginary parts that the basis lacks, orthonormal in `scale_`:
/// Gram and Schmidt twice against the basis, then among themselves, the greatest rest first.
Matrix SolidBasis::fresh(const Fields& fields) const {
  Matrix x(fields.rows(), 2 * fields.cols());
  x << fields.real(), fields.imag();
  const auto size = [&](const auto& column) {
    return std::sqrt(column.dot(scale_.cwiseProduct(column)));
  };
  for (Eigen::Index c = 0; c < x.cols(); ++c)
    if (const double s = size(x.col(c)); s > 1e-290 && std::isfinite(s))
      x.col(c) /= s;
    else
      x.col(c).setZero();
  for (int turn = 0; turn < 2 && basis_.cols() > 0; ++turn) {
    const Matrix scaled = scale_.asDiagonal() * x;
    const Matrix share = product(basis_, scaled);
    add_product(x, -1, dense_view(basis_), dense_view(share));
  }
  Matrix out(x.rows(), x.cols());
  Eigen::Index kept = 0;
  std::vector<double> rest(static_cast<std::size_t>(x.cols()));
  for (Eigen::Index c = 0; c < x.cols(); ++c) rest[static_cast<std::size_t>(c)] = size(x.col(c));
  while (kept < x.cols()) {
    const auto best = std::max_element(rest.begin(), rest.end());
    if (*best < least_new) break;
    const Eigen::Index c = best - rest.begin();
    Eigen::VectorXd v = x.col(c);
    for (int turn = 0; turn < 2; ++turn)
      v -= out.leftCols(kept) * (out.leftCols(kept).transpose() * scale_.cwiseProduct(v));
    rest[static_cast<std::size_t>(c)] = 0;
    const double s = size(v);
    if (s < least_new) continue;
    v /= s;
    out.col(kept++) = v;
    const Eigen::VectorXd scaled = scale_.cwiseProduct(v);
    for (Eigen::Index o = 0; o < x.cols(); ++o) {
      double& left = rest[static_cast<std::size_t>(o)];
      if (left == 0) continue;
      x.col(o) -= v * scaled.dot(x.col(o));
      left = size(x.col(o));
    }
  }
  return out.leftCols(kept);
}

void SolidBasis::add(const Fields& fields, int threads) {
  const Matrix more = fresh(fields);
  if (more.cols() == 0) return;
  append(basis_, more);
  Matrix at(static_cast<Eigen::Index>(loads_.size()), more.cols());
  for (std::size_t p = 0; p < loads_.size(); ++p)
    for (Eigen::Index c = 0; c < more.cols(); ++c) {
      double sum = 0;
      for (std::size_t i = 0; i < loads_[p].unknowns.size(); ++i)
        sum += loads_[p].weights[i] * more(loads_[p].unknowns[i], c);
      at(static_cast<Eigen::Index>(p), c) = sum;
    }
  append(on_loads_, at);
  // One task for each matrix of each kind.
  const std::size_t materials = stiffness_.size();
  parallel_for(2 * materials + boundary_.size(), threads, [&](std::size_t i) {
    if (i >= 2 * materials) {
      const std::size_t b = i - 2 * materials;
      if (used_boundary_[b])
        grow(boundary_[b], sparse_product(basis_, apply_boundary(model_, static_cast<int>(b), more),
                                          boundary_rows_[b]));
      return;
    }
    const std::size_t m = i / 2;
    if (!(i % 2 == 0 ? used_stiffness_ : used_mass_)[m]) return;
    const Matrix y = i % 2 == 0 ? apply_stiffness(model_, static_cast<int>(m), more)
                                : apply_mass(model_, static_cast<int>(m), more);
    const bool air = m < (model_.stretch_along ? 3 : 1);
    grow(i % 2 == 0 ? stiffness_[m] : mass_[m],
         air ? product(basis_, y) : sparse_product(basis_, y, material_rows_[m]));
  });
}

bool SolidBasis::solve(const SolidValues& values, int sides, const FrontKernel& kernel,
                       Fields& out) const {
  Fields field;
  if (!fields(values, sides, kernel, field)) return false;
  out = on_loads_ * field;
  return true;
}

bool SolidBasis::fields(const SolidValues& values, int sides, const FrontKernel& kernel,
                        Fields& out) const {
  const int n = size();
  const std::size_t rows = static_cast<std::size_t>(front_rows(n));
  Fields matrix = Fields::Zero(n, n);
  for (std::size_t m = 0; m < stiffness_.size(); ++m) {
    if (used_stiffness_[m] && used_mass_[m])
      matrix += values.inverse_density[m] * stiffness_[m] - values.stiffness[m] * mass_[m];
    else if (used_stiffness_[m])
      matrix += values.inverse_density[m] * stiffness_[m];
  }
  for (std::size_t b = 0; b < boundary_.size(); ++b)
    if (used_boundary_[b] && values.boundary[b] != 0.0) matrix += values.boundary[b] * boundary_[b];
  std::vector<double> re(rows * static_cast<std::size_t>(n), 0), im(re.size(), 0);
  for (Eigen::Index j = 0; j < n; ++j)
    for (Eigen::Index i = j; i < n; ++i) {
      re[static_cast<std::size_t>(j) * rows + static_cast<std::size_t>(i)] = matrix(i, j).real();
      im[static_cast<std::size_t>(j) * rows + static_cast<std::size_t>(i)] = matrix(i, j).imag();
    }
  std::vector<double> factor(front_factor_size(n, n)), space(front_space(n));
  if (kernel.eliminate(re.data(), im.data(), n, n, factor.data(), space.data()) == 0) return false;
  std::vector<double> x(2 * rows * static_cast<std::size_t>(sides), 0);
  for (int s = 0; s < sides; ++s)
    for (Eigen::Index i = 0; i < n; ++i)
      x[2 * rows * static_cast<std::size_t>(s) + static_cast<std::size_t>(i)] = on_loads_(s, i);
  kernel.forward(factor.data(), n, n, x.data(), sides);
  kernel.backward(factor.data(), n, n, x.data(), sides);
  out.resize(n, sides);
  for (int s = 0; s < sides; ++s)
    for (Eigen::Index i = 0; i < n; ++i) {
      const std::size_t at = 2 * rows * static_cast<std::size_t>(s) + static_cast<std::size_t>(i);
      out(i, s) = {x[at], x[at + rows]};
    }
  return true;
}

Fields load_matrix(const SolidModel& model, const std::vector<SolidPoint>& loads,
                   std::size_t count) {
  Fields out = Fields::Zero(model.unknowns(), static_cast<Eigen::Index>(count));
  for (std::size_t p = 0; p < count; ++p)
    for (std::size_t i = 0; i < loads[p].unknowns.size(); ++i)
      out(loads[p].unknowns[i], static_cast<Eigen::Index>(p)) += loads[p].weights[i];
  return out;
}

std::complex<double> at_load(const Fields& field, Eigen::Index column, const SolidPoint& load) {
  std::complex<double> sum = 0;
  for (std::size_t i = 0; i < load.unknowns.size(); ++i)
    sum += load.weights[i] * field(load.unknowns[i], column);
  return sum;
}

}  // namespace roomwright::acoustics
