// Private to shop/cutting: plans without proof, from simple rules, from the relaxed plan, and by
// diving: fixing patterns one after the other while the rest is relaxed again.
#pragma once

#include <functional>

#include "shop/cutting/master.h"
#include "shop/cutting/patterns.h"

namespace roomwright::shop {

enum class Greedy { longest_first, fullest };

/// Parts longest first into one stick, as many as fit.
Pattern longest_first(const Problem& problem, int bin, const Counts& demand);

/// Stick by stick, each time the one that is cheapest for what it holds; `out` is whole at the end
/// where the stock suffices. Once it is late, the quick rule does the rest.
void fill_greedily(const Problem& problem, Left& left, Solution& out, Greedy how,
                   const std::function<bool()>& late = {});
Solution greedy(const Problem& problem, Greedy how, const std::function<bool()>& late = {});

/// Each part, longest first, onto the opened stick where it leaves the least.
Solution best_fit(const Problem& problem);

/// Whole uses of the relaxed plan, after `lift` is added to each, then the rest greedily.
Solution rounded(const Problem& problem, const Master& master, const Master::Relaxed& relaxed,
                 double lift, Greedy how, const Left& from);

/// Uses of known patterns as a plan for the order; what is over is left out.
Solution plan_of(const Problem& problem, const std::vector<Pattern>& patterns,
                 const std::vector<std::int64_t>& uses);

}  // namespace roomwright::shop
