// The near part of a moved patch (mover_kernel.h): what no frequency moves, and the tables' sizes.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/mover.h"
#include "acoustics/waves/response_parts.h"

namespace roomwright::acoustics {

namespace {

const double near_pi = std::acos(-1.0);
constexpr double longest_reach_m = 0.5;  // T, where the frequency asks for no shorter one

std::size_t size_of_list(int count) {
  return static_cast<std::size_t>(count);
}
int axis_across(int axis, int which) {
  return which == 0 ? (axis == 0 ? 1 : 0) : (axis == 2 ? 1 : 2);
}

/// Points and weights of Gauss and Legendre, mover_nodes of them, on [0, to].
void gauss_nodes(double to, double* node, double* weight) {
  for (int i = 0; i < mover_nodes; ++i) {
    double x = -std::cos(near_pi * (i + 0.75) / (mover_nodes + 0.5)), slope = 0;
    for (int turn = 0; turn < 30; ++turn) {
      double before = 1, here = x;
      for (int n = 2; n <= mover_nodes; ++n) {
        const double next = ((2 * n - 1) * x * here - (n - 1) * before) / n;
        before = here, here = next;
      }
      slope = mover_nodes * (before - x * here) / (1 - x * x);
      x -= here / slope;
    }
    node[i] = to * (1 + x) / 2;
    weight[i] = to / ((1 - x * x) * slope * slope);
  }
}

/// Heat's kernel between a rigid wall and a place `away` from it.
double from_wall(double length, double away, double t) {
  double sum = 0;
  for (int n = -2; n <= 2; ++n) {
    const double x = (away + 2 * n * length) / (2 * t);
    sum += std::exp(-x * x);
  }
  return sum / (std::sqrt(near_pi) * t);
}

void lay_modes(MoverPart& part) {
  const LayoutInput& input = part.input;
  for (int& modes : part.band.axis_modes) modes = 0;
  for (int axis = 0; axis < 3; ++axis) {
    const int first = axis_across(axis, 0), second = axis_across(axis, 1);
    auto& counts = part.counts[size_of_list(axis)];
    int total = 0;
    for (int m = 0;; ++m) {
      const double q = m * near_pi / input.size_m[size_of_list(first)];
      const double rest = input.least_cut_1_m * input.least_cut_1_m - q * q;
      if (rest < 0) break;
      counts.push_back(
          static_cast<int>(std::sqrt(rest) * input.size_m[size_of_list(second)] / near_pi) + 1);
      total += counts.back();
    }
    int* modes = part.band.axis_modes;
    modes[first] = std::max(modes[first], static_cast<int>(counts.size()));
    modes[second] = std::max(modes[second], counts[0]);
    for (int side = 0; side < 2; ++side) {
      MoverWall& wall = part.band.wall[2 * axis + side];
      wall.cut_1_m = input.least_cut_1_m;
      wall.rows = static_cast<int>(counts.size());
      wall.counts = counts.data();
      wall.modes = total;
    }
  }
}

/// From a wall to the near edge of a tile that lies across it.
double gap_to(const MoverPart& part, int wall, const WaveTile& tile) {
  const int which = axis_across(tile.axis, 0) == wall / 2 ? 0 : 1;
  return wall % 2 == 0 ? tile.low[which]
                       : part.input.size_m[size_of_list(wall / 2)] - tile.high[which];
}

void lay_rigid_modes(MoverPart& part, double finest) {
  for (std::size_t a = 0; a < 3; ++a) {
    const double length = part.input.size_m[a];
    part.fine[a] = static_cast<int>(finest * length / near_pi) + 2;
    auto& fade = part.fade[a];
    fade.resize(size_of_list(part.fine[a]) * mover_nodes);
    for (int m = 0; m < part.fine[a]; ++m)
      for (int t = 0; t < mover_nodes; ++t) {
        const double x = m * near_pi / length * part.band.node[t];
        fade[size_of_list(m * mover_nodes + t)] = (m == 0 ? 1 : 2) / length * std::exp(-x * x);
      }
  }
}

void lay_tile_near(const MoverKernel& kernel, MoverPart& part) {
  const WaveTask& task = part.layout.task;
  part.tile_rows.resize(size_of_list(task.tiles.count));
  for (auto& near : part.tile_near) near.resize(size_of_list(task.tiles.count));
  std::vector<double> signs;
  for (int t = 0; t < task.tiles.count; ++t) {
    const WaveTile& tile = task.tiles.items[t];
    for (int which = 0; which < 2; ++which) {
      const int axis = axis_across(tile.axis, which), order = tile.order[which];
      const double length = part.input.size_m[size_of_list(axis)];
      const int fine = part.fine[size_of_list(axis)];
      auto& rows = part.tile_rows[size_of_list(t)][size_of_list(which)];
      rows = bessel_rows(length, tile.high[which] - tile.low[which], order, fine);
      put_phases(length, tile.low[which], tile.high[which], order, fine, fine, rows.data(), fine,
                 rows.data());
      for (int side = 0; side < 2; ++side) {
        const int wall = 2 * axis + side;
        if (gap_to(part, wall, tile) > part.reach_m) continue;
        signs.assign(size_of_list(fine), 1.0);
        if (side == 1)
          for (int m = 1; m < fine; m += 2) signs[size_of_list(m)] = -1;
        auto& near = part.tile_near[size_of_list(wall)][size_of_list(t)];
        near.resize(size_of_list(order * mover_nodes));
        kernel.cross(order, rows.data(), 1, signs.data(), fine, fine,
                     part.fade[size_of_list(axis)].data(), false, near.data());
      }
    }
  }
}

void lay_point_near(MoverPart& part) {
  const WaveTask& task = part.layout.task;
  const int points = task.sources + task.receivers;
  part.point_rows.resize(size_of_list(points));
  for (auto& near : part.point_near) near.resize(size_of_list(points));
  for (int p = 0; p < points; ++p)
    for (int axis = 0; axis < 3; ++axis) {
      const std::size_t a = size_of_list(axis);
      const double length = part.input.size_m[a], x = task.points[3 * p + axis];
      auto& rows = part.point_rows[size_of_list(p)][a];
      rows.resize(size_of_list(part.fine[a]));
      for (std::size_t m = 0; m < rows.size(); ++m)
        rows[m] = std::cos(double(m) * near_pi / length * x);
      for (int side = 0; side < 2; ++side) {
        const double away = side == 0 ? x : length - x;
        if (away > part.reach_m) continue;
        auto& near = part.point_near[size_of_list(2 * axis + side)][size_of_list(p)];
        for (int t = 0; t < mover_nodes; ++t)
          near.push_back(from_wall(length, away, part.band.node[t]));
      }
    }
}

void point_at(const std::vector<std::vector<double>>& lists, std::vector<const double*>& out) {
  for (const auto& list : lists) out.push_back(list.empty() ? nullptr : list.data());
}

double gap(double low, double high, double other_low, double other_high) {
  return std::max({0.0, other_low - high, low - other_high});
}

struct Block3 {
  std::array<double, 3> low, high;
};
Block3 block_of(const std::array<double, 3>& size, int axis, int side, const double* low,
                const double* high) {
  Block3 out;
  const std::size_t a = size_of_list(axis);
  out.low[a] = out.high[a] = side == 0 ? 0 : size[a];
  for (int which = 0; which < 2; ++which) {
    const std::size_t d = size_of_list(axis_across(axis, which));
    out.low[d] = low[which], out.high[d] = high[which];
  }
  return out;
}
double apart(const Block3& a, const Block3& b) {
  double sum = 0;
  for (std::size_t d = 0; d < 3; ++d) {
    const double x = gap(a.low[d], a.high[d], b.low[d], b.high[d]);
    sum += x * x;
  }
  return std::sqrt(sum);
}

/// Pairs of functions that two patches on one wall, or on two that meet, exchange.
class NearPlacer {
 public:
  NearPlacer(const MoverKernel& kernel, const MoverPart& part, const WallPatch& patch,
             const std::array<int, 2>& order, const MoverRows& rows, MoverBench& bench)
      : kernel_(kernel), part_(part), patch_(patch), order_(order), rows_(rows), bench_(bench) {
    here_ =
        block_of(part.input.size_m, patch.axis, patch.side, patch.low.data(), patch.high.data());
  }

  void self() {
    for (int which = 0; which < 2; ++which) {
      const int order = order_[size_of_list(which)], pairs = order * (order + 1) / 2;
      double *own = bench_.own[which].data(), *image = bench_.image[which].data();
      const auto cross = [&](const std::vector<double>& rows, double* out) {
        kernel_.cross(order, rows.data(), order, rows.data(), fine(which), rows_.stride[which],
                      fade(which), true, out);
        if (which == 0) at_wall(pairs, out);
      };
      cross(rows_.own[which], own);
      cross(rows_.rows[which], image);
      for (int i = 0, p = 0; i < order; ++i)
        for (int k = i; k < order; ++k, ++p)
          for (int t = 0; t < mover_nodes; ++t) {
            double& alone = own[p * mover_nodes + t];
            alone *= (k - i) % 2 == 0 ? 0.5 : 0;  // cos² and sin² are half and half
            image[p * mover_nodes + t] -= alone;
          }
    }
  }
  void tiles() {
    const WaveTask& task = part_.layout.task;
    double* out = bench_.tiles.data();
    bench_.near_tiles.clear();
    for (int t = 0; t < task.tiles.count; ++t) {
      const WaveTile& tile = task.tiles.items[t];
      if (tile.axis == patch_.axis && tile.side != patch_.side) continue;
      if (apart(here_, block_of(part_.input.size_m, tile.axis, tile.side, tile.low, tile.high)) >
          part_.reach_m)
        continue;
      bench_.near_tiles.push_back(tile.axis == patch_.axis ? beside(t, out) : around(t, out));
    }
  }
  void points() {
    const WaveTask& task = part_.layout.task;
    double* out = bench_.points.data();
    bench_.near_points.clear();
    const int wall = 2 * patch_.axis + patch_.side;
    for (int p = 0; p < task.sources + task.receivers; ++p) {
      const double* normal = part_.band.wall[wall].point_near[p];
      if (!normal) continue;
      Block3 point;
      for (std::size_t d = 0; d < 3; ++d)
        point.low[d] = point.high[d] = task.points[size_of_list(3 * p) + d];
      if (apart(here_, point) > part_.reach_m) continue;
      double* both[2];
      for (int which = 0; which < 2; ++which) {
        both[which] = out;
        const std::size_t axis = size_of_list(axis_across(patch_.axis, which));
        cross_own(which, 1, part_.point_rows[size_of_list(p)][axis].data(), out);
        out += order_[size_of_list(which)] * mover_nodes;
      }
      const double strength = p < task.sources ? task.strength[p] : 1;
      for (int i = 0; i < order_[0]; ++i)
        for (int t = 0; t < mover_nodes; ++t) both[0][i * mover_nodes + t] *= normal[t] * strength;
      bench_.near_points.push_back({p < task.sources ? 0 : 1 + p - task.sources, both[0], both[1]});
    }
  }

 private:
  int fine(int which) const { return part_.fine[size_of_list(axis_across(patch_.axis, which))]; }
  const double* fade(int which) const {
    return part_.fade[size_of_list(axis_across(patch_.axis, which))].data();
  }
  void cross_own(int which, int others, const double* other, double* out) const {
    kernel_.cross(order_[size_of_list(which)], rows_.rows[which].data(), others, other, fine(which),
                  rows_.stride[which], fade(which), false, out);
  }
  /// Both on one wall: its heat kernel there.
  void at_wall(int count, double* out) const {
    for (int i = 0; i < count; ++i)
      for (int t = 0; t < mover_nodes; ++t)
        out[i * mover_nodes + t] /= std::sqrt(near_pi) * part_.band.node[t];
  }
  const double* tile_rows(int tile, int which) const {
    return part_.tile_rows[size_of_list(tile)][size_of_list(which)].data();
  }

  MoverNearTile beside(int index, double*& out) const {
    const WaveTile& tile = part_.layout.task.tiles.items[index];
    const double* both[2];
    for (int which = 0; which < 2; ++which) {
      both[which] = out;
      cross_tile(which, index, which, out);
      const int count = order_[size_of_list(which)] * tile.order[which];
      if (which == 0) at_wall(count, out);
      out += count * mover_nodes;
    }
    return {index, 0, 0, both[0], both[1]};
  }
  MoverNearTile around(int index, double*& out) const {
    const WaveTile& tile = part_.layout.task.tiles.items[index];
    const int which = axis_across(patch_.axis, 0) == tile.axis ? 0 : 1;
    const int other = axis_across(tile.axis, 0) == patch_.axis ? 0 : 1;
    const int mine = order_[size_of_list(which)], theirs = tile.order[other];
    const double* near = part_.band.wall[2 * patch_.axis + patch_.side].tile_near[index];
    double* own = bench_.along.data();
    double* signs = own + most_legendre * mover_nodes;
    for (int m = 0; m < fine(which); ++m) signs[m] = tile.side == 1 && m % 2 == 1 ? -1 : 1;
    cross_own(which, 1, signs, own);
    double* along = out;
    for (int a = 0; a < mine; ++a)
      for (int k = 0; k < theirs; ++k)
        for (int t = 0; t < mover_nodes; ++t)
          *out++ = near ? own[a * mover_nodes + t] * near[k * mover_nodes + t] : 0;
    double* across = out;
    cross_tile(1 - which, index, 1 - other, out);
    out += order_[size_of_list(1 - which)] * tile.order[1 - other] * mover_nodes;
    return {index, which, other, along, across};
  }
  /// The patch's rows along one axis with a tile's, whose strides differ.
  void cross_tile(int which, int index, int tile_which, double* out) const {
    const WaveTile& tile = part_.layout.task.tiles.items[index];
    const int theirs = tile.order[tile_which], mine = order_[size_of_list(which)];
    const int modes = fine(which);
    for (int a = 0; a < mine; ++a)
      kernel_.cross(1, rows_.rows[which].data() + static_cast<long>(a) * rows_.stride[which],
                    theirs, tile_rows(index, tile_which), modes, modes, fade(which), false,
                    out + static_cast<long>(a) * theirs * mover_nodes);
  }

  const MoverKernel& kernel_;
  const MoverPart& part_;
  const WallPatch& patch_;
  const std::array<int, 2>& order_;
  const MoverRows& rows_;
  MoverBench& bench_;
  Block3 here_;
};

void lay_functions(MoverPart& part) {
  part.place_of.assign(size_of_list(part.layout.task.unknowns), -1);
  for (const WaveTile& tile : part.layout.tiles) {
    const auto width = mover_widths(std::array<int, 2>{tile.order[0], tile.order[1]});
    for (int i = 0; i < tile.order[0]; ++i)
      for (int j = 0; j < width[size_of_list(i)]; ++j) {
        const int at = tile.offset + i * tile.order[1] + j;
        part.place_of[size_of_list(at)] = static_cast<int>(part.kept.size());
        part.kept.push_back(at);
      }
  }
  part.band.unknowns = static_cast<int>(part.kept.size());
  part.band.kept = part.kept.data(), part.band.place_of = part.place_of.data();
}

std::size_t part_points(const MoverPart& part) {
  return size_of_list(part.layout.task.sources + part.layout.task.receivers);
}

}  // namespace

void lay_part(const MoverKernel& kernel, MoverPart& part) {
  LayoutInput& input = part.input;
  const double more = finer(input), k = input.greatest_wave_number;
  const double shortest = *std::min_element(input.size_m.begin(), input.size_m.end());
  const double t = std::min({1.3 / k, longest_reach_m, shortest / 4});
  // Where e^(k²t²) times the near part's fall has come down to a tenth of what it is on the spot.
  part.reach_m = 2 * t * std::sqrt(2.3 + more + k * k * t * t);
  input.fewer_functions = 0.4;
  input.least_cut_1_m = std::sqrt(k * k + (2.2 + more) / (t * t));
  gauss_nodes(t, part.band.node, part.band.weight);
  for (int i = 0; i < mover_nodes; ++i) part.band.weight[i] *= 2 * part.band.node[i];
  make_layout(input, part.layout);
  lay_functions(part);
  lay_modes(part);
  lay_rigid_modes(part, 45 / t);
  lay_tile_near(kernel, part);
  lay_point_near(part);
  for (std::size_t wall = 0; wall < 6; ++wall) {
    point_at(part.tile_near[wall], part.tile_near_at[wall]);
    point_at(part.point_near[wall], part.point_near_at[wall]);
    part.band.wall[wall].tile_near = part.tile_near_at[wall].data();
    part.band.wall[wall].point_near = part.point_near_at[wall].data();
  }
}

int mover_order(const MoverPart& part, double side_m) {
  const SideCut cut = cut_side(part.input, side_m);
  return cut.pieces == 1 ? cut.order : 0;
}

std::array<int, most_legendre> mover_widths(const std::array<int, 2>& order) {
  std::array<int, most_legendre> out{};
  for (int i = 0; i < order[0]; ++i)
    out[size_of_list(i)] = std::clamp(
        static_cast<int>(std::ceil(order[1] * (1 - double(i) / order[0]) - 1e-9)), 1, order[1]);
  return out;
}

double mover_table_doubles(const MoverPart& part) {
  const double n = part.band.unknowns, receivers = part.layout.task.receivers;
  double entries = n * (n + 1) / 2 + n + (1 + receivers) * n + receivers + 12 * mover_nodes + 1;
  for (const MoverWall& wall : part.band.wall)
    entries += ((n + 1 + receivers) / 2 + 2) * wall.modes;
  for (const int modes : part.band.axis_modes) entries += 3 * modes;
  return entries * 2 * wave_block;
}

void make_table_space(const MoverPart& part, MoverBlock& block) {
  const std::size_t n = size_of_list(part.band.unknowns);
  const std::size_t receivers = size_of_list(part.layout.task.receivers);
  block.memory = std::make_unique<WaveSpace>(static_cast<std::size_t>(mover_table_doubles(part)));
  double* next = block.memory->start;
  const auto take = [&](std::size_t entries) {
    double* out = next;
    next += entries * 2 * wave_block;
    return out;
  };
  MoverTable& table = block.table;
  table.wave_number = take(1);
  table.matrix = take(n * (n + 1) / 2), table.strength = take(n);
  table.brought = take((1 + receivers) * n), table.fixed = take(receivers);
  for (std::size_t wall = 0; wall < 6; ++wall) {
    const std::size_t modes = size_of_list(part.band.wall[wall].modes);
    table.soft[wall] = take(2 * mover_nodes);
    table.rows[wall] = reinterpret_cast<float*>(take(((n + 2 + receivers) / 2) * modes));
    table.self[wall] = take(modes);
  }
  for (std::size_t a = 0; a < 3; ++a) {
    const std::size_t modes = size_of_list(part.band.axis_modes[a]);
    table.number[a] = take(modes), table.plus[a] = take(modes), table.minus[a] = take(modes);
  }
}

MoverBench mover_bench(const std::vector<std::unique_ptr<MoverPart>>& parts,
                       const std::array<double, 2>& sides) {
  MoverBench out;
  std::size_t space = 0, tiles = 0, points = 0, fine = 0, receivers = 0;
  for (const auto& part : parts) {
    const int one = mover_order(*part, sides[0]), two = mover_order(*part, sides[1]);
    space = std::max(
        space, mover_place_space(part->layout.task, part->band, one * two, std::max(one, two)));
    tiles = std::max(tiles, part->layout.tiles.size() *
                                size_of_list(std::max(one, two) * 2 * most_legendre * mover_nodes));
    points = std::max(points, part_points(*part) * most_legendre * 2 * mover_nodes);
    for (const int modes : part->fine) fine = std::max(fine, size_of_list(modes));
    receivers = size_of_list(part->layout.task.receivers);
  }
  for (auto* list : {&out.own[0], &out.own[1], &out.image[0], &out.image[1]})
    list->resize(size_of_list(most_legendre * (most_legendre + 1) / 2 * mover_nodes));
  out.tiles.resize(tiles), out.points.resize(points);
  out.along.resize(size_of_list(most_legendre * mover_nodes) + fine);
  out.field = block_lanes(receivers);
  out.space = std::make_unique<WaveSpace>(space);
  for (const auto& part : parts) {
    out.near_tiles.reserve(part->layout.tiles.size());
    out.near_points.reserve(part_points(*part));
  }
  return out;
}

MoverPlace place_near(const MoverKernel& kernel, const MoverPart& part, const WallPatch& patch,
                      const std::array<int, 2>& order, const MoverRows& rows, MoverBench& bench) {
  NearPlacer placer(kernel, part, patch, order, rows, bench);
  placer.self();
  placer.tiles();
  placer.points();
  MoverPlace out{};
  out.wall = 2 * patch.axis + patch.side;
  const auto width = mover_widths(order);
  for (std::size_t i = 0; i < width.size(); ++i) out.width[i] = width[i], out.functions += width[i];
  for (std::size_t which = 0; which < 2; ++which) {
    out.low[which] = patch.low[which], out.high[which] = patch.high[which];
    out.order[which] = order[which];
    out.own[which] = bench.own[which].data(), out.image[which] = bench.image[which].data();
    const int axis = axis_across(patch.axis, static_cast<int>(which));
    const double beyond = part.input.size_m[size_of_list(axis)] - patch.high[which];
    out.edge[which] = 2 * axis + (patch.low[which] <= beyond ? 0 : 1);
  }
  out.tiles = {bench.near_tiles.data(), static_cast<int>(bench.near_tiles.size())};
  out.points = {bench.near_points.data(), static_cast<int>(bench.near_points.size())};
  return out;
}

std::size_t mover_prepare_space(const WaveTask& task, const MoverBand& band) {
  std::size_t modes = 0, table = 0, low = 0;
  for (const WaveAxis& axis : task.axis) {
    modes += size_of_list(axis.modes);
    table = std::max(table, size_of_list(axis.row_start[axis.rows]));
  }
  for (const MoverWall& wall : band.wall) low = std::max(low, size_of_list(wall.modes));
  const std::size_t points = size_of_list(task.sources + task.receivers) + 1;
  const std::size_t n = size_of_list(task.unknowns);
  const std::size_t walls = (mover_nodes + 1 + n + points) * low + most_legendre * table;
  const std::size_t pairs = 3 * points + points * modes + n * points + walls + points;
  return wave_space(task) + pairs * 2 * wave_block;
}

std::size_t mover_place_space(const WaveTask& task, const MoverBand& band, int functions,
                              int order) {
  std::size_t modes = 0, rows = 0;
  for (const int count : band.axis_modes) modes += size_of_list(count);
  for (const MoverWall& wall : band.wall) rows = std::max(rows, size_of_list(wall.rows));
  const std::size_t u = size_of_list(functions), n = size_of_list(task.unknowns);
  const std::size_t across = size_of_list(order * (order + 1) / 2);
  const std::size_t pairs = modes * size_of_list(order) + u * (u + 1) / 2 + 2 * u +
                            (n + 1 + size_of_list(task.receivers)) * u +
                            std::max(n * u + n, across * (rows + modes + mover_nodes));
  return pairs * 2 * wave_block + 64;
}

}  // namespace roomwright::acoustics
