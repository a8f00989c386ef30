// The stock's ledger in the store's journal `stock`: an entry a move, its item the subject.
#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "core/reading/reading.h"

namespace roomwright::app {

namespace {

constexpr const char* stock_journal = "stock";
constexpr int most_tries = 50;

Json body_of(const shop::Move& move) {
  Json out = {{"move", shop::move_kind_names()[std::size_t(move.kind)]},
              {"item", shop::item_kind_names()[std::size_t(move.slot.kind)]},
              {"key", move.slot.key},
              {"amount", move.amount}};
  if (move.slot.length > Length()) out["length_nm"] = move.slot.length.nanometres();
  if (move.kind == shop::MoveKind::count) out["was"] = move.was;
  for (const auto& [key, text] : {std::pair{"lot", &move.slot.lot},
                                  {"label", &move.label},
                                  {"location", &move.location},
                                  {"reason", &move.reason}})
    if (!text->empty()) out[key] = *text;
  return out;
}

}  // namespace

Result<shop::Move> read_move(const Entry& entry) {
  const auto body = parse_json(entry.body);
  if (!body) return body.mistakes();
  Diagnostics found;
  Reader in(*body, "stock[" + std::to_string(entry.number) + "]", found);
  shop::Move out;
  out.kind = shop::MoveKind(in.one_of("move", shop::move_kind_names()).value_or(0));
  out.slot.kind = shop::ItemKind(in.one_of("item", shop::item_kind_names()).value_or(0));
  out.slot.key = in.text("key", {}, 80);
  constexpr long long longest = 1'000'000'000'000;
  out.slot.length = Length::from_nm(in.whole_or("length_nm", 0, 0, longest));
  out.amount = in.whole("amount", 0, shop::most_amount);
  out.was = in.whole_or("was", 0, 0, shop::most_amount);
  out.slot.lot = in.text_or("lot", "", 80);
  out.label = in.text_or("label", "", 40);
  out.location = in.text_or("location", "", 80);
  out.reason = in.text_or("reason", "", 200);
  in.text_or("token", "", 200);  // of whoever sent it, so that it is not written twice
  in.finish();
  out.job = entry.document;
  if (!found.empty()) return found;
  return out;
}

Result<Stock> read_stock(Store& store, const Units& units) {
  const auto entries = store.entries(stock_journal, {0, {}, {}, 10'000'000});
  if (!entries) return entries.mistakes();
  Stock out;
  for (const Entry& entry : *entries) {
    auto move = read_move(entry);
    if (!move) return move.mistakes();
    // A job that was erased has no name any more; its promises were given back before.
    const bool nameless_promise = move->job.empty() && (move->kind == shop::MoveKind::reserve ||
                                                        move->kind == shop::MoveKind::release);
    if (!nameless_promise)
      if (const auto made = out.ledger.post(*move, units); !made) return made.mistakes();
    out.moves.push_back({entry.number, std::move(*move), entry.who, entry.when});
    out.last = entry.number;
  }
  return out;
}

Result<std::vector<shop::Move>> post_moves(Store& store, const Units& units,
                                           const StockDecision& decide, const Stamp& stamp) {
  for (int attempt = 0; attempt < most_tries; ++attempt) {
    const auto stock = read_stock(store, units);
    if (!stock) return stock.mistakes();
    const auto decided = decide(*stock);
    if (!decided) return decided.mistakes();
    shop::Ledger after = stock->ledger;
    std::vector<shop::Move> made;
    std::vector<NewEntry> entries;
    for (const shop::Move& move : *decided) {
      auto one = after.post(move, units);
      if (!one) return one.mistakes();
      entries.push_back({shop::item_name(one->slot), one->job, json_text(body_of(*one), -1)});
      made.push_back(std::move(*one));
    }
    if (entries.empty()) return made;
    const auto kept = store.append(stock_journal, stock->last, entries, stamp);
    if (!kept) return kept.mistakes();
    if (!kept->refused) return made;
  }
  return Complaint{"stock", "is being changed without a pause by others", {}, "do it again", 0};
}

Json move_json(const shop::Move& move, const Units& units) {
  Json out = body_of(move);
  out["text"] = shop::slot_text(move.slot, units);
  out["amount_text"] = shop::amount_text(move.slot.kind, move.amount, units);
  if (!move.job.empty()) out["job"] = move.job;
  return out;
}

Json stock_json(const Stock& stock, const Units& units) {
  Json items = Json::array();
  for (const auto& [slot, holding] : stock.ledger.holdings()) {
    Json one = {{"item", shop::item_kind_names()[std::size_t(slot.kind)]},
                {"key", slot.key},
                {"text", shop::slot_text(slot, units)},
                {"in_hand", holding.in_hand},
                {"in_hand_text", shop::amount_text(slot.kind, holding.in_hand, units)},
                {"available", holding.available()},
                {"available_text", shop::amount_text(slot.kind, holding.available(), units)}};
    if (slot.length > Length()) one["length_m"] = slot.length.metres();
    if (!slot.lot.empty()) one["lot"] = slot.lot;
    if (!holding.label.empty()) one["label"] = holding.label;
    if (!holding.location.empty()) one["location"] = holding.location;
    for (const auto& [job, amount] : holding.reserved)
      one["reserved"].push_back({{"job", job}, {"amount", amount}});
    items.push_back(std::move(one));
  }
  Json hollow = Json::array();
  for (const auto& one : stock.ledger.hollow())
    hollow.push_back(
        {{"text", shop::slot_text(one.slot, units)}, {"job", one.job}, {"missing", one.missing}});
  return {{"last", stock.last}, {"items", items}, {"hollow", hollow}};
}

Result<std::vector<shop::ReorderAdvice>> reorder_list(const Stock& stock, const std::string& day,
                                                      int lead_days, const Units& units) {
  const auto today = shop::day_number(day);
  if (!today) return today.mistakes();
  std::map<shop::Slot, std::vector<shop::DailyUse>> uses;
  for (const KeptMove& kept : stock.moves) {
    if (kept.move.kind != shop::MoveKind::use) continue;
    const auto on = shop::day_number(kept.when);
    shop::Slot slot = kept.move.slot;
    slot.lot.clear();  // one order serves all lots
    if (on) uses[slot].push_back({*on, kept.move.amount});
  }
  std::vector<shop::ReorderAdvice> out;
  for (const auto& [slot, list] : uses) {
    shop::Amount available = 0;
    for (const auto& [held, holding] : stock.ledger.holdings())
      if (held.kind == slot.kind && held.key == slot.key && held.length == slot.length)
        available += holding.available();
    out.push_back(shop::reorder_advice(list, *today, lead_days, available, slot, units));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.now && !b.now; });
  return out;
}

}  // namespace roomwright::app
