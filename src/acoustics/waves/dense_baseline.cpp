// Dense products for every processor that the program starts on.
#include "acoustics/waves/dense_kernel.h"
#define LANES 2
#include "acoustics/waves/dense_lanes.h"

namespace roomwright::acoustics {

extern const DenseKernel dense_kernel_baseline{add_product, thin_product};

}  // namespace roomwright::acoustics
