// Generating patterns, and diving; see columns.h.
#include "shop/cutting/columns.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace roomwright::shop {

namespace {

/// Adds the best pattern of each bin that holds more than it costs; notes what each holds at most.
bool price_out(const Problem& problem, Master& master, const Counts& limits,
               const Master::Relaxed& relaxed, const Prices& prices,
               std::vector<std::int64_t>& most) {
  std::vector<int> bins(problem.bins.size());
  std::iota(bins.begin(), bins.end(), 0);
  std::vector<std::int64_t> floors;
  for (const Problem::Bin& bin : problem.bins) {
    const double rent = bin.limit < 0 ? 0 : relaxed.rents[static_cast<std::size_t>(bin.limit)];
    const double cost = static_cast<double>(bin.cost) + rent;
    floors.push_back(static_cast<std::int64_t>((cost + 1e-7 * std::max(1.0, cost)) *
                                               static_cast<double>(prices.scale)));
    // Where a bound may be had without any loss, at the cost itself.
    if (rent < 1e-9) floors.back() = bin.cost * prices.scale;
  }
  bool grown = false;
  for (const BestPattern& one : best_patterns(problem, bins, limits, prices, floors)) {
    most.push_back(one.bound);
    const double floor = static_cast<double>(floors[most.size() - 1]);
    if (static_cast<double>(one.value) <= floor * (1 + 1e-7)) continue;
    grown |= master.add(one.pattern);
    for (const Counts& counts : one.others) master.add({one.pattern.bin, counts, {}});
  }
  return grown;
}

}  // namespace

Generated generate(const Problem& problem, Master& master, const Counts& limits, Effort& effort,
                   const SeenPricing& seen, double enough) {
  Generated out;
  while (true) {
    out.relaxed = master.relax();
    if (out.relaxed.prices.empty() || effort.spent()) return out;
    if (out.relaxed.feasible && out.relaxed.cost <= enough) return out;
    --effort.rounds;
    const Prices prices = prices_of(problem, out.relaxed);
    std::vector<std::int64_t> most;
    const bool grown = price_out(problem, master, limits, out.relaxed, prices, most);
    if (seen) seen(prices, most);
    if (!grown) {
      out.complete = true;
      return out;
    }
  }
}

void Diver::run(int discrepancies) {
  const Left all(problem_);
  if (!finished()) dive(all, {}, 0, discrepancies);
  master_.ask_for(all);
}

void Diver::take(Left& left, std::size_t pattern, std::int64_t times) {
  left.take(problem_, master_.patterns()[pattern], times);
  path_.emplace_back(pattern, times);
  fixed_ += cost_of(problem_, master_.patterns()[pattern]) * times;
}

/// The path and a plan for the rest, where that is better than the best.
void Diver::offer(const Solution& rest) {
  if (!rest.whole || (best_.whole && fixed_ + rest.cost >= best_.cost)) return;
  Solution whole;
  for (const auto& [pattern, times] : path_)
    whole.add(problem_, master_.patterns()[pattern], times);
  whole.append(rest);
  whole.whole = true;
  best_ = std::move(whole);
}

/// Patterns by falling fraction; those that may not be used once more are left out.
std::vector<std::size_t> Diver::choices(const Left& left, std::vector<double>& uses) const {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < uses.size(); ++p)
    if (uses[p] > 1e-6 && left.times(problem_, master_.patterns()[p]) > 0) out.push_back(p);
  std::stable_sort(out.begin(), out.end(),
                   [&](std::size_t a, std::size_t b) { return uses[a] > uses[b] + 1e-9; });
  return out;
}

void Diver::dive(Left left, std::set<std::size_t> barred, int depth, int discrepancies) {
  constexpr int deepest_discrepancy = 5;
  const std::size_t path = path_.size();
  const std::int64_t fixed = fixed_;
  const auto back = [&] {
    path_.resize(path);
    fixed_ = fixed;
  };
  master_.ask_for(left, barred);
  Generated now = generate(problem_, master_, left.demand, effort_, {});
  if (!now.relaxed.feasible) return;
  const double rest =
      std::ceil(now.relaxed.cost / static_cast<double>(step_) - 1e-6) * static_cast<double>(step_);
  if (best_.whole && static_cast<double>(fixed_) + rest >= static_cast<double>(best_.cost)) return;
  offer(rounded(problem_, master_, now.relaxed, 0.5, Greedy::longest_first, left));
  if (depth % 4 == 0) offer(rounded(problem_, master_, now.relaxed, 0, Greedy::fullest, left));
  std::vector<double>& uses = now.relaxed.uses;
  for (std::size_t p = 0; p < uses.size(); ++p) {
    const auto whole = std::min(static_cast<std::int64_t>(uses[p] + 1e-6),
                                left.times(problem_, master_.patterns()[p]));
    if (whole < 1) continue;
    take(left, p, whole);
    uses[p] -= static_cast<double>(whole);
  }
  const std::vector<std::size_t> order = choices(left, uses);
  const std::size_t most =
      depth < deepest_discrepancy ? static_cast<std::size_t>(discrepancies) + 1 : 1;
  const std::size_t base = path_.size();
  const std::int64_t base_cost = fixed_;
  if (order.empty()) {
    Solution none;
    fill_greedily(problem_, left, none, Greedy::fullest);
    offer(none);
  }
  for (std::size_t k = 0; k < std::min(most, order.size()) && !finished(); ++k) {
    Left next = left;
    take(next, order[k], 1);
    dive(next, barred, depth + 1, discrepancies - static_cast<int>(k));
    path_.resize(base);
    fixed_ = base_cost;
    barred.insert(order[k]);
  }
  back();
}

}  // namespace roomwright::shop
