// The physics inside a well, shared by the scattering and absorption models of this folder.
#pragma once

#include <complex>

#include "acoustics/diffusers/diffusers.h"

namespace roomwright::acoustics {

/// A well's plane wave seen at its mouth, for unit pressure at its bottom: the pressure, and the
/// velocity into the well times ρc. Their quotient is the impedance −j cot(kd); the pair stays
/// finite at every resonance.
struct Mouth {
  std::complex<double> pressure = 1, velocity = 0;
};

/// A slit's wave number and characteristic impedance, both relative to air's.
struct SlitWave {
  std::complex<double> number = 1, impedance = 1;
};

/// Source: J.-F. Allard & N. Atalla, Propagation of Sound in Porous Media (2009), ch. 4, effective
/// density and bulk modulus of a slit (from memory).
SlitWave slit_wave(double width_m, double hz, const Air& air);

Mouth mouth_of(double depth_m, double wave_number_1_m, const SlitWave& wave);

/// The waves of all mouths of one period, and of nothing else. losses false: those of free air.
std::vector<Mouth> mouths_of(const Wells& wells, double hz, bool losses, const Air& air);

}  // namespace roomwright::acoustics
