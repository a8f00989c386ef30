// The bass at the seat: the wave field of a box with its surfaces and the pieces that lie flat on
// them, against the direct sound alone; what makes its highest peak and its deepest dip.
#include <algorithm>
#include <cmath>

#include "job/stages/bass.h"

namespace roomwright::job {

namespace {

using Complex = std::complex<double>;
constexpr double lowest_hz = 20, highest_hz = 200;

std::vector<double> bass_hz() {
  std::vector<double> out;
  for (double hz = lowest_hz; hz <= highest_hz; hz += 1) out.push_back(hz);
  return out;
}

/// Octave coefficients at a frequency, linear over its logarithm; held beyond the ends.
double absorption_at(const acoustics::OctaveSpectrum& absorption, double hz) {
  const auto& bands = acoustics::octave_bands();
  const double at = std::log2(hz / bands[0].centre_hz);
  const double held = std::clamp(at, 0.0, double(absorption.size() - 1));
  const auto below = std::min(static_cast<std::size_t>(held), absorption.size() - 2);
  const double share = held - static_cast<double>(below);
  return absorption[below] * (1 - share) + absorption[below + 1] * share;
}

std::vector<acoustics::Admittance> surfaces_of(const Job& job, const std::vector<double>& hz) {
  std::vector<acoustics::Admittance> out;
  for (const std::string& key : job.finish) {
    const auto* material = acoustics::find_surface_material(key);
    acoustics::Admittance values;
    for (const double f : hz)
      values.emplace_back(
          1 / acoustics::resistance_of_absorption(absorption_at(material->absorption, f)), 0);
    out.push_back(std::move(values));
  }
  return out;
}

/// The pieces that lie flat on one surface and are one stack; others wait for the solver of
/// volumes.
std::vector<acoustics::ResponsePatch> patches_of(const Job& job, const Treatment& treatment,
                                                 const acoustics::Air& air,
                                                 const std::vector<double>& hz) {
  std::vector<acoustics::ResponsePatch> out;
  acoustics::AbsorptionOptions normal;
  normal.incidence.kind = acoustics::Incidence::normal;
  normal.same_on_every_machine = true;
  for (std::size_t i = 0; i < treatment.pieces.size(); ++i) {
    const design::Product& product = product_of(job, treatment, job.pieces[i]);
    const design::Placement& place = treatment.pieces[i].placement;
    if (!place.ok() || place.footprints.size() != 1 || product.sound.strips.size() != 1 ||
        !product.sound.upper.empty())
      continue;
    const auto report = acoustics::absorption(product.sound.strips[0].stack, air, hz, normal);
    if (!report) continue;
    acoustics::ResponsePatch patch;
    const design::Footprint& foot = place.footprints[0];
    patch.area.surface = foot.surface;
    patch.area.from_m = foot.from_m;
    patch.area.to_m = foot.to_m;
    // Below the range of a wool's model its front can come out giving energy, by a hair.
    for (const Complex& z : report->impedance) {
      const Complex y = 1.0 / z;
      patch.admittance.emplace_back(std::max(y.real(), 0.0), y.imag());
    }
    out.push_back(std::move(patch));
  }
  return out;
}

double decibels(Complex pressure, double distance_m, double density_kg_m3) {
  const double direct = density_kg_m3 / (4 * std::acos(-1.0) * distance_m);
  return 20 * std::log10(std::max(std::abs(pressure) / direct, 1e-9));
}

void solve(const Job& job, acoustics::ResponseRequest request, BassField& out) {
  for (const Seat& seat : job.seats) request.receivers_m.push_back(metres_of(seat.at));
  acoustics::ResponseOptions options;
  options.width = acoustics::WaveWidth::baseline;  // papers are the same on every machine
  for (const Loudspeaker& speaker : job.loudspeakers) {
    request.sources = {{metres_of(speaker.at), 1}};
    const auto report = acoustics::response(request, options);
    if (!report) {
      out.levels.clear();
      out.note = "The bass at the seat is not told: " + report.mistakes().items()[0].what + ".";
      return;
    }
    for (std::size_t s = 0; s < job.seats.size(); ++s) {
      SeatLevel level{speaker.label, job.seats[s].label, {}};
      const double distance_m = length(metres_of(speaker.at) - request.receivers_m[s]);
      for (const Complex& pressure : report->pressure_pa[s])
        level.level_db.push_back(
            std::round(decibels(pressure, distance_m, request.density_kg_m3) * 100) / 100);
      out.levels.push_back(std::move(level));
    }
    out.note = "Wave field: " + report->method +
               "; each wall a resistance that absorbs what its table says.";
  }
}

BassField field(const Job& job, const Survey& survey, const Treatment* treatment) {
  BassField out;
  if (!acoustics::is_box(job.room)) {
    out.note = "The bass at the seat is solved in rectangular rooms only, so far.";
    return out;
  }
  acoustics::ResponseRequest request = wave_request(job, survey, treatment, bass_hz());
  out.patches = static_cast<int>(request.patches.size());
  solve(job, std::move(request), out);
  if (!out.levels.empty()) out.hz = bass_hz();
  return out;
}

// ---- causes -------------------------------------------------------------------------------------

/// The mode nearest to a peak, if one is near enough to make it.
std::string mode_near(const Findings& found, double hz) {
  const acoustics::Mode* near = nullptr;
  for (const auto& mode : found.modes)
    if (!near || std::abs(mode.hz - hz) < std::abs(near->hz - hz)) near = &mode;
  if (!near || std::abs(near->hz - hz) > 3) return {};
  std::string out = "the room's " + acoustics::mode_kind_name(*near) + " resonance at " +
                    fixed(near->hz, 1) + " Hz";
  if (near->order)
    out += " (" + std::to_string((*near->order)[0]) + ", " + std::to_string((*near->order)[1]) +
           ", " + std::to_string((*near->order)[2]) + ")";
  return out;
}

/// The surface whose reflection comes half a wavelength late at a dip.
std::string boundary_near(const Job& job, const Survey& survey, const SeatLevel& level, double hz) {
  Vec3 source{}, seat{};
  for (const Loudspeaker& one : job.loudspeakers)
    if (one.label == level.loudspeaker) source = metres_of(one.at);
  for (const Seat& one : job.seats)
    if (one.label == level.seat) seat = metres_of(one.at);
  std::string best;
  double nearest = 0.08;
  for (int surface = 0; surface < acoustics::surface_count(job.room); ++surface) {
    const auto plane = acoustics::surface_plane(job.room, surface);
    const double off_m = plane.distance(source);
    const Vec3 image = plane.mirror(source);
    const double late_m = length(image - seat) - length(source - seat);
    const double cancels_hz = survey.air.sound_speed_m_s / (2 * late_m);
    if (std::abs(cancels_hz / hz - 1) > nearest) continue;
    nearest = std::abs(cancels_hz / hz - 1);
    best = "the reflection by " + acoustics::surface_name(job.room, surface) + ", " +
           fixed(std::abs(off_m), 2) + " m from the loudspeaker, comes half a wavelength late";
  }
  return best;
}

struct Extremes {
  std::size_t peak = 0, dip = 0;
};
Extremes extremes_of(const SeatLevel& level) {
  const auto [low, high] = std::minmax_element(level.level_db.begin() + 5, level.level_db.end());
  return {static_cast<std::size_t>(high - level.level_db.begin()),
          static_cast<std::size_t>(low - level.level_db.begin())};
}

double swing_db(const SeatLevel& level) {
  const Extremes at = extremes_of(level);
  return level.level_db[at.peak] - level.level_db[at.dip];
}

}  // namespace

acoustics::ResponseRequest wave_request(const Job& job, const Survey& survey,
                                        const Treatment* treatment, const std::vector<double>& hz) {
  acoustics::ResponseRequest request;
  request.room = job.room;
  request.sound_speed_m_s = survey.air.sound_speed_m_s;
  request.density_kg_m3 = survey.air.density_kg_m3;
  request.frequencies_hz = hz;
  request.surfaces = surfaces_of(job, hz);
  if (treatment) request.patches = patches_of(job, *treatment, survey.air, hz);
  return request;
}

BassField bass_today(const Job& job, const Survey& survey) {
  return field(job, survey, nullptr);
}

BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment) {
  return field(job, survey, &treatment);
}

void say_bass(const Job& job, const Survey& survey, Findings& found) {
  if (found.bass.levels.empty()) return;
  for (std::size_t i = 1; i < found.bass.levels.size(); ++i)
    if (swing_db(found.bass.levels[i]) > swing_db(found.bass.levels[found.bass.worst]))
      found.bass.worst = i;
  const SeatLevel* worst = &found.bass.levels[found.bass.worst];
  const Extremes at = extremes_of(*worst);
  const double peak_hz = found.bass.hz[at.peak], dip_hz = found.bass.hz[at.dip];
  const std::string peak = mode_near(found, peak_hz);
  const std::string dip = boundary_near(job, survey, *worst, dip_hz);
  std::string cause = peak.empty() ? std::string() : "peak: " + peak;
  if (!dip.empty()) cause += (cause.empty() ? "" : "; ") + ("dip: " + dip);
  found.statements.push_back(
      {swing_db(*worst) > 20 ? 65 : 35, "bass",
       "At " + worst->seat + " the bass of loudspeaker " + worst->loudspeaker + " stands " +
           fixed(worst->level_db[at.peak], 0) + " dB above its direct sound near " +
           fixed(peak_hz, 0) + " Hz and " + fixed(-worst->level_db[at.dip], 0) +
           " dB below it near " + fixed(dip_hz, 0) + " Hz.",
       cause, "deep traps where that resonance is strong; try loudspeaker and seat elsewhere"});
}

void say_bass_change(const Findings& found, Treatment& treatment) {
  if (found.bass.levels.empty() || treatment.bass.levels.empty()) return;
  treatment.bass.worst = found.bass.worst;
  const SeatLevel* before = &found.bass.levels[found.bass.worst];
  const SeatLevel& after = treatment.bass.levels[found.bass.worst];
  const Extremes at = extremes_of(*before);
  treatment.statements.push_back(
      {0, "bass",
       "At " + after.seat + " the bass of loudspeaker " + after.loudspeaker + " near " +
           fixed(found.bass.hz[at.peak], 0) + " Hz goes from " +
           fixed(before->level_db[at.peak], 1) + " to " + fixed(after.level_db[at.peak], 1) +
           " dB; from 25 to 200 Hz it swings by " + fixed(swing_db(after), 0) + " dB instead of " +
           fixed(swing_db(*before), 0) + ". Counted are the " +
           std::to_string(treatment.bass.patches) +
           " pieces that lie flat on walls and ceiling, not corner traps and clouds.",
       "", ""});
}

}  // namespace roomwright::job
