// An order begins on the page: who wants it, which panels, of what size and cloth, how many. It
// becomes a job file like any other; what can be left open is filled in from the price book, to be
// changed from there. Also which price books there are for it.
#include <cmath>

#include "app/service/orders.h"
#include "job/document/document.h"

namespace roomwright::app {

namespace {

constexpr std::size_t most_lines = 26;  // a letter each

struct Kind {
  const char *name, *key, *called;
  bool trap = false;  ///< has a size of its own where none is asked for
};
constexpr Kind kinds[] = {{"wall_panel", "panel", "wall panel"},
                          {"ceiling_cloud", "cloud", "ceiling cloud"},
                          {"straddling_trap", "straddle", "straddling corner trap", true},
                          {"solid_trap", "solid", "solid corner trap", true}};

bool is_solid(const Kind& kind) {
  return std::string_view(kind.name) == "solid_trap";
}

std::vector<std::string> kind_names() {
  std::vector<std::string> out;
  for (const Kind& kind : kinds) out.emplace_back(kind.name);
  return out;
}

const Json* length_or_none(Reader& in, const char* key) {
  const Json* value = in.raw(key);
  if (!value || value->is_number() || value->is_string()) return value;
  in.complain(key, "must be a length", shown(*value), "such as 600, or \"2' 6\\\"\"");
  return nullptr;
}

OrderLine read_order_line(Reader& in) {
  OrderLine out;
  out.kind = in.one_of("kind", kind_names()).value_or(0);
  if (const Json* width = length_or_none(in, "width")) out.width = *width;
  if (const Json* height = length_or_none(in, "height")) out.height = *height;
  out.cloth = text_or_none(in, "cloth", 80);
  out.count = int(in.whole("count", 1, 500, "how many"));
  in.finish();
  return out;
}

/// The board nearest to two inches; of these the one that costs least for its area.
std::string usual_board(const shop::Shop& shop) {
  const auto rank = [](const shop::Board& board) {
    const double area = board.width.metres() * board.height.metres() * board.per_pack;
    return std::pair(std::round(std::abs(board.thickness.metres() - 0.05) * 100),
                     double(board.price_per_pack.minor_units()) / area);
  };
  std::string best;
  for (const auto& [key, board] : shop.boards)
    if (best.empty() || rank(board) < rank(shop.boards.at(best))) best = key;
  return best;
}

/// The shallowest that is as deep as this, or the deepest there is.
std::string timber_for(const shop::Shop& shop, Length depth) {
  std::string best;
  for (const auto& [key, timber] : shop.timber) {
    if (best.empty()) {
      best = key;
      continue;
    }
    const shop::Timber& held = shop.timber.at(best);
    const bool fits = timber.depth >= depth, held_fits = held.depth >= depth;
    if (fits != held_fits ? fits : fits ? timber.depth < held.depth : timber.depth > held.depth)
      best = key;
  }
  return best;
}

std::string middle_sheet(const shop::Shop& shop) {
  std::vector<std::pair<Length, std::string>> all;
  for (const auto& [key, sheet] : shop.sheets) all.emplace_back(sheet.thickness, key);
  std::sort(all.begin(), all.end());
  return all.empty() ? std::string() : all[(all.size() - 1) / 2].second;
}

void add_lacking(const OrderWish& wish, const shop::Shop& shop, Diagnostics& found) {
  const auto lacks = [&](bool empty, const char* what) {
    if (empty)
      found.add("book", std::string("has no ") + what, {}, "add one to the price book first");
  };
  lacks(shop.timber.empty(), "timber");
  lacks(shop.boards.empty(), "boards");
  lacks(std::none_of(shop.cloths.begin(), shop.cloths.end(),
                     [](const auto& cloth) { return cloth.second.face; }),
        "cloth");
  for (std::size_t i = 0; i < wish.lines.size(); ++i)
    if (wish.lines[i].cloth.empty())
      found.add("items[" + std::to_string(i) + "].cloth", "is missing", {},
                "choose what faces the room");
  for (std::size_t i = 0; i < wish.lines.size(); ++i)
    if (shop.sheets.empty() && is_solid(kinds[wish.lines[i].kind]))
      found.add("items[" + std::to_string(i) + "].kind",
                "needs sheets, and the price book has none", {}, "add one to the price book first");
}

/// The product of a kind as its first line wants it.
Json product_of(const Kind& kind, const OrderLine& first, const shop::Shop& shop, bool metric) {
  const std::string board = usual_board(shop);
  const Length thickness = shop.boards.at(board).thickness;
  const std::string deepest = timber_for(shop, Length::from_m(10));
  Json out = {{"key", kind.key},
              {"name", kind.called},
              {"kind", kind.name},
              {"board", board},
              {"cloth", first.cloth}};
  const bool solid = is_solid(kind);
  const bool across = std::string_view(kind.name) == "straddling_trap";
  out["timber"] = across  ? deepest
                  : solid ? timber_for(shop, Length())
                          : timber_for(shop, thickness);
  if (solid) out["sheet"] = middle_sheet(shop);
  if (across && shop.timber.at(deepest).depth >= thickness + thickness) out["board_layers"] = 2;
  if (kind.trap) {
    out["width"] = metric ? Json(across ? "620 mm" : "590 mm") : Json(across ? "24 in" : "23 in");
    out["height"] = metric ? Json("1200 mm") : Json("48 in");
  }
  return out;
}

}  // namespace

void read_order_keys(Reader& in, OrderWish& out) {
  out.customer = text_or_none(in, "customer", 200);
  out.zone = text_or_none(in, "zone", 40);
  out.book = text_or_none(in, "book", 80);
  out.collected = in.truth_or("collected", false);
  in.each("items", 0, most_lines,
          [&](Reader& line) { out.lines.push_back(read_order_line(line)); });
}

Result<Json> order_tree(const OrderWish& wish, const shop::Shop& shop, const std::string& units) {
  Diagnostics found;
  if (wish.lines.empty())
    found.add("items", "is empty", {}, "say which panels are wanted, and how many");
  add_lacking(wish, shop, found);
  if (!found.empty()) return found;
  Json products = Json::array(), items = Json::array();
  std::map<std::size_t, std::size_t> product_at;
  for (const OrderLine& line : wish.lines) {
    const Kind& kind = kinds[line.kind];
    const auto [at, fresh] = product_at.emplace(line.kind, products.size());
    if (fresh) products.push_back(product_of(kind, line, shop, units != "in" && units != "ft"));
    Json item = {{"label", std::string(1, char('A' + items.size()))},
                 {"product", kind.key},
                 {"count", line.count}};
    if (!line.width.is_null()) item["width"] = line.width;
    if (!line.height.is_null()) item["height"] = line.height;
    if (line.cloth != products[at->second]["cloth"]) item["cloth"] = line.cloth;
    items.push_back(std::move(item));
  }
  Json order = {{"items", items}};
  if (wish.collected)
    order["collected"] = true;
  else if (!wish.zone.empty())
    order["zone"] = wish.zone;
  else if (!shop.carriage.rates.empty())
    order["zone"] = shop.carriage.rates.front().zone;  // where most of them go, as the book has it
  Json out = {{"region", {{"units", units}}}, {"products", products}, {"order", order}};
  if (!wish.customer.empty()) out["client"] = {{"name", wish.customer}};
  return out;
}

Json book_json(const std::string& id, const shop::Shop& shop) {
  Json cloths = Json::array();
  for (const auto& [key, cloth] : shop.cloths)
    if (cloth.face) cloths.push_back({{"key", key}, {"name", cloth.name}});
  std::vector<std::string> zones;
  for (const shop::Rate& rate : shop.carriage.rates)
    if (std::find(zones.begin(), zones.end(), rate.zone) == zones.end()) zones.push_back(rate.zone);
  return {{"id", id},
          {"name", shop.name},
          {"metric", shop.units.metric},
          {"cloths", cloths},
          {"zones", zones}};
}

}  // namespace roomwright::app
