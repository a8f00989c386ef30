// The rack as the page shows it: by the ledger where it was begun, else by the counts of the price
// books.
#include "app/service/parts.h"
#include "job/document/document.h"
#include "shop/ledger/ledger.h"

namespace roomwright::app {

namespace {

/// What a slot is called and counted in, by the price books.
struct Named {
  std::string name, unit = "each";
  bool sold_in_this_length = false;
};

void name_by(const shop::Shop& shop, const shop::Slot& slot, Named& out) {
  const auto take = [&](const auto& table) {
    if (const auto found = table.find(slot.key); found != table.end())
      out.name = found->second.name;
  };
  switch (slot.kind) {
    case shop::ItemKind::cloth:
      return take(shop.cloths);
    case shop::ItemKind::board:
      return take(shop.boards);
    case shop::ItemKind::sheet:
      return take(shop.sheets);
    case shop::ItemKind::stick:
      take(shop.timber);
      if (const auto found = shop.timber.find(slot.key); found != shop.timber.end())
        for (const auto& stick : found->second.sticks)
          out.sold_in_this_length = out.sold_in_this_length || stick.length == slot.length;
      return;
    case shop::ItemKind::hardware:
      take(shop.hardware);
      if (const auto found = shop.hardware.find(slot.key); found != shop.hardware.end())
        out.unit = found->second.unit;
  }
}

const char* contract_kind(shop::ItemKind kind) {
  switch (kind) {
    case shop::ItemKind::stick:
      return "timber";
    case shop::ItemKind::cloth:
      return "cloth";
    case shop::ItemKind::board:
      return "board";
    case shop::ItemKind::sheet:
      return "sheet";
    default:
      return "hardware";
  }
}

Json line_of(const shop::Slot& slot, const shop::Holding& holding, const Named& named) {
  const bool cloth = slot.kind == shop::ItemKind::cloth;
  const double per = cloth ? 1e9 : slot.kind == shop::ItemKind::hardware ? 1e3 : 1;
  const bool stick = slot.kind == shop::ItemKind::stick;
  std::string name = named.name.empty() ? slot.key : named.name;
  if (!slot.lot.empty()) name += ", lot " + slot.lot;
  if (!holding.label.empty()) name += ", " + holding.label;
  return {{"key", slot.key},
          {"kind", contract_kind(slot.kind)},
          {"name", name},
          {"length_m", stick ? Json(slot.length.metres()) : Json()},
          {"count", double(holding.in_hand) / per},
          {"unit", cloth ? "m" : named.unit},
          {"offcut", stick && (!holding.label.empty() || !named.sold_in_this_length)}};
}

}  // namespace

Result<std::vector<ShopBook>> shop_books(Store& store) {
  const auto heads = store.documents("shop");
  if (!heads) return heads.mistakes();
  std::vector<ShopBook> out;
  for (const DocumentHead& head : *heads) {
    if (head.removed || head.erased) continue;
    auto document = store.document(head.id);
    if (!document) return document.mistakes();
    auto shop = job::read_shop_file(document->text);
    if (!shop) continue;  // a price book with mistakes is told where it is asked for
    out.push_back({head.id, document->version, std::move(document->text), std::move(*shop)});
  }
  return out;
}

PageAnswer answer_stock(Desk& desk, const Asked&) {
  const auto books = shop_books(desk.store);
  if (!books) return refused(500, books.mistakes());
  const auto stock = read_stock(desk.store, {});
  if (!stock) return refused(500, stock.mistakes());
  shop::Ledger ledger = stock->ledger;
  if (stock->moves.empty())
    for (const ShopBook& book : *books)
      for (const shop::Move& move : shop::opening_moves(book.shop)) (void)ledger.post(move, {});
  Json out = Json::array();
  for (const auto& [slot, holding] : ledger.holdings()) {
    if (holding.in_hand <= 0) continue;
    Named named;
    for (const ShopBook& book : *books)
      if (named.name.empty()) name_by(book.shop, slot, named);
    out.push_back(line_of(slot, holding, named));
  }
  return json_answer(out);
}

}  // namespace roomwright::app
