// The independent check of a plan: it shares nothing with the search but the words of line.h.
#include <algorithm>
#include <map>

#include "shop/line/line.h"

namespace roomwright::shop {

namespace {

struct Check {
  const LineOrder& order;
  const LinePlan& plan;
  Diagnostics found;
  std::map<std::pair<int, int>, const LineTask*> by_step;

  const LineStep& step_of(const LineTask& task) const {
    return order.lots[std::size_t(task.lot)].steps[std::size_t(task.step)];
  }
  void fault(const LineTask& task, const char* what) {
    found.add(order.lots[std::size_t(task.lot)].name + " step " + std::to_string(task.step), what);
  }

  void every_step_once() {
    std::size_t steps = 0;
    for (const LineLot& lot : order.lots) steps += lot.steps.size();
    if (plan.tasks.size() != steps) found.add("plan", "has not every step once");
    for (const LineTask& task : plan.tasks)
      if (!by_step.emplace(std::pair(task.lot, task.step), &task).second)
        fault(task, "is there twice");
  }

  /// Piece by piece where they are few, else by the first and the last.
  void order_and_waits() {
    for (const auto& [key, task] : by_step) {
      const LineStep& step = step_of(*task);
      if (task->start < order.lots[std::size_t(task->lot)].release) fault(*task, "is too early");
      if (task->end - task->start != step.work) fault(*task, "takes another time than its work");
      for (const LineNeed& need : step.needs) {
        const LineTask& before = *by_step.at({need.lot, need.step});
        if (task->start < before.end + step_of(before).wait)
          fault(*task, "does not wait for a need");
        if (task->begin < before.begin) fault(*task, "is set up before a need begins");
      }
      if (task->step == 0) continue;
      const LineTask& before = *by_step.at({task->lot, task->step - 1});
      const LineStep& from = step_of(before);
      const auto first = from.first > 0 && from.first <= from.work ? from.first : from.work;
      const auto last = step.last > 0 && step.last <= step.work ? step.last : step.work;
      if (task->begin < before.begin) fault(*task, "is set up before the step before it begins");
      if (task->start < before.start + first + from.wait)
        fault(*task, "starts before a piece is there");
      if (task->end < before.end + from.wait + last) fault(*task, "ends before its last piece can");
    }
  }

  void machines_and_set_ups() {
    std::map<std::pair<int, int>, std::vector<const LineTask*>> at;
    for (const LineTask& task : plan.tasks) {
      const int station = step_of(task).station;
      if (task.machine < 0 || task.machine >= order.stations[std::size_t(station)].machines)
        fault(task, "is at a machine that is not there");
      at[{station, task.machine}].push_back(&task);
    }
    for (auto& [key, tasks] : at) {
      std::stable_sort(tasks.begin(), tasks.end(), [](const LineTask* a, const LineTask* b) {
        return std::pair(a->begin, a->end) < std::pair(b->begin, b->end);
      });
      for (std::size_t i = 0; i < tasks.size(); ++i) {
        const LineStep& step = step_of(*tasks[i]);
        const bool changed = i == 0 || step_of(*tasks[i - 1]).family != step.family;
        if (tasks[i]->start - tasks[i]->begin != (changed ? step.set_up : 0))
          fault(*tasks[i], "has not the set-up that is due");
        if (i > 0 && tasks[i]->begin < tasks[i - 1]->end)
          fault(*tasks[i], "meets another at its machine");
      }
    }
  }

  void people() {
    std::map<int, std::vector<const LineTask*>> of;
    for (const LineTask& task : plan.tasks) {
      if (int(task.people.size()) != step_of(task).people) fault(task, "has not its people");
      for (const int who : task.people) {
        if (who < 0 || who >= order.people) fault(task, "is done by someone who is not there");
        of[who].push_back(&task);
      }
    }
    for (auto& [who, tasks] : of) {
      std::stable_sort(tasks.begin(), tasks.end(), [](const LineTask* a, const LineTask* b) {
        return std::pair(a->begin, a->end) < std::pair(b->begin, b->end);
      });
      for (std::size_t i = 1; i < tasks.size(); ++i)
        if (tasks[i]->begin < tasks[i - 1]->end)
          fault(*tasks[i], "needs a person who is elsewhere");
    }
  }

  void finish() {
    std::int64_t last = 0;
    for (const LineTask& task : plan.tasks) last = std::max(last, task.end + step_of(task).wait);
    if (last != plan.finish) found.add("plan", "finishes at another time than it says");
    if (plan.bound > plan.finish) found.add("plan", "has a bound above its finish");
    if (plan.proven && plan.bound != plan.finish) found.add("plan", "is proven by nothing");
  }
};

}  // namespace

Result<Done> check_line(const LineOrder& order, const LinePlan& plan) {
  for (const LineTask& task : plan.tasks)
    if (task.lot < 0 || std::size_t(task.lot) >= order.lots.size() || task.step < 0 ||
        std::size_t(task.step) >= order.lots[std::size_t(task.lot)].steps.size())
      return Complaint{"plan", "names a step that is not there", {}, {}, 0};
  Check check{order, plan, {}, {}};
  check.every_step_once();
  if (!check.found.empty()) return check.found;
  check.order_and_waits();
  check.machines_and_set_ups();
  check.people();
  check.finish();
  if (!check.found.empty()) return check.found;
  return Done{};
}

}  // namespace roomwright::shop
