// calc response: pressure in a room from sources, walls, patches and absorbers of volume.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/waves/waves.h"
#include "app/api/calc.h"
#include "app/api/calc_parts.h"
#include "app/api/calc_walls.h"

namespace roomwright::app {

namespace {

using Complex = std::complex<double>;
constexpr double reference_pa = 2e-5;

std::vector<acoustics::ResponseSource> sources_of(Reader& in) {
  std::vector<acoustics::ResponseSource> out;
  in.each(
      "sources", 1, acoustics::most_response_sources,
      [&](Reader& entry) {
        acoustics::ResponseSource source;
        const auto at =
            entry.numbers("at_m", 3, 3, {.at_least = -1000, .at_most = 1000}, "[x, y, z]");
        source.volume_acceleration_m3_s2 =
            entry.number_or("volume_acceleration_m3_s2", 1, {.at_least = -1e6, .at_most = 1e6});
        entry.finish();
        if (at.size() != 3) return;
        source.at_m = {at[0], at[1], at[2]};
        out.push_back(source);
      },
      "a list of {at_m}");
  return out;
}

Json levels_json(const std::vector<Complex>& pressure) {
  Json out = Json::array();
  for (const Complex& p : pressure)
    out.push_back(20 * std::log10(std::max(std::abs(p) / std::sqrt(2.0) / reference_pa, 1e-30)));
  return out;
}

}  // namespace

Result<Json> calc_response(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const auto room = read_room(in);
  const auto air = read_air(in);
  const auto frequencies = read_frequencies(in);
  acoustics::ResponseRequest asked;
  acoustics::ResponseOptions options;
  options.accuracy_db = in.number_or("accuracy_db", 0.25, {.at_least = 0.01, .at_most = 3});
  VolumeObjects objects;
  asked.sources = sources_of(in);
  const auto receivers = read_points(in, "receivers_m", nullptr);
  if (room && air && frequencies) read_walls(in, *room, {frequencies->hz, *air}, asked, objects);
  in.raw("objects");
  in.raw("surfaces");
  in.raw("patches");
  in.finish();
  if (!found.empty() || !room || !air || !frequencies || !receivers) return found;
  asked.room = *room;
  asked.sound_speed_m_s = air->sound_speed_m_s;
  asked.density_kg_m3 = air->density_kg_m3;
  asked.receivers_m = *receivers;
  asked.frequencies_hz = frequencies->hz;
  const auto report = acoustics::response(asked, options);
  if (!report) return under_their_names(report.mistakes(), objects);
  Json pressure = Json::array(), level = Json::array();
  for (const auto& row : report->pressure_pa) {
    Json values = Json::array();
    for (const Complex& p : row) values.push_back(complex_json(p));
    pressure.push_back(std::move(values));
    level.push_back(levels_json(row));
  }
  return Json{{"frequencies_hz", frequencies->hz},
              {"pressure", pressure},
              {"level_db", level},
              {"solver",
               {{"method", report->method},
                {"unknowns", report->unknowns},
                {"modes", report->modes},
                {"accuracy_db", report->accuracy_db}}},
              {"warnings", warnings_json(report->warnings)}};
}

}  // namespace roomwright::app
