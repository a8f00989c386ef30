// Layouts of the open data sets, where their folder is there: sums and gaps are counters, so that a
// time never stands without what it bought. And forty pieces of five sizes on a roll.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <string>

#include "figures/figures.h"
#include "shop/layout/layout.h"

using namespace roomwright;
using namespace roomwright::shop;

namespace {

std::int64_t whole(const figures::Row& row, const char* column) {
  const std::string& cell = row.at(column);
  return cell.empty() ? -1 : std::stoll(cell);
}

std::vector<LayoutPart> parts_of(const std::string& folder, const figures::Row& row) {
  std::vector<LayoutPart> parts;
  for (const auto& line : figures::read_rows(folder + "instances/" + row.at("name") + ".csv")) {
    LayoutPart part{"p", whole(line, "width"), whole(line, "height")};
    if (line.count("value")) {
      part.value = whole(line, "value");
      part.count = line.at("max_copies").empty() ? most_layout_parts : whole(line, "max_copies");
    }
    parts.push_back(part);
  }
  return parts;
}

struct Gaps {
  double sum = 0, worst = 0, many = 0;
  void add(double gap) { sum += gap, worst = std::max(worst, gap), ++many; }
  double mean() const { return many > 0 ? 100 * sum / many : 0; }
};

/// The rows of an index; skips where the data are not there.
std::vector<figures::Row> rows_of(benchmark::State& state, const std::string& folder) {
  if (std::filesystem::exists(folder)) return figures::read_rows(folder + "index.csv");
  state.SkipWithError("needs the folder of open data sets");
  return {};
}

std::string folder_of(const char* name) {
  return std::string(ROOMWRIGHT_SHARED_DATA) + "/data/" + name + "/";
}

}  // namespace

static void layout_sheets(benchmark::State& state) {
  const std::string folder = folder_of("cut2d_sheets");
  const auto rows = rows_of(state, folder);
  double used = 0, bound = 0, listed = 0, listed_bound = 0;
  for (auto _ : state)
    for (const auto& row : rows) {
      LayoutOrder order;
      order.sheets = {{"s", whole(row, "sheet_width"), whole(row, "sheet_height"), 1}};
      order.parts = parts_of(folder, row);
      const LayoutPlan plan = solve_layout(order).value();
      used += double(plan.used), bound += double(plan.bound);
      listed += double(whole(row, "sheets_upper_bound_guillotine"));
      listed_bound += double(whole(row, "sheets_lower_bound"));
    }
  state.counters["sheets"] = used;
  state.counters["bound"] = bound;
  state.counters["listed"] = listed;
  state.counters["listed_bound"] = listed_bound;
}
BENCHMARK(layout_sheets)->Unit(benchmark::kSecond)->Iterations(1);

static void layout_strips(benchmark::State& state) {
  const std::string folder = folder_of("cut2d_strip");
  const auto rows = rows_of(state, folder);
  Gaps gaps, small;
  for (auto _ : state)
    for (const auto& row : rows) {
      LayoutOrder order;
      order.roll = LayoutRoll{whole(row, "strip_width")};
      order.parts = parts_of(folder, row);
      const LayoutPlan plan = solve_layout(order).value();
      gaps.add(double(plan.used - plan.bound) / double(plan.bound));
      if (row.at("family") == "hifi_scp")
        small.add(double(plan.used) / double(whole(row, "optimum_height_guillotine")) - 1);
    }
  state.counters["mean_gap_percent"] = gaps.mean();
  state.counters["worst_gap_percent"] = 100 * gaps.worst;
  state.counters["scp_above_optimum_percent"] = small.mean();
}
BENCHMARK(layout_strips)->Unit(benchmark::kSecond)->Iterations(1);

static void layout_values(benchmark::State& state) {
  const std::string folder = folder_of("cut2d_guillotine_value");
  const auto rows = rows_of(state, folder);
  Gaps below, gaps;
  double reached = 0;
  for (auto _ : state)
    for (const auto& row : rows) {
      LayoutOrder order;
      order.aim = LayoutAim::value;
      order.sheets = {{"s", whole(row, "stock_width"), whole(row, "stock_height"), 0, 1}};
      order.parts = parts_of(folder, row);
      const LayoutPlan plan = solve_layout(order).value();
      gaps.add(double(plan.bound) / double(plan.used) - 1);
      const double optimum = double(whole(row, "optimum"));
      if (optimum < 0) continue;
      below.add(1 - double(plan.used) / optimum);
      reached += double(plan.used) == optimum;
    }
  state.counters["mean_below_optimum_percent"] = below.mean();
  state.counters["worst_below_optimum_percent"] = 100 * below.worst;
  state.counters["optimum_reached"] = reached;
  state.counters["optimum_known"] = below.many;
  state.counters["mean_gap_percent"] = gaps.mean();
}
BENCHMARK(layout_values)->Unit(benchmark::kSecond)->Iterations(1);

/// The sizes that the comparison script draws from its seeds 0 to 4.
static void layout_roll_of_five_sizes(benchmark::State& state) {
  static const std::array<std::array<std::array<std::int64_t, 2>, 5>, 5> rolls = {
      {{{{790, 1270}, {835, 350}, {630, 950}, {920, 815}, {685, 910}}},
       {{{470, 1025}, {1275, 380}, {625, 450}, {930, 1270}, {875, 900}}},
       {{{370, 415}, {405, 760}, {515, 1240}, {1155, 1390}, {690, 620}}},
       {{{600, 1055}, {995, 465}, {770, 1470}, {1070, 905}, {1100, 1040}}},
       {{{600, 685}, {430, 1220}, {805, 910}, {495, 415}, {385, 325}}}}};
  LayoutOrder order;
  order.roll = LayoutRoll{2000};
  for (const auto& size : rolls[static_cast<std::size_t>(state.range(0))])
    order.parts.push_back({"p", size[0], size[1], 8});
  LayoutPlan plan;
  for (auto _ : state) plan = solve_layout(order).value();
  state.counters["length"] = double(plan.used);
  state.counters["bound"] = double(plan.bound);
  state.counters["gap_percent"] = 100 * double(plan.used - plan.bound) / double(plan.bound);
}
BENCHMARK(layout_roll_of_five_sizes)->DenseRange(0, 4)->Unit(benchmark::kMillisecond);
