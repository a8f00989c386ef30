// Findings: modes, decay, first reflections, flutter, each held against a target where one is
// published; then plain sentences, worst first.
#include <algorithm>
#include <cmath>

#include "job/stages/bass.h"
#include "job/stages/boundary.h"
#include "job/stages/doubt.h"
#include "job/stages/ringing.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

std::string one_decimal(double value) {
  return fixed(value, 1);
}

// ---- modes ----------------------------------------------------------------------------------

/// As high as the solver's limits allow for this room, at most 200 Hz.
void find_modes(const Job& job, const Survey& survey, Findings& out) {
  std::string refused;
  for (const double to_hz : {200.0, 150.0, 100.0, 60.0}) {
    const auto report = acoustics::modes(job.room, survey.air.sound_speed_m_s, to_hz);
    if (report) {
      out.modes = report->modes;
      out.modes_to_hz = to_hz;
      out.modes_note = "Modes to " + fixed(to_hz, 0) + " Hz: " + report->method + ".";
      return;
    }
    refused = report.mistakes().items()[0].what;
  }
  out.modes_note = "The modes of this room are not told: " + refused + ".";
}

void judge_modes(Findings& out) {
  for (const auto& band : acoustics::modes_per_third(out.modes))
    out.modes_per_third.push_back(band.modes);
  for (std::size_t i = 1; i < out.modes.size(); ++i) {
    const double from = out.modes[i - 1].hz, to = out.modes[i].hz;
    if (to <= 150 && to - from > 8 && to / from > 1.12) out.gaps.push_back({from, to});
    if (to <= 120 && to / from < 1.02) {
      if (!out.stacks.empty() && out.stacks.back().back() == from)
        out.stacks.back().push_back(to);
      else
        out.stacks.push_back({from, to});
    }
  }
}

void say_modes(Findings& out) {
  if (out.modes.empty()) {
    out.statements.push_back({10, "modes", out.modes_note, "", ""});
    return;
  }
  std::string text =
      "The lowest resonance of the room is at " + one_decimal(out.modes[0].hz) + " Hz";
  const auto widest = std::max_element(
      out.gaps.begin(), out.gaps.end(),
      [](const ModeGap& a, const ModeGap& b) { return a.to_hz / a.from_hz < b.to_hz / b.from_hz; });
  if (widest == out.gaps.end()) {
    out.statements.push_back(
        {0, "modes", text + "; they follow each other without a wide gap.", "", ""});
    return;
  }
  out.statements.push_back(
      {35, "modes",
       text + "; between " + one_decimal(widest->from_hz) + " and " + one_decimal(widest->to_hz) +
           " Hz it has none, so notes there sound weaker.",
       "the room's own sizes",
       "move loudspeakers and seat before building; traps smooth, they do not fill"});
  if (!out.stacks.empty())
    out.statements.push_back({30, "modes",
                              std::to_string(out.stacks[0].size()) +
                                  " resonances fall together near " +
                                  one_decimal(out.stacks[0][0]) + " Hz and will stand out.",
                              "sizes of the room that are near multiples of each other",
                              "put the deepest traps where that resonance is strong: the corners"});
}

// ---- decay ----------------------------------------------------------------------------------

void say_decay(const Findings& found, std::vector<Statement>& out) {
  const DecayRow* worst = nullptr;
  double worst_by = 1;
  for (const DecayRow& row : found.decay) {
    if (!row.target_high_s || row.verdict != "above") continue;
    const double by = row.likely_s / *row.target_high_s;
    if (by > worst_by) worst = &row, worst_by = by;
  }
  const bool published = found.corridor.trust == acoustics::TargetTrust::published;
  if (worst)
    out.push_back(
        {static_cast<int>(std::min(95.0, 40 + 15 * worst_by)), "decay",
         "At " + band_name(worst->hz) + " the room rings for " + fixed(worst->likely_s, 2) +
             " s, where " + fixed(*worst->target_high_s, 2) + " s is the most that is wanted.",
         "hard surfaces: nothing takes up the sound in that band", "absorbing area in that band"});
  const auto above = std::count_if(found.decay.begin(), found.decay.end(),
                                   [](const DecayRow& row) { return row.verdict == "above"; });
  if (!worst)
    out.push_back({0, "decay", "No band rings longer than is wanted for this use.", "", ""});
  else if (above > 1)
    out.push_back({40, "decay",
                   std::to_string(above) + " of " + std::to_string(found.decay.size()) +
                       " octaves ring longer than wanted.",
                   "", ""});
  for (const std::string& reason : found.corridor.outside)
    out.push_back({15, "target", "The target was not written for this room: " + reason + ".",
                   published ? "small rooms lie outside the published standards" : "",
                   "use it as a direction"});
}

// ---- reflections ----------------------------------------------------------------------------

acoustics::ReflectingBoundary upper_boundary(const Job& job) {
  acoustics::ReflectingBoundary out;
  for (const std::string& key : job.finish)
    out.surface_absorption.push_back(upper_mean(acoustics::find_surface_material(key)->absorption));
  for (const Feature& feature : job.features) {
    if (feature.material.empty()) continue;
    out.patches.push_back({feature.surface,
                           {feature.from_u.metres(), feature.from_v.metres()},
                           {feature.to_u.metres(), feature.to_v.metres()}});
    out.patch_absorption.push_back(
        upper_mean(acoustics::find_surface_material(feature.material)->absorption));
  }
  return out;
}

void find_paths(const Job& job, const Survey& survey, Findings& out) {
  const acoustics::ReflectingBoundary boundary = upper_boundary(job);
  for (const Loudspeaker& speaker : job.loudspeakers) {
    if (speaker.subwoofer) continue;
    for (const Seat& seat : job.seats) {
      const auto report =
          acoustics::image_paths(job.room, metres_of(speaker.at), metres_of(seat.at),
                                 survey.air.sound_speed_m_s, boundary, {});
      if (!report) continue;
      if (!report->direct_clear)
        out.statements.push_back(
            {70, "placing",
             "A wall stands between loudspeaker " + speaker.label + " and " + seat.label + ".",
             "the plan", "move one of them"});
      for (const auto& path : report->paths)
        out.paths.push_back({speaker.label, seat.label,
                             acoustics::surface_name(job.room, path.surfaces[0]), path.delay_ms,
                             path.level_db, path.points_m[0],
                             path.delay_ms <= acoustics::early_window_ms &&
                                 path.level_db > acoustics::early_level_db,
                             "", std::nullopt});
    }
  }
}

void say_paths(const Findings& found, std::vector<Statement>& out) {
  const PathRow* worst = nullptr;
  int count = 0;
  for (const PathRow& path : found.paths) {
    if (!path.counts) continue;
    ++count;
    if (!worst || path.level_db > worst->level_db) worst = &path;
  }
  if (!worst) {
    out.push_back({0, "reflection",
                   "No first reflection within 15 ms is louder than 10 dB below the direct sound.",
                   "", ""});
    return;
  }
  out.push_back(
      {50 + std::min(20, count), "reflection",
       std::to_string(count) +
           " first reflections arrive within 15 ms and above −10 dB; the loudest comes by " +
           worst->surface + " from loudspeaker " + worst->loudspeaker + " to " + worst->seat +
           ", " + fixed(worst->delay_ms, 1) + " ms late and " + fixed(-worst->level_db, 1) +
           " dB below the direct sound.",
       "bare surfaces near loudspeaker and seat", "an absorbing panel at the point of reflection"});
}

// ---- flutter --------------------------------------------------------------------------------

double middle_mean(const acoustics::OctaveSpectrum& a) {
  return (a[3] + a[4] + a[5] + a[6]) / 4;
}

void find_flutter(const Job& job, const Survey& survey, Findings& out) {
  for (const acoustics::FacingPair& pair : acoustics::facing_pairs(job.room)) {
    FlutterRow row;
    row.first = acoustics::surface_name(job.room, pair.first);
    row.second = acoustics::surface_name(job.room, pair.second);
    row.distance_m = pair.distance_m;
    row.overlap_m2 = pair.overlap_m2;
    row.rate_hz = survey.air.sound_speed_m_s / (2 * pair.distance_m);
    const auto absorption = [&](int surface) {
      return middle_mean(
          acoustics::find_surface_material(job.finish[static_cast<std::size_t>(surface)])
              ->absorption);
    };
    row.absorption = (absorption(pair.first) + absorption(pair.second)) / 2;
    // Common practice, no source: two hard, parallel surfaces of some size.
    row.likely = row.absorption < 0.15 && row.overlap_m2 > 1.5;
    out.flutter.push_back(row);
  }
}

void say_flutter(const Findings& found, const Units& units, std::vector<Statement>& out) {
  const FlutterRow* worst = nullptr;
  int count = 0;
  for (const FlutterRow& row : found.flutter) {
    count += row.likely;
    if (row.likely && (!worst || row.overlap_m2 > worst->overlap_m2)) worst = &row;
  }
  if (!worst) return;
  out.push_back(
      {45, "flutter",
       "A clap will flutter between " + worst->first + " and " + worst->second + ", " +
           print_room_length(worst->distance_m, units) + " apart, " + fixed(worst->rate_hz, 0) +
           " times a second" +
           (count > 1 ? ", and between " + std::to_string(count - 1) + " more pairs." : "."),
       "parallel hard surfaces that face each other", "cover a part of one of each pair"});
}

// ---- proportions ----------------------------------------------------------------------------

void say_proportions(const Job& job, const Survey& survey, std::vector<Statement>& out) {
  if (!survey.box || (job.use != acoustics::Use::mixing && job.use != acoustics::Use::listening))
    return;
  const Vec3 size = acoustics::box_size_m(job.room);
  const auto rule =
      acoustics::proportions(std::max(size.x, size.y), std::min(size.x, size.y), size.z);
  if (rule.good()) return;
  std::string near;
  for (const std::string& name : rule.near_whole) near += (near.empty() ? "" : ", ") + name;
  out.push_back({25, "proportions",
                 "The room's proportions miss the rule for listening rooms" +
                     (near.empty() ? "." : ": " + near + " is within 5 % of a whole number."),
                 "the building (EBU Tech 3276 and ITU-R BS.1116-3, after R. Walker)", ""});
}

}  // namespace

Findings findings(const Job& job, const Survey& survey, const Run& run) {
  Findings out;
  out.corridor = acoustics::decay_corridor(job.use, survey.volume_m3, survey.floor_area_m2);
  out.decay = decay_rows(boundary_of(job), survey, out.corridor);
  out.decay_rule = acoustics::log_cap_rule() +
                   " The tables begin at 125 Hz: surface values at 63 Hz are extrapolated.";
  out.decay_doubt = decay_doubt(job, survey, nullptr, out.decay);
  out.schroeder_hz = acoustics::schroeder_hz(out.decay[3].likely_s, survey.volume_m3);
  find_modes(job, survey, out);
  judge_modes(out);
  find_paths(job, survey, out);
  find_flutter(job, survey, out);
  out.bass = bass_today(job, survey, run);
  out.ringing = ringing_of(job, survey, nullptr, run);
  say_modes(out);
  say_decay(out, out.statements);
  say_paths(out, out.statements);
  say_flutter(out, job.region.units, out.statements);
  say_bass(job, survey, out, run);
  say_ringing(out.ringing, out.statements);
  find_bass_doubt(job, survey, nullptr, out.bass.worst, out.bass, run);
  say_bass_doubt(out.bass, out.statements);
  say_decay_doubt(out.decay, out.decay_doubt, out.statements);
  say_proportions(job, survey, out.statements);
  out.statements.push_back(
      {5, "method",
       "Below " + fixed(out.schroeder_hz, 0) +
           " Hz single resonances rule, and decay formulas are only a direction there.",
       "Schroeder frequency of this room", ""});
  std::stable_sort(out.statements.begin(), out.statements.end(),
                   [](const Statement& a, const Statement& b) { return a.weight > b.weight; });
  out.not_done = {
      "Treatment changes the sound inside the room; it does not keep sound from the neighbours, "
      "nor theirs from you.",
      "It does not mend a loudspeaker, a noisy fan or a buzzing lamp.",
      "Reflections by the desk and other furniture are not traced here."};
  return out;
}

}  // namespace roomwright::job
