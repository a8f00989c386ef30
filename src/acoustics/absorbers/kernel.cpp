// Which inner loop runs; see kernel.h.
#include "acoustics/absorbers/kernel.h"

namespace roomwright::acoustics {

Kernel fastest_kernel() {
#ifdef ROOMWRIGHT_KERNEL_AVX2
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) return kernel_avx2;
#endif
  return kernel_baseline;
}

}  // namespace roomwright::acoustics
