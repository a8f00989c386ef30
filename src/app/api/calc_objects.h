// Private to app/api: absorbers of volume in a request for a driven field.
#pragma once

#include <string>
#include <vector>

#include "acoustics/waves/waves.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

/// The objects of a request, and what each is called in it.
struct VolumeObjects {
  std::vector<acoustics::ResponseObject> items;
  std::vector<std::string> names;
};

/// `objects`: [{"plan_m", "z_m": [lo, hi] or "below_ceiling_m": [gap, gap + depth], "layers",
/// "axis": [x, y, z]}].
void read_objects(Reader& in, const std::vector<double>& hz, const acoustics::Air& air,
                  VolumeObjects& out);

/// A patch with "volume": true: its layers stand on the surface into the room, the last one against
/// it. Reads `layers`.
void read_volume_patch(Reader& entry, const acoustics::Room& room, const acoustics::Patch* area,
                       const std::vector<double>& hz, const acoustics::Air& air,
                       const std::string& name, VolumeObjects& out);

/// Complaints about objects[i], under the names that the request has for them.
Diagnostics under_their_names(const Diagnostics& found, const VolumeObjects& objects);

}  // namespace roomwright::app
