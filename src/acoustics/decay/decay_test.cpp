// The formulas against a computed table, their limits, and a measured room.
#include "acoustics/decay/decay.h"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

DecayInput box_input(const std::vector<double>& size, const std::vector<double>& alpha,
                     double four_m) {
  DecayInput in;
  in.volume_m3 = size[0] * size[1] * size[2];
  in.sound_speed_m_s = 343.2;
  in.air_energy_1_m = four_m / 4;
  const double areas[] = {size[1] * size[2], size[0] * size[2], size[0] * size[1]};
  const Vec3 shares[] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  for (int i = 0; i < 6; ++i) in.areas.push_back({areas[i / 2], alpha[i], shares[i / 2]});
  return in;
}

std::vector<double> sizes_of(std::string text) {
  for (char& letter : text)
    if (letter == 'x') letter = ' ';
  return figures::numbers(text);
}

TEST(Decay, meets_the_table_of_five_formulas) {
  // Source: Sabine, Eyring, Millington, Fitzroy, Arau-Puchades, table computed from their formulas
  // with 24 ln 10 / c at c = 343.2 m/s (tests/figures/reverberation.csv)
  for (const auto& row : figures::rows("reverberation.csv")) {
    const DecayInput in =
        box_input(sizes_of(row.at("dims_m")), figures::numbers(row.at("alpha x0 x1 y0 y1 z0 z1")),
                  std::stod(row.at("4m_per_m")));
    const std::map<std::string, DecayFormula> formulas = {
        {"Sabine_s", DecayFormula::sabine},
        {"Eyring_s", DecayFormula::eyring},
        {"Millington_s", DecayFormula::millington},
        {"Fitzroy_s", DecayFormula::fitzroy},
        {"Arau_s", DecayFormula::arau}};
    for (const auto& [column, formula] : formulas)
      EXPECT_NEAR(*decay_time(in, formula).t_s / std::stod(row.at(column)), 1, 1e-6)
          << row.at("case") << " " << column;
    const double sabine = *decay_time(in, DecayFormula::sabine).t_s;
    EXPECT_NEAR(schroeder_hz(sabine, in.volume_m3),
                std::stod(row.at("schroeder_Hz (2000 sqrt(T_Sabine/V))")), 1e-3);
    EXPECT_NEAR(critical_distance_m(std::stod(row.at("A_m2"))),
                std::stod(row.at("critical_distance_sqrt(A/16pi)_m")), 1e-7);
  }
}

TEST(Decay, all_formulas_agree_with_sabine_when_little_is_absorbed) {
  const DecayInput in = box_input({5, 4, 2.6}, std::vector<double>(6, 0.001), 0);
  const double sabine = *decay_time(in, DecayFormula::sabine).t_s;
  for (const auto formula :
       {DecayFormula::eyring, DecayFormula::millington, DecayFormula::fitzroy, DecayFormula::arau})
    EXPECT_NEAR(*decay_time(in, formula).t_s / sabine, 1, 1e-3);
}

TEST(Decay, a_coefficient_above_one_never_enters_a_logarithm) {
  const DecayInput in = box_input({5, 4, 2.6}, {1.2, 1.2, 1.2, 1.2, 1.2, 1.2}, 0);
  for (const auto formula :
       {DecayFormula::eyring, DecayFormula::millington, DecayFormula::fitzroy, DecayFormula::arau})
    EXPECT_TRUE(std::isfinite(*decay_time(in, formula).t_s));
  EXPECT_NE(log_cap_rule().find("0.99"), std::string::npos);
}

TEST(Decay, a_room_that_absorbs_nothing_has_no_decay_time) {
  const DecayInput in = box_input({5, 4, 2.6}, std::vector<double>(6, 0), 0);
  for (const auto formula : {DecayFormula::sabine, DecayFormula::arau}) {
    EXPECT_FALSE(decay_time(in, formula).t_s.has_value());
    EXPECT_FALSE(decay_time(in, formula).reason.empty());
  }
}

TEST(DirectionShare, of_a_box_is_its_three_pairs_whichever_way_it_is_turned) {
  const Room box = make_box(5, 4, 2.6).value();
  EXPECT_NEAR(direction_share(box, 0).z, 1, 1e-12);
  EXPECT_NEAR(direction_share(box, 2).y, 1, 1e-12);
  EXPECT_NEAR(direction_share(box, 3).x, 1, 1e-12);
  const double c = std::cos(0.4), s = std::sin(0.4);
  const Room turned =
      make_room({{0, 0}, {5 * c, 5 * s}, {5 * c - 4 * s, 5 * s + 4 * c}, {-4 * s, 4 * c}}, 2.6)
          .value();
  EXPECT_NEAR(direction_share(turned, 2).y, 1, 1e-9);
  for (int i = 0; i < surface_count(turned); ++i) {
    const Vec3 share = direction_share(turned, i);
    EXPECT_NEAR(share.x + share.y + share.z, 1, 1e-12);
  }
}

TEST(Decay, meets_the_measured_seminar_room_within_one_per_cent) {
  const std::string folder = std::string(ROOMWRIGHT_SHARED_DATA) + "/data/room_benchmark_seminar";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  std::map<std::string, std::map<std::string, std::string>> absorption;
  std::map<std::string, double> area;
  for (const auto& row : figures::read_rows(folder + "/absorption_scattering.csv")) {
    absorption[row.at("surface")][fixed(std::stod(row.at("band_hz")), 1)] = row.at("absorption");
    area[row.at("surface")] = std::stod(row.at("stated_area_m2"));
  }
  AirInput climate;
  climate.temperature_c = 19.5;
  climate.humidity_percent = 41.7;
  const Air air = make_air(climate).value();
  int compared = 0;
  for (const auto& row : figures::read_rows(folder + "/measured_decay.csv")) {
    const double hz = std::stod(row.at("band_hz"));
    if (hz < 100 || hz > 6300) continue;
    DecayInput in;
    in.volume_m3 = 146.1;
    in.sound_speed_m_s = air.sound_speed_m_s;
    for (const Band& band : third_octave_bands())
      if (band.nominal_hz == hz) in.air_energy_1_m = energy_attenuation_per_m(air, band.centre_hz);
    for (const auto& [surface, square_metres] : area)
      in.areas.push_back({square_metres, std::stod(absorption[surface].at(fixed(hz, 1)))});
    // Source: BRAS, scene CR2, doi 10.14279/depositonce-6726.3: measured T20; coefficients fitted
    // by its authors with Eyring's equation
    EXPECT_NEAR(*decay_time(in, DecayFormula::eyring).t_s / std::stod(row.at("t20_s")), 1, 0.01)
        << hz;
    ++compared;
  }
  EXPECT_EQ(compared, 19);
}

}  // namespace
}  // namespace roomwright::acoustics
