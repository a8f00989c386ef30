// What may be wrong with an order, and its form for the search. See problem.h.
#include "shop/layout/problem.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace roomwright::shop {

namespace {

class OrderCheck {
 public:
  OrderCheck(const LayoutOrder& order, Diagnostics& found) : order_(order), found_(found) {}

  void check() {
    if (order_.sheets.empty() == !order_.roll.has_value())
      found_.add("sheets", "give either sheets or a roll", {}, "one of the two");
    at_least_zero("kerf", order_.kerf);
    at_least_zero("repeat", order_.repeat);
    if (order_.repeat > 0 && !order_.roll)
      found_.add("repeat", "needs a roll", double(order_.repeat), "leave it out for sheets");
    if (order_.aim == LayoutAim::value && order_.roll)
      found_.add("aim", "most value needs sheets", std::string("a roll"), "give sheets");
    if (order_.parts.size() > most_layout_sizes)
      found_.add("parts", "must have at most 1000 entries", double(order_.parts.size()),
                 "gather equal parts");
    if (order_.sheets.size() > 100)
      found_.add("sheets", "must have at most 100 entries", double(order_.sheets.size()),
                 "gather equal sheets");
    if (order_.roll) check_roll();
    for (std::size_t i = 0; i < order_.sheets.size() && i < 100; ++i) check_sheet(i);
    check_parts();
  }

 private:
  void side(const std::string& where, std::int64_t value) {
    if (value <= 0 || value > greatest_layout_side)
      found_.add(where, "must be above 0 and at most 1e12", double(value), "give its length");
  }
  void at_least_zero(const std::string& where, std::int64_t value) {
    if (value < 0 || value > greatest_layout_side)
      found_.add(where, "must be from 0 to 1e12", double(value), "0 where there is none");
  }
  void count(const std::string& where, std::int64_t value, std::int64_t least) {
    if (value < least || value > most_layout_parts)
      found_.add(where, "must be from " + std::to_string(least) + " to 100000", double(value),
                 "lay them out in batches");
  }
  void check_roll() {
    side("roll.width", order_.roll->width);
    at_least_zero("roll.selvedge", order_.roll->selvedge);
    if (order_.roll->width > 0 && order_.roll->selvedge > 0 &&
        2 * order_.roll->selvedge + order_.kerf >= order_.roll->width)
      found_.add("roll.selvedge", "leaves nothing of the roll's width",
                 double(order_.roll->selvedge), "give what is lost at one edge");
  }
  void check_sheet(std::size_t i) {
    const std::string where = "sheets[" + std::to_string(i) + "]";
    side(where + ".width", order_.sheets[i].width);
    side(where + ".height", order_.sheets[i].height);
    at_least_zero(where + ".cost", order_.sheets[i].cost);
    if (order_.sheets[i].count) count(where + ".count", *order_.sheets[i].count, 0);
    count(where + ".per_pack", order_.sheets[i].per_pack, 1);
  }
  void check_parts() {
    std::int64_t all = 0;
    for (std::size_t i = 0; i < order_.parts.size() && i < most_layout_sizes; ++i) {
      const LayoutPart& part = order_.parts[i];
      const std::string where = "parts[" + std::to_string(i) + "]";
      side(where + ".width", part.width);
      side(where + ".height", part.height);
      count(where + ".count", part.count, 0);
      at_least_zero(where + ".value", part.value);
      if (part.match && order_.repeat == 0)
        found_.add(where + ".match", "needs a repeat", *part.match, "give the pattern's repeat");
      all += std::clamp<std::int64_t>(part.count, 0, most_layout_parts);
    }
    if (all > most_layout_parts && order_.aim == LayoutAim::least)
      found_.add("parts", "must be at most 100000 in all", double(all), "lay them out in batches");
  }

  const LayoutOrder& order_;
  Diagnostics& found_;
};

bool may_turn(const LayoutOrder& order, const LayoutPart& part) {
  return part.rotate && !order.pile_one_way && part.width != part.height &&
         (order.repeat == 0 || (part.match && part.match->empty()));
}

std::int64_t usable_width(const LayoutRoll& roll, std::int64_t kerf) {
  return roll.selvedge > 0 ? roll.width - 2 * roll.selvedge - kerf : roll.width;
}

bool fits_something(const LayoutOrder& order, const LayoutPart& part) {
  const auto lies = [&](std::int64_t width, std::int64_t height) {
    if (order.roll) return width <= usable_width(*order.roll, order.kerf);
    return std::any_of(order.sheets.begin(), order.sheets.end(), [&](const LayoutSheet& sheet) {
      return width <= sheet.width && height <= sheet.height && sheet.count.value_or(1) > 0;
    });
  };
  return lies(part.width, part.height) || (may_turn(order, part) && lies(part.height, part.width));
}

/// For most value: no more than the sheets can hold, counted sheet by sheet.
std::int64_t at_most(const LayoutProblem& problem, const Item& item) {
  long double held = 0;
  for (const Material& material : problem.materials) {
    const auto lie = [&](std::int64_t width, std::int64_t height) {
      return static_cast<long double>(material.width / width) *
             static_cast<long double>(material.height / height);
    };
    // Lying both ways at once may hold more than either: by area then.
    const long double one =
        item.turns
            ? static_cast<long double>(material.width) * static_cast<long double>(material.height) /
                  (static_cast<long double>(item.width) * static_cast<long double>(item.height))
            : lie(item.width, item.height);
    held += std::floor(one) * static_cast<long double>(std::max<std::int64_t>(0, material.count));
  }
  return static_cast<std::int64_t>(std::min(held, static_cast<long double>(item.count)));
}

}  // namespace

std::int64_t LayoutProblem::pieces() const {
  std::int64_t all = 0;
  for (const Item& item : items) all += item.count;
  return all;
}

double LayoutProblem::area() const {
  double all = 0;
  for (const Item& item : items)
    all += double(item.width) * double(item.height) * double(item.count);
  return all;
}

void check_order(const LayoutOrder& order, Diagnostics& found) {
  OrderCheck(order, found).check();
  if (!found.empty() || order.aim == LayoutAim::value) return;
  for (const LayoutPart& part : order.parts)
    if (part.count > 0 && !fits_something(order, part))
      found.add("parts." + part.name,
                order.roll ? "is wider than the roll" : "is larger than every sheet",
                double(part.width), "make it smaller or take a larger one");
}

bool free_phases(const LayoutOrder& order) {
  return order.repeat > 0 &&
         std::any_of(order.parts.begin(), order.parts.end(), [](const LayoutPart& part) {
           return part.count > 0 && part.match.has_value();
         });
}

LayoutProblem problem_of(const LayoutOrder& order) {
  LayoutProblem problem;
  problem.kerf = order.kerf;
  problem.roll = order.roll.has_value();
  problem.most = order.aim == LayoutAim::value;
  problem.repeat = order.repeat;
  if (order.roll) {
    problem.materials.push_back({usable_width(*order.roll, order.kerf) + order.kerf, 0, 0, 1});
    if (order.roll->selvedge > 0) problem.origin_x = order.roll->selvedge + order.kerf;
  }
  for (std::size_t i = 0; i < order.sheets.size(); ++i) {
    const LayoutSheet& sheet = order.sheets[i];
    // Most value on sheets without a count: one of them.
    const std::int64_t count = sheet.count.value_or(problem.most ? 1 : -1);
    if (count != 0)
      problem.materials.push_back({sheet.width + order.kerf, sheet.height + order.kerf, sheet.cost,
                                   count, sheet.per_pack, static_cast<int>(i)});
  }
  std::map<std::tuple<std::int64_t, std::int64_t, bool, std::int64_t>, std::size_t> known;
  for (std::size_t i = 0; i < order.parts.size(); ++i) {
    const LayoutPart& part = order.parts[i];
    if (part.count == 0 || !fits_something(order, part)) continue;
    const bool turns = may_turn(order, part);
    const std::int64_t value = problem.most ? part.value : 0;
    if (problem.most && value == 0) continue;
    const auto [at, fresh] =
        known.try_emplace({part.width, part.height, turns, value}, problem.items.size());
    if (fresh) {
      Item item;
      item.width = part.width + order.kerf;
      item.height = part.height + order.kerf;
      if (order.repeat > 1) item.slack = (order.repeat - item.height % order.repeat) % order.repeat;
      item.height += item.slack;
      item.value = value;
      item.turns = turns;
      problem.items.push_back(item);
    }
    problem.items[at->second].count += part.count;
    problem.items[at->second].owners.emplace_back(static_cast<int>(i), part.count);
  }
  if (problem.most)
    for (Item& item : problem.items) item.count = at_most(problem, item);
  return problem;
}

std::int64_t cost_of(const LayoutProblem& problem, const std::vector<std::int64_t>& counts) {
  std::int64_t cost = 0;
  for (std::size_t m = 0; m < counts.size(); ++m) {
    const Material& material = problem.materials[m];
    cost += (counts[m] + material.per_pack - 1) / material.per_pack * material.cost;
  }
  return cost;
}

}  // namespace roomwright::shop
