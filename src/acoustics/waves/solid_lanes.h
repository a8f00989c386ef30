// Private to acoustics/waves: the text of the sparse solver's inner loops, LANES rows at a time;
// see solid_kernel.h. Nothing of the standard library stands here (core/lanes says why).
//
// A factor is a list of panels. Of each: its inverse pivots (re, im), the strict lower part of its
// square (width × width, column-major, re then im), and the rows below in tiles of eight, column by
// column: eight real parts, eight imaginary ones.

#include "acoustics/waves/solid_kernel.h"
#include "core/lanes/lanes.h"

namespace roomwright::acoustics {
namespace {

constexpr int tile_parts = front_tile / LANES;

typedef float LooseSingles __attribute__((vector_size(LANES * 4), aligned(4), may_alias));
using ::roomwright::load;
ROOMWRIGHT_INLINE Part load(const float* from) {
  return __builtin_convertvector(*reinterpret_cast<const LooseSingles*>(from), Part);
}

ROOMWRIGHT_INLINE int least_of(int a, int b) {
  return a < b ? a : b;
}
/// Where a panel's parts lie.
struct PanelPlace {
  int first, width, first_tile, tiles;
  long pivots, square, below, end;
};
ROOMWRIGHT_INLINE PanelPlace panel_at(long from, int first, int n, int pivots) {
  PanelPlace out;
  out.first = first;
  out.width = least_of(front_panel, pivots - first);
  out.first_tile = (first + out.width) / front_tile;
  out.tiles = (n + front_tile - 1) / front_tile - out.first_tile;
  out.pivots = from;
  out.square = from + 2 * front_panel;
  out.below = out.square + 2 * front_panel * front_panel;
  out.end = out.below + 2l * front_tile * out.width * out.tiles;
  return out;
}

/// One column of a panel: what the columns before it in the panel take from it, then its pivot.
static double eliminate_column(double* re, double* im, long rows, int first, int j,
                               const double* pivot, double* inverse) {
  double *cr = re + rows * j, *ci = im + rows * j;
  const int from = j / front_tile * front_tile;
  for (int k = first; k < j; ++k) {
    const double lr = re[rows * k + j], li = im[rows * k + j];
    const double dr = pivot[2 * (k - first)], di = pivot[2 * (k - first) + 1];
    const Part wr = every(lr * dr - li * di), wi = every(lr * di + li * dr);
    const double *ar = re + rows * k, *ai = im + rows * k;
    for (long i = from; i < rows; i += LANES) {
      const Part xr = load(ar + i), xi = load(ai + i);
      store(cr + i, load(cr + i) - (xr * wr - xi * wi));
      store(ci + i, load(ci + i) - (xr * wi + xi * wr));
    }
  }
  const double dr = cr[j], di = ci[j], size = dr * dr + di * di;
  inverse[0] = dr / size, inverse[1] = -di / size;
  const Part vr = every(inverse[0]), vi = every(inverse[1]);
  for (long i = from; i < rows; i += LANES) {
    const Part xr = load(cr + i), xi = load(ci + i);
    store(cr + i, xr * vr - xi * vi);
    store(ci + i, xr * vi + xi * vr);
  }
  cr[j] = dr, ci[j] = di;
  return size;
}

/// Copies an eliminated panel into the factor.
static void keep_panel(const double* re, const double* im, long rows, const PanelPlace& at,
                       double* factor) {
  double *square = factor + at.square, *below = factor + at.below;
  for (int k = 0; k < at.width; ++k)
    for (int i = 0; i < at.width; ++i) {
      const long from = rows * (at.first + k) + at.first + i;
      square[2 * (k * at.width + i)] = i > k ? re[from] : 0;
      square[2 * (k * at.width + i) + 1] = i > k ? im[from] : 0;
    }
  for (int t = 0; t < at.tiles; ++t)
    for (int k = 0; k < at.width; ++k) {
      double* to = below + 2l * front_tile * (long(t) * at.width + k);
      const long from = rows * (at.first + k) + (at.first_tile + t) * front_tile;
      for (int i = 0; i < front_tile; ++i) {
        const bool above = (at.first_tile + t) * front_tile + i < at.first + at.width;
        to[i] = above ? 0 : re[from + i];
        to[front_tile + i] = above ? 0 : im[from + i];
      }
    }
}

/// c −= tile · weights for COLUMNS columns; weights lie as [k][column] re, im.
template <int COLUMNS, class Number>
ROOMWRIGHT_INLINE void take_tile(const Number* tile, const double* weight, int width, double** cr,
                                 double** ci) {
  for (int part = 0; part < tile_parts; ++part) {
    Part sr[COLUMNS], si[COLUMNS];
    for (int c = 0; c < COLUMNS; ++c) sr[c] = Part{}, si[c] = Part{};
    const Number* from = tile + part * LANES;
    const double* w = weight;
    for (int k = 0; k < width; ++k, from += 2 * front_tile, w += 2 * COLUMNS) {
      const Part xr = load(from), xi = load(from + front_tile);
      for (int c = 0; c < COLUMNS; ++c) {
        const Part wr = every(w[2 * c]), wi = every(w[2 * c + 1]);
        sr[c] += xr * wr, sr[c] -= xi * wi;
        si[c] += xr * wi, si[c] += xi * wr;
      }
    }
    for (int c = 0; c < COLUMNS; ++c) {
      double *to_r = cr[c] + part * LANES, *to_i = ci[c] + part * LANES;
      store(to_r, load(to_r) - sr[c]);
      store(to_i, load(to_i) - si[c]);
    }
  }
}

/// Takes a panel's share from the columns behind it, four at a time (the last ones may overlap into
/// columns that do not count: those go to `spare`).
static void take_panel(double* re, double* im, long rows, int n, const PanelPlace& at,
                       const double* factor, const double* pivot, double* spare) {
  const double* below = factor + at.below;
  for (int j = at.first + at.width; j < n; j += 4) {
    double weight[front_panel * 8];
    double *cr[4], *ci[4];
    for (int c = 0; c < 4; ++c) {
      const int column = j + c;
      const bool real = column < n;
      cr[c] = real ? re + rows * column : spare;
      ci[c] = real ? im + rows * column : spare + rows;
      for (int k = 0; k < at.width; ++k) {
        const long l = rows * (at.first + k) + column;
        const double lr = real ? re[l] : 0, li = real ? im[l] : 0;
        const double dr = pivot[2 * k], di = pivot[2 * k + 1];
        weight[8 * k + 2 * c] = lr * dr - li * di;
        weight[8 * k + 2 * c + 1] = lr * di + li * dr;
      }
    }
    for (int t = j / front_tile - at.first_tile; t < at.tiles; ++t) {
      const long row = long(at.first_tile + t) * front_tile;
      double *tr[4], *ti[4];
      for (int c = 0; c < 4; ++c) tr[c] = cr[c] + row, ti[c] = ci[c] + row;
      take_tile<4>(below + 2l * front_tile * at.width * t, weight, at.width, tr, ti);
    }
  }
}

/// Each panel goes through `panel`, then to its place: kept(panel, numbers, where).
template <class Keep>
ROOMWRIGHT_INLINE double eliminate_panels(double* re, double* im, int n, int pivots, double* space,
                                          Keep keep) {
  const long rows = front_rows(n);
  double least = 1e300, most = 0;
  long from = 0;
  for (int first = 0; first < pivots; first += front_panel) {
    const PanelPlace at = panel_at(0, first, n, pivots);
    double* factor = keep.panel(from);
    double pivot[2 * front_panel];
    for (int k = 0; k < at.width; ++k) {
      const double size =
          eliminate_column(re, im, rows, first, first + k, pivot, factor + at.pivots + 2 * k);
      pivot[2 * k] = re[rows * (first + k) + first + k];
      pivot[2 * k + 1] = im[rows * (first + k) + first + k];
      if (!(size > 0) || !(size < 1e300)) return 0;
      least = size < least ? size : least;
      most = size > most ? size : most;
    }
    keep_panel(re, im, rows, at, factor);
    take_panel(re, im, rows, n, at, factor, pivot, space);
    keep.done(from, at.end);
    from += at.end;
  }
  return pivots == 0 ? 1 : __builtin_sqrt(least / most);
}

/// Panels are made where they stay.
struct KeepHere {
  double* factor;
  double* panel(long from) { return factor + from; }
  void done(long, long) {}
};
/// Panels are made in one place and rounded to where they stay.
struct KeepRounded {
  double* made;
  float* factor;
  double* panel(long) { return made; }
  void done(long from, long count) {
    for (long i = 0; i < count; ++i) factor[from + i] = static_cast<float>(made[i]);
  }
};
static double eliminate_front(double* re, double* im, int n, int pivots, double* factor,
                              double* space) {
  return eliminate_panels(re, im, n, pivots, space, KeepHere{factor});
}
static double eliminate_front_single(double* re, double* im, int n, int pivots, float* factor,
                                     double* space) {
  return eliminate_panels(re, im, n, pivots, space, KeepRounded{space + 2 * front_rows(n), factor});
}

template <class Number>
static void forward_front(const Number* factor, int n, int pivots, double* x, int sides) {
  const long rows = front_rows(n);
  long from = 0;
  for (int first = 0; first < pivots; first += front_panel) {
    const PanelPlace at = panel_at(from, first, n, pivots);
    from = at.end;
    const Number* square = factor + at.square;
    for (int side = 0; side < sides; side += 4) {
      double weight[front_panel * 8];
      double spare[2 * front_tile];
      double *xr[4], *xi[4];
      for (int c = 0; c < 4; ++c) {
        const bool real = side + c < sides;
        xr[c] = real ? x + 2 * rows * (side + c) : nullptr;
        xi[c] = real ? xr[c] + rows : nullptr;
        for (int k = 0; k < at.width; ++k) {
          const double vr = real ? xr[c][first + k] : 0, vi = real ? xi[c][first + k] : 0;
          weight[8 * k + 2 * c] = vr, weight[8 * k + 2 * c + 1] = vi;
        }
      }
      for (int k = 0; k < at.width; ++k)
        for (int i = k + 1; i < at.width; ++i) {
          const double lr = square[2 * (k * at.width + i)], li = square[2 * (k * at.width + i) + 1];
          const double* v = weight + 8 * k;
          double* to = weight + 8 * i;
          for (int c = 0; c < 4; ++c) {
            to[2 * c] -= lr * v[2 * c] - li * v[2 * c + 1];
            to[2 * c + 1] -= lr * v[2 * c + 1] + li * v[2 * c];
          }
        }
      for (int t = 0; t < at.tiles; ++t) {
        const long row = long(at.first_tile + t) * front_tile;
        double *tr[4], *ti[4];
        for (int c = 0; c < 4; ++c) {
          tr[c] = xr[c] ? xr[c] + row : spare;
          ti[c] = xr[c] ? xi[c] + row : spare + front_tile;
          if (!xr[c])
            for (int i = 0; i < front_tile; ++i) tr[c][i] = 0, ti[c][i] = 0;
        }
        take_tile<4>(factor + at.below + 2l * front_tile * at.width * t, weight, at.width, tr, ti);
      }
      for (int c = 0; c < 4; ++c)
        for (int k = 0; xr[c] && k < at.width; ++k) {
          const double vr = weight[8 * k + 2 * c], vi = weight[8 * k + 2 * c + 1];
          const double dr = factor[at.pivots + 2 * k], di = factor[at.pivots + 2 * k + 1];
          xr[c][first + k] = vr * dr - vi * di;
          xi[c][first + k] = vr * di + vi * dr;
        }
    }
  }
}

/// Σ over the rows below of column k times x, in eight partial sums whatever the width.
template <class Number>
ROOMWRIGHT_INLINE void below_times(const Number* below, int width, int tiles, int k,
                                   const double* xr, const double* xi, double* out) {
  Part sr[tile_parts], si[tile_parts];
  for (int part = 0; part < tile_parts; ++part) sr[part] = Part{}, si[part] = Part{};
  const Number* from = below + 2l * front_tile * k;
  for (int t = 0; t < tiles; ++t, from += 2l * front_tile * width)
    for (int part = 0; part < tile_parts; ++part) {
      const Part lr = load(from + part * LANES), li = load(from + front_tile + part * LANES);
      const Part vr = load(xr + t * front_tile + part * LANES);
      const Part vi = load(xi + t * front_tile + part * LANES);
      sr[part] += lr * vr, sr[part] -= li * vi;
      si[part] += lr * vi, si[part] += li * vr;
    }
  double r[front_tile], i[front_tile];
  for (int part = 0; part < tile_parts; ++part)
    store(r + part * LANES, sr[part]), store(i + part * LANES, si[part]);
  out[0] = ((r[0] + r[1]) + (r[2] + r[3])) + ((r[4] + r[5]) + (r[6] + r[7]));
  out[1] = ((i[0] + i[1]) + (i[2] + i[3])) + ((i[4] + i[5]) + (i[6] + i[7]));
}

template <class Number>
static void backward_panel(const Number* factor, const PanelPlace& at, double* xr, double* xi) {
  const Number* square = factor + at.square;
  double sum[2 * front_panel];
  const long row = long(at.first_tile) * front_tile;
  for (int k = 0; k < at.width; ++k)
    below_times(factor + at.below, at.width, at.tiles, k, xr + row, xi + row, sum + 2 * k);
  for (int k = at.width - 1; k >= 0; --k) {
    double vr = xr[at.first + k] - sum[2 * k], vi = xi[at.first + k] - sum[2 * k + 1];
    for (int i = k + 1; i < at.width; ++i) {
      const double lr = square[2 * (k * at.width + i)], li = square[2 * (k * at.width + i) + 1];
      vr -= lr * xr[at.first + i] - li * xi[at.first + i];
      vi -= lr * xi[at.first + i] + li * xr[at.first + i];
    }
    xr[at.first + k] = vr, xi[at.first + k] = vi;
  }
}

template <class Number>
static void backward_front(const Number* factor, int n, int pivots, double* x, int sides) {
  const long rows = front_rows(n);
  // Panels lie in the order of elimination: find the last one's place first.
  long place[1 << 10];
  int panels = 0;
  long from = 0;
  for (int first = 0; first < pivots; first += front_panel) {
    place[panels++] = from;
    from = panel_at(from, first, n, pivots).end;
  }
  for (int p = panels - 1; p >= 0; --p) {
    const PanelPlace at = panel_at(place[p], p * front_panel, n, pivots);
    for (int side = 0; side < sides; ++side)
      backward_panel(factor, at, x + 2 * rows * side, x + 2 * rows * side + rows);
  }
}

}  // namespace
}  // namespace roomwright::acoustics
