// Moves and what follows from them; see ledger.h for the invariants that comments number.
#include "shop/ledger/ledger.h"

#include <algorithm>

namespace roomwright::shop {

const std::vector<std::string>& item_kind_names() {
  static const std::vector<std::string> names = {"stick", "cloth", "board", "sheet", "hardware"};
  return names;
}

const std::vector<std::string>& move_kind_names() {
  static const std::vector<std::string> names = {"receive", "use",     "count",
                                                 "reserve", "release", "offcut"};
  return names;
}

std::string item_name(const Slot& slot) {
  return item_kind_names()[std::size_t(slot.kind)] + ":" + slot.key;
}

std::string slot_text(const Slot& slot, const Units& units) {
  std::string out = slot.key;
  if (slot.kind == ItemKind::stick) out += " of " + print_length(slot.length, units);
  return slot.lot.empty() ? out : out + ", lot " + slot.lot;
}

std::string amount_text(ItemKind kind, Amount amount, const Units& units) {
  switch (kind) {
    case ItemKind::cloth:
      return print_room_length(Length::from_nm(amount).metres(), units);
    case ItemKind::hardware:
      return Decimal{amount, 3}.text();
    default:
      return std::to_string(amount);
  }
}

Result<Amount> read_amount(ItemKind kind, const std::string& text, const Units& units) {
  const Complaint wrong{
      "amount", "is no amount of this item", "\"" + text + "\"",
      kind == ItemKind::cloth ? "a length, such as 3.5 m" : "a number, such as 12", 0};
  if (kind == ItemKind::cloth) {
    const auto length = read_length(text, units.metric ? LengthUnit::m : LengthUnit::ft);
    if (!length || *length < Length()) return wrong;
    return length->nanometres();
  }
  const auto number = read_decimal(text);
  if (!number) return wrong;
  const int places = kind == ItemKind::hardware ? 3 : 0;
  Decimal at = *number;
  while (at.scale > places && at.mantissa % 10 == 0) at.mantissa /= 10, --at.scale;
  if (at.scale > places) return wrong;
  Amount out = at.mantissa;
  for (int i = at.scale; i < places; ++i) {
    if (out > most_amount / 10 || out < 0) return wrong;
    out *= 10;
  }
  if (out < 0 || out > most_amount) return wrong;
  return out;
}

// ---- holdings -----------------------------------------------------------------------------------

Amount Holding::promised() const {
  Amount sum = 0;
  for (const auto& [job, amount] : reserved) sum += amount;
  return sum;
}

Amount Holding::promised_to(const std::string& job) const {
  for (const auto& [name, amount] : reserved)
    if (name == job) return amount;
  return 0;
}

Amount Holding::available() const {
  return std::max<Amount>(0, in_hand - promised());
}

const Holding* Ledger::find(const Slot& slot) const {
  const auto found = holdings_.find(slot);
  return found == holdings_.end() ? nullptr : &found->second;
}

std::vector<Ledger::Hollow> Ledger::hollow() const {
  std::vector<Hollow> out;
  for (const auto& [slot, holding] : holdings_) {
    Amount missing = holding.promised() - holding.in_hand;
    for (auto one = holding.reserved.rbegin(); one != holding.reserved.rend() && missing > 0;
         ++one) {
      const Amount of_it = std::min(missing, one->second);
      out.push_back({slot, one->first, of_it});
      missing -= of_it;
    }
  }
  return out;
}

namespace {

void change_promise(Holding& holding, const std::string& job, Amount by) {
  auto& list = holding.reserved;
  auto at =
      std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.first == job; });
  if (at == list.end()) at = list.insert(at, {job, 0});
  at->second += by;
  if (at->second == 0) list.erase(at);
}

Complaint not_enough(const Move& move, Amount there, const char* what, const Units& units) {
  return {slot_text(move.slot, units),
          "has " + amount_text(move.slot.kind, there, units) + " " + what + ", " +
              amount_text(move.slot.kind, move.amount, units) + " asked",
          {},
          "receive more, count again, or release what another job holds",
          0};
}

std::optional<Complaint> move_fault(const Move& move, const Holding& at, const Units& units) {
  const bool counts = move.kind == MoveKind::count;
  if (move.amount < (counts ? 0 : 1) || move.amount > most_amount)
    return Complaint{slot_text(move.slot, units), "needs an amount above 0", double(move.amount),
                     "such as 12", 0};
  const bool promise = move.kind == MoveKind::reserve || move.kind == MoveKind::release;
  if (promise && move.job.empty())
    return Complaint{slot_text(move.slot, units), "needs the job that it is for", {}, {}, 0};
  if ((move.slot.kind == ItemKind::stick) != (move.slot.length > Length()))
    return Complaint{
        slot_text(move.slot, units), "must have a length if it is a stick, else none", {}, {}, 0};
  const Amount own = move.job.empty() ? 0 : at.promised_to(move.job);
  switch (move.kind) {
    case MoveKind::receive:
    case MoveKind::offcut:
      if (at.in_hand + move.amount > most_amount)
        return Complaint{
            slot_text(move.slot, units), "would be more than can be kept count of", {}, {}, 0};
      return std::nullopt;
    case MoveKind::count:
      return std::nullopt;
    case MoveKind::reserve:  // (2)
      if (move.amount > at.available()) return not_enough(move, at.available(), "free", units);
      return std::nullopt;
    case MoveKind::release:
      if (move.amount > own) return not_enough(move, own, "reserved for this job", units);
      return std::nullopt;
    case MoveKind::use: {  // (1) (3)
      const Amount others = at.promised() - own;
      const Amount free = std::max<Amount>(0, at.in_hand - others);
      if (move.amount > free) return not_enough(move, free, "for this use", units);
      return std::nullopt;
    }
  }
  return std::nullopt;
}

int label_number(const std::string& label) {
  if (label.size() < 2 || label.size() > 9 || label[0] != 'R') return 0;
  int out = 0;
  for (const char sign : label.substr(1)) {
    if (sign < '0' || sign > '9') return 0;
    out = out * 10 + (sign - '0');
  }
  return out;
}

}  // namespace

Result<Move> Ledger::post(Move move, const Units& units) {
  const auto found = holdings_.find(move.slot);
  const Holding before = found == holdings_.end() ? Holding{} : found->second;
  if (auto fault = move_fault(move, before, units)) return *fault;
  Holding& at = holdings_[move.slot];
  switch (move.kind) {
    case MoveKind::receive:
    case MoveKind::offcut:
      at.in_hand += move.amount;
      break;
    case MoveKind::count:
      move.was = at.in_hand;
      at.in_hand = move.amount;
      break;
    case MoveKind::reserve:
      change_promise(at, move.job, move.amount);
      break;
    case MoveKind::release:
      change_promise(at, move.job, -move.amount);
      break;
    case MoveKind::use:
      at.in_hand -= move.amount;
      if (const Amount own = move.job.empty() ? 0 : at.promised_to(move.job); own > 0)
        change_promise(at, move.job, -std::min(own, move.amount));
      break;
  }
  if (!move.location.empty()) at.location = move.location;
  if (!move.label.empty()) at.label = move.label;
  labels_ = std::max(labels_, label_number(move.label));
  if (at.in_hand == 0 && at.reserved.empty()) holdings_.erase(move.slot);
  return move;
}

Move invert(const Move& move) {
  Move out = move;
  out.label.clear();
  switch (move.kind) {
    case MoveKind::receive:
    case MoveKind::offcut:
      out.kind = MoveKind::use;
      out.job.clear();
      break;
    case MoveKind::use:
      out.kind = MoveKind::receive;
      break;
    case MoveKind::count:
      out.amount = move.was;
      out.was = move.amount;
      break;
    case MoveKind::reserve:
      out.kind = MoveKind::release;
      break;
    case MoveKind::release:
      out.kind = MoveKind::reserve;
      break;
  }
  return out;
}

// ---- a job's needs
// --------------------------------------------------------------------------------

namespace {

Amount thousandths(double count) {
  const double scaled = count * 1000;
  const auto whole = static_cast<Amount>(scaled);
  return whole + (scaled - double(whole) > 1e-6 ? 1 : 0);
}

/// Lots in which an item lies, the one that fits closest first; of sticks the exact length.
std::vector<std::pair<Slot, Amount>> lots_of(const Ledger& ledger, const Slot& wanted) {
  std::vector<std::pair<Slot, Amount>> out;
  for (const auto& [slot, holding] : ledger.holdings())
    if (slot.kind == wanted.kind && slot.key == wanted.key && slot.length == wanted.length &&
        (wanted.lot.empty() || slot.lot == wanted.lot) && holding.available() > 0)
      out.emplace_back(slot, holding.available());
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.second < b.second; });
  return out;
}

Amount promised_of(const Ledger& ledger, const Slot& wanted, const std::string& job) {
  Amount out = 0;
  for (const auto& [slot, holding] : ledger.holdings())
    if (slot.kind == wanted.kind && slot.key == wanted.key && slot.length == wanted.length)
      out += holding.promised_to(job);
  return out;
}

}  // namespace

std::vector<Need> needs_of(const Schedule& schedule, const Rules& rules) {
  std::map<Slot, Amount> sums;
  for (const StickPlan& plan : schedule.sticks)
    for (const StickPattern& pattern : plan.patterns)
      sums[{ItemKind::stick, plan.section, pattern.stock_length, ""}] += pattern.sticks;
  for (const ClothPlan& plan : schedule.cloths)
    sums[{ItemKind::cloth, plan.cloth, Length(), ""}] +=
        (plan.length + rules.roll_end).nanometres();
  for (const SheetPlan& plan : schedule.sheets)
    sums[{plan.wool ? ItemKind::board : ItemKind::sheet, plan.key, Length(), ""}] += plan.used;
  for (const HardwareRow& row : schedule.hardware)
    sums[{ItemKind::hardware, row.key, Length(), ""}] += thousandths(row.used);
  std::vector<Need> out;
  for (const auto& [slot, amount] : sums)
    if (amount > 0) out.push_back({slot, amount});
  return out;
}

ReservePlan reserve_plan(const Ledger& ledger, const std::vector<Need>& needs,
                         const std::string& job, const Units& units) {
  ReservePlan out;
  for (const Need& need : needs) {
    Amount open = need.amount - promised_of(ledger, need.slot, job);
    if (open <= 0) continue;
    const auto lots = lots_of(ledger, need.slot);
    const bool one_lot = need.slot.kind == ItemKind::cloth;
    Amount there = 0;
    for (const auto& [slot, free] : lots) there = one_lot ? std::max(there, free) : there + free;
    if (there < open) {
      const auto text = [&](Amount amount) { return amount_text(need.slot.kind, amount, units); };
      out.short_of.push_back(
          {{need.slot, open},
           there,
           slot_text(need.slot, units) + ": " + text(open) +
               (one_lot ? " wanted in one lot, the fullest has " + text(there) + " free"
                        : " wanted, " + text(there) + " free, " + text(open - there) + " short")});
      continue;
    }
    for (const auto& [slot, free] : lots) {
      if (open == 0) break;
      if (one_lot && free < open) continue;
      const Amount taken = std::min(open, free);
      out.moves.push_back({MoveKind::reserve, slot, taken, 0, job, "", "", ""});
      open -= taken;
    }
  }
  if (!out.short_of.empty()) out.moves.clear();
  return out;
}

std::vector<Move> release_plan(const Ledger& ledger, const std::string& job) {
  std::vector<Move> out;
  for (const auto& [slot, holding] : ledger.holdings())
    if (const Amount amount = holding.promised_to(job); amount > 0)
      out.push_back({MoveKind::release, slot, amount, 0, job, "", "", ""});
  return out;
}

Result<std::vector<Move>> use_plan(const Ledger& ledger, const Schedule& schedule,
                                   const std::string& job) {
  std::vector<Move> out;
  for (const auto& [slot, holding] : ledger.holdings())
    if (const Amount amount = holding.promised_to(job); amount > 0)
      out.push_back({MoveKind::use, slot, amount, 0, job, "", "", "built"});
  if (out.empty())
    return Complaint{job,
                     "has nothing reserved",
                     {},
                     "reserve its stock first: roomwright stock "
                     "reserve JOB",
                     0};
  int number = std::stoi(ledger.next_label().substr(1));
  for (const StickPlan& plan : schedule.sticks)
    for (const StickPattern& pattern : plan.patterns)
      for (int i = 0; pattern.keep_offcut && i < pattern.sticks; ++i)
        out.push_back({MoveKind::offcut,
                       {ItemKind::stick, plan.section, pattern.offcut, ""},
                       1,
                       0,
                       job,
                       "R" + std::to_string(number++),
                       "",
                       "left of a stick of " +
                           std::to_string(pattern.stock_length.nanometres() / 1'000'000) + " mm"});
  return out;
}

// ---- the shop file
// ----------------------------------------------------------------------------------

std::vector<Move> opening_moves(const Shop& shop) {
  std::vector<Move> out;
  const auto add = [&](Slot slot, Amount amount) {
    if (amount > 0)
      out.push_back({MoveKind::count, std::move(slot), amount, 0, "", "", "", "opening count"});
  };
  for (const auto& [key, timber] : shop.timber)
    for (const StickStock& stick : timber.sticks)
      add({ItemKind::stick, key, stick.length, ""}, stick.in_hand);
  for (const auto& [key, cloth] : shop.cloths)
    add({ItemKind::cloth, key, Length(), ""}, cloth.in_hand.nanometres());
  for (const auto& [key, board] : shop.boards)
    add({ItemKind::board, key, Length(), ""}, board.in_hand);
  for (const auto& [key, sheet] : shop.sheets)
    add({ItemKind::sheet, key, Length(), ""}, sheet.in_hand);
  for (const auto& [key, one] : shop.hardware)
    add({ItemKind::hardware, key, Length(), ""}, thousandths(one.in_hand));
  return out;
}

namespace {

struct FreeStock {
  const Ledger& ledger;
  const std::string& job;
  bool own_only;

  Amount of(const Holding& holding) const {
    const Amount own = job.empty() ? 0 : holding.promised_to(job);
    const Amount free = own_only ? 0 : holding.available();
    return std::max<Amount>(0, std::min(holding.in_hand, free + own));
  }
  Amount all(ItemKind kind, const std::string& key) const {
    Amount sum = 0;
    for (const auto& [slot, holding] : ledger.holdings())
      if (slot.kind == kind && slot.key == key) sum += of(holding);
    return sum;
  }
  Amount best_lot(ItemKind kind, const std::string& key) const {
    Amount best = 0;
    for (const auto& [slot, holding] : ledger.holdings())
      if (slot.kind == kind && slot.key == key) best = std::max(best, of(holding));
    return best;
  }
};

void stock_sticks(const std::string& key, Timber& timber, const FreeStock& free) {
  for (StickStock& stick : timber.sticks) stick.in_hand = 0;
  for (const auto& [slot, holding] : free.ledger.holdings()) {
    if (slot.kind != ItemKind::stick || slot.key != key || free.of(holding) == 0) continue;
    const auto same =
        std::find_if(timber.sticks.begin(), timber.sticks.end(),
                     [&, at = slot.length](const StickStock& stick) { return stick.length == at; });
    if (same != timber.sticks.end()) {
      same->in_hand = int(free.of(holding));
      continue;
    }
    StickStock offcut;
    offcut.length = offcut.shortest = slot.length;
    offcut.in_hand = int(free.of(holding));
    offcut.sold = 0;
    timber.sticks.push_back(offcut);
  }
}

}  // namespace

Shop shop_with_stock(const Shop& shop, const Ledger& ledger, const std::string& job,
                     bool own_only) {
  Shop out = shop;
  const FreeStock free{ledger, job, own_only};
  for (auto& [key, timber] : out.timber) stock_sticks(key, timber, free);
  for (auto& [key, cloth] : out.cloths)
    cloth.in_hand = Length::from_nm(free.best_lot(ItemKind::cloth, key));
  for (auto& [key, board] : out.boards) board.in_hand = int(free.all(ItemKind::board, key));
  for (auto& [key, sheet] : out.sheets) sheet.in_hand = int(free.all(ItemKind::sheet, key));
  for (auto& [key, one] : out.hardware)
    one.in_hand = double(free.all(ItemKind::hardware, key)) / 1000;
  return out;
}

}  // namespace roomwright::shop
