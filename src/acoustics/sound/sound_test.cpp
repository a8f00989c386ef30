// Air and bands against the standards' figures.
#include "acoustics/sound/sound.h"

#include <gtest/gtest.h>

#include <cmath>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

Air air_at(double temperature_c, double humidity_percent) {
  AirInput input;
  input.temperature_c = temperature_c;
  input.humidity_percent = humidity_percent;
  return make_air(input).value();
}

TEST(Air, speed_and_density_follow_temperature_and_humidity) {
  // Source: ISO 9613-1:1993 (speed of sound, equation from memory), computed table
  EXPECT_NEAR(air_at(0, 50).sound_speed_m_s, 331.28588, 1e-5);
  EXPECT_NEAR(air_at(20, 50).sound_speed_m_s, 343.2, 1e-9);
  EXPECT_NEAR(air_at(30, 50).sound_speed_m_s, 349.00457, 1e-5);
  // Source: sum of partial densities, 287.05 and 461.495 J/(kg K), computed table
  EXPECT_NEAR(air_at(20, 0).density_kg_m3, 1.204118, 1e-6);
  EXPECT_NEAR(air_at(20, 50).density_kg_m3, 1.19887, 1e-5);
  EXPECT_NEAR(air_at(30, 50).density_kg_m3, 1.155186, 1e-5);
}

TEST(Air, attenuation_meets_the_tabulated_values_within_a_thousandth) {
  // Source: ISO 9613-1:1993, eqs. (3) to (5) and Annex B, exact mid-band frequencies, computed
  // (tests/figures/air_octaves.csv, air_thirds.csv)
  int compared = 0;
  for (const char* table : {"air_octaves.csv", "air_thirds.csv"})
    for (const auto& row : figures::rows(table)) {
      const Air air = air_at(std::stod(row.at("t_C")), std::stod(row.at("rh_percent")));
      const double hz = std::stod(row.at("exact_Hz"));
      EXPECT_NEAR(attenuation_db_per_m(air, hz) * 1000 / std::stod(row.at("alpha_dB_per_km")), 1,
                  1e-3)
          << table << " " << row.at("t_C") << " °C, " << hz << " Hz";
      EXPECT_NEAR(energy_attenuation_per_m(air, hz) / std::stod(row.at("m_per_m (energy)")), 1,
                  1e-3);
      ++compared;
    }
  EXPECT_EQ(compared, 112);
}

TEST(Air, attenuation_can_be_left_out) {
  AirInput input;
  input.attenuation = false;
  EXPECT_EQ(attenuation_db_per_m(make_air(input).value(), 4000), 0);
}

TEST(Air, given_density_and_speed_are_taken_as_they_are) {
  AirInput input;
  input.density_kg_m3 = 1.204;
  input.sound_speed_m_s = 343.2;
  EXPECT_DOUBLE_EQ(make_air(input).value().impedance_pa_s_m(), 1.204 * 343.2);
}

TEST(Air, every_wrong_value_is_told) {
  AirInput input;
  input.temperature_c = 99;
  input.humidity_percent = -1;
  input.pressure_pa = std::nan("");
  EXPECT_EQ(make_air(input).mistakes().size(), 3u);
}

TEST(Bands, have_the_exact_mid_band_frequencies_and_edges) {
  // Source: IEC 61260-1:2014, 5.2 to 5.5: G = 10^(3/10), f_r = 1000 Hz, edges G^(±1/(2b))
  EXPECT_NEAR(octave_bands()[0].centre_hz, 63.0957344, 1e-6);
  EXPECT_NEAR(octave_bands()[3].low_hz, 354.813389234, 1e-6);
  EXPECT_NEAR(octave_bands()[7].high_hz, 11220.184543, 1e-5);
  EXPECT_NEAR(third_octave_bands()[0].centre_hz, 50.1187233627, 1e-8);
  EXPECT_NEAR(third_octave_bands()[4].low_hz, 112.20184543, 1e-7);
  EXPECT_NEAR(third_octave_bands()[23].high_hz, 11220.184543, 1e-5);
  EXPECT_EQ(octave_bands().size(), 8u);
  EXPECT_EQ(third_octave_bands().size(), 24u);
}

}  // namespace
}  // namespace roomwright::acoustics
