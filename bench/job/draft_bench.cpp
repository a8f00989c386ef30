// A finger that drags a piece over a hundred places: from the question to the whole answer (fit,
// decay, reflections, bass at the seats). Counters: middle, 95th percentile and longest, by the
// clock and in processor time; and what picking the piece up took before the first bass.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>

#include "job/stages/stages.h"

using namespace roomwright;  // a benchmark is one file of its own

namespace {

double clock_ms() {
  return std::chrono::duration<double, std::milli>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}
double processor_ms() {
  return 1e3 * double(std::clock()) / CLOCKS_PER_SEC;
}

std::string example(const std::string& name) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + name).value();
}

double at_share(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[std::size_t(share * double(values.size() - 1))];
}

void drag(benchmark::State& state, const std::string& file, const std::string& shop,
          const std::string& label) {
  const job::Job base = job::read_job({example(file), example(shop)}).value();
  const auto piece = std::find_if(base.pieces.begin(), base.pieces.end(),
                                  [&](const job::Piece& one) { return one.label == label; });
  const auto index = std::size_t(piece - base.pieces.begin());
  job::DraftDesk desk;
  const auto ask = [&](int place) {
    job::Job wanted = base;
    job::Piece& one = wanted.pieces[index];
    // A loop of 300 by 150 mm round its place; a trap goes up and down.
    const double turn = 2 * std::acos(-1.0) * place / 100.0;
    if (one.corner < 0) one.from_u += Length::from_mm(std::round(150 * std::sin(turn)));
    one.from_v += Length::from_mm(std::round(75 * std::sin(2 * turn)));
    benchmark::DoNotOptimize(desk.ask(base, wanted));
  };
  for (auto _ : state) {
    const double before = clock_ms(), spent = processor_ms();
    ask(1);
    state.counters["pick_up_ms"] = clock_ms() - before;
    state.counters["pick_up_cpu_ms"] = processor_ms() - spent;
    std::vector<double> clock, processor;
    for (int place = 2; place < 102; ++place) {
      const double from = clock_ms(), used = processor_ms();
      ask(place);
      clock.push_back(clock_ms() - from);
      processor.push_back(processor_ms() - used);
    }
    state.counters["p50_ms"] = at_share(clock, 0.5);
    state.counters["p95_ms"] = at_share(clock, 0.95);
    state.counters["most_ms"] = at_share(clock, 1);
    state.counters["p50_cpu_ms"] = at_share(processor, 0.5);
    state.counters["p95_cpu_ms"] = at_share(processor, 0.95);
  }
}

}  // namespace

static void draft_of_a_drag_in_the_control_room(benchmark::State& state, const char* label) {
  drag(state, "control_room.toml", "shop_metric.toml", label);
}
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, side_panel, "S1")->Iterations(1);
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, narrow_panel, "N1")->Iterations(1);
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, rear_panel, "R1")->Iterations(1);
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, cloud, "C1")->Iterations(1);
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, corner_trap, "T2")->Iterations(1);
BENCHMARK_CAPTURE(draft_of_a_drag_in_the_control_room, solid_trap, "B1")->Iterations(1);

static void draft_of_a_drag_in_a_box(benchmark::State& state, const char* label) {
  drag(state, "tracking_room.toml", "shop_inch.toml", label);
}
BENCHMARK_CAPTURE(draft_of_a_drag_in_a_box, panel, "P1")->Iterations(1);
