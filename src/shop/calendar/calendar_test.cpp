// The calendar: known weekdays, holidays, minutes that fall into a pause or over a night.
#include "shop/calendar/calendar.h"

#include <gtest/gtest.h>

namespace roomwright::shop {
namespace {

Day day(const char* text) {
  return *read_day(text);
}

// Source: ISO 8601-1:2019, 2000-01-01 is a Saturday; its calendar is Gregorian (from memory)
TEST(Calendar, knows_weekdays_and_leap_years) {
  EXPECT_EQ(print_weekday(day("2000-01-01")), "Saturday 2000-01-01");
  EXPECT_EQ(print_day(day("2000-02-28") + std::chrono::days(1)), "2000-02-29");
  EXPECT_EQ(print_day(day("2100-02-28") + std::chrono::days(1)), "2100-03-01");
}

TEST(Calendar, refuses_what_is_no_day) {
  for (const char* text : {"2026-02-29", "2026-13-01", "2026-00-10", "26-01-01", "2026-1-1",
                           "2026-11-31", "1899-12-31", "2201-01-01", "2026/01/01", "", "today"})
    EXPECT_FALSE(read_day(text)) << text;
}

TEST(Calendar, days_that_are_not_worked_are_passed_over) {
  WorkWeek week;
  week.holidays = {day("2026-12-25"), day("2026-12-28")};
  EXPECT_EQ(print_day(worked_from(week, day("2026-12-25"))), "2026-12-29");
  EXPECT_EQ(print_day(worked_after(week, day("2026-12-24"), 1)), "2026-12-29");
  EXPECT_EQ(print_day(worked_after(week, day("2026-12-29"), -1)), "2026-12-24");
  EXPECT_EQ(worked_between(week, day("2026-12-24"), day("2026-12-30")), 2);
  EXPECT_EQ(worked_between(week, day("2026-12-30"), day("2026-12-24")), -2);
}

TEST(Calendar, days_back_and_forth_meet_again) {
  WorkWeek week;
  week.works = {true, false, true, true, false, true, false};
  for (int n = 0; n < 60; ++n) {
    const Day to = worked_after(week, day("2026-11-23"), n);
    EXPECT_TRUE(is_worked(week, to));
    EXPECT_EQ(worked_between(week, day("2026-11-23"), to), n);
    EXPECT_EQ(worked_after(week, to, -n), day("2026-11-23"));
  }
}

TEST(Calendar, a_minute_of_work_falls_on_a_day_and_an_hour) {
  WorkWeek week;
  week.minutes_a_day = 450;
  const Day monday = day("2026-11-23");
  const auto text = [&](double minute, bool ends) {
    const Moment moment = moment_of(week, monday, minute, ends);
    return print_weekday(moment.day) + " " + print_clock(moment.minute);
  };
  EXPECT_EQ(text(0, false), "Monday 2026-11-23 08:00");
  EXPECT_EQ(text(240, true), "Monday 2026-11-23 12:00") << "done before the pause";
  EXPECT_EQ(text(240, false), "Monday 2026-11-23 12:30") << "begun after it";
  EXPECT_EQ(text(450, true), "Monday 2026-11-23 16:00");
  EXPECT_EQ(text(450, false), "Tuesday 2026-11-24 08:00");
  EXPECT_EQ(text(450 * 5, false), "Monday 2026-11-30 08:00");
}

TEST(Calendar, a_week_that_cannot_be_worked_is_told) {
  WorkWeek week;
  week.works.fill(false);
  week.minutes_a_day = 25 * 60;
  week.pause_at = 7 * 60;
  const auto checked = check_week(week);
  ASSERT_FALSE(checked.ok());
  EXPECT_EQ(checked.mistakes().size(), 3u) << checked.mistakes().text();
  EXPECT_TRUE(check_week({}).ok());
}

}  // namespace
}  // namespace roomwright::shop
