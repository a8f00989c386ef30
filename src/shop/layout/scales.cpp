// Conservative scales by linear programs; see scales.h. A program covers slices of parts by lines
// across the material, one size after another as the knapsack asks for them; its prices are the
// scale. Doubles end there: prices are rounded down to whole numbers, and what a line can weigh at
// most is computed from these, exactly.
#include "shop/layout/scales.h"

#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace roomwright::shop {

namespace {

constexpr std::int64_t finest_line = 24'000;     ///< longer lines are coarsened, to the safe side
constexpr std::int64_t most_steps = 50'000'000;  ///< of the knapsacks behind one scale
constexpr std::size_t many_sizes = 150;
constexpr double price_grain = 1 << 22;

/// The sizes that meet a line along one axis, each at most so often, and the line's length. Sizes
/// are rounded down where the line is coarsened: then no line that exists is forgotten.
struct Line {
  std::vector<std::int64_t> sizes, limits;
  std::int64_t length = 0;
};

/// What lies best on a line: 0 <= n_i <= limit_i, of whole weights.
class Knapsack {
 public:
  explicit Knapsack(const Line& line) : line_(line) {
    const auto whole = static_cast<std::size_t>(line.length) + 1;
    best_.resize(whole);
    for (std::size_t i = 0; i < line.sizes.size(); ++i) {
      std::int64_t left = std::min(
          line.limits[i], line.sizes[i] > 0 ? line.length / line.sizes[i] : line.limits[i]);
      for (std::int64_t bundle = 1; left > 0; bundle *= 2) {
        const std::int64_t take = std::min(bundle, left);
        bundles_.push_back({i, take});
        left -= take;
      }
    }
    taken_.assign(bundles_.size() * whole, 0);
  }

  std::int64_t best(const std::vector<std::int64_t>& weights, std::vector<std::int64_t>* counts) {
    std::fill(best_.begin(), best_.end(), 0);
    const auto whole = best_.size();
    for (std::size_t b = 0; b < bundles_.size(); ++b) {
      const auto [item, take] = bundles_[b];
      const auto size = static_cast<std::size_t>(take * line_.sizes[item]);
      const std::int64_t weight = take * weights[item];
      char* taken = counts ? &taken_[b * whole] : nullptr;
      if (taken) std::fill(taken, taken + whole, char(0));
      if (weight == 0) continue;
      for (std::size_t at = whole; at-- > size;)
        if (best_[at - size] + weight > best_[at]) {
          best_[at] = best_[at - size] + weight;
          if (taken) taken[at] = 1;
        }
    }
    if (counts) read(*counts);
    return best_.back();
  }

 private:
  void read(std::vector<std::int64_t>& counts) const {
    counts.assign(line_.sizes.size(), 0);
    std::size_t at = best_.size() - 1;
    for (std::size_t b = bundles_.size(); b-- > 0;)
      if (taken_[b * best_.size() + at]) {
        counts[bundles_[b].first] += bundles_[b].second;
        at -= static_cast<std::size_t>(bundles_[b].second * line_.sizes[bundles_[b].first]);
      }
  }
  const Line& line_;
  std::vector<std::pair<std::size_t, std::int64_t>> bundles_;
  std::vector<std::int64_t> best_;
  std::vector<char> taken_;
};

/// Weights by size, and what a whole line weighs at most.
struct Scale1d {
  std::vector<std::int64_t> weights;
  std::int64_t whole = 0;
  double of(std::size_t size) const { return double(weights[size]) / double(whole); }
};

/// What must be covered: each size so much; or, for a part that may turn, one size or the other.
struct Demand {
  std::size_t size = 0;
  double amount = 0;  ///< by copy
  std::int64_t count = 0;
  bool turns = false;  ///< else the second is not there
  std::size_t turned_size = 0;
  double turned_amount = 0;
};

Scale1d whole_scale(const Line& line, Knapsack& knapsack, const double* prices) {
  Scale1d scale;
  for (std::size_t i = 0; i < line.sizes.size(); ++i)
    scale.weights.push_back(
        static_cast<std::int64_t>(std::floor(std::clamp(prices[i], 0.0, 1.0) * price_grain)));
  scale.whole = std::max<std::int64_t>(1, knapsack.best(scale.weights, nullptr));
  return scale;
}

void add_pattern(OsiClpSolverInterface& clp, const std::vector<std::int64_t>& counts) {
  std::vector<int> rows;
  std::vector<double> values;
  for (std::size_t i = 0; i < counts.size(); ++i)
    if (counts[i] > 0) {
      rows.push_back(static_cast<int>(i));
      values.push_back(double(counts[i]));
    }
  clp.addCol(static_cast<int>(rows.size()), rows.data(), values.data(), 0, COIN_DBL_MAX, 1);
}

void add_demands(OsiClpSolverInterface& clp, const Line& line, const std::vector<Demand>& demands) {
  std::vector<double> firm(line.sizes.size(), 0);
  for (const Demand& demand : demands)
    if (!demand.turns) firm[demand.size] += demand.amount * double(demand.count);
  for (const double amount : firm) clp.addRow(0, nullptr, nullptr, amount, COIN_DBL_MAX);
  for (const Demand& demand : demands) {
    if (!demand.turns) continue;
    const int own = clp.getNumRows();
    clp.addRow(0, nullptr, nullptr, double(demand.count), COIN_DBL_MAX);
    const int rows[] = {static_cast<int>(demand.size), own};
    const double values[] = {-demand.amount, 1};
    clp.addCol(2, rows, values, 0, COIN_DBL_MAX, 0);
    const int other_rows[] = {static_cast<int>(demand.turned_size), own};
    const double other_values[] = {-demand.turned_amount, 1};
    clp.addCol(2, other_rows, other_values, 0, COIN_DBL_MAX, 0);
  }
}

/// The scale for which the demands weigh most.
Scale1d best_scale(const Line& line, const std::vector<Demand>& demands) {
  OsiClpSolverInterface clp;
  clp.messageHandler()->setLogLevel(0);
  clp.getModelPtr()->setLogLevel(0);
  add_demands(clp, line, demands);
  for (std::size_t i = 0; i < line.sizes.size(); ++i) {
    std::vector<std::int64_t> counts(line.sizes.size(), 0);
    counts[i] = std::max<std::int64_t>(
        1,
        std::min(line.limits[i], line.sizes[i] > 0 ? line.length / line.sizes[i] : line.limits[i]));
    add_pattern(clp, counts);
  }
  Knapsack knapsack(line);
  Scale1d best;
  double best_sum = -1;
  std::vector<std::int64_t> counts;
  const auto rounds = static_cast<int>(std::clamp<std::int64_t>(
      most_steps / (line.length * static_cast<std::int64_t>(line.sizes.size()) + 1), 12, 300));
  for (int round = 0; round < rounds; ++round) {
    if (round == 0)
      clp.initialSolve();
    else
      clp.resolve();
    if (!clp.isProvenOptimal()) break;
    Scale1d scale = whole_scale(line, knapsack, clp.getRowPrice());
    const double reached = clp.getObjValue() / (double(scale.whole) / price_grain);
    if (reached > best_sum) best_sum = reached, best = scale;
    if (double(scale.whole) <= price_grain * (1 + 1e-7)) break;
    knapsack.best(scale.weights, &counts);
    add_pattern(clp, counts);
  }
  if (best.weights.empty()) best = {std::vector<std::int64_t>(line.sizes.size(), 0), 1};
  return best;
}

/// Sizes along one axis: what they are, and how often each can meet one line.
class Axis {
 public:
  Axis(const LayoutProblem& problem, bool across, std::int64_t length) : length_(length) {
    for (std::size_t i = 0; i < problem.items.size(); ++i) {
      const Item& item = problem.items[i];
      upright_.push_back(add(across ? item.width : item.height, item.count));
      lying_.push_back(item.turns ? add(across ? item.height : item.width, item.count)
                                  : upright_.back());
    }
    std::int64_t step = length;
    for (const auto size : sizes_) step = std::gcd(step, size);
    step_ = std::max<std::int64_t>(1, step);
  }
  Line line() const {
    Line line{sizes_, limits_, length_};
    const std::int64_t steps = length_ / step_;
    const long double grain = steps > finest_line ? static_cast<long double>(length_) / finest_line
                                                  : static_cast<long double>(step_);
    line.length = std::min(steps, finest_line);
    for (auto& size : line.sizes)
      size = steps > finest_line
                 ? std::min(finest_line + 1,
                            static_cast<std::int64_t>(
                                std::floor(static_cast<long double>(size) / grain * (1 - 1e-15L))))
                 : size / step_;
    return line;
  }
  std::size_t size_of(std::size_t item, bool turned) const {
    return turned ? lying_[item] : upright_[item];
  }
  bool too_long(std::size_t item, bool turned) const {
    return sizes_[size_of(item, turned)] > length_;
  }
  std::int64_t size(std::size_t index) const { return sizes_[index]; }

 private:
  std::size_t add(std::int64_t size, std::int64_t count) {
    const auto [at, fresh] = known_.try_emplace(size, sizes_.size());
    if (fresh) sizes_.push_back(size), limits_.push_back(0);
    limits_[at->second] += count;
    return at->second;
  }
  std::map<std::int64_t, std::size_t> known_;
  std::vector<std::int64_t> sizes_, limits_;
  std::vector<std::size_t> upright_, lying_;
  std::int64_t length_ = 0, step_ = 1;
};

/// Each part's weight on one axis, by the way it lies.
struct Weights {
  std::vector<double> upright, lying;
};

Weights weights_of(const LayoutProblem& problem, const Axis& axis, const Scale1d& scale) {
  Weights out;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    out.upright.push_back(scale.of(axis.size_of(i, false)));
    out.lying.push_back(scale.of(axis.size_of(i, true)));
  }
  return out;
}

/// A way is not open where the part is too long for either axis.
struct Ways {
  std::vector<char> upright, lying;
};

std::vector<Demand> demands_of(const LayoutProblem& problem, const Axis& axis, const Weights& cross,
                               const Ways& ways) {
  std::vector<Demand> out;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    const Item& item = problem.items[i];
    Demand demand{axis.size_of(i, false), cross.upright[i], item.count, false, 0, 0};
    if (item.turns && ways.upright[i] && ways.lying[i]) {
      demand.turns = true;
      demand.turned_size = axis.size_of(i, true);
      demand.turned_amount = cross.lying[i];
    } else if (!ways.upright[i]) {
      demand.size = axis.size_of(i, true);
      demand.amount = cross.lying[i];
    }
    out.push_back(demand);
  }
  return out;
}

double weighed(const LayoutProblem& problem, const Weights& a, const Weights& b, const Ways& ways) {
  long double sum = 0;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    double least = ways.upright[i] ? a.upright[i] * b.upright[i] : a.lying[i] * b.lying[i];
    if (problem.items[i].turns && ways.upright[i] && ways.lying[i])
      least = std::min(least, a.lying[i] * b.lying[i]);
    sum += static_cast<long double>(least) * static_cast<long double>(problem.items[i].count);
  }
  return double(sum);
}

/// Sizes as they are: the scale that is always there.
Weights plain_weights(const LayoutProblem& problem, const Axis& axis, std::int64_t whole) {
  Weights out;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    out.upright.push_back(double(axis.size(axis.size_of(i, false))) / double(whole));
    out.lying.push_back(double(axis.size(axis.size_of(i, true))) / double(whole));
  }
  return out;
}

/// 1 for what is longer than half, ½ for a half.
Weights large_weights(const LayoutProblem& problem, const Axis& axis, std::int64_t whole) {
  const auto weight = [&](std::int64_t size) {
    return 2 * size > whole ? 1.0 : 2 * size == whole ? 0.5 : 0.0;
  };
  Weights out;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    out.upright.push_back(weight(axis.size(axis.size_of(i, false))));
    out.lying.push_back(weight(axis.size(axis.size_of(i, true))));
  }
  return out;
}

Ways open_ways(const LayoutProblem& problem, const Axis& across, const Axis* along) {
  Ways ways;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    const auto open = [&](bool turned) {
      return !across.too_long(i, turned) && !(along && along->too_long(i, turned));
    };
    ways.upright.push_back(open(false));
    ways.lying.push_back(problem.items[i].turns && open(true));
  }
  return ways;
}

/// The weighted area of everything, in sheets: scales on either axis are improved in turn; hastily:
/// once each.
double area_in_sheets(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
                      double enough, bool hasty, const Watch& watch) {
  const Axis across(problem, true, width), along(problem, false, height);
  const Ways ways = open_ways(problem, across, &along);
  const Line line_across = across.line(), line_along = along.line();
  double best = weighed(problem, plain_weights(problem, across, width),
                        plain_weights(problem, along, height), ways);
  const int starts = hasty || line_across.sizes.size() > many_sizes ? 1 : 4;
  for (int start = 0; start < starts && best < enough; ++start) {
    const bool begin_along = start % 2 == 0;
    const Axis& first = begin_along ? along : across;
    const std::int64_t whole = begin_along ? height : width;
    Weights one =
        start < 2 ? plain_weights(problem, first, whole) : large_weights(problem, first, whole);
    double reached = 0;
    for (int turn = 0; turn < (starts > 1 ? 6 : 2) && !watch.cancelled(); ++turn) {
      const bool on_across = (turn % 2 == 0) == begin_along;
      const Axis& axis = on_across ? across : along;
      const Scale1d scale =
          best_scale(on_across ? line_across : line_along, demands_of(problem, axis, one, ways));
      const Weights other = weights_of(problem, axis, scale);
      const double sum = weighed(problem, other, one, ways);
      best = std::max(best, sum);
      if (best >= enough || (turn > 0 && sum < reached * (1 + 1e-6))) break;
      reached = sum;
      one = other;
    }
  }
  return best;
}

}  // namespace

std::int64_t sheet_count_bound(const LayoutProblem& problem, double enough, bool hasty,
                               const Watch& watch) {
  const Material& sheet = problem.materials[0];
  if (problem.items.empty()) return 0;
  return static_cast<std::int64_t>(std::ceil(
      area_in_sheets(problem, sheet.width, sheet.height, enough, hasty, watch) * (1 - 1e-11)));
}

bool roll_too_short(const LayoutProblem& problem, std::int64_t length, bool hasty,
                    const Watch& watch) {
  return area_in_sheets(problem, problem.materials[0].width, length, 1 + 1e-9, hasty, watch) >
         1 + 1e-9;
}

std::int64_t roll_bound(const LayoutProblem& problem, std::int64_t enough, const Watch& watch) {
  if (problem.items.empty()) return 0;
  const Axis across(problem, true, problem.materials[0].width);
  const Ways ways = open_ways(problem, across, nullptr);
  std::int64_t tallest = 0;
  Weights heights;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    const Item& item = problem.items[i];
    tallest = std::max(tallest, ways.upright[i] && ways.lying[i] ? std::min(item.width, item.height)
                                : ways.upright[i]                ? item.height
                                                                 : item.width);
    heights.upright.push_back(double(item.height));
    heights.lying.push_back(double(item.width));
  }
  const Scale1d scale = best_scale(across.line(), demands_of(problem, across, heights, ways));
  const double sliced = weighed(problem, weights_of(problem, across, scale), heights, ways);
  const double by_area = problem.area() / double(problem.materials[0].width);
  std::int64_t low = std::max(
      tallest, static_cast<std::int64_t>(std::ceil(std::max(sliced, by_area) * (1 - 1e-11))));
  // Lengths into which the scales of both axes do not let everything go: mostly there are none.
  for (int step = 0; step < 4 && low < enough; ++step) {
    const std::int64_t tried = low + (enough - low) / 8 * (step > 0);
    if (!roll_too_short(problem, tried, false, watch)) break;
    low = tried + 1;
  }
  return low;
}

}  // namespace roomwright::shop
