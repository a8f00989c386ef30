// What a pack tells of its seats by rays: the treatment is heard there, and what is kept between
// runs changes nothing.
#include "job/stages/seat_sound.h"

#include <gtest/gtest.h>

#include <map>

#include "kept/kept.h"

namespace roomwright::job {
namespace {

struct Heard {
  Job job;
  Survey survey;
  Findings findings;
  Treatment treatment;
};

Heard heard_in(const char* example) {
  const auto text = [](const char* name) {
    return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + name).value();
  };
  Heard made;
  made.job = read_job({text(example), text("shop_metric.toml")}).value();
  made.survey = survey(made.job);
  made.findings = findings(made.job, made.survey, quick_run());
  made.treatment = treatment(made.job, made.survey, made.findings, quick_run()).value();
  return made;
}
/// A room for drums, which is quickly traced.
const Heard& heard_room() {
  static const Heard out = heard_in("drum_room.toml");
  return out;
}

Result<SeatSound> sound_of(const Heard& room, const Keep& keep) {
  return seat_sound(room.job, room.survey, room.findings, room.treatment, job::Run{{}, keep});
}

TEST(SeatSound, the_treatment_shortens_the_early_decay_and_clears_the_sound) {
  const Heard room = heard_in("control_room.toml");
  const auto sound = sound_of(room, kept_run().keep);
  ASSERT_TRUE(sound) << sound.mistakes().text();
  ASSERT_EQ(sound->seats.size(), room.job.seats.size());
  for (const SeatSoundAt& at : sound->seats)
    for (std::size_t octave = 3; octave < 6; ++octave) {
      EXPECT_LT(*at.treated[octave].edt_s.value, *at.today[octave].edt_s.value);
      EXPECT_GT(*at.treated[octave].c50_db.value, *at.today[octave].c50_db.value);
    }
  EXPECT_EQ(sound->statements.size(), sound->seats.size());
}

TEST(SeatSound, is_the_mean_of_the_loudspeakers_that_are_no_subwoofers) {
  const Heard& room = heard_room();
  const auto sound = sound_of(room, kept_run().keep);
  RayOptions options;
  options.rays = static_cast<int>(sound->rays);
  options.waves = false;
  const auto rays = rays_at_seats(room.job, room.survey, room.findings, nullptr, options);
  ASSERT_TRUE(sound && rays);
  double sum = 0;
  int count = 0;
  for (const SeatRays& pair : rays->pairs) {
    const bool sub = std::any_of(
        room.job.loudspeakers.begin(), room.job.loudspeakers.end(),
        [&](const Loudspeaker& one) { return one.label == pair.loudspeaker && one.subwoofer; });
    if (pair.seat != sound->seats[0].seat || sub) continue;
    sum += *pair.rows[4].t20_s.value;
    ++count;
  }
  EXPECT_NEAR(*sound->seats[0].today[4].t20_s.value, sum / count, 1e-12);
}

TEST(SeatSound, kept_results_are_the_same_and_a_broken_one_is_traced_again) {
  std::map<std::string, std::string> kept;
  int found = 0;
  const Keep keep{[&](const std::string& key) -> std::optional<std::string> {
                    const auto at = kept.find(key);
                    if (at == kept.end()) return std::nullopt;
                    ++found;
                    return at->second;
                  },
                  [&](const std::string& key, const std::string& value) { kept[key] = value; }};
  const auto fresh = sound_of(heard_room(), keep);
  ASSERT_EQ(kept.size(), 2u) << "today and treated";
  const auto again = sound_of(heard_room(), keep);
  EXPECT_EQ(found, 2);
  for (auto& [key, value] : kept) value.resize(value.size() / 2);
  const auto broken = sound_of(heard_room(), keep);
  ASSERT_TRUE(fresh && again && broken);
  for (const auto* other : {&*again, &*broken})
    for (std::size_t octave = 0; octave < 8; ++octave) {
      EXPECT_EQ(fresh->seats[0].treated[octave].edt_s.value,
                other->seats[0].treated[octave].edt_s.value);
      EXPECT_EQ(fresh->seats[0].treated[octave].c80_db.standard_error,
                other->seats[0].treated[octave].c80_db.standard_error);
    }
}

TEST(SeatSound, a_job_without_a_loudspeaker_says_so) {
  Heard room = heard_room();
  room.job.loudspeakers.clear();
  const auto sound = sound_of(room, {});
  ASSERT_TRUE(sound);
  EXPECT_TRUE(sound->seats.empty());
  EXPECT_FALSE(sound->note.empty());
}

}  // namespace
}  // namespace roomwright::job
