// The inner loops of the driven room for every processor that the program starts on.
#include "acoustics/waves/response_kernel.h"
#define LANES 2
#include "acoustics/waves/mover_lanes.h"

namespace roomwright::acoustics {

void wave_kernel_baseline(const WaveTask& task, const WaveBlock& block, double* space) {
  solve_block(task, block, space);
}
const MoverKernel mover_kernel_baseline{prepare_block, place_block, cross_modes};

}  // namespace roomwright::acoustics
