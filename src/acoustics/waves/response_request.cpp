// See response_request.h.
#include "acoustics/waves/response_request.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

const double request_pi = std::acos(-1.0);
using Value = std::complex<double>;

bool is_number(double x) {
  return std::isfinite(x);
}

void check_admittance(const Admittance& values, std::size_t frequencies, double most,
                      const std::string& where, Diagnostics& found) {
  if (values.size() != 1 && values.size() != frequencies) {
    found.add(where, "must have one value, or one for each frequency", double(values.size()),
              "give " + std::to_string(frequencies) + " values");
    return;
  }
  for (const Value& value : values) {
    if (!is_number(value.real()) || !is_number(value.imag()) || std::abs(value) > most) {
      found.add(where, "must have a magnitude of at most " + shortest(most), std::abs(value),
                "ρc/Z of the surface");
      return;
    }
    if (value.real() < 0) {
      found.add(where, "must have a real part of at least 0", value.real(),
                "a passive surface gives no energy");
      return;
    }
  }
}

void check_list(std::size_t count, std::size_t least, std::size_t most, const char* where,
                Diagnostics& found) {
  if (count < least || count > most)
    found.add(
        where,
        "must have from " + std::to_string(least) + " to " + std::to_string(most) + " entries",
        double(count));
}

void check_points(const ResponseRequest& request, Diagnostics& found) {
  const auto inside = [&](Vec3 at) {
    if (!is_number(at.x) || !is_number(at.y) || !is_number(at.z)) return false;
    const Vec2 plan{at.x, at.y};
    return at.z >= -1e-9 && at.z <= request.room.height_m + 1e-9 &&
           contains(request.room.plan_m, plan, 1e-9);
  };
  for (std::size_t i = 0; i < request.sources.size(); ++i) {
    const std::string where = "sources[" + std::to_string(i) + "]";
    const double strength = request.sources[i].volume_acceleration_m3_s2;
    if (!inside(request.sources[i].at_m))
      found.add(where + ".at_m", "is outside the room", {}, "keep it between the walls");
    if (!(std::abs(strength) <= 1e6))
      found.add(where + ".volume_acceleration_m3_s2", "must be at most 1e6", strength);
  }
  for (std::size_t i = 0; i < request.receivers_m.size(); ++i) {
    const std::string where = "receivers_m[" + std::to_string(i) + "]";
    if (!inside(request.receivers_m[i])) {
      found.add(where, "is outside the room", {}, "keep it between the walls");
      continue;
    }
    for (std::size_t s = 0; s < request.sources.size(); ++s)
      if (length(request.receivers_m[i] - request.sources[s].at_m) < 1e-3)
        found.add(where, "must be at least 1 mm from sources[" + std::to_string(s) + "]", {},
                  "the field of a point source has no end there");
  }
}

void check_room(const ResponseRequest& request, Diagnostics& found) {
  if (!is_box(request.room)) return;  // told by whoever chooses the solver
  const BoxFrame frame(request.room);
  for (std::size_t d = 0; d < 3; ++d)
    if (!(frame.size()[d] >= least_room_m && frame.size()[d] <= greatest_response_room_m))
      found.add("room.size_m[" + std::to_string(d) + "]", "must be from 0.5 to 30 m",
                frame.size()[d], "check the unit");
  if (!frame.square())
    for (std::size_t i = 0; i < request.patches.size(); ++i)
      if (request.patches[i].area.surface < 2)
        found.add("patches[" + std::to_string(i) + "]",
                  "lies askew on the floor or ceiling of a turned plan", {},
                  "turn the plan so that its sides run along x and y");
  check_points(request, found);
}

}  // namespace

Diagnostics not_built(const ResponseRequest& request) {
  Diagnostics found;
  if (!is_box(request.room))
    found.add("room", "is not built yet: the driven field of a room that is no box", {},
              "give a rectangular plan and a flat ceiling");
  if (!request.objects.empty())
    found.add("objects", "is not built yet: absorbers with volume in the driven field",
              double(request.objects.size()), "leave them out");
  return found;
}

Diagnostics wrong_response_request(const ResponseRequest& request) {
  Diagnostics found;
  const std::size_t count = request.frequencies_hz.size();
  check_list(count, 1, most_response_frequencies, "frequencies_hz", found);
  check_list(request.patches.size(), 0, most_response_patches, "patches", found);
  check_list(request.sources.size(), 1, most_response_sources, "sources", found);
  check_list(request.receivers_m.size(), 1, most_response_receivers, "receivers_m", found);
  if (!found.empty()) return found;
  for (std::size_t i = 0; i < count; ++i)
    if (const double hz = request.frequencies_hz[i];
        !(hz >= least_response_hz && hz <= greatest_response_hz))
      found.add("frequencies_hz[" + std::to_string(i) + "]", "must be from 5 to 2000", hz);
  if (!(request.sound_speed_m_s >= 100 && request.sound_speed_m_s <= 1000))
    found.add("sound_speed_m_s", "must be from 100 to 1000", request.sound_speed_m_s);
  if (!(request.density_kg_m3 >= 0.1 && request.density_kg_m3 <= 10))
    found.add("density_kg_m3", "must be from 0.1 to 10", request.density_kg_m3);
  check_room(request, found);
  const std::size_t surfaces = static_cast<std::size_t>(surface_count(request.room));
  if (request.surfaces.size() > surfaces)
    found.add("surfaces", "are more than the room has", double(request.surfaces.size()));
  for (std::size_t i = 0; i < std::min(surfaces, request.surfaces.size()); ++i)
    if (!request.surfaces[i].empty())
      check_admittance(request.surfaces[i], count, 20,
                       "surfaces." + surface_name(request.room, int(i)) + ".admittance", found);
  std::vector<Patch> areas;
  for (std::size_t i = 0; i < request.patches.size(); ++i) {
    areas.push_back(request.patches[i].area);
    check_admittance(request.patches[i].admittance, count, 1e6,
                     "patches[" + std::to_string(i) + "].admittance", found);
  }
  found.add_all(check_patches(request.room, areas, "patches"));
  return found;
}

/// A patch across the two axes of its wall.
WallPatch wall_patch(const Room& room, const BoxFrame& frame, const Patch& patch) {
  WallPatch out;
  const int wall = wall_of_surface[static_cast<std::size_t>(patch.surface)];
  out.axis = wall / 2, out.side = wall % 2;
  const BoxPlace a = frame.place(from_uv(room, patch.surface, patch.from_m));
  const BoxPlace b = frame.place(from_uv(room, patch.surface, patch.to_m));
  for (std::size_t d = 0; d < 2; ++d) {
    const std::size_t axis = d == 0 ? (out.axis == 0 ? 1 : 0) : (out.axis == 2 ? 1 : 2);
    out.low[d] = std::min(a[axis], b[axis]);
    out.high[d] = std::max(a[axis], b[axis]);
  }
  return out;
}

LayoutInput layout_input(const ResponseRequest& request, const ResponseOptions& options) {
  LayoutInput input;
  const BoxFrame frame(request.room);
  input.size_m = frame.size();
  for (const ResponsePatch& patch : request.patches)
    input.patches.push_back(wall_patch(request.room, frame, patch.area));
  for (const ResponseSource& source : request.sources) {
    input.sources.push_back(frame.place(source.at_m));
    input.strength.push_back(source.volume_acceleration_m3_s2);
  }
  for (const Vec3& at : request.receivers_m) input.receivers.push_back(frame.place(at));
  const double highest =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  input.greatest_wave_number = 2 * request_pi * highest / request.sound_speed_m_s;
  input.accuracy_db = options.accuracy_db;
  input.threads = options.threads;
  return input;
}

Diagnostics too_much(const LayoutInput& input) {
  Diagnostics found;
  if (const int unknowns = layout_unknowns(input); unknowns > most_response_unknowns)
    found.add("patches", "ask for more than 1600 unknowns", double(unknowns),
              "fewer or smaller patches, or a lower greatest frequency");
  const double longest = *std::max_element(input.size_m.begin(), input.size_m.end());
  if (const double modes = layout_cut_1_m(input) * longest / request_pi; modes > most_axis_modes)
    found.add("frequencies_hz", "ask for more than 240 modes along the longest side",
              std::ceil(modes), "a lower greatest frequency, or a smaller room");
  return found;
}

// ---- one frequency ------------------------------------------------------------------------------

const Value& at_frequency(const Admittance& values, std::size_t i) {
  return values[values.size() == 1 ? 0 : i];
}

std::array<Value, 6> wall_admittances(const ResponseRequest& request, std::size_t frequency) {
  std::array<Value, 6> out{};
  for (std::size_t i = 0; i < 6; ++i) {
    Value value = i < request.surfaces.size() && !request.surfaces[i].empty()
                      ? at_frequency(request.surfaces[i], frequency)
                      : Value(0);
    if (std::abs(value) < least_admittance) value = least_admittance;
    out[static_cast<std::size_t>(wall_of_surface[i])] = value;
  }
  return out;
}

}  // namespace roomwright::acoustics
