// The line: brute force over every time of every step in small cases, Johnson's rule, Graham's
// example, bounds that hold, and plans that an independent check cannot fault.
#include "shop/line/line.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <numeric>

namespace roomwright::shop {
namespace {

LineStep step(int station, std::int64_t work, std::int64_t wait = 0) {
  LineStep out;
  out.station = station;
  out.work = work;
  out.wait = wait;
  return out;
}

LineLot lot(const std::string& name, std::vector<LineStep> steps) {
  LineLot out;
  out.name = name;
  out.steps = std::move(steps);
  return out;
}

LinePlan checked(const LineOrder& order, const LineOptions& options = {}) {
  const auto plan = solve_line(order, options);
  EXPECT_TRUE(plan.ok()) << (plan.ok() ? "" : plan.mistakes().text());
  const auto fine = check_line(order, *plan);
  EXPECT_TRUE(fine.ok()) << (fine.ok() ? "" : fine.mistakes().text());
  return *plan;
}

/// Every time for every step, every machine: the least finish at which some plan passes the check.
/// A person is whoever is free: with people alike it is enough to count who is busy.
class EveryPlan {
 public:
  explicit EveryPlan(const LineOrder& order) : order_(order) {
    for (int l = 0; l < int(order.lots.size()); ++l)
      for (int s = 0; s < int(order.lots[l].steps.size()); ++s)
        all_.push_back({l, s, 0, {}, 0, 0, 0});
  }
  bool within(std::int64_t finish) {
    finish_ = finish;
    plan_.tasks.clear();
    return place(0);
  }

 private:
  const LineStep& of(const LineTask& task) const { return order_.lots[task.lot].steps[task.step]; }

  bool place(std::size_t i) {
    if (i == all_.size()) return holds();
    LineTask task = all_[i];
    const LineStep& one = of(task);
    for (task.machine = 0; task.machine < order_.stations[one.station].machines; ++task.machine)
      for (const std::int64_t set_up : {std::int64_t{0}, one.set_up}) {
        for (task.begin = 0; task.begin + set_up + one.work + one.wait <= finish_; ++task.begin) {
          task.start = task.begin + set_up;
          task.end = task.start + one.work;
          plan_.tasks.push_back(task);
          if (fits() && place(i + 1)) return true;
          plan_.tasks.pop_back();
        }
        if (one.set_up == 0) break;
      }
    return false;
  }
  /// The newest against the others: machine and order. The rest is looked at in the end.
  bool fits() const {
    const LineTask& newest = plan_.tasks.back();
    for (std::size_t i = 0; i + 1 < plan_.tasks.size(); ++i) {
      const LineTask& other = plan_.tasks[i];
      if (of(other).station == of(newest).station && other.machine == newest.machine &&
          other.begin < newest.end && newest.begin < other.end)
        return false;
      if (other.lot == newest.lot && other.step + 1 == newest.step && newest.start < other.start)
        return false;
    }
    return true;
  }
  bool holds() {
    LinePlan plan = plan_;
    std::stable_sort(plan.tasks.begin(), plan.tasks.end(),
                     [](const LineTask& a, const LineTask& b) {
                       return std::pair(a.begin, a.end) < std::pair(b.begin, b.end);
                     });
    std::vector<std::int64_t> free(order_.people, 0);
    for (LineTask& task : plan.tasks) {
      for (int who = 0; who < order_.people && int(task.people.size()) < of(task).people; ++who)
        if (free[who] <= task.begin) {
          task.people.push_back(who);
          free[who] = task.end;
        }
      plan.finish = std::max(plan.finish, task.end + of(task).wait);
    }
    return check_line(order_, plan).ok();
  }

  const LineOrder& order_;
  std::vector<LineTask> all_;
  LinePlan plan_;
  std::int64_t finish_ = 0;
};

void expect_least(const LineOrder& order, const std::string& what) {
  const LinePlan plan = checked(order);
  EXPECT_TRUE(plan.proven) << what;
  EveryPlan every(order);
  EXPECT_TRUE(every.within(plan.finish)) << what;
  EXPECT_FALSE(every.within(plan.finish - 1)) << what << ": a plan of less than " << plan.finish;
}

TEST(Line, equals_brute_force_on_every_small_order_of_two_lots_and_two_stations) {
  int orders = 0;
  for (int code = 0; code < 3 * 3 * 3 * 3; ++code)
    for (const int people : {1, 2})
      for (const int wait : {0, 2})
        for (const int set_up : {0, 2}) {
          LineOrder order;
          order.people = people;
          order.stations = {{"saw", 1}, {"bench", 1}};
          int rest = code;
          for (int l = 0; l < 2; ++l) {
            LineLot one = lot(std::string(1, char('A' + l)), {});
            for (int s = 0; s < 2; ++s, rest /= 3) one.steps.push_back(step(s, 1 + rest % 3));
            one.steps[0].wait = wait;
            one.steps[1].set_up = set_up;
            one.steps[1].family = l;
            order.lots.push_back(one);
          }
          expect_least(order, "code " + std::to_string(code) + " people " + std::to_string(people));
          ++orders;
        }
  EXPECT_EQ(orders, 648);
}

TEST(Line, equals_brute_force_with_two_machines_two_people_at_one_step_needs_and_pieces) {
  Random random(7);
  int held = 0;
  for (int round = 0; round < 80; ++round) {
    LineOrder order;
    order.people = int(random.between(1, 3));
    order.stations = {{"a", 1}, {"b", int(random.between(1, 2))}};
    for (int l = 0; l < 2; ++l) {
      LineLot one = lot(std::string(1, char('A' + l)), {});
      for (int s = 0; s < 2; ++s) {
        LineStep made = step(s, random.between(0, 3), random.between(0, 1));
        made.first = made.last = random.between(0, 1) ? (made.work + 1) / 2 : 0;
        made.people = int(random.between(1, std::min(2, order.people)));
        made.family = int(random.between(0, 1));
        made.set_up = made.family + s;
        one.steps.push_back(made);
      }
      order.lots.push_back(one);
    }
    if (random.below(2)) order.lots.push_back(lot("cloth", {step(1, random.between(1, 2))}));
    if (order.lots.size() == 3) {
      order.lots[2].steps[0].family = 1;
      order.lots[2].steps[0].set_up = 2;
      order.lots[0].steps[1].needs.push_back({2, 0});
    }
    order.lots[1].release = random.between(0, 2);
    if (checked(order).finish > 9) continue;  // too many plans to try each
    expect_least(order, "round " + std::to_string(round));
    ++held;
  }
  EXPECT_GE(held, 15);
}

TEST(Line, counts_idle_ends_without_passing_the_least_finish_of_every_plan) {
  Random random(31);
  int held = 0, raised = 0;
  for (int round = 0; round < 120 && held < 40; ++round) {
    LineOrder order;
    order.people = int(random.between(2, 4));
    order.stations = {{"saw", 1}, {"bench", int(random.between(1, 2))}};
    for (int l = 0; l < 3; ++l) {
      LineLot one = lot(std::string(1, char('A' + l)), {});
      one.release = random.between(0, 2);
      for (int s = 0; s < 2; ++s) one.steps.push_back(step(s, random.between(1, 2)));
      if (random.below(3) == 0) one.steps[1].set_up = 1, one.steps[1].family = 1;
      order.lots.push_back(one);
    }
    const LinePlan plan = checked(order);
    EXPECT_LE(std::max({plan.work_bound, plan.chain_bound, plan.station_bound}), plan.finish);
    if (plan.finish > 8) continue;  // too many plans to try each
    std::int64_t work = 0;
    for (const LineLot& one : order.lots)
      for (const LineStep& each : one.steps) work += each.work;
    raised += plan.work_bound > (work + order.people - 1) / order.people;
    expect_least(order, "round " + std::to_string(round));
    ++held;
  }
  EXPECT_GE(held, 30);
  EXPECT_GE(raised, 20) << "or nothing but the sum of the work is looked at";
}

// Source: S. M. Johnson, Optimal two- and three-stage production schedules with setup times
// included, Naval Research Logistics Quarterly 1 (1954) 61-68: rule for two machines (from memory)
TEST(Line, two_machines_follow_johnsons_rule) {
  Random random(11);
  for (int round = 0; round < 40; ++round) {
    LineOrder order;
    order.people = 2;
    order.stations = {{"first", 1}, {"second", 1}};
    std::vector<std::pair<std::int64_t, std::int64_t>> jobs(std::size_t(random.between(3, 9)));
    for (auto& [a, b] : jobs) {
      a = random.between(1, 30);
      b = random.between(1, 30);
      order.lots.push_back(lot("job", {step(0, a), step(1, b)}));
    }
    std::stable_sort(jobs.begin(), jobs.end(), [](const auto& x, const auto& y) {
      const bool x_first = x.first < x.second, y_first = y.first < y.second;
      if (x_first != y_first) return x_first;
      return x_first ? x.first < y.first : x.second > y.second;
    });
    std::int64_t first = 0, second = 0;
    for (const auto& [a, b] : jobs) {
      first += a;
      second = std::max(first, second) + b;
    }
    const LinePlan plan = checked(order);
    EXPECT_EQ(plan.finish, second) << round;
    EXPECT_TRUE(plan.proven) << round;
  }
}

// Source: R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17 (1969)
// 416-429: longest first takes (4m - 1) / 3m of the least time where 2m + 1 jobs of 2m - 1, 2m - 1,
// ..., m + 1, m + 1, m, m, m meet m people; the least is 3m (from memory)
TEST(Line, people_share_grahams_jobs_evenly_where_longest_first_does_not) {
  for (const int m : {2, 3, 4}) {
    LineOrder order;
    order.people = m;
    order.stations = {{"bench", m}};
    for (int length = 2 * m - 1; length > m; --length)
      for (int twice = 0; twice < 2; ++twice) order.lots.push_back(lot("job", {step(0, length)}));
    for (int thrice = 0; thrice < 3; ++thrice) order.lots.push_back(lot("job", {step(0, m)}));
    const LinePlan plan = checked(order);
    EXPECT_EQ(plan.finish, 3 * m);
    EXPECT_TRUE(plan.proven);
  }
}

TEST(Line, one_machine_takes_its_work_and_one_set_up_a_family) {
  LineOrder order;
  order.people = 1;
  order.stations = {{"router", 1}};
  for (int l = 0; l < 6; ++l) {
    order.lots.push_back(lot("lot", {step(0, 10 + l)}));
    order.lots.back().steps[0].family = l % 2;
    order.lots.back().steps[0].set_up = 7;
  }
  const LinePlan plan = checked(order);
  EXPECT_EQ(plan.finish, 10 + 11 + 12 + 13 + 14 + 15 + 2 * 7);
  EXPECT_TRUE(plan.proven);
}

TEST(Line, pieces_go_on_one_by_one) {
  // Ten pieces of 6 on the first bench and 4 on the second: the second may not run dry, so it
  // begins when its last piece comes just in time: 60 + 4 in all. Whole lots take 60 + 40.
  LineOrder order;
  order.people = 2;
  order.stations = {{"first", 1}, {"second", 1}};
  order.lots = {lot("ten", {step(0, 60), step(1, 40)})};
  EXPECT_EQ(checked(order).finish, 100);
  order.lots[0].steps[0].first = order.lots[0].steps[0].last = 6;
  order.lots[0].steps[1].first = order.lots[0].steps[1].last = 4;
  EXPECT_EQ(checked(order).finish, 64);
  order.lots[0].steps[0].wait = 30;  // glue
  EXPECT_EQ(checked(order).finish, 94);
  order.people = 1;
  EXPECT_EQ(checked(order).finish, 100) << "one person has time for the glue to set";
}

LineOrder random_order(Random& random, int lots) {
  LineOrder order;
  const int stations = int(random.between(2, 7));
  order.people = int(random.between(1, 4));
  for (int s = 0; s < stations; ++s)
    order.stations.push_back({"station", int(random.between(1, 2))});
  for (int l = 0; l < lots; ++l) {
    LineLot one = lot("lot " + std::to_string(l), {});
    for (int s = 0; s < stations; ++s) {
      if (random.below(5) == 0) continue;
      LineStep made = step(s, random.between(0, 90), random.below(4) ? 0 : random.between(0, 40));
      const std::int64_t pieces = random.between(1, 6);
      made.first = made.last = (made.work + pieces - 1) / pieces;
      made.family = int(random.between(0, 1));
      made.set_up = s % 3 == 0 ? 5 + made.family * 4 : s % 3;
      if (order.people > 1 && random.below(6) == 0) made.people = 2;
      one.steps.push_back(made);
    }
    if (one.steps.empty()) one.steps.push_back(step(0, 5));
    if (one.steps[0].station == 0 && one.steps[0].set_up == 0)
      one.steps[0].set_up = 5 + one.steps[0].family * 4;
    if (l > 0 && random.below(3) == 0) one.steps.back().needs.push_back({l - 1, 0});
    order.lots.push_back(one);
  }
  return order;
}

TEST(Line, plans_of_random_orders_stand_the_check_and_keep_their_bound) {
  Random random(3);
  for (int round = 0; round < 80; ++round) {
    const LineOrder order = random_order(random, int(random.between(1, 9)));
    const LinePlan plan = checked(order, {.max_nodes = 4'000, .watch = {}});
    EXPECT_LE(plan.bound, plan.finish);
    EXPECT_LE(std::max({plan.work_bound, plan.chain_bound, plan.station_bound}), plan.bound);
  }
}

TEST(Line, more_people_and_more_work_for_the_search_never_make_it_later) {
  Random random(23);
  for (int round = 0; round < 30; ++round) {
    LineOrder order = random_order(random, 4);
    for (LineLot& one : order.lots)
      for (LineStep& made : one.steps) made.people = 1;
    std::int64_t before = greatest_line_time;
    for (order.people = 1; order.people <= 4; ++order.people) {
      const LinePlan little = checked(order, {.max_nodes = 100, .watch = {}});
      const LinePlan much = checked(order, {.max_nodes = 300'000, .watch = {}});
      EXPECT_LE(much.finish, little.finish);
      EXPECT_GE(much.bound, little.bound);
      EXPECT_LE(little.bound, much.finish) << "a bound holds for every plan";
      if (much.proven) {
        EXPECT_LE(much.finish, before);
      }
      before = much.finish;
    }
  }
}

TEST(Line, the_check_faults_what_is_wrong) {
  LineOrder order;
  order.people = 1;
  order.stations = {{"saw", 1}, {"bench", 1}};
  order.lots = {lot("A", {step(0, 5, 3), step(1, 5)}), lot("B", {step(0, 5), step(1, 5)})};
  order.lots[0].steps[0].set_up = order.lots[1].steps[0].set_up = 2;
  const LinePlan good = checked(order);
  const auto faulted = [&](const std::function<void(LinePlan&)>& spoil) {
    LinePlan plan = good;
    spoil(plan);
    return !check_line(order, plan).ok();
  };
  EXPECT_FALSE(faulted([](LinePlan&) {}));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks.pop_back(); }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks[1] = plan.tasks[0]; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks[0].end += 1; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks[0].begin += 1; })) << "set-up";
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks[2].people = {1}; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.tasks[2].machine = 1; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.finish -= 1; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) { plan.bound += 1; }));
  EXPECT_TRUE(faulted([](LinePlan& plan) {
    for (LineTask& task : plan.tasks) task.begin -= 3, task.start -= 3, task.end -= 3;
    plan.finish -= 3, plan.bound -= 3;
    for (LineTask& task : plan.tasks)
      if (task.step == 1) task.begin = task.start = 0, task.end = 5;
  }));
}

TEST(Line, wrong_orders_are_told_by_the_lots_name) {
  LineOrder order;
  order.people = 1;
  order.stations = {{"saw", 1}};
  order.lots = {lot("A", {step(3, 5)}), lot("B", {step(0, -1)}), lot("C", {step(0, 1)}),
                lot("D", {step(0, 1)})};
  order.lots[2].steps[0].people = 2;
  order.lots[3].steps[0].needs.push_back({9, 0});
  const std::string text = solve_line(order).mistakes().text();
  EXPECT_NE(text.find("A: goes to a station that is not there"), std::string::npos) << text;
  EXPECT_NE(text.find("B: has a time below 0"), std::string::npos) << text;
  EXPECT_NE(text.find("C: needs more people"), std::string::npos) << text;
  EXPECT_NE(text.find("D: needs a step that is not there"), std::string::npos) << text;
  order.lots = {lot("A", {step(0, 5), step(0, 5)})};
  order.lots[0].steps[0].needs.push_back({0, 1});
  EXPECT_NE(solve_line(order).mistakes().text().find("A: waits for itself"), std::string::npos);
}

TEST(Line, the_same_order_gives_the_same_plan) {
  Random random(5);
  const LineOrder order = random_order(random, 8);
  const LinePlan one = checked(order), other = checked(order);
  EXPECT_EQ(one.nodes, other.nodes);
  ASSERT_EQ(one.tasks.size(), other.tasks.size());
  for (std::size_t i = 0; i < one.tasks.size(); ++i) {
    EXPECT_EQ(one.tasks[i].begin, other.tasks[i].begin);
    EXPECT_EQ(one.tasks[i].people, other.tasks[i].people);
  }
}

}  // namespace
}  // namespace roomwright::shop
