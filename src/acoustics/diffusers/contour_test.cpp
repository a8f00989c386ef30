// The boundary-element solver alone: a circle against its series, at ordinary frequencies and where
// a plain integral equation fails; power and symmetry; and real wells, meshed to their bottoms,
// against the mouths that stand for them.
#include "acoustics/diffusers/contour.h"

#include <gtest/gtest.h>

#include <cmath>

#include "acoustics/diffusers/diffusers.h"

namespace roomwright::acoustics {
namespace {

const double circle_pi = std::acos(-1.0);

/// A polygon of the area of a circle of radius 1, of one admittance all around.
Contour circle(int corners, std::complex<double> admittance) {
  const double radius = std::sqrt(2 * circle_pi / (corners * std::sin(2 * circle_pi / corners)));
  const double scale = std::sqrt(1 + std::norm(admittance));
  Contour out;
  for (int i = 0; i < corners; ++i) {
    const double angle = 2 * circle_pi * i / corners;
    out.elements.push_back({{radius * std::cos(angle), radius * std::sin(angle)},
                            {1 / scale, admittance / scale},
                            -1});
  }
  return out;
}

std::complex<double> hankel(int order, double z) {
  return {std::cyl_bessel_j(order, z), -std::cyl_neumann(order, z)};
}
std::complex<double> hankel_slope(int order, double z) {
  return order == 0 ? -hankel(1, z) : hankel(order - 1, z) - double(order) / z * hankel(order, z);
}

/// f at an angle from the way the wave goes, radius 1.
/// Source: P. M. Morse & K. U. Ingard, Theoretical Acoustics (1968), 8.1, scattering by a cylinder
/// (from memory), for e^{+jωt} and any admittance.
std::complex<double> circle_series(double ka, std::complex<double> admittance, double angle) {
  const std::complex<double> j{0, 1};
  std::complex<double> sum = 0;
  for (int n = 0; n < ka + 30; ++n) {
    const auto into = [&](std::complex<double> slope, std::complex<double> value) {
      return slope - j * admittance * value;
    };
    const std::complex<double> share = into(hankel_slope(n, ka).real(), hankel(n, ka).real()) /
                                       into(hankel_slope(n, ka), hankel(n, ka));
    sum -= (n == 0 ? 1.0 : 2 * std::cos(n * angle)) * share;
  }
  return sum;
}

/// Root mean square error over all angles, against the series' own root mean square.
double circle_error(double ka, std::complex<double> admittance, int corners) {
  const double incidence = 0.3;
  const ContourField field = solve_contour(circle(corners, admittance), ka, incidence, 1);
  double wrong = 0, whole = 0;
  for (int i = 0; i < 180; ++i) {
    const double angle = 2 * circle_pi * i / 180;
    const auto exact = circle_series(ka, admittance, angle - incidence - circle_pi);
    wrong += std::norm(far_pattern(field, angle) - exact);
    whole += std::norm(exact);
  }
  return std::sqrt(wrong / whole);
}

TEST(Contour, scatters_from_a_rigid_circle_as_its_series_says_within_one_per_cent) {
  for (const double ka : {0.5, 1.0, 3.0, 7.0, 15.0, 20.0}) {
    const int corners = std::max(40, static_cast<int>(std::ceil(10 * ka)));
    EXPECT_LT(circle_error(ka, 0, corners), 0.01) << ka;
  }
}

TEST(Contour, keeps_its_accuracy_where_the_inside_of_the_circle_resonates) {
  // Zeros of J0 and J1: M. Abramowitz & I. A. Stegun, Handbook of Mathematical Functions, table 9.5
  for (const double ka : {2.404825558, 3.831705970, 5.520078110, 8.653727913})
    EXPECT_LT(circle_error(ka, 0, std::max(40, static_cast<int>(12 * ka))), 0.01) << ka;
}

TEST(Contour, knows_absorbing_springy_and_soft_surfaces) {
  using Complex = std::complex<double>;
  for (const double ka : {2.404825558, 5.9})
    for (const Complex admittance :
         {Complex(1, 0), Complex(0.3, -2), Complex(0, 1.5), Complex(0, 50)})
      EXPECT_LT(circle_error(ka, admittance, 200), 0.01) << ka << " " << admittance;
}

TEST(Contour, finds_a_sharp_surface_wave_resonance_with_enough_elements) {
  // At ka 6 a wave that a springy surface leads around the circle meets itself: 200 elements miss
  // the resonance by 2 %, 400 do not
  EXPECT_LT(circle_error(6, {0, 1.5}, 400), 0.01);
}

TEST(Contour, comes_nearer_to_the_series_as_elements_get_smaller) {
  EXPECT_LT(circle_error(5, 0, 160), circle_error(5, 0, 80) / 2);
}

TEST(Contour, balances_power_taken_scattered_and_absorbed_within_one_per_cent) {
  for (const double ka : {1.0, 4.0, 12.0})
    for (const double admittance : {0.0, 0.5}) {
      const ContourField field = solve_contour(circle(120, admittance), ka, 0, 1);
      const ContourPowers powers = powers_of(field);
      EXPECT_NEAR((powers.scattered + powers.absorbed) / powers.taken, 1, 0.01) << ka;
      EXPECT_GT(powers.taken, 0);
      if (admittance == 0)
        EXPECT_EQ(powers.absorbed, 0);
      else
        EXPECT_GT(powers.absorbed, 0.1 * powers.taken);
    }
}

/// Rigid edges from corner to corner, in elements of at most step_m.
Contour rigid_polygon(const std::vector<ContourPoint>& corners, double step_m) {
  Contour out;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const ContourPoint from = corners[i], to = corners[(i + 1) % corners.size()];
    const double x = to.x_m - from.x_m, y = to.y_m - from.y_m;
    const int count = static_cast<int>(std::ceil(std::hypot(x, y) / step_m - 1e-9));
    for (int part = 0; part < count; ++part)
      out.elements.push_back({{from.x_m + x * part / count, from.y_m + y * part / count}, {}, -1});
  }
  return out;
}

TEST(Contour, scatters_alike_when_source_and_observer_change_places) {
  const Contour body = rigid_polygon({{0.4, 0}, {0.1, 0.25}, {-0.5, 0.1}, {-0.3, -0.2}}, 0.02);
  for (const double k : {5.0, 20.0}) {
    const auto there = far_pattern(solve_contour(body, k, 0.4, 1), -1.0);
    const auto back = far_pattern(solve_contour(body, k, -1.0, 1), 0.4);
    EXPECT_LT(std::abs(there - back), 0.01 * std::abs(there)) << k;
  }
}

TEST(Contour, turns_with_the_body) {
  const double turn = 0.7, k = 12;
  std::vector<ContourPoint> corners = {{0.4, 0}, {0.1, 0.25}, {-0.5, 0.1}}, turned;
  for (const ContourPoint& corner : corners)  // by which angles from +y towards +x shrink
    turned.push_back({corner.x_m * std::cos(turn) - corner.y_m * std::sin(turn),
                      corner.x_m * std::sin(turn) + corner.y_m * std::cos(turn)});
  const auto plain = far_pattern(solve_contour(rigid_polygon(corners, 0.03), k, 0.5, 1), 2.0);
  const auto other =
      far_pattern(solve_contour(rigid_polygon(turned, 0.03), k, 0.5 - turn, 1), 2.0 - turn);
  EXPECT_NEAR(std::abs(plain - other), 0, 1e-9 * std::abs(plain));
}

/// The outline of real wells, with fins and bottoms.
std::vector<ContourPoint> real_wells(const Wells& wells, double back_m) {
  double x = (wells.period_m() + wells.fin_thickness_m) / 2, deepest = 0;
  const double half = x;
  std::vector<ContourPoint> out = {{x, 0}};
  for (std::size_t i = wells.depths_m.size(); i-- > 0;) {
    const double depth = wells.depths_m[i];
    deepest = std::max(deepest, depth);
    out.push_back({x -= wells.fin_thickness_m, 0});
    if (depth > 0) {
      out.push_back({x, -depth});
      out.push_back({x - wells.well_width_m, -depth});
    }
    out.push_back({x -= wells.well_width_m, 0});
  }
  out.push_back({-half, 0});
  out.push_back({-half, -deepest - back_m});
  out.push_back({half, -deepest - back_m});
  return out;
}

TEST(Contour, finds_that_real_wells_scatter_as_their_mouths_do) {
  // A second method: no impedance, no plane waves, each fin and bottom a rigid surface. Off
  // resonance the two meet within 8 % of the whole and 0.05 of the coefficient; at the design
  // frequency wells resonate, and a small shift of that weighs more.
  const Air air = standard_air();
  DiffuserSpec spec;
  spec.design_hz = 1000;
  spec.well_width_m = 0.04;
  spec.fin_thickness_m = 0.008;
  const Wells wells = design_diffuser(spec, air)->wells;
  PolarOptions options;
  options.periods = 1;
  options.frequencies_hz = {700, 1000, 1500, 3000};
  const PolarReport report = polar_boundary(wells, options, air).value();
  const Contour meshed = rigid_polygon(real_wells(wells, options.back_m), 0.004);
  for (std::size_t i = 0; i < options.frequencies_hz.size(); ++i) {
    const double k = 2 * circle_pi * options.frequencies_hz[i] / air.sound_speed_m_s;
    const ContourField field = solve_contour(meshed, k, 0, 1);
    double wrong = 0, whole = 0;
    std::vector<double> levels_db;
    for (std::size_t a = 0; a < report.angles_deg.size(); ++a) {
      const double amplitude = std::sqrt(2 / (circle_pi * k)) *
                               std::abs(far_pattern(field, report.angles_deg[a] * circle_pi / 180));
      const double other = std::pow(10, report.levels_db[i][a] / 20);
      wrong += (amplitude - other) * (amplitude - other);
      whole += amplitude * amplitude;
      levels_db.push_back(amplitude_db(amplitude));
    }
    EXPECT_LT(std::sqrt(wrong / whole), i == 1 ? 0.2 : 0.08) << options.frequencies_hz[i];
    EXPECT_NEAR(report.diffusion[i], diffusion_coefficient(levels_db).value(), 0.05);
  }
}

}  // namespace
}  // namespace roomwright::acoustics
