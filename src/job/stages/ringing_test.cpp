// How long resonances ring: against the exact damped modes of a box, with panels and with traps.
#include "job/stages/ringing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "job/stages/field.h"
#include "kept/kept.h"

namespace roomwright::job {
namespace {

std::string example(const char* name) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + name).value();
}

Job bare_box() {
  return read_job({R"(schema = 1
title = "A box"
reference = "B-1"
date = "2026-11-24"
revision = "A"
use = "mixing"
shop = "shop_metric.toml"
[client]
name = "nobody"
[region]
name = "northern Europe"
units = "mm"
paper = "a4"
projection = "first-angle"
[room]
size = [4800, 3600, 2500]
[surfaces]
default = "plasterboard_two_layers"
floor = "smooth_concrete"
[[loudspeakers]]
label = "one"
at = [1000, 1000, 1200]
[[seats]]
label = "seat"
at = [3000, 1800, 1200]
)",
                   example("shop_metric.toml")})
      .value();
}

TEST(Ringing, of_a_bare_box_is_that_of_its_exact_damped_modes) {
  const Job job = bare_box();
  const Survey found = survey(job);
  const Ringing ringing = ringing_of(job, found, nullptr, job::Run{});
  ASSERT_GT(ringing.modes.size(), 16u) << ringing.note;
  for (const std::size_t i : {0u, 3u, 7u, 12u, 16u}) {
    const ModeRing& mode = ringing.modes[i];
    // The walls' resistances at this mode's own frequency.
    std::vector<double> admittance;
    for (const auto& wall : field_request(job, found, nullptr, {mode.hz}).surfaces)
      admittance.push_back(wall[0].real());
    const auto exact =
        acoustics::damped_modes(job.room, found.air.sound_speed_m_s, ringing.to_hz, admittance)
            .value();
    double nearest = 1e9, decay_s = 0;
    for (const acoustics::Mode& other : exact.modes)
      if (std::abs(other.hz - mode.hz) < nearest)
        nearest = std::abs(other.hz - mode.hz), decay_s = *other.decay_s;
    EXPECT_LT(nearest, 0.05) << mode.hz;
    EXPECT_NEAR(*mode.decay_s / decay_s, 1, 0.02) << mode.hz;
  }
}

TEST(Ringing, of_the_demos_is_told_today_and_an_octave_lies_between_its_resonances) {
  for (const char* name : {"control_room.toml", "drum_room.toml"}) {
    const Job job = read_job({example(name), example("shop_metric.toml")}).value();
    const Ringing today = ringing_of(job, survey(job), nullptr, job::Run{});
    ASSERT_FALSE(today.modes.empty()) << name << today.note;
    double least = 1e9, most = 0;
    for (const ModeRing& mode : today.modes) {
      ASSERT_TRUE(mode.decay_s) << mode.hz;
      EXPECT_GT(*mode.decay_s, 0.05);
      EXPECT_LT(*mode.decay_s, 20);
      EXPECT_NEAR(mode.hz / mode.rigid_hz, 1, 0.1);
      least = std::min(least, *mode.decay_s), most = std::max(most, *mode.decay_s);
    }
    ASSERT_FALSE(today.octaves.empty());
    for (const auto& octave : today.octaves) {
      EXPECT_GE(octave.t20_s, least);
      EXPECT_LE(octave.t20_s, most);
    }
  }
}

TEST(Ringing, falls_where_flat_pieces_are_hung) {
  const Job job = read_job({example("drum_room.toml"), example("shop_metric.toml")}).value();
  const Survey found = survey(job);
  const Treatment hung = placed(job).value();
  const Ringing today = ringing_of(job, found, nullptr, job::Run{});
  const Ringing treated = ringing_of(job, found, &hung, job::Run{});
  ASSERT_EQ(today.modes.size(), treated.modes.size()) << treated.note;
  int shorter = 0;
  for (std::size_t i = 0; i < today.modes.size(); ++i) {
    EXPECT_NEAR(today.modes[i].rigid_hz, treated.modes[i].rigid_hz, 1e-3);
    EXPECT_LT(*treated.modes[i].decay_s, 1.02 * *today.modes[i].decay_s);
    shorter += *treated.modes[i].decay_s < 0.9 * *today.modes[i].decay_s;
  }
  EXPECT_GT(shorter, int(today.modes.size() / 2));
  std::vector<Statement> said;
  say_ringing_change(today, treated, said);
  EXPECT_EQ(said.size(), 1u);
}

TEST(Ringing, falls_where_traps_and_clouds_are_hung_and_is_the_same_when_kept) {
  const Job job = read_job({example("control_room.toml"), example("shop_metric.toml")}).value();
  const Survey found = survey(job);
  const Treatment hung = placed(job).value();
  const Ringing today = ringing_of(job, found, nullptr, job::Run{});
  const Ringing treated = ringing_of(job, found, &hung, kept_run());
  ASSERT_EQ(today.modes.size(), treated.modes.size()) << treated.note;
  EXPECT_NE(treated.note.find("bodies of wool"), std::string::npos);
  int shorter = 0;
  for (std::size_t i = 0; i < today.modes.size(); ++i) {
    EXPECT_NEAR(today.modes[i].rigid_hz, treated.modes[i].rigid_hz, 1e-3);
    EXPECT_LT(*treated.modes[i].decay_s, 1.02 * *today.modes[i].decay_s);
    shorter += *treated.modes[i].decay_s < 0.7 * *today.modes[i].decay_s;
  }
  EXPECT_GT(shorter, int(today.modes.size() / 2));
  const Ringing again = ringing_of(job, found, &hung, kept_run());
  for (std::size_t i = 0; i < today.modes.size(); ++i) {
    EXPECT_EQ(treated.modes[i].hz, again.modes[i].hz);
    EXPECT_EQ(treated.modes[i].decay_s, again.modes[i].decay_s);
  }
  std::vector<Statement> said;
  say_ringing_change(today, treated, said);
  EXPECT_EQ(said.size(), 1u);
}

}  // namespace
}  // namespace roomwright::job
