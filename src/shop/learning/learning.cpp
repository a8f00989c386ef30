// The posterior on a fixed grid, and what follows for each standard; see learning.h.
#include "shop/learning/learning.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <set>

#include "shop/learning/mixed.h"

namespace roomwright::shop {

namespace {

constexpr int ratio_cells = 320;   ///< over five prior deviations each way
constexpr int scatter_cells = 25;  ///< over three each way
constexpr double student_freedom = 4;

/// Density of the median's logarithm on the grid, summed over how widely days may scatter.
std::vector<double> posterior(const std::vector<double>& days, const LearningOptions& options,
                              std::vector<double>& at) {
  const double reach = 5 * options.prior_spread;
  std::vector<double> density(ratio_cells + 1, 0);
  std::vector<std::vector<double>> logs;
  double greatest = -1e300;
  at.clear();
  for (int i = 0; i <= ratio_cells; ++i) at.push_back(-reach + 2 * reach * i / ratio_cells);
  for (int j = 0; j < scatter_cells; ++j) {
    const double off = -3.0 + 6.0 * j / (scatter_cells - 1);
    const double scatter = options.day_scatter * std::exp(off * options.scatter_spread);
    logs.emplace_back();
    for (const double mu : at) {
      double sum =
          -0.5 * off * off - 0.5 * (mu / options.prior_spread) * (mu / options.prior_spread);
      for (const double day : days) {
        const double z = (day - mu) / scatter;
        sum -=
            std::log(scatter) + 0.5 * (student_freedom + 1) * std::log1p(z * z / student_freedom);
      }
      logs.back().push_back(sum);
      greatest = std::max(greatest, sum);
    }
  }
  for (const auto& row : logs)
    for (std::size_t i = 0; i < row.size(); ++i) density[i] += std::exp(row[i] - greatest);
  return density;
}

/// Where the given share of the density lies below, linear within a cell.
double percentile(const std::vector<double>& at, const std::vector<double>& density, double share) {
  double whole = 0;
  for (std::size_t i = 1; i < at.size(); ++i) whole += (density[i] + density[i - 1]) / 2;
  double below = 0;
  for (std::size_t i = 1; i < at.size(); ++i) {
    const double cell = (density[i] + density[i - 1]) / 2;
    if (below + cell >= share * whole && cell > 0)
      return at[i - 1] + (at[i] - at[i - 1]) * (share * whole - below) / cell;
    below += cell;
  }
  return at.back();
}

/// Minutes of one day and person at one feature: what was taken, and what the standard says.
struct DayMinutes {
  double taken = 0, standard = 0;
};
using NotedDay = std::pair<std::string, std::string>;
struct Noted {
  double standard_min = 0;
  int logs = 0;
  std::map<NotedDay, DayMinutes> days;
};

double standard_of(const Times& times, const std::string& station, const std::string& feature) {
  const auto& table = feature == "set_up" ? times.set_up_min : times.each_min;
  const auto found = table.find(feature == "set_up" ? station : feature);
  return found == table.end() ? 0 : found->second;
}
std::string key_of(const TimeLog& log, const std::string& feature) {
  return feature == "set_up" ? "set_up." + log.station : "each." + feature;
}

/// One session by key; what has no standard is left out.
struct Session {
  std::map<std::string, double> standard_min;
  double minutes = 0;
  NotedDay day;
};

std::vector<Session> sessions_of(const Times& times, const std::vector<TimeLog>& logs) {
  std::vector<Session> out;
  for (const TimeLog& log : logs) {
    Session session{{}, log.minutes, {log.date, log.person}};
    for (const auto& [feature, count] : log.work)
      if (const double one = standard_of(times, log.station, feature); one > 0)
        session.standard_min[key_of(log, feature)] += count * one;
    if (!session.standard_min.empty()) out.push_back(std::move(session));
  }
  return out;
}

std::map<std::string, Noted> gather(const Times& times, const std::vector<TimeLog>& logs) {
  std::map<std::string, Noted> out;
  for (const TimeLog& log : logs)
    for (const auto& [feature, count] : log.work)
      if (const double one = standard_of(times, log.station, feature); one > 0)
        out[key_of(log, feature)].standard_min = one;
  for (const Session& session : sessions_of(times, logs)) {
    double standard = 0;
    for (const auto& [key, minutes] : session.standard_min) standard += minutes;
    for (const auto& [key, minutes] : session.standard_min) {
      Noted& noted = out[key];
      ++noted.logs;
      DayMinutes& day = noted.days[session.day];
      day.standard += minutes;
      day.taken += minutes * session.minutes / standard;
    }
  }
  return out;
}

/// Groups of keys that were noted together, directly or through others.
std::vector<std::vector<std::string>> groups_of(const std::map<std::string, Noted>& noted,
                                                const std::vector<Session>& sessions) {
  std::map<std::string, std::string> root;
  for (const auto& [key, one] : noted) root[key] = key;
  const auto find = [&](std::string key) {
    while (root[key] != key) key = root[key];
    return key;
  };
  for (const Session& session : sessions)
    for (const auto& [key, minutes] : session.standard_min)
      root[find(key)] = find(session.standard_min.begin()->first);
  std::map<std::string, std::vector<std::string>> groups;
  for (const auto& [key, one] : noted) groups[find(key)].push_back(key);
  std::vector<std::vector<std::string>> out;
  for (auto& [key, group] : groups) out.push_back(std::move(group));
  return out;
}

/// The features of one group, taken apart.
std::map<std::string, LogRatio> apart(const std::vector<std::string>& keys,
                                      const std::vector<Session>& sessions,
                                      const LearningOptions& options) {
  std::map<NotedDay, int> of_day;
  std::vector<const Session*> mine;
  for (const Session& session : sessions)
    if (std::find(keys.begin(), keys.end(), session.standard_min.begin()->first) != keys.end()) {
      mine.push_back(&session);
      ++of_day[session.day];
    }
  std::vector<MixedSession> mixed;
  for (const Session* session : mine) {
    MixedSession one{{}, session->minutes, 1.0 / of_day[session->day]};
    for (const std::string& key : keys) {
      const auto at = session->standard_min.find(key);
      one.standard_min.push_back(at == session->standard_min.end() ? 0 : at->second);
    }
    mixed.push_back(std::move(one));
  }
  const std::vector<LogRatio> ratios = take_apart(mixed, keys.size(), options);
  std::map<std::string, LogRatio> out;
  for (std::size_t i = 0; i < keys.size(); ++i) out[keys[i]] = ratios[i];
  return out;
}

double three_figures(double value) {
  if (value <= 0) return 0;
  // Through its digits, so that it is written as shortly as it is meant.
  const int places = 2 - static_cast<int>(std::floor(std::log10(value)));
  if (places >= 0) return std::strtod(fixed(value, places).c_str(), nullptr);
  const double step = std::pow(10.0, -places);
  return std::round(value / step) * step;
}

std::string short_number(double value) {
  const int decimals = value >= 100 ? 0 : value >= 10 ? 1 : value >= 1 ? 2 : 3;
  return fixed(value, decimals);
}

std::string sentence_of(const TimeEstimate& one, const LearningOptions& options) {
  const std::string found =
      "takes " + short_number(one.estimate_min) + " min (" + short_number(one.low_min) + " to " +
      short_number(one.high_min) + ") by " + std::to_string(one.days) +
      (one.days == 1 ? " day" : " days") + ", the standard says " + short_number(one.standard_min);
  if (one.days < options.least_days)
    return found + "; it stays until there are " + std::to_string(options.least_days) + " days.";
  return found +
         (one.moves ? "; move it to " + short_number(one.proposal_min) + "." : "; it stays.");
}

TimeEstimate estimate_of(const std::string& key, const Noted& noted, const LogRatio& ratio,
                         const LearningOptions& options) {
  TimeEstimate out;
  out.key = key;
  out.standard_min = noted.standard_min;
  out.logs = noted.logs;
  out.days = static_cast<int>(noted.days.size());
  out.estimate_min = out.standard_min * std::exp(ratio.median);
  out.low_min = out.standard_min * std::exp(ratio.low);
  out.high_min = out.standard_min * std::exp(ratio.high);
  const double rounded = three_figures(out.estimate_min);
  const double change = std::abs(rounded / out.standard_min - 1);
  out.moves = out.days >= options.least_days && change >= 0.01;
  out.proposal_min = out.moves ? rounded : out.standard_min;
  out.sentence = sentence_of(out, options);
  return out;
}

}  // namespace

LogRatio estimate_ratio(const std::vector<double>& days, const LearningOptions& options) {
  std::vector<double> at;
  const std::vector<double> density = posterior(days, options, at);
  return {percentile(at, density, 0.5), percentile(at, density, 0.1), percentile(at, density, 0.9)};
}

Result<std::vector<TimeEstimate>> learn_times(const Times& times, const std::vector<TimeLog>& logs,
                                              const LearningOptions& options) {
  Diagnostics found;
  const auto above = [&](const char* key, double value) {
    if (!(value > 0 && value <= 3)) found.add(key, "must be above 0 and at most 3", value);
  };
  above("prior_spread", options.prior_spread);
  above("day_scatter", options.day_scatter);
  above("scatter_spread", options.scatter_spread);
  if (options.least_days < 1)
    found.add("least_days", "must be 1 or more", double(options.least_days));
  if (!found.empty()) return found;
  const std::map<std::string, Noted> all = gather(times, logs);
  const std::vector<Session> sessions = sessions_of(times, logs);
  std::map<std::string, LogRatio> ratios;
  for (const auto& keys : groups_of(all, sessions)) {
    if (keys.size() > 1) {
      ratios.merge(apart(keys, sessions, options));
      continue;
    }
    std::vector<double> days;
    for (const auto& [day, minutes] : all.at(keys[0]).days)
      days.push_back(std::log(minutes.taken / minutes.standard));
    ratios[keys[0]] = estimate_ratio(days, options);
  }
  std::vector<TimeEstimate> out;
  for (const auto& [key, noted] : all)
    out.push_back(estimate_of(key, noted, ratios.at(key), options));
  return out;
}

}  // namespace roomwright::shop
