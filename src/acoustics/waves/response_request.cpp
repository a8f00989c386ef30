// See response_request.h.
#include "acoustics/waves/response_request.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/basis.h"
#include "acoustics/waves/response_checks.h"

namespace roomwright::acoustics {

namespace {

const double request_pi = std::acos(-1.0);
using Value = std::complex<double>;

void check_room(const ResponseRequest& request, Diagnostics& found) {
  if (!is_box(request.room)) return;  // told by whoever chooses the solver
  const BoxCoordinates frame(request.room);
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
  if (!prism_of(request.room))
    found.add("room", "is not built yet: a patch that moves in a room that is no prism", {},
              "a flat ceiling, or a rectangular plan whose ceiling slopes along one side");
  if (!request.objects.empty())
    found.add("objects", "is not built yet: a patch that moves among absorbers with volume",
              double(request.objects.size()), "leave them out");
  return found;
}

Diagnostics wrong_response_request(const ResponseRequest& request) {
  Diagnostics found;
  check_lists(request, found);
  if (!found.empty()) return found;
  check_air(request, found);
  check_room(request, found);
  check_boundaries(request, found);
  return found;
}

/// A patch across the two axes of its wall.
WallPatch wall_patch(const Room& room, const BoxCoordinates& frame, const Patch& patch) {
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
  const BoxCoordinates frame(request.room);
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
