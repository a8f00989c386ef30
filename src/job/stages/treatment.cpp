// Treatment: the products made, every piece placed and checked, the reflections they intercept, and
// the decay before and after with its doubt.
#include <algorithm>
#include <cmath>
#include <map>

#include "job/stages/bass.h"
#include "job/stages/boundary.h"
#include "job/stages/doubt.h"
#include "job/stages/pieces.h"
#include "job/stages/ringing.h"
#include "job/stages/seat_sound.h"
#include "job/stages/treated.h"

namespace roomwright::job {

namespace {

constexpr double cloth_matters = 0.05;  // of the absorption: less is not heard

std::vector<design::KeepOut> keep_outs_of(const Job& job) {
  std::vector<design::KeepOut> out;
  for (const Feature& feature : job.features)
    out.push_back({feature.label,
                   feature.surface,
                   {feature.from_u.metres(), feature.from_v.metres()},
                   {feature.to_u.metres(), feature.to_v.metres()},
                   feature.keep_clear.metres()});
  return out;
}

std::vector<design::Obstacle> obstacles_of(const Job& job) {
  std::vector<design::Obstacle> out;
  for (const Furniture& thing : job.furniture)
    out.push_back({thing.label,
                   {thing.from_x.metres(), thing.from_y.metres(), thing.from_z.metres()},
                   {thing.to_x.metres(), thing.to_y.metres(), thing.to_z.metres()}});
  return out;
}

/// The job's places are people's: from the left-hand corner as one faces the wall. u runs the other
/// way on walls.
design::PlacementRequest request_of(const Job& job, const Treatment& treatment,
                                    const Piece& piece) {
  const design::Product& product = product_of(job, treatment, piece);
  design::PlacementRequest request;
  request.label = piece.label;
  request.product = &product;
  request.surface = piece.surface;
  request.corner = piece.corner;
  request.turned = piece.turned;
  request.inside = piece.window;
  const double width = (piece.turned ? product.height : product.width).metres();
  request.from_m = {piece.from_u.metres(), piece.from_v.metres()};
  if (piece.surface >= 2)
    request.from_m.x = acoustics::wall_length_m(job.room, piece.surface) - request.from_m.x - width;
  return request;
}

Diagnostics make_products(const Job& job, Treatment& out) {
  Diagnostics found;
  for (std::size_t i = 0; i < job.products.size(); ++i) {
    auto product =
        design::make_product(job.products[i], job.shop, "products[" + std::to_string(i) + "]");
    if (product)
      out.products.push_back(std::move(*product));
    else
      found.add_all(product.mistakes());
  }
  return found;
}

/// Absorption is computed once for each product and corner angle.
Diagnostics find_absorption(const Job& job, const Survey& survey, TreatmentMemory& memory,
                            Treatment& out) {
  Diagnostics found;
  std::vector<std::pair<std::string, long>> refused;
  for (std::size_t i = 0; i < out.pieces.size(); ++i) {
    PieceRow& row = out.pieces[i];
    const design::Product& product = product_of(job, out, job.pieces[i]);
    const double angle_deg = row.placement.corner_angle_deg;
    const auto key = std::pair(product.spec.key, std::lround(angle_deg * 10));
    auto at = memory.absorptions.find(key);
    if (at == memory.absorptions.end()) {
      if (std::find(refused.begin(), refused.end(), key) != refused.end()) continue;
      auto computed = design::absorption_of(product, job.shop, survey.air, angle_deg);
      if (!computed) {
        found.add_all(computed.mistakes());
        refused.push_back(key);
        continue;
      }
      at = memory.absorptions.emplace(key, std::move(*computed)).first;
    }
    row.low_m2 = at->second.low_m2;
    row.likely_m2 = at->second.likely_m2;
    row.high_m2 = at->second.high_m2;
  }
  return found;
}

void place_pieces(const Job& job, Treatment& out) {
  std::vector<design::PlacementRequest> requests;
  for (const Piece& piece : job.pieces) requests.push_back(request_of(job, out, piece));
  const auto placements = design::place(job.room, requests, keep_outs_of(job), obstacles_of(job),
                                        job.shop.rules.keep_clear.metres());
  for (std::size_t i = 0; i < job.pieces.size(); ++i) {
    const design::Product& product = product_of(job, out, job.pieces[i]);
    PieceRow row;
    row.label = job.pieces[i].label;
    row.product = product.spec.name;
    row.kind = design::kind_title(product.spec.kind);
    row.place = place_name(job, job.pieces[i]);
    row.placement = placements[i];
    row.approximation = product.sound.approximation;
    row.face_m2 = design::face_area_m2(product);
    if (product.spec.kind == design::Kind::free_screen) row.face_m2 *= 2;  // both faces
    out.buildable = out.buildable && placements[i].ok();
    out.pieces.push_back(std::move(row));
  }
}

void intercept_paths(const Job& job, const Findings& findings, Treatment& out) {
  std::map<std::string, Vec3> speakers, seats;
  for (const Loudspeaker& speaker : job.loudspeakers)
    speakers[speaker.label] = metres_of(speaker.at);
  for (const Seat& seat : job.seats) seats[seat.label] = metres_of(seat.at);
  out.paths = findings.paths;
  for (PathRow& path : out.paths)
    for (std::size_t i = 0; i < out.pieces.size(); ++i) {
      PieceRow& piece = out.pieces[i];
      if (!design::intercepts(piece.placement, speakers[path.loudspeaker], path.point_m,
                              seats[path.seat]))
        continue;
      const double absorbed =
          std::min(acoustics::log_cap, upper_mean(piece.likely_m2) / piece.face_m2);
      path.intercepted = piece.label;
      path.treated_level_db = path.level_db + acoustics::energy_db(1 - absorbed);
      piece.intercepts.push_back(path.loudspeaker + " to " + path.seat + " by " + path.surface);
      break;
    }
}

// ---- sentences ------------------------------------------------------------------------------

void say_faults(const Treatment& treatment, std::vector<Statement>& out) {
  for (const PieceRow& piece : treatment.pieces)
    for (const design::PlacementFault& fault : piece.placement.faults)
      out.push_back({90, "fit", "Piece " + piece.label + " " + fault.what + ".", "", fault.remedy});
  if (treatment.buildable && !treatment.pieces.empty())
    out.push_back({0, "fit",
                   "All " + std::to_string(treatment.pieces.size()) +
                       " pieces fit: inside their surfaces, clear of keep-outs and of each other.",
                   "", ""});
}

void say_decay_change(const Treatment& treatment, std::vector<Statement>& out) {
  int in = 0, wanted = 0;
  const DecayRow *worst = nullptr, *before = nullptr;
  for (std::size_t i = 0; i < treatment.after.size(); ++i) {
    const DecayRow& row = treatment.after[i];
    if (!row.target_high_s) continue;
    ++wanted;
    in += row.verdict == "in";
    const double by = row.likely_s / *row.target_high_s;
    if (!worst || by > worst->likely_s / *worst->target_high_s)
      worst = &row, before = &treatment.before[i];
  }
  const auto middle = [](const std::vector<DecayRow>& rows) {
    return (rows[3].likely_s + rows[4].likely_s) / 2;
  };
  out.push_back({0, "decay",
                 "Between 500 Hz and 1 kHz the room rings for " +
                     fixed(middle(treatment.after), 2) + " s instead of " +
                     fixed(middle(treatment.before), 2) + " s" +
                     (wanted > 0 ? "; " + std::to_string(in) + " of " + std::to_string(wanted) +
                                       " octaves come into the target."
                                 : "."),
                 "", ""});
  if (worst && worst->verdict == "above")
    out.push_back({50, "decay",
                   "At " + band_name(worst->hz) + " it still rings for " +
                       fixed(worst->likely_s, 2) + " s (" + fixed(worst->low_s, 2) + " to " +
                       fixed(worst->high_s, 2) + "), from " + fixed(before->likely_s, 2) +
                       " s; wanted is at most " + fixed(*worst->target_high_s, 2) + " s.",
                   "the pieces absorb little in that band",
                   "thicker traps or more of them in the corners"});
  const auto dull = std::count_if(treatment.after.begin(), treatment.after.end(),
                                  [](const DecayRow& row) { return row.verdict == "below"; });
  if (dull > 0)
    out.push_back({20, "decay",
                   std::to_string(dull) + (dull == 1 ? " octave comes" : " octaves come") +
                       " out shorter than wanted: the room would be dry there.",
                   "", "leave out a piece, or face some with slats"});
}

void say_reflections(const Treatment& treatment, std::vector<Statement>& out) {
  int counted = 0, caught = 0;
  const PathRow* open = nullptr;
  for (const PathRow& path : treatment.paths) {
    if (!path.counts) continue;
    ++counted;
    caught += !path.intercepted.empty();
    if (path.intercepted.empty() && (!open || path.level_db > open->level_db)) open = &path;
  }
  if (counted == 0) return;
  std::string text =
      std::to_string(caught) + " of " + std::to_string(counted) + " early reflections meet a piece";
  if (open)
    text += "; the loudest that does not comes by " + open->surface + " from loudspeaker " +
            open->loudspeaker + " to " + open->seat + " (" + fixed(open->level_db, 1) + " dB)";
  out.push_back({open ? 30 : 0, "reflection", text + ".", "",
                 open ? "a piece at that point, or a rug on the floor" : ""});
}

/// A cloth that takes absorption away above 1 kHz: the products that wear it.
void say_cloths(const Job& job, const Survey& survey, std::vector<Statement>& out) {
  for (const auto& [key, cloth] : job.shop.cloths) {
    std::string wearers;
    double worst = 0;
    for (const design::ProductSpec& spec : job.products) {
      if (spec.cloth != key || spec.tuned || spec.board.empty()) continue;
      const shop::Board& board = job.shop.boards.at(spec.board);
      acoustics::PorousLayer wool;
      wool.thickness_m = board.thickness.metres() * spec.board_layers;
      wool.flow_resistivity_pa_s_m2 = design::wool_resistivity(board).likely_pa_s_m2;
      const double effect =
          design::cloth_effect(cloth, {{wool}, acoustics::Backing::rigid}, survey.air);
      if (effect > -cloth_matters) continue;
      worst = std::min(worst, effect);
      wearers += (wearers.empty() ? "" : ", ") + spec.name;
    }
    if (wearers.empty()) continue;
    out.push_back({25, "cloth",
                   "Above 1 kHz " + cloth.name + " takes up to " + fixed(-worst, 2) +
                       " of the absorption away from: " + wearers + ".",
                   "it is heavy, or lets too little air through",
                   "take a cloth that one can breathe through easily"});
  }
}

}  // namespace

namespace {

/// The area that a footprint lies over: a plug's is its window's, where that has a material.
std::size_t area_under(const Job& job, const Piece& piece, const design::Footprint& foot) {
  std::size_t at = static_cast<std::size_t>(acoustics::surface_count(job.room));
  for (const Feature& feature : job.features) {
    if (feature.material.empty()) continue;
    if (!piece.window.empty() && feature.label == piece.window) return at;
    ++at;
  }
  return static_cast<std::size_t>(foot.surface);
}

}  // namespace

std::vector<OctaveArea> treated_boundary(const Job& job, const Treatment& treatment,
                                         acoustics::OctaveSpectrum PieceRow::*absorption) {
  std::vector<OctaveArea> areas = boundary_of(job);
  for (std::size_t i = 0; i < treatment.pieces.size(); ++i) {
    const PieceRow& row = treatment.pieces[i];
    const design::Product& product = product_of(job, treatment, job.pieces[i]);
    OctaveArea piece;
    piece.area_m2 = row.face_m2;
    for (std::size_t band = 0; band < piece.absorption.size(); ++band)
      piece.absorption[band] = (row.*absorption)[band] / row.face_m2;
    const bool screen = product.spec.kind == design::Kind::free_screen;
    const bool open = screen || product.spec.kind == design::Kind::ceiling_cloud;
    if (!open)  // a cloud leaves the ceiling above it open, a screen the floor
      for (const design::Footprint& foot : row.placement.footprints) {
        OctaveArea& wall = areas[area_under(job, job.pieces[i], foot)];
        const Vec2 size = foot.to_m - foot.from_m;
        const double covered_m2 = product.spec.custom ? row.face_m2 : size.x * size.y;
        wall.area_m2 = std::max(0.0, wall.area_m2 - covered_m2);
      }
    if (row.placement.footprints.size() == 1 && !screen)
      piece.share = acoustics::direction_share(job.room, row.placement.footprints[0].surface);
    areas.push_back(piece);
  }
  return areas;
}

namespace {

constexpr std::size_t most_decays_kept = 24;

Diagnostics place_all(const Job& job, TreatmentMemory& memory, Treatment& out) {
  if (memory.products.empty()) {
    if (Diagnostics found = make_products(job, out); !found.empty()) return found;
    memory.products = out.products;
  } else {
    out.products = memory.products;
  }
  if (!job.order) place_pieces(job, out);
  return {};
}

/// Decay after, and its doubt: the same wherever the pieces hang, as long as they cover as much of
/// the same surfaces.
void find_decay(const Job& job, const Survey& survey, const Findings& findings,
                TreatmentMemory& memory, Treatment& out) {
  const std::array areas{treated_boundary(job, out, &PieceRow::low_m2),
                         treated_boundary(job, out, &PieceRow::likely_m2),
                         treated_boundary(job, out, &PieceRow::high_m2)};
  auto known = std::find_if(memory.decays.begin(), memory.decays.end(),
                            [&](const auto& one) { return one.areas == areas; });
  if (known == memory.decays.end()) {
    TreatmentMemory::Decay made{areas, decay_rows(areas[1], survey, findings.corridor), {}};
    widen_rows(made.after, areas[0], areas[2], survey, findings.corridor);
    made.doubt = decay_doubt(job, survey, &out, made.after);
    if (memory.decays.size() >= most_decays_kept) memory.decays.erase(memory.decays.begin());
    memory.decays.push_back(std::move(made));
    known = std::prev(memory.decays.end());
  }
  out.after = known->after;
  out.decay_doubt = known->doubt;
  out.schroeder_after_hz = acoustics::schroeder_hz(out.after[3].likely_s, survey.volume_m3);
}

}  // namespace

Result<Treatment> placed_from(const Job& job, TreatmentMemory& memory) {
  Treatment out;
  if (Diagnostics found = place_all(job, memory, out); !found.empty()) return found;
  return out;
}

Result<Treatment> placed(const Job& job) {
  TreatmentMemory none;
  return placed_from(job, none);
}

Result<Treatment> treated_by_formula(const Job& job, const Survey& survey, const Findings& findings,
                                     TreatmentMemory& memory) {
  auto begun = placed_from(job, memory);
  if (!begun) return begun.mistakes();
  Treatment out = std::move(*begun);
  if (Diagnostics found = find_absorption(job, survey, memory, out); !found.empty()) return found;
  out.before = findings.decay;
  find_decay(job, survey, findings, memory, out);
  intercept_paths(job, findings, out);
  say_faults(out, out.statements);
  say_decay_change(out, out.statements);
  say_reflections(out, out.statements);
  if (!memory.cloths) say_cloths(job, survey, memory.cloths.emplace());
  out.statements.insert(out.statements.end(), memory.cloths->begin(), memory.cloths->end());
  return out;
}

void sort_statements(std::vector<Statement>& statements) {
  std::stable_sort(statements.begin(), statements.end(),
                   [](const Statement& a, const Statement& b) { return a.weight > b.weight; });
}

Result<Treatment> treatment(const Job& job, const Survey& survey, const Findings& findings,
                            const Run& run) {
  TreatmentMemory none;
  auto begun = treated_by_formula(job, survey, findings, none);
  if (!begun) return begun.mistakes();
  Treatment out = std::move(*begun);
  out.bass = bass_treated(job, survey, out, run);
  say_bass_change(findings, out);
  out.ringing = ringing_of(job, survey, &out, run);
  say_ringing_change(findings.ringing, out.ringing, out.statements);
  find_bass_doubt(job, survey, &out, findings.bass.worst, out.bass, run);
  say_bass_doubt(out.bass, out.statements);
  say_decay_doubt(out.after, out.decay_doubt, out.statements);
  sort_statements(out.statements);
  return out;
}

namespace {

/// No room: the products alone, from the saw to the carrier.
Result<Pack> run_order(const Job& job, const Watch& watch) {
  Pack pack;
  auto products = placed(job);
  if (!products) return products.mistakes();
  pack.treatment = std::move(*products);
  watch.tick(0.1, "build");
  auto built = build(job, pack.treatment, watch);
  if (!built) return built.mistakes();
  pack.build = std::move(*built);
  watch.tick(0.8, "price");
  auto priced = price(job, pack.treatment, pack.build);
  if (!priced) return priced.mistakes();
  pack.price = std::move(*priced);
  auto packed = packing(job, pack.treatment, pack.hang);
  if (!packed) return packed.mistakes();
  pack.packing = std::move(*packed);
  pack.instructions = instructions(job, pack.treatment);
  watch.tick(0.9, "done");
  return pack;
}

}  // namespace

Result<Pack> run_all(const Job& job, const Run& run) {
  const Watch& watch = run.watch;
  if (job.order) return run_order(job, watch);
  Pack pack;
  watch.tick(0.05, "survey");
  pack.survey = survey(job);
  watch.tick(0.1, "findings");
  pack.findings = findings(job, pack.survey, {watch.part(0.1, 0.3), run.keep, run.sound_field});
  watch.tick(0.3, "treatment");
  auto treated =
      treatment(job, pack.survey, pack.findings, {watch.part(0.3, 0.5), run.keep, run.sound_field});
  if (!treated) return treated.mistakes();
  pack.treatment = std::move(*treated);
  watch.tick(0.5, "rays at the seats");
  auto heard = seat_sound(job, pack.survey, pack.findings, pack.treatment,
                          {watch.part(0.5, 0.6), run.keep, run.sound_field});
  if (!heard) return heard.mistakes();
  pack.seat_sound = std::move(*heard);
  for (const Statement& one : pack.seat_sound.statements) pack.treatment.statements.push_back(one);
  watch.tick(0.6, "build");
  auto built = build(job, pack.treatment, watch);
  if (!built) return built.mistakes();
  pack.build = std::move(*built);
  watch.tick(0.8, "price");
  auto priced = price(job, pack.treatment, pack.build);
  if (!priced) return priced.mistakes();
  pack.price = std::move(*priced);
  pack.hang = hang(job, pack.treatment);
  pack.proof = proof(job, pack.findings, pack.treatment);
  auto packed = packing(job, pack.treatment, pack.hang);
  if (!packed) return packed.mistakes();
  pack.packing = std::move(*packed);
  watch.tick(0.9, "done");
  return pack;
}

}  // namespace roomwright::job
