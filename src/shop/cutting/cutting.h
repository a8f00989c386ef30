// One-dimensional cutting: which parts come from which sticks at least cost, with a proven bound.
// Whole numbers in, plan out; it knows no wood and no unit. A stick holds parts whose lengths and
// one kerf each sum to at most its usable length and one kerf, since no cut is needed where the
// last part ends flush.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/base/base.h"

namespace roomwright::shop {

inline constexpr std::int64_t greatest_cutting_length = 1'000'000'000'000;
inline constexpr std::int64_t greatest_cutting_cost = 1'000'000'000'000;
inline constexpr std::int64_t most_cutting_parts = 1'000'000;
inline constexpr std::size_t most_part_lengths = 2000;
inline constexpr std::size_t most_stock_entries = 500;

struct CuttingStock {
  std::string name;
  std::int64_t length = 0;
  std::int64_t cost = 0;              ///< at least 0
  std::optional<std::int64_t> count;  ///< none: as many as wanted
  /// Stretches that no part may hold, from the raw end, rising and apart. Behind sound wood each is
  /// cut out with at least one kerf: one that is narrower counts as one kerf from where it begins.
  std::vector<std::pair<std::int64_t, std::int64_t>> defects;
};
struct CuttingPart {
  std::string name;
  std::int64_t length = 0;
  std::int64_t count = 0;
};
/// What an offcut is worth that is at least so long: cost units for each unit of length, but never
/// more than the stick cost for each unit of its usable length (rounded down). What is left of a
/// stick that cost nothing is worth nothing; neither is what is left of a stick with defects.
struct CuttingKeep {
  std::int64_t least = 0;
  std::int64_t worth = 0;  ///< 0: nothing
};
struct CuttingOrder {
  std::vector<CuttingStock> stock;
  std::vector<CuttingPart> parts;
  std::int64_t kerf = 0;
  std::int64_t trim = 0;  ///< off each raw end, its saw cut included
  CuttingKeep keep;
  std::int64_t bundle = 1;  ///< how many sticks the saw takes at once
};

struct CuttingOptions {
  std::int64_t max_nodes = 2'000;  ///< of the integer program over patterns, and of each dive
  /// Packings tried for less setup; fewer above 16 lengths; 0: none.
  std::int64_t setup_rounds = 150;
  double seconds = 0;  ///< a wish; 0: none
  Watch watch;
};

/// One part on a stick, by its positions from the raw end.
struct Cut {
  int part = 0;
  std::int64_t from = 0, to = 0;
};
/// Sticks cut alike. offcut: what is left behind the last part's cut, without the end trim.
struct CutStick {
  int stock = 0;
  std::vector<Cut> cuts;  ///< longest first, from the raw end (in each sound stretch)
  std::int64_t offcut = 0;
  std::int64_t repeat = 1;
  int pattern = 0;  ///< sticks of one pattern follow each other and have the same marks
  std::int64_t offcut_worth = 0;  ///< by `keep`, of one of these sticks
};
/// Sticks are worked pattern by pattern as listed, all sticks of a pattern length by length, each
/// from long to short. A setting of the stop is each change of length on this way, the first
/// included: also from one pattern to the next, unless the stop stands right already. A pattern is
/// a kind of stick with the lengths cut from it.
struct CuttingPlan {
  std::int64_t cost = 0;   ///< of the sticks, less what kept offcuts are worth
  std::int64_t bound = 0;  ///< no plan costs less
  bool proven = false;     ///< cost = bound
  std::vector<CutStick> sticks;
  /// Among plans of this cost few settings are sought, then few patterns. No plan has fewer than
  /// the bounds; where they are not met, it is not proven that there is no better.
  std::int64_t settings = 0, settings_bound = 0;
  std::int64_t patterns = 0, patterns_bound = 0;
  std::int64_t loads = 0;  ///< of the saw, up to `bundle` sticks of one pattern at a time
  std::string method;      ///< how it was found and why it stopped
  std::int64_t patterns_seen = 0;
};

/// Errors: wrong numbers, parts longer than every stick, parts for which there is not stock enough:
/// each by name.
/// Sources: P. C. Gilmore & R. E. Gomory, Oper. Res. 9 (1961) for the patterns; A. A. Farley, Oper.
/// Res. 38 (1990) for the bound from any prices, here in whole numbers.
Result<CuttingPlan> solve_cutting(const CuttingOrder& order, const CuttingOptions& options = {});

/// An independent check of a plan against its order: kerf, trim, defects, counts, cost.
Result<Done> check_cutting(const CuttingOrder& order, const CuttingPlan& plan);

}  // namespace roomwright::shop
