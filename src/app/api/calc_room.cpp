// calc modes and decay: the calculators that need a room.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/decay/decay.h"
#include "acoustics/rays/rays.h"
#include "acoustics/waves/waves.h"
#include "app/api/calc.h"
#include "app/api/calc_parts.h"
#include "app/api/calc_walls.h"

namespace roomwright::app {

namespace {

/// Frequencies at which what damps is asked for, wide enough apart to be quick.
std::vector<double> damping_hz(double max_hz) {
  std::vector<double> out;
  const double top = std::clamp(1.1 * max_hz, 12.0, acoustics::greatest_response_hz);
  for (double hz = 5; hz < top; hz += std::max(2.0, max_hz / 80)) out.push_back(hz);
  out.push_back(top);
  return out;
}

/// A real admittance for each wall of a box and nothing else: those modes are exact.
std::optional<std::vector<double>> separable(const acoustics::ResponseRequest& asked) {
  if (!acoustics::is_box(asked.room) || !asked.patches.empty() || !asked.objects.empty())
    return std::nullopt;
  std::vector<double> out;
  for (const acoustics::Admittance& wall : asked.surfaces) {
    if (wall.size() > 1 || (!wall.empty() && (wall[0].imag() != 0 || wall[0].real() > 0.5)))
      return std::nullopt;
    out.push_back(wall.empty() ? 0 : wall[0].real());
  }
  return out;
}

Json mode_json(const acoustics::Mode& mode) {
  Json out = {{"hz", mode.hz},
              {"decay_s", mode.decay_s ? Json(*mode.decay_s) : Json()},
              {"order", Json()},
              {"kind", Json()}};
  if (!mode.order) return out;
  out["order"] = *mode.order;
  out["kind"] = acoustics::mode_kind_name(mode);
  return out;
}

}  // namespace

Result<Json> calc_modes(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const auto room = read_room(in);
  const auto air = read_air(in);
  const double max_hz = in.number("max_hz", {.above = 0, .at_most = 20000}, "such as 300");
  acoustics::ResponseRequest asked;
  VolumeObjects objects;
  const bool damped = in.has("surfaces") || in.has("patches") || in.has("objects");
  const std::vector<double> hz = damping_hz(max_hz);
  if (room && air && damped) read_walls(in, *room, {hz, *air}, asked, objects);
  for (const char* key : {"surfaces", "patches", "objects"}) in.raw(key);
  in.finish();
  if (!found.empty() || !room || !air) return found;
  asked.room = *room;
  asked.sound_speed_m_s = air->sound_speed_m_s;
  asked.density_kg_m3 = air->density_kg_m3;
  asked.frequencies_hz = hz;
  const auto exact = separable(asked);
  const auto report = !damped ? acoustics::modes(*room, air->sound_speed_m_s, max_hz)
                      : exact ? acoustics::damped_modes(*room, air->sound_speed_m_s, max_hz, *exact)
                              : acoustics::treated_modes(asked, max_hz);
  if (!report) return under_their_names(report.mistakes(), objects);
  Json list = Json::array();
  for (const auto& mode : report->modes) list.push_back(mode_json(mode));
  return Json{
      {"modes", list}, {"count_estimate", report->count_estimate}, {"method", report->method}};
}

namespace {

/// Areas with their coefficient, from a room or from bare areas.
struct DecaySurface {
  double area_m2 = 0;
  Vec3 share{1.0 / 3, 1.0 / 3, 1.0 / 3};
  std::optional<Coefficient> absorption;
  std::string name;
};

std::vector<DecaySurface> surfaces_of_room(Reader& in, const acoustics::Room& room) {
  const RoomBoundary boundary = read_boundary(in, room);
  std::vector<DecaySurface> out;
  for (int i = 0; i < acoustics::surface_count(room); ++i)
    out.push_back({acoustics::surface_area_m2(room, i), acoustics::direction_share(room, i),
                   boundary.surfaces[static_cast<std::size_t>(i)],
                   acoustics::surface_name(room, i)});
  for (std::size_t p = 0; p < boundary.patches.size(); ++p) {
    const auto& patch = boundary.patches[p];
    DecaySurface& whole = out[static_cast<std::size_t>(patch.surface)];
    const Vec2 size = patch.to_m - patch.from_m;
    const double slope = patch.surface == 1 ? std::sqrt(1 + dot(room.slope, room.slope)) : 1;
    const double area = size.x * size.y * slope;
    whole.area_m2 -= area;
    out.push_back(
        {area, whole.share, boundary.patch_absorption[p], "patches[" + std::to_string(p) + "]"});
  }
  return out;
}

/// `areas_m2` names the surfaces and `surfaces` their coefficients.
std::vector<DecaySurface> surfaces_of_areas(Reader& in) {
  std::vector<DecaySurface> out;
  in.required_child(
      "areas_m2",
      [&](Reader& areas) {
        for (const std::string& name : areas.keys()) {
          DecaySurface surface;
          surface.name = name;
          surface.area_m2 = areas.number(name, {.above = 0, .at_most = 1e6});
          out.push_back(surface);
        }
      },
      "{\"floor\": …}");
  in.child("surfaces", [&](Reader& surfaces) {
    const auto read = [&](const std::string& name) {
      std::optional<Coefficient> value;
      surfaces.child(name, [&](Reader& entry) {
        value = read_coefficient(entry, "absorption");
        entry.raw("scattering");
        entry.finish();
      });
      return value;
    };
    const auto fallback = read("default");
    for (DecaySurface& surface : out)
      surface.absorption = surfaces.has(surface.name) ? read(surface.name) : fallback;
    surfaces.finish();
  });
  return out;
}

Json decay_at(const Frequencies& bands, std::size_t band, const std::vector<DecaySurface>& surfaces,
              double volume_m3, const acoustics::Air& air, acoustics::DecayFormula formula) {
  acoustics::DecayInput input;
  input.volume_m3 = volume_m3;
  input.sound_speed_m_s = air.sound_speed_m_s;
  input.air_energy_1_m = acoustics::energy_attenuation_per_m(air, bands.hz[band]);
  Json out = {{"hz", bands.nominal_hz[band]}};
  for (const DecaySurface& surface : surfaces) {
    const auto value = surface.absorption ? surface.absorption->at(bands.nominal_hz[band])
                                          : std::optional<double>(0);
    if (!value) {
      out["t_s"] = nullptr;
      out["reason"] = surface.name + " has no absorption in this band";
      return out;
    }
    input.areas.push_back({surface.area_m2, *value, surface.share});
  }
  const auto time = acoustics::decay_time(input, formula);
  out["t_s"] = time.t_s ? Json(*time.t_s) : Json();
  if (!time.t_s) out["reason"] = time.reason;
  return out;
}

std::optional<Frequencies> read_decay_bands(Reader& in) {
  const std::size_t before = in.found().size();
  const Json bands = {{"bands", in.has("bands") ? *in.raw("bands") : Json("octave")}};
  in.raw("bands");
  Reader only(bands, in.where(), in.found());
  const auto out = read_frequencies(only);
  return in.found().size() > before ? std::nullopt : out;
}

}  // namespace

Result<Json> calc_decay(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const auto air = read_air(in);
  const auto bands = read_decay_bands(in);
  const auto method =
      in.one_of("method", {"sabine", "eyring", "millington", "fitzroy", "arau", "rays", "images"});
  std::vector<DecaySurface> surfaces;
  double volume = 0;
  const bool bare = in.has("volume_m3");
  if (bare) {
    volume = in.number("volume_m3", {.above = 0, .at_most = 1e7}, "the room's volume");
    if (in.raw("room")) in.complain("room", "stands beside volume_m3", {}, "give one of the two");
    surfaces = surfaces_of_areas(in);
  } else if (const auto room = read_room(in)) {
    if (method == 5u && air && bands) return decay_by_rays(in, *room, *air, *bands);
    if (method == 6u && air && bands) return decay_by_images(in, *room, *air, *bands);
    volume = acoustics::volume_m3(*room);
    surfaces = surfaces_of_room(in, *room);
  }
  for (const char* key :
       {"surfaces", "patches", "sources", "receivers_m", "rays", "seed", "max_order"})
    in.raw(key);
  in.finish();
  if (found.empty() && bare && method >= 3u)
    in.complain("method", "needs the room's shape", {},
                "give room, or take sabine, eyring or millington");
  if (!found.empty() || !air || !bands || !method) return found;
  Json rows = Json::array();
  for (std::size_t band = 0; band < bands->hz.size(); ++band)
    rows.push_back(decay_at(*bands, band, surfaces, volume, *air,
                            static_cast<acoustics::DecayFormula>(*method)));
  return Json{{"bands", rows}, {"volume_m3", volume}, {"rule", acoustics::log_cap_rule()}};
}

}  // namespace roomwright::app
