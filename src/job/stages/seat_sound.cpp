// Early decay and clarity at the seats by rays, today and with the pieces; see seat_sound.h.
#include "job/stages/seat_sound.h"

#include <algorithm>
#include <cmath>

#include "job/stages/boundary.h"
#include "job/stages/kept_bytes.h"
#include "job/stages/scene.h"

namespace roomwright::job {

namespace {

/// To be raised whenever the tracer answers otherwise than before.
constexpr std::uint64_t tracer_version = 1;
constexpr int pack_rays = 20'000;

// ---- kept ---------------------------------------------------------------------------------------

void write_finish(const acoustics::Finish& finish, Writer& out) {
  out.list(finish.absorption), out.list(finish.scattering);
}

void write_sources(const std::vector<acoustics::TracedSource>& sources, Writer& out) {
  out.whole(sources.size());
  for (const auto& source : sources) {
    out.number(source.at_m);
    out.whole(static_cast<std::uint64_t>(source.directivity.kind));
    out.number(source.directivity.axis), out.number(source.directivity.order);
    out.whole(source.directivity.level_db.size());
    for (const auto& band : source.directivity.level_db) out.list(band);
  }
}

/// All that a trace depends on; `labels` stand in its answer.
std::string key_of(const acoustics::TracedScene& scene, const Job& job) {
  Writer out;
  out.text("rays");
  out.whole(tracer_version), out.whole(pack_rays);
  out.list(scene.room.plan_m);
  out.number(scene.room.height_m), out.number(scene.room.slope);
  out.whole(scene.bands);
  out.whole(scene.surfaces.size());
  for (const auto& finish : scene.surfaces) write_finish(finish, out);
  out.whole(scene.patches.size());
  for (std::size_t i = 0; i < scene.patches.size(); ++i) {
    out.whole(static_cast<std::uint64_t>(scene.patches[i].surface));
    out.number(scene.patches[i].from_m), out.number(scene.patches[i].to_m);
    write_finish(scene.patch_finishes[i], out);
  }
  out.whole(scene.boxes.size());
  for (const auto& box : scene.boxes) {
    out.number(box.middle_m), out.number(box.size_m), out.number(box.turn_deg);
    out.number(box.low_m), out.number(box.high_m);
    write_finish(box.finish, out);
  }
  write_sources(scene.sources, out);
  out.list(scene.receivers_m);
  out.number(scene.sound_speed_m_s);
  out.list(scene.air_energy_1_m);
  for (const Loudspeaker& speaker : job.loudspeakers) out.text(speaker.label);
  for (const Seat& seat : job.seats) out.text(seat.label);
  return out.take();
}

constexpr std::array figures{&SeatRayRow::edt_s, &SeatRayRow::t20_s, &SeatRayRow::c50_db,
                             &SeatRayRow::c80_db, &SeatRayRow::d50};

std::string value_of(const RaysAtSeats& rays) {
  Writer out;
  out.whole(static_cast<std::uint64_t>(rays.rays));
  out.whole(rays.pairs.size());
  for (const SeatRays& pair : rays.pairs) {
    out.whole(pair.direct_clear);
    out.whole(pair.rows.size());
    for (const SeatRayRow& row : pair.rows) {
      out.number(row.hz);
      for (const auto figure : figures) {
        const auto& value = row.*figure;
        out.whole(value.value.has_value());
        out.number(value.value.value_or(0)), out.number(value.standard_error);
        out.text(value.reason);
      }
    }
  }
  out.whole(rays.notes.size());
  for (const std::string& note : rays.notes) out.text(note);
  return out.take();
}

std::optional<RaysAtSeats> read_rays(const std::string& bytes, const Job& job) {
  Opener in(bytes);
  RaysAtSeats out;
  out.rays = static_cast<std::int64_t>(in.whole());
  out.pairs.resize(in.count(16));
  if (out.pairs.size() != job.loudspeakers.size() * job.seats.size()) return std::nullopt;
  for (std::size_t i = 0; i < out.pairs.size(); ++i) {
    SeatRays& pair = out.pairs[i];
    pair.loudspeaker = job.loudspeakers[i / job.seats.size()].label;
    pair.seat = job.seats[i % job.seats.size()].label;
    pair.direct_clear = in.whole() != 0;
    pair.rows.resize(in.count(8));
    for (SeatRayRow& row : pair.rows) {
      row.hz = in.number();
      for (const auto figure : figures) {
        auto& value = row.*figure;
        const bool has = in.whole() != 0;
        const double number = in.number();
        if (has) value.value = number;
        value.standard_error = in.number();
        value.reason = in.text();
      }
    }
  }
  out.notes.resize(in.count(8));
  for (std::string& note : out.notes) note = in.text();
  if (!in.good || !in.at_end()) return std::nullopt;
  return out;
}

Result<RaysAtSeats> kept_rays(const Job& job, const Survey& survey, const Findings& findings,
                              const Treatment* treatment, const Run& run) {
  std::string key;
  if (run.keep.find) {
    std::vector<Vec3> seats;
    for (const Seat& seat : job.seats) seats.push_back(metres_of(seat.at));
    key = key_of(ray_scene(job, survey, treatment, seats).scene, job);
    if (const auto bytes = run.keep.find(key))
      if (auto known = read_rays(*bytes, job)) return std::move(*known);
  }
  RayOptions options;
  options.rays = pack_rays;
  options.waves = false;
  options.watch = run.watch;
  auto rays = rays_at_seats(job, survey, findings, treatment, options);
  if (rays && run.keep.put) run.keep.put(key, value_of(*rays));
  return rays;
}

// ---- at a seat ----------------------------------------------------------------------------------

bool of_mains(const Job& job, const std::string& label) {
  const auto speaker = std::find_if(job.loudspeakers.begin(), job.loudspeakers.end(),
                                    [&](const Loudspeaker& one) { return one.label == label; });
  const bool only_subs = std::all_of(job.loudspeakers.begin(), job.loudspeakers.end(),
                                     [](const Loudspeaker& one) { return one.subwoofer; });
  return only_subs || !speaker->subwoofer;
}

/// Mean over the loudspeakers of one figure in one octave; none where one of them has none.
acoustics::TracedValue mean_at(const Job& job, const RaysAtSeats& rays, const std::string& seat,
                               std::size_t octave, acoustics::TracedValue SeatRayRow::*figure) {
  double sum = 0, squares = 0;
  int count = 0;
  for (const SeatRays& pair : rays.pairs) {
    if (pair.seat != seat || !of_mains(job, pair.loudspeaker)) continue;
    const auto& value = pair.rows[octave].*figure;
    if (!value.value) return value;
    sum += *value.value, squares += value.standard_error * value.standard_error;
    ++count;
  }
  return {sum / count, std::sqrt(squares) / count, ""};
}

SeatSoundRow row_at(const Job& job, const RaysAtSeats& rays, const std::string& seat,
                    std::size_t octave) {
  const auto mean = [&](acoustics::TracedValue SeatRayRow::*figure) {
    return mean_at(job, rays, seat, octave, figure);
  };
  return {mean(&SeatRayRow::edt_s), mean(&SeatRayRow::t20_s), mean(&SeatRayRow::c50_db),
          mean(&SeatRayRow::c80_db), mean(&SeatRayRow::d50)};
}

/// Mean of a figure over 500 Hz to 2 kHz, where it is told in all three.
std::optional<double> middle(const std::vector<SeatSoundRow>& rows,
                             acoustics::TracedValue SeatSoundRow::*figure) {
  double sum = 0;
  for (std::size_t octave = 3; octave < 6; ++octave) {
    if (!(rows[octave].*figure).value) return std::nullopt;
    sum += *(rows[octave].*figure).value;
  }
  return sum / 3;
}

void say_seat(const SeatSoundAt& at, std::vector<Statement>& out) {
  const auto edt_today = middle(at.today, &SeatSoundRow::edt_s);
  const auto edt_after = middle(at.treated, &SeatSoundRow::edt_s);
  const auto clear_today = middle(at.today, &SeatSoundRow::c50_db);
  const auto clear_after = middle(at.treated, &SeatSoundRow::c50_db);
  if (!edt_today || !edt_after || !clear_today || !clear_after) return;
  const double change = *clear_after - *clear_today;
  out.push_back({0, "seat",
                 "At " + at.seat +
                     ", between 500 Hz and 2 kHz, the sound first falls at a rate of " +
                     fixed(*edt_after, 2) + " s instead of " + fixed(*edt_today, 2) +
                     " s, and what arrives within 50 ms stands " + fixed(*clear_after, 0) +
                     " dB above the rest instead of " + fixed(*clear_today, 0) +
                     (change < 1 ? " dB: little is gained there." : " dB."),
                 "", ""});
}

}  // namespace

Result<SeatSound> seat_sound(const Job& job, const Survey& survey, const Findings& findings,
                             const Treatment& treatment, const Run& run) {
  SeatSound out;
  if (job.loudspeakers.empty() || job.seats.empty()) {
    out.note = "There is no loudspeaker or no seat.";
    return out;
  }
  if (!run.sound_field) {
    out.note = field_left_out;
    return out;
  }
  const auto today = kept_rays(job, survey, findings, nullptr, {run.watch.part(0, 0.5), run.keep});
  if (run.watch.cancelled()) return Complaint{"", "cancelled", {}, "", 0};
  const auto treated =
      today ? kept_rays(job, survey, findings, &treatment, {run.watch.part(0.5, 1), run.keep})
            : today;
  if (run.watch.cancelled()) return Complaint{"", "cancelled", {}, "", 0};
  if (!treated) {
    out.note = "Not traced by rays: " + treated.mistakes().items()[0].what + ".";
    return out;
  }
  for (const Seat& seat : job.seats) {
    SeatSoundAt at{seat.label, {}, {}};
    for (std::size_t octave = 0; octave < acoustics::octave_count; ++octave) {
      at.today.push_back(row_at(job, *today, seat.label, octave));
      at.treated.push_back(row_at(job, *treated, seat.label, octave));
    }
    if (!treatment.pieces.empty()) say_seat(at, out.statements);
    out.seats.push_back(std::move(at));
  }
  out.rays = treated->rays;
  out.notes = treated->notes;
  return out;
}

}  // namespace roomwright::job
