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
  void add(double mass, Vec3 at) {
    mass_kg += mass;
    sum = sum + at * mass;
  }
};

/// What the router takes off, and how far behind the face its middle lies. At a depth z the outline
/// is drawn in by w(z): of its area goes w × perimeter − w² × Σ cot(φ/2) over the corners' angles
/// φ, which is exact where the cut's mitres stay inside the frame.
struct Routed {
  double volume_m3 = 0, middle_m = 0;
};
double drawn_in_m(const EdgeSpec& edge, double z) {
  const double u = edge.face().metres(), v = edge.side().metres();
  switch (edge.shape) {
    case EdgeShape::chamfer:
      return u * (1 - z / v);
    case EdgeShape::round_over:
      return u - std::sqrt(std::max(0.0, u * u - (u - z) * (u - z)));
    case EdgeShape::cove:
      return std::sqrt(std::max(0.0, u * u - z * z));
    default:
      return 0;
  }
}

Routed routed_off(const Product& product) {
  Routed out;
  if (product.edge.shape == EdgeShape::square) return out;
  double around = 0, corners = 0;
  const auto& sides = product.sides;
  for (std::size_t i = 0; i < sides.size(); ++i) {
    const Vec3 here = sides[i].to - sides[i].from;
    const Vec3 next = sides[(i + 1) % sides.size()].to - sides[(i + 1) % sides.size()].from;
    around += length(here);
    const double turn =
        std::atan2(cross(Vec2{here.x, here.y}, Vec2{next.x, next.y}), dot(here, next));
    corners += std::tan(turn / 2);  // φ = π − turn; below 0 at a re-entrant corner
  }
  // Even steps of an angle, so that an arc's steep end is met finely; z runs over [0, side].
  constexpr int steps = 400;
  const double side = product.edge.side().metres(), half_turn = std::acos(-1.0);
  double moment = 0;
  for (int i = 0; i < steps; ++i) {
    const double t = half_turn * (i + 0.5) / steps, z = side * (1 - std::cos(t)) / 2;
    const double w = drawn_in_m(product.edge, z);
    const double slice =
        (w * around - w * w * corners) * side / 2 * std::sin(t) * half_turn / steps;
    out.volume_m3 += slice;
    moment += slice * z;
  }
  out.middle_m = moment / out.volume_m3;
  return out;
}

double timber_density(const Ingredients& with, const std::string& section) {
  const auto at = with.shop->timber.find(section);
  return at == with.shop->timber.end() ? with.timber->density_kg_m3 : at->second.density_kg_m3;
}

void weigh_timber(Product& product, const Ingredients& with, Moments& moments) {
  for (const Member& member : product.members) {
    const Solid solid = solid_of(member);
    const double mass = solid.volume_m3 * timber_density(with, member.section);
    product.timber_kg += mass;
    moments.add(mass, solid.middle_m);
  }
  const double behind_m = (product.frame_z + product.frame_depth).metres();
  for (const shop::StickPart& stick : product.parts.sticks)
    if (stick.name == "stand-off block") {
      const double mass = stick.count * with.timber->density_kg_m3 *
                          box_m3(with.timber->width, with.timber->depth, stick.length);
      product.timber_kg += mass;
      moments.add(mass, {product.width.metres() / 2, product.height.metres() / 2,
                         behind_m + stick.length.metres() / 2});
    }
  const Routed routed = routed_off(product);
  if (routed.volume_m3 <= 0) return;
  const double gone = routed.volume_m3 * with.timber->density_kg_m3;
  Vec3 middle;
  double around = 0;
  for (const OuterSide& side : product.sides) {
    const double run = length(side.to - side.from);
    middle = middle + (side.from + side.to) * (run / 2);
    around += run;
  }
  middle = middle * (1 / around);
  middle.z = product.frame_z.metres() + routed.middle_m;
  product.timber_kg -= gone;
  moments.add(-gone, middle);
}

void weigh_boards(Product& product, const Ingredients& with, Moments& moments) {
  for (const BoardPlace& board : product.boards) {
    const auto at = with.shop->boards.find(board.board.empty() ? product.spec.board : board.board);
    const Solid solid = solid_of(board);
    const double mass = solid.volume_m3 * at->second.density_kg_m3;
    product.board_kg += mass;
    moments.add(mass, solid.middle_m);
  }
}

/// Plates of sheet material, less what is drilled out of them.
void weigh_plates(Product& product, const Ingredients& with, Moments& moments) {
  for (const Plate& plate : product.plates) {
    const Solid solid = solid_of(plate);
    const double mass = solid.volume_m3 * with.shop->sheets.at(plate.sheet).density_kg_m3;
    product.other_kg += mass;
    moments.add(mass, solid.middle_m);
  }
}

void weigh_rest(Product& product, const Ingredients& with) {
  for (const shop::ClothPart& cloth : product.parts.cloths) {
    const shop::Cloth& kind = with.shop->cloths.at(cloth.cloth);
    product.cloth_kg += cloth.across.metres() * cloth.along.metres() * kind.mass_kg_m2;
  }
  for (const shop::SheetPart& plate : product.parts.sheets)
    if (plate.name == "end plate" || plate.name == "spline")
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

std::string standing_caution(Kind kind) {
  if (kind == Kind::free_screen)
    return "Stands free and can be tipped over: keep it out of ways of escape and away from "
           "children, weight its feet or fix it where people push past.";
  if (kind == Kind::window_plug)
    return "It shuts out daylight and air: never in a window that is a way of escape or the only "
           "ventilation, nor in a room with a flame that needs air; local code decides.";
  return {};
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
  if (const std::string standing = standing_caution(product.spec.kind); !standing.empty())
    out.push_back(standing);
  if (!product.plates.empty() || !product.parts.sheets.empty())
    out.push_back(
        "Table saw and drill: guard, riving knife and push stick in use, eye and ear protection, "
        "dust extraction; sheet dust is harmful to breathe. Follow the machine's manual.");
  if (!product.boards.empty())
    out.push_back(
        "Mineral wool and saw dust: gloves, long sleeves, a dust mask and ventilation while "
        "cutting.");
}

}  // namespace roomwright::design
