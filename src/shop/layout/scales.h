// Private to shop/layout: bounds by conservative scales. A scale gives each size a weight so that
// whatever lies side by side on a line weighs at most `whole`; weights on both axes multiply to
// areas, and no layout can hold more weighted area than its material has.
#pragma once

#include "shop/layout/problem.h"

namespace roomwright::shop {

/// A length of roll (enlarged) that no layout of it can pass below; at most `enough` is asked.
std::int64_t roll_bound(const LayoutProblem& problem, std::int64_t enough, const Watch& watch);

/// Whether the scales show that no layout of a roll is as short as this (enlarged).
/// hasty: a weaker answer in a fraction of the time.
bool roll_too_short(const LayoutProblem& problem, std::int64_t length, bool hasty,
                    const Watch& watch);

/// A number of sheets of the only material that no layout can pass below; above `enough` nothing is
/// asked.
std::int64_t sheet_count_bound(const LayoutProblem& problem, double enough, bool hasty,
                               const Watch& watch);

}  // namespace roomwright::shop
