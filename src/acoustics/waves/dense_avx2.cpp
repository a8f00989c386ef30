// Dense products for processors with AVX2; see libraries.cmake.
#include "acoustics/waves/dense_kernel.h"
#ifdef ROOMWRIGHT_WIDE_WAVES
#define LANES 4
#include "acoustics/waves/dense_lanes.h"

namespace roomwright::acoustics {

extern const DenseKernel dense_kernel_avx2{add_product, thin_product};

}  // namespace roomwright::acoustics
#endif
