// Days by std::chrono; see calendar.h.
#include "shop/calendar/calendar.h"

#include <cmath>

namespace roomwright::shop {

namespace {

using namespace std::chrono;

constexpr int most_days = 3660;  ///< looked through for a worked one

std::string two(int number) {
  return (number < 10 ? "0" : "") + std::to_string(number);
}

std::optional<int> digits(std::string_view text) {
  int out = 0;
  for (const char sign : text) {
    if (sign < '0' || sign > '9') return std::nullopt;
    out = out * 10 + (sign - '0');
  }
  return out;
}

}  // namespace

std::optional<Day> read_day(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto y = digits(text.substr(0, 4)), m = digits(text.substr(5, 2)),
             d = digits(text.substr(8, 2));
  if (!y || !m || !d || *y < 1900 || *y > 2200) return std::nullopt;
  const year_month_day date{year(*y), month(static_cast<unsigned>(*m)),
                            day(static_cast<unsigned>(*d))};
  if (!date.ok()) return std::nullopt;
  return Day(date);
}

std::string print_day(Day day) {
  const year_month_day date(day);
  return std::to_string(static_cast<int>(date.year())) + "-" +
         two(static_cast<int>(static_cast<unsigned>(date.month()))) + "-" +
         two(static_cast<int>(static_cast<unsigned>(date.day())));
}

std::string print_weekday(Day day) {
  static constexpr const char* names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                          "Friday", "Saturday", "Sunday"};
  return std::string(names[weekday(day).iso_encoding() - 1]) + " " + print_day(day);
}

bool is_worked(const WorkWeek& week, Day day) {
  return week.works[weekday(day).iso_encoding() - 1] && week.holidays.count(day) == 0;
}

WorkWeek week_of(const Hours& hours) {
  WorkWeek week;
  week.works = hours.works;
  week.begins = hours.begins;
  week.minutes_a_day = hours.per_day_min;
  week.pause_at = hours.pause_at;
  week.pause = hours.pause_min;
  for (const std::string& text : hours.holidays)
    if (const auto day = read_day(text)) week.holidays.insert(*day);
  return week;
}

Result<Done> check_week(const WorkWeek& week) {
  Diagnostics found;
  bool any = false;
  for (const bool works : week.works) any = any || works;
  if (!any) found.add("days", "has no day that is worked", {}, "such as [\"mon\", \"tue\"]");
  if (week.minutes_a_day < 1 || week.begins < 0 || week.pause < 0 ||
      week.begins + week.minutes_a_day + week.pause > 24 * 60)
    found.add("per_day", "does not fit into one day", double(week.minutes_a_day) / 60,
              "begin earlier or work less");
  if (week.pause > 0 &&
      (week.pause_at < week.begins || week.pause_at > week.begins + week.minutes_a_day))
    found.add("pause_at", "lies outside the day's work", print_clock(week.pause_at),
              "a time between begin and end");
  int in_a_row = 0;
  Day last{};
  for (const Day holiday : week.holidays) {
    in_a_row = holiday == last + days(1) ? in_a_row + 1 : 1;
    last = holiday;
    if (in_a_row > 300) {
      found.add("holidays", "have more than 300 days in a row", {}, "leave days to work");
      break;
    }
  }
  if (!found.empty()) return found;
  return Done{};
}

Day worked_from(const WorkWeek& week, Day day) {
  for (int i = 0; i < most_days && !is_worked(week, day); ++i) day += days(1);
  return day;
}

Day worked_after(const WorkWeek& week, Day day, int count) {
  const days step(count < 0 ? -1 : 1);
  for (int left = std::abs(count); left > 0; --left) {
    day += step;
    for (int i = 0; i < most_days && !is_worked(week, day); ++i) day += step;
  }
  return day;
}

int worked_between(const WorkWeek& week, Day from, Day to) {
  if (to < from) return -worked_between(week, to, from);
  int count = 0;
  for (Day day = from; day < to; day += days(1)) count += is_worked(week, day) ? 1 : 0;
  return count;
}

Moment moment_of(const WorkWeek& week, Day first, double minute, bool ends) {
  auto whole = static_cast<std::int64_t>(std::llround(std::max(0.0, minute)));
  std::int64_t day = whole / week.minutes_a_day;
  std::int64_t within = whole % week.minutes_a_day;
  if (ends && within == 0 && day > 0) {
    --day;
    within = week.minutes_a_day;
  }
  Moment out;
  out.day = worked_after(week, first, static_cast<int>(std::min<std::int64_t>(day, 20'000)));
  out.minute = week.begins + static_cast<int>(within);
  const bool behind = ends ? out.minute > week.pause_at : out.minute >= week.pause_at;
  if (week.pause > 0 && behind) out.minute += week.pause;
  return out;
}

std::string print_clock(int minute) {
  return two(minute / 60) + ":" + two(minute % 60);
}

}  // namespace roomwright::shop
