// The shop's times: the bench's log beside the shop file, what it says, and the shop file with new
// minutes, changed line by line so that all else in it stays as someone wrote it.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/api/api.h"

namespace roomwright::app {

std::string time_log_of(const std::string& shop_path) {
  std::filesystem::path path(shop_path);
  path.replace_extension(".times.csv");
  return path.string();
}

Result<TimesReport> learn_from_log(const std::string& shop_path, const std::string& log_path) {
  const auto shop_text = read_file(shop_path, 4u << 20);
  if (!shop_text) return shop_text.mistakes();
  const auto shop = job::read_shop_file(*shop_text);
  if (!shop) return shop.mistakes();
  TimesReport report;
  report.shop_path = shop_path;
  report.log_path = log_path.empty() ? time_log_of(shop_path) : log_path;
  const auto log_text = read_file(report.log_path, 8u << 20);
  if (!log_text) return log_text.mistakes();
  const auto logs = shop::read_time_logs(*log_text, shop->times);
  if (!logs) return logs.mistakes();
  auto estimates = shop::learn_times(shop->times, *logs);
  if (!estimates) return estimates.mistakes();
  report.logs = logs->size();
  report.estimates = std::move(*estimates);
  return report;
}

Result<Done> note_time(const std::string& shop_path, const std::string& log_path,
                       const std::string& line) {
  const auto shop_text = read_file(shop_path, 4u << 20);
  if (!shop_text) return shop_text.mistakes();
  const auto shop = job::read_shop_file(*shop_text);
  if (!shop) return shop.mistakes();
  const std::string path = log_path.empty() ? time_log_of(shop_path) : log_path;
  std::string text = "date,person,station,work,minutes\n";
  if (std::filesystem::exists(path)) {
    const auto old = read_file(path, 8u << 20);
    if (!old) return old.mistakes();
    text = *old;
  }
  const auto before = shop::read_time_logs(text, shop->times);
  if (!before) return before.mistakes();
  if (!text.empty() && text.back() != '\n') text += '\n';
  text += line + "\n";
  const auto after = shop::read_time_logs(text, shop->times);
  if (!after) return after.mistakes();
  if (after->size() != before->size() + 1)
    return Complaint{"note", "must be one session", "\"" + line.substr(0, 80) + "\"",
                     "date,person,station,work,minutes: 2026-11-20,a,saw,set_up 1,14", 0};
  return write_file(path, text);
}

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out(1);
  for (const char sign : text)
    if (sign == '\n')
      out.emplace_back();
    else
      out.back() += sign;
  return out;
}

std::string bare(const std::string& text) {
  const auto from = text.find_first_not_of(" \t\r");
  if (from == std::string::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

/// Whether a line opens the table, whatever stands behind it in a comment.
bool opens(const std::string& line, const std::string& table) {
  return bare(line.substr(0, line.find('#'))) == "[" + table + "]";
}

/// Sets a key of a table: its line where there is one, else a line behind the table's head, else
/// the table at the end.
void set_line(std::vector<std::string>& lines, const std::string& table, const std::string& key,
              const std::string& value) {
  std::size_t head = 0;
  while (head < lines.size() && !opens(lines[head], table)) ++head;
  if (head == lines.size()) {
    while (!lines.empty() && bare(lines.back()).empty()) lines.pop_back();
    for (const std::string& line :
         {std::string(), "[" + table + "]", key + " = " + value, std::string()})
      lines.push_back(line);
    return;
  }
  for (std::size_t i = head + 1; i < lines.size(); ++i) {
    const std::string line = bare(lines[i]);
    if (!line.empty() && line[0] == '[') break;
    const auto equals = line.find('=');
    if (equals == std::string::npos || bare(line.substr(0, equals)) != key) continue;
    const auto comment = line.find('#');
    lines[i] =
        key + " = " + value + (comment == std::string::npos ? "" : " " + line.substr(comment));
    return;
  }
  lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(head) + 1, key + " = " + value);
}

std::string joined_lines(const std::vector<std::string>& lines) {
  std::string out;
  for (std::size_t i = 0; i < lines.size(); ++i) out += (i == 0 ? "" : "\n") + lines[i];
  return out;
}

/// `set_up.saw` as table and key.
std::pair<std::string, std::string> place_of(const std::string& key) {
  const auto dot = key.find('.');
  return {key.substr(0, dot), key.substr(dot + 1)};
}

bool holds_all(const std::string& text, const std::vector<shop::TimeEstimate>& estimates) {
  const auto shop = job::read_shop_file(text);
  if (!shop) return false;
  return std::all_of(estimates.begin(), estimates.end(), [&](const shop::TimeEstimate& one) {
    const auto [table, key] = place_of(one.key);
    const auto& times = table == "set_up" ? shop->times.set_up_min : shop->times.each_min;
    return !one.moves || std::abs(times.at(key) - one.proposal_min) < 1e-9 * one.proposal_min;
  });
}

}  // namespace

Result<std::string> with_times(const std::string& shop_text,
                               const std::vector<shop::TimeEstimate>& estimates) {
  std::string by_hand;
  std::vector<std::string> lines = lines_of(shop_text);
  for (const shop::TimeEstimate& one : estimates) {
    if (!one.moves) continue;
    const auto [table, key] = place_of(one.key);
    set_line(lines, "times." + table, key, shortest(one.proposal_min));
    by_hand +=
        (by_hand.empty() ? "" : ", ") + table + "." + key + " = " + shortest(one.proposal_min);
  }
  if (by_hand.empty()) return shop_text;
  const std::string text = joined_lines(lines);
  if (holds_all(text, estimates)) return text;
  return Complaint{"times",
                   "cannot be set line by line in this file",
                   {},
                   "write them under [times] yourself: " + by_hand,
                   0};
}

Result<Done> write_times(TimesReport& report) {
  const auto text = read_file(report.shop_path, 4u << 20);
  if (!text) return text.mistakes();
  const auto changed = with_times(*text, report.estimates);
  if (!changed) return changed.mistakes();
  if (const auto written = write_file(report.shop_path, *changed); !written) return written;
  report.written = true;
  return Done{};
}

Json times_json(const TimesReport& report) {
  Json estimates = Json::array();
  const auto rounded = [](double value) { return std::round(value * 1e4) / 1e4; };
  for (const auto& one : report.estimates)
    estimates.push_back({{"key", one.key},
                         {"standard_min", one.standard_min},
                         {"estimate_min", rounded(one.estimate_min)},
                         {"low_min", rounded(one.low_min)},
                         {"high_min", rounded(one.high_min)},
                         {"logs", one.logs},
                         {"days", one.days},
                         {"moves", one.moves},
                         {"proposal_min", rounded(one.proposal_min)},
                         {"sentence", one.sentence}});
  return {{"logs", report.logs}, {"estimates", estimates}, {"written", report.written}};
}

}  // namespace roomwright::app
