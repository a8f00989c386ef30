// The inner loops of the driven room for processors with AVX2; compiled with it switched on
// (libraries.cmake), and called only where the processor has it.
#include "acoustics/waves/response_kernel.h"
#ifdef ROOMWRIGHT_WIDE_WAVES
#define LANES 4
#include "acoustics/waves/mover_lanes.h"

namespace roomwright::acoustics {

void wave_kernel_avx2(const WaveTask& task, const WaveBlock& block, double* space) {
  solve_block(task, block, space);
}
const MoverKernel mover_kernel_avx2{prepare_block, place_block, cross_modes};

}  // namespace roomwright::acoustics
#endif
