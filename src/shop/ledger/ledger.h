// Stock in hand, as a ledger of moves: received, used, counted, reserved, released, put back as an
// offcut. What is in hand follows from the moves alone. Pure: no clock, no file; who and when stand
// beside each move where it is kept.
// Invariants: (1) nothing in hand is below 0; (2) what is reserved of a holding was available when
// it was: no move promises the same piece twice; (3) a use for a job takes what that job reserved
// first, and never what another reserved; (4) a count may find less than was promised: that is
// told, and the latest promise is the one that is short.
#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/schedule/schedule.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

enum class ItemKind { stick, cloth, board, sheet, hardware };
const std::vector<std::string>& item_kind_names();

/// What lies in one place of the rack under one name. Sticks and offcuts are told apart by their
/// length; rolls of cloth, and whatever else comes in lots, by the lot.
struct Slot {
  ItemKind kind = ItemKind::hardware;
  std::string key;  ///< of the price book
  Length length;    ///< sticks and offcuts: exact; else 0
  std::string lot;  ///< dye lot or batch; may be empty
  auto operator<=>(const Slot&) const = default;
};
/// `stick:batten_27x68`, the subject under which its moves are kept.
std::string item_name(const Slot& slot);
/// `batten_27x68 of 2400 mm`, `open_weave_grey, lot 7`
std::string slot_text(const Slot& slot, const Units& units);

/// Amounts are whole: pieces of sticks, boards and sheets; nanometres of cloth; thousandths of
/// hardware's own unit (each, m, ml).
using Amount = std::int64_t;
inline constexpr Amount most_amount = 1'000'000'000'000'000;
std::string amount_text(ItemKind kind, Amount amount, const Units& units);
/// An amount as people type it: a length for cloth, else a number. Errors: what is at fault.
Result<Amount> read_amount(ItemKind kind, const std::string& text, const Units& units);

enum class MoveKind { receive, use, count, reserve, release, offcut };
const std::vector<std::string>& move_kind_names();

struct Move {
  MoveKind kind = MoveKind::receive;
  Slot slot;
  Amount amount = 0;     ///< above 0; of a count: what was found, at least 0
  Amount was = 0;        ///< of a count: what the ledger said before, filled in by post
  std::string job;       ///< reserve, release; of a use and an offcut, where it is for one
  std::string label;     ///< what is written on an offcut, such as `R12`
  std::string location;  ///< rack or shelf; empty: as before
  std::string reason;    ///< delivery note, breakage …
};

struct Holding {
  Amount in_hand = 0;
  std::vector<std::pair<std::string, Amount>> reserved;  ///< by job, the oldest promise first
  std::string location, label;
  Amount promised() const;
  Amount promised_to(const std::string& job) const;
  Amount available() const;  ///< at least 0
};

class Ledger {
 public:
  /// Takes a move into account; gives it as it is to be kept. Errors: more than is there, more than
  /// is free, an amount out of range; nothing has changed then.
  Result<Move> post(Move move, const Units& units);
  const std::map<Slot, Holding>& holdings() const { return holdings_; }
  const Holding* find(const Slot& slot) const;
  /// Jobs whose promises a count has made hollow: what is missing of each.
  struct Hollow {
    Slot slot;
    std::string job;
    Amount missing = 0;
  };
  std::vector<Hollow> hollow() const;
  /// The next label of an offcut: `R1`, `R2`, …
  std::string next_label() const { return "R" + std::to_string(labels_ + 1); }

 private:
  std::map<Slot, Holding> holdings_;
  int labels_ = 0;
};

/// The move that takes another back: a receipt is used up, a use received, a count counted back, a
/// promise released. Whether it can be made is post's to say.
Move invert(const Move& move);

/// What a job takes of one item. Cloth comes from one lot.
struct Need {
  Slot slot;  ///< lot empty: any
  Amount amount = 0;
};
/// All that a schedule uses: whole sticks, cloth with the end of the roll, boards, sheets,
/// hardware.
std::vector<Need> needs_of(const Schedule& schedule, const Rules& rules);

struct Shortage {
  Need need;
  Amount available = 0;  ///< of the best single lot, where lots may not be mixed
  std::string sentence;
};
/// All or nothing: either the moves that reserve every need that is not reserved for the job yet,
/// or what is short, item by item.
struct ReservePlan {
  std::vector<Move> moves;
  std::vector<Shortage> short_of;
};
ReservePlan reserve_plan(const Ledger& ledger, const std::vector<Need>& needs,
                         const std::string& job, const Units& units);
/// What gives a job's promises back.
std::vector<Move> release_plan(const Ledger& ledger, const std::string& job);
/// What a job reserved is used, and the offcuts of its cut plan that are worth it go to the rack,
/// each with a label. Errors: nothing is reserved for the job.
Result<std::vector<Move>> use_plan(const Ledger& ledger, const Schedule& schedule,
                                   const std::string& job);

/// The shop file's counts as the first moves of a ledger.
std::vector<Move> opening_moves(const Shop& shop);
/// The shop with what the ledger has free (and what it holds for the job, if one is named) in place
/// of its counts; offcuts become sticks of their own length that only the rack has. own_only:
/// nothing but what is promised to the job, for the plan by which it is really cut.
Shop shop_with_stock(const Shop& shop, const Ledger& ledger, const std::string& job,
                     bool own_only = false);

/// A use of an item on a day (days since 1970-01-01).
struct DailyUse {
  std::int64_t day = 0;
  Amount amount = 0;
};
struct ReorderAdvice {
  double per_day = 0, spread_per_day = 0;  ///< mean and standard deviation of a day's use
  std::int64_t days = 0;                   ///< looked at
  Amount point = 0;                        ///< order when no more than this is available
  bool now = false;
  std::string sentence;
};
/// From the uses of the last 180 days at most, counted from the first of them but over 30 days at
/// least (a shop that has just begun has no rate yet): mean use in the lead
/// time and 1.65 standard deviations of it, which is enough in 95 of 100 deliveries if uses are
/// independent and normally spread (common practice, no source).
ReorderAdvice reorder_advice(const std::vector<DailyUse>& uses, std::int64_t today, int lead_days,
                             Amount available, const Slot& slot, const Units& units);
/// Days since 1970-01-01 of `2026-11-27…`. Errors: not a date.
Result<std::int64_t> day_number(const std::string& date);

}  // namespace roomwright::shop
