// Private to app/api: maps in a request for a driven field: points on a surface or on a level
// plane.
#pragma once

#include "acoustics/waves/waves.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

inline constexpr std::size_t most_maps = 64;
inline constexpr double most_map_values = 200'000;  ///< points times frequencies

/// `maps`: [{"surface": "wall0" or "plane_z_m": 1.2, "step_m": 0.2}].
struct CalcMap {
  std::string name;
  std::vector<Vec3> points_m;  ///< u runs fastest; those outside the outline are left out
};
/// A point at a source stands 2 mm beside it. Complains of more values than the limit.
std::vector<CalcMap> read_maps(Reader& in, const acoustics::Room& room,
                               const std::vector<acoustics::ResponseSource>& sources,
                               std::size_t receivers, std::size_t frequencies);

}  // namespace roomwright::app
