// One design as sizes, layers, material and specification. The layers are those that make_product
// gives for the same specification; a test holds the two together.
#include <algorithm>

#include "design/tuned/search.h"

namespace roomwright::design::tuned {

namespace {

constexpr double fine_hole_m = 1.5e-3;               // as make_product has it
constexpr Length least_board = Length::from_mm(30);  // a narrower sliver of board is left out
constexpr double slack_m = 1e-6;                     // thinner air is none

/// What a board fills of the inside, with the slivers at its ends left out.
double covered_m(Length inside, Length board) {
  const Length rest = Length::from_nm(inside.nanometres() % board.nanometres());
  return (inside - (rest < least_board ? rest : Length())).metres();
}

double per_m2(const shop::Sheet& sheet) {
  return double(sheet.price.minor_units()) / (sheet.width.metres() * sheet.height.metres());
}

double board_minor(const Workshop& with, const Design& design) {
  const shop::Board* board = with.boards[std::size_t(design.board)].item;
  if (!board || design.layers == 0) return 0;
  const Inside inside = inside_of(with, design.box);
  const double area_m2 =
      covered_m(inside.width, board->width) * covered_m(inside.height, board->height);
  return area_m2 * design.layers * double(board->price_per_pack.minor_units()) /
         (board->per_pack * board->width.metres() * board->height.metres());
}

/// The cloth that make_product cuts: round the box to its back, rounded up to the shop's grid.
double cloth_minor(const Workshop& with, const Design& design) {
  if (!with.cloth) return 0;
  const shop::Rules& rules = with.shop->rules;
  const Length beyond = (outside_depth(with, design) + rules.wrap + rules.fold) * 2;
  const double area_m2 = (with.target.width + beyond).round_up_to(rules.grid).metres() *
                         (with.target.height + beyond).round_up_to(rules.grid).metres();
  return area_m2 * double(with.cloth->price_per_m.minor_units()) / with.cloth->roll_width.metres();
}

}  // namespace

Inside inside_of(const Workshop& with, int box) {
  const Length both = with.boxes[std::size_t(box)].item->thickness * 2;
  return {with.target.width - both, with.target.height - both};
}

Length outside_depth(const Workshop& with, const Design& design) {
  return with.sheets[std::size_t(design.sheet)].item->thickness + design.cavity +
         with.boxes[std::size_t(design.box)].item->thickness;
}

double open_area_of(const Workshop& with, const Design& design) {
  const Inside inside = inside_of(with, design.box);
  const double opening_m = design.opening.metres();
  if (design.front == Front::perforated)
    return design.openings * pi * opening_m * opening_m / 4 /
           (inside.width.metres() * inside.height.metres());
  if (design.front == Front::slotted) return design.openings * opening_m / inside.height.metres();
  return 0;
}

acoustics::Layer front_layer_of(const Workshop& with, const Design& design, const Build& build) {
  const shop::Sheet& sheet = *with.sheets[std::size_t(design.sheet)].item;
  const double thickness_m = sheet.thickness.metres();
  if (design.front == Front::membrane)
    return acoustics::MembraneLayer{thickness_m * sheet.density_kg_m3 * build.mass};
  const double drawn_m = design.opening.metres(), open = open_area_of(with, design);
  const bool slotted = design.front == Front::slotted;
  const double opening_m = std::max(slotted ? 5e-4 : 3e-4, drawn_m + build.hole_m);
  const double by = opening_m / drawn_m;
  const bool losses = build.friction || opening_m < fine_hole_m;
  if (slotted) return acoustics::SlottedLayer{thickness_m, opening_m, open * by, losses};
  return acoustics::PerforatedLayer{thickness_m, opening_m, std::min(0.9, open * by * by), losses};
}

acoustics::Stack stack_of(const Workshop& with, const Design& design, const Build& build) {
  acoustics::Stack stack;
  if (with.cloth) stack.layers.push_back(stretched_cloth(*with.cloth));
  stack.layers.push_back(front_layer_of(with, design, build));
  const Fill& board = with.boards[std::size_t(design.board)];
  const double cavity_m = std::max(1e-3, design.cavity.metres() + build.depth_m);
  const double fill_m =
      board.item ? std::min(cavity_m, board.item->thickness.metres() * design.layers) : 0;
  const double air_m = cavity_m - fill_m;
  const double before_m = design.place == FillPlace::behind_front ? 0
                          : design.place == FillPlace::middle     ? air_m / 2
                                                                  : air_m;
  const auto add_air = [&](double thickness_m) {
    if (thickness_m > slack_m) stack.layers.push_back(acoustics::AirLayer{thickness_m});
  };
  add_air(before_m);
  if (fill_m > 0) {
    acoustics::PorousLayer wool;
    wool.thickness_m = fill_m;
    wool.flow_resistivity_pa_s_m2 =
        build.resistivity > 0 ? build.resistivity : board.likely_pa_s_m2;
    stack.layers.push_back(wool);
  }
  add_air(air_m - before_m);
  return stack;
}

double material_minor(const Workshop& with, const Design& design) {
  const double width_m = with.target.width.metres(), height_m = with.target.height.metres();
  const Inside inside = inside_of(with, design.box);
  const double shell_m2 =
      2 * design.cavity.metres() * (height_m + inside.width.metres()) + width_m * height_m;
  const double slots_m =
      design.front == Front::slotted ? design.openings * design.opening.metres() : 0;
  return shell_m2 * per_m2(*with.boxes[std::size_t(design.box)].item) +
         width_m * (height_m - slots_m) * per_m2(*with.sheets[std::size_t(design.sheet)].item) +
         board_minor(with, design) + cloth_minor(with, design);
}

Length gap_of(const Workshop& with, const Design& design) {
  const shop::Board* board = with.boards[std::size_t(design.board)].item;
  if (!board) return design.cavity;
  const Length air = design.cavity - board->thickness * design.layers;
  if (design.place == FillPlace::at_back) return air;
  return design.place == FillPlace::middle ? Length::from_nm(air.nanometres() / 2) : Length();
}

namespace {

/// Air that spreads behind an opening through a board near it is braked over the length of the end
/// correction: σ · end / ε. Source: Allard & Atalla, Propagation of Sound in Porous Media (2009),
/// ch. 9 (from memory); that it fades over one opening's width is our own estimate.
double squeeze_of(const Workshop& with, const Design& design) {
  const Fill& board = with.boards[std::size_t(design.board)];
  const double fading = 1 - gap_of(with, design).metres() / design.opening.metres();
  if (design.front == Front::membrane || !board.item || fading <= 0) return 0;
  const double open = open_area_of(with, design), opening_m = design.opening.metres();
  const double end_m =
      design.front == Front::slotted
          ? -opening_m / pi * std::log(std::sin(pi * open / 2))
          : 0.85 * opening_m / 2 *
                (1 - 1.47 * std::sqrt(open) + 0.47 * std::sqrt(open * open * open));
  return fading * board.likely_pa_s_m2 * end_m / open / with.air.impedance_pa_s_m();
}

}  // namespace

TrapEffort effort_of(const Workshop& with, const Design& design) {
  TrapEffort effort;
  effort.depth = outside_depth(with, design);
  const double face_m2 = with.target.width.metres() * with.target.height.metres();
  if (with.dearest_per_m2 > 0)
    effort.cost_share = material_minor(with, design) / face_m2 / (4 * with.dearest_per_m2);
  effort.holes = design.front == Front::perforated ? design.openings : 0;
  effort.squeeze = squeeze_of(with, design);
  effort.posts = needs_posts(with, design);
  return effort;
}

ProductSpec spec_of(const Workshop& with, const Design& design) {
  ProductSpec spec;
  spec.kind = Kind::tuned_trap;
  spec.sheet = with.boxes[std::size_t(design.box)].key;
  spec.board = with.boards[std::size_t(design.board)].key;
  spec.cloth = with.target.cloth;
  spec.board_layers = std::max(1, design.layers);
  spec.width = with.target.width;
  spec.height = with.target.height;
  TunedFront front;
  front.front = design.front;
  front.sheet = with.sheets[std::size_t(design.sheet)].key;
  (design.front == Front::slotted ? front.slot : front.hole) = design.opening;
  (design.front == Front::slotted ? front.slat : front.pitch) = design.step;
  front.cavity = design.cavity;
  front.fill = design.place;
  spec.tuned = front;
  return spec;
}

}  // namespace roomwright::design::tuned
