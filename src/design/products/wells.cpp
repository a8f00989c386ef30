// The diffuser: wells between fins, each with a strip of sheet as its bottom at the depth that the
// sequence asks for; or a grid of blocks of square timber on a back sheet, each cut to its height.
// Depths are rounded to the shop's grid before the physics sees them.
#include <algorithm>
#include <cmath>
#include <map>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

struct WellSizes {
  Length well, fin, bottom;    ///< clear width; thickness of fins and of bottoms
  std::vector<Length> depths;  ///< of one period; of a grid row by row
  int columns = 0, rows = 0;   ///< wells across; rows of a grid over the whole height
  int period_rows = 1;
  Length deepest, width, height;
};

acoustics::DiffuserSpec spec_of(const ProductSpec& spec, const Ingredients& with) {
  const WellPlan& plan = *spec.wells;
  acoustics::DiffuserSpec out;
  out.kind = plan.sequence;
  out.prime = plan.prime;
  out.design_hz = plan.design_hz;
  out.well_width_m = plan.well.metres();
  out.fin_thickness_m = plan.grid ? 0 : with.sheet->thickness.metres();
  out.two_dimensional = plan.grid;
  out.depth_step_m = with.shop->rules.grid.metres();
  return out;
}

WellSizes well_sizes(const Product& product, const Ingredients& with,
                     const acoustics::Diffuser& designed) {
  const WellPlan& plan = *product.spec.wells;
  WellSizes s;
  s.well = plan.well;
  s.fin = plan.grid ? Length() : with.sheet->thickness;
  s.bottom = with.sheet->thickness;
  for (const double depth : designed.wells.depths_m) {
    s.depths.push_back(Length::from_m(depth).round_to(with.shop->rules.grid));
    s.deepest = std::max(s.deepest, s.depths.back());
  }
  s.period_rows = designed.wells.rows;
  s.columns = designed.wells.columns() * plan.periods;
  s.width = (s.well + s.fin) * s.columns + s.fin;
  s.height = product.spec.height.value_or(Length::from_mm(1200));
  if (plan.grid) {
    const std::int64_t periods =
        std::max<std::int64_t>(1, s.height.nanometres() / (s.well * s.period_rows).nanometres());
    s.rows = static_cast<int>(periods) * s.period_rows;
    s.height = s.well * s.rows;
  }
  return s;
}

Length depth_of(const WellSizes& s, int column, int row) {
  const int columns = static_cast<int>(s.depths.size()) / s.period_rows;
  return s.depths[static_cast<std::size_t>((row % s.period_rows) * columns + column % columns)];
}

void add_sheet(Product& product, const char* name, Length a, Length b, int count) {
  for (auto& part : product.parts.sheets)
    if (part.name == name && part.width == std::min(a, b) && part.height == std::max(a, b)) {
      part.count += count;
      return;
    }
  product.parts.sheets.push_back(
      {"", name, product.spec.sheet, std::min(a, b), std::max(a, b), count, false});
}

void add_back(Product& product, const WellSizes& s) {
  add_sheet(product, "back", s.width, s.height, 1);
  add_operation(product, shop::Station::saw, "plate", 1);
  product.plates.push_back(
      {"back", product.spec.sheet, Length(), Length(), s.width, s.height, s.deepest, s.bottom, 0});
}

/// Fins from front to back sheet; a bottom in each well that is not the deepest; under each bottom
/// spacers every 400 mm.
void add_slits(Product& product, const WellSizes& s) {
  const std::string& key = product.spec.sheet;
  for (int i = 0; i <= s.columns; ++i)
    product.plates.push_back(
        {"fin", key, (s.well + s.fin) * i, Length(), s.fin, s.height, Length(), s.deepest, 0});
  add_sheet(product, "fin", s.deepest, s.height, s.columns + 1);
  add_operation(product, shop::Station::saw, "strip", s.columns + 1);
  const int spacers =
      1 + static_cast<int>(s.height.nanometres() / Length::from_mm(400).nanometres());
  for (int i = 0; i < s.columns; ++i) {
    const Length depth = depth_of(s, i, 0), under = s.deepest - depth - s.bottom;
    if (depth == s.deepest) continue;
    const Length x = s.fin + (s.well + s.fin) * i;
    product.plates.push_back({"well bottom", key, x, Length(), s.well, s.height, depth,
                              std::min(s.bottom, s.deepest - depth), 0});
    add_sheet(product, "well bottom", s.well, s.height, 1);
    add_operation(product, shop::Station::saw, "strip", 1);
    if (under <= Length()) continue;
    add_sheet(product, "spacer", s.well, under, spacers);
    add_operation(product, shop::Station::saw, "strip", spacers);
    for (int n = 0; n < spacers; ++n)
      product.plates.push_back(
          {"spacer", key, x,
           Length::from_nm((s.height - s.bottom).nanometres() * n / std::max(1, spacers - 1)),
           s.well, s.bottom, depth + s.bottom, under, 0});
  }
}

/// Blocks stand on the back sheet: the deepest wells have none.
void add_blocks(Product& product, const Ingredients& with, const WellSizes& s) {
  std::map<Length, int> blocks;
  for (int row = 0; row < s.rows; ++row)
    for (int column = 0; column < s.columns; ++column) {
      const Length depth = depth_of(s, column, row), height = s.deepest - depth;
      if (height <= Length()) continue;
      ++blocks[height];
      product.members.push_back({"block", s.well * column, s.well * row, s.well, s.well, depth,
                                 height, product.spec.timber, height});
    }
  for (const auto& [height, count] : blocks) {
    product.parts.sticks.push_back({"", "block", product.spec.timber, height, count});
    add_operation(product, shop::Station::saw, "cut", count);
    add_operation(product, shop::Station::boards, "block", count);
  }
  if (!with.shop->rules.glue.empty())
    add_hardware(product, with.shop->rules.glue,
                 static_cast<double>(product.members.size()));  // 1 ml a block
}

void say_depths(Product& product, const WellSizes& s, const acoustics::Diffuser& designed) {
  const Units millimetres{};
  std::string text;
  const int columns = static_cast<int>(s.depths.size()) / s.period_rows;
  for (int row = 0; row < s.period_rows; ++row) {
    text += row == 0 ? "" : " | ";
    for (int column = 0; column < columns; ++column)
      text += (column == 0 ? "" : " ") + print_dimension(depth_of(s, column, row), millimetres);
  }
  product.making.push_back("Depths from the front, left to right" +
                           std::string(s.period_rows > 1 ? ", row by row from below" : "") +
                           ", in mm: " + text + "; " + std::to_string(product.spec.wells->periods) +
                           (product.spec.wells->periods == 1 ? " period" : " periods") +
                           " side by side.");
  product.making.push_back("Scatters from about " + fixed(designed.low_hz, 0) + " Hz to " +
                           fixed(designed.high_hz, 0) + " Hz; the seat at least " +
                           fixed(designed.least_distance_m, 1) +
                           " m away (three wavelengths, common practice, no source).");
  for (const auto& note : designed.notes)
    product.making.push_back("Note: " + note.what +
                             (note.remedy.empty() ? "" : "; " + note.remedy) + ".");
}

void add_fittings(Product& product, const Ingredients& with, const WellSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const double around_m = 2 * (s.width + s.height).metres();
  if (!product.spec.wells->grid) {
    const int fins = s.columns + 1;
    add_hardware(product, rules.corner_screw, fins * std::ceil(s.height.metres() / 0.3));
    if (!rules.glue.empty()) add_hardware(product, rules.glue, fins * rules.glue_ml_per_corner);
    add_operation(product, shop::Station::drill_screw, "corner", fins);
  }
  add_operation(product, shop::Station::sand, "edge_metre", around_m);
  finish_for_wall(product, with);
}

bool check_wells(const ProductSpec& spec, const Ingredients& with, const WellSizes& s,
                 const std::string& where, Diagnostics& found) {
  const std::size_t before = found.size();
  if (spec.width)
    found.add(where + ".width", "follows from the wells", print_mm(*spec.width),
              "leave it out; " + print_mm(s.width) + " is what they make");
  if (s.width < least_side || s.width > greatest_side)
    found.add(where + ".wells.periods", "makes it " + print_mm(s.width) + " wide", {},
              "keep it from 100 mm to 3000 mm");
  if (s.height < least_side || s.height > greatest_side)
    found.add(where + ".height", "must be from 100 mm to 3000 mm", print_mm(s.height), {});
  if (spec.wells->grid && with.timber->width != spec.wells->well)
    found.add(where + ".wells.well", "must be the width of the timber its blocks are cut from",
              print_mm(spec.wells->well), print_mm(with.timber->width));
  if (spec.wells->grid && with.timber->width != with.timber->depth)
    found.add(where + ".timber", "must be square for a grid of blocks", {},
              "take a section as deep as it is wide");
  if (spec.chamfer > Length() || spec.gap > Length() || !spec.back_cloth.empty() ||
      !spec.cloth.empty() || !spec.board.empty())
    found.add(where + ".cloth", "and board, back_cloth, chamfer and gap do not go with a diffuser",
              {}, "leave them out");
  return found.size() == before;
}

}  // namespace

namespace {

/// The file's word for the engine's.
std::string well_key(const std::string& key) {
  return key == "well_width_m" ? "well" : key == "kind" ? "sequence" : key;
}

}  // namespace

bool make_wells(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  // The air of a plain day: a builder's depths do not follow the weather.
  const auto designed =
      acoustics::design_diffuser(spec_of(product.spec, with), acoustics::standard_air());
  if (!designed) {
    for (Complaint item : designed.mistakes().items()) {
      item.where = where + ".wells." + well_key(item.where);
      found.add(std::move(item));
    }
    return false;
  }
  const WellSizes sizes = well_sizes(product, with, *designed);
  if (!check_wells(product.spec, with, sizes, where, found)) return false;
  product.width = sizes.width;
  product.height = sizes.height;
  product.depth = sizes.deepest + sizes.bottom;
  product.edge_profile = {{Length(), Length()}, {Length(), product.depth}};
  product.sound.wells = designed->wells;
  add_back(product, sizes);
  if (product.spec.wells->grid)
    add_blocks(product, with, sizes);
  else
    add_slits(product, sizes);
  say_depths(product, sizes, *designed);
  add_fittings(product, with, sizes);
  return true;
}

}  // namespace roomwright::design
