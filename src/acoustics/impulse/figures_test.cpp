// The figures of a response against closed forms: energies that follow a law exactly (each sample
// the root of the law, its sign at random), clicks, sweeps.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "acoustics/impulse/impulse.h"
#include "core/numerics/numerics.h"
#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

constexpr double law_rate_hz = 48000;

/// A response whose squares are the law, each the mean over its sample's time.
template <class Law>
std::vector<double> squares_of(double seconds, const Law& law, unsigned seed = 1) {
  std::mt19937_64 random(seed);
  std::vector<double> out(std::size_t(seconds * law_rate_hz));
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = std::sqrt(law((double(i) + 0.5) / law_rate_hz)) * (random() % 2 ? 1 : -1);
  return out;
}

MeasuredBand whole(const std::vector<double>& impulse) {
  return measured_figures(impulse, law_rate_hz, {}).value().broadband;
}

double value(const MeasuredFigure& figure) {
  EXPECT_TRUE(figure.valid) << figure.reason;
  return figure.value;
}

TEST(Figures, an_exponential_decay_has_the_figures_of_its_closed_form) {
  // Source: ISO 3382-1:2009, Annex A, for p² ~ exp(-13.8155 t/T) (tests/figures/decay_single.csv)
  for (const auto& row : figures::rows("decay_single.csv")) {
    const double t_s = std::stod(row.at("T_s"));
    const auto law = [&](double t) { return std::exp(-13.8155105580 * t / t_s); };
    const MeasuredBand got = whole(squares_of(std::max(0.3, 1.2 * t_s), law));
    EXPECT_NEAR(value(got.edt_s) / t_s, 1, 2e-3) << t_s;
    EXPECT_NEAR(value(got.t20_s) / t_s, 1, 2e-3) << t_s;
    EXPECT_NEAR(value(got.t30_s) / t_s, 1, 2e-3) << t_s;
    EXPECT_NEAR(value(got.c50_db), std::stod(row.at("C50_dB")), 0.02) << t_s;
    EXPECT_NEAR(value(got.c80_db), std::stod(row.at("C80_dB")), 0.03) << t_s;
    EXPECT_NEAR(value(got.d50), std::stod(row.at("D50")), 1e-3) << t_s;
    EXPECT_NEAR(value(got.ts_ms), std::stod(row.at("Ts_ms")), 0.1) << t_s;
    EXPECT_FALSE(got.noise_db.valid) << "it ends before there is noise";
  }
}

TEST(Figures, two_slopes_have_the_lines_of_their_closed_form) {
  // Source: closed Schroeder curve, continuous least squares (tests/figures/decay_double.csv)
  for (const auto& row : figures::rows("decay_double.csv")) {
    const double fast = 13.8155105580 / std::stod(row.at("T1_s")),
                 slow = 13.8155105580 / std::stod(row.at("T2_s")),
                 level = std::pow(10, std::stod(row.at("level_of_slope2_at_t0_dB")) / 10);
    const MeasuredBand got = whole(
        squares_of(2, [&](double t) { return std::exp(-fast * t) + level * std::exp(-slow * t); }));
    EXPECT_NEAR(value(got.edt_s) / std::stod(row.at("EDT_ls")), 1, 5e-3);
    EXPECT_NEAR(value(got.t20_s) / std::stod(row.at("T20_ls")), 1, 5e-3);
    EXPECT_NEAR(value(got.t30_s) / std::stod(row.at("T30_ls")), 1, 5e-3);
    EXPECT_NEAR(value(got.c50_db), std::stod(row.at("C50_dB")), 0.02);
    EXPECT_NEAR(value(got.ts_ms), std::stod(row.at("Ts_ms")), 0.1);
  }
}

TEST(Figures, steady_noise_is_taken_off_a_decay_and_told) {
  // Source: closed form of a decay above constant noise; noise taken off and the tail put back
  // gives T exactly, as they stand T30 is 6.39 s of 0.5 (computed)
  for (const auto& [t_s, noise_db, seconds] :
       {std::tuple{0.5, -48.0, 2.0}, {0.5, -60.0, 1.0}, {0.3, -50.0, 1.0}, {1.0, -55.0, 3.0}}) {
    const double floor = std::pow(10, noise_db / 10), k = 13.8155105580 / t_s;
    const auto law = [&, seconds = seconds](double t) { return std::exp(-k * t) + floor; };
    const MeasuredBand got = whole(squares_of(seconds, law));
    EXPECT_NEAR(got.t20_s.value / t_s, 1, 0.01) << t_s << " " << noise_db << got.t20_s.reason;
    EXPECT_NEAR(got.t30_s.value / t_s, 1, 0.01) << t_s << " " << noise_db << got.t30_s.reason;
    EXPECT_NEAR(value(got.noise_db), noise_db, 0.1);
    EXPECT_NEAR(value(got.c50_db), 10 * std::log10(std::exp(k * 0.05) - 1), 0.05);
    EXPECT_NEAR(value(got.ts_ms), 1e3 / k, 0.3);
  }
}

TEST(Figures, none_of_the_direct_sound_is_lost_in_a_band) {
  // Two clicks of one energy, 100 ms apart: half of the energy is early whatever the filter does.
  std::vector<double> clicks(std::size_t(1.2 * law_rate_hz), 0.0);
  clicks[4800] = clicks[9600] = 1;
  for (const bool thirds : {false, true}) {
    const auto got = measured_figures(clicks, law_rate_hz, {thirds}).value();
    EXPECT_EQ(got.bands.size(), thirds ? 24u : 8u);
    for (const MeasuredBand& band : got.bands) {
      if (band.hz < (thirds ? 200 : 63)) continue;
      EXPECT_NEAR(band.d50.value, 0.5, 0.005) << band.hz;
      EXPECT_NEAR(band.c50_db.value, 0, 0.05) << band.hz;
      EXPECT_NEAR(band.c80_db.value, 0, band.hz < 125 ? 0.2 : 0.05) << band.hz;
      EXPECT_NEAR(band.ts_ms.value, 50, 0.6 + 60 / band.hz * (thirds ? 4 : 1)) << band.hz;
    }
    EXPECT_NEAR(got.broadband.d50.value, 0.5, 1e-6);
    EXPECT_NEAR(got.broadband.ts_ms.value, 50, 0.1);
  }
}

TEST(Figures, direct_sound_before_a_decay_counts_whole) {
  // Source: a unit impulse and an exponential tail of as much energy, T 0.3 s: C50 12.79 dB, D50
  // 0.95, Ts 10.86 ms (closed form, computed)
  const double k = 13.8155105580 / 0.3;
  auto response = squares_of(0.6, [&](double t) { return std::exp(-k * t) * k / law_rate_hz; });
  response[0] += 1;
  const MeasuredBand got = whole(response);
  EXPECT_NEAR(value(got.c50_db), 12.787536, 0.3) << "the first sample of the tail adds to it";
  EXPECT_NEAR(value(got.d50), 0.95, 3e-3);
  EXPECT_NEAR(value(got.ts_ms), 10.857362, 0.5);
}

TEST(Figures, noise_that_dies_away_has_its_clarity_in_every_band) {
  const double t_s = 0.6, k = 13.8155105580 / t_s;
  std::vector<double> c50, ts;
  for (unsigned seed = 0; seed < 4; ++seed) {
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal;
    std::vector<double> response(std::size_t(1.5 * law_rate_hz));
    for (std::size_t i = 0; i < response.size(); ++i)
      response[i] =
          normal(random) * (i < 2400 ? 0 : std::exp(-k / 2 * double(i - 2400) / law_rate_hz)) +
          1e-4 * normal(random);
    const auto got = measured_figures(response, law_rate_hz, {}).value();
    for (const MeasuredBand& band : got.bands)
      if (band.hz >= 500) {
        c50.push_back(value(band.c50_db));
        ts.push_back(value(band.ts_ms));
      }
  }
  double mean_c50 = 0, mean_ts = 0;
  for (std::size_t i = 0; i < c50.size(); ++i) {
    // Of noise of B hertz over some 30 ms the energy is sure within about 1/sqrt(0.03 B).
    EXPECT_NEAR(c50[i], 10 * std::log10(std::exp(k * 0.05) - 1), 3.5);
    mean_c50 += c50[i] / double(c50.size());
    mean_ts += ts[i] / double(ts.size());
  }
  EXPECT_NEAR(mean_c50, 10 * std::log10(std::exp(k * 0.05) - 1), 0.6);
  EXPECT_NEAR(mean_ts, 1e3 / k, 3);
}

TEST(Figures, what_cannot_be_trusted_says_why) {
  std::vector<double> tone(std::size_t(law_rate_hz), 0.0);
  for (std::size_t i = 0; i < tone.size(); ++i)
    tone[i] = std::sin(2 * M_PI * 1000 * double(i) / law_rate_hz);
  const auto steady = measured_figures(tone, law_rate_hz, {}).value();
  for (const MeasuredFigure MeasuredBand::*figure :
       {&MeasuredBand::t20_s, &MeasuredBand::t30_s, &MeasuredBand::c50_db, &MeasuredBand::d50,
        &MeasuredBand::ts_ms}) {
    EXPECT_FALSE((steady.broadband.*figure).valid);
    EXPECT_NE((steady.broadband.*figure).reason.find("above the noise"), std::string::npos)
        << (steady.broadband.*figure).reason;
  }
  // A third octave at 50 Hz is 11.6 Hz wide: its filter rings longer than a room of 0.1 s.
  const auto dry = measured_figures(
      squares_of(0.5, [](double t) { return std::exp(-138.155 * t) + 1e-9; }), law_rate_hz, {true});
  EXPECT_FALSE(dry.value().bands[0].c50_db.valid);
  EXPECT_NE(dry.value().bands[0].c50_db.reason.find("filter"), std::string::npos);
  EXPECT_TRUE(dry.value().bands.back().c50_db.valid) << dry.value().bands.back().c50_db.reason;
  std::vector<double> click(std::size_t(law_rate_hz), 0.0);
  click[100] = 1;
  const MeasuredBand silent = whole(click);
  EXPECT_FALSE(silent.noise_db.valid);
  EXPECT_NE(silent.noise_db.reason.find("silence"), std::string::npos);
  EXPECT_FALSE(silent.c50_db.valid) << "nothing is late";
  EXPECT_NEAR(silent.d50.value, 1, 1e-9);
}

TEST(Figures, a_sweep_runs_through_its_frequencies_on_time) {
  // Source: x(t) = sin(2π f₁ L (e^(t/L) - 1)), phases of 20 Hz to 20 kHz in 10 s (computed)
  const auto sweep = exponential_sweep({20, 20000, 10}, 48000).value();
  ASSERT_EQ(sweep.size(), 480000u);
  for (const auto& [t, cycles] :
       {std::pair{1.0, 28.8157966}, {2.5, 133.861524191}, {5.0, 886.620193244}})
    EXPECT_NEAR(sweep[std::size_t(t * 48000)], std::sin(2 * M_PI * cycles), 2e-3) << t;
  EXPECT_FALSE(exponential_sweep({20, 24000, 10}, 48000).ok());
  EXPECT_FALSE(exponential_sweep({0, 20, 500}, 48000).ok());
  EXPECT_EQ(exponential_sweep({0, 0, 500}, 48000).mistakes().size(), 3u);
}

TEST(Figures, a_sweep_through_a_known_system_has_that_system_s_figures) {
  // Two clicks of equal energy, the first with no delay at all: its beginning is not lost.
  const auto sweep = exponential_sweep({20, 20000, 3}, law_rate_hz).value();
  std::vector<double> system(std::size_t(0.8 * law_rate_hz), 0.0);
  system[0] = system[4800] = 0.5;
  std::vector<double> recording = convolved(sweep, system);
  recording.resize(sweep.size() + system.size(), 0.0);
  std::mt19937_64 random(5);
  std::normal_distribution<double> normal;
  for (double& one : recording) one += 1e-4 * normal(random);
  const auto impulse = impulse_of_sweep(recording, sweep, law_rate_hz).value();
  const auto got = measured_figures(impulse, law_rate_hz, {false, 12}).value();
  for (const MeasuredBand& band : got.bands) EXPECT_NEAR(band.d50.value, 0.5, 0.01) << band.hz;
  EXPECT_NEAR(got.broadband.d50.value, 0.5, 0.01);
  // Smoothed over many teeth of the comb, 10 Hz apart, two clicks of 0.5 add by energy: -3 dB.
  for (const ResponsePoint& point : got.response)
    if (point.hz > 1000 && point.hz < 15000)
      EXPECT_NEAR(point.level_db, 10 * std::log10(0.5), 0.5) << point.hz;
}

TEST(Figures, a_response_is_level_for_a_click_and_follows_a_comb) {
  std::vector<double> clicks(std::size_t(0.5 * law_rate_hz), 0.0);
  clicks[1000] = 0.5;
  auto got = measured_figures(clicks, law_rate_hz, {false, 3}).value();
  EXPECT_NEAR(got.response.front().hz, 20, 1e-9);
  EXPECT_GT(got.response.back().hz, 17000);
  for (const ResponsePoint& point : got.response)
    EXPECT_NEAR(point.level_db, 20 * std::log10(0.5), 0.01) << point.hz;
  clicks[1048] = 0.5;  // 1 ms later: 1 kHz adds, 500 Hz is taken away
  got = measured_figures(clicks, law_rate_hz, {false, 48}).value();
  const auto near = [&](double hz) {
    return *std::min_element(got.response.begin(), got.response.end(),
                             [&](const ResponsePoint& a, const ResponsePoint& b) {
                               return std::abs(a.hz - hz) < std::abs(b.hz - hz);
                             });
  };
  EXPECT_NEAR(near(1000).level_db, 0, 0.1);
  EXPECT_LT(near(500).level_db, -25);
  EXPECT_NEAR(near(40).level_db, 0, 0.1);
}

TEST(Figures, positions_are_averaged_over_those_that_are_valid) {
  const MeanFigure mean =
      mean_figure({{0.4, true, ""}, {0.6, true, ""}, {9, false, "needs 35 dB above the noise"}});
  EXPECT_TRUE(mean.mean.valid);
  EXPECT_NEAR(mean.mean.value, 0.5, 1e-12);
  EXPECT_NEAR(mean.deviation, 0.141421, 1e-6);
  EXPECT_EQ(mean.valid, 2u);
  EXPECT_EQ(mean_figure({{9, false, "why"}, {8, false, "else"}}).mean.reason, "why");
}

}  // namespace
}  // namespace roomwright::acoustics
