// Private to acoustics/field: what a trace found, as spectra of a pressure impulse response.
#pragma once

#include "acoustics/field/field.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

/// Half spectra of `length` samples and a guard behind them, into which falls what real filters
/// ring before time 0.
struct RaySpectra {
  double step_hz = 0;
  Complexes direct, early, late;  ///< direct sound; reflections of known time; noise
  /// The direct sound at any frequency.
  std::complex<double> direct_at(double hz) const;

  std::vector<double> band_hz, direct_amplitude;  ///< empty: no direct sound
  double direct_s = 0;
};

void check_rays(const RayPart& rays, Diagnostics& found);
RaySpectra ray_spectra(const RayPart& rays, std::size_t length, const ImpulseOptions& options);

/// Pressure² by bin and band of what is not an exact path: 4π times energy.
std::vector<double> late_energy(const RayPart& rays, std::size_t band);

}  // namespace roomwright::acoustics
