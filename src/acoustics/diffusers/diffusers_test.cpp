// Diffusers against a computed table, laws of number theory, closed forms, energy and exchange of
// source and observer, and the models against each other where theory says that they meet.
#include "acoustics/diffusers/diffusers.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <complex>
#include <limits>
#include <numeric>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

using Values = std::vector<double>;
const double test_pi = std::acos(-1.0);
const std::vector<int> primes = {3,  5,  7,  11, 13, 17, 19, 23, 29, 31, 37, 41,
                                 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97};

Air plain_air() {
  AirInput input;
  input.sound_speed_m_s = 343.2;
  return make_air(input).value();
}

DiffuserSpec spec_of(Sequence kind, int prime, double design_hz, double well_width_m) {
  DiffuserSpec spec;
  spec.kind = kind;
  spec.prime = prime;
  spec.design_hz = design_hz;
  spec.well_width_m = well_width_m;
  return spec;
}

Diffuser design(const DiffuserSpec& spec) {
  return design_diffuser(spec, plain_air()).value();
}

Diffuser design(Sequence kind, int prime, double design_hz, double well_width_m) {
  return design(spec_of(kind, prime, design_hz, well_width_m));
}

PolarOptions at(Values frequencies_hz, int periods, double incidence_deg = 0) {
  PolarOptions options;
  options.frequencies_hz = std::move(frequencies_hz);
  options.periods = periods;
  options.incidence_deg = incidence_deg;
  return options;
}

bool tells(const Diagnostics& found, const std::string& where) {
  return std::any_of(found.items().begin(), found.items().end(),
                     [&](const Complaint& one) { return one.where == where; });
}

/// |Σ e^{j2π s/N} e^{−j2π(u row/rows + v column/columns)}|²
double spectrum(const Diffuser& diffuser, int prime, int u, int v) {
  std::complex<double> sum = 0;
  const int columns = diffuser.wells.columns(), rows = diffuser.wells.rows;
  for (int cell = 0; cell < rows * columns; ++cell)
    sum += std::polar(
        1.0, 2 * test_pi *
                 (double(diffuser.sequence[cell]) / prime - double(u * (cell / columns)) / rows -
                  double(v * (cell % columns)) / columns));
  return std::norm(sum);
}

// ---- sequences ------------------------------------------------------------------------------

TEST(Design, meets_every_row_of_the_computed_table) {
  // Source: table computed from Schroeder's formulas, sequence and depths as in Cox & D'Antonio,
  // Acoustic Absorbers and Diffusers, ch. 9 (from memory) (tests/figures/diffusers.csv)
  int compared = 0;
  for (const auto& row : figures::rows("diffusers.csv")) {
    const Sequence kind =
        row.at("type") == "QRD" ? Sequence::quadratic_residue : Sequence::primitive_root;
    const Diffuser got = design(kind, std::stoi(row.at("N")), std::stod(row.at("design_Hz")),
                                std::stod(row.at("well_width_mm")) / 1000);
    const Values sequence = figures::numbers(row.at("sequence"));
    const Values depths = figures::numbers(row.at("depths_mm"));
    ASSERT_EQ(got.sequence.size(), sequence.size());
    ASSERT_EQ(got.wells.depths_m.size(), depths.size());
    for (std::size_t i = 0; i < sequence.size(); ++i) {
      EXPECT_EQ(got.sequence[i], sequence[i]);
      EXPECT_NEAR(got.wells.depths_m[i] * 1000, depths[i], 0.00051);
    }
    if (kind == Sequence::primitive_root)
      EXPECT_EQ("PRD g=" + std::to_string(got.generator), row.at("type"));
    EXPECT_NEAR(got.greatest_depth_m * 1000, std::stod(row.at("max_depth_mm")), 0.00051);
    EXPECT_NEAR(got.high_hz, std::stod(row.at("plane_wave_limit_c/2w_Hz")), 0.0051);
    EXPECT_NEAR(got.period_limit_hz, std::stod(row.at("period_limit_c/(period)_Hz")), 0.0051);
    EXPECT_NEAR(got.flat_plate_hz, std::stod(row.at("critical_flat_plate_N*f0_Hz")), 1e-9);
    EXPECT_EQ(got.low_hz, std::max(got.period_limit_hz, std::stod(row.at("design_Hz"))));
    ++compared;
  }
  EXPECT_EQ(compared, 10);
}

TEST(Design, gives_residues_a_flat_spectrum_for_every_prime) {
  // Source: M. R. Schroeder, J. Acoust. Soc. Am. 57 (1975) 149-150 (from memory): |DFT|² = N
  for (const int prime : primes) {
    const Diffuser got = design(Sequence::quadratic_residue, prime, 1000, 0.05);
    for (int v = 0; v < prime; ++v)
      EXPECT_NEAR(spectrum(got, prime, 0, v), prime, 1e-7 * prime) << prime << " " << v;
  }
}

TEST(Design, gives_roots_a_flat_spectrum_but_for_a_small_specular_order) {
  // Source: Gauss sums; Cox & D'Antonio, Acoustic Absorbers and Diffusers, ch. 9 (from memory):
  // |DFT|² = 1 at the zero order, N elsewhere
  for (const int prime : primes) {
    const Diffuser got = design(Sequence::primitive_root, prime, 1000, 0.05);
    EXPECT_NEAR(spectrum(got, prime, 0, 0), 1, 1e-7);
    for (int v = 1; v < prime - 1; ++v)
      EXPECT_NEAR(spectrum(got, prime, 0, v), prime, 1e-7 * prime) << prime << " " << v;
  }
}

/// How many different numbers the powers of a base give.
std::size_t different_powers(int base, int prime) {
  std::vector<bool> seen(prime);
  int power = 1;
  for (int n = 1; n < prime; ++n) seen[power = power * base % prime] = true;
  return std::count(seen.begin(), seen.end(), true);
}

TEST(Design, takes_the_least_base_whose_powers_give_every_number) {
  for (const int prime : primes) {
    const Diffuser got = design(Sequence::primitive_root, prime, 1000, 0.05);
    EXPECT_EQ(different_powers(got.generator, prime), prime - 1u) << prime;
    for (int base = 1; base < got.generator; ++base)
      EXPECT_LT(different_powers(base, prime), prime - 1u) << prime << " " << base;
  }
}

TEST(Design, gives_a_grid_of_residues_a_flat_spectrum_in_both_planes) {
  for (const int prime : {5, 7, 11}) {
    DiffuserSpec spec = spec_of(Sequence::quadratic_residue, prime, 1000, 0.05);
    spec.two_dimensional = true;
    const Diffuser got = design(spec);
    ASSERT_EQ(got.wells.rows, prime);
    ASSERT_EQ(got.wells.columns(), prime);
    for (int u = 0; u < prime; ++u)
      for (int v = 0; v < prime; ++v)
        EXPECT_NEAR(spectrum(got, prime, u, v), prime * prime, 1e-7 * prime * prime);
  }
}

TEST(Design, folds_roots_onto_a_grid_that_keeps_their_spectrum) {
  for (const int prime : {7, 13, 31, 97}) {
    DiffuserSpec spec = spec_of(Sequence::primitive_root, prime, 1000, 0.05);
    spec.two_dimensional = true;
    const Diffuser got = design(spec);
    const int rows = got.wells.rows, columns = got.wells.columns();
    EXPECT_EQ(rows * columns, prime - 1);
    EXPECT_EQ(std::gcd(rows, columns), 1);
    std::vector<int> sorted = got.sequence;
    std::sort(sorted.begin(), sorted.end());
    for (int i = 0; i < prime - 1; ++i) EXPECT_EQ(sorted[i], i + 1);
    for (int u = 0; u < rows; ++u)
      for (int v = 0; v < columns; ++v)
        EXPECT_NEAR(spectrum(got, prime, u, v), u + v == 0 ? 1 : prime, 1e-7 * prime);
    for (int i = 0; i < rows; ++i)  // one step along the diagonal is one power more
      for (int j = 0; j < columns; ++j)
        EXPECT_EQ(got.sequence[(i + 1) % rows * columns + (j + 1) % columns],
                  got.sequence[i * columns + j] * got.generator % prime);
  }
}

TEST(Design, counts_fins_into_the_period_and_not_into_the_wells) {
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 7, 1000, 0.04);
  spec.fin_thickness_m = 0.006;
  const Diffuser got = design(spec);
  EXPECT_DOUBLE_EQ(got.wells.period_m(), 7 * 0.046);
  EXPECT_NEAR(got.period_limit_hz, 343.2 / (7 * 0.046), 1e-9);
  EXPECT_NEAR(got.high_hz, 343.2 / 0.08, 1e-9);
  EXPECT_NEAR(got.least_distance_m, 3 * 343.2 / got.low_hz, 1e-12);  // common practice, no source
  EXPECT_EQ(got.low_hz, got.period_limit_hz);
}

TEST(Design, follows_the_air) {
  AirInput warm;
  warm.temperature_c = 30;
  const Air air = make_air(warm).value();
  const auto spec = spec_of(Sequence::quadratic_residue, 7, 500, 0.06);
  EXPECT_NEAR(design_diffuser(spec, air)->greatest_depth_m / design(spec).greatest_depth_m,
              air.sound_speed_m_s / 343.2, 1e-12);
}

TEST(Design, rounds_depths_to_whole_steps_and_says_by_how_much) {
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 11, 700, 0.05);
  const Diffuser exact = design(spec);
  EXPECT_EQ(exact.greatest_rounding_m, 0);
  spec.depth_step_m = 0.002;
  const Diffuser rounded = design(spec);
  double greatest = 0;
  for (std::size_t i = 0; i < exact.wells.depths_m.size(); ++i) {
    const double steps = rounded.wells.depths_m[i] / spec.depth_step_m;
    EXPECT_NEAR(steps, std::round(steps), 1e-9);
    const double moved = std::abs(rounded.wells.depths_m[i] - exact.wells.depths_m[i]);
    EXPECT_LE(moved, spec.depth_step_m / 2 + 1e-12);
    greatest = std::max(greatest, moved);
  }
  EXPECT_NEAR(rounded.greatest_rounding_m, greatest, 1e-15);
  EXPECT_GT(greatest, 0);
}

TEST(Design, tells_where_it_fights_itself) {
  const auto notes = [](const DiffuserSpec& spec) {
    Diagnostics out;
    for (const Complaint& note : design(spec).notes) out.add(note);
    return out;
  };
  EXPECT_TRUE(notes(spec_of(Sequence::quadratic_residue, 11, 700, 0.05)).empty());
  EXPECT_TRUE(tells(notes(spec_of(Sequence::quadratic_residue, 7, 500, 0.4)), "well_width_m"));
  EXPECT_TRUE(tells(notes(spec_of(Sequence::quadratic_residue, 7, 500, 0.02)), "well_width_m"));
  EXPECT_TRUE(tells(notes(spec_of(Sequence::quadratic_residue, 5, 400, 0.05)), "prime"));
  DiffuserSpec coarse = spec_of(Sequence::quadratic_residue, 11, 2000, 0.05);
  coarse.depth_step_m = 0.02;
  EXPECT_TRUE(tells(notes(coarse), "depth_step_m"));
}

TEST(Design, names_every_mistake_at_once) {
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 9, 20, 0.001);
  spec.fin_thickness_m = -0.01;
  spec.depth_step_m = std::numeric_limits<double>::quiet_NaN();
  const auto got = design_diffuser(spec, plain_air());
  ASSERT_FALSE(got.ok());
  EXPECT_EQ(got.mistakes().size(), 5u);
  for (const char* key : {"prime", "design_hz", "well_width_m", "fin_thickness_m", "depth_step_m"})
    EXPECT_TRUE(tells(got.mistakes(), key)) << key;
  for (const Complaint& mistake : got.mistakes().items()) EXPECT_FALSE(mistake.remedy.empty());
}

TEST(Design, wants_a_prime_and_for_a_grid_of_roots_one_that_can_be_folded) {
  for (int number = -3; number <= 120; ++number) {
    const bool fine = std::count(primes.begin(), primes.end(), number) > 0;
    const auto spec = spec_of(Sequence::primitive_root, number, 1000, 0.05);
    EXPECT_EQ(design_diffuser(spec, plain_air()).ok(), fine) << number;
  }
  for (const int prime : primes) {
    auto spec = spec_of(Sequence::primitive_root, prime, 1000, 0.05);
    spec.two_dimensional = true;
    const bool power_of_two = prime == 3 || prime == 5 || prime == 17;
    EXPECT_EQ(design_diffuser(spec, plain_air()).ok(), !power_of_two) << prime;
  }
}

// ---- the diffusion coefficient ----------------------------------------------------------------

TEST(DiffusionCoefficient, is_one_for_equal_levels_and_nought_for_a_single_lobe) {
  EXPECT_NEAR(diffusion_coefficient(Values(37, -12.5)).value(), 1, 1e-12);
  Values single(37, -300);
  single[5] = 3;
  EXPECT_NEAR(diffusion_coefficient(single).value(), 0, 1e-12);
}

TEST(DiffusionCoefficient, counts_the_directions_that_share_the_energy) {
  // k of n equal and the rest silent: (k² − k) / ((n − 1) k) = (k − 1)/(n − 1)
  for (int k = 1; k <= 19; ++k) {
    Values levels(19, -300);
    std::fill_n(levels.begin(), k, 60);
    EXPECT_NEAR(diffusion_coefficient(levels).value(), (k - 1) / 18.0, 1e-12);
  }
}

TEST(DiffusionCoefficient, does_not_care_how_loud_it_is) {
  const Values quiet = {-3, 0, -7, 2, -20};
  Values loud = quiet;
  for (double& level : loud) level += 4000;
  EXPECT_NEAR(diffusion_coefficient(quiet).value(), diffusion_coefficient(loud).value(), 1e-9);
}

TEST(DiffusionCoefficient, is_nought_for_the_flat_panel_once_normalised) {
  EXPECT_EQ(normalised_diffusion(0.2, 0.2), 0);
  EXPECT_NEAR(normalised_diffusion(1, 0.3), 1, 1e-15);
  EXPECT_NEAR(normalised_diffusion(0.5, 0.2), 0.375, 1e-15);
}

TEST(DiffusionCoefficient, wants_at_least_two_numbers) {
  EXPECT_FALSE(diffusion_coefficient({}).ok());
  EXPECT_FALSE(diffusion_coefficient({1}).ok());
  const double inf = std::numeric_limits<double>::infinity();
  const auto got = diffusion_coefficient({1, inf, std::nan("")});
  ASSERT_FALSE(got.ok());
  EXPECT_EQ(got.mistakes().size(), 2u);
}

// ---- the far-field model ----------------------------------------------------------------------

TEST(PolarFourier, gives_a_flat_panel_its_closed_form) {
  // Source: Fraunhofer diffraction of a slit, with Kirchhoff's obliquity; any textbook of optics
  Wells flat;
  flat.depths_m = Values(4, 0);
  flat.well_width_m = 0.2;
  const Air air = plain_air();
  const PolarReport got = polar_fourier(flat, at({300, 2000}, 3, 25), air).value();
  const double width = 2.4, from = 25 * test_pi / 180;
  for (std::size_t i = 0; i < 2; ++i)
    for (std::size_t a = 0; a < got.angles_deg.size(); ++a) {
      const double to = got.angles_deg[a] * test_pi / 180;
      const double k = 2 * test_pi * (i == 0 ? 300 : 2000) / 343.2;
      const double x = k * width / 2 * (std::sin(from) + std::sin(to));
      const double shape = std::abs(x) < 1e-9 ? 1 : std::sin(x) / x;
      const double exact = std::sqrt(k / (2 * test_pi)) * width * std::abs(shape) *
                           (std::cos(from) + std::cos(to)) / 2;
      EXPECT_NEAR(std::pow(10, got.levels_db[i][a] / 20), exact, 1e-9);
    }
  EXPECT_EQ(got.normalised_diffusion, Values(2, 0));
  EXPECT_LT(got.power_error[1], 0.05);
}

TEST(PolarFourier, puts_equal_lobes_of_residues_where_the_grating_puts_them) {
  // The period is two wavelengths at the design frequency: orders at 0, ±30 and ±90 degrees. Each
  // has the amplitude √N/N of the spectrum, under the sinc of one well.
  const Diffuser residues = design(Sequence::quadratic_residue, 7, 500, 2 * 343.2 / 500 / 7);
  const Diffuser roots = design(Sequence::primitive_root, 7, 500, 2 * 343.2 / 500 / 6);
  const double k = 2 * test_pi * 500 / 343.2, width = 5 * 4 * 343.2 / 1000;
  const auto lobe = [&](int wells, int order, double spectrum_value) {
    const double x = test_pi * order / wells, sinc = order == 0 ? 1 : std::sin(x) / x;
    const double obliquity = (1 + std::cos(order * test_pi / 6)) / 2;
    return amplitude_db(std::sqrt(k / (2 * test_pi)) * width * sinc * obliquity * spectrum_value);
  };
  const auto a = polar_fourier(residues.wells, at({500}, 5), plain_air()).value();
  const auto b = polar_fourier(roots.wells, at({500}, 5), plain_air()).value();
  EXPECT_NEAR(a.levels_db[0][90], lobe(7, 0, std::sqrt(7) / 7), 1e-9);
  EXPECT_NEAR(b.levels_db[0][90], lobe(6, 0, 1.0 / 6), 1e-9);
  for (const std::size_t side : {60u, 120u}) {
    EXPECT_NEAR(a.levels_db[0][side], lobe(7, 1, std::sqrt(7) / 7), 1e-9);
    EXPECT_NEAR(b.levels_db[0][side], lobe(6, 1, std::sqrt(7) / 6), 1e-9);
  }
}

TEST(PolarFourier, slices_a_grid_as_its_row_weakened_by_the_other_plane) {
  // s = n² + m²: the mean over rows is 1/√N of the plain row
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 7, 500, 0.1);
  const auto row = polar_fourier(design(spec).wells, at({500}, 3, 20), plain_air()).value();
  spec.two_dimensional = true;
  const auto grid = polar_fourier(design(spec).wells, at({500}, 3, 20), plain_air()).value();
  for (std::size_t a = 1; a + 1 < row.angles_deg.size(); ++a)
    EXPECT_NEAR(row.levels_db[0][a] - grid.levels_db[0][a], 10 * std::log10(7), 1e-6);
  EXPECT_NEAR(row.diffusion[0], grid.diffusion[0], 1e-9);
}

TEST(PolarFourier, says_how_much_of_the_power_it_misses) {
  const Wells wells = design(Sequence::quadratic_residue, 7, 500, 0.06).wells;
  const PolarReport got = polar_fourier(wells, at({600}, 5), plain_air()).value();
  EXPECT_GT(got.power_error[0], 0.2);
  Diagnostics warned;
  for (const Complaint& one : got.warnings) warned.add(one);
  EXPECT_TRUE(tells(warned, "polar.hz[0]"));
}

TEST(Polar, names_every_mistake_at_once) {
  Wells wells;
  wells.depths_m = {0.1, -0.1, std::nan("")};
  wells.well_width_m = 0;
  wells.fin_thickness_m = 1;
  PolarOptions options = at({500, 5}, 0, 90);
  options.step_deg = 0.7;
  options.back_m = 0;
  options.elements_per_wavelength = 2;
  for (const auto& got :
       {polar_fourier(wells, options, plain_air()), polar_boundary(wells, options, plain_air())}) {
    ASSERT_FALSE(got.ok());
    EXPECT_EQ(got.mistakes().size(), 10u) << got.mistakes().text();
  }
  wells.rows = 2;
  EXPECT_TRUE(tells(check_wells(wells), "wells.rows"));
  EXPECT_TRUE(tells(check_wells({}), "wells.depths_m"));
}

TEST(Polar, bounds_its_work) {
  const Wells many = design(Sequence::quadratic_residue, 97, 500, 0.05).wells;
  const auto wide = polar_fourier(many, at({500}, 50), plain_air());
  ASSERT_FALSE(wide.ok());
  EXPECT_TRUE(tells(wide.mistakes(), "polar.periods"));
  const auto fine = polar_boundary(many, at({500, 3000}, 5), plain_air());
  ASSERT_FALSE(fine.ok());
  EXPECT_TRUE(tells(fine.mistakes(), "polar.hz[1]"));
  DiffuserSpec grid = spec_of(Sequence::quadratic_residue, 7, 500, 0.1);
  grid.two_dimensional = true;
  EXPECT_TRUE(tells(polar_boundary(design(grid).wells, at({500}, 1), plain_air()).mistakes(),
                    "wells.rows"));
}

// ---- the boundary-element model ---------------------------------------------------------------

TEST(PolarBoundary, meets_the_far_field_model_where_wells_are_wide_against_the_wavelength) {
  // Wells of nearly one wavelength and more: Kirchhoff's surface theory holds. Lobes within 6 dB of
  // the loudest and 40 degrees of the normal meet within 1 dB.
  const Wells wells = design(Sequence::quadratic_residue, 7, 500, 0.3).wells;
  for (const PolarOptions& options : {at({1100}, 5), at({1750}, 3)}) {
    const auto fourier = polar_fourier(wells, options, plain_air()).value();
    const auto boundary = polar_boundary(wells, options, plain_air()).value();
    const Values& levels = fourier.levels_db[0];
    const double loudest = *std::max_element(levels.begin(), levels.end());
    int lobes = 0;
    for (std::size_t a = 50; a <= 130; ++a) {
      if (levels[a] < levels[a - 1] || levels[a] < levels[a + 1] || levels[a] < loudest - 6)
        continue;
      EXPECT_NEAR(boundary.levels_db[0][a], levels[a], 1) << fourier.angles_deg[a];
      ++lobes;
    }
    EXPECT_GE(lobes, 5);
    EXPECT_NEAR(boundary.diffusion[0], fourier.diffusion[0], 0.025);
    EXPECT_LT(fourier.power_error[0], 0.1);
  }
}

TEST(PolarBoundary, sees_a_flat_panel_at_the_flat_plate_frequency_as_the_other_model_does) {
  const Diffuser diffuser = design(Sequence::quadratic_residue, 7, 500, 0.06);
  const PolarOptions options = at({diffuser.flat_plate_hz}, 2);
  const auto fourier = polar_fourier(diffuser.wells, options, plain_air()).value();
  const auto boundary = polar_boundary(diffuser.wells, options, plain_air()).value();
  EXPECT_NEAR(boundary.normalised_diffusion[0], 0, 1e-6);
  EXPECT_NEAR(fourier.normalised_diffusion[0], 0, 1e-6);
  EXPECT_NEAR(boundary.levels_db[0][90], fourier.levels_db[0][90], 0.1);
  EXPECT_NEAR(boundary.flat_diffusion[0], fourier.flat_diffusion[0], 0.002);
}

/// The endless row's lobe, as a slice of width_m would show it: √(k/2π) W cos θ |A|.
double lobe_db(const DiffractionOrder& order, double hz, double width_m, double incidence_deg) {
  return energy_db(hz / 343.2 * width_m * width_m * std::cos(order.angle_deg * test_pi / 180) *
                   std::cos(incidence_deg * test_pi / 180) * order.energy);
}

TEST(PolarBoundary, shows_the_lobes_of_the_endless_row_where_wells_are_narrow) {
  // A second method within the useful range, where the far-field model fails: lobes within 3 dB of
  // the loudest and 50 degrees of the normal. Five periods are not endless: 1.5 dB.
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 7, 500, 0.1);
  const Wells plain = design(spec).wells;
  spec.well_width_m = 0.06;
  spec.fin_thickness_m = 0.006;
  const Wells finned = design(spec).wells;
  struct Case {
    Wells wells;
    double hz, incidence_deg;
  };
  int lobes = 0;
  for (const Case& one : {Case{plain, 750, 0}, {plain, 1500, 0}, {finned, 1000, 30}}) {
    const auto row =
        well_absorption(one.wells, {{one.hz}, one.incidence_deg, false}, plain_air()).value();
    const auto slice =
        polar_boundary(one.wells, at({one.hz}, 5, one.incidence_deg), plain_air()).value();
    const double width_m = 5 * one.wells.period_m();
    double loudest = -300;
    for (const auto& order : row.orders[0])
      loudest = std::max(loudest, lobe_db(order, one.hz, width_m, one.incidence_deg));
    for (const auto& order : row.orders[0]) {
      const double exact = lobe_db(order, one.hz, width_m, one.incidence_deg);
      if (exact < loudest - 3 || std::abs(order.angle_deg) > 50) continue;
      EXPECT_NEAR(slice.levels_db[0][std::lround(order.angle_deg) + 90], exact, 1.5)
          << one.hz << " " << order.angle_deg;
      ++lobes;
    }
  }
  EXPECT_GE(lobes, 7);
}

TEST(PolarBoundary, scatters_alike_when_source_and_observer_change_places) {
  const Wells wells = design(Sequence::primitive_root, 7, 500, 0.08).wells;
  for (const bool losses : {false, true}) {
    PolarOptions there = at({600, 1300}, 2, 20), back = at({600, 1300}, 2, -50);
    there.losses = back.losses = losses;
    const auto a = polar_boundary(wells, there, plain_air()).value();
    const auto b = polar_boundary(wells, back, plain_air()).value();
    for (std::size_t i = 0; i < 2; ++i)
      EXPECT_NEAR(a.levels_db[i][90 - 50], b.levels_db[i][90 + 20], 0.2) << i;
  }
}

TEST(PolarBoundary, mirrors_with_the_wells) {
  Wells wells = design(Sequence::primitive_root, 7, 500, 0.08).wells;
  const auto plain = polar_boundary(wells, at({900}, 1, 35), plain_air()).value();
  std::reverse(wells.depths_m.begin(), wells.depths_m.end());
  const auto mirrored = polar_boundary(wells, at({900}, 1, -35), plain_air()).value();
  for (std::size_t a = 0; a <= 180; ++a)
    EXPECT_NEAR(plain.levels_db[0][a], mirrored.levels_db[0][180 - a], 1e-6);
}

TEST(PolarBoundary, accounts_for_the_power_within_two_per_cent) {
  DiffuserSpec spec = spec_of(Sequence::quadratic_residue, 7, 500, 0.06);
  spec.fin_thickness_m = 0.006;
  const Wells wells = design(spec).wells;
  PolarOptions options = at({250, 500, 800, 1250, 2000}, 2, 30);
  for (const bool losses : {false, true}) {
    options.losses = losses;
    const auto got = polar_boundary(wells, options, plain_air()).value();
    for (const double error : got.power_error) EXPECT_LT(error, 0.02);
    for (const std::size_t count : got.elements) EXPECT_GT(count, 100u);
  }
}

TEST(PolarBoundary, changes_little_with_smaller_elements) {
  const Wells wells = design(Sequence::quadratic_residue, 7, 500, 0.08).wells;
  PolarOptions options = at({700, 1500}, 2);
  const auto coarse = polar_boundary(wells, options, plain_air()).value();
  options.elements_per_wavelength = 24;
  const auto fine = polar_boundary(wells, options, plain_air()).value();
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_GT(fine.elements[i], 2 * coarse.elements[i]);
    EXPECT_NEAR(coarse.diffusion[i], fine.diffusion[i], 0.02);
  }
}

TEST(PolarBoundary, is_the_same_on_any_number_of_threads) {
  const Wells wells = design(Sequence::quadratic_residue, 5, 800, 0.05).wells;
  PolarOptions options = at({400, 1100}, 2, 10);
  const auto one = polar_boundary(wells, options, plain_air()).value();
  options.threads = 3;
  const auto three = polar_boundary(wells, options, plain_air()).value();
  EXPECT_EQ(one.levels_db, three.levels_db);
  EXPECT_EQ(one.diffusion, three.diffusion);
}

TEST(PolarBoundary, stops_when_it_is_cancelled) {
  const std::atomic<bool> cancel{true};
  Watch watch;
  watch.cancel = &cancel;
  const Wells wells = design(Sequence::quadratic_residue, 5, 800, 0.05).wells;
  EXPECT_FALSE(polar_boundary(wells, at({400}, 2), plain_air(), watch).ok());
}

}  // namespace
}  // namespace roomwright::acoustics
