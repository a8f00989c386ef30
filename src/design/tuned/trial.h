// For the tests of this folder: the shops, the wishes and what was designed for them.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "design/tuned/tuned.h"
#include "figures/small_shop.h"

namespace roomwright::design::trial {

inline const double round_pi = std::acos(-1.0);
inline const acoustics::Air air = acoustics::standard_air();

/// Sheets and boards of the drum-room example's shop, its prices too (they are invented).
inline shop::Shop drum_shop() {
  shop::Shop shop = figures::small_shop(true);
  shop.sheets.clear();
  shop.boards.clear();
  const auto sheet = [&](const char* key, Length thickness, double density, int price) {
    shop.sheets[key] = {key, 1220_mm, 2440_mm, thickness, density, Money::minor(price), 0};
  };
  sheet("plywood_4", 4_mm, 680, 2950);
  sheet("plywood_9", 9_mm, 680, 5200);
  sheet("plywood_12", 12_mm, 500, 3800);
  sheet("plywood_18", 18_mm, 500, 4900);
  const auto board = [&](const char* key, Length width, Length height, Length thickness,
                         double density, const char* material, int per_pack, int price) {
    shop.boards[key] = {
        key, width, height, thickness, density, {}, material, per_pack, Money::minor(price), 0, ""};
  };
  board("stone_wool_50", 600_mm, 1200_mm, 50_mm, 60, "stone_wool_60", 6, 4150);
  board("stone_wool_100_soft", 600_mm, 1200_mm, 100_mm, 40, "stone_wool_40", 3, 3480);
  board("glass_wool_100", 600_mm, 1250_mm, 100_mm, 20, "glass_wool_20", 8, 4120);
  board("wood_fibre_60", 575_mm, 1220_mm, 60_mm, 50, "wood_fibre_50", 8, 4600);
  board("hemp_50", 600_mm, 1200_mm, 50_mm, 40, "hemp_40", 8, 5250);
  board("polyester_50", 600_mm, 1200_mm, 50_mm, 40, "polyester_40", 6, 5700);
  return shop;
}

inline TrapTarget plate_target() {
  TrapTarget target;
  target.hz = 100;
  target.half_width_hz = 25;
  target.deepest = 160_mm;
  target.cloth = "cloth";
  return target;
}

inline TrapReport designed(const TrapTarget& target, const shop::Shop& shop,
                           const TrapOptions& options = {}) {
  const auto report = design_traps(target, shop, air, options);
  EXPECT_TRUE(report.ok()) << (report.ok() ? "" : report.mistakes().text());
  return report.ok() ? *report : TrapReport{};
}

inline std::string mistakes_of(const TrapTarget& target, const shop::Shop& shop,
                               const TrapOptions& options = {}) {
  const auto report = design_traps(target, shop, air, options);
  EXPECT_FALSE(report.ok());
  return report.ok() ? "" : report.mistakes().text();
}

inline Product made(const ProductSpec& spec, const shop::Shop& shop) {
  const auto product = make_product(spec, shop, "answer");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

/// The cases that most tests look at: three fronts, with cloth and without, metric and inches.
struct Case {
  TrapTarget target;
  shop::Shop shop;
  TrapReport report;
};
inline const std::vector<Case>& cases() {
  static const std::vector<Case> all = [] {
    std::vector<Case> out{{TrapTarget{}, drum_shop(), {}}, {plate_target(), drum_shop(), {}}};
    TrapTarget inches = plate_target();
    inches.cloth.clear();
    inches.width = 24_in;
    inches.height = 48_in;
    inches.deepest = 7_in;
    out.push_back({inches, figures::small_shop(false), {}});
    out[2].shop.units.metric = false;
    out[2].shop.sheets["thin"] = {"thin plywood",     48_in, 96_in, eighth_inch, 680,
                                  Money::minor(2000), 0};
    for (Case& one : out) one.report = designed(one.target, one.shop);
    return out;
  }();
  return all;
}

}  // namespace roomwright::design::trial
