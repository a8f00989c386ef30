// Products of sheet material: boxes that close, fronts that are drilled where they say, wells at
// their depths, parts that weigh what the plates weigh, and sound that peaks where it should.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "design/products/products.h"
#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

ProductSpec trap_spec(Front front) {
  ProductSpec spec;
  spec.key = spec.name = "trap";
  spec.kind = Kind::tuned_trap;
  spec.sheet = "ply";
  spec.board = "wool";
  spec.width = 620_mm;
  spec.height = 1240_mm;
  spec.tuned = TunedFront{front, "ply", 8_mm, 60_mm, 5_mm, 80_mm, 150_mm, FillPlace::behind_front};
  return spec;
}

ProductSpec wells_spec() {
  ProductSpec spec;
  spec.key = spec.name = "wells";
  spec.kind = Kind::diffuser;
  spec.sheet = "ply";
  spec.height = 1200_mm;
  spec.wells = WellPlan{acoustics::Sequence::quadratic_residue, 7, 600, 70_mm, 2, false};
  return spec;
}

Product made(const ProductSpec& spec) {
  const auto product = make_product(spec, figures::small_shop(true), "products[0]");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

double volume_of(const Product& product) {
  double volume_m3 = 0;
  for (const Plate& plate : product.plates)
    volume_m3 += plate.width.metres() * plate.height.metres() * plate.depth.metres();
  return volume_m3;
}

double volume_of_parts(const Product& product, double thickness_m) {
  double volume_m3 = 0;
  for (const auto& part : product.parts.sheets)
    volume_m3 += part.count * part.width.metres() * part.height.metres() * thickness_m;
  return volume_m3;
}

TEST(TunedTrap, closes_its_cavity_with_plates_that_meet_and_do_not_overlap) {
  for (const Front front : {Front::perforated, Front::slotted, Front::membrane}) {
    const Product trap = made(trap_spec(front));
    EXPECT_EQ(trap.depth, 150_mm + 12_mm + 12_mm);
    // Outside less cavity is wood (and slots).
    const double outside = 0.62 * 1.24 * 0.174, cavity = 0.596 * 1.216 * 0.150;
    double slots = 0;
    if (front == Front::slotted)
      for (const Plate& plate : trap.plates)
        if (plate.name == "slat") slots -= plate.height.metres();
    slots = front == Front::slotted ? (1.24 + slots) * 0.62 * 0.012 : 0;
    EXPECT_NEAR(volume_of(trap), outside - cavity - slots, 1e-9);
    EXPECT_NEAR(volume_of(trap), volume_of_parts(trap, 0.012), 1e-9) << "plates and parts agree";
    for (const Plate& a : trap.plates)
      for (const Plate& b : trap.plates) {
        if (&a == &b) continue;
        const auto apart = [](Length p, Length ps, Length q, Length qs) {
          return p + ps <= q || q + qs <= p;
        };
        EXPECT_TRUE(apart(a.x, a.width, b.x, b.width) || apart(a.y, a.height, b.y, b.height) ||
                    apart(a.z, a.depth, b.z, b.depth))
            << a.name << " and " << b.name;
      }
  }
}

TEST(TunedTrap, is_drilled_on_a_grid_with_equal_margins_and_knows_its_open_area) {
  const Product trap = made(trap_spec(Front::perforated));
  const auto holes = holes_of(trap);
  EXPECT_EQ(holes.size(), 10u * 21u);  // 580 and 1200 mm of middles at 60 mm
  double least_x = 1, most_x = 0, least_y = 9, most_y = 0;
  for (const Vec2& hole : holes) {
    least_x = std::min(least_x, hole.x), most_x = std::max(most_x, hole.x);
    least_y = std::min(least_y, hole.y), most_y = std::max(most_y, hole.y);
  }
  EXPECT_NEAR(least_x, 0.62 - most_x, 1e-9);
  EXPECT_NEAR(least_y, 1.24 - most_y, 1e-9);
  for (const auto& operation : trap.parts.operations)
    if (operation.feature == "hole") EXPECT_EQ(operation.count, 210);
  double front_open = 0;
  for (const Plate& plate : trap.plates)
    if (plate.name == "front") front_open = plate.open_area;
  EXPECT_NEAR(front_open, 210 * std::acos(-1.0) * 0.004 * 0.004 / (0.596 * 1.216), 1e-12);
}

/// The front is one more layer: its peak lies where the cotangent equation of its own mass and
/// cavity has it. Source: perforated absorber, ω t/ε = c cot(ωD/c) (from memory).
TEST(TunedTrap, absorbs_most_near_the_root_of_the_cotangent_equation) {
  ProductSpec spec = trap_spec(Front::perforated);
  spec.board_layers = 1;
  const Product trap = made(spec);
  const acoustics::Air air = acoustics::standard_air();
  double open = 0;
  for (const Plate& plate : trap.plates) open = std::max(open, plate.open_area);
  const double reach = 1 - 1.47 * std::sqrt(open) + 0.47 * std::sqrt(open * open * open);
  const double mass_m = (0.012 + 1.7 * 0.004 * reach) / open;
  double low = 20, high = 500;
  for (int i = 0; i < 60; ++i) {
    const double hz = (low + high) / 2, k = 2 * std::acos(-1.0) * hz / air.sound_speed_m_s;
    (k * mass_m < 1 / std::tan(k * 0.150) ? low : high) = hz;
  }
  std::vector<double> hz;
  for (int i = 0; i < 200; ++i) hz.push_back(40 * std::pow(10, i / 200.0));
  acoustics::AbsorptionOptions options;
  options.incidence.kind = acoustics::Incidence::normal;
  const auto report = acoustics::absorption(trap.sound.strips[0].stack, air, hz, options).value();
  const auto peak = std::max_element(report.absorption.begin(), report.absorption.end());
  // Wool in the cavity makes its air springier by up to a fifth of an octave (isothermal).
  const double found_hz = hz[peak - report.absorption.begin()];
  EXPECT_GT(found_hz / low, 0.75);
  EXPECT_LT(found_hz / low, 1.1);
}

TEST(TunedTrap, tells_every_mistake_by_its_key) {
  ProductSpec spec = trap_spec(Front::perforated);
  spec.tuned->pitch = 9_mm;
  spec.tuned->cavity = 30_mm;
  spec.chamfer = 5_mm;
  const auto refused = make_product(spec, figures::small_shop(true), "products[0]");
  ASSERT_FALSE(refused.ok());
  std::string text = refused.mistakes().text();
  for (const char* key : {".pitch", ".board", ".gap"})
    EXPECT_NE(text.find(key), std::string::npos) << text;
  spec = trap_spec(Front::slotted);
  spec.tuned->sheet = "steel";
  EXPECT_NE(
      make_product(spec, figures::small_shop(true), "p").mistakes().text().find("tuned.sheet"),
      std::string::npos);
}

TEST(TunedTrap, has_a_range_that_its_tolerances_and_its_wool_make) {
  const shop::Shop shop = figures::small_shop(true);
  for (const Front front : {Front::perforated, Front::slotted, Front::membrane}) {
    const auto got = absorption_of(made(trap_spec(front)), shop, acoustics::standard_air()).value();
    for (std::size_t i = 0; i < got.likely_m2.size(); ++i) {
      EXPECT_LE(got.low_m2[i], got.likely_m2[i]);
      EXPECT_GE(got.high_m2[i], got.likely_m2[i]);
      EXPECT_GE(got.likely_m2[i], 0);
    }
    EXPECT_GT(*std::max_element(got.likely_m2.begin(), got.likely_m2.begin() + 3),
              got.likely_m2[6]);
  }
}

TEST(Diffuser, has_its_wells_at_the_depths_of_the_sequence) {
  // Source: Schroeder (1984): d = s λ/2N, n² mod 7 = 0 1 4 2 2 4 1 (from memory)
  const Product wells = made(wells_spec());
  const double step = acoustics::standard_air().sound_speed_m_s / 600 / 14;
  std::map<Length, int> bottoms;
  for (const Plate& plate : wells.plates)
    if (plate.name == "well bottom") ++bottoms[plate.z];
  EXPECT_EQ(bottoms[Length::from_m(0 * step)], 2);
  EXPECT_EQ(bottoms[Length::from_m(1 * step).round_to(1_mm)], 4);
  EXPECT_EQ(bottoms[Length::from_m(2 * step).round_to(1_mm)], 4);
  EXPECT_EQ(bottoms.size(), 3u) << "the deepest wells end at the back sheet";
  EXPECT_EQ(wells.width, (70_mm + 12_mm) * 14 + 12_mm);
  EXPECT_EQ(wells.depth, Length::from_m(4 * step).round_to(1_mm) + 12_mm);
  EXPECT_NEAR(
      volume_of(wells) * 600,
      wells.mass_kg() -
          [&] {
            double hardware_kg = 0;
            for (const auto& part : wells.parts.hardware)
              hardware_kg +=
                  part.count * figures::small_shop(true).hardware.at(part.hardware).mass_kg;
            return hardware_kg;
          }(),
      1e-6);
}

TEST(Diffuser, of_blocks_cuts_one_block_for_each_well_that_is_not_the_deepest) {
  ProductSpec spec = wells_spec();
  spec.wells->grid = true;
  spec.wells->well = 44_mm;
  spec.timber = "square";
  spec.height = 620_mm;
  const Product blocks = made(spec);
  int count = 0;
  Length sawn;
  for (const auto& stick : blocks.parts.sticks) {
    count += stick.count;
    sawn = sawn + stick.length * stick.count;
  }
  EXPECT_EQ(count, static_cast<int>(blocks.members.size()));
  EXPECT_EQ(blocks.width, 44_mm * 14);
  EXPECT_EQ(blocks.height, 44_mm * 14) << "whole periods";
  double volume_m3 = 0;
  for (const Member& member : blocks.members)
    volume_m3 += member.width.metres() * member.height.metres() * member.depth.metres();
  EXPECT_NEAR(volume_m3, sawn.metres() * 0.044 * 0.044, 1e-12);
}

TEST(Diffuser, absorbs_a_little_and_says_how_little_is_known) {
  const shop::Shop shop = figures::small_shop(true);
  const auto got = absorption_of(made(wells_spec()), shop, acoustics::standard_air()).value();
  for (std::size_t i = 0; i < got.likely_m2.size(); ++i) {
    EXPECT_GE(got.coefficient[i], 0);
    EXPECT_LT(got.coefficient[i], 0.5);
    EXPECT_LE(got.low_m2[i], got.high_m2[i]);
  }
  EXPECT_GT(got.coefficient[4], 0);
}

TEST(Diffuser, tells_what_does_not_go_with_it) {
  ProductSpec spec = wells_spec();
  spec.cloth = "cloth";
  spec.width = 900_mm;
  spec.wells->prime = 8;
  const auto not_prime = make_product(spec, figures::small_shop(true), "products[2]");
  ASSERT_FALSE(not_prime.ok());
  EXPECT_NE(not_prime.mistakes().text().find("products[2].wells.prime"), std::string::npos)
      << not_prime.mistakes().text();
  spec.wells->prime = 7;
  const std::string text =
      make_product(spec, figures::small_shop(true), "products[2]").mistakes().text();
  EXPECT_NE(text.find(".width"), std::string::npos) << text;
  EXPECT_NE(text.find(".cloth"), std::string::npos) << text;
}

}  // namespace
}  // namespace roomwright::design
