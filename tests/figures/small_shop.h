// A small shop for tests, metric or inch: one of each thing.
#pragma once

#include "shop/stock/stock.h"

namespace roomwright::figures {

inline shop::Shop small_shop(bool metric) {
  shop::Shop shop;
  shop.name = "the workshop";
  shop.currency = *find_currency(metric ? "EUR" : "USD");
  shop.rules = shop::default_rules(metric);
  shop.times = shop::default_times();
  const Length stick = metric ? 3000_mm : 96_in;
  const Length square = eighth_inch * 12;
  shop.timber["square"] = {"square timber",
                           metric ? 44_mm : square,
                           metric ? 44_mm : square,
                           450,
                           0.40,
                           {{stick, stick, Money::minor(600), 0, {}}}};
  shop.timber["deep"] = {"deep timber",
                         metric ? 27_mm : square,
                         metric ? 120_mm : eighth_inch * 44,
                         450,
                         0.40,
                         {{stick, stick, Money::minor(900), 2, {}}}};
  shop.cloths["cloth"] = {"cloth", 1400_mm, 100_mm, Money::minor(1000), Length(), 0.25,
                          40,      true,    ""};
  shop.cloths["back"] = {"back cloth", 1500_mm, 100_mm, Money::minor(200), Length(), 0.05,
                         100,          false,   ""};
  shop.boards["wool"] = {"wool board",
                         metric ? 600_mm : 24_in,
                         metric ? 1200_mm : 48_in,
                         metric ? 40_mm : eighth_inch * 12,
                         60,
                         12000.0,
                         "stone_wool_60",
                         6,
                         Money::minor(4000),
                         0,
                         ""};
  shop.sheets["ply"] = {"plywood", 1220_mm, 2440_mm, 12_mm, 600, Money::minor(3500), 0};
  shop.hardware["screw"] = {"screw", "each", 100, Money::minor(900), 0, Length::from_mm(4),
                            70_mm,   0.004};
  shop.hardware["staple"] = {"staple", "each", 1000, Money::minor(500), 0, {}, 10_mm, 0.0002};
  shop.hardware["hanger"] = {"hanger", "each", 2, Money::minor(300), 0, {}, {}, 0.05};
  shop.rules.corner_screw = "screw";
  shop.rules.wall_screw = "screw";
  shop.rules.staple = "staple";
  shop.rules.panel_hanger = "hanger";
  shop.rules.cloud_hanger = "hanger";
  shop.rules.safety_wire = "hanger";
  shop.terms.labour_per_hour = {36, 0};
  shop.terms.site_per_hour = {40, 0};
  shop.terms.overhead_percent = {18, 0};
  shop.terms.margin_percent = {225, 1};
  shop.terms.tax_percent = {21, 0};
  shop.terms.deposit_percent = {40, 0};
  shop.terms.travel_per_km = {42, 2};
  return shop;
}

}  // namespace roomwright::figures
