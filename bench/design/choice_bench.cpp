// The whole choice of fill: 40 boards × 6 thicknesses × 8 gaps × 5 cloths = 9600 stacks, on as many
// threads as the machine has, without and with doubt.
#include <benchmark/benchmark.h>

#include "acoustics/materials/materials.h"
#include "design/choice/choice.h"

using namespace roomwright;  // a benchmark is one file of its own

namespace {

shop::Shop forty_boards() {
  shop::Shop shop;
  shop.currency = *find_currency("EUR");
  for (const auto& known : acoustics::porous_boards()) {
    if (shop.boards.size() == 40) break;
    shop::Board board;
    board.name = known.name;
    board.width = 600_mm;
    board.height = 1200_mm;
    board.thickness = 50_mm;
    board.density_kg_m3 = known.density_kg_m3;
    board.material = known.key;
    board.price_per_pack = Money::minor(500 + 10 * std::int64_t(shop.boards.size()));
    shop.boards[known.key] = board;
  }
  for (int i = 0; i < 5; ++i) {
    shop::Cloth cloth;
    cloth.name = "cloth " + std::to_string(i);
    cloth.roll_width = 1400_mm;
    cloth.price_per_m = Money::minor(800);
    cloth.flow_resistance_pa_s_m = 20 + 60.0 * i;
    cloth.mass_kg_m2 = 0.2 + 0.1 * i;
    shop.cloths[cloth.name] = cloth;
  }
  return shop;
}

void choose_fill(benchmark::State& state, bool doubt) {
  const shop::Shop shop = forty_boards();
  design::ChoiceRequest request;
  request.weight = {0, 1, 1, 1, 1, 1, 1, 0};
  request.deepest = 1000_mm;
  request.doubt = doubt;
  std::size_t tried = 0;
  for (auto _ : state)
    tried = design::choose(request, shop, acoustics::standard_air())->choices.size();
  state.counters["stacks"] = double(tried);
}
void fill_without_doubt(benchmark::State& state) {
  choose_fill(state, false);
}
void fill_with_doubt(benchmark::State& state) {
  choose_fill(state, true);
}
BENCHMARK(fill_without_doubt)->UseRealTime()->Unit(benchmark::kMillisecond);
BENCHMARK(fill_with_doubt)->UseRealTime()->Unit(benchmark::kMillisecond);

}  // namespace
