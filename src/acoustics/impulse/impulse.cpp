// Recordings of a room, evaluated; see impulse.h.
#include "acoustics/impulse/impulse.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/impulse/figures.h"

namespace roomwright::acoustics {

namespace {

std::vector<double> padded(const std::vector<double>& samples, std::size_t length) {
  std::vector<double> out(samples);
  out.resize(length, 0.0);
  return out;
}

}  // namespace

// ---- sweeps -------------------------------------------------------------------------------------

Result<std::vector<double>> exponential_sweep(const SweepAsked& asked, double rate_hz) {
  Diagnostics found;
  if (!(asked.from_hz >= 1))
    found.add("from_hz", "must be at least 1", asked.from_hz, "such as 20");
  if (!(asked.to_hz > asked.from_hz))
    found.add("to_hz", "must be above from_hz", asked.to_hz, "give a rising sweep");
  if (!(asked.to_hz < rate_hz / 2))
    found.add("to_hz", "must be below half the recording's rate, " + shortest(rate_hz) + " Hz",
              asked.to_hz, "record at a higher rate, or sweep less far");
  if (!(asked.seconds >= 0.1 && asked.seconds <= 120))
    found.add("seconds", "must be from 0.1 to 120", asked.seconds, "such as 5");
  if (!found.empty()) return found;
  const double slow = asked.seconds / std::log(asked.to_hz / asked.from_hz);
  std::vector<double> out(std::size_t(std::llround(asked.seconds * rate_hz)));
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = std::sin(2 * std::numbers::pi * asked.from_hz * slow *
                      std::expm1(double(i) / rate_hz / slow));
  return out;
}

Result<std::vector<double>> impulse_of_sweep(const std::vector<double>& recording,
                                             const std::vector<double>& sweep, double rate_hz) {
  if (!(peak_of(recording) > 0))
    return Complaint{"recording", "is silent", {}, "record it again", 0};
  if (!(peak_of(sweep) > 0)) return Complaint{"sweep", "is silent", {}, "give what was played", 0};
  const double after = (double(recording.size()) - double(sweep.size())) / rate_hz;
  if (after < least_response_s)
    return Complaint{"recording", "ends too early after the sweep", fixed(after, 2) + " s",
                     "let it run for two seconds after the last note", 0};
  if (double(recording.size() + sweep.size()) > most_recorded_samples)
    return Complaint{"recording", "is with its sweep longer than 16.7 million samples",
                     double(recording.size() + sweep.size()),
                     "cut a shorter piece, or save both at 48 kHz", 0};
  const std::size_t lead = std::size_t(sweep_lead_s * rate_hz);
  const std::size_t length = quick_length(recording.size() + sweep.size() + lead);
  Complexes taken = spectrum_of(padded(recording, length));
  const Complexes played = spectrum_of(padded(sweep, length));
  double most = 0;
  for (const auto& one : played) most = std::max(most, std::norm(one));
  // Where the sweep has next to nothing, dividing by it would raise noise alone.
  const double floor = 1e-6 * most;
  for (std::size_t k = 0; k < taken.size(); ++k)
    taken[k] *= std::conj(played[k]) / (std::norm(played[k]) + floor);
  const std::vector<double> around = samples_of(taken);
  // What lies before the sweep's own time stands at the end.
  std::vector<double> out(around.end() - std::ptrdiff_t(lead), around.end());
  out.insert(out.end(), around.begin(),
             around.begin() + std::ptrdiff_t(recording.size() - sweep.size()));
  return out;
}

// ---- figures ------------------------------------------------------------------------------------

namespace {

MeasuredBand band_of(const Response& response, const Band* band, double* knee_s = nullptr) {
  const BandEnergy energy = band_energy(response, band);
  const Knee knee = knee_of(energy.samples, response.rate_hz);
  if (knee_s) *knee_s = std::max(*knee_s, knee.heard_s);
  return figures_of(energy, response.rate_hz, knee, band);
}

MeasuredLevel level_of(const Response& response, const Band& band) {
  const BandEnergy energy = band_energy(response, &band);
  const Knee knee = knee_of(energy.samples, response.rate_hz);
  const std::size_t end = std::clamp<std::size_t>(std::size_t(knee.heard_s * response.rate_hz), 1,
                                                  energy.samples.size());
  double sum = 0;
  for (std::size_t i = 0; i < end; ++i) sum += energy.samples[i];
  const double noise = knee.heard_noise * double(end);
  const double width_hz = band.high_hz - band.low_hz;
  const double heard = knee.met ? std::max(sum - noise, 1e-3 * sum) : sum;
  return {band.nominal_hz, energy_db(heard / width_hz), energy_db(noise / width_hz)};
}

/// Against the mean of the energies from 200 Hz to 4 kHz.
void level_out(std::vector<MeasuredLevel>& levels) {
  double sum = 0, count = 0;
  for (const MeasuredLevel& one : levels)
    if (one.hz >= 200 && one.hz <= 4000) {
      sum += std::pow(10, one.level_db / 10);
      count += 1;
    }
  const double mean_db = energy_db(sum / std::max(1.0, count));
  for (MeasuredLevel& one : levels) {
    one.level_db -= mean_db;
    one.noise_db -= mean_db;
  }
}

bool fits(const Band& band, double rate_hz) {
  return band.high_hz < 0.48 * rate_hz;
}

/// Energies of the response's spectrum summed from 0 Hz on, at each step of it.
std::vector<double> running_energy(const Response& response, double seconds) {
  std::vector<double> samples = response.samples;
  const std::size_t end =
      response.onset + std::min(response.frames, std::size_t(seconds * response.rate_hz));
  std::fill(samples.begin() + std::ptrdiff_t(end), samples.end(), 0.0);
  std::vector<double> out{0};
  for (const auto& one : spectrum_of(samples)) out.push_back(out.back() + std::norm(one));
  return out;
}

std::vector<ResponsePoint> smoothed(const Response& response, double seconds, double per_octave) {
  const std::vector<double> sums = running_energy(response, seconds);
  const double step_hz = response.rate_hz / double(response.length);
  // Step k of the spectrum stands for half a step on either side of it.
  const auto up_to = [&](double hz) {
    const double at = std::clamp(hz / step_hz + 0.5, 0.0, double(sums.size() - 1));
    const auto k = std::min(static_cast<std::size_t>(at), sums.size() - 2);
    return sums[k] + (at - double(k)) * (sums[k + 1] - sums[k]);
  };
  std::vector<ResponsePoint> out;
  const double half = std::exp2(0.5 / per_octave);
  const double top_hz = std::min(20000.0, 0.48 * response.rate_hz / half);
  for (int i = 0;; ++i) {
    const double hz = 20 * std::exp2(i / (2 * per_octave));
    if (hz > top_hz * (1 + 1e-9)) break;
    const double low = hz / half, high = hz * half;
    out.push_back({hz, energy_db((up_to(high) - up_to(low)) / ((high - low) / step_hz))});
  }
  return out;
}

}  // namespace

Result<MeasuredRoom> measured_room(const std::vector<double>& impulse, double rate_hz) {
  const auto response = response_of(impulse, rate_hz);
  if (!response) return response.mistakes();
  MeasuredRoom out;
  out.seconds = double(response->frames) / rate_hz;
  for (const Band& band : octave_bands())
    if (fits(band, rate_hz)) out.bands.push_back(band_of(*response, &band));
  for (const Band& band : third_octave_bands())
    if (fits(band, rate_hz)) out.levels.push_back(level_of(*response, band));
  level_out(out.levels);
  return out;
}

Result<MeasuredFigures> measured_figures(const std::vector<double>& impulse, double rate_hz,
                                         const FiguresAsked& asked) {
  const auto response = response_of(impulse, rate_hz);
  if (!response) return response.mistakes();
  MeasuredFigures out;
  out.seconds = double(response->frames) / rate_hz;
  double slowest_s = 0;
  for (const Band& band : asked.thirds ? third_octave_bands() : octave_bands())
    if (fits(band, rate_hz)) out.bands.push_back(band_of(*response, &band, &slowest_s));
  out.broadband = band_of(*response, nullptr, &slowest_s);
  if (asked.response_per_octave > 0)
    out.response = smoothed(*response, slowest_s, asked.response_per_octave);
  return out;
}

}  // namespace roomwright::acoustics
