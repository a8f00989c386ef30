// Wells and endless rows of them: closed forms of slits, and laws of energy and reciprocity. The
// standard air's sound speed is 343.2 m/s.
#include "acoustics/diffusers/wells.h"

#include <gtest/gtest.h>

#include <cmath>

namespace roomwright::acoustics {
namespace {

const double row_pi = std::acos(-1.0);

/// Of prime 7 at 500 Hz.
Wells wells_of(Sequence kind, double well_width_m) {
  DiffuserSpec spec;
  spec.kind = kind;
  spec.well_width_m = well_width_m;
  return design_diffuser(spec, standard_air())->wells;
}

std::vector<double> thirds_to(double highest_hz) {
  std::vector<double> out;
  for (const Band& band : third_octave_bands())
    if (band.centre_hz < highest_hz) out.push_back(band.centre_hz);
  return out;
}

TEST(WellAbsorption, is_nought_without_losses) {
  for (const Sequence kind : {Sequence::quadratic_residue, Sequence::primitive_root})
    for (const double incidence_deg : {-60.0, 0.0, 35.0}) {
      Wells wells = wells_of(kind, 0.06);
      wells.fin_thickness_m = 0.005;
      const auto got =
          well_absorption(wells, {thirds_to(6000), incidence_deg, false}, standard_air());
      for (const double value : got->absorption) EXPECT_NEAR(value, 0, 1e-9);
    }
}

TEST(WellAbsorption, stays_lossless_where_an_order_just_grazes) {
  const Wells wells = wells_of(Sequence::quadratic_residue, 0.1);
  const auto got =
      well_absorption(wells, {{343.2 / 0.7, 2 * 343.2 / 0.7}, 0, false}, standard_air());
  for (const double value : got->absorption) EXPECT_NEAR(value, 0, 1e-6);
}

TEST(WellAbsorption, is_never_negative_and_on_average_grows_as_wells_get_narrower) {
  std::vector<double> hz;
  for (int i = 0; i < 480; ++i) hz.push_back(100 + 5 * i);
  double before = 0;
  for (const double width_m : {0.1, 0.05, 0.025, 0.0125, 0.00625}) {
    const auto got = well_absorption(wells_of(Sequence::quadratic_residue, width_m), {hz, 0, true},
                                     standard_air());
    double mean = 0;
    for (const double value : got->absorption) {
      EXPECT_GT(value, 0);
      EXPECT_LE(value, 1);
      mean += value / hz.size();
    }
    EXPECT_GT(mean, 1.3 * before) << width_m;
    before = mean;
  }
  EXPECT_GT(before, 0.1);
}

TEST(WellAbsorption, of_equal_wells_without_fins_is_that_of_their_impedance) {
  // Closed form: Z = z coth(j k d), |(Z − cos) …| at normal incidence
  Wells wells;
  wells.depths_m = std::vector<double>(3, 0.17);
  wells.well_width_m = 0.006;
  const std::vector<double> hz = {100, 480, 500, 1000, 2500};
  const auto got = well_absorption(wells, {hz, 0, true}, standard_air()).value();
  for (std::size_t i = 0; i < hz.size(); ++i) {
    const SlitWave wave = slit_wave(0.006, hz[i], standard_air());
    const std::complex<double> j{0, 1};
    const auto impedance =
        wave.impedance / std::tanh(j * 2.0 * row_pi * hz[i] / 343.2 * 0.17 * wave.number);
    const double exact = 1 - std::norm((impedance - 1.0) / (impedance + 1.0));
    EXPECT_NEAR(got.absorption[i], exact, 1e-9);
    EXPECT_GT(exact, 0.003);
  }
}

TEST(WellAbsorption, sends_the_same_share_back_along_the_mirror_from_either_side) {
  // Reciprocity: the specular order of an unsymmetric row does not know left from right
  const Wells wells = wells_of(Sequence::primitive_root, 0.03);
  const auto specular = [&](double incidence_deg) {
    const auto got =
        well_absorption(wells, {{900, 2100}, incidence_deg, true}, standard_air()).value();
    std::vector<double> out;
    for (const auto& orders : got.orders)
      for (const DiffractionOrder& order : orders)
        if (order.order == 0) {
          EXPECT_NEAR(order.angle_deg, -incidence_deg, 1e-9);
          out.push_back(order.energy);
        }
    return out;
  };
  const std::vector<double> right = specular(40), left = specular(-40);
  ASSERT_EQ(right.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) EXPECT_NEAR(right[i], left[i], 1e-9);
}

TEST(WellAbsorption, places_lobes_by_the_grating_equation) {
  const Wells wells = wells_of(Sequence::quadratic_residue, 0.1);
  const auto got = well_absorption(wells, {{400, 1200}, 0, false}, standard_air()).value();
  ASSERT_EQ(got.orders[0].size(), 1u);
  ASSERT_EQ(got.orders[1].size(), 5u);
  for (const DiffractionOrder& order : got.orders[1])
    EXPECT_NEAR(std::sin(order.angle_deg * row_pi / 180), -order.order * 343.2 / 1200 / 0.7, 1e-9);
}

TEST(WellAbsorption, names_every_mistake_at_once) {
  Wells grid;
  grid.depths_m = std::vector<double>(4, 0.1);
  grid.well_width_m = 2;
  grid.rows = 2;
  const auto got = well_absorption(grid, {{10}, 89, true}, standard_air());
  ASSERT_FALSE(got.ok());
  EXPECT_EQ(got.mistakes().size(), 4u) << got.mistakes().text();
}

TEST(SlitWave, flows_as_poiseuille_where_it_is_narrow) {
  // Source: plane Poiseuille flow, flow resistivity 12 η / w² (from memory)
  const Air air = standard_air();
  const double width_m = 2e-5, omega = 2 * row_pi * 20;
  const SlitWave wave = slit_wave(width_m, 20, air);
  const std::complex<double> density = wave.number * wave.impedance * air.density_kg_m3;
  const double resistivity = 12 * air.viscosity_pa_s / (width_m * width_m);
  EXPECT_NEAR((std::complex<double>(0, omega) * density).real() / resistivity, 1, 1e-3);
  // and it is isothermal: its bulk modulus is that of free air over γ
  const std::complex<double> modulus = wave.impedance / wave.number;
  EXPECT_NEAR(modulus.real(), 1 / air.heat_capacity_ratio, 1e-3);
}

TEST(SlitWave, fades_as_kirchhoffs_boundary_layers_say_where_it_is_wide) {
  // Source: G. Kirchhoff (1868), attenuation of a wide duct, here of a slit:
  // α = √(η ω / 2ρ) (1 + (γ − 1)/√Pr) / (w c) (from memory)
  const Air air = standard_air();
  const double width_m = 0.1, hz = 1000, omega = 2 * row_pi * hz;
  const double exact = std::sqrt(air.viscosity_pa_s * omega / (2 * air.density_kg_m3)) *
                       (1 + (air.heat_capacity_ratio - 1) / std::sqrt(air.prandtl)) /
                       (width_m * air.sound_speed_m_s);
  const double got = -slit_wave(width_m, hz, air).number.imag() * omega / air.sound_speed_m_s;
  EXPECT_NEAR(got / exact, 1, 0.01);
}

TEST(Mouth, stays_finite_at_every_resonance_and_reflects_all) {
  for (int i = 0; i <= 400; ++i) {
    const Mouth mouth = mouth_of(0.1, i * row_pi / 40 / 0.1, {});
    EXPECT_NEAR(std::norm(mouth.pressure) + std::norm(mouth.velocity), 1, 1e-12);
    EXPECT_NEAR(std::abs((mouth.pressure - mouth.velocity) / (mouth.pressure + mouth.velocity)), 1,
                1e-12);
  }
}

}  // namespace
}  // namespace roomwright::acoustics
