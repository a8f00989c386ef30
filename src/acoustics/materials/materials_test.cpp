// The tables load, with their sources and with what is extrapolated marked.
#include "acoustics/materials/materials.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

TEST(SurfaceMaterials, load_with_their_source_and_hold_to_their_ranges) {
  EXPECT_GE(surface_materials().size(), 60u);
  std::set<std::string> keys;
  for (const SurfaceMaterial& material : surface_materials()) {
    EXPECT_TRUE(keys.insert(material.key).second) << material.key;
    EXPECT_FALSE(material.source.empty());
    for (const double value : material.absorption) {
      EXPECT_GE(value, 0.01) << material.key;
      EXPECT_LE(value, 1.0) << material.key;
    }
    EXPECT_EQ(material.trust[0], Trust::extrapolated);
    EXPECT_EQ(material.trust[1], Trust::published);
  }
}

TEST(SurfaceMaterials, have_the_published_values) {
  // Source: M. Vorländer, Auralization, Springer 2008, appendix
  const SurfaceMaterial& velvet = *find_surface_material("curtain_velvet");
  EXPECT_DOUBLE_EQ(velvet.absorption[1], 0.05);
  EXPECT_DOUBLE_EQ(velvet.absorption[4], 0.45);
  EXPECT_DOUBLE_EQ(velvet.absorption[7], 0.36);
  EXPECT_EQ(find_surface_material("velvet of our own"), nullptr);
}

TEST(SurfaceMaterials, extrapolate_the_lowest_octave_by_the_stated_rule) {
  EXPECT_DOUBLE_EQ(find_surface_material("curtain_velvet")->absorption[0], 0.01);
  EXPECT_DOUBLE_EQ(find_surface_material("window_light")->absorption[0], 0.1);
}

TEST(PorousBoards, load_with_ordered_ranges) {
  EXPECT_GE(porous_boards().size(), 12u);
  for (const PorousBoard& board : porous_boards()) {
    EXPECT_LT(board.flow_resistivity_low_pa_s_m2, board.flow_resistivity_pa_s_m2) << board.key;
    EXPECT_LT(board.flow_resistivity_pa_s_m2, board.flow_resistivity_high_pa_s_m2) << board.key;
    EXPECT_FALSE(board.source.empty());
  }
}

TEST(PorousBoards, are_a_library_by_density_class) {
  EXPECT_GE(porous_boards().size(), 25u);
  for (const char* family : {"glass_wool_", "stone_wool_", "polyester_", "wood_fibre_", "hemp_",
                             "sheep_wool_", "cotton_", "foam_", "melamine_foam_"})
    EXPECT_TRUE(
        std::any_of(porous_boards().begin(), porous_boards().end(),
                    [&](const PorousBoard& board) { return board.key.rfind(family, 0) == 0; }))
        << family;
  // Denser boards of one fibre let less air through.
  for (const PorousBoard& a : porous_boards())
    for (const PorousBoard& b : porous_boards()) {
      const auto family = [](const PorousBoard& board) {
        return board.key.substr(0, board.key.rfind('_'));
      };
      if (family(a) == family(b) && a.density_kg_m3 < b.density_kg_m3)
        EXPECT_LT(a.flow_resistivity_pa_s_m2, b.flow_resistivity_pa_s_m2) << a.key << " " << b.key;
    }
}

TEST(Resistivity, meets_the_published_relations) {
  // Source: Bies & Hansen (1980) and Garai & Pompoli (2005), constants from memory
  // (tests/figures/flow_resistivity.csv); the latter at its own 33 um lies 8 % above the form with
  // the diameter that the program uses.
  int compared = 0;
  for (const auto& row : figures::rows("flow_resistivity.csv")) {
    const bool glass = row.at("relation") == "BH";
    Wool wool{glass ? "glass_wool" : "polyester", std::stod(row.at("bulk_density_kg_m3")),
              glass ? std::stod(row.at("fibre_diameter_m")) : 33e-6, 0};
    const auto got = estimate_flow_resistivity(wool).value();
    const double wanted = std::stod(row.at("sigma_Pa_s_m2"));
    EXPECT_NEAR(got.likely_pa_s_m2 / wanted, glass ? 1 : 0.9155, glass ? 1e-4 : 1e-3);
    EXPECT_LT(got.low_pa_s_m2, wanted);
    EXPECT_GT(got.high_pa_s_m2, wanted);
    ++compared;
  }
  EXPECT_EQ(compared, 7);
}

TEST(Resistivity, holds_the_published_points_of_stone_wool_in_its_range) {
  // Source: Vigran, Building Acoustics, fig. 6.29 (12000 at 50 kg/m3); Atalla & Panneton 2005
  // (21235 at 89.6 kg/m3); Allard & Atalla 2009 (40000 at 130 kg/m3), all seen second-hand
  for (const auto& [density, wanted] :
       {std::pair{50.0, 12000.0}, {89.6, 21235.0}, {130.0, 40000.0}}) {
    const auto got = estimate_flow_resistivity({"stone_wool", density, std::nullopt, 0}).value();
    EXPECT_LT(got.low_pa_s_m2, wanted) << density;
    EXPECT_GT(got.high_pa_s_m2, wanted) << density;
  }
}

TEST(Resistivity, knows_less_where_the_fibre_is_not_stated_and_binder_lowers_it) {
  const auto vague = estimate_flow_resistivity({"glass_wool", 48, std::nullopt, 0}).value();
  const auto stated = estimate_flow_resistivity({"glass_wool", 48, 6.5e-6, 0}).value();
  const auto bound = estimate_flow_resistivity({"glass_wool", 48, 6.5e-6, 0.05}).value();
  EXPECT_NEAR(vague.likely_pa_s_m2, stated.likely_pa_s_m2, 1e-9);
  EXPECT_GT(vague.high_pa_s_m2 / vague.low_pa_s_m2, stated.high_pa_s_m2 / stated.low_pa_s_m2);
  EXPECT_NEAR(bound.likely_pa_s_m2 / stated.likely_pa_s_m2, std::pow(0.95, 1.53), 1e-9);
}

TEST(Resistivity, random_fibres_scale_with_the_inverse_square_of_the_diameter) {
  const auto fine = estimate_flow_resistivity({"cotton", 40, 10e-6, 0}).value();
  const auto coarse = estimate_flow_resistivity({"cotton", 40, 20e-6, 0}).value();
  EXPECT_NEAR(fine.likely_pa_s_m2 / coarse.likely_pa_s_m2, 4, 1e-9);
}

TEST(Resistivity, tells_every_mistake_and_warns_outside_the_published_range) {
  EXPECT_EQ(estimate_flow_resistivity({"straw", 4, 1.0, 0.9}).mistakes().size(), 4u);
  EXPECT_EQ(estimate_flow_resistivity({"polyester", 80, 60e-6, 0})->warnings.size(), 2u);
  EXPECT_TRUE(estimate_flow_resistivity({"polyester", 30, 30e-6, 0})->warnings.empty());
}

TEST(Resistivity, of_a_library_board_follows_a_label_that_says_another_density) {
  const PorousBoard& board = *find_porous_board("glass_wool_48");
  EXPECT_EQ(flow_resistivity_of(board, 48).likely_pa_s_m2, board.flow_resistivity_pa_s_m2);
  EXPECT_NEAR(flow_resistivity_of(board, 96).likely_pa_s_m2 / board.flow_resistivity_pa_s_m2,
              std::pow(2, 1.53), 1e-9);
  const PorousBoard& foam = *find_porous_board("foam_25");
  EXPECT_EQ(flow_resistivity_of(foam, 40).likely_pa_s_m2, foam.flow_resistivity_pa_s_m2);
}

TEST(SurfaceMaterials, are_the_open_tables_rows) {
  const std::string shared_data = ROOMWRIGHT_SHARED_DATA;
  const std::string file = shared_data + "/data/absorption_tables/octave_absorption.csv";
  if (shared_data.empty() || !std::filesystem::exists(file))
    GTEST_SKIP() << "needs the folder of open data sets";
  // Source: M. Vorländer, Auralization, Springer 2008, appendix, as transcribed there
  std::size_t met = 0;
  for (const auto& row : figures::read_rows(file)) {
    ASSERT_LT(met, surface_materials().size());
    const SurfaceMaterial* at = &surface_materials()[met];
    EXPECT_EQ(at->name.substr(0, 8), row.at("description").substr(0, 8));
    int band = 1;
    for (const char* key : {"a_125", "a_250", "a_500", "a_1000", "a_2000", "a_4000", "a_8000"}) {
      if (!row.at(key).empty())
        EXPECT_DOUBLE_EQ(at->absorption[band], std::stod(row.at(key))) << at->key << " " << key;
      else
        EXPECT_EQ(at->trust[band], Trust::extrapolated);
      ++band;
    }
    ++met;
  }
  EXPECT_EQ(met, surface_materials().size());
}

}  // namespace
}  // namespace roomwright::acoustics
