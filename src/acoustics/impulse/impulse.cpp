// Recordings of a room, evaluated; see impulse.h.
#include "acoustics/impulse/impulse.h"

#include <algorithm>
#include <cmath>

#include "acoustics/sound/sound.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

constexpr double onset_ratio = 0.1;  // 20 dB below the peak
constexpr double margin_db = 10;     // between the lower end of a range and the noise
constexpr double filter_limit = 16;  // B T

double peak_of(const std::vector<double>& samples) {
  double peak = 0;
  for (const double one : samples) peak = std::max(peak, std::abs(one));
  return peak;
}

std::string decibels(double value) {
  return fixed(std::max(0.0, value), 0) + " dB";
}

std::vector<double> padded(const std::vector<double>& samples, std::size_t length) {
  std::vector<double> out(samples);
  out.resize(length, 0.0);
  return out;
}

}  // namespace

Result<std::vector<double>> impulse_of_sweep(const std::vector<double>& recording,
                                             const std::vector<double>& sweep, double rate_hz) {
  if (!(peak_of(recording) > 0)) return Complaint{"recording", "is silent", {}, {}, 0};
  if (!(peak_of(sweep) > 0)) return Complaint{"sweep", "is silent", {}, {}, 0};
  const double after = (double(recording.size()) - double(sweep.size())) / rate_hz;
  if (after < least_response_s)
    return Complaint{"recording", "ends too early after the sweep", fixed(after, 2) + " s",
                     "let it run for two seconds after the last note", 0};
  const std::size_t length = quick_length(recording.size() + sweep.size());
  Complexes taken = spectrum_of(padded(recording, length));
  const Complexes played = spectrum_of(padded(sweep, length));
  double most = 0;
  for (const auto& one : played) most = std::max(most, std::norm(one));
  // Where the sweep has next to nothing, dividing by it would raise noise alone.
  const double floor = 1e-6 * most;
  for (std::size_t k = 0; k < taken.size(); ++k)
    taken[k] *= std::conj(played[k]) / (std::norm(played[k]) + floor);
  std::vector<double> out = samples_of(taken);
  out.resize(recording.size() - sweep.size());
  return out;
}

// ---- one band -----------------------------------------------------------------------------------

namespace {

/// The impulse response from its onset on, with its spectrum.
struct Response {
  double rate_hz = 0;
  std::size_t onset = 0;   ///< in the padded samples
  std::size_t frames = 0;  ///< from the onset on
  std::size_t length = 0;  ///< of the padded samples
  Complexes spectrum;
};

/// Magnitude of a band-pass filter of third order, without a shift in time.
double filter_gain(double hz, const Band& band) {
  if (hz <= 0) return 0;
  const double off =
      (hz / band.centre_hz - band.centre_hz / hz) * band.centre_hz / (band.high_hz - band.low_hz);
  return 1 / std::sqrt(1 + std::pow(off * off, 3));
}

/// Energy of the band, sample by sample from the onset on; what lies before it is in the first.
std::vector<double> band_energy(const Response& response, const Band& band) {
  Complexes spectrum = response.spectrum;
  const double step_hz = response.rate_hz / double(response.length);
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    spectrum[k] *= filter_gain(double(k) * step_hz, band);
  const std::vector<double> samples = samples_of(spectrum);
  std::vector<double> out(response.frames);
  double before = 0;
  for (std::size_t i = 0; i < response.onset; ++i) before += samples[i] * samples[i];
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double one = samples[response.onset + i];
    out[i] = one * one;
  }
  out[0] += before;
  return out;
}

struct Line {
  double slope_db_s = 0, at_zero_db = 0;
  bool ok = false;
  double at(double seconds) const { return at_zero_db + slope_db_s * seconds; }
};

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

/// Where decay and noise meet.
struct Knee {
  double seconds = 0, noise = 0;  ///< noise: mean energy of a sample
  Line late;                      ///< the decay just above the noise
  double top_db = -300;           ///< of the smoothed decay
  double range_db() const { return top_db - energy_db(noise); }
};

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

/// Lundeby's iteration: noise from the end, the line above it, where they meet, and again with
/// windows that fit the slope.
Knee knee_of(const std::vector<double>& energy, double rate_hz) {
  Knee out;
  const double whole_s = double(energy.size()) / rate_hz;
  out.noise = mean_from(energy, energy.size() - energy.size() / 10);
  auto curve = means_of(energy, rate_hz, 0.01);
  for (const auto& point : curve) out.top_db = std::max(out.top_db, point.second);
  out.late = line_through(down_to(curve, out.top_db, energy_db(out.noise) + margin_db));
  out.seconds = whole_s;
  for (int turn = 0; turn < 5 && out.late.ok; ++turn) {
    const double met = (energy_db(out.noise) - out.late.at_zero_db) / out.late.slope_db_s;
    const double meets = std::clamp(met, 0.0, whole_s);
    const bool settled = turn > 0 && std::abs(meets - out.seconds) < 1e-3;
    out.seconds = meets;
    if (settled) break;
    const double past_s = std::min(meets - margin_db / out.late.slope_db_s, 0.9 * whole_s);
    out.noise = mean_from(energy, std::size_t(std::max(0.0, past_s) * rate_hz));
    // Five windows for each ten decibels.
    curve = means_of(energy, rate_hz, std::clamp(-2 / out.late.slope_db_s, 0.001, 0.1));
    const double foot_db = energy_db(out.noise) + 7;
    const Line late = line_through(down_to(curve, foot_db + 20, foot_db));
    if (late.ok) out.late = late;
  }
  return out;
}

/// The decay, integrated backward from the knee; what lies beyond goes on as the late line does.
std::vector<double> integrated_db(const std::vector<double>& energy, double rate_hz,
                                  const Knee& knee) {
  const std::size_t end =
      std::clamp<std::size_t>(std::size_t(knee.seconds * rate_hz), 1, energy.size());
  double sum = 0;
  if (knee.late.ok)
    sum = std::pow(10, knee.late.at(knee.seconds) / 10) * rate_hz /
          (-knee.late.slope_db_s * std::log(10) / 10);
  std::vector<double> out(end);
  for (std::size_t i = end; i-- > 0;) {
    sum += energy[i];
    out[i] = sum;
  }
  const double whole = out[0];
  for (double& one : out) one = energy_db(one / whole);
  return out;
}

MeasuredFigure decay_between(const std::vector<double>& curve_db, double rate_hz, double from_db,
                             double to_db, double range_db, const Band& band) {
  MeasuredFigure out;
  std::vector<std::pair<double, double>> points;
  const std::size_t step = std::max<std::size_t>(1, std::size_t(rate_hz / 4000));
  for (std::size_t i = 0; i < curve_db.size(); i += step)
    if (curve_db[i] <= from_db && curve_db[i] >= to_db)
      points.emplace_back(double(i) / rate_hz, curve_db[i]);
  const Line line = line_through(points);
  if (line.ok) out.value = -60 / line.slope_db_s;
  const double needed_db = margin_db - to_db;
  if (!line.ok || curve_db.back() > to_db || range_db < needed_db)
    out.reason = "needs " + decibels(needed_db) + " above the noise, has " + decibels(range_db);
  else if ((band.high_hz - band.low_hz) * out.value < filter_limit)
    out.reason = "the band's own filter rings about as long";
  out.valid = out.reason.empty();
  return out;
}

MeasuredBand band_of(const Response& response, const Band& band) {
  const std::vector<double> energy = band_energy(response, band);
  const Knee knee = knee_of(energy, response.rate_hz);
  const std::vector<double> curve = integrated_db(energy, response.rate_hz, knee);
  const auto between = [&](double from_db, double to_db) {
    return decay_between(curve, response.rate_hz, from_db, to_db, knee.range_db(), band);
  };
  return {band.nominal_hz, between(0, -10), between(-5, -25), between(-5, -35), knee.range_db()};
}

MeasuredLevel level_of(const Response& response, const Band& band) {
  const std::vector<double> energy = band_energy(response, band);
  const Knee knee = knee_of(energy, response.rate_hz);
  const std::size_t end =
      std::clamp<std::size_t>(std::size_t(knee.seconds * response.rate_hz), 1, energy.size());
  double sum = 0;
  for (std::size_t i = 0; i < end; ++i) sum += energy[i];
  const double noise = knee.noise * double(end);
  const double width_hz = band.high_hz - band.low_hz;
  return {band.nominal_hz, energy_db(std::max(sum - noise, 1e-3 * sum) / width_hz),
          energy_db(noise / width_hz)};
}

Result<Response> response_of(const std::vector<double>& impulse, double rate_hz) {
  const double peak = peak_of(impulse);
  if (!(peak > 0)) return Complaint{"recording", "is silent", {}, {}, 0};
  std::size_t onset = 0;
  while (std::abs(impulse[onset]) < onset_ratio * peak) ++onset;
  const double after_s = double(impulse.size() - onset) / rate_hz;
  if (after_s < least_response_s)
    return Complaint{"recording", "ends too early after the sound", fixed(after_s, 2) + " s",
                     "let it run until the room is quiet, and a second longer", 0};
  // A little before the onset is kept for what the filters move there.
  const std::size_t lead = std::min(onset, std::size_t(0.2 * rate_hz));
  const std::size_t frames =
      std::min(impulse.size() - onset, std::size_t(most_response_s * rate_hz));
  Response out;
  out.rate_hz = rate_hz;
  out.frames = frames;
  const std::size_t quiet = std::size_t(0.2 * rate_hz);
  out.onset = quiet + lead;
  out.length = quick_length(out.onset + frames + quiet);
  std::vector<double> samples(out.length, 0.0);
  std::copy_n(impulse.begin() + std::ptrdiff_t(onset - lead), lead + frames,
              samples.begin() + std::ptrdiff_t(quiet));
  out.spectrum = spectrum_of(samples);
  return out;
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

}  // namespace

Result<MeasuredRoom> measured_room(const std::vector<double>& impulse, double rate_hz) {
  const auto response = response_of(impulse, rate_hz);
  if (!response) return response.mistakes();
  MeasuredRoom out;
  out.seconds = double(response->frames) / rate_hz;
  const auto fits = [&](const Band& band) { return band.high_hz < 0.48 * rate_hz; };
  for (const Band& band : octave_bands())
    if (fits(band)) out.bands.push_back(band_of(*response, band));
  for (const Band& band : third_octave_bands())
    if (fits(band)) out.levels.push_back(level_of(*response, band));
  level_out(out.levels);
  return out;
}

}  // namespace roomwright::acoustics
