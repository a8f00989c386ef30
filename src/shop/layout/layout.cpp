// Layouts by filling one piece of material after another: the part in hand goes to a corner of the
// smallest free rectangle that holds it, the rest is cut edge to edge in two. Many orders of the
// parts are tried, fixed ones and then seeded shuffles, and the best is kept; it stops when the
// bound is met. See layout.h.
#include "shop/layout/layout.h"

#include <algorithm>
#include <chrono>
#include <cmath>
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
  std::vector<std::int64_t> counts;

  explicit Flats(const LayoutOrder& of) : order(of) {
    for (const LayoutPart& part : order.parts) {
      shapes.push_back({{part.width, part.height}});
      if (part.rotate && !order.pile_one_way && part.width != part.height)
        shapes.back().push_back({part.height, part.width});
      counts.push_back(part.count);
    }
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

  /// Places a given part first, in the corner.
  Filling fill_with(const Rect& whole, std::size_t part, const Shape& shape) {
    put(whole, part, shape);
    while (!free_.empty()) {
      const Rect rect = free_.back();
      free_.pop_back();
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

std::int64_t round_up(std::int64_t value, std::int64_t step) {
  return step > 1 ? (value + step - 1) / step * step : value;
}

/// Rows across the roll: each as long as its first part, the tallest left, and filled edge to edge.
LayoutPlan lay_on_roll(const Flats& flats, const Trial& trial) {
  LayoutPlan plan;
  std::vector<std::int64_t> left = flats.counts;
  std::int64_t y = 0;
  for (;;) {
    std::size_t tallest = flats.shapes.size();
    Shape shape{0, 0};
    for (const std::size_t part : trial.order) {
      if (left[part] == 0) continue;
      Shape best = flats.shapes[part].front();
      for (const Shape& way : flats.shapes[part])
        if (way.width <= flats.order.roll->width &&
            (best.width > flats.order.roll->width || way.height < best.height))
          best = way;
      if (best.height > shape.height) tallest = part, shape = best;
    }
    if (tallest == flats.shapes.size()) break;
    y = round_up(y, flats.order.repeat);
    Filler filler(flats, left, trial, 0);
    Filling row = filler.fill_with({0, y, flats.order.roll->width, shape.height}, tallest, shape);
    plan.cuts.push_back({0, 'y', y + shape.height, 0, flats.order.roll->width});
    plan.cuts.insert(plan.cuts.end(), row.cuts.begin(), row.cuts.end());
    plan.placed.insert(plan.placed.end(), row.placed.begin(), row.placed.end());
    plan.used = y + shape.height;
    y += shape.height + flats.order.kerf;
  }
  return plan;
}

/// With a pattern repeat every piece begins at a multiple: nothing may stand above another in a
/// row.
LayoutPlan lay_with_repeat(const Flats& flats, const Trial& trial) {
  LayoutPlan plan;
  std::vector<std::int64_t> left = flats.counts;
  std::int64_t y = 0;
  for (bool any = true; any;) {
    any = false;
    std::int64_t x = 0, row = 0;
    for (const std::size_t part : trial.order)
      for (const Shape& shape : flats.shapes[part])
        while (left[part] > 0 && x + shape.width <= flats.order.roll->width &&
               (row == 0 || shape.height <= row)) {
          if (x > 0 || shape.width < flats.order.roll->width)
            plan.cuts.push_back({0, 'x', x + shape.width, y, y + std::max(row, shape.height)});
          plan.placed.push_back({static_cast<int>(part), 0, x, y, shape.width, shape.height});
          row = std::max(row, shape.height);
          x += shape.width + flats.order.kerf;
          --left[part];
          any = true;
        }
    if (!any) break;
    plan.used = y + row;
    y = round_up(y + row + flats.order.kerf, flats.order.repeat);
  }
  return plan;
}

/// One sheet after another, each time the one that holds most for its cost.
LayoutPlan lay_on_sheets(const Flats& flats, const Trial& trial) {
  LayoutPlan plan;
  const LayoutOrder& order = flats.order;
  std::vector<std::int64_t> left = flats.counts, stock;
  for (const auto& sheet : order.sheets) stock.push_back(sheet.count.value_or(most_layout_parts));
  std::int64_t value = 0;
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
    for (const Placed& placed : best.placed)
      value += order.parts[static_cast<std::size_t>(placed.part)].value;
    plan.used += order.sheets[best_sheet].cost;
    plan.placed.insert(plan.placed.end(), best.placed.begin(), best.placed.end());
    plan.cuts.insert(plan.cuts.end(), best.cuts.begin(), best.cuts.end());
  }
  if (order.aim == LayoutAim::value) plan.used = value;
  return plan;
}

// ---- bounds ---------------------------------------------------------------------------------

/// Length of roll: by area; and by parts of which no two lie side by side.
std::int64_t roll_bound(const Flats& flats) {
  const std::int64_t width = flats.order.roll->width, kerf = flats.order.kerf;
  long double area = 0;
  std::int64_t alone = 0, tallest = 0;
  for (std::size_t i = 0; i < flats.shapes.size(); ++i) {
    std::int64_t least_height = INT64_MAX, least_width = INT64_MAX;
    for (const Shape& shape : flats.shapes[i]) {
      if (shape.width > width) continue;
      least_height = std::min(least_height, shape.height);
      least_width = std::min(least_width, shape.width);
    }
    const std::int64_t count = flats.counts[i];
    if (count == 0) continue;
    tallest = std::max(tallest, least_height);
    if (2 * least_width + kerf > width) alone += count * (least_height + kerf);
    area += static_cast<long double>(count) *
            static_cast<long double>(flats.shapes[i][0].width + kerf) *
            static_cast<long double>(flats.shapes[i][0].height + kerf);
  }
  const auto by_area = static_cast<std::int64_t>(std::ceil(
                           area / static_cast<long double>(width + kerf) * (1 - 1e-15L))) -
                       kerf;
  return std::max({by_area, alone > 0 ? alone - kerf : 0, tallest});
}

/// Martello & Vigo's function on one axis: pieces larger than S − p count as S, smaller than p as
/// 0.
std::int64_t dual_size(std::int64_t size, std::int64_t whole, std::int64_t p) {
  if (size > whole - p) return whole;
  return size < p ? 0 : size;
}

/// Fewest sheets of one kind: area after dual feasible functions on both axes.
std::int64_t sheet_count_bound(const Flats& flats, const LayoutSheet& sheet) {
  const std::int64_t kerf = flats.order.kerf, w = sheet.width + kerf, h = sheet.height + kerf;
  std::vector<std::int64_t> cuts_x{0}, cuts_y{0};
  for (const LayoutPart& part : flats.order.parts) {
    if (2 * (part.width + kerf) <= w) cuts_x.push_back(part.width + kerf);
    if (2 * (part.height + kerf) <= h) cuts_y.push_back(part.height + kerf);
  }
  const auto thin = [](std::vector<std::int64_t>& cuts) {
    std::sort(cuts.begin(), cuts.end());
    cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
    if (cuts.size() > 30) cuts.resize(30);
  };
  thin(cuts_x);
  thin(cuts_y);
  long double best = 0;
  for (const std::int64_t p : cuts_x)
    for (const std::int64_t q : cuts_y) {
      long double sum = 0;
      for (std::size_t i = 0; i < flats.shapes.size(); ++i) {
        long double least = 1e30L;
        for (const Shape& shape : flats.shapes[i])
          if (shape.width <= sheet.width && shape.height <= sheet.height)
            least =
                std::min(least, static_cast<long double>(dual_size(shape.width + kerf, w, p)) *
                                    static_cast<long double>(dual_size(shape.height + kerf, h, q)));
        if (least < 1e30L) sum += least * static_cast<long double>(flats.counts[i]);
      }
      best = std::max(best, sum);
    }
  return static_cast<std::int64_t>(
      std::ceil(best / (static_cast<long double>(w) * static_cast<long double>(h)) * (1 - 1e-12L)));
}

std::int64_t sheets_bound(const Flats& flats) {
  const auto& sheets = flats.order.sheets;
  if (sheets.size() == 1) return sheet_count_bound(flats, sheets[0]) * sheets[0].cost;
  long double rate = 1e30L, area = 0;
  const std::int64_t kerf = flats.order.kerf;
  for (const auto& sheet : sheets)
    rate = std::min(rate, static_cast<long double>(sheet.cost) /
                              (static_cast<long double>(sheet.width + kerf) *
                               static_cast<long double>(sheet.height + kerf)));
  for (std::size_t i = 0; i < flats.counts.size(); ++i)
    area += static_cast<long double>(flats.counts[i]) *
            static_cast<long double>(flats.shapes[i][0].width + kerf) *
            static_cast<long double>(flats.shapes[i][0].height + kerf);
  return static_cast<std::int64_t>(std::ceil(area * rate * (1 - 1e-12L)));
}

/// Most value: parts by value for their area until the sheets' area is full.
std::int64_t value_bound(const Flats& flats) {
  const auto& order = flats.order;
  long double area = 0, sum = 0;
  for (const auto& sheet : order.sheets)
    area += static_cast<long double>(sheet.count.value_or(1)) *
            static_cast<long double>(sheet.width + order.kerf) *
            static_cast<long double>(sheet.height + order.kerf);
  std::vector<std::size_t> by_rate(order.parts.size());
  std::iota(by_rate.begin(), by_rate.end(), 0);
  const auto full = [&](const LayoutPart& part) {
    return static_cast<long double>(part.width + order.kerf) *
           static_cast<long double>(part.height + order.kerf);
  };
  std::stable_sort(by_rate.begin(), by_rate.end(), [&](std::size_t a, std::size_t b) {
    return static_cast<long double>(order.parts[a].value) / full(order.parts[a]) >
           static_cast<long double>(order.parts[b].value) / full(order.parts[b]);
  });
  for (const std::size_t i : by_rate) {
    const LayoutPart& part = order.parts[i];
    const long double take = std::min(static_cast<long double>(part.count), area / full(part));
    sum += take * static_cast<long double>(part.value);
    area -= take * full(part);
    if (area <= 0) break;
  }
  return static_cast<std::int64_t>(std::floor(sum * (1 + 1e-12L)));
}

// ---- what may be wrong ----------------------------------------------------------------------

void check_numbers(const LayoutOrder& order, Diagnostics& found) {
  if (order.sheets.empty() == !order.roll.has_value())
    found.add("sheets", "give either sheets or a roll", {}, "one of the two");
  if (order.kerf < 0 || order.kerf > greatest_layout_side)
    found.add("kerf", "must be at least 0", double(order.kerf), {});
  if (order.repeat < 0 || order.repeat > greatest_layout_side)
    found.add("repeat", "must be at least 0", double(order.repeat), {});
  if (order.parts.size() > most_layout_sizes)
    found.add("parts", "must have at most 1000 entries", double(order.parts.size()),
              "gather equal parts");
  if (order.sheets.size() > 100)
    found.add("sheets", "must have at most 100 entries", double(order.sheets.size()), {});
  const auto side = [&](const std::string& where, std::int64_t value) {
    if (value <= 0 || value > greatest_layout_side)
      found.add(where, "must be above 0", double(value), {});
  };
  if (order.roll) side("roll.width", order.roll->width);
  for (std::size_t i = 0; i < order.sheets.size() && i < 100; ++i) {
    side("sheets[" + std::to_string(i) + "].width", order.sheets[i].width);
    side("sheets[" + std::to_string(i) + "].height", order.sheets[i].height);
    if (order.sheets[i].cost < 0 || order.sheets[i].cost > greatest_layout_side)
      found.add("sheets[" + std::to_string(i) + "].cost", "must be at least 0",
                double(order.sheets[i].cost), {});
    if (order.sheets[i].count &&
        (*order.sheets[i].count < 0 || *order.sheets[i].count > most_layout_parts))
      found.add("sheets[" + std::to_string(i) + "].count", "must be from 0 to 100000",
                double(*order.sheets[i].count), {});
  }
  std::int64_t all = 0;
  for (std::size_t i = 0; i < order.parts.size() && i < most_layout_sizes; ++i) {
    const std::string where = "parts[" + std::to_string(i) + "]";
    side(where + ".width", order.parts[i].width);
    side(where + ".height", order.parts[i].height);
    if (order.parts[i].count < 0 || order.parts[i].count > most_layout_parts)
      found.add(where + ".count", "must be from 0 to 100000", double(order.parts[i].count), {});
    if (order.parts[i].value < 0 || order.parts[i].value > greatest_layout_side)
      found.add(where + ".value", "must be at least 0", double(order.parts[i].value), {});
    all += std::clamp<std::int64_t>(order.parts[i].count, 0, most_layout_parts);
  }
  if (all > most_layout_parts)
    found.add("parts", "must be at most 100000 in all", double(all), "lay them out in batches");
  if (order.aim == LayoutAim::value && order.roll)
    found.add("aim", "most value needs sheets", std::string("a roll"), "give sheets");
}

void check_fit(const Flats& flats, Diagnostics& found) {
  if (flats.order.aim == LayoutAim::value) return;
  for (std::size_t i = 0; i < flats.shapes.size(); ++i) {
    if (flats.counts[i] == 0) continue;
    const bool fits =
        std::any_of(flats.shapes[i].begin(), flats.shapes[i].end(), [&](const Shape& shape) {
          if (flats.order.roll) return shape.width <= flats.order.roll->width;
          return std::any_of(flats.order.sheets.begin(), flats.order.sheets.end(),
                             [&](const LayoutSheet& sheet) {
                               return shape.width <= sheet.width && shape.height <= sheet.height;
                             });
        });
    if (!fits)
      found.add("parts." + flats.order.parts[i].name,
                flats.order.roll ? "is wider than the roll" : "is larger than every sheet",
                double(flats.order.parts[i].width), "make it smaller or take a larger one");
  }
}

bool complete(const Flats& flats, const LayoutPlan& plan) {
  std::int64_t wanted = 0;
  for (const std::int64_t count : flats.counts) wanted += count;
  return static_cast<std::int64_t>(plan.placed.size()) == wanted;
}

LayoutPlan lay(const Flats& flats, const Trial& trial) {
  if (!flats.order.roll) return lay_on_sheets(flats, trial);
  return flats.order.repeat > 0 ? lay_with_repeat(flats, trial) : lay_on_roll(flats, trial);
}

}  // namespace

Result<LayoutPlan> solve_layout(const LayoutOrder& order, const LayoutOptions& options) {
  Diagnostics found;
  check_numbers(order, found);
  if (!found.empty()) return found;
  const Flats flats(order);
  check_fit(flats, found);
  if (!found.empty()) return found;
  const bool most = order.aim == LayoutAim::value;
  const std::int64_t bound = order.roll ? roll_bound(flats)
                             : most     ? value_bound(flats)
                                        : sheets_bound(flats);
  const auto begun = std::chrono::steady_clock::now();
  std::optional<LayoutPlan> best;
  Trial best_trial;
  const std::vector<Trial> fixed_orders = fixed_trials(flats);
  Random random(20261);
  // Large orders get fewer trials: the work of one grows with its parts and sizes.
  std::int64_t all = 1;
  for (const std::int64_t count : flats.counts) all += count;
  const std::int64_t trials = std::clamp<std::int64_t>(
      40'000'000 / (all * static_cast<std::int64_t>(order.parts.size() + 1)), 1, options.trials);
  for (std::int64_t t = 0; t < trials; ++t) {
    const Trial trial = static_cast<std::size_t>(t) < fixed_orders.size()
                            ? fixed_orders[static_cast<std::size_t>(t)]
                            : shuffled(best_trial, random);
    LayoutPlan plan = lay(flats, trial);
    if (!most && !complete(flats, plan)) continue;
    if (!best || (most ? plan.used > best->used : plan.used < best->used)) {
      best = std::move(plan);
      best_trial = trial;
    }
    if (best->used == bound || options.watch.cancelled()) break;
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begun;
    if (options.seconds > 0 && spent.count() > options.seconds) break;
    if (best_trial.order.empty()) best_trial = trial;
  }
  if (!best)
    return Complaint{
        "sheets", "do not suffice for all parts", {}, "add sheets or raise their count", 0};
  best->bound = bound;
  best->proven = best->used == bound;
  best->method = best->proven
                     ? "a layout meets the bound"
                     : "the best of " + std::to_string(trials) + " layouts; the gap stands";
  return *best;
}

}  // namespace roomwright::shop
