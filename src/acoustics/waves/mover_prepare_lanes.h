// Private to acoustics/waves: the text of the inner loops that pick a patch up, see mover_kernel.h;
// after that of the driven room, and before that of a place (mover_lanes.h).

#include "acoustics/waves/mover_kernel.h"
#include "acoustics/waves/response_lanes.h"

namespace roomwright::acoustics {
namespace {

/// Entries kept for wave_block frequencies, seen from one pack.
ROOMWRIGHT_INLINE Pair kept(const double* from, long i, int lane) {
  return load_pair(from + 2 * wave_block * i + lane);
}
ROOMWRIGHT_INLINE void keep(double* to, long i, int lane, Pair value) {
  store_pair(to + 2 * wave_block * i + lane, value);
}

/// The tables of rows are the bulk of what is read for a place: six digits of them do.
typedef float Brief __attribute__((vector_size(LANES * 4), aligned(4), may_alias));
ROOMWRIGHT_INLINE Part load_brief(const float* from) {
  return __builtin_convertvector(*reinterpret_cast<const Brief*>(from), Part);
}
ROOMWRIGHT_INLINE void keep_brief(float* to, long i, int lane, Pair value) {
  typedef float Exact __attribute__((vector_size(LANES * 4)));
  float* at = to + 2 * wave_block * i + lane;
  *reinterpret_cast<Brief*>(at) = __builtin_convertvector(value.re, Exact);
  *reinterpret_cast<Brief*>(at + wave_block) = __builtin_convertvector(value.im, Exact);
}

// ---- what stands --------------------------------------------------------------------------------

/// How much less a wall of κ holds at a distance t from it than a rigid one: √π/2 t h, h its heat
/// kernel there, within a few parts in a hundred (agrees to κ² t², falls as 1/κ²t²).
ROOMWRIGHT_INLINE Pair softened(Pair kappa, double t) {
  constexpr double root_pi = 1.77245385090551602730, rest = 1.14159265358979323846;
  const Pair x = kappa * t;
  Pair below = x * root_pi + x * x * rest;
  below.re += 1.0;
  return one_over(below);
}

/// The modes of one wall while a table is made: where each stands in the axis' table, and
/// e^(−γ²t²) weight (2t step of t) soft / ∫ψ², by node.
struct WallWork {
  int axis, side, wall;
  const MoverWall* plan;
  Pair* fade;  ///< by node: modes
  Pair* self;
};

static void fade_modes(const Work& work, const MoverBand& band, const MoverTable& table,
                       WallWork& wall) {
  const WaveAxis& closed = work.task.axis[wall.axis];
  const int first = first_across(wall.axis), second = second_across(wall.axis);
  constexpr double over_root_pi = 0.56418958354775628695;
  const int modes = wall.plan->modes;
  Pair soft[mover_nodes];
  for (int t = 0; t < mover_nodes; ++t) {
    soft[t] = softened(work.wall[wall.wall], band.node[t]);
    keep(table.soft[wall.wall], t, work.lane, soft[t]);
    keep(table.soft[wall.wall], mover_nodes + t, work.lane,
         softened(work.wall[wall.wall], band.node[t] * 0.63661977236758134308));
    soft[t] = soft[t] * band.weight[t];
  }
  int at = 0;
  for (int m = 0; m < wall.plan->rows; ++m)
    for (int n = 0; n < wall.plan->counts[m]; ++n, ++at) {
      const int place = closed.row_start[m] + n;
      const Pair gamma = work.table[wall.axis].across[place], square = gamma * gamma;
      const Pair share = work.modes[first].weight[m] * work.modes[second].weight[n];
      Pair sum = pair(0, 0);
      for (int t = 0; t < mover_nodes; ++t) {
        const double time = band.node[t] * band.node[t];
        const Pair fade = exponential(square * -time) * (soft[t] * share);
        wall.fade[t * modes + at] = fade;
        sum = sum + fade * (over_root_pi / band.node[t]);
      }
      wall.self[at] = between_walls(work, wall.axis, place, wall.side, wall.side) - sum;
      keep(table.self[wall.wall], at, work.lane, wall.self[at]);
    }
}

/// What the modes of a wall bring to a tile on the same axis' walls, by unknown.
static void bring_along(const Work& work, const WallWork& wall, int index, Pair* out) {
  const WaveTile& tile = work.task.tiles.items[index];
  const WaveAxis& closed = work.task.axis[wall.axis];
  const int mf = work.task.axis[first_across(wall.axis)].modes;
  const int ms = work.task.axis[second_across(wall.axis)].modes;
  const Pair *b = work.integrals[2 * index], *c = work.integrals[2 * index + 1];
  const int modes = wall.plan->modes;
  int at = 0;
  for (int m = 0; m < wall.plan->rows; ++m)
    for (int n = 0; n < wall.plan->counts[m]; ++n, ++at) {
      const Pair g = tile.side == wall.side
                         ? wall.self[at]
                         : between_walls(work, wall.axis, closed.row_start[m] + n, 0, 1);
      for (int i = 0; i < tile.order[0]; ++i) {
        const Pair x = g * b[i * mf + m];
        for (int j = 0; j < tile.order[1]; ++j)
          out[static_cast<long>(i * tile.order[1] + j) * modes + at] = x * c[j * ms + n];
      }
    }
}

/// The same for a tile that lies across the wall.
static __attribute__((noinline)) void bring_across(const Work& work, const WallWork& wall,
                                                   int index, Pair* along, Pair* out) {
  const WaveTile& tile = work.task.tiles.items[index];
  const WaveAxis& closed = work.task.axis[wall.axis];
  const int first = first_across(wall.axis), second = second_across(wall.axis);
  const bool normal_first = tile.axis == first;
  const int which = wall.axis == first_across(tile.axis) ? 0 : 1;
  const Pair* other = work.integrals[2 * index + 1 - which];
  const int mo = work.task.axis[normal_first ? second : first].modes;
  const Pair* end = work.modes[tile.axis].far;
  const long size = closed.row_start[closed.rows];
  const int modes = wall.plan->modes, oa = tile.order[which], oo = tile.order[1 - which];
  const double* near = wall.plan->tile_near[index];
  int at = 0;
  for (int m = 0; m < wall.plan->rows; ++m)
    for (int n = 0; n < wall.plan->counts[m]; ++n, ++at) {
      const int normal = normal_first ? m : n, shared = normal_first ? n : m;
      const Pair there = tile.side == 0 ? pair(1, 0) : end[normal];
      for (int a = 0; a < oa; ++a) {
        Pair g = along[a * size + closed.row_start[m] + n];
        if (near)
          for (int t = 0; t < mover_nodes; ++t)
            g = g - wall.fade[t * modes + at] * near[a * mover_nodes + t];
        g = g * there;
        for (int o = 0; o < oo; ++o) {
          const int i = which == 0 ? a : o, j = which == 0 ? o : a;
          out[static_cast<long>(i * tile.order[1] + j) * modes + at] = g * other[o * mo + shared];
        }
      }
    }
}

/// What a point of some strength brings to the modes of a wall, added.
static __attribute__((noinline)) void bring_to_point(const Work& work, const WallWork& wall,
                                                     int point, double strength,
                                                     Pair* const* at_point, Pair* out) {
  const WaveAxis& closed = work.task.axis[wall.axis];
  const double x = work.task.points[3 * point + wall.axis];
  const double away = wall.side == 0 ? x : closed.length - x;
  const Pair *one = at_point[first_across(wall.axis)], *two = at_point[second_across(wall.axis)];
  const double* near = wall.plan->point_near[point];
  const int modes = wall.plan->modes;
  int at = 0;
  for (int m = 0; m < wall.plan->rows; ++m)
    for (int n = 0; n < wall.plan->counts[m]; ++n, ++at) {
      const int place = closed.row_start[m] + n;
      const Pair gamma = work.table[wall.axis].across[place];
      Pair g = from_wall(work, wall.axis, wall.side, place, exponential(gamma * -away),
                         exponential(gamma * (away - closed.length)));
      if (near)
        for (int t = 0; t < mover_nodes; ++t) g = g - wall.fade[t * modes + at] * near[t];
      add_to(out[at], g * strength, one[m] * two[n]);
    }
}

/// Rows of unknowns, each √Δβ of its own: x := L⁻¹ √Δβ x.
static __attribute__((noinline)) void go_down_rows(const Work& work, const Pair* strength,
                                                   int columns, Pair* x) {
  for (int i = 0; i < work.unknowns; ++i) {
    Pair* row = x + static_cast<long>(i) * columns;
    for (int c = 0; c < columns; ++c) row[c] = row[c] * strength[i];
    const Pair* low = cell(work.matrix, i, 0);
    int k = 0;
    for (; k + 2 <= i; k += 2) {
      const Pair a = -low[k], b = -low[k + 1];
      const Pair *one = x + static_cast<long>(k) * columns, *two = one + columns;
      for (int c = 0; c < columns; ++c) {
        Pair sum = row[c];
        add_to(sum, a, one[c]);
        add_to(sum, b, two[c]);
        row[c] = sum;
      }
    }
    for (; k < i; ++k) {
      const Pair a = -low[k];
      const Pair* one = x + static_cast<long>(k) * columns;
      for (int c = 0; c < columns; ++c) add_to(row[c], a, one[c]);
    }
  }
}

/// The table of one wall.
static void prepare_wall(Work& work, const MoverBand& band, const MoverTable& table, int index,
                         const Pair* strength, const Pair* brought, Pair* const* at_point) {
  const WaveTask& task = work.task;
  const int n = work.unknowns, points = 1 + task.receivers;
  WallWork wall{index / 2, index % 2, index, &band.wall[index], nullptr, nullptr};
  const int modes = wall.plan->modes;
  Pair* const before = work.next;
  wall.fade = work.take(static_cast<long>(mover_nodes) * modes);
  wall.self = work.take(modes);
  fade_modes(work, band, table, wall);
  Pair* at = work.take(static_cast<long>(points) * modes);
  for (int i = 0; i < points * modes; ++i) at[i] = pair(0, 0);
  for (int p = 0; p < task.sources + task.receivers; ++p) {
    const bool source = p < task.sources;
    bring_to_point(work, wall, p, source ? task.strength[p] : 1.0, at_point + 3 * p,
                   at + static_cast<long>(source ? 0 : 1 + p - task.sources) * modes);
  }
  Pair* rows = work.take(static_cast<long>(task.unknowns) * modes);
  for (int t = 0; t < task.tiles.count; ++t) {
    const WaveTile& tile = task.tiles.items[t];
    Pair* out = rows + static_cast<long>(tile.offset) * modes;
    if (tile.axis == wall.axis) {
      bring_along(work, wall, t, out);
    } else {
      along_closed(work, wall.axis, wall.side, tile, wall.plan->cut_1_m, work.next);
      bring_across(work, wall, t, work.next, out);
    }
  }
  for (int i = 0; i < n; ++i)
    for (int c = 0; c < modes; ++c)
      rows[static_cast<long>(i) * modes + c] = rows[static_cast<long>(band.kept[i]) * modes + c];
  go_down_rows(work, strength, modes, rows);
  for (int p = 0; p < points; ++p)
    for (int i = 0; i < n; ++i) {
      const Pair x = turned(brought[p * n + i] * *cell(work.matrix, i, i)) * -work.k;
      const Pair* row = rows + static_cast<long>(i) * modes;
      for (int c = 0; c < modes; ++c) add_to(at[p * modes + c], x, row[c]);
    }
  for (long i = 0; i < static_cast<long>(n) * modes; ++i)
    keep_brief(table.rows[index], i, work.lane, rows[i]);
  for (long i = 0; i < static_cast<long>(points) * modes; ++i)
    keep_brief(table.rows[index], static_cast<long>(n) * modes + i, work.lane, at[i]);
  work.next = before;
}

/// L⁻¹ √Δβ of what the points bring to the tiles.
static Pair* bring_points(Work& work, const MoverBand& band, const Pair* strength,
                          Pair* const* at_point) {
  const WaveTask& task = work.task;
  const int all = task.unknowns, n = work.unknowns, points = 1 + task.receivers;
  Pair* out = work.take(static_cast<long>(all) * points);
  for (int i = 0; i < all * points; ++i) out[i] = pair(0, 0);
  for (int axis = 0; axis < 3; ++axis) {
    for (const WaveReach& job : task.axis[axis].source_reach)
      drive_tiles(work, axis, job, task.strength[job.point], at_point + 3 * job.point, out,
                  work.next);
    for (const WaveReach& job : task.axis[axis].receiver_reach)
      drive_tiles(work, axis, job, 1.0, at_point + 3 * job.point,
                  out + static_cast<long>(all) * (1 + job.point - task.sources), work.next);
  }
  for (int p = 0; p < points; ++p) {
    Pair* x = out + static_cast<long>(n) * p;
    for (int i = 0; i < n; ++i) x[i] = out[static_cast<long>(all) * p + band.kept[i]] * strength[i];
    go_down(work, x);
  }
  return out;
}

/// The matrix of the tiles' functions that are kept, factored; √Δβ of each.
static const Pair* prepare_kept(Work& work, const MoverBand& band) {
  const WaveTask& task = work.task;
  const int all = task.unknowns, n = band.unknowns;
  Pair* strength = work.take(n);
  for (const WaveTile& tile : task.tiles)
    for (int i = 0; i < tile.order[0] * tile.order[1]; ++i)
      if (const int at = band.place_of[tile.offset + i]; at >= 0)
        strength[at] = load_pair(work.block.strength + work.lane + 2 * wave_block * tile.patch);
  work.matrix = work.take(static_cast<long>(all) * (all + 1) / 2);
  fill_matrix(work);
  for (int i = 0; i < n; ++i)
    for (int k = 0; k <= i; ++k)
      *cell(work.matrix, i, k) = *cell(work.matrix, band.kept[i], band.kept[k]);
  work.unknowns = n;
  weigh(work, strength);
  factor(work);
  return strength;
}

/// L⁻¹ in the place of L; the diagonal keeps 1/D.
static __attribute__((noinline)) void invert_low(Work& work) {
  const int n = work.unknowns;
  for (int i = 1; i < n; ++i) {
    Pair* row = cell(work.matrix, i, 0);
    // Row i of L⁻¹ is −Σ L(i, k) of the rows above, which are done.
    for (int k = 1; k < i; ++k) {
      const Pair* above = cell(work.matrix, k, 0);
      const Pair x = row[k];
      for (int c = 0; c < k; ++c) add_to(row[c], x, above[c]);
    }
    for (int c = 0; c < i; ++c) row[c] = -row[c];
  }
}
/// −jk M⁻¹ √Δβ of what a point brings, from L⁻¹ of it.
static void bring_back(const Work& work, const Pair* brought, Pair* out) {
  const int n = work.unknowns;
  for (int i = 0; i < n; ++i) out[i] = pair(0, 0);
  for (int i = 0; i < n; ++i) {
    const Pair* row = cell(work.matrix, i, 0);
    const Pair x = turned(brought[i] * row[i]) * -work.k;
    for (int c = 0; c < i; ++c) add_to(out[c], x, row[c]);
    out[i] = out[i] + x;
  }
}

/// The last use of L itself: it is inverted here.
static void keep_tiles(Work& work, const MoverTable& table, const Pair* strength,
                       const Pair* brought) {
  const int n = work.unknowns;
  invert_low(work);
  for (long i = 0; i < static_cast<long>(n) * (n + 1) / 2; ++i)
    keep(table.matrix, i, work.lane, work.matrix[i]);
  for (int i = 0; i < n; ++i) keep(table.strength, i, work.lane, strength[i]);
  for (int p = 0; p < 1 + work.task.receivers; ++p) {
    bring_back(work, brought + static_cast<long>(p) * n, work.next);
    for (int i = 0; i < n; ++i)
      keep(table.brought, static_cast<long>(p) * n + i, work.lane, work.next[i]);
  }
}

/// The field at the receivers without the patch.
static void keep_fixed(Work& work, const MoverTable& table, const Pair* brought,
                       Pair* const* at_point) {
  const WaveTask& task = work.task;
  const int n = work.unknowns;
  Pair* field = work.next;
  for (int r = 0; r < task.receivers; ++r) {
    Pair sum = pair(0, 0);
    for (int i = 0; i < n; ++i)
      add_to(sum, brought[i] * *cell(work.matrix, i, i), brought[(1 + r) * n + i]);
    field[r] = turned(sum) * -work.k;
  }
  for (int axis = 0; axis < 3; ++axis)
    for (const WaveDirect& job : task.axis[axis].direct)
      field[job.receiver] =
          field[job.receiver] + direct_field(work, axis, job, at_point + 3 * job.source,
                                             at_point + 3 * (task.sources + job.receiver));
  for (int r = 0; r < task.receivers; ++r) keep(table.fixed, r, work.lane, field[r]);
}

static void keep_axes(const Work& work, const MoverBand& band, const MoverTable& table) {
  for (int a = 0; a < 3; ++a)
    for (int m = 0; m < band.axis_modes[a]; ++m) {
      keep(table.number[a], m, work.lane, load_pair(work.modes[a].number + 2 * wave_block * m));
      keep(table.plus[a], m, work.lane, work.modes[a].plus[m]);
      keep(table.minus[a], m, work.lane, work.modes[a].minus[m]);
    }
  store(table.wave_number + work.lane, work.k);
}

static void prepare_pack(const WaveTask& task, const WaveBlock& block, const MoverBand& band,
                         const MoverTable& table, int lane, double* space) {
  Work work = start_work(task, block, lane, space);
  const int points = task.sources + task.receivers;
  Pair** at_point = reinterpret_cast<Pair**>(work.take(3 * points + 1));
  for (int p = 0; p < points; ++p)
    for (int axis = 0; axis < 3; ++axis) {
      at_point[3 * p + axis] = work.take(task.axis[axis].modes);
      make_at(work, axis, task.points[3 * p + axis], at_point[3 * p + axis]);
    }
  const Pair* strength = prepare_kept(work, band);
  const Pair* brought = bring_points(work, band, strength, at_point);
  keep_fixed(work, table, brought, at_point);
  keep_axes(work, band, table);
  for (int wall = 0; wall < 6; ++wall)
    prepare_wall(work, band, table, wall, strength, brought, at_point);
  keep_tiles(work, table, strength, brought);
}

}  // namespace
}  // namespace roomwright::acoustics
