// See response_layout.h.
#include "acoustics/waves/response_layout.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/response_parts.h"

namespace roomwright::acoustics {

double finer(const LayoutInput& input) {
  return std::max(-1.0, std::log2(0.25 / input.accuracy_db));
}

namespace {

double extra_functions(const LayoutInput& input) {
  return 2.3 + 0.6 * finer(input) - input.fewer_functions;
}

}  // namespace

SideCut cut_side(const LayoutInput& input, double side) {
  const double most = most_legendre - extra_functions(input);
  const double turn = input.greatest_wave_number * side / 2;
  const int pieces = std::max(1, static_cast<int>(std::ceil(turn / most - 1e-9)));
  const int order = static_cast<int>(std::ceil(turn / pieces + extra_functions(input) - 1e-9));
  return {pieces, std::clamp(order, 2, most_legendre)};
}

namespace {

const double layout_pi = std::acos(-1.0);

int across_axis(int axis, int which) {
  return which == 0 ? (axis == 0 ? 1 : 0) : (axis == 2 ? 1 : 2);
}

std::vector<WaveTile> tiles_of(const LayoutInput& input) {
  std::vector<WaveTile> out;
  int offset = 0;
  for (std::size_t p = 0; p < input.patches.size(); ++p) {
    const WallPatch& patch = input.patches[p];
    std::array<SideCut, 2> cuts;
    for (std::size_t d = 0; d < 2; ++d) cuts[d] = cut_side(input, patch.high[d] - patch.low[d]);
    for (int i = 0; i < cuts[0].pieces; ++i)
      for (int j = 0; j < cuts[1].pieces; ++j) {
        WaveTile tile{};
        tile.axis = patch.axis, tile.side = patch.side, tile.wall = 2 * patch.axis + patch.side;
        for (std::size_t d = 0; d < 2; ++d) {
          const int at = d == 0 ? i : j;
          const double step = (patch.high[d] - patch.low[d]) / cuts[d].pieces;
          tile.low[d] = patch.low[d] + at * step;
          tile.high[d] = at + 1 == cuts[d].pieces ? patch.high[d] : patch.low[d] + (at + 1) * step;
          tile.order[d] = cuts[d].order;
        }
        tile.offset = offset;
        tile.patch = static_cast<int>(p);
        offset += tile.order[0] * tile.order[1];
        out.push_back(tile);
      }
  }
  return out;
}

/// How far two tiles of one wall are apart.
double apart(const WaveTile& one, const WaveTile& two) {
  double sum = 0;
  for (int d = 0; d < 2; ++d) {
    const double gap = std::max({0.0, two.low[d] - one.high[d], one.low[d] - two.high[d]});
    sum += gap * gap;
  }
  return std::sqrt(sum);
}

double least_half(const WaveTile& tile) {
  return std::min(tile.high[0] - tile.low[0], tile.high[1] - tile.low[1]) / 2;
}

class Planner {
 public:
  Planner(const LayoutInput& input, Layout& out)
      : input_(input),
        out_(out),
        base_(layout_cut_1_m(input)),
        cap_(std::min(4 * base_, most_axis_modes * layout_pi /
                                     *std::max_element(input.size_m.begin(), input.size_m.end()))) {
  }

  void plan() {
    out_.tiles = tiles_of(input_);
    for (const auto* points : {&input_.sources, &input_.receivers})
      for (const auto& point : *points)
        out_.points.insert(out_.points.end(), point.begin(), point.end());
    out_.strength = input_.strength;
    for (int axis = 0; axis < 3; ++axis) used(axis, std::min(cap_, input_.least_cut_1_m));
    pair_tiles();
    for (std::size_t p = 0; p < input_.sources.size() + input_.receivers.size(); ++p) reach(p);
    for (std::size_t s = 0; s < input_.sources.size(); ++s)
      for (std::size_t r = 0; r < input_.receivers.size(); ++r) go_straight(s, r);
    lay_tables();
    sum_tails();
    point_at_all();
  }

 private:
  /// The modes that reach over a gap with what e^-strength leaves of them.
  double reaching(double gap, double strength) const {
    const double k = input_.greatest_wave_number;
    return std::min(cap_, std::hypot(k, (strength + 0.7 * finer(input_)) / std::max(gap, 1e-6)));
  }
  double used(int axis, double cut) {
    greatest_[static_cast<std::size_t>(axis)] =
        std::max(greatest_[static_cast<std::size_t>(axis)], cut);
    return cut;
  }

  void pair_tiles() {
    const int count = static_cast<int>(out_.tiles.size());
    for (int i = 0; i < count; ++i)
      for (int j = i; j < count; ++j) {
        const WaveTile &one = out_.tiles[static_cast<std::size_t>(i)],
                       &two = out_.tiles[static_cast<std::size_t>(j)];
        if (one.axis != two.axis) {
          add_corner(i, j);
          continue;
        }
        const double cut =
            one.side == two.side ? base_ : std::min(base_, reaching(input_.size_m[one.axis], 10));
        out_.pairs[one.axis].push_back({i, j, nullptr, used(one.axis, cut)});
      }
    for (auto& list : out_.corners)
      std::stable_sort(list.begin(), list.end(), [&](const WaveCorner& a, const WaveCorner& b) {
        const auto wall = [&](const WaveCorner& c) {
          return out_.tiles[static_cast<std::size_t>(c.one)].wall;
        };
        return a.two != b.two ? a.two < b.two : wall(a) < wall(b);
      });
  }

  /// From the wall of `one` to the near edge of `two`, which lies across it.
  double gap(const WaveTile& one, const WaveTile& two) const {
    const int which = across_axis(two.axis, 0) == one.axis ? 0 : 1;
    return one.side == 0 ? two.low[which] : input_.size_m[one.axis] - two.high[which];
  }
  void add_corner(int i, int j) {
    const WaveTile &one = out_.tiles[static_cast<std::size_t>(i)],
                   &two = out_.tiles[static_cast<std::size_t>(j)];
    const double first = gap(one, two), second = gap(two, one);
    // A tie goes by the axis, so that the order of patches changes nothing.
    if (first > second || (first == second && one.axis < two.axis))
      out_.corners[one.axis].push_back({i, j, used(one.axis, reaching(first, 8))});
    else
      out_.corners[two.axis].push_back({j, i, used(two.axis, reaching(second, 8))});
  }

  void reach(std::size_t p) {
    const bool source = p < input_.sources.size();
    const auto& at = source ? input_.sources[p] : input_.receivers[p - input_.sources.size()];
    for (int axis = 0; axis < 3; ++axis) {
      WaveReach job{static_cast<int>(p), {0, 0}};
      for (const WaveTile& tile : out_.tiles)
        if (tile.axis == axis) {
          const double away = tile.side == 0 ? at[axis] : input_.size_m[axis] - at[axis];
          job.cut_1_m[tile.side] = used(axis, reaching(away, 9));
        }
      if (job.cut_1_m[0] + job.cut_1_m[1] > 0)
        (source ? out_.source_reach : out_.receiver_reach)[axis].push_back(job);
    }
  }

  void go_straight(std::size_t s, std::size_t r) {
    int best = 0;
    double least = 1e300;
    for (int axis = 0; axis < 3; ++axis) {
      const double away = std::abs(input_.sources[s][axis] - input_.receivers[r][axis]);
      const double cut = std::hypot(input_.greatest_wave_number, 14 / std::max(away, 1e-6));
      const double size =
          cut * cut * input_.size_m[across_axis(axis, 0)] * input_.size_m[across_axis(axis, 1)];
      if (size < least) least = size, best = axis;
    }
    const double away = std::abs(input_.sources[s][best] - input_.receivers[r][best]);
    WaveDirect job{
        static_cast<int>(s), static_cast<int>(r), used(best, reaching(away, 14)), {0, 0}};
    if (job.cut_1_m >= cap_)
      for (int d = 0; d < 2; ++d)
        job.add[d] = near_field_rest(input_.size_m, input_.sources[s], input_.receivers[r], best,
                                     job.cut_1_m, damping(d));
    out_.direct[best].push_back(job);
  }
  double damping(int which) const { return cap_ / (which == 0 ? 6 : 3); }

  void lay_tables() {
    for (int axis = 0; axis < 3; ++axis) {
      auto& starts = out_.row_start[axis];
      const double cut = greatest_[static_cast<std::size_t>(axis)];
      const double l0 = input_.size_m[across_axis(axis, 0)],
                   l1 = input_.size_m[across_axis(axis, 1)];
      starts = {0};
      for (int m = 0; cut > 0 && m * layout_pi / l0 <= cut; ++m) {
        const double q = m * layout_pi / l0;
        const int count = static_cast<int>(std::sqrt(cut * cut - q * q) * l1 / layout_pi) + 1;
        starts.push_back(starts.back() + count);
        modes_[across_axis(axis, 1)] = std::max(modes_[across_axis(axis, 1)], count);
      }
      modes_[across_axis(axis, 0)] =
          std::max(modes_[across_axis(axis, 0)], static_cast<int>(starts.size()) - 1);
    }
  }

  /// What lies beyond the tables, where two tiles of one wall are near each other.
  void sum_tails() {
    std::vector<WavePair*> near;
    for (auto& list : out_.pairs)
      for (WavePair& pair : list) {
        const WaveTile &one = out_.tiles[static_cast<std::size_t>(pair.one)],
                       &two = out_.tiles[static_cast<std::size_t>(pair.two)];
        if (one.side == two.side && apart(one, two) < 12 / base_) near.push_back(&pair);
      }
    out_.tails.resize(near.size());
    parallel_for(near.size(), input_.threads, [&](std::size_t i) {
      const WaveTile &one = out_.tiles[static_cast<std::size_t>(near[i]->one)],
                     &two = out_.tiles[static_cast<std::size_t>(near[i]->two)];
      const double half = std::min(least_half(one), least_half(two));
      const double fine = near[i]->one == near[i]->two ? 40 : 20;
      const double longest = *std::max_element(input_.size_m.begin(), input_.size_m.end());
      const double to = std::clamp(fine * std::exp2(0.5 * finer(input_)) / half, 2 * base_,
                                   std::max(2 * base_, 3000 * layout_pi / longest));
      out_.tails[i] = pair_tail(input_.size_m, one, two, base_, to);
      near[i]->tail = out_.tails[i].data();
    });
  }

  template <class Item>
  static WaveList<Item> list(const std::vector<Item>& items) {
    return {items.data(), static_cast<int>(items.size())};
  }
  void point_at_all() {
    WaveTask& task = out_.task;
    for (int a = 0; a < 3; ++a) {
      WaveAxis& axis = task.axis[a];
      axis.length = input_.size_m[a];
      axis.modes = modes_[a];
      axis.rows = static_cast<int>(out_.row_start[a].size()) - 1;
      axis.row_start = out_.row_start[a].data();
      axis.pairs = list(out_.pairs[a]);
      axis.corners = list(out_.corners[a]);
      axis.source_reach = list(out_.source_reach[a]);
      axis.receiver_reach = list(out_.receiver_reach[a]);
      std::stable_sort(
          out_.direct[a].begin(), out_.direct[a].end(),
          [](const WaveDirect& x, const WaveDirect& y) { return x.receiver < y.receiver; });
      axis.direct = list(out_.direct[a]);
    }
    task.tiles = list(out_.tiles);
    task.unknowns = layout_unknowns(input_);
    task.points = out_.points.data();
    task.sources = static_cast<int>(input_.sources.size());
    task.receivers = static_cast<int>(input_.receivers.size());
    task.strength = out_.strength.data();
    task.apart = input_.apart;
    for (int d = 0; d < 2; ++d) task.damping_1_m[d] = damping(d);
  }

  const LayoutInput& input_;
  Layout& out_;
  double base_, cap_;
  std::array<double, 3> greatest_{};
  std::array<int, 3> modes_{};
};

}  // namespace

int layout_unknowns(const LayoutInput& input) {
  double sum = 0;
  for (const WallPatch& patch : input.patches) {
    const SideCut a = cut_side(input, patch.high[0] - patch.low[0]);
    const SideCut b = cut_side(input, patch.high[1] - patch.low[1]);
    sum += double(a.pieces) * a.order * b.pieces * b.order;
  }
  return static_cast<int>(std::min(sum, 1e9));
}

double layout_cut_1_m(const LayoutInput& input) {
  const double shortest = *std::min_element(input.size_m.begin(), input.size_m.end());
  const double times = 3.5 + 0.5 * finer(input);
  return std::max({times * input.greatest_wave_number, 12 / shortest, 4.0});
}

void make_layout(const LayoutInput& input, Layout& out) {
  Planner(input, out).plan();
}

double layout_work(const Layout& layout) {
  const double n = layout.task.unknowns;
  double work = n * n * n / 6 + n * n * 40;
  for (int a = 0; a < 3; ++a) {
    const WaveAxis& axis = layout.task.axis[a];
    const double size = axis.row_start[axis.rows];
    work += size * (60 + 40.0 * (axis.source_reach.count + axis.receiver_reach.count));
    for (const WaveDirect& direct : axis.direct)
      work += 40 * std::min(size, direct.cut_1_m * direct.cut_1_m *
                                      layout.task.axis[across_axis(a, 0)].length *
                                      layout.task.axis[across_axis(a, 1)].length / 12);
    for (const WavePair& pair : axis.pairs) {
      const WaveTile& tile = layout.tiles[static_cast<std::size_t>(pair.one)];
      work += size * tile.order[0] * tile.order[0];
    }
    for (const WaveCorner& corner : axis.corners) {
      const WaveTile& tile = layout.tiles[static_cast<std::size_t>(corner.one)];
      work += size * (40 + tile.order[0] * tile.order[1]);
    }
  }
  return work;
}

std::size_t wave_space(const WaveTask& task) {
  std::size_t modes = 0, most_modes_axis = 1, tables = 0, most_table = 1, order = 1, integrals = 0;
  for (int a = 0; a < 3; ++a) {
    const std::size_t count = static_cast<std::size_t>(task.axis[a].modes);
    const std::size_t size = static_cast<std::size_t>(task.axis[a].row_start[task.axis[a].rows]);
    modes += count, tables += size;
    most_modes_axis = std::max(most_modes_axis, count), most_table = std::max(most_table, size);
  }
  for (const WaveTile& tile : task.tiles)
    for (int d = 0; d < 2; ++d) {
      order = std::max(order, static_cast<std::size_t>(tile.order[d]));
      integrals += static_cast<std::size_t>(tile.order[d]) *
                   static_cast<std::size_t>(task.axis[across_axis(tile.axis, d)].modes);
    }
  const std::size_t n = static_cast<std::size_t>(task.unknowns);
  const std::size_t sources = static_cast<std::size_t>(task.sources);
  std::size_t pairs = 4 * modes + 3 * tables + static_cast<std::size_t>(task.tiles.count) +
                      3 * sources + 2 + integrals + sources * modes + n * (n + 1) / 2 + n;
  const std::size_t assembling =
      (order * order + 2) * most_modes_axis + std::size_t{most_legendre} * most_table;
  const std::size_t receivers = static_cast<std::size_t>(task.receivers);
  const std::size_t sides = task.apart ? sources : 1;
  const std::size_t receiving =
      (task.apart ? n + most_modes_axis : 2 * tables) + modes + receivers * sides;
  pairs += n * sides + std::max(assembling, receiving);
  return pairs * 2 * wave_block + 64;
}

WaveKernel fastest_wave_kernel() {
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (__builtin_cpu_supports("avx512f")) return wave_kernel_avx512;
  if (__builtin_cpu_supports("avx2")) return wave_kernel_avx2;
#endif
  return wave_kernel_baseline;
}

}  // namespace roomwright::acoustics
