// Nothing is promised twice, nothing in hand is below nothing, and what the sentences say is so.
#include "shop/ledger/ledger.h"

#include <gtest/gtest.h>

#include "figures/small_shop.h"

namespace roomwright::shop {
namespace {

const Units ledger_metric{true, 16};

Slot stick(Length length) {
  return {ItemKind::stick, "deep", length, ""};
}
Move move(MoveKind kind, const Slot& slot, Amount amount, const std::string& job = "") {
  return {kind, slot, amount, 0, job, "", "", ""};
}

/// The whole list of moves, counted anew each time: what the ledger must agree with.
struct PlainModel {
  std::vector<Move> moves;

  Amount in_hand(const Slot& slot) const {
    Amount out = 0;
    for (const Move& one : moves) {
      if (one.slot != slot) continue;
      if (one.kind == MoveKind::receive || one.kind == MoveKind::offcut) out += one.amount;
      if (one.kind == MoveKind::use) out -= one.amount;
      if (one.kind == MoveKind::count) out = one.amount;
    }
    return out;
  }
  Amount promised(const Slot& slot, const std::string& job) const {
    Amount out = 0;
    for (const Move& one : moves) {
      if (one.slot != slot || one.job != job) continue;
      if (one.kind == MoveKind::reserve) out += one.amount;
      if (one.kind == MoveKind::release) out -= one.amount;
      if (one.kind == MoveKind::use) out = std::max<Amount>(0, out - one.amount);
    }
    return out;
  }
  Amount promised(const Slot& slot) const {
    return promised(slot, "A") + promised(slot, "B") + promised(slot, "C");
  }
  bool allows(const Move& one) const {
    const Amount there = in_hand(one.slot), all = promised(one.slot);
    const Amount own = one.job.empty() ? 0 : promised(one.slot, one.job);
    switch (one.kind) {
      case MoveKind::use:
        return there - (all - own) >= one.amount;
      case MoveKind::reserve:
        return !one.job.empty() && there - all >= one.amount;
      case MoveKind::release:
        return !one.job.empty() && own >= one.amount;
      default:
        return true;
    }
  }
};

TEST(Ledger, agrees_with_a_plain_list_of_moves_and_promises_nothing_twice) {
  int refused = 0;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    Random random(seed);
    PlainModel model;
    Ledger ledger;
    for (int i = 0; i < 120; ++i) {
      const Slot slot = random.below(2)
                            ? stick(2400_mm)
                            : Slot{ItemKind::board, "wool", Length(), random.below(2) ? "7" : ""};
      static const char* const jobs[] = {"A", "B", "C", ""};
      const auto kind = MoveKind(random.below(random.below(6) == 0 ? 6 : 5));
      if (kind == MoveKind::count && random.below(3)) continue;
      const Move next = move(kind, slot, 1 + Amount(random.below(6)), jobs[random.below(4)]);
      const bool made = ledger.post(next, ledger_metric).ok();
      ASSERT_EQ(made, model.allows(next)) << seed << " " << i;
      if (made)
        model.moves.push_back(next);
      else
        ++refused;
      const Holding* at = ledger.find(slot);
      ASSERT_EQ(at ? at->in_hand : 0, model.in_hand(slot));
      ASSERT_GE(at ? at->in_hand : 0, 0) << "(1)";
      for (const char* job : {"A", "B", "C"})
        ASSERT_EQ(at ? at->promised_to(job) : 0, model.promised(slot, job));
      if (kind == MoveKind::reserve && made) ASSERT_LE(at->promised(), at->in_hand) << "(2)";
    }
    for (const auto& hollow : ledger.hollow()) ASSERT_GT(hollow.missing, 0);
  }
  EXPECT_GT(refused, 500);
}

TEST(Ledger, a_move_and_its_inverse_leave_what_was) {
  Ledger ledger;
  const Slot slot = stick(2400_mm);
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, slot, 10), ledger_metric).ok());
  ASSERT_TRUE(ledger.post(move(MoveKind::reserve, slot, 4, "A"), ledger_metric).ok());
  for (const Move& next : {move(MoveKind::receive, slot, 3), move(MoveKind::use, slot, 2),
                           move(MoveKind::count, slot, 7), move(MoveKind::reserve, slot, 2, "B"),
                           move(MoveKind::release, slot, 1, "A")}) {
    const auto made = ledger.post(next, ledger_metric);
    ASSERT_TRUE(made.ok()) << made.mistakes().text();
    const auto back = ledger.post(invert(*made), ledger_metric);
    ASSERT_TRUE(back.ok()) << back.mistakes().text();
    EXPECT_EQ(ledger.find(slot)->in_hand, 10);
    EXPECT_EQ(ledger.find(slot)->promised_to("A"), 4);
    EXPECT_EQ(ledger.find(slot)->promised(), 4);
  }
}

TEST(Ledger, a_count_that_finds_less_tells_whose_promise_is_hollow) {
  Ledger ledger;
  const Slot slot = stick(2400_mm);
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, slot, 10), ledger_metric).ok());
  ASSERT_TRUE(ledger.post(move(MoveKind::reserve, slot, 6, "A"), ledger_metric).ok());
  ASSERT_TRUE(ledger.post(move(MoveKind::reserve, slot, 4, "B"), ledger_metric).ok());
  const auto counted = ledger.post(move(MoveKind::count, slot, 7), ledger_metric);
  ASSERT_TRUE(counted.ok());
  EXPECT_EQ(counted->was, 10);
  const auto hollow = ledger.hollow();
  ASSERT_EQ(hollow.size(), 1u);
  EXPECT_EQ(hollow[0].job, "B") << "the latest promise is short (4)";
  EXPECT_EQ(hollow[0].missing, 3);
}

TEST(Ledger, what_is_refused_says_what_is_there) {
  Ledger ledger;
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, stick(2400_mm), 3), ledger_metric).ok());
  const auto refused = ledger.post(move(MoveKind::reserve, stick(2400_mm), 5, "A"), ledger_metric);
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.mistakes().items()[0].sentence(),
            "deep of 2400 mm: has 3 free, 5 asked; receive more, count again, or release what "
            "another job holds");
  for (const Move& bad : {move(MoveKind::receive, stick(Length()), 1),
                          move(MoveKind::receive, {ItemKind::board, "wool", 10_mm, ""}, 1),
                          move(MoveKind::receive, stick(2400_mm), 0),
                          move(MoveKind::receive, stick(2400_mm), most_amount),
                          move(MoveKind::reserve, stick(2400_mm), 1)})
    EXPECT_FALSE(ledger.post(bad, ledger_metric).ok());
  EXPECT_EQ(ledger.find(stick(2400_mm))->in_hand, 3);
}

TEST(Ledger, reserving_is_all_or_nothing_and_told_by_item) {
  Ledger ledger;
  const Slot board{ItemKind::board, "wool", Length(), ""};
  const Slot lot7{ItemKind::cloth, "cloth", Length(), "7"},
      lot8{ItemKind::cloth, "cloth", Length(), "8"};
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, stick(2400_mm), 3), ledger_metric).ok());
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, board, 10), ledger_metric).ok());
  ASSERT_TRUE(
      ledger.post(move(MoveKind::receive, lot7, (6000_mm).nanometres()), ledger_metric).ok());
  ASSERT_TRUE(
      ledger.post(move(MoveKind::receive, lot8, (9000_mm).nanometres()), ledger_metric).ok());
  const Slot cloth{ItemKind::cloth, "cloth", Length(), ""};
  const auto short_of =
      reserve_plan(ledger, {{stick(2400_mm), 5}, {board, 4}, {cloth, (10000_mm).nanometres()}}, "A",
                   ledger_metric);
  EXPECT_TRUE(short_of.moves.empty());
  ASSERT_EQ(short_of.short_of.size(), 2u);
  EXPECT_EQ(short_of.short_of[0].sentence, "deep of 2400 mm: 5 wanted, 3 free, 2 short");
  EXPECT_EQ(short_of.short_of[1].sentence,
            "cloth: 10.00 m wanted in one lot, the fullest has 9.00 m free")
      << "15 m are there, but in two dye lots";
  const auto fits = reserve_plan(ledger, {{stick(2400_mm), 2}, {cloth, (5000_mm).nanometres()}},
                                 "A", ledger_metric);
  ASSERT_EQ(fits.moves.size(), 2u);
  EXPECT_EQ(fits.moves[1].slot.lot, "7") << "the smaller roll that does";
  for (const Move& one : fits.moves) ASSERT_TRUE(ledger.post(one, ledger_metric).ok());
  EXPECT_TRUE(reserve_plan(ledger, {{stick(2400_mm), 2}, {cloth, (5000_mm).nanometres()}}, "A",
                           ledger_metric)
                  .moves.empty())
      << "what is reserved already is not reserved again";
  EXPECT_EQ(release_plan(ledger, "A").size(), 2u);
}

TEST(Ledger, what_a_job_uses_leaves_its_offcuts_in_the_rack_with_labels) {
  Schedule schedule;
  StickPlan plan;
  plan.section = "deep";
  StickPattern pattern;
  pattern.stock_length = 3000_mm;
  pattern.sticks = 2;
  pattern.offcut = 700_mm;
  pattern.keep_offcut = true;
  plan.patterns = {pattern};
  schedule.sticks = {plan};
  Ledger ledger;
  ASSERT_TRUE(ledger.post(move(MoveKind::receive, stick(3000_mm), 2), ledger_metric).ok());
  EXPECT_FALSE(use_plan(ledger, schedule, "A").ok()) << "nothing is reserved";
  Rules rules = default_rules(true);
  for (const Move& one : reserve_plan(ledger, needs_of(schedule, rules), "A", ledger_metric).moves)
    ASSERT_TRUE(ledger.post(one, ledger_metric).ok());
  const auto used = use_plan(ledger, schedule, "A");
  ASSERT_TRUE(used.ok());
  for (const Move& one : *used) ASSERT_TRUE(ledger.post(one, ledger_metric).ok());
  EXPECT_EQ(ledger.find(stick(3000_mm)), nullptr);
  EXPECT_EQ(ledger.find(stick(700_mm))->in_hand, 2);
  EXPECT_EQ(used->back().label, "R2");
  EXPECT_EQ(ledger.next_label(), "R3");
}

TEST(Ledger, the_shop_files_counts_open_it_and_come_back_from_it) {
  Shop shop = figures::small_shop(true);
  shop.cloths["cloth"].in_hand = 4000_mm;
  shop.boards["wool"].in_hand = 5;
  shop.hardware["screw"].in_hand = 12.5;
  Ledger ledger;
  for (const Move& one : opening_moves(shop)) ASSERT_TRUE(ledger.post(one, ledger_metric).ok());
  Shop same = shop_with_stock(shop, ledger, "");
  EXPECT_EQ(same.timber["deep"].sticks[0].in_hand, 2);
  EXPECT_EQ(same.cloths["cloth"].in_hand, 4000_mm);
  EXPECT_EQ(same.boards["wool"].in_hand, 5);
  EXPECT_EQ(same.hardware["screw"].in_hand, 12.5);
  ASSERT_TRUE(ledger.post(move(MoveKind::offcut, stick(700_mm), 3), ledger_metric).ok());
  ASSERT_TRUE(ledger.post(move(MoveKind::reserve, stick(700_mm), 1, "A"), ledger_metric).ok());
  const Shop other = shop_with_stock(shop, ledger, "B"), own = shop_with_stock(shop, ledger, "A");
  ASSERT_EQ(other.timber.at("deep").sticks.size(), 2u);
  EXPECT_EQ(other.timber.at("deep").sticks[1].in_hand, 2) << "another job's is not offered";
  EXPECT_EQ(own.timber.at("deep").sticks[1].in_hand, 3);
  EXPECT_EQ(own.timber.at("deep").sticks[1].sold, 0);
  const Shop promised = shop_with_stock(shop, ledger, "A", true);
  ASSERT_EQ(promised.timber.at("deep").sticks.size(), 2u);
  EXPECT_EQ(promised.timber.at("deep").sticks[0].in_hand, 0);
  EXPECT_EQ(promised.timber.at("deep").sticks[1].in_hand, 1) << "what it is cut from";
}

TEST(Ledger, amounts_are_read_and_printed_as_people_type_them) {
  EXPECT_EQ(*read_amount(ItemKind::cloth, "3.5 m", ledger_metric), 3'500'000'000);
  EXPECT_EQ(*read_amount(ItemKind::board, "12", ledger_metric), 12);
  EXPECT_EQ(*read_amount(ItemKind::board, "12.0", ledger_metric), 12);
  EXPECT_EQ(*read_amount(ItemKind::hardware, "12.5", ledger_metric), 12'500);
  EXPECT_EQ(amount_text(ItemKind::hardware, 12'500, ledger_metric), "12.5");
  EXPECT_EQ(amount_text(ItemKind::hardware, 12'000, ledger_metric), "12");
  EXPECT_FALSE(read_amount(ItemKind::board, "1.5", ledger_metric).ok());
  EXPECT_FALSE(read_amount(ItemKind::board, "-1", ledger_metric).ok());
  EXPECT_FALSE(read_amount(ItemKind::hardware, "999999999999999", ledger_metric).ok());
  EXPECT_FALSE(read_amount(ItemKind::cloth, "soon", ledger_metric).ok());
}

TEST(Reorder, dates_are_counted_in_days) {
  EXPECT_EQ(*day_number("1970-01-01"), 0);
  EXPECT_EQ(*day_number("2000-02-29"), 11016);
  EXPECT_EQ(*day_number("2000-03-01T10:00:00Z"), 11017);
  EXPECT_EQ(*day_number("2026-11-27"), 20784);
  EXPECT_EQ(*day_number("1900-03-01"), -25508);
  EXPECT_EQ(*day_number("2100-12-31"), 47846);
  EXPECT_FALSE(day_number("27.11.2026").ok());
}

TEST(Reorder, the_point_follows_from_rate_spread_and_lead_time) {
  const Slot slot{ItemKind::board, "wool", Length(), ""};
  std::vector<DailyUse> steady, lumpy;
  for (int day = 0; day < 30; ++day) steady.push_back({100 + day, 2});
  for (int day = 0; day < 30; day += 10) lumpy.push_back({100 + day, 20});
  const auto even = reorder_advice(steady, 129, 7, 20, slot, ledger_metric);
  EXPECT_EQ(even.point, 14) << "no spread: the use in the lead time alone";
  EXPECT_FALSE(even.now);
  EXPECT_EQ(
      even.sentence,
      "wool: 60 used in 30 days, 7 days to deliver: order when no more than 14 is free; 20 is "
      "free.");
  const auto uneven = reorder_advice(lumpy, 129, 7, 20, slot, ledger_metric);
  // By hand: mean 2, standard deviation √((3·18² + 27·2²)/29) = 6.103 a day; 14 + 1.65·6.103·√7
  // = 40.6.
  EXPECT_EQ(uneven.point, 41);
  EXPECT_TRUE(uneven.now);
  const auto begun = reorder_advice({{129, 60}}, 129, 7, 20, slot, ledger_metric);
  EXPECT_EQ(begun.days, 30) << "one busy day is no rate";
  EXPECT_EQ(begun.per_day, 2);
  EXPECT_NE(reorder_advice({}, 129, 7, 20, slot, ledger_metric).sentence.find("not used"),
            std::string::npos);
}

}  // namespace
}  // namespace roomwright::shop
