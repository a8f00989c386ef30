// The inner loop for every processor that the program starts on.
#include "acoustics/absorbers/kernel.h"
#define LANES 2
#include "acoustics/absorbers/kernel_lanes.h"

namespace roomwright::acoustics {

double kernel_baseline(const KernelCall& call) {
  return sum_over(call);
}

}  // namespace roomwright::acoustics
