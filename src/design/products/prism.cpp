// The solid corner trap: a right-angled triangular prism. Two end plates of sheet carry two front
// stiles in the acute edges, ripped corner to corner from one square of the timber so that they lie
// against the walls, and a spine before the corner; triangles of board, cut in pairs from squares,
// lie on each other between the plates, pressed round the sticks; cloth goes over the front.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

struct PrismSizes {
  Length face, height, leg;  ///< outside
  Length wool_leg;           ///< of a triangle of board
  Length stick;              ///< between the plates
  int triangles = 0;         ///< lying on each other
};

PrismSizes prism_sizes(const ProductSpec& spec, const Ingredients& with) {
  const Length grid = with.shop->rules.grid;
  PrismSizes s;
  s.face = spec.width.value_or(Length::from_mm(600));
  s.height = spec.height.value_or(Length::from_mm(1200));
  s.leg = Length::from_m(s.face.metres() / std::sqrt(2.0)).round_to(grid);
  s.wool_leg = s.leg - with.shop->rules.clearance_across;
  s.stick = s.height - with.sheet->thickness * 2;
  const std::int64_t thickness = with.board->thickness.nanometres();
  // Wool is soft: the last triangle is pressed in rather than left out.
  s.triangles = static_cast<int>((s.stick.nanometres() + thickness - 1) / thickness);
  return s;
}

bool check_prism(const ProductSpec& spec, const Ingredients& with, const PrismSizes& s,
                 const std::string& where, Diagnostics& found) {
  const std::size_t before = found.size();
  const Length side = std::min(with.board->width, with.board->height);
  if (s.wool_leg > side)
    found.add(where + ".width", "needs triangles larger than the board",
              print_mm(s.wool_leg) + " of " + print_mm(side),
              "make the face at most " +
                  print_mm(Length::from_m((side + with.shop->rules.clearance_across).metres() *
                                          std::sqrt(2.0))));
  // The spine, on edge before the corner, may not come out through the face.
  const Length least =
      std::max(with.timber->width * 4, with.timber->width + with.timber->depth * 2);
  if (s.face < least)
    found.add(where + ".width", "is too narrow for its stiles and spine", print_mm(s.face),
              "make it at least " + print_mm(least) + " or take a slighter timber");
  if (s.stick < least_side)
    found.add(where + ".height", "must be at least 100 mm between the plates", print_mm(s.height),
              "make it higher");
  if (spec.chamfer > Length())
    found.add(where + ".chamfer", "is not made on a solid corner trap", print_mm(spec.chamfer),
              "leave it out");
  if (spec.gap > Length())
    found.add(where + ".gap", "is not made behind a solid corner trap", print_mm(spec.gap),
              "leave it out");
  return found.size() == before;
}

void add_sticks(Product& product, const Ingredients& with, const PrismSizes& s) {
  const Length y = with.sheet->thickness;
  const Length m = std::min(with.timber->width, with.timber->depth), w = with.timber->width;
  const auto stick = [&](const char* name, Length x, Length wide, Length z, Length deep) {
    Member member;
    member.name = name;
    member.x = x, member.y = y, member.width = wide, member.height = s.stick;
    member.z = z, member.depth = deep;
    member.section = product.spec.timber, member.length = s.stick;
    product.members.push_back(std::move(member));
  };
  const auto rip = [&](std::vector<Corner> outline) {
    product.members.back().outline = std::move(outline);
    product.members.back().in_plan = true;
  };
  const Length to_corner = Length::from_nm(s.face.nanometres() / 2);
  stick("stile", Length(), m, Length(), m);
  rip({{Length(), Length()}, {m, Length()}, {m, m}});
  stick("stile", s.face - m, m, Length(), m);
  rip({{s.face, Length()}, {s.face - m, m}, {s.face - m, Length()}});
  // Its back corners touch both walls.
  const Length back = to_corner - Length::from_nm(w.nanometres() / 2);
  stick("spine", Length::from_nm((s.face - w).nanometres() / 2), w, back - with.timber->depth,
        with.timber->depth);
  product.parts.sticks.push_back({"", "stile pair", product.spec.timber, s.stick, 1});
  product.parts.sticks.push_back({"", "spine", product.spec.timber, s.stick, 1});
  product.parts.sheets.push_back({"", "end plate", product.spec.sheet, s.leg, s.leg, 2, true});
  add_operation(product, shop::Station::saw, "cut", 2);
  add_operation(product, shop::Station::saw, "rip_metre", s.stick.metres());
  add_operation(product, shop::Station::saw, "plate", 2);
}

void add_wool(Product& product, const Ingredients& with, const PrismSizes& s) {
  product.parts.boards.push_back(
      {"", "triangle", product.spec.board, s.wool_leg, s.wool_leg, s.triangles, true});
  Length y = with.sheet->thickness;
  for (int i = 0; i < s.triangles; ++i) {
    const Length thick = std::min(with.board->thickness, s.height - with.sheet->thickness - y);
    product.boards.push_back({Length(), y, s.face, thick, Length(), s.leg, true});
    y = y + thick;
  }
  add_operation(product, shop::Station::boards, "board", s.triangles);
  add_operation(product, shop::Station::boards, "board_cut", (s.triangles + 1) / 2);
}

/// What a board yields, and faces that leave no offcut of it.
void say_yield(Product& product, const Ingredients& with, const PrismSizes& s) {
  const shop::Board& board = *with.board;
  const auto fit = [&](Length side, Length leg) { return side.nanometres() / leg.nanometres(); };
  const std::int64_t squares = fit(board.width, s.wool_leg) * fit(board.height, s.wool_leg);
  const double used = static_cast<double>(squares) * s.wool_leg.metres() * s.wool_leg.metres() /
                      (board.width.metres() * board.height.metres());
  const Units& units = with.shop->units;
  std::string text = "Wool: " + std::to_string(2 * squares) + " triangles from a board, " +
                     fixed(used * 100, 0) + " % of it";
  std::string faces;
  const Length side = std::min(board.width, board.height);
  for (int parts = 1; parts <= 3; ++parts) {
    const Length leg =
        Length::from_nm(side.nanometres() / parts) + with.shop->rules.clearance_across;
    const Length face =
        Length::from_m(leg.metres() * std::sqrt(2.0)).round_down_to(with.shop->rules.grid);
    if (face >= with.timber->width * 4)
      faces += (faces.empty() ? "" : " or ") + print_length(face, units);
  }
  if (used < 0.9 && !faces.empty()) text += "; a face of " + faces + " would use whole squares";
  product.making.push_back(text + ".");
  product.making.push_back(
      "Rip one square stick corner to corner for the two stiles: their slopes lie "
      "against the walls. Riving knife and push stick; the saw's manual says how.");
}

void add_prism_cloth(Product& product, const Ingredients& with, const PrismSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const Length beyond = (with.timber->width + rules.wrap + rules.fold) * 2;
  product.cloth_path = with.timber->width;
  product.edge_profile = {{Length(), Length()}, {Length(), with.timber->width}};
  add_cloth(product, with, "face", product.spec.cloth,
            {(s.face + beyond).round_up_to(rules.grid), (s.height + beyond).round_up_to(rules.grid),
             (s.face + s.height) * 2});
}

void add_prism_fittings(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  add_hardware(product, rules.corner_screw, 6 * rules.screws_per_corner);
  if (!rules.glue.empty()) add_hardware(product, rules.glue, 6 * rules.glue_ml_per_corner);
  add_operation(product, shop::Station::drill_screw, "corner", 6);
  finish_for_wall(product, with);
}

}  // namespace

bool make_prism(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  const PrismSizes sizes = prism_sizes(product.spec, with);
  if (!check_prism(product.spec, with, sizes, where, found)) return false;
  product.width = sizes.face;
  product.height = sizes.height;
  product.depth = Length::from_nm(sizes.face.nanometres() / 2);
  add_sticks(product, with, sizes);
  add_wool(product, with, sizes);
  say_yield(product, with, sizes);
  add_operation(product, shop::Station::sand, "edge_metre",
                2 * (sizes.face + sizes.height).metres());
  add_prism_cloth(product, with, sizes);
  add_prism_fittings(product, with);
  return true;
}

}  // namespace roomwright::design
