// The way from an order to a proven plan: simple plans first, then patterns by column generation,
// their bound in whole numbers, then whole plans by rounding and diving; where plan and bound still
// differ, the numbers of sticks of each length, and at last the integer program over every pattern
// that could be part of a better plan. See cutting.h.
#include "shop/cutting/cutting.h"

#include <algorithm>
#include <chrono>
#include <numeric>

#include "shop/cutting/columns.h"
#include "shop/cutting/marks.h"
#include "shop/cutting/settings.h"

namespace roomwright::shop {

namespace {

class CuttingSearch {
 public:
  CuttingSearch(const Problem& problem, const CuttingOptions& options)
      : problem_(problem),
        options_(options),
        master_(problem),
        counts_(problem),
        step_(problem.cost_step()),
        begun_(std::chrono::steady_clock::now()) {
    effort_.late = [this] { return late(); };
  }

  /// False where there is not stock enough.
  bool run() {
    offer(greedy(problem_, Greedy::longest_first));
    if (!late()) offer(best_fit(problem_));
    if (!late()) offer(greedy(problem_, Greedy::fullest, effort_.late));
    begin();
    if (!feasible_) return best_.whole;
    const Left all(problem_);
    for (const double lift : {0.0, 0.5, 0.999})
      for (const Greedy how : {Greedy::fullest, Greedy::longest_first})
        if (!met() && !late()) offer(rounded(problem_, master_, relaxed_, lift, how, all));
    if (met()) return done("simple or rounded plan meets the bound");
    if (counts_.useful() && count_sticks()) return done("plan for the cheapest numbers of sticks");
    for (const int discrepancies : {0, 1, 3})
      if (!met() && !late()) dive(problem_, master_, discrepancies);
    if (met()) return done("dive meets the bound");
    if (late())
      method_ = "stopped when the time was up; the gap stands";
    else
      close_gap();
    return best_.whole;
  }

  /// The best plan in the sequence in which it is cut, with as little setup as was found.
  Solution tidied() {
    const auto lengths = static_cast<std::int64_t>(problem_.items.size());
    effort_.rounds = options_.setup_rounds * 16 / std::max<std::int64_t>(16, lengths);
    if (effort_.spent() || !feasible_) return in_sequence(problem_, best_);
    if (problem_.keeps()) return less_setup(problem_, master_, best_, effort_);
    // The sticks stay as they are; what is sought is room, so they cost what they hold.
    Problem room = with_numbers(numbers_of(best_), false);
    for (Problem::Bin& bin : room.bins) bin.cost = bin.capacity;
    Solution start;
    for (std::size_t p = 0; p < best_.patterns.size(); ++p)
      start.add(room, best_.patterns[p], best_.uses[p]);
    start.whole = true;
    Master master(room);
    for (const Pattern& pattern : master_.patterns()) master.add(pattern);
    const Solution found = less_setup(room, master, start, effort_);
    Solution out;
    for (std::size_t p = 0; p < found.patterns.size(); ++p)
      out.add(problem_, found.patterns[p], found.uses[p]);
    out.whole = true;
    return out;
  }
  std::int64_t bound() const { return bound_; }
  std::int64_t patterns_seen() const {
    return static_cast<std::int64_t>(master_.patterns().size());
  }
  const std::string& method() const { return method_; }

 private:
  bool done(const char* how) {
    method_ = how;
    return true;
  }
  bool met() const { return best_.whole && best_.cost <= bound_; }
  double spent() const {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun_).count();
  }
  bool late() const {
    return options_.watch.cancelled() || (options_.seconds > 0 && spent() > options_.seconds);
  }
  void offer(const Solution& solution) {
    if (solution.whole && (!best_.whole || solution.cost < best_.cost)) best_ = solution;
  }

  /// The relaxed plan, from patterns of one length each and those of the best simple plan.
  void begin() {
    for (int b = 0; b < static_cast<int>(problem_.bins.size()); ++b)
      for (std::size_t i = 0; i < problem_.items.size(); ++i) {
        Counts only(problem_.items.size(), 0);
        only[i] = problem_.items[i].demand;
        const Pattern pattern = longest_first(problem_, b, only);
        if (pattern.counts[i] > 0 && problem_.bin(b).root == b) master_.add(pattern);
      }
    for (const Pattern& pattern : best_.patterns) master_.add(pattern);
    effort_.rounds = 5000;
    Counts limits;
    for (const auto& item : problem_.items) limits.push_back(item.demand);
    by_size();
    const auto seen = [this](const Prices& p, const std::vector<std::int64_t>& most) {
      learn(p, most);
    };
    relaxed_ = generate(problem_, master_, limits, effort_, seen).relaxed;
    feasible_ = relaxed_.feasible;
  }

  /// Prices by size, at what each kind of stick costs for its size: what may be told at once.
  void by_size() {
    for (const Problem::Bin& at : problem_.bins) {
      if (at.rate > 0 || at.cost == 0) continue;
      Prices prices;
      prices.scale = std::max<std::int64_t>(1, (std::int64_t{1} << 30) / at.cost);
      const Huge worth = Huge(prices.scale) * at.cost;
      for (const auto& item : problem_.items)
        prices.item.push_back(static_cast<std::int64_t>(worth * item.size / at.capacity));
      std::vector<std::int64_t> most;
      for (const auto& bin : problem_.bins)
        most.push_back(static_cast<std::int64_t>(worth * bin.capacity / at.capacity));
      learn(prices, most);
    }
  }

  /// What a pricing proves.
  void learn(const Prices& prices, const std::vector<std::int64_t>& most) {
    Bound bound = bound_of(problem_, prices, most);
    counts_.cut(prices, most);
    // Of equal proofs the later one, whose prices fit the relaxed plan.
    if (proof_.prices.item.empty() ||
        bound.scaled * proof_.prices.scale >= proof_.scaled * bound.prices.scale) {
      proof_ = std::move(bound);
      raise(proof_.cost(step_));
    }
  }

  void raise(std::int64_t bound) { bound_ = std::max(bound_, bound); }

  void dive(const Problem& problem, Master& master, int discrepancies) {
    effort_.rounds = options_.max_nodes * (discrepancies == 0 ? 1 : 2);
    Diver(problem, master, best_, bound_, effort_).run(discrepancies);
  }

  /// The cheapest numbers of sticks that no pricing forbids, until they hold a plan.
  bool count_sticks() {
    constexpr int most_tries = 40;
    std::vector<Counts> skipped;
    for (int tries = 0; tries < most_tries && !met() && !late(); ++tries) {
      bool complete = true;
      const auto numbers = counts_.cheapest(
          best_.whole ? best_.cost - step_ : greatest_cutting_cost, skipped, complete);
      if (!complete) return false;
      if (skipped.empty()) raise(numbers ? counts_.cost(*numbers) : best_.cost);
      if (!numbers || met()) return met();
      if (!room_for(*numbers)) continue;
      if (counts_.cost(*numbers) > bound_ || skipped.size() >= 4) return false;
      fill(*numbers);
      skipped.push_back(*numbers);
    }
    return met();
  }

  Problem with_numbers(const Counts& numbers, bool free) const {
    Problem out = problem_;
    out.limits = numbers;
    for (std::size_t b = 0; b < out.bins.size(); ++b) {
      out.bins[b].limit = static_cast<int>(b);
      if (free) out.bins[b].cost = 0;
    }
    return out;
  }

  Counts numbers_of(const Solution& solution) const {
    Counts out(problem_.bins.size(), 0);
    for (std::size_t p = 0; p < solution.patterns.size(); ++p)
      out[static_cast<std::size_t>(solution.patterns[p].bin)] += solution.uses[p];
    return out;
  }

  /// False where the parts do not fit in these sticks even in fractions; then a cut says so.
  bool room_for(const Counts& numbers) {
    const Problem room = with_numbers(numbers, true);
    Master master(room, 1.0);
    for (const Pattern& pattern : master_.patterns()) master.add(pattern);
    Counts limits;
    for (const auto& item : room.items) limits.push_back(item.demand);
    effort_.rounds = 500;
    Prices prices;
    std::vector<std::int64_t> most;
    const auto now = generate(room, master, limits, effort_,
                              [&](const Prices& p, const std::vector<std::int64_t>& m) {
                                prices = p;
                                most = m;
                              });
    if (now.relaxed.feasible || !now.complete) return true;
    counts_.cut(prices, most);
    return !counts_.forbids(numbers);
  }

  void fill(const Counts& numbers) {
    const Problem room = with_numbers(numbers, false);
    Master master(room);
    for (const Pattern& pattern : master_.patterns()) master.add(pattern);
    dive(room, master, 1);
  }

  /// A better plan uses only patterns whose loss at the proven prices is at most the gap.
  void close_gap() {
    constexpr std::size_t most_patterns = 20'000;
    const std::int64_t target = best_.whole ? best_.cost - step_ : greatest_cutting_cost;
    std::vector<Pattern> good;
    bool complete = best_.whole && !proof_.prices.item.empty();
    const Huge gap = Huge(target) * proof_.prices.scale - proof_.scaled;
    for (int b = 0; complete && b < static_cast<int>(problem_.bins.size()); ++b) {
      const Problem::Bin& bin = problem_.bin(b);
      const std::int64_t rent =
          bin.limit < 0 ? 0 : proof_.rent[static_cast<std::size_t>(bin.limit)];
      const Huge least = Huge(bin.cost) * proof_.prices.scale + rent - gap;
      complete = list_patterns(problem_, b, proof_.prices,
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
    const double seconds = options_.seconds > 0 ? std::max(0.01, options_.seconds - spent()) : 0;
    const auto whole = master.solve_whole(target, options_.max_nodes, seconds);
    if (whole.found) offer(plan_of(problem_, master.patterns(), whole.uses));
    // Beyond these sizes the library's tolerances reach a step of the cost: then it proves nothing.
    constexpr std::int64_t most_steps = 100'000'000, most_steps_a_stick = 1'000'000;
    std::int64_t dearest = 0;
    for (const auto& bin : problem_.bins) dearest = std::max(dearest, bin.cost);
    const bool exact = target / step_ <= most_steps && dearest / step_ <= most_steps_a_stick;
    if (every && whole.complete && best_.whole && exact) {
      raise(best_.cost);
      method_ = "integer program over every pattern that could improve the plan";
    } else if (met()) {
      method_ = "integer program meets the bound";
    } else {
      method_ = every ? "stopped at the limit of nodes; the gap stands"
                      : "integer program over the patterns found; the gap stands";
    }
  }

  const Problem& problem_;
  const CuttingOptions& options_;
  Master master_;
  Master::Relaxed relaxed_;
  StickCounts counts_;
  Solution best_;
  Bound proof_;
  Effort effort_;
  std::int64_t step_ = 1, bound_ = 0;
  bool feasible_ = false;
  std::string method_;
  std::chrono::steady_clock::time_point begun_;
};

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
  const Solution best = search.tidied();
  plan.sticks = sticks_of(problem, best);
  plan.cost = best.cost;
  const Setup setup = setup_of(best), least = least_setup(problem);
  plan.settings = setup.settings;
  plan.settings_bound = least.settings;
  plan.patterns = setup.patterns;
  plan.patterns_bound = least.patterns;
  plan.loads = loads_of(best, order.bundle);
  plan.bound = std::min(search.bound(), plan.cost);
  plan.proven = plan.bound == plan.cost;
  plan.method = search.method();
  plan.patterns_seen = search.patterns_seen();
  return plan;
}

}  // namespace roomwright::shop
