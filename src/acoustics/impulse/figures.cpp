// The figures of a band: decay times, clarity, centre time, noise; see impulse.h.
#include "acoustics/impulse/figures.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

constexpr double filter_limit = 16;  // B T
/// Below this much decay the noise that is taken off may be as large as what is left.
constexpr double clarity_range_db = 20;
constexpr double most_moved = 0.25;  // of the late sound, early sound that the filter put there

std::string decibels(double value) {
  return fixed(std::max(0.0, value), 0) + " dB";
}

/// What of a band counts: to the knee, each sample less the noise, and a tail beyond.
struct Span {
  std::size_t end = 0;
  double noise = 0;   ///< of each sample
  double tail = 0;    ///< energy past the end
  double tail_s = 0;  ///< how much later than the end it lies on the average
};

/// heard: with what stands out of the noise after the knee.
Span span_of(const BandEnergy& energy, double rate_hz, const Knee& knee, bool heard) {
  const double end_s = heard ? knee.heard_s : knee.seconds;
  Span out;
  out.end = std::clamp<std::size_t>(std::size_t(end_s * rate_hz), 1, energy.samples.size());
  if (knee.met) out.noise = heard ? knee.heard_noise : knee.noise;
  if (knee.late.ok) {
    out.tail_s = 10 / (-knee.late.slope_db_s * std::log(10));
    out.tail = std::pow(10, knee.late.at(double(out.end) / rate_hz) / 10) * rate_hz * out.tail_s;
  }
  return out;
}

/// The decay, integrated backward from the knee, the noise taken off; what lies beyond goes on as
/// the late line does.
std::vector<double> integrated_db(const BandEnergy& energy, double rate_hz, const Knee& knee) {
  const Span span = span_of(energy, rate_hz, knee, false);
  double sum = span.tail;
  std::vector<double> out(span.end);
  for (std::size_t i = span.end; i-- > 0;) {
    sum += energy.samples[i] - span.noise;
    if (i == 0) sum -= span.noise * energy.before_frames;
    out[i] = sum;
  }
  const double whole = out[0];
  for (double& one : out) one = whole > 0 && one > 0 ? energy_db(one / whole) : -300;
  return out;
}

MeasuredFigure decay_between(const std::vector<double>& curve_db, double rate_hz, double from_db,
                             double to_db, double range_db, const Band* band) {
  MeasuredFigure out;
  std::vector<std::pair<double, double>> points;
  const std::size_t step = std::max<std::size_t>(1, std::size_t(rate_hz / 4000));
  for (std::size_t i = 0; i < curve_db.size(); i += step)
    if (curve_db[i] <= from_db && curve_db[i] >= to_db)
      points.emplace_back(double(i) / rate_hz, curve_db[i]);
  const Line line = line_through(points);
  if (line.ok) out.value = -60 / line.slope_db_s;
  const double needed_db = noise_margin_db - to_db;
  if (!line.ok || curve_db.back() > to_db || range_db < needed_db)
    out.reason = "needs " + decibels(needed_db) + " above the noise, has " + decibels(range_db);
  else if (band && (band->high_hz - band->low_hz) * out.value < filter_limit)
    out.reason = "the band's own filter rings about as long";
  out.valid = out.reason.empty();
  return out;
}

/// Energy before a time, and all of it; noise taken off.
struct Energies {
  double early_50 = 0, early_80 = 0, whole = 0, moment_s = 0;
};

Energies energies_of(const BandEnergy& energy, double rate_hz, const Knee& knee) {
  const Span span = span_of(energy, rate_hz, knee, true);
  const auto from_50 = std::size_t(std::llround(0.05 * rate_hz)),
             from_80 = std::size_t(std::llround(0.08 * rate_hz));
  Energies out;
  for (std::size_t i = 0; i < span.end; ++i) {
    double one = energy.samples[i] - span.noise;
    if (i == 0) one -= span.noise * energy.before_frames;
    if (i < from_50) out.early_50 += one;
    if (i < from_80) out.early_80 += one;
    out.whole += one;
    out.moment_s += one * double(i) / rate_hz;
  }
  const double end_s = double(span.end) / rate_hz;
  // A decay that meets the noise early has the rest of its early sound in the tail.
  const auto tail_before = [&](double time_s) {
    return time_s > end_s ? span.tail * -std::expm1(-(time_s - end_s) / span.tail_s) : 0.0;
  };
  if (span.tail > 0) {
    out.early_50 += tail_before(0.05);
    out.early_80 += tail_before(0.08);
    out.whole += span.tail;
    out.moment_s += span.tail * (end_s + span.tail_s);
  }
  return out;
}

/// Early sound that the band's filter has moved past a time, at most: what it moved at first hand,
/// moved once more.
double moved_past(const BandEnergy& energy, const std::vector<double>& shares, double rate_hz,
                  double after_s) {
  const auto until = std::size_t(std::llround(after_s * rate_hz));
  double sum = 0;
  for (std::size_t i = 0; i < std::min(until, energy.samples.size()); ++i)
    sum += energy.samples[i] * shares[until - i];
  return sum;
}

std::string clarity_fault(const Knee& knee) {
  if (knee.heard_range_db() >= clarity_range_db) return {};
  return "needs " + decibels(clarity_range_db) + " above the noise, has " +
         decibels(knee.heard_range_db());
}

MeasuredFigure told(double value, const std::string& fault) {
  if (!std::isfinite(value)) return {0, false, fault.empty() ? "nothing is left of it" : fault};
  return {value, fault.empty(), fault};
}

void add_clarity(MeasuredBand& out, const BandEnergy& energy, double rate_hz, const Knee& knee,
                 const Band* band) {
  const Energies all = energies_of(energy, rate_hz, knee);
  const std::string noisy = clarity_fault(knee);
  const std::vector<double> shares =
      band ? filter_late_shares(*band, rate_hz, 0.081) : std::vector<double>();
  const auto fault = [&](double late, double after_s) -> std::string {
    if (!noisy.empty() || !band) return noisy;
    if (moved_past(energy, shares, rate_hz, after_s) <= most_moved * late) return {};
    return "the band's own filter moves too much past " + fixed(1e3 * after_s, 0) + " ms";
  };
  const auto ratio_db = [](double early, double late) {
    return early > 0 && late > 0 ? energy_db(early / late) : NAN;
  };
  const double late_50 = all.whole - all.early_50, late_80 = all.whole - all.early_80;
  const std::string fault_50 = fault(late_50, 0.05);
  out.c50_db = told(ratio_db(all.early_50, late_50), fault_50);
  out.c80_db = told(ratio_db(all.early_80, late_80), fault(late_80, 0.08));
  out.d50 = told(std::clamp(all.early_50 / all.whole, 0.0, 1.0), fault_50);
  out.ts_ms = told(1e3 * all.moment_s / all.whole, noisy);
}

void add_noise(MeasuredBand& out, const BandEnergy& energy, const Knee& knee) {
  std::string fault;
  if (!(knee.noise > 0))
    fault = "the recording ends in silence: there is no noise to tell";
  else if (!knee.met)
    fault = "the recording ends before the decay meets the noise, which may be lower";
  out.range_db = knee.range_db();
  out.noise_db = told(energy_db(knee.noise / energy.peak), fault);
  out.dynamic_range_db = told(knee.range_db(), fault);
}

}  // namespace

MeasuredBand figures_of(const BandEnergy& energy, double rate_hz, const Knee& knee,
                        const Band* band) {
  const std::vector<double> curve = integrated_db(energy, rate_hz, knee);
  const auto between = [&](double from_db, double to_db) {
    return decay_between(curve, rate_hz, from_db, to_db, knee.range_db(), band);
  };
  MeasuredBand out;
  out.hz = band ? band->nominal_hz : 0;
  out.edt_s = between(0, -10);
  out.t20_s = between(-5, -25);
  out.t30_s = between(-5, -35);
  add_clarity(out, energy, rate_hz, knee, band);
  add_noise(out, energy, knee);
  return out;
}

MeanFigure mean_figure(const std::vector<MeasuredFigure>& positions) {
  MeanFigure out;
  double sum = 0, squares = 0;
  for (const MeasuredFigure& one : positions) {
    if (!one.valid) {
      if (out.mean.reason.empty()) out.mean.reason = one.reason;
      continue;
    }
    ++out.valid;
    sum += one.value;
  }
  if (out.valid == 0) return out;
  out.mean = {sum / double(out.valid), true, ""};
  for (const MeasuredFigure& one : positions)
    if (one.valid) squares += (one.value - out.mean.value) * (one.value - out.mean.value);
  if (out.valid > 1) out.deviation = std::sqrt(squares / double(out.valid - 1));
  return out;
}

}  // namespace roomwright::acoustics
