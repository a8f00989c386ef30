// Partial plans: what may come next, and what the least time to the end is.
#include <algorithm>
#include <limits>

#include "shop/line/search.h"

namespace roomwright::shop {

namespace {

const StepFacts& next_of(const LineTables& tables, const LineState& state, std::size_t lot) {
  return tables.tasks[at(tables.first_task[lot] + state.done[lot])];
}

bool is_done(const LineTables& tables, const LineState& state, int task) {
  const StepFacts& one = tables.tasks[at(task)];
  return state.done[at(one.lot)] > one.step;
}

/// Of a lot that is not through: no plan starts its next step sooner.
Ticks least_ready(const LineTables& tables, const LineState& state, std::size_t lot) {
  const StepFacts& next = next_of(tables, state, lot);
  Ticks ready = std::max(next.head, state.last);
  if (next.step > 0)
    ready = std::max(
        ready, state.start[lot] + tables.tasks[at(tables.first_task[lot] + next.step - 1)].lag);
  for (const int need : next.needs)
    if (is_done(tables, state, need))
      ready = std::max(ready, state.signal[at(tables.tasks[at(need)].signal)]);
  return ready;
}

}  // namespace

LineState first_state(const LineTables& tables) {
  const LineOrder& order = *tables.order;
  LineState state;
  state.done.assign(order.lots.size(), 0);
  state.start.assign(order.lots.size(), 0);
  state.people.assign(at(order.people), 0);
  state.machine.assign(at(tables.machines), 0);
  state.family.assign(at(tables.machines), -1);
  for (int m = 0; m < tables.machines; ++m) state.which.push_back(static_cast<std::int16_t>(m));
  state.signal.assign(tables.signals.size(), 0);
  state.energy = tables.work_total;
  return state;
}

Ticks ready_time(const LineTables& tables, const LineState& state, int lot) {
  const StepFacts& next = next_of(tables, state, at(lot));
  for (const int need : next.needs)
    if (!is_done(tables, state, need)) return ticks_never;
  Ticks ready = tables.order->lots[at(lot)].release;
  if (next.step > 0)
    ready = std::max(ready, state.start[at(lot)] +
                                tables.tasks[at(tables.first_task[at(lot)] + next.step - 1)].lag);
  for (const int need : next.needs)
    ready = std::max(ready, state.signal[at(tables.tasks[at(need)].signal)]);
  return ready;
}

namespace {

void add_machines(const LineTables& tables, const LineState& state, int lot, Ticks ready,
                  std::vector<LineMove>& moves) {
  const int task = tables.first_task[at(lot)] + state.done[at(lot)];
  const StepFacts& one = tables.tasks[at(task)];
  const int from = tables.machine_from[at(one.station)];
  const int to = from + tables.order->stations[at(one.station)].machines;
  for (int m = from; m < to; ++m) {
    bool seen = false;  // an equal machine was tried
    for (int other = from; other < m && !seen; ++other)
      seen = state.machine[at(other)] == state.machine[at(m)] &&
             state.family[at(other)] == state.family[at(m)];
    if (seen) continue;
    const Ticks set_up = state.family[at(m)] == one.family ? 0 : one.set_up;
    LineMove move{lot, task, m, 0, 0, 0};
    move.begin = std::max(
        {state.last, state.machine[at(m)], state.people[at(one.people - 1)], ready - set_up});
    move.start = std::max(ready, move.begin + set_up);
    move.begin = move.start - set_up;
    move.end = move.start + one.work;
    moves.push_back(move);
  }
}

}  // namespace

namespace {

/// What would begin when another step could be over already leaves room for that step: the other
/// order is nowhere later. The other step must be over so soon on whichever machine it takes, and
/// no set-up of what follows may hang on it.
void prune_late(const LineTables& tables, std::vector<LineMove>& moves) {
  Ticks soonest = std::numeric_limits<Ticks>::max();
  for (std::size_t i = 0; i < moves.size();) {
    Ticks end = moves[i].end, begin = moves[i].begin;
    const int task = moves[i].task;
    for (; i < moves.size() && moves[i].task == task; ++i) {
      end = std::max(end, moves[i].end);
      begin = std::max(begin, moves[i].begin);
    }
    if (tables.one_family[at(tables.tasks[at(task)].station)] && end > begin)
      soonest = std::min(soonest, end);
  }
  moves.erase(std::remove_if(moves.begin(), moves.end(),
                             [&](const LineMove& move) {
                               return move.begin >= soonest && move.end > move.begin;
                             }),
              moves.end());
}

}  // namespace

std::vector<LineMove> moves_from(const LineTables& tables, const LineState& state) {
  std::vector<LineMove> moves;
  const int lots = static_cast<int>(state.done.size());
  for (int lot = 0; lot < lots; ++lot) {
    if (state.done[at(lot)] == tables.steps_of(lot)) continue;
    // Of lots that are alike the first goes first, step by step.
    const int like = tables.like[at(lot)];
    if (like >= 0 && state.done[at(like)] <= state.done[at(lot)]) continue;
    const Ticks ready = ready_time(tables, state, lot);
    if (ready != ticks_never) add_machines(tables, state, lot, ready, moves);
  }
  prune_late(tables, moves);
  return moves;
}

namespace {

/// Machines of one station by when they are free; what was before `last` is all the same.
void sort_machines(const LineTables& tables, int station, LineState& state) {
  const int from = tables.machine_from[at(station)];
  const int to = from + tables.order->stations[at(station)].machines;
  const auto later = [&](int a, int b) {
    const Ticks free_a = std::max(state.machine[at(a)], state.last);
    const Ticks free_b = std::max(state.machine[at(b)], state.last);
    return free_a != free_b ? free_a > free_b : state.family[at(a)] < state.family[at(b)];
  };
  for (int i = from + 1; i < to; ++i)
    for (int j = i; j > from && later(j - 1, j); --j) {
      std::swap(state.machine[at(j)], state.machine[at(j - 1)]);
      std::swap(state.family[at(j)], state.family[at(j - 1)]);
      std::swap(state.which[at(j)], state.which[at(j - 1)]);
    }
}

/// Signals that nobody needs any more are forgotten.
void forget_signals(const LineTables& tables, const StepFacts& done, LineState& state) {
  for (const int need : done.needs) {
    const StepFacts& from = tables.tasks[at(need)];
    bool needed = false;
    for (const int fed : from.feeds) needed = needed || !is_done(tables, state, fed);
    if (!needed) state.signal[at(from.signal)] = 0;
  }
}

}  // namespace

LineState after_move(const LineTables& tables, const LineState& state, const LineMove& move,
                     bool sorted) {
  LineState next = state;
  const StepFacts& one = tables.tasks[at(move.task)];
  next.last = move.begin;
  // Of the people who are free by then, those who are free last: the others can still begin sooner.
  auto free_by = std::upper_bound(next.people.begin(), next.people.end(), move.begin);
  for (auto who = free_by - one.people; who != free_by; ++who) *who = move.end;
  for (Ticks& who : next.people) who = std::max(who, next.last);
  std::sort(next.people.begin(), next.people.end());
  next.at_machine = next.which[at(move.machine)];
  next.machine[at(move.machine)] = move.end;
  next.family[at(move.machine)] = static_cast<std::int16_t>(one.family);
  ++next.done[at(move.lot)];
  next.start[at(move.lot)] = move.start;
  const Ticks through = move.end + tables.order->lots[at(move.lot)].steps[at(one.step)].wait;
  if (one.signal >= 0) next.signal[at(one.signal)] = through;
  forget_signals(tables, one, next);
  next.finish = std::max(next.finish, through);
  next.energy -= one.work * one.people;
  next.task = move.task;
  next.begin = move.begin;
  if (sorted)
    for (std::size_t s = 0; s < tables.order->stations.size(); ++s)
      if (tables.order->stations[s].machines > 1) sort_machines(tables, static_cast<int>(s), next);
  return next;
}

bool nowhere_later(const LineTables& tables, const LineState& a, const LineState& b) {
  if (a.finish > b.bound) return false;
  for (std::size_t i = 0; i < a.people.size(); ++i)
    if (a.people[i] > b.people[i]) return false;
  for (std::size_t m = 0; m < a.machine.size(); ++m)
    if (std::max(a.machine[m], a.last) > std::max(b.machine[m], b.last) ||
        (a.family[m] != b.family[m] && b.family[m] != -1))
      return false;
  for (std::size_t l = 0; l < a.start.size(); ++l) {
    const int done = a.done[l];
    if (done == 0 || done == tables.steps_of(static_cast<int>(l))) continue;
    const Ticks lag = tables.tasks[at(tables.first_task[l] + done - 1)].lag;
    if (a.start[l] + lag > std::max(b.start[l] + lag, b.last)) return false;
  }
  for (std::size_t s = 0; s < a.signal.size(); ++s)
    if (a.signal[s] > std::max(b.signal[s], b.last)) return false;
  return true;
}

namespace {

/// What is still to do, as seen from a state.
struct Rest {
  std::vector<Ticks> head;         ///< of each task left; ticks_never: done
  std::vector<Ticks> first_heads;  ///< the soonest begins, rising, one for each of their people
  Ticks chain = 0;
};

Rest rest_of(const LineTables& tables, const LineState& state) {
  Rest rest;
  rest.head.assign(tables.tasks.size(), ticks_never);
  rest.chain = state.finish;
  const std::size_t most = state.people.size();
  for (std::size_t lot = 0; lot < state.done.size(); ++lot) {
    const int steps = tables.steps_of(static_cast<int>(lot));
    if (state.done[lot] == steps) continue;
    const Ticks ready = least_ready(tables, state, lot);
    const int first = tables.first_task[lot] + state.done[lot];
    const Ticks along = tables.tasks[at(first)].along;
    for (int t = first; t < tables.first_task[lot] + steps; ++t) {
      const StepFacts& one = tables.tasks[at(t)];
      const Ticks head = std::max(one.head, ready + one.along - along);
      rest.head[at(t)] = head;
      rest.chain = std::max(rest.chain, head + one.tail);
      const Ticks begin = std::max(state.last, head - one.set_up);
      if (rest.first_heads.size() == most && begin >= rest.first_heads.back()) continue;
      rest.first_heads.insert(
          std::upper_bound(rest.first_heads.begin(), rest.first_heads.end(), begin), at(one.people),
          begin);
      if (rest.first_heads.size() > most) rest.first_heads.resize(most);
    }
  }
  return rest;
}

/// Set-ups that no plan avoids, by group.
std::vector<Ticks> due_set_ups(const LineTables& tables, const LineState& state, const Rest& rest) {
  std::vector<Ticks> due(tables.group_station.size(), 0);
  for (std::size_t t = 0; t < rest.head.size(); ++t) {
    if (rest.head[t] == ticks_never) continue;
    const auto group = at(tables.tasks[t].group);
    const int station = tables.tasks[t].station;
    const int from = tables.machine_from[at(station)];
    bool standing = false;
    for (int m = from; m < from + tables.order->stations[at(station)].machines; ++m)
      standing = standing || state.family[at(m)] == tables.tasks[t].family;
    due[group] = standing ? 0 : tables.group_set_up[group];
  }
  return due;
}

/// All that is left, shared by so many people of whom each begins with one step and ends with
/// another; the least over how many of them take part.
Ticks people_bound(const LineTables& tables, const LineState& state, const Rest& rest,
                   Ticks set_ups) {
  std::vector<Ticks> tails;
  for (const int t : tables.by_end_tail) {
    if (rest.head[at(t)] == ticks_never) continue;
    tails.insert(tails.end(), at(tables.tasks[at(t)].people), tables.tasks[at(t)].end_tail());
    if (tails.size() >= state.people.size()) break;
  }
  tails.resize(std::min(tails.size(), state.people.size()));
  const Ticks energy = state.energy + set_ups;
  Ticks least = std::numeric_limits<Ticks>::max(), sum = 0;
  for (std::size_t u = 0; u < tails.size(); ++u) {
    sum += std::max(state.people[u], rest.first_heads[u]) + tails[u];
    const Ticks people = static_cast<Ticks>(u) + 1;
    least = std::min(least, (sum + energy + people - 1) / people);
  }
  return tails.empty() ? 0 : least;
}

Ticks station_bound(const LineTables& tables, const LineState& state, const Rest& rest,
                    const std::vector<Ticks>& due, std::size_t station) {
  Ticks head = std::numeric_limits<Ticks>::max(), tail = head, work = 0, set_ups = 0, largest = 0;
  for (const int t : tables.at_station[station]) {
    if (rest.head[at(t)] == ticks_never) continue;
    const StepFacts& one = tables.tasks[at(t)];
    head = std::min(head, rest.head[at(t)]);
    tail = std::min(tail, one.end_tail());
    work += one.work;
  }
  if (head == std::numeric_limits<Ticks>::max()) return 0;
  const int from = tables.machine_from[station];
  const int machines = tables.order->stations[station].machines;
  Ticks free = state.machine[at(from)];
  for (int m = from; m < from + machines; ++m) free = std::min(free, state.machine[at(m)]);
  free = std::max(free, state.last);
  if (machines == 1)
    for (std::size_t g = 0; g < due.size(); ++g)
      if (tables.group_station[g] == static_cast<int>(station)) {
        set_ups += due[g];
        largest = std::max(largest, due[g]);
      }
  return std::max(free + set_ups, head + set_ups - largest) + (work + machines - 1) / machines +
         tail;
}

}  // namespace

Ticks bound_from(const LineTables& tables, const LineState& state) {
  const Rest rest = rest_of(tables, state);
  const std::vector<Ticks> due = due_set_ups(tables, state, rest);
  Ticks set_ups = 0;
  for (const Ticks one : due) set_ups += one;
  Ticks bound = std::max(rest.chain, people_bound(tables, state, rest, set_ups));
  for (std::size_t s = 0; s < tables.at_station.size(); ++s)
    bound = std::max(bound, station_bound(tables, state, rest, due, s));
  return bound;
}

void bound_whole(const LineTables& tables, LinePlan& plan) {
  const LineState state = first_state(tables);
  const Rest rest = rest_of(tables, state);
  const std::vector<Ticks> due = due_set_ups(tables, state, rest);
  Ticks set_ups = 0;
  for (const Ticks one : due) set_ups += one;
  plan.chain_bound = rest.chain;
  plan.work_bound = people_bound(tables, state, rest, set_ups);
  for (std::size_t s = 0; s < tables.at_station.size(); ++s)
    plan.station_bound = std::max({plan.station_bound, station_bound(tables, state, rest, due, s),
                                   one_machine_bound(tables, s)});
  // What people must idle counts as work; it rests on whatever bound is known.
  const Ticks known = std::max({plan.chain_bound, plan.work_bound, plan.station_bound});
  const Ticks idle = idle_bound(tables, known);
  if (idle > known) plan.work_bound = idle;
}

}  // namespace roomwright::shop
