// Dense products; see dense.h.
#include "acoustics/waves/dense.h"

#include <cstdint>
#include <vector>

#include "acoustics/waves/dense_kernel.h"
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

/// out: real parts `apart` doubles from one another along rows.
void add_part(const double* left, const DenseView& l, const double* right, const DenseView& r,
              double* out, long apart, double sign) {
  const DenseTask task{
      l.rows, r.columns,      l.columns, {left, l.row, l.column}, {right, r.row, r.column}, out,
      apart,  apart * l.rows, sign};
  fastest_dense_kernel().add(task, dense_working_space());
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
  add_part(left.re, left, right.re, right, to.data(), 1, sign);
}

void add_product(Eigen::MatrixXcd& to, double sign, const DenseView& left, const DenseView& right) {
  RW_ASSERT(left.columns == right.rows && to.rows() == left.rows && to.cols() == right.columns);
  auto* out = reinterpret_cast<double*>(to.data());
  add_part(left.re, left, right.re, right, out, 2, sign);
  if (left.im && right.im) add_part(left.im, left, right.im, right, out, 2, -sign);
  if (left.im) add_part(left.im, left, right.re, right, out + 1, 2, sign);
  if (right.im) add_part(left.re, left, right.im, right, out + 1, 2, sign);
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

}  // namespace roomwright::acoustics
