// calc decay by rays: the scene from the request, the figures of each pair and their mean.
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/rays/rays.h"
#include "app/api/calc_figures.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

std::vector<double> by_band(const std::optional<Coefficient>& value, const Frequencies& bands,
                            const std::string& where, Diagnostics& found) {
  std::vector<double> out;
  for (const double hz : bands.nominal_hz) {
    const auto here = value ? value->at(hz) : std::optional<double>(0);
    if (!here) {
      found.add(where, "has no value in the band", hz, "give every band, or one number");
      return {0.0};
    }
    out.push_back(*here);
  }
  return out;
}

namespace {

Json value_json(const acoustics::TracedValue& value) {
  Json out = {{"value", value.value ? Json(*value.value) : Json()},
              {"standard_error", value.value ? Json(value.standard_error) : Json()}};
  if (!value.reason.empty()) out["reason"] = value.reason;
  return out;
}

/// Over all pairs that have one; errors as independent.
acoustics::TracedValue mean_of(const acoustics::TraceReport& report, std::size_t band,
                               acoustics::TracedValue acoustics::TracedBand::*figure) {
  acoustics::TracedValue out;
  double sum = 0, squares = 0;
  int count = 0;
  for (const auto& pair : report.pairs) {
    const acoustics::TracedValue& one = pair.bands[band].*figure;
    if (!one.value) {
      out.reason = one.reason;
      continue;
    }
    sum += *one.value;
    squares += one.standard_error * one.standard_error;
    ++count;
  }
  if (count == 0) return out;
  return {sum / count, std::sqrt(squares) / count, ""};
}

Json answer_of(const acoustics::TraceReport& report, const Frequencies& bands) {
  Json rows = Json::array(), pairs = Json::array();
  for (std::size_t band = 0; band < bands.nominal_hz.size(); ++band) {
    const auto time = mean_of(report, band, &acoustics::TracedBand::t20_s);
    Json row = {{"hz", bands.nominal_hz[band]}, {"t_s", time.value ? Json(*time.value) : Json()}};
    if (!time.value) row["reason"] = time.reason;
    for (const TracedFigure& figure : traced_figures)
      row[figure.key] = value_json(mean_of(report, band, figure.value));
    rows.push_back(row);
  }
  for (const auto& pair : report.pairs) {
    Json list = Json::array();
    for (std::size_t band = 0; band < bands.nominal_hz.size(); ++band) {
      Json row = {{"hz", bands.nominal_hz[band]}, {"echogram", pair.bands[band].echogram}};
      for (const TracedFigure& figure : traced_figures)
        row[figure.key] = value_json(pair.bands[band].*figure.value);
      list.push_back(row);
    }
    pairs.push_back({{"source", pair.source},
                     {"receiver", pair.receiver},
                     {"direct_clear", pair.direct_clear},
                     {"image_paths", pair.image_paths},
                     {"bands", list}});
  }
  return {{"bands", rows},
          {"pairs", pairs},
          {"bin_s", report.bin_s},
          {"rays", report.rays},
          {"image_order", report.image_order},
          {"lost_share", report.lost_share},
          {"mean_free_path_m", report.mean_free_path_m},
          {"rays_to_halve_error",
           report.rays_to_halve_error ? Json(*report.rays_to_halve_error) : Json()}};
}

}  // namespace

Result<Json> decay_by_rays(Reader& in, const acoustics::Room& room, const acoustics::Air& air,
                           const Frequencies& bands) {
  acoustics::TracedScene scene;
  acoustics::TraceOptions options;
  scene.room = room;
  scene.bands = bands.hz.size();
  const RoomBoundary boundary = read_boundary(in, room);
  for (std::size_t i = 0; i < boundary.surfaces.size(); ++i) {
    const std::string where = "surfaces." + acoustics::surface_name(room, int(i));
    scene.surfaces.push_back(
        {by_band(boundary.surfaces[i], bands, where + ".absorption", in.found()),
         by_band(boundary.surface_scattering[i], bands, where + ".scattering", in.found())});
  }
  scene.patches = boundary.patches;
  for (std::size_t i = 0; i < boundary.patches.size(); ++i) {
    const std::string where = "patches[" + std::to_string(i) + "]";
    scene.patch_finishes.push_back(
        {by_band(boundary.patch_absorption[i], bands, where + ".absorption", in.found()),
         by_band(boundary.patch_scattering[i], bands, where + ".scattering", in.found())});
  }
  const auto sources = read_points(in, "sources", "at_m");
  const auto receivers = read_points(in, "receivers_m", nullptr);
  options.rays = int(in.whole_or("rays", options.rays, acoustics::least_rays, 1'000'000));
  options.seed = static_cast<std::uint64_t>(in.whole_or("seed", 1, 0, 1'000'000'000));
  in.finish();
  if (!in.found().empty() || !sources || !receivers) return in.found();
  for (const Vec3& at : *sources) scene.sources.push_back({at, {}});
  scene.receivers_m = *receivers;
  scene.sound_speed_m_s = air.sound_speed_m_s;
  for (const double hz : bands.hz)
    scene.air_energy_1_m.push_back(acoustics::energy_attenuation_per_m(air, hz));
  const auto report = acoustics::trace(scene, options);
  if (!report) return report.mistakes();
  return answer_of(*report, bands);
}

}  // namespace roomwright::app
