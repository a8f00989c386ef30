// Less work at the saw for the same cost; see settings.h. The idea of fixing patterns by how often
// they can be cut is R. W. Haessler's (Oper. Res. 23, 1975, 483-493), here with the relaxed rest as
// the judge.
#include "shop/cutting/settings.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>

namespace roomwright::shop {

namespace {

/// The lengths in the order in which a stick is cut, each once where they lie together.
std::vector<std::size_t> stops_of(const Pattern& pattern) {
  std::vector<std::size_t> out;
  const auto add = [&](const Counts& counts) {
    for (std::size_t i = 0; i < counts.size(); ++i)
      if (counts[i] > 0 && (out.empty() || out.back() != i)) out.push_back(i);
  };
  if (pattern.stretches.empty()) add(pattern.counts);
  for (const Counts& stretch : pattern.stretches) add(stretch);
  return out;
}

Solution gathered(const Problem& problem, const Solution& solution) {
  std::map<std::tuple<int, Counts, std::vector<Counts>>, std::int64_t> uses;
  for (std::size_t p = 0; p < solution.patterns.size(); ++p) {
    const Pattern& pattern = solution.patterns[p];
    uses[{pattern.bin, pattern.counts, pattern.stretches}] += solution.uses[p];
  }
  Solution out;
  for (const auto& [key, times] : uses)
    out.add(problem, {std::get<0>(key), std::get<1>(key), std::get<2>(key)}, times);
  out.whole = solution.whole;
  return out;
}

/// For each pattern the one that follows it with the stop unmoved; -1: none.
std::vector<int> followers(const std::vector<std::vector<std::size_t>>& stops,
                           std::vector<bool>& led) {
  std::map<std::size_t, std::array<std::vector<int>, 3>> at;  // by length: ending, alone, beginning
  for (int p = 0; p < static_cast<int>(stops.size()); ++p) {
    const auto& mine = stops[static_cast<std::size_t>(p)];
    if (mine.size() == 1) {
      at[mine[0]][1].push_back(p);
    } else {
      at[mine.back()][0].push_back(p);
      at[mine.front()][2].push_back(p);
    }
  }
  std::vector<int> next(stops.size(), -1);
  const auto join = [&](int before, int after) {
    next[static_cast<std::size_t>(before)] = after;
    led[static_cast<std::size_t>(after)] = true;
  };
  for (const auto& [length, kinds] : at) {
    const auto& [ending, alone, beginning] = kinds;
    for (std::size_t i = 1; i < alone.size(); ++i) join(alone[i - 1], alone[i]);
    if (!alone.empty() && !ending.empty()) join(ending[0], alone.front());
    if (!alone.empty() && !beginning.empty()) join(alone.back(), beginning[0]);
    for (std::size_t i = alone.empty() ? 0 : 1; i < std::min(ending.size(), beginning.size()); ++i)
      join(ending[i], beginning[i]);
  }
  return next;
}

}  // namespace

Solution in_sequence(const Problem& problem, const Solution& solution) {
  const Solution all = gathered(problem, solution);
  std::vector<std::vector<std::size_t>> stops;
  for (const Pattern& pattern : all.patterns) stops.push_back(stops_of(pattern));
  std::vector<bool> led(stops.size(), false);
  const std::vector<int> next = followers(stops, led);
  std::vector<std::size_t> heads(stops.size());
  std::iota(heads.begin(), heads.end(), 0);
  std::stable_sort(heads.begin(), heads.end(), [&](std::size_t a, std::size_t b) {
    return all.patterns[a].counts > all.patterns[b].counts;  // longest parts first
  });
  Solution out;
  std::vector<bool> placed(stops.size(), false);
  // Sticks with defects may close a ring: the second pass opens it.
  for (const bool any : {false, true})
    for (const std::size_t head : heads)
      for (int p = any || !led[head] ? static_cast<int>(head) : -1;
           p >= 0 && !placed[static_cast<std::size_t>(p)]; p = next[static_cast<std::size_t>(p)]) {
        placed[static_cast<std::size_t>(p)] = true;
        out.add(problem, all.patterns[static_cast<std::size_t>(p)],
                all.uses[static_cast<std::size_t>(p)]);
      }
  out.whole = all.whole;
  return out;
}

Setup setup_of(const Solution& solution) {
  Setup out;
  std::size_t at = SIZE_MAX;
  for (const Pattern& pattern : solution.patterns) {
    ++out.patterns;
    for (const std::size_t stop : stops_of(pattern)) {
      if (stop != at) ++out.settings;
      at = stop;
    }
  }
  return out;
}

Setup least_setup(const Problem& problem) {
  std::int64_t widest = 0;
  for (const auto& bin : problem.bins) widest = std::max(widest, bin.capacity);
  std::int64_t lengths = 0, rest = widest;  // of the shortest parts, one each
  for (std::size_t i = problem.items.size(); i-- > 0 && problem.items[i].size <= rest;) {
    rest -= problem.items[i].size;
    ++lengths;
  }
  const auto all = static_cast<std::int64_t>(problem.items.size());
  lengths = std::max<std::int64_t>(1, lengths);
  return {all, (all + lengths - 1) / lengths};
}

namespace {

class RepeatSearch {
 public:
  RepeatSearch(const Problem& problem, Master& master, const Solution& best, Effort& effort)
      : problem_(problem), master_(master), effort_(effort), best_(in_sequence(problem, best)) {
    least_ = least_setup(problem);
    setup_ = setup_of(best_);
    cost_ = best.cost;
  }
  Solution run() {
    // The slack of a step is its share of all there is, then more and more of it; and the fewer
    // lengths of a pattern count for more, then for less, than how often it can be cut.
    const std::int64_t rounds = effort_.rounds;
    const std::array<std::pair<double, double>, 4> ways = {{{1, 1}, {2, 0}, {4, 2}, {1e9, 0.5}}};
    for (std::size_t s = 0; s < ways.size() && setup_ != least_; ++s) {
      std::tie(share_, weight_) = ways[s];
      effort_.rounds += s == 0 ? rounds / 2 - rounds : rounds / 6;
      go(Left(problem_));
    }
    master_.ask_for(Left(problem_));
    return std::move(best_);
  }

 private:
  struct Choice {
    Pattern pattern;
    std::int64_t times = 0;
    double score = 0;
    bool settled = false;  ///< the rest can still meet the cost
  };

  bool finished() const { return setup_ == least_ || effort_.spent(); }

  /// No plan that goes on from the path can have less setup than this.
  bool hopeless() const {
    std::int64_t settings = 0;
    for (const Pattern& pattern : path_.patterns)
      settings += static_cast<std::int64_t>(stops_of(pattern).size()) - 1;
    return settings + 1 > setup_.settings;
  }

  void go(const Left& left) {
    if (left.done()) return offer();
    if (finished() || hopeless()) return;
    master_.ask_for(left);
    const Generated now = generate(problem_, master_, left.demand, effort_, {});
    const double slack = static_cast<double>(cost_ - path_.cost) - now.relaxed.cost + 1e-6;
    if (!now.relaxed.feasible || slack < 0) return;
    double sticks = 0;
    for (const double uses : now.relaxed.uses) sticks += uses;
    std::vector<Choice> choices = repeatable(left, now.relaxed, slack, sticks);
    settle_first(left, choices);
    for (std::size_t c = 0; c < std::min<std::size_t>(2, choices.size()) && !finished(); ++c) {
      if (choices[c].times == 0 || !choices[c].settled) break;
      Left next = left;
      next.take(problem_, choices[c].pattern, choices[c].times);
      const Solution before = path_;
      path_.add(problem_, choices[c].pattern, choices[c].times);
      go(next);
      path_ = before;
    }
  }

  /// Brings the best choices to the front; what cannot come there is not looked at closely.
  void settle_first(const Left& left, std::vector<Choice>& choices) {
    for (Choice& choice : choices) rate(choice);
    for (std::size_t first = 0; first < std::min<std::size_t>(2, choices.size()); ++first)
      while (!effort_.spent()) {
        const auto best =
            std::max_element(choices.begin() + static_cast<std::ptrdiff_t>(first), choices.end(),
                             [](const Choice& a, const Choice& b) { return a.score < b.score; });
        if (best->settled) {
          std::iter_swap(choices.begin() + static_cast<std::ptrdiff_t>(first), best);
          break;
        }
        most_often(left, *best);
      }
  }

  /// Fewer repeats of a choice, until the relaxed rest can still meet the cost.
  void most_often(const Left& left, Choice& choice) {
    std::int64_t good = 0, bad = choice.times + 1;
    for (std::int64_t times = choice.times; good + 1 < bad && !effort_.spent();
         times = (good + bad) / 2)
      (can_go_on(left, choice.pattern, times) ? good : bad) = times;
    choice.times = good;
    choice.settled = true;
    rate(choice);
  }

  bool can_go_on(Left left, const Pattern& pattern, std::int64_t times) {
    left.take(problem_, pattern, times);
    if (left.done()) return true;
    master_.ask_for(left);
    --effort_.rounds;
    const double enough =
        1e-3 + static_cast<double>(cost_ - path_.cost - cost_of(problem_, pattern) * times);
    const Generated now = generate(problem_, master_, left.demand, effort_, {}, enough);
    return now.relaxed.feasible && now.relaxed.cost <= enough;
  }

  void rate(Choice& choice) const {
    const double stops = static_cast<double>(stops_of(choice.pattern).size()) - 0.5;
    choice.score = static_cast<double>(choice.times) / std::pow(stops, weight_);
  }

  void offer() {
    path_.whole = true;
    Solution plan = in_sequence(problem_, path_);
    const Setup setup = setup_of(plan);
    if (plan.cost > cost_ || (plan.cost == cost_ && setup >= setup_)) return;
    best_ = std::move(plan);
    setup_ = setup;
  }

  /// Patterns that can be cut so often without losing more than the slack, most often first.
  std::vector<Choice> repeatable(const Left& left, const Master::Relaxed& relaxed, double slack,
                                 double sticks) {
    const Prices prices = prices_of(problem_, relaxed);
    std::vector<Choice> out;
    for (const std::int64_t times : repeats(left)) {
      if (effort_.spent() || out.size() >= 4) break;
      --effort_.rounds;
      std::vector<int> bins;
      for (int b = 0; b < static_cast<int>(problem_.bins.size()); ++b)
        if (problem_.bin(b).whole() ? left.sticks(problem_, b) >= times
                                    : times == 1 && left.sticks(problem_, b) > 0)
          bins.push_back(b);
      Counts limits = left.demand;
      for (std::int64_t& limit : limits) limit /= times;
      for (BestPattern& one : best_patterns(problem_, bins, limits, prices))
        consider(std::move(one), times, left, relaxed, prices,
                 std::min(slack, slack / sticks * share_ * static_cast<double>(times)), out);
    }
    return out;
  }

  void consider(BestPattern one, std::int64_t times, const Left& left,
                const Master::Relaxed& relaxed, const Prices& prices, double slack,
                std::vector<Choice>& out) {
    const Problem::Bin& bin = problem_.bin(one.pattern.bin);
    if (filled(problem_, one.pattern.counts) == 0) return;
    const double rent = bin.limit < 0 ? 0 : relaxed.rents[static_cast<std::size_t>(bin.limit)];
    const double worth = static_cast<double>(one.value) / static_cast<double>(prices.scale);
    const double loss = static_cast<double>(bin.cost) + rent - worth;
    if (loss * static_cast<double>(times) > slack + 1e-3) return;
    const std::int64_t most = left.times(problem_, one.pattern);
    if (most < times) return;  // a stick with defects that holds more than is wanted
    // Once more than asked may be free.
    while (times < most && loss * static_cast<double>(times + 1) <= slack + 1e-3) ++times;
    out.push_back({std::move(one.pattern), times, 0, false});
  }

  /// Numbers of repeats at which a limit changes, falling.
  std::vector<std::int64_t> repeats(const Left& left) const {
    constexpr std::size_t most_tries = 24;
    std::set<std::int64_t, std::greater<>> out;
    std::int64_t widest = 0;
    for (const auto& bin : problem_.bins) widest = std::max(widest, bin.capacity);
    for (std::size_t i = 0; i < left.demand.size(); ++i)
      for (std::int64_t n = 1; n <= std::min(left.demand[i], widest / problem_.items[i].size); ++n)
        out.insert(left.demand[i] / n);
    std::vector<std::int64_t> list(out.begin(), out.end());
    // Where there are too many, the greatest and the least.
    if (list.size() > most_tries)
      list.erase(list.begin() + most_tries / 2, list.end() - most_tries / 2);
    return list;
  }

  const Problem& problem_;
  Master& master_;
  Effort& effort_;
  Solution best_, path_;
  Setup least_, setup_;
  std::int64_t cost_ = 0;
  double share_ = 1, weight_ = 1;
};

}  // namespace

Solution less_setup(const Problem& problem, Master& master, const Solution& best, Effort& effort) {
  return RepeatSearch(problem, master, best, effort).run();
}

}  // namespace roomwright::shop
