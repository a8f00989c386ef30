// What lies flat: cloth on its roll, wool boards from packs, sheet material. Each goes to the
// layout engine in the largest step that divides its sizes, and comes back in lengths with its
// owners.
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "shop/schedule/plans.h"

namespace roomwright::shop {

namespace {

/// A rectangle to be cut, and who it is for: two names where it becomes two triangles.
struct FlatPart {
  std::string piece, name;
  Length width, height;
  bool triangle = false;
};

struct FlatOrder {
  LayoutOrder order;
  std::vector<std::vector<const FlatPart*>> owners;  ///< by part of the order, in the job's order
  std::int64_t step = 1;
};

/// Groups equal sizes into one part of the order.
FlatOrder flat_order(const std::vector<FlatPart>& parts, bool rotate) {
  FlatOrder made;
  std::map<std::pair<Length, Length>, std::size_t> known;
  for (const FlatPart& part : parts) {
    const auto [at, fresh] = known.try_emplace({part.width, part.height}, made.owners.size());
    if (fresh) {
      LayoutPart entry;
      entry.name = part.piece + " " + part.name;
      entry.width = part.width.nanometres();
      entry.height = part.height.nanometres();
      entry.count = 0;
      entry.rotate = rotate;
      made.order.parts.push_back(entry);
      made.owners.emplace_back();
    }
    ++made.order.parts[at->second].count;
    made.owners[at->second].push_back(&part);
  }
  return made;
}

void shrink_flat(FlatOrder& made) {
  LayoutOrder& order = made.order;
  std::int64_t step = order.kerf;
  if (order.roll) step = std::gcd(step, order.roll->width);
  for (const auto& sheet : order.sheets) step = std::gcd(std::gcd(step, sheet.width), sheet.height);
  for (const auto& part : order.parts) step = std::gcd(std::gcd(step, part.width), part.height);
  if (step <= 1) return;
  made.step = step;
  order.kerf /= step;
  if (order.roll) order.roll->width /= step;
  for (auto& sheet : order.sheets) sheet.width /= step, sheet.height /= step;
  for (auto& part : order.parts) part.width /= step, part.height /= step;
}

void pass_on(const Diagnostics& from, const std::string& where, Diagnostics& found) {
  for (const Complaint& item : from.items()) found.add(where, item.what, item.got, item.remedy);
}

/// The engine's places by part, so that owners are handed out in the job's order.
struct Place {
  const FlatPart* owner = nullptr;
  int sheet = 0;
  Length x, y, width, height;
};

std::vector<Place> places_of(const LayoutPlan& plan, const FlatOrder& made) {
  std::vector<std::size_t> taken(made.owners.size());
  std::vector<Place> out;
  for (const Placed& placed : plan.placed) {
    const auto part = static_cast<std::size_t>(placed.part);
    out.push_back({made.owners[part][taken[part]++], placed.sheet,
                   Length::from_nm(placed.x * made.step), Length::from_nm(placed.y * made.step),
                   Length::from_nm(placed.width * made.step),
                   Length::from_nm(placed.height * made.step)});
  }
  return out;
}

std::vector<FlatPart> cloth_parts(const Parts& parts, const std::string& key) {
  std::vector<FlatPart> out;
  for (const ClothPart& cloth : parts.cloths)
    if (cloth.cloth == key)
      for (int i = 0; i < cloth.count; ++i)
        out.push_back({cloth.piece, cloth.name, cloth.across, cloth.along, false});
  return out;
}

/// One dye lot for a room: all from the rack if it reaches, else all bought.
void buy_cloth(ClothPlan& plan, const Cloth& cloth, const Rules& rules) {
  const Length need = plan.length + rules.roll_end;
  if (cloth.in_hand >= need) {
    plan.from_rack = need;
    return;
  }
  const Length by = cloth.sold_by > Length() ? cloth.sold_by : 1_mm;
  plan.to_buy = need.round_up_to(by);
  plan.cost = cloth.price_per_m.times(plan.to_buy.nanometres(), 1'000'000'000, Rounding::half_up);
}

ClothPlan plan_cloth(const std::string& key, const Cloth& cloth, const std::vector<FlatPart>& parts,
                     const Rules& rules, const ScheduleOptions& asked, Diagnostics& found) {
  ClothPlan plan;
  plan.cloth = key;
  plan.name = cloth.name;
  plan.roll_width = cloth.roll_width;
  plan.pile_one_way = cloth.pile_one_way;
  FlatOrder made = flat_order(parts, !cloth.pile_one_way);
  made.order.roll = LayoutRoll{cloth.roll_width.nanometres()};
  made.order.pile_one_way = cloth.pile_one_way;
  shrink_flat(made);
  LayoutOptions options;
  options.watch = asked.watch;
  options.max_nodes = asked.layout_nodes;
  if (asked.cost_only)
    options.paid = [&](std::int64_t length) {
      ClothPlan one;
      one.length = Length::from_nm(length * made.step);
      buy_cloth(one, cloth, rules);
      return one.to_buy.nanometres();
    };
  const auto solved = solve_layout(made.order, options);
  if (!solved) {
    pass_on(solved.mistakes(), "cloth." + key, found);
    return plan;
  }
  for (const Place& place : places_of(*solved, made))
    plan.pieces.push_back(
        {place.owner->piece, place.owner->name, place.x, place.y, place.width, place.height});
  std::stable_sort(plan.pieces.begin(), plan.pieces.end(), [](const auto& a, const auto& b) {
    return std::pair(a.y, a.x) < std::pair(b.y, b.x);
  });
  plan.length = Length::from_nm(solved->used * made.step);
  plan.bound = Length::from_nm(solved->bound * made.step);
  plan.proven = solved->proven;
  buy_cloth(plan, cloth, rules);
  return plan;
}

/// The rectangle behind two triangles, rounded up to what the tape can show.
FlatPart pair_of(const FlatPart& part, Length kerf, Length grid) {
  const TrianglePair pair =
      triangle_pair(part.width.nanometres(), part.height.nanometres(), kerf.nanometres());
  FlatPart out = part;
  out.width = Length::from_nm(pair.width);
  out.height = Length::from_nm(pair.height);
  if (kerf > Length() && grid > Length()) {
    out.width = out.width.round_up_to(grid);
    out.height = out.height.round_up_to(grid);
  }
  return out;
}

/// Adds parts of one stock; triangles become rectangles in pairs, larger by what the cut between
/// them takes.
void add_flat(std::vector<FlatPart>& out, std::vector<FlatPart>& waiting, const FlatPart& part,
              Length kerf, Length grid) {
  if (!part.triangle) {
    out.push_back(part);
    return;
  }
  const FlatPart first = pair_of(part, kerf, grid);
  for (auto at = waiting.begin(); at != waiting.end(); ++at) {
    const bool alike = at->width == first.width && at->height == first.height;
    // The other half may lie turned over its corner.
    const bool turned = at->width == first.height && at->height == first.width;
    if (!alike && !turned) continue;
    FlatPart pair = *at;
    if (pair.piece != part.piece) pair.piece += " + " + part.piece;
    out.push_back(pair);
    waiting.erase(at);
    return;
  }
  waiting.push_back(first);
}

template <class Source>
std::vector<FlatPart> flat_parts(const std::vector<Source>& parts, const std::string& key,
                                 std::string Source::*stock, Length kerf, Length grid) {
  std::vector<FlatPart> out, waiting;
  for (const Source& part : parts)
    if (part.*stock == key)
      for (int i = 0; i < part.count; ++i)
        add_flat(out, waiting, {part.piece, part.name, part.width, part.height, part.triangle},
                 kerf, grid);
  out.insert(out.end(), waiting.begin(), waiting.end());
  return out;
}

bool same_sheet(const CutSheet& a, const CutSheet& b) {
  return std::equal(a.pieces.begin(), a.pieces.end(), b.pieces.begin(), b.pieces.end(),
                    [](const SheetPiece& p, const SheetPiece& q) {
                      return p.x == q.x && p.y == q.y && p.width == q.width &&
                             p.height == q.height && p.triangle == q.triangle && p.name == q.name;
                    });
}

/// Adds an owner to a list of owners, once.
void add_owner(std::string& owners, const std::string& piece) {
  const std::size_t tail = owners.rfind(piece);
  if (tail == std::string::npos || tail + piece.size() != owners.size()) owners += ", " + piece;
}

/// Sheets that are cut alike stand once, with their number and all their owners.
void gather_sheets(std::vector<CutSheet>& sheets) {
  std::vector<CutSheet> out;
  for (CutSheet& sheet : sheets) {
    const auto same = std::find_if(out.begin(), out.end(),
                                   [&](const CutSheet& one) { return same_sheet(one, sheet); });
    if (same == out.end()) {
      out.push_back(std::move(sheet));
      continue;
    }
    ++same->repeat;
    for (std::size_t i = 0; i < sheet.pieces.size(); ++i)
      add_owner(same->pieces[i].piece, sheet.pieces[i].piece);
  }
  sheets = std::move(out);
}

struct FlatStock {
  std::string key, name, group;
  Length width, height, thickness, kerf;
  int in_hand = 0, per_pack = 1;
};

int packs_of(const FlatStock& stock, std::int64_t sheets) {
  const std::int64_t missing = std::max<std::int64_t>(0, sheets - stock.in_hand);
  return static_cast<int>((missing + stock.per_pack - 1) / std::max(1, stock.per_pack));
}

bool solve_sheets(SheetPlan& plan, const FlatStock& stock, const std::vector<FlatPart>& parts,
                  const ScheduleOptions& asked, Diagnostics& found) {
  FlatOrder made = flat_order(parts, true);
  LayoutSheet sheet;
  sheet.name = stock.key;
  sheet.width = stock.width.nanometres();
  sheet.height = stock.height.nanometres();
  sheet.cost = 1;
  made.order.sheets.push_back(sheet);
  made.order.kerf = stock.kerf.nanometres();
  shrink_flat(made);
  LayoutOptions options;
  options.watch = asked.watch;
  options.max_nodes = asked.layout_nodes;
  if (asked.cost_only)
    options.paid = [&](std::int64_t sheets) { return std::int64_t(packs_of(stock, sheets)); };
  const auto solved = solve_layout(made.order, options);
  if (!solved) {
    pass_on(solved.mistakes(), stock.group + "." + stock.key, found);
    return false;
  }
  plan.sheets.resize(static_cast<std::size_t>(solved->used));
  for (CutSheet& cut : plan.sheets) cut.width = stock.width, cut.height = stock.height;
  for (const Place& place : places_of(*solved, made))
    plan.sheets[static_cast<std::size_t>(place.sheet)].pieces.push_back(
        {place.owner->piece, place.owner->name, place.x, place.y, place.width, place.height,
         place.owner->triangle});
  for (LayoutCut cut : solved->cuts) {
    cut.at *= made.step, cut.from *= made.step, cut.to *= made.step;
    plan.sheets[static_cast<std::size_t>(cut.sheet)].cuts.push_back(cut);
  }
  plan.used = static_cast<int>(solved->used);
  plan.bound = static_cast<int>(solved->bound);
  plan.proven = solved->proven;
  gather_sheets(plan.sheets);
  return true;
}

SheetPlan plan_flat(const FlatStock& stock, const std::vector<FlatPart>& parts,
                    const ScheduleOptions& asked, Diagnostics& found) {
  SheetPlan plan;
  plan.key = stock.key;
  plan.name = stock.name;
  plan.thickness = stock.thickness;
  solve_sheets(plan, stock, parts, asked, found);
  return plan;
}

void buy_sheets(SheetPlan& plan, int in_hand, int per_pack, Money price) {
  plan.per_pack = std::max(1, per_pack);
  plan.from_rack = std::min(in_hand, plan.used);
  const int missing = plan.used - plan.from_rack;
  plan.packs = (missing + plan.per_pack - 1) / plan.per_pack;
  plan.left_over = plan.packs * plan.per_pack - missing;
  plan.cost = price * plan.packs;
}

}  // namespace

std::vector<ClothPlan> plan_cloths(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& asked, Diagnostics& found) {
  std::vector<ClothPlan> plans;
  for (const auto& [key, cloth] : shop.cloths) {
    const auto wanted = cloth_parts(parts, key);
    if (!wanted.empty()) plans.push_back(plan_cloth(key, cloth, wanted, shop.rules, asked, found));
  }
  return plans;
}

std::vector<SheetPlan> plan_sheets(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& asked, Diagnostics& found) {
  std::vector<SheetPlan> plans;
  for (const auto& [key, board] : shop.boards) {
    const auto wanted = flat_parts(parts.boards, key, &BoardPart::board, Length(), shop.rules.grid);
    if (wanted.empty()) continue;
    plans.push_back(
        plan_flat({key, board.name, "boards", board.width, board.height, board.thickness, Length(),
                   board.in_hand, std::max(1, board.per_pack)},
                  wanted, asked, found));
    buy_sheets(plans.back(), board.in_hand, board.per_pack, board.price_per_pack);
  }
  for (const auto& [key, sheet] : shop.sheets) {
    const auto wanted =
        flat_parts(parts.sheets, key, &SheetPart::sheet, shop.rules.kerf, shop.rules.grid);
    if (wanted.empty()) continue;
    plans.push_back(plan_flat({key, sheet.name, "sheets", sheet.width, sheet.height,
                               sheet.thickness, shop.rules.kerf, sheet.in_hand, 1},
                              wanted, asked, found));
    plans.back().wool = false;
    buy_sheets(plans.back(), sheet.in_hand, 1, sheet.price);
  }
  return plans;
}

std::vector<HardwareRow> count_hardware(const Parts& parts, const Shop& shop, Diagnostics& found) {
  std::vector<HardwareRow> rows;
  std::map<std::string, double> used;
  for (const HardwarePart& part : parts.hardware) used[part.hardware] += part.count;
  for (const auto& [key, count] : used) {
    const auto at = shop.hardware.find(key);
    if (at == shop.hardware.end()) {
      found.add("hardware." + key, "is not in the shop file", {},
                "add it, or name another in rules");
      continue;
    }
    const Hardware& hardware = at->second;
    HardwareRow row{key, hardware.name, hardware.unit, count, std::min(count, hardware.in_hand),
                    0,   Money()};
    // A hair below a whole pack is a whole pack: counts are sums of decimals.
    row.packs = static_cast<int>(std::ceil((count - row.from_rack) / hardware.per_pack - 1e-9));
    row.cost = hardware.price_per_pack * row.packs;
    rows.push_back(row);
  }
  return rows;
}

}  // namespace roomwright::shop
