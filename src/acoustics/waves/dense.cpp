// Dense products; see dense.h.
#include "acoustics/waves/dense.h"

#include <algorithm>
#include <cstdint>
#include <vector>

#include "acoustics/waves/dense_kernel.h"
#include "acoustics/waves/solid_kernel.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

namespace {

const DenseKernel& fastest_dense_kernel() {
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (__builtin_cpu_supports("avx512f")) return dense_kernel_avx512;
  if (__builtin_cpu_supports("avx2")) return dense_kernel_avx2;
#endif
  return dense_kernel_baseline;
}

/// One thread's working space.
double* dense_working_space() {
  thread_local std::vector<double> memory;
  if (memory.empty()) memory.resize(dense_space + 8);
  const auto address = reinterpret_cast<std::uintptr_t>(memory.data());
  return memory.data() + (64 - address % 64) % 64 / sizeof(double);
}

/// Where a product goes: real parts `row` doubles from one another along rows.
struct DenseOut {
  double* at;
  long row, column;
};
void add_part(const double* left, const DenseView& l, const double* right, const DenseView& r,
              const DenseOut& out, double sign) {
  fastest_dense_kernel().add({l.rows,
                              r.columns,
                              l.columns,
                              {left, l.row, l.column},
                              {right, r.row, r.column},
                              out.at,
                              out.row,
                              out.column,
                              sign},
                             dense_working_space());
}
void add_complex(const DenseOut& out, double sign, const DenseView& left, const DenseView& right) {
  const DenseOut turned{out.at + 1, out.row, out.column};
  add_part(left.re, left, right.re, right, out, sign);
  if (left.im && right.im) add_part(left.im, left, right.im, right, out, -sign);
  if (left.im) add_part(left.im, left, right.re, right, turned, sign);
  if (right.im) add_part(left.re, left, right.im, right, turned, sign);
}
DenseOut out_of(Eigen::MatrixXcd& to) {
  return {reinterpret_cast<double*>(to.data()), 2, 2 * to.rows()};
}

}  // namespace

DenseView dense_view(const RealRef& matrix) {
  return {matrix.data(), nullptr, matrix.rows(), matrix.cols(), 1, matrix.outerStride()};
}

DenseView dense_view(const ComplexRef& matrix) {
  const auto* at = reinterpret_cast<const double*>(matrix.data());
  return {at, at + 1, matrix.rows(), matrix.cols(), 2, 2 * matrix.outerStride()};
}

void add_product(Eigen::MatrixXd& to, double sign, const DenseView& left, const DenseView& right) {
  RW_ASSERT(!left.im && !right.im && left.columns == right.rows && to.rows() == left.rows &&
            to.cols() == right.columns);
  add_part(left.re, left, right.re, right, {to.data(), 1, to.rows()}, sign);
}

void add_product(Eigen::MatrixXcd& to, double sign, const DenseView& left, const DenseView& right) {
  RW_ASSERT(left.columns == right.rows && to.rows() == left.rows && to.cols() == right.columns);
  add_complex(out_of(to), sign, left, right);
}

Eigen::MatrixXd real_product(const DenseView& left, const DenseView& right) {
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(left.rows, right.columns);
  add_product(out, 1, left, right);
  return out;
}

Eigen::MatrixXcd complex_product(const DenseView& left, const DenseView& right) {
  Eigen::MatrixXcd out = Eigen::MatrixXcd::Zero(left.rows, right.columns);
  add_product(out, 1, left, right);
  return out;
}

void thin_product(const DenseThin& task) {
  fastest_dense_kernel().thin(task);
}

bool invert_symmetric(Eigen::MatrixXcd& matrix) {
  const int n = static_cast<int>(matrix.rows());
  if (n == 0) return true;
  const auto size = static_cast<std::size_t>(n), rows = static_cast<std::size_t>(front_rows(n));
  const FrontKernel& kernel = fastest_front_kernel();
  std::vector<double> re(rows * size, 0), im(re.size(), 0);
  for (std::size_t j = 0; j < size; ++j)
    for (std::size_t i = j; i < size; ++i) {
      const auto value = matrix(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j));
      re[j * rows + i] = value.real(), im[j * rows + i] = value.imag();
    }
  std::vector<double> factor(front_factor_size(n, n)), space(front_space(n));
  if (kernel.eliminate(re.data(), im.data(), n, n, factor.data(), space.data()) == 0) return false;
  std::vector<double> x(2 * rows * size, 0);
  for (std::size_t j = 0; j < size; ++j) x[2 * rows * j + j] = 1;
  kernel.forward(factor.data(), n, n, x.data(), n);
  // Now x = D⁻¹ L⁻¹, with 1/D on its diagonal; the inverse is (L⁻¹)ᵀ x.
  std::vector<double> low = x;
  for (std::size_t k = 0; k < size; ++k) {
    const std::size_t own = 2 * rows * k + k;
    const std::complex<double> pivot = 1.0 / std::complex<double>(x[own], x[own + rows]);
    for (std::size_t j = 0; j <= k; ++j) {
      const std::size_t at = 2 * rows * j + k;
      const std::complex<double> value = pivot * std::complex<double>(x[at], x[at + rows]);
      low[at] = value.real(), low[at + rows] = value.imag();
    }
  }
  // Rows from `first` on are 0 behind the last of them.
  constexpr int step = 96;
  matrix.setZero();
  for (int first = 0; first < n; first += step) {
    const int width = std::min(step, n - first), reach = first + width;
    const auto view = [&](const std::vector<double>& of) {
      const double* at = of.data() + first;
      return DenseView{at, at + rows, width, reach, 1, static_cast<long>(2 * rows)};
    };
    add_complex(out_of(matrix), 1, view(low).transposed(), view(x));
  }
  return true;
}

}  // namespace roomwright::acoustics
