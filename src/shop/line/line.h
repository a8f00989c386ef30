// A run through a line of stations: when each lot is at which station and with whom, so that the
// last is done soonest, with a proven bound. Whole numbers of one unit of time in, plan out; it
// knows no wood, no clock and no calendar.
//
// A lot goes through its steps in order. A step holds one machine of its station and its people
// from the start of its set-up to the end of its work, without a break. A set-up is due where the
// machine's last step was of another family, or where it had none; it may be done before the lot
// arrives, but begins no sooner than the steps that it waits for. The pieces of a lot follow each
// other evenly, so that the next step may start when the first piece is there, if no later piece is
// then waited for. A wait (glue, finish) holds nobody. People are alike: each can do every step.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::shop {

inline constexpr std::int64_t greatest_line_time = 1'000'000'000;
inline constexpr int most_line_people = 8;
inline constexpr int most_line_machines = 8;  ///< of one station
inline constexpr std::size_t most_line_stations = 40;
inline constexpr std::size_t most_line_steps = 2'000;

struct LineStation {
  std::string name;
  int machines = 1;
};
/// Another lot's step that must be wholly done, its wait included, before a step may start.
struct LineNeed {
  int lot = 0, step = 0;
};
struct LineStep {
  int station = 0;
  std::int64_t work = 0;
  /// How long the first piece and the last take; each at most `work`, which means that the lot
  /// moves as a whole. Of q even pieces both are work / q, rounded up.
  std::int64_t first = 0, last = 0;
  std::int64_t wait = 0;  ///< after each piece, before it may go on
  int people = 1;
  int family = 0;
  std::int64_t set_up = 0;  ///< alike for all steps of one family at one station
  std::vector<LineNeed> needs;
};
struct LineLot {
  std::string name;
  std::vector<LineStep> steps;
  std::int64_t release = 0;  ///< not before
};
struct LineOrder {
  std::vector<LineStation> stations;
  std::vector<LineLot> lots;
  int people = 1;
};

struct LineOptions {
  /// Places in the search that are opened, over all its rounds.
  std::int64_t max_nodes = 60'000;
  Watch watch;
};

/// One step as planned. The people are busy from `begin` to `end`.
struct LineTask {
  int lot = 0, step = 0;
  int machine = 0;                  ///< of its station
  std::vector<int> people;          ///< numbers from 0
  std::int64_t begin = 0;           ///< of the set-up, where there is one
  std::int64_t start = 0, end = 0;  ///< of the work
};
struct LinePlan {
  std::vector<LineTask> tasks;  ///< by begin
  std::int64_t finish = 0;      ///< of the last step, its wait included
  std::int64_t bound = 0;       ///< no plan finishes sooner
  bool proven = false;          ///< finish = bound is proven
  /// What the bound would be by each reason alone: all the work shared by all the people, the
  /// longest chain of one lot, the busiest station between its heads and tails.
  std::int64_t work_bound = 0, chain_bound = 0, station_bound = 0;
  std::int64_t nodes = 0;
  std::string method;  ///< how it was found and why it stopped
};

/// Errors: wrong numbers, a step that nobody can do (more people than there are, no such station),
/// needs that go round in a ring: each by the lot's name.
/// Method: partial plans, in the order in which steps begin, layer by layer in growing numbers; one
/// that another is nowhere later than is dropped, and so is one whose bound does not beat the best
/// plan. Where a whole layer was kept each time, the best plan is proven.
Result<LinePlan> solve_line(const LineOrder& order, const LineOptions& options = {});

/// An independent check of a plan against its order: every step once, order and waits, needs,
/// machines, people, set-ups, finish.
Result<Done> check_line(const LineOrder& order, const LinePlan& plan);

}  // namespace roomwright::shop
