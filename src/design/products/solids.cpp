// Volumes and middles of what stands in a product: boxes, prisms over an outline in the face or in
// plan, boxes less their notches.
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

struct Outline {
  double area_m2 = 0;
  Vec2 middle;
};
/// Source: the shoelace formula and its first moments.
Outline outline_of(const std::vector<Corner>& corners) {
  double twice = 0;
  Vec2 sum;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Corner &a = corners[i], &b = corners[(i + 1) % corners.size()];
    const Vec2 p{a[0].metres(), a[1].metres()}, q{b[0].metres(), b[1].metres()};
    const double turned = cross(p, q);
    twice += turned;
    sum = sum + (p + q) * turned;
  }
  if (twice == 0) return {};
  return {std::abs(twice) / 2, sum * (1 / (3 * twice))};
}

double middle_m(Length from, Length size) {
  return from.metres() + size.metres() / 2;
}

Solid box(Length x, Length y, Length width, Length height, Length z, Length depth) {
  return {width.metres() * height.metres() * depth.metres(),
          {middle_m(x, width), middle_m(y, height), middle_m(z, depth)}};
}

Solid prism(const std::vector<Corner>& outline, Length from, Length run, bool in_plan) {
  const Outline face = outline_of(outline);
  const double along = middle_m(from, run);
  return {face.area_m2 * run.metres(), in_plan ? Vec3{face.middle.x, along, face.middle.y}
                                               : Vec3{face.middle.x, face.middle.y, along}};
}

void take_out(Solid& whole, const Solid& part) {
  const double left = whole.volume_m3 - part.volume_m3;
  if (left > 0)
    whole.middle_m =
        (whole.middle_m * whole.volume_m3 - part.middle_m * part.volume_m3) * (1 / left);
  whole.volume_m3 = left;
}

}  // namespace

Solid solid_of(const Member& member) {
  Solid out = box(member.x, member.y, member.width, member.height, member.z, member.depth);
  if (!member.outline.empty())
    out = member.in_plan ? prism(member.outline, member.y, member.height, true)
                         : prism(member.outline, member.z, member.depth, false);
  for (const Notch& notch : member.notches)
    take_out(out, box(notch.x, notch.y, notch.width, notch.height, notch.z, notch.depth));
  return out;
}

/// A triangle's thickness runs from the face (0) to the corner: its middle lies a third in.
Solid solid_of(const BoardPlace& board) {
  if (!board.outline.empty()) return prism(board.outline, board.z, board.thickness, false);
  Solid out = box(board.x, board.y, board.width, board.height, board.z, board.thickness);
  if (!board.triangle) return out;
  const double depth = board.width.metres() / 2;
  out.volume_m3 = board.width.metres() * board.height.metres() * depth / 2;
  out.middle_m.z = board.z.metres() + depth / 3;
  return out;
}

Solid solid_of(const Plate& plate) {
  Solid out = plate.outline.empty()
                  ? box(plate.x, plate.y, plate.width, plate.height, plate.z, plate.depth)
                  : prism(plate.outline, plate.z, plate.depth, false);
  out.volume_m3 *= 1 - plate.open_area;
  return out;
}

}  // namespace roomwright::design
