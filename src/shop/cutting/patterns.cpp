// Patterns of one stick: the best by dynamic programming over the capacity where that is small,
// else by depth-first search with a fractional bound; and the list of all good ones. See
// patterns.h.
#include "shop/cutting/patterns.h"

#include <algorithm>
#include <numeric>

namespace roomwright::shop {

namespace {

constexpr std::int64_t table_capacity = 60'000;
constexpr std::size_t table_cells = 40'000'000;
constexpr std::int64_t search_nodes = 300'000;

/// A share of an item's limit, taken or not: limits in powers of two.
struct Share {
  std::size_t item;
  std::int64_t count, size, value;
};

std::vector<Share> shares_of(const Problem& problem, std::int64_t capacity, const Counts& limits,
                             const std::vector<std::int64_t>& values) {
  std::vector<Share> out;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    if (values[i] <= 0) continue;
    const std::int64_t size = problem.items[i].size;
    std::int64_t left = std::min(limits[i], capacity / size);
    for (std::int64_t step = 1; left > 0; step *= 2) {
      const std::int64_t take = std::min(step, left);
      out.push_back({i, take, take * size, take * values[i]});
      left -= take;
    }
  }
  return out;
}

Packed pack_by_table(const std::vector<Share>& shares, std::int64_t capacity, std::size_t items) {
  const auto width = static_cast<std::size_t>(capacity) + 1;
  std::vector<std::int64_t> best(width, 0);
  std::vector<bool> taken(shares.size() * width, false);
  for (std::size_t s = 0; s < shares.size(); ++s) {
    const auto size = static_cast<std::size_t>(shares[s].size);
    for (std::size_t c = width; c-- > size;)
      if (best[c - size] + shares[s].value > best[c]) {
        best[c] = best[c - size] + shares[s].value;
        taken[s * width + c] = true;
      }
  }
  Packed out;
  out.counts.assign(items, 0);
  out.value = out.bound = best[width - 1];
  std::size_t c = width - 1;
  for (std::size_t s = shares.size(); s-- > 0;)
    if (taken[s * width + c]) {
      out.counts[shares[s].item] += shares[s].count;
      c -= static_cast<std::size_t>(shares[s].size);
    }
  return out;
}

/// Items by falling value for their size.
std::vector<std::size_t> by_density(const Problem& problem,
                                    const std::vector<std::int64_t>& values) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    if (values[i] > 0) order.push_back(i);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return static_cast<long double>(values[a]) / static_cast<long double>(problem.items[a].size) >
           static_cast<long double>(values[b]) / static_cast<long double>(problem.items[b].size);
  });
  return order;
}

/// No filling of the rest from item `at` of the order on is worth more than this.
std::int64_t rest_bound(const Problem& problem, const std::vector<std::int64_t>& values,
                        const std::vector<std::size_t>& order, std::size_t at, std::int64_t rest) {
  if (at >= order.size()) return 0;
  const long double density = static_cast<long double>(values[order[at]]) /
                              static_cast<long double>(problem.items[order[at]].size);
  return static_cast<std::int64_t>(density * static_cast<long double>(rest) * (1 + 1e-15L)) + 1;
}

class PackSearch {
 public:
  PackSearch(const Problem& problem, const Counts& limits, const std::vector<std::int64_t>& values)
      : problem_(problem), limits_(limits), values_(values), order_(by_density(problem, values)) {
    best_.counts.assign(problem.items.size(), 0);
    counts_ = best_.counts;
  }
  Packed run(std::int64_t capacity) {
    best_.bound = rest_bound(problem_, values_, order_, 0, capacity);
    go(0, capacity, 0);
    best_.exact = nodes_ < search_nodes;
    if (best_.exact) best_.bound = best_.value;
    return best_;
  }

 private:
  void go(std::size_t at, std::int64_t rest, std::int64_t value) {
    if (value > best_.value) {
      best_.value = value;
      best_.counts = counts_;
    }
    if (at >= order_.size() || ++nodes_ >= search_nodes) return;
    if (value + rest_bound(problem_, values_, order_, at, rest) <= best_.value) return;
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

class PatternList {
 public:
  PatternList(const Problem& problem, int bin, const std::vector<std::int64_t>& values,
              std::int64_t least, std::size_t most, std::vector<Pattern>& out)
      : problem_(problem), values_(values), least_(least), most_(most), out_(out) {
    // Items without value still fill a pattern up to be maximal: they come last.
    order_ = by_density(problem, values);
    for (std::size_t i = 0; i < problem.items.size(); ++i)
      if (values[i] <= 0) order_.push_back(i);
    pattern_.bin = bin;
    pattern_.counts.assign(problem.items.size(), 0);
  }
  bool run(std::int64_t capacity) {
    go(0, capacity, 0);
    return complete_;
  }

 private:
  void go(std::size_t at, std::int64_t rest, std::int64_t value) {
    if (!complete_) return;
    if (++nodes_ > 40 * most_ || out_.size() >= most_) {
      complete_ = false;
      return;
    }
    if (at == order_.size()) {
      if (value >= least_ && maximal(rest)) out_.push_back(pattern_);
      return;
    }
    if (value + rest_bound(problem_, values_, order_, at, rest) < least_) return;
    const std::size_t item = order_[at];
    const std::int64_t size = problem_.items[item].size;
    for (std::int64_t n = std::min(problem_.items[item].demand, rest / size); n >= 0; --n) {
      pattern_.counts[item] = n;
      go(at + 1, rest - n * size, value + n * values_[item]);
    }
    pattern_.counts[item] = 0;
  }
  bool maximal(std::int64_t rest) const {
    for (std::size_t i = 0; i < problem_.items.size(); ++i)
      if (problem_.items[i].size <= rest && pattern_.counts[i] < problem_.items[i].demand)
        return false;
    return true;
  }

  const Problem& problem_;
  const std::vector<std::int64_t>& values_;
  std::int64_t least_;
  std::size_t most_;
  std::vector<Pattern>& out_;
  std::vector<std::size_t> order_;
  Pattern pattern_;
  std::size_t nodes_ = 0;
  bool complete_ = true;
};

}  // namespace

Packed pack_best(const Problem& problem, std::int64_t capacity, const Counts& limits,
                 const std::vector<std::int64_t>& values) {
  const auto shares = shares_of(problem, capacity, limits, values);
  if (capacity <= table_capacity &&
      shares.size() * (static_cast<std::size_t>(capacity) + 1) <= table_cells)
    return pack_by_table(shares, std::max<std::int64_t>(0, capacity), problem.items.size());
  return PackSearch(problem, limits, values).run(capacity);
}

BestPattern best_pattern(const Problem& problem, int bin, const Counts& limits,
                         const std::vector<std::int64_t>& values) {
  const Problem::Bin& stick = problem.bins[static_cast<std::size_t>(bin)];
  BestPattern out;
  out.pattern.bin = bin;
  if (stick.stretches.size() == 1) {
    Packed packed = pack_best(problem, stick.capacity, limits, values);
    out.pattern.counts = std::move(packed.counts);
    out.value = packed.value;
    out.bound = packed.bound;
    return out;
  }
  out.bound = pack_best(problem, stick.capacity, limits, values).bound;
  out.pattern.counts.assign(problem.items.size(), 0);
  Counts left = limits;
  for (const auto& [from, to] : stick.stretches) {
    const Packed packed = pack_best(problem, to - from + problem.kerf, left, values);
    for (std::size_t i = 0; i < left.size(); ++i) {
      left[i] -= packed.counts[i];
      out.pattern.counts[i] += packed.counts[i];
    }
    out.value += packed.value;
    out.pattern.stretches.push_back(packed.counts);
  }
  return out;
}

bool list_patterns(const Problem& problem, int bin, const std::vector<std::int64_t>& values,
                   std::int64_t least, std::size_t most, std::vector<Pattern>& out) {
  return PatternList(problem, bin, values, least, most, out)
      .run(problem.bins[static_cast<std::size_t>(bin)].capacity);
}

}  // namespace roomwright::shop
