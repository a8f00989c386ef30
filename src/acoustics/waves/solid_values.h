// Private to acoustics/waves: what a request's matrix is made of at each frequency.
#pragma once

#include <array>
#include <complex>
#include <vector>

#include "acoustics/waves/solid_model.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

/// No surface and no patch takes anything from the field.
bool is_lossless(const ResponseRequest& request);

/// The least share of the power that falls on all surfaces and is lost, for the frequency that
/// loses least: a room that loses little needs its modes placed more exactly.
double least_loss(const ResponseRequest& request);

/// The fluids of the objects' slabs, each once, and which of them each slab is (from 1).
struct Fluids {
  std::vector<const FluidSlab*> all;
  std::vector<int> of_slab;
};
Fluids fluids_of(const ResponseRequest& request);

/// Of the frequency of that index; `fluids` are those of the request.
SolidValues values_at(const ResponseRequest& request, const Fluids& fluids, std::size_t i);

/// What a stretch of the room makes of its matrices, which stay those of the room as it is: the
/// stiffness by direction, the mass, and each boundary. Exact.
struct StretchWeights {
  std::array<double, 3> slope{1, 1, 1};
  double volume = 1;
  std::vector<double> area;  ///< by surface, then by patch
};
StretchWeights stretch_weights(const ResponseRequest& request, const RoomStretch& stretch);
/// By material_part(): for a model that stretches.
SolidValues stretched_values(const SolidValues& plain, const StretchWeights& weights);

/// At a complex wave number in air, with a share of all that is not air and rigid walls: what is
/// given by frequency (at least two, ascending) goes on as the parabola through the three nearest.
SolidValues values_at_wave(const ResponseRequest& request, std::complex<double> k, double share);

/// By material, the greatest |√(ρκ)| over the frequencies, weighted by their share of the greatest:
/// how much shorter than in air its waves are at the top of the band.
std::vector<double> slowness(const ResponseRequest& request);

}  // namespace roomwright::acoustics
