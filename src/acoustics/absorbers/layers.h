// Private to acoustics/absorbers: one frequency and one angle through a stack.
#pragma once

#include <array>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/absorbers/kernel.h"

namespace roomwright::acoustics {

/// What a stack shows its front at one frequency, relative to air's ρc.
struct Front {
  std::complex<double> admittance;  ///< y = ρc / Z
  std::complex<double> passed = 0;  ///< pressure behind over pressure in front; open back only
};

/// A stack with everything worked out that does not depend on the angle.
struct Prepared {
  struct Step {
    KernelStep::Kind kind = KernelStep::air;
    std::complex<double> impedance;  ///< relative to air's; of a thin layer its own
    std::complex<double> number;     ///< relative to air's k; thin: unused
    double thickness_m = 0;
  };
  std::array<Step, most_layers> steps;  ///< room side first
  int count = 0;
  bool open = false;
  double wave_number_1_m = 0;
};
Prepared prepare(const Stack& stack, const Air& air, double hz);

/// sine: of the angle of incidence in the air (0: normal), below 1.
/// By complex functions of the library, one angle at a time: for the impedance, and the witness of
/// the inner loop.
Front front_of(const Prepared& stack, double sine);

/// Of all layers, without the backing.
TransferMatrix matrix_of(const Prepared& stack, double sine);

/// The same stack as the inner loop takes it.
std::array<KernelStep, most_layers> kernel_steps(const Prepared& stack);

}  // namespace roomwright::acoustics
