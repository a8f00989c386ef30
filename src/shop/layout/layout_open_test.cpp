// Layouts against open data sets: a sample, or all of them where ROOMWRIGHT_LONG is set. Each data
// set names its sources in its folder.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "figures/figures.h"
#include "shop/layout/joins.h"
#include "shop/layout/layout.h"

namespace roomwright::shop {
namespace {

struct OpenSet {
  std::string folder;
  std::vector<figures::Row> rows;
};

/// Empty where the data are not there. Every stride-th row, all in the long run.
OpenSet open_set(const std::string& name, std::size_t stride) {
  OpenSet set;
  set.folder = std::string(ROOMWRIGHT_SHARED_DATA) + "/data/" + name + "/";
  if (!std::filesystem::exists(set.folder)) return set;
  if (std::getenv("ROOMWRIGHT_LONG")) stride = 1;
  const auto rows = figures::read_rows(set.folder + "index.csv");
  for (std::size_t i = 0; i < rows.size(); i += stride) set.rows.push_back(rows[i]);
  return set;
}

std::int64_t whole(const figures::Row& row, const char* column) {
  const std::string& cell = row.at(column);
  return cell.empty() ? -1 : std::stoll(cell);
}

std::vector<LayoutPart> parts_of(const OpenSet& set, const figures::Row& row) {
  std::vector<LayoutPart> parts;
  for (const auto& line : figures::read_rows(set.folder + "instances/" + row.at("name") + ".csv")) {
    LayoutPart part{"p" + std::to_string(parts.size()), whole(line, "width"),
                    whole(line, "height")};
    if (line.count("value")) {
      part.value = whole(line, "value");
      part.count = line.at("max_copies").empty() ? most_layout_parts : whole(line, "max_copies");
    }
    parts.push_back(part);
  }
  return parts;
}

LayoutPlan solved(const LayoutOrder& order, std::int64_t max_nodes) {
  LayoutOptions options;
  options.max_nodes = max_nodes;
  const LayoutPlan plan = solve_layout(order, options).value();
  const auto checked = check_layout(order, plan);
  EXPECT_TRUE(checked.ok()) << (checked.ok() ? "" : checked.mistakes().text());
  return plan;
}

TEST(LayoutOpen, sheets_are_no_more_than_listed_and_fewer_in_all) {
  const OpenSet set = open_set("cut2d_sheets", 7);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  std::int64_t total = 0, listed = 0;
  // Source: Berkey & Wang (1987), Martello & Vigo (1998), bounds as the index states
  for (const auto& row : set.rows) {
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.sheets = {{"sheet", whole(row, "sheet_width"), whole(row, "sheet_height"), 1}};
    order.parts = parts_of(set, row);
    const LayoutPlan plan = solved(order, 60'000'000);
    EXPECT_GE(plan.used, whole(row, "sheets_lower_bound"));
    EXPECT_LE(plan.used, whole(row, "sheets_upper_bound_guillotine"));
    EXPECT_LE(plan.bound, whole(row, "sheets_upper_bound_guillotine"));
    total += plan.used;
    listed += whole(row, "sheets_upper_bound_guillotine");
  }
  EXPECT_LT(total, listed);
}

TEST(LayoutOpen, small_strips_reach_the_known_optimum) {
  const OpenSet set = open_set("cut2d_strip", 1);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  // Source: Hifi, Computers & OR 25 (1998), guillotine optima as the index states
  for (const auto& row : set.rows) {
    if (row.at("family") != "hifi_scp") continue;
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.roll = LayoutRoll{whole(row, "strip_width")};
    order.parts = parts_of(set, row);
    const LayoutPlan plan = solved(order, 0);
    EXPECT_EQ(plan.used, whole(row, "optimum_height_guillotine"));
    EXPECT_TRUE(plan.proven);
  }
}

TEST(LayoutOpen, strips_without_waste_lose_little_and_their_bound_holds) {
  const OpenSet set = open_set("cut2d_strip", 9);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  double gaps = 0;
  int many = 0;
  // Source: Hopper, PhD thesis (2000); Hopper & Turton, EJOR 128 (2001): heights by construction.
  // They hold for any layout; joining blocks without waste shows that in the T set, too, no layout
  // with cuts from edge to edge reaches them.
  for (const auto& row : set.rows) {
    if (row.at("family") == "hifi_scp") continue;
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.roll = LayoutRoll{whole(row, "strip_width")};
    order.parts = parts_of(set, row);
    const LayoutPlan plan = solved(order, 60'000'000);
    const std::int64_t any = whole(row, "optimum_height_any_layout");
    EXPECT_GE(plan.used, any);
    EXPECT_LE(plan.bound, any);
    EXPECT_GE(plan.bound, whole(row, "height_lower_bound"));
    gaps += double(plan.used - any) / double(any);
    ++many;
  }
  EXPECT_LE(gaps / many, 0.08);
}

TEST(LayoutOpen, strips_said_to_be_cut_edge_to_edge_without_waste_are_not) {
  const OpenSet set = open_set("cut2d_strip", 1);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  int refuted = 0;
  // Source: Hopper, PhD thesis (2000), T; the index calls 200 their optimum with cuts from edge to
  // edge. Without waste every block is full, so that all blocks can be listed.
  for (const auto& row : set.rows) {
    if (row.at("family") != "hopper_t_guillotine") continue;
    LayoutOrder order;
    order.roll = LayoutRoll{whole(row, "strip_width")};
    order.parts = parts_of(set, row);
    Budget budget;
    const JoinResult joined = join_all(problem_of(order), 200, 200, 20'000'000, budget);
    EXPECT_NE(joined.how, Joined::found) << row.at("name");
    refuted += joined.how == Joined::impossible;
  }
  EXPECT_GE(refuted, 14);
}

TEST(LayoutOpen, large_strips_without_waste_are_laid_out_within_3_percent) {
  const OpenSet set = open_set("cut2d_strip", 1);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  // Source: Hopper, PhD thesis (2000), T: 200 by construction, which a layout with cuts from edge
  // to edge need not reach. The work is what is spent unasked.
  int many = 0, near = 0;
  for (const auto& row : set.rows) {
    if (row.at("family") != "hopper_t_guillotine" || whole(row, "items") < 49) continue;
    if (!std::getenv("ROOMWRIGHT_LONG") && row.at("name") != "hopper_t6d") continue;
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.roll = LayoutRoll{whole(row, "strip_width")};
    order.parts = parts_of(set, row);
    // T5e asks for a longer search than what is spent unasked; that T4 cannot reach 200 is shown
    // below.
    const bool longer = row.at("name") == "hopper_t5e";
    const LayoutPlan plan = solved(order, longer ? 5'400'000'000 : 0);
    EXPECT_LE(plan.used, whole(row, "items") >= 73 ? 206 : 209);
    near += plan.used <= 206;
    ++many;
  }
  EXPECT_GE(near, many == 1 ? 1 : 10);
}

TEST(LayoutOpen, strips_of_seventeen_parts_are_near_what_a_full_search_leaves_possible) {
  if (!std::getenv("ROOMWRIGHT_LONG")) GTEST_SKIP() << "a long run";
  const OpenSet set = open_set("cut2d_strip", 1);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  // The first of T (Hopper, PhD thesis, 2000): every block with the waste of a shorter strip is
  // listed, and none holds all parts. T1a and T1b cannot be cut edge to edge below 209.
  for (const auto& row : set.rows) {
    if (row.at("name") != "hopper_t1a" && row.at("name") != "hopper_t1b") continue;
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.roll = LayoutRoll{whole(row, "strip_width")};
    order.parts = parts_of(set, row);
    Budget budget;
    std::int64_t least = 200;
    while (least < 260 &&
           join_all(problem_of(order), 200, least, 2'000'000'000, budget).how == Joined::impossible)
      ++least;
    EXPECT_GE(least, 209);
    const LayoutPlan plan = solved(order, 60'000'000);
    EXPECT_GE(plan.used, least);
    EXPECT_LE(double(plan.used), 1.03 * double(least));
  }
}

TEST(LayoutOpen, most_value_is_within_3_percent_of_the_optimum) {
  const OpenSet set = open_set("cut2d_guillotine_value", 9);
  if (set.rows.empty()) GTEST_SKIP() << "needs the folder of open data sets";
  // Source: Wang, Baldacci, Liu & Wei, EJOR (2025), and the optima with the instances
  for (const auto& row : set.rows) {
    SCOPED_TRACE(row.at("name"));
    LayoutOrder order;
    order.aim = LayoutAim::value;
    order.sheets = {{"sheet", whole(row, "stock_width"), whole(row, "stock_height"), 0, 1}};
    order.parts = parts_of(set, row);
    const LayoutPlan plan = solved(order, 60'000'000);
    if (const std::int64_t best = whole(row, "best_known"); best >= 0) EXPECT_GE(plan.bound, best);
    if (const std::int64_t optimum = whole(row, "optimum"); optimum >= 0) {
      EXPECT_LE(plan.used, optimum);
      EXPECT_GE(double(plan.used), 0.97 * double(optimum));
    }
  }
}

TEST(LayoutOpen, rolls_of_five_sizes_are_within_5_percent_of_their_bound) {
  // Forty pieces of five sizes on a roll 2 m wide, as a shop meets them; sizes drawn once.
  const std::vector<std::vector<std::array<std::int64_t, 2>>> rolls = {
      {{790, 1270}, {835, 350}, {630, 950}, {920, 815}, {685, 910}},
      {{470, 1025}, {1275, 380}, {625, 450}, {930, 1270}, {875, 900}},
      {{370, 415}, {405, 760}, {515, 1240}, {1155, 1390}, {690, 620}},
      {{600, 1055}, {995, 465}, {770, 1470}, {1070, 905}, {1100, 1040}},
      {{600, 685}, {430, 1220}, {805, 910}, {495, 415}, {385, 325}}};
  double gaps = 0;
  for (const auto& sizes : rolls) {
    LayoutOrder order;
    order.roll = LayoutRoll{2000};
    for (const auto& size : sizes) order.parts.push_back({"p", size[0], size[1], 8});
    const LayoutPlan plan = solved(order, 0);
    gaps += double(plan.used - plan.bound) / double(plan.bound);
  }
  EXPECT_LE(gaps / double(rolls.size()), 0.05);
}

}  // namespace
}  // namespace roomwright::shop
