// Private to shop/line: the order as tables, the state of a partial plan, and the least time that a
// partial plan can still finish in.
#pragma once

#include <cstdint>
#include <vector>

#include "shop/line/line.h"

namespace roomwright::shop {

using Ticks = std::int64_t;
inline constexpr Ticks ticks_never = -1;

inline std::size_t at(int i) {
  return static_cast<std::size_t>(i);
}

/// A step with what is known of it before anything is planned.
struct StepFacts {
  int lot = 0, step = 0, station = 0, people = 1, family = 0;
  Ticks work = 0, set_up = 0;
  Ticks lag = 0;           ///< from its start to the next step's start; 0 for the last step
  Ticks along = 0;         ///< the lags of the lot's steps before it
  Ticks head = 0;          ///< no plan starts its work sooner
  Ticks tail = 0;          ///< no plan finishes sooner than its start and this
  std::vector<int> needs;  ///< tasks that must be done before
  std::vector<int> feeds;  ///< tasks that need it
  int signal = -1;         ///< place among the signals: tasks that feed others
  int group = 0;           ///< of its station and family
  Ticks end_tail() const { return tail - work; }
};

struct LineTables {
  const LineOrder* order = nullptr;
  std::vector<StepFacts> tasks;
  std::vector<int> first_task;     ///< of each lot, in `tasks`
  std::vector<int> like;           ///< the lot before that is the same in every respect, or -1
  std::vector<int> signals;        ///< tasks that feed others
  std::vector<int> group_station;  ///< of each group: a station and a family there
  std::vector<int> group_family;
  std::vector<Ticks> group_set_up;
  std::vector<int> machine_from;  ///< first machine of each station
  int machines = 0;
  std::vector<bool> one_family;  ///< stations where a set-up is due once at each machine
  std::vector<std::vector<int>> at_station;
  std::vector<int> by_end_tail;  ///< all tasks, shortest end_tail first
  Ticks work_total = 0;          ///< people times work, without set-ups
  int steps_of(int lot) const {
    return static_cast<int>(order->lots[static_cast<std::size_t>(lot)].steps.size());
  }
};
/// Errors: needs that go round in a ring.
Result<LineTables> line_tables(const LineOrder& order);

/// A plan as far as it is made; all later steps begin at `last` or after.
struct LineState {
  std::vector<std::int16_t> done;  ///< steps of each lot
  std::vector<Ticks> start;        ///< of each lot's last step done
  std::vector<Ticks> people;       ///< when each is free, rising, none before `last`
  /// Of each machine: when it is free, what it is set up for (-1: nothing), and which it is. Within
  /// a station in the order in which they are free, so that machines that are alike are alike here.
  std::vector<Ticks> machine;
  std::vector<std::int16_t> family;
  std::vector<std::int16_t> which;
  std::vector<Ticks> signal;  ///< when each signal is through, its wait included; 0 once
                              ///< nobody needs it any more
  Ticks last = 0, finish = 0, energy = 0;  ///< energy: people times time, of the steps left
  Ticks bound = 0, idle = 0;
  int parent = -1;
  int task = -1, at_machine = -1;  ///< the step that was added
  Ticks begin = 0;
};

LineState first_state(const LineTables& tables);
/// When the next step of a lot could start its work; ticks_never where it needs what is not
/// planned yet.
Ticks ready_time(const LineTables& tables, const LineState& state, int lot);

/// A step that could be added next, on one machine.
struct LineMove {
  int lot = 0, task = 0, machine = 0;  ///< machine: of all
  Ticks begin = 0, start = 0, end = 0;
};
std::vector<LineMove> moves_from(const LineTables& tables, const LineState& state);
/// sorted: machines that are alike are put in order.
LineState after_move(const LineTables& tables, const LineState& state, const LineMove& move,
                     bool sorted = true);
/// Going on from the first finishes nowhere later than going on from the second in the same way;
/// both have the same steps done.
bool nowhere_later(const LineTables& tables, const LineState& a, const LineState& b);

/// No plan that goes on from the state finishes sooner.
Ticks bound_from(const LineTables& tables, const LineState& state);
/// No plan finishes sooner, given that none does before `bound`: people find too little to do at
/// the beginning and at the end.
Ticks idle_bound(const LineTables& tables, Ticks bound);
/// A station of one machine, its steps breakable; 0 for others.
Ticks one_machine_bound(const LineTables& tables, std::size_t station);
/// The three bounds of the whole order, by their reasons.
void bound_whole(const LineTables& tables, LinePlan& plan);

}  // namespace roomwright::shop
