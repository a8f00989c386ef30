// Common parts of requests; see calc_parts.h and docs/interface.md.
#include "app/api/calc_parts.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/materials/materials.h"

namespace roomwright::app {

void pass_on(const Diagnostics& from, Diagnostics& to) {
  for (const Complaint& item : from.items()) to.add(item);
}

std::optional<acoustics::Air> read_air(Reader& in) {
  acoustics::AirInput input;
  const std::size_t before = in.found().size();
  in.child("air", [&](Reader& air) {
    input.temperature_c =
        air.number_or("temperature_c", input.temperature_c, {.at_least = -20, .at_most = 50});
    input.humidity_percent =
        air.number_or("humidity_percent", input.humidity_percent, {.at_least = 0, .at_most = 100});
    input.pressure_pa =
        air.number_or("pressure_pa", input.pressure_pa, {.at_least = 50000, .at_most = 110000});
    input.density_kg_m3 = air.optional_number("density_kg_m3", {.at_least = 0.5, .at_most = 2});
    input.sound_speed_m_s =
        air.optional_number("sound_speed_m_s", {.at_least = 280, .at_most = 400});
    input.attenuation = air.truth_or("attenuation", true);
    air.finish();
  });
  if (in.found().size() > before) return std::nullopt;
  return acoustics::make_air(input).value();
}

namespace {

constexpr std::size_t most_listed = 20000;

std::vector<double> stepped(Reader& list) {
  const double from = list.number("from", {.above = 0, .at_most = 1e6});
  const double to = list.number("to", {.above = 0, .at_most = 1e6});
  const double step = list.number("step", {.above = 0, .at_most = 1e6});
  list.finish();
  std::vector<double> out;
  if (!(step > 0) || !(to >= from)) {
    if (to < from) list.complain("to", "must be at least from", to, "give a rising range");
    return out;
  }
  const double count = std::floor((to - from) / step * (1 + 1e-12)) + 1;
  if (count > double(most_listed)) {
    list.complain("step", "makes more than 20000 frequencies", step, "take a larger step");
    return out;
  }
  for (int i = 0; i < int(count); ++i) out.push_back(from + step * i);
  return out;
}

Frequencies bands_of(bool thirds) {
  Frequencies out;
  out.thirds = thirds;
  for (const auto& band : thirds ? acoustics::third_octave_bands() : acoustics::octave_bands()) {
    out.hz.push_back(band.centre_hz);
    out.nominal_hz.push_back(band.nominal_hz);
  }
  return out;
}

}  // namespace

std::optional<Frequencies> read_frequencies(Reader& in) {
  const std::size_t before = in.found().size();
  if (in.has("bands")) {
    if (in.raw("frequencies_hz"))
      in.complain("frequencies_hz", "stands beside bands", {}, "give one of the two");
    const auto which = in.one_of("bands", {"octave", "third"});
    if (!which || in.found().size() > before) return std::nullopt;
    return bands_of(*which == 1);
  }
  in.raw("bands");
  const Json* raw = in.required("frequencies_hz", "a list, {from, to, step}, or bands");
  if (!raw) return std::nullopt;
  Frequencies out;
  if (raw->is_object()) {
    in.child("frequencies_hz", [&](Reader& list) { out.hz = stepped(list); });
  } else {
    out.hz = in.numbers("frequencies_hz", 1, most_listed, {.above = 0, .at_most = 1e6}, "hertz");
  }
  if (in.found().size() > before || out.hz.empty()) return std::nullopt;
  return out;
}

namespace {

/// `fibre`, its density, and what else is known of it.
void estimate_wool(Reader& in, acoustics::PorousLayer& layer,
                   std::optional<acoustics::FlowResistivity>& wool) {
  acoustics::Wool known;
  known.fibre = in.text("fibre", "such as glass_wool");
  known.density_kg_m3 = in.number("density_kg_m3", {.at_least = 5, .at_most = 400}, "of the board");
  known.fibre_diameter_m =
      in.optional_number("fibre_diameter_m", {.at_least = 1e-6, .at_most = 2e-4});
  known.binder_share = in.number_or("binder_share", 0, {.at_least = 0, .at_most = 0.3});
  if (!(known.density_kg_m3 > 0) || known.fibre.empty()) return;
  const auto got = acoustics::estimate_flow_resistivity(known, in.where());
  if (!got) {
    pass_on(got.mistakes(), in.found());
    return;
  }
  layer.flow_resistivity_pa_s_m2 = got->likely_pa_s_m2;
  layer.density_kg_m3 = known.density_kg_m3;
  wool = *got;
}

acoustics::Layer porous_of(Reader& in, std::optional<acoustics::FlowResistivity>& wool) {
  acoustics::PorousLayer layer;
  layer.thickness_m =
      in.number("thickness_m", {.above = 0, .at_most = acoustics::greatest_thickness_m},
                "give the board's thickness, such as 0.05");
  if (in.has("fibre") && !in.has("flow_resistivity_pa_s_m2"))
    estimate_wool(in, layer, wool);
  else
    layer.flow_resistivity_pa_s_m2 = in.number(
        "flow_resistivity_pa_s_m2", {.above = 0, .at_most = acoustics::greatest_flow_resistivity},
        "such as 10000, or give fibre and density_kg_m3");
  layer.model = static_cast<acoustics::PorousModel>(std::array<int, 4>{
      1, 0, 2,
      3}[in.one_of_or("model", 0, {"miki", "delany-bazley", "garai-pompoli", "jca"}).value_or(0)]);
  if (layer.model != acoustics::PorousModel::johnson_champoux_allard) return layer;
  layer.porosity = in.number("porosity", {.above = 0, .at_most = 1}, "such as 0.97");
  layer.tortuosity = in.number("tortuosity", {.at_least = 1, .at_most = 10}, "such as 1.05");
  layer.viscous_length_m =
      in.number("viscous_length_m", {.above = 0, .at_most = 0.1}, "such as 1e-4");
  layer.thermal_length_m =
      in.number("thermal_length_m", {.above = 0, .at_most = 0.1}, "such as 2e-4");
  layer.limp = in.one_of_or("frame", 0, {"rigid", "limp"}).value_or(0) == 1;
  if (layer.limp)
    layer.density_kg_m3 =
        in.number("density_kg_m3", {.above = 0, .at_most = 10000}, "of the frame");
  else
    in.raw("density_kg_m3");
  return layer;
}

acoustics::Layer layer_of(Reader& in, std::optional<acoustics::FlowResistivity>& wool) {
  const auto kind =
      in.one_of("kind", {"porous", "air", "screen", "perforated", "slotted", "membrane"});
  const Range open{.above = 0, .below = 1},
      thick{.above = 0, .at_most = acoustics::greatest_thickness_m};
  switch (kind.value_or(99)) {
    case 0:
      return porous_of(in, wool);
    case 1:
      return acoustics::AirLayer{in.number("thickness_m", thick, "the gap, such as 0.05")};
    case 2:
      return acoustics::ScreenLayer{
          in.number("flow_resistance_pa_s_m", {.at_least = 0, .at_most = 1e7}, "such as 50"),
          in.optional_number("mass_kg_m2", {.above = 0, .at_most = 1000})};
    case 3:
      return acoustics::PerforatedLayer{
          in.number("thickness_m", thick, "such as 0.006"),
          in.number("hole_diameter_m", {.above = 0, .at_most = 0.5}, "such as 0.006"),
          in.number("open_area", open, "the holes' share, such as 0.08"),
          in.truth_or("losses", false)};
    case 4:
      return acoustics::SlottedLayer{
          in.number("thickness_m", thick, "such as 0.018"),
          in.number("slot_width_m", {.above = 0, .at_most = 0.5}, "such as 0.005"),
          in.number("open_area", open, "the slots' share, such as 0.1"),
          in.truth_or("losses", false)};
    case 5:
      return acoustics::MembraneLayer{
          in.number("mass_kg_m2", {.above = 0, .at_most = 1000}, "such as 5.4")};
    default:
      return acoustics::AirLayer{};
  }
}

}  // namespace

std::optional<acoustics::Stack> read_stack(Reader& in,
                                           std::vector<acoustics::LayerSpread>* spreads) {
  acoustics::Stack stack;
  const std::size_t before = in.found().size();
  in.each(
      "layers", 1, acoustics::most_layers,
      [&](Reader& layer) {
        std::optional<acoustics::FlowResistivity> wool;
        stack.layers.push_back(layer_of(layer, wool));
        if (wool && spreads)
          spreads->push_back({stack.layers.size() - 1, acoustics::Quantity::flow_resistivity,
                              wool->low_pa_s_m2, wool->high_pa_s_m2});
        layer.finish();
      },
      "from the room side to the back");
  stack.backing = in.one_of_or("backing", 0, {"rigid", "open"}).value_or(0) == 1
                      ? acoustics::Backing::open
                      : acoustics::Backing::rigid;
  if (in.found().size() > before) return std::nullopt;
  return stack;
}

namespace {

std::optional<Vec3> point_of(Reader& in, const std::string& key, const Json& raw) {
  if (!raw.is_array() || raw.size() != 3) {
    in.complain(key, "must be [x, y, z] in metres", shown(raw));
    return std::nullopt;
  }
  double v[3] = {};
  for (std::size_t i = 0; i < 3; ++i) {
    if (!raw[i].is_number() || !(std::abs(raw[i].get<double>()) <= 1e4)) {
      in.complain(key + "[" + std::to_string(i) + "]", "must be a number of metres", shown(raw[i]));
      return std::nullopt;
    }
    v[i] = raw[i].get<double>();
  }
  return Vec3{v[0], v[1], v[2]};
}

Polygon plan_of(Reader& in) {
  Polygon plan;
  const Json* raw = in.required("plan_m", "corners, anticlockwise, or size_m");
  if (!raw) return plan;
  if (!raw->is_array() || raw->size() > 1000) {
    in.complain("plan_m", "must be a list of corners", shown(*raw));
    return plan;
  }
  for (std::size_t i = 0; i < raw->size(); ++i) {
    const Json& corner = (*raw)[i];
    if (!corner.is_array() || corner.size() != 2 || !corner[0].is_number() ||
        !corner[1].is_number()) {
      in.complain("plan_m[" + std::to_string(i) + "]", "must be [x, y] in metres", shown(corner));
      return {};
    }
    plan.push_back({corner[0].get<double>(), corner[1].get<double>()});
  }
  return plan;
}

Result<acoustics::Room> room_of(Reader& in) {
  if (in.has("size_m")) {
    const auto size = in.numbers("size_m", 3, 3, {}, "[x, y, z]");
    for (const char* key : {"plan_m", "height_m", "ceiling"})
      if (in.raw(key)) in.complain(key, "stands beside size_m", {}, "give one of the two");
    if (size.size() != 3) return acoustics::make_box(1, 1, 1);
    return acoustics::make_box(size[0], size[1], size[2]);
  }
  const Polygon plan = plan_of(in);
  if (in.has("ceiling")) {
    const Json* raw = in.raw("ceiling");
    if (in.raw("height_m"))
      in.complain("height_m", "stands beside ceiling", {}, "give one of the two");
    std::array<Vec3, 3> points;
    if (!raw->is_array() || raw->size() != 3) {
      in.complain("ceiling", "must be three points of its plane", shown(*raw));
      return acoustics::make_box(1, 1, 1);
    }
    for (std::size_t i = 0; i < 3; ++i)
      if (const auto point = point_of(in, "ceiling[" + std::to_string(i) + "]", (*raw)[i]))
        points[i] = *point;
    return acoustics::make_sloped_room(plan, points);
  }
  return acoustics::make_room(plan, in.number("height_m", {}, "floor to ceiling"));
}

}  // namespace

std::optional<acoustics::Room> read_room(Reader& in) {
  std::optional<acoustics::Room> out;
  in.required_child(
      "room",
      [&](Reader& room) {
        const std::size_t before = room.found().size();
        const auto made = room_of(room);
        room.raw("plan_m");
        room.finish();
        if (room.found().size() > before) return;
        if (made)
          out = *made;
        else
          pass_on(made.mistakes(), room.found());
      },
      "size_m, or plan_m with height_m or ceiling");
  return out;
}

std::optional<std::vector<Vec3>> read_points(Reader& in, const char* key, const char* nested) {
  const std::size_t before = in.found().size();
  std::vector<Vec3> out;
  if (nested) {
    in.each(
        key, 1, 1000,
        [&](Reader& entry) {
          const Json* raw = entry.required(nested, "[x, y, z]");
          if (raw)
            if (const auto point = point_of(entry, nested, *raw)) out.push_back(*point);
          entry.raw("volume_acceleration_m3_s2");
          entry.finish();
        },
        "a list of {at_m}");
  } else {
    const Json* raw = in.required(key, "a list of [x, y, z]");
    if (!raw) return std::nullopt;
    if (!raw->is_array() || raw->empty() || raw->size() > 1000) {
      in.complain(key, "must be a list of 1 to 1000 points", shown(*raw));
      return std::nullopt;
    }
    for (std::size_t i = 0; i < raw->size(); ++i)
      if (const auto point =
              point_of(in, std::string(key) + "[" + std::to_string(i) + "]", (*raw)[i]))
        out.push_back(*point);
  }
  if (in.found().size() > before) return std::nullopt;
  return out;
}

std::optional<double> Coefficient::at(double nominal_hz) const {
  if (one) return one;
  const auto found = by_band.find(int(std::lround(nominal_hz)));
  return found == by_band.end() ? std::nullopt : std::optional<double>(found->second);
}

std::optional<Coefficient> read_coefficient(Reader& in, const char* key) {
  const Json* raw = in.required(key, "one number, or {\"63\": …}");
  if (!raw) return std::nullopt;
  const Range range{.at_least = 0, .at_most = 2};
  Coefficient out;
  if (raw->is_number()) {
    const double value = raw->get<double>();
    if (!range.holds(value)) {
      in.complain(key, range.sentence(), value);
      return std::nullopt;
    }
    out.one = value;
    return out;
  }
  if (!raw->is_object() || raw->empty()) {
    in.complain(key, "must be one number or a table by band", shown(*raw));
    return std::nullopt;
  }
  bool good = true;
  for (const auto& [band, value] : raw->items()) {
    const std::string where = std::string(key) + "." + band;
    bool known = false;
    for (const auto& one : acoustics::third_octave_bands())
      known = known || fixed(one.nominal_hz, 0) == band;
    if (!known)
      in.complain(where, "is not a nominal band from 50 to 10000", {}, "such as 63 or 1000"),
          good = false;
    if (!value.is_number() || !range.holds(value.get<double>()))
      in.complain(where, range.sentence(), shown(value)), good = false;
    if (known && value.is_number()) out.by_band[std::stoi(band)] = value.get<double>();
  }
  return good ? std::optional<Coefficient>(out) : std::nullopt;
}

namespace {

struct Coefficients {
  std::optional<Coefficient> absorption, scattering;
};
Coefficients coefficients_of(Reader& entry) {
  Coefficients out;
  out.absorption = read_coefficient(entry, "absorption");
  if (entry.has("scattering")) out.scattering = read_coefficient(entry, "scattering");
  return out;
}

void read_surfaces(Reader& in, const acoustics::Room& room, RoomBoundary& out) {
  in.child("surfaces", [&](Reader& surfaces) {
    const auto read = [&](const std::string& name) {
      Coefficients value;
      surfaces.child(name, [&](Reader& entry) {
        value = coefficients_of(entry);
        entry.finish();
      });
      return value;
    };
    const Coefficients fallback = read("default");
    for (int i = 0; i < acoustics::surface_count(room); ++i) {
      const std::string name = acoustics::surface_name(room, i);
      const Coefficients value = surfaces.has(name) ? read(name) : fallback;
      out.surfaces[static_cast<std::size_t>(i)] = value.absorption;
      out.surface_scattering[static_cast<std::size_t>(i)] = value.scattering;
    }
    surfaces.finish();
  });
}

}  // namespace

RoomBoundary read_boundary(Reader& in, const acoustics::Room& room) {
  RoomBoundary out;
  out.surfaces.resize(static_cast<std::size_t>(acoustics::surface_count(room)));
  out.surface_scattering.resize(out.surfaces.size());
  read_surfaces(in, room, out);
  in.each("patches", 0, 1000, [&](Reader& entry) {
    acoustics::Patch patch;
    const std::string name = entry.text("surface", "such as wall1", 20);
    const auto surface = acoustics::find_surface(room, name);
    if (!surface && !name.empty())
      entry.complain("surface", "is not a surface of the room", "\"" + name + "\"",
                     "floor, ceiling, wall0 …");
    const auto from = entry.numbers("from_m", 2, 2, {}, "[u, v]"),
               to = entry.numbers("to_m", 2, 2, {}, "[u, v]");
    const Coefficients value = coefficients_of(entry);
    entry.finish();
    if (!surface || from.size() != 2 || to.size() != 2 || !value.absorption) return;
    patch.surface = *surface;
    patch.from_m = {from[0], from[1]};
    patch.to_m = {to[0], to[1]};
    out.patches.push_back(patch);
    out.patch_absorption.push_back(*value.absorption);
    out.patch_scattering.push_back(value.scattering);
  });
  pass_on(acoustics::check_patches(room, out.patches, "patches"), in.found());
  return out;
}

Json warnings_json(const std::vector<Complaint>& warnings) {
  Diagnostics all;
  for (const Complaint& one : warnings) all.add(one);
  return json_of(all)["errors"];
}

Json complex_json(std::complex<double> value) {
  return {value.real(), value.imag()};
}

}  // namespace roomwright::app
