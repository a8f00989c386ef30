// Private to shop/layout: exact answers for small orders and for orders with almost no waste. Parts
// are joined beside and above each other into larger and larger blocks; a block whose own waste is
// more than the whole material may have is dropped (P. Wang, Operations Research 31 (1983), from
// memory). When no more blocks arise, either the whole order is among them or it does not fit.
#pragma once

#include "shop/layout/rebuild.h"

namespace roomwright::shop {

enum class Joined { found, impossible, given_up };

struct JoinResult {
  Joined how = Joined::given_up;
  Tree tree;  ///< of all parts, where found
};

/// Whether everything goes into one width by height piece. most_nodes: pairs of blocks looked at.
JoinResult join_all(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
                    std::int64_t most_nodes, Budget& budget);

struct MostJoined {
  bool complete = false;  ///< nothing above `above` is left out
  double value = 0;       ///< of the tree; 0 where nothing above `above` was found
  Tree tree;
};

/// Most value on one width by height piece, of what is above a value that is known to be possible.
MostJoined join_most(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
                     double above, std::int64_t most_nodes, Budget& budget);

}  // namespace roomwright::shop
