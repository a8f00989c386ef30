// Areas, absorption and decay by octave, shared by findings and treatment; see boundary.h.
#include "job/stages/boundary.h"

#include <algorithm>
#include <cmath>

namespace roomwright::job {

namespace {

const acoustics::SurfaceMaterial& material_named(const std::string& key) {
  const auto* material = acoustics::find_surface_material(key);
  RW_ASSERT(material);
  return *material;
}

double feature_area_m2(const Feature& feature) {
  return (feature.to_u - feature.from_u).metres() * (feature.to_v - feature.from_v).metres();
}

/// All sides but what stands on the floor.
double furniture_area_m2(const Furniture& thing) {
  const double x = (thing.to_x - thing.from_x).metres(), y = (thing.to_y - thing.from_y).metres();
  const double z = (thing.to_z - thing.from_z).metres();
  const bool stands = thing.from_z <= 10_mm;
  return 2 * (x + y) * z + (stands ? 1 : 2) * x * y;
}

acoustics::DecayInput input_at(const std::vector<OctaveArea>& areas, const Survey& survey,
                               std::size_t band) {
  acoustics::DecayInput input;
  input.volume_m3 = survey.volume_m3;
  input.sound_speed_m_s = survey.air.sound_speed_m_s;
  input.air_energy_1_m =
      acoustics::energy_attenuation_per_m(survey.air, acoustics::octave_bands()[band].centre_hz);
  for (const OctaveArea& area : areas)
    input.areas.push_back({area.area_m2, area.absorption[band], area.share});
  return input;
}

std::string verdict_of(const DecayRow& row) {
  if (!row.target_low_s && !row.target_high_s) return "no target";
  if (row.target_high_s && row.likely_s > *row.target_high_s) return "above";
  if (row.target_low_s && row.likely_s < *row.target_low_s) return "below";
  return "in";
}

void spread(DecayRow& row) {
  row.likely_s = row.eyring_s.value_or(row.sabine_s.value_or(0));
  row.low_s = row.high_s = row.likely_s;
  for (const auto& value : {row.sabine_s, row.eyring_s, row.arau_s})
    if (value) {
      row.low_s = std::min(row.low_s, *value);
      row.high_s = std::max(row.high_s, *value);
    }
}

}  // namespace

Vec3 metres_of(const Point& point) {
  return {point.x.metres(), point.y.metres(), point.z.metres()};
}

std::string band_name(double hz) {
  return hz >= 1000 ? fixed(hz / 1000, 0) + " kHz" : fixed(hz, 0) + " Hz";
}

double upper_mean(const acoustics::OctaveSpectrum& absorption) {
  return (absorption[4] + absorption[5] + absorption[6]) / 3;
}

std::vector<OctaveArea> boundary_of(const Job& job) {
  std::vector<OctaveArea> out;
  for (int i = 0; i < acoustics::surface_count(job.room); ++i)
    out.push_back({acoustics::surface_area_m2(job.room, i),
                   material_named(job.finish[static_cast<std::size_t>(i)]).absorption,
                   acoustics::direction_share(job.room, i), i});
  for (const Feature& feature : job.features) {
    if (feature.material.empty()) continue;
    const double area = feature_area_m2(feature);
    OctaveArea& whole = out[static_cast<std::size_t>(feature.surface)];
    whole.area_m2 = std::max(0.0, whole.area_m2 - area);
    out.push_back(
        {area, material_named(feature.material).absorption, whole.share, feature.surface});
  }
  for (const Furniture& thing : job.furniture)
    out.push_back({furniture_area_m2(thing),
                   material_named(thing.material).absorption,
                   {1.0 / 3, 1.0 / 3, 1.0 / 3},
                   -1});
  return out;
}

std::vector<DecayRow> decay_rows(const std::vector<OctaveArea>& likely, const Survey& survey,
                                 const acoustics::Corridor& corridor) {
  std::vector<DecayRow> rows;
  for (std::size_t band = 0; band < acoustics::octave_bands().size(); ++band) {
    const acoustics::DecayInput input = input_at(likely, survey, band);
    DecayRow row;
    row.hz = acoustics::octave_bands()[band].nominal_hz;
    row.sabine_s = acoustics::decay_time(input, acoustics::DecayFormula::sabine).t_s;
    row.eyring_s = acoustics::decay_time(input, acoustics::DecayFormula::eyring).t_s;
    row.arau_s = acoustics::decay_time(input, acoustics::DecayFormula::arau).t_s;
    row.millington_s = acoustics::decay_time(input, acoustics::DecayFormula::millington).t_s;
    row.fitzroy_s = acoustics::decay_time(input, acoustics::DecayFormula::fitzroy).t_s;
    row.target_low_s = corridor.bands[band].low_s;
    row.target_high_s = corridor.bands[band].high_s;
    spread(row);
    row.verdict = verdict_of(row);
    rows.push_back(row);
  }
  return rows;
}

void widen_rows(std::vector<DecayRow>& rows, const std::vector<OctaveArea>& least,
                const std::vector<OctaveArea>& most, const Survey& survey,
                const acoustics::Corridor& corridor) {
  const auto slow = decay_rows(least, survey, corridor), fast = decay_rows(most, survey, corridor);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    rows[i].high_s = std::max(rows[i].high_s, slow[i].high_s);
    rows[i].low_s = std::min(rows[i].low_s, fast[i].low_s);
  }
}

// ---- the survey -----------------------------------------------------------------------------

namespace {

SurfaceRow row_of(const std::string& name, const std::string& key, double area) {
  const acoustics::SurfaceMaterial& material = material_named(key);
  return {name, material.name, material.source, area, material.absorption, material.trust};
}

std::vector<SurfaceRow> surface_rows(const Job& job) {
  const std::vector<OctaveArea> areas = boundary_of(job);
  std::vector<SurfaceRow> rows;
  std::size_t at = 0;
  for (int i = 0; i < acoustics::surface_count(job.room); ++i)
    rows.push_back(row_of(acoustics::surface_name(job.room, i),
                          job.finish[static_cast<std::size_t>(i)], areas[at++].area_m2));
  for (const Feature& feature : job.features)
    if (!feature.material.empty())
      rows.push_back(row_of(feature.label, feature.material, areas[at++].area_m2));
  for (const Furniture& thing : job.furniture)
    rows.push_back(row_of(thing.label, thing.material, areas[at++].area_m2));
  return rows;
}

/// A tape is read to a few millimetres; a builder fits to 10. Common practice, no source.
constexpr Length tape_allowance = 10_mm;

void check_tape(const Job& job, Survey& out) {
  const auto check = [&](std::string what, Length measured, double expected_m) {
    const Length expected = Length::from_m(expected_m).round_to(1_mm);
    const Length difference = measured - expected;
    out.tape.push_back({std::move(what), measured, expected, difference,
                        difference <= tape_allowance && difference >= -tape_allowance});
  };
  for (const Diagonal& diagonal : job.diagonals)
    check("corner " + std::to_string(diagonal.from) + " to corner " + std::to_string(diagonal.to),
          diagonal.measured,
          length(job.room.plan_m[static_cast<std::size_t>(diagonal.to)] -
                 job.room.plan_m[static_cast<std::size_t>(diagonal.from)]));
  for (const HeightReading& reading : job.heights)
    check("height at " + print_dimension(reading.x, job.region.units) + ", " +
              print_dimension(reading.y, job.region.units),
          reading.height, job.room.ceiling_at({reading.x.metres(), reading.y.metres()}));
}

void say_survey(const Job& job, Survey& out) {
  const Units& units = job.region.units;
  const TapeCheck* worst = nullptr;
  for (const TapeCheck& check : out.tape)
    if (!worst ||
        std::abs(check.difference.nanometres()) > std::abs(worst->difference.nanometres()))
      worst = &check;
  if (worst && !worst->within)
    out.statements.push_back({60, "tape",
                              "The room is out of square: " + worst->what + " measures " +
                                  print_length(worst->measured, units) + ", the plan gives " +
                                  print_length(worst->expected, units) + ", a closing error of " +
                                  print_fine(worst->difference, units) + ".",
                              "walls that are not at the angles of the plan, or a misread tape",
                              "measure that line again before anything is cut"});
  out.statements.push_back(
      {0, "room",
       "The room holds " + print_volume(out.volume_m3, units) + " over " +
           print_area(out.floor_area_m2, units) + " of floor, " +
           (out.box ? "a plain box." : "with " + std::to_string(job.plan.size()) + " walls."),
       "", ""});
  if (worst && worst->within)
    out.statements.push_back({0, "tape",
                              "The tape closes: the largest difference is " +
                                  print_fine(worst->difference, units) + ", at " + worst->what +
                                  ".",
                              "", ""});
  if (out.tape.empty())
    out.statements.push_back(
        {20, "tape", "No diagonal was measured, so nobody knows whether the room is square.", "",
         "measure both diagonals and three heights"});
}

}  // namespace

Survey survey(const Job& job) {
  Survey out;
  out.air = acoustics::make_air(job.climate).value();
  out.volume_m3 = acoustics::volume_m3(job.room);
  out.floor_area_m2 = acoustics::floor_area_m2(job.room);
  out.surface_area_m2 = acoustics::total_area_m2(job.room);
  out.box = acoustics::is_box(job.room);
  out.surfaces = surface_rows(job);
  check_tape(job, out);
  say_survey(job, out);
  return out;
}

}  // namespace roomwright::job
