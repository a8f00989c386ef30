// Private to acoustics/waves: products of dense matrices by the vector unit that this processor
// has; the same bytes from every width. Eigen's own keep to the narrowest.
#pragma once

#include <Eigen/Dense>

namespace roomwright::acoustics {

/// Where a matrix lies; real where `im` is null. It must outlive the view.
struct DenseView {
  const double *re = nullptr, *im = nullptr;
  long rows = 0, columns = 0, row = 1, column = 0;  ///< steps in doubles
  DenseView transposed() const { return {re, im, columns, rows, column, row}; }
};
using RealRef = Eigen::Ref<const Eigen::MatrixXd, 0, Eigen::OuterStride<>>;
using ComplexRef = Eigen::Ref<const Eigen::MatrixXcd, 0, Eigen::OuterStride<>>;
DenseView dense_view(const RealRef& matrix);
DenseView dense_view(const ComplexRef& matrix);

/// left · right, both real.
Eigen::MatrixXd real_product(const DenseView& left, const DenseView& right);
/// left · right, each real or complex.
Eigen::MatrixXcd complex_product(const DenseView& left, const DenseView& right);
/// to += sign · left · right.
void add_product(Eigen::MatrixXd& to, double sign, const DenseView& left, const DenseView& right);
void add_product(Eigen::MatrixXcd& to, double sign, const DenseView& left, const DenseView& right);
/// See dense_kernel.h.
struct DenseThin;
void thin_product(const DenseThin& task);
/// A complex symmetric matrix by its inverse, without exchanges of rows: of one whose diagonal
/// rules (1 + what absorbs). False where a pivot is 0 or no number.
bool invert_symmetric(Eigen::MatrixXcd& matrix);

}  // namespace roomwright::acoustics
