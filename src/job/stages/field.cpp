// The wave field of a job's room; see field.h.
#include "job/stages/field.h"

#include <algorithm>
#include <cmath>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/materials/materials.h"
#include "core/numerics/numerics.h"
#include "job/stages/kept.h"
#include "job/stages/sizes.h"

namespace roomwright::job {

namespace {

using Complex = std::complex<double>;

/// Octave coefficients at a frequency, linear over its logarithm; held beyond the ends.
double absorption_at(const acoustics::OctaveSpectrum& absorption, double hz) {
  const auto& bands = acoustics::octave_bands();
  const double at = std::log2(hz / bands[0].centre_hz);
  const double held = std::clamp(at, 0.0, double(absorption.size() - 1));
  const auto below = std::min(static_cast<std::size_t>(held), absorption.size() - 2);
  const double share = held - static_cast<double>(below);
  return absorption[below] * (1 - share) + absorption[below + 1] * share;
}

/// A table's coefficient meets a wall of its name within a factor of about 1.5 in eight of ten
/// cases; common practice, no source.
constexpr double wall_spread = 1.5;
/// Of the speed of sound, from 10 % to 90 %: two degrees; common practice, no source.
constexpr double speed_spread = 0.0035;

double share_of(const std::vector<std::string>& materials, const FieldDoubt& doubt,
                const std::string& key) {
  if (doubt.materials.empty()) return 0.5;
  const auto at = std::find(materials.begin(), materials.end(), key);
  RW_ASSERT(at != materials.end());
  return doubt.materials[static_cast<std::size_t>(at - materials.begin())];
}

/// A wall as a resistance that absorbs at random incidence what its table says.
acoustics::Admittance wall_admittance(const std::string& key, double share,
                                      const std::vector<double>& hz) {
  const auto* material = acoustics::find_surface_material(key);
  const double factor = log_normal_between(1 / wall_spread, 1, wall_spread, share);
  acoustics::Admittance out;
  for (const double f : hz) {
    const double absorption = std::min(0.94, absorption_at(material->absorption, f) * factor);
    out.emplace_back(1 / acoustics::resistance_of_absorption(absorption), 0);
  }
  return out;
}

/// What a builder of requests carries along.
struct Making {
  const Job& job;
  const Treatment& treatment;
  const acoustics::Air& air;
  const std::vector<double>& hz;
  double wool_share;
};

double resistivity_of(const Making& with, const design::Product& product) {
  const auto range = design::wool_resistivity(with.job.shop.boards.at(product.spec.board));
  return with.wool_share == 0.5 ? range.likely_pa_s_m2
                                : log_normal_between(range.low_pa_s_m2, range.likely_pa_s_m2,
                                                     range.high_pa_s_m2, with.wool_share);
}

void set_resistivity(const Making& with, const design::Product& product, acoustics::Stack& stack) {
  if (product.spec.board.empty() || with.wool_share == 0.5) return;
  for (acoustics::Layer& layer : stack.layers)
    if (auto* porous = std::get_if<acoustics::PorousLayer>(&layer))
      porous->flow_resistivity_pa_s_m2 = resistivity_of(with, product);
}

/// What a stack takes up at normal incidence; empty where it cannot be told.
acoustics::Admittance stack_admittance(const Making& with, const design::Product& product,
                                       acoustics::Stack stack) {
  acoustics::AbsorptionOptions normal;
  normal.incidence.kind = acoustics::Incidence::normal;
  normal.same_on_every_machine = true;
  set_resistivity(with, product, stack);
  const auto report = acoustics::absorption(stack, with.air, with.hz, normal);
  acoustics::Admittance out;
  if (!report) return out;
  // Below the range of a wool's model its front can come out giving energy, by a hair.
  for (const Complex& z : report->impedance) {
    const Complex y = 1.0 / z;
    out.emplace_back(std::max(y.real(), 0.0), y.imag());
  }
  return out;
}

/// A piece that lies flat on one surface and is one stack.
std::optional<acoustics::ResponsePatch> flat_piece(const Making& with,
                                                   const design::Product& product,
                                                   const design::Placement& place) {
  if (place.footprints.size() != 1 || product.sound.strips.size() != 1 ||
      !product.sound.upper.empty())
    return std::nullopt;
  const design::Footprint& foot = place.footprints[0];
  acoustics::ResponsePatch patch{{foot.surface, foot.from_m, foot.to_m},
                                 stack_admittance(with, product, product.sound.strips[0].stack)};
  if (patch.admittance.empty()) return std::nullopt;
  if (product.spec.custom) {  // an outline's admittance is spread over its box
    const Vec2 box = foot.to_m - foot.from_m;
    for (Complex& y : patch.admittance) y *= design::face_area_m2(product) / (box.x * box.y);
  }
  return patch;
}

/// The mean of a piece's stacks over its face, spread over what it covers.
acoustics::Admittance mean_admittance(const Making& with, const design::Product& product,
                                      const design::Placement& place) {
  double covered_m2 = 0;
  for (const design::Footprint& foot : place.footprints) {
    const Vec2 size = foot.to_m - foot.from_m;
    covered_m2 += size.x * size.y;
  }
  const double face_m2 = product.sound.face_width_m * product.sound.face_height_m;
  acoustics::Admittance out(with.hz.size(), 0);
  for (const design::Strip& strip : product.sound.strips) {
    const auto one = stack_admittance(with, product, strip.stack);
    if (one.empty()) return {};
    for (std::size_t i = 0; i < out.size(); ++i)
      out[i] += one[i] * strip.area_share * face_m2 / covered_m2;
  }
  return out;
}

Vec2 flat(const Vec3& point) {
  return {point.x, point.y};
}

/// Wool of a piece: its front and back, measured from the face.
struct WoolDepth {
  double front_m = 0, back_m = 0;
};
WoolDepth wool_depth(const design::Product& product) {
  WoolDepth out{1e9, 0};
  for (const design::BoardPlace& board : product.boards) {
    out.front_m = std::min(out.front_m, board.z.metres());
    out.back_m = std::max(out.back_m, (board.z + board.thickness).metres());
  }
  return out;
}

/// Wool as a fluid, over its thickness.
acoustics::FluidSlab wool_slab(const Making& with, const design::Product& product,
                               double thickness_m) {
  acoustics::PorousLayer wool;
  wool.thickness_m = thickness_m;
  wool.flow_resistivity_pa_s_m2 = resistivity_of(with, product);
  acoustics::FluidSlab slab;
  slab.thickness_m = thickness_m;
  for (const double f : with.hz) {
    const acoustics::Wave wave = acoustics::porous_wave(wool, with.air, f);
    slab.density.push_back(wave.impedance * wave.number);
    slab.compressibility.push_back(wave.number / wave.impedance);
  }
  return slab;
}

/// A screen's wool stands upright in the room.
acoustics::ResponseObject screen_body(const Making& with, const design::Product& product,
                                      const design::Placement& place) {
  acoustics::ResponseObject out;
  const WoolDepth depth = wool_depth(product);
  const Vec2 left = flat(place.face_m[0]), right = flat(place.face_m[1]);
  const Vec2 along = (right - left) * (1 / length(right - left));
  const Vec2 back{-along.y, along.x};
  const double forward = product.frame_z.metres();
  const Vec2 near = back * (depth.front_m - forward), far = back * (depth.back_m - forward);
  out.plan_m = {left + near, right + near, right + far, left + far};
  out.axis = {back.x, back.y, 0};
  out.low_m = 1e9;
  for (const design::BoardPlace& board : product.boards) {
    out.low_m = std::min(out.low_m, board.y.metres());
    out.high_m = std::max(out.high_m, (board.y + board.height).metres());
  }
  if (signed_area(out.plan_m) < 0) std::reverse(out.plan_m.begin(), out.plan_m.end());
  out.slabs.push_back(wool_slab(with, product, depth.back_m - depth.front_m));
  return out;
}

/// A cloud hangs parallel to its ceiling, so that under one that slopes its wool lies beside its
/// place on the ceiling. Seen from above, at that depth behind its face: as far aside as the walls
/// allow.
Polygon cloud_plan(const acoustics::Room& room, const design::Placement& place, double behind_m) {
  const design::Footprint& foot = place.footprints[0];
  const Vec2 a = foot.from_m, c = foot.to_m;
  const Vec3 normal = acoustics::surface_plane(room, foot.surface).normal;
  const Vec2 aside = flat(normal) * (place.protrudes_m - behind_m);
  for (const double share : {1.0, 0.75, 0.5, 0.25}) {
    Polygon out{a, {c.x, a.y}, c, {a.x, c.y}};
    for (Vec2& corner : out) corner = corner + aside * share;
    if (std::all_of(out.begin(), out.end(),
                    [&](Vec2 corner) { return contains(room.plan_m, corner, 0); }))
      return out;
  }
  return {a, {c.x, a.y}, c, {a.x, c.y}};
}

/// Corner traps and clouds: their wool as a body. Cloth and frame are left out: at these
/// frequencies they are thin and light.
std::optional<acoustics::ResponseObject> wool_body(const Making& with,
                                                   const design::Product& product,
                                                   const design::Placement& place) {
  if (product.boards.empty() || product.spec.board.empty()) return std::nullopt;
  acoustics::ResponseObject out;
  const WoolDepth depth = wool_depth(product);
  out.low_m = place.face_m[0].z, out.high_m = place.face_m[2].z;
  if (product.spec.kind == design::Kind::free_screen) return screen_body(with, product, place);
  const Vec2 left = flat(place.face_m[0]), right = flat(place.face_m[1]);
  double thickness_m = depth.back_m - depth.front_m;
  if (product.spec.kind == design::Kind::ceiling_cloud) {
    const double face_m = place.protrudes_m;
    out.below_ceiling_m = {face_m - depth.back_m, face_m - depth.front_m};
    out.plan_m = cloud_plan(with.job.room, place, (depth.front_m + depth.back_m) / 2);
  } else {
    const auto corner = acoustics::from_uv(with.job.room, place.footprints[1].surface, {0, 0});
    const Vec2 middle = (left + right) * 0.5;
    Vec2 inward = middle - flat(corner);
    inward = inward * (1 / length(inward));
    out.axis = {inward.x, inward.y, 0};
    if (product.spec.kind == design::Kind::solid_trap) {
      out.plan_m = {left, right, flat(corner)};
      thickness_m = length(middle - flat(corner));
    } else {
      out.plan_m = {left - inward * depth.front_m, right - inward * depth.front_m,
                    right - inward * depth.back_m, left - inward * depth.back_m};
    }
  }
  if (signed_area(out.plan_m) < 0) std::reverse(out.plan_m.begin(), out.plan_m.end());
  out.slabs.push_back(wool_slab(with, product, thickness_m));
  return out;
}

bool is_body(design::Kind kind) {
  return kind == design::Kind::straddling_trap || kind == design::Kind::solid_trap ||
         kind == design::Kind::ceiling_cloud || kind == design::Kind::free_screen;
}

void add_pieces(const Making& with, acoustics::ResponseRequest& request, FieldPieces& pieces) {
  pieces.patch.assign(with.treatment.pieces.size(), -1);
  pieces.body = pieces.patch;
  for (std::size_t i = 0; i < with.treatment.pieces.size(); ++i) {
    const design::Product& product = product_of(with.job, with.treatment, with.job.pieces[i]);
    const design::Placement& place = with.treatment.pieces[i].placement;
    if (!place.ok()) continue;
    if (is_body(product.spec.kind)) {
      auto body = wool_body(with, product, place);
      if (!body) continue;
      pieces.body[i] = static_cast<int>(request.objects.size());
      request.objects.push_back(std::move(*body));
    } else if (auto patch = flat_piece(with, product, place)) {
      pieces.patch[i] = static_cast<int>(request.patches.size());
      request.patches.push_back(std::move(*patch));
    }
  }
}

}  // namespace

std::vector<std::string> field_materials(const Job& job) {
  std::vector<std::string> out;
  const auto take = [&](const std::string& key) {
    if (!key.empty() && std::find(out.begin(), out.end(), key) == out.end()) out.push_back(key);
  };
  for (const std::string& key : job.finish) take(key);
  for (const Feature& feature : job.features) take(feature.material);
  return out;
}

acoustics::ResponseRequest field_request(const Job& job, const Survey& survey,
                                         const Treatment* treatment,
                                         const std::vector<double>& frequencies_hz,
                                         const FieldDoubt& doubt, FieldPieces* pieces) {
  acoustics::ResponseRequest out;
  out.room = job.room;
  out.sound_speed_m_s =
      survey.air.sound_speed_m_s *
      log_normal_between(1 - speed_spread, 1, 1 + speed_spread, doubt.temperature);
  out.density_kg_m3 = survey.air.density_kg_m3;
  out.frequencies_hz = frequencies_hz;
  const auto materials = field_materials(job);
  for (const std::string& key : job.finish)
    out.surfaces.push_back(wall_admittance(key, share_of(materials, doubt, key), frequencies_hz));
  for (const Feature& feature : job.features) {
    if (feature.material.empty() || (treatment && is_plugged(job, feature))) continue;
    const Vec2 from{feature.from_u.metres(), feature.from_v.metres()};
    const Vec2 to{feature.to_u.metres(), feature.to_v.metres()};
    out.patches.push_back(
        {{feature.surface, from, to},
         wall_admittance(feature.material, share_of(materials, doubt, feature.material),
                         frequencies_hz)});
  }
  FieldPieces unasked;
  if (treatment)
    add_pieces({job, *treatment, survey.air, frequencies_hz, doubt.wool}, out,
               pieces ? *pieces : unasked);
  return out;
}

acoustics::RoomStretch field_stretch(const Job& job, const Survey& survey,
                                     const FieldDoubt& doubt) {
  const auto sizes = room_sizes(job, survey);
  std::array<double, 3> by{};
  for (std::size_t d = 0; d < 3; ++d)
    by[d] = log_normal_between(1 - sizes[d].spread, 1, 1 + sizes[d].spread, doubt.sizes[d]);
  return stretch_of_sizes(job.room, by);
}

void flatten_bodies(const Job& job, const Survey& survey, const Treatment& treatment,
                    acoustics::ResponseRequest& request, FieldPieces& pieces) {
  const Making with{job, treatment, survey.air, request.frequencies_hz, 0.5};
  request.objects.clear();
  for (std::size_t i = 0; i < treatment.pieces.size(); ++i) {
    if (pieces.body[i] < 0) continue;
    pieces.body[i] = -1;
    const design::Product& product = product_of(job, treatment, job.pieces[i]);
    const design::Placement& place = treatment.pieces[i].placement;
    if (product.spec.kind == design::Kind::free_screen) continue;
    const auto admittance = mean_admittance(with, product, place);
    if (admittance.empty()) continue;
    pieces.patch[i] = static_cast<int>(request.patches.size());
    for (const design::Footprint& foot : place.footprints)
      request.patches.push_back({{foot.surface, foot.from_m, foot.to_m}, admittance});
  }
}

Result<FieldSolution> solve_field(acoustics::ResponseRequest request, const Run& run) {
  acoustics::ResponseOptions options;
  FieldSolution out;
  out.patches = static_cast<int>(request.patches.size());
  out.bodies = static_cast<int>(request.objects.size());
  auto solved = kept_responses(request, options, run);
  if (!solved && !request.objects.empty()) {
    out.note = "Corner traps and clouds are left out of the wave field: together they " +
               solved.mistakes().items()[0].what + ".";
    request.objects.clear();
    out.bodies = 0;
    solved = kept_responses(request, options, run);
  }
  if (!solved) return solved.mistakes();
  out.by_source = std::move(*solved);
  return out;
}

std::optional<FieldSolution> kept_field(acoustics::ResponseRequest request, const Keep& keep) {
  FieldSolution out;
  out.patches = static_cast<int>(request.patches.size());
  out.bodies = static_cast<int>(request.objects.size());
  auto known = known_responses(request, {}, keep);
  if (!known) return std::nullopt;
  out.by_source = std::move(*known);
  return out;
}

double against_direct_db(Complex pressure, double distance_m, double density_kg_m3) {
  const double direct = density_kg_m3 / (4 * std::acos(-1.0) * distance_m);
  const double level = 20 * std::log10(std::max(std::abs(pressure) / direct, 1e-9));
  return std::round(level * 100) / 100;
}

}  // namespace roomwright::job
