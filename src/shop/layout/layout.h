// Two-dimensional cutting edge to edge: rectangles from sheets or from a roll, with a bound. Whole
// numbers in, plan out; it knows no cloth and no unit. Each cut runs right through the piece then
// in hand.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::shop {

inline constexpr std::int64_t greatest_layout_side = 1'000'000'000'000;
inline constexpr std::int64_t most_layout_parts = 100'000;
inline constexpr std::size_t most_layout_sizes = 1000;

struct LayoutSheet {
  std::string name;
  std::int64_t width = 0, height = 0;
  std::int64_t cost = 0;
  std::optional<std::int64_t> count;  ///< none: as many as wanted
};
struct LayoutRoll {
  std::int64_t width = 0;  ///< across; the length is what is asked
};
struct LayoutPart {
  std::string name;
  std::int64_t width = 0, height = 0;  ///< on a roll: across and along
  std::int64_t count = 1;
  bool rotate = false;
  std::int64_t value = 0;
};
enum class LayoutAim { least, value };

/// Sheets or a roll, not both. pile_one_way: nothing is turned. repeat: pieces on the roll begin at
/// multiples of it (0: anywhere).
struct LayoutOrder {
  std::vector<LayoutSheet> sheets;
  std::optional<LayoutRoll> roll;
  std::vector<LayoutPart> parts;
  std::int64_t kerf = 0;
  LayoutAim aim = LayoutAim::least;
  bool pile_one_way = false;
  std::int64_t repeat = 0;
};

struct LayoutOptions {
  std::int64_t trials = 400;  ///< orders of parts that are tried
  double seconds = 0;         ///< a wish; 0: none
  Watch watch;
};

/// sheet: index of the used sheet, 0 on a roll.
struct Placed {
  int part = 0;
  int sheet = 0;
  std::int64_t x = 0, y = 0, width = 0, height = 0;
};
/// A cut along x = at (axis 'x') from y = from to y = to, or along y = at. The kerf lies behind it.
struct LayoutCut {
  int sheet = 0;
  char axis = 'x';
  std::int64_t at = 0, from = 0, to = 0;
};
struct LayoutPlan {
  std::vector<Placed> placed;
  std::vector<LayoutCut> cuts;   ///< in an order in which they can be made
  std::vector<int> sheets_used;  ///< which sheet of the order each used one is
  std::int64_t used = 0;         ///< length of roll, cost of sheets, or value
  std::int64_t bound = 0;        ///< no plan is better
  bool proven = false;
  std::string method;
};

/// Errors: wrong numbers; parts that fit no sheet or are wider than the roll; sheets that do not
/// suffice: each by name.
/// Bounds: area; parts of which no two fit beside or above each other; dual feasible functions
/// after S. Martello & D. Vigo, Management Science 44 (1998).
Result<LayoutPlan> solve_layout(const LayoutOrder& order, const LayoutOptions& options = {});

/// An independent check: inside, apart by the kerf, counts, turns, repeat, and that the cuts, made
/// in their order, free every part.
Result<Done> check_layout(const LayoutOrder& order, const LayoutPlan& plan);

}  // namespace roomwright::shop
