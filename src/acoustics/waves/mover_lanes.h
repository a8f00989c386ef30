// Private to acoustics/waves: the text of the inner loops of a moved patch at a place, see
// mover_kernel.h, after all that it builds on, in each file that is compiled for one width.

#include "acoustics/waves/mover_prepare_lanes.h"

namespace roomwright::acoustics {
namespace {

struct Placed {
  const WaveTask& task;
  const MoverBand& band;
  const MoverTable& table;
  const MoverPlace& place;
  int lane, axis, functions;
  int start[most_legendre];  ///< of the functions with each one along the first axis
  Pair* next;
  Part k;
  Pair *first, *second;  ///< integrals: by mode, then function
  int modes[2];
  Pair factor[mover_nodes];  ///< e^(k²t²) soft weight
  Pair* rows;                ///< tiles, then points: by function of the patch
  Pair* matrix;

  Pair* take(long count) {
    Pair* out = next;
    next += count;
    return out;
  }
};

/// ∫ φ ψ of the patch along one of its axes, by mode and function.
static __attribute__((noinline)) void placed_integrals(const Placed& work, int which, Pair* out) {
  const int axis = which == 0 ? first_across(work.axis) : second_across(work.axis);
  const int order = work.place.order[which];
  const double half = (work.place.high[which] - work.place.low[which]) / 2;
  const double centre = (work.place.high[which] + work.place.low[which]) / 2;
  double factor[most_legendre];
  for (int i = 0; i < order; ++i) factor[i] = legendre_factor(half, i) * (i % 4 < 2 ? 1 : -1);
  Pair bessel[most_legendre + 1];
  for (int m = 0; m < work.modes[which]; ++m) {
    const Pair q = kept(work.table.number[axis], m, work.lane), z = q * half;
    const Pair e = exponential(turned(z)), f = one_over(e);
    spherical(z, order, false, -turned((e - f) * 0.5), (e + f) * 0.5, bessel);
    const Pair turn = exponential(turned(q * centre));
    const Pair plus = kept(work.table.plus[axis], m, work.lane) * turn;
    const Pair minus = kept(work.table.minus[axis], m, work.lane) * one_over(turn);
    const Pair even = plus + minus, odd = turned(plus - minus);
    for (int i = 0; i < order; ++i)
      out[m * order + i] = (i % 2 == 0 ? even : odd) * bessel[i] * factor[i];
  }
}

/// A row over the wall's modes against the patch's functions.
template <int nj>
ROOMWRIGHT_INLINE void contract_row(const Placed& work, const float* row, int ni, Pair* out) {
  const MoverWall& wall = work.band.wall[work.place.wall];
  const float* at = row + work.lane;
  Pair* sums = work.next;
  for (int m = 0; m < wall.rows; ++m) {
    Pair sum[nj];
    for (int j = 0; j < nj; ++j) sum[j] = pair(0, 0);
    const Pair* c = work.second;
    for (int n = 0; n < wall.counts[m]; ++n, c += nj, at += 2 * wave_block) {
      const Pair x{load_brief(at), load_brief(at + wave_block)};
      for (int j = 0; j < nj; ++j) add_to(sum[j], x, c[j]);
    }
    for (int j = 0; j < nj; ++j) sums[m * nj + j] = sum[j];
  }
  for (int i = 0; i < ni; ++i) {
    Pair sum[nj];
    for (int j = 0; j < nj; ++j) sum[j] = pair(0, 0);
    for (int m = 0; m < wall.rows; ++m)
      for (int j = 0; j < nj; ++j) add_to(sum[j], work.first[m * ni + i], sums[m * nj + j]);
    for (int j = 0; j < work.place.width[i]; ++j) *out++ = sum[j];
  }
}
template <int nj>
static __attribute__((noinline)) void contract_rows(const Placed& work) {
  const int count = work.band.unknowns + 1 + work.task.receivers;
  const float* from = work.table.rows[work.place.wall];
  const long step = 2l * wave_block * work.band.wall[work.place.wall].modes;
  for (int r = 0; r < count; ++r)
    contract_row<nj>(work, from + r * step, work.place.order[0],
                     work.rows + static_cast<long>(r) * work.functions);
}
static void contract(const Placed& work) {
  switch (work.place.order[1]) {
    case 1:
      return contract_rows<1>(work);
    case 2:
      return contract_rows<2>(work);
    case 3:
      return contract_rows<3>(work);
    case 4:
      return contract_rows<4>(work);
    case 5:
      return contract_rows<5>(work);
    case 6:
      return contract_rows<6>(work);
    case 7:
      return contract_rows<7>(work);
    case 8:
      return contract_rows<8>(work);
    case 9:
      return contract_rows<9>(work);
    case 10:
      return contract_rows<10>(work);
    case 11:
      return contract_rows<11>(work);
    default:
      return contract_rows<12>(work);
  }
}

/// The near part of pairs of functions along one axis; an image counts for less in a soft wall.
ROOMWRIGHT_INLINE void near_self(const Placed& work, int which, int pairs, Pair* out,
                                 int from = 0) {
  const double* soft = work.table.soft[work.place.edge[which]];
  for (int t = 0; t < mover_nodes; ++t) {
    const Pair less = kept(soft, t, work.lane);
    for (int p = 0; p < pairs; ++p) {
      const int at = (from + p) * mover_nodes + t;
      out[p * mover_nodes + t] = less * work.place.image[which][at];
      out[p * mover_nodes + t].re += work.place.own[which][at];
    }
  }
}

/// What the patch exchanges with itself in the bare room.
static __attribute__((noinline)) void add_self(Placed& work) {
  const MoverWall& wall = work.band.wall[work.place.wall];
  const double* self = work.table.self[work.place.wall];
  const int ni = work.place.order[0], nj = work.place.order[1];
  const int across = nj * (nj + 1) / 2;
  Pair* sums = work.next;  // (j, l) by row
  Pair* products = sums + across * wall.rows;
  int most = 0;
  for (int m = 0; m < wall.rows; ++m) most = wall.counts[m] > most ? wall.counts[m] : most;
  for (int n = 0; n < most; ++n)
    for (int j = 0, p = 0; j < nj; ++j)
      for (int l = j; l < nj; ++l, ++p)
        products[n * across + p] = work.second[n * nj + j] * work.second[n * nj + l];
  int at = 0;
  for (int m = 0; m < wall.rows; ++m) {
    Pair* sum = sums + m * across;
    for (int p = 0; p < across; ++p) sum[p] = pair(0, 0);
    for (int n = 0; n < wall.counts[m]; ++n, ++at) {
      const Pair g = kept(self, at, work.lane);
      for (int p = 0; p < across; ++p) add_to(sum[p], g, products[n * across + p]);
    }
  }
  const int* width = work.place.width;
  Pair* two = products;  // (j, l) by node, the near part
  near_self(work, 1, across, two);
  for (int i = 0, ik = 0; i < ni; ++i)
    for (int k = i; k < ni; ++k, ++ik) {
      Pair near[mover_nodes], x[most_axis_rows];
      near_self(work, 0, 1, near, ik);
      for (int t = 0; t < mover_nodes; ++t) near[t] = work.factor[t] * near[t];
      for (int m = 0; m < wall.rows; ++m) x[m] = work.first[m * ni + i] * work.first[m * ni + k];
      for (int j = 0, p = 0; j < nj; ++j)
        for (int l = j; l < nj; ++l, ++p) {
          const bool straight = j < width[i] && l < width[k],
                     crossed = j < width[k] && l < width[i];
          if (!straight && !crossed) continue;
          Pair total = pair(0, 0);
          for (int m = 0; m < wall.rows; ++m) add_to(total, x[m], sums[m * across + p]);
          for (int t = 0; t < mover_nodes; ++t) add_to(total, near[t], two[p * mover_nodes + t]);
          if (straight) *entry(work.matrix, work.start[i] + j, work.start[k] + l) = total;
          if (crossed) *entry(work.matrix, work.start[k] + j, work.start[i] + l) = total;
        }
    }
}

/// The near part with one tile, times √Δβ of the tile, added to `rows` of its unknowns.
static __attribute__((noinline)) void add_near_tile(const Placed& work, const MoverNearTile& job,
                                                    Pair* rows) {
  const WaveTile& tile = work.task.tiles.items[job.tile];
  const int which = job.which, other = job.tile_which;
  const int na = work.place.order[which], nc = work.place.order[1 - which];
  const int nk = tile.order[other], nl = tile.order[1 - other];
  Pair factor[mover_nodes];
  for (int t = 0; t < mover_nodes; ++t)
    factor[t] = tile.wall == work.place.wall
                    ? work.factor[t]
                    : work.factor[t] * kept(work.table.soft[tile.wall], mover_nodes + t, work.lane);
  for (int a = 0; a < na; ++a)
    for (int k = 0; k < nk; ++k) {
      Pair along[mover_nodes];
      for (int t = 0; t < mover_nodes; ++t)
        along[t] = factor[t] * job.along[(a * nk + k) * mover_nodes + t];
      for (int c = 0; c < nc; ++c)
        for (int l = 0; l < nl; ++l) {
          const int i = which == 0 ? a : c, j = which == 0 ? c : a;
          const int at = work.band.place_of[tile.offset + (other == 0 ? k * tile.order[1] + l
                                                                      : l * tile.order[1] + k)];
          if (at < 0 || j >= work.place.width[i]) continue;
          Pair sum = pair(0, 0);
          for (int t = 0; t < mover_nodes; ++t)
            sum = sum + along[t] * job.across[(c * nl + l) * mover_nodes + t];
          rows[static_cast<long>(at) * work.functions + work.start[i] + j] =
              sum * kept(work.table.strength, at, work.lane);
        }
    }
}

ROOMWRIGHT_INLINE const double* low_row(const Placed& work, int i) {
  return work.table.matrix + 2 * wave_block * ((static_cast<long>(i) * (i + 1)) / 2);
}
ROOMWRIGHT_INLINE Pair pivot(const Placed& work, int i) {
  return kept(low_row(work, i), i, work.lane);
}
/// to += Σ scale rows, rows [from, end): four at a time, so that what is summed is touched less.
ROOMWRIGHT_INLINE void add_rows(const Pair* scale, const Pair* rows, int from, int end,
                                int functions, Pair* to) {
  int k = from;
  for (; k + 4 <= end; k += 4) {
    const Pair* one = rows + static_cast<long>(k) * functions;
    const Pair a = scale[k], b = scale[k + 1], c = scale[k + 2], d = scale[k + 3];
    for (int f = 0; f < functions; ++f) {
      Pair sum = to[f];
      add_to(sum, a, one[f]);
      add_to(sum, b, one[functions + f]);
      add_to(sum, c, one[2 * functions + f]);
      add_to(sum, d, one[3 * functions + f]);
      to[f] = sum;
    }
  }
  for (; k < end; ++k) {
    const Pair* one = rows + static_cast<long>(k) * functions;
    for (int f = 0; f < functions; ++f) add_to(to[f], scale[k], one[f]);
  }
}
/// Two rows below a tile by four functions, from the tile's rows: in registers throughout.
template <int height, int width>
ROOMWRIGHT_INLINE void bring_some(const Placed& work, const Pair* rows, int from, int end, int i,
                                  int f) {
  const int functions = work.functions;
  const double* low[height];
  Pair sum[height][width];
  for (int a = 0; a < height; ++a) {
    low[a] = low_row(work, i + a);
    for (int b = 0; b < width; ++b)
      sum[a][b] = work.rows[static_cast<long>(i + a) * functions + f + b];
  }
  for (int k = from; k < end; ++k) {
    Pair x[height];
    for (int a = 0; a < height; ++a) x[a] = kept(low[a], k, work.lane);
    const Pair* row = rows + static_cast<long>(k) * functions + f;
    for (int b = 0; b < width; ++b)
      for (int a = 0; a < height; ++a) add_to(sum[a][b], x[a], row[b]);
  }
  for (int a = 0; a < height; ++a)
    for (int b = 0; b < width; ++b)
      work.rows[static_cast<long>(i + a) * functions + f + b] = sum[a][b];
}
static __attribute__((noinline)) void bring_below(const Placed& work, const Pair* rows, int from,
                                                  int end) {
  const int n = work.band.unknowns, functions = work.functions;
  int i = end;
  for (; i + 2 <= n; i += 2) {
    int f = 0;
    for (; f + 4 <= functions; f += 4) bring_some<2, 4>(work, rows, from, end, i, f);
    for (; f < functions; ++f) bring_some<2, 1>(work, rows, from, end, i, f);
  }
  for (; i < n; ++i)
    for (int f = 0; f < functions; ++f) bring_some<1, 1>(work, rows, from, end, i, f);
}

/// The near part with the tiles around, brought through those tiles to everything.
static __attribute__((noinline)) void add_near_tiles(Placed& work) {
  const int n = work.band.unknowns, functions = work.functions;
  Pair* rows = work.next;
  Pair* scale = rows + static_cast<long>(n) * functions;
  for (const MoverNearTile& job : work.place.tiles) {
    const WaveTile& tile = work.task.tiles.items[job.tile];
    const int from = work.band.place_of[tile.offset];
    int end = from;
    for (int i = 0; i < tile.order[0] * tile.order[1]; ++i)
      if (work.band.place_of[tile.offset + i] >= end) end = work.band.place_of[tile.offset + i] + 1;
    add_near_tile(work, job, rows);
    for (int i = from; i < end; ++i) {
      const double* low = low_row(work, i);
      for (int k = from; k < i; ++k) scale[k] = kept(low, k, work.lane);
      scale[i] = pair(1, 0);
      add_rows(scale, rows, from, i + 1, functions, work.rows + static_cast<long>(i) * functions);
    }
    bring_below(work, rows, from, end);
    for (int p = 0; p < 1 + work.task.receivers; ++p) {
      for (int k = from; k < end; ++k)
        scale[k] = kept(work.table.brought, static_cast<long>(p) * n + k, work.lane);
      add_rows(scale, rows, from, end, functions, work.rows + static_cast<long>(n + p) * functions);
    }
  }
}

static void add_near_points(Placed& work) {
  const int ni = work.place.order[0];
  for (const MoverNearPoint& job : work.place.points) {
    Pair* to = work.rows + static_cast<long>(work.band.unknowns + job.point) * work.functions;
    for (int i = 0; i < ni; ++i)
      for (int j = 0; j < work.place.width[i]; ++j) {
        Pair sum = pair(0, 0);
        for (int t = 0; t < mover_nodes; ++t)
          sum = sum +
                work.factor[t] * (job.first[i * mover_nodes + t] * job.second[j * mover_nodes + t]);
        to[work.start[i] + j] = to[work.start[i] + j] + sum;
      }
  }
}

/// A few functions of the patch with a few others, from all rows.
template <int height, int width>
ROOMWRIGHT_INLINE void send_some(const Placed& work, const Pair* scaled, int f, int g) {
  const int functions = work.functions, n = work.band.unknowns;
  Pair sum[height][width];
  for (int a = 0; a < height; ++a)
    for (int b = 0; b < width; ++b) sum[a][b] = pair(0, 0);
  for (int i = 0; i < n; ++i) {
    const Pair* one = scaled + static_cast<long>(i) * functions + f;
    const Pair* two = work.rows + static_cast<long>(i) * functions + g;
    for (int b = 0; b < width; ++b)
      for (int a = 0; a < height; ++a) add_to(sum[a][b], one[a], two[b]);
  }
  for (int a = 0; a < height; ++a)
    for (int b = 0; b < width; ++b)
      if (g + b <= f + a) {
        Pair* to = cell(work.matrix, f + a, g + b);
        *to = *to + sum[a][b];
      }
}

/// What the tiles send back to the patch: matrix −= jk Yᵀ D⁻¹ Y.
static __attribute__((noinline)) void send_back(Placed& work) {
  const int functions = work.functions, n = work.band.unknowns;
  Pair* scaled = work.next;
  for (int i = 0; i < n; ++i) {
    const Pair scale = turned(pivot(work, i)) * -work.k;
    for (int f = 0; f < functions; ++f)
      scaled[static_cast<long>(i) * functions + f] =
          work.rows[static_cast<long>(i) * functions + f] * scale;
  }
  int f = 0;
  for (; f + 4 <= functions; f += 4)
    for (int g = 0; g <= f + 3; g += 2) send_some<4, 2>(work, scaled, f, g);
  for (; f < functions; ++f)
    for (int g = 0; g <= f; ++g) send_some<1, 1>(work, scaled, f, g);
}

/// (1 + jk s² C) v = s p, and what v sends to the receivers.
static __attribute__((noinline)) void answer(Placed& work, const double* strength, double* field) {
  const int functions = work.functions, n = work.band.unknowns;
  const Pair s = load_pair(strength + work.lane), twice = turned(s * s) * work.k;
  Pair* x = work.take(functions);
  const Pair* p0 = work.rows + static_cast<long>(n) * functions;
  for (int f = 0; f < functions; ++f) {
    Pair* row = cell(work.matrix, f, 0);
    for (int g = 0; g <= f; ++g) row[g] = row[g] * twice;
    row[f].re += 1.0;
    x[f] = p0[f] * twice;
  }
  Part least = every(1e300), greatest = every(0);
  int from = 0;
  for (; from + 4 <= functions; from += 4) factor_rows<4>(work.matrix, from, least, greatest);
  for (; from < functions; ++from) factor_rows<1>(work.matrix, from, least, greatest);
  for (int i = 0; i < functions; ++i) {
    const Pair* row = cell(work.matrix, i, 0);
    Pair sum = pair(0, 0);
    for (int k = 0; k < i; ++k) add_to(sum, row[k], x[k]);
    x[i] = x[i] - sum;
  }
  for (int i = 0; i < functions; ++i) x[i] = x[i] * *cell(work.matrix, i, i);
  for (int i = functions - 1; i >= 0; --i) {
    const Pair* row = cell(work.matrix, i, 0);
    for (int k = 0; k < i; ++k) x[k] = x[k] - row[k] * x[i];
  }
  for (int r = 0; r < work.task.receivers; ++r) {
    const Pair* row = work.rows + static_cast<long>(n + 1 + r) * functions;
    Pair sum = kept(work.table.fixed, r, work.lane);
    for (int f = 0; f < functions; ++f) sum = sum - row[f] * x[f];
    keep(field, r, work.lane, sum);
  }
}

static void place_pack(const WaveTask& task, const MoverBand& band, const MoverTable& table,
                       const MoverPlace& place, const double* strength, double* field, int lane,
                       double* space) {
  const int functions = place.functions, axis = place.wall / 2;
  Placed work{task,
              band,
              table,
              place,
              lane,
              axis,
              functions,
              {},
              reinterpret_cast<Pair*>(space),
              load(table.wave_number + lane),
              nullptr,
              nullptr,
              {},
              {},
              nullptr,
              nullptr};
  for (int i = 0, at = 0; i < place.order[0]; at += place.width[i], ++i) work.start[i] = at;
  for (int t = 0; t < mover_nodes; ++t) {
    const double time = band.node[t] * band.node[t];
    work.factor[t] = kept(table.soft[place.wall], t, lane) *
                     (exponential(work.k * work.k * time) * band.weight[t]);
  }
  work.modes[0] = band.axis_modes[first_across(axis)];
  work.modes[1] = band.axis_modes[second_across(axis)];
  work.first = work.take(static_cast<long>(work.modes[0]) * place.order[0]);
  work.second = work.take(static_cast<long>(work.modes[1]) * place.order[1]);
  work.matrix = work.take(static_cast<long>(functions) * (functions + 1) / 2);
  work.rows = work.take(static_cast<long>(band.unknowns + 1 + task.receivers) * functions);
  placed_integrals(work, 0, work.first);
  placed_integrals(work, 1, work.second);
  contract(work);
  add_self(work);
  add_near_tiles(work);
  add_near_points(work);
  send_back(work);
  answer(work, strength, field);
}

static void prepare_block(const WaveTask& task, const WaveBlock& block, const MoverBand& band,
                          const MoverTable& table, double* space) {
  for (int lane = 0; lane < wave_block; lane += LANES)
    prepare_pack(task, block, band, table, lane, space);
}
static void place_block(const WaveTask& task, const MoverBand& band, const MoverTable& table,
                        const MoverPlace& place, const double* strength, double* field,
                        double* space) {
  for (int lane = 0; lane < wave_block; lane += LANES)
    place_pack(task, band, table, place, strength, field, lane, space);
}

/// Nodes stand in the lanes here.
static void cross_modes(int functions, const double* a, int others, const double* b, int count,
                        int stride, const double* fade, bool half, double* out) {
  for (int i = 0, p = 0; i < functions; ++i)
    for (int k = half ? i : 0; k < others; ++k, ++p)
      for (int lane = 0; lane < mover_nodes; lane += LANES) {
        Part sum[4] = {every(0), every(0), every(0), every(0)};
        const double *x = a + static_cast<long>(i) * stride, *y = b + static_cast<long>(k) * stride;
        int m = 0;
        for (; m + 4 <= count; m += 4)
          for (int u = 0; u < 4; ++u)
            sum[u] += load(fade + (m + u) * mover_nodes + lane) * (x[m + u] * y[m + u]);
        for (; m < count; ++m) sum[0] += load(fade + m * mover_nodes + lane) * (x[m] * y[m]);
        store(out + p * mover_nodes + lane, (sum[0] + sum[1]) + (sum[2] + sum[3]));
      }
}

}  // namespace
}  // namespace roomwright::acoustics
