// What is asked of a driven field; see response_checks.h.
#include "acoustics/waves/response_checks.h"

#include <algorithm>

namespace roomwright::acoustics {

void check_admittance(const Admittance& values, std::size_t frequencies, double most,
                      const std::string& where, Diagnostics& found) {
  if (values.size() != 1 && values.size() != frequencies) {
    found.add(where, "must have one value, or one for each frequency", double(values.size()),
              "give " + std::to_string(frequencies) + " values");
    return;
  }
  for (const std::complex<double>& value : values) {
    if (!std::isfinite(value.real()) || !std::isfinite(value.imag()) || std::abs(value) > most) {
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
    if (!std::isfinite(at.x) || !std::isfinite(at.y) || !std::isfinite(at.z)) return false;
    const Vec2 plan{at.x, at.y};
    return at.z >= -1e-9 && at.z <= request.room.ceiling_at(plan) + 1e-9 &&
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

void check_lists(const ResponseRequest& request, Diagnostics& found) {
  const std::size_t count = request.frequencies_hz.size();
  check_list(count, 1, most_response_frequencies, "frequencies_hz", found);
  check_list(request.patches.size(), 0, most_response_patches, "patches", found);
  check_list(request.sources.size(), 1, most_response_sources, "sources", found);
  check_list(request.receivers_m.size(), 1, most_response_receivers, "receivers_m", found);
}

void check_air(const ResponseRequest& request, Diagnostics& found) {
  const std::size_t count = request.frequencies_hz.size();
  for (std::size_t i = 0; i < count; ++i)
    if (const double hz = request.frequencies_hz[i];
        !(hz >= least_response_hz && hz <= greatest_response_hz))
      found.add("frequencies_hz[" + std::to_string(i) + "]", "must be from 5 to 2000", hz);
  if (!(request.sound_speed_m_s >= 100 && request.sound_speed_m_s <= 1000))
    found.add("sound_speed_m_s", "must be from 100 to 1000", request.sound_speed_m_s);
  if (!(request.density_kg_m3 >= 0.1 && request.density_kg_m3 <= 10))
    found.add("density_kg_m3", "must be from 0.1 to 10", request.density_kg_m3);
}

void check_boundaries(const ResponseRequest& request, Diagnostics& found) {
  const std::size_t count = request.frequencies_hz.size();
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
}

}  // namespace roomwright::acoustics
