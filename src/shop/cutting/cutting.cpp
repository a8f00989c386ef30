// The way from an order to a proven plan: greedy plans first, then patterns by column generation,
// their bound in whole numbers, and, where plan and bound still differ, the integer program over
// every pattern that could be part of a better plan. See cutting.h.
#include "shop/cutting/cutting.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <functional>
#include <map>
#include <numeric>

#include "shop/cutting/master.h"
#include "shop/cutting/patterns.h"

namespace roomwright::shop {

namespace {

__extension__ using Huge = __int128;

// ---- the order as a problem -----------------------------------------------------------------

/// Sound stretches between the trimmed ends and the defects.
std::vector<std::pair<std::int64_t, std::int64_t>> stretches_of(const CuttingStock& stock,
                                                                std::int64_t trim) {
  std::vector<std::pair<std::int64_t, std::int64_t>> out;
  std::int64_t from = trim;
  const std::int64_t end = stock.length - trim;
  for (const auto& [begin, stop] : stock.defects) {
    if (std::min(begin, end) > from) out.emplace_back(from, std::min(begin, end));
    from = std::max(from, stop);
  }
  if (end > from) out.emplace_back(from, end);
  return out;
}

Problem problem_of(const CuttingOrder& order) {
  Problem problem;
  problem.kerf = order.kerf;
  std::map<std::int64_t, Problem::Item, std::greater<>> items;
  for (std::size_t i = 0; i < order.parts.size(); ++i) {
    const CuttingPart& part = order.parts[i];
    if (part.count == 0) continue;
    Problem::Item& item = items[part.length];
    item.length = part.length;
    item.size = part.length + order.kerf;
    item.demand += part.count;
    item.owners.emplace_back(static_cast<int>(i), part.count);
  }
  for (auto& [length, item] : items) problem.items.push_back(std::move(item));
  for (std::size_t s = 0; s < order.stock.size(); ++s) {
    const CuttingStock& stock = order.stock[s];
    Problem::Bin bin;
    bin.stretches = stretches_of(stock, order.trim);
    for (const auto& [from, to] : bin.stretches) bin.capacity += to - from + order.kerf;
    bin.cost = stock.cost;
    bin.count = stock.count.value_or(-1);
    bin.stock = static_cast<int>(s);
    if (!bin.stretches.empty() && bin.count != 0) problem.bins.push_back(std::move(bin));
  }
  return problem;
}

void check_cutting_order(const CuttingOrder& order, Diagnostics& found) {
  const auto at = [](const char* list, std::size_t i, const char* key) {
    return std::string(list) + "[" + std::to_string(i) + "]." + key;
  };
  if (order.kerf < 0 || order.kerf > greatest_cutting_length)
    found.add("kerf", "must be at least 0", double(order.kerf), {});
  if (order.trim < 0 || order.trim > greatest_cutting_length)
    found.add("trim", "must be at least 0", double(order.trim), {});
  if (order.stock.empty() || order.stock.size() > most_stock_entries)
    found.add("stock", "must have from 1 to 500 entries", double(order.stock.size()),
              "list what there is");
  if (order.parts.size() > most_part_lengths * 5)
    found.add("parts", "must have at most 10000 entries", double(order.parts.size()),
              "gather equal parts");
  std::int64_t all = 0;
  for (std::size_t i = 0; i < order.parts.size() && i < most_part_lengths * 5; ++i) {
    const CuttingPart& part = order.parts[i];
    if (part.length <= 0 || part.length > greatest_cutting_length)
      found.add(at("parts", i, "length"), "must be above 0", double(part.length), {});
    if (part.count < 0 || part.count > most_cutting_parts)
      found.add(at("parts", i, "count"), "must be from 0 to 1000000", double(part.count), {});
    all += std::clamp<std::int64_t>(part.count, 0, most_cutting_parts);
  }
  if (all > most_cutting_parts)
    found.add("parts", "must be at most 1000000 in all", double(all), "cut them in two batches");
  for (std::size_t i = 0; i < order.stock.size() && i < most_stock_entries; ++i) {
    const CuttingStock& stock = order.stock[i];
    if (stock.length <= 0 || stock.length > greatest_cutting_length)
      found.add(at("stock", i, "length"), "must be above 0", double(stock.length), {});
    if (stock.cost < 0 || stock.cost > greatest_cutting_cost)
      found.add(at("stock", i, "cost"), "must be at least 0", double(stock.cost), {});
    if (stock.count && (*stock.count < 0 || *stock.count > most_cutting_parts))
      found.add(at("stock", i, "count"), "must be from 0 to 1000000", double(*stock.count), {});
    std::int64_t last = 0;
    for (const auto& [from, to] : stock.defects) {
      if (from < last || to <= from || to > stock.length)
        found.add(at("stock", i, "defects"), "must rise, lie apart and lie on the stick",
                  double(from), "give [from, to] from the raw end");
      last = to;
    }
  }
}

void check_lengths(const CuttingOrder& order, const Problem& problem, Diagnostics& found) {
  std::int64_t longest = -1;
  for (const auto& bin : problem.bins)
    for (const auto& [from, to] : bin.stretches) longest = std::max(longest, to - from);
  for (const auto& item : problem.items)
    if (item.length > longest)
      for (const auto& [part, count] : item.owners)
        found.add("parts." + order.parts[static_cast<std::size_t>(part)].name,
                  "is longer than every stick", double(item.length),
                  longest < 0 ? "there is no usable stock"
                              : "the longest usable stretch is " + std::to_string(longest));
  std::map<std::int64_t, std::size_t> seen;
  if (problem.items.size() > most_part_lengths)
    found.add("parts", "must have at most 2000 different lengths", double(problem.items.size()),
              {});
}

// ---- plans as numbers of patterns -----------------------------------------------------------

struct Solution {
  std::vector<Pattern> patterns;
  std::vector<std::int64_t> uses;
  std::int64_t cost = 0;
  bool whole = false;  ///< meets every demand

  void add(const Problem& problem, Pattern pattern, std::int64_t times) {
    cost += problem.bins[static_cast<std::size_t>(pattern.bin)].cost * times;
    patterns.push_back(std::move(pattern));
    uses.push_back(times);
  }
};

/// What is still to be cut, and what is still there.
struct Left {
  Counts demand, stock;
  explicit Left(const Problem& problem) {
    for (const auto& item : problem.items) demand.push_back(item.demand);
    for (const auto& bin : problem.bins)
      stock.push_back(bin.count < 0 ? most_cutting_parts : bin.count);
  }
  bool done() const {
    return std::all_of(demand.begin(), demand.end(), [](std::int64_t d) { return d == 0; });
  }
  /// How often a pattern may be used without cutting too much.
  std::int64_t times(const Pattern& pattern) const {
    std::int64_t most = stock[static_cast<std::size_t>(pattern.bin)];
    for (std::size_t i = 0; i < demand.size(); ++i)
      if (pattern.counts[i] > 0) most = std::min(most, demand[i] / pattern.counts[i]);
    return most;
  }
  void take(const Pattern& pattern, std::int64_t count) {
    stock[static_cast<std::size_t>(pattern.bin)] -= count;
    for (std::size_t i = 0; i < demand.size(); ++i) demand[i] -= pattern.counts[i] * count;
  }
};

/// Parts longest first into one stick, as many as fit.
Pattern longest_first(const Problem& problem, int bin, const Counts& demand) {
  Pattern pattern;
  pattern.bin = bin;
  pattern.counts.assign(demand.size(), 0);
  const Problem::Bin& stick = problem.bins[static_cast<std::size_t>(bin)];
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
    if (stick.stretches.size() > 1) pattern.stretches.push_back(here);
  }
  return pattern;
}

std::int64_t filled(const Problem& problem, const Pattern& pattern) {
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < pattern.counts.size(); ++i)
    sum += pattern.counts[i] * problem.items[i].size;
  return sum;
}

enum class Greedy { longest_first, fullest };

/// Stick by stick, each time the one that is cheapest for what it holds.
void fill_greedily(const Problem& problem, Left& left, Solution& out, Greedy how) {
  std::vector<std::int64_t> sizes;
  for (const auto& item : problem.items) sizes.push_back(item.size);
  while (!left.done()) {
    Pattern best;
    long double best_rate = 0;
    std::int64_t best_fill = 0;
    for (int b = 0; b < static_cast<int>(problem.bins.size()); ++b) {
      if (left.stock[static_cast<std::size_t>(b)] == 0) continue;
      Pattern pattern = how == Greedy::longest_first
                            ? longest_first(problem, b, left.demand)
                            : best_pattern(problem, b, left.demand, sizes).pattern;
      const std::int64_t fill = filled(problem, pattern);
      if (fill == 0) continue;
      const long double rate =
          static_cast<long double>(problem.bins[static_cast<std::size_t>(b)].cost) /
          static_cast<long double>(fill);
      if (best_fill == 0 || rate < best_rate || (rate == best_rate && fill > best_fill)) {
        best = std::move(pattern);
        best_rate = rate;
        best_fill = fill;
      }
    }
    if (best_fill == 0) return;
    const std::int64_t times = std::max<std::int64_t>(1, left.times(best));
    left.take(best, times);
    out.add(problem, std::move(best), times);
  }
  out.whole = true;
}

Solution greedy(const Problem& problem, Greedy how) {
  Solution out;
  Left left(problem);
  fill_greedily(problem, left, out, how);
  return out;
}

/// Whole uses of the relaxed plan, most used first, then the rest greedily.
Solution rounded(const Problem& problem, const Master& master, const Master::Relaxed& relaxed,
                 double lift, Greedy how) {
  Solution out;
  Left left(problem);
  std::vector<std::size_t> order(master.patterns().size());
  std::iota(order.begin(), order.end(), 0);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return relaxed.uses[a] - std::floor(relaxed.uses[a]) >
           relaxed.uses[b] - std::floor(relaxed.uses[b]);
  });
  for (const std::size_t p : order) {
    const Pattern& pattern = master.patterns()[p];
    const auto wanted = static_cast<std::int64_t>(relaxed.uses[p] + lift);
    const std::int64_t times = std::min(wanted, left.times(pattern));
    if (times <= 0) continue;
    left.take(pattern, times);
    out.add(problem, pattern, times);
  }
  fill_greedily(problem, left, out, how);
  return out;
}

// ---- the bound ------------------------------------------------------------------------------

/// Prices in whole numbers of 1/scale cost units.
struct Prices {
  std::vector<std::int64_t> item;
  std::int64_t scale = 1;
};

std::int64_t price_scale(const Problem& problem) {
  std::int64_t dearest = 1;
  for (const auto& bin : problem.bins) dearest = std::max(dearest, bin.cost);
  return std::clamp<std::int64_t>((std::int64_t{1} << 46) / dearest, 1, 1'000'000);
}

Prices prices_of(const Problem& problem, const Master::Relaxed& relaxed) {
  Prices out;
  out.scale = price_scale(problem);
  for (const double price : relaxed.prices)
    out.item.push_back(static_cast<std::int64_t>(price * static_cast<double>(out.scale)));
  return out;
}

/// What any plan must cost at these prices: Σ d p − Σ u max(0, v − c), where v is the most that one
/// stick can hold. Unlimited sticks need v ≤ c: else all prices shrink by c / v.
struct Bound {
  Huge scaled = 0;                 ///< in 1/scale cost units
  std::vector<std::int64_t> rent;  ///< by bin, in the same units
  std::vector<std::int64_t> item;  ///< the prices that prove it
};

Bound bound_of(const Problem& problem, const Prices& prices,
               const std::vector<std::int64_t>& most) {
  Bound out;
  Huge shrink_top = 1, shrink_bottom = 1;
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    const Huge cost = Huge(problem.bins[b].cost) * prices.scale;
    if (problem.bins[b].count < 0 && most[b] > cost && cost * shrink_bottom < shrink_top * most[b])
      shrink_top = cost, shrink_bottom = most[b];
  }
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    out.item.push_back(
        static_cast<std::int64_t>(Huge(prices.item[i]) * shrink_top / shrink_bottom));
    out.scaled += Huge(out.item.back()) * problem.items[i].demand;
  }
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    const Huge cost = Huge(problem.bins[b].cost) * prices.scale;
    const Huge reach = (Huge(most[b]) * shrink_top + shrink_bottom - 1) / shrink_bottom;
    out.rent.push_back(
        problem.bins[b].count < 0 || reach <= cost ? 0 : static_cast<std::int64_t>(reach - cost));
    out.scaled -= Huge(out.rent.back()) * std::max<std::int64_t>(0, problem.bins[b].count);
  }
  return out;
}

/// All costs are whole multiples of this.
std::int64_t cost_step(const Problem& problem) {
  std::int64_t step = 0;
  for (const auto& bin : problem.bins) step = std::gcd(step, bin.cost);
  return std::max<std::int64_t>(1, step);
}

std::int64_t whole_bound(const Bound& bound, std::int64_t scale, std::int64_t step) {
  if (bound.scaled <= 0) return 0;
  const Huge unit = Huge(scale) * step;
  return static_cast<std::int64_t>((bound.scaled + unit - 1) / unit) * step;
}

// ---- the search -----------------------------------------------------------------------------

class CuttingSearch {
 public:
  CuttingSearch(const Problem& problem, const CuttingOptions& options)
      : problem_(problem),
        options_(options),
        master_(problem),
        step_(cost_step(problem)),
        begun_(std::chrono::steady_clock::now()) {}

  /// False where there is not stock enough.
  bool run() {
    for (const Greedy how : {Greedy::longest_first, Greedy::fullest}) offer(greedy(problem_, how));
    for (int b = 0; b < static_cast<int>(problem_.bins.size()); ++b)
      for (std::size_t i = 0; i < problem_.items.size(); ++i) add_single(b, i);
    for (const Pattern& pattern : best_.patterns) master_.add(pattern);
    generate();
    if (!feasible_) return best_.whole;
    round_up();
    if (best_.whole && best_.cost <= bound_) return done("greedy or rounded plan meets the bound");
    close_gap();
    return best_.whole;
  }

  const Solution& best() const { return best_; }
  std::int64_t bound() const { return bound_; }
  std::int64_t patterns_seen() const {
    return static_cast<std::int64_t>(master_.patterns().size());
  }
  const std::string& method() const { return method_; }

 private:
  bool done(std::string how) {
    method_ = std::move(how);
    return best_.whole;
  }
  bool late() const {
    if (options_.watch.cancelled()) return true;
    if (options_.seconds <= 0) return false;
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begun_;
    return spent.count() > options_.seconds;
  }
  double seconds_left() const {
    if (options_.seconds <= 0) return 0;
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begun_;
    return std::max(0.01, options_.seconds - spent.count());
  }

  void offer(const Solution& solution) {
    if (solution.whole && (!best_.whole || solution.cost < best_.cost)) best_ = solution;
  }

  /// One stick full of one length: so that the relaxed plan can always begin.
  void add_single(int bin, std::size_t item) {
    Counts only(problem_.items.size(), 0);
    only[item] = problem_.items[item].demand;
    Pattern pattern = longest_first(problem_, bin, only);
    if (pattern.counts[item] > 0) master_.add(pattern);
  }

  /// Adds patterns until no stick can hold more than it costs; keeps the best bound on the way.
  void generate() {
    constexpr int most_rounds = 3000;
    Counts limits;
    for (const auto& item : problem_.items) limits.push_back(item.demand);
    for (int round = 0; round < most_rounds && !late(); ++round) {
      relaxed_ = master_.relax();
      const Prices prices = prices_of(problem_, relaxed_);
      std::vector<std::int64_t> most;
      bool grown = false;
      for (int b = 0; b < static_cast<int>(problem_.bins.size()); ++b) {
        BestPattern found = best_pattern(problem_, b, limits, prices.item);
        most.push_back(found.bound);
        const auto bin = static_cast<std::size_t>(b);
        const double worth = static_cast<double>(found.value) / static_cast<double>(prices.scale);
        const double cost = static_cast<double>(problem_.bins[bin].cost) + relaxed_.rents[bin];
        if (worth > cost + 1e-7 * std::max(1.0, cost)) {
          master_.add(found.pattern);
          grown = true;
        }
      }
      keep_bound(prices, most);
      if (!grown) break;
    }
    feasible_ = relaxed_.feasible;
  }

  void keep_bound(const Prices& prices, const std::vector<std::int64_t>& most) {
    Bound bound = bound_of(problem_, prices, most);
    if (bound.scaled > proof_.scaled) {
      proof_ = std::move(bound);
      scale_ = prices.scale;
      bound_ = std::max(bound_, whole_bound(proof_, scale_, step_));
    }
  }

  void round_up() {
    for (const double lift : {0.0, 0.5, 0.999})
      for (const Greedy how : {Greedy::fullest, Greedy::longest_first}) {
        if (best_.whole && best_.cost <= bound_) return;
        offer(rounded(problem_, master_, relaxed_, lift, how));
      }
  }

  /// A better plan uses only patterns whose loss at the proven prices is at most the gap.
  void close_gap() {
    constexpr std::size_t most_patterns = 20'000;
    std::int64_t target = best_.whole ? best_.cost - step_ : greatest_cutting_cost;
    std::vector<Pattern> good;
    bool complete = best_.whole && !proof_.item.empty();
    for (int b = 0; complete && b < static_cast<int>(problem_.bins.size()); ++b) {
      const auto bin = static_cast<std::size_t>(b);
      const Huge gap = Huge(target) * scale_ - proof_.scaled;
      const Huge least = Huge(problem_.bins[bin].cost) * scale_ + proof_.rent[bin] - gap;
      complete = problem_.bins[bin].stretches.size() == 1 &&
                 list_patterns(problem_, b, proof_.item,
                               static_cast<std::int64_t>(std::max<Huge>(0, least)),
                               most_patterns - good.size(), good);
    }
    if (complete) {
      Master every(problem_);
      for (const Pattern& pattern : good) every.add(pattern);
      settle(every, target, true);
    } else {
      settle(master_, target, false);
    }
  }

  void settle(Master& master, std::int64_t target, bool every) {
    const auto whole = master.solve_whole(target, options_.max_nodes, seconds_left());
    if (whole.found) {
      Solution solution;
      Left left(problem_);
      for (std::size_t p = 0; p < whole.uses.size(); ++p)
        if (whole.uses[p] > 0) place_up_to(master.patterns()[p], whole.uses[p], left, solution);
      solution.whole = left.done();
      offer(solution);
    }
    if (every && whole.complete && best_.whole) {
      bound_ = std::max(bound_, best_.cost);
      method_ = "integer program over every pattern that could improve the plan";
    } else {
      method_ = every ? "stopped at the limit of nodes; the gap stands"
                      : "integer program over the patterns found; the gap stands";
      if (best_.whole && best_.cost <= bound_) method_ = "integer program meets the bound";
    }
  }

  /// The integer program may cut more than is asked: what is over is left out.
  void place_up_to(const Pattern& pattern, std::int64_t times, Left& left, Solution& solution) {
    while (times > 0) {
      Pattern used = pattern;
      if (left.times(pattern) > 0) {
        const std::int64_t step = std::min(times, left.times(pattern));
        left.take(used, step);
        solution.add(problem_, used, step);
        times -= step;
        continue;
      }
      for (std::size_t i = 0; i < used.counts.size(); ++i) trim_item(used, i, left.demand[i]);
      left.take(used, 1);
      if (filled(problem_, used) > 0) solution.add(problem_, used, 1);
      --times;
    }
  }

  static void trim_item(Pattern& pattern, std::size_t item, std::int64_t most) {
    std::int64_t over = pattern.counts[item] - most;
    if (over <= 0) return;
    pattern.counts[item] = most;
    for (Counts& stretch : pattern.stretches) {
      const std::int64_t here = std::min(over, stretch[item]);
      stretch[item] -= here;
      over -= here;
    }
  }

  const Problem& problem_;
  const CuttingOptions& options_;
  Master master_;
  Master::Relaxed relaxed_;
  Solution best_;
  Bound proof_;
  std::int64_t scale_ = 1, step_ = 1, bound_ = 0;
  bool feasible_ = false;
  std::string method_;
  std::chrono::steady_clock::time_point begun_;
};

// ---- from patterns to marks -----------------------------------------------------------------

/// Hands out the order's parts for each length, in the order's sequence.
class PartOwners {
 public:
  explicit PartOwners(const Problem& problem) {
    for (const auto& item : problem.items) left_.push_back(item.owners);
  }
  /// The next owner of a length that has at least `count` parts left in a row, and takes them.
  int take(std::size_t item) {
    auto& owners = left_[item];
    while (owners.front().second == 0) owners.erase(owners.begin());
    --owners.front().second;
    return owners.front().first;
  }

 private:
  std::vector<std::vector<std::pair<int, std::int64_t>>> left_;
};

void cut_stretch(const Problem& problem, const Counts& counts, std::int64_t from, std::int64_t to,
                 PartOwners& owners, CutStick& stick) {
  std::int64_t at = from;
  for (std::size_t i = 0; i < counts.size(); ++i)
    for (std::int64_t n = 0; n < counts[i]; ++n) {
      stick.cuts.push_back({owners.take(i), at, at + problem.items[i].length});
      at += problem.items[i].size;
    }
  stick.offcut = std::max<std::int64_t>(0, to - at);
}

bool same_cuts(const CutStick& a, const CutStick& b) {
  return a.stock == b.stock && std::equal(a.cuts.begin(), a.cuts.end(), b.cuts.begin(),
                                          b.cuts.end(), [](const Cut& x, const Cut& y) {
                                            return x.part == y.part && x.from == y.from;
                                          });
}

std::vector<CutStick> sticks_of(const Problem& problem, const Solution& solution) {
  // Longest parts first: the saw is set from long to short.
  std::vector<std::size_t> order(solution.patterns.size());
  std::iota(order.begin(), order.end(), 0);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    const auto stock = [&](std::size_t p) {
      return problem.bins[static_cast<std::size_t>(solution.patterns[p].bin)].stock;
    };
    return solution.patterns[a].counts != solution.patterns[b].counts
               ? solution.patterns[a].counts > solution.patterns[b].counts
               : stock(a) < stock(b);
  });
  PartOwners owners(problem);
  std::vector<CutStick> out;
  for (const std::size_t p : order) {
    const Pattern& pattern = solution.patterns[p];
    const Problem::Bin& bin = problem.bins[static_cast<std::size_t>(pattern.bin)];
    for (std::int64_t n = 0; n < solution.uses[p]; ++n) {
      CutStick stick;
      stick.stock = bin.stock;
      for (std::size_t s = 0; s < bin.stretches.size(); ++s)
        cut_stretch(problem, bin.stretches.size() == 1 ? pattern.counts : pattern.stretches[s],
                    bin.stretches[s].first, bin.stretches[s].second, owners, stick);
      if (!out.empty() && same_cuts(out.back(), stick))
        ++out.back().repeat;
      else
        out.push_back(std::move(stick));
    }
  }
  return out;
}

void name_shortage(const CuttingOrder& order, const Problem& problem, Diagnostics& found) {
  Left left(problem);
  Solution solution;
  fill_greedily(problem, left, solution, Greedy::fullest);
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    if (left.demand[i] > 0)
      found.add(
          "parts." + order.parts[static_cast<std::size_t>(problem.items[i].owners[0].first)].name,
          "has not stock enough: about " + std::to_string(left.demand[i]) + " are left over",
          double(problem.items[i].length), "add stock or raise its count");
  if (found.empty()) found.add("stock", "does not suffice for all parts", {}, "add stock");
}

}  // namespace

Result<CuttingPlan> solve_cutting(const CuttingOrder& order, const CuttingOptions& options) {
  Diagnostics found;
  check_cutting_order(order, found);
  if (!found.empty()) return found;
  const Problem problem = problem_of(order);
  check_lengths(order, problem, found);
  if (!found.empty()) return found;
  CuttingPlan plan;
  if (problem.items.empty()) {
    plan.proven = true;
    plan.method = "nothing to cut";
    return plan;
  }
  CuttingSearch search(problem, options);
  if (!search.run()) {
    name_shortage(order, problem, found);
    return found;
  }
  plan.sticks = sticks_of(problem, search.best());
  plan.cost = search.best().cost;
  plan.bound = std::min(search.bound(), plan.cost);
  plan.proven = plan.bound == plan.cost;
  plan.method = search.method();
  plan.patterns_seen = search.patterns_seen();
  return plan;
}

}  // namespace roomwright::shop
