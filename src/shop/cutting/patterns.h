// Private to shop/cutting: what finds patterns of the bins.
#pragma once

#include "shop/cutting/knapsack.h"

namespace roomwright::shop {

/// Prices of the items in whole numbers of 1/scale cost units; at least 0.
struct Prices {
  std::vector<std::int64_t> item;
  std::int64_t scale = 1;
};

/// The best pattern of a bin, worth Σ n (price − rate × size). Each stretch of a stick with defects
/// is filled for itself, so that a pattern may hold more of an item than is wanted. A pattern worth
/// no more than its bin's floor (none given: 0) need not be found, but `bound` holds for it too.
struct BestPattern {
  Pattern pattern;
  std::vector<Counts> others;  ///< of the same bin, also above the floor; whole sticks only
  std::int64_t value = 0, bound = 0;
};
std::vector<BestPattern> best_patterns(const Problem& problem, const std::vector<int>& bins,
                                       const Counts& limits, const Prices& prices,
                                       const std::vector<std::int64_t>& floors = {});

/// Every maximal pattern of a bin that is worth at least `least`; false where there are more than
/// `most` in all, or too many to look through.
bool list_patterns(const Problem& problem, int bin, const Prices& prices, std::int64_t least,
                   std::size_t most, std::vector<Pattern>& out);

}  // namespace roomwright::shop
