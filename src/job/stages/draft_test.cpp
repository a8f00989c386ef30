// Drafts: what a finger is shown must be what the treatment would say, the bass within what moving
// a patch may be off, from whatever threads it is asked, and whoever stops asking.
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <thread>

#include "job/stages/bass.h"
#include "kept/kept.h"

namespace roomwright::job::drafts {
namespace {

std::string example(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + path).value();
}
Job control_room() {
  return read_job({example("control_room.toml"), example("shop_metric.toml")}).value();
}
Job without_bodies(Job job) {
  std::erase_if(job.pieces, [&](const Piece& piece) {
    const design::Kind kind = job.product(piece.product)->kind;
    return kind != design::Kind::wall_panel && kind != design::Kind::tuned_trap;
  });
  return job;
}
Job flat_tracking_room() {
  return without_bodies(
      read_job({example("tracking_room.toml"), example("shop_inch.toml")}).value());
}

Piece& piece(Job& job, const std::string& label) {
  return *std::find_if(job.pieces.begin(), job.pieces.end(),
                       [&](const Piece& one) { return one.label == label; });
}
Job moved(Job job, const std::string& label, Length u, Length v, int surface = -1) {
  Piece& one = piece(job, label);
  one.from_u = u, one.from_v = v;
  if (surface >= 0) one.surface = surface;
  return job;
}

Treatment quick_treatment(const Job& job) {
  const job::Run run{{}, {}, false};
  const Survey at = survey(job);
  return treatment(job, at, findings(job, at, run), run).value();
}

void expect_rows(const std::vector<DecayRow>& a, const std::vector<DecayRow>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].sabine_s, b[i].sabine_s);
    EXPECT_EQ(a[i].eyring_s, b[i].eyring_s);
    EXPECT_EQ(a[i].arau_s, b[i].arau_s);
    EXPECT_EQ(a[i].low_s, b[i].low_s);
    EXPECT_EQ(a[i].likely_s, b[i].likely_s);
    EXPECT_EQ(a[i].high_s, b[i].high_s);
    EXPECT_EQ(a[i].verdict, b[i].verdict);
  }
}

void expect_pieces(const std::vector<PieceRow>& a, const std::vector<PieceRow>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].label, b[i].label);
    EXPECT_EQ(a[i].place, b[i].place);
    EXPECT_EQ(a[i].low_m2, b[i].low_m2);
    EXPECT_EQ(a[i].likely_m2, b[i].likely_m2);
    EXPECT_EQ(a[i].high_m2, b[i].high_m2);
    EXPECT_EQ(a[i].intercepts, b[i].intercepts);
    ASSERT_EQ(a[i].placement.faults.size(), b[i].placement.faults.size()) << a[i].label;
    for (std::size_t f = 0; f < a[i].placement.faults.size(); ++f)
      EXPECT_EQ(a[i].placement.faults[f].what, b[i].placement.faults[f].what);
  }
}

void expect_same(const Treatment& a, const Treatment& b) {
  EXPECT_EQ(a.products.size(), b.products.size());
  EXPECT_EQ(a.buildable, b.buildable);
  EXPECT_EQ(a.schroeder_after_hz, b.schroeder_after_hz);
  expect_pieces(a.pieces, b.pieces);
  expect_rows(a.before, b.before);
  expect_rows(a.after, b.after);
  EXPECT_EQ(a.decay_doubt.low, b.decay_doubt.low);
  EXPECT_EQ(a.decay_doubt.high, b.decay_doubt.high);
  ASSERT_EQ(a.paths.size(), b.paths.size());
  for (std::size_t i = 0; i < a.paths.size(); ++i) {
    EXPECT_EQ(a.paths[i].intercepted, b.paths[i].intercepted);
    EXPECT_EQ(a.paths[i].treated_level_db, b.paths[i].treated_level_db);
  }
  ASSERT_EQ(a.statements.size(), b.statements.size());
  for (std::size_t i = 0; i < a.statements.size(); ++i)
    EXPECT_EQ(a.statements[i].sentence, b.statements[i].sentence);
}

/// The greatest difference of two fields at the seats, where the level lies within 30 dB of the
/// pair's greatest, and anywhere.
struct Off {
  double high_db = 0, any_db = 0;
};
Off off_by(const BassField& a, const BassField& b) {
  Off out;
  EXPECT_EQ(a.hz, b.hz);
  EXPECT_EQ(a.levels.size(), b.levels.size());
  for (std::size_t p = 0; p < a.levels.size() && p < b.levels.size(); ++p) {
    const auto &one = a.levels[p].level_db, &two = b.levels[p].level_db;
    const double greatest = *std::max_element(two.begin(), two.end());
    for (std::size_t i = 0; i < one.size(); ++i) {
      const double off = std::abs(one[i] - two[i]);
      out.any_db = std::max(out.any_db, off);
      if (two[i] > greatest - 30) out.high_db = std::max(out.high_db, off);
    }
  }
  return out;
}
BassField whole_field(const Job& job, const job::Run& run = {}) {
  return bass_treated(job, survey(job), placed(job).value(), run);
}

TEST(Draft, fit_decay_and_reflections_are_those_of_the_treatment_wherever_a_piece_is_dragged) {
  const Job base = control_room();
  DraftDesk desk;
  for (const Job& wanted :
       {base, moved(base, "S1", 3000_mm, 700_mm), moved(base, "S1", 300_mm, 700_mm, 5),
        moved(base, "S1", 1500_mm, 300_mm, 3) /* over the door */,
        moved(base, "S1", 5600_mm, 700_mm) /* off its wall */,
        moved(base, "N1", 1000_mm, 900_mm)}) {
    std::optional<DraftAnswer> first;
    std::atomic<bool> stop{false};  // the bass is for other tests
    const auto rest = desk.ask(
        base, wanted, [&](const DraftAnswer& told) { first = told, stop = true; }, {{}, &stop});
    EXPECT_TRUE(!rest.ok() || wanted == base);
    ASSERT_TRUE(first);
    EXPECT_TRUE(first->provisional);
    EXPECT_TRUE(first->treatment.bass.levels.empty());
    expect_same(first->treatment, quick_treatment(wanted));
  }
}

TEST(Draft, in_a_box_the_bass_is_that_of_the_whole_solution) {
  const Job base = flat_tracking_room();
  DraftDesk desk;
  for (const Job& wanted :
       {moved(base, "P1", 3_in * 30, 35_in), moved(base, "P1", 20_in, 40_in, 4) /* another wall */,
        moved(base, "P1", 3_in * 12, 30_in), base}) {
    const auto answer = desk.ask(base, wanted);
    ASSERT_TRUE(answer.ok());
    ASSERT_TRUE(answer->treatment.buildable);
    EXPECT_FALSE(answer->provisional);
    const Off off = off_by(answer->treatment.bass, whole_field(wanted));
    EXPECT_LT(off.high_db, 0.3);
    EXPECT_LT(off.any_db, 0.8);
    EXPECT_EQ(answer->treatment.bass.patches, whole_field(wanted).patches);
  }
}

TEST(Draft, a_piece_that_reaches_off_its_wall_is_told_and_not_heard) {
  const Job base = flat_tracking_room();
  const Job wanted = moved(base, "P1", 3_in * 70, 35_in);
  DraftDesk desk;
  const auto answer = desk.ask(base, wanted);
  ASSERT_TRUE(answer.ok());
  EXPECT_FALSE(answer->treatment.buildable);
  EXPECT_NE(answer->treatment.statements[0].sentence.find("P1"), std::string::npos);
  const Off off = off_by(answer->treatment.bass, whole_field(wanted));
  EXPECT_LT(off.high_db, 0.3);
}

TEST(Draft, a_new_piece_and_one_taken_out_are_heard_too) {
  const Job with = flat_tracking_room();
  Job less = with;
  std::erase_if(less.pieces, [](const Piece& one) { return one.label == "P3"; });
  DraftDesk desk;
  const auto added = desk.ask(less, with), taken = desk.ask(with, less);
  ASSERT_TRUE(added.ok() && taken.ok());
  EXPECT_LT(off_by(added->treatment.bass, whole_field(with)).high_db, 0.3);
  EXPECT_LT(off_by(taken->treatment.bass, whole_field(less)).high_db, 0.3);
}

TEST(Draft, questions_from_several_threads_are_answered_as_if_each_came_alone) {
  const Job base = flat_tracking_room();
  std::vector<Job> wanted;
  for (int i = 0; i < 6; ++i)
    wanted.push_back(moved(base, i % 2 ? "P1" : "P3", 20_in + 3_in * i, 35_in));
  std::vector<std::vector<double>> together(wanted.size()), alone(wanted.size());
  DraftDesk desk;
  std::vector<std::thread> askers;
  for (std::size_t i = 0; i < wanted.size(); ++i)
    askers.emplace_back([&, i] {
      if (const auto answer = desk.ask(base, wanted[i]))
        together[i] = answer->treatment.bass.levels[0].level_db;
    });
  for (auto& one : askers) one.join();
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    DraftDesk own;
    alone[i] = own.ask(base, wanted[i])->treatment.bass.levels[0].level_db;
    EXPECT_EQ(together[i], alone[i]);
  }
}

TEST(Draft, who_stops_asking_is_let_go_and_the_next_question_is_answered) {
  const Job base = flat_tracking_room();
  DraftDesk desk;
  const std::atomic<bool> stopped{true};
  EXPECT_FALSE(desk.ask(base, base, {}, {{}, &stopped}).ok());
  std::atomic<bool> stop{false};
  // The finger moves on as soon as fit and decay are told, while the piece is still being picked
  // up.
  const auto none = desk.ask(base, moved(base, "P2", 20_in, 35_in),
                             [&](const DraftAnswer&) { stop = true; }, {{}, &stop});
  EXPECT_FALSE(none.ok());
  EXPECT_TRUE(desk.ask(base, moved(base, "P2", 23_in, 35_in)).ok());
}

TEST(Draft, a_desk_may_be_left_while_a_piece_is_being_picked_up) {
  const Job base = control_room();
  std::atomic<bool> stop{false};
  DraftDesk desk;
  EXPECT_FALSE(desk.ask(base, moved(base, "S1", 3000_mm, 700_mm),
                        [&](const DraftAnswer&) { stop = true; }, {{}, &stop})
                   .ok());
}

TEST(Draft, in_a_room_with_a_bite_out_of_it_the_bass_is_that_of_the_whole_solution) {
  const Job base = without_bodies(control_room());
  const Job wanted = moved(base, "S1", 2900_mm, 750_mm, 6);
  DraftDesk desk;
  const auto answer = desk.ask(base, wanted);
  ASSERT_TRUE(answer.ok());
  ASSERT_TRUE(answer->treatment.buildable);
  const Off off = off_by(answer->treatment.bass, whole_field(wanted, kept_run()));
  EXPECT_LT(off.high_db, 0.3);
  EXPECT_LT(off.any_db, 1);
}

TEST(Draft, among_traps_the_bass_begins_at_what_was_saved_and_says_that_it_is_rough) {
  const Job base = control_room();
  const BassField saved = whole_field(base, kept_run());
  DraftDesk desk(kept_run().keep);
  const auto still = desk.ask(base, base);
  ASSERT_TRUE(still.ok());
  EXPECT_LT(off_by(still->treatment.bass, saved).any_db, 0.011);
  const auto answer = desk.ask(base, moved(base, "S1", 4340_mm, 600_mm));
  ASSERT_TRUE(answer.ok());
  EXPECT_TRUE(answer->provisional);
  EXPECT_NE(answer->note.find("flat"), std::string::npos);
  EXPECT_LT(off_by(answer->treatment.bass, saved).high_db, 0.1) << "a millimetre away";
}

TEST(Draft, a_trap_that_is_moved_keeps_the_bass_as_saved_and_says_so) {
  const Job base = control_room();
  const BassField saved = whole_field(base, kept_run());
  Job wanted = base;
  piece(wanted, "T2").from_v = 1200_mm;
  const auto known = DraftDesk(kept_run().keep).ask(base, wanted);
  ASSERT_TRUE(known.ok());
  EXPECT_TRUE(known->provisional);
  EXPECT_EQ(off_by(known->treatment.bass, saved).any_db, 0);
  EXPECT_NE(known->note.find("as saved"), std::string::npos);
  const auto unknown = DraftDesk().ask(base, wanted);
  ASSERT_TRUE(unknown.ok());
  EXPECT_TRUE(unknown->provisional);
  EXPECT_TRUE(unknown->treatment.bass.levels.empty());
  EXPECT_NE(unknown->note.find("let go"), std::string::npos);
}

TEST(Draft, several_pieces_at_once_are_placed_and_their_bass_is_said_to_be_that_of_before) {
  const Job base = flat_tracking_room();
  const Job wanted = moved(moved(base, "P1", 20_in, 35_in), "P3", 30_in, 35_in);
  DraftDesk desk;
  const auto answer = desk.ask(base, wanted);
  ASSERT_TRUE(answer.ok());
  EXPECT_TRUE(answer->provisional);
  EXPECT_FALSE(answer->note.empty());
  EXPECT_EQ(answer->treatment.pieces.size(), wanted.pieces.size());
}

TEST(Draft, rooms_without_loudspeakers_or_pieces_and_orders_are_answered) {
  Job silent = flat_tracking_room();
  silent.loudspeakers.clear();
  DraftDesk desk;
  const auto quiet = desk.ask(silent, moved(silent, "P1", 20_in, 35_in));
  ASSERT_TRUE(quiet.ok());
  EXPECT_TRUE(quiet->treatment.bass.levels.empty());
  Job bare = flat_tracking_room();
  bare.pieces.clear();
  const auto empty = desk.ask(bare, bare);
  ASSERT_TRUE(empty.ok());
  EXPECT_TRUE(empty->treatment.pieces.empty());
  const Job order = read_job({example("panel_order.toml"), example("shop_metric.toml")}).value();
  const auto made = desk.ask(order, order);
  ASSERT_TRUE(made.ok());
  EXPECT_EQ(made->treatment.products.size(), order.products.size());
}

}  // namespace
}  // namespace roomwright::job::drafts
