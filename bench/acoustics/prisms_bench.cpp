// An L-shaped room with six patches, 281 frequencies from 20 to 300 Hz, five receivers: the whole
// solution, picking a patch up, the first place on a surface and each further one; its modes with
// the patches.
#include <benchmark/benchmark.h>

#include <cmath>
#include <complex>

#include "acoustics/waves/plan_mover.h"
#include "acoustics/waves/waves.h"
#include "figures/reference_room.h"

using namespace roomwright::acoustics;

namespace {

ResponseRequest l_shaped_studio() {
  ResponseRequest out = reference::request(reference::l_room(), reference::every(20, 300, 1), 0.02);
  reference::hang(out, reference::l_areas);
  return out;
}

ResponseOptions with_threads(int threads) {
  ResponseOptions out;
  out.threads = threads;
  return out;
}

}  // namespace

static void prism_patch_picked_up(benchmark::State& state) {
  const ResponseRequest request = l_shaped_studio();
  for (auto _ : state)
    benchmark::DoNotOptimize(PlanMover::pick_up(request, 2, with_threads(int(state.range(0)))));
}
BENCHMARK(prism_patch_picked_up)->Arg(1)->Arg(2)->UseRealTime()->Unit(benchmark::kMillisecond);

static void prism_first_place_on_a_wall(benchmark::State& state) {
  const ResponseRequest request = l_shaped_studio();
  for (auto _ : state) {
    state.PauseTiming();
    const auto mover = PlanMover::pick_up(request, 2, with_threads(2)).value();
    state.ResumeTiming();
    benchmark::DoNotOptimize(mover.at({2, {2.1, 0.7}, {2.7, 1.9}}));
  }
}
BENCHMARK(prism_first_place_on_a_wall)->Iterations(2)->UseRealTime()->Unit(benchmark::kMillisecond);

static void prism_further_place(benchmark::State& state) {
  const auto mover =
      PlanMover::pick_up(l_shaped_studio(), 2, with_threads(int(state.range(0)))).value();
  const int surface = int(state.range(1));
  double shift = 0;
  benchmark::DoNotOptimize(mover.at({surface, {0.8, 0.7}, {1.4, 1.9}}));
  for (auto _ : state) {
    shift = shift > 0.3 ? 0 : shift + 0.01;
    benchmark::DoNotOptimize(mover.at({surface, {0.8 + shift, 0.7}, {1.4 + shift, 1.9}}));
  }
}
BENCHMARK(prism_further_place)
    ->ArgsProduct({{1, 2}, {0, 2}})
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);

static void prism_treated_modes(benchmark::State& state) {
  const ResponseRequest request = l_shaped_studio();
  for (auto _ : state)
    benchmark::DoNotOptimize(treated_modes(request.room, 343, 200, request.surfaces,
                                           request.patches, request.frequencies_hz));
}
BENCHMARK(prism_treated_modes)->UseRealTime()->Unit(benchmark::kMillisecond);
