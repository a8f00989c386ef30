// The run: every piece through every station that it needs, in order, all of the schedule's minutes
// once, cloth and boards ahead, more people never later.
#include "shop/run/run.h"

#include <gtest/gtest.h>

#include <map>
#include <set>

#include "figures/small_shop.h"

namespace roomwright::shop {
namespace {

struct Batch {
  Parts parts;
  Shop shop = figures::small_shop(true);
  Schedule schedule;
  std::vector<RunPiece> pieces;
};

void add_panel(Batch& batch, const std::string& label, const std::string& product, Length height) {
  Parts& parts = batch.parts;
  parts.sticks.push_back({label, "stile", "square", height, 2});
  parts.sticks.push_back({label, "rail", "square", 694_mm, 2});
  parts.operations.push_back({label, Station::saw, "cut", 4});
  parts.operations.push_back({label, Station::drill_screw, "corner", 4});
  parts.operations.push_back({label, Station::rout, "pass_metre", 7});
  parts.operations.push_back({label, Station::sand, "edge_metre", 3.5});
  parts.operations.push_back({label, Station::back_cloth, "cloth_cut", 1});
  parts.operations.push_back({label, Station::back_cloth, "back_staple_metre", 3.5});
  parts.operations.push_back({label, Station::boards, "board", 1});
  parts.operations.push_back({label, Station::boards, "board_cut", 1});
  parts.operations.push_back({label, Station::face_cloth, "cloth_cut", 1});
  parts.operations.push_back({label, Station::face_cloth, "face_staple_metre", 3.7});
  parts.operations.push_back({label, Station::face_cloth, "corner_fold", 4});
  parts.operations.push_back({label, Station::finish, "inspect", 1});
  parts.operations.push_back({label, Station::pack, "label_pack", 1});
  batch.pieces.push_back({label, product, 15, false});
}

Batch panels(int tall, int low) {
  Batch batch;
  batch.shop.line = default_line();
  for (int i = 1; i <= tall; ++i) add_panel(batch, "W" + std::to_string(i), "tall", 1200_mm);
  for (int i = 1; i <= low; ++i) add_panel(batch, "L" + std::to_string(i), "low", 900_mm);
  batch.schedule = make_schedule(batch.parts, batch.shop).value();
  return batch;
}

RunPlan planned(const Batch& batch, int people) {
  RunRequest request;
  request.parts = &batch.parts;
  request.shop = &batch.shop;
  request.schedule = &batch.schedule;
  request.pieces = batch.pieces;
  request.people = people;
  request.max_nodes = 3'000;
  auto plan = plan_run(request);
  EXPECT_TRUE(plan.ok()) << (plan.ok() ? "" : plan.mistakes().text());
  return *plan;
}

TEST(Run, one_person_takes_the_schedules_minutes_and_no_more) {
  const Batch batch = panels(6, 3);
  const RunPlan plan = planned(batch, 1);
  EXPECT_NEAR(plan.finish_min, batch.schedule.shop_min(), 0.5);
  EXPECT_TRUE(plan.proven) << plan.method;
  EXPECT_NEAR(plan.busy_min[0], plan.finish_min, 0.5) << "the glue sets while something is done";
}

TEST(Run, every_piece_goes_through_every_station_once_and_in_order) {
  const Batch batch = panels(5, 2);
  for (int people = 1; people <= 4; ++people) {
    const RunPlan plan = planned(batch, people);
    std::map<std::string, std::map<Station, double>> starts;
    for (const RunTask& task : plan.tasks) {
      if (task.ahead || task.station == Station::saw) continue;
      for (const std::string& piece : task.pieces) {
        EXPECT_EQ(starts[piece].count(task.station), 0u) << piece;
        starts[piece][task.station] = task.start_min;
      }
    }
    EXPECT_EQ(starts.size(), 7u);
    for (const auto& [piece, at] : starts) {
      EXPECT_EQ(at.size(), 8u) << piece;
      double last = 0;
      for (const auto& [station, start] : at) {
        EXPECT_GE(start, last) << piece << " " << station_title(station);
        last = start;
      }
      EXPECT_GE(at.at(Station::rout), at.at(Station::drill_screw) + 30) << "the glue sets";
    }
  }
}

TEST(Run, more_people_are_never_later_and_share_the_work) {
  const Batch batch = panels(6, 3);
  double before = 1e9;
  for (int people = 1; people <= 4; ++people) {
    const RunPlan plan = planned(batch, people);
    EXPECT_LE(plan.finish_min, before);
    EXPECT_LE(plan.bound_min, plan.finish_min + 1e-9);
    EXPECT_LE(plan.least_min, plan.bound_min + 1e-9);
    EXPECT_GE(plan.finish_min * people, plan.work_min - 1e-9);
    before = plan.finish_min;
  }
  EXPECT_LT(planned(batch, 2).finish_min, 0.62 * planned(batch, 1).finish_min);
}

TEST(Run, a_second_person_cuts_cloth_and_boards_while_the_first_saws) {
  const RunPlan plan = planned(panels(6, 0), 2);
  bool ahead_at_once = false;
  for (const RunTask& task : plan.tasks) ahead_at_once |= task.ahead && task.begin_min < 1;
  EXPECT_TRUE(ahead_at_once);
}

TEST(Run, another_router_setting_is_set_up_anew) {
  Batch batch = panels(2, 2);
  EXPECT_EQ(planned(batch, 1).router_set_ups, 1);
  for (RunPiece& piece : batch.pieces)
    if (piece.product == "low") piece.router_set = 10;
  EXPECT_EQ(planned(batch, 1).router_set_ups, 2);
}

TEST(Run, two_lift_what_one_should_not) {
  Batch batch = panels(2, 0);
  for (RunPiece& piece : batch.pieces) piece.two_people = true;
  EXPECT_TRUE(planned(batch, 1).two_wanted);
  const RunPlan plan = planned(batch, 2);
  EXPECT_FALSE(plan.two_wanted);
  for (const RunTask& task : plan.tasks)
    EXPECT_EQ(task.people.size(),
              task.station == Station::finish || task.station == Station::pack ? 2u : 1u);
}

TEST(Run, labels_are_told_in_runs) {
  EXPECT_EQ(label_list({"S1", "S2", "S3", "S4", "T2"}), "S1 to S4, T2");
  EXPECT_EQ(label_list({"A-S1", "A-S2"}), "A-S1, A-S2");
  EXPECT_EQ(label_list({"left", "right", "x9", "x10", "x11"}), "left, right, x9 to x11");
  EXPECT_EQ(label_list({"S01", "S02"}), "S01, S02");
}

TEST(Run, nothing_to_build_takes_no_time) {
  Batch batch;
  batch.schedule = make_schedule(batch.parts, batch.shop).value();
  EXPECT_EQ(planned(batch, 2).finish_min, 0);
}

}  // namespace
}  // namespace roomwright::shop
