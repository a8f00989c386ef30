// Private to acoustics/waves: the inner loops of the sparse solver. A front is a dense complex
// symmetric matrix, real and imaginary parts apart, of which the first columns are eliminated
// (L D Lᵀ without exchanges). The same text (solid_lanes.h) is compiled for every width of the
// vector unit; all give the same bytes, since each entry is summed in the same order.
#pragma once

#include <cstddef>

namespace roomwright::acoustics {

inline constexpr int front_panel = 32;  ///< columns that are eliminated together
inline constexpr int front_tile = 8;    ///< rows that lie together in a factor

/// Rows of a front in memory: a multiple of front_tile.
constexpr int front_rows(int n) {
  return (n + front_tile - 1) / front_tile * front_tile;
}
/// Numbers in the factor of a front of n rows, `pivots` of them eliminated.
std::size_t front_factor_size(int n, int pivots);
/// Doubles of working space for the elimination.
std::size_t front_space(int n);

struct FrontKernel {
  /// In place; column-major with front_rows(n) rows, lower half. Then the first `pivots` columns
  /// lie in `factor`, and what is left of the rest stands where it stood. Returns the smallest
  /// pivot's size over the greatest's, 0 where one is 0 or no number.
  double (*eliminate)(double* re, double* im, int n, int pivots, double* factor, double* space);
  /// The same sums, the factor kept in single precision.
  double (*eliminate_single)(double* re, double* im, int n, int pivots, float* factor,
                             double* space);
  /// x: for each right-hand side front_rows(n) real parts, then as many imaginary ones. Forward
  /// replaces the first `pivots` rows by D⁻¹ L⁻¹ x and takes their share from the rows below.
  void (*forward)(const double* factor, int n, int pivots, double* x, int sides);
  void (*forward_single)(const float* factor, int n, int pivots, double* x, int sides);
  /// Replaces the first `pivots` rows by the solution, the rows below being solved.
  void (*backward)(const double* factor, int n, int pivots, double* x, int sides);
  void (*backward_single)(const float* factor, int n, int pivots, double* x, int sides);
};
extern const FrontKernel front_kernel_baseline;
#ifdef ROOMWRIGHT_WIDE_WAVES
extern const FrontKernel front_kernel_avx2, front_kernel_avx512;
#endif
/// The fastest that this processor can run.
const FrontKernel& fastest_front_kernel();

}  // namespace roomwright::acoustics
