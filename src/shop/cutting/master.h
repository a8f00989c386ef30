// Private to shop/cutting: the linear and the integer program over patterns, behind which the
// library stands.
#pragma once

#include <memory>
#include <vector>

#include "shop/cutting/patterns.h"

namespace roomwright::shop {

/// Least cost of patterns that meet every demand within the counts of stock.
class Master {
 public:
  explicit Master(const Problem& problem);
  ~Master();
  Master(const Master&) = delete;
  Master& operator=(const Master&) = delete;

  void add(const Pattern& pattern);
  const std::vector<Pattern>& patterns() const { return patterns_; }

  struct Relaxed {
    bool feasible = false;
    std::vector<double> uses;    ///< by pattern
    std::vector<double> prices;  ///< by item: what one more part would cost
    std::vector<double> rents;   ///< by bin: what one more stick would save; 0 where unlimited
  };
  Relaxed relax();

  struct Whole {
    bool found = false;
    bool complete = false;  ///< nothing better is left among these patterns
    std::vector<std::int64_t> uses;
  };
  /// The best whole solution that costs at most `at_most`.
  Whole solve_whole(std::int64_t at_most, std::int64_t max_nodes, double seconds);

 private:
  struct Solver;
  const Problem& problem_;
  std::vector<Pattern> patterns_;
  std::unique_ptr<Solver> solver_;
};

}  // namespace roomwright::shop
