// Exact paths as impulses with a spectrum, the rest of the echogram as seeded noise; see
// ray_part.h.
#include "acoustics/field/ray_part.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace roomwright::acoustics {

namespace {

constexpr double guard_s = 0.25;

double gain_of(const RayPart& rays, std::size_t band) {
  return rays.gain.empty() ? 1 : rays.gain[band];
}

/// Where a frequency lies between bands: this one's share, the rest is the next one's.
struct Between {
  std::size_t band = 0;
  double share = 1;
};

Between between_middles(const std::vector<double>& band_hz, double hz) {
  if (hz <= band_hz.front() || band_hz.size() == 1) return {};
  if (hz >= band_hz.back()) return {band_hz.size() - 1, 1};
  std::size_t band = 0;
  while (hz >= band_hz[band + 1]) ++band;
  const double at = std::log2(hz / band_hz[band]) / std::log2(band_hz[band + 1] / band_hz[band]);
  const double c = std::cos(std::numbers::pi / 2 * at);
  return {band, c * c};
}

double amplitude_at(const std::vector<double>& amplitude, const Between& at) {
  const double here = at.share * amplitude[at.band];
  return at.share == 1 ? here : here + (1 - at.share) * amplitude[at.band + 1];
}

std::vector<double> amplitudes_of(const RayPart& rays, const TracedPath& path) {
  std::vector<double> out;
  for (std::size_t band = 0; band < path.energy.size(); ++band)
    out.push_back(std::sqrt(4 * std::numbers::pi * path.energy[band] * gain_of(rays, band)));
  return out;
}

void add_path(const std::vector<double>& amplitude, double delay_s,
              const std::vector<Between>& places, double step_hz, Complexes& to) {
  const std::complex<double> turn = std::polar(1.0, -2 * std::numbers::pi * step_hz * delay_s);
  std::complex<double> phase = 1;
  for (std::size_t k = 0; k < to.size(); ++k) {
    to[k] += amplitude_at(amplitude, places[k]) * phase;
    phase *= turn;
  }
}

// ---- noise --------------------------------------------------------------------------------------

/// A band's share of the noise's amplitude: squares sum to 1 over the bands; a quarter octave wide
/// where two meet.
double noise_share(const std::vector<double>& band_hz, std::size_t band, double hz) {
  constexpr double width = 0.25;  // octaves
  double out = 1;
  const auto rise = [&](std::size_t lower) {  // 0 below the edge above band `lower`, 1 above it
    const double edge = std::sqrt(band_hz[lower] * band_hz[lower + 1]);
    return std::clamp(std::log2(std::max(hz, 1e-3) / edge) / width + 0.5, 0.0, 1.0);
  };
  if (band > 0) out *= std::sin(std::numbers::pi / 2 * rise(band - 1));
  if (band + 1 < band_hz.size()) out *= std::cos(std::numbers::pi / 2 * rise(band));
  return out;
}

/// Even over an interval, of mean 0 and variance 1.
std::vector<double> white(std::uint64_t seed, std::size_t band, std::size_t length) {
  Random random(seed * 0x9e3779b97f4a7c15ULL + 2 * band + 1);
  std::vector<double> out(length);
  for (double& value : out)
    value = std::sqrt(12.0) * (double(random.next()) * 0x1.0p-32 + 0x1.0p-33 - 0.5);
  return out;
}

/// White noise that is as like the neighbour's as in a diffuse field at that distance.
std::vector<double> white_beside(const ImpulseOptions& options, std::size_t band,
                                 std::size_t length) {
  const Complexes theirs = spectrum_of(white(options.beside->seed, band, length));
  Complexes mix = spectrum_of(white(options.seed, band, length));
  for (std::size_t k = 0; k < mix.size(); ++k) {
    const double hz = double(k) * impulse_rate_hz / double(length);
    const double kd =
        2 * std::numbers::pi * hz * options.beside->distance_m / options.beside->sound_speed_m_s;
    const double alike = kd < 1e-9 ? 1 : std::sin(kd) / kd;
    mix[k] = alike * theirs[k] + std::sqrt(1 - alike * alike) * mix[k];
  }
  return samples_of(mix);
}

double lowest_hz(const std::vector<double>& band_hz, std::size_t band) {
  return band == 0 ? 0 : std::sqrt(band_hz[band - 1] * band_hz[band]);
}

/// Whether two points still hear alike at a frequency: |sin(kd)/kd| can reach a tenth.
bool alike(const ImpulseOptions& options, double hz) {
  const auto& beside = *options.beside;
  return 2 * std::numbers::pi * hz * beside.distance_m / beside.sound_speed_m_s < 10;
}

/// Noise under the echogram's envelope: each bin's energy is spread over its samples, none before
/// the first sound.
void shape(const std::vector<double>& energy, double bin_s, double arrival_s,
           std::vector<double>& noise) {
  const double per_bin = bin_s * impulse_rate_hz;
  const auto sample_at = [](double at) {
    return static_cast<std::size_t>(std::max(0.0, std::ceil(at - 1e-9)));
  };
  std::size_t done = 0;
  for (std::size_t bin = 0; bin < energy.size() && done < noise.size(); ++bin) {
    const std::size_t end = std::min(sample_at(double(bin + 1) * per_bin), noise.size());
    const std::size_t from =
        std::clamp(sample_at(arrival_s * impulse_rate_hz), done, std::max(done, end - 1));
    std::fill(noise.begin() + std::ptrdiff_t(done), noise.begin() + std::ptrdiff_t(from), 0.0);
    const double height = end > from ? std::sqrt(energy[bin] / double(end - from)) : 0;
    for (std::size_t i = from; i < end; ++i) noise[i] *= height;
    done = end;
  }
  std::fill(noise.begin() + std::ptrdiff_t(done), noise.end(), 0.0);
}

}  // namespace

void check_rays(const RayPart& rays, Diagnostics& found) {
  const std::size_t bands = rays.pair.bands.size();
  if (bands == 0 || rays.band_hz.size() != bands) {
    found.add("rays.band_hz", "must be one a band", double(rays.band_hz.size()));
    return;
  }
  for (std::size_t i = 0; i < bands; ++i)
    if (!(rays.band_hz[i] > 0 && (i == 0 || rays.band_hz[i] > rays.band_hz[i - 1])))
      found.add("rays.band_hz", "must ascend", rays.band_hz[i]);
  if (!rays.gain.empty() && rays.gain.size() != bands)
    found.add("rays.gain", "must be one a band", double(rays.gain.size()));
  for (const double gain : rays.gain)
    if (!(gain > 0 && gain < 1e6)) found.add("rays.gain", "must be above 0", gain);
  if (!(rays.bin_s >= 1e-4 && rays.bin_s <= 0.05))
    found.add("rays.bin_s", "must be from 0.0001 to 0.05", rays.bin_s);
  for (const TracedPath& path : rays.pair.paths)
    if (path.energy.size() != bands)
      found.add("rays.paths", "must have one energy a band", double(path.energy.size()));
  for (const TracedBand& band : rays.pair.bands)
    if (band.echogram.empty() || band.echogram.size() != rays.pair.bands[0].echogram.size())
      found.add("rays.echogram", "must be of one length in all bands",
                double(band.echogram.size()));
}

std::vector<double> late_energy(const RayPart& rays, std::size_t band) {
  std::vector<double> out = rays.pair.bands[band].echogram;
  for (const TracedPath& path : rays.pair.paths) {
    const auto bin = static_cast<std::size_t>(path.time_s / rays.bin_s);
    if (bin < out.size()) out[bin] -= path.energy[band];
  }
  // What is left of a bin that held exact paths alone is rounding.
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = out[i] > 1e-9 * rays.pair.bands[band].echogram[i]
                 ? out[i] * 4 * std::numbers::pi * gain_of(rays, band)
                 : 0;
  return out;
}

std::complex<double> RaySpectra::direct_at(double hz) const {
  if (direct_amplitude.empty()) return 0;
  return std::polar(amplitude_at(direct_amplitude, between_middles(band_hz, hz)),
                    -2 * std::numbers::pi * hz * direct_s);
}

RaySpectra ray_spectra(const RayPart& rays, std::size_t length, const ImpulseOptions& options) {
  RaySpectra out;
  const std::size_t whole =
      quick_length(length + static_cast<std::size_t>(guard_s * impulse_rate_hz));
  out.step_hz = double(impulse_rate_hz) / double(whole);
  out.band_hz = rays.band_hz;
  out.direct.resize(whole / 2 + 1);
  out.early.resize(whole / 2 + 1);
  out.late.resize(whole / 2 + 1);
  std::vector<Between> places;
  for (std::size_t k = 0; k < out.direct.size(); ++k)
    places.push_back(between_middles(rays.band_hz, double(k) * out.step_hz));
  for (std::size_t i = 0; i < rays.pair.paths.size(); ++i) {
    const TracedPath& path = rays.pair.paths[i];
    if (path.time_s * impulse_rate_hz >= double(length)) continue;
    const auto amplitude = amplitudes_of(rays, path);
    const bool direct = i == 0 && rays.pair.direct_clear;
    if (direct) out.direct_amplitude = amplitude, out.direct_s = path.time_s;
    add_path(amplitude, path.time_s, places, out.step_hz, direct ? out.direct : out.early);
  }
  for (std::size_t band = 0; band < rays.band_hz.size(); ++band) {
    const auto energy = late_energy(rays, band);
    if (std::all_of(energy.begin(), energy.end(), [](double e) { return e == 0; })) continue;
    auto noise = options.beside && alike(options, lowest_hz(rays.band_hz, band))
                     ? white_beside(options, band, whole)
                     : white(options.seed, band, whole);
    std::fill(noise.begin() + std::ptrdiff_t(length), noise.end(), 0.0);
    shape(energy, rays.bin_s, rays.pair.arrival_s, noise);
    const Complexes spectrum = spectrum_of(noise);
    for (std::size_t k = 0; k < spectrum.size(); ++k)
      if (const double share = noise_share(rays.band_hz, band, double(k) * out.step_hz); share > 0)
        out.late[k] += share * spectrum[k];
  }
  return out;
}

}  // namespace roomwright::acoustics
