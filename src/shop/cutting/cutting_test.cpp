// Cutting against brute force on all small orders, published cut lists, facts of the trade and
// simple rules on random orders; every plan through the independent checker. The open data sets are
// in cutting_data_test.cpp.
#include "shop/cutting/cutting.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "figures/figures.h"

namespace roomwright::shop {
namespace {

CuttingStock stock_of(std::int64_t length, std::int64_t cost,
                      std::optional<std::int64_t> count = {}) {
  return {"s" + std::to_string(length), length, cost, count, {}};
}

CuttingPlan solved(const CuttingOrder& order, const CuttingOptions& options = {}) {
  const auto plan = solve_cutting(order, options);
  EXPECT_TRUE(plan.ok()) << (plan.ok() ? "" : plan.mistakes().text());
  const auto checked = check_cutting(order, *plan);
  EXPECT_TRUE(checked.ok()) << (checked.ok() ? "" : checked.mistakes().text());
  EXPECT_LE(plan->bound, plan->cost);
  return *plan;
}

/// Every way to put each part on an opened or a new stick, in each of its sound stretches.
class BruteForce {
 public:
  explicit BruteForce(const CuttingOrder& order) : order_(order), used_(order.stock.size(), 0) {
    for (const auto& part : order.parts)
      for (std::int64_t i = 0; i < part.count; ++i) parts_.push_back(part.length + order.kerf);
  }
  std::int64_t cost() {
    put(0);
    return best_;
  }

 private:
  struct Opened {
    std::size_t stock;
    std::vector<std::int64_t> rest;  ///< of each stretch, with one kerf
  };

  std::vector<std::int64_t> stretches(const CuttingStock& stock) const {
    std::vector<std::int64_t> out;
    std::int64_t from = order_.trim;
    const std::int64_t end = stock.length - order_.trim;
    for (const auto& [begin, stop] : stock.defects) {
      const std::int64_t sound = std::min(begin, end) - from;
      out.push_back(sound + order_.kerf);
      from = std::max(from, sound > 0 ? std::max(stop, begin + order_.kerf) : stop);
    }
    out.push_back(end - from + order_.kerf);
    return out;
  }

  std::int64_t cost_now() const {
    std::int64_t out = 0;
    for (const Opened& stick : opened_) {
      const CuttingStock& stock = order_.stock[stick.stock];
      out += stock.cost;
      const std::int64_t left = std::max<std::int64_t>(0, stick.rest[0] - order_.kerf);
      if (order_.keep.worth > 0 && stock.defects.empty() && left >= order_.keep.least)
        out -= left * std::min(order_.keep.worth, stock.cost / (stock.length - 2 * order_.trim));
    }
    return out;
  }

  void put(std::size_t at) {
    if (order_.keep.worth == 0 && cost_now() >= best_) return;
    if (at == parts_.size()) {
      best_ = std::min(best_, cost_now());
      return;
    }
    for (std::size_t o = 0; o < opened_.size(); ++o)
      for (std::size_t s = 0; s < opened_[o].rest.size(); ++s)
        if (opened_[o].rest[s] >= parts_[at]) {
          opened_[o].rest[s] -= parts_[at];
          put(at + 1);
          opened_[o].rest[s] += parts_[at];
        }
    for (std::size_t s = 0; s < order_.stock.size(); ++s) {
      if (order_.stock[s].count && used_[s] >= *order_.stock[s].count) continue;
      const auto fresh = stretches(order_.stock[s]);
      for (std::size_t k = 0; k < fresh.size(); ++k) {
        if (fresh[k] < parts_[at]) continue;
        ++used_[s];
        opened_.push_back({s, fresh});
        opened_.back().rest[k] -= parts_[at];
        put(at + 1);
        opened_.pop_back();
        --used_[s];
      }
    }
  }

  const CuttingOrder& order_;
  std::vector<std::int64_t> parts_, used_;
  std::vector<Opened> opened_;
  std::int64_t best_ = INT64_MAX;
};

std::int64_t brute_force(const CuttingOrder& order) {
  return BruteForce(order).cost();
}

TEST(Cutting, meets_brute_force_on_every_small_order) {
  int orders = 0;
  for (int twos = 0; twos <= 3; ++twos)
    for (int threes = 0; threes <= 3; ++threes)
      for (int fives = 0; fives <= 2; ++fives)
        for (const std::int64_t kerf : {0, 1})
          for (const std::int64_t price : {10, 13, 16}) {
            if (twos + threes + fives == 0 || twos + threes + fives > 6) continue;
            CuttingOrder order;
            order.kerf = kerf;
            order.stock = {stock_of(7, 10), stock_of(11, price)};
            order.parts = {{"two", 2, twos}, {"three", 3, threes}, {"five", 5, fives}};
            const CuttingPlan plan = solved(order);
            EXPECT_EQ(plan.cost, brute_force(order));
            EXPECT_TRUE(plan.proven);
            ++orders;
          }
  EXPECT_GT(orders, 200);
}

TEST(Cutting, meets_brute_force_around_every_defect) {
  int proven = 0, orders = 0;
  for (std::int64_t at = 0; at <= 10; ++at)
    for (const std::int64_t wide : {1, 2, 3})
      for (int fours = 0; fours <= 2; ++fours)
        for (int threes = 1; threes <= 3; ++threes) {
          CuttingOrder order;
          order.kerf = wide == 3 ? 1 : 2;  // also wider than the defect
          order.trim = at % 2;
          order.stock = {{"knotty", 13, 3, 1, {{at, at + wide}}},
                         {"two knots", 14, 4, 1, {{3, 4}, {9, 10}}},
                         stock_of(12, 7)};
          order.parts = {{"four", 4, fours}, {"three", 3, threes}};
          const CuttingPlan plan = solved(order);
          EXPECT_EQ(plan.cost, brute_force(order)) << at << " " << wide;
          proven += plan.proven;
          ++orders;
        }
  EXPECT_EQ(proven, orders);
}

TEST(Cutting, meets_brute_force_where_offcuts_are_worth_something) {
  int proven = 0, orders = 0;
  for (const std::int64_t least : {2, 4, 9})
    for (const std::int64_t worth : {1, 3, 100})
      for (int fours = 0; fours <= 2; ++fours)
        for (int threes = 1; threes <= 3; ++threes) {
          CuttingOrder order;
          order.kerf = 1;
          order.keep = {least, worth};
          order.stock = {stock_of(10, 60), stock_of(15, 80), stock_of(8, 0, 1)};
          order.parts = {{"four", 4, fours}, {"three", 3, threes}};
          const CuttingPlan plan = solved(order);
          EXPECT_EQ(plan.cost, brute_force(order)) << least << " " << worth;
          proven += plan.proven;
          ++orders;
        }
  EXPECT_EQ(proven, orders);
}

TEST(Cutting, uses_what_is_in_hand_first_and_never_more) {
  for (int in_hand = 0; in_hand <= 3; ++in_hand) {
    CuttingOrder order;
    order.kerf = 1;
    order.trim = 1;
    order.stock = {stock_of(12, 0, in_hand), stock_of(12, 5), stock_of(20, 8, 1)};
    order.parts = {{"a", 4, 5}, {"b", 3, 3}};
    const CuttingPlan plan = solved(order);
    EXPECT_EQ(plan.cost, brute_force(order));
    EXPECT_TRUE(plan.proven);
  }
}

TEST(Cutting, sticks_measured_one_by_one_are_each_used_once) {
  CuttingOrder order;
  order.kerf = 3;
  for (const std::int64_t length : {2391, 2396, 2402, 2410, 2410, 2396})
    order.stock.push_back(stock_of(length, 500, 1));
  // In a stick of 2396 three parts and two kerfs fit, in one of 2391 they do not.
  order.parts = {{"third", (2396 - 6) / 3, 15}};
  const CuttingPlan plan = solved(order);
  EXPECT_EQ(plan.cost, 2500);
  EXPECT_TRUE(plan.proven);
  for (const CutStick& stick : plan.sticks) EXPECT_NE(stick.stock, 0);
}

TEST(Cutting, meets_the_exact_cut_lists) {
  // Source: exact search, cut lists with kerf (tests/figures/cut_lists.csv), lengths in 1/10000 mm
  for (const auto& row : figures::rows("cut_lists.csv")) {
    CuttingOrder order;
    const auto units = [](double mm) { return static_cast<std::int64_t>(std::llround(mm * 1e4)); };
    order.kerf = units(std::stod(row.at("kerf_mm")));
    order.stock = {stock_of(units(std::stod(row.at("stock_mm"))), 1)};
    for (const double mm : figures::numbers(row.at("pieces_mm")))
      order.parts.push_back({"p", units(mm), 1});
    const CuttingPlan plan = solved(order);
    EXPECT_EQ(plan.cost, std::stoi(row.at("optimal_boards"))) << row.at("case");
    EXPECT_TRUE(plan.proven) << row.at("case");
  }
}

TEST(Cutting, a_stick_cut_for_two_equal_halves_loses_half_the_kerf_from_each) {
  // common practice, no source: 8 ft cut in the middle of a 1/8 in kerf, in sixteenths of an inch
  CuttingOrder order;
  order.kerf = 2;
  order.stock = {stock_of(96 * 16, 1)};
  order.parts = {{"half", 96 * 8 - 1, 2}};
  EXPECT_EQ(solved(order).cost, 1);
  order.parts[0].length += 1;
  EXPECT_EQ(solved(order).cost, 2);
}

TEST(Cutting, a_plan_for_the_shortest_stick_holds_for_every_longer_one) {
  // common practice, no source: sticks arrive up to 1/4 in off their nominal length
  CuttingOrder order;
  order.kerf = 2;
  order.stock = {stock_of(96 * 16 - 4, 1)};
  order.parts = {{"a", 500, 7}, {"b", 330, 5}};
  CuttingPlan plan = solved(order);
  for (std::int64_t longer = 0; longer <= 8; ++longer) {
    order.stock[0].length = 96 * 16 - 4 + longer;
    EXPECT_TRUE(check_cutting(order, plan).ok());
    for (CutStick& stick : plan.sticks)
      ++stick.offcut;  // what is over is left behind the last part
  }
}

TEST(Cutting, parts_lie_longest_first_and_clear_of_defects) {
  CuttingOrder order;
  order.kerf = 3;
  order.stock = {{"knotty", 1000, 4, 1, {{400, 450}}}, stock_of(1000, 10)};
  order.parts = {{"long", 390, 2}, {"short", 120, 3}};
  const CuttingPlan plan = solved(order);
  for (const CutStick& stick : plan.sticks)
    for (std::size_t i = 1; i < stick.cuts.size() && order.stock[stick.stock].defects.empty(); ++i)
      EXPECT_LE(stick.cuts[i].to - stick.cuts[i].from,
                stick.cuts[i - 1].to - stick.cuts[i - 1].from);
}

TEST(Cutting, of_plans_of_one_cost_the_one_with_fewer_settings_is_taken) {
  // Twelve sticks either way: two patterns of one length each, or one of two lengths and more.
  CuttingOrder order;
  order.stock = {stock_of(1000, 1)};
  order.parts = {{"half", 500, 12}, {"third", 333, 18}};
  const CuttingPlan plan = solved(order);
  EXPECT_EQ(plan.cost, 12);
  EXPECT_EQ(plan.settings, 2);
  EXPECT_EQ(plan.settings_bound, 2);
  EXPECT_EQ(plan.patterns, 2);
}

TEST(Cutting, the_stop_stays_from_one_pattern_to_the_next_where_it_can) {
  CuttingOrder order;
  order.stock = {stock_of(1000, 1)};
  order.parts = {{"long", 600, 2}, {"short", 400, 4}};
  const CuttingPlan plan = solved(order);
  EXPECT_EQ(plan.cost, 3);
  EXPECT_EQ(plan.patterns, 2);
  EXPECT_EQ(plan.settings, 2);  // 600, 400, and on with 400
}

TEST(Cutting, equal_sticks_go_through_the_saw_together) {
  CuttingOrder order;
  order.stock = {stock_of(1000, 1)};
  order.parts = {{"half", 500, 14}};
  for (const auto& [bundle, loads] : {std::pair{1, 7}, {2, 4}, {3, 3}, {4, 2}, {8, 1}}) {
    order.bundle = bundle;
    const CuttingPlan plan = solved(order);
    EXPECT_EQ(plan.loads, loads);
    EXPECT_EQ(plan.sticks[0].repeat, 7);
  }
}

TEST(Cutting, more_work_never_finds_a_worse_setup) {
  Random random(5);
  for (int round = 0; round < 10; ++round) {
    CuttingOrder order;
    order.kerf = 2;
    order.stock = {stock_of(1536, 748), stock_of(1920, 998)};
    for (int i = 0; i < 6; ++i)
      order.parts.push_back({"p", random.between(160, 960), random.between(4, 20)});
    std::pair<std::int64_t, std::int64_t> last{INT64_MAX, 0};
    std::int64_t cost = -1;
    for (const std::int64_t rounds : {0, 400}) {
      CuttingOptions options;
      options.setup_rounds = rounds;
      const CuttingPlan plan = solved(order, options);
      if (cost >= 0) EXPECT_EQ(plan.cost, cost);
      cost = plan.cost;
      EXPECT_LE(std::pair(plan.settings, plan.patterns), last);
      last = {plan.settings, plan.patterns};
    }
  }
}

// ---- random orders --------------------------------------------------------------------------

enum class Rule { first_fit, best_fit, next_fit };

/// A simple plan's cost: parts longest first, each onto an opened stick by the rule, else onto a
/// new one: that in hand which is cheapest for its length. None where the stock runs out.
std::optional<std::int64_t> simple_plan(const CuttingOrder& order, Rule rule) {
  std::vector<std::int64_t> parts, rest, left;
  for (const auto& part : order.parts)
    parts.insert(parts.end(), static_cast<std::size_t>(part.count), part.length + order.kerf);
  std::sort(parts.rbegin(), parts.rend());
  for (const auto& stock : order.stock) left.push_back(stock.count.value_or(1'000'000));
  std::int64_t cost = 0;
  for (const std::int64_t part : parts) {
    std::size_t at = rest.size();
    for (std::size_t s = rule == Rule::next_fit && !rest.empty() ? rest.size() - 1 : 0;
         s < rest.size(); ++s) {
      if (rest[s] < part) continue;
      if (at == rest.size() || (rule == Rule::best_fit && rest[s] < rest[at])) at = s;
    }
    if (at == rest.size()) {
      std::size_t best = order.stock.size();
      for (std::size_t s = 0; s < order.stock.size(); ++s) {
        const auto& stock = order.stock[s];
        if (left[s] == 0 || stock.length - 2 * order.trim + order.kerf < part) continue;
        if (best == order.stock.size() ||
            stock.cost * order.stock[best].length < order.stock[best].cost * stock.length)
          best = s;
      }
      if (best == order.stock.size()) return {};
      --left[best];
      cost += order.stock[best].cost;
      rest.push_back(order.stock[best].length - 2 * order.trim + order.kerf);
    }
    rest[at] -= part;
  }
  return cost;
}

CuttingOrder random_order(Random& random) {
  CuttingOrder order;
  order.kerf = random.between(0, 40);
  order.trim = random.between(0, 100);
  order.bundle = random.between(1, 4);
  for (std::uint32_t s = 0; s < 1 + random.below(3); ++s)
    order.stock.push_back(stock_of(random.between(1800, 6000), random.between(100, 900)));
  order.stock.push_back(stock_of(random.between(1000, 3000), 0, random.between(0, 4)));
  for (std::uint32_t p = 0; p < 2 + random.below(8); ++p)
    order.parts.push_back({"p", random.between(150, 1500), random.between(1, 12)});
  return order;
}

int random_rounds() {
  return std::getenv("ROOMWRIGHT_LONG") ? 10'000 : 150;
}

TEST(Cutting, random_orders_pass_the_checker_and_are_no_worse_than_three_simple_rules) {
  Random random(11);
  for (int round = 0; round < random_rounds(); ++round) {
    const CuttingOrder order = random_order(random);
    CuttingOptions options;
    options.max_nodes = 100;
    const CuttingPlan plan = solved(order, options);
    for (const Rule rule : {Rule::first_fit, Rule::best_fit, Rule::next_fit})
      if (const auto simple = simple_plan(order, rule)) EXPECT_LE(plan.cost, *simple) << round;
  }
}

TEST(Cutting, random_orders_with_defects_and_kept_offcuts_pass_the_checker) {
  Random random(12);
  for (int round = 0; round < random_rounds() / 3; ++round) {
    CuttingOrder order = random_order(random);
    for (CuttingStock& stock : order.stock) {
      if (!stock.count) continue;
      std::int64_t at = 0;
      for (std::uint32_t d = random.below(3); d > 0; --d) {
        const std::int64_t from = at + random.between(0, 600);
        at = from + random.between(1, 60);
        if (at <= stock.length) stock.defects.emplace_back(from, at);
      }
    }
    order.keep = {random.between(200, 900), random.between(0, 1) * random.between(1, 200)};
    for (CuttingStock& stock : order.stock) stock.cost *= 1000;  // so that a unit can be worth less
    CuttingOptions options;
    options.max_nodes = 100;
    solved(order, options);
  }
}

// ---- what is wrong, and what is large -------------------------------------------------------

TEST(Cutting, what_is_wrong_is_told_by_name) {
  CuttingOrder order;
  order.stock = {stock_of(2400, 400, 1)};
  order.parts = {{"mast", 3000, 1}};
  EXPECT_NE(solve_cutting(order).mistakes().text().find("parts.mast: is longer than every stick"),
            std::string::npos);
  order.parts = {{"rail", 1000, 5}};
  EXPECT_NE(solve_cutting(order).mistakes().text().find("parts.rail: has not stock enough"),
            std::string::npos);
  order.parts = {{"rail", -1, -2}};
  order.kerf = -1;
  order.bundle = 0;
  order.stock[0].defects = {{50, 40}};
  EXPECT_EQ(solve_cutting(order).mistakes().size(), 5u);
  EXPECT_FALSE(solve_cutting({}).ok());
}

TEST(Cutting, no_parts_cost_nothing) {
  CuttingOrder order;
  order.stock = {stock_of(2400, 400, 0)};
  order.parts = {{"none", 1000, 0}};
  const CuttingPlan plan = solved(order);
  EXPECT_EQ(plan.cost, 0);
  EXPECT_TRUE(plan.proven);
}

TEST(Cutting, a_hundred_thousand_parts_are_answered) {
  CuttingOrder order;
  order.kerf = 3;
  order.stock = {stock_of(2400, 400), stock_of(3600, 590)};
  order.parts = {{"a", 612, 40000}, {"b", 433, 30000}, {"c", 1187, 30000}};
  const CuttingPlan plan = solved(order);
  EXPECT_LE(double(plan.cost - plan.bound) / double(plan.bound), 0.0001);
}

TEST(Cutting, many_lengths_are_answered_within_the_time_asked_for) {
  Random random(3);
  CuttingOrder order;
  order.kerf = 3;
  order.stock = {stock_of(24000, 400), stock_of(36000, 590)};
  for (int i = 0; i < 500; ++i)
    order.parts.push_back({"p", random.between(1000, 9000), random.between(100, 300)});
  CuttingOptions options;
  options.seconds = 1;
  const CuttingPlan plan = solved(order, options);
  EXPECT_LE(double(plan.cost - plan.bound) / double(plan.bound), 0.05) << plan.method;
}

}  // namespace
}  // namespace roomwright::shop
