// How long each resonance rings; see ringing.h.
#include "job/stages/ringing.h"

#include <algorithm>
#include <cmath>

#include "job/stages/field.h"
#include "job/stages/kept.h"
#include "job/stages/kept_bytes.h"

namespace roomwright::job {

namespace {

constexpr double highest_ringing_hz = 120;
constexpr double most_ringing_modes = 60;

/// As high as most_ringing_modes modes reach, at most highest_ringing_hz.
double ringing_to(const Job& job, double sound_speed_m_s) {
  double to = highest_ringing_hz;
  while (to > 20 &&
         acoustics::mode_count_estimate(job.room, sound_speed_m_s, to) > most_ringing_modes)
    to -= 5;
  return to;
}

/// Where modes that begin alike have fallen by so many decibels together.
double time_of_fall(const std::vector<double>& decays_s, double fall_db) {
  const auto level = [&](double time_s) {
    double left = 0;
    for (const double t : decays_s) left += t * std::pow(10.0, -6 * time_s / t);
    double whole = 0;
    for (const double t : decays_s) whole += t;
    return 10 * std::log10(left / whole);
  };
  double low = 0, high = *std::max_element(decays_s.begin(), decays_s.end()) * fall_db / 60 + 1e-3;
  for (int turn = 0; turn < 60; ++turn) {
    const double middle = (low + high) / 2;
    (level(middle) > -fall_db ? low : high) = middle;
  }
  return (low + high) / 2;
}

/// Octaves that lie below to_hz, of three modes or more that all have a decay.
std::vector<Ringing::Octave> octaves_of(const Ringing& ringing) {
  std::vector<Ringing::Octave> out;
  // The lowest octave of the tables, and the one below it.
  const acoustics::Band& first = acoustics::octave_bands()[0];
  const acoustics::Band below{31.5, 0, first.low_hz * first.low_hz / first.high_hz, first.low_hz};
  for (const acoustics::Band& band : {below, first}) {
    if (band.high_hz > ringing.to_hz) continue;
    std::vector<double> decays;
    bool all = true;
    for (const ModeRing& mode : ringing.modes)
      if (mode.hz >= band.low_hz && mode.hz < band.high_hz) {
        all = all && mode.decay_s;
        decays.push_back(mode.decay_s.value_or(1));
      }
    if (!all || decays.size() < 3) continue;
    // Source: ISO 3382-1:2009, T20: from -5 to -25 dB (here by its two ends)
    out.push_back({band.nominal_hz, static_cast<int>(decays.size()),
                   3 * (time_of_fall(decays, 25) - time_of_fall(decays, 5))});
  }
  return out;
}

const ModeRing* longest(const Ringing& ringing) {
  const ModeRing* out = nullptr;
  for (const ModeRing& mode : ringing.modes)
    if (mode.decay_s && (!out || *mode.decay_s > *out->decay_s)) out = &mode;
  return out;
}

/// What takes seconds is kept.
Result<acoustics::ModesReport> kept_modes(const acoustics::ResponseRequest& request,
                                          double reach_hz, const Run& run) {
  Writer key;
  key.text("damped modes");
  key.text(key_of_request(request, {}));
  key.number(reach_hz);
  const auto numbers = kept_numbers(key.take(), run.keep, [&]() -> Result<std::vector<double>> {
    const auto found = acoustics::treated_modes(request, reach_hz, run.watch);
    if (!found) return found.mistakes();
    std::vector<double> out;
    for (const acoustics::Mode& mode : found->modes) {
      out.push_back(mode.rigid_hz.value_or(mode.hz));
      out.push_back(mode.hz);
      out.push_back(mode.decay_s.value_or(-1));
    }
    return out;
  });
  if (!numbers) return numbers.mistakes();
  acoustics::ModesReport out;
  for (std::size_t i = 0; i + 2 < numbers->size(); i += 3) {
    acoustics::Mode mode;
    mode.rigid_hz = (*numbers)[i];
    mode.hz = (*numbers)[i + 1];
    if ((*numbers)[i + 2] > 0) mode.decay_s = (*numbers)[i + 2];
    out.modes.push_back(mode);
  }
  return out;
}

}  // namespace

Ringing ringing_of(const Job& job, const Survey& survey, const Treatment* treatment,
                   const Run& run) {
  Ringing out;
  if (!run.sound_field) {
    out.note = field_left_out;
    return out;
  }
  out.to_hz = ringing_to(job, survey.air.sound_speed_m_s);
  std::vector<double> hz;
  for (double f = 15; f <= out.to_hz + 10; f += 5) hz.push_back(f);
  const auto request = field_request(job, survey, treatment, hz);
  const auto report = request.objects.empty()
                          ? acoustics::treated_modes(request, out.to_hz, run.watch)
                          : kept_modes(request, out.to_hz, run);
  if (!report) {
    const Complaint& first = report.mistakes().items()[0];
    out.note = "How long each resonance rings is not told: " +
               (first.where.empty() ? "" : first.where + ": ") + first.what + ".";
    return out;
  }
  // Quantised, so that what is printed is the same on every machine.
  const auto even = [](double value) { return std::round(value * 1e4) / 1e4; };
  for (const acoustics::Mode& mode : report->modes) {
    ModeRing ring{even(mode.rigid_hz.value_or(mode.hz)), even(mode.hz), {}};
    if (mode.decay_s) ring.decay_s = even(*mode.decay_s);
    out.modes.push_back(ring);
  }
  std::stable_sort(out.modes.begin(), out.modes.end(),
                   [](const ModeRing& a, const ModeRing& b) { return a.rigid_hz < b.rigid_hz; });
  out.octaves = octaves_of(out);
  out.note =
      "Each resonance to " + fixed(out.to_hz, 0) + " Hz, damped by the surfaces and the " +
      (request.objects.empty()
           ? "pieces that lie flat on them."
           : "pieces: flat ones on the surfaces, corner traps and clouds as bodies of wool.");
  return out;
}

void say_ringing(const Ringing& today, std::vector<Statement>& out) {
  const ModeRing* worst = longest(today);
  if (!worst) return;
  std::string text = "The resonance at " + fixed(worst->hz, 1) + " Hz rings longest below " +
                     fixed(today.to_hz, 0) + " Hz: " + fixed(*worst->decay_s, 2) + " s";
  for (const auto& octave : today.octaves)
    if (octave.hz > 60)
      text += "; the octave at 63 Hz as a whole, by its " + std::to_string(octave.modes) +
              " resonances, for " + fixed(octave.t20_s, 2) + " s (T20)";
  out.push_back({20, "ringing", text + ".", "", "traps where that resonance presses: the corners"});
}

void say_ringing_change(const Ringing& today, const Ringing& treated, std::vector<Statement>& out) {
  const ModeRing* worst = longest(today);
  if (!worst || treated.modes.empty()) return;
  const auto same = std::find_if(
      treated.modes.begin(), treated.modes.end(),
      [&](const ModeRing& mode) { return std::abs(mode.rigid_hz - worst->rigid_hz) < 1e-3; });
  if (same == treated.modes.end() || !same->decay_s) return;
  out.push_back({0, "ringing",
                 "The resonance at " + fixed(worst->hz, 1) +
                     " Hz, which rings longest today, rings for " + fixed(*same->decay_s, 2) +
                     " s instead of " + fixed(*worst->decay_s, 2) + " s.",
                 "", ""});
}

}  // namespace roomwright::job
