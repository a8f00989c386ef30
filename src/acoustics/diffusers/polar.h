// What the two scattering models of this folder share.
#pragma once

#include <string>
#include <vector>

#include "acoustics/diffusers/diffusers.h"

namespace roomwright::acoustics {

/// Errors of wells and options together.
Diagnostics check_polar(const Wells& wells, const PolarOptions& options, const Air& air);

/// How a message names a frequency.
std::string frequency_key(std::size_t index);

/// Adds what both models cannot know: wells too wide, steps too wide.
void warn_polar(const Wells& wells, const PolarOptions& options, const Air& air,
                PolarReport& report);

/// −90 to 90 by step.
std::vector<double> polar_angles_deg(double step_deg);

/// Whole width of the slice: all periods and the last fin.
double slice_width_m(const Wells& wells, int periods);

/// Adds one frequency: levels of both from amplitudes in √m, and the three coefficients.
void add_frequency(const std::vector<double>& amplitudes,
                   const std::vector<double>& flat_amplitudes, PolarReport& report);

}  // namespace roomwright::acoustics
