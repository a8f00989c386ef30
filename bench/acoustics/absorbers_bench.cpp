// Diffuse absorption of three-layer stacks (wool, air, wool before a rigid wall): 60 angles, 200
// frequencies, one thread; the same sum as the general-purpose program it is timed beside. Then the
// loop alone, from nodes and at every angle, beside the machine's limit.
#include <benchmark/benchmark.h>

#include <cmath>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/absorbers/kernel_nodes.h"
#include "acoustics/absorbers/layers.h"

#ifdef __x86_64__
#include <immintrin.h>
#define ROOMWRIGHT_MULTIPLY_ADDS
#endif

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

/// The loop alone, at 60 angles up to 78°, with one stack at one frequency.
void one_loop(benchmark::State& state, Kernel kernel, bool from_nodes) {
  std::vector<double> sine2, cosine, secant, gain;
  const std::vector<double> none(60, 0), weight(60, 1.0 / 60);
  for (int i = 0; i < 60; ++i) {
    const double sine = std::sin((i + 0.5) / 60 * 78 * std::acos(-1.0) / 180);
    sine2.push_back(sine * sine);
    cosine.push_back(std::sqrt(1 - sine * sine));
    secant.push_back(1 / cosine.back());
    gain.push_back(4 * secant.back() / 60);
  }
  const KernelTable table(sine2);
  const auto prepared = prepare(three_layers(17), standard_air(), 1000);
  const auto steps = kernel_steps(prepared);
  KernelCall call{
      steps.data(),
      prepared.count,
      false,
      {60, sine2.data(), cosine.data(), secant.data(), secant.data(), none.data(), gain.data(),
       weight.data(), table.sets().data(), from_nodes ? static_cast<int>(table.sets().size()) : 0}};
  for (auto _ : state) benchmark::DoNotOptimize(kernel(call));
  state.counters["points"] = benchmark::Counter(60, benchmark::Counter::kIsIterationInvariantRate);
}
void loop_from_nodes(benchmark::State& state) {
  one_loop(state, fastest_kernel(), true);
}
void loop_every_angle(benchmark::State& state) {
  one_loop(state, fastest_kernel(), false);
}
void loop_every_angle_any_machine(benchmark::State& state) {
  one_loop(state, kernel_baseline, false);
}
BENCHMARK(loop_from_nodes);
BENCHMARK(loop_every_angle);
BENCHMARK(loop_every_angle_any_machine);

#ifdef ROOMWRIGHT_MULTIPLY_ADDS
/// Nothing but independent multiply-adds, twelve at a time: what the vector unit gives at most.
__attribute__((target("avx2,fma"))) void twelve_sums(__m256d* sums, int turns) {
  const __m256d by = _mm256_set1_pd(0.999), more = _mm256_set1_pd(0.001);
  __m256d a = sums[0], b = sums[1], c = sums[2], d = sums[3], e = sums[4], f = sums[5];
  __m256d g = sums[6], h = sums[7], i = sums[8], j = sums[9], k = sums[10], l = sums[11];
  for (int turn = 0; turn < turns; ++turn)
    for (__m256d* sum : {&a, &b, &c, &d, &e, &f, &g, &h, &i, &j, &k, &l})
      *sum = _mm256_fmadd_pd(*sum, by, more);
  sums[0] = ((a + b) + (c + d)) + ((e + f) + (g + h)) + ((i + j) + (k + l));
}
void multiply_adds(benchmark::State& state) {
  if (fastest_kernel() == kernel_baseline) state.SkipWithError("needs AVX2");
  __m256d sums[12] = {};
  for (auto _ : state) {
    twelve_sums(sums, 1000);
    benchmark::DoNotOptimize(sums);
  }
  state.counters["flops"] =
      benchmark::Counter(2 * 4 * 12 * 1000, benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(multiply_adds);
#endif

}  // namespace
