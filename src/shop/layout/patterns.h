// Private to shop/layout: a bound on the cost of sheets of any kinds, by the linear program over
// cutting patterns (P. Gilmore & R. Gomory, Operations Research 13 (1965), from memory).
#pragma once

#include "shop/layout/rebuild.h"

namespace roomwright::shop {

/// No layout of all parts costs less. enough: more is not asked. most_work: steps of the dynamic
/// programs that price patterns; where these do not suffice, by area only.
std::int64_t pattern_bound(const LayoutProblem& problem, std::int64_t enough,
                           std::int64_t most_work, const Budget& budget);

}  // namespace roomwright::shop
