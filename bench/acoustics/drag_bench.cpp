// A patch that a finger drags in the box, in an L and in a sloped room, six patches, 281
// frequencies from 20 to 300 Hz, five receivers, two threads: what picking it up takes, the first
// place on each surface, and every further place anywhere on the walls (turned or not, a fifth of
// its sides flush with an edge). Counters: by the clock and in processor time, of all threads.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>

#include "acoustics/waves/waves.h"
#include "figures/reference_room.h"

using namespace roomwright;
using namespace roomwright::acoustics;

namespace {

struct Took {
  double clock_ms = 0, processor_ms = 0;
};
template <class Work>
Took timed(const Work& work) {
  const auto start = std::chrono::steady_clock::now();
  const std::clock_t spent = std::clock();
  work();
  return {
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count(),
      1e3 * double(std::clock() - spent) / CLOCKS_PER_SEC};
}

void tell(benchmark::State& state, const std::string& what, const std::vector<Took>& all) {
  std::vector<double> clock, processor;
  for (const Took& one : all) {
    clock.push_back(one.clock_ms);
    processor.push_back(one.processor_ms);
  }
  const auto put = [&](const std::string& unit, std::vector<double>& values) {
    std::sort(values.begin(), values.end());
    state.counters[what + "_p50" + unit] = values[values.size() / 2];
    state.counters[what + "_p95" + unit] = values[values.size() * 95 / 100];
    state.counters[what + "_most" + unit] = values.back();
    double sum = 0;
    for (const double value : values) sum += value;
    state.counters[what + "_all" + unit] = sum;
  };
  put("_ms", clock);
  put("_cpu_ms", processor);
}

/// Anywhere on the walls, by surface in turn, so that each has as many.
std::vector<Patch> spots(const ResponseRequest& request, std::size_t moved, int count) {
  Random random(3);
  std::vector<Patch> areas, out;
  for (std::size_t i = 0; i < request.patches.size(); ++i)
    if (i != moved) areas.push_back(request.patches[i].area);
  const int surfaces = surface_count(request.room);
  for (int i = 0; i < count; ++i)
    for (int attempt = 0; attempt < 1000; ++attempt) {
      Patch area;
      area.surface = i % surfaces;
      Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
      for (const Vec2& corner : surface_outline(request.room, area.surface)) {
        low = {std::min(low.x, corner.x), std::min(low.y, corner.y)};
        high = {std::max(high.x, corner.x), std::max(high.y, corner.y)};
      }
      const Vec2 size = random.unit() < 0.5 ? Vec2{0.6, 1.2} : Vec2{1.2, 0.6};
      const auto spot = [&](double from, double to) {
        const double where = random.unit();
        return where < 0.1 ? from : where < 0.2 ? to : random.uniform(from, to);
      };
      area.from_m = {spot(low.x, high.x - size.x), spot(low.y, high.y - size.y)};
      area.to_m = area.from_m + size;
      areas.push_back(area);
      const bool fits = check_patches(request.room, areas, "").empty();
      areas.pop_back();
      if (!fits) continue;
      out.push_back(area);
      break;
    }
  return out;
}

void drag(benchmark::State& state, const Room& room, const std::vector<Patch>& areas) {
  ResponseRequest request = reference::request(room, reference::every(20, 300, 1), 0.02);
  reference::hang(request, areas);
  constexpr std::size_t moved = 2;
  const auto places = spots(request, moved, 120);
  ResponseOptions options;
  options.threads = 2;
  for (auto _ : state) {
    std::optional<PatchMover> mover;
    tell(state, "pick_up",
         {timed([&] { mover = PatchMover::pick_up(request, moved, options).value(); })});
    std::vector<Took> first, further;
    std::vector<char> seen(std::size_t(surface_count(room)), 0);
    for (const Patch& place : places) {
      char& known = seen[std::size_t(place.surface)];
      const Took took = timed([&] { benchmark::DoNotOptimize(mover->at(place).value()); });
      (known ? further : first).push_back(took);
      known = 1;
    }
    tell(state, "first", first);
    tell(state, "place", further);
  }
}

}  // namespace

static void drag_in_a_box(benchmark::State& state) {
  drag(state, reference::box(), reference::box_areas);
}
BENCHMARK(drag_in_a_box)->Iterations(1)->Unit(benchmark::kMillisecond);

static void drag_in_an_l(benchmark::State& state) {
  drag(state, reference::l_room(), reference::l_areas);
}
BENCHMARK(drag_in_an_l)->Iterations(1)->Unit(benchmark::kMillisecond);

static void drag_in_a_sloped_room(benchmark::State& state) {
  // Six like those of the box, where the slope leaves them room.
  drag(state, reference::sloped_room(),
       {{5, {3.0, 0.7}, {3.6, 1.9}},
        {5, {0.5, 0.7}, {1.1, 1.9}},
        {2, {2.0, 0.7}, {2.6, 1.9}},
        {4, {2.6, 0.7}, {3.2, 1.9}},
        {0, {2.0, 1.3}, {3.2, 1.9}},
        {3, {1.4, 0.9}, {2.0, 2.1}}});
}
BENCHMARK(drag_in_a_sloped_room)->Iterations(1)->Unit(benchmark::kMillisecond);
