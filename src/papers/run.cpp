// The run as bars by person and by station, the calendar, and what several jobs pay for one run.
#include <algorithm>
#include <cmath>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Text;

namespace {

/// Short names, as they fit into a bar.
std::string short_station(const shop::RunTask& task) {
  static constexpr const char* names[] = {"saw",    "screw", "rout",   "sand", "back",
                                          "boards", "cloth", "finish", "pack"};
  static_assert(sizeof names / sizeof names[0] == shop::station_count, "a name a station");
  if (task.ahead) return task.station == shop::Station::boards ? "cut boards" : "cut cloth";
  return names[static_cast<int>(task.station)];
}

/// One bar; the first of its texts that fits stands in it.
struct Bar {
  double begin_min = 0, start_min = 0, end_min = 0;
  bool ahead = false;
  std::vector<std::string> texts;
};
struct BarRow {
  std::string label;
  shop::Station station = shop::Station::saw;
  bool ahead = false;
  std::vector<Bar> bars;
};

std::string persons_text(const std::vector<int>& people, int from) {
  std::string out;
  for (const int who : people) out += (out.empty() ? "" : "+") + std::to_string(who + from);
  return out;
}

/// Minutes between two ticks of the axis, so that there are at most sixteen.
double tick_step(double minutes) {
  for (const double step : {15.0, 30.0, 60.0, 120.0, 240.0, 480.0})
    if (minutes / step <= 16) return step;
  return 960;
}

struct BarChart {
  double finish_min = 0, day_min = 0;
  std::vector<std::string> days;  ///< in order, as the axis names them
  double row_mm = 9;
  double label_mm = 62;

  double height(std::size_t rows) const { return double(rows) * row_mm + 11; }

  void axis(drawing::Sheet& sheet, Vec2 from, double right, double bottom) const {
    const double left = from.x + label_mm, scale = (right - left) / finish_min;
    const double step = tick_step(finish_min);
    for (double at = 0; at <= finish_min + 1e-9; at += step) {
      const double x = left + at * scale;
      sheet.shapes.push_back(Line{{x, from.y}, {x, bottom}, {Ink::corridor, 0.15, Dash::none}});
      sheet.shapes.push_back(Text{{x, bottom + 3.4},
                                  fixed(at / 60, step < 60 ? 2 : 0) + " h",
                                  2.3,
                                  false,
                                  Anchor::centre,
                                  0,
                                  Ink::graphite});
    }
    for (std::size_t day = 0; double(day) * day_min < finish_min; ++day) {
      const double x = left + double(day) * day_min * scale;
      sheet.shapes.push_back(
          Line{{x, from.y}, {x, bottom + 7.5}, {Ink::graphite, 0.35, Dash::dashed}});
      const double room = std::min(day_min, finish_min - double(day) * day_min) * scale - 2;
      if (day < days.size())
        sheet.shapes.push_back(Text{{x + 1, bottom + 7.2},
                                    drawing::fitted(days[day], 2.5, room, true),
                                    2.5,
                                    true,
                                    Anchor::left,
                                    0,
                                    Ink::ink});
    }
  }

  void bar(drawing::Sheet& sheet, const Bar& one, double left, double scale, double top) const {
    const double y0 = top + 1, y1 = top + row_mm - 1;
    const double begin = left + one.begin_min * scale, start = left + one.start_min * scale,
                 end = left + one.end_min * scale;
    const drawing::Pen pen{Ink::chalk_blue, 0.3, one.ahead ? Dash::dashed : Dash::none};
    if (start > begin + 0.2) {
      drawing::Path set_up = drawing::rectangle({begin, y0}, {start, y1}, pen);
      set_up.hatched = true;
      sheet.shapes.push_back(set_up);
    }
    sheet.shapes.push_back(drawing::filled_rectangle({start, y0}, {end, y1},
                                                     one.ahead ? Ink::paper : Ink::corridor, pen));
    const double size = std::min(2.6, row_mm - 3.5);
    for (const std::string& text : one.texts) {
      if (drawing::text_width_mm(text, size) > end - start - 1) continue;
      sheet.shapes.push_back(Text{{start + 0.6, (y0 + y1) / 2 + size * 0.35},
                                  text,
                                  size,
                                  false,
                                  Anchor::left,
                                  0,
                                  Ink::ink});
      return;
    }
  }

  void draw(drawing::Sheet& sheet, const std::vector<BarRow>& rows, Vec2 from, Vec2 to) const {
    const double bottom = from.y + double(rows.size()) * row_mm;
    axis(sheet, from, to.x, bottom);
    const double left = from.x + label_mm, scale = (to.x - left) / finish_min;
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const double top = from.y + double(r) * row_mm;
      sheet.shapes.push_back(Line{{from.x, top}, {to.x, top}, {Ink::corridor, 0.15, Dash::none}});
      sheet.shapes.push_back(Text{{from.x, top + row_mm / 2 + 1},
                                  drawing::fitted(rows[r].label, 2.8, label_mm - 2, true),
                                  2.8,
                                  true,
                                  Anchor::left,
                                  0,
                                  Ink::ink});
      for (const Bar& one : rows[r].bars) bar(sheet, one, left, scale, top);
    }
  }
};

/// Stretches at one station without a gap are one bar.
std::vector<BarRow> rows_by_person(const shop::RunPlan& plan) {
  std::vector<BarRow> rows;
  for (int who = 0; who < plan.people; ++who) {
    BarRow row;
    row.label = "Person " + std::to_string(who + 1) + ", " +
                fixed(100 * plan.busy_min[std::size_t(who)] / plan.finish_min, 0) + " % busy";
    const shop::RunTask* last = nullptr;
    for (const shop::RunTask& task : plan.tasks) {
      if (std::find(task.people.begin(), task.people.end(), who) == task.people.end()) continue;
      const bool goes_on = last && last->station == task.station && last->ahead == task.ahead &&
                           task.start_min - last->end_min < 0.5;
      if (goes_on)
        row.bars.back().end_min = task.end_min;
      else
        row.bars.push_back(
            {task.begin_min, task.start_min, task.end_min, task.ahead, {short_station(task)}});
      last = &task;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<BarRow> rows_by_station(const shop::RunPlan& plan) {
  std::vector<BarRow> rows;
  for (const shop::RunTask& task : plan.tasks) {
    auto row = std::find_if(rows.begin(), rows.end(), [&](const BarRow& one) {
      return one.station == task.station && one.ahead == task.ahead;
    });
    if (row == rows.end()) {
      rows.push_back({task.station_title, task.station, task.ahead, {}});
      row = rows.end() - 1;
    }
    const std::string who = persons_text(task.people, 1);
    row->bars.push_back(
        {task.begin_min, task.start_min, task.end_min, task.ahead, {who + ": " + task.what, who}});
  }
  std::stable_sort(rows.begin(), rows.end(), [](const BarRow& a, const BarRow& b) {
    const auto rank = [](const BarRow& row) {
      return row.ahead ? -1 : static_cast<int>(row.station);
    };
    return rank(a) < rank(b);
  });
  return rows;
}

/// The worked days of the run, in order.
std::vector<std::string> run_days(const job::CalendarSheet& calendar) {
  std::vector<std::string> days;
  for (const job::DayTask& task : calendar.tasks)
    if (std::find(days.begin(), days.end(), task.day) == days.end()) days.push_back(task.day);
  std::sort(days.begin(), days.end());
  for (std::string& day : days) day = shop::print_weekday(*shop::read_day(day));
  return days;
}

std::string hours_and_minutes(double minutes) {
  const auto whole = static_cast<int>(std::llround(minutes));
  return std::to_string(whole / 60) + " h " + (whole % 60 < 10 ? "0" : "") +
         std::to_string(whole % 60);
}

void crew_table(Flow& flow, const job::BuildSheet& build) {
  std::vector<Cells> rows;
  for (const job::CrewRow& row : build.run.crew)
    rows.push_back({std::to_string(row.people), hours_and_minutes(row.finish_min),
                    row.proven ? "proven" : "at least " + hours_and_minutes(row.bound_min),
                    row.finished, row.hung,
                    build.calendar.due.empty() ? ""
                    : row.days_late == 0       ? "in time"
                                               : std::to_string(row.days_late) +
                                               (row.days_late == 1 ? " day late" : " days late")});
  flow.table(
      {{"people", 0.7, Align::right},
       {"through in", 1, Align::right},
       {"least for these lots", 1.4, Align::right},
       {"done in the shop", 1.3, Align::right},
       {"hung", 1.2, Align::right},
       {build.calendar.due.empty() ? "" : "promised " + build.calendar.due, 1.5, Align::right}},
      rows, 2.8);
}

void calendar_pages(Flow& flow, const job::BuildSheet& build) {
  const job::CalendarSheet& calendar = build.calendar;
  flow.keep_together(50);
  flow.heading("On which days?");
  for (const auto& statement : build.statements)
    if (statement.topic == "calendar") flow.paragraph(statement.sentence, 3.4);
  flow.keep_together(30);
  flow.heading("What must be ordered by when?");
  std::vector<Cells> rows;
  for (const job::MaterialDate& one : calendar.materials)
    rows.push_back({one.group, one.name, std::to_string(one.lead_days), one.needed,
                    one.order_by + (one.late ? ", too late" : ""), ""});
  flow.table({{"group", 0.8, Align::left},
              {"what", 2.6, Align::left},
              {"days to come", 0.9, Align::right},
              {"needed on", 1, Align::right},
              {"order by", 1.3, Align::right},
              {"done", 0.5, Align::left}},
             rows, 2.7);
  std::string day;
  rows.clear();
  const std::vector<Column> columns{{"from", 0.5, Align::right}, {"to", 0.5, Align::right},
                                    {"who", 0.4, Align::right},  {"what", 2.6, Align::left},
                                    {"pieces", 3, Align::left},  {"done", 0.4, Align::left}};
  std::vector<job::DayTask> tasks = calendar.tasks;
  std::stable_sort(tasks.begin(), tasks.end(), [](const job::DayTask& a, const job::DayTask& b) {
    return std::pair(a.day, a.from) < std::pair(b.day, b.from);
  });
  const auto flush = [&] {
    if (rows.empty()) return;
    flow.keep_together(30);
    flow.heading(shop::print_weekday(*shop::read_day(day)));
    flow.table(columns, rows, 2.7);
    rows.clear();
  };
  for (const job::DayTask& task : tasks) {
    if (task.day != day) flush();
    day = task.day;
    rows.push_back({task.from, task.to, persons_text(task.people, 0), task.what, task.pieces, ""});
  }
  flush();
}

Paper run_of(const job::Job& job, const job::BuildSheet& build) {
  Flow flow(job, {"The run", units_name(job), "", false, false}, true);
  const shop::RunPlan& plan = build.run.plan;
  if (plan.tasks.empty()) {
    flow.finding("Nothing is built.");
    return {"17-run", "The run", flow.finish(), false, {}};
  }
  for (const auto& statement : build.statements)
    if (statement.topic == "run") flow.finding(statement.sentence);
  const BarChart chart{plan.finish_min, double(job.shop.hours.per_day_min),
                       run_days(build.calendar)};
  flow.heading("Who is where when?");
  const auto people = rows_by_person(plan);
  flow.picture(chart.height(people.size()), [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    chart.draw(sheet, people, from, to);
  });
  flow.paragraph(
      "Hatched: setting up. Dashed: cut to size ahead of the frames. Hours of work, without "
      "pauses.",
      2.5, Ink::graphite);
  BarChart low = chart;
  low.row_mm = 7;
  const auto stations = rows_by_station(plan);
  flow.keep_together(low.height(stations.size()) + 12);
  flow.heading("What is at which station when, and with whom?");
  flow.picture(low.height(stations.size()), [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    low.draw(sheet, stations, from, to);
  });
  flow.keep_together(45);
  flow.heading("What would more or fewer people make of it?");
  crew_table(flow, build);
  flow.paragraph("Glue and other waits hold nobody. " + std::to_string(plan.lots) +
                     " lots, at most " + std::to_string(plan.most_in_lot) +
                     (plan.most_in_lot == 1 ? " piece" : " pieces") +
                     " each; pieces of a lot follow each other from station to station.",
                 2.6, Ink::graphite);
  calendar_pages(flow, build);
  return {"17-run", "The run", flow.finish(), false, {}};
}

}  // namespace

Paper run_paper(const job::Job& job, const job::Pack& pack) {
  return run_of(job, pack.build);
}

namespace {

Paper shares_paper(const job::TogetherSheet& sheet) {
  const auto money = [&](Money amount) { return print_money(amount, sheet.job.shop.currency); };
  Flow flow(sheet.job,
            {"Shares of the run, for the shop alone", units_name(sheet.job), "", false, false});
  for (const auto& statement : sheet.statements)
    if (statement.topic == "together") {
      if (&statement == &sheet.statements.front())
        flow.finding(statement.sentence);
      else
        flow.paragraph(statement.sentence, 3.2);
    }
  flow.heading("Who pays what?");
  std::vector<Cells> rows;
  job::TogetherJob sum;
  for (const auto& one : sheet.jobs) {
    rows.push_back({one.mark, one.title, std::to_string(one.pieces), money(one.alone),
                    money(one.share), money(one.from_rack), money(one.pays)});
    sum.pieces += one.pieces;
    sum.alone += one.alone;
    sum.share += one.share;
    sum.from_rack += one.from_rack;
    sum.pays += one.pays;
  }
  rows.push_back({"", "all", std::to_string(sum.pieces), money(sum.alone), money(sum.share),
                  money(sum.from_rack), money(sum.pays)});
  flow.table({{"mark", 0.5, Align::left},
              {"job", 2.4, Align::left},
              {"pieces", 0.6, Align::right},
              {"alone", 1.1, Align::right},
              {"share", 1.1, Align::right},
              {"from the rack", 1.1, Align::right},
              {"pays", 1.1, Align::right}},
             rows, 2.8, true);
  flow.paragraph(
      "Material at purchase prices and labour in the shop; overhead, margin, site and tax are each "
      "job's own. Alone and share are reckoned with an empty rack; what the rack saves is shared "
      "as the material is.",
      2.7);
  flow.heading("Where does the saving come from?");
  rows.clear();
  for (const auto& part : sheet.parts)
    rows.push_back(
        {part.name, money(part.apart), money(part.together), money(part.apart - part.together)});
  rows.push_back(
      {"all", money(sheet.apart), money(sheet.together), money(sheet.apart - sheet.together)});
  flow.table({{"what", 3, Align::left},
              {"apart", 1.2, Align::right},
              {"together", 1.2, Align::right},
              {"saved", 1.2, Align::right}},
             rows, 2.8, true);
  return {"01-shares", "Shares of the run", flow.finish(), false, {}};
}

}  // namespace

std::vector<Paper> together_papers(const job::TogetherSheet& sheet) {
  job::Pack pack;
  pack.build = sheet.build;
  std::vector<Paper> out{shares_paper(sheet), cut_paper(sheet.job, pack),
                         flat_paper(sheet.job, pack), station_paper(sheet.job, pack),
                         run_paper(sheet.job, pack)};
  const char* const names[] = {"01-shares", "02-cut-sheet", "03-cloth-and-boards", "04-stations",
                               "05-run"};
  for (std::size_t i = 0; i < out.size(); ++i) out[i].name = names[i];
  return out;
}

}  // namespace roomwright::papers
