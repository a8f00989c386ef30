// Cutting against brute force on all small orders, published cut lists and open data sets; every
// plan through the independent checker.
#include "shop/cutting/cutting.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>

#include "figures/figures.h"

namespace roomwright::shop {
namespace {

CuttingStock stock_of(std::int64_t length, std::int64_t cost,
                      std::optional<std::int64_t> count = {}) {
  return {"s" + std::to_string(length), length, cost, count, {}};
}

CuttingPlan solved(const CuttingOrder& order) {
  const auto plan = solve_cutting(order);
  EXPECT_TRUE(plan.ok());
  const auto checked = check_cutting(order, *plan);
  EXPECT_TRUE(checked.ok()) << (checked.ok() ? "" : checked.mistakes().text());
  return *plan;
}

/// The least cost of any plan, by trying every way to put each part on an opened or a new stick.
std::int64_t brute_force(const CuttingOrder& order) {
  std::vector<std::int64_t> parts;
  for (const auto& part : order.parts)
    for (std::int64_t i = 0; i < part.count; ++i) parts.push_back(part.length + order.kerf);
  std::int64_t best = INT64_MAX;
  std::vector<std::int64_t> rest;
  std::vector<std::int64_t> used(order.stock.size(), 0);
  const std::function<void(std::size_t, std::int64_t)> put = [&](std::size_t at,
                                                                 std::int64_t cost) {
    if (cost >= best) return;
    if (at == parts.size()) {
      best = cost;
      return;
    }
    for (std::size_t r = 0; r < rest.size(); ++r)
      if (rest[r] >= parts[at]) {
        rest[r] -= parts[at];
        put(at + 1, cost);
        rest[r] += parts[at];
      }
    for (std::size_t s = 0; s < order.stock.size(); ++s) {
      const std::int64_t space = order.stock[s].length - 2 * order.trim + order.kerf;
      if (space < parts[at] || (order.stock[s].count && used[s] >= *order.stock[s].count)) continue;
      ++used[s];
      rest.push_back(space - parts[at]);
      put(at + 1, cost + order.stock[s].cost);
      rest.pop_back();
      --used[s];
    }
  };
  put(0, 0);
  return best;
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
  const CuttingPlan plan = solved(order);
  for (std::int64_t longer = 0; longer <= 8; ++longer) {
    order.stock[0].length = 96 * 16 - 4 + longer;
    EXPECT_TRUE(check_cutting(order, plan).ok());
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

TEST(Cutting, random_orders_pass_the_checker_and_beat_simple_plans) {
  Random random(11);
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 2000 : 40;
  for (int round = 0; round < rounds; ++round) {
    CuttingOrder order;
    order.kerf = random.between(0, 40);
    order.trim = random.between(0, 100);
    for (std::uint32_t s = 0; s < 1 + random.below(3); ++s)
      order.stock.push_back(stock_of(random.between(1800, 6000), random.between(100, 900)));
    order.stock.push_back(stock_of(random.between(1000, 3000), 0, random.between(0, 4)));
    for (std::uint32_t p = 0; p < 2 + random.below(8); ++p)
      order.parts.push_back({"p", random.between(150, 1500), random.between(1, 12)});
    CuttingOptions options;
    options.max_nodes = 100;
    const CuttingPlan plan = solve_cutting(order, options).value();
    EXPECT_TRUE(check_cutting(order, plan).ok());
    EXPECT_LE(plan.bound, plan.cost);
  }
}

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
  EXPECT_EQ(solve_cutting(order).mistakes().size(), 3u);
  EXPECT_FALSE(solve_cutting({}).ok());
}

TEST(Cutting, a_hundred_thousand_parts_are_answered) {
  CuttingOrder order;
  order.kerf = 3;
  order.stock = {stock_of(2400, 400), stock_of(3600, 590)};
  order.parts = {{"a", 612, 40000}, {"b", 433, 30000}, {"c", 1187, 30000}};
  const CuttingPlan plan = solved(order);
  EXPECT_LE(double(plan.cost - plan.bound) / double(plan.bound), 0.01);
}

std::string shared(const std::string& path) {
  return std::string(ROOMWRIGHT_SHARED_DATA) + "/" + path;
}

TEST(Cutting, meets_the_optimum_of_the_open_shop_jobs) {
  const std::string folder = shared("data/cut1d_shop_jobs/");
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  // Source: shop jobs of an open packing library (F. Fontan, 2023-2024, MIT), optima proven
  for (const auto& row : figures::read_rows(folder + "index.csv")) {
    CuttingOrder order;
    order.kerf = std::stoll(row.at("kerf"));
    for (const auto& stock : figures::read_rows(folder + row.at("job") + "_stock.csv"))
      order.stock.push_back(stock_of(std::stoll(stock.at("length")),
                                     std::stoll(stock.at("cost_each")),
                                     std::stoll(stock.at("available"))));
    for (const auto& part : figures::read_rows(folder + row.at("job") + "_parts.csv"))
      order.parts.push_back({"p", std::stoll(part.at("length")), std::stoll(part.at("count"))});
    CuttingOptions options;
    options.max_nodes = 1000;
    const CuttingPlan plan = solve_cutting(order, options).value();
    EXPECT_TRUE(check_cutting(order, plan).ok());
    EXPECT_EQ(plan.cost, std::stoll(row.at("optimum_cost"))) << row.at("job");
    EXPECT_TRUE(plan.proven) << row.at("job");
  }
}

TEST(Cutting, bounds_never_pass_the_known_optima_of_classic_instances) {
  const std::string folder = shared("data/cut1d_classic/");
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  const std::size_t stride = std::getenv("ROOMWRIGHT_LONG") ? 1 : 16;
  std::size_t index = 0;
  int proven = 0, tried = 0;
  // Source: ESICUP data sets (CC0) and OR-Library; optima as the index states
  for (const auto& row : figures::read_rows(folder + "index.csv")) {
    if (index++ % stride != 3 % stride || row.at("optimum").empty()) continue;
    const std::string name = row.at("name");
    if (!std::filesystem::exists(folder + "instances/" + name + ".csv")) continue;
    CuttingOrder order;
    order.stock = {stock_of(std::stoll(row.at("capacity")), 1)};
    for (const auto& part : figures::read_rows(folder + "instances/" + name + ".csv"))
      order.parts.push_back({"p", std::stoll(part.at("length")), std::stoll(part.at("count"))});
    CuttingOptions options;
    options.max_nodes = 60;
    const auto plan = solve_cutting(order, options).value();
    EXPECT_TRUE(check_cutting(order, plan).ok());
    EXPECT_LE(plan.bound, std::stoll(row.at("optimum"))) << name;
    EXPECT_GE(plan.cost, std::stoll(row.at("optimum"))) << name;
    EXPECT_LE(plan.cost, std::stoll(row.at("optimum")) + 1) << name;
    proven += plan.proven;
    ++tried;
  }
  EXPECT_GT(tried, 3);
  EXPECT_GE(proven * 2, tried);
}

}  // namespace
}  // namespace roomwright::shop
