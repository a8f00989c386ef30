// The bench's log as text: one session a line, every mistake at once.
#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "shop/calendar/calendar.h"
#include "shop/learning/learning.h"

namespace roomwright::shop {

namespace {

std::string trimmed(std::string_view text) {
  const auto blank = [](char sign) { return sign == ' ' || sign == '\t' || sign == '\r'; };
  while (!text.empty() && blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && blank(text.back())) text.remove_suffix(1);
  return std::string(text);
}

std::vector<std::string> split(std::string_view text, char between) {
  std::vector<std::string> out;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= text.size(); ++i)
    if (i == text.size() || text[i] == between) {
      out.push_back(trimmed(text.substr(from, i - from)));
      from = i + 1;
    }
  return out;
}

/// A number above 0 and at most `most`, written with digits and a point; NaN for anything else.
double number_of(const std::string& text, double most) {
  const bool plain = !text.empty() && text.size() < 20 &&
                     text.find_first_not_of("0123456789.") == std::string::npos &&
                     std::count(text.begin(), text.end(), '.') < 2 && text != ".";
  const double value = plain ? std::strtod(text.c_str(), nullptr) : std::nan("");
  return value > 0 && value <= most ? value : std::nan("");
}

struct LogReader {
  const Times& times;
  Diagnostics found;
  int line = 0;

  void wrong(const char* where, const char* what, const std::string& got, std::string remedy) {
    found.add({where, what, "\"" + got.substr(0, 60) + "\"", std::move(remedy), line});
  }

  std::vector<std::pair<std::string, double>> work(const std::string& text) {
    std::vector<std::pair<std::string, double>> out;
    for (const std::string& one : split(text, ';')) {
      const auto gap = one.find_last_of(" \t");
      const std::string feature =
          trimmed(one.substr(0, gap == std::string::npos ? one.size() : gap));
      const std::string count = gap == std::string::npos ? "" : trimmed(one.substr(gap + 1));
      if (feature != "set_up" && !times.each_min.count(feature))
        wrong("work", "names no feature of the shop's times", feature,
              "such as cut 64; stop_setting 5, or set_up 1");
      const double many = number_of(count, 1e6);
      if (std::isnan(many))
        wrong("work", "must have a count above 0 behind each feature", one, "such as cut 64");
      out.emplace_back(feature, many);
    }
    return out;
  }

  TimeLog row(const std::vector<std::string>& cells) {
    TimeLog log;
    log.line = line;
    log.date = cells[0];
    log.person = cells[1];
    log.station = cells[2];
    if (!read_day(log.date))
      wrong("date", "is not a date", log.date, "year-month-day, such as 2026-11-20");
    if (log.person.empty() || log.person.size() > 40)
      wrong("person", "must be a label of 1 to 40 bytes", log.person, "such as a");
    if (!times.set_up_min.count(log.station)) {
      std::string names;
      for (const auto& [name, minutes] : times.set_up_min)
        names += (names.empty() ? "" : ", ") + name;
      wrong("station", "is none of the shop's stations", log.station, "one of " + names);
    }
    log.work = work(cells[3]);
    log.minutes = number_of(cells[4], 2000);
    if (std::isnan(log.minutes))
      wrong("minutes", "must be a number above 0 and at most 2000", cells[4], "such as 42.5");
    return log;
  }
};

}  // namespace

Result<std::vector<TimeLog>> read_time_logs(std::string_view text, const Times& times) {
  LogReader reader{times, {}, 0};
  std::vector<TimeLog> logs;
  bool headed = false;
  for (const std::string& line : split(text, '\n')) {
    ++reader.line;
    if (line.empty() || line[0] == '#') continue;
    if (!headed) {
      headed = true;
      if (line == "date,person,station,work,minutes") continue;
      reader.wrong("", "must begin with the names of its columns", line,
                   "date,person,station,work,minutes");
      continue;
    }
    const auto cells = split(line, ',');
    if (cells.size() != 5) {
      reader.wrong("", "must have five columns", line,
                   "date,person,station,work,minutes; work as cut 64; stop_setting 5");
      continue;
    }
    if (logs.size() == most_time_logs) {
      reader.wrong("", "is one line too many", line, "at most 20000; begin a new file");
      break;
    }
    logs.push_back(reader.row(cells));
  }
  if (!headed && reader.found.empty())
    reader.wrong("", "is empty", "", "begin with date,person,station,work,minutes");
  constexpr std::size_t most_told = 300;
  if (reader.found.size() > most_told) {
    const std::size_t more = reader.found.size() - most_told;
    reader.found.items().resize(most_told);
    reader.found.add("", "has " + std::to_string(more) + " more mistakes", {}, "mend these first");
  }
  if (!reader.found.empty()) return reader.found;
  return logs;
}

}  // namespace roomwright::shop
