// The tuned trap: a closed box of sheet material. Two sides run the whole height, two ends stand
// between them; the front and the back cover all four edges. The front is drilled on a square grid,
// or made of strips with slots between them, or left plain so that it moves as a membrane. Board
// lies in the cavity, cloth over the front. The box must be airtight: every joint is glued.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr Length screw_pitch = Length::from_mm(150);  // common practice, no source
constexpr Length least_board = Length::from_mm(30);   // common practice, no source
constexpr double least_edge = 2.5;  // sheet edge over screw diameter: common practice, no source

struct BoxSizes {
  Length width, height;         ///< outside
  Length sheet, front, cavity;  ///< thicknesses, and the depth between front and back
  Length inner_width, inner_height;
  Length fill;
};

BoxSizes box_sizes(const ProductSpec& spec, const Ingredients& with) {
  BoxSizes s;
  s.width = spec.width.value_or(Length::from_mm(600));
  s.height = spec.height.value_or(Length::from_mm(1200));
  s.sheet = with.sheet->thickness;
  s.front = with.front->thickness;
  s.cavity = spec.tuned->cavity;
  s.inner_width = s.width - s.sheet * 2;
  s.inner_height = s.height - s.sheet * 2;
  if (with.board) s.fill = with.board->thickness * spec.board_layers;
  return s;
}

/// How many repeats fit, and where the first begins so that the margins are equal.
struct Grid {
  std::int64_t count = 0;
  Length first;  ///< from the inner edge to the first middle
};
Grid grid_of(Length inner, Length pitch, Length margin) {
  const std::int64_t room = (inner - margin * 2).nanometres();
  if (room < 0) return {};
  const std::int64_t gaps = room / pitch.nanometres();
  return {gaps + 1, Length::from_nm((inner.nanometres() - gaps * pitch.nanometres()) / 2)};
}

/// Strips and slots of a slotted front: slot, slat, slot … between two outer slats that lie on the
/// box's edges.
std::int64_t slot_count(const BoxSizes& s, const TunedFront& front) {
  return std::max<std::int64_t>(
      0, (s.inner_height + front.slat).nanometres() / (front.slot + front.slat).nanometres());
}

void check_front(const TunedFront& front, const std::string& where, Diagnostics& found) {
  const auto least = [&](Length value, const char* key, Length from, Length to) {
    if (value < from || value > to)
      found.add(where + key, "must be from " + print_mm(from) + " to " + print_mm(to),
                print_mm(value), {});
  };
  least(front.cavity, ".tuned.cavity", Length::from_mm(10), Length::from_mm(600));
  if (front.front == Front::perforated) {
    least(front.hole, ".tuned.hole", Length::from_mm(1), Length::from_mm(80));
    least(front.pitch, ".tuned.pitch", Length::from_mm(2), Length::from_mm(500));
    if (front.pitch.nanometres() * 4 < front.hole.nanometres() * 5)
      found.add(where + ".tuned.pitch", "leaves less than a quarter of a hole between two",
                print_mm(front.pitch), "make it larger or the hole smaller");
  }
  if (front.front == Front::slotted) {
    least(front.slot, ".tuned.slot", Length::from_mm(1), Length::from_mm(50));
    least(front.slat, ".tuned.slat", Length::from_mm(10), Length::from_mm(400));
  }
}

bool check_box(const ProductSpec& spec, const BoxSizes& s, const std::string& where,
               Diagnostics& found) {
  const std::size_t before = found.size();
  check_front(*spec.tuned, where, found);
  if (s.fill > s.cavity)
    found.add(where + ".board", "is deeper than the cavity",
              print_mm(s.fill) + " in " + print_mm(s.cavity),
              "make the cavity deeper, or take a thinner board or fewer board_layers");
  if (s.inner_width < least_side || s.inner_height < least_side)
    found.add(where + ".width", "leaves less than 100 mm inside the box", print_mm(s.width),
              "make it larger");
  if (spec.chamfer > Length() || spec.gap > Length() || !spec.back_cloth.empty())
    found.add(where + ".gap", "and chamfer and back_cloth do not go with a tuned trap", {},
              "leave them out");
  return found.size() == before;
}

void add_plate(Product& product, Plate plate) {
  std::array<Length, 3> sides{plate.width, plate.height, plate.depth};
  std::sort(sides.begin(), sides.end());  // the thickness is the least
  for (auto& part : product.parts.sheets)
    if (part.name == plate.name && part.sheet == plate.sheet && part.width == sides[1] &&
        part.height == sides[2]) {
      ++part.count;
      product.plates.push_back(std::move(plate));
      return;
    }
  product.parts.sheets.push_back({"", plate.name, plate.sheet, sides[1], sides[2], 1, false});
  product.plates.push_back(std::move(plate));
}

void add_shell(Product& product, const BoxSizes& s) {
  const std::string& key = product.spec.sheet;
  add_plate(product, {"side", key, Length(), Length(), s.sheet, s.height, s.front, s.cavity, 0});
  add_plate(product,
            {"side", key, s.width - s.sheet, Length(), s.sheet, s.height, s.front, s.cavity, 0});
  add_plate(product, {"end", key, s.sheet, Length(), s.inner_width, s.sheet, s.front, s.cavity, 0});
  add_plate(product, {"end", key, s.sheet, s.height - s.sheet, s.inner_width, s.sheet, s.front,
                      s.cavity, 0});
  add_plate(product,
            {"back", key, Length(), Length(), s.width, s.height, s.front + s.cavity, s.sheet, 0});
  add_operation(product, shop::Station::saw, "plate", 5);
}

void add_holes(Product& product, const BoxSizes& s) {
  const TunedFront& front = *product.spec.tuned;
  const Length margin = front.hole;
  const Grid across = grid_of(s.inner_width, front.pitch, margin);
  const Grid up = grid_of(s.inner_height, front.pitch, margin);
  const std::int64_t holes = across.count * up.count;
  add_operation(product, shop::Station::drill_screw, "hole", static_cast<double>(holes));
  const Length first_x = s.sheet + across.first, first_y = s.sheet + up.first;
  product.making.push_back(
      "Front: " + std::to_string(holes) + " holes of " + print_mm_tenths(front.hole) + ", " +
      std::to_string(across.count) + " across and " + std::to_string(up.count) + " up at " +
      print_mm(front.pitch) + " each way; the first " + print_mm_tenths(first_x) +
      " from the left edge and " + print_mm_tenths(first_y) + " from the lower edge.");
}

void add_slats(Product& product, const BoxSizes& s) {
  const TunedFront& front = *product.spec.tuned;
  const std::int64_t slots = slot_count(s, front);
  const Length inner = front.slat * (slots - 1) + front.slot * slots;
  const Length lower =
      Length::from_nm((s.height - inner).nanometres() / 2).round_to(Length::from_mm(1));
  const Length upper = s.height - inner - lower;
  const auto slat = [&](Length y, Length height) {
    add_plate(product, {"slat", front.sheet, Length(), y, s.width, height, Length(), s.front, 0});
    add_operation(product, shop::Station::saw, "strip", 1);
  };
  slat(Length(), lower);
  for (std::int64_t i = 1; i < slots; ++i)
    slat(lower + front.slot * i + front.slat * (i - 1), front.slat);
  slat(s.height - upper, upper);
  product.making.push_back("Front: " + std::to_string(slots) + " slots of " + print_mm(front.slot) +
                           " between slats of " + print_mm(front.slat) + "; the lowest slat is " +
                           print_mm(lower) + ", the highest " + print_mm(upper) + ".");
}

void add_front(Product& product, const BoxSizes& s) {
  const TunedFront& front = *product.spec.tuned;
  if (front.front == Front::slotted) {
    add_slats(product, s);
    return;
  }
  const bool drilled = front.front == Front::perforated;
  add_plate(product, {"front", front.sheet, Length(), Length(), s.width, s.height, Length(),
                      s.front, drilled ? open_share(product) : 0});
  add_operation(product, shop::Station::saw, "plate", 1);
  if (drilled) add_holes(product, s);
  if (front.front == Front::membrane)
    product.making.push_back(
        "Front: one sheet, glued to the box's edges all round and to nothing else; the board must "
        "not touch it.");
}

Length fill_start(const TunedFront& front, const BoxSizes& s) {
  const Length free = s.cavity - s.fill;
  switch (front.fill) {
    case FillPlace::behind_front:
      return Length();
    case FillPlace::middle:
      return Length::from_nm(free.nanometres() / 2);
    default:
      return free;
  }
}

void add_fill(Product& product, const Ingredients& with, const BoxSizes& s) {
  if (!with.board) return;
  const int layers = product.spec.board_layers;
  const Length z = s.front + fill_start(*product.spec.tuned, s);
  const Length board_x = with.board->width, board_y = with.board->height;
  for (Length x = Length(); x < s.inner_width; x = x + board_x)
    for (Length y = Length(); y < s.inner_height; y = y + board_y) {
      const Length width = std::min(board_x, s.inner_width - x);
      const Length height = std::min(board_y, s.inner_height - y);
      // Wool is soft: a sliver is left out and the board next to it pressed over.
      if (std::min(width, height) < least_board) continue;
      product.boards.push_back({s.sheet + x, s.sheet + y, width, height, z, s.fill, false});
      product.parts.boards.push_back(
          {"", "board", product.spec.board, width, height, layers, false});
      add_operation(product, shop::Station::boards, "board", layers);
      if (width < board_x || height < board_y)
        add_operation(product, shop::Station::boards, "board_cut", layers);
    }
  static const char* const places[] = {"right behind the front", "in the middle of the cavity",
                                       "against the back"};
  product.making.push_back("Board: " + print_mm(s.fill) + " " +
                           places[static_cast<int>(product.spec.tuned->fill)] +
                           ", held by battens or wire so that it stays there.");
}

void add_box_fittings(Product& product, const Ingredients& with, const BoxSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const double around_m = 2 * (s.width + s.height).metres();
  const double screws = 2 * std::ceil(around_m / screw_pitch.metres());
  add_hardware(product, rules.corner_screw, screws);
  if (!rules.glue.empty()) add_hardware(product, rules.glue, 8 * rules.glue_ml_per_corner);
  add_operation(product, shop::Station::drill_screw, "corner", 4);
  add_operation(product, shop::Station::sand, "edge_metre", around_m);
  finish_for_wall(product, with);
  product.making.push_back(
      "Glue every joint and run a bead along the inside: a box that leaks is not tuned.");
}

void add_box_cloth(Product& product, const Ingredients& with, const BoxSizes& s) {
  if (!with.cloth) return;
  const shop::Rules& rules = with.shop->rules;
  const Length beyond = (product.depth + rules.wrap + rules.fold) * 2;
  product.cloth_path = product.depth;
  add_cloth(product, with, "face", product.spec.cloth,
            {(s.width + beyond).round_up_to(rules.grid),
             (s.height + beyond).round_up_to(rules.grid), (s.width + s.height) * 2});
}

void check_edge_screws(Product& product, const Ingredients& with, const BoxSizes& s) {
  const auto at = with.shop->hardware.find(with.shop->rules.corner_screw);
  if (at == with.shop->hardware.end() || !at->second.diameter) return;
  const Length wanted = Length::from_m(at->second.diameter->metres() * least_edge);
  product.checks.push_back(
      {"screw in the sheet's edge", s.sheet >= wanted, s.sheet - wanted,
       "A screw of " + print_mm_tenths(*at->second.diameter) + " in the edge of " +
           print_mm_tenths(s.sheet) + " sheet " +
           (s.sheet >= wanted ? "holds if drilled first."
                              : "would split it: take sheet of at least " + print_mm(wanted) +
                                    ", a thinner screw, or glue blocks in the corners.")});
}

}  // namespace

double open_share(const Product& product) {
  const TunedFront& front = *product.spec.tuned;
  BoxSizes s;
  s.sheet = product.plates.front().width;  // the first side, seen from the front
  s.inner_width = product.width - s.sheet * 2;
  s.inner_height = product.height - s.sheet * 2;
  const double inner_m2 = s.inner_width.metres() * s.inner_height.metres();
  if (front.front == Front::perforated) {
    const auto holes = grid_of(s.inner_width, front.pitch, front.hole).count *
                       grid_of(s.inner_height, front.pitch, front.hole).count;
    const double d = front.hole.metres();
    return static_cast<double>(holes) * std::acos(-1.0) * d * d / 4 / inner_m2;
  }
  if (front.front == Front::slotted)
    return static_cast<double>(slot_count(s, front)) * front.slot.metres() /
           s.inner_height.metres();
  return 0;
}

std::vector<Vec2> holes_of(const Product& product) {
  std::vector<Vec2> out;
  if (!product.spec.tuned || product.spec.tuned->front != Front::perforated) return out;
  const TunedFront& front = *product.spec.tuned;
  const Length sheet = product.plates.front().width;
  const Grid across = grid_of(product.width - sheet * 2, front.pitch, front.hole);
  const Grid up = grid_of(product.height - sheet * 2, front.pitch, front.hole);
  for (std::int64_t i = 0; i < across.count; ++i)
    for (std::int64_t k = 0; k < up.count; ++k)
      out.push_back({(sheet + across.first + front.pitch * i).metres(),
                     (sheet + up.first + front.pitch * k).metres()});
  return out;
}

bool make_box(Product& product, const Ingredients& with, const std::string& where,
              Diagnostics& found) {
  const BoxSizes sizes = box_sizes(product.spec, with);
  if (!check_box(product.spec, sizes, where, found)) return false;
  if (product.spec.tuned->front == Front::slotted && slot_count(sizes, *product.spec.tuned) < 1) {
    found.add(where + ".tuned.slat", "leaves no slot in the front",
              print_mm(product.spec.tuned->slat), "make it narrower");
    return false;
  }
  product.width = sizes.width;
  product.height = sizes.height;
  product.depth = sizes.front + sizes.cavity + sizes.sheet;
  product.edge_profile = {{Length(), Length()}, {Length(), product.depth}};
  add_shell(product, sizes);
  add_front(product, sizes);
  add_fill(product, with, sizes);
  add_box_cloth(product, with, sizes);
  add_box_fittings(product, with, sizes);
  check_edge_screws(product, with, sizes);
  return true;
}

}  // namespace roomwright::design
