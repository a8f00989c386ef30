// Scattering of plane waves by a closed contour in two dimensions (an endless cylinder of any
// section), by boundary elements. Knows elements, no wells; boundary.cpp makes wells into elements.
#pragma once

#include <complex>
#include <vector>

#include "core/base/base.h"

namespace roomwright::acoustics {

struct ContourPoint {
  double x_m = 0, y_m = 0;
};

/// What a piece of the surface does: with u unknown, pressure is `pressure` · u and velocity into
/// the body times ρc is `velocity` · u. Rigid: 1 and 0; admittance β: 1 and β.
struct ContourSurface {
  std::complex<double> pressure = 1, velocity = 0;
};

/// A straight element from `from` to the next element's `from`; the body lies to its left, so the
/// contour runs anticlockwise. It reacts by itself, or as part of a mouth.
struct ContourElement {
  ContourPoint from;
  ContourSurface surface;
  int mouth = -1;  ///< above -1: the mouth's reaction counts, not its own
};

/// A closed contour. A mouth moves as one: its elements share one velocity, and the mean of their
/// pressures drives it.
struct Contour {
  std::vector<ContourElement> elements;
  std::vector<ContourSurface> mouths;
};

/// One plane wave's total pressure, and velocity into the body times ρc, on each element.
struct ContourField {
  double wave_number_1_m = 0;
  double incidence_rad = 0;
  std::vector<ContourPoint> corners;
  std::vector<std::complex<double>> pressures, velocities;
};

/// Incident is e^{jk(x sin ψ + y cos ψ)}: it comes from ψ, counted from +y towards +x. At least 3
/// elements, each shorter than half a wavelength; kept by the caller.
ContourField solve_contour(const Contour& contour, double wave_number_1_m, double incidence_rad,
                           int threads);

/// f of the scattered pressure f √(2/πkr) e^{−j(kr − π/4)} in direction θ, counted as ψ.
std::complex<double> far_pattern(const ContourField& field, double angle_rad);

/// Cross sections in metres: power over the incident intensity, for a unit length of cylinder.
struct ContourPowers {
  double taken = 0;      ///< from the incident wave, by the optical theorem: −(4/k) Re f(forward)
  double scattered = 0;  ///< (2/πk) ∫ |f|² dθ
  double absorbed = 0;   ///< ∫ Re(p v*) over the contour
};
ContourPowers powers_of(const ContourField& field);

}  // namespace roomwright::acoustics
