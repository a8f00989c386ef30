// The driven field of a box with six patches, 281 frequencies from 20 to 300 Hz, five receivers,
// from nothing; and a bare box, and a map.
#include <benchmark/benchmark.h>

#include <cmath>
#include <complex>

#include "acoustics/waves/waves.h"

using namespace roomwright;
using namespace roomwright::acoustics;

namespace {

ResponseRequest studio(bool with_patches) {
  ResponseRequest out;
  out.room = make_box(5.2, 4.1, 2.6).value();
  out.sound_speed_m_s = 343;
  out.surfaces.assign(6, {0.02});
  out.sources = {{{0.6, 0.8, 1.1}}};
  out.receivers_m = {{3.40, 2.05, 1.2},
                     {3.15, 2.05, 1.2},
                     {3.65, 2.05, 1.2},
                     {3.40, 1.80, 1.2},
                     {3.40, 2.30, 1.2}};
  for (int hz = 20; hz <= 300; ++hz) out.frequencies_hz.push_back(hz);
  if (!with_patches) return out;
  Admittance board;  // 0.1 m of porous board, Miki's model, 12 000 Pa s/m², rigid back
  for (const double hz : out.frequencies_hz) {
    const double x = 1000 * hz / 12000, k = 2 * std::acos(-1.0) * hz / 343;
    const std::complex<double> impedance(1 + 5.50 * std::pow(x, -0.632),
                                         -8.43 * std::pow(x, -0.632));
    const std::complex<double> number(1 + 7.81 * std::pow(x, -0.618), -11.41 * std::pow(x, -0.618));
    board.push_back(std::complex<double>(0, 1) * std::tan(k * number * 0.1) / impedance);
  }
  const Patch areas[] = {{5, {3.0, 0.7}, {3.6, 1.9}}, {5, {0.5, 0.7}, {1.1, 1.9}},
                         {2, {2.0, 0.7}, {2.6, 1.9}}, {4, {2.6, 0.7}, {3.2, 1.9}},
                         {1, {2.0, 1.3}, {3.2, 1.9}}, {3, {1.4, 0.9}, {2.0, 2.1}}};
  for (const Patch& area : areas) out.patches.push_back({area, board});
  return out;
}

void run(benchmark::State& state, const ResponseRequest& request, int threads, WaveWidth width) {
  ResponseOptions options;
  options.threads = threads;
  options.width = width;
  for (auto _ : state) {
    auto report = response(request, options);
    if (!report) state.SkipWithError("no answer");
    benchmark::DoNotOptimize(report);
  }
  state.counters["s_per_frequency"] = benchmark::Counter(
      double(request.frequencies_hz.size()),
      benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

}  // namespace

static void response_with_six_patches(benchmark::State& state) {
  run(state, studio(true), int(state.range(0)), WaveWidth::fastest);
}
BENCHMARK(response_with_six_patches)->Arg(1)->Arg(2)->UseRealTime()->Unit(benchmark::kMillisecond);

static void response_with_six_patches_on_any_processor(benchmark::State& state) {
  run(state, studio(true), int(state.range(0)), WaveWidth::baseline);
}
BENCHMARK(response_with_six_patches_on_any_processor)
    ->Arg(2)
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);

static void response_of_a_bare_box(benchmark::State& state) {
  run(state, studio(false), 1, WaveWidth::fastest);
}
BENCHMARK(response_of_a_bare_box)->UseRealTime()->Unit(benchmark::kMillisecond);

static void map_of_a_thousand_points(benchmark::State& state) {
  ResponseRequest request = studio(true);
  for (auto& patch : request.patches) patch.admittance = {patch.admittance[80]};
  const MapGrid grid{{0.1, 0.1, 1.2}, {0.125, 0, 0}, {0, 0.15, 0}, 40, 25};
  for (auto _ : state) benchmark::DoNotOptimize(pressure_map(request, 100, grid, {}));
}
BENCHMARK(map_of_a_thousand_points)->UseRealTime()->Unit(benchmark::kMillisecond);

/// A room by prisms: an L, a sloped one, or the box with a panel that straddles a corner.
static void response_of_any_room(benchmark::State& state) {
  ResponseRequest request = studio(state.range(0) == 2);
  if (state.range(0) == 0) {
    request.room =
        make_room({{0, 0}, {5.2, 0}, {5.2, 2.4}, {3.1, 2.4}, {3.1, 4.1}, {0, 4.1}}, 2.6).value();
  } else if (state.range(0) == 1) {
    request.room = make_sloped_room({{0, 0}, {5.2, 0}, {5.2, 4.1}, {0, 4.1}},
                                    {Vec3{0, 0, 2.2}, {5.2, 0, 3.2}, {0, 4.1, 2.2}})
                       .value();
  } else {
    FluidSlab board{0.1, {}, {}};  // Miki's model, 12 000 Pa s/m²
    for (const double hz : request.frequencies_hz) {
      const double x = 1000 * hz / 12000;
      const std::complex<double> impedance(1 + 5.50 * std::pow(x, -0.632),
                                           -8.43 * std::pow(x, -0.632));
      const std::complex<double> number(1 + 7.81 * std::pow(x, -0.618),
                                        -11.41 * std::pow(x, -0.618));
      board.density.push_back(impedance * number);
      board.compressibility.push_back(number / impedance);
    }
    const double s = std::sqrt(0.5), t = 0.1 / s;
    request.objects = {
        {{{5.2, 3.4}, {5.2, 3.4 + t}, {4.5 + t, 4.1}, {4.5, 4.1}}, 0, 2.6, {s, s, 0}, {board}}};
  }
  request.surfaces.assign(static_cast<std::size_t>(surface_count(request.room)), {0.02});
  run(state, request, 2, WaveWidth::fastest);
}
BENCHMARK(response_of_any_room)
    ->Arg(0)
    ->Arg(1)
    ->Arg(2)
    ->Iterations(1)
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);
