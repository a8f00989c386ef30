// Private to shop/cutting: the relaxed plan by generating patterns, and the dive from it to whole
// plans.
#pragma once

#include <functional>

#include "shop/cutting/bound.h"
#include "shop/cutting/plans.h"

namespace roomwright::shop {

/// What the work of one order may cost: counted, so that it is the same everywhere; and the
/// caller's wish to stop.
struct Effort {
  std::int64_t rounds = 0;  ///< pricings left
  std::function<bool()> late;
  bool spent() const { return rounds <= 0 || late(); }
};

/// Adds patterns until no stick can hold more than it costs, or the relaxed plan costs no more than
/// `enough`. `seen` is told each pricing.
struct Generated {
  Master::Relaxed relaxed;
  bool complete = false;  ///< no pattern would help
};
using SeenPricing = std::function<void(const Prices&, const std::vector<std::int64_t>& most)>;
Generated generate(const Problem& problem, Master& master, const Counts& limits, Effort& effort,
                   const SeenPricing& seen, double enough = -1);

/// Fixes the patterns that are used most wholly, relaxes the rest again, and so on; then again with
/// up to `discrepancies` second choices near the start. Source: R. Sadykov, F. Vanderbeck,
/// A. Pessoa, I. Tahiri, E. Uchoa, INFORMS J. Comput. 31 (2019), 251-267.
class Diver {
 public:
  /// `best` is improved in place until its cost is at most `bound`.
  Diver(const Problem& problem, Master& master, Solution& best, std::int64_t bound, Effort& effort)
      : problem_(problem),
        master_(master),
        best_(best),
        bound_(bound),
        step_(problem.cost_step()),
        effort_(effort) {}
  void run(int discrepancies);

 private:
  using Path = std::vector<std::pair<std::size_t, std::int64_t>>;
  bool finished() const { return (best_.whole && best_.cost <= bound_) || effort_.spent(); }
  void dive(Left left, std::set<std::size_t> barred, int depth, int discrepancies);
  void take(Left& left, std::size_t pattern, std::int64_t times);
  void offer(const Solution& rest);
  std::vector<std::size_t> choices(const Left& left, std::vector<double>& uses) const;

  const Problem& problem_;
  Master& master_;
  Solution& best_;
  std::int64_t bound_, step_;
  Effort& effort_;
  Path path_;
  std::int64_t fixed_ = 0;  ///< cost of the path
};

}  // namespace roomwright::shop
