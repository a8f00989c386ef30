// Layer by layer: partial plans of one step, of two, and so on; see line.h.
#include "shop/line/line.h"

#include <algorithm>
#include <numeric>
#include <string_view>
#include <unordered_map>

#include "shop/line/search.h"

namespace roomwright::shop {

namespace {

// ---- what can be wrong with an order ---------------------------------------------------------

void check_step(const LineOrder& order, const LineLot& lot, const LineStep& step,
                Diagnostics& found) {
  const auto wrong = [&](const char* what) { found.add(lot.name, what, {}, "mend the order"); };
  const auto bad = [](Ticks time) { return time < 0 || time > greatest_line_time; };
  if (step.station < 0 || at(step.station) >= order.stations.size())
    wrong("goes to a station that is not there");
  if (bad(step.work) || bad(step.wait) || bad(step.set_up) || bad(step.first) || bad(step.last))
    wrong("has a time below 0 or beyond the greatest");
  if (step.family < 0 || step.family > 30'000) wrong("has a family out of range");
  if (step.people < 1) wrong("has a step that needs nobody");
  if (step.people > order.people)
    found.add(lot.name, "needs more people at one step than there are", double(step.people),
              "let more people work, or divide the step");
  for (const LineNeed& need : step.needs)
    if (need.lot < 0 || at(need.lot) >= order.lots.size() || need.step < 0 ||
        at(need.step) >= order.lots[at(need.lot)].steps.size())
      wrong("needs a step that is not there");
}

void check_families(const LineOrder& order, Diagnostics& found) {
  std::unordered_map<std::int64_t, Ticks> set_ups;
  for (const LineLot& lot : order.lots)
    for (const LineStep& step : lot.steps) {
      const std::int64_t key = step.station * 100'000LL + step.family;
      if (set_ups.emplace(key, step.set_up).first->second != step.set_up)
        found.add(lot.name, "has another set-up than its family at that station",
                  double(step.set_up), "one family, one set-up");
    }
}

Diagnostics faults_of(const LineOrder& order) {
  Diagnostics found;
  if (order.people < 1 || order.people > most_line_people)
    found.add("people", "must be from 1 to 8", double(order.people));
  if (order.stations.size() > most_line_stations)
    found.add("stations", "are more than 40", double(order.stations.size()));
  for (const LineStation& station : order.stations)
    if (station.machines < 1 || station.machines > most_line_machines)
      found.add(station.name, "must have from 1 to 8 machines", double(station.machines));
  std::size_t steps = 0;
  for (const LineLot& lot : order.lots) {
    steps += lot.steps.size();
    if (lot.release < 0 || lot.release > greatest_line_time)
      found.add(lot.name, "has a release below 0 or beyond the greatest", double(lot.release));
    for (const LineStep& step : lot.steps) check_step(order, lot, step, found);
  }
  if (steps > most_line_steps) found.add("lots", "have more than 2000 steps", double(steps));
  if (found.empty()) check_families(order, found);
  return found;
}

// ---- the search -------------------------------------------------------------------------------

/// How a state was reached: kept for every state that was, states themselves only for one layer.
struct Trail {
  int parent = -1;
  int task = -1, machine = -1;
};

/// The steps in their order, each as early as may be, until nothing moves; then people: whoever was
/// at this station last stays there.
class Tidy {
 public:
  explicit Tidy(const LineTables& tables) : tables_(tables) {}
  std::vector<LineTask> tasks(std::vector<Trail> trail) const {
    std::vector<LineTask> made = append(trail);
    for (int rounds = 0; rounds < 50; ++rounds) {
      std::vector<std::size_t> order(made.size());
      std::iota(order.begin(), order.end(), std::size_t{0});
      std::stable_sort(order.begin(), order.end(),
                       [&](std::size_t a, std::size_t b) { return made[a].begin < made[b].begin; });
      std::vector<Trail> sorted;
      for (const std::size_t i : order) sorted.push_back(trail[i]);
      std::vector<LineTask> again = append(sorted);
      const bool same = std::equal(
          again.begin(), again.end(), order.begin(),
          [&](const LineTask& task, std::size_t i) { return task.begin == made[i].begin; });
      trail = std::move(sorted);
      made = std::move(again);
      if (same) break;
    }
    give_people(made);
    return made;
  }

 private:
  std::vector<LineTask> append(const std::vector<Trail>& trail) const {
    std::vector<LineTask> out;
    LineState state = first_state(tables_);
    for (const Trail& step : trail) {
      state.last = 0;
      const StepFacts& one = tables_.tasks[at(step.task)];
      LineMove move{one.lot, step.task, step.machine, 0, 0, 0};
      const Ticks set_up = state.family[at(step.machine)] == one.family ? 0 : one.set_up;
      const Ticks ready = ready_time(tables_, state, one.lot);
      move.begin = std::max({state.machine[at(step.machine)], state.people[at(one.people - 1)],
                             ready - set_up, begun_before(out, one)});
      move.start = move.begin + set_up;
      move.end = move.start + one.work;
      state = after_move_freely(state, move);
      LineTask task;
      task.lot = one.lot;
      task.step = one.step;
      task.machine = step.machine - tables_.machine_from[at(one.station)];
      task.begin = move.begin;
      task.start = move.start;
      task.end = move.end;
      out.push_back(task);
    }
    return out;
  }
  /// The latest begin of what a step waits for.
  Ticks begun_before(const std::vector<LineTask>& made, const StepFacts& one) const {
    Ticks begun = 0;
    const auto waits_for = [&](int lot, int step) {
      for (const LineTask& task : made)
        if (task.lot == lot && task.step == step) begun = std::max(begun, task.begin);
    };
    if (one.step > 0) waits_for(one.lot, one.step - 1);
    for (const int need : one.needs)
      waits_for(tables_.tasks[at(need)].lot, tables_.tasks[at(need)].step);
    return begun;
  }
  /// As after_move, but people may be free before this step begins.
  LineState after_move_freely(const LineState& state, const LineMove& move) const {
    std::vector<Ticks> people = state.people;
    const int count = tables_.tasks[at(move.task)].people;
    auto free_by = std::upper_bound(people.begin(), people.end(), move.begin);
    for (auto who = free_by - count; who != free_by; ++who) *who = move.end;
    std::sort(people.begin(), people.end());
    LineState next = after_move(tables_, state, move, false);
    next.people = people;
    return next;
  }
  void give_people(std::vector<LineTask>& made) const {
    struct Person {
      Ticks free = 0;
      int station = -1, lot = -1;
    };
    std::vector<Person> people(at(tables_.order->people));
    for (LineTask& task : made) {
      const StepFacts& one = tables_.tasks[at(tables_.first_task[at(task.lot)] + task.step)];
      std::vector<int> who(people.size());
      std::iota(who.begin(), who.end(), 0);
      const auto rank = [&](int i) {
        const Person& person = people[at(i)];
        if (person.free > task.begin) return 4;
        if (person.station == one.station) return 0;
        if (person.lot == task.lot) return 1;
        return person.station < 0 ? 3 : 2;
      };
      std::stable_sort(who.begin(), who.end(), [&](int a, int b) { return rank(a) < rank(b); });
      who.resize(at(one.people));
      for (const int i : who) {
        RW_ASSERT(people[at(i)].free <= task.begin);
        people[at(i)] = {task.end, one.station, task.lot};
      }
      std::sort(who.begin(), who.end());
      task.people = who;
    }
  }

  const LineTables& tables_;
};

class Search {
 public:
  Search(const LineTables& tables, const LineOptions& options)
      : tables_(tables), options_(options) {}

  void run(LinePlan& plan);

 private:
  /// Whether every layer was kept whole.
  bool round(std::size_t width);
  void open(const LineState& state, int trail);
  void keep_best(std::size_t width, bool& whole);
  void finish_layer();
  bool worse(const LineState& a, const LineState& b) const;

  const LineTables& tables_;
  const LineOptions& options_;
  std::vector<LineState> layer_, next_;
  std::vector<Trail> trails_;
  std::unordered_map<std::string, std::vector<std::size_t>> same_;  ///< looked up, never listed
  std::vector<bool> dropped_;
  Ticks best_ = greatest_line_time * 1000;
  Ticks cut_ = 0;  ///< least bound of what a round left out
  std::int64_t nodes_ = 0;
  bool by_idle_ = false;
  std::vector<LineTask> best_tasks_;
};

/// Which of two places in the search looks worse: by its bound, or by its bound and the time that
/// people have stood idle, one for one; rounds take turns.
bool Search::worse(const LineState& a, const LineState& b) const {
  if (by_idle_) {
    const auto people = static_cast<Ticks>(a.people.size());
    const Ticks of_a = a.bound * people + a.idle, of_b = b.bound * people + b.idle;
    if (of_a != of_b) return of_a > of_b;
  }
  if (a.bound != b.bound) return a.bound > b.bound;
  if (a.idle != b.idle) return a.idle > b.idle;
  if (a.last != b.last) return a.last > b.last;
  return a.done < b.done;
}

void Search::open(const LineState& state, int trail) {
  constexpr std::size_t most_compared = 40;
  for (const LineMove& move : moves_from(tables_, state)) {
    LineState next = after_move(tables_, state, move);
    ++nodes_;
    next.parent = trail;
    next.bound = std::max(state.bound, bound_from(tables_, next));
    if (next.bound >= best_) continue;
    next.idle = next.energy + std::accumulate(next.people.begin(), next.people.end(), Ticks{0});
    std::string key(reinterpret_cast<const char*>(next.done.data()),
                    next.done.size() * sizeof(next.done[0]));
    auto& equals = same_[key];
    bool beaten = false;
    for (std::size_t i = 0; i < equals.size() && i < most_compared && !beaten; ++i)
      beaten = !dropped_[equals[i]] && nowhere_later(tables_, next_[equals[i]], next);
    if (beaten) continue;
    for (std::size_t i = 0; i < equals.size() && i < most_compared; ++i)
      if (!dropped_[equals[i]] && nowhere_later(tables_, next, next_[equals[i]]))
        dropped_[equals[i]] = true;
    equals.push_back(next_.size());
    next_.push_back(std::move(next));
    dropped_.push_back(false);
  }
}

void Search::keep_best(std::size_t width, bool& whole) {
  std::size_t kept = 0;
  for (std::size_t i = 0; i < next_.size(); ++i) {
    if (dropped_[i]) continue;
    if (kept != i) next_[kept] = std::move(next_[i]);
    ++kept;
  }
  next_.resize(kept);
  if (kept <= width) return;
  whole = false;
  std::vector<std::size_t> order(kept);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return worse(next_[b], next_[a]); });
  std::vector<LineState> best;
  for (std::size_t i = 0; i < width; ++i) best.push_back(std::move(next_[order[i]]));
  for (std::size_t i = width; i < kept; ++i) cut_ = std::min(cut_, next_[order[i]].bound);
  next_ = std::move(best);
}

/// Whole plans at the end of a round. Tidied, the best may finish sooner still: a step in it may
/// have been kept back for nothing.
void Search::finish_layer() {
  const auto best =
      std::min_element(layer_.begin(), layer_.end(),
                       [](const LineState& a, const LineState& b) { return a.finish < b.finish; });
  if (best == layer_.end() || best->finish >= best_) return;
  std::vector<Trail> trail;
  for (int t = best->parent; t >= 0; t = trails_[at(t)].parent) trail.push_back(trails_[at(t)]);
  std::reverse(trail.begin(), trail.end());
  best_tasks_ = Tidy(tables_).tasks(trail);
  best_ = 0;
  for (const LineTask& task : best_tasks_)
    best_ = std::max(best_, task.end + tables_.order->lots[at(task.lot)].steps[at(task.step)].wait);
}

bool Search::round(std::size_t width) {
  bool whole = true;
  trails_.clear();
  layer_ = {first_state(tables_)};
  cut_ = greatest_line_time * 1000;
  for (std::size_t step = 0; step < tables_.tasks.size() && !layer_.empty(); ++step) {
    next_.clear();
    dropped_.clear();
    same_.clear();
    for (const LineState& state : layer_) open(state, state.parent);
    keep_best(width, whole);
    for (LineState& state : next_) {
      trails_.push_back({state.parent, state.task, state.at_machine});
      state.parent = static_cast<int>(trails_.size()) - 1;
    }
    layer_.swap(next_);
    options_.watch.tick(double(nodes_) / double(options_.max_nodes), "planning the run");
    if (nodes_ > 2 * options_.max_nodes && !best_tasks_.empty()) {
      for (const LineState& state : layer_) cut_ = std::min(cut_, state.bound);
      return false;
    }
  }
  finish_layer();
  return whole;
}

void Search::run(LinePlan& plan) {
  bool proven = false;
  std::size_t width = 1;
  const Ticks root = std::max({plan.work_bound, plan.chain_bound, plan.station_bound});
  plan.bound = root;
  for (;; width *= 4) {
    const std::int64_t before = nodes_;
    for (const bool by_idle : {false, true}) {
      by_idle_ = by_idle;
      proven = round(width);
      plan.bound = std::max(plan.bound, std::min(best_, cut_));
      proven = proven || best_ <= plan.bound;
      if (proven || options_.watch.cancelled()) break;
    }
    if (proven || options_.watch.cancelled()) break;
    if (nodes_ + 4 * (nodes_ - before) > options_.max_nodes) break;
  }
  if (proven) plan.bound = best_;
  plan.proven = proven;
  plan.nodes = nodes_;
  plan.tasks = best_tasks_;
  plan.finish = best_;
  plan.method = "partial plans, at most " + std::to_string(width) + " of each number of steps; " +
                (proven ? "nothing better is left" : "stopped at the limit of work");
}

}  // namespace

Result<LinePlan> solve_line(const LineOrder& order, const LineOptions& options) {
  if (Diagnostics found = faults_of(order); !found.empty()) return found;
  const auto tables = line_tables(order);
  if (!tables) return tables.mistakes();
  LinePlan plan;
  plan.proven = true;
  plan.method = "nothing to do";
  if (tables->tasks.empty()) return plan;
  bound_whole(*tables, plan);
  Search search(*tables, options);
  search.run(plan);
  RW_ASSERT(plan.bound <= plan.finish);
  return plan;
}

}  // namespace roomwright::shop
