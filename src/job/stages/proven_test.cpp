// Verdicts on what was measured: each promise met, not met or not told, with its reason.
#include <gtest/gtest.h>

#include "job/stages/stages.h"

namespace roomwright::job {
namespace {

MeasuredMean told(double value, int positions = 1, double deviation = 0) {
  return {value, deviation, positions, ""};
}
MeasuredMean untold(const std::string& reason) {
  return {{}, 0, 0, reason};
}

/// Promised at 500 Hz and 1 kHz: 0.25 to 0.35 s; wanted 0.2 to 0.3 s.
ProofSheet sheet_of_two() {
  ProofSheet out;
  for (const double hz : {500.0, 1000.0}) {
    DecayRow row;
    row.hz = hz;
    row.low_s = 0.25;
    row.likely_s = 0.3;
    row.high_s = 0.345;
    row.target_low_s = 0.2;
    row.target_high_s = 0.3;
    out.predicted.push_back(row);
  }
  return out;
}

MeasuredSide side_of(const MeasuredMean& low, const MeasuredMean& high,
                     std::vector<std::string> positions = {"seat"}) {
  MeasuredSide out;
  out.positions = std::move(positions);
  out.octaves = {{500, told(0.3), low, told(0.3)}, {1000, told(0.3), high, told(0.3)}};
  for (const double hz : {50.0, 500.0, 1000.0, 5000.0}) out.thirds.push_back({hz, 1, -40});
  return out;
}

const Verdict& verdict(const MeasuredProof& all, const std::string& of) {
  for (const Verdict& one : all.verdicts)
    if (one.of == of) return one;
  throw std::runtime_error("no verdict on " + of);
}

TEST(Proven, each_octave_is_met_or_not_or_cannot_be_told) {
  const MeasuredProof all = proven(sheet_of_two(), {}, side_of(told(0.349), told(0.36)));
  EXPECT_EQ(verdict(all, "500 Hz").proven, Proven::met) << "0.35 s as both are printed";
  EXPECT_EQ(verdict(all, "500 Hz").sentence,
            "500 Hz is met: it rings for 0.35 s (T20), within the promised 0.25 to 0.35 s.");
  EXPECT_EQ(
      verdict(all, "1 kHz").sentence,
      "1 kHz is not met: it rings for 0.36 s (T20), longer than the promised 0.25 to 0.35 s.");
  const MeasuredProof noisy = proven(
      sheet_of_two(), {}, side_of(untold("needs 35 dB above the noise, has 20 dB"), told(0.2)));
  EXPECT_EQ(verdict(noisy, "500 Hz").sentence,
            "500 Hz cannot be told: needs 35 dB above the noise, has 20 dB; 0.25 to 0.35 s was "
            "promised.");
  EXPECT_NE(verdict(noisy, "1 kHz").sentence.find("shorter than the promised"), std::string::npos);
}

TEST(Proven, nothing_is_claimed_of_a_room_that_was_not_measured_after_hanging) {
  const MeasuredProof all = proven(sheet_of_two(), side_of(told(0.6), told(0.6)), {});
  for (const Verdict& one : all.verdicts) EXPECT_EQ(one.proven, Proven::untold) << one.of;
  EXPECT_NE(all.verdicts[0].sentence.find("it was not measured after hanging"), std::string::npos);
  EXPECT_NE(all.statements[0].sentence.find("Measured before hanging"), std::string::npos);
}

TEST(Proven, levels_are_held_against_three_decibels_where_the_noise_allows) {
  MeasuredSide after = side_of(told(0.3), told(0.3));
  after.thirds = {{50, -8, -10}, {63, 2, -30}, {500, 3.04, -50}, {1000, -1, -50}, {8000, 4.2, -50}};
  const MeasuredProof all = proven(sheet_of_two(), {}, after);
  const Verdict& bass = verdict(all, "levels from 50 to 160 Hz");
  EXPECT_EQ(bass.proven, Proven::untold);
  EXPECT_NE(bass.sentence.find("within 10 dB of the sound at 50 Hz"), std::string::npos);
  EXPECT_EQ(verdict(all, "levels from 200 Hz to 4 kHz").proven, Proven::met) << "3.0 as printed";
  EXPECT_EQ(verdict(all, "levels from 5 to 10 kHz").proven, Proven::not_met);
  after.thirds[1].level_db = 6;
  EXPECT_EQ(verdict(proven(sheet_of_two(), {}, after), "levels from 50 to 160 Hz").proven,
            Proven::not_met)
      << "what is told already misses";
}

TEST(Proven, before_stands_beside_after_with_the_positions_it_is_the_mean_of) {
  const MeasuredProof all =
      proven(sheet_of_two(), side_of(told(0.58), told(0.62)),
             side_of(told(0.28, 3, 0.021), told(0.32, 1), {"left", "right", "sofa"}));
  EXPECT_EQ(all.statements[0].sentence,
            "Measured, the room rings for 0.30 s at 500 Hz and 1 kHz (T20); before hanging it rang "
            "for 0.60 s: 50 % shorter.");
  EXPECT_NE(verdict(all, "500 Hz").sentence.find("mean of 3 positions, ± 0.02 s"),
            std::string::npos);
  EXPECT_NE(verdict(all, "1 kHz").sentence.find("T20 at 1 of 3 positions"), std::string::npos);
  ASSERT_EQ(all.statements.size(), 3u);
  EXPECT_EQ(all.statements[2].sentence,
            "Of 2 octaves with a published target that both sides tell, 0 lay within it before "
            "hanging and 1 does now.");
  EXPECT_EQ(all.statements[1].sentence, "Of 6 promises 5 are met, 0 are not, 1 cannot be told.");
}

}  // namespace
}  // namespace roomwright::job
