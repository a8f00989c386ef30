// Exact weights are counted in whole numbers over n!; see sharing.h.
#include "shop/sharing/sharing.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace roomwright::shop {

namespace {

using Coalition = std::uint32_t;

int size_of(Coalition set) {
  return __builtin_popcount(set);
}

/// The costs of one part, each asked once; no coalition costs more than in two parts, as far as
/// its parts were asked.
class Costs {
 public:
  Costs(const SharedCost& shared, int& mended) : shared_(shared), mended_(mended) {}

  std::int64_t of(Coalition set) {
    set &= shared_.players;
    if (set == 0) return 0;
    if (const auto known = known_.find(set); known != known_.end()) return known->second;
    const std::int64_t cost = shared_.cost(set);
    if (cost < 0) negative_ = true;
    return known_[set] = cost;
  }
  /// Asks for every coalition and mends each by the cheapest split in two, small ones first.
  void close() {
    const Coalition all = shared_.players;
    std::vector<Coalition> sets;
    for (Coalition set = all; set != 0; set = (set - 1) & all) sets.push_back(set);
    std::sort(sets.begin(), sets.end(), [](Coalition a, Coalition b) {
      return size_of(a) != size_of(b) ? size_of(a) < size_of(b) : a < b;
    });
    for (const Coalition set : sets) {
      std::int64_t least = of(set);
      for (Coalition part = (set - 1) & set; part != 0; part = (part - 1) & set)
        least = std::min(least, of(part) + of(set & ~part));
      mend(set, least);
    }
  }
  /// Where not all are asked: against one player less, and that player alone.
  std::int64_t mended_step(Coalition before, int player) {
    const Coalition one = Coalition{1} << player, set = before | one;
    mend(set & shared_.players, std::min(of(set), of(before) + of(one)));
    return of(set);
  }
  bool negative() const { return negative_; }

 private:
  void mend(Coalition set, std::int64_t least) {
    if (set == 0 || known_[set] == least) return;
    known_[set] = least;
    ++mended_;
  }

  const SharedCost& shared_;
  int& mended_;
  std::map<Coalition, std::int64_t> known_;
  bool negative_ = false;
};

std::int64_t factorial(int n) {
  std::int64_t out = 1;
  for (int i = 2; i <= n; ++i) out *= i;
  return out;
}

/// Adds n! times each player's value of one part, n being all players of the whole.
void add_exact(Costs& costs, Coalition all, int players, std::vector<std::int64_t>& numerators) {
  const int n = size_of(all);
  const std::int64_t scale = factorial(players) / factorial(n);
  for (int p = 0; p < players; ++p) {
    const Coalition one = Coalition{1} << p;
    if (!(all & one)) continue;
    const Coalition others = all & ~one;
    for (Coalition set = others;; set = (set - 1) & others) {
      const int s = size_of(set);
      numerators[static_cast<std::size_t>(p)] +=
          scale * factorial(s) * factorial(n - s - 1) * (costs.of(set | one) - costs.of(set));
      if (set == 0) break;
    }
  }
}

/// Whole units nearest to numerator / denominator that add up to the total: largest remainder, the
/// first of equals; a unit that would lift someone above what he pays alone goes to the next.
std::vector<std::int64_t> whole_shares(const std::vector<std::int64_t>& numerators,
                                       std::int64_t denominator, std::int64_t total,
                                       const std::vector<std::int64_t>& alone) {
  std::vector<std::int64_t> shares, rests;
  for (const std::int64_t numerator : numerators) {
    std::int64_t down = numerator / denominator;
    if (numerator % denominator < 0) --down;
    shares.push_back(down);
    rests.push_back(numerator - down * denominator);
  }
  std::int64_t left = total - std::accumulate(shares.begin(), shares.end(), std::int64_t{0});
  std::vector<std::size_t> order(shares.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return rests[a] > rests[b]; });
  for (const bool strict : {true, false})
    for (int round = 0; left > 0 && round < 100; ++round)
      for (const std::size_t i : order)
        if (left > 0 && (!strict || shares[i] < alone[i])) {
          ++shares[i];
          --left;
        }
  return shares;
}

struct Sampled {
  std::vector<double> sum, squares;
  int orders = 0;
};

/// One order of coming and its reverse count as one draw: their errors cancel in part.
void sample_orders(std::vector<Costs>& costs, int players, const Watch& watch,
                   std::vector<std::int64_t>& numerators, Sampled& sampled) {
  constexpr int draws = 200;
  Random random(1953);
  const auto count = static_cast<std::size_t>(players);
  sampled.sum.assign(count, 0);
  sampled.squares.assign(count, 0);
  std::vector<int> order(count);
  std::iota(order.begin(), order.end(), 0);
  for (int draw = 0; draw < draws && !watch.cancelled(); ++draw) {
    for (std::size_t i = count; i > 1; --i)
      std::swap(order[i - 1], order[random.below(static_cast<std::uint32_t>(i))]);
    std::vector<std::int64_t> added(count, 0);
    for (int twice = 0; twice < 2; ++twice) {
      Coalition before = 0;
      for (const int p : order) {
        for (Costs& part : costs)
          added[static_cast<std::size_t>(p)] += part.mended_step(before, p) - part.of(before);
        before |= Coalition{1} << p;
      }
      std::reverse(order.begin(), order.end());
    }
    ++sampled.orders;
    for (std::size_t p = 0; p < count; ++p) {
      numerators[p] += added[p];
      sampled.sum[p] += double(added[p]) / 2;
      sampled.squares[p] += double(added[p]) * double(added[p]) / 4;
    }
    watch.tick(double(draw) / draws, "sharing the cost");
  }
}

double worst_error(const Sampled& sampled) {
  double worst = 0;
  const double n = sampled.orders;
  for (std::size_t p = 0; p < sampled.sum.size(); ++p) {
    const double mean = sampled.sum[p] / n;
    worst = std::max(worst, std::sqrt(std::max(0.0, sampled.squares[p] / n - mean * mean) / n));
  }
  return worst;
}

Diagnostics faults_of(int players, const std::vector<SharedCost>& costs) {
  Diagnostics found;
  if (players < 1 || players > most_players)
    found.add("players", "must be from 1 to 24", double(players));
  else
    for (const SharedCost& one : costs)
      if (one.players >> players) found.add(one.name, "names a player who is not there");
  return found;
}

}  // namespace

Result<Sharing> share_costs(int players, const std::vector<SharedCost>& shared,
                            const Watch& watch) {
  if (Diagnostics found = faults_of(players, shared); !found.empty()) return found;
  Sharing out;
  out.exact = players <= most_exact_players;
  const Coalition all = (Coalition{1} << players) - 1;
  std::vector<Costs> costs;
  for (const SharedCost& one : shared) costs.emplace_back(one, out.mended);
  std::vector<std::int64_t> numerators(static_cast<std::size_t>(players), 0);
  std::int64_t denominator = 1;
  if (out.exact) {
    denominator = factorial(players);
    for (std::size_t i = 0; i < costs.size(); ++i) {
      watch.tick(double(i) / double(costs.size()), "sharing the cost: " + shared[i].name);
      costs[i].close();
      add_exact(costs[i], shared[i].players, players, numerators);
    }
    out.method = "Shapley value over every coalition";
  } else {
    Sampled sampled;
    sample_orders(costs, players, watch, numerators, sampled);
    denominator = std::max(1, 2 * sampled.orders);
    out.standard_error = worst_error(sampled);
    out.method = "Shapley value over " + std::to_string(2 * sampled.orders) + " orders of coming";
  }
  for (int p = 0; p < players; ++p) {
    out.alone.push_back(0);
    for (Costs& part : costs) out.alone.back() += part.of(Coalition{1} << p);
    out.apart += out.alone.back();
  }
  for (std::size_t i = 0; i < costs.size(); ++i) {
    SharedPart part{shared[i].name, 0, costs[i].of(all)};
    for (int p = 0; p < players; ++p) part.apart += costs[i].of(Coalition{1} << p);
    out.together += part.together;
    out.parts.push_back(part);
    if (costs[i].negative()) return Complaint{shared[i].name, "costs less than nothing", {}, {}, 0};
  }
  out.shares = whole_shares(numerators, denominator, out.together, out.alone);
  return out;
}

}  // namespace roomwright::shop
