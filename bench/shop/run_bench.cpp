// The run of one shop's job and of ten together, for one to four people: time of the processor, and
// how far the plan is from its bound.
#include <benchmark/benchmark.h>

#include "figures/small_shop.h"
#include "shop/run/run.h"

using namespace roomwright;

namespace {

struct RunBatch {
  shop::Parts parts;
  shop::Shop shop = figures::small_shop(true);
  shop::Schedule schedule;
  std::vector<shop::RunPiece> pieces;
};

void add_piece(RunBatch& batch, const std::string& label, const std::string& product,
               Length height) {
  shop::Parts& parts = batch.parts;
  parts.sticks.push_back({label, "stile", "square", height, 2});
  parts.sticks.push_back({label, "rail", "square", 694_mm, 2});
  using shop::Station;
  const double around_m = 2 * (height.metres() + 0.694);
  const std::tuple<Station, const char*, double> work[] = {
      {Station::saw, "cut", 4},
      {Station::drill_screw, "corner", 4},
      {Station::rout, "pass_metre", 2 * around_m},
      {Station::sand, "edge_metre", around_m},
      {Station::back_cloth, "cloth_cut", 1},
      {Station::back_cloth, "back_staple_metre", around_m},
      {Station::boards, "board", 1},
      {Station::boards, "board_cut", 1},
      {Station::face_cloth, "cloth_cut", 1},
      {Station::face_cloth, "face_staple_metre", around_m},
      {Station::face_cloth, "corner_fold", 4},
      {Station::finish, "hanger", 2},
      {Station::finish, "inspect", 1},
      {Station::pack, "label_pack", 1}};
  for (const auto& [station, feature, count] : work)
    parts.operations.push_back({label, station, feature, count});
  batch.pieces.push_back({label, product, 15, false});
}

/// Jobs of 14 pieces of four products each.
RunBatch batch_of(int jobs) {
  RunBatch batch;
  batch.shop.line = shop::default_line();
  for (int job = 0; job < jobs; ++job)
    for (int i = 0; i < 14; ++i) {
      const int product = i % 4;
      const std::string name = std::to_string(job) + "-" + std::to_string(product);
      add_piece(batch, name + "-" + std::to_string(i), name,
                1_mm * (800 + 130 * product + 7 * job));
    }
  shop::ScheduleOptions options;
  options.setup_rounds = 0;
  batch.schedule = shop::make_schedule(batch.parts, batch.shop, options).value();
  return batch;
}

void run_of_jobs(benchmark::State& state) {
  const RunBatch batch = batch_of(int(state.range(0)));
  shop::RunRequest request;
  request.parts = &batch.parts;
  request.shop = &batch.shop;
  request.schedule = &batch.schedule;
  request.pieces = batch.pieces;
  request.people = int(state.range(1));
  request.max_nodes = 40'000;
  shop::RunPlan plan;
  for (auto _ : state) plan = shop::plan_run(request).value();
  state.counters["finish_min"] = plan.finish_min;
  state.counters["bound_min"] = plan.bound_min;
  state.counters["gap_percent"] = 100 * (plan.finish_min - plan.bound_min) / plan.bound_min;
  state.counters["nodes"] = double(plan.nodes);
}
BENCHMARK(run_of_jobs)
    ->ArgNames({"jobs", "people"})
    ->ArgsProduct({{1, 10}, {1, 2, 3, 4}})
    ->Unit(benchmark::kMillisecond);

}  // namespace
