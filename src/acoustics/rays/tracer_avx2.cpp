// The tracer's inner loop for processors with AVX2; compiled with it switched on (libraries.cmake),
// and called only where the processor has it. Without fused multiply-add, which would round
// otherwise.
#include "acoustics/rays/tracer_kernel.h"
#ifdef ROOMWRIGHT_TRACER_AVX2
#define LANES 8
#include "acoustics/rays/tracer_lanes.h"

namespace roomwright::acoustics {

void trace_avx2(const TraceCall& call) {
  trace_either(call);
}

}  // namespace roomwright::acoustics
#endif
