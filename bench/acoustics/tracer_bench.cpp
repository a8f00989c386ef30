// Ray tracing in a room of 30 surfaces: 100,000 rays for 1.5 s, six bands, scattering 0.2, one
// receiver; bounces a second on one thread and on two, with a convex and with a notched plan. The
// general-purpose program that it is timed beside has 30 polygons, the same bands, rays, times and
// scattering, and no rain.
#include <benchmark/benchmark.h>

#include <cmath>
#include <numbers>

#include "acoustics/rays/rays.h"

using namespace roomwright;
using namespace roomwright::acoustics;

namespace {

TracedScene thirty_surfaces(double wave) {
  Polygon plan;
  for (int i = 0; i < 28; ++i) {
    const double a = 2 * std::numbers::pi * i / 28, r = 2.6 + wave * std::sin(3 * a);
    plan.push_back({2.6 + r * std::cos(a), 2.05 + 0.8 * r * std::sin(a)});
  }
  TracedScene scene;
  scene.room = make_room(plan, 2.6).value();
  scene.bands = 6;
  for (int i = 0; i < 30; ++i) {
    Finish finish;
    finish.absorption.clear();
    for (int band = 0; band < 6; ++band)
      finish.absorption.push_back(0.05 + 0.02 * band + 0.004 * (i % 5));
    finish.scattering = {0.2};
    scene.surfaces.push_back(finish);
  }
  scene.sources.push_back({{1.2, 1.5, 1.1}, {}});
  scene.receivers_m.push_back({3.4, 2.05, 1.2});
  return scene;
}

/// Arguments: threads; notches in the plan; rain; the loop for any machine; receivers.
void thirty_surface_room(benchmark::State& state) {
  TracedScene scene = thirty_surfaces(state.range(1) ? 0.4 : 0.0);
  for (int i = 1; i < state.range(4); ++i) scene.receivers_m.push_back({3.4, 1.4 + 0.15 * i, 1.3});
  TraceOptions options;
  options.seconds = 1.5;
  options.image_order = 2;
  options.threads = static_cast<int>(state.range(0));
  options.rain = state.range(2) != 0;
  options.any_machine = state.range(3) != 0;
  std::int64_t bounces = 0;
  for (auto _ : state) bounces += trace(scene, options).value().bounces;
  state.counters["bounces"] =
      benchmark::Counter(static_cast<double>(bounces), benchmark::Counter::kIsRate);
}
BENCHMARK(thirty_surface_room)
    ->ArgNames({"threads", "notched", "rain", "any_machine", "receivers"})
    ->Args({1, 0, 0, 0, 1})
    ->Args({2, 0, 0, 0, 1})
    ->Args({2, 0, 1, 0, 1})
    ->Args({2, 1, 0, 0, 1})
    ->Args({2, 1, 1, 0, 1})
    ->Args({2, 0, 1, 1, 1})
    ->Args({2, 0, 1, 0, 8})
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->UseRealTime();

/// A box with six bands, an echogram at 48 kHz: 11,521 images with the source.
void images_to_order_20(benchmark::State& state) {
  const Room room = make_box(5.2, 4.1, 2.6).value();
  const std::vector<std::vector<double>> absorption(6, {0.03, 0.04, 0.05, 0.07, 0.10, 0.12});
  int images = 0;
  for (auto _ : state) {
    const auto found = box_image_echogram(room, {0.6, 0.8, 1.1}, {3.4, 2.05, 1.2}, 343, absorption,
                                          {.max_order = 20, .bin_s = 1.0 / 48000})
                           .value();
    benchmark::DoNotOptimize(found.bins.data());
    images = found.images;
  }
  state.counters["images"] = images;
}
BENCHMARK(images_to_order_20);

/// The same with every path told: its surfaces and points.
void image_paths_to_order_20(benchmark::State& state) {
  const Room room = make_box(5.2, 4.1, 2.6).value();
  for (auto _ : state)
    benchmark::DoNotOptimize(
        image_paths(room, {0.6, 0.8, 1.1}, {3.4, 2.05, 1.2}, 343, {}, {20}).value());
}
BENCHMARK(image_paths_to_order_20)->Unit(benchmark::kMillisecond);

}  // namespace
