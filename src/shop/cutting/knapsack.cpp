// The best packing by a list of states (size filled, value) of which none is both fuller and worth
// less than another, items taken by falling density; states that cannot pass the best any more are
// dropped. Where the list grows beyond all limits, a depth-first search with a fractional bound
// answers, and says what it cannot exclude. See knapsack.h.
#include "shop/cutting/knapsack.h"

#include <algorithm>
#include <cmath>

namespace roomwright::shop {

namespace {

constexpr std::size_t most_states = 3'000'000;
constexpr std::size_t most_spaces_pruned = 3;
constexpr std::size_t most_others = 10;
constexpr std::int64_t search_nodes = 300'000;

class PackList {
 public:
  PackList(const Problem& problem, const std::vector<Space>& spaces, const Counts& limits,
           const std::vector<std::int64_t>& values)
      : problem_(problem),
        spaces_(spaces),
        limits_(limits),
        values_(values),
        order_(by_density(problem, values)) {
    for (const Space& space : spaces) {
      widest_ = std::max(widest_, space.capacity);
      best_.push_back({space.floor, -1, {}});
    }
    least_size_.assign(order_.size(), INT64_MAX);
    most_value_.assign(order_.size(), 0);
    for (std::size_t at = order_.size(); at-- > 0;) {
      least_size_[at] = problem.items[order_[at]].size;
      most_value_[at] = static_cast<double>(values[order_[at]]);
      if (at + 1 == order_.size()) continue;
      least_size_[at] = std::min(least_size_[at], least_size_[at + 1]);
      most_value_[at] = std::max(most_value_[at], most_value_[at + 1]);
    }
  }

  /// False where there were too many states.
  bool run(std::vector<Packed>& out) {
    list_.push_back({0, 0, -1});
    for (std::size_t at = 0; at < order_.size() && !list_.empty(); ++at) {
      if (!take_item(at)) return false;
      if (spaces_.size() <= most_spaces_pruned && at + 1 < order_.size()) prune(at + 1);
    }
    for (std::size_t c = 0; c < spaces_.size(); ++c) out.push_back(packed(c));
    return true;
  }

 private:
  struct State {
    std::int64_t size, value;
    std::int32_t step;  ///< the last of the steps that led here
  };
  struct Step {
    std::int32_t before, item;
    std::int64_t count;
  };

  /// The limit of an item in shares of 1, 2, 4 …, each taken or not.
  bool take_item(std::size_t at) {
    const std::size_t item = order_[at];
    const std::int64_t size = problem_.items[item].size;
    std::int64_t left = std::min(limits_[item], widest_ / size);
    for (std::int64_t share = 1; left > 0; share *= 2) {
      const std::int64_t count = std::min(share, left);
      left -= count;
      merge(static_cast<std::int32_t>(item), count, count * size, count * values_[item]);
      if (steps_.size() > most_states) return false;
    }
    return true;
  }

  void merge(std::int32_t item, std::int64_t count, std::int64_t size, std::int64_t value) {
    next_.clear();
    std::size_t kept = 0;  // old states that are already over
    std::int64_t top = -1;
    for (const State& from : list_) {
      const std::int64_t full = from.size + size;
      if (full > widest_) break;
      for (; kept < list_.size() && list_[kept].size <= full; ++kept) keep(list_[kept], top);
      if (from.value + value <= top) continue;
      steps_.push_back({from.step, item, count});
      keep({full, from.value + value, static_cast<std::int32_t>(steps_.size() - 1)}, top);
    }
    for (; kept < list_.size(); ++kept) keep(list_[kept], top);
    list_.swap(next_);
  }

  /// Drops what is worth no more than a state that is no fuller.
  void keep(const State& state, std::int64_t& top) {
    if (state.value <= top) return;
    top = state.value;
    if (!next_.empty() && next_.back().size == state.size)
      next_.back() = state;
    else
      next_.push_back(state);
  }

  /// Notes the best of each capacity and drops states that the items left cannot lift above it.
  void prune(std::size_t at) {
    note_best();
    const double density = static_cast<double>(values_[order_[at]]) /
                           static_cast<double>(problem_.items[order_[at]].size) * (1 + 1e-12);
    const double per_size = (1 + 1e-12) / static_cast<double>(least_size_[at]);
    std::size_t out = 0;
    for (const State& state : list_) {
      bool alive = false;
      for (std::size_t c = 0; c < spaces_.size() && !alive; ++c) {
        const auto rest = static_cast<double>(spaces_[c].capacity - state.size);
        if (rest < 0) continue;
        const double more = std::floor(rest * per_size) * most_value_[at];  // so many items at most
        alive = static_cast<double>(state.value) + std::min(density * rest, more) >=
                static_cast<double>(best_[c].value + 1);
      }
      if (alive) list_[out++] = state;
    }
    list_.resize(out);
  }

  void note_best() {
    for (std::size_t c = 0; c < spaces_.size(); ++c) {
      auto at = std::upper_bound(
          list_.begin(), list_.end(), spaces_[c].capacity,
          [](std::int64_t capacity, const State& state) { return capacity < state.size; });
      if (at == list_.begin()) continue;
      --at;
      if (at->value <= best_[c].value) continue;
      if (best_[c].step >= 0) best_[c].earlier.push_back(best_[c].step);
      best_[c].value = at->value;
      best_[c].step = at->step;
    }
  }

  Packed packed(std::size_t c) {
    if (c == 0) note_best();
    Packed out;
    out.bound = best_[c].value;
    out.value = best_[c].step < 0 ? 0 : out.bound;
    out.counts = counts_of(best_[c].step);
    const auto& earlier = best_[c].earlier;
    for (std::size_t e = earlier.size(); e-- > 0 && out.others.size() < most_others;)
      out.others.push_back(counts_of(earlier[e]));
    return out;
  }

  Counts counts_of(std::int32_t last) const {
    Counts out(problem_.items.size(), 0);
    for (std::int32_t s = last; s >= 0; s = steps_[static_cast<std::size_t>(s)].before) {
      const Step& step = steps_[static_cast<std::size_t>(s)];
      out[static_cast<std::size_t>(step.item)] += step.count;
    }
    return out;
  }

  struct Best {
    std::int64_t value = 0;
    std::int32_t step = -1;
    std::vector<std::int32_t> earlier;
  };
  const Problem& problem_;
  const std::vector<Space>& spaces_;
  const Counts& limits_;
  const std::vector<std::int64_t>& values_;
  std::vector<std::size_t> order_;
  std::vector<Best> best_;
  std::vector<std::int64_t> least_size_;  ///< of the items from one of the order on
  std::vector<double> most_value_;
  std::int64_t widest_ = 0;
  std::vector<State> list_, next_;
  std::vector<Step> steps_;
};

class PackSearch {
 public:
  PackSearch(const Problem& problem, const Counts& limits, const std::vector<std::int64_t>& values)
      : problem_(problem), limits_(limits), values_(values), order_(by_density(problem, values)) {
    best_.counts.assign(problem.items.size(), 0);
    counts_ = best_.counts;
  }
  Packed run(std::int64_t capacity) {
    best_.bound = rest_bound(0, capacity);
    go(0, capacity, 0);
    if (nodes_ < search_nodes) best_.bound = best_.value;
    return best_;
  }

 private:
  std::int64_t rest_bound(std::size_t at, std::int64_t rest) const {
    return at >= order_.size() ? 0 : most_at_density(problem_, values_, order_[at], rest);
  }

  void go(std::size_t at, std::int64_t rest, std::int64_t value) {
    if (value > best_.value) {
      best_.value = value;
      best_.counts = counts_;
    }
    if (at >= order_.size() || ++nodes_ >= search_nodes) return;
    if (value + rest_bound(at, rest) <= best_.value) return;
    const std::size_t item = order_[at];
    const std::int64_t size = problem_.items[item].size;
    for (std::int64_t n = std::min(limits_[item], rest / size); n >= 0; --n) {
      counts_[item] = n;
      go(at + 1, rest - n * size, value + n * values_[item]);
    }
    counts_[item] = 0;
  }

  const Problem& problem_;
  const Counts& limits_;
  const std::vector<std::int64_t>& values_;
  std::vector<std::size_t> order_;
  Packed best_;
  Counts counts_;
  std::int64_t nodes_ = 0;
};

}  // namespace

std::vector<std::size_t> by_density(const Problem& problem,
                                    const std::vector<std::int64_t>& values) {
  std::vector<std::pair<double, std::size_t>> rated;
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    if (values[i] > 0)
      rated.emplace_back(
          -static_cast<double>(values[i]) / static_cast<double>(problem.items[i].size), i);
  std::sort(rated.begin(), rated.end());
  std::vector<std::size_t> order;
  for (const auto& [rate, i] : rated) order.push_back(i);
  return order;
}

std::int64_t most_at_density(const Problem& problem, const std::vector<std::int64_t>& values,
                             std::size_t item, std::int64_t rest) {
  const double density =
      static_cast<double>(values[item]) / static_cast<double>(problem.items[item].size);
  return static_cast<std::int64_t>(density * static_cast<double>(rest) * (1 + 1e-12)) + 1;
}

std::vector<Packed> pack_best(const Problem& problem, const std::vector<Space>& spaces,
                              const Counts& limits, const std::vector<std::int64_t>& values) {
  std::vector<Packed> out;
  if (PackList(problem, spaces, limits, values).run(out)) return out;
  out.clear();
  for (const Space& space : spaces)
    out.push_back(PackSearch(problem, limits, values).run(space.capacity));
  return out;
}

}  // namespace roomwright::shop
