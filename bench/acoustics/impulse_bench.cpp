// One impulse response of 1 s from waves and rays, joined: what is left when both are solved. Eight
// octaves, exact paths to order 3, crossover at 200 Hz; with and without a neighbour 0.17 m away.
#include <benchmark/benchmark.h>

#include "acoustics/field/field.h"

using namespace roomwright;
using namespace roomwright::acoustics;

namespace {

RayPart traced_rays() {
  TracedScene scene;
  scene.room = make_box(5, 4, 2.6).value();
  scene.surfaces.assign(6, Finish{{0.2}, {0.2}});
  scene.sources.push_back({{1.2, 1.3, 1.2}, {}});
  scene.receivers_m.push_back({3.1, 2.4, 1.5});
  TraceOptions options;
  options.rays = 5000;
  options.seconds = 1;
  const auto report = trace(scene, options).value();
  RayPart out{report.pairs[0], report.bin_s, {}, {}};
  for (const Band& band : octave_bands()) out.band_hz.push_back(band.centre_hz);
  return out;
}

WavePart solved_waves() {
  ResponseRequest request;
  request.room = make_box(5, 4, 2.6).value();
  request.surfaces.assign(6, Admittance{{0.05, 0.0}});
  request.sources = {{{1.2, 1.3, 1.2}, 1}};
  request.receivers_m = {{3.1, 2.4, 1.5}};
  return wave_parts(request, wave_grid(5, 300, 1), {}).value()[0][0];
}

void impulse_of_one_second(benchmark::State& state) {
  const RayPart rays = traced_rays();
  const WavePart waves = solved_waves();
  ImpulseOptions options;
  options.crossover_hz = 200;
  options.seconds = 1;
  if (state.range(0)) options.beside = {1, 0.17, 343.2};
  for (auto _ : state) benchmark::DoNotOptimize(impulse_response(waves, rays, options));
}
BENCHMARK(impulse_of_one_second)
    ->ArgNames({"beside"})
    ->Arg(0)
    ->Arg(1)
    ->Unit(benchmark::kMillisecond);

}  // namespace
