// What a piece weighs and where its centre of gravity lies, from its members, boards, cloth and
// hardware; and the cautions that its weight and materials call for.
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

double box_m3(Length width, Length height, Length depth) {
  return width.metres() * height.metres() * depth.metres();
}

/// Adds mass at a point to a running moment.
struct Moments {
  double mass_kg = 0;
  Vec3 sum{};
  void add(double mass, double x, double y, double z) {
    mass_kg += mass;
    sum.x += mass * x;
    sum.y += mass * y;
    sum.z += mass * z;
  }
};

double middle_m(Length from, Length size) {
  return from.metres() + size.metres() / 2;
}

/// What the chamfer takes off: a triangular bead all round the face.
double chamfer_m3(const Product& product) {
  const double c = product.spec.chamfer.metres();
  return c * c / 2 * 2 * (product.width + product.height).metres();
}

void weigh_timber(Product& product, const Ingredients& with, Moments& moments) {
  for (const Member& member : product.members) {
    const double mass =
        box_m3(member.width, member.height, member.depth) * with.timber->density_kg_m3;
    product.timber_kg += mass;
    moments.add(mass, middle_m(member.x, member.width), middle_m(member.y, member.height),
                middle_m(member.z, member.depth));
  }
  for (const shop::StickPart& stick : product.parts.sticks)
    if (stick.name == "stand-off block")
      product.timber_kg += stick.count * with.timber->density_kg_m3 *
                           box_m3(with.timber->width, with.timber->depth, stick.length);
  if (with.timber) product.timber_kg -= chamfer_m3(product) * with.timber->density_kg_m3;
}

/// A triangle's thickness runs from the face (0) to the corner: its middle lies a third in.
void weigh_boards(Product& product, const Ingredients& with, Moments& moments) {
  for (const BoardPlace& board : product.boards) {
    const double depth = board.triangle ? board.width.metres() / 2 : board.thickness.metres();
    const double volume =
        board.width.metres() * board.height.metres() * depth * (board.triangle ? 0.5 : 1.0);
    const double mass = volume * with.board->density_kg_m3;
    product.board_kg += mass;
    moments.add(mass, middle_m(board.x, board.width), middle_m(board.y, board.height),
                board.z.metres() + (board.triangle ? depth / 3 : depth / 2));
  }
}

/// Plates of sheet material, less what is drilled out of them.
void weigh_plates(Product& product, const Ingredients& with, Moments& moments) {
  for (const Plate& plate : product.plates) {
    const double mass = box_m3(plate.width, plate.height, plate.depth) * (1 - plate.open_area) *
                        with.shop->sheets.at(plate.sheet).density_kg_m3;
    product.other_kg += mass;
    moments.add(mass, middle_m(plate.x, plate.width), middle_m(plate.y, plate.height),
                middle_m(plate.z, plate.depth));
  }
}

void weigh_rest(Product& product, const Ingredients& with) {
  for (const shop::ClothPart& cloth : product.parts.cloths) {
    const shop::Cloth& kind = cloth.name == "back" ? *with.back_cloth : *with.cloth;
    product.cloth_kg += cloth.across.metres() * cloth.along.metres() * kind.mass_kg_m2;
  }
  for (const shop::SheetPart& plate : product.parts.sheets)
    if (product.plates.empty())
      product.other_kg += plate.count * (plate.triangle ? 0.5 : 1.0) * with.sheet->density_kg_m3 *
                          box_m3(plate.width, plate.height, with.sheet->thickness);
  for (const shop::HardwarePart& part : product.parts.hardware)
    if (const auto at = with.shop->hardware.find(part.hardware); at != with.shop->hardware.end())
      product.other_kg += part.count * at->second.mass_kg;
}

}  // namespace

void weigh(Product& product, const Ingredients& with) {
  Moments moments;
  weigh_timber(product, with, moments);
  weigh_boards(product, with, moments);
  weigh_plates(product, with, moments);
  weigh_rest(product, with);
  const double by = moments.mass_kg > 0 ? 1 / moments.mass_kg : 0;
  product.centre_of_gravity_m = {moments.sum.x * by, moments.sum.y * by, moments.sum.z * by};
  const shop::Rules& rules = with.shop->rules;
  product.two_people = product.mass_kg() >= rules.two_person_kg ||
                       std::max(product.width, product.height) >= rules.two_person_length;
}

void add_cautions(Product& product) {
  auto& out = product.cautions;
  if (product.two_people) out.push_back("Two people lift and hang this piece.");
  if (product.router_passes > 0)
    out.push_back(
        "Router: eye and ear protection, dust extraction, the bit's depth set with the plug "
        "pulled; "
        "follow the machine's manual.");
  if (product.spec.kind == Kind::ceiling_cloud)
    out.push_back(
        "Hangs overhead: fix into joists or structure, never into board alone, with a second, "
        "independent wire at each point; local code and a licensed installer decide.");
  if (product.spec.kind == Kind::tuned_trap || product.spec.kind == Kind::diffuser)
    out.push_back(
        "Table saw and drill: guard, riving knife and push stick in use, eye and ear protection, "
        "dust extraction; sheet dust is harmful to breathe. Follow the machine's manual.");
  if (product.spec.kind != Kind::diffuser)
    out.push_back(
        "Mineral wool and saw dust: gloves, long sleeves, a dust mask and ventilation while "
        "cutting.");
}

}  // namespace roomwright::design
