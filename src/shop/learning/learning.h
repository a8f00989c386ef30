// What the bench's own clock says about the shop's times: minutes that were noted down against the
// standard, and a new standard that moves slowly. Knows no file: text in, estimates out.
//
// The model: the logarithm of (time taken / standard) of one feature has a median that is normal
// around 0 before anything was noted; each day scatters around it by a Student distribution of 4
// degrees of freedom, so that one bad day hardly counts; how widely days scatter is not known
// either. The answer is the posterior median and its 10th and 90th percentile, on a fixed grid.
// Sessions of several features are taken apart where the counts vary against each other: set-up by
// the sessions with few pieces, each piece by those with many (mixed.h). What never varies gets the
// sum's ratio to the standard, nearly in proportion to the standard minutes.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/base.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

inline constexpr std::size_t most_time_logs = 20'000;

/// One session at one station, as it was noted.
struct TimeLog {
  std::string date;    ///< year-month-day
  std::string person;  ///< any label; who it was is not compared
  std::string station;
  std::vector<std::pair<std::string, double>> work;  ///< feature and count; `set_up` counts too
  double minutes = 0;
  int line = 0;  ///< of the file
};

/// Reads `date,person,station,work,minutes`, one session a line, work as `cut 64; stop_setting 5`;
/// empty lines and lines that begin with # are passed over.
/// Errors: every mistake with its line: no such day, station or feature, a count or minutes that
/// are no number above 0, columns too few or too many, more than most_time_logs lines.
Result<std::vector<TimeLog>> read_time_logs(std::string_view text, const Times& times);

struct LearningOptions {
  double prior_spread = 0.30;    ///< standard deviation of the logarithm before anything is noted
  double day_scatter = 0.15;     ///< the likeliest scatter between days, of the logarithm
  double scatter_spread = 0.50;  ///< how sure that is: standard deviation of its logarithm
  int least_days = 3;            ///< before a standard moves
};

/// What one feature, or one station's set-up, is found to take.
struct TimeEstimate {
  std::string key;  ///< `each.cut`, `set_up.saw`
  double standard_min = 0;
  double estimate_min = 0, low_min = 0, high_min = 0;  ///< median, 10th and 90th percentile
  int logs = 0, days = 0;                              ///< sessions; days by person
  bool moves = false;       ///< days enough, and the proposal differs from the standard
  double proposal_min = 0;  ///< the estimate, rounded to three figures; the standard if it stays
  std::string sentence;
};
/// By key, only what was noted. A standard of 0 cannot be scaled and stays. Errors: options out of
/// range.
Result<std::vector<TimeEstimate>> learn_times(const Times& times, const std::vector<TimeLog>& logs,
                                              const LearningOptions& options = {});

/// Median and percentiles of the logarithm, from one value a day.
struct LogRatio {
  double median = 0, low = 0, high = 0;
};
LogRatio estimate_ratio(const std::vector<double>& days, const LearningOptions& options = {});

}  // namespace roomwright::shop
