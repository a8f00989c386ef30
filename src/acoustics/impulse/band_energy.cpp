// The band's filter, and decay and noise told apart; see band_energy.h.
#include "acoustics/impulse/band_energy.h"

#include <algorithm>
#include <cmath>

#include "acoustics/impulse/impulse.h"

namespace roomwright::acoustics {

double peak_of(const std::vector<double>& samples) {
  double peak = 0;
  for (const double one : samples) peak = std::max(peak, std::abs(one));
  return peak;
}

namespace {

constexpr double onset_ratio = 0.1;  // 20 dB below the peak
constexpr double lead_s = 0.2;       // kept of what was recorded before the onset
constexpr double quiet_s = 0.5;      // on either side, for what the filters move there
constexpr double rise_s = 0.005;     // before the onset, of the sound itself

/// Magnitude of a band-pass filter of third order, without a shift in time.
double filter_gain(double hz, const Band& band) {
  if (hz <= 0) return 0;
  const double off =
      (hz / band.centre_hz - band.centre_hz / hz) * band.centre_hz / (band.high_hz - band.low_hz);
  return 1 / std::sqrt(1 + std::pow(off * off, 3));
}

/// Within 6/B a filter of this order has given up all but a millionth.
double spread_s(const Band& band) {
  return 6 / (band.high_hz - band.low_hz);
}

Complexes filtered(Complexes spectrum, double step_hz, const Band& band) {
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    spectrum[k] *= filter_gain(double(k) * step_hz, band);
  return spectrum;
}

}  // namespace

Result<Response> response_of(const std::vector<double>& impulse, double rate_hz) {
  const double peak = peak_of(impulse);
  if (!(peak > 0)) return Complaint{"recording", "is silent", {}, "record it again", 0};
  std::size_t onset = 0;
  while (std::abs(impulse[onset]) < onset_ratio * peak) ++onset;
  const double after_s = double(impulse.size() - onset) / rate_hz;
  if (after_s < least_response_s)
    return Complaint{"recording", "ends too early after the sound", fixed(after_s, 2) + " s",
                     "let it run until the room is quiet, and a second longer", 0};
  Response out;
  out.rate_hz = rate_hz;
  out.recorded = std::min(onset, std::size_t(lead_s * rate_hz));
  out.frames = std::min(impulse.size() - onset, std::size_t(most_response_s * rate_hz));
  const std::size_t quiet = std::size_t(quiet_s * rate_hz);
  out.onset = quiet + out.recorded;
  out.length = quick_length(out.onset + out.frames + quiet);
  out.samples.assign(out.length, 0.0);
  std::copy_n(impulse.begin() + std::ptrdiff_t(onset - out.recorded), out.recorded + out.frames,
              out.samples.begin() + std::ptrdiff_t(quiet));
  out.spectrum = spectrum_of(out.samples);
  return out;
}

BandEnergy band_energy(const Response& response, const Band* band) {
  const double rate = response.rate_hz;
  const std::vector<double> samples =
      band ? samples_of(filtered(response.spectrum, rate / double(response.length), *band))
           : response.samples;
  const double before_s = (band ? spread_s(*band) : 0) + rise_s;
  const std::size_t before = std::min(response.onset, std::size_t(before_s * rate));
  BandEnergy out;
  out.samples.resize(response.frames);
  out.before_frames = double(std::min(before, response.recorded));
  double sum = 0;
  for (std::size_t i = response.onset - before; i < response.onset; ++i) {
    sum += samples[i] * samples[i];
    out.peak = std::max(out.peak, samples[i] * samples[i]);
  }
  for (std::size_t i = 0; i < response.frames; ++i) {
    const double one = samples[response.onset + i];
    out.samples[i] = one * one;
    out.peak = std::max(out.peak, one * one);
  }
  out.samples[0] += sum;
  return out;
}

std::vector<double> filter_late_shares(const Band& band, double rate_hz, double up_to_s) {
  const std::size_t reach = std::size_t((spread_s(band) + up_to_s) * rate_hz);
  std::vector<double> click(quick_length(2 * reach), 0.0);
  click[reach] = 1;
  const std::vector<double> samples =
      samples_of(filtered(spectrum_of(click), rate_hz / double(click.size()), band));
  std::vector<double> left(samples.size() + 1, 0.0);
  for (std::size_t i = samples.size(); i-- > 0;) left[i] = left[i + 1] + samples[i] * samples[i];
  std::vector<double> out;
  for (std::size_t i = 0; i <= std::size_t(up_to_s * rate_hz) + 1; ++i)
    out.push_back(left[reach + i + 1] / left[0]);
  return out;
}

/// Least squares through points of a curve between two levels.
Line line_through(const std::vector<std::pair<double, double>>& points) {
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (const auto& [seconds, db] : points) {
    n += 1;
    x += seconds;
    y += db;
    xx += seconds * seconds;
    xy += seconds * db;
  }
  Line out;
  const double spread = n * xx - x * x;
  if (n < 3 || spread <= 0) return out;
  out.slope_db_s = (n * xy - x * y) / spread;
  out.at_zero_db = (y - out.slope_db_s * x) / n;
  out.ok = out.slope_db_s < 0;
  return out;
}

namespace {

std::vector<std::pair<double, double>> means_of(const std::vector<double>& energy, double rate_hz,
                                                double window_s) {
  const std::size_t window = std::max<std::size_t>(1, std::size_t(window_s * rate_hz));
  std::vector<std::pair<double, double>> out;
  for (std::size_t from = 0; from + window <= energy.size(); from += window) {
    double sum = 0;
    for (std::size_t i = from; i < from + window; ++i) sum += energy[i];
    out.emplace_back((double(from) + 0.5 * double(window)) / rate_hz,
                     energy_db(sum / double(window)));
  }
  return out;
}

double mean_from(const std::vector<double>& energy, std::size_t from) {
  double sum = 0;
  for (std::size_t i = from; i < energy.size(); ++i) sum += energy[i];
  return sum / double(energy.size() - from);
}

/// The points of a curve from its top down to a level, the first that falls below it ending them.
std::vector<std::pair<double, double>> down_to(const std::vector<std::pair<double, double>>& curve,
                                               double from_db, double to_db) {
  std::vector<std::pair<double, double>> out;
  const auto top = std::max_element(
      curve.begin(), curve.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  for (auto at = top; at != curve.end() && at->second > to_db; ++at)
    if (at->second <= from_db) out.push_back(*at);
  return out;
}

/// Whether what lies past a time is steady: a decay would still fall there as the line does.
bool steady_from(const std::vector<double>& energy, std::size_t from, double rate_hz,
                 const Line& late) {
  const std::size_t half = (energy.size() - from) / 2;
  if (half == 0) return false;
  double first = 0, second = 0;
  for (std::size_t i = from; i < from + half; ++i) first += energy[i];
  for (std::size_t i = from + half; i < from + 2 * half; ++i) second += energy[i];
  if (!(first > 0)) return true;
  const double would_fall_db = -late.slope_db_s * double(half) / rate_hz;
  return energy_db(first) - energy_db(second) < 0.5 * would_fall_db;
}

constexpr double echo_gap_s = 0.25;  // what comes later is a sound of its own

/// Follows what still stands out of the noise after the knee.
void follow_echoes(const std::vector<double>& energy, double rate_hz, Knee& knee) {
  knee.heard_s = knee.seconds;
  knee.heard_noise = knee.noise;
  if (!knee.met) return;
  const auto curve = means_of(energy, rate_hz, 0.01);
  for (int turn = 0; turn < 2; ++turn) {
    const double loud_db = energy_db(knee.heard_noise) + noise_margin_db;
    double end_s = knee.heard_s;
    for (const auto& [seconds, db] : curve)
      if (seconds > end_s && seconds < end_s + echo_gap_s && db > loud_db) end_s = seconds + 0.005;
    const auto from = std::size_t(end_s * rate_hz);
    if (end_s == knee.heard_s || energy.size() - from < energy.size() / 20) return;
    knee.heard_s = end_s;
    knee.heard_noise = mean_from(energy, from);
  }
}

}  // namespace

/// Lundeby's iteration: noise from the end, the line above it, where they meet, and again with
/// windows that fit the slope.
Knee knee_of(const std::vector<double>& energy, double rate_hz) {
  Knee out;
  const double whole_s = double(energy.size()) / rate_hz;
  out.noise = mean_from(energy, energy.size() - energy.size() / 10);
  auto curve = means_of(energy, rate_hz, 0.01);
  for (const auto& point : curve) out.top_db = std::max(out.top_db, point.second);
  out.late = line_through(down_to(curve, out.top_db, energy_db(out.noise) + noise_margin_db));
  out.seconds = whole_s;
  std::size_t past = energy.size() - energy.size() / 10;
  for (int turn = 0; turn < 5 && out.late.ok; ++turn) {
    const double met = (energy_db(out.noise) - out.late.at_zero_db) / out.late.slope_db_s;
    const double meets = std::clamp(met, 0.0, whole_s);
    const bool settled = turn > 0 && std::abs(meets - out.seconds) < 1e-3;
    out.seconds = meets;
    if (settled) break;
    const double past_s = std::min(meets - noise_margin_db / out.late.slope_db_s, 0.9 * whole_s);
    past = std::size_t(std::max(0.0, past_s) * rate_hz);
    out.noise = mean_from(energy, past);
    // Five windows for each ten decibels.
    curve = means_of(energy, rate_hz, std::clamp(-2 / out.late.slope_db_s, 0.001, 0.1));
    const double foot_db = energy_db(out.noise) + 7;
    const Line late = line_through(down_to(curve, foot_db + 20, foot_db));
    if (late.ok) out.late = late;
  }
  out.met = out.late.ok && steady_from(energy, past, rate_hz, out.late);
  if (out.late.ok && !out.met) out.seconds = whole_s;
  follow_echoes(energy, rate_hz, out);
  return out;
}

}  // namespace roomwright::acoustics
