// The inner loops of the sparse solver for processors with AVX512; see libraries.cmake.
#include "acoustics/waves/solid_kernel.h"
#ifdef ROOMWRIGHT_WIDE_WAVES
#define LANES 8
#include "acoustics/waves/solid_lanes.h"

namespace roomwright::acoustics {

extern const FrontKernel front_kernel_avx512{eliminate_front, forward_front, backward_front};

}  // namespace roomwright::acoustics
#endif
