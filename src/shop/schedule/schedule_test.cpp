// The schedule: every part once on a stick, marks that the tape can follow, one dye lot, whole
// packs, stations that count what the parts say.
#include "shop/schedule/schedule.h"

#include <gtest/gtest.h>

#include <map>
#include <set>

#include "figures/small_shop.h"

namespace roomwright::shop {
namespace {

Parts some_parts() {
  Parts parts;
  for (int i = 1; i <= 6; ++i) {
    const std::string piece = "W" + std::to_string(i);
    parts.sticks.push_back({piece, "stile", "square", 1200_mm, 2});
    parts.sticks.push_back({piece, "rail", "square", 694_mm, 2});
    parts.cloths.push_back({piece, "face", "cloth", 860_mm, 1450_mm, 1});
    parts.cloths.push_back({piece, "back", "back", 640_mm, 1240_mm, 1});
    parts.boards.push_back({piece, "board", "wool", 600_mm, 1200_mm, 1, false});
    parts.hardware.push_back({piece, "screw", 8});
    parts.operations.push_back({piece, Station::saw, "cut", 4});
    parts.operations.push_back({piece, Station::drill_screw, "corner", 4});
  }
  parts.boards.push_back({"B1", "triangle", "wool", 400_mm, 400_mm, 7, true});
  parts.sheets.push_back({"B1", "end plate", "ply", 420_mm, 420_mm, 2, true});
  return parts;
}

TEST(Schedule, every_part_is_cut_once_with_a_kerf_between_its_neighbours) {
  const Shop shop = figures::small_shop(true);
  const Schedule schedule = make_schedule(some_parts(), shop).value();
  ASSERT_EQ(schedule.sticks.size(), 1u);
  const StickPlan& plan = schedule.sticks[0];
  EXPECT_TRUE(plan.proven);
  std::map<std::string, int> owners;
  for (const StickPattern& pattern : plan.patterns) {
    ASSERT_EQ(pattern.pieces.size(), std::size_t(pattern.sticks));
    Length last = -plan.kerf;
    for (const Mark& mark : pattern.marks) {
      EXPECT_EQ(mark.from, last + plan.kerf) << "cumulative marks from the squared end";
      EXPECT_EQ(mark.to - mark.from, mark.length);
      EXPECT_LE(mark.to, pattern.stock_length - plan.end_trim * 2);
      last = mark.to;
    }
    for (const auto& pieces : pattern.pieces)
      for (const auto& owner : pieces) ++owners[owner];
  }
  for (int i = 1; i <= 6; ++i) {
    EXPECT_EQ(owners["W" + std::to_string(i) + " stile"], 2);
    EXPECT_EQ(owners["W" + std::to_string(i) + " rail"], 2);
  }
  EXPECT_EQ(plan.stops.size(), 2u);
  EXPECT_EQ(plan.stops[0].stop, 1200_mm) << "longest first";
  EXPECT_EQ(plan.stops[0].count, 12);
}

TEST(Schedule, marks_kerfs_and_offcut_add_up_to_the_stick_and_what_is_kept_has_a_name) {
  const Shop shop = figures::small_shop(true);
  const Schedule schedule = make_schedule(some_parts(), shop).value();
  std::set<std::string> names;
  std::size_t kept = 0;
  for (const StickPlan& plan : schedule.sticks)
    for (const StickPattern& pattern : plan.patterns) {
      const Length usable = pattern.stock_length - plan.end_trim * 2;
      if (pattern.offcut > Length())
        EXPECT_EQ(pattern.marks.back().to + plan.kerf + pattern.offcut, usable);
      EXPECT_EQ(pattern.offcut_names.size(),
                pattern.keep_offcut ? std::size_t(pattern.sticks) : 0u);
      kept += pattern.offcut_names.size();
      names.insert(pattern.offcut_names.begin(), pattern.offcut_names.end());
    }
  EXPECT_EQ(names.size(), kept) << "each its own";
}

TEST(Schedule, the_rack_is_used_before_the_yard) {
  Shop shop = figures::small_shop(true);
  shop.timber["square"].sticks[0].in_hand = 100;
  const Schedule schedule = make_schedule(some_parts(), shop).value();
  EXPECT_EQ(schedule.sticks[0].sticks_to_buy, 0);
  EXPECT_EQ(schedule.sticks[0].cost, Money());
}

TEST(Schedule, cloth_comes_from_one_dye_lot) {
  Shop shop = figures::small_shop(true);
  shop.cloths["cloth"].in_hand = 2000_mm;  // not enough: all is bought
  const auto cloth_of = [&] {
    const Schedule schedule = make_schedule(some_parts(), shop).value();
    for (const ClothPlan& plan : schedule.cloths)
      if (plan.cloth == "cloth") return plan;
    return ClothPlan{};
  };
  EXPECT_EQ(cloth_of().from_rack, Length());
  EXPECT_EQ(cloth_of().to_buy, 8800_mm)
      << "six of 1450 mm, the end of the roll, rounded up to 100 mm";
  EXPECT_EQ(cloth_of().cost, Money::minor(8800));
  shop.cloths["cloth"].in_hand = 9000_mm;
  EXPECT_EQ(cloth_of().to_buy, Length());
}

TEST(Schedule, boards_come_in_whole_packs_and_triangles_in_pairs) {
  const Shop shop = figures::small_shop(true);
  const Schedule schedule = make_schedule(some_parts(), shop).value();
  ASSERT_EQ(schedule.sheets.size(), 2u);
  const SheetPlan& wool = schedule.sheets[0];
  // six whole boards, and seven triangles: four squares of 400 mm, two or three on a board
  EXPECT_EQ(wool.used, 8);
  EXPECT_EQ(wool.packs, 2);
  EXPECT_EQ(wool.left_over, 4);
  EXPECT_EQ(wool.cost, Money::minor(8000));
  EXPECT_EQ(schedule.sheets[1].used, 1);
}

TEST(Schedule, stations_count_operations_and_stop_settings) {
  const Shop shop = figures::small_shop(true);
  const Schedule schedule = make_schedule(some_parts(), shop).value();
  ASSERT_EQ(schedule.stations.size(), 2u);
  // saw: set-up 15, 24 cuts of 0.6, 2 stop settings of 2
  EXPECT_NEAR(schedule.stations[0].total_min(), 15 + 24 * 0.6 + 2 * 2, 1e-9);
  EXPECT_FALSE(schedule.stations[0].cautions.empty());
}

TEST(Schedule, what_cannot_be_cut_is_told_by_piece) {
  const Shop shop = figures::small_shop(true);
  Parts parts;
  parts.sticks.push_back({"W9", "stile", "square", 3200_mm, 1});
  parts.cloths.push_back({"W9", "face", "cloth", 1500_mm, 1500_mm, 1});
  parts.hardware.push_back({"W9", "unobtainium", 1});
  const auto schedule = make_schedule(parts, shop);
  ASSERT_FALSE(schedule.ok());
  const std::string text = schedule.mistakes().text();
  EXPECT_NE(text.find("no stick long enough for the stile of W9"), std::string::npos) << text;
  EXPECT_NE(text.find("is wider than the roll"), std::string::npos) << text;
  EXPECT_NE(text.find("hardware.unobtainium"), std::string::npos) << text;
}

}  // namespace
}  // namespace roomwright::shop
