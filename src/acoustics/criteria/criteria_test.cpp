// Targets against the tables computed from their sources.
#include "acoustics/criteria/criteria.h"

#include <gtest/gtest.h>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

TEST(ListeningDecay, follows_the_formula_within_its_bounds) {
  // Source: EBU Tech 3276 (2nd ed. 1998), 2.3, and ITU-R BS.1116-3
  // (tests/figures/listening_decay.csv)
  for (const auto& row : figures::rows("listening_decay.csv"))
    EXPECT_NEAR(listening_decay_s(std::stod(row.at("V_m3"))),
                std::stod(row.at("clamped_0.2..0.4_s")), 1e-9);
}

TEST(ListeningBand, follows_the_mask_by_third) {
  // Source: EBU Tech 3276, mask with corner values from memory (tests/figures/listening_mask.csv)
  for (const auto& row : figures::rows("listening_mask.csv")) {
    const CorridorBand band =
        listening_band(listening_decay_s(std::stod(row.at("V_m3"))), std::stod(row.at("band_Hz")));
    EXPECT_NEAR(*band.high_s, std::stod(row.at("T_upper_s")), 1e-6) << row.at("band_Hz");
    EXPECT_NEAR(*band.low_s, std::stod(row.at("T_lower_s")), 1e-6) << row.at("band_Hz");
  }
}

TEST(Corridor, says_when_the_room_lies_outside_its_source) {
  EXPECT_EQ(decay_corridor(Use::mixing, 45, 18).outside.size(), 1u);
  EXPECT_TRUE(decay_corridor(Use::mixing, 120, 42).outside.empty());
  EXPECT_EQ(decay_corridor(Use::listening, 400, 90).outside.size(), 1u);
  EXPECT_FALSE(decay_corridor(Use::narration, 9, 4).outside.empty());
}

TEST(Corridor, names_a_source_or_says_that_there_is_none) {
  for (int use = 0; use < 6; ++use) {
    const Corridor corridor = decay_corridor(static_cast<Use>(use), 60, 24);
    EXPECT_EQ(corridor.bands.size(), 8u);
    EXPECT_FALSE(corridor.source.empty());
    const bool practice = corridor.source.find("common practice, no source") != std::string::npos;
    EXPECT_EQ(practice, corridor.trust == TargetTrust::common_practice);
  }
  // Source: DIN 18041:2016, A1 at 52 m³ (from memory)
  EXPECT_NEAR(*decay_corridor(Use::rehearsal, 52, 20).nominal_s, 0.8422, 1e-4);
}

TEST(Proportions, follow_the_rule_in_the_worked_cases) {
  // Source: EBU Tech 3276 / ITU-R BS.1116, after R. Walker (tests/figures/proportions.csv)
  for (const auto& row : figures::rows("proportions.csv")) {
    const Proportions got =
        proportions(std::stod(row.at("l")), std::stod(row.at("w")), std::stod(row.at("h")));
    EXPECT_EQ(got.window, row.at("within 1.1w/h<=l/h<=4.5w/h-4") == "yes") << row.at("case");
    EXPECT_EQ(got.low_enough, row.at("l<3h and w<3h") == "yes") << row.at("case");
    std::string near;
    for (const auto& name : got.near_whole) near += (near.empty() ? "" : " ") + name;
    EXPECT_EQ(near.empty() ? "none" : near, row.at("ratios within 5% of an integer"))
        << row.at("case");
  }
}

}  // namespace
}  // namespace roomwright::acoustics
