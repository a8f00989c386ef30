// The independent check of a layout: it makes the cuts in their order and looks whether each part
// falls out; it shares nothing with the search.
#include <algorithm>
#include <map>
#include <tuple>

#include "shop/layout/layout.h"

namespace roomwright::shop {

namespace {

struct Piece {
  std::int64_t x, y, width, height;
};

/// Cuts a piece in hand and its rest; a cut must go right through one piece.
bool make_cut(std::vector<Piece>& pieces, const LayoutCut& cut, std::int64_t kerf) {
  for (std::size_t i = pieces.size(); i-- > 0;) {
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

class LayoutCheck {
 public:
  LayoutCheck(const LayoutOrder& order, const LayoutPlan& plan) : order_(order), plan_(plan) {}

  Diagnostics check() {
    for (const Placed& placed : plan_.placed) check_part(placed);
    check_counts();
    const std::size_t sheets = order_.roll ? 1 : plan_.sheets_used.size();
    by_sheet_.resize(sheets);
    cuts_.resize(sheets);
    for (const Placed& placed : plan_.placed)
      if (known_sheet(placed.sheet))
        by_sheet_[static_cast<std::size_t>(placed.sheet)].push_back(placed);
    for (const LayoutCut& cut : plan_.cuts)
      if (known_sheet(cut.sheet)) cuts_[static_cast<std::size_t>(cut.sheet)].push_back(cut);
    for (std::size_t s = 0; s < sheets; ++s) {
      check_cuts(s);
      check_apart(by_sheet_[s]);
    }
    check_sums();
    return std::move(found_);
  }

 private:
  const LayoutPart& part_of(const Placed& placed) const {
    return order_.parts.at(static_cast<std::size_t>(placed.part));
  }
  bool known_sheet(int sheet) {
    const bool known = sheet >= 0 && static_cast<std::size_t>(sheet) < by_sheet_.size();
    if (!known) found_.add("placed", "names a sheet that is not used", double(sheet), {});
    return known;
  }

  void check_part(const Placed& placed) {
    const LayoutPart& part = part_of(placed);
    length_ = std::max(length_, placed.y + placed.height);
    value_ += part.value;
    const bool as_is = placed.width == part.width && placed.height == part.height;
    const bool turned = placed.width == part.height && placed.height == part.width;
    if (!as_is && !(turned && part.rotate && !order_.pile_one_way))
      found_.add("placed", "turns " + part.name + ", which may not be turned", {}, {});
    if (order_.repeat > 0) check_phase(part, placed, as_is);
    if (!order_.roll) return;
    const std::int64_t edge = order_.roll->selvedge;
    if (placed.x < edge || placed.x + placed.width > order_.roll->width - edge)
      found_.add("placed", part.name + " lies on the selvedge", double(placed.x), {});
  }

  void check_phase(const LayoutPart& part, const Placed& placed, bool as_is) {
    const std::int64_t phase = placed.y % order_.repeat;
    if (part.match && part.match->empty()) return;
    if (!as_is) found_.add("placed", "turns the pattern of " + part.name, {}, {});
    if (!part.match && phase != 0)
      found_.add("placed", part.name + " does not begin at the pattern's repeat", double(placed.y),
                 {});
    if (part.match && phases_.try_emplace(*part.match, phase).first->second != phase)
      found_.add("placed", part.name + " does not match the others of " + *part.match,
                 double(placed.y), {});
  }

  void check_counts() {
    std::vector<std::int64_t> cut(order_.parts.size(), 0);
    for (const Placed& placed : plan_.placed) ++cut[static_cast<std::size_t>(placed.part)];
    for (std::size_t i = 0; i < cut.size(); ++i)
      if (order_.aim == LayoutAim::least ? cut[i] != order_.parts[i].count
                                         : cut[i] > order_.parts[i].count)
        found_.add("parts." + order_.parts[i].name, "is not placed as often as asked",
                   double(cut[i]), {});
  }

  void check_cuts(std::size_t s) {
    Piece whole{0, 0, 0, 0};
    if (order_.roll) {
      whole.width = order_.roll->width;
      whole.height = length_ + 1;
    } else {
      const LayoutSheet& sheet = order_.sheets.at(static_cast<std::size_t>(plan_.sheets_used[s]));
      whole.width = sheet.width;
      whole.height = sheet.height;
    }
    std::vector<Piece> pieces{whole};
    for (const LayoutCut& cut : cuts_[s])
      if (!make_cut(pieces, cut, order_.kerf))
        found_.add("cuts", "has a cut that goes through no piece", double(cut.at), {});
    const auto before = [](const Piece& a, const Piece& b) {
      return std::tie(a.x, a.y) < std::tie(b.x, b.y);
    };
    std::sort(pieces.begin(), pieces.end(), before);
    for (const Placed& placed : by_sheet_[s]) {
      const Piece wanted{placed.x, placed.y, placed.width, placed.height};
      const auto at = std::lower_bound(pieces.begin(), pieces.end(), wanted, before);
      if (at == pieces.end() || at->x != placed.x || at->y != placed.y ||
          at->width != placed.width || at->height != placed.height)
        found_.add("placed", part_of(placed).name + " is not freed by the cuts", double(placed.x),
                   {});
    }
  }

  /// Every pair that meets along y is looked at.
  void check_apart(std::vector<Placed> parts) {
    std::sort(parts.begin(), parts.end(),
              [](const Placed& a, const Placed& b) { return a.y < b.y; });
    const std::int64_t kerf = order_.kerf;
    for (std::size_t i = 0; i < parts.size(); ++i)
      for (std::size_t k = i + 1;
           k < parts.size() && parts[k].y < parts[i].y + parts[i].height + kerf; ++k) {
        const Placed &a = parts[i], &b = parts[k];
        if (a.x >= b.x + b.width + kerf || b.x >= a.x + a.width + kerf) continue;
        const bool overlap = a.x < b.x + b.width && b.x < a.x + a.width && b.y < a.y + a.height;
        found_.add("placed",
                   overlap ? "lets two parts overlap" : "leaves no kerf between two parts",
                   double(b.y), {});
      }
  }

  void check_sums() {
    std::vector<std::int64_t> used(order_.sheets.size(), 0);
    for (const int sheet : plan_.sheets_used) ++used.at(static_cast<std::size_t>(sheet));
    std::int64_t cost = 0;
    for (std::size_t i = 0; i < used.size(); ++i) {
      const LayoutSheet& sheet = order_.sheets[i];
      const std::int64_t packs = (used[i] + sheet.per_pack - 1) / sheet.per_pack;
      cost += packs * sheet.cost;
      if (used[i] > sheet.count.value_or(order_.aim == LayoutAim::value ? 1 : INT64_MAX))
        found_.add("sheets." + sheet.name, "is used more often than there is", double(used[i]), {});
      if (plan_.packs.at(i) != packs || plan_.left_over.at(i) != packs * sheet.per_pack - used[i])
        found_.add("sheets." + sheet.name, "is not counted right in packs", double(packs), {});
    }
    const bool most = order_.aim == LayoutAim::value;
    const std::int64_t wanted = order_.roll ? length_ : most ? value_ : cost;
    if (wanted != plan_.used) found_.add("used", "does not add up", double(wanted), {});
    if (most ? plan_.bound < plan_.used : plan_.bound > plan_.used)
      found_.add("bound", "is passed by the plan", double(plan_.bound), {});
    if (plan_.proven != (plan_.bound == plan_.used))
      found_.add("proven", "does not follow from bound and plan", double(plan_.bound), {});
  }

  const LayoutOrder& order_;
  const LayoutPlan& plan_;
  Diagnostics found_;
  std::vector<std::vector<Placed>> by_sheet_;
  std::vector<std::vector<LayoutCut>> cuts_;
  std::map<std::string, std::int64_t> phases_;
  std::int64_t length_ = 0, value_ = 0;
};

}  // namespace

Result<Done> check_layout(const LayoutOrder& order, const LayoutPlan& plan) {
  const Diagnostics found = LayoutCheck(order, plan).check();
  if (!found.empty()) return found;
  return Done{};
}

}  // namespace roomwright::shop
