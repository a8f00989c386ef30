// The choice of fill: its best set against every pair, its figures against the engine, its order
// against threads, and substitutes against the board itself.
#include "design/choice/choice.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "acoustics/materials/materials.h"
#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

shop::Shop three_boards() {
  shop::Shop shop = figures::small_shop(true);
  shop::Board thick = shop.boards.at("wool");
  thick.thickness = 100_mm;
  thick.flow_resistivity_pa_s_m2.reset();
  thick.material = "glass_wool_20";
  thick.density_kg_m3 = 20;
  thick.price_per_pack = Money::minor(5200);
  shop.boards["batt"] = thick;
  shop::Board hemp = thick;
  hemp.thickness = 50_mm;
  hemp.material = "hemp_40";
  hemp.density_kg_m3 = 40;
  hemp.price_per_pack = Money::minor(6100);
  shop.boards["hemp"] = hemp;
  return shop;
}

ChoiceRequest request() {
  ChoiceRequest out;
  out.weight = {0, 1, 1, 1, 1, 0, 0, 0};
  out.deepest = 220_mm;
  return out;
}

TEST(Choice, marks_exactly_what_no_other_beats_in_both_cost_and_depth) {
  const auto report = choose(request(), three_boards(), acoustics::standard_air()).value();
  ASSERT_GT(report.choices.size(), 50u);
  int best = 0;
  for (const Choice& a : report.choices) {
    const bool beaten =
        std::any_of(report.choices.begin(), report.choices.end(), [&](const Choice& b) {
          const double ca = std::round(a.cost * 1000), cb = std::round(b.cost * 1000);
          return (cb < ca && b.depth <= a.depth) || (cb <= ca && b.depth < a.depth);
        });
    if (a.best) EXPECT_FALSE(beaten) << a.board << " " << print_mm(a.depth);
    best += a.best;
  }
  EXPECT_GE(best, 2);
  // Every choice is beaten or equalled by one of the best.
  for (const Choice& a : report.choices)
    EXPECT_TRUE(std::any_of(report.choices.begin(), report.choices.end(), [&](const Choice& b) {
      return b.best && b.depth <= a.depth && b.cost <= a.cost + 1e-3;
    }));
}

TEST(Choice, has_the_costs_and_the_absorption_of_its_stack) {
  const shop::Shop shop = three_boards();
  ChoiceRequest one = request();
  one.weight = {0, 0, 0, 1, 0, 0, 0, 0};
  const auto report = choose(one, shop, acoustics::standard_air()).value();
  for (const Choice& choice : report.choices) {
    EXPECT_LE(choice.depth, one.deepest);
    EXPECT_NEAR(choice.cost, choice.cost_per_m2 / choice.sabin, 1e-9);
    EXPECT_NEAR(choice.sabin, choice.absorption[3], 1e-12);
    EXPECT_LE(choice.cost_low, choice.cost);
    EXPECT_GE(choice.cost_high, choice.cost);
  }
  const auto at = std::find_if(report.choices.begin(), report.choices.end(), [](const Choice& c) {
    return c.board == "wool" && c.cloth == "cloth" && c.layers == 2 && c.gap == 40_mm;
  });
  ASSERT_NE(at, report.choices.end());
  // 40.00 for six boards of 0.72 m², 10.00 a metre of cloth 1.4 m wide
  EXPECT_NEAR(at->cost_per_m2, 2 * 40.0 / (6 * 0.72) + 10 / 1.4, 1e-9);
  acoustics::PorousLayer wool;
  wool.thickness_m = 0.08;
  wool.flow_resistivity_pa_s_m2 = 12000;
  acoustics::AbsorptionOptions options;
  options.size_m = acoustics::Size2{0.6, 1.2};
  options.angles = 64;
  const auto octaves = acoustics::octave_absorptions(
      {{{acoustics::ScreenLayer{36, 0.2375}, wool, acoustics::AirLayer{0.04}},
        acoustics::Backing::rigid}},
      acoustics::standard_air(), options);
  for (int band = 0; band < 8; ++band)
    EXPECT_NEAR(at->absorption[band], (*octaves)[0].absorption[band], 2e-3) << band;
}

TEST(Choice, is_the_same_on_any_number_of_threads_and_without_doubt) {
  ChoiceRequest one = request(), two = request(), sure = request();
  one.threads = 1;
  two.threads = 2;
  sure.doubt = false;
  const auto a = choose(one, three_boards(), acoustics::standard_air()).value();
  const auto b = choose(two, three_boards(), acoustics::standard_air()).value();
  const auto c = choose(sure, three_boards(), acoustics::standard_air()).value();
  ASSERT_EQ(a.choices.size(), b.choices.size());
  for (std::size_t i = 0; i < a.choices.size(); ++i) {
    EXPECT_EQ(a.choices[i].board, b.choices[i].board);
    EXPECT_EQ(a.choices[i].cost, b.choices[i].cost);
    EXPECT_NEAR(a.choices[i].cost, c.choices[i].cost, 1e-8);  // batches interpolate to 1e-10
    EXPECT_EQ(c.choices[i].cost_low, c.choices[i].cost_high);
  }
}

TEST(Choice, doubts_a_board_of_stated_resistivity_less_than_one_by_its_label) {
  const auto report = choose(request(), three_boards(), acoustics::standard_air()).value();
  const auto width = [&](const char* board) {
    double most = 0;
    for (const Choice& choice : report.choices)
      if (choice.board == board) most = std::max(most, choice.sabin_high / choice.sabin_low - 1);
    return most;
  };
  EXPECT_LT(width("wool"), width("hemp"));
}

TEST(Substitutes, of_a_board_that_the_shop_sells_is_that_board) {
  shop::Shop shop = three_boards();
  ChoiceRequest one = request();
  one.gaps = {0_mm, 50_mm, 100_mm};
  const auto near =
      substitutes({"glass_wool_20", 100_mm, 100_mm, "cloth"}, one, shop, acoustics::standard_air())
          .value();
  EXPECT_EQ(near[0].choice.board, "batt");
  EXPECT_EQ(near[0].choice.gap, 100_mm);
  EXPECT_NEAR(near[0].root_mean_square, 0, 1e-9);
  // Another one, not sold: differences are told by band and rise down the list.
  const auto other =
      substitutes({"stone_wool_80", 60_mm, 50_mm, "cloth"}, one, shop, acoustics::standard_air())
          .value();
  for (std::size_t i = 1; i < other.size(); ++i)
    EXPECT_GE(other[i].root_mean_square + 1e-3, other[i - 1].root_mean_square);
  for (int band = 0; band < 8; ++band)
    EXPECT_NEAR(other[0].difference[band], other[0].choice.absorption[band] - other[0].wanted[band],
                1e-12);
  EXPECT_FALSE(
      substitutes({"moon_wool", 60_mm, 50_mm, "cloth"}, one, shop, acoustics::standard_air()).ok());
}

TEST(Cloth, that_is_heavy_takes_the_treble_away_and_an_open_one_does_not) {
  acoustics::PorousLayer wool;
  wool.thickness_m = 0.05;
  wool.flow_resistivity_pa_s_m2 = 12000;
  const acoustics::Stack bare{{wool}, acoustics::Backing::rigid};
  shop::Cloth open, coated;
  open.flow_resistance_pa_s_m = 30;
  open.mass_kg_m2 = 0.2;
  coated.flow_resistance_pa_s_m = 8000;
  coated.mass_kg_m2 = 0.9;
  EXPECT_GT(cloth_effect(open, bare, acoustics::standard_air()), -0.02);
  EXPECT_LT(cloth_effect(coated, bare, acoustics::standard_air()), -0.4);
}

TEST(Choice, tells_every_mistake) {
  ChoiceRequest wrong;
  wrong.deepest = 5_mm;
  wrong.most_layers = 9;
  EXPECT_EQ(choose(wrong, three_boards(), acoustics::standard_air()).mistakes().size(), 3u);
  ChoiceRequest shallow = request();
  shallow.deepest = 30_mm;
  EXPECT_FALSE(choose(shallow, three_boards(), acoustics::standard_air()).ok());
}

}  // namespace
}  // namespace roomwright::design
