// What happens in the wells, and in front of an endless row of them; see wells.h and diffusers.h.
#include "acoustics/diffusers/wells.h"

#include <Eigen/Dense>
#include <cmath>
#include <string>

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
using Matrix = Eigen::MatrixXcd;
using Vector = Eigen::VectorXcd;
const double well_pi = std::acos(-1.0);
const Complex well_j{0, 1};

/// Mean of the velocity profile's deficit across a slit: tanh(z)/z.
Complex deficit(Complex z) {
  return std::tanh(z) / z;
}

double sine_over(double x) {
  return std::abs(x) < 1e-8 ? 1 : std::sin(x) / x;
}

/// One space harmonic in front of the row: e^{j(along x ± away y)}, relative to the wave number.
struct Harmonic {
  int order;
  double along;
  Complex away;
};

/// All radiating harmonics and as many more as the wells resolve. A grazing one is moved off its
/// exact cut-off, where nothing is defined.
std::vector<Harmonic> harmonics_of(double period_over_wavelength, double sine, int wells) {
  const int reach = static_cast<int>(std::ceil(2 * period_over_wavelength)) + 24 * wells + 8;
  std::vector<Harmonic> out;
  for (int order = -reach; order <= reach; ++order) {
    const double along = sine + order / period_over_wavelength;
    const double square = 1 - along * along;
    Complex away = square >= 0 ? Complex(std::sqrt(square)) : Complex(0, -std::sqrt(-square));
    if (std::abs(away) < 1e-7) away = 1e-7;
    out.push_back({order, along, away});
  }
  return out;
}

/// coupling(i, m): mean over mouth i of harmonic m's phase.
Matrix coupling_of(const Wells& wells, const std::vector<Harmonic>& harmonics, double k) {
  Matrix out(wells.columns(), static_cast<Eigen::Index>(harmonics.size()));
  for (Eigen::Index m = 0; m < out.cols(); ++m) {
    const double q = k * harmonics[std::size_t(m)].along;
    const double mean = sine_over(q * wells.well_width_m / 2);
    for (Eigen::Index i = 0; i < out.rows(); ++i)
      out(i, m) = mean * std::exp(well_j * q * (wells.pitch_m() * (double(i) + 0.5)));
  }
  return out;
}

/// Pressure amplitudes of all reflected harmonics. Unknown are the pressures u at the wells'
/// bottoms. In front, harmonic m has the velocity away_m (δ_m0 − A_m) = V_m, V = (w/Λ) Cᴴ b u, and
/// the mean pressure over a mouth is C(δ + A) = a u.
Vector reflected(const std::vector<Mouth>& mouths, const std::vector<Harmonic>& harmonics,
                 const Matrix& coupling, double open_share) {
  const Eigen::Index wells = coupling.rows(), count = coupling.cols();
  Vector away(count), incident = Vector::Zero(count), a(wells), b(wells);
  for (Eigen::Index m = 0; m < count; ++m) {
    away(m) = harmonics[std::size_t(m)].away;
    if (harmonics[std::size_t(m)].order == 0) incident(m) = 1;
  }
  for (Eigen::Index i = 0; i < wells; ++i) {
    a(i) = mouths[std::size_t(i)].pressure;
    b(i) = open_share * mouths[std::size_t(i)].velocity;
  }
  Matrix system = coupling * away.cwiseInverse().asDiagonal() * coupling.adjoint() * b.asDiagonal();
  system += Matrix(a.asDiagonal());
  const Vector bottoms = system.partialPivLu().solve(coupling * (2.0 * incident));
  const Vector speeds = coupling.adjoint() * (b.asDiagonal() * bottoms);
  return incident - away.cwiseInverse().asDiagonal() * speeds;
}

std::vector<DiffractionOrder> orders_of(const std::vector<Harmonic>& harmonics,
                                        const Vector& amplitudes, double cosine) {
  std::vector<DiffractionOrder> out;
  for (std::size_t m = 0; m < harmonics.size(); ++m) {
    if (harmonics[m].away.imag() != 0 || std::abs(harmonics[m].along) > 1) continue;
    const double share = std::norm(amplitudes(Eigen::Index(m))) * harmonics[m].away.real() / cosine;
    // a wave whose phase grows along x runs towards −x
    out.push_back({harmonics[m].order, -std::asin(harmonics[m].along) * 180 / well_pi, share});
  }
  return out;
}

std::vector<DiffractionOrder> lobes(const Wells& wells, double hz, double incidence_rad,
                                    bool losses, const Air& air) {
  const double k = 2 * well_pi * hz / air.sound_speed_m_s;
  const auto harmonics = harmonics_of(wells.period_m() * hz / air.sound_speed_m_s,
                                      std::sin(incidence_rad), wells.columns());
  const Matrix coupling = coupling_of(wells, harmonics, k);
  const double cosine = std::cos(incidence_rad);
  const Vector amplitudes = reflected(mouths_of(wells, hz, losses, air), harmonics, coupling,
                                      wells.well_width_m / wells.period_m());
  return orders_of(harmonics, amplitudes, cosine);
}

Diagnostics check_absorption(const Wells& wells, const WellAbsorptionOptions& options) {
  Diagnostics found = check_wells(wells);
  if (wells.rows > 1)
    found.add("wells.rows", "must be 1: the wells of a grid are no slits", double(wells.rows),
              "give a row of slits");
  if (wells.columns() > 200)
    found.add("wells.depths_m", "must have at most 200 entries", double(wells.columns()),
              "give one period");
  const auto& hz = options.frequencies_hz;
  if (hz.empty() || hz.size() > 20000)
    found.add("frequencies_hz", "must have from 1 to 20000 entries", double(hz.size()),
              "such as the third-octave bands");
  for (std::size_t i = 0; i < hz.size(); ++i)
    if (!(hz[i] >= 20 && hz[i] <= 20000))
      found.add("frequencies_hz[" + std::to_string(i) + "]", "must be from 20 to 20000", hz[i],
                "give hertz");
  if (!(std::abs(options.incidence_deg) <= 85))
    found.add("incidence_deg", "must be from -85 to 85", options.incidence_deg,
              "degrees from the normal");
  return found;
}

}  // namespace

SlitWave slit_wave(double width_m, double hz, const Air& air) {
  const double omega = 2 * well_pi * hz;
  const Complex z =
      width_m / 2 * std::sqrt(well_j * omega * air.density_kg_m3 / air.viscosity_pa_s);
  const Complex density = 1.0 / (1.0 - deficit(z));
  const Complex modulus =
      1.0 / (1.0 + (air.heat_capacity_ratio - 1) * deficit(z * std::sqrt(air.prandtl)));
  return {std::sqrt(density / modulus), std::sqrt(density * modulus)};
}

Mouth mouth_of(double depth_m, double wave_number_1_m, const SlitWave& wave) {
  const Complex turn = wave_number_1_m * depth_m * wave.number;
  return {std::cos(turn), well_j * std::sin(turn) / wave.impedance};
}

std::vector<Mouth> mouths_of(const Wells& wells, double hz, bool losses, const Air& air) {
  const SlitWave wave = losses ? slit_wave(wells.well_width_m, hz, air) : SlitWave{};
  const double k = 2 * well_pi * hz / air.sound_speed_m_s;
  std::vector<Mouth> out;
  for (const double depth_m : wells.depths_m) out.push_back(mouth_of(depth_m, k, wave));
  return out;
}

Result<WellAbsorptionReport> well_absorption(const Wells& wells,
                                             const WellAbsorptionOptions& options, const Air& air) {
  Diagnostics found = check_absorption(wells, options);
  if (!found.empty()) return found;
  WellAbsorptionReport out;
  const double limit_hz = air.sound_speed_m_s / (2 * wells.well_width_m);
  bool above = false;
  for (const double hz : options.frequencies_hz) {
    out.orders.push_back(
        lobes(wells, hz, options.incidence_deg * well_pi / 180, options.losses, air));
    double kept = 0;
    for (const DiffractionOrder& order : out.orders.back()) kept += order.energy;
    out.absorption.push_back(1 - kept);
    above = above || hz > limit_hz;
  }
  if (above)
    out.warnings.push_back({"frequencies_hz", "above c/2w a well carries more than plane waves",
                            limit_hz, "trust the values above it less", 0});
  return out;
}

}  // namespace roomwright::acoustics
