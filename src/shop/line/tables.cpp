// The order as tables: lags between steps, heads and tails through all needs, and lots that are the
// same in every respect.
#include <algorithm>

#include "shop/line/search.h"

namespace roomwright::shop {

namespace {

Ticks piece_of(Ticks part, Ticks work) {
  return part <= 0 || part > work ? work : part;
}

/// From the start of a step to the earliest start of the next: the first piece must be there, and
/// no later piece may be waited for. Between them pieces come and go evenly, so the first and the
/// last decide.
Ticks lag_between(const LineStep& from, const LineStep& to) {
  const Ticks first = piece_of(from.first, from.work);
  const Ticks last = piece_of(to.last, to.work);
  return from.wait + std::max(first, from.work + last - to.work);
}

/// Tasks so that each comes behind all that it waits for; shorter than the list where there is a
/// ring.
std::vector<int> in_order(const LineTables& tables) {
  const std::size_t count = tables.tasks.size();
  std::vector<int> waits(count, 0), order;
  for (std::size_t t = 0; t < count; ++t)
    waits[t] = static_cast<int>(tables.tasks[t].needs.size()) + (tables.tasks[t].step > 0 ? 1 : 0);
  for (std::size_t t = 0; t < count; ++t)
    if (waits[t] == 0) order.push_back(static_cast<int>(t));
  for (std::size_t i = 0; i < order.size(); ++i) {
    const StepFacts& one = tables.tasks[static_cast<std::size_t>(order[i])];
    const auto release = [&](int next) {
      if (--waits[static_cast<std::size_t>(next)] == 0) order.push_back(next);
    };
    if (one.step + 1 < tables.steps_of(one.lot)) release(order[i] + 1);
    for (const int fed : one.feeds) release(fed);
  }
  return order;
}

Ticks wait_of(const LineTables& tables, const StepFacts& one) {
  return tables.order->lots[static_cast<std::size_t>(one.lot)]
      .steps[static_cast<std::size_t>(one.step)]
      .wait;
}

void set_heads_and_tails(LineTables& tables, const std::vector<int>& order) {
  for (const int t : order) {
    StepFacts& one = tables.tasks[static_cast<std::size_t>(t)];
    const Ticks release = tables.order->lots[static_cast<std::size_t>(one.lot)].release;
    one.head = std::max(one.head, std::max(release, one.set_up));
    if (one.step + 1 < tables.steps_of(one.lot)) {
      Ticks& next = tables.tasks[static_cast<std::size_t>(t) + 1].head;
      next = std::max(next, one.head + one.lag);
    }
    for (const int fed : one.feeds) {
      Ticks& next = tables.tasks[static_cast<std::size_t>(fed)].head;
      next = std::max(next, one.head + one.work + wait_of(tables, one));
    }
  }
  for (auto at = order.rbegin(); at != order.rend(); ++at) {
    StepFacts& one = tables.tasks[static_cast<std::size_t>(*at)];
    const Ticks through = one.work + wait_of(tables, one);
    one.tail = through;
    if (one.step + 1 < tables.steps_of(one.lot))
      one.tail = std::max(one.tail, one.lag + tables.tasks[static_cast<std::size_t>(*at) + 1].tail);
    for (const int fed : one.feeds)
      one.tail = std::max(one.tail, through + tables.tasks[static_cast<std::size_t>(fed)].tail);
  }
}

bool same_step(const LineStep& a, const LineStep& b) {
  return a.station == b.station && a.work == b.work && a.first == b.first && a.last == b.last &&
         a.wait == b.wait && a.people == b.people && a.family == b.family && a.set_up == b.set_up &&
         a.needs.size() == b.needs.size();
}

/// Lots that may change places in any plan: the same steps, the same release, the same needs, and
/// nobody needs them.
bool may_change_places(const LineTables& tables, int a, int b) {
  const LineLot& one = tables.order->lots[static_cast<std::size_t>(a)];
  const LineLot& other = tables.order->lots[static_cast<std::size_t>(b)];
  if (one.release != other.release || one.steps.size() != other.steps.size()) return false;
  for (std::size_t s = 0; s < one.steps.size(); ++s) {
    if (!same_step(one.steps[s], other.steps[s])) return false;
    const auto ta = static_cast<std::size_t>(tables.first_task[static_cast<std::size_t>(a)]) + s;
    const auto tb = static_cast<std::size_t>(tables.first_task[static_cast<std::size_t>(b)]) + s;
    if (!tables.tasks[ta].feeds.empty() || !tables.tasks[tb].feeds.empty()) return false;
    for (std::size_t n = 0; n < one.steps[s].needs.size(); ++n)
      if (one.steps[s].needs[n].lot != other.steps[s].needs[n].lot ||
          one.steps[s].needs[n].step != other.steps[s].needs[n].step)
        return false;
  }
  return true;
}

void add_tasks(LineTables& tables) {
  const LineOrder& order = *tables.order;
  for (std::size_t l = 0; l < order.lots.size(); ++l) {
    tables.first_task.push_back(static_cast<int>(tables.tasks.size()));
    const auto& steps = order.lots[l].steps;
    for (std::size_t s = 0; s < steps.size(); ++s) {
      StepFacts facts;
      facts.lot = static_cast<int>(l);
      facts.step = static_cast<int>(s);
      facts.station = steps[s].station;
      facts.people = steps[s].people;
      facts.family = steps[s].family;
      facts.work = steps[s].work;
      facts.set_up = steps[s].set_up;
      if (s + 1 < steps.size()) facts.lag = lag_between(steps[s], steps[s + 1]);
      if (s > 0) facts.along = tables.tasks.back().along + tables.tasks.back().lag;
      tables.work_total += facts.work * facts.people;
      tables.tasks.push_back(facts);
    }
  }
  for (std::size_t l = 0; l < order.lots.size(); ++l)
    for (std::size_t s = 0; s < order.lots[l].steps.size(); ++s)
      for (const LineNeed& need : order.lots[l].steps[s].needs) {
        const int from = tables.first_task[static_cast<std::size_t>(need.lot)] + need.step;
        const int to = tables.first_task[l] + static_cast<int>(s);
        tables.tasks[static_cast<std::size_t>(to)].needs.push_back(from);
        tables.tasks[static_cast<std::size_t>(from)].feeds.push_back(to);
      }
}

void add_stations(LineTables& tables) {
  const LineOrder& order = *tables.order;
  tables.at_station.resize(order.stations.size());
  tables.one_family.assign(order.stations.size(), true);
  for (const LineStation& station : order.stations) {
    tables.machine_from.push_back(tables.machines);
    tables.machines += station.machines;
  }
  for (std::size_t t = 0; t < tables.tasks.size(); ++t) {
    const auto station = static_cast<std::size_t>(tables.tasks[t].station);
    auto& here = tables.at_station[station];
    if (!here.empty() &&
        tables.tasks[static_cast<std::size_t>(here[0])].family != tables.tasks[t].family)
      tables.one_family[station] = false;
    here.push_back(static_cast<int>(t));
    StepFacts& one = tables.tasks[t];
    std::size_t group = 0;
    while (group < tables.group_station.size() &&
           (tables.group_station[group] != one.station || tables.group_family[group] != one.family))
      ++group;
    one.group = static_cast<int>(group);
    if (group < tables.group_station.size()) continue;
    tables.group_station.push_back(one.station);
    tables.group_family.push_back(one.family);
    tables.group_set_up.push_back(one.set_up);
  }
}

}  // namespace

Result<LineTables> line_tables(const LineOrder& order) {
  LineTables tables;
  tables.order = &order;
  add_tasks(tables);
  add_stations(tables);
  const std::vector<int> sorted = in_order(tables);
  if (sorted.size() < tables.tasks.size()) {
    std::vector<bool> free(tables.tasks.size(), false);
    for (const int t : sorted) free[static_cast<std::size_t>(t)] = true;
    const auto bad = std::find(free.begin(), free.end(), false) - free.begin();
    const auto lot = static_cast<std::size_t>(tables.tasks[static_cast<std::size_t>(bad)].lot);
    return Complaint{order.lots[lot].name, "waits for itself", {}, "break the ring of needs", 0};
  }
  set_heads_and_tails(tables, sorted);
  for (std::size_t t = 0; t < tables.tasks.size(); ++t) {
    if (!tables.tasks[t].feeds.empty()) {
      tables.tasks[t].signal = static_cast<int>(tables.signals.size());
      tables.signals.push_back(static_cast<int>(t));
    }
    tables.by_end_tail.push_back(static_cast<int>(t));
  }
  std::stable_sort(tables.by_end_tail.begin(), tables.by_end_tail.end(), [&](int a, int b) {
    return tables.tasks[static_cast<std::size_t>(a)].end_tail() <
           tables.tasks[static_cast<std::size_t>(b)].end_tail();
  });
  for (int l = 0; l < static_cast<int>(order.lots.size()); ++l) {
    int like = l - 1;
    while (like >= 0 && !may_change_places(tables, l, like)) --like;
    tables.like.push_back(like);
  }
  return tables;
}

}  // namespace roomwright::shop
