// Private to acoustics/waves: complex frequencies of prisms with absorbing surfaces and patches.
#pragma once

#include <complex>
#include <vector>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

struct TreatedRoom {
  Room room;
  double sound_speed_m_s = 343.2;
  std::vector<Admittance> surfaces;  ///< by surface; empty ones are rigid
  std::vector<ResponsePatch> patches;
  std::vector<double> frequencies_hz;  ///< of admittances with more than one value, ascending
};
struct DampedWave {
  double rigid_hz;
  std::complex<double> hz;  ///< imaginary part above 0: decays as e^(−2π Im f t)
};
/// One for each rigid mode from the first to max_hz, in that order.
Result<std::vector<DampedWave>> damped_waves(const TreatedRoom& treated, double max_hz, int threads,
                                             const Watch& watch);

}  // namespace roomwright::acoustics
