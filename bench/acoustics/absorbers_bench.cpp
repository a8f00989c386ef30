// Diffuse absorption of three-layer stacks (wool, air, wool before a rigid wall): 60 angles, 200
// frequencies, one thread; the same sum as the general-purpose program it is timed beside. Then the
// loop alone by each of its two builds, so that its distance from the machine's limit can be told.
#include <benchmark/benchmark.h>

#include <cmath>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/absorbers/layers.h"

using namespace roomwright::acoustics;  // a benchmark is one file of its own

namespace {

Stack three_layers(int i) {
  PorousLayer front, back;
  front.thickness_m = 0.02 + 0.0004 * (i % 200);
  front.flow_resistivity_pa_s_m2 = 3000 + 185 * (i * 7 % 200);
  back.thickness_m = 0.02 + 0.0004 * (i * 3 % 200);
  back.flow_resistivity_pa_s_m2 = 3000 + 185 * (i * 11 % 200);
  return {{front, AirLayer{0.01 + 0.00145 * (i * 13 % 200)}, back}, Backing::rigid};
}

std::vector<double> two_hundred() {
  std::vector<double> hz;
  for (int i = 0; i < 200; ++i) hz.push_back(50 * std::pow(100, i / 199.0));
  return hz;
}

void diffuse_stacks(benchmark::State& state, bool any_machine) {
  std::vector<Stack> stacks;
  for (int i = 0; i < 200; ++i) stacks.push_back(three_layers(i));
  const auto hz = two_hundred();
  AbsorptionOptions options;
  options.angles = 60;
  options.same_on_every_machine = any_machine;
  const Air air = standard_air();
  for (auto _ : state) benchmark::DoNotOptimize(absorptions(stacks, air, hz, options));
  state.counters["stacks"] = benchmark::Counter(200, benchmark::Counter::kIsIterationInvariantRate);
  state.counters["points"] =
      benchmark::Counter(200 * 12000, benchmark::Counter::kIsIterationInvariantRate);
}

void stacks_fastest(benchmark::State& state) {
  diffuse_stacks(state, false);
}
void stacks_any_machine(benchmark::State& state) {
  diffuse_stacks(state, true);
}
BENCHMARK(stacks_fastest);
BENCHMARK(stacks_any_machine);

void loop_alone(benchmark::State& state) {
  const std::vector<double> sine2(64, 0.5), cosine(64, std::sqrt(0.5)), secant(64, std::sqrt(2.0)),
      none(64, 0), gain(64, 0.1), weight(64, 1.0 / 64);
  const auto prepared = prepare(three_layers(17), standard_air(), 1000);
  const auto steps = kernel_steps(prepared);
  const KernelCall call{steps.data(),
                        prepared.count,
                        false,
                        {64, sine2.data(), cosine.data(), secant.data(), secant.data(), none.data(),
                         gain.data(), weight.data()}};
  const Kernel kernel = fastest_kernel();
  for (auto _ : state) benchmark::DoNotOptimize(kernel(call));
  state.counters["points"] = benchmark::Counter(64, benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(loop_alone);

/// Nothing but independent multiply-adds: what the vector unit gives at most.
void multiply_adds(benchmark::State& state) {
  double lanes[64];
  for (int i = 0; i < 64; ++i) lanes[i] = 1 + i * 1e-3;
  for (auto _ : state) {
    for (int turn = 0; turn < 100; ++turn)
      for (double& lane : lanes) lane = lane * 0.999 + 0.001;
    benchmark::DoNotOptimize(lanes);
  }
  state.counters["flops"] =
      benchmark::Counter(2 * 6400, benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(multiply_adds);

}  // namespace
