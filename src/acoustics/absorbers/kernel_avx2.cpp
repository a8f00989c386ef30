// The inner loop for processors with AVX2 and fused multiply-add; compiled with those switched on
// (libraries.cmake), and called only where the processor has them.
#include "acoustics/absorbers/kernel.h"
#ifdef ROOMWRIGHT_KERNEL_AVX2
#define LANES 4
#include "acoustics/absorbers/kernel_lanes.h"

namespace roomwright::acoustics {

double kernel_avx2(const KernelCall& call) {
  return sum_over(call);
}

}  // namespace roomwright::acoustics
#endif
