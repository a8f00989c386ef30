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

// ---- few columns ------------------------------------------------------------------------------

typedef float DenseBrief __attribute__((vector_size(LANES * 4), aligned(4), may_alias));
ROOMWRIGHT_INLINE Part load_left(const float* from) {
  return __builtin_convertvector(*reinterpret_cast<const DenseBrief*>(from), Part);
}
ROOMWRIGHT_INLINE Part load_left(const double* from) {
  return load(from);
}

/// VECTORS · LANES rows of COLUMNS columns, kept in registers over `inner`.
template <int VECTORS, int COLUMNS, class From>
ROOMWRIGHT_INLINE void thin_tile(const DenseThin& task, const From* left, const double* right,
                                 double* out) {
  Part sum[VECTORS][COLUMNS];
  for (int v = 0; v < VECTORS; ++v)
    for (int c = 0; c < COLUMNS; ++c) sum[v][c] = Part{};
  for (long k = 0; k < task.inner; ++k, left += task.left_column, ++right) {
    Part x[VECTORS];
    for (int v = 0; v < VECTORS; ++v) x[v] = load_left(left + v * LANES);
    for (int c = 0; c < COLUMNS; ++c) {
      const Part w = every(right[c * task.right_column]);
      for (int v = 0; v < VECTORS; ++v) sum[v][c] += x[v] * w;
    }
  }
  for (int c = 0; c < COLUMNS; ++c)
    for (int v = 0; v < VECTORS; ++v) store(out + c * task.out_column + v * LANES, sum[v][c]);
}

/// Rows that fill no vector any more.
template <class From>
ROOMWRIGHT_INLINE void thin_rest(const DenseThin& task, const From* left, long row, long column,
                                 long columns) {
  for (long c = column; c < column + columns; ++c)
    for (long r = row; r < task.rows; ++r) {
      double sum = 0;
      for (long k = 0; k < task.inner; ++k)
        sum += double(left[k * task.left_column + r]) * task.right[c * task.right_column + k];
      task.out[c * task.out_column + r] = sum;
    }
}

template <int COLUMNS, class From>
ROOMWRIGHT_INLINE void thin_columns(const DenseThin& task, const From* left, long column) {
  const double* right = task.right + column * task.right_column;
  double* out = task.out + column * task.out_column;
  long r = 0;
  for (; r + 2 * LANES <= task.rows; r += 2 * LANES)
    thin_tile<2, COLUMNS>(task, left + r, right, out + r);
  for (; r + LANES <= task.rows; r += LANES) thin_tile<1, COLUMNS>(task, left + r, right, out + r);
  if (r < task.rows) thin_rest(task, left, r, column, COLUMNS);
}

template <class From>
static void thin_from(const DenseThin& task, const From* left) {
  long c = 0;
  if (LANES == 8)  // that has the registers
    for (; c + 8 <= task.columns; c += 8) thin_columns<8>(task, left, c);
  for (; c + 4 <= task.columns; c += 4) thin_columns<4>(task, left, c);
  if (c + 2 <= task.columns) thin_columns<2>(task, left, c), c += 2;
  if (c < task.columns) thin_columns<1>(task, left, c);
}

static void thin_product(const DenseThin& task) {
  if (task.brief)
    thin_from(task, task.brief);
  else
    thin_from(task, task.left);
}

}  // namespace
}  // namespace roomwright::acoustics
