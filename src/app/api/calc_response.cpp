// calc response: pressure in a room from sources, walls, patches and absorbers of volume.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/waves/waves.h"
#include "app/api/calc.h"
#include "app/api/calc_maps.h"
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

/// Pressures by point, then frequency, as they are written.
Json pressures_json(const std::vector<std::vector<Complex>>& rows, std::size_t from,
                    std::size_t to) {
  Json out = Json::array();
  for (std::size_t r = from; r < to; ++r) {
    Json values = Json::array();
    for (const Complex& p : rows[r]) values.push_back(complex_json(p));
    out.push_back(std::move(values));
  }
  return out;
}

Json maps_json(const std::vector<CalcMap>& maps, std::size_t receivers,
               const std::vector<std::vector<Complex>>& rows) {
  Json out = Json::array();
  std::size_t first = receivers;
  for (const CalcMap& map : maps) {
    Json points = Json::array();
    for (const Vec3& at : map.points_m) points.push_back({at.x, at.y, at.z});
    const std::size_t end = first + map.points_m.size();
    out.push_back(
        {{"name", map.name}, {"points_m", points}, {"pressure", pressures_json(rows, first, end)}});
    first = end;
  }
  return out;
}

/// What is said of a map's points is said of the map, once.
Complaint of_the_map(Complaint one, const std::vector<CalcMap>& maps, std::size_t receivers) {
  const std::string key = "receivers_m[";
  if (one.where.compare(0, key.size(), key) != 0) return one;
  std::size_t end = receivers;
  const auto at = static_cast<std::size_t>(std::stoul(one.where.substr(key.size())));
  for (std::size_t m = 0; m < maps.size(); ++m) {
    if (at >= end && at < end + maps[m].points_m.size())
      one.where = "maps[" + std::to_string(m) + "]";
    end += maps[m].points_m.size();
  }
  return one;
}

template <class List>
List of_the_maps(const List& found, const std::vector<CalcMap>& maps, std::size_t receivers) {
  List out;
  for (const Complaint& one : found) {
    Complaint named = of_the_map(one, maps, receivers);
    if (named.where.compare(0, 5, "maps[") == 0 &&
        std::any_of(out.begin(), out.end(), [&](const Complaint& other) {
          return other.where == named.where && other.what == named.what;
        }))
      continue;
    out.push_back(std::move(named));
  }
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
  const bool points = in.has("receivers_m") || !in.has("maps");
  const auto receivers = points ? read_points(in, "receivers_m", nullptr)
                                : std::optional<std::vector<Vec3>>(std::in_place);
  std::vector<CalcMap> maps;
  if (room && frequencies)
    maps = read_maps(in, *room, asked.sources, receivers ? receivers->size() : 0,
                     frequencies->hz.size());
  if (room && air && frequencies) read_walls(in, *room, {frequencies->hz, *air}, asked, objects);
  in.raw("maps");
  in.raw("objects");
  in.raw("surfaces");
  in.raw("patches");
  in.finish();
  if (!found.empty() || !room || !air || !frequencies || !receivers) return found;
  asked.room = *room;
  asked.sound_speed_m_s = air->sound_speed_m_s;
  asked.density_kg_m3 = air->density_kg_m3;
  asked.receivers_m = *receivers;
  for (const CalcMap& map : maps)
    asked.receivers_m.insert(asked.receivers_m.end(), map.points_m.begin(), map.points_m.end());
  asked.frequencies_hz = frequencies->hz;
  const auto report = acoustics::response(asked, options);
  if (!report) {
    Diagnostics named;
    for (Complaint& one : of_the_maps(report.mistakes().items(), maps, receivers->size()))
      named.add(std::move(one));
    return under_their_names(named, objects);
  }
  Json level = Json::array();
  for (std::size_t r = 0; r < receivers->size(); ++r)
    level.push_back(levels_json(report->pressure_pa[r]));
  Json out{{"frequencies_hz", frequencies->hz},
           {"pressure", pressures_json(report->pressure_pa, 0, receivers->size())},
           {"level_db", level},
           {"solver",
            {{"method", report->method},
             {"unknowns", report->unknowns},
             {"modes", report->modes},
             {"accuracy_db", report->accuracy_db}}},
           {"warnings", warnings_json(of_the_maps(report->warnings, maps, receivers->size()))}};
  if (!maps.empty()) out["maps"] = maps_json(maps, receivers->size(), report->pressure_pa);
  return out;
}

}  // namespace roomwright::app
