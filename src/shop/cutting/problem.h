// Private to shop/cutting: the order in the form in which it is solved.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "shop/cutting/cutting.h"

namespace roomwright::shop {

__extension__ using Huge = __int128;
using Counts = std::vector<std::int64_t>;  ///< by item

/// Items (equal lengths gathered, longest first) and bins (equal stock gathered).
struct Problem {
  struct Item {
    std::int64_t length = 0, size = 0;  ///< size: with one kerf
    std::int64_t demand = 0;
    std::vector<std::pair<int, std::int64_t>> owners;  ///< part of the order and its count
  };
  /// What a stick holds and costs: cost + rate × filled size. rate is above 0 only in the bin that
  /// stands for a stick whose offcut is kept: it holds less and costs less.
  struct Bin {
    std::int64_t capacity = 0;  ///< usable length and one kerf; less where an offcut is kept
    std::int64_t cost = 0, rate = 0;
    int limit = -1;  ///< index into `limits`; -1: as many as wanted
    /// Sound stretches (from, to) of the raw stick; one where there are no defects.
    std::vector<std::pair<std::int64_t, std::int64_t>> stretches;
    std::vector<std::pair<int, std::int64_t>> members;  ///< entry of the order, and how many; -1
    int kept = -1;  ///< the bin of the same sticks with an offcut kept
    int root = 0;   ///< the bin whose members these sticks are: itself, but for a kept one
    bool whole() const { return stretches.size() == 1; }
  };
  std::vector<Item> items;
  std::vector<Bin> bins;
  Counts limits;  ///< how many sticks the bins of one limit have between them
  std::int64_t kerf = 0;

  const Bin& bin(int b) const { return bins[static_cast<std::size_t>(b)]; }
  std::int64_t stock_of(const Bin& of) const {
    return of.limit < 0 ? most_cutting_parts : limits[static_cast<std::size_t>(of.limit)];
  }
  bool keeps() const;
  /// The greatest number of which the cost of every pattern is a multiple.
  std::int64_t cost_step() const;
};

/// `stretches`: the counts in each stretch, only for sticks with defects.
struct Pattern {
  int bin = 0;
  Counts counts;
  std::vector<Counts> stretches;
};

/// Every wrong number of an order.
void check_cutting_order(const CuttingOrder& order, Diagnostics& found);
Problem problem_of(const CuttingOrder& order);
/// Parts that no stick can hold.
void check_lengths(const CuttingOrder& order, const Problem& problem, Diagnostics& found);

std::int64_t filled(const Problem& problem, const Counts& counts);
std::int64_t cost_of(const Problem& problem, const Pattern& pattern);

/// Patterns and how often each is cut.
struct Solution {
  std::vector<Pattern> patterns;
  std::vector<std::int64_t> uses;
  std::int64_t cost = 0;
  bool whole = false;  ///< meets every demand

  /// An offcut that is long enough is kept.
  void add(const Problem& problem, Pattern pattern, std::int64_t times);
  void append(const Solution& other);
};

/// What is still to be cut, and what is still there.
struct Left {
  Counts demand, stock;  ///< by item; by limit
  explicit Left(const Problem& problem);
  bool done() const;
  std::int64_t sticks(const Problem& problem, int bin) const;
  /// How often a pattern may be used without cutting too much.
  std::int64_t times(const Problem& problem, const Pattern& pattern) const;
  void take(const Problem& problem, const Pattern& pattern, std::int64_t count);
};

}  // namespace roomwright::shop
