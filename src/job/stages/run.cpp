// The run and its calendar: who is at which station when, on which day, what must be ordered by
// when, and what another person would change.
#include <algorithm>
#include <cmath>
#include <map>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

using shop::Day;
using shop::RunTask;
using shop::Station;

shop::RunPiece run_piece(const Piece& piece, const design::Product& product) {
  return {piece.label, piece.product, product.spec.chamfer.nanometres(), product.two_people};
}

std::string hours_text(double minutes) {
  const auto whole = static_cast<int>(std::llround(minutes));
  if (whole < 60) return std::to_string(whole) + " min";
  return std::to_string(whole / 60) + " h" +
         (whole % 60 == 0 ? "" : " " + std::to_string(whole % 60) + " min");
}

namespace {

std::string people_text(int count) {
  static constexpr const char* words[] = {"", "One person", "Two people", "Three people",
                                          "Four people"};
  return count <= 4 ? words[count] : std::to_string(count) + " people";
}

// ---- materials --------------------------------------------------------------------------------

/// Something to buy, and the minute of the run from which it is needed.
struct Need {
  std::string group, name;
  int lead_days = 0;
  double minute = 0;
};

/// The first minute at one of these stations; the end of the run where none is visited.
double first_minute(const shop::RunPlan& plan, std::initializer_list<Station> stations) {
  double first = plan.finish_min;
  for (const RunTask& task : plan.tasks)
    for (const Station station : stations)
      if (task.station == station) first = std::min(first, task.begin_min);
  return first;
}

double hardware_minute(const shop::Rules& rules, const shop::RunPlan& plan,
                       const std::string& key) {
  if (key == rules.corner_screw || key == rules.glue)
    return first_minute(plan, {Station::drill_screw});
  if (key == rules.staple) return first_minute(plan, {Station::back_cloth, Station::face_cloth});
  return first_minute(plan, {Station::finish, Station::pack});
}

std::vector<Need> needs_of(const shop::Shop& shop, const shop::Schedule& schedule,
                           const shop::RunPlan& plan) {
  std::vector<Need> out;
  const double saw = first_minute(plan, {Station::saw});
  for (const auto& one : schedule.sticks)
    if (one.sticks_to_buy > 0)
      out.push_back({"timber", one.name, shop.timber.at(one.section).lead_days, saw});
  for (const auto& one : schedule.cloths)
    if (one.to_buy > Length())
      out.push_back({"cloth", one.name, shop.cloths.at(one.cloth).lead_days,
                     first_minute(plan, {Station::back_cloth, Station::face_cloth})});
  for (const auto& one : schedule.sheets) {
    if (one.packs <= 0) continue;
    if (one.wool)
      out.push_back({"boards", one.name, shop.boards.at(one.key).lead_days,
                     first_minute(plan, {Station::boards})});
    else
      out.push_back({"sheets", one.name, shop.sheets.at(one.key).lead_days, saw});
  }
  for (const auto& one : schedule.hardware)
    if (one.packs > 0)
      out.push_back({"hardware", one.name, shop.hardware.at(one.key).lead_days,
                     hardware_minute(shop.rules, plan, one.key)});
  return out;
}

// ---- days -------------------------------------------------------------------------------------

struct Dates {
  Day start, finish, hang, hung;
  const Need* held_up_by = nullptr;
};

Day comes_on(const shop::WorkWeek& week, Day ordered, const Need& need) {
  return shop::worked_from(week, ordered + std::chrono::days(need.lead_days));
}

/// The first worked day from `today` on which the run can start so that everything has come by the
/// day it is needed, ordered today.
Dates earliest(const shop::WorkWeek& week, Day today, const std::vector<Need>& needs) {
  Dates dates;
  dates.start = shop::worked_from(week, today);
  for (const Need& need : needs) {
    const Day comes = comes_on(week, today, need);
    const auto day = static_cast<int>(need.minute / week.minutes_a_day);
    if (shop::worked_after(week, dates.start, day) >= comes) continue;
    dates.start = shop::worked_after(week, comes, -day);
    dates.held_up_by = &need;
  }
  return dates;
}

Dates dates_of(const Job& job, const shop::WorkWeek& week, const std::vector<Need>& needs,
               double finish_min, std::size_t pieces) {
  const Day today = *shop::read_day(job.date);
  Dates dates = earliest(week, today, needs);
  if (const auto stated = shop::read_day(job.start)) {
    dates.start = shop::worked_from(week, *stated);
    dates.held_up_by = nullptr;
  }
  dates.finish = shop::moment_of(week, dates.start, finish_min, true).day;
  dates.hang = shop::worked_after(week, dates.finish, 1);
  const double site =
      job.shop.terms.site_minutes_set_up + job.shop.terms.site_minutes_per_piece * double(pieces);
  const int days = std::max(1, static_cast<int>(std::ceil(site / week.minutes_a_day - 1e-9)));
  dates.hung = shop::worked_after(week, dates.hang, days - 1);
  return dates;
}

int days_late(const Job& job, const shop::WorkWeek& week, Day hung) {
  const auto due = shop::read_day(job.due);
  return due && hung > *due
             ? shop::worked_between(week, *due + std::chrono::days(1), hung + std::chrono::days(1))
             : 0;
}

/// A task over the end of a day stands on both.
void add_days(const shop::WorkWeek& week, Day start, const RunTask& task,
              std::vector<DayTask>& out) {
  std::vector<int> people;
  for (const int who : task.people) people.push_back(who + 1);
  // Whole minutes first, so that nobody's end falls behind his next begin.
  const auto begin = std::llround(task.begin_min), end = std::llround(task.end_min);
  const std::int64_t day = week.minutes_a_day;
  for (std::int64_t from = begin; from < end || from == begin;) {
    const std::int64_t to = std::min<std::int64_t>(end, (from / day + 1) * day);
    const shop::Moment begins = shop::moment_of(week, start, double(from));
    const shop::Moment ends = shop::moment_of(week, start, double(to), to > from);
    out.push_back({shop::print_day(begins.day), shop::print_clock(begins.minute),
                   shop::print_clock(ends.minute), people,
                   task.station_title + (from > begin ? ", continued" : ""), task.what});
    if (to == end) break;
    from = to;
  }
}

/// What the same people go on with without a gap is one task.
std::vector<DayTask> joined_tasks(const std::vector<DayTask>& tasks) {
  std::vector<DayTask> out;
  std::map<int, std::size_t> last;  // by person
  for (const DayTask& task : tasks) {
    std::size_t before = tasks.size();
    bool same = true;
    for (std::size_t i = 0; i < task.people.size(); ++i) {
      const auto known = last.find(task.people[i]);
      const std::size_t at = known == last.end() ? tasks.size() : known->second;
      same = same && (i == 0 || at == before);
      before = at;
    }
    if (same && before < out.size() && out[before].people == task.people &&
        out[before].day == task.day && out[before].what == task.what &&
        out[before].to == task.from) {
      out[before].to = task.to;
      out[before].pieces += "; " + task.pieces;
      continue;
    }
    for (const int who : task.people) last[who] = out.size();
    out.push_back(task);
  }
  return out;
}

CalendarSheet calendar_of(const Job& job, const shop::RunPlan& plan, const shop::WorkWeek& week,
                          const std::vector<Need>& needs, std::size_t pieces) {
  const Dates dates = dates_of(job, week, needs, plan.finish_min, pieces);
  CalendarSheet out;
  out.start = shop::print_day(dates.start);
  out.finish = shop::print_day(dates.finish);
  out.hang = shop::print_day(dates.hang);
  out.hung = shop::print_day(dates.hung);
  out.due = job.due;
  out.days_late = days_late(job, week, dates.hung);
  if (dates.held_up_by) out.held_up_by = dates.held_up_by->name;
  for (const Need& need : needs) {
    const Day needed =
        shop::worked_after(week, dates.start, static_cast<int>(need.minute / week.minutes_a_day));
    const Day order_by = needed - std::chrono::days(need.lead_days);
    out.materials.push_back({need.group, need.name, need.lead_days, shop::print_day(needed),
                             shop::print_day(order_by), order_by < *shop::read_day(job.date)});
  }
  std::stable_sort(
      out.materials.begin(), out.materials.end(),
      [](const MaterialDate& a, const MaterialDate& b) { return a.order_by < b.order_by; });
  for (const RunTask& task : plan.tasks) add_days(week, dates.start, task, out.tasks);
  out.tasks = joined_tasks(out.tasks);
  return out;
}

// ---- sentences --------------------------------------------------------------------------------

std::string weekday(const std::string& day) {
  return shop::print_weekday(*shop::read_day(day));
}

void say_run(const BuildSheet& sheet, std::vector<Statement>& out) {
  const shop::RunPlan& plan = sheet.run.plan;
  std::string text = people_text(plan.people) + (plan.people == 1 ? " is" : " are") +
                     " through in " + hours_text(plan.finish_min) + " of work";
  text += plan.proven ? ", and no other order of these lots is sooner"
                      : "; the least that any order could take is " + hours_text(plan.bound_min);
  out.push_back({0, "run", text + ".", "", ""});
  if (plan.two_wanted)
    out.push_back({20, "run", "Some pieces are lifted by two people, and the shop has one.",
                   "the rules say from which weight and length two lift",
                   "ask for a second pair of hands at the last two stations"});
}

void say_dates(const CalendarSheet& calendar, std::vector<Statement>& out) {
  const bool one_day = calendar.start == calendar.finish;
  std::string text =
      "In the shop " +
      (one_day ? "on " + weekday(calendar.start)
               : "from " + weekday(calendar.start) + " to " + weekday(calendar.finish)) +
      "; it can hang from " + weekday(calendar.hang);
  if (calendar.hung != calendar.hang) text += " and is done on " + weekday(calendar.hung);
  if (!calendar.held_up_by.empty()) text += "; " + calendar.held_up_by + " must be waited for";
  out.push_back({0, "calendar", text + ".", "", ""});
  for (const MaterialDate& one : calendar.materials)
    if (one.late)
      out.push_back({70, "calendar",
                     one.name + " is needed on " + weekday(one.needed) + " and takes " +
                         std::to_string(one.lead_days) + " days: it should have been ordered by " +
                         weekday(one.order_by) + ".",
                     "the start that the job states", "start later, or find it sooner"});
}

void say_late(const CalendarSheet& calendar, const std::vector<CrewRow>& crew, int people,
              std::vector<Statement>& out) {
  if (calendar.due.empty()) return;
  if (calendar.days_late == 0) {
    out.push_back(
        {0, "calendar", "It hangs by " + weekday(calendar.due) + ", as promised.", "", ""});
    return;
  }
  std::string help;
  for (const CrewRow& row : crew) {
    if (row.people <= people || row.days_late >= calendar.days_late) continue;
    const int gain = calendar.days_late - row.days_late;
    help = people_text(row.people) + " would be " + std::to_string(gain) +
           (gain == 1 ? " day" : " days") + " sooner" +
           (row.days_late == 0 ? ", in time" : ", still late");
    if (row.days_late == 0) break;
  }
  if (help.empty())
    help =
        calendar.held_up_by.empty()
            ? "more people would not help; longer days, an earlier start or a later promise would"
            : "more people would not help while " + calendar.held_up_by + " is waited for";
  out.push_back({80, "calendar",
                 "It hangs on " + weekday(calendar.hung) + ", " +
                     std::to_string(calendar.days_late) +
                     (calendar.days_late == 1 ? " worked day" : " worked days") +
                     " later than the promised " + weekday(calendar.due) + ".",
                 "", help + "."});
}

Result<shop::RunPlan> plan_with(const Job& job, const std::vector<shop::RunPiece>& pieces,
                                const BuildSheet& sheet, int people, std::int64_t nodes,
                                const Watch& watch) {
  shop::RunRequest request;
  request.parts = &sheet.parts;
  request.shop = &job.shop;
  request.schedule = &sheet.schedule;
  request.pieces = pieces;
  request.people = people;
  request.max_nodes = nodes;
  request.watch = watch;
  return shop::plan_run(request);
}

}  // namespace

Result<Done> plan_time(const Job& job, const std::vector<shop::RunPiece>& pieces, BuildSheet& sheet,
                       const Watch& watch) {
  constexpr std::int64_t nodes = 40'000, nodes_beside = 10'000;
  const shop::WorkWeek week = shop::week_of(job.shop.hours);
  const int people = job.shop.line.people;
  shop::RunPlan fewer;
  fewer.people = 0;
  for (int count = 1; count <= std::max(4, people); ++count) {
    auto plan = plan_with(job, pieces, sheet, count, count == people ? nodes : nodes_beside,
                          watch.part(0.72, 0.78));
    if (!plan) return plan.mistakes();
    // Another person may stand by: no plan need be later for it.
    if (fewer.people > 0 && !fewer.two_wanted && fewer.finish_min < plan->finish_min) {
      fewer.people = count;
      fewer.busy_min.push_back(0);
      fewer.bound_min = std::min(plan->bound_min, fewer.finish_min);
      fewer.proven = plan->bound_min >= fewer.finish_min;
      *plan = fewer;
    }
    fewer = *plan;
    const auto needs = needs_of(job.shop, sheet.schedule, *plan);
    const Dates dates = dates_of(job, week, needs, plan->finish_min, pieces.size());
    sheet.run.crew.push_back({count, plan->finish_min, plan->bound_min, plan->proven,
                              shop::print_day(dates.finish), shop::print_day(dates.hung),
                              days_late(job, week, dates.hung)});
    if (count != people) continue;
    sheet.calendar = calendar_of(job, *plan, week, needs, pieces.size());
    sheet.run.plan = std::move(*plan);
  }
  say_run(sheet, sheet.statements);
  say_dates(sheet.calendar, sheet.statements);
  say_late(sheet.calendar, sheet.run.crew, people, sheet.statements);
  return Done{};
}

}  // namespace roomwright::job
