// Plans without proof; see plans.h.
#include "shop/cutting/plans.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace roomwright::shop {

namespace {

/// The fullest pattern of each bin that has sticks left, or that by the rule.
std::vector<Pattern> candidates(const Problem& problem, const Left& left, const Prices& sizes,
                                Greedy how) {
  std::vector<int> bins;
  for (int b = 0; b < static_cast<int>(problem.bins.size()); ++b)
    if (problem.bin(b).root == b && left.sticks(problem, b) > 0) bins.push_back(b);
  std::vector<Pattern> out;
  if (how == Greedy::longest_first) {
    for (const int b : bins) out.push_back(longest_first(problem, b, left.demand));
    return out;
  }
  for (const int b : bins) {
    // Stretch by stretch, so that nothing is cut twice.
    const Problem::Bin& bin = problem.bin(b);
    if (!bin.whole()) {
      out.push_back(longest_first(problem, b, left.demand));
      continue;
    }
    auto best = best_patterns(problem, {b}, left.demand, sizes);
    out.push_back(std::move(best[0].pattern));
  }
  return out;
}

}  // namespace

Pattern longest_first(const Problem& problem, int bin, const Counts& demand) {
  Pattern pattern;
  pattern.bin = bin;
  pattern.counts.assign(demand.size(), 0);
  const Problem::Bin& stick = problem.bin(bin);
  Counts left = demand;
  for (const auto& [from, to] : stick.stretches) {
    std::int64_t rest = to - from + problem.kerf;
    Counts here(demand.size(), 0);
    for (std::size_t i = 0; i < demand.size(); ++i) {
      here[i] = std::min(left[i], rest / problem.items[i].size);
      rest -= here[i] * problem.items[i].size;
      left[i] -= here[i];
      pattern.counts[i] += here[i];
    }
    if (!stick.whole()) pattern.stretches.push_back(here);
  }
  return pattern;
}

void fill_greedily(const Problem& problem, Left& left, Solution& out, Greedy how,
                   const std::function<bool()>& late) {
  Prices sizes;
  for (const auto& item : problem.items) sizes.item.push_back(item.size);
  while (!left.done()) {
    if (late && late()) how = Greedy::longest_first;
    Pattern best;
    long double best_rate = 0;
    std::int64_t best_fill = 0;
    for (Pattern& pattern : candidates(problem, left, sizes, how)) {
      const std::int64_t fill = filled(problem, pattern.counts);
      if (fill == 0) continue;
      const long double rate =
          static_cast<long double>(problem.bin(pattern.bin).cost) / static_cast<long double>(fill);
      if (best_fill == 0 || rate < best_rate || (rate == best_rate && fill > best_fill)) {
        best = std::move(pattern);
        best_rate = rate;
        best_fill = fill;
      }
    }
    if (best_fill == 0) return;
    const std::int64_t times = std::max<std::int64_t>(1, left.times(problem, best));
    left.take(problem, best, times);
    out.add(problem, std::move(best), times);
  }
  out.whole = true;
}

Solution greedy(const Problem& problem, Greedy how, const std::function<bool()>& late) {
  Solution out;
  Left left(problem);
  fill_greedily(problem, left, out, how, late);
  return out;
}

Solution best_fit(const Problem& problem) {
  constexpr std::int64_t most_parts = 2000;
  Solution out;
  std::int64_t parts = 0;
  for (const auto& item : problem.items) parts += item.demand;
  // The bin that is cheapest for its length, as long as it suffices; else the other rules serve.
  int best = -1;
  for (int b = 0; b < static_cast<int>(problem.bins.size()); ++b) {
    const Problem::Bin& bin = problem.bin(b);
    if (bin.root != b || !bin.whole() || bin.capacity < problem.items[0].size) continue;
    if (best < 0 ||
        Huge(bin.cost) * problem.bin(best).capacity < Huge(problem.bin(best).cost) * bin.capacity)
      best = b;
  }
  if (best < 0 || parts > most_parts) return out;
  std::vector<std::int64_t> rest;
  std::vector<Pattern> sticks;
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    for (std::int64_t n = 0; n < problem.items[i].demand; ++n) {
      std::size_t at = rest.size();
      for (std::size_t s = 0; s < rest.size(); ++s)
        if (rest[s] >= problem.items[i].size && (at == rest.size() || rest[s] < rest[at])) at = s;
      if (at == rest.size()) {
        rest.push_back(problem.bin(best).capacity);
        sticks.emplace_back();
        sticks.back().bin = best;
        sticks.back().counts.assign(problem.items.size(), 0);
      }
      rest[at] -= problem.items[i].size;
      ++sticks[at].counts[i];
    }
  if (static_cast<std::int64_t>(sticks.size()) > problem.stock_of(problem.bin(best))) return out;
  for (Pattern& stick : sticks) out.add(problem, std::move(stick), 1);
  out.whole = true;
  return out;
}

Solution rounded(const Problem& problem, const Master& master, const Master::Relaxed& relaxed,
                 double lift, Greedy how, const Left& from) {
  Solution out;
  Left left = from;
  std::vector<std::size_t> order;
  for (std::size_t p = 0; p < relaxed.uses.size(); ++p)
    if (relaxed.uses[p] + lift >= 1) order.push_back(p);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return relaxed.uses[a] - std::floor(relaxed.uses[a]) >
           relaxed.uses[b] - std::floor(relaxed.uses[b]);
  });
  for (const std::size_t p : order) {
    const Pattern& pattern = master.patterns()[p];
    const auto wanted = static_cast<std::int64_t>(relaxed.uses[p] + lift + 1e-9);
    const std::int64_t times = std::min(wanted, left.times(problem, pattern));
    if (times <= 0) continue;
    left.take(problem, pattern, times);
    out.add(problem, pattern, times);
  }
  fill_greedily(problem, left, out, how);
  return out;
}

namespace {

void leave_out(Pattern& pattern, std::size_t item, std::int64_t most) {
  std::int64_t over = pattern.counts[item] - most;
  if (over <= 0) return;
  pattern.counts[item] = most;
  for (Counts& stretch : pattern.stretches) {
    const std::int64_t here = std::min(over, stretch[item]);
    stretch[item] -= here;
    over -= here;
  }
}

}  // namespace

Solution plan_of(const Problem& problem, const std::vector<Pattern>& patterns,
                 const std::vector<std::int64_t>& uses) {
  Solution out;
  Left left(problem);
  for (std::size_t p = 0; p < uses.size(); ++p) {
    for (std::int64_t times = uses[p]; times > 0;) {
      Pattern used = patterns[p];
      std::int64_t step = std::min(times, left.times(problem, used));
      if (step <= 0) {
        step = 1;
        for (std::size_t i = 0; i < used.counts.size(); ++i) leave_out(used, i, left.demand[i]);
      }
      left.take(problem, used, step);
      if (filled(problem, used.counts) > 0) out.add(problem, std::move(used), step);
      times -= step;
    }
  }
  out.whole = left.done();
  return out;
}

}  // namespace roomwright::shop
