// Products of dense matrices by the vector unit: against Eigen's, and the same bytes from each
// width.
#include <gtest/gtest.h>

#include <array>
#include <complex>
#include <cstring>
#include <vector>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/dense_kernel.h"
#include "core/base/base.h"

namespace roomwright::acoustics::dense {
namespace {

using Real = Eigen::MatrixXd;
using Complex = Eigen::MatrixXcd;

Real drawn(Random& random, Eigen::Index rows, Eigen::Index columns) {
  Real out(rows, columns);
  for (Eigen::Index i = 0; i < out.size(); ++i) out.data()[i] = random.uniform(-1, 1);
  return out;
}
Complex drawn_complex(Random& random, Eigen::Index rows, Eigen::Index columns) {
  Complex out(rows, columns);
  out.real() = drawn(random, rows, columns);
  out.imag() = drawn(random, rows, columns);
  return out;
}

TEST(Dense, products_are_eigens_for_sizes_about_the_strips_and_blocks_and_for_turned_and_cut_ones) {
  Random random(7);
  for (const auto& [rows, inner, columns] :
       std::vector<std::array<Eigen::Index, 3>>{{1, 1, 1},
                                                {3, 5, 2},
                                                {16, 8, 8},
                                                {17, 256, 9},
                                                {130, 300, 5},
                                                {5, 513, 200},
                                                {33, 2, 193},
                                                {128, 257, 17}}) {
    const Real a = drawn(random, rows + 3, inner), b = drawn(random, columns, inner + 2);
    const auto cut = a.bottomRows(rows);
    const auto turned = b.leftCols(inner);
    const Real wanted = cut * turned.transpose();
    const Real found = real_product(dense_view(cut), dense_view(turned).transposed());
    EXPECT_LT((found - wanted).norm(), 1e-13 * double(inner) + 1e-13 * wanted.norm());
    const Complex c = drawn_complex(random, inner, columns);
    const Complex mixed = cut.cast<std::complex<double>>() * c;
    EXPECT_LT((complex_product(dense_view(cut), dense_view(c)) - mixed).norm(),
              1e-13 * double(inner) + 1e-13 * mixed.norm());
    const Complex d = drawn_complex(random, columns, rows);
    Complex sum = drawn_complex(random, inner, rows);
    const Complex less = sum - c * d;
    add_product(sum, -1, dense_view(c), dense_view(d));
    EXPECT_LT((sum - less).norm(), 1e-13 * double(columns) + 1e-13 * less.norm());
  }
}

TEST(Dense, every_width_gives_the_same_bytes) {
  Random random(8);
  const long rows = 131, inner = 515, columns = 203;
  const Real a = drawn(random, rows, inner), b = drawn(random, inner, columns);
  std::vector<const DenseKernel*> kernels{&dense_kernel_baseline};
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (__builtin_cpu_supports("avx2")) kernels.push_back(&dense_kernel_avx2);
  if (__builtin_cpu_supports("avx512f")) kernels.push_back(&dense_kernel_avx512);
#endif
  std::vector<double> space(dense_space);
  std::vector<Real> found;
  for (const DenseKernel* kernel : kernels) {
    found.push_back(Real::Constant(rows, columns, 0.5));
    kernel->add({rows,
                 columns,
                 inner,
                 {a.data(), 1, rows},
                 {b.data(), 1, inner},
                 found.back().data(),
                 1,
                 rows,
                 -1},
                space.data());
  }
  EXPECT_LT((found[0] - (Real::Constant(rows, columns, 0.5) - a * b)).norm(), 1e-10);
  for (const Real& one : found)
    EXPECT_EQ(std::memcmp(one.data(), found[0].data(), sizeof(double) * std::size_t(one.size())),
              0);
}

TEST(Dense, few_columns_are_eigens_with_the_same_bytes_from_every_width) {
  Random random(10);
  std::vector<const DenseKernel*> kernels{&dense_kernel_baseline};
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (__builtin_cpu_supports("avx2")) kernels.push_back(&dense_kernel_avx2);
  if (__builtin_cpu_supports("avx512f")) kernels.push_back(&dense_kernel_avx512);
#endif
  for (const auto& [rows, inner, columns] : std::vector<std::array<Eigen::Index, 3>>{
           {1, 1, 1}, {3, 4, 2}, {7, 9, 3}, {12, 15, 5}, {16, 8, 8}, {37, 22, 13}, {126, 63, 24}}) {
    const Real left = drawn(random, rows, inner), right = drawn(random, inner + 2, columns);
    const Eigen::MatrixXf brief = left.cast<float>();
    const Real cut = right.bottomRows(inner);
    std::vector<Real> exact, shortened;
    for (const DenseKernel* kernel : kernels)
      for (const bool short_one : {false, true}) {
        Real out = Real::Constant(rows + 1, columns, 7);
        kernel->thin({rows, columns, inner, short_one ? brief.data() : nullptr, left.data(), rows,
                      right.data() + 2, right.rows(), out.data(), out.rows()});
        EXPECT_EQ(out.row(rows), Real::Constant(1, columns, 7)) << "wrote beyond the last row";
        (short_one ? shortened : exact).push_back(out.topRows(rows));
      }
    EXPECT_LT((exact[0] - left * cut).norm(), 1e-13 * double(inner) + 1e-13 * exact[0].norm());
    EXPECT_LT((shortened[0] - brief.cast<double>() * cut).norm(),
              1e-13 * double(inner) + 1e-13 * shortened[0].norm());
    for (std::size_t i = 0; i < kernels.size(); ++i) {
      EXPECT_EQ(exact[i], exact[0]);
      EXPECT_EQ(shortened[i], shortened[0]);
    }
  }
}

TEST(Dense, a_symmetric_matrix_with_a_ruling_diagonal_is_inverted_and_one_of_0_refused) {
  Random random(9);
  for (const Eigen::Index size : {1, 7, 32, 95, 96, 97, 210}) {
    Complex matrix = drawn_complex(random, size, size) / (2 * double(size));
    matrix = (matrix + matrix.transpose().eval()).eval();
    matrix.diagonal().array() += std::complex<double>(1, 0.3);
    Complex inverse = matrix;
    ASSERT_TRUE(invert_symmetric(inverse));
    EXPECT_LT((inverse * matrix - Complex::Identity(size, size)).norm(), 1e-12 * double(size));
    EXPECT_LT((inverse - inverse.transpose()).norm(), 1e-12 * double(size));
  }
  Complex nothing = Complex::Zero(3, 3);
  EXPECT_FALSE(invert_symmetric(nothing));
}

}  // namespace
}  // namespace roomwright::acoustics::dense
