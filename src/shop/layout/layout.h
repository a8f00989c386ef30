// Two-dimensional cutting edge to edge: rectangles from sheets or from a roll, with a bound. Whole
// numbers in, plan out; it knows no cloth and no unit. Each cut runs right through the piece then
// in hand.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::shop {

inline constexpr std::int64_t greatest_layout_side = 1'000'000'000'000;
inline constexpr std::int64_t most_layout_parts = 100'000;
inline constexpr std::size_t most_layout_sizes = 1000;

/// What lies in the rack is an entry of its own: its count, and a cost of 0 or what it is worth.
/// Where sheets come in packs, `cost` is that of a pack and `count` is in sheets.
struct LayoutSheet {
  std::string name;
  std::int64_t width = 0, height = 0;
  std::int64_t cost = 0;
  std::optional<std::int64_t> count{};  ///< none: as many as wanted
  std::int64_t per_pack = 1;
};
/// selvedge: not used, at either edge. The left one is cut off first, and the kerf lies behind it.
struct LayoutRoll {
  std::int64_t width = 0;  ///< across; the length is what is asked
  std::int64_t selvedge = 0;
};
/// match: only on a roll with a repeat. None: the part begins at a multiple of the repeat. A text:
/// all parts with this text begin at one phase of the repeat, whichever serves best. Empty: the
/// part begins anywhere.
struct LayoutPart {
  std::string name;
  std::int64_t width = 0, height = 0;  ///< on a roll: across and along
  std::int64_t count = 1;
  bool rotate = false;
  std::int64_t value = 0;
  std::optional<std::string> match{};
};
enum class LayoutAim { least, value };

/// Sheets or a roll, not both. pile_one_way: nothing is turned. repeat: of the pattern along the
/// roll; 0: none. A part that must match is not turned where there is a repeat.
struct LayoutOrder {
  std::vector<LayoutSheet> sheets;
  std::optional<LayoutRoll> roll;
  std::vector<LayoutPart> parts;
  std::int64_t kerf = 0;
  LayoutAim aim = LayoutAim::least;
  bool pile_one_way = false;
  std::int64_t repeat = 0;
};

/// max_nodes: free rectangles that the search looks at, 0: as many as the order's number of sizes
/// suggests (an order of five sizes takes below 0.1 s, one of a hundred a few seconds).
struct LayoutOptions {
  std::int64_t max_nodes = 0;
  double seconds = 0;  ///< a wish; 0: none
  Watch watch;
  /// For who asks for a price alone: what so much of roll, or so many sheets, is paid with; it
  /// never falls. The search ends where plan and bound are paid alike. None: each unit counts.
  std::function<std::int64_t(std::int64_t)> paid{};
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
  std::int64_t used = 0;         ///< length of roll, cost of sheets (whole packs), or value
  std::int64_t bound = 0;        ///< no plan with cuts from edge to edge is better
  bool proven = false;           ///< used = bound
  /// By entry of `sheets`: what must be bought, and how many sheets of the last pack stay.
  std::vector<std::int64_t> packs, left_over;
  std::string method;      ///< how it was found, and why the search stopped
  bool hurried = false;    ///< the wish for seconds, or a cancel, ended the search
  std::int64_t nodes = 0;  ///< free rectangles looked at
};

/// The rectangle that a saw cuts from corner to corner into two right-angled triangles with these
/// legs: half the kerf goes off either hypotenuse. Sides at least 1.
struct TrianglePair {
  std::int64_t width = 0, height = 0;
};
TrianglePair triangle_pair(std::int64_t width, std::int64_t height, std::int64_t kerf);

/// Errors: wrong numbers; parts that fit no sheet or are wider than the roll; sheets that do not
/// suffice: each by name.
/// Bounds: conservative scales on both axes, whose best weights come of linear programs (after
/// S. Fekete & J. Schepers, Math. Methods of Operations Research 60 (2004), from memory); slices of
/// parts packed in one dimension; dynamic programs over cuts with multipliers on the counts (after
/// P. Gilmore & R. Gomory, Operations Research 14 (1966), from memory); all small orders exactly.
Result<LayoutPlan> solve_layout(const LayoutOrder& order, const LayoutOptions& options = {});

/// An independent check: inside, apart by the kerf, counts, turns, repeat and phases, packs, and
/// that the cuts, made in their order, free every part.
Result<Done> check_layout(const LayoutOrder& order, const LayoutPlan& plan);

}  // namespace roomwright::shop
