// Private to acoustics/waves: the text of dense products, LANES rows at a time; see dense_kernel.h.
// Nothing of the standard library stands here (core/lanes says why).

#include "acoustics/waves/dense_kernel.h"
#include "core/lanes/lanes.h"

namespace roomwright::acoustics {
namespace {

constexpr int strip_rows = 2 * LANES, strip_columns = LANES == 8 ? 8 : 4;

/// Rows in strips, of each strip column after column; what is beyond the last row counts as 0.
static void pack_left(const DenseSide& from, long rows, long inner, double* to) {
  for (long r = 0; r < rows; r += strip_rows)
    for (long k = 0; k < inner; ++k)
      for (int i = 0; i < strip_rows; ++i)
        *to++ = r + i < rows ? from.at[(r + i) * from.row + k * from.column] : 0;
}
static void pack_right(const DenseSide& from, long inner, long columns, double* to) {
  for (long c = 0; c < columns; c += strip_columns)
    for (long k = 0; k < inner; ++k)
      for (int j = 0; j < strip_columns; ++j)
        *to++ = c + j < columns ? from.at[k * from.row + (c + j) * from.column] : 0;
}

/// out: strip_rows by strip_columns, column by column.
ROOMWRIGHT_INLINE void strip_product(const double* left, const double* right, long inner,
                                     double* out) {
  Part low[strip_columns], high[strip_columns];
  for (int j = 0; j < strip_columns; ++j) low[j] = Part{}, high[j] = Part{};
  for (long k = 0; k < inner; ++k, left += strip_rows, right += strip_columns) {
    const Part x = load(left), y = load(left + LANES);
    for (int j = 0; j < strip_columns; ++j) {
      const Part w = every(right[j]);
      low[j] += x * w;
      high[j] += y * w;
    }
  }
  for (int j = 0; j < strip_columns; ++j) {
    store(out + j * strip_rows, low[j]);
    store(out + j * strip_rows + LANES, high[j]);
  }
}

static void add_strip(const DenseTask& task, long row, long column, const double* part) {
  for (int j = 0; j < strip_columns && column + j < task.columns; ++j)
    for (int i = 0; i < strip_rows && row + i < task.rows; ++i)
      task.out[(row + i) * task.out_row + (column + j) * task.out_column] +=
          task.sign * part[j * strip_rows + i];
}

ROOMWRIGHT_INLINE long least_long(long a, long b) {
  return a < b ? a : b;
}

static void add_product(const DenseTask& task, double* space) {
  double *left = space, *right = space + dense_inner * dense_rows;
  double part[strip_rows * strip_columns];
  for (long k = 0; k < task.inner; k += dense_inner) {
    const long inner = least_long(dense_inner, task.inner - k);
    for (long c = 0; c < task.columns; c += dense_columns) {
      const long columns = least_long(dense_columns, task.columns - c);
      pack_right({task.right.at + k * task.right.row + c * task.right.column, task.right.row,
                  task.right.column},
                 inner, columns, right);
      for (long r = 0; r < task.rows; r += dense_rows) {
        const long rows = least_long(dense_rows, task.rows - r);
        pack_left({task.left.at + r * task.left.row + k * task.left.column, task.left.row,
                   task.left.column},
                  rows, inner, left);
        for (long j = 0; j < columns; j += strip_columns)
          for (long i = 0; i < rows; i += strip_rows) {
            strip_product(left + i * inner, right + j * inner, inner, part);
            add_strip(task, r + i, c + j, part);
          }
      }
    }
  }
}

}  // namespace
}  // namespace roomwright::acoustics
