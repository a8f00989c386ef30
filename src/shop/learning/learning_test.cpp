// Learning: one bad day hardly counts, many steady ones converge, the stated spread holds the truth
// as often as it says, and a wrong log tells every mistake.
#include "shop/learning/learning.h"

#include <gtest/gtest.h>

#include <cmath>

namespace roomwright::shop {
namespace {

/// Normal by the method of Box and Muller.
double normal(Random& random) {
  const double u = 1 - random.unit(), v = random.unit();
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * std::acos(-1.0) * v);
}

/// Student with 4 degrees of freedom.
double student(Random& random) {
  double squares = 0;
  for (int i = 0; i < 4; ++i) {
    const double one = normal(random);
    squares += one * one;
  }
  return normal(random) / std::sqrt(squares / 4);
}

TEST(Learning, nothing_noted_leaves_the_standard_and_its_stated_spread) {
  const LogRatio ratio = estimate_ratio({});
  EXPECT_NEAR(ratio.median, 0, 1e-9);
  EXPECT_NEAR(ratio.low, -1.28155 * 0.30, 2e-3);
  EXPECT_NEAR(ratio.high, 1.28155 * 0.30, 2e-3);
}

TEST(Learning, one_bad_day_of_factor_three_moves_it_by_less_than_three_percent) {
  // Six days around the standard, as days are.
  const std::vector<double> steady = {0.03, -0.08, 0.11, -0.02, 0.06, -0.10};
  const double before = estimate_ratio(steady).median;
  for (const double factor : {3.0, 1.0 / 3, 30.0}) {
    std::vector<double> with = steady;
    with.push_back(std::log(factor));
    EXPECT_LT(std::abs(std::exp(estimate_ratio(with).median - before) - 1), 0.03) << factor;
  }
  // The mean would have jumped by 17 %.
  EXPECT_GT(std::exp(std::log(3.0) / 7), 1.16);
}

TEST(Learning, one_day_alone_moves_it_less_than_half_the_way) {
  EXPECT_LT(estimate_ratio({std::log(1.5)}).median, std::log(1.5) * 0.8);
  EXPECT_LT(estimate_ratio({std::log(3.0)}).median, std::log(3.0) / 2);
}

TEST(Learning, many_steady_days_converge_to_the_truth) {
  Random random(4);
  for (const double truth : {0.6, 1.0, 1.3, 1.9}) {
    std::vector<double> days;
    for (int d = 0; d < 60; ++d) days.push_back(std::log(truth) + 0.12 * normal(random));
    const LogRatio ratio = estimate_ratio(days);
    EXPECT_NEAR(std::exp(ratio.median), truth, 0.05 * truth);
    EXPECT_LT(ratio.high - ratio.low, 0.10);
  }
}

TEST(Learning, the_spread_holds_the_truth_eight_times_in_ten) {
  Random random(80);
  const LearningOptions options;
  int held = 0, cases = 0;
  for (int round = 0; round < 400; ++round) {
    const double truth = options.prior_spread * normal(random);
    const double scatter = options.day_scatter * std::exp(options.scatter_spread * normal(random));
    std::vector<double> days;
    for (int d = 0; d < 1 + round % 12; ++d) days.push_back(truth + scatter * student(random));
    const LogRatio ratio = estimate_ratio(days, options);
    held += truth >= ratio.low && truth <= ratio.high ? 1 : 0;
    ++cases;
  }
  // 320 of 400 on average; four standard deviations of a binomial are 32.
  EXPECT_NEAR(held, 0.8 * cases, 32);
}

TimeLog session(const std::string& date, const std::string& station,
                std::vector<std::pair<std::string, double>> work, double minutes) {
  return {date, "a", station, std::move(work), minutes, 0};
}

const TimeEstimate& of(const std::vector<TimeEstimate>& all, const std::string& key) {
  for (const TimeEstimate& one : all)
    if (one.key == key) return one;
  ADD_FAILURE() << "no " << key;
  return all.front();
}

TEST(Learning, a_standard_stays_until_there_are_three_days) {
  const Times times = default_times();
  std::vector<TimeLog> logs;
  for (const char* date : {"2026-11-02", "2026-11-02", "2026-11-03", "2026-11-04"}) {
    logs.push_back(session(date, "saw", {{"cut", 50}}, 50 * 0.6 * 1.4));
    const auto all = learn_times(times, logs).value();
    const TimeEstimate& cut = of(all, "each.cut");
    EXPECT_EQ(cut.moves, cut.days >= 3) << cut.sentence;
    EXPECT_EQ(cut.logs, int(logs.size()));
    if (!cut.moves) {
      EXPECT_EQ(cut.proposal_min, 0.6);
    }
  }
  const auto all = learn_times(times, logs).value();
  const TimeEstimate& cut = of(all, "each.cut");
  EXPECT_GT(cut.proposal_min, 0.6 * 1.2);
  EXPECT_LT(cut.proposal_min, 0.6 * 1.4);
  EXPECT_LT(cut.low_min, cut.estimate_min);
  EXPECT_GT(cut.high_min, cut.estimate_min);
}

TEST(Learning, a_session_of_several_features_is_split_by_their_standards) {
  const Times times = default_times();
  std::vector<TimeLog> logs;
  for (int day = 1; day <= 9; ++day)
    logs.push_back(session("2026-11-0" + std::to_string(day), "saw",
                           {{"set_up", 1}, {"cut", 50}, {"stop_setting", 5}},
                           (15 + 30 + 10) * 1.2));
  const auto all = learn_times(times, logs).value();
  ASSERT_EQ(all.size(), 3u);
  for (const TimeEstimate& one : all) EXPECT_NEAR(one.estimate_min / one.standard_min, 1.19, 0.03);
  EXPECT_EQ(of(all, "set_up.saw").standard_min, 15);
  for (const TimeEstimate& one : all)
    EXPECT_LE(shortest(one.proposal_min).size(), 5u) << "three figures are written as three";
}

/// Sessions of a saw whose set-up and cuts have truths of their own; days scatter.
std::vector<TimeLog> saw_days(Random& random, int days, double set_up, double cut, double scatter) {
  std::vector<TimeLog> logs;
  for (int day = 1; day <= days; ++day) {
    const double cuts = double(random.between(10, 120));
    const double taken = (15 * set_up + cuts * 0.6 * cut) * std::exp(scatter * normal(random));
    logs.push_back(session("2026-10-" + std::string(day < 10 ? "0" : "") + std::to_string(day),
                           "saw", {{"set_up", 1}, {"cut", cuts}}, taken));
  }
  return logs;
}

TEST(Learning, set_up_and_each_piece_are_taken_apart_where_both_vary) {
  const Times times = default_times();
  Random random(11);
  double sum_set_up = 0, sum_cut = 0;
  constexpr int rounds = 40;
  for (int round = 0; round < rounds; ++round) {
    const auto all = learn_times(times, saw_days(random, 25, 1.5, 0.8, 0.08)).value();
    sum_set_up += std::log(of(all, "set_up.saw").estimate_min / 15);
    sum_cut += std::log(of(all, "each.cut").estimate_min / 0.6);
  }
  EXPECT_NEAR(std::exp(sum_set_up / rounds), 1.5, 0.12) << "shrunk toward the standard";
  EXPECT_NEAR(std::exp(sum_cut / rounds), 0.8, 0.05);
}

TEST(Learning, a_set_up_noted_on_its_own_is_found_sooner) {
  const Times times = default_times();
  Random random(12);
  std::vector<TimeLog> together = saw_days(random, 6, 1.6, 0.9, 0.08), own;
  for (const TimeLog& one : together) {
    own.push_back(session(one.date, "saw", {{"set_up", 1}}, 15 * 1.6));
    own.push_back(session(one.date, "saw", {one.work[1]}, one.work[1].second * 0.6 * 0.9));
  }
  const auto mixed = learn_times(times, together).value(), apart = learn_times(times, own).value();
  const auto width = [](const TimeEstimate& one) { return std::log(one.high_min / one.low_min); };
  EXPECT_LT(width(of(apart, "set_up.saw")), 0.7 * width(of(mixed, "set_up.saw")));
  EXPECT_NEAR(of(apart, "set_up.saw").estimate_min, 24, 1.2);
}

TEST(Learning, one_bad_day_moves_neither_set_up_nor_piece_by_a_jump) {
  const Times times = default_times();
  for (const double factor : {3.0, 1.0 / 3, 20.0}) {
    Random random(13);
    std::vector<TimeLog> logs = saw_days(random, 8, 1.0, 1.0, 0.08);
    const auto before = learn_times(times, logs).value();
    for (const double cuts : {5.0, 60.0, 400.0}) {
      std::vector<TimeLog> with = logs;
      with.push_back(
          session("2026-10-20", "saw", {{"set_up", 1}, {"cut", cuts}}, factor * (15 + cuts * 0.6)));
      const auto after = learn_times(times, with).value();
      for (const char* key : {"set_up.saw", "each.cut"})
        EXPECT_LT(std::abs(of(after, key).estimate_min / of(before, key).estimate_min - 1), 0.10)
            << key << " factor " << factor << " cuts " << cuts;
    }
  }
}

TEST(Learning, the_spread_of_what_is_taken_apart_holds_the_truth_eight_times_in_ten) {
  const Times times = default_times();
  const LearningOptions options;
  Random random(81);
  int held = 0, cases = 0;
  for (int round = 0; round < 250; ++round) {
    // Truths as the model draws them: seven tenths of the variance are common.
    const double common = std::sqrt(0.7) * options.prior_spread * normal(random);
    const auto truth = [&] {
      return std::exp(common + std::sqrt(0.3) * options.prior_spread * normal(random));
    };
    const double set_up = truth(), cut = truth();
    const double scatter = options.day_scatter * std::exp(options.scatter_spread * normal(random));
    std::vector<TimeLog> logs;
    for (int day = 1; day <= 2 + round % 12; ++day) {
      const double cuts = double(random.between(5, 120));
      logs.push_back(
          session("2026-10-" + std::string(day < 10 ? "0" : "") + std::to_string(day), "saw",
                  {{"set_up", 1}, {"cut", cuts}},
                  (15 * set_up + cuts * 0.6 * cut) * std::exp(scatter * student(random))));
    }
    const auto all = learn_times(times, logs).value();
    for (const auto& [key, minutes] :
         {std::pair{"set_up.saw", 15 * set_up}, {"each.cut", 0.6 * cut}}) {
      const TimeEstimate& one = of(all, key);
      held += minutes >= one.low_min && minutes <= one.high_min;
      ++cases;
    }
  }
  // 400 of 500 on average; both of a round go together, so five deviations of 250 draws' are 0.13.
  EXPECT_NEAR(double(held) / cases, 0.8, 0.08);
}

TEST(Learning, a_log_is_read_and_its_mistakes_are_told_at_once) {
  const Times times = default_times();
  const auto logs = read_time_logs(
      "date,person,station,work,minutes\n# a good day\n\n"
      "2026-11-20, a, saw, set_up 1; cut 64; stop_setting 5, 70.5\r\n",
      times);
  ASSERT_TRUE(logs.ok()) << logs.mistakes().text();
  ASSERT_EQ(logs->size(), 1u);
  EXPECT_EQ((*logs)[0].work[1].first, "cut");
  EXPECT_EQ((*logs)[0].work[1].second, 64);
  EXPECT_EQ((*logs)[0].minutes, 70.5);
  EXPECT_EQ((*logs)[0].line, 4);
  const auto wrong = read_time_logs(
      "date,person,station,work,minutes\n"
      "2026-02-30,a,saw,cut 5,10\n2026-11-20,,saw,cut 5,10\n2026-11-20,a,lathe,cut 5,10\n"
      "2026-11-20,a,saw,cut,10\n2026-11-20,a,saw,carve 5,10\n2026-11-20,a,saw,cut 5,-3\n"
      "2026-11-20,a,saw,cut 5\n2026-11-20,a,saw,cut nan,inf\n",
      times);
  ASSERT_FALSE(wrong.ok());
  const std::string text = wrong.mistakes().text();
  for (const char* part :
       {"line 2: date", "line 3: person", "line 4: station", "line 5: work", "line 6: work",
        "line 7: minutes", "line 8: must have five columns", "line 9: work", "line 9: minutes"})
    EXPECT_NE(text.find(part), std::string::npos) << part << "\n" << text;
  EXPECT_FALSE(read_time_logs("", times).ok());
  EXPECT_FALSE(read_time_logs("2026-11-20,a,saw,cut 5,10\n", times).ok());
}

}  // namespace
}  // namespace roomwright::shop
