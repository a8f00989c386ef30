// One impulse response from waves and rays; see field.h. The rays' part is in ray_part.cpp.
#include "acoustics/field/field.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/field/ray_part.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

constexpr double half_octave = std::numbers::sqrt2;
/// What a period may have left at its end, and what is so far below the direct sound that no
/// matching is tried.
constexpr double most_wrap_db = -60, too_faint = 1e-4;
constexpr double most_lead_s = 0.05;

// ---- what may be wrong ----------------------------------------------------------------------

std::size_t period_of(const WavePart& waves) {
  return static_cast<std::size_t>(std::lround(impulse_rate_hz / waves.step_hz));
}

double last_hz(const WavePart& waves) {
  return double(waves.first + waves.pressure_pa.size() - 1) * waves.step_hz;
}

void check_waves(const WavePart& waves, Diagnostics& found) {
  const double period = impulse_rate_hz / waves.step_hz;
  if (!(waves.step_hz > 0 && period >= 64 && period <= greatest_impulse_s * impulse_rate_hz &&
        std::abs(period - std::round(period)) < 1e-6 && std::lround(period) % 2 == 0)) {
    found.add("waves.step_hz", "must divide 48000 Hz into a whole even number", waves.step_hz);
    return;
  }
  if (waves.pressure_pa.size() < 2 || waves.first + waves.pressure_pa.size() > period_of(waves) / 2)
    found.add("waves.pressure_pa", "must be at least 2, up to 24 kHz at most",
              double(waves.pressure_pa.size()));
  if (!std::all_of(waves.pressure_pa.begin(), waves.pressure_pa.end(), [](std::complex<double> p) {
        return std::isfinite(p.real()) && std::isfinite(p.imag());
      }))
    found.add("waves.pressure_pa", "must be numbers");
  if (!(waves.density_kg_m3 > 0.1 && waves.density_kg_m3 < 10))
    found.add("waves.density_kg_m3", "must be from 0.1 to 10", waves.density_kg_m3);
}

double crossover_of(const WavePart& waves, const ImpulseOptions& options) {
  return options.crossover_hz > 0 ? options.crossover_hz : last_hz(waves) / half_octave;
}

Diagnostics check_request(const std::optional<WavePart>& waves, const std::optional<RayPart>& rays,
                          const ImpulseOptions& options) {
  Diagnostics found;
  if (!waves && !rays) found.add("waves", "are missing, and so are the rays");
  if (waves) check_waves(*waves, found);
  if (rays) check_rays(*rays, found);
  if (!(options.seconds >= 0 && options.seconds <= greatest_impulse_s))
    found.add("seconds", "must be from 0 to 20", options.seconds);
  if (!(options.high_pass_hz >= 0 && options.high_pass_hz <= 1000))
    found.add("high_pass_hz", "must be from 0 to 1000", options.high_pass_hz);
  if (options.beside && !(options.beside->distance_m >= 0 && options.beside->distance_m <= 10))
    found.add("beside.distance_m", "must be from 0 to 10", options.beside->distance_m);
  if (!found.empty() || !waves) return found;
  const double middle = crossover_of(*waves, options);
  const double least = double(std::max<std::size_t>(1, waves->first)) * waves->step_hz;
  if (!(middle * half_octave <= last_hz(*waves) * (1 + 1e-9) && middle / half_octave >= least))
    found.add("crossover_hz", "must have its octave within the waves' band", middle,
              "from " + fixed(least * half_octave, 1) + " to " +
                  fixed(last_hz(*waves) / half_octave, 1) + " Hz");
  return found;
}

// ---- curves over frequency --------------------------------------------------------------------

/// 1 below the octave about `middle`, 0 above it, cos² over the logarithm between.
double below_crossover(double hz, double middle) {
  const double at = std::log2(std::max(hz, 1e-3) / middle) + 0.5;
  if (at <= 0) return 1;
  if (at >= 1) return 0;
  const double c = std::cos(std::numbers::pi / 2 * at);
  return c * c;
}

/// Butterworth, fourth order, causal: common practice, no source.
std::complex<double> high_pass(double hz, double corner_hz) {
  if (corner_hz <= 0) return 1;
  const std::complex<double> s(0, hz / corner_hz);
  std::complex<double> out = 1;
  for (const double q :
       {1 / (2 * std::cos(std::numbers::pi / 8)), 1 / (2 * std::cos(3 * std::numbers::pi / 8))})
    out *= s * s / (s * s + s / q + 1.0);
  return out;
}

double top_fade(double hz) {
  constexpr double from = 20000, to = impulse_rate_hz / 2.0;
  if (hz <= from) return 1;
  const double c = std::cos(std::numbers::pi / 2 * (hz - from) / (to - from));
  return c * c;
}

/// Below the first frequency: the real part even, the imaginary part odd in frequency, as those of
/// every real response, through the first value and that an octave above it.
std::complex<double> extended(const WavePart& waves, double x) {
  const std::complex<double> one = waves.pressure_pa[0];
  if (waves.first >= waves.pressure_pa.size()) return {one.real(), one.imag() * x};
  const std::complex<double> two = waves.pressure_pa[waves.first];
  const double curve = (two.real() - one.real()) / 3;
  const double cubic = (two.imag() - 2 * one.imag()) / 6;
  return {one.real() + curve * (x * x - 1), one.imag() * x + cubic * (x * x * x - x)};
}

/// 4πp/ρ at a place of the grid.
std::complex<double> wave_at(const WavePart& waves, std::size_t k) {
  const double scale = 4 * std::numbers::pi / waves.density_kg_m3;
  if (k < waves.first) return scale * extended(waves, double(k) / double(waves.first));
  const std::size_t i = k - waves.first;
  return i < waves.pressure_pa.size() ? scale * waves.pressure_pa[i] : 0;
}

// ---- low part -----------------------------------------------------------------------------------

std::vector<double> low_part(const WavePart& waves, double middle, const ImpulseOptions& options) {
  const std::size_t period = period_of(waves);
  Complexes spectrum(period / 2 + 1);
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    const double hz = double(k) * waves.step_hz;
    const double share = below_crossover(hz, middle);
    if (share > 0) spectrum[k] = wave_at(waves, k) * share * high_pass(hz, options.high_pass_hz);
  }
  return samples_of(spectrum);
}

/// The end of the period holds what the real filters ring before time 0.
std::size_t lead_of(std::size_t period) {
  return std::min(period / 8, static_cast<std::size_t>(most_lead_s * impulse_rate_hz));
}

double mean_square(const std::vector<double>& samples, std::size_t from, std::size_t to) {
  double sum = 0;
  for (std::size_t i = from; i < to; ++i) sum += samples[i] * samples[i];
  return to > from ? sum / double(to - from) : 0;
}

double wrap_db(const std::vector<double>& low) {
  const std::size_t lead = lead_of(low.size()), window = std::max<std::size_t>(1, lead / 2);
  double loudest = 0;
  for (std::size_t from = 0; from + window <= low.size(); from += window)
    loudest = std::max(loudest, mean_square(low, from, from + window));
  const std::size_t end = low.size() - lead;
  return loudest > 0 ? energy_db(mean_square(low, end - window, end) / loudest) : -300;
}

// ---- together -----------------------------------------------------------------------------------

/// Waves over rays in the crossover's octave, as energies without the direct sound.
double mismatch_db(const WavePart& waves, const RaySpectra& rays, double middle) {
  double wave = 0, ray = 0, direct = 0;
  for (std::size_t k = std::max<std::size_t>(1, waves.first);
       double(k) * waves.step_hz < middle * half_octave; ++k) {
    const double hz = double(k) * waves.step_hz;
    if (hz <= middle / half_octave) continue;
    const std::complex<double> straight = rays.direct_at(hz);
    wave += std::norm(wave_at(waves, k) - straight) * waves.step_hz;
    direct += std::norm(straight) * waves.step_hz;
  }
  for (std::size_t k = 0; k < rays.early.size(); ++k) {
    const double hz = double(k) * rays.step_hz;
    if (hz > middle / half_octave && hz < middle * half_octave)
      ray += std::norm(rays.early[k] + rays.late[k]) * rays.step_hz;
  }
  const double floor = too_faint * direct + 1e-30;
  return energy_db((wave + floor) / (ray + floor));
}

std::vector<double> high_part(const RaySpectra& rays, double middle, double match,
                              const ImpulseOptions& options) {
  Complexes spectrum(rays.direct.size());
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    const double hz = double(k) * rays.step_hz;
    const double below = middle > 0 ? below_crossover(hz, middle) : 0;
    if (below >= 1) continue;
    const double raised = middle > 0 ? 1 + (match - 1) * below_crossover(hz, 2 * middle) : 1;
    const std::complex<double> exact = (rays.direct[k] + raised * rays.early[k]) * (1 - below);
    const std::complex<double> noise = raised * rays.late[k] * std::sqrt(1 - below * below);
    spectrum[k] = (exact + noise) * top_fade(hz) * high_pass(hz, options.high_pass_hz);
  }
  return samples_of(spectrum);
}

double before_db(const std::vector<double>& samples, double arrival_s) {
  const auto arrival =
      static_cast<std::size_t>(std::max(0.0, (arrival_s - 5e-4) * impulse_rate_hz));
  double before = 0, all = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double energy = samples[i] * samples[i];
    all += energy;
    if (i < arrival) before += energy;
  }
  return all > 0 ? energy_db(before / all) : -300;
}

std::size_t length_of(const std::optional<WavePart>& waves, const std::optional<RayPart>& rays,
                      const ImpulseOptions& options) {
  double seconds = options.seconds;
  if (seconds == 0 && rays) seconds = double(rays->pair.bands[0].echogram.size()) * rays->bin_s;
  if (seconds == 0) seconds = double(period_of(*waves)) / impulse_rate_hz;
  return static_cast<std::size_t>(
      std::ceil(std::min(seconds, greatest_impulse_s) * impulse_rate_hz));
}

void warn(const std::optional<RayPart>& rays, ImpulseReport& out) {
  if (std::abs(out.mismatch_db) > most_match_db)
    out.warnings.push_back({"crossover",
                            "has waves that are " + fixed(out.mismatch_db, 1) +
                                " dB against the rays there, of which " + fixed(out.match_db, 1) +
                                " dB are evened out",
                            {},
                            "trust the octave round " + fixed(out.crossover_hz, 0) + " Hz less",
                            0});
  if (out.wrap_db > most_wrap_db)
    out.warnings.push_back({"waves.step_hz",
                            "leaves the room's ringing only " + fixed(-out.wrap_db, 0) +
                                " dB down at the end of its period",
                            {},
                            "solve on a finer grid",
                            0});
  if (rays && !rays->pair.direct_clear)
    out.warnings.push_back(
        {"rays", "have no direct path: something stands between", {}, "move one of the two", 0});
}

std::string method_of(const ImpulseReport& out, bool rays) {
  if (out.crossover_hz > 0)
    return "waves below " + fixed(out.crossover_hz, 0) + " Hz, rays above, crossing over an octave";
  return rays ? "rays alone" : "waves alone";
}

}  // namespace

WaveGrid wave_grid(double low_hz, double high_hz, double decay_s) {
  const double held = std::clamp(decay_s, 0.05, greatest_impulse_s);
  const std::size_t period =
      std::min(quick_length(static_cast<std::size_t>(std::ceil(held * impulse_rate_hz))),
               static_cast<std::size_t>(greatest_impulse_s * impulse_rate_hz));
  WaveGrid out;
  out.step_hz = double(impulse_rate_hz) / double(period);
  const double lowest = std::max(low_hz, least_response_hz);
  out.first = static_cast<std::size_t>(std::floor(lowest / out.step_hz));
  if (double(out.first) * out.step_hz < least_response_hz) ++out.first;
  for (std::size_t k = out.first;; ++k) {
    out.hz.push_back(double(k) * out.step_hz);
    if (out.hz.back() >= high_hz) return out;
  }
}

Result<std::vector<std::vector<WavePart>>> wave_parts(ResponseRequest request, const WaveGrid& grid,
                                                      const ResponseOptions& options,
                                                      const Watch& watch) {
  request.frequencies_hz = grid.hz;
  auto reports = responses(request, options, watch);
  if (!reports) return reports.mistakes();
  std::vector<std::vector<WavePart>> out;
  for (ResponseReport& report : *reports) {
    out.emplace_back();
    for (auto& pressure : report.pressure_pa)
      out.back().push_back({grid.step_hz, grid.first, std::move(pressure), request.density_kg_m3});
  }
  return out;
}

Result<ImpulseReport> impulse_response(const std::optional<WavePart>& waves,
                                       const std::optional<RayPart>& rays,
                                       const ImpulseOptions& options) {
  if (Diagnostics found = check_request(waves, rays, options); !found.empty()) return found;
  ImpulseReport out;
  const double middle = waves ? crossover_of(*waves, options) : 0;
  out.samples.assign(length_of(waves, rays, options), 0);
  if (rays) {
    const RaySpectra spectra = ray_spectra(*rays, out.samples.size(), options);
    if (waves) {
      out.crossover_hz = middle;
      out.mismatch_db = mismatch_db(*waves, spectra, middle);
      out.match_db = std::clamp(out.mismatch_db, -most_match_db, most_match_db);
    }
    out.high = high_part(spectra, middle, std::pow(10.0, out.match_db / 20), options);
    out.high.resize(out.samples.size());
  }
  if (waves) {
    out.low = low_part(*waves, middle, options);
    out.wrap_db = wrap_db(out.low);
  }
  const std::size_t held = out.low.size() - lead_of(out.low.size());
  for (std::size_t i = 0; i < out.samples.size(); ++i) {
    if (i < out.high.size()) out.samples[i] += out.high[i];
    if (i < held) out.samples[i] += out.low[i];
  }
  if (rays) out.before_db = before_db(out.samples, rays->pair.arrival_s);
  out.method = method_of(out, rays.has_value());
  warn(rays, out);
  return out;
}

}  // namespace roomwright::acoustics
