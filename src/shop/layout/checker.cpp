// The independent check of a layout: it makes the cuts in their order and looks whether each part
// falls out; it shares nothing with the search.
#include <algorithm>

#include "shop/layout/layout.h"

namespace roomwright::shop {

namespace {

struct Piece {
  std::int64_t x, y, width, height;
};

/// Cuts a piece in hand and its rest; a cut must go right through one piece.
bool make_cut(std::vector<Piece>& pieces, const LayoutCut& cut, std::int64_t kerf) {
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const Piece piece = pieces[i];
    const bool x = cut.axis == 'x';
    const std::int64_t from = x ? piece.y : piece.x, to = from + (x ? piece.height : piece.width);
    const std::int64_t low = x ? piece.x : piece.y, high = low + (x ? piece.width : piece.height);
    if (cut.from != from || cut.to != to || cut.at <= low || cut.at >= high) continue;
    const std::int64_t rest = high - std::min(high, cut.at + kerf);
    Piece first = piece, second = piece;
    (x ? first.width : first.height) = cut.at - low;
    (x ? second.x : second.y) = cut.at + kerf;
    (x ? second.width : second.height) = rest;
    pieces[i] = first;
    if (rest > 0) pieces.push_back(second);
    return true;
  }
  return false;
}

}  // namespace

Result<Done> check_layout(const LayoutOrder& order, const LayoutPlan& plan) {
  Diagnostics found;
  const std::size_t sheets = order.roll ? 1 : plan.sheets_used.size();
  std::vector<std::int64_t> cut(order.parts.size(), 0), used(order.sheets.size(), 0);
  std::int64_t length = 0, cost = 0, value = 0;
  for (const Placed& placed : plan.placed) {
    const LayoutPart& part = order.parts.at(static_cast<std::size_t>(placed.part));
    ++cut[static_cast<std::size_t>(placed.part)];
    length = std::max(length, placed.y + placed.height);
    value += part.value;
    const bool as_is = placed.width == part.width && placed.height == part.height;
    const bool turned = placed.width == part.height && placed.height == part.width;
    if (!as_is && !(turned && part.rotate && !order.pile_one_way))
      found.add("placed", "turns " + part.name + ", which may not be turned", {}, {});
    if (order.repeat > 0 && placed.y % order.repeat != 0)
      found.add("placed", part.name + " does not begin at the pattern's repeat", double(placed.y),
                {});
  }
  for (const int sheet : plan.sheets_used) {
    ++used.at(static_cast<std::size_t>(sheet));
    cost += order.sheets[static_cast<std::size_t>(sheet)].cost;
  }
  for (std::size_t i = 0; i < cut.size(); ++i)
    if (order.aim == LayoutAim::least ? cut[i] != order.parts[i].count
                                      : cut[i] > order.parts[i].count)
      found.add("parts." + order.parts[i].name, "is not placed as often as asked", double(cut[i]),
                {});
  for (std::size_t i = 0; i < used.size(); ++i)
    if (order.sheets[i].count && used[i] > *order.sheets[i].count)
      found.add("sheets." + order.sheets[i].name, "is used more often than there is",
                double(used[i]), {});
  for (std::size_t s = 0; s < sheets; ++s) {
    std::vector<Piece> pieces{
        order.roll ? Piece{0, 0, order.roll->width, length + 1}
                   : Piece{0, 0, order.sheets[static_cast<std::size_t>(plan.sheets_used[s])].width,
                           order.sheets[static_cast<std::size_t>(plan.sheets_used[s])].height}};
    if (order.repeat == 0)
      for (LayoutCut one : plan.cuts) {
        if (one.sheet != static_cast<int>(s)) continue;
        if (order.roll && one.axis == 'x' && one.to > length) one.to = length;
        if (!make_cut(pieces, one, order.kerf))
          found.add("cuts", "has a cut that goes through no piece", double(one.at), {});
      }
    for (const Placed& placed : plan.placed) {
      if (placed.sheet != static_cast<int>(s)) continue;
      if (order.repeat > 0) continue;
      const bool free = std::any_of(pieces.begin(), pieces.end(), [&](const Piece& piece) {
        return piece.x == placed.x && piece.y == placed.y && piece.width == placed.width &&
               piece.height == placed.height;
      });
      if (!free)
        found.add(
            "placed",
            order.parts[static_cast<std::size_t>(placed.part)].name + " is not freed by the cuts",
            double(placed.x), {});
    }
  }
  for (std::size_t i = 0; i < plan.placed.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) {
      const Placed &a = plan.placed[i], &b = plan.placed[k];
      if (a.sheet == b.sheet && a.x < b.x + b.width + order.kerf &&
          b.x < a.x + a.width + order.kerf && a.y < b.y + b.height + order.kerf &&
          b.y < a.y + a.height + order.kerf) {
        const bool kerf_only = order.kerf > 0 && !(a.x < b.x + b.width && b.x < a.x + a.width &&
                                                   a.y < b.y + b.height && b.y < a.y + a.height);
        found.add("placed",
                  kerf_only ? "leaves no kerf between two parts" : "lets two parts overlap", {},
                  {});
      }
    }
  const std::int64_t wanted = order.roll ? length : order.aim == LayoutAim::value ? value : cost;
  if (wanted != plan.used) found.add("used", "does not add up", double(wanted), {});
  const bool sound =
      order.aim == LayoutAim::value ? plan.bound >= plan.used : plan.bound <= plan.used;
  if (!sound) found.add("bound", "is passed by the plan", double(plan.bound), {});
  if (!found.empty()) return found;
  return Done{};
}

}  // namespace roomwright::shop
