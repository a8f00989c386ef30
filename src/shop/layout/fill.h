// Private to shop/layout: plans made by filling one piece of material after another, in many orders
// of the parts. They serve orders that are too large for the search, phases of a repeat that are
// free to choose, and as what no plan may be worse than.
#pragma once

#include "shop/layout/rebuild.h"

namespace roomwright::shop {

/// The best of some fillings; none where not all parts could be placed (aim: least).
std::optional<LayoutPlan> fill_plan(const LayoutOrder& order, const LayoutProblem& problem,
                                    std::int64_t bound, std::int64_t trials, Budget& budget);

/// Shelves, tallest first, each part on the first shelf with room (E. Coffman et al., SIAM J.
/// Computing 9 (1980), from memory); shelves go to sheets the same way. For a roll or one kind of
/// sheet; empty where that does not hold, or sheets do not suffice. `newest`: only the shelf in
/// hand is looked at; `as_given`: parts in their order.
Sheets2d shelves(const LayoutProblem& problem, bool newest = false, bool as_given = false);

}  // namespace roomwright::shop
