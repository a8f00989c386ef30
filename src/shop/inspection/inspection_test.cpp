// A piece passes by all six points or goes back to a named station with its cause.
#include "shop/inspection/inspection.h"

#include <gtest/gtest.h>

namespace roomwright::shop {
namespace {

const Units inspection_metric{true, 16};

InspectionLine line_of() {
  return inspection_sheet({{"W1", "side panel", 600_mm, 1200_mm, 8.0}}, default_rules(true)).at(0);
}
Inspected good_piece() {
  Inspected found;
  found.diagonal_a = 1342_mm;
  found.diagonal_b = 1341_mm;
  found.corner_gap = 1_mm;
  found.mass_kg = 8.3;
  found.cloth = found.staples = found.label = true;
  return found;
}

TEST(Inspection, the_sheet_names_what_should_be_measured) {
  const auto line = line_of();
  EXPECT_EQ(line.diagonal, 1342_mm);  // √(600² + 1200²) = 1341.6
  EXPECT_NEAR(line.least_kg, 7.2, 1e-9);
  EXPECT_NEAR(line.most_kg, 8.8, 1e-9);
}

TEST(Inspection, a_good_piece_passes) {
  const auto result = inspect(line_of(), good_piece(), inspection_metric);
  ASSERT_TRUE(result.ok());
  EXPECT_TRUE(result->passed && result->complete);
  EXPECT_FALSE(result->back_to);
}

TEST(Inspection, what_was_not_looked_at_keeps_it_from_passing) {
  Inspected found = good_piece();
  found.mass_kg.reset();
  found.label.reset();
  const auto result = inspect(line_of(), found, inspection_metric);
  EXPECT_FALSE(result->passed);
  EXPECT_TRUE(result->faults.empty());
  EXPECT_EQ(result->open, (std::vector<std::string>{"weight", "label"}));
}

TEST(Inspection, each_limit_holds_to_its_very_edge) {
  const auto judged = [&](auto change) {
    Inspected found = good_piece();
    change(found);
    return inspect(line_of(), found, inspection_metric)->faults.size();
  };
  const Length hair = Length::from_nm(1);
  EXPECT_EQ(judged([&](auto& f) { f.diagonal_b = 1339_mm; }), 0u);
  EXPECT_EQ(judged([&](auto& f) { f.diagonal_b = 1339_mm - hair; }), 1u);
  EXPECT_EQ(judged([&](auto& f) { f.corner_gap = 3_mm; }), 0u);
  EXPECT_EQ(judged([&](auto& f) { f.corner_gap = 3_mm + hair; }), 1u);
  EXPECT_EQ(judged([&](auto& f) { f.mass_kg = 8.79; }), 0u);
  EXPECT_EQ(judged([&](auto& f) { f.mass_kg = 8.81; }), 1u);
  EXPECT_EQ(judged([&](auto& f) { f.mass_kg = 7.19; }), 1u);
}

TEST(Inspection, a_failed_piece_goes_back_to_the_first_station_that_it_needs) {
  Inspected found = good_piece();
  found.staples = false;
  found.diagonal_b = 1350_mm;
  const auto result = inspect(line_of(), found, inspection_metric);
  ASSERT_EQ(result->faults.size(), 2u);
  EXPECT_EQ(*result->back_to, Station::drill_screw);
  EXPECT_EQ(result->faults[0].sentence,
            "W1: the diagonals differ by 8.0 mm, allowed are 3.0 mm: loosen the corners, pull it "
            "square, screw again");
}

TEST(Inspection, a_misread_tape_is_no_fault_of_the_piece) {
  Inspected found = good_piece();
  found.diagonal_a = 1142_mm;
  const auto result = inspect(line_of(), found, inspection_metric);
  ASSERT_FALSE(result.ok());
  EXPECT_EQ(result.mistakes().items()[0].where, "W1.diagonal_a");
}

TEST(Inspection, rework_is_summed_by_cause_and_station) {
  const auto rows = rework_rows({{Station::face_cloth, "cloth", 12},
                                 {Station::drill_screw, "square", 20},
                                 {Station::face_cloth, "cloth", 11}});
  ASSERT_EQ(rows.size(), 2u);
  EXPECT_EQ(rows[0].cause, "cloth");
  EXPECT_EQ(rows[0].times, 2);
  EXPECT_EQ(rows[0].minutes, 23);
}

}  // namespace
}  // namespace roomwright::shop
