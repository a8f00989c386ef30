// The job's room for rays and for the waves below them; see scene.h.
#include "job/stages/scene.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/field/field.h"
#include "acoustics/materials/materials.h"
#include "core/geometry/geometry.h"
#include "job/stages/boundary.h"
#include "job/stages/field.h"
#include "job/stages/pieces.h"

namespace roomwright::job {

namespace {

/// A loudspeaker's box as a sphere, and the piston that beams: common practice, no source.
constexpr double speaker_sphere_m = 0.13, speaker_piston_m = 0.02;
/// What a piece scatters of what it reflects: common practice, no source.
constexpr double piece_scattering = 0.15, diffuser_scattering = 0.7;
constexpr double point_gap_m = 0.06;  // the tracer wants 50 mm
constexpr double panel_m = 0.01;      // the face of a trap as a thin box
constexpr double dear_crossover_hz = 120, dear_period_s = 2;
constexpr double longest_period_s = 8, wanted_wrap_db = -60;
constexpr double box_margin_m = 2e-3;  // so that a box does not reach through a wall

acoustics::Finish finish_of(const std::string& key) {
  const auto* material = acoustics::find_surface_material(key);
  RW_ASSERT(material);
  return {{material->absorption.begin(), material->absorption.end()}, {material->scattering}};
}

/// A piece's absorbing area over the area that it has in the scene.
acoustics::Finish finish_of(const PieceRow& piece, const design::Product& product, double area_m2) {
  acoustics::Finish out;
  out.absorption.clear();
  for (const double absorbing_m2 : piece.likely_m2)
    out.absorption.push_back(std::clamp(absorbing_m2 / area_m2, 0.0, acoustics::log_cap));
  out.scattering = {product.spec.kind == design::Kind::diffuser ? diffuser_scattering
                                                                : piece_scattering};
  return out;
}

// ---- points ---------------------------------------------------------------------------------

/// Away from each surface that is too near. Moved points are told.
Vec3 clear_of_surfaces(const acoustics::Room& room, Vec3 at, const std::string& what,
                       std::vector<std::string>& notes) {
  const Vec3 before = at;
  for (int surface = 0; surface < acoustics::surface_count(room); ++surface) {
    const auto plane = acoustics::surface_plane(room, surface);
    const double gap = plane.distance(at);
    const Vec3 there = at + plane.normal * (point_gap_m - gap);
    if (gap >= 0 && gap < point_gap_m && acoustics::contains(room, there)) at = there;
  }
  if (length(at - before) > 1e-9)
    notes.push_back(what + " was moved by " + fixed(1000 * length(at - before), 0) +
                    " mm, away from a surface that it nearly touches");
  return at;
}

double gap_m(const acoustics::TracedBox& box, Vec3 at) {
  const double turn = box.turn_deg * std::numbers::pi / 180;
  const Vec2 off = Vec2{at.x, at.y} - box.middle_m;
  const double x = std::abs(off.x * std::cos(turn) + off.y * std::sin(turn)) - box.size_m.x / 2;
  const double y = std::abs(off.y * std::cos(turn) - off.x * std::sin(turn)) - box.size_m.y / 2;
  const double z = std::max(box.low_m - at.z, at.z - box.high_m);
  return std::hypot(std::max(x, 0.0), std::max(y, 0.0), std::max(z, 0.0));
}

bool inside_room(const acoustics::Room& room, const acoustics::TracedBox& box) {
  const double turn = box.turn_deg * std::numbers::pi / 180;
  for (const double i : {-0.5, 0.5})
    for (const double k : {-0.5, 0.5}) {
      const double x = i * box.size_m.x, y = k * box.size_m.y;
      const Vec2 corner = box.middle_m + Vec2{x * std::cos(turn) - y * std::sin(turn),
                                              x * std::sin(turn) + y * std::cos(turn)};
      if (!contains(room.plan_m, corner, 1e-6) || box.high_m > room.ceiling_at(corner) + 1e-6)
        return false;
    }
  return box.low_m >= -1e-6;
}

void add_box(acoustics::TracedBox box, const std::string& what, RayScene& out) {
  bool fits = out.scene.boxes.size() < acoustics::most_traced_boxes &&
              box.high_m - box.low_m >= 1e-3 && inside_room(out.scene.room, box);
  for (const auto& source : out.scene.sources) fits = fits && gap_m(box, source.at_m) > point_gap_m;
  for (const Vec3& receiver : out.scene.receivers_m)
    fits = fits && gap_m(box, receiver) > point_gap_m;
  if (fits)
    out.scene.boxes.push_back(std::move(box));
  else
    out.notes.push_back(what +
                        " is left out of the rays' room: it reaches out of it, or too near "
                        "a loudspeaker or a seat");
}

void add_patch(const acoustics::Patch& patch, acoustics::Finish finish, const std::string& what,
               RayScene& out) {
  out.scene.patches.push_back(patch);
  if (acoustics::check_patches(out.scene.room, out.scene.patches, "").empty()) {
    out.scene.patch_finishes.push_back(std::move(finish));
    return;
  }
  out.scene.patches.pop_back();
  out.notes.push_back(what + " is left out of the rays' room: something else is in its place");
}

// ---- pieces -----------------------------------------------------------------------------------

acoustics::TracedBox cloud_box(const Job& job, const PieceRow& piece,
                               const design::Product& product) {
  const design::Footprint& foot = piece.placement.footprints[0];
  acoustics::TracedBox box;
  box.middle_m = (foot.from_m + foot.to_m) * 0.5;
  box.size_m = foot.to_m - foot.from_m;
  double lowest_ceiling = job.room.ceiling_at(foot.from_m);
  for (const Vec2 at :
       {foot.to_m, Vec2{foot.from_m.x, foot.to_m.y}, Vec2{foot.to_m.x, foot.from_m.y}})
    lowest_ceiling = std::min(lowest_ceiling, job.room.ceiling_at(at));
  box.low_m = lowest_ceiling - piece.placement.protrudes_m;
  box.high_m = std::min(box.low_m + product.depth.metres(), lowest_ceiling - box_margin_m);
  const double x = box.size_m.x, y = box.size_m.y, z = box.high_m - box.low_m;
  box.finish = finish_of(piece, product, 2 * (x * y + x * z + y * z));
  return box;
}

/// A trap across a corner as an upright box: one that straddles it with its own depth, one that
/// fills it as a thin panel in place of its face, narrowed so that its back stays in the corner.
acoustics::TracedBox trap_box(const PieceRow& piece, const design::Product& product) {
  const auto& face = piece.placement.face_m;
  const Vec2 left{face[0].x, face[0].y}, right{face[1].x, face[1].y};
  const Vec2 along = (right - left) * (1 / length(right - left));
  const Vec2 to_corner{-along.y, along.x};
  const bool straddles = product.spec.kind == design::Kind::straddling_trap;
  const double depth = straddles ? product.depth.metres() - box_margin_m : panel_m;
  const double opening = piece.placement.corner_angle_deg / 2 * std::numbers::pi / 180;
  const double narrowed = straddles ? 0 : 2 * (depth + box_margin_m) * std::tan(opening);
  acoustics::TracedBox box;
  box.middle_m = (left + right) * 0.5 + to_corner * (depth / 2);
  box.size_m = {length(right - left) - narrowed, depth};
  box.turn_deg = std::atan2(along.y, along.x) * 180 / std::numbers::pi;
  box.low_m = std::max(0.0, face[0].z);
  box.high_m = face[2].z;
  const double round_it = box.size_m.x + (straddles ? 2 * depth : 0);
  box.finish = finish_of(piece, product, round_it * (box.high_m - box.low_m));
  return box;
}

/// A screen as an upright box without its feet.
acoustics::TracedBox screen_box(const PieceRow& piece, const design::Product& product,
                                bool turned) {
  const design::Footprint& foot = piece.placement.footprints[0];
  acoustics::TracedBox box;
  box.middle_m = (foot.from_m + foot.to_m) * 0.5;
  const double wide = product.width.metres(), deep = product.frame_depth.metres();
  box.size_m = turned ? Vec2{deep, wide} : Vec2{wide, deep};
  box.low_m = 0;
  box.high_m = product.height.metres();
  box.finish = finish_of(piece, product, 2 * (wide + deep) * box.high_m);
  return box;
}

void add_pieces(const Job& job, const Treatment& treatment, RayScene& out) {
  for (std::size_t i = 0; i < treatment.pieces.size(); ++i) {
    const PieceRow& piece = treatment.pieces[i];
    const design::Product& product = product_of(job, treatment, job.pieces[i]);
    const std::string what = "Piece " + piece.label;
    if (!piece.placement.ok()) {
      out.notes.push_back(what + " cannot hang where it is drawn, and is left out");
      continue;
    }
    if (product.spec.kind == design::Kind::ceiling_cloud) {
      add_box(cloud_box(job, piece, product), what, out);
    } else if (product.spec.kind == design::Kind::free_screen) {
      add_box(screen_box(piece, product, job.pieces[i].turned), what, out);
    } else if (piece.placement.footprints.size() == 1) {
      const design::Footprint& foot = piece.placement.footprints[0];
      const Vec2 size = foot.to_m - foot.from_m;
      add_patch({foot.surface, foot.from_m, foot.to_m}, finish_of(piece, product, size.x * size.y),
                what, out);
    } else {
      add_box(trap_box(piece, product), what, out);
    }
  }
}

// ---- the room as it is ------------------------------------------------------------------------

void add_room(const Job& job, bool treated, RayScene& out) {
  for (const std::string& key : job.finish) out.scene.surfaces.push_back(finish_of(key));
  for (const Feature& feature : job.features) {
    if (feature.material.empty() || (treated && is_plugged(job, feature))) continue;
    add_patch({feature.surface,
               {feature.from_u.metres(), feature.from_v.metres()},
               {feature.to_u.metres(), feature.to_v.metres()}},
              finish_of(feature.material), feature.label, out);
  }
  for (const Furniture& thing : job.furniture) {
    acoustics::TracedBox box;
    const Vec2 from{thing.from_x.metres(), thing.from_y.metres()};
    const Vec2 to{thing.to_x.metres(), thing.to_y.metres()};
    box.middle_m = (from + to) * 0.5;
    box.size_m = to - from;
    box.low_m = thing.from_z.metres();
    box.high_m = thing.to_z.metres();
    box.finish = finish_of(thing.material);
    add_box(std::move(box), thing.label, out);
  }
}

void add_loudspeakers(const Job& job, RayScene& out) {
  const auto beam = acoustics::piston_in_sphere(speaker_sphere_m, speaker_piston_m, out.band_hz,
                                                out.scene.sound_speed_m_s);
  for (const Loudspeaker& speaker : job.loudspeakers) {
    acoustics::TracedSource source;
    source.at_m = clear_of_surfaces(job.room, metres_of(speaker.at), "Loudspeaker " + speaker.label,
                                    out.notes);
    out.evened.emplace_back(out.band_hz.size(), 1.0);
    if (!speaker.subwoofer && !job.seats.empty()) {
      source.directivity.kind = acoustics::Directivity::Kind::table;
      source.directivity.axis = metres_of(job.seats[0].at) - source.at_m;
      source.directivity.level_db = beam.level_db;
      for (std::size_t band = 0; band < out.band_hz.size(); ++band)
        out.evened.back()[band] = 1 / beam.axis_gain[band];
    }
    out.scene.sources.push_back(std::move(source));
  }
}

}  // namespace

RayScene ray_scene(const Job& job, const Survey& survey, const Treatment* treatment,
                   const std::vector<Vec3>& receivers_m) {
  RayScene out;
  out.scene.room = job.room;
  out.scene.bands = acoustics::octave_bands().size();
  out.scene.sound_speed_m_s = survey.air.sound_speed_m_s;
  for (const auto& band : acoustics::octave_bands()) {
    out.band_hz.push_back(band.centre_hz);
    out.scene.air_energy_1_m.push_back(
        acoustics::energy_attenuation_per_m(survey.air, band.centre_hz));
  }
  add_loudspeakers(job, out);
  for (const Vec3& receiver : receivers_m)
    out.scene.receivers_m.push_back(
        clear_of_surfaces(job.room, receiver, "A point at a seat", out.notes));
  add_room(job, treatment != nullptr, out);
  if (treatment) add_pieces(job, *treatment, out);
  return out;
}

double crossover_hz(const Findings& findings, const Treatment* treatment) {
  const double schroeder = treatment ? treatment->schroeder_after_hz : findings.schroeder_hz;
  return std::clamp(schroeder, 120.0, 400.0);
}

namespace {

/// The loudest that any pair's period has left at its end.
double left_over_db(const SeatWaves& waves) {
  double out = -300;
  acoustics::ImpulseOptions options;
  options.crossover_hz = waves.crossover_hz;
  options.seconds = 0.01;
  for (const auto& source : waves.parts)
    for (const acoustics::WavePart& part : source)
      if (const auto impulse = acoustics::impulse_response(part, {}, options))
        out = std::max(out, impulse->wrap_db);
  return out;
}

}  // namespace

namespace {

/// The request's patches and bodies that are pieces; openings come first among the patches.
std::size_t pieces_in(const Job& job, const acoustics::ResponseRequest& request) {
  const auto openings =
      std::count_if(job.features.begin(), job.features.end(),
                    [](const Feature& feature) { return !feature.material.empty(); });
  return request.patches.size() + request.objects.size() - std::size_t(openings);
}

}  // namespace

SeatWaves seat_waves(const Job& job, const Survey& survey, const Findings& findings,
                     const Treatment* treatment, const std::vector<Vec3>& receivers_m,
                     const RayOptions& options) {
  SeatWaves out;
  out.crossover_hz = crossover_hz(findings, treatment);
  // Where a frequency is dear the waves reach less far up, and their period is not lengthened.
  const auto asked = field_request(job, survey, treatment, {100});
  const bool dear = !survey.box || !asked.objects.empty();
  if (dear) out.crossover_hz = std::min(out.crossover_hz, dear_crossover_hz);
  const auto& rows = treatment ? treatment->after : findings.decay;
  const double ringing_s = std::max(rows[0].high_s, rows[1].high_s);
  acoustics::ResponseOptions solver;
  solver.threads = options.threads;
  // Single modes ring longer than the octave says: where one does, the period is made to fit it.
  double period_s = std::clamp(1.5 * ringing_s, 0.4, dear ? dear_period_s : longest_period_s / 2);
  for (int turn = 0;; ++turn) {
    const auto grid = acoustics::wave_grid(acoustics::least_response_hz,
                                           out.crossover_hz * std::numbers::sqrt2 * 1.02, period_s);
    acoustics::ResponseRequest request = field_request(job, survey, treatment, grid.hz);
    for (const Loudspeaker& speaker : job.loudspeakers)
      request.sources.push_back({metres_of(speaker.at), 1});
    request.receivers_m = receivers_m;
    const std::size_t counted = pieces_in(job, request);
    auto parts = acoustics::wave_parts(std::move(request), grid, solver, options.watch);
    if (!parts) {
      out.crossover_hz = 0;
      out.note = "Rays alone, down to the lowest octave: the waves of this room are not solved (" +
                 parts.mistakes().items()[0].sentence() + ").";
      return out;
    }
    out.parts = std::move(*parts);
    if (treatment && counted < treatment->pieces.size())
      out.note = "In the waves are " + std::to_string(counted) + " of the " +
                 std::to_string(treatment->pieces.size()) +
                 " pieces; the others are in the rays alone.";
    const double left_db = left_over_db(out);
    if (left_db <= wanted_wrap_db || turn == 2 || period_s >= longest_period_s || dear) return out;
    const double longer = std::clamp(1.1 * wanted_wrap_db / std::min(left_db, -20.0), 1.2, 2.5);
    period_s = std::min(period_s * longer, longest_period_s);
  }
}

}  // namespace roomwright::job
