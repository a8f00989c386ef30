// Recordings with known answers: noise that dies away exponentially, above noise that does not; a
// sweep through a known response.
#include "acoustics/impulse/impulse.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "acoustics/sound/sound.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {
namespace {

constexpr double rate_hz = 48000;

/// Noise that loses 60 dB in t_s, above steady noise so far below its beginning.
std::vector<double> dying_noise(double t_s, double noise_db, double seconds, unsigned seed,
                                double silence_s = 0.1) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  std::vector<double> out(std::size_t((seconds + silence_s) * rate_hz));
  const std::size_t onset = std::size_t(silence_s * rate_hz);
  const double floor = std::pow(10, noise_db / 20);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double t = (double(i) - double(onset)) / rate_hz;
    out[i] = floor * normal(random) + (t >= 0 ? normal(random) * std::pow(10, -3 * t / t_s) : 0.0);
  }
  return out;
}

const MeasuredBand& at(const MeasuredRoom& room, double hz) {
  return *std::find_if(room.bands.begin(), room.bands.end(),
                       [&](const MeasuredBand& one) { return one.hz == hz; });
}

TEST(Measured, a_decay_is_as_long_as_it_was_made) {
  for (const double t_s : {0.2, 0.5, 1.2}) {
    const auto room = measured_room(dying_noise(t_s, -80, 3, 7), rate_hz);
    ASSERT_TRUE(room.ok());
    EXPECT_EQ(room->bands.size(), 8u);
    // Noise through an octave of B hertz tells T with a spread of some 1/sqrt(B T); three of them.
    for (const double hz : {500.0, 1000.0, 2000.0, 4000.0}) {
      const double spread = 3 * 0.9 / std::sqrt(0.7 * hz * t_s);
      EXPECT_NEAR(at(*room, hz).t20_s.value / t_s, 1, spread) << t_s << " " << hz;
      EXPECT_NEAR(at(*room, hz).t30_s.value / t_s, 1, spread) << t_s << " " << hz;
      EXPECT_TRUE(at(*room, hz).t20_s.valid) << at(*room, hz).t20_s.reason;
      EXPECT_TRUE(at(*room, hz).t30_s.valid) << at(*room, hz).t30_s.reason;
    }
  }
}

TEST(Measured, noise_does_not_lengthen_a_decay_and_what_it_hides_is_told) {
  // Source: T20 needs 35 dB above the noise, T30 45 dB, ISO 3382-2:2008 (from memory)
  const auto good = measured_room(dying_noise(0.5, -41, 3, 3), rate_hz);
  ASSERT_TRUE(good.ok());
  EXPECT_NEAR(at(*good, 1000).range_db, 40, 2.5) << "the first window has lost a little already";
  EXPECT_NEAR(at(*good, 1000).t20_s.value, 0.5, 0.06);
  EXPECT_TRUE(at(*good, 1000).t20_s.valid) << at(*good, 1000).t20_s.reason;
  EXPECT_FALSE(at(*good, 1000).t30_s.valid);
  EXPECT_NE(at(*good, 1000).t30_s.reason.find("needs 45 dB"), std::string::npos);
  const auto poor = measured_room(dying_noise(0.5, -25, 3, 3), rate_hz);
  EXPECT_FALSE(at(*poor, 1000).t20_s.valid);
  EXPECT_TRUE(at(*poor, 1000).edt_s.valid) << at(*poor, 1000).edt_s.reason;
}

TEST(Measured, a_decay_shorter_than_the_filter_s_own_is_not_trusted) {
  // Source: B T > 16, ISO 3382-2:2008 (from memory): an octave at 63 Hz is 44 Hz wide
  const auto room = measured_room(dying_noise(0.15, -90, 2, 5), rate_hz);
  ASSERT_TRUE(room.ok());
  EXPECT_FALSE(at(*room, 63).t20_s.valid);
  EXPECT_NE(at(*room, 63).t20_s.reason.find("filter"), std::string::npos);
}

TEST(Measured, what_holds_every_frequency_alike_is_level) {
  // One sample holds every frequency alike, whatever the width of the band.
  std::vector<double> click(std::size_t(1.5 * rate_hz), 0.0);
  std::mt19937_64 random(11);
  std::normal_distribution<double> normal;
  for (double& one : click) one = 1e-7 * normal(random);
  click[std::size_t(0.3 * rate_hz)] = 1;
  const auto room = measured_room(click, rate_hz);
  ASSERT_TRUE(room.ok());
  ASSERT_EQ(room->levels.size(), 24u);
  for (const MeasuredLevel& one : room->levels) {
    EXPECT_LT(one.noise_db, one.level_db - 20) << one.hz;
    EXPECT_NEAR(one.level_db, 0, 0.3) << one.hz;
  }
}

TEST(Measured, a_level_says_how_loud_the_noise_was_meanwhile) {
  const auto room = measured_room(dying_noise(0.5, -30, 3, 13), rate_hz);
  ASSERT_TRUE(room.ok());
  // Of the decay's energy 1/13.8 T, of the noise 0.001 over 0.25 s, where they meet.
  const double wanted = energy_db((0.5 / 13.8155) / (0.001 * 0.25));
  for (const MeasuredLevel& one : room->levels)
    if (one.hz >= 500) EXPECT_NEAR(one.level_db - one.noise_db, wanted, 2.5) << one.hz;
}

TEST(Measured, a_sweep_gives_the_response_that_it_went_through) {
  std::vector<double> sweep(std::size_t(3 * rate_hz));
  const double low = 20, high = 20000, seconds = 3, grow = std::log(high / low);
  for (std::size_t i = 0; i < sweep.size(); ++i) {
    const double t = double(i) / rate_hz;
    const double fade = std::min({1.0, t / 0.05, (seconds - t) / 0.01});
    sweep[i] =
        fade * std::sin(2 * M_PI * low * seconds / grow * (std::exp(t / seconds * grow) - 1));
  }
  std::vector<double> response(std::size_t(1.0 * rate_hz), 0.0);
  response[480] = 1;
  response[960] = -0.5;
  std::vector<double> recording = convolved(sweep, response);
  recording.resize(sweep.size() + response.size(), 0.0);
  const auto impulse = impulse_of_sweep(recording, sweep, rate_hz);
  ASSERT_TRUE(impulse.ok());
  const auto lead = std::size_t(sweep_lead_s * rate_hz);
  EXPECT_EQ(impulse->size(), lead + response.size());
  const auto peak = std::max_element(impulse->begin(), impulse->end());
  EXPECT_EQ(peak - impulse->begin(), std::ptrdiff_t(lead) + 480);
  EXPECT_NEAR((*impulse)[lead + 960] / *peak, -0.5, 0.02);
  EXPECT_FALSE(impulse_of_sweep(sweep, sweep, rate_hz).ok()) << "it ends with the sweep";
  EXPECT_FALSE(impulse_of_sweep(std::vector<double>(recording.size()), sweep, rate_hz).ok());
}

TEST(Measured, a_room_measured_by_sweep_rings_as_long_as_by_impulse) {
  std::vector<double> sweep(std::size_t(4 * rate_hz));
  const double low = 30, high = 18000, seconds = 4, grow = std::log(high / low);
  for (std::size_t i = 0; i < sweep.size(); ++i) {
    const double t = double(i) / rate_hz;
    sweep[i] = std::min(1.0, (seconds - t) / 0.01) *
               std::sin(2 * M_PI * low * seconds / grow * (std::exp(t / seconds * grow) - 1));
  }
  const std::vector<double> impulse = dying_noise(0.4, -300, 1.5, 17, 0.05);
  std::vector<double> recording = convolved(sweep, impulse);
  std::mt19937_64 random(5);
  std::normal_distribution<double> normal;
  for (double& one : recording) one += 1e-2 * normal(random);
  const auto found = impulse_of_sweep(recording, sweep, rate_hz);
  ASSERT_TRUE(found.ok());
  const auto by_sweep = measured_room(*found, rate_hz), direct = measured_room(impulse, rate_hz);
  ASSERT_TRUE(by_sweep.ok() && direct.ok());
  for (const double hz : {250.0, 500.0, 1000.0, 2000.0, 4000.0}) {
    EXPECT_TRUE(at(*by_sweep, hz).t20_s.valid) << hz << at(*by_sweep, hz).t20_s.reason;
    EXPECT_NEAR(at(*by_sweep, hz).t20_s.value, at(*direct, hz).t20_s.value, 0.01) << hz;
  }
}

TEST(Measured, silence_and_a_recording_cut_short_are_refused) {
  EXPECT_FALSE(measured_room(std::vector<double>(48000, 0.0), rate_hz).ok());
  EXPECT_FALSE(measured_room({}, rate_hz).ok());
  EXPECT_FALSE(measured_room(dying_noise(0.3, -60, 0.1, 1), rate_hz).ok());
}

TEST(Measured, a_low_rate_leaves_out_the_octaves_that_it_does_not_hold) {
  const auto room = measured_room(dying_noise(0.5, -80, 2, 9), 16000);
  ASSERT_TRUE(room.ok());
  EXPECT_EQ(room->bands.back().hz, 4000);
}

}  // namespace
}  // namespace roomwright::acoustics
