// Private to job/stages: the points of a map of pressure on a surface or on a level plane, what
// each of them stands for, and a place on it in plain words.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

/// A map without its levels. Points in the air and on the edge are to be solved for.
struct PressureGrid {
  PressureMap map;
  std::vector<double> cell_m2;  ///< what of each cell between four points lies in the outline
};

/// surface: one of the room's, or -1: the plane at plane_m. Points inside a body of `objects` say
/// so.
PressureGrid pressure_grid(const acoustics::Room& room, int surface, double plane_m, double step_m,
                           const std::vector<acoustics::ResponseObject>& objects);

bool in_a_body(const std::vector<acoustics::ResponseObject>& objects, const Vec3& at);

/// Where the level is greatest, and how a person would say it. Levels are against a loudspeaker's
/// direct sound at 1 m; points where that of one of `sources` alone makes more than half the
/// pressure do not count.
PressureSpot greatest_place(const Job& job, const PressureMap& map,
                            const std::vector<Vec3>& sources);

}  // namespace roomwright::job
