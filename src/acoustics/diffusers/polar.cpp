// The Fraunhofer model of a slice, and the coefficients of ISO 17497-2; see diffusers.h.
#include "acoustics/diffusers/polar.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <string>

#include "acoustics/diffusers/wells.h"

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
const double polar_pi = std::acos(-1.0);

/// A straight piece of the front that reflects as one.
struct Piece {
  double from_m = 0, to_m = 0;
  Complex reflection = 1;
};

/// Reflection factor of each column; in a grid the mean over its rows and the fins between them.
std::vector<Complex> reflections(const Wells& wells, double hz, bool losses, const Air& air) {
  const std::vector<Mouth> mouths = mouths_of(wells, hz, losses, air);
  const std::size_t columns = std::size_t(wells.columns());
  std::vector<Complex> out(columns);
  for (std::size_t i = 0; i < mouths.size(); ++i)
    out[i % columns] += (mouths[i].pressure - mouths[i].velocity) /
                        (mouths[i].pressure + mouths[i].velocity) / double(wells.rows);
  if (wells.rows == 1) return out;
  const double open_share = wells.well_width_m / wells.pitch_m();
  for (Complex& reflection : out) reflection = open_share * reflection + (1 - open_share);
  return out;
}

std::vector<Piece> pieces_of(const Wells& wells, const std::vector<Complex>& columns, int periods) {
  std::vector<Piece> out;
  double at_m = -slice_width_m(wells, periods) / 2;
  const auto add = [&](double width_m, Complex reflection) {
    if (width_m > 0) out.push_back({at_m, at_m + width_m, reflection});
    at_m += width_m;
  };
  for (int period = 0; period < periods; ++period)
    for (const Complex& column : columns) {
      add(wells.fin_thickness_m, 1);
      add(wells.well_width_m, column);
    }
  add(wells.fin_thickness_m, 1);
  return out;
}

/// ∫ R e^{jqx} dx
Complex front_integral(const std::vector<Piece>& pieces, double q) {
  Complex sum = 0;
  for (const Piece& piece : pieces) {
    const double width = piece.to_m - piece.from_m;
    const double half = q * width / 2;
    const double mean = std::abs(half) < 1e-8 ? 1 : std::sin(half) / half;
    sum += piece.reflection * width * mean * std::polar(1.0, q * (piece.from_m + piece.to_m) / 2);
  }
  return sum;
}

/// Amplitudes in √m: |p| √r over the incident pressure.
std::vector<double> scattered(const std::vector<Piece>& pieces, double wave_number_1_m,
                              const std::vector<double>& angles_deg, double incidence_deg) {
  const double incidence = incidence_deg * polar_pi / 180;
  std::vector<double> out;
  for (const double angle_deg : angles_deg) {
    const double angle = angle_deg * polar_pi / 180;
    const double obliquity = (std::cos(angle) + std::cos(incidence)) / 2;
    const double q = wave_number_1_m * (std::sin(angle) + std::sin(incidence));
    out.push_back(std::sqrt(wave_number_1_m / (2 * polar_pi)) * obliquity *
                  std::abs(front_integral(pieces, q)));
  }
  return out;
}

/// What the scattered power of the half circle misses of the incident one: |1 − ∫|F|² dθ / (W cos
/// ψ)|.
double missing_power(const std::vector<Piece>& pieces, double wave_number_1_m, double width_m,
                     double incidence_deg) {
  const double wavelengths = wave_number_1_m * width_m / (2 * polar_pi);
  const int steps = 360 + 8 * static_cast<int>(std::ceil(wavelengths));
  std::vector<double> angles_deg;
  for (int i = 0; i < steps; ++i) angles_deg.push_back(-90 + 180 * (i + 0.5) / steps);
  double sum = 0;
  for (const double amplitude : scattered(pieces, wave_number_1_m, angles_deg, incidence_deg))
    sum += amplitude * amplitude;
  const double incident = width_m * std::cos(incidence_deg * polar_pi / 180);
  return std::abs(1 - sum * polar_pi / steps / incident);
}

void check_hz(const std::vector<double>& hz, Diagnostics& found) {
  if (hz.empty() || hz.size() > most_polar_frequencies)
    found.add("polar.hz", "must have from 1 to 200 entries", double(hz.size()),
              "such as the third-octave bands");
  for (std::size_t i = 0; i < hz.size(); ++i)
    if (!(hz[i] >= 20 && hz[i] <= 20000))
      found.add(frequency_key(i), "must be from 20 to 20000", hz[i], "give hertz");
}

/// Bounds the work.
void check_size(const Wells& wells, const PolarOptions& options, const Air& air,
                Diagnostics& found) {
  const double count = double(options.periods) * wells.columns();
  if (count > 1000)
    found.add("polar.periods", "makes more than 1000 wells side by side", count,
              "take fewer periods");
  const auto& hz = options.frequencies_hz;
  const double wavelengths = slice_width_m(wells, options.periods) *
                             *std::max_element(hz.begin(), hz.end()) / air.sound_speed_m_s;
  if (wavelengths > 400)
    found.add("polar.periods", "makes the slice wider than 400 wavelengths", wavelengths,
              "take fewer periods or lower frequencies");
}

std::vector<double> levels_of(const std::vector<double>& amplitudes) {
  std::vector<double> out;
  for (const double amplitude : amplitudes) out.push_back(amplitude_db(amplitude));
  return out;
}

}  // namespace

Diagnostics check_polar(const Wells& wells, const PolarOptions& options, const Air& air) {
  Diagnostics found = check_wells(wells);
  check_hz(options.frequencies_hz, found);
  const auto check = [&](const char* key, double value, double lo, double hi, const char* remedy) {
    if (!(value >= lo && value <= hi))
      found.add(key, "must be from " + shortest(lo) + " to " + shortest(hi), value, remedy);
  };
  check("polar.incidence_deg", options.incidence_deg, -85, 85, "degrees from the normal");
  check("polar.periods", options.periods, 1, 50, "how many stand side by side, such as 2");
  check("polar.step_deg", options.step_deg, 0.1, 30, "such as 1");
  check("polar.back_m", options.back_m, 0.005, 1, "the thickness of the back, such as 0.02");
  check("polar.elements_per_wavelength", options.elements_per_wavelength, 8, 40, "such as 10");
  const double steps = 90 / options.step_deg;
  if (options.step_deg >= 0.1 && std::abs(steps - std::round(steps)) > 1e-6)
    found.add("polar.step_deg", "must be a whole part of 90", options.step_deg, "such as 1 or 5");
  if (found.empty()) check_size(wells, options, air, found);
  return found;
}

std::vector<double> polar_angles_deg(double step_deg) {
  const int steps = static_cast<int>(std::lround(90 / step_deg));
  std::vector<double> out;
  for (int i = -steps; i <= steps; ++i) out.push_back(90.0 * i / steps);
  return out;
}

double slice_width_m(const Wells& wells, int periods) {
  return periods * wells.period_m() + wells.fin_thickness_m;
}

std::string frequency_key(std::size_t index) {
  return "polar.hz[" + std::to_string(index) + "]";
}

void warn_polar(const Wells& wells, const PolarOptions& options, const Air& air,
                PolarReport& report) {
  const auto& hz = options.frequencies_hz;
  const double highest_hz = *std::max_element(hz.begin(), hz.end());
  const double limit_hz = air.sound_speed_m_s / (2 * wells.well_width_m);
  if (highest_hz > limit_hz)
    report.warnings.push_back({"polar.hz", "above c/2w a well carries more than plane waves",
                               limit_hz, "trust the values above it less", 0});
  const double lobe_deg =
      180 / polar_pi * air.sound_speed_m_s / highest_hz / slice_width_m(wells, options.periods);
  if (options.step_deg > lobe_deg)
    report.warnings.push_back({"polar.step_deg",
                               "is wider than the narrowest lobe, " + fixed(lobe_deg, 2) + " deg",
                               options.step_deg, "take a finer step", 0});
}

void add_frequency(const std::vector<double>& amplitudes,
                   const std::vector<double>& flat_amplitudes, PolarReport& report) {
  report.levels_db.push_back(levels_of(amplitudes));
  const double diffusion = diffusion_coefficient(report.levels_db.back()).value();
  const double flat = diffusion_coefficient(levels_of(flat_amplitudes)).value();
  report.diffusion.push_back(diffusion);
  report.flat_diffusion.push_back(flat);
  report.normalised_diffusion.push_back(normalised_diffusion(diffusion, flat));
}

Result<PolarReport> polar_fourier(const Wells& wells, const PolarOptions& options, const Air& air) {
  Diagnostics found = check_polar(wells, options, air);
  if (!found.empty()) return found;
  PolarReport report;
  report.angles_deg = polar_angles_deg(options.step_deg);
  const std::vector<Complex> shut(std::size_t(wells.columns()), 1);
  const auto flat = pieces_of(wells, shut, options.periods);
  const double width_m = slice_width_m(wells, options.periods);
  for (const double hz : options.frequencies_hz) {
    const double k = 2 * polar_pi * hz / air.sound_speed_m_s;
    const auto front =
        pieces_of(wells, reflections(wells, hz, options.losses, air), options.periods);
    report.power_error.push_back(missing_power(front, k, width_m, options.incidence_deg));
    add_frequency(scattered(front, k, report.angles_deg, options.incidence_deg),
                  scattered(flat, k, report.angles_deg, options.incidence_deg), report);
  }
  warn_polar(wells, options, air, report);
  for (std::size_t i = 0; i < report.power_error.size(); ++i)
    if (report.power_error[i] > 0.2)
      report.warnings.push_back(
          {frequency_key(i),
           "the far-field model loses or makes " + fixed(100 * report.power_error[i], 0) +
               " % of the power: wells couple and edges bend sound, which it does not know",
           options.frequencies_hz[i], "take polar_boundary", 0});
  return report;
}

Result<double> diffusion_coefficient(const std::vector<double>& levels_db) {
  if (levels_db.size() < 2 || levels_db.size() > 100000)
    return Complaint{"levels_db", "must have from 2 to 100000 entries", double(levels_db.size()),
                     "give a level for each angle", 0};
  Diagnostics found;
  for (std::size_t i = 0; i < levels_db.size(); ++i)
    if (!std::isfinite(levels_db[i]))
      found.add("levels_db[" + std::to_string(i) + "]", "must be a finite number", levels_db[i],
                "give decibels");
  if (!found.empty()) return found;
  // against the loudest, so that no sum overflows or vanishes
  const double loudest = *std::max_element(levels_db.begin(), levels_db.end());
  double sum = 0, squares = 0;
  for (const double level_db : levels_db) {
    const double energy = std::pow(10.0, (level_db - loudest) / 10);
    sum += energy;
    squares += energy * energy;
  }
  return (sum * sum - squares) / ((double(levels_db.size()) - 1) * squares);
}

double normalised_diffusion(double diffusion, double flat_diffusion) {
  return (diffusion - flat_diffusion) / (1 - flat_diffusion);
}

}  // namespace roomwright::acoustics
