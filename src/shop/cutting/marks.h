// Private to shop/cutting: from patterns to marks on sticks.
#pragma once

#include "shop/cutting/problem.h"

namespace roomwright::shop {

/// The sticks of a plan in the sequence of its patterns, each with the parts of the order.
std::vector<CutStick> sticks_of(const Problem& problem, const Solution& solution);
/// How often the saw is loaded when it takes `bundle` sticks of one pattern at once.
std::int64_t loads_of(const Solution& solution, std::int64_t bundle);

}  // namespace roomwright::shop
