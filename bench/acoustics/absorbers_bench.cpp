// Diffuse absorption of a three-layer stack: 60 angles, 200 frequencies, one thread.
#include <benchmark/benchmark.h>

#include "acoustics/absorbers/absorbers.h"

using namespace roomwright::acoustics;  // a benchmark is one file of its own

static void diffuse_absorption(benchmark::State& state) {
  PorousLayer wool;
  wool.thickness_m = 0.1;
  wool.flow_resistivity_pa_s_m2 = 10000;
  const Stack stack{{ScreenLayer{50, 0.25}, wool, AirLayer{0.1}}, Backing::rigid};
  std::vector<double> hz;
  for (int i = 0; i < 200; ++i) hz.push_back(50 + 25 * i);
  AbsorptionOptions options;
  options.angles = 60;
  const Air air = standard_air();
  for (auto _ : state) benchmark::DoNotOptimize(absorption(stack, air, hz, options));
}
BENCHMARK(diffuse_absorption);
