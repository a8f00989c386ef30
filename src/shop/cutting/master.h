// Private to shop/cutting: the linear and the integer program over patterns, behind which the
// library stands.
#pragma once

#include <memory>
#include <set>
#include <vector>

#include "shop/cutting/problem.h"

namespace roomwright::shop {

/// Least cost of patterns that meet every demand within the counts of stock.
class Master {
 public:
  /// shortage: what a part costs that no stick gives; the dearest stick is 1.
  explicit Master(const Problem& problem, double shortage = 1e3);
  ~Master();
  Master(const Master&) = delete;
  Master& operator=(const Master&) = delete;

  /// False where it is known already.
  bool add(const Pattern& pattern);
  const std::vector<Pattern>& patterns() const { return patterns_; }

  /// From here on, what is left is asked for: only patterns that fit into it may be used, and none
  /// of `barred`.
  void ask_for(const Left& left, const std::set<std::size_t>& barred = {});

  struct Relaxed {
    bool feasible = false;
    double cost = 0;
    std::vector<double> uses;    ///< by pattern
    std::vector<double> prices;  ///< by item: what one more part would cost
    std::vector<double> rents;   ///< by limit: what one more stick would save
  };
  Relaxed relax();

  struct Whole {
    bool found = false;
    bool complete = false;  ///< nothing better is left among these patterns
    std::vector<std::int64_t> uses;
  };
  /// The best whole solution for the whole order that costs at most `at_most`.
  Whole solve_whole(std::int64_t at_most, std::int64_t max_nodes, double seconds);

 private:
  struct Solver;
  const Problem& problem_;
  std::vector<Pattern> patterns_;
  std::set<std::pair<int, Counts>> known_;
  std::unique_ptr<Solver> solver_;
};

}  // namespace roomwright::shop
