// Absorbers of volume: layers become slabs of fluid, by the porous models.
#include "app/api/calc_objects.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "app/api/calc.h"

namespace roomwright::app {

namespace {

using acoustics::FluidSlab;

/// ρ_r = Z k and κ_r = k / Z of a porous layer; air is air.
std::optional<FluidSlab> slab_of(const acoustics::Layer& layer, const std::vector<double>& hz,
                                 const acoustics::Air& air) {
  if (const auto* gap = std::get_if<acoustics::AirLayer>(&layer))
    return FluidSlab{gap->thickness_m, {1}, {1}};
  const auto* porous = std::get_if<acoustics::PorousLayer>(&layer);
  if (!porous) return std::nullopt;
  FluidSlab out;
  out.thickness_m = porous->thickness_m;
  for (const double f : hz) {
    const acoustics::Wave wave = acoustics::porous_wave(*porous, air, f);
    out.density.push_back(wave.impedance * wave.number);
    out.compressibility.push_back(wave.number / wave.impedance);
  }
  return out;
}

std::vector<FluidSlab> read_slabs(Reader& entry, const std::vector<double>& hz,
                                  const acoustics::Air& air) {
  std::vector<FluidSlab> out;
  const auto stack = read_stack(entry);
  if (!stack) return out;
  if (stack->backing == acoustics::Backing::open)
    entry.complain("backing", "has no meaning in a volume", {}, "leave it out");
  for (std::size_t i = 0; i < stack->layers.size(); ++i) {
    const auto slab = slab_of(stack->layers[i], hz, air);
    if (slab)
      out.push_back(*slab);
    else
      entry.complain("layers[" + std::to_string(i) + "].kind",
                     "is not built yet inside a volume: screens, sheets and membranes", {},
                     "porous and air layers");
  }
  if (out.size() < stack->layers.size()) out.clear();
  return out;
}

Polygon read_plan(Reader& entry) {
  Polygon out;
  const Json* raw = entry.required("plan_m", "a list of [x, y], anticlockwise");
  if (!raw) return out;
  if (!raw->is_array() || raw->size() < 3 || raw->size() > 16) {
    entry.complain("plan_m", "must have from 3 to 16 corners [x, y]", shown(*raw));
    return out;
  }
  for (const Json& corner : *raw) {
    if (!corner.is_array() || corner.size() != 2 || !corner[0].is_number() ||
        !corner[1].is_number() || std::abs(corner[0].get<double>()) > 1000 ||
        std::abs(corner[1].get<double>()) > 1000) {
      entry.complain("plan_m", "must have corners [x, y] within 1000 m", shown(corner));
      return {};
    }
    out.push_back({corner[0].get<double>(), corner[1].get<double>()});
  }
  return out;
}

/// Its ends: `z_m`, or `below_ceiling_m` in its place.
void read_ends(Reader& entry, acoustics::ResponseObject& object) {
  if (!entry.has("below_ceiling_m")) {
    const auto z = entry.numbers("z_m", 2, 2, {.at_least = 0, .at_most = 100},
                                 "[low, high], or below_ceiling_m in its place");
    if (z.size() == 2) object.low_m = z[0], object.high_m = z[1];
    return;
  }
  if (entry.raw("z_m"))
    entry.complain("below_ceiling_m", "stands beside z_m", {}, "give one of the two");
  const auto span = entry.numbers("below_ceiling_m", 2, 2, {.at_least = 0, .at_most = 100},
                                  "[gap, gap + depth], along the ceiling's normal");
  if (span.size() == 2) object.below_ceiling_m = {span[0], span[1]};
}

}  // namespace

void read_objects(Reader& in, const std::vector<double>& hz, const acoustics::Air& air,
                  VolumeObjects& out) {
  std::size_t index = 0;
  in.each("objects", 0, acoustics::most_response_objects, [&](Reader& entry) {
    const std::size_t before = entry.found().size();
    acoustics::ResponseObject object;
    object.plan_m = read_plan(entry);
    read_ends(entry, object);
    object.slabs = read_slabs(entry, hz, air);
    if (entry.raw("axis")) {
      const auto axis =
          entry.numbers("axis", 3, 3, {.at_least = -1e6, .at_most = 1e6}, "[x, y, z]");
      if (axis.size() == 3) {
        const Vec3 given{axis[0], axis[1], axis[2]};
        if (length(given) > 1e-9)
          object.axis = normalised(given);
        else
          entry.complain("axis", "must have a length above 0", {}, "such as [0, 0, 1]");
      }
    }
    entry.finish();
    const std::string name = "objects[" + std::to_string(index++) + "]";
    if (entry.found().size() > before) return;
    out.items.push_back(std::move(object));
    out.names.push_back(name);
  });
}

void read_volume_patch(Reader& entry, const acoustics::Room& room, const acoustics::Patch* area,
                       const std::vector<double>& hz, const acoustics::Air& air,
                       const std::string& name, VolumeObjects& out) {
  acoustics::ResponseObject object;
  if (entry.raw("admittance"))
    entry.complain("admittance", "says nothing of a volume", {}, "give layers");
  object.slabs = read_slabs(entry, hz, air);
  if (!area || object.slabs.empty()) return;
  std::reverse(object.slabs.begin(), object.slabs.end());
  double thick = 0;
  for (const FluidSlab& slab : object.slabs) thick += slab.thickness_m;
  const Vec2 a = area->from_m, c = area->to_m;
  object.axis = acoustics::surface_plane(room, area->surface).normal;
  if (area->surface < 2) {
    object.plan_m = {a, {c.x, a.y}, c, {a.x, c.y}};
    object.high_m = thick;
    if (area->surface == 1) object.below_ceiling_m = {0, thick};
  } else {
    const Vec3 p = acoustics::from_uv(room, area->surface, {a.x, 0});
    const Vec3 q = acoustics::from_uv(room, area->surface, {c.x, 0});
    const Vec2 in = Vec2{object.axis.x, object.axis.y} * thick;
    object.plan_m = {{p.x, p.y}, {q.x, q.y}, Vec2{q.x, q.y} + in, Vec2{p.x, p.y} + in};
    object.low_m = a.y, object.high_m = c.y;
  }
  out.items.push_back(std::move(object));
  out.names.push_back(name);
}

namespace {

std::string under_their_names(const std::string& text, const VolumeObjects& objects) {
  const std::string engine = "objects[";
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t found = text.find(engine, at), close = text.find(']', found);
    if (found == std::string::npos || close == std::string::npos) return out + text.substr(at);
    const std::size_t digits = found + engine.size();
    const std::size_t i = std::strtoul(text.substr(digits, close - digits).c_str(), nullptr, 10);
    out += text.substr(at, found - at);
    out += i < objects.names.size() ? objects.names[i] : text.substr(found, close + 1 - found);
    at = close + 1;
  }
  return out;
}

}  // namespace

Diagnostics under_their_names(const Diagnostics& found, const VolumeObjects& objects) {
  Diagnostics out;
  for (Complaint item : found.items()) {
    item.where = under_their_names(item.where, objects);
    item.what = under_their_names(item.what, objects);
    out.add(item);
  }
  return out;
}

}  // namespace roomwright::app
