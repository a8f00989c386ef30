// What layouts promise, each through the independent checker: never worse than simple shelves,
// equal to brute force on small orders, wrong orders told.
#include "shop/layout/layout.h"

#include <gtest/gtest.h>
#include <sys/resource.h>

#include <algorithm>
#include <map>

namespace roomwright::shop {
namespace {

bool long_run() {
  return std::getenv("ROOMWRIGHT_LONG") != nullptr;
}

LayoutPlan laid(const LayoutOrder& order, std::int64_t max_nodes = 0) {
  LayoutOptions options;
  options.max_nodes = max_nodes;
  const auto plan = solve_layout(order, options);
  EXPECT_TRUE(plan.ok()) << (plan.ok() ? "" : plan.mistakes().text());
  if (!plan.ok()) return {};
  const auto checked = check_layout(order, *plan);
  EXPECT_TRUE(checked.ok()) << (checked.ok() ? "" : checked.mistakes().text());
  return *plan;
}

/// Shelves as anyone draws them: parts in an order, each on the newest shelf or on any with room.
std::int64_t shelf_length(const LayoutOrder& order, bool any_shelf, bool tallest_first) {
  struct Shelf {
    std::int64_t used = 0, height = 0;
  };
  const std::int64_t kerf = order.kerf, repeat = std::max<std::int64_t>(1, order.repeat);
  const std::int64_t edge = order.roll->selvedge;
  const std::int64_t width = edge > 0 ? order.roll->width - 2 * edge - kerf : order.roll->width;
  std::vector<LayoutPart> parts;
  for (const LayoutPart& part : order.parts)
    for (std::int64_t n = 0; n < part.count; ++n) {
      parts.push_back(part);
      if (part.width > width) std::swap(parts.back().width, parts.back().height);
    }
  if (tallest_first)
    std::stable_sort(parts.begin(), parts.end(),
                     [](const auto& a, const auto& b) { return a.height > b.height; });
  std::vector<Shelf> shelves;
  for (const LayoutPart& part : parts) {
    const auto room = [&](const Shelf& s) {
      return s.used + part.width <= width && part.height <= s.height;
    };
    auto at = any_shelf
                  ? std::find_if(shelves.begin(), shelves.end(), room)
                  : (!shelves.empty() && room(shelves.back()) ? shelves.end() - 1 : shelves.end());
    if (at == shelves.end()) at = shelves.insert(shelves.end(), Shelf{0, part.height});
    at->used += part.width + kerf;
  }
  std::int64_t y = 0, end = 0;
  for (const Shelf& shelf : shelves) {
    std::int64_t from = (y + repeat - 1) / repeat * repeat;
    if (from > y && from - y <= kerf) from += repeat;
    end = from + shelf.height;
    y = end + kerf;
  }
  return end;
}

void add_random_parts(LayoutOrder& order, Random& random, std::int64_t most_width) {
  for (std::uint32_t p = 0, n = 1 + random.below(7); p < n; ++p) {
    LayoutPart part{"p" + std::to_string(p), random.between(10, most_width), random.between(10, 80),
                    random.between(0, 6),    random.below(2) == 1,           random.between(0, 50)};
    if (order.repeat > 0 && random.below(2) == 0)
      part.match = random.below(3) == 0 ? "" : random.below(2) == 0 ? "left" : "right";
    order.parts.push_back(part);
  }
}

LayoutOrder random_order(Random& random) {
  LayoutOrder order;
  order.kerf = random.below(2) == 0 ? 0 : random.between(1, 4);
  order.pile_one_way = random.below(2) == 1;
  const auto kind = random.below(5);
  if (kind < 3) {
    order.roll =
        LayoutRoll{random.between(95, 160), random.below(2) == 0 ? 0 : random.between(1, 5)};
    if (kind == 2) order.repeat = random.between(5, 70);
  } else {
    order.sheets = {{"a", random.between(80, 120), random.between(80, 200), random.between(5, 9)},
                    {"b", 80, 80, random.between(0, 3), random.between(0, 3)}};
    order.sheets[0].per_pack = random.between(1, 3);
    if (random.below(2)) order.sheets.pop_back();
    if (kind == 4) {
      order.aim = LayoutAim::value;
      order.sheets[0].count = random.between(1, 3);
    }
  }
  add_random_parts(order, random, 80);
  return order;
}

TEST(Layout, random_jobs_pass_the_checker_and_are_never_worse_than_shelves) {
  Random random(5);
  const int rounds = long_run() ? 10'000 : 250;
  for (int round = 0; round < rounds; ++round) {
    SCOPED_TRACE("round " + std::to_string(round));
    const LayoutOrder order = random_order(random);
    const LayoutPlan plan = laid(order, 300'000);
    if (!order.roll) continue;
    const std::int64_t simple =
        std::min({shelf_length(order, true, true), shelf_length(order, false, true),
                  shelf_length(order, false, false)});
    EXPECT_LE(plan.used, simple) << "round " << round;
  }
}

// ---- brute force ----------------------------------------------------------------------------

/// Least height of a subset in a width, by every way to cut it in two.
class EveryCut {
 public:
  EveryCut(std::vector<std::array<std::int64_t, 2>> parts, std::int64_t kerf, bool turn)
      : parts_(std::move(parts)), kerf_(kerf), turn_(turn) {}

  std::int64_t height(unsigned subset, std::int64_t width) {
    if (subset == 0) return -kerf_;
    if (width <= 0) return far;
    const auto [at, fresh] = known_.try_emplace({subset, width}, far);
    if (!fresh) return at->second;
    std::int64_t best = far;
    if ((subset & (subset - 1)) == 0) {
      const auto& part = parts_[static_cast<std::size_t>(__builtin_ctz(subset))];
      if (part[0] <= width) best = part[1];
      if (turn_ && part[1] <= width) best = std::min(best, part[0]);
    }
    for (unsigned a = (subset - 1) & subset; a > 0; a = (a - 1) & subset) {
      const unsigned b = subset ^ a;
      best = std::min(best, height(a, width) + kerf_ + height(b, width));
      for (std::int64_t cut = 1; cut + kerf_ < width; ++cut)
        best = std::min(best, std::max(height(a, cut), height(b, width - cut - kerf_)));
    }
    return known_[{subset, width}] = std::min(best, far);
  }

  static constexpr std::int64_t far = 1'000'000;

 private:
  std::vector<std::array<std::int64_t, 2>> parts_;
  std::int64_t kerf_;
  bool turn_;
  std::map<std::pair<unsigned, std::int64_t>, std::int64_t> known_;
};

/// Fewest sheets for a subset.
int fewest(EveryCut& cuts, unsigned subset, std::int64_t width, std::int64_t height) {
  if (subset == 0) return 0;
  int best = 99;
  const unsigned lowest = subset & (~subset + 1);
  for (unsigned a = subset; a > 0; a = (a - 1) & subset)
    if ((a & lowest) && cuts.height(a, width) <= height)
      best = std::min(best, 1 + fewest(cuts, subset ^ a, width, height));
  return best;
}

/// Every multiset of `many` sizes out of a list.
template <class Use>
void every_choice(const std::vector<std::array<std::int64_t, 2>>& sizes, std::size_t from,
                  std::size_t many, std::vector<std::array<std::int64_t, 2>>& chosen, Use use) {
  if (many == 0) return use(chosen);
  for (std::size_t i = from; i < sizes.size(); ++i) {
    chosen.push_back(sizes[i]);
    every_choice(sizes, i, many - 1, chosen, use);
    chosen.pop_back();
  }
}

void small_case(const std::vector<std::array<std::int64_t, 2>>& parts, std::int64_t width,
                std::int64_t kerf, bool turn) {
  EveryCut cuts(parts, kerf, turn);
  LayoutOrder order;
  order.kerf = kerf;
  std::int64_t value = 1;
  for (const auto& part : parts)
    order.parts.push_back({"p", part[0], part[1], 1, turn, part[0] * part[1] + value++ % 2});
  const unsigned all = (1u << parts.size()) - 1;
  order.roll = LayoutRoll{width};
  const LayoutPlan on_roll = laid(order, 300'000);
  EXPECT_EQ(on_roll.used, cuts.height(all, width));
  order.roll.reset();
  order.sheets = {{"s", width, 4, 1}};
  const LayoutPlan on_sheets = laid(order, 300'000);
  EXPECT_EQ(on_sheets.used, fewest(cuts, all, width, 4));
  order.aim = LayoutAim::value;
  std::int64_t most = 0;
  for (unsigned a = 1; a <= all; ++a) {
    std::int64_t sum = 0;
    for (std::size_t i = 0; i < parts.size(); ++i)
      if (a >> i & 1) sum += order.parts[i].value;
    if (cuts.height(a, width) <= 4) most = std::max(most, sum);
  }
  const LayoutPlan most_value = laid(order, 300'000);
  EXPECT_EQ(most_value.used, most);
}

TEST(Layout, every_small_order_equals_brute_force) {
  const std::size_t most = long_run() ? 5 : 4;
  std::vector<std::array<std::int64_t, 2>> sizes, chosen;
  for (std::int64_t w = 1; w <= 3; ++w)
    for (std::int64_t h = 1; h <= 3; ++h) sizes.push_back({w, h});
  int turn = 0;
  for (std::size_t many = 1; many <= most; ++many)
    every_choice(sizes, 0, many, chosen, [&](const auto& parts) {
      small_case(parts, 4 + turn % 2, turn % 3 == 0 ? 1 : 0, turn % 5 == 0);
      ++turn;
    });
}

// ---- single promises ------------------------------------------------------------------------

TEST(Layout, a_roll_of_equal_pieces_is_proven) {
  LayoutOrder order;
  order.roll = LayoutRoll{1400};
  order.parts = {{"square", 700, 900, 6}};
  const LayoutPlan plan = laid(order);
  EXPECT_EQ(plan.used, 2700);
  EXPECT_TRUE(plan.proven);
}

TEST(Layout, cloth_for_panels_takes_the_length_of_the_worked_cases) {
  // Source: cut = face + 2 (depth + wrap), one across: worked cases, computed
  LayoutOrder order;
  order.roll = LayoutRoll{1400};
  order.pile_one_way = true;
  order.parts = {{"600x1200x100", 900, 1500, 6}};
  EXPECT_EQ(laid(order).used, 9000);
  order.roll = LayoutRoll{1700};
  order.parts = {{"1200x600 turned", 800, 1400, 4}};
  EXPECT_EQ(laid(order).used, 2800);
  order.parts = {{"too big", 2100, 1800, 1}};
  EXPECT_NE(solve_layout(order).mistakes().text().find("is wider than the roll"),
            std::string::npos);
}

TEST(Layout, kerf_lies_between_parts_and_not_at_the_edges) {
  LayoutOrder order;
  order.kerf = 3;
  order.sheets = {{"sheet", 203, 203, 1}};
  order.parts = {{"quarter", 100, 100, 4}};
  EXPECT_EQ(laid(order).used, 1);
  order.sheets[0].width = 202;
  EXPECT_EQ(laid(order).used, 2);
}

TEST(Layout, nothing_lies_on_the_selvedge) {
  LayoutOrder order;
  order.roll = LayoutRoll{1500, 50};
  order.parts = {{"half", 700, 400, 4}};
  const LayoutPlan plan = laid(order);
  EXPECT_EQ(plan.used, 800);
  EXPECT_EQ(std::min_element(plan.placed.begin(), plan.placed.end(),
                             [](auto& a, auto& b) { return a.x < b.x; })
                ->x,
            50);
  order.roll->selvedge = 51;
  EXPECT_EQ(laid(order).used, 1600);
  order.roll->selvedge = 750;
  EXPECT_NE(solve_layout(order).mistakes().text().find("leaves nothing"), std::string::npos);
}

TEST(Layout, pattern_repeat_puts_every_piece_at_a_multiple) {
  LayoutOrder order;
  order.roll = LayoutRoll{100};
  order.repeat = 64;
  order.parts = {{"a", 45, 70, 5}, {"b", 30, 50, 3}};
  const LayoutPlan plan = laid(order);
  for (const Placed& placed : plan.placed) EXPECT_EQ(placed.y % 64, 0);
}

TEST(Layout, matched_pieces_share_a_phase_and_others_go_where_they_like) {
  LayoutOrder order;
  order.roll = LayoutRoll{100};
  order.repeat = 64;
  order.parts = {{"a", 90, 70, 1}, {"b", 90, 50, 2}};
  EXPECT_EQ(laid(order).used, 198);  // b 0 to 50, b 64 to 114, a 128 to 198
  order.parts[0].match = "";
  order.parts[1].match = "pair";
  // b 0 to 50, b 64 to 114, a 114 to 184: only the pair is tied.
  EXPECT_EQ(laid(order).used, 184);
}

TEST(Layout, what_lies_in_the_rack_is_used_first) {
  LayoutOrder order;
  order.sheets = {{"board", 1200, 600, 10}, {"offcut", 600, 600, 0, 2}};
  order.parts = {{"square", 600, 600, 3}};
  const LayoutPlan plan = laid(order);
  EXPECT_EQ(plan.used, 10);
  EXPECT_TRUE(plan.proven);
}

TEST(Layout, boards_come_in_packs_and_the_rest_of_the_last_is_told) {
  LayoutOrder order;
  order.sheets = {{"board", 1200, 600, 40, {}, 6}};
  order.parts = {{"panel", 1190, 590, 8}};
  const LayoutPlan plan = laid(order);
  EXPECT_EQ(plan.used, 80);
  EXPECT_EQ(plan.packs, std::vector<std::int64_t>{2});
  EXPECT_EQ(plan.left_over, std::vector<std::int64_t>{4});
  EXPECT_TRUE(plan.proven);
}

TEST(Layout, most_value_never_passes_its_bound) {
  LayoutOrder order;
  order.aim = LayoutAim::value;
  order.sheets = {{"sheet", 100, 100, 0, 1}};
  order.parts = {
      {"a", 50, 50, 4, false, 10}, {"b", 100, 20, 5, false, 12}, {"c", 30, 30, 9, false, 3}};
  const LayoutPlan plan = laid(order);
  EXPECT_EQ(plan.used, 60);
  EXPECT_TRUE(plan.proven);
}

TEST(Layout, what_is_wrong_is_told) {
  EXPECT_FALSE(solve_layout({}).ok());
  LayoutOrder order;
  order.roll = LayoutRoll{-5};
  order.parts = {{"p", 0, 10, 1}};
  order.kerf = -1;
  EXPECT_EQ(solve_layout(order).mistakes().size(), 3u);
  order = {};
  order.sheets = {{"s", 10, 10, 1, 1}};
  order.parts = {{"p", 8, 8, 2}};
  EXPECT_NE(solve_layout(order).mistakes().text().find("do not suffice"), std::string::npos);
  order.parts[0].match = "m";
  EXPECT_NE(solve_layout(order).mistakes().text().find("needs a repeat"), std::string::npos);
  order.parts = {{"large", 11, 8, 1}};
  EXPECT_NE(solve_layout(order).mistakes().text().find("is larger than every sheet"),
            std::string::npos);
}

TEST(Layout, nothing_asked_is_nothing_used) {
  LayoutOrder order;
  order.roll = LayoutRoll{100};
  order.parts = {{"p", 10, 10, 0}};
  EXPECT_EQ(laid(order).used, 0);
  order.roll.reset();
  order.sheets = {{"s", 10, 10, 1}};
  EXPECT_EQ(laid(order).used, 0);
  order.aim = LayoutAim::value;
  EXPECT_EQ(laid(order).used, 0);
}

TEST(Layout, the_same_order_gives_the_same_plan) {
  Random random(9);
  LayoutOrder order;
  order.sheets = {{"s", 300, 200, 1}};
  for (int p = 0; p < 12; ++p)
    order.parts.push_back({"p", random.between(40, 190), random.between(30, 150), 3, p % 2 == 0});
  const LayoutPlan a = laid(order, 3'000'000), b = laid(order, 3'000'000);
  EXPECT_EQ(a.used, b.used);
  ASSERT_EQ(a.placed.size(), b.placed.size());
  for (std::size_t i = 0; i < a.placed.size(); ++i) {
    EXPECT_EQ(a.placed[i].part, b.placed[i].part);
    EXPECT_EQ(a.placed[i].x, b.placed[i].x);
    EXPECT_EQ(a.placed[i].y, b.placed[i].y);
  }
}

TEST(Layout, a_cancel_ends_the_search_and_is_told) {
  const std::atomic<bool> cancel = true;
  Random random(3);
  LayoutOrder order;
  order.roll = LayoutRoll{1000};
  for (int p = 0; p < 60; ++p)
    order.parts.push_back({"p", random.between(100, 700), random.between(90, 800), 2});
  LayoutOptions options;
  options.watch.cancel = &cancel;
  const LayoutPlan plan = solve_layout(order, options).value();
  EXPECT_TRUE(plan.hurried);
  EXPECT_TRUE(check_layout(order, plan).ok());
}

TEST(Layout, a_hundred_thousand_parts_are_answered) {
  LayoutOrder order;
  order.sheets = {{"s", 2440, 1220, 1}};
  order.parts = {{"a", 600, 400, 60000}, {"b", 300, 200, 40000, true}};
  const LayoutPlan sheets = laid(order);
  EXPECT_LE(double(sheets.used - sheets.bound) / double(sheets.bound), 0.1);
  order.sheets.clear();
  order.roll = LayoutRoll{1400};
  const LayoutPlan roll = laid(order);
  EXPECT_LE(double(roll.used - roll.bound) / double(roll.bound), 0.1);
#ifndef __SANITIZE_ADDRESS__  // which takes memory of its own
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  EXPECT_LT(usage.ru_maxrss, 500'000) << "kilobytes";
#endif
}

TEST(Layout, a_thousand_sizes_are_answered) {
  Random random(4);
  LayoutOrder order;
  order.sheets = {{"s", 2440, 1220, 1}};
  for (int p = 0; p < 1000; ++p)
    order.parts.push_back({"p", random.between(50, 900), random.between(50, 900), 3, p % 2 == 0});
  const LayoutPlan plan = laid(order, 5'000'000);
  EXPECT_LE(double(plan.used), 1.25 * double(plan.bound));
}

TEST(Layout, asked_for_a_price_it_costs_what_the_least_layout_costs) {
  Random random(17);
  int proven = 0, cut_short = 0;
  for (int round = 0; round < 60; ++round) {
    LayoutOrder order;
    order.roll = LayoutRoll{200};
    for (int i = 0; i < 4; ++i)
      order.parts.push_back({"p", random.between(30, 120), random.between(30, 160),
                             random.between(1, 4), random.below(2) == 0});
    const LayoutPlan least = solve_layout(order).value();
    LayoutOptions options;
    options.paid = [](std::int64_t length) { return (length + 17 + 99) / 100; };
    const LayoutPlan paid = solve_layout(order, options).value();
    EXPECT_TRUE(check_layout(order, paid).ok());
    EXPECT_LE(paid.bound, least.used) << "a bound holds all the same";
    if (!least.proven) continue;
    ++proven;
    cut_short += paid.nodes < least.nodes;
    EXPECT_EQ(options.paid(paid.used), options.paid(least.used)) << round;
  }
  EXPECT_GE(proven, 30);
  EXPECT_GE(cut_short, 5);
}

TEST(Layout, asked_for_a_price_of_sheets_it_takes_as_few_packs) {
  Random random(18);
  int proven = 0;
  for (int round = 0; round < 40; ++round) {
    LayoutOrder order;
    order.sheets = {{"s", 240, 120, 1}};
    for (int i = 0; i < 4; ++i)
      order.parts.push_back({"p", random.between(30, 120), random.between(30, 110),
                             random.between(1, 5), random.below(2) == 0});
    const LayoutPlan least = solve_layout(order).value();
    LayoutOptions options;
    options.paid = [](std::int64_t sheets) { return (sheets + 2) / 3; };
    const LayoutPlan paid = solve_layout(order, options).value();
    EXPECT_TRUE(check_layout(order, paid).ok());
    EXPECT_LE(paid.bound, least.used);
    if (!least.proven) continue;
    ++proven;
    EXPECT_EQ(options.paid(paid.used), options.paid(least.used)) << round;
  }
  EXPECT_GE(proven, 20);
}

}  // namespace
}  // namespace roomwright::shop
