// Private to acoustics/waves: the text of the inner loops, for LANES frequencies at a time; see
// response_kernel.h. It includes nothing of the standard library, so that no inline function of it
// is ever compiled for a newer processor than the program asks for.
//
// The field of one axis: with κ = jkβ of its two walls and E = e^(−γL),
//   D = (γ + κ0)(γ + κL) − (γ − κ0)(γ − κL) E²,
//   g(0, x) = ((γ + κL) e^(−γx) + (γ − κL) E e^(−γ(L − x))) / D, and so from the other wall.
// Modes across: ψ = A e^(jqx) + B e^(−jqx), ψ(0) = 1, with the integral of ψ² as their weight.

#include "acoustics/waves/lane_math.h"

namespace roomwright::acoustics {
namespace {

struct AxisModes {
  Pair *weight, *plus, *minus, *far;  ///< 1/∫ψ², A, B, ψ(L)
  const double* number;
};
struct AxisTable {
  Pair *across, *fade, *over;  ///< γ, e^(−γL), weight / D
};
struct Work {
  const WaveTask& task;
  const WaveBlock& block;
  int lane;  ///< first of this pack
  Pair* next;
  Pair k2;
  Part k;
  Pair wall[6];
  AxisModes modes[3];
  AxisTable table[3];
  Pair** integrals;  ///< by tile and axis across: order rows of modes
  Pair* matrix;
  Pair* right;
  int unknowns;  ///< of the matrix

  Pair* take(long count) {
    Pair* out = next;
    next += count;
    return out;
  }
};

ROOMWRIGHT_INLINE int first_across(int axis) {
  return axis == 0 ? 1 : 0;
}
ROOMWRIGHT_INLINE int second_across(int axis) {
  return axis == 2 ? 1 : 2;
}
/// Modes of the second axis across for one of the first, up to a wave number.
ROOMWRIGHT_INLINE int row_count(const WaveTask& task, int axis, int row, double cut) {
  const WaveAxis& closed = task.axis[axis];
  const int most = closed.row_start[row + 1] - closed.row_start[row];
  constexpr double pi = 3.14159265358979323846;
  const double q = row * pi / task.axis[first_across(axis)].length;
  const double rest = cut * cut - q * q;
  if (rest < 0) return 0;
  const int count =
      static_cast<int>(__builtin_sqrt(rest) * task.axis[second_across(axis)].length / pi) + 1;
  return count < most ? count : most;
}

static void make_modes(Work& work, int axis) {
  const WaveAxis& one = work.task.axis[axis];
  AxisModes& modes = work.modes[axis];
  const Pair near = work.wall[2 * axis], far = work.wall[2 * axis + 1];
  modes.number = work.block.number[axis] + work.lane;
  modes.weight = work.take(one.modes), modes.plus = work.take(one.modes);
  modes.minus = work.take(one.modes), modes.far = work.take(one.modes);
  for (int m = 0; m < one.modes; ++m) {
    const Pair q = load_pair(modes.number + 2 * wave_block * m);
    const Pair slope = turned(near * one_over(q));  // jκ/q
    const Pair plus = (pair(1, 0) - slope) * 0.5, minus = (pair(1, 0) + slope) * 0.5;
    const Pair turn = exponential(turned(q * one.length));
    const Pair end = plus * turn + minus * one_over(turn);
    const Pair q2 = q * q;
    const Pair square = end * end * ((q2 + far * far) * one.length + far) + near;
    modes.weight[m] = q2 * 2.0 * one_over(square);
    modes.plus[m] = plus, modes.minus[m] = minus, modes.far[m] = end;
  }
}

static __attribute__((noinline)) void make_integrals(Work& work, const WaveTile& tile, int which,
                                                     Pair* out) {
  const int axis = which == 0 ? first_across(tile.axis) : second_across(tile.axis);
  const AxisModes& modes = work.modes[axis];
  const int count = work.task.axis[axis].modes, order = tile.order[which];
  const double half = (tile.high[which] - tile.low[which]) / 2;
  const double centre = (tile.high[which] + tile.low[which]) / 2;
  Pair bessel[most_legendre + 1];
  for (int m = 0; m < count; ++m) {
    const Pair q = load_pair(modes.number + 2 * wave_block * m);
    const Pair z = q * half;
    const Pair e = exponential(turned(z)), f = one_over(e);
    const Pair cosine = (e + f) * 0.5, sine = -turned((e - f) * 0.5);
    spherical(z, order, false, sine, cosine, bessel);
    const Pair turn = exponential(turned(q * centre));
    const Pair plus = modes.plus[m] * turn, minus = modes.minus[m] * one_over(turn);
    const Pair even = plus + minus, odd = turned(plus - minus);
    for (int i = 0; i < order; ++i) {
      const double factor = legendre_factor(half, i) * (i % 4 < 2 ? 1 : -1);
      out[i * count + m] = (i % 2 == 0 ? even : odd) * bessel[i] * factor;
    }
  }
}

static void make_at(const Work& work, int axis, double at, Pair* out) {
  const AxisModes& modes = work.modes[axis];
  for (int m = 0; m < work.task.axis[axis].modes; ++m) {
    const Pair q = load_pair(modes.number + 2 * wave_block * m);
    const Pair turn = exponential(turned(q * at));
    out[m] = modes.plus[m] * turn + modes.minus[m] * one_over(turn);
  }
}

static void make_table(Work& work, int axis) {
  const WaveAxis& closed = work.task.axis[axis];
  const int first = first_across(axis), second = second_across(axis);
  AxisTable& table = work.table[axis];
  const long size = closed.row_start[closed.rows];
  table.across = work.take(size), table.fade = work.take(size), table.over = work.take(size);
  const Pair near = work.wall[2 * axis], far = work.wall[2 * axis + 1];
  for (int m = 0; m < closed.rows; ++m) {
    const Pair q = load_pair(work.modes[first].number + 2 * wave_block * m);
    const Pair square = q * q - work.k2, weight = work.modes[first].weight[m];
    const int start = closed.row_start[m], count = closed.row_start[m + 1] - start;
    for (int n = 0; n < count; ++n) {
      const Pair p = load_pair(work.modes[second].number + 2 * wave_block * n);
      const Pair gamma = root(square + p * p);
      const Pair fade = exponential(gamma * -closed.length);
      const Pair d =
          (gamma + near) * (gamma + far) - (gamma - near) * (gamma - far) * (fade * fade);
      table.across[start + n] = gamma;
      table.fade[start + n] = fade;
      table.over[start + n] = weight * work.modes[second].weight[n] * one_over(d);
    }
  }
}

/// The weighted g between two walls of the closed axis.
ROOMWRIGHT_INLINE Pair between_walls(const Work& work, int axis, int at, int side, int other) {
  const AxisTable& table = work.table[axis];
  const Pair gamma = table.across[at], fade = table.fade[at];
  if (side != other) return gamma * fade * table.over[at] * 2.0;
  const Pair beyond = work.wall[2 * axis + 1 - side];
  return ((gamma + beyond) + (gamma - beyond) * (fade * fade)) * table.over[at];
}

ROOMWRIGHT_INLINE Pair* cell(Pair* matrix, int row, int column) {
  return matrix + (static_cast<long>(row) * (row + 1)) / 2 + column;
}
/// Adds to the entry of two unknowns, of which either may be the greater.
ROOMWRIGHT_INLINE Pair* entry(Pair* matrix, int a, int b) {
  return a >= b ? cell(matrix, a, b) : cell(matrix, b, a);
}

/// Two tiles whose walls lie across the same axis.
static void add_pair(Work& work, int axis, const WavePair& job, Pair* space) {
  const WaveAxis& closed = work.task.axis[axis];
  const WaveTile &one = work.task.tiles.items[job.one], &two = work.task.tiles.items[job.two];
  const int ni = one.order[0], nj = one.order[1], nk = two.order[0], nl = two.order[1];
  const int mf = work.task.axis[first_across(axis)].modes;
  const int ms = work.task.axis[second_across(axis)].modes;
  const Pair *bi = work.integrals[2 * job.one], *cj = work.integrals[2 * job.one + 1];
  const Pair *bk = work.integrals[2 * job.two], *cl = work.integrals[2 * job.two + 1];
  const bool self = job.one == job.two;
  int columns = 0;
  Pair* sums = space;  // (i, k) by n
  const int widest = row_count(work.task, axis, 0, job.cut_1_m);
  for (int at = 0; at < ni * nk * widest; ++at) sums[at] = pair(0, 0);
  Pair* row = sums + ni * nk * widest;
  for (int m = 0; m < closed.rows; ++m) {
    const int count = row_count(work.task, axis, m, job.cut_1_m);
    if (count == 0) break;
    if (count > columns) columns = count;
    for (int n = 0; n < count; ++n)
      row[n] = between_walls(work, axis, closed.row_start[m] + n, one.side, two.side);
    for (int i = 0; i < ni; ++i)
      for (int k = self ? i : 0; k < nk; ++k) {
        const Pair x = bi[i * mf + m] * bk[k * mf + m];
        Pair* sum = sums + (i * nk + k) * widest;
        for (int n = 0; n < count; ++n) add_to(sum[n], x, row[n]);
      }
  }
  const Pair kappa = work.wall[one.wall];
  const Pair second = -kappa, third = (kappa * kappa + work.k2 * 0.5);
  const long term = static_cast<long>(ni) * nk * nj * nl;
  for (int j = 0; j < nj; ++j)
    for (int l = self ? j : 0; l < nl; ++l) {
      for (int n = 0; n < columns; ++n) row[n] = cj[j * ms + n] * cl[l * ms + n];
      for (int i = 0; i < ni; ++i)
        for (int k = self ? i : 0; k < nk; ++k) {
          const Pair* sum = sums + (i * nk + k) * widest;
          Pair total = pair(0, 0);
          for (int n = 0; n < columns; ++n) add_to(total, sum[n], row[n]);
          if (job.tail) {
            const double* tail = job.tail + ((static_cast<long>(i) * nk + k) * nj + j) * nl + l;
            total.re += tail[0];
            total = total + second * tail[term] + third * tail[2 * term];
          }
          const int a = one.offset + i * nj + j, b = two.offset + k * nl + l;
          *entry(work.matrix, a, b) = total;
          if (self) *entry(work.matrix, one.offset + k * nj + j, two.offset + i * nl + l) = total;
        }
    }
}

/// The integrals along the closed axis of a tile across it, from one of that axis' walls:
/// order rows of the table.
static void along_closed(const Work& work, int axis, int side, const WaveTile& tile, double cut,
                         Pair* out) {
  const WaveAxis& closed = work.task.axis[axis];
  const AxisTable& table = work.table[axis];
  const int which = axis == first_across(tile.axis) ? 0 : 1;
  const int order = tile.order[which];
  const double half = (tile.high[which] - tile.low[which]) / 2;
  // From the far wall the axis is run through backwards.
  const double low = side == 0 ? tile.low[which] : closed.length - tile.high[which];
  const double high = closed.length - 2 * half - low;
  const Pair beyond = work.wall[2 * axis + 1 - side];
  const long size = closed.row_start[closed.rows];
  Pair bessel[most_legendre + 1];
  for (int m = 0; m < closed.rows; ++m) {
    const int count = row_count(work.task, axis, m, cut);
    for (int n = 0; n < count; ++n) {
      const int at = closed.row_start[m] + n;
      const Pair gamma = table.across[at], z = gamma * half;
      spherical(z, order, true, exponential(z * -2.0), z, bessel);
      const Pair here = (gamma + beyond) * exponential(gamma * -low) * table.over[at];
      const Pair back =
          (gamma - beyond) * table.fade[at] * exponential(gamma * -high) * table.over[at];
      const Pair even = back + here, odd = side == 0 ? back - here : here - back;
      for (int i = 0; i < order; ++i)
        out[i * size + at] = (i % 2 == 0 ? even : odd) * bessel[i] * legendre_factor(half, i);
    }
  }
}

/// A tile on a wall of the closed axis with one across it, whose integrals along are given.
static __attribute__((noinline)) void add_corner(Work& work, int axis, const WaveCorner& job,
                                                 const Pair* along, Pair* space) {
  const WaveAxis& closed = work.task.axis[axis];
  const WaveTile &one = work.task.tiles.items[job.one], &two = work.task.tiles.items[job.two];
  const int first = first_across(axis), second = second_across(axis);
  const long size = closed.row_start[closed.rows];
  // `two` has its normal on one of the axes across; the other one both tiles share.
  const bool normal_first = two.axis == first;
  const int mf = work.task.axis[first].modes, ms = work.task.axis[second].modes;
  const int which_along = axis == first_across(two.axis) ? 0 : 1;
  const int no = one.order[normal_first ? 0 : 1], ns = one.order[normal_first ? 1 : 0];
  const int na = two.order[which_along], nt = two.order[1 - which_along];
  const Pair* on = work.integrals[2 * job.one + (normal_first ? 0 : 1)];
  const Pair* shared = work.integrals[2 * job.one + (normal_first ? 1 : 0)];
  const Pair* other = work.integrals[2 * job.two + 1 - which_along];
  const int mo = normal_first ? mf : ms, mc = normal_first ? ms : mf;
  const Pair* end = work.modes[two.axis].far;
  const int widest = row_count(work.task, axis, 0, job.cut_1_m);
  const int shared_count = normal_first ? widest : closed.rows;
  Pair* sums = space;  // (o, a) by the shared axis' modes
  for (int at = 0; at < no * na * shared_count; ++at) sums[at] = pair(0, 0);
  Pair* row = sums + no * na * shared_count;
  for (int m = 0; m < closed.rows; ++m) {
    const int count = row_count(work.task, axis, m, job.cut_1_m);
    const int start = closed.row_start[m];
    for (int o = 0; o < no; ++o) {
      if (normal_first) {
        const Pair x = two.side == 0 ? on[o * mo + m] : on[o * mo + m] * end[m];
        for (int a = 0; a < na; ++a)
          for (int n = 0; n < count; ++n)
            add_to(sums[(o * na + a) * shared_count + n], x, along[a * size + start + n]);
      } else {
        for (int n = 0; n < count; ++n)
          row[n] = two.side == 0 ? on[o * mo + n] : on[o * mo + n] * end[n];
        for (int a = 0; a < na; ++a) {
          Pair total = pair(0, 0);
          for (int n = 0; n < count; ++n) add_to(total, row[n], along[a * size + start + n]);
          sums[(o * na + a) * shared_count + m] = total;
        }
      }
    }
  }
  for (int s = 0; s < ns; ++s)
    for (int t = 0; t < nt; ++t) {
      for (int n = 0; n < shared_count; ++n) row[n] = shared[s * mc + n] * other[t * mc + n];
      for (int o = 0; o < no; ++o)
        for (int a = 0; a < na; ++a) {
          const Pair* sum = sums + (o * na + a) * shared_count;
          Pair total = pair(0, 0);
          for (int n = 0; n < shared_count; ++n) add_to(total, sum[n], row[n]);
          const int i = normal_first ? o : s, j = normal_first ? s : o;
          const int k = which_along == 0 ? a : t, l = which_along == 0 ? t : a;
          *entry(work.matrix, one.offset + i * one.order[1] + j,
                 two.offset + k * two.order[1] + l) = total;
        }
    }
}

/// Factor · ψ · ψ · g from one wall to a point, for the modes of one row.
ROOMWRIGHT_INLINE Pair from_wall(const Work& work, int axis, int side, int at, Pair near,
                                 Pair far) {
  const Pair gamma = work.table[axis].across[at], fade = work.table[axis].fade[at];
  const Pair beyond = work.wall[2 * axis + 1 - side];
  return ((gamma + beyond) * near + (gamma - beyond) * (fade * far)) * work.table[axis].over[at];
}

/// What a point of some strength brings to the tiles of one axis, added to `right`.
static __attribute__((noinline)) void drive_tiles(Work& work, int axis, const WaveReach& job,
                                                  double strength, Pair* const* at_point,
                                                  Pair* right, Pair* space) {
  const WaveAxis& closed = work.task.axis[axis];
  const int first = first_across(axis), second = second_across(axis);
  const int mf = work.task.axis[first].modes, ms = work.task.axis[second].modes;
  const double x = work.task.points[3 * job.point + axis];
  const Pair *one = at_point[first], *two = at_point[second];
  Pair* row = space;
  for (int side = 0; side < 2; ++side) {
    if (job.cut_1_m[side] <= 0) continue;
    const double near = side == 0 ? x : closed.length - x;
    for (int m = 0; m < closed.rows; ++m) {
      const int count = row_count(work.task, axis, m, job.cut_1_m[side]);
      if (count == 0) break;
      for (int n = 0; n < count; ++n) {
        const int at = closed.row_start[m] + n;
        const Pair gamma = work.table[axis].across[at];
        row[n] = from_wall(work, axis, side, at, exponential(gamma * -near),
                           exponential(gamma * (near - closed.length))) *
                 (one[m] * two[n] * strength);
      }
      for (int t = 0; t < work.task.tiles.count; ++t) {
        const WaveTile& tile = work.task.tiles.items[t];
        if (tile.axis != axis || tile.side != side) continue;
        const Pair *b = work.integrals[2 * t], *c = work.integrals[2 * t + 1];
        for (int j = 0; j < tile.order[1]; ++j) {
          Pair sum = pair(0, 0);
          for (int n = 0; n < count; ++n) add_to(sum, c[j * ms + n], row[n]);
          for (int i = 0; i < tile.order[0]; ++i)
            add_to(right[tile.offset + i * tile.order[1] + j], b[i * mf + m], sum);
        }
      }
    }
  }
}

/// What the tiles of one wall send into its modes: the table of Σ B C u.
static __attribute__((noinline)) void send_from_tiles(Work& work, int axis, int side,
                                                      const Pair* sent, double cut, Pair* out) {
  const WaveAxis& closed = work.task.axis[axis];
  const int mf = work.task.axis[first_across(axis)].modes;
  const int ms = work.task.axis[second_across(axis)].modes;
  for (int at = 0; at < closed.row_start[closed.rows]; ++at) out[at] = pair(0, 0);
  for (int t = 0; t < work.task.tiles.count; ++t) {
    const WaveTile& tile = work.task.tiles.items[t];
    if (tile.axis != axis || tile.side != side) continue;
    const Pair *b = work.integrals[2 * t], *c = work.integrals[2 * t + 1];
    for (int m = 0; m < closed.rows; ++m) {
      const int count = row_count(work.task, axis, m, cut);
      if (count == 0) break;
      Pair* row = out + closed.row_start[m];
      for (int j = 0; j < tile.order[1]; ++j) {
        Pair sum = pair(0, 0);
        for (int i = 0; i < tile.order[0]; ++i)
          add_to(sum, b[i * mf + m], sent[tile.offset + i * tile.order[1] + j]);
        for (int n = 0; n < count; ++n) add_to(row[n], sum, c[j * ms + n]);
      }
    }
  }
}

/// What reaches a receiver from the two walls of one axis.
static __attribute__((noinline)) Pair reach_receiver(const Work& work, int axis,
                                                     const WaveReach& job, Pair* const* at_point,
                                                     Pair* const* sent) {
  const WaveAxis& closed = work.task.axis[axis];
  const double x = work.task.points[3 * job.point + axis];
  const Pair *one = at_point[first_across(axis)], *two = at_point[second_across(axis)];
  Pair total = pair(0, 0);
  for (int side = 0; side < 2; ++side) {
    if (job.cut_1_m[side] <= 0) continue;
    const double near = side == 0 ? x : closed.length - x;
    for (int m = 0; m < closed.rows; ++m) {
      const int count = row_count(work.task, axis, m, job.cut_1_m[side]);
      if (count == 0) break;
      Pair sum = pair(0, 0);
      for (int n = 0; n < count; ++n) {
        const int at = closed.row_start[m] + n;
        const Pair gamma = work.table[axis].across[at];
        add_to(sum,
               from_wall(work, axis, side, at, exponential(gamma * -near),
                         exponential(gamma * (near - closed.length))),
               two[n] * sent[side][at]);
      }
      add_to(total, sum, one[m]);
    }
  }
  return total;
}

/// Straight from a source to a receiver.
static __attribute__((noinline)) Pair direct_field(const Work& work, int axis,
                                                   const WaveDirect& job, Pair* const* at_source,
                                                   Pair* const* at_receiver) {
  const WaveAxis& closed = work.task.axis[axis];
  const int first = first_across(axis), second = second_across(axis);
  const double a = work.task.points[3 * job.source + axis];
  const double b = work.task.points[3 * (work.task.sources + job.receiver) + axis];
  const double low = a < b ? a : b, high = a < b ? b : a;
  const Pair near = work.wall[2 * axis], far = work.wall[2 * axis + 1];
  Pair total = pair(0, 0);
  for (int m = 0; m < closed.rows; ++m) {
    const int count = row_count(work.task, axis, m, job.cut_1_m);
    if (count == 0) break;
    Pair sum = pair(0, 0);
    for (int n = 0; n < count; ++n) {
      const int at = closed.row_start[m] + n;
      const Pair gamma = work.table[axis].across[at];
      const Pair before = (gamma + near) + (gamma - near) * exponential(gamma * (-2 * low));
      const Pair after =
          (gamma + far) + (gamma - far) * exponential(gamma * (2 * (high - closed.length)));
      const Pair g = before * after * exponential(gamma * (low - high)) *
                     (work.table[axis].over[at] * one_over(gamma * 2.0));
      add_to(sum, g, at_source[second][n] * at_receiver[second][n]);
    }
    add_to(total, sum, at_source[first][m] * at_receiver[first][m]);
  }
  const double d0 = work.task.damping_1_m[0], d1 = work.task.damping_1_m[1];
  const Part other = -(work.k2.re + d0 * d0) / (d1 * d1 - d0 * d0);
  total.re += (1.0 - other) * job.add[0] + other * job.add[1];
  return total * work.task.strength[job.source];
}

/// matrix = L D Lᵀ in place, four rows at a time; the diagonal keeps 1/D.
template <int rows>
ROOMWRIGHT_INLINE void factor_rows(Pair* matrix, int from, Part& least, Part& greatest) {
  Pair* row[rows];
  for (int r = 0; r < rows; ++r) row[r] = cell(matrix, from + r, 0);
  // Two columns at a time, so that each number that is read serves more than once.
  int j = 0;
  for (; j + 2 <= from; j += 2) {
    const Pair *one = cell(matrix, j, 0), *two = cell(matrix, j + 1, 0);
    Pair sum[rows][2];
    for (int r = 0; r < rows; ++r) sum[r][0] = sum[r][1] = pair(0, 0);
    for (int k = 0; k < j; ++k) {
      const Pair a = one[k], b = two[k];
      for (int r = 0; r < rows; ++r) {
        const Pair x = row[r][k];
        add_to(sum[r][0], x, a);
        add_to(sum[r][1], x, b);
      }
    }
    for (int r = 0; r < rows; ++r) {
      row[r][j] = row[r][j] - sum[r][0];
      add_to(sum[r][1], row[r][j], two[j]);
      row[r][j + 1] = row[r][j + 1] - sum[r][1];
    }
  }
  for (; j < from; ++j) {
    const Pair* other = cell(matrix, j, 0);
    for (int r = 0; r < rows; ++r) {
      Pair sum = pair(0, 0);
      for (int k = 0; k < j; ++k) add_to(sum, row[r][k], other[k]);
      row[r][j] = row[r][j] - sum;
    }
  }
  for (int r = 0; r < rows; ++r) {
    // Against the rows of this group that are done already.
    for (int i = from; i < from + r; ++i) {
      const Pair* other = cell(matrix, i, 0);
      Pair sum = pair(0, 0);
      for (int k = 0; k < i; ++k) add_to(sum, row[r][k], other[k]);
      row[r][i] = row[r][i] - sum;
    }
    Pair sum = pair(0, 0);
    for (int k = 0; k < from + r; ++k) {
      const Pair scaled = row[r][k] * *cell(matrix, k, k);
      add_to(sum, scaled, row[r][k]);
      row[r][k] = scaled;
    }
    const Pair pivot = row[r][from + r] - sum;
    const Part size = pivot.re * pivot.re + pivot.im * pivot.im;
    least = size < least ? size : least;
    greatest = size > greatest ? size : greatest;
    row[r][from + r] = one_over(pivot);
  }
}

static __attribute__((noinline)) void factor(Work& work) {
  const int n = work.unknowns;
  Part least = every(1e300), greatest = every(0);
  int from = 0;
  for (; from + 4 <= n; from += 4) factor_rows<4>(work.matrix, from, least, greatest);
  for (; from < n; ++from) factor_rows<1>(work.matrix, from, least, greatest);
  const Part quality = n == 0 ? every(1) : root(least / greatest);
  *reinterpret_cast<LoosePart*>(work.block.pivot + work.lane) = quality;
}

/// x := L⁻¹ x.
ROOMWRIGHT_INLINE void go_down(const Work& work, Pair* x) {
  for (int i = 0; i < work.unknowns; ++i) {
    const Pair* row = cell(work.matrix, i, 0);
    Pair sum = pair(0, 0);
    for (int k = 0; k < i; ++k) add_to(sum, row[k], x[k]);
    x[i] = x[i] - sum;
  }
}
static __attribute__((noinline)) void substitute(const Work& work, Pair* x) {
  const int n = work.unknowns;
  go_down(work, x);
  for (int i = 0; i < n; ++i) x[i] = x[i] * *cell(work.matrix, i, i);
  for (int i = n - 1; i >= 0; --i) {
    const Pair* row = cell(work.matrix, i, 0);
    for (int k = 0; k < i; ++k) x[k] = x[k] - row[k] * x[i];
  }
}

static void fill_matrix(Work& work) {
  const WaveTask& task = work.task;
  Pair* space = work.next;
  for (int axis = 0; axis < 3; ++axis) {
    const WaveAxis& closed = task.axis[axis];
    for (const WavePair& job : closed.pairs) add_pair(work, axis, job, space);
    const long size = closed.row_start[closed.rows];
    Pair* along = space;
    Pair* rest = space + most_legendre * size;
    int last_two = -1, last_wall = -1;
    for (const WaveCorner& job : closed.corners) {
      const int wall = task.tiles.items[job.one].wall;
      if (job.two != last_two || wall != last_wall) {
        double cut = 0;
        for (const WaveCorner& like : closed.corners)
          if (like.two == job.two && task.tiles.items[like.one].wall == wall && like.cut_1_m > cut)
            cut = like.cut_1_m;
        along_closed(work, axis, wall % 2, task.tiles.items[job.two], cut, along);
        last_two = job.two, last_wall = wall;
      }
      add_corner(work, axis, job, along, rest);
    }
  }
}

/// matrix := 1 + jk s C s, with s = √Δβ of each tile.
static __attribute__((noinline)) void weigh(Work& work, const Pair* strength) {
  const int n = work.unknowns;
  for (int i = 0; i < n; ++i) {
    Pair* row = cell(work.matrix, i, 0);
    const Pair si = turned(strength[i] * work.k);
    for (int k = 0; k <= i; ++k) row[k] = row[k] * (si * strength[k]);
    row[i].re += 1.0;
  }
}

/// The matrix of the tiles, factored; √Δβ of each unknown.
static const Pair* prepare_tiles(Work& work) {
  const WaveTask& task = work.task;
  const int n = task.unknowns;
  work.matrix = work.take(static_cast<long>(n) * (n + 1) / 2);
  Pair* strength = work.take(n);
  fill_matrix(work);
  for (const WaveTile& tile : task.tiles)
    for (int i = 0; i < tile.order[0] * tile.order[1]; ++i)
      strength[tile.offset + i] =
          load_pair(work.block.strength + work.lane + 2 * wave_block * tile.patch);
  weigh(work, strength);
  factor(work);
  return strength;
}

/// What the tiles send out for the sources together or each: −jk Δβ p.
static void solve_tiles(Work& work, Pair* const* at_point) {
  const WaveTask& task = work.task;
  const int n = task.unknowns, sides = task.apart ? task.sources : 1;
  const Pair* strength = prepare_tiles(work);
  work.right = work.take(static_cast<long>(n) * sides);
  for (int i = 0; i < n * sides; ++i) work.right[i] = pair(0, 0);
  for (int axis = 0; axis < 3; ++axis)
    for (const WaveReach& job : task.axis[axis].source_reach)
      drive_tiles(work, axis, job, task.strength[job.point], at_point + 3 * job.point,
                  work.right + (task.apart ? n * job.point : 0), work.next);
  for (int side = 0; side < sides; ++side) {
    Pair* right = work.right + static_cast<long>(n) * side;
    for (int i = 0; i < n; ++i) right[i] = right[i] * strength[i];
    substitute(work, right);
    for (int i = 0; i < n; ++i) right[i] = right[i] * -turned(strength[i] * work.k);
  }
}

static void receive(Work& work, Pair* const* at_source, Pair* field) {
  const WaveTask& task = work.task;
  Pair* sent[3][2] = {};
  for (int axis = 0; axis < 3; ++axis)
    for (int side = 0; side < 2; ++side) {
      double cut = 0;
      for (const WaveReach& job : task.axis[axis].receiver_reach)
        if (job.cut_1_m[side] > cut) cut = job.cut_1_m[side];
      if (cut <= 0) continue;
      const WaveAxis& closed = task.axis[axis];
      sent[axis][side] = work.take(closed.row_start[closed.rows]);
      send_from_tiles(work, axis, side, work.right, cut, sent[axis][side]);
    }
  Pair* here[3];
  for (int axis = 0; axis < 3; ++axis) here[axis] = work.take(task.axis[axis].modes);
  int next_reach[3] = {}, next_direct[3] = {};
  for (int r = 0; r < task.receivers; ++r) {
    field[r] = pair(0, 0);
    for (int axis = 0; axis < 3; ++axis)
      make_at(work, axis, task.points[3 * (task.sources + r) + axis], here[axis]);
    for (int axis = 0; axis < 3; ++axis) {
      const auto& direct = task.axis[axis].direct;
      for (int& at = next_direct[axis]; at < direct.count && direct.items[at].receiver == r; ++at)
        field[r] = field[r] + direct_field(work, axis, direct.items[at],
                                           at_source + 3 * direct.items[at].source, here);
      const auto& reach = task.axis[axis].receiver_reach;
      for (int& at = next_reach[axis];
           at < reach.count && reach.items[at].point == task.sources + r; ++at)
        field[r] = field[r] + reach_receiver(work, axis, reach.items[at], here, sent[axis]);
    }
  }
}

/// Each source alone at each receiver: what a receiver would bring to the tiles is what they bring
/// to it.
static void receive_each(Work& work, Pair* const* at_source, Pair* field) {
  const WaveTask& task = work.task;
  const int n = task.unknowns;
  Pair* here[3];
  for (int axis = 0; axis < 3; ++axis) here[axis] = work.take(task.axis[axis].modes);
  Pair* brought = work.take(n);
  int next_reach[3] = {}, next_direct[3] = {};
  for (int r = 0; r < task.receivers; ++r) {
    for (int axis = 0; axis < 3; ++axis)
      make_at(work, axis, task.points[3 * (task.sources + r) + axis], here[axis]);
    for (int i = 0; i < n; ++i) brought[i] = pair(0, 0);
    for (int axis = 0; axis < 3; ++axis) {
      const auto& reach = task.axis[axis].receiver_reach;
      for (int& at = next_reach[axis];
           at < reach.count && reach.items[at].point == task.sources + r; ++at)
        drive_tiles(work, axis, reach.items[at], 1.0, here, brought, work.next);
    }
    for (int s = 0; s < task.sources; ++s) {
      const Pair* right = work.right + static_cast<long>(n) * s;
      Pair sum = pair(0, 0);
      for (int i = 0; i < n; ++i) add_to(sum, brought[i], right[i]);
      field[static_cast<long>(s) * task.receivers + r] = sum;
    }
    for (int axis = 0; axis < 3; ++axis) {
      const auto& direct = task.axis[axis].direct;
      for (int& at = next_direct[axis]; at < direct.count && direct.items[at].receiver == r; ++at) {
        const int source = direct.items[at].source;
        Pair& to = field[static_cast<long>(source) * task.receivers + r];
        to = to + direct_field(work, axis, direct.items[at], at_source + 3 * source, here);
      }
    }
  }
}

/// Modes, tables and the tiles' integrals.
static Work start_work(const WaveTask& task, const WaveBlock& block, int lane, double* space) {
  Work work{task, block, lane,         reinterpret_cast<Pair*>(space), {}, {}, {}, {}, {}, {},
            {},   {},    task.unknowns};
  work.k = load(block.wave_number + lane);
  work.k2 = {work.k * work.k, work.k - work.k};
  for (int wall = 0; wall < 6; ++wall)
    work.wall[wall] = load_pair(block.wall + lane + 2 * wave_block * wall);
  for (int axis = 0; axis < 3; ++axis) make_modes(work, axis);
  for (int axis = 0; axis < 3; ++axis) make_table(work, axis);
  work.integrals = reinterpret_cast<Pair**>(work.take(task.tiles.count + 1));
  for (int t = 0; t < task.tiles.count; ++t)
    for (int which = 0; which < 2; ++which) {
      const WaveTile& tile = task.tiles.items[t];
      const int axis = which == 0 ? first_across(tile.axis) : second_across(tile.axis);
      work.integrals[2 * t + which] =
          work.take(static_cast<long>(tile.order[which]) * task.axis[axis].modes);
      make_integrals(work, tile, which, work.integrals[2 * t + which]);
    }
  return work;
}

static void solve_pack(const WaveTask& task, const WaveBlock& block, int lane, double* space) {
  Work work = start_work(task, block, lane, space);
  Pair** at_source = reinterpret_cast<Pair**>(work.take(3 * task.sources + 1));
  for (int s = 0; s < task.sources; ++s)
    for (int axis = 0; axis < 3; ++axis) {
      at_source[3 * s + axis] = work.take(task.axis[axis].modes);
      make_at(work, axis, task.points[3 * s + axis], at_source[3 * s + axis]);
    }
  if (task.unknowns > 0)
    solve_tiles(work, at_source);
  else
    *reinterpret_cast<LoosePart*>(block.pivot + lane) = every(1);
  const int fields = task.receivers * (task.apart ? task.sources : 1);
  Pair* field = work.take(fields);
  if (task.apart)
    receive_each(work, at_source, field);
  else
    receive(work, at_source, field);
  for (int f = 0; f < fields; ++f) store_pair(block.field + lane + 2 * wave_block * f, field[f]);
}

static void solve_block(const WaveTask& task, const WaveBlock& block, double* space) {
  for (int lane = 0; lane < block.lanes; lane += LANES) solve_pack(task, block, lane, space);
}

}  // namespace
}  // namespace roomwright::acoustics
