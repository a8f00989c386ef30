// What damps a room in a request; see calc_walls.h.
#include "app/api/calc_walls.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace roomwright::app {

namespace {

using Complex = std::complex<double>;
using At = WallValues;

std::optional<Complex> complex_of(const Json& raw) {
  if (raw.is_number()) return Complex(raw.get<double>(), 0);
  if (raw.is_array() && raw.size() == 2 && raw[0].is_number() && raw[1].is_number())
    return Complex(raw[0].get<double>(), raw[1].get<double>());
  return std::nullopt;
}

/// Linear between the points of a table; the ends hold beyond it.
acoustics::Admittance from_table(Reader& table, const At& at) {
  const auto hz = table.numbers("hz", 2, 20000, {.above = 0, .at_most = 1e6}, "rising");
  const auto re = table.numbers("re", 2, 20000, {.at_least = 0, .at_most = 1e6}, "at each hz");
  const auto im = table.numbers("im", 2, 20000, {.at_least = -1e6, .at_most = 1e6}, "at each hz");
  table.finish();
  if (re.size() != hz.size() || im.size() != hz.size() || !std::is_sorted(hz.begin(), hz.end())) {
    table.complain("hz", "must rise, with as many re and im", double(hz.size()));
    return {};
  }
  if (hz.empty()) return {};
  acoustics::Admittance out;
  for (const double f : at.hz) {
    const auto above = std::upper_bound(hz.begin(), hz.end(), f);
    const auto i = static_cast<std::size_t>(
        std::clamp<std::ptrdiff_t>(above - hz.begin() - 1, 0, std::ptrdiff_t(hz.size()) - 2));
    const double t = std::clamp((f - hz[i]) / std::max(hz[i + 1] - hz[i], 1e-12), 0.0, 1.0);
    out.emplace_back(re[i] + t * (re[i + 1] - re[i]), im[i] + t * (im[i + 1] - im[i]));
  }
  return out;
}

/// 1 / surface impedance at normal incidence: a patch reacts locally.
acoustics::Admittance from_layers(Reader& entry, const At& at) {
  const auto stack = read_stack(entry);
  if (!stack) return {};
  acoustics::AbsorptionOptions normal;
  normal.incidence.kind = acoustics::Incidence::normal;
  const auto report = acoustics::absorption(*stack, at.air, at.hz, normal);
  if (!report) {
    pass_on(report.mistakes(), entry.found());
    return {};
  }
  acoustics::Admittance out;
  for (const Complex& z : report->impedance) out.push_back(1.0 / z);
  return out;
}

/// `admittance` (a number, [re, im] or a table) or `layers` with `backing`.
acoustics::Admittance admittance_of(Reader& entry, const At& at) {
  if (entry.has("layers")) {
    if (entry.raw("admittance"))
      entry.complain("admittance", "stands beside layers", {}, "give one of the two");
    return from_layers(entry, at);
  }
  const Json* raw = entry.required("admittance", "[re, im], a table {hz, re, im}, or layers");
  if (!raw) return {};
  if (raw->is_object()) {
    acoustics::Admittance out;
    entry.child("admittance", [&](Reader& table) { out = from_table(table, at); });
    return out;
  }
  const auto value = complex_of(*raw);
  if (!value) entry.complain("admittance", "must be a number, [re, im] or a table", shown(*raw));
  return value ? acoustics::Admittance{*value} : acoustics::Admittance{};
}

std::vector<acoustics::Admittance> surfaces_of(Reader& in, const acoustics::Room& room,
                                               const At& at) {
  std::vector<acoustics::Admittance> out(static_cast<std::size_t>(acoustics::surface_count(room)));
  if (!in.has("surfaces")) return out;
  in.child("surfaces", [&](Reader& surfaces) {
    const auto read = [&](const std::string& name) {
      acoustics::Admittance value;
      surfaces.child(name, [&](Reader& entry) {
        value = admittance_of(entry, at);
        entry.finish();
      });
      return value;
    };
    const acoustics::Admittance fallback = read("default");
    for (int i = 0; i < acoustics::surface_count(room); ++i) {
      const std::string name = acoustics::surface_name(room, i);
      out[static_cast<std::size_t>(i)] = surfaces.has(name) ? read(name) : fallback;
    }
    surfaces.finish();
  });
  return out;
}

/// What is wrong with one place on a surface, under the patch's own name.
void add(const Diagnostics& found, const std::string& where, Diagnostics& to) {
  for (Complaint item : found.items()) {
    item.where = where;
    to.add(item);
  }
}

void read_patches(Reader& in, const acoustics::Room& room, const At& at,
                  std::vector<acoustics::ResponsePatch>& patches, VolumeObjects& objects) {
  std::size_t index = 0;
  in.each("patches", 0, acoustics::most_response_patches, [&](Reader& entry) {
    acoustics::ResponsePatch patch;
    const std::string name = entry.text("surface", "floor, ceiling, wall0 …");
    const auto surface = acoustics::find_surface(room, name);
    if (!surface && !name.empty())
      entry.complain("surface", "is not a surface of the room", "\"" + name + "\"");
    const auto from = entry.numbers("from_m", 2, 2, {.at_least = -1000, .at_most = 1000}, "[u, v]");
    const auto to = entry.numbers("to_m", 2, 2, {.at_least = -1000, .at_most = 1000}, "[u, v]");
    const bool placed = surface && from.size() == 2 && to.size() == 2;
    if (placed) patch.area = {*surface, {from[0], from[1]}, {to[0], to[1]}};
    const std::string where = "patches[" + std::to_string(index++) + "]";
    if (entry.truth_or("volume", false)) {
      if (placed) add(acoustics::check_patches(room, {patch.area}, ""), where, entry.found());
      read_volume_patch(entry, room, placed ? &patch.area : nullptr, at.hz, at.air, where, objects);
      entry.finish();
      return;
    }
    patch.admittance = admittance_of(entry, at);
    entry.finish();
    if (placed) patches.push_back(std::move(patch));
  });
}

}  // namespace

void read_walls(Reader& in, const acoustics::Room& room, const WallValues& at,
                acoustics::ResponseRequest& to, VolumeObjects& objects) {
  to.surfaces = surfaces_of(in, room, at);
  read_objects(in, at.hz, at.air, objects);
  read_patches(in, room, at, to.patches, objects);
  to.objects = objects.items;
}

}  // namespace roomwright::app
