// Private to acoustics/waves: products of dense matrices, compiled for every width of the vector
// unit from one text (dense_lanes.h). Each entry is summed in the same order by all, so that all
// give the same bytes.
#pragma once

namespace roomwright::acoustics {

/// Real numbers in memory, a step apart along rows and along columns.
struct DenseSide {
  const double* at;
  long row, column;
};
struct DenseTask {
  long rows, columns, inner;
  DenseSide left, right;
  double* out;
  long out_row, out_column;
  double sign;  ///< out += sign · left · right
};

/// out = left · right with few columns, straight from where they lie: rows of `left` and `out` lie
/// together, as do rows of `right`. `left` is in six digits where `brief` is given.
struct DenseThin {
  long rows, columns, inner;
  const float* brief;
  const double* left;
  long left_column;
  const double* right;
  long right_column;
  double* out;
  long out_column;
};

inline constexpr long dense_inner = 256;    ///< of `inner` that are packed together
inline constexpr long dense_rows = 128;     ///< of `rows`
inline constexpr long dense_columns = 192;  ///< of `columns`
/// Doubles of working space, from a multiple of 64 bytes.
inline constexpr long dense_space = dense_inner * (dense_rows + dense_columns);

struct DenseKernel {
  void (*add)(const DenseTask& task, double* space);
  void (*thin)(const DenseThin& task);
};
extern const DenseKernel dense_kernel_baseline;
#ifdef ROOMWRIGHT_WIDE_WAVES
extern const DenseKernel dense_kernel_avx2, dense_kernel_avx512;
#endif

}  // namespace roomwright::acoustics
