// From the list of parts to what stands on the bench's sheets: sticks as saw settings and
// cumulative marks, cloth on the roll, boards and sheets from packs, hardware counts, and the
// stations in the order of the shop with their times. It calls the cutting and layout engines with
// whole nanometres and keeps their bounds.
#pragma once

#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/cutting/cutting.h"
#include "shop/layout/layout.h"
#include "shop/parts/parts.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

/// One piece to be cut from a stick.
struct Mark {
  std::string piece, part;
  Length length;
  Length from, to;  ///< on the stick, from its squared end: the tape's cumulative marks
};

/// Sticks cut alike.
struct StickPattern {
  Length stock_length;      ///< nominal
  bool in_hand = false;     ///< from the rack
  int sticks = 1;           ///< how many are cut so
  std::vector<Mark> marks;  ///< longest first; pieces differ from stick to stick, lengths do not
  std::vector<std::vector<std::string>> pieces;  ///< for each stick, whose part each mark is
  Length offcut;
  bool keep_offcut = false;
  std::vector<std::string> offcut_names;  ///< of kept ones, one a stick: `K1`, `K2` … in the job
};

/// The stop block: one setting a length, longest first.
struct StopSetting {
  Length stop;
  int count = 0;                   ///< parts cut at it
  std::vector<std::string> parts;  ///< `12 stiles (W1 to W6)`
};

struct StickPlan {
  std::string section, name;
  std::vector<StickPattern> patterns;
  std::vector<StopSetting> stops;
  Money cost, bound;  ///< of the sticks to buy
  bool proven = false;
  Length kerf, end_trim;
  int sticks_to_buy = 0, sticks_from_rack = 0;
  Length used, bought;                      ///< for the yield
  std::vector<std::pair<Length, int>> buy;  ///< length and number
};

struct ClothPiece {
  std::string piece, name;
  Length x, y, across, along;
};
struct ClothPlan {
  std::string cloth, name;
  Length roll_width;
  std::vector<ClothPiece> pieces;  ///< in cutting order
  Length length, bound;            ///< of roll, without the end allowance
  bool proven = false;
  bool pile_one_way = true;
  Length to_buy, from_rack;  ///< one dye lot: all from the rack or all bought
  Money cost;
};

struct SheetPiece {
  std::string piece, name;
  Length x, y, width, height;
  bool triangle = false;  ///< cut corner to corner: two parts
};
/// One board of wool, or one sheet of plywood.
struct CutSheet {
  Length width, height;
  std::vector<SheetPiece> pieces;
  std::vector<LayoutCut> cuts;  ///< in nanometres, in order
  int repeat = 1;
};
struct SheetPlan {
  std::string key, name;
  bool wool = true;  ///< boards from packs; else sheet material
  Length thickness;
  std::vector<CutSheet> sheets;
  int used = 0, bound = 0;  ///< sheets
  bool proven = false;
  int from_rack = 0, packs = 0, per_pack = 1, left_over = 0;
  Money cost;
};

struct HardwareRow {
  std::string key, name, unit;
  double used = 0, from_rack = 0;
  int packs = 0;
  Money cost;
};

struct StationRow {
  Station station = Station::saw;
  double set_up_min = 0, work_min = 0;
  struct Line {
    std::string feature;
    double count = 0, each_min = 0;
  };
  std::vector<Line> lines;
  std::vector<std::string> steps;  ///< what to do, in order, in sentences
  std::vector<std::string> cautions;
  double total_min() const { return set_up_min + work_min; }
};

struct Schedule {
  std::vector<StickPlan> sticks;
  std::vector<ClothPlan> cloths;
  std::vector<SheetPlan> sheets;
  std::vector<HardwareRow> hardware;
  std::vector<StationRow> stations;  ///< in shop order, only those with work
  double shop_min() const;
};

/// Errors: a part longer than any stick, cloth wider than its roll, a board too small, stock
/// counts that do not suffice, a feature without a time: each names the piece and the remedy.
struct ScheduleOptions {
  /// Plans of sticks tried for fewer settings: a job is planned once and cut by hand. 0 where the
  /// cost alone is asked for.
  std::int64_t setup_rounds = 2'000;
  std::int64_t layout_nodes = 0;  ///< of each layout's search; 0: as many as its sizes suggest
  /// Layouts are searched until nothing less would have to be paid, not until they are shortest.
  bool cost_only = false;
  Watch watch;
};
Result<Schedule> make_schedule(const Parts& parts, const Shop& shop,
                               const ScheduleOptions& options);
inline Result<Schedule> make_schedule(const Parts& parts, const Shop& shop,
                                      const Watch& watch = {}) {
  ScheduleOptions options;
  options.watch = watch;
  return make_schedule(parts, shop, options);
}

}  // namespace roomwright::shop
