// Products: the facts of the trade, parts that add up to the outside sizes, sound that is inside
// its laws, and mistakes by key.
#include "design/products/products.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

ProductSpec panel_spec() {
  ProductSpec spec;
  spec.key = "panel";
  spec.name = "panel";
  spec.timber = "square";
  spec.board = "wool";
  spec.cloth = "cloth";
  return spec;
}

Product made(const ProductSpec& spec, const shop::Shop& shop) {
  const auto product = make_product(spec, shop, "products[0]");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

TEST(Panel,
     two_48_in_and_two_27_and_a_quarter_in_members_hold_a_24_in_board_with_a_quarter_in_to_spare) {
  // common practice, no source: 1 1/2 in square timber, the short ones over the ends: 51 × 27 1/4
  // in
  const Product panel = made(panel_spec(), figures::small_shop(false));
  EXPECT_EQ(panel.width, 27_in + eighth_inch * 2);
  EXPECT_EQ(panel.height, 51_in);
  int rails = 0, stiles = 0;
  for (const auto& stick : panel.parts.sticks) {
    if (stick.name == "rail" && stick.length == 27_in + eighth_inch * 2) ++rails;
    if (stick.name == "stile" && stick.length == 48_in) ++stiles;
  }
  EXPECT_EQ(rails, 2);
  EXPECT_EQ(stiles, 2);
  ASSERT_EQ(panel.boards.size(), 1u);
  const Length opening = panel.width - eighth_inch * 12 * 2;
  EXPECT_EQ(opening - panel.boards[0].width, eighth_inch * 2);
}

TEST(Panel, has_two_screws_in_each_corner) {
  // common practice, no source
  const Product panel = made(panel_spec(), figures::small_shop(true));
  for (const auto& part : panel.parts.hardware)
    if (part.hardware == "screw") {
      EXPECT_GE(part.count, 8);
    }
}

TEST(Panel, a_chamfer_of_the_bits_full_size_takes_two_passes_on_each_side) {
  // common practice, no source
  shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = panel_spec();
  spec.chamfer = shop.rules.router_bit;
  EXPECT_EQ(made(spec, shop).router_passes, 2);
  spec.chamfer = shop.rules.router_bit - 10_mm;
  EXPECT_EQ(made(spec, shop).router_passes, 1);
}

TEST(Panel, cloth_over_45_degree_edges_takes_less_than_over_square_ones) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec square = panel_spec(), chamfered = panel_spec();
  chamfered.chamfer = 15_mm;
  const auto face = [&](const ProductSpec& spec) { return made(spec, shop).parts.cloths[0]; };
  EXPECT_LT(face(chamfered).across, face(square).across);
  EXPECT_LT(face(chamfered).along, face(square).along);
  // two sides, each shorter by (2 − √2) c, within the grid's rounding up
  const double saved = (face(square).across - face(chamfered).across).millimetres();
  EXPECT_NEAR(saved, 2 * (2 - std::sqrt(2.0)) * 15, 1.0);
}

TEST(Panel, the_cloth_follows_the_edge_and_reaches_the_back) {
  // Source: cut = face + 2 (depth + wrap), worked case 600 × 1200 × 100 mm with 50 mm wrap,
  // computed
  shop::Shop shop = figures::small_shop(true);
  shop.timber["square"].depth = 100_mm;
  shop.rules.wrap = 50_mm;
  shop.rules.fold = Length();
  ProductSpec spec = panel_spec();
  spec.width = 600_mm;
  spec.height = 1200_mm;
  const Product panel = made(spec, shop);
  EXPECT_EQ(panel.parts.cloths[0].across, 900_mm);
  EXPECT_EQ(panel.parts.cloths[0].along, 1500_mm);
}

TEST(Panel, a_screw_in_the_bits_path_is_told_with_the_distance_that_would_clear_it) {
  shop::Shop shop = figures::small_shop(true);
  shop.rules.screw_from_face = 18_mm;
  shop.rules.screw_from_back = 10_mm;
  ProductSpec spec = panel_spec();
  spec.chamfer = 15_mm;
  const Product panel = made(spec, shop);
  ASSERT_FALSE(panel.checks.empty());
  EXPECT_FALSE(panel.checks[0].ok);
  // head of a 4 mm screw: 4 mm round its axis; 18 − 4 − 15 = −1 mm, the rule asks for 3
  EXPECT_EQ(panel.checks[0].clearance, -(4_mm));
  EXPECT_NE(panel.checks[0].sentence.find("lies 1.0 mm inside the bit's path"), std::string::npos)
      << panel.checks[0].sentence;
  EXPECT_NE(panel.checks[0].sentence.find("at least 4.0 mm farther back, at 22.0 mm"),
            std::string::npos);
  shop.rules.screw_from_face = 22_mm;
  EXPECT_TRUE(made(spec, shop).checks[0].ok) << "the remedy holds";
}

TEST(Panel, every_dimension_adds_up_in_any_size) {
  const shop::Shop shop = figures::small_shop(true);
  Random random(9);
  for (int round = 0; round < 300; ++round) {
    ProductSpec spec = panel_spec();
    spec.width = 1_mm * random.between(200, 2400);
    spec.height = 1_mm * random.between(200, 2400);
    const Product panel = made(spec, shop);
    Length across, up;
    for (const Member& member : panel.members) {
      EXPECT_GE(member.x, Length());
      EXPECT_LE(member.x + member.width, panel.width);
      EXPECT_LE(member.y + member.height, panel.height);
      if (member.name == "rail") up += member.height;
      if (member.name == "stile") across += member.width;
    }
    double board_area = 0;
    for (const BoardPlace& board : panel.boards) {
      board_area += board.width.metres() * board.height.metres();
      EXPECT_LE(board.x + board.width, panel.width - 44_mm);
      EXPECT_LE(board.y + board.height, panel.height - 44_mm);
      for (const Member& member : panel.members) {
        const bool apart =
            board.x + board.width <= member.x || member.x + member.width <= board.x ||
            board.y + board.height <= member.y || member.y + member.height <= board.y;
        EXPECT_TRUE(apart) << "a board lies in a " << member.name;
      }
    }
    const double opening = (panel.width - 88_mm).metres() * (panel.height - 88_mm).metres();
    EXPECT_GT(board_area, 0.80 * opening);
    EXPECT_LE(board_area, opening);
  }
}

TEST(Panel, weighs_what_its_volumes_weigh) {
  // Source: worked case of a frame round a core, 600 × 1200 × 100 mm, 18 mm boards of 480 kg/m³,
  // core 50 kg/m³: frame 3.048 kg, core 3.282 kg (computed)
  shop::Shop shop = figures::small_shop(true);
  shop.timber["thin"] = {"thin", 18_mm, 100_mm, 480, 0.4, {}};
  shop.boards["core"] = {"core",          564_mm, 1164_mm, 100_mm, 50, {},
                         "stone_wool_60", 1,      Money(), 0,      ""};
  shop.rules.clearance_across = Length();
  shop.rules.stretcher_span = 5000_mm;
  ProductSpec spec = panel_spec();
  spec.timber = "thin";
  spec.board = "core";
  spec.width = 600_mm;
  spec.height = 1200_mm;
  const Product panel = made(spec, shop);
  EXPECT_NEAR(panel.timber_kg, 3.048192, 1e-6);
  EXPECT_NEAR(panel.board_kg, 3.282480, 1e-6);
  EXPECT_NEAR(panel.centre_of_gravity_m.x, 0.3, 1e-9);
  EXPECT_NEAR(panel.centre_of_gravity_m.y, 0.6, 1e-9);
}

TEST(Panel, long_members_get_a_stretcher) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = panel_spec();
  spec.height = 2000_mm;
  const Product panel = made(spec, shop);
  EXPECT_EQ(std::count_if(panel.members.begin(), panel.members.end(),
                          [](const Member& m) { return m.name == "stretcher"; }),
            1);
  EXPECT_TRUE(panel.two_people);
}

TEST(SolidTrap, is_cut_in_pairs_from_squares) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = panel_spec();
  spec.kind = Kind::solid_trap;
  spec.sheet = "ply";
  spec.width = 600_mm;
  spec.height = 1224_mm;
  const Product trap = made(spec, shop);
  ASSERT_EQ(trap.parts.boards.size(), 1u);
  EXPECT_TRUE(trap.parts.boards[0].triangle);
  EXPECT_EQ(trap.parts.boards[0].count, 30) << "1200 mm between the plates in boards of 40 mm";
  EXPECT_EQ(trap.depth, 300_mm);
  EXPECT_NEAR(trap.board_kg, 0.5 * 0.6 * 0.3 * 1.2 * 60, 1e-6);
}

TEST(CornerReach, follows_the_triangle) {
  const CornerReach square = corner_reach(0.6, 90);
  EXPECT_NEAR(square.along_wall_m, 0.6 / std::sqrt(2.0), 1e-12);
  EXPECT_NEAR(square.to_face_m, 0.3, 1e-12);
}

TEST(Absorption, grows_with_gap_and_stays_within_its_range) {
  const shop::Shop shop = figures::small_shop(true);
  const acoustics::Air air = acoustics::standard_air();
  ProductSpec flush = panel_spec(), off = panel_spec();
  off.gap = 100_mm;
  const auto near = absorption_of(made(flush, shop), shop, air).value();
  const auto far = absorption_of(made(off, shop), shop, air).value();
  EXPECT_GT(far.likely_m2[2], near.likely_m2[2] * 1.2) << "250 Hz";
  for (std::size_t i = 0; i < near.likely_m2.size(); ++i) {
    EXPECT_LE(near.low_m2[i], near.likely_m2[i]);
    EXPECT_GE(near.high_m2[i], near.likely_m2[i]);
    EXPECT_GT(near.low_m2[i], 0);
  }
}

TEST(Absorption, approximations_carry_their_name_and_a_wider_doubt) {
  const shop::Shop shop = figures::small_shop(true);
  const acoustics::Air air = acoustics::standard_air();
  for (const Kind kind : {Kind::straddling_trap, Kind::solid_trap, Kind::ceiling_cloud}) {
    ProductSpec spec = panel_spec();
    spec.kind = kind;
    spec.sheet = "ply";
    if (kind == Kind::ceiling_cloud) spec.gap = 150_mm;
    const Product product = made(spec, shop);
    EXPECT_FALSE(product.sound.approximation.empty());
    const auto absorption = absorption_of(product, shop, air).value();
    EXPECT_GE(absorption.high_m2[3] / absorption.low_m2[3], 1.4);
  }
  EXPECT_TRUE(made(panel_spec(), shop).sound.approximation.empty());
}

TEST(Product, mistakes_are_told_by_key_and_all_at_once) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = panel_spec();
  spec.timber = "oak";
  spec.cloth = "silk";
  spec.width = 20_mm;
  EXPECT_EQ(make_product(spec, shop, "products[3]").mistakes().size(), 3u);
  spec = panel_spec();
  spec.board_layers = 3;
  EXPECT_EQ(make_product(spec, shop, "p").mistakes().items()[0].what, "is deeper than the frame");
  spec = panel_spec();
  spec.chamfer = 42_mm;
  EXPECT_EQ(make_product(spec, shop, "p").mistakes().size(), 2u);
}

TEST(Products, show_no_cloth_that_the_shop_has_for_backs_alone) {
  shop::Shop shop = figures::small_shop(true);
  shop.cloths.at("back").face = false;
  ProductSpec spec = panel_spec();
  spec.back_cloth = "back";
  EXPECT_TRUE(make_product(spec, shop, "products[0]").ok()) << "behind it may be";
  spec.cloth = "back";
  const auto seen = make_product(spec, shop, "products[0]");
  ASSERT_FALSE(seen.ok());
  EXPECT_EQ(seen.mistakes().text(),
            "products[0].cloth: is for backs alone by the shop file (face = false), and is seen "
            "here, got \"back\"; take one that may be seen: cloth\n");
  ProductSpec screen = panel_spec();
  screen.kind = Kind::free_screen;
  screen.back_cloth = "back";
  const auto turned = make_product(screen, shop, "products[0]");
  ASSERT_FALSE(turned.ok());
  EXPECT_NE(turned.mistakes().text().find("products[0].back_cloth: is for backs alone"),
            std::string::npos)
      << "both sides of a screen are seen";
  ProductSpec holes = spec;
  holes.kind = Kind::tuned_trap;
  const auto tuned = make_product(holes, shop, "products[0]");
  ASSERT_FALSE(tuned.ok()) << "it has no front yet";
  EXPECT_EQ(tuned.mistakes().text().find("backs alone"), std::string::npos);
  shop.cloths.at("cloth").face = false;
  spec.cloth = "cloth";
  EXPECT_NE(make_product(spec, shop, "products[0]").mistakes().text().find("set face = true"),
            std::string::npos);
}

}  // namespace
}  // namespace roomwright::design
