// A loudspeaker as a piston in a rigid sphere; see field.h.
#include <cmath>
#include <complex>
#include <numbers>

#include "acoustics/field/field.h"

namespace roomwright::acoustics {

namespace {

constexpr int angles = 37;  // every 5°

std::complex<double> hankel(unsigned order, double x) {
  return {std::sph_bessel(order, x), std::sph_neumann(order, x)};
}

/// h_m'(x) = h_{m−1}(x) − (m + 1) h_m(x) / x; h_0' = −h_1.
std::complex<double> hankel_slope(unsigned order, double x) {
  if (order == 0) return -hankel(1, x);
  return hankel(order - 1, x) - double(order + 1) / x * hankel(order, x);
}

/// |p|² far away at each angle, against the axis.
std::vector<double> far_energy(double ka, double cap_cosine) {
  std::vector<std::complex<double>> sum(angles);
  std::complex<double> turn = 1;  // (−j)^m
  const auto terms = static_cast<unsigned>(ka) + 12;
  for (unsigned m = 0; m < terms; ++m, turn *= std::complex<double>(0, -1)) {
    const double below = m == 0 ? 1 : std::legendre(m - 1, cap_cosine);
    const double velocity = (below - std::legendre(m + 1, cap_cosine)) / 2;
    const std::complex<double> weight = velocity * turn / hankel_slope(m, ka);
    for (int i = 0; i < angles; ++i)
      sum[std::size_t(i)] +=
          weight * std::legendre(m, std::cos(std::numbers::pi * i / (angles - 1)));
  }
  std::vector<double> out;
  for (const auto& p : sum) out.push_back(std::norm(p) / std::norm(sum[0]));
  return out;
}

/// Mean over the sphere of a table that is linear in dB between its angles.
double mean_energy(const std::vector<double>& level_db) {
  constexpr int fine = 20;
  double sum = 0, weight = 0;
  for (int i = 0; i < (angles - 1) * fine; ++i) {
    const double at = (i + 0.5) / fine;
    const auto step = static_cast<std::size_t>(at);
    const double db = level_db[step] + (at - double(step)) * (level_db[step + 1] - level_db[step]);
    const double ring = std::sin(std::numbers::pi * at / (angles - 1));
    sum += ring * std::pow(10.0, db / 10);
    weight += ring;
  }
  return sum / weight;
}

}  // namespace

PistonBeam piston_in_sphere(double sphere_m, double piston_m, const std::vector<double>& band_hz,
                            double sound_speed_m_s) {
  RW_ASSERT(sphere_m >= 0.02 && sphere_m <= 0.5 && piston_m > 0 && piston_m <= sphere_m / 3);
  const double cap_cosine = std::sqrt(1 - piston_m * piston_m / (sphere_m * sphere_m));
  PistonBeam out;
  for (const double middle_hz : band_hz) {
    std::vector<double> energy(angles);
    for (int part = -2; part <= 2; ++part) {
      const double hz = middle_hz * std::exp2(0.2 * part);
      const auto one =
          far_energy(2 * std::numbers::pi * hz * sphere_m / sound_speed_m_s, cap_cosine);
      for (std::size_t i = 0; i < angles; ++i) energy[i] += one[i] / 5;
    }
    std::vector<double> level;
    for (const double e : energy) level.push_back(energy_db(e));
    out.axis_gain.push_back(1 / mean_energy(level));
    out.level_db.push_back(std::move(level));
  }
  return out;
}

}  // namespace roomwright::acoustics
