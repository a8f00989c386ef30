// The inner loops of the sparse solver for processors with AVX2; see libraries.cmake.
#include "acoustics/waves/solid_kernel.h"
#ifdef ROOMWRIGHT_WIDE_WAVES
#define LANES 4
#include "acoustics/waves/solid_lanes.h"

namespace roomwright::acoustics {

extern const FrontKernel front_kernel_avx2{eliminate_front,        eliminate_front_single,
                                           forward_front<double>,  forward_front<float>,
                                           backward_front<double>, backward_front<float>};

}  // namespace roomwright::acoustics
#endif
