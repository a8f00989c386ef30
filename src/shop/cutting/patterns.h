// Private to shop/cutting: the order in the form in which it is solved, and what finds patterns.
#pragma once

#include <cstdint>
#include <vector>

#include "shop/cutting/cutting.h"

namespace roomwright::shop {

/// Items (equal lengths gathered, longest first) and bins (stock with its capacity).
struct Problem {
  struct Item {
    std::int64_t length = 0, size = 0;  ///< size: with one kerf
    std::int64_t demand = 0;
    std::vector<std::pair<int, std::int64_t>> owners;  ///< part of the order and its count
  };
  struct Bin {
    std::int64_t capacity = 0;  ///< usable length and one kerf
    std::int64_t cost = 0;
    std::int64_t count = -1;  ///< -1: as many as wanted
    int stock = 0;
    /// Sound stretches (from, to) of the raw stick; one where there are no defects.
    std::vector<std::pair<std::int64_t, std::int64_t>> stretches;
  };
  std::vector<Item> items;
  std::vector<Bin> bins;
  std::int64_t kerf = 0;
};

using Counts = std::vector<std::int64_t>;  ///< by item

/// `stretches`: the counts in each stretch, only for sticks with defects.
struct Pattern {
  int bin = 0;
  Counts counts;
  std::vector<Counts> stretches;
};

/// The most value that fits: 0 ≤ n_i ≤ limit_i, Σ n_i size_i ≤ capacity. Values at least 0.
struct Packed {
  std::int64_t value = 0;
  Counts counts;
  bool exact = true;  ///< else `value` is what was found and `bound` what cannot be passed
  std::int64_t bound = 0;
};
Packed pack_best(const Problem& problem, std::int64_t capacity, const Counts& limits,
                 const std::vector<std::int64_t>& values);

/// The best pattern of a bin; sticks with defects are filled stretch by stretch, and their bound is
/// that of one stretch as long as all.
struct BestPattern {
  Pattern pattern;
  std::int64_t value = 0, bound = 0;
};
BestPattern best_pattern(const Problem& problem, int bin, const Counts& limits,
                         const std::vector<std::int64_t>& values);

/// Every maximal pattern of a bin whose value reaches at least `least`; false where there are more
/// than `most` in all.
bool list_patterns(const Problem& problem, int bin, const std::vector<std::int64_t>& values,
                   std::int64_t least, std::size_t most, std::vector<Pattern>& out);

}  // namespace roomwright::shop
