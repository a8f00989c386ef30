// Private to shop/cutting: what any plan must cost, in whole numbers.
#pragma once

#include <optional>
#include <vector>

#include "shop/cutting/master.h"
#include "shop/cutting/patterns.h"

namespace roomwright::shop {

Prices prices_of(const Problem& problem, const Master::Relaxed& relaxed);

/// What any plan must cost at these prices: Σ d p − Σ u max(0, v − c), where v is the most that one
/// stick can hold. Unlimited sticks need v ≤ c: else all prices shrink by c / v.
struct Bound {
  Huge scaled = 0;                 ///< in 1/scale cost units
  std::vector<std::int64_t> rent;  ///< by limit, in the same units
  Prices prices;                   ///< that prove it
  /// The least whole multiple of `step` that a plan can cost.
  std::int64_t cost(std::int64_t step) const;
};
/// most: by bin, what its best pattern is worth at most at these prices.
Bound bound_of(const Problem& problem, const Prices& prices, const std::vector<std::int64_t>& most);

/// How many sticks of each bin a plan may have. At any prices the sticks must hold what all parts
/// are worth, Σ n v ≥ Σ d p: each pricing gives such a cut, and the cheapest whole numbers that
/// satisfy all cuts bound the cost. This closes the gap that comes of mixing stick lengths.
/// Only where no offcut is worth anything, and for few bins.
class StickCounts {
 public:
  explicit StickCounts(const Problem& problem);
  bool useful() const { return useful_; }
  void cut(const Prices& prices, const std::vector<std::int64_t>& most);
  /// The cheapest numbers that cost at most `at_most`, without those in `skipped`; none: there are
  /// none. `complete` is false where the search was too long to tell.
  std::optional<Counts> cheapest(std::int64_t at_most, const std::vector<Counts>& skipped,
                                 bool& complete);
  std::int64_t cost(const Counts& numbers) const;
  bool forbids(const Counts& numbers) const;

 private:
  struct Cut {
    std::vector<double> most;  ///< by bin, as a share of what is needed: no cut is lost by rounding
  };
  double least_more(std::size_t from, const std::vector<double>& need) const;
  void search(std::size_t at, std::int64_t cost, std::vector<double> need);
  const Problem& problem_;
  bool useful_ = false;
  std::vector<Cut> cuts_;
  const std::vector<Counts>* skipped_ = nullptr;
  Counts numbers_;
  std::optional<Counts> found_;
  std::int64_t target_ = 0, nodes_ = 0;
};

}  // namespace roomwright::shop
