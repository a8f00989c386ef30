// Modes of an L-shaped studio plan to 200 Hz.
#include <benchmark/benchmark.h>

#include "acoustics/waves/waves.h"

using namespace roomwright;

static void modes_of_an_l_shaped_room(benchmark::State& state) {
  const auto room =
      acoustics::make_room({{0, 0}, {5.2, 0}, {5.2, 2.8}, {3.5, 2.8}, {3.5, 4.1}, {0, 4.1}}, 2.6)
          .value();
  for (auto _ : state)
    benchmark::DoNotOptimize(acoustics::modes(room, 343.2, double(state.range(0))));
}
BENCHMARK(modes_of_an_l_shaped_room)->Arg(100)->Arg(200)->Unit(benchmark::kMillisecond);
