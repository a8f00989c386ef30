// Backward integration and energy ratios; see echogram.h.
#include "acoustics/rays/echogram.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/sound/sound.h"

namespace roomwright::acoustics {

namespace {

/// What lies past the last bin, if the sound goes on falling as it did over the last two fifths.
struct Tail {
  bool falling = true;
  double energy = 0;
  double centre_s = 0;  ///< of that energy, after the end
};

/// Below this share of all energy chance may hide the fall, and the rest cannot matter.
constexpr double nothing_left = 1e-5;

Tail tail_of(const std::vector<double>& bins, double bin_s, double total) {
  const std::size_t half = bins.size() / 5;
  if (half == 0) return {false, 0, 0};
  double before = 0, after = 0;
  for (std::size_t i = bins.size() - 2 * half; i < bins.size() - half; ++i) before += bins[i];
  for (std::size_t i = bins.size() - half; i < bins.size(); ++i) after += bins[i];
  if (after == 0) return {};
  if (!(after < 0.999 * before)) {
    if (before + after < nothing_left * total) return {true, after, double(half) * bin_s};
    return {false, 0, 0};
  }
  const double ratio = after / before;
  return {true, after * ratio / (1 - ratio), -double(half) * bin_s / std::log(ratio)};
}

struct CurvePoint {
  double time_s, level_db;
};

/// Backward integral in dB from the arrival, at the bins' edges.
std::vector<CurvePoint> decay_curve(const std::vector<double>& bins, const Echogram& echogram,
                                    double tail) {
  std::vector<double> left(bins.size() + 1, tail);
  for (std::size_t i = bins.size(); i-- > 0;) left[i] = left[i + 1] + bins[i];
  std::vector<CurvePoint> curve{{echogram.arrival_s, 0}};
  for (std::size_t i = 0; i < left.size(); ++i) {
    const double time_s = double(i) * echogram.bin_s;
    if (time_s > echogram.arrival_s && left[i] > 0)
      curve.push_back({time_s, energy_db(left[i] / left[0])});
  }
  return curve;
}

FigureValue decay_time_of(const std::vector<CurvePoint>& curve, double from_db, double to_db) {
  double n = 0, t = 0, l = 0, tt = 0, tl = 0;
  for (const CurvePoint& point : curve) {
    if (point.level_db > from_db || point.level_db < to_db) continue;
    n += 1;
    t += point.time_s;
    l += point.level_db;
    tt += point.time_s * point.time_s;
    tl += point.time_s * point.level_db;
  }
  if (n < 3) return {{}, "the bins are too long for so short a decay; lower bin_ms", false};
  const double slope = (n * tl - t * l) / (n * tt - t * t);
  return {-60 / slope, {}, false};
}

FigureValue decay_time_of(const std::vector<CurvePoint>& curve, double end_db, bool falling,
                          double from_db, double to_db, const std::string& longer) {
  if (!falling) return {{}, "the sound does not fall by the end; " + longer, true};
  // Past the range's end by 5 dB, so that the assumed rest hardly bends the line.
  const double needed = 5 - to_db;
  if (-end_db < needed)
    return {{},
            "needs " + fixed(needed, 0) + " dB of decay, has " + fixed(-end_db, 1) + "; " + longer,
            true};
  return decay_time_of(curve, from_db, to_db);
}

double early_energy(const Echogram& echogram, double until_s) {
  double sum = 0;
  for (std::size_t i = 0; i < echogram.bins.size(); ++i) {
    const double part = (until_s - double(i) * echogram.bin_s) / echogram.bin_s;
    if (part <= 0) break;
    sum += echogram.bins[i] * std::min(1.0, part);
  }
  for (const EnergyPath& path : echogram.paths)
    if (path.time_s < until_s) sum += path.energy;
  return sum;
}

double first_moment(const Echogram& echogram) {
  double sum = 0;
  for (std::size_t i = 0; i < echogram.bins.size(); ++i)
    sum += echogram.bins[i] * ((double(i) + 0.5) * echogram.bin_s - echogram.arrival_s);
  for (const EnergyPath& path : echogram.paths)
    sum += path.energy * (path.time_s - echogram.arrival_s);
  return sum;
}

}  // namespace

std::vector<double> whole_echogram(const Echogram& echogram) {
  std::vector<double> bins = echogram.bins;
  for (const EnergyPath& path : echogram.paths) {
    const auto place = static_cast<std::size_t>(path.time_s / echogram.bin_s);
    if (place < bins.size()) bins[place] += path.energy;
  }
  return bins;
}

std::array<FigureValue, decay_figures> decay_figures_of(const Echogram& echogram) {
  std::array<FigureValue, decay_figures> out;
  const std::vector<double> bins = whole_echogram(echogram);
  double total = 0;
  for (auto bin = bins.rbegin(); bin != bins.rend(); ++bin) total += *bin;
  const Tail tail = tail_of(bins, echogram.bin_s, total);
  total += tail.energy;
  if (!(total > 0)) {
    for (FigureValue& figure : out) figure.reason = "no sound arrives";
    return out;
  }
  const auto curve = decay_curve(bins, echogram, tail.energy);
  const double end_db = energy_db(tail.energy / total);
  out[edt] = decay_time_of(curve, end_db, tail.falling, 0, -10, echogram.longer);
  out[t20] = decay_time_of(curve, end_db, tail.falling, -5, -25, echogram.longer);
  out[t30] = decay_time_of(curve, end_db, tail.falling, -5, -35, echogram.longer);
  if (!tail.falling || end_db > -15) {
    for (const DecayFigure figure : {c50, c80, d50, centre_time, strength})
      out[figure].reason = "the sound has not fallen by 15 dB at the end; " + echogram.longer;
    return out;
  }
  const double until_50 = early_energy(echogram, echogram.arrival_s + 0.05);
  const double until_80 = early_energy(echogram, echogram.arrival_s + 0.08);
  const auto clarity = [&](double early) -> FigureValue {
    if (!(early > 0 && total - early > 1e-12 * total))
      return {{}, early > 0 ? "no sound arrives late" : "no sound arrives early", false};
    return {energy_db(early / (total - early)), {}, false};
  };
  out[c50] = clarity(until_50);
  out[c80] = clarity(until_80);
  out[d50] = {until_50 / total, {}, false};
  const double end_s = double(bins.size()) * echogram.bin_s - echogram.arrival_s;
  out[centre_time] = {
      1e3 * (first_moment(echogram) + tail.energy * (end_s + tail.centre_s)) / total, {}, false};
  out[strength] = {energy_db(total * 400 * std::numbers::pi), {}, false};
  return out;
}

}  // namespace roomwright::acoustics
