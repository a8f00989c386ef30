// Air and bands: what every other acoustic folder measures by. Density, speed and attenuation of
// moist air; the octave and third-octave bands of IEC 61260-1; levels in decibels.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "core/base/base.h"

namespace roomwright::acoustics {

/// What a person says of the air. Ranges: -20 to 50 °C, 0 to 100 %, 50 to 110 kPa.
struct AirInput {
  double temperature_c = 20;
  double humidity_percent = 50;
  double pressure_pa = 101325;
  std::optional<double> density_kg_m3;    ///< given: taken as it is (0.5 to 2)
  std::optional<double> sound_speed_m_s;  ///< given: taken as it is (280 to 400)
  bool attenuation = true;
  bool operator==(const AirInput&) const = default;
};

/// Air as the formulas use it.
struct Air {
  double temperature_c = 20;
  double humidity_percent = 50;
  double pressure_pa = 101325;
  double density_kg_m3 = 0;
  double sound_speed_m_s = 0;
  double viscosity_pa_s = 0;
  double heat_capacity_ratio = 0;
  double prandtl = 0;
  bool attenuation = true;

  /// ρ c, Pa s/m.
  double impedance_pa_s_m() const { return density_kg_m3 * sound_speed_m_s; }
};

/// Errors: every value out of its range.
/// Source: speed 343.2 √(T/293.15 K), ISO 9613-1:1993; density as the sum of the partial densities
/// of dry air and vapour (gas constants 287.05 and 461.495 J/(kg K)); viscosity by Sutherland's law
/// (1.716e-5 Pa s at 273.15 K, 110.4 K), from memory.
Result<Air> make_air(const AirInput& input);

/// 20 °C, 50 %, 101.325 kPa.
Air standard_air();

/// Pure-tone attenuation in dB/m; 0 where the air's attenuation is off. hz above 0.
/// Source: ISO 9613-1:1993, eqs. (3) to (5) and Annex B.
double attenuation_db_per_m(const Air& air, double hz);

/// The same as energy per metre, m = α / (10 lg e). Source: ISO 354:2003, 8.1.2 (from memory).
double energy_attenuation_per_m(const Air& air, double hz);

/// One band. Source: IEC 61260-1:2014, 5.2 to 5.5, base ten.
struct Band {
  double nominal_hz = 0;  ///< by which people name it
  double centre_hz = 0;   ///< exact mid-band frequency
  double low_hz = 0;
  double high_hz = 0;
};

inline constexpr int octave_count = 8;
/// One value for each of octave_bands().
using OctaveSpectrum = std::array<double, octave_count>;

/// 63 Hz to 8 kHz, eight bands.
const std::vector<Band>& octave_bands();
/// 50 Hz to 10 kHz, twenty-four bands.
const std::vector<Band>& third_octave_bands();

/// 10 lg of a ratio of energies, 20 lg of a ratio of amplitudes; -inf is never given: at least
/// -300.
double energy_db(double ratio);
double amplitude_db(double ratio);

}  // namespace roomwright::acoustics
