// Decay and clarity at each seat by ray tracing, with their statistical error; the octaves below
// the crossover by the wave field, where it is solved.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/field/field.h"
#include "core/numerics/numerics.h"
#include "job/stages/boundary.h"
#include "job/stages/scene.h"

namespace roomwright::job {

namespace {

/// Of an octave's filter: cos² over half an octave about each edge, so that it rings briefly.
double octave_share(const acoustics::Band& band, double hz) {
  if (hz <= 0) return 0;
  const auto rise = [](double octaves) {
    const double s = std::sin(std::numbers::pi / 2 * std::clamp(2 * octaves + 0.5, 0.0, 1.0));
    return s * s;
  };
  return rise(std::log2(hz / band.low_hz)) * rise(std::log2(band.high_hz / hz));
}

/// An octave of an impulse response as energy by sample.
std::vector<double> octave_energy(const std::vector<double>& samples, const acoustics::Band& band) {
  std::vector<double> padded = samples;
  padded.resize(quick_length(samples.size() + samples.size() / 4 + 2));
  Complexes spectrum = spectrum_of(padded);
  const double step = double(acoustics::impulse_rate_hz) / double(padded.size());
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    spectrum[k] *= octave_share(band, double(k) * step);
  auto out = samples_of(spectrum);
  out.resize(samples.size());
  for (double& value : out) value *= value;
  return out;
}

/// Least squares on the backward integral between two levels.
acoustics::TracedValue decay_time(const std::vector<double>& left, double from_db, double to_db) {
  double n = 0, t = 0, l = 0, tt = 0, tl = 0;
  for (std::size_t i = 0; i < left.size(); ++i) {
    const double level = acoustics::energy_db(left[i] / left[0]);
    if (level > from_db) continue;
    if (level < to_db) {
      if (n < 3) break;
      return {-60 / ((n * tl - t * l) / (n * tt - t * t)), 0, "by the wave field"};
    }
    const double time_s = double(i) / acoustics::impulse_rate_hz;
    n += 1, t += time_s, l += level, tt += time_s * time_s, tl += time_s * level;
  }
  return {{}, 0, "the waves' period is too short for this decay"};
}

/// EDT and T20 of one octave from the low part of an impulse response, where its filter rings
/// shorter than the room.
void decay_from_waves(const std::vector<double>& low, const acoustics::Band& band, double arrival_s,
                      SeatRayRow& row) {
  // Source: ISO 3382-2:2008, 7.3: bandwidth times T above 16 (from memory)
  constexpr double least_product = 16;
  std::vector<double> left = octave_energy(low, band);
  const auto arrival = static_cast<std::size_t>(arrival_s * acoustics::impulse_rate_hz);
  left.resize(left.size() * 7 / 8);  // behind it lies what filters ring before time 0
  left.erase(left.begin(), left.begin() + std::ptrdiff_t(std::min(arrival, left.size() - 1)));
  for (std::size_t i = left.size() - 1; i-- > 0;) left[i] += left[i + 1];
  const auto edt = decay_time(left, 0, -10), t20 = decay_time(left, -5, -25);
  if (!edt.value || !t20.value || *t20.value * (band.high_hz - band.low_hz) < least_product) return;
  row.edt_s = edt;
  row.t20_s = t20;
  row.from_waves = true;
}

SeatRayRow row_of(const acoustics::TracedBand& band, double nominal_hz) {
  SeatRayRow row;
  row.hz = nominal_hz;
  row.edt_s = band.edt_s;
  row.t20_s = band.t20_s;
  row.c50_db = band.c50_db;
  row.c80_db = band.c80_db;
  row.d50 = band.d50;
  return row;
}

std::string method_of(const SeatWaves& waves, double crossover) {
  if (waves.parts.empty())
    return "Every octave by rays." + (waves.note.empty() ? "" : " " + waves.note);
  return "EDT and T20 of the octaves wholly below " + fixed(crossover, 0) +
         " Hz are from the wave field, which has no statistical error; everything else is from "
         "rays." +
         (waves.note.empty() ? "" : " " + waves.note);
}

}  // namespace

Result<RaysAtSeats> rays_at_seats(const Job& job, const Survey& survey, const Findings& findings,
                                  const Treatment* treatment, const RayOptions& options) {
  RaysAtSeats out;
  if (job.loudspeakers.empty() || job.seats.empty()) {
    out.method = "There is no loudspeaker or no seat.";
    return out;
  }
  std::vector<Vec3> seats;
  for (const Seat& seat : job.seats) seats.push_back(metres_of(seat.at));
  const RayScene scene = ray_scene(job, survey, treatment, seats);
  acoustics::TraceOptions tracing;
  tracing.rays = options.rays;
  tracing.seed = options.seed;
  tracing.threads = options.threads;
  tracing.watch = options.watch;
  const auto report = acoustics::trace(scene.scene, tracing);
  if (!report) return report.mistakes();
  SeatWaves waves;
  if (options.waves) waves = seat_waves(job, survey, findings, treatment, seats, options);
  out.crossover_hz = waves.crossover_hz;
  for (const acoustics::TracedPair& pair : report->pairs) {
    SeatRays one{
        job.loudspeakers[pair.source].label, job.seats[pair.receiver].label, pair.direct_clear, {}};
    std::vector<double> low;
    if (!waves.parts.empty()) {
      acoustics::ImpulseOptions joined;
      joined.crossover_hz = waves.crossover_hz;
      auto impulse =
          acoustics::impulse_response(waves.parts[pair.source][pair.receiver], {}, joined);
      if (!impulse) return impulse.mistakes();
      low = std::move(impulse->low);
    }
    for (std::size_t band = 0; band < pair.bands.size(); ++band) {
      const auto& octave = acoustics::octave_bands()[band];
      one.rows.push_back(row_of(pair.bands[band], octave.nominal_hz));
      if (!low.empty() && octave.high_hz <= waves.crossover_hz)
        decay_from_waves(low, octave, pair.arrival_s, one.rows.back());
    }
    out.pairs.push_back(std::move(one));
  }
  out.rays = report->rays;
  out.rays_to_halve_error = report->rays_to_halve_error;
  out.method = method_of(waves, waves.crossover_hz);
  out.notes = scene.notes;
  return out;
}

}  // namespace roomwright::job
