// Private to acoustics/absorbers: one frequency and one angle through a stack.
#pragma once

#include "acoustics/absorbers/absorbers.h"

namespace roomwright::acoustics {

/// What a stack shows its front at one frequency, relative to air's ρc.
struct Front {
  std::complex<double> admittance;  ///< y = ρc / Z
  std::complex<double> passed = 0;  ///< pressure behind over pressure in front; open back only
};

/// A stack with everything worked out that does not depend on the angle.
struct Prepared {
  struct Step {
    bool series = false;             ///< a thin layer: `number` unused, `impedance` its own
    std::complex<double> impedance;  ///< relative to air's
    std::complex<double> number;     ///< relative to air's k
    double thickness_m = 0;
  };
  std::vector<Step> steps;  ///< room side first
  bool open = false;
  double wave_number_1_m = 0;
};
Prepared prepare(const Stack& stack, const Air& air, double hz);

/// sine: of the angle of incidence in the air (0: normal), below 1.
Front front_of(const Prepared& stack, double sine);

}  // namespace roomwright::acoustics
