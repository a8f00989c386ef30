// Impulse responses of every loudspeaker at every seat, today and treated: two points in the air at
// each seat, waves below where they are solved, rays above.
#include <algorithm>
#include <cmath>

#include "acoustics/field/field.h"
#include "job/stages/boundary.h"
#include "job/stages/scene.h"

namespace roomwright::job {

namespace {

/// To the left and right of a seat, across the line to the middle of the loudspeakers.
std::array<Vec3, 2> points_at(const Job& job, const Seat& seat) {
  Vec3 middle;
  double count = 0;
  for (const Loudspeaker& speaker : job.loudspeakers)
    if (!speaker.subwoofer || job.loudspeakers.size() == 1) {
      middle = middle + metres_of(speaker.at);
      count += 1;
    }
  const Vec3 at = metres_of(seat.at);
  Vec3 facing = count > 0 ? middle * (1 / count) - at : Vec3{1, 0, 0};
  facing.z = 0;
  facing = length(facing) > 1e-3 ? normalised(facing) : Vec3{1, 0, 0};
  const Vec3 left{-facing.y, facing.x, 0};
  return {at + left * (listening_points_m / 2), at - left * (listening_points_m / 2)};
}

struct RoomImpulses {
  std::vector<std::array<std::vector<double>, 2>> samples;  ///< by loudspeaker, then seat
  double crossover_hz = 0, mismatch_db = 0, wrap_db = -300;
  std::vector<std::string> notes;
};

constexpr double most_wrap_db = -60;  // the impulse response warns above it

Watch part_of(const Watch& watch, double from, double to) {
  Watch out = watch;
  if (watch.progress)
    out.progress = [watch, from, to](double fraction, std::string_view doing) {
      watch.tick(from + (to - from) * fraction, doing);
    };
  return out;
}

/// Joins waves and rays of every pair; the second point's noise is as like the first's as in a
/// diffuse field.
Result<RoomImpulses> join(const acoustics::TraceReport& traced, const RayScene& scene,
                          const SeatWaves& waves, const RayOptions& options) {
  RoomImpulses out;
  out.crossover_hz = waves.crossover_hz;
  const std::size_t count = traced.pairs.size();
  std::vector<Result<acoustics::ImpulseReport>> joined(
      count, Complaint{"impulse", "was not made", {}, {}, 0});
  parallel_for(count, options.threads, [&](std::size_t i) {
    const acoustics::TracedPair& pair = traced.pairs[i];
    acoustics::ImpulseOptions how;
    how.crossover_hz = waves.crossover_hz;
    how.seed = options.seed * 100'003 + i;
    if (pair.receiver % 2 == 1)
      how.beside = {how.seed - 1, listening_points_m, scene.scene.sound_speed_m_s};
    std::optional<acoustics::WavePart> low;
    if (!waves.parts.empty()) low = waves.parts[pair.source][pair.receiver];
    joined[i] = acoustics::impulse_response(
        low, acoustics::RayPart{pair, traced.bin_s, scene.band_hz, scene.evened[pair.source]}, how);
  });
  out.samples.resize(count / 2);
  for (std::size_t i = 0; i < count; ++i) {
    if (!joined[i]) return joined[i].mistakes();
    if (std::abs(joined[i]->mismatch_db) > std::abs(out.mismatch_db))
      out.mismatch_db = joined[i]->mismatch_db;
    out.wrap_db = std::max(out.wrap_db, joined[i]->wrap_db);
    out.samples[i / 2][i % 2] = std::move(joined[i]->samples);
  }
  return out;
}

void say_doubts(const Job& job, const acoustics::TraceReport& traced, RoomImpulses& out) {
  if (out.wrap_db > most_wrap_db)
    out.notes.push_back("The room rings longer in the bass than the waves' period: its end, " +
                        fixed(-out.wrap_db, 0) + " dB down, sounds in the beginning");
  for (const acoustics::TracedPair& pair : traced.pairs)
    if (!pair.direct_clear && pair.receiver % 2 == 0)
      out.notes.push_back("Nothing comes straight from " + job.loudspeakers[pair.source].label +
                          " to " + job.seats[pair.receiver / 2].label +
                          " above the waves: something stands between");
}

Result<RoomImpulses> impulses_of(const Job& job, const Survey& survey, const Findings& findings,
                                 const Treatment* treatment, const std::vector<Vec3>& points,
                                 const RayOptions& options, double from) {
  const RayScene scene = ray_scene(job, survey, treatment, points);
  acoustics::TraceOptions tracing;
  tracing.rays = options.rays;
  tracing.seed = options.seed;
  tracing.threads = options.threads;
  tracing.watch = part_of(options.watch, from, from + 0.2);
  const auto traced = acoustics::trace(scene.scene, tracing);
  if (!traced) return traced.mistakes();
  RayOptions rest = options;
  rest.watch = part_of(options.watch, from + 0.2, from + 0.4);
  const SeatWaves waves = seat_waves(job, survey, findings, treatment, points, rest);
  if (options.watch.cancelled())
    return Complaint{"listening", "was cancelled", {}, "start it again", 0};
  options.watch.tick(from + 0.4, "joining waves and rays");
  auto out = join(*traced, scene, waves, options);
  if (!out) return out;
  out->notes = scene.notes;
  say_doubts(job, *traced, *out);
  if (!waves.note.empty()) out->notes.push_back(waves.note);
  return out;
}

}  // namespace

Result<Listening> listening(const Job& job, const Survey& survey, const Findings& findings,
                            const Treatment& treatment, const RayOptions& options) {
  Diagnostics found;
  if (job.loudspeakers.empty())
    found.add("loudspeakers", "are missing: nothing sounds", {}, "give the job a loudspeaker");
  if (job.seats.empty())
    found.add("seats", "are missing: nobody listens", {}, "give the job a seat");
  if (!found.empty()) return found;
  std::vector<Vec3> points;
  for (const Seat& seat : job.seats)
    for (const Vec3& point : points_at(job, seat)) points.push_back(point);
  auto today = impulses_of(job, survey, findings, nullptr, points, options, 0);
  if (!today) return today.mistakes();
  auto treated = impulses_of(job, survey, findings, &treatment, points, options, 0.5);
  if (!treated) return treated.mistakes();
  Listening out;
  out.crossover_today_hz = today->crossover_hz;
  out.crossover_treated_hz = treated->crossover_hz;
  out.mismatch_db = std::abs(today->mismatch_db) > std::abs(treated->mismatch_db)
                        ? today->mismatch_db
                        : treated->mismatch_db;
  for (std::size_t i = 0; i < today->samples.size(); ++i) {
    const Loudspeaker& speaker = job.loudspeakers[i / job.seats.size()];
    out.pairs.push_back({speaker.label, job.seats[i % job.seats.size()].label, speaker.subwoofer,
                         std::move(today->samples[i]), std::move(treated->samples[i])});
  }
  out.notes = today->notes;
  for (const std::string& note : treated->notes)
    if (std::find(out.notes.begin(), out.notes.end(), note) == out.notes.end())
      out.notes.push_back(note);
  return out;
}

}  // namespace roomwright::job
