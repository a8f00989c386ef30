// Filling one piece of material after another: the part in hand goes to a corner of the smallest
// free rectangle that holds it, the rest is cut edge to edge in two. Many orders of the parts are
// tried, fixed ones and then seeded shuffles, and the best is kept. See fill.h.
#include "shop/layout/fill.h"

#include <algorithm>
#include <map>
#include <numeric>

namespace roomwright::shop {

namespace {

struct Rect {
  std::int64_t x, y, width, height;
};

/// How a part may lie: one or two ways.
struct Shape {
  std::int64_t width, height;
};

struct Flats {
  const LayoutOrder& order;
  std::vector<std::vector<Shape>> shapes;  ///< by part
  std::vector<std::int64_t> counts;        ///< 0 for what cannot be placed
  Rect usable{};                           ///< of the roll, its width only

  Flats(const LayoutOrder& of, const LayoutProblem& problem) : order(of), counts(of.parts.size()) {
    for (const LayoutPart& part : order.parts) shapes.push_back({{part.width, part.height}});
    for (const Item& item : problem.items) {
      for (const auto& [part, count] : item.owners) {
        const auto p = static_cast<std::size_t>(part);
        counts[p] = count;
        if (item.turns) shapes[p].push_back({order.parts[p].height, order.parts[p].width});
      }
    }
    if (order.roll) usable = {problem.origin_x, 0, problem.materials[0].width - order.kerf, 0};
  }
};

/// What one filling of a rectangle gave.
struct Filling {
  std::vector<Placed> placed;
  std::vector<LayoutCut> cuts;
};

/// The order in which parts are offered, and how rests are cut.
struct Trial {
  std::vector<std::size_t> order;
  bool wide_rest = true;  ///< the larger rest beside rather than above
  bool turned = false;    ///< the second shape first
};

class Filler {
 public:
  Filler(const Flats& flats, std::vector<std::int64_t>& left, const Trial& trial, int sheet)
      : flats_(flats), left_(left), trial_(trial), sheet_(sheet) {}

  Filling fill(const Rect& whole) {
    free_ = {whole};
    while (!free_.empty()) {
      const auto smallest =
          std::min_element(free_.begin(), free_.end(), [](const Rect& a, const Rect& b) {
            return static_cast<long double>(a.width) * static_cast<long double>(a.height) <
                   static_cast<long double>(b.width) * static_cast<long double>(b.height);
          });
      const Rect rect = *smallest;
      free_.erase(smallest);
      place_in(rect);
    }
    return std::move(out_);
  }

 private:
  void place_in(const Rect& rect) {
    for (const std::size_t part : trial_.order) {
      if (left_[part] == 0) continue;
      const auto& shapes = flats_.shapes[part];
      for (std::size_t s = 0; s < shapes.size(); ++s) {
        const Shape& shape = shapes[trial_.turned ? shapes.size() - 1 - s : s];
        if (shape.width > rect.width || shape.height > rect.height) continue;
        put(rect, part, shape);
        return;
      }
    }
  }

  void put(const Rect& rect, std::size_t part, const Shape& shape) {
    --left_[part];
    out_.placed.push_back(
        {static_cast<int>(part), sheet_, rect.x, rect.y, shape.width, shape.height});
    const std::int64_t kerf = flats_.order.kerf;
    const std::int64_t beside = rect.width - shape.width - kerf;
    const std::int64_t above = rect.height - shape.height - kerf;
    // The larger rest stays whole: cut first along the side that frees it.
    const bool beside_whole =
        trial_.wide_rest
            ? static_cast<long double>(beside) * static_cast<long double>(rect.height) >=
                  static_cast<long double>(above) * static_cast<long double>(rect.width)
            : beside < above;
    if (beside_whole) {
      cut_x(rect.x + shape.width, rect.y, rect.y + rect.height, beside, rect);
      cut_y(rect.y + shape.height, rect.x, rect.x + shape.width, above, rect);
      keep({rect.x + shape.width + kerf, rect.y, beside, rect.height});
      keep({rect.x, rect.y + shape.height + kerf, shape.width, above});
    } else {
      cut_y(rect.y + shape.height, rect.x, rect.x + rect.width, above, rect);
      cut_x(rect.x + shape.width, rect.y, rect.y + shape.height, beside, rect);
      keep({rect.x, rect.y + shape.height + kerf, rect.width, above});
      keep({rect.x + shape.width + kerf, rect.y, beside, shape.height});
    }
  }

  /// No cut is needed where the part ends flush; a rest thinner than the kerf is sawn away.
  void cut_x(std::int64_t at, std::int64_t from, std::int64_t to, std::int64_t, const Rect& rect) {
    if (at < rect.x + rect.width) out_.cuts.push_back({sheet_, 'x', at, from, to});
  }
  void cut_y(std::int64_t at, std::int64_t from, std::int64_t to, std::int64_t, const Rect& rect) {
    if (at < rect.y + rect.height) out_.cuts.push_back({sheet_, 'y', at, from, to});
  }
  void keep(const Rect& rect) {
    if (rect.width > 0 && rect.height > 0) free_.push_back(rect);
  }

  const Flats& flats_;
  std::vector<std::int64_t>& left_;
  const Trial& trial_;
  int sheet_;
  std::vector<Rect> free_;
  Filling out_;
};

long double area_of(const LayoutPart& part) {
  return static_cast<long double>(part.width) * static_cast<long double>(part.height);
}

std::vector<Trial> fixed_trials(const Flats& flats) {
  const auto& parts = flats.order.parts;
  std::vector<std::size_t> base(parts.size());
  std::iota(base.begin(), base.end(), 0);
  const auto sorted = [&](auto key) {
    std::vector<std::size_t> order = base;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return key(parts[a]) > key(parts[b]); });
    return order;
  };
  std::vector<std::vector<std::size_t>> orders = {
      sorted([](const LayoutPart& p) { return static_cast<long double>(p.height); }),
      sorted([](const LayoutPart& p) { return area_of(p); }),
      sorted([](const LayoutPart& p) { return static_cast<long double>(p.width); }),
      sorted([](const LayoutPart& p) {
        return static_cast<long double>(std::max(p.width, p.height));
      })};
  if (flats.order.aim == LayoutAim::value)
    orders.insert(orders.begin(), sorted([](const LayoutPart& p) {
                    return static_cast<long double>(p.value) / area_of(p);
                  }));
  std::vector<Trial> out;
  for (const auto& order : orders)
    for (const bool wide : {true, false})
      for (const bool turned : {false, true}) out.push_back({order, wide, turned});
  return out;
}

/// Exchanges a few neighbours of a good order.
Trial shuffled(const Trial& good, Random& random) {
  Trial out = good;
  if (out.order.size() > 1)
    for (std::uint32_t n = 1 + random.below(3); n > 0; --n) {
      const auto a = random.below(static_cast<std::uint32_t>(out.order.size()));
      const auto b = random.below(static_cast<std::uint32_t>(out.order.size()));
      std::swap(out.order[a], out.order[b]);
    }
  if (random.below(4) == 0) out.wide_rest = !out.wide_rest;
  if (random.below(4) == 0) out.turned = !out.turned;
  return out;
}

/// Rows of columns; every part begins where its phase of the repeat allows. The first part of a
/// group sets the group's phase.
class PhasedRows {
 public:
  PhasedRows(const Flats& flats, const Trial& trial)
      : flats_(flats), trial_(trial), left_(flats.counts), width_(flats.usable.width) {
    for (const LayoutPart& part : flats.order.parts)
      if (!part.match) phases_[""] = 0;  // begins at a multiple: the group without a name
  }

  LayoutPlan lay() {
    while (open_row()) {
      while (open_column()) {
      }
      plan_.cuts.push_back({0, 'y', top_, 0, flats_.order.roll->width});
      trim_selvedges();
      plan_.cuts.insert(plan_.cuts.end(), row_cuts_.begin(), row_cuts_.end());
      plan_.used = std::max(plan_.used, top_);
      free_from_ = top_ + flats_.order.kerf;
    }
    return std::move(plan_);
  }

 private:
  /// The lowest y at or above `from` where the part may begin: a gap must be wider than the kerf.
  std::int64_t begin(std::size_t part, std::int64_t from) const {
    const auto& match = flats_.order.parts[part].match;
    const std::int64_t repeat = flats_.order.repeat;
    if (repeat == 0 || (match && match->empty())) return from;
    const auto known = phases_.find(match ? *match : "");
    if (known == phases_.end()) return from;
    std::int64_t y = from / repeat * repeat + known->second;
    while (y < from || (y > from && y - from <= flats_.order.kerf)) y += repeat;
    return y;
  }
  void take(std::size_t part, const Shape& shape, std::int64_t y) {
    const auto& match = flats_.order.parts[part].match;
    if (flats_.order.repeat > 0 && match && !match->empty())
      phases_.try_emplace(*match, y % flats_.order.repeat);
    --left_[part];
    plan_.placed.push_back({static_cast<int>(part), 0, x_, y, shape.width, shape.height});
  }
  /// Sets top_ and row_ for the first part of the trial's order that is left.
  bool open_row() {
    for (const std::size_t part : trial_.order) {
      if (left_[part] == 0) continue;
      const Shape* shape = &flats_.shapes[part].front();
      for (const Shape& way : flats_.shapes[part])
        if (way.width <= width_ && (shape->width > width_ || way.height < shape->height))
          shape = &way;
      row_ = begin(part, free_from_);
      top_ = row_ + shape->height;
      x_ = flats_.usable.x;
      row_cuts_.clear();
      if (row_ > free_from_)
        plan_.cuts.push_back({0, 'y', row_ - flats_.order.kerf, 0, flats_.order.roll->width});
      column(part, *shape, row_);
      return true;
    }
    return false;
  }
  bool open_column() {
    const std::int64_t end = flats_.usable.x + width_;
    for (const std::size_t part : trial_.order)
      for (const Shape& shape : flats_.shapes[part]) {
        if (left_[part] == 0 || x_ + shape.width > end) continue;
        const std::int64_t y = begin(part, row_);
        if (y + shape.height > top_) continue;
        column(part, shape, y);
        return true;
      }
    return false;
  }
  /// A column as wide as its first part, and whatever goes above it.
  void column(std::size_t part, const Shape& shape, std::int64_t y) {
    const std::int64_t end = flats_.usable.x + width_, kerf = flats_.order.kerf;
    if (x_ + shape.width < end) row_cuts_.push_back({0, 'x', x_ + shape.width, row_, top_});
    std::int64_t low = row_;
    const auto stack = [&](std::size_t one, const Shape& way, std::int64_t at) {
      if (at > low) row_cuts_.push_back({0, 'y', at - kerf, x_, x_ + shape.width});
      if (at + way.height < top_)
        row_cuts_.push_back({0, 'y', at + way.height, x_, x_ + shape.width});
      if (way.width < shape.width)
        row_cuts_.push_back({0, 'x', x_ + way.width, at, at + way.height});
      take(one, way, at);
      low = at + way.height + kerf;
    };
    stack(part, shape, y);
    for (const std::size_t one : trial_.order)
      for (const Shape& way : flats_.shapes[one])
        while (left_[one] > 0 && way.width <= shape.width && low < top_) {
          const std::int64_t at = begin(one, low);
          if (at + way.height > top_) break;
          stack(one, way, at);
        }
    x_ += shape.width + kerf;
  }
  void trim_selvedges() {
    const std::int64_t selvedge = flats_.order.roll->selvedge;
    if (selvedge == 0) return;
    plan_.cuts.push_back({0, 'x', selvedge, row_, top_});
    plan_.cuts.push_back({0, 'x', flats_.order.roll->width - selvedge, row_, top_});
  }

  const Flats& flats_;
  const Trial& trial_;
  std::vector<std::int64_t> left_;
  std::int64_t width_, x_ = 0, row_ = 0, top_ = 0, free_from_ = 0;
  std::map<std::string, std::int64_t> phases_;
  std::vector<LayoutCut> row_cuts_;
  LayoutPlan plan_;
};

/// One sheet after another, each time the one that holds most for its cost.
LayoutPlan lay_on_sheets(const Flats& flats, const Trial& trial) {
  LayoutPlan plan;
  const LayoutOrder& order = flats.order;
  std::vector<std::int64_t> left = flats.counts, stock;
  const bool most = order.aim == LayoutAim::value;
  for (const auto& sheet : order.sheets)
    stock.push_back(sheet.count.value_or(most ? 1 : most_layout_parts));
  while (std::any_of(left.begin(), left.end(), [](std::int64_t n) { return n > 0; })) {
    Filling best;
    std::vector<std::int64_t> best_left;
    std::size_t best_sheet = order.sheets.size();
    long double best_rate = -1;
    for (std::size_t s = 0; s < order.sheets.size(); ++s) {
      if (stock[s] == 0) continue;
      std::vector<std::int64_t> trial_left = left;
      Filler filler(flats, trial_left, trial, static_cast<int>(plan.sheets_used.size()));
      Filling filling = filler.fill({0, 0, order.sheets[s].width, order.sheets[s].height});
      long double area = 0;
      for (const Placed& placed : filling.placed)
        area +=
            order.aim == LayoutAim::value
                ? static_cast<long double>(order.parts[static_cast<std::size_t>(placed.part)].value)
                : static_cast<long double>(placed.width) * static_cast<long double>(placed.height);
      const long double rate =
          order.aim == LayoutAim::value
              ? area
              : area / static_cast<long double>(std::max<std::int64_t>(1, order.sheets[s].cost));
      if (filling.placed.empty() || rate <= best_rate) continue;
      best_rate = rate;
      best = std::move(filling);
      best_left = std::move(trial_left);
      best_sheet = s;
    }
    if (best_sheet == order.sheets.size()) break;
    left = std::move(best_left);
    --stock[best_sheet];
    plan.sheets_used.push_back(static_cast<int>(best_sheet));
    plan.placed.insert(plan.placed.end(), best.placed.begin(), best.placed.end());
    plan.cuts.insert(plan.cuts.end(), best.cuts.begin(), best.cuts.end());
  }
  return plan;
}

std::int64_t round_up(std::int64_t value, std::int64_t step) {
  return step > 1 ? (value + step - 1) / step * step : value;
}

bool complete(const Flats& flats, const LayoutPlan& plan) {
  std::int64_t wanted = 0;
  for (const std::int64_t count : flats.counts) wanted += count;
  return static_cast<std::int64_t>(plan.placed.size()) == wanted;
}

LayoutPlan lay(const Flats& flats, const Trial& trial) {
  if (flats.order.roll) return PhasedRows(flats, trial).lay();
  LayoutPlan plan = lay_on_sheets(flats, trial);
  settle_sums(flats.order, plan);
  return plan;
}

}  // namespace

std::optional<LayoutPlan> fill_plan(const LayoutOrder& order, const LayoutProblem& problem,
                                    std::int64_t bound, std::int64_t trials, Budget& budget) {
  const Flats flats(order, problem);
  const bool most = problem.most;
  std::optional<LayoutPlan> best;
  const std::vector<Trial> fixed_orders = fixed_trials(flats);
  Trial best_trial = fixed_orders.front();
  Random random(20261);
  // Large orders get fewer trials: the work of one grows with its parts and sizes.
  const std::int64_t work =
      (problem.pieces() + 1) * static_cast<std::int64_t>(order.parts.size() + 1);
  for (std::int64_t t = 0; t < trials; ++t) {
    if (best && budget.spent()) break;
    const Trial trial = static_cast<std::size_t>(t) < fixed_orders.size()
                            ? fixed_orders[static_cast<std::size_t>(t)]
                            : shuffled(best_trial, random);
    LayoutPlan plan = lay(flats, trial);
    budget.nodes += work;
    if (!most && !complete(flats, plan)) continue;
    if (!best || (most ? plan.used > best->used : plan.used < best->used)) {
      best = std::move(plan);
      best_trial = trial;
    }
    if (best->used == bound) break;
  }
  return best;
}

Sheets2d shelves(const LayoutProblem& problem, bool newest, bool as_given) {
  struct Shelf {
    Cell row;
    std::int64_t used = 0;
  };
  if (problem.materials.size() != 1) return {};
  const Material& material = problem.materials[0];
  std::vector<std::pair<std::size_t, bool>> order;
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    order.insert(order.end(), static_cast<std::size_t>(problem.items[i].count),
                 {i, !problem.fits(i, false, material)});
  const auto cut_height = [&](const std::pair<std::size_t, bool>& lying) {
    return problem.height(lying.first, lying.second) -
           (lying.second ? 0 : problem.items[lying.first].slack);
  };
  if (!as_given)
    std::stable_sort(order.begin(), order.end(),
                     [&](const auto& a, const auto& b) { return cut_height(a) > cut_height(b); });
  Tree cells;
  std::vector<Shelf> rows;
  std::size_t full = 0;  // shelves up to here have no room for anything
  std::int64_t least = material.width;
  for (const auto& [item, turned] : order) least = std::min(least, problem.width(item, turned));
  for (const auto& [item, turned] : order) {
    const std::int64_t width = problem.width(item, turned), height = problem.height(item, turned);
    while (full < rows.size() && rows[full].used + least > material.width) ++full;
    const auto looked =
        newest && !rows.empty() ? rows.end() - 1 : rows.begin() + static_cast<std::ptrdiff_t>(full);
    const auto room = std::find_if(looked, rows.end(), [&](const Shelf& shelf) {
      return shelf.used + width <= material.width && height <= shelf.row.height;
    });
    Shelf& shelf = room != rows.end() ? *room : rows.emplace_back();
    if (shelf.used == 0)
      shelf.row = {-1, false, 'x', material.width, round_up(height, problem.repeat), {}};
    shelf.row.kids.push_back(cells.add({static_cast<int>(item), turned, 'x', width, height, {}}));
    shelf.used += width;
  }
  Sheets2d sheets;
  std::vector<std::int64_t> heights;
  for (const Shelf& shelf : rows) {
    std::size_t s = 0;
    while (s < sheets.size() && !problem.roll && heights[s] + shelf.row.height > material.height)
      ++s;
    if (s == sheets.size()) {
      sheets.push_back({0, {}});
      heights.push_back(0);
      sheets[s].tree.root = sheets[s].tree.add({-1, false, 'y', material.width, 0, {}});
    }
    Tree& tree = sheets[s].tree;
    Cell row = shelf.row;
    for (int& kid : row.kids) kid = tree.add(cells.cells[static_cast<std::size_t>(kid)]);
    const int made = tree.add(std::move(row));
    tree.cells[0].kids.push_back(made);
    heights[s] += shelf.row.height;
    tree.cells[0].height = heights[s];
  }
  if (material.count >= 0 && !problem.roll &&
      static_cast<std::int64_t>(sheets.size()) > material.count)
    return {};
  return sheets;
}

}  // namespace roomwright::shop
