// Working time on the calendar: which day and what time of day a minute of work falls on, and which
// days are worked. Dates come from the caller; nothing here asks a clock. Proleptic Gregorian days
// by std::chrono.
#pragma once

#include <array>
#include <chrono>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "core/base/base.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

using Day = std::chrono::sys_days;

/// `2026-11-23`, from year 1900 to 2200; nullopt for what is no day.
std::optional<Day> read_day(std::string_view text);
/// `2026-11-23`
std::string print_day(Day day);
/// `Monday 2026-11-23`
std::string print_weekday(Day day);

/// When a shop works. Times of day in minutes after midnight.
struct WorkWeek {
  std::array<bool, 7> works{true, true, true, true, true, false, false};  ///< Monday first
  std::set<Day> holidays;
  int begins = 8 * 60;
  int minutes_a_day = 8 * 60;  ///< worked, without the pause
  int pause_at = 12 * 60;      ///< where it lies within the day's work
  int pause = 30;              ///< minutes; 0: none
};
/// A shop's hours; holidays that are no day are left out.
WorkWeek week_of(const Hours& hours);
/// Errors: no day of the week is worked; times that do not fit into one day; nothing but holidays
/// for ten years.
Result<Done> check_week(const WorkWeek& week);

bool is_worked(const WorkWeek& week, Day day);
/// The day itself, or the next that is worked. The week must have passed its check.
Day worked_from(const WorkWeek& week, Day day);
/// So many worked days later (earlier where below 0), from a worked day.
Day worked_after(const WorkWeek& week, Day day, int days);
/// Worked days from one to the other, the first counted and the last not; below 0 where the other
/// is earlier.
int worked_between(const WorkWeek& week, Day from, Day to);

struct Moment {
  Day day;
  int minute = 0;  ///< after midnight
};
/// Where a minute of work falls that is counted from the start of `first`, which is worked. The end
/// of a task at the very end of a day falls on that day: `ends`.
Moment moment_of(const WorkWeek& week, Day first, double minute, bool ends = false);
/// `08:05`
std::string print_clock(int minute);

}  // namespace roomwright::shop
