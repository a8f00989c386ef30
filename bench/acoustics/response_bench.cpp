// The driven field of a box with six patches, 281 frequencies from 20 to 300 Hz, five receivers,
// from nothing; a bare box, a map, a hundred sources by a hundred receivers, and one of the patches
// picked up and put anywhere.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <complex>

#include "acoustics/waves/waves.h"
#include "figures/reference_room.h"

using namespace roomwright;
using namespace roomwright::acoustics;

namespace {

ResponseRequest studio(bool with_patches) {
  ResponseRequest out = reference::request(reference::box(), reference::every(20, 300, 1), 0.02);
  if (with_patches) reference::hang(out, reference::box_areas);
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
BENCHMARK(response_with_six_patches)
    ->Arg(1)
    ->Arg(2)
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();

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

/// A hundred sources and a hundred receivers: on a grid, or anywhere.
static void pairs_of_a_hundred_places(benchmark::State& state) {
  ResponseRequest request = studio(false);
  request.frequencies_hz.clear();
  for (int hz = 20; hz <= 200; ++hz) request.frequencies_hz.push_back(hz);
  request.patches = studio(true).patches;
  for (auto& patch : request.patches) patch.admittance.resize(request.frequencies_hz.size());
  request.sources.clear(), request.receivers_m.clear();
  Random random(5);
  for (int i = 0; i < 100; ++i) {
    const double a = state.range(1) ? i / 10 / 9.0 : random.unit();
    const double b = state.range(1) ? i % 10 / 9.0 : random.unit();
    const double c = state.range(1) ? 0.5 : random.unit();
    request.sources.push_back({{0.3 + 1.6 * a, 0.3 + 3.5 * b, 0.9 + 0.4 * c}});
    request.receivers_m.push_back({2.3 + 2.5 * a, 0.5 + 3.1 * b, 1.0 + 0.3 * c});
  }
  ResponseOptions options;
  options.threads = int(state.range(0));
  for (auto _ : state) {
    auto reports = responses(request, options);
    if (!reports) state.SkipWithError(reports.mistakes().text().c_str());
    benchmark::DoNotOptimize(reports);
  }
}
BENCHMARK(pairs_of_a_hundred_places)
    ->Args({1, 0})
    ->Args({2, 0})
    ->Args({2, 1})
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();

static void picking_a_patch_up(benchmark::State& state) {
  const ResponseRequest request = studio(true);
  ResponseOptions options;
  options.threads = int(state.range(0));
  for (auto _ : state) benchmark::DoNotOptimize(PatchMover::pick_up(request, 5, options));
}
BENCHMARK(picking_a_patch_up)
    ->Arg(1)
    ->Arg(2)
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();

/// Anywhere on the walls, turned or not, a fifth of the sides flush with an edge.
static std::vector<Patch> places_for(const ResponseRequest& request, std::size_t count) {
  Random random(3);
  std::vector<Patch> areas, out;
  for (std::size_t i = 0; i < 5; ++i) areas.push_back(request.patches[i].area);
  while (out.size() < count) {
    Patch area;
    area.surface = int(random.below(6));
    const Vec2 end = surface_outline(request.room, area.surface)[2];
    const Vec2 size = random.unit() < 0.5 ? Vec2{0.6, 1.2} : Vec2{1.2, 0.6};
    const auto spot = [&](double most) {
      const double where = random.unit();
      return where < 0.1 ? 0 : where < 0.2 ? most : random.uniform(0, most);
    };
    area.from_m = {spot(end.x - size.x), spot(end.y - size.y)};
    area.to_m = area.from_m + size;
    areas.push_back(area);
    if (check_patches(request.room, areas, "").empty()) out.push_back(area);
    areas.pop_back();
  }
  return out;
}

/// The counters are wall time in milliseconds, over all places of all rounds.
static void a_patch_at_a_place(benchmark::State& state) {
  const ResponseRequest request = studio(true);
  ResponseOptions options;
  options.threads = int(state.range(0));
  const auto mover = PatchMover::pick_up(request, 5, options);
  const auto places = places_for(request, 500);
  std::vector<double> took_ms;
  std::size_t next = 0;
  for (auto _ : state) {
    const auto start = std::chrono::steady_clock::now();
    benchmark::DoNotOptimize(mover->at(places[next++ % places.size()]));
    took_ms.push_back(
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start)
            .count());
  }
  std::sort(took_ms.begin(), took_ms.end());
  state.counters["median_ms"] = took_ms[took_ms.size() / 2];
  state.counters["worst_ms"] = took_ms.back();
}
BENCHMARK(a_patch_at_a_place)
    ->Arg(1)
    ->Arg(2)
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();

/// A room by prisms: an L, a sloped one, or the box with a panel that straddles a corner.
static void response_of_any_room(benchmark::State& state) {
  ResponseRequest request = studio(state.range(0) == 2);
  if (state.range(0) == 0) {
    request.room = reference::l_room();
  } else if (state.range(0) == 1) {
    request.room = reference::sloped_room();
  } else {
    FluidSlab board{0.1, {}, {}};
    for (const double hz : request.frequencies_hz) {
      const reference::Miki wool = reference::miki(hz, 12000);
      board.density.push_back(wool.impedance * wool.number);
      board.compressibility.push_back(wool.number / wool.impedance);
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
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime();
