// Shares: the axioms of the value, a known game, every order counted by hand, whole cents.
#include "shop/sharing/sharing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

namespace roomwright::shop {
namespace {

using Set = std::uint32_t;

Sharing shared(int players, const std::vector<SharedCost>& costs) {
  auto out = share_costs(players, costs);
  EXPECT_TRUE(out.ok()) << (out.ok() ? "" : out.mistakes().text());
  EXPECT_EQ(std::accumulate(out->shares.begin(), out->shares.end(), std::int64_t{0}),
            out->together);
  for (int p = 0; p < players; ++p) EXPECT_LE(out->shares[p], out->alone[p]);
  return *out;
}

// Source: S. C. Littlechild & G. Owen, A simple expression for the Shapley value in a special case,
// Management Science 20 (1973) 370-372: where a coalition costs what its dearest member does, each
// step of cost is shared evenly by those who need it (from memory)
TEST(Sharing, the_longest_runway_is_paid_step_by_step) {
  const std::vector<std::int64_t> need = {1200, 2400, 3600, 12000};
  const Sharing out = shared(4, {{"runway", 15, [&](Set set) {
                                    std::int64_t most = 0;
                                    for (int p = 0; p < 4; ++p)
                                      if (set >> p & 1) most = std::max(most, need[p]);
                                    return most;
                                  }}});
  EXPECT_EQ(out.shares, (std::vector<std::int64_t>{300, 700, 1300, 9700}));
}

/// The mean over every order, counted one by one.
std::vector<double> by_orders(int players, const std::function<std::int64_t(Set)>& cost) {
  std::vector<int> order(players);
  std::iota(order.begin(), order.end(), 0);
  std::vector<double> sum(players, 0);
  double orders = 0;
  do {
    Set before = 0;
    for (const int p : order) {
      sum[p] += double(cost(before | 1u << p) - (before ? cost(before) : 0));
      before |= 1u << p;
    }
    ++orders;
  } while (std::next_permutation(order.begin(), order.end()));
  for (double& one : sum) one /= orders;
  return sum;
}

TEST(Sharing, equals_the_mean_over_every_order_to_the_cent) {
  Random random(1);
  for (int players = 1; players <= 6; ++players)
    for (int round = 0; round < 20; ++round) {
      // Packs of seven: a cost that is never more together.
      std::vector<std::int64_t> need(players);
      for (auto& one : need) one = random.between(0, 30);
      const auto cost = [&](Set set) {
        std::int64_t sum = 0;
        for (int p = 0; p < players; ++p)
          if (set >> p & 1) sum += need[p];
        return (sum + 6) / 7 * 995;
      };
      const Sharing out = shared(players, {{"packs", (1u << players) - 1, cost}});
      const auto wanted = by_orders(players, cost);
      for (int p = 0; p < players; ++p) EXPECT_LT(std::abs(out.shares[p] - wanted[p]), 1.0);
      EXPECT_EQ(out.mended, 0);
    }
}

TEST(Sharing, equal_players_pay_alike_within_a_cent_and_who_adds_nothing_pays_nothing) {
  const auto cost = [](Set set) { return set & 7u ? std::int64_t{1000} : 0; };
  const Sharing out = shared(4, {{"set-up", 15, cost}});
  EXPECT_EQ(out.shares, (std::vector<std::int64_t>{334, 333, 333, 0}));
}

TEST(Sharing, parts_that_a_player_has_no_part_in_cost_him_nothing) {
  int asked = 0;
  const Sharing out = shared(8, {{"felt", 0b11, [&](Set) { return ++asked, std::int64_t{500}; }},
                                 {"ply", 0b100, [](Set) { return std::int64_t{70}; }}});
  EXPECT_EQ(asked, 3) << "each coalition of those two once";
  EXPECT_EQ(out.shares, (std::vector<std::int64_t>{250, 250, 70, 0, 0, 0, 0, 0}));
}

TEST(Sharing, a_coalition_that_costs_more_than_its_parts_pays_for_its_parts) {
  const auto cost = [](Set set) {
    return set == 3   ? std::int64_t{250}
           : set == 7 ? std::int64_t{290}
                      : 100 * __builtin_popcount(set);
  };
  const Sharing out = shared(3, {{"sticks", 7, cost}});
  EXPECT_EQ(out.mended, 1);
  EXPECT_EQ(out.together, 290);
}

TEST(Sharing, many_players_are_sampled_with_an_error_that_holds) {
  // Each set-up is shared by the players of one parity: the value is known.
  const int players = 12;
  const auto odd = [](Set set) { return set & 0xAAAu ? std::int64_t{60'000} : 0; };
  const auto own = [](Set set) { return std::int64_t{1000} * __builtin_popcount(set); };
  const Sharing out = shared(players, {{"odd", 0xAAA, odd}, {"own", 0xFFF, own}});
  EXPECT_FALSE(out.exact);
  EXPECT_GT(out.standard_error, 0);
  for (int p = 0; p < players; ++p)
    EXPECT_NEAR(out.shares[p], p % 2 ? 11'000 : 1'000, 4 * out.standard_error + 1) << p;
}

TEST(Sharing, what_cannot_be_shared_is_told) {
  EXPECT_FALSE(share_costs(0, {}).ok());
  EXPECT_FALSE(share_costs(25, {}).ok());
  EXPECT_FALSE(share_costs(2, {{"x", 4, [](Set) { return std::int64_t{1}; }}}).ok());
  EXPECT_FALSE(share_costs(2, {{"x", 3, [](Set) { return std::int64_t{-1}; }}}).ok());
}

}  // namespace
}  // namespace roomwright::shop
