// The inner loops of the sparse solver for every processor that the program starts on.
#include "acoustics/waves/solid_kernel.h"
#define LANES 2
#include "acoustics/waves/solid_lanes.h"

namespace roomwright::acoustics {

extern const FrontKernel front_kernel_baseline{eliminate_front,        eliminate_front_single,
                                               forward_front<double>,  forward_front<float>,
                                               backward_front<double>, backward_front<float>};

}  // namespace roomwright::acoustics
