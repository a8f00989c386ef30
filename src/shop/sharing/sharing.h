// Who pays what of a cost that several make together: the Shapley value, in whole units that add
// up. Knows no jobs and no shop; costs come from the caller, coalition by coalition.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::shop {

inline constexpr int most_exact_players = 8;
inline constexpr int most_players = 24;

/// One cost among several that are shared: what it comes to for a coalition, given as bits of the
/// players. Asked for coalitions of `players` only, each at most once; nobody costs nothing.
struct SharedCost {
  std::string name;
  std::uint32_t players = 0;  ///< who takes part at all
  std::function<std::int64_t(std::uint32_t coalition)> cost;
};

struct SharedPart {
  std::string name;
  std::int64_t apart = 0, together = 0;
};
struct Sharing {
  std::vector<std::int64_t> alone;   ///< by player
  std::vector<std::int64_t> shares;  ///< by player; they add up to `together`
  std::int64_t together = 0, apart = 0;
  std::vector<SharedPart> parts;  ///< as the costs were given
  /// Coalitions for which the plan came out dearer than in two parts: they pay for two parts.
  int mended = 0;
  bool exact = true;
  double standard_error = 0;  ///< of the least certain share, where not exact
  std::string method;
};

/// Each player pays the mean, over all orders in which the players could come, of what his coming
/// adds. Where no coalition costs more than its parts, and this is seen to, nobody pays more than
/// alone. Up to most_exact_players exactly; beyond, over 200 orders and their reverses drawn with
/// a fixed seed. Errors: no player, too many, a cost below 0.
/// Source: L. S. Shapley, A value for n-person games, in Contributions to the Theory of Games II,
/// Annals of Mathematics Studies 28 (1953) 307-317
Result<Sharing> share_costs(int players, const std::vector<SharedCost>& costs,
                            const Watch& watch = {});

}  // namespace roomwright::shop
