// Bounds of a whole order that are too slow for every partial plan. (1) One machine whose steps may
// be broken off: always the step with the longest tail of those that are there. Source: J. R.
// Jackson, 1955, as J. Carlier uses it, EJOR 11 (1982); from memory. (2) People who find too little
// to do at the beginning, while only a few stations have anything, and at the end: what they cannot
// work there is added to what there is to do.
#include <algorithm>
#include <queue>

#include "shop/line/search.h"

namespace roomwright::shop {

namespace {

struct End {
  Ticks free = 0;  ///< none of it is worked within so much of the end that is looked at
  Ticks work = 0;
  int people = 1;
};
/// The steps of each station, from one end: from the beginning by their heads, from the end by
/// their tails.
using Ends = std::vector<std::vector<End>>;

Ends ends_of(const LineTables& tables, bool from_begin) {
  Ends ends(tables.at_station.size());
  for (std::size_t s = 0; s < ends.size(); ++s)
    for (const int t : tables.at_station[s]) {
      const StepFacts& one = tables.tasks[at(t)];
      ends[s].push_back({from_begin ? one.head : one.end_tail(), one.work, one.people});
    }
  return ends;
}

/// The most that can be worked within so much time of this end, people times time; each family's
/// one set-up may lie anywhere.
Ticks most_worked(const LineTables& tables, const Ends& ends, Ticks time) {
  Ticks sum = 0;
  for (const Ticks set_up : tables.group_set_up) sum += std::min(set_up, time);
  for (std::size_t s = 0; s < ends.size(); ++s) {
    Ticks here = 0, soonest = time;
    int most_people = 1;
    for (const End& one : ends[s]) {
      here += one.people * std::min(one.work, std::max<Ticks>(0, time - one.free));
      soonest = std::min(soonest, one.free);
      most_people = std::max(most_people, one.people);
    }
    sum += std::min(here, tables.order->stations[s].machines * most_people * (time - soonest));
  }
  return std::min(sum, Ticks{tables.order->people} * time);
}

struct Idle {
  Ticks time = 0, idle = 0;
};
/// Times at which what could be worked bends, rising, each with what people must stand idle by
/// then.
std::vector<Idle> idle_at(const LineTables& tables, bool from_begin) {
  const Ends ends = ends_of(tables, from_begin);
  std::vector<Ticks> times{0};
  for (const auto& station : ends)
    for (const End& one : station) times.push_back(one.free), times.push_back(one.free + one.work);
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  constexpr std::size_t most_times = 400;
  const std::size_t stride = times.size() / most_times + 1;
  std::vector<Idle> out;
  for (std::size_t i = 0; i < times.size(); i += stride)
    out.push_back(
        {times[i], tables.order->people * times[i] - most_worked(tables, ends, times[i])});
  return out;
}

}  // namespace

Ticks idle_bound(const LineTables& tables, Ticks bound) {
  const std::vector<Idle> begin = idle_at(tables, true);
  std::vector<Idle> end = idle_at(tables, false);
  for (std::size_t i = 1; i < end.size(); ++i) end[i].idle = std::max(end[i].idle, end[i - 1].idle);
  Ticks all = tables.work_total;
  for (const Ticks set_up : tables.group_set_up) all += set_up;
  const Ticks people = tables.order->people;
  // The two ends must lie apart: a longer least time lets them reach farther.
  for (bool longer = true; longer;) {
    longer = false;
    std::size_t k = end.size();
    for (const Idle& one : begin) {
      while (k > 0 && one.time + end[k - 1].time > bound) --k;
      if (k == 0) break;
      const Ticks least = (all + one.idle + end[k - 1].idle + people - 1) / people;
      if (least > bound) bound = least, longer = true;
    }
  }
  return bound;
}

Ticks one_machine_bound(const LineTables& tables, std::size_t station) {
  if (tables.order->stations[station].machines != 1) return 0;
  struct Left {
    Ticks tail, work;
    bool operator<(const Left& other) const { return tail < other.tail; }
  };
  std::vector<const StepFacts*> steps;
  for (const int t : tables.at_station[station]) steps.push_back(&tables.tasks[at(t)]);
  std::stable_sort(steps.begin(), steps.end(),
                   [](const StepFacts* a, const StepFacts* b) { return a->head < b->head; });
  std::priority_queue<Left> there;
  Ticks now = 0, bound = 0;
  for (std::size_t next = 0; next < steps.size() || !there.empty();) {
    if (there.empty()) now = std::max(now, steps[next]->head);
    while (next < steps.size() && steps[next]->head <= now) {
      there.push({steps[next]->end_tail(), steps[next]->work});
      ++next;
    }
    Left one = there.top();
    there.pop();
    const Ticks until = next < steps.size() ? steps[next]->head : now + one.work;
    const Ticks spent = std::min(one.work, until - now);
    now += spent;
    one.work -= spent;
    if (one.work > 0)
      there.push(one);
    else
      bound = std::max(bound, now + one.tail);
  }
  return bound;
}

}  // namespace roomwright::shop
