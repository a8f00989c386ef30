// `roomwright stock …`: what is in hand, promised and free.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/cli/desk.h"
#include "app/cli/terminal.h"
#include "core/quantity/quantity.h"
#include "core/reading/reading.h"
#include "job/document/document.h"
#include "shop/ledger/ledger.h"

namespace roomwright::app {

namespace {

using StockRows = std::vector<std::vector<std::string>>;

/// The units of the first shop file of the store: the shop's own.
Units shop_units(Store& store) {
  Units out;
  const auto heads = store.documents("shop");
  if (!heads || heads->empty()) return out;
  const auto document = store.document(heads->front().id);
  const auto tree =
      document ? job::document_tree(document->text) : Result<Json>(document.mistakes());
  if (tree && tree->is_object() && tree->value("units", Json("mm")) == "in") out.metric = false;
  return out;
}

/// `stick:batten_27x68` and its length and lot.
Result<shop::Slot> slot_of(const DeskCall& call, const Units& units) {
  const auto colon = call.item.find(':');
  const std::string kind = call.item.substr(0, colon);
  const auto& known = shop::item_kind_names();
  const auto at = std::find(known.begin(), known.end(), kind);
  if (colon == std::string::npos || at == known.end() || colon + 1 >= call.item.size())
    return Complaint{"ITEM", "must be a kind and a key", "\"" + call.item + "\"",
                     "stick:, cloth:, board:, sheet: or hardware: and the key of the price book",
                     0};
  shop::Slot out;
  out.kind = shop::ItemKind(at - known.begin());
  out.key = call.item.substr(colon + 1);
  out.lot = call.lot;
  if (!call.length.empty()) {
    const auto length = read_length(call.length, units.metric ? LengthUnit::mm : LengthUnit::in);
    if (!length) {
      Complaint fault = length.mistakes().items()[0];
      fault.where = "--length";
      return fault;
    }
    out.length = *length;
  }
  return out;
}

void tell_moves(const DeskCall& call, const std::vector<shop::Move>& moves, const Units& units) {
  if (call.json) {
    Json out = Json::array();
    for (const shop::Move& move : moves) out.push_back(move_json(move, units));
    print(json_text({{"moves", out}}) + "\n");
    return;
  }
  for (const shop::Move& move : moves)
    print(shop::move_kind_names()[std::size_t(move.kind)] + "  " +
          shop::slot_text(move.slot, units) + "  " +
          shop::amount_text(move.slot.kind, move.amount, units) +
          (move.label.empty() ? "" : "  label " + move.label) + "\n");
}

/// Opens, decides, keeps, tells.
int post_and_tell(const DeskCall& call,
                  const std::function<Result<std::vector<shop::Move>>(Store&, const Units&,
                                                                      const Stock&)>& decide,
                  const std::string* short_of = nullptr) {
  auto store = open_desk(call, Opening::make);
  if (!store) return fail(store.mistakes(), call.json);
  const Units units = shop_units(**store);
  const auto moves = post_moves(
      **store, units, [&](const Stock& stock) { return decide(**store, units, stock); },
      stamp_now(call));
  progress_done();
  if (!moves && short_of && !short_of->empty() && !call.json) {
    const std::string text = call.job + " is short of:\n" + *short_of +
                             "Nothing was reserved: all of it or none. Receive what is short, or "
                             "release what another job holds.\n";
    std::fputs(text.c_str(), stderr);
    return exit_failed;
  }
  if (!moves && short_of && !short_of->empty()) return fail(moves.mistakes(), true);
  if (!moves) return refuse(moves.mistakes(), call.json);
  tell_moves(call, *moves, units);
  return exit_done;
}

}  // namespace

int run_stock_list(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const Units units = shop_units(**store);
  const auto stock = read_stock(**store, units);
  if (!stock) return fail(stock.mistakes(), call.json);
  if (call.json) {
    print(json_text(stock_json(*stock, units)) + "\n");
    return exit_done;
  }
  StockRows rows{{"item", "in hand", "promised", "free", "label", "where"}};
  for (const auto& [slot, holding] : stock->ledger.holdings()) {
    const auto text = [&, kind = slot.kind](shop::Amount amount) {
      return shop::amount_text(kind, amount, units);
    };
    rows.push_back(
        {shop::item_kind_names()[std::size_t(slot.kind)] + ":" + shop::slot_text(slot, units),
         text(holding.in_hand), text(holding.promised()), text(holding.available()), holding.label,
         holding.location});
  }
  print(rows.size() == 1
            ? "Nothing is in hand; roomwright stock open SHOP begins with its counts.\n"
            : table(rows, style_of_terminal()));
  for (const auto& one : stock->ledger.hollow())
    print("Promised but not there: " + shop::amount_text(one.slot.kind, one.missing, units) +
          " of " + shop::slot_text(one.slot, units) + " for " + one.job + ".\n");
  return exit_done;
}

int run_stock_open(const DeskCall& call) {
  return post_and_tell(
      call, [&](Store& store, const Units&, const Stock& stock) -> Result<std::vector<shop::Move>> {
        if (stock.last > 0)
          return Complaint{
              "stock", "was opened already", {}, "use count for what is really there", 0};
        const auto document = store.document(call.id);
        if (!document) return document.mistakes();
        const auto shop = job::read_shop_file(document->text);
        if (!shop) return shop.mistakes();
        return shop::opening_moves(*shop);
      });
}

int run_stock_move(const DeskCall& call, shop::MoveKind kind) {
  return post_and_tell(
      call, [&](Store& store, const Units& units, const Stock&) -> Result<std::vector<shop::Move>> {
        const auto slot = slot_of(call, units);
        if (!slot) return slot.mistakes();
        const auto amount = shop::read_amount(slot->kind, call.amount, units);
        if (!amount) return amount.mistakes();
        if (!call.job.empty())
          if (const auto job = store.document(call.job); !job) return job.mistakes();
        shop::Move move{kind, *slot, *amount, 0, call.job, "", call.location, call.reason};
        return std::vector<shop::Move>{move};
      });
}

int run_stock_reserve(const DeskCall& call) {
  std::string short_of;
  return post_and_tell(
      call,
      [&](Store& store, const Units& units, const Stock& stock) -> Result<std::vector<shop::Move>> {
        const auto built = build_stored(store, call.job, &stock.ledger, progress_watch());
        if (!built) return built.mistakes();
        const auto plan = shop::reserve_plan(
            stock.ledger, shop::needs_of(built->build.schedule, built->job.shop.rules), call.job,
            units);
        if (plan.short_of.empty()) return plan.moves;
        Diagnostics found;
        for (const auto& one : plan.short_of) found.add(call.job, one.sentence);
        for (const auto& one : plan.short_of) short_of += "  " + one.sentence + "\n";
        return found;
      },
      &short_of);
}

int run_stock_release(const DeskCall& call) {
  return post_and_tell(
      call, [&](Store&, const Units&, const Stock& stock) -> Result<std::vector<shop::Move>> {
        return shop::release_plan(stock.ledger, call.job);
      });
}

int run_stock_built(const DeskCall& call) {
  return post_and_tell(
      call, [&](Store& store, const Units&, const Stock& stock) -> Result<std::vector<shop::Move>> {
        const auto built = build_stored(store, call.job, &stock.ledger, progress_watch(), true);
        if (!built) return built.mistakes();
        return shop::use_plan(stock.ledger, built->build.schedule, call.job);
      });
}

int run_stock_order(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const Units units = shop_units(**store);
  const auto stock = read_stock(**store, units);
  if (!stock) return fail(stock.mistakes(), call.json);
  const auto list = reorder_list(*stock, now_utc().substr(0, 10), call.lead_days, units);
  if (!list) return fail(list.mistakes(), call.json);
  Json out = Json::array();
  for (const auto& one : *list) {
    out.push_back({{"sentence", one.sentence},
                   {"now", one.now},
                   {"point", one.point},
                   {"per_day", one.per_day},
                   {"days", one.days}});
    if (!call.json) print(wrapped(one.sentence, one.now ? "order  " : "       ", "       "));
  }
  if (call.json)
    print(json_text({{"order", out}}) + "\n");
  else if (list->empty())
    print("Nothing was used yet, so there is no rate to order by.\n");
  return exit_done;
}

int run_stock_history(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const Units units = shop_units(**store);
  const auto stock = read_stock(**store, units);
  if (!stock) return fail(stock.mistakes(), call.json);
  Json out = Json::array();
  StockRows rows{{"number", "move", "item", "amount", "job", "by", "at", "why"}};
  for (const KeptMove& kept : stock->moves) {
    Json one = move_json(kept.move, units);
    one["number"] = kept.number;
    one["who"] = kept.who;
    one["when"] = kept.when;
    out.push_back(std::move(one));
    rows.push_back({std::to_string(kept.number),
                    shop::move_kind_names()[std::size_t(kept.move.kind)],
                    shop::slot_text(kept.move.slot, units),
                    shop::amount_text(kept.move.slot.kind, kept.move.amount, units), kept.move.job,
                    kept.who, kept.when, kept.move.reason});
  }
  print(call.json ? json_text({{"moves", out}}) + "\n" : table(rows, style_of_terminal()));
  return exit_done;
}

int run_stock_undo(const DeskCall& call) {
  return post_and_tell(
      call, [&](Store&, const Units&, const Stock& stock) -> Result<std::vector<shop::Move>> {
        for (const KeptMove& kept : stock.moves) {
          if (kept.number != call.number) continue;
          shop::Move back = shop::invert(kept.move);
          back.reason = "takes back move " + std::to_string(kept.number);
          return std::vector<shop::Move>{back};
        }
        return Complaint{"NUMBER", "is no move of the stock", double(call.number),
                         "roomwright stock history numbers them", 0};
      });
}

}  // namespace roomwright::app
