// Private to shop/cutting: the most value that fits into one stretch.
#pragma once

#include "shop/cutting/problem.h"

namespace roomwright::shop {

/// 0 ≤ n_i ≤ limit_i, Σ n_i size_i ≤ capacity. Values at least 0.
struct Packed {
  std::int64_t value = 0;
  Counts counts;
  std::int64_t bound = 0;      ///< what cannot be passed: `value`, unless the work limit bit
  std::vector<Counts> others;  ///< some that are also above the floor, met on the way
};

/// A capacity, and a value up to which a packing is of no use: it need not be found, and `bound` is
/// at least so much.
struct Space {
  std::int64_t capacity = 0, floor = 0;
};

/// The best packing of each space, from one pass.
std::vector<Packed> pack_best(const Problem& problem, const std::vector<Space>& spaces,
                              const Counts& limits, const std::vector<std::int64_t>& values);

/// Items by falling value for their size; those without value are left out.
std::vector<std::size_t> by_density(const Problem& problem,
                                    const std::vector<std::int64_t>& values);
/// No filling of `rest` from items of at most this item's density is worth more.
std::int64_t most_at_density(const Problem& problem, const std::vector<std::int64_t>& values,
                             std::size_t item, std::int64_t rest);

}  // namespace roomwright::shop
