// Private to job/stages: the job's room as the ray tracer wants it, with its furniture and, where
// there is a treatment, its pieces; and the loudspeakers' beams.
#pragma once

#include "acoustics/field/field.h"
#include "job/stages/stages.h"

namespace roomwright::job {

struct RayScene {
  acoustics::TracedScene scene;             ///< sources: every loudspeaker, in order
  std::vector<double> band_hz;              ///< mid-band frequencies of the octaves
  std::vector<std::vector<double>> evened;  ///< by source, band: 1 / the gain on its axis
  std::vector<std::string> notes;           ///< what was left out or moved
};

/// Surfaces by their material; features with a material and pieces that lie flat as patches; traps
/// in corners, clouds and furniture as boxes. A piece or a thing that reaches out of the room, or
/// within 60 mm of a loudspeaker or a receiver, is left out; a point nearer than that to a surface
/// is moved away from it. Receivers are the caller's.
RayScene ray_scene(const Job& job, const Survey& survey, const Treatment* treatment,
                   const std::vector<Vec3>& receivers_m);

/// Where waves and rays cross: the Schroeder frequency, held to 120 to 400 Hz.
double crossover_hz(const Findings& findings, const Treatment* treatment);

/// The driven field on an even grid up to the octave about the crossover, by loudspeaker, then
/// receiver; empty where waves cannot be solved. The note says so, or which pieces are not in it.
struct SeatWaves {
  std::vector<std::vector<acoustics::WavePart>> parts;
  double crossover_hz = 0;
  std::string note;
};
SeatWaves seat_waves(const Job& job, const Survey& survey, const Findings& findings,
                     const Treatment* treatment, const std::vector<Vec3>& receivers_m,
                     const RayOptions& options);

}  // namespace roomwright::job
