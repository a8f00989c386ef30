// Private to app/api: what damps a room in a request for a driven field or for damped modes: its
// surfaces, patches on them and absorbers of volume.
#pragma once

#include "app/api/calc_objects.h"

namespace roomwright::app {

/// What an admittance needs to become numbers.
struct WallValues {
  const std::vector<double>& hz;
  const acoustics::Air& air;
};

/// `surfaces`, `objects` and `patches`, each with `admittance` (a number, [re, im] or a table) or
/// `layers` with `backing`.
void read_walls(Reader& in, const acoustics::Room& room, const WallValues& at,
                acoustics::ResponseRequest& to, VolumeObjects& objects);

}  // namespace roomwright::app
