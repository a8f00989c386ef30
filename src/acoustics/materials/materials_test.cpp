// The tables load, with their sources and with what is extrapolated marked.
#include "acoustics/materials/materials.h"

#include <gtest/gtest.h>

#include <set>

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

TEST(PorousBoards, follow_the_published_relations) {
  // Source: Garai & Pompoli (2005), polyester fibre, 25.989 ρ^1.404 (from memory)
  EXPECT_NEAR(find_porous_board("polyester_30")->flow_resistivity_pa_s_m2, 3080.8, 60);
}

}  // namespace
}  // namespace roomwright::acoustics
