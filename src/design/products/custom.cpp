// A piece of a person's own: an outline whose sides are mitred members of one timber, and layers
// from the face to the back. Boards and sheets are cut from rectangles to the outline inside the
// members. At a re-entrant corner everything is mirrored: the long points of the mitre lie inside,
// and the screws go in from there.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr double least_corner_deg = 30, greatest_corner_deg = 330;
constexpr double straight_deg = 15;  // nearer to 180° than this a corner cannot be mitred soundly
constexpr double least_inner_m = 0.05;
constexpr double wide_corner_rad = 100 * std::numbers::pi / 180;

struct Ring {
  Polygon outer, inner;
  std::vector<double> corner_rad;  ///< inside, at each corner; above π where it is re-entrant
  Length width, height;
  double member_m = 0;
  std::size_t size() const { return outer.size(); }
  std::size_t next(std::size_t i) const { return (i + 1) % size(); }
  std::size_t before(std::size_t i) const { return (i + size() - 1) % size(); }
  Vec2 along(std::size_t i) const {
    const Vec2 run = outer[next(i)] - outer[i];
    return run * (1 / length(run));
  }
  Vec2 inward(std::size_t i) const {
    const Vec2 d = along(i);
    return {-d.y, d.x};
  }
  bool reentrant(std::size_t i) const { return corner_rad[i] > std::numbers::pi; }
  bool convex() const {
    for (std::size_t i = 0; i < size(); ++i)
      if (reentrant(i)) return false;
    return true;
  }
  /// Of a corner as its members' tips see it: inside, or outside where it is re-entrant.
  double tip_rad(std::size_t i) const {
    return reentrant(i) ? 2 * std::numbers::pi - corner_rad[i] : corner_rad[i];
  }
  /// How far a member's tip lies beyond the outer corner: 0 where the corner is not re-entrant.
  double beyond_m(std::size_t i) const {
    return reentrant(i) ? member_m / std::tan(tip_rad(i) / 2) : 0;
  }
  /// A member from long point to long point.
  double stick_m(std::size_t i) const {
    return length(outer[next(i)] - outer[i]) + beyond_m(i) + beyond_m(next(i));
  }
};

/// The outline with its lower left corner at 0, and the same drawn in by the member's width.
Ring ring_of(const CustomPlan& plan, Length member) {
  Ring ring;
  ring.member_m = member.metres();
  Length x0 = plan.outline[0][0], y0 = plan.outline[0][1], x1 = x0, y1 = y0;
  for (const auto& [x, y] : plan.outline)
    x0 = std::min(x0, x), y0 = std::min(y0, y), x1 = std::max(x1, x), y1 = std::max(y1, y);
  for (const auto& [x, y] : plan.outline)
    ring.outer.push_back({(x - x0).metres(), (y - y0).metres()});
  ring.width = x1 - x0, ring.height = y1 - y0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Vec2 in = ring.outer[i] - ring.outer[ring.before(i)];
    const Vec2 out = ring.outer[ring.next(i)] - ring.outer[i];
    ring.corner_rad.push_back(std::numbers::pi - std::atan2(cross(in, out), dot(in, out)));
  }
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const double along = ring.member_m / std::tan(ring.corner_rad[i] / 2);
    ring.inner.push_back(ring.outer[i] + ring.along(i) * along + ring.inward(i) * ring.member_m);
  }
  return ring;
}

bool check_outline(const CustomPlan& plan, const std::string& where, Diagnostics& found) {
  const std::string key = where + ".custom.outline";
  if (plan.outline.size() < 3 || plan.outline.size() > 12) {
    found.add(key, "must have 3 to 12 corners", double(plan.outline.size()), {});
    return false;
  }
  Polygon outer;
  for (const auto& [x, y] : plan.outline) outer.push_back({x.metres(), y.metres()});
  if (crossing_sides(outer)) {
    found.add(key, "crosses or touches itself, or has a corner twice", {},
              "give each corner once, in order");
    return false;
  }
  if (signed_area(outer) <= 0) {
    found.add(key, "must run anticlockwise, seen from the front", {},
              "list the corners the other way round");
    return false;
  }
  return true;
}

void check_corners(const Ring& ring, const std::string& key, Diagnostics& found) {
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const double deg = ring.corner_rad[i] * 180 / std::numbers::pi;
    const std::string at = key + "[" + std::to_string(i) + "]";
    if (std::abs(deg - 180) < straight_deg)
      found.add(at,
                "is a corner of " + fixed(deg, 1) +
                    " degrees, nearly straight: its mitre would "
                    "end in slivers",
                {}, "leave the corner out, or move it");
    else if (deg < least_corner_deg || deg > greatest_corner_deg)
      found.add(at,
                "is a corner of " + fixed(deg, 1) + " degrees; the frame is made from 30 to 330",
                {}, "move the corner");
  }
}

/// The nearest points of two sides, from the first to the second.
Vec2 between(const Polygon& polygon, std::size_t a, std::size_t b) {
  const Vec2 p = polygon[a], q = polygon[(a + 1) % polygon.size()];
  const Vec2 r = polygon[b], s = polygon[(b + 1) % polygon.size()];
  const auto foot = [](Vec2 from, Vec2 c, Vec2 d) {
    const double share = dot(from - c, d - c) / dot(d - c, d - c);
    return c + (d - c) * std::clamp(share, 0.0, 1.0);
  };
  Vec2 best = foot(p, r, s) - p;
  for (const Vec2 way : {foot(q, r, s) - q, r - foot(r, p, q), s - foot(s, p, q)})
    if (length(way) < length(best) - 1e-12) best = way;
  return best;
}
std::string mm_of(double metres) {
  return fixed(1000 * metres, 0) + " mm";
}

struct Narrowest {
  std::size_t a = 0, b = 0;
  double inside_m = 1e9, outside_m = 1e9;
  bool facing = false;
};

/// Of an outline with re-entrant corners: arms wide enough for two members and what is laid between
/// them, notches wide enough for hand, bit and stapler. The narrowest of each is told.
void check_narrow(const Ring& ring, const std::string& key, Diagnostics& found) {
  const double least_notch_m = 2 * ring.member_m;
  Narrowest arm, notch;
  for (std::size_t a = 0; a < ring.size(); ++a)
    for (std::size_t b = a + 2; b < ring.size(); ++b) {
      if (a == 0 && b + 1 == ring.size()) continue;
      const Vec2 way = between(ring.outer, a, b);
      const Narrowest one{a, b, length(between(ring.inner, a, b)), length(way),
                          dot(ring.inward(a), ring.inward(b)) < 0};
      const bool out = dot(way, ring.inward(a)) <= 1e-9;  // the way leads out of the piece
      const double off = out ? one.outside_m - notch.outside_m : one.inside_m - arm.inside_m;
      Narrowest& worst = out ? notch : arm;
      if (off < -1e-9 || (off < 1e-9 && one.facing && !worst.facing)) worst = one;
    }
  const auto tell = [&](const Narrowest& one, const std::string& what, const std::string& remedy) {
    found.add(
        key + "[" + std::to_string(one.a) + "]",
        what + " between sides " + std::to_string(one.a + 1) + " and " + std::to_string(one.b + 1),
        mm_of(one.outside_m), remedy);
  };
  if (notch.outside_m < least_notch_m - 1e-9)
    tell(
        notch, "makes a notch narrower than two sticks",
        "make it at least " + mm_of(least_notch_m) + " wide: neither bit nor stapler gets into it");
  if (arm.inside_m < least_inner_m - 1e-9)
    tell(arm, "makes an arm too narrow for its two sticks",
         "leave at least 50 mm inside: " + mm_of(2 * ring.member_m + least_inner_m) +
             " across, or take a narrower timber");
}

bool check_ring(const Ring& ring, const std::string& where, Diagnostics& found) {
  const std::string key = where + ".custom.outline";
  const std::size_t before = found.size();
  check_corners(ring, key, found);
  for (const Length side : {ring.width, ring.height})
    if (side < least_side || side > greatest_side)
      found.add(key, "must be from 100 mm to 3000 mm across and up", print_mm(side), {});
  if (found.size() > before) return false;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const double outside = length(ring.outer[ring.next(i)] - ring.outer[i]);
    const bool both = ring.reentrant(i) && ring.reentrant(ring.next(i));
    if (both && outside < 2 * ring.member_m - 1e-9)
      found.add(key + "[" + std::to_string(i) + "]", "begins a notch narrower than two sticks",
                mm_of(outside),
                "make it at least " + mm_of(2 * ring.member_m) +
                    " wide: neither bit nor stapler gets into it");
    else if (std::min(outside, dot(ring.inner[ring.next(i)] - ring.inner[i], ring.along(i))) <
             least_inner_m)
      found.add(key + "[" + std::to_string(i) + "]", "begins a side too short for its mitres",
                mm_of(outside), "leave at least 50 mm inside, or take a narrower timber");
  }
  if (found.size() > before) return false;
  if (!ring.convex()) check_narrow(ring, key, found);
  return found.size() == before;
}

Corner corner_of(Vec2 at) {
  return {Length::from_m(at.x), Length::from_m(at.y)};
}
std::vector<Corner> corners_of(const Polygon& polygon) {
  std::vector<Corner> out;
  for (const Vec2& at : polygon) out.push_back(corner_of(at));
  return out;
}

struct Box {
  Length x, y, width, height;
};
Box box_of(const Polygon& polygon) {
  Vec2 low = polygon[0], high = polygon[0];
  for (const Vec2& at : polygon) {
    low = {std::min(low.x, at.x), std::min(low.y, at.y)};
    high = {std::max(high.x, at.x), std::max(high.y, at.y)};
  }
  const Corner a = corner_of(low), b = corner_of(high);
  return {a[0], a[1], b[0] - a[0], b[1] - a[1]};
}

// ---- members and joints -----------------------------------------------------------------------

std::string side_name(std::size_t i) {
  return "side " + std::to_string(i + 1);
}

void add_sides(Product& product, const Ingredients& with, const Ring& ring) {
  const Length grid = with.shop->rules.grid;
  std::string swings;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const std::size_t k = ring.next(i);
    const Polygon quad{ring.outer[i], ring.outer[k], ring.inner[k], ring.inner[i]};
    const Box box = box_of(quad);
    Member member;
    member.name = side_name(i);
    member.x = box.x, member.y = box.y, member.width = box.width, member.height = box.height;
    member.depth = with.timber->depth;
    member.section = product.spec.timber;
    member.length = Length::from_m(ring.stick_m(i)).round_to(grid);
    member.outline = corners_of(quad);
    product.parts.sticks.push_back({"", member.name, member.section, member.length, 1});
    const Vec2 in = ring.inward(i);
    product.sides.push_back({member.name,
                             {ring.outer[i].x, ring.outer[i].y, 0},
                             {ring.outer[k].x, ring.outer[k].y, 0},
                             {in.x, in.y, 0}});
    const auto swing = [&](std::size_t at) {
      return fixed(90 - ring.tip_rad(at) * 90 / std::numbers::pi, 1) + "°" +
             (ring.reentrant(at) ? " with the long point inside" : "");
    };
    swings += (i == 0 ? "" : "; ") + std::to_string(i + 1) + ": " +
              print_length(member.length, with.shop->units) + ", " + swing(i) + " and " + swing(k);
    product.members.push_back(std::move(member));
  }
  product.making.push_back(
      "Sides, long point to long point, and the saw's swing from square at each end: " + swings +
      ".");
  const double count = static_cast<double>(ring.size());
  add_operation(product, shop::Station::saw, "cut", count);
  add_operation(product, shop::Station::saw, "mitre", 2 * count);
}

/// Through the middle of the mitre into the side before: square to the side, at a wide corner 45°
/// to it, so that it does not split the tip. At a re-entrant corner it goes in from inside.
Screw corner_screw(const shop::Hardware& hardware, const Ring& ring, std::size_t i, double z) {
  const double m = ring.member_m, angle = ring.tip_rad(i);
  const double lean = angle > wide_corner_rad ? std::numbers::pi / 4 : std::numbers::pi / 2;
  const double from_tip = m / 2 * (1 / std::tan(angle / 2) + std::cos(lean) / std::sin(lean));
  const bool inside = ring.reentrant(i);
  const Polygon& tips = inside ? ring.inner : ring.outer;
  const Vec2 at = tips[i] + ring.along(i) * from_tip;
  const Vec2 way =
      ring.inward(i) * (inside ? -std::sin(lean) : std::sin(lean)) - ring.along(i) * std::cos(lean);
  Screw screw = screw_of(hardware, {at.x, at.y, z}, {way.x, way.y, 0});
  screw.joint = "corner " + std::to_string(i + 1);
  screw.first = side_name(i);
  screw.second = side_name(ring.before(i));
  screw.from_end_m = from_tip;
  screw.first_m = m / 2 / std::sin(lean);
  // In the other side it begins half-way across, and draws near one of its edges by the slope.
  const double slope = -std::sin(angle + lean);
  screw.wood_m = length(tips[i] - tips[ring.before(i)]);
  if (std::abs(slope) > 1e-9)
    screw.wood_m = std::min(screw.wood_m, screw.first_m + m / 2 / std::abs(slope));
  const double thread = std::min(screw.length_m, screw.wood_m) - screw.first_m;
  screw.from_side_m = m / 2 - std::abs(slope) * std::max(0.0, thread) / 2;
  return screw;
}

/// The shop's corner screw; where it would come out its shorter one, if that stays inside.
std::string screw_key(const Product& product, const Ingredients& with, const Ring& ring,
                      std::size_t i) {
  const shop::Rules& rules = with.shop->rules;
  const auto& hardware = with.shop->hardware;
  const auto stays = [&](const std::string& key) {
    const Screw screw = corner_screw(hardware.at(key), ring, i, product.frame_depth.metres() / 2);
    return screw.length_m <= screw.wood_m - screw_left_m;
  };
  const bool shorter = hardware.count(rules.lap_screw) && !stays(rules.corner_screw);
  return shorter && stays(rules.lap_screw) ? rules.lap_screw : rules.corner_screw;
}

void join_sides(Product& product, const Ingredients& with, const Ring& ring) {
  const shop::Rules& rules = with.shop->rules;
  const auto depths = screw_depths(product, rules);
  const double count = static_cast<double>(ring.size());
  std::string leaning, inside;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    if (ring.reentrant(i)) inside += (inside.empty() ? "" : ", ") + std::to_string(i + 1);
    const std::string key = screw_key(product, with, ring, i);
    for (std::size_t n = 0; n < depths.size(); ++n) {
      product.screws.push_back(
          corner_screw(with.shop->hardware.at(key), ring, i, depths[n].metres()));
      product.screws.back().number = static_cast<int>(n) + 1;
    }
    add_hardware(product, key, rules.screws_per_corner);
    if (ring.tip_rad(i) > wide_corner_rad)
      leaning += (leaning.empty() ? "" : ", ") + std::to_string(i + 1);
  }
  if (!leaning.empty())
    product.making.push_back("Wide corners (" + leaning +
                             "): drill at 45° to the side, so that the screw crosses the mitre.");
  if (!inside.empty())
    product.making.push_back(
        "Re-entrant corners (" + inside +
        "): drill and screw from inside the frame, before anything is laid in.");
  if (!inside.empty() && product.router_passes > 0)
    product.making.push_back("The bit leaves the edge round in the re-entrant corners (" + inside +
                             "): finish them by hand, with chisel and file, before the cloth.");
  if (!rules.glue.empty()) add_hardware(product, rules.glue, count * rules.glue_ml_per_corner);
  add_operation(product, shop::Station::drill_screw, "corner", count);
  double around_m = 0;
  for (const OuterSide& side : product.sides) around_m += length(side.to - side.from);
  if (product.router_passes > 0)
    add_operation(product, shop::Station::rout, "pass_metre", around_m * product.router_passes);
  add_operation(product, shop::Station::sand, "edge_metre", around_m);
}

// ---- layers -----------------------------------------------------------------------------------

void add_board(Product& product, const Ingredients& with, const Ring& ring, const std::string& key,
               Length z) {
  const shop::Board& board = with.shop->boards.at(key);
  const Box whole = box_of(ring.inner);
  const bool upright = whole.width <= whole.height;
  const Length board_x = upright ? board.width : board.height;
  const Length board_y = upright ? board.height : board.width;
  const Length grid = with.shop->rules.grid;
  Length x = whole.x;
  for (const Length width : board_runs(whole.width, board_x)) {
    Length y = whole.y;
    for (const Length height : board_runs(whole.height, board_y)) {
      const auto parts = clipped_to(ring.inner, {x.metres(), y.metres()},
                                    {(x + width).metres(), (y + height).metres()});
      y += height;
      for (const Polygon& part : parts) {
        const Box box = box_of(part);
        product.boards.push_back({box.x, box.y, box.width, box.height, z, board.thickness, false,
                                  corners_of(part), key});
        const Length across = std::min(box.width.round_up_to(grid), board_x);
        const Length up = std::min(box.height.round_up_to(grid), board_y);
        product.parts.boards.push_back(
            {"", "board", key, upright ? across : up, upright ? up : across, 1, false});
        add_operation(product, shop::Station::boards, "board", 1);
        add_operation(product, shop::Station::boards, "board_cut", 1);
      }
    }
    x += width;
  }
}

void add_plate(Product& product, const Ingredients& with, const Ring& ring, const std::string& key,
               Length z) {
  const Box box = box_of(ring.inner);
  const Length grid = with.shop->rules.grid;
  product.plates.push_back({"panel", key, box.x, box.y, box.width, box.height, z,
                            with.shop->sheets.at(key).thickness, 0, corners_of(ring.inner)});
  product.parts.sheets.push_back(
      {"", "panel", key, box.width.round_up_to(grid), box.height.round_up_to(grid), 1, false});
  add_operation(product, shop::Station::saw, "plate", 1);
}

Length thickness_of(const CustomLayer& layer, const shop::Shop& shop) {
  if (layer.of == LayerOf::board) return shop.boards.at(layer.key).thickness;
  if (layer.of == LayerOf::sheet) return shop.sheets.at(layer.key).thickness;
  return layer.of == LayerOf::air ? layer.thickness : Length();
}

/// At a re-entrant corner the cloth is cut to the corner, and both flaps swing apart as they go
/// over the edge: a strip of the same cloth goes on first, where wood would show between them. In a
/// notch too narrow for two flaps the strip lines the whole side.
void add_relief(Product& product, const Ingredients& with, const Ring& ring,
                const std::string& key) {
  const shop::Rules& rules = with.shop->rules;
  const double over_m = (product.cloth_path + rules.wrap).metres();
  const Length deep = (product.cloth_path + rules.wrap + rules.fold).round_up_to(rules.grid);
  const auto add = [&](const char* name, double along_m) {
    product.parts.cloths.push_back(
        {"", name, key, Length::from_m(along_m).round_up_to(rules.grid), deep, 1});
    add_operation(product, shop::Station::face_cloth, "cloth_cut", 1);
  };
  std::string corners, lined;
  for (std::size_t i = 0; i < ring.size(); ++i)
    if (ring.reentrant(i)) {
      const double apart = over_m / std::tan(ring.tip_rad(i) / 2);
      add("corner patch", 2 * (apart + rules.fold.metres()));
      corners += (corners.empty() ? "" : ", ") + std::to_string(i + 1);
    }
  for (std::size_t a = 0; a < ring.size(); ++a)
    for (std::size_t b = 0; b < ring.size(); ++b) {
      if (a == b || ring.next(a) == b || ring.before(a) == b) continue;
      const Vec2 way = between(ring.outer, a, b);
      const bool facing =
          dot(ring.inward(a), ring.inward(b)) < 0 && dot(way, ring.inward(a)) < -1e-9;
      if (!facing || length(way) >= 2 * over_m) continue;
      add("notch strip",
          length(ring.outer[ring.next(a)] - ring.outer[a]) + 2 * rules.fold.metres());
      lined += (lined.empty() ? "" : ", ") + std::to_string(a + 1);
      break;
    }
  if (corners.empty()) return;
  product.making.push_back(
      "Cloth at the re-entrant corners (" + corners +
      "): staple the corner patch round the corner first, its edge flush with the face; cut the "
      "face cloth from outside to just short of the corner, half-way between the two sides; turn "
      "both flaps over the patch.");
  if (!lined.empty())
    product.making.push_back(
        "The cloth in the notch is too narrow to reach the back on both sides: "
        "line sides " +
        lined + " with the notch strips first, and glue the short flaps over them.");
}

/// A cloth at the face goes round the edge; one at the back is stapled flat; one between is laid
/// in.
void add_layer_cloth(Product& product, const Ingredients& with, const Ring& ring,
                     const CustomLayer& layer, bool face) {
  const shop::Rules& rules = with.shop->rules;
  double around_m = 0;
  for (const OuterSide& side : product.sides) around_m += length(side.to - side.from);
  const Length around = Length::from_m(around_m);
  if (face) {
    product.spec.cloth = layer.key;
    add_cloths(product, with, {ring.width, ring.height, around, int(ring.size())});
    add_relief(product, with, ring, layer.key);
    return;
  }
  const Box box = box_of(ring.inner);
  add_cloth(product, with, "back", layer.key,
            {(box.width + with.timber->width).round_up_to(rules.grid),
             (box.height + with.timber->width).round_up_to(rules.grid), around});
}

void add_layers(Product& product, const Ingredients& with, const Ring& ring) {
  Length z;
  const auto& layers = product.spec.custom->layers;
  std::string order;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const CustomLayer& layer = layers[i];
    if (layer.of == LayerOf::cloth) add_layer_cloth(product, with, ring, layer, i == 0);
    if (layer.of == LayerOf::board) add_board(product, with, ring, layer.key, z);
    if (layer.of == LayerOf::sheet) add_plate(product, with, ring, layer.key, z);
    const shop::Shop& shop = *with.shop;
    order += (i == 0 ? "" : ", ") + (layer.of == LayerOf::cloth   ? shop.cloths.at(layer.key).name
                                     : layer.of == LayerOf::board ? shop.boards.at(layer.key).name
                                     : layer.of == LayerOf::sheet
                                         ? shop.sheets.at(layer.key).name
                                         : print_length(layer.thickness, shop.units) + " of air");
    z += thickness_of(layer, shop);
  }
  product.making.push_back("From the face to the back: " + order + ".");
}

bool check_layers(const CustomPlan& plan, const Ingredients& with, const std::string& where,
                  Diagnostics& found) {
  const std::size_t before = found.size();
  if (plan.layers.empty() || plan.layers.size() > 10)
    found.add(where + ".custom.layers", "must be 1 to 10", double(plan.layers.size()), {});
  Length depth;
  for (std::size_t i = 0; i < plan.layers.size(); ++i) {
    const CustomLayer& layer = plan.layers[i];
    const std::string key = where + ".custom.layers[" + std::to_string(i) + "]";
    const shop::Shop& shop = *with.shop;
    const bool known = layer.of == LayerOf::air ||
                       (layer.of == LayerOf::cloth && shop.cloths.count(layer.key)) ||
                       (layer.of == LayerOf::board && shop.boards.count(layer.key)) ||
                       (layer.of == LayerOf::sheet && shop.sheets.count(layer.key));
    if (!known)
      found.add(key + ".of", "is not in the shop file", "\"" + layer.key + "\"",
                "give one of its cloths, boards or sheets");
    else
      depth += thickness_of(layer, shop);
  }
  if (depth > with.timber->depth)
    found.add(where + ".custom.layers", "are deeper than the frame",
              print_mm(depth) + " in " + print_mm(with.timber->depth),
              "take a deeper timber or thinner layers");
  return found.size() == before;
}

}  // namespace

bool make_custom(Product& product, const Ingredients& with, const std::string& where,
                 Diagnostics& found) {
  const CustomPlan& plan = *product.spec.custom;
  if (!check_layers(plan, with, where, found) || !check_outline(plan, where, found)) return false;
  const Ring ring = ring_of(plan, with.timber->width);
  if (!check_ring(ring, where, found)) return false;
  product.width = ring.width;
  product.height = ring.height;
  product.depth = product.frame_depth = with.timber->depth;
  product.stand_off = product.spec.gap;
  shape_edge(product, with, where, found);
  if (!found.empty()) return false;
  add_sides(product, with, ring);
  join_sides(product, with, ring);
  add_layers(product, with, ring);
  check_bench(product, with);
  check_staples(product, with, product.frame_depth - product.edge.side(), "the frame's back");
  if (!add_mounting(product, with, where, found)) return false;
  add_operation(product, shop::Station::finish, "inspect", 1);
  add_operation(product, shop::Station::pack, "label_pack", 1);
  return true;
}

}  // namespace roomwright::design
