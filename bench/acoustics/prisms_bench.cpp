// An L-shaped room with six patches, 281 frequencies from 20 to 300 Hz, five receivers: the whole
// solution, picking a patch up, the first place on a surface and each further one; its modes with
// the patches.
#include <benchmark/benchmark.h>

#include <cmath>
#include <complex>

#include "acoustics/waves/plan_mover.h"
#include "acoustics/waves/waves.h"

using namespace roomwright::acoustics;

namespace {

ResponseRequest l_shaped_studio() {
  ResponseRequest out;
  out.room =
      make_room({{0, 0}, {5.2, 0}, {5.2, 2.4}, {3.1, 2.4}, {3.1, 4.1}, {0, 4.1}}, 2.6).value();
  out.sound_speed_m_s = 343;
  out.surfaces.assign(8, {0.02});
  out.sources = {{{0.6, 0.8, 1.1}}};
  out.receivers_m = {{3.40, 2.05, 1.2},
                     {3.15, 2.05, 1.2},
                     {3.65, 2.05, 1.2},
                     {3.40, 1.80, 1.2},
                     {3.40, 2.30, 1.2}};
  for (int hz = 20; hz <= 300; ++hz) out.frequencies_hz.push_back(hz);
  Admittance board;  // 0.1 m of porous board, Miki's model, 12 000 Pa s/m², rigid back
  for (const double hz : out.frequencies_hz) {
    const double x = 1000 * hz / 12000, k = 2 * std::acos(-1.0) * hz / 343;
    const std::complex<double> impedance(1 + 5.50 * std::pow(x, -0.632),
                                         -8.43 * std::pow(x, -0.632));
    const std::complex<double> number(1 + 7.81 * std::pow(x, -0.618), -11.41 * std::pow(x, -0.618));
    board.push_back(std::complex<double>(0, 1) * std::tan(k * number * 0.1) / impedance);
  }
  const Patch areas[] = {{7, {3.0, 0.7}, {3.6, 1.9}}, {7, {0.5, 0.7}, {1.1, 1.9}},
                         {2, {2.0, 0.7}, {2.6, 1.9}}, {6, {1.6, 0.7}, {2.2, 1.9}},
                         {1, {1.0, 1.3}, {2.2, 1.9}}, {3, {0.9, 0.9}, {1.5, 2.1}}};
  for (const Patch& area : areas) out.patches.push_back({area, board});
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
