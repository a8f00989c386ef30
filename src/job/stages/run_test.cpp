// The run, the calendar and several jobs together, on the demo jobs; nothing here asks for sound.
#include <gtest/gtest.h>

#include <algorithm>

#include "job/stages/stages.h"

namespace roomwright::job {
namespace {

std::string demo_text(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + path).value();
}

std::string with(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

Job mixing_room(const std::string& job_text, const std::string& shop_text) {
  auto job = read_job({job_text, shop_text});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  return *job;
}
Job mixing_room() {
  return mixing_room(demo_text("control_room.toml"), demo_text("shop_metric.toml"));
}

BuildSheet built(const Job& job) {
  const auto treatment = placed(job);
  EXPECT_TRUE(treatment.ok());
  auto sheet = build(job, *treatment);
  EXPECT_TRUE(sheet.ok()) << (sheet.ok() ? "" : sheet.mistakes().text());
  return *sheet;
}

bool says(const std::vector<Statement>& statements, const std::string& part) {
  return std::any_of(statements.begin(), statements.end(), [&](const Statement& one) {
    return (one.sentence + one.next).find(part) != std::string::npos;
  });
}

TEST(RunOfJob, two_people_take_little_more_than_half_of_what_one_takes) {
  const BuildSheet sheet = built(mixing_room());
  ASSERT_GE(sheet.run.crew.size(), 4u);
  EXPECT_EQ(sheet.run.plan.people, 2);
  EXPECT_NEAR(sheet.run.crew[0].finish_min, sheet.schedule.shop_min(), 15)
      << "one person: the schedule's minutes, and a router set once more at most";
  EXPECT_LT(sheet.run.crew[1].finish_min, 0.56 * sheet.run.crew[0].finish_min);
  for (std::size_t i = 1; i < sheet.run.crew.size(); ++i)
    EXPECT_LE(sheet.run.crew[i].finish_min, sheet.run.crew[i - 1].finish_min);
  EXPECT_TRUE(says(sheet.statements, "Two people are through in"));
}

TEST(RunOfJob, dates_follow_from_the_jobs_date_lead_times_and_holidays) {
  const BuildSheet sheet = built(mixing_room());
  // 2026-11-20 is a Friday; boards take 7 days and cloth 4.
  EXPECT_GE(sheet.calendar.start, "2026-11-20");
  for (const MaterialDate& one : sheet.calendar.materials) {
    EXPECT_FALSE(one.late) << one.name;
    EXPECT_GE(one.order_by, "2026-11-20") << one.name;
  }
  EXPECT_LT(sheet.calendar.finish, sheet.calendar.hang);
  EXPECT_EQ(sheet.calendar.days_late, 0) << sheet.calendar.hung;
  EXPECT_TRUE(says(sheet.statements, "as promised"));
  // Christmas lies between: the day is not worked.
  const Job late = mixing_room(
      with(demo_text("control_room.toml"), "due = \"2026-12-04\"", "start = \"2026-12-24\""),
      demo_text("shop_metric.toml"));
  const BuildSheet after = built(late);
  EXPECT_EQ(after.calendar.start, "2026-12-24");
  for (const DayTask& task : after.calendar.tasks) {
    EXPECT_NE(task.day, "2026-12-25");
    EXPECT_NE(task.day, "2026-12-26");
  }
}

TEST(RunOfJob, what_comes_too_late_for_a_stated_start_is_told) {
  const Job job = mixing_room(
      with(demo_text("control_room.toml"), "due = \"2026-12-04\"", "start = \"2026-11-20\""),
      demo_text("shop_metric.toml"));
  const BuildSheet sheet = built(job);
  EXPECT_TRUE(says(sheet.statements, "it should have been ordered by"));
}

TEST(RunOfJob, lateness_is_told_with_what_would_help) {
  std::string shop = with(demo_text("shop_metric.toml"), "people = 2", "people = 1");
  for (const char* lead : {"lead_days = 7\n", "lead_days = 4\n"}) shop = with(shop, lead, "");
  const Job job = mixing_room(
      with(demo_text("control_room.toml"), "due = \"2026-12-04\"", "due = \"2026-11-24\""), shop);
  const BuildSheet sheet = built(job);
  EXPECT_GT(sheet.calendar.days_late, 0) << sheet.calendar.hung;
  std::string all;
  for (const Statement& one : sheet.statements) all += one.sentence + " " + one.next + "\n";
  EXPECT_TRUE(says(sheet.statements, "later than the promised Tuesday 2026-11-24")) << all;
  EXPECT_TRUE(says(sheet.statements, "sooner")) << all;
}

TEST(RunOfJob, nobody_is_in_two_places_on_any_day) {
  const BuildSheet sheet = built(mixing_room());
  for (const DayTask& one : sheet.calendar.tasks)
    for (const DayTask& other : sheet.calendar.tasks) {
      if (&one == &other || one.day != other.day || one.from >= other.to || other.from >= one.to)
        continue;
      for (const int who : one.people)
        EXPECT_EQ(std::count(other.people.begin(), other.people.end(), who), 0)
            << one.day << " " << one.from << " " << one.what << " and " << other.what;
    }
}

TEST(Together, shares_add_up_and_nobody_pays_more_than_alone) {
  const Job first = mixing_room();
  Job second = mixing_room(), third = mixing_room();
  second.pieces.resize(5);
  third.pieces.erase(third.pieces.begin(), third.pieces.begin() + 9);
  const auto sheet = together({&first, &second, &third});
  ASSERT_TRUE(sheet.ok()) << sheet.mistakes().text();
  Money shares, pays, alone;
  for (const TogetherJob& one : sheet->jobs) {
    EXPECT_LE(one.share, one.alone) << one.mark;
    EXPECT_GT(one.pays, Money()) << one.mark;
    shares += one.share;
    pays += one.pays;
    alone += one.alone;
  }
  EXPECT_EQ(shares, sheet->together);
  EXPECT_EQ(alone, sheet->apart);
  EXPECT_LT(sheet->together, sheet->apart) << "set-ups, packs and ends of rolls are shared";
  EXPECT_LE(sheet->build.run.plan.finish_min, sheet->apart_min);
  // The parts of all three, each by its mark.
  std::size_t of_second = 0;
  for (const auto& stick : sheet->build.parts.sticks) of_second += stick.piece.rfind("B-", 0) == 0;
  EXPECT_GT(of_second, 0u);
  EXPECT_EQ(sheet->job.pieces.size(),
            first.pieces.size() + second.pieces.size() + third.pieces.size());
}

TEST(Together, equal_jobs_pay_alike_within_a_cent) {
  const Job one = mixing_room(), other = mixing_room();
  const auto sheet = together({&one, &other});
  ASSERT_TRUE(sheet.ok()) << sheet.mistakes().text();
  const auto difference = (sheet->jobs[0].pays - sheet->jobs[1].pays).minor_units();
  EXPECT_LE(std::abs(difference), 2);
}

TEST(Together, one_job_or_two_shops_are_told) {
  const Job one = mixing_room();
  Job other = mixing_room();
  other.shop.name = "another workshop";
  EXPECT_FALSE(together({&one}).ok());
  const auto sheet = together({&one, &other});
  ASSERT_FALSE(sheet.ok());
  EXPECT_NE(sheet.mistakes().text().find("has another shop"), std::string::npos);
}

}  // namespace
}  // namespace roomwright::job
