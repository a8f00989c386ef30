// Private to shop/cutting: among plans of one cost, one that is less work at the saw.
#pragma once

#include <compare>

#include "shop/cutting/columns.h"

namespace roomwright::shop {

/// Settings of the stop first, then different patterns; see CuttingPlan.
struct Setup {
  std::int64_t settings = 0, patterns = 0;
  auto operator<=>(const Setup&) const = default;
};

/// Equal patterns gathered, in the order in which the stop is set least often: a pattern whose
/// longest part is the shortest of the one before needs one setting less. Each pattern is cut from
/// long to short, so the lengths fall along such a chain and every chain is as long as it can be.
Solution in_sequence(const Problem& problem, const Solution& solution);

/// Of a solution in sequence.
Setup setup_of(const Solution& solution);

/// What no plan can go below: each length must be set once; each pattern holds only so many.
Setup least_setup(const Problem& problem);

/// A plan of at most the cost of `best` with less setup, or `best`: patterns that can be cut often
/// are fixed first, as long as the relaxed rest says that the cost can still be met.
Solution less_setup(const Problem& problem, Master& master, const Solution& best, Effort& effort);

}  // namespace roomwright::shop
