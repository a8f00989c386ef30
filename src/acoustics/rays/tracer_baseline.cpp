// The tracer's inner loop for every processor that the program starts on.
#include "acoustics/rays/tracer_kernel.h"
#define LANES 4
#include "acoustics/rays/tracer_lanes.h"

namespace roomwright::acoustics {

void trace_baseline(const TraceCall& call) {
  trace_either(call);
}

}  // namespace roomwright::acoustics
