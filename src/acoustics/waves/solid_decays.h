// Private to acoustics/waves: complex frequencies of any room with absorbing surfaces, patches and
// bodies, by the small model of solid_reduce.h.
#pragma once

#include "acoustics/waves/decays.h"

namespace roomwright::acoustics {

struct SolidDecayOptions {
  int threads = 0;
  int more_degrees = 0;
};
struct SolidDecays {
  std::vector<DampedWave> waves;  ///< one for each rigid mode up to max_hz, by rigid_hz
  int unknowns = 0, small = 0, outright = 0;
  /// Of the modes that were held against the whole model: the greatest difference of Im f, as a
  /// share of it.
  double off = 0;
};
/// frequencies_hz of the request: ascending, of values that are given by frequency. Sources and
/// receivers are not looked at. Errors: those of solid_responses; a mode that cannot be followed.
Result<SolidDecays> solid_damped_waves(const ResponseRequest& request, double max_hz,
                                       const SolidDecayOptions& options, const Watch& watch);

}  // namespace roomwright::acoustics
