// A shop's order: 220 parts of 14 lengths from two stick lengths, kerf 1/8 in at 1/16 in.
#include <benchmark/benchmark.h>

#include "shop/cutting/cutting.h"

using namespace roomwright;

static void shop_order(benchmark::State& state) {
  Random random(1);
  shop::CuttingOrder order;
  order.kerf = 2;
  order.stock = {{"8 ft", 1532, 498, {}, {}}, {"12 ft", 2300, 796, {}, {}}};
  for (int i = 0; i < 14; ++i)
    order.parts.push_back({"p", random.between(120, 900), i == 0 ? 25 : 15});
  for (auto _ : state) benchmark::DoNotOptimize(shop::solve_cutting(order));
}
BENCHMARK(shop_order)->Unit(benchmark::kMillisecond);
