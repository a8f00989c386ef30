// What holds a piece: stand-off blocks and plates, a French cleat, clips, ceiling hangers; the feet
// of a screen and the push that tips it; the sheet, seal and grips of a window plug.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr double gravity_m_s2 = 9.80665;
constexpr Length cleat_inset = Length::from_mm(60);  // from each side: common practice, no source
constexpr Length least_strip = Length::from_mm(15);  // a cleat's narrow side: the same
constexpr double cleat_screw_pitch_m = 0.3;          // common practice, no source
constexpr double least_squeeze = 0.2, most_squeeze = 0.6;  // of a soft seal: common practice
constexpr Length least_gap = Length::from_mm(20);          // from here a stand-off takes blocks

/// Blocks that hold a panel off its wall: short lengths of its own timber, one behind each corner.
void add_blocks_behind(Product& product, const Ingredients& with, Length length) {
  if (length < least_gap) return;
  product.parts.sticks.push_back({"", "stand-off block", product.spec.timber, length, 4});
  add_hardware(product, with.shop->rules.corner_screw, 4);
  add_operation(product, shop::Station::finish, "hanger", 4);
}

void add_plates_of(Product& product, const std::string& hanger, int count, const std::string& screw,
                   int screws) {
  if (!hanger.empty()) add_hardware(product, hanger, count);
  if (!screw.empty()) add_hardware(product, screw, screws);
  add_operation(product, shop::Station::finish, "hanger", count);
}

void hang_as_ruled(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  if (product.spec.kind == Kind::ceiling_cloud) {
    const int count = rules.hangers_per_cloud;
    add_plates_of(product, rules.cloud_hanger, count, rules.wall_screw, 2 * count);
    if (!rules.safety_wire.empty()) add_hardware(product, rules.safety_wire, count);
    return;
  }
  if (product.spec.kind != Kind::straddling_trap)
    add_blocks_behind(product, with, product.spec.gap);
  add_plates_of(product, rules.panel_hanger, rules.hangers_per_panel, rules.wall_screw,
                rules.hangers_per_panel);
}

// ---- the French cleat -------------------------------------------------------------------------

/// One stick ripped along its middle at an angle: the upper strip hangs on the wall's lower one.
struct Cleat {
  std::string key;
  const shop::Timber* timber = nullptr;
  Length length, thick, rise;  ///< rise: of the bevel over the thickness
  Length strip;                ///< mean height of one strip
};

Cleat cleat_of(const Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  Cleat out;
  out.key = rules.cleat_timber.empty() ? product.spec.timber : rules.cleat_timber;
  const auto at = with.shop->timber.find(out.key);
  out.timber = at == with.shop->timber.end() ? with.timber : &at->second;
  out.thick = std::min(out.timber->width, out.timber->depth);
  const Length high = std::max(out.timber->width, out.timber->depth);
  out.length =
      std::max(Length::from_mm(100), (product.width - cleat_inset * 2)).round_down_to(rules.grid);
  out.rise =
      Length::from_m(out.thick.metres() * std::tan(rules.cleat_angle_deg * std::numbers::pi / 180));
  out.strip = Length::from_nm((high - rules.kerf).nanometres() / 2);
  return out;
}

void check_cleat(Product& product, const Ingredients& with, const Cleat& cleat) {
  const Units& units = with.shop->units;
  const Length narrow = cleat.strip - Length::from_nm(cleat.rise.nanometres() / 2);
  const bool holds = narrow >= least_strip;
  const Length wanted =
      (least_strip * 2 + cleat.rise + with.shop->rules.kerf).round_up_to(Length::from_mm(1));
  product.checks.push_back(
      {"French cleat", holds, narrow - least_strip,
       "Cleat ripped from " + cleat.timber->name + " at " +
           fixed(with.shop->rules.cleat_angle_deg, 0) + "°: its narrow side is " +
           print_fine(narrow, units) +
           (holds ? "."
                  : "; under " + print_fine(least_strip, units) +
                        " it breaks out. Take timber at least " + print_length(wanted, units) +
                        " high, or a flatter rip.")});
}

void say_cleat(Product& product, const Ingredients& with, const Cleat& cleat) {
  const Units& units = with.shop->units;
  std::string text = "French cleat: rip one stick of " + print_length(cleat.length, units) +
                     " along its middle at " + fixed(with.shop->rules.cleat_angle_deg, 0) +
                     "°; screw one strip to the top rail's back, its point downward and against "
                     "the wall, the other to the wall, point up; a spacer as thick keeps the foot "
                     "plumb. To hook it on, " +
                     print_length(product.lift_on, units) + " above the piece must be free";
  const Length pack = product.stand_off - cleat.thick;
  if (pack > Length())
    text += "; pack the wall's strip and the spacer out by " + print_length(pack, units);
  product.making.push_back(text + ".");
}

/// The strip on the frame and the spacer at its foot, behind the frame.
void place_cleat(Product& product, const Cleat& cleat) {
  const Length x = Length::from_nm((product.width - cleat.length).nanometres() / 2);
  const auto strip = [&](const char* name, Length y, Length high) {
    Member member;
    member.name = name;
    member.x = x, member.y = y, member.width = cleat.length, member.height = high;
    member.z = product.frame_depth, member.depth = cleat.thick;
    member.section = cleat.key, member.length = cleat.length;
    product.members.push_back(std::move(member));
  };
  const Length high = std::max(cleat.timber->width, cleat.timber->depth);
  const Length room = product.height - cleat.strip;  // of a low piece there is no room for both
  strip("cleat", room, cleat.strip);
  if (room >= high) strip("cleat spacer", Length(), high);
}

bool add_cleat(Product& product, const Ingredients& with, const std::string& where,
               Diagnostics& found) {
  const shop::Rules& rules = with.shop->rules;
  const Cleat cleat = cleat_of(product, with);
  if (product.spec.gap > Length() && product.spec.gap < cleat.thick) {
    found.add(where + ".gap", "is less than the cleat is thick", print_mm(product.spec.gap),
              "leave it out, or give at least " + print_mm(cleat.thick));
    return false;
  }
  if (cleat.length > product.width) {
    found.add(where + ".mounting", "is longer than the piece is wide", print_mm(cleat.length),
              "take clips or a stand-off");
    return false;
  }
  product.stand_off = std::max(product.spec.gap, cleat.thick);
  product.lift_on = (cleat.rise + rules.cleat_play).round_up_to(rules.grid);
  const std::size_t before = product.members.size();
  place_cleat(product, cleat);
  const int sticks = static_cast<int>(product.members.size() - before);
  product.parts.sticks.push_back({"", "cleat pair", cleat.key, cleat.length, 1});
  if (sticks > 1) product.parts.sticks.push_back({"", "cleat spacer", cleat.key, cleat.length, 1});
  add_operation(product, shop::Station::saw, "cut", sticks);
  add_operation(product, shop::Station::saw, "rip_metre", cleat.length.metres());
  const double screws = std::max(2.0, std::ceil(cleat.length.metres() / cleat_screw_pitch_m) + 1);
  add_hardware(product, rules.corner_screw, screws * sticks);
  if (!rules.wall_screw.empty()) add_hardware(product, rules.wall_screw, rules.hangers_per_panel);
  add_operation(product, shop::Station::finish, "cleat", 1);
  check_cleat(product, with, cleat);
  say_cleat(product, with, cleat);
  return true;
}

bool add_clips(Product& product, const Ingredients& with, const std::string& where,
               Diagnostics& found) {
  const shop::Rules& rules = with.shop->rules;
  if (rules.panel_clip.empty()) {
    found.add(where + ".mounting", "wants clips, and the shop has none", {},
              "name one: panel_clip under [rules]");
    return false;
  }
  add_blocks_behind(product, with, product.spec.gap);
  add_hardware(product, rules.panel_clip, rules.clips_per_panel);
  if (!rules.wall_screw.empty()) add_hardware(product, rules.wall_screw, rules.clips_per_panel);
  add_operation(product, shop::Station::finish, "clip", rules.clips_per_panel);
  product.lift_on = rules.clip_lift;
  product.making.push_back(
      "Clips: one half to the frame's back near each corner, the other to the "
      "wall on the same marks; to hang it, " +
      print_length(product.lift_on, with.shop->units) + " above the piece must be free.");
  return true;
}

}  // namespace

void finish_for_wall(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  if (!rules.panel_hanger.empty())
    add_hardware(product, rules.panel_hanger, rules.hangers_per_panel);
  if (!rules.wall_screw.empty()) add_hardware(product, rules.wall_screw, rules.hangers_per_panel);
  add_operation(product, shop::Station::finish, "hanger", rules.hangers_per_panel);
  add_operation(product, shop::Station::finish, "inspect", 1);
  add_operation(product, shop::Station::pack, "label_pack", 1);
}

bool add_mounting(Product& product, const Ingredients& with, const std::string& where,
                  Diagnostics& found) {
  if (!hangs(product.spec.kind)) return true;
  switch (product.spec.mounting) {
    case Mounting::french_cleat:
      return add_cleat(product, with, where, found);
    case Mounting::clips:
      return add_clips(product, with, where, found);
    default:
      hang_as_ruled(product, with);
      return true;
  }
}

// ---- screens ----------------------------------------------------------------------------------

void add_feet(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  const shop::Timber& timber = *with.timber;
  const Length foot = product.spec.stand->foot, high = timber.width, wide = timber.depth;
  const Length forward = Length::from_nm((foot - product.frame_depth).nanometres() / 2);
  for (Member& member : product.members) {
    member.y += high, member.z += forward;
    for (Corner& corner : member.outline) corner[1] += high;
    for (Notch& notch : member.notches) notch.y += high, notch.z += forward;
  }
  for (BoardPlace& board : product.boards) board.y += high, board.z += forward;
  for (Screw& screw : product.screws) screw.at.y += high.metres(), screw.at.z += forward.metres();
  for (OuterSide& side : product.sides)
    for (Vec3* end : {&side.from, &side.to}) end->y += high.metres(), end->z += forward.metres();
  const Length in = Length::from_nm(product.width.nanometres() / 6);
  for (const Length x :
       {std::min(in, product.width - wide), std::max(Length(), product.width - in - wide)}) {
    Member member;
    member.name = "foot";
    member.x = x, member.width = wide, member.height = high, member.depth = foot;
    member.section = product.spec.timber, member.length = foot;
    product.members.push_back(std::move(member));
    product.parts.sticks.push_back({"", "foot", product.spec.timber, foot, 1});
  }
  product.height += high;
  product.depth = foot;
  product.frame_z = forward;
  add_operation(product, shop::Station::saw, "cut", 2);
  add_operation(product, shop::Station::finish, "foot", 2);
  add_hardware(product, rules.corner_screw, 4);
  product.making.push_back(
      "Feet: lay each flat across the lower rail, its middle under the frame's, two screws from "
      "below; round its upper edges. The first cloth goes over the edges, the second lies over the "
      "back, "
      "its hem turned in.");
}

double tipping_force_n(const Product& product) {
  const double z = product.centre_of_gravity_m.z, depth = product.depth.metres();
  const double lever = std::min(z, depth - z);
  return product.mass_kg() * gravity_m_s2 * lever / product.height.metres();
}

namespace {

/// The least foot that stands the push: its own weight counts too.
Length clearing_foot(const Product& product, const Ingredients& with, double wanted_n) {
  const double now = product.depth.metres(), height = product.height.metres();
  const double section_kg_m =
      with.timber->width.metres() * with.timber->depth.metres() * with.timber->density_kg_m3 * 2;
  double lo = now, hi = now;
  const auto holds = [&](double foot) {
    const double mass = product.mass_kg() + section_kg_m * (foot - now);
    const double lever =
        std::min(product.centre_of_gravity_m.z, now - product.centre_of_gravity_m.z) +
        (foot - now) / 2;
    return mass * gravity_m_s2 * lever / height >= wanted_n;
  };
  while (!holds(hi) && hi < 100) hi *= 1.5;
  for (int i = 0; i < 50; ++i) (holds((lo + hi) / 2) ? hi : lo) = (lo + hi) / 2;
  return Length::from_m(hi);
}

}  // namespace

void check_tipping(Product& product, const Ingredients& with) {
  const double force = tipping_force_n(product), wanted = with.shop->rules.tip_force_n;
  const Units& units = with.shop->units;
  const bool stands = force >= wanted;
  const Length foot = clearing_foot(product, with, wanted)
                          .round_up_to(units.metric ? Length::from_mm(5) : sixteenth_inch * 4);
  product.checks.push_back({"tipping", stands, product.depth - (stands ? product.depth : foot),
                            "A push of " + fixed(force, 1) +
                                " N at the top tips it; the rule asks for " + fixed(wanted, 0) +
                                " N" +
                                (stands ? "."
                                        : ". Make the feet at least " + print_length(foot, units) +
                                              " long, the screen lower, or weight its feet.")});
}

// ---- plugs ------------------------------------------------------------------------------------

Length plug_side(Length reveal, const shop::Rules& rules) {
  const Length side = reveal - rules.plug_clearance * 2;
  return rules.grid > Length() ? side.round_down_to(rules.grid) : side;
}

void add_plug(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  const Units& units = with.shop->units;
  Plate back;
  back.name = "back", back.sheet = product.spec.sheet;
  back.width = product.width, back.height = product.height;
  back.z = product.frame_depth, back.depth = with.sheet->thickness;
  product.plates.push_back(back);
  product.parts.sheets.push_back(
      {"", "back", product.spec.sheet, product.width, product.height, 1, false});
  product.depth = product.frame_depth + with.sheet->thickness;
  const double around_m = 2 * (product.width + product.height).metres();
  add_operation(product, shop::Station::saw, "plate", 1);
  add_operation(product, shop::Station::finish, "seal_metre", around_m);
  add_operation(product, shop::Station::finish, "grip", rules.grips_per_plug);
  if (!rules.plug_seal.empty()) add_hardware(product, rules.plug_seal, around_m);
  if (!rules.plug_grip.empty()) add_hardware(product, rules.plug_grip, rules.grips_per_plug);
  add_hardware(product, rules.corner_screw, std::ceil(around_m / cleat_screw_pitch_m));
  const double seal = product.spec.plug->seal.metres(), clear = rules.plug_clearance.metres();
  const double squeeze = 1 - clear / seal;
  const bool seals = squeeze > least_squeeze - 1e-9 && squeeze < most_squeeze + 1e-9;
  const auto thick = [&](double share) {
    return print_fine(Length::from_m(clear / (1 - share)), units);
  };
  product.checks.push_back(
      {"seal", seals,
       Length::from_m(
           std::min(seal - clear / (1 - least_squeeze), clear / (1 - most_squeeze) - seal)),
       "The seal of " + print_fine(product.spec.plug->seal, units) + " is pressed to " +
           print_fine(rules.plug_clearance, units) + ", by " + fixed(squeeze * 100, 0) + " %" +
           (seals ? "."
                  : "; take one from " + thick(least_squeeze) + " to " + thick(most_squeeze) +
                        " so that it is pressed by 20 to 60 %.")});
  product.making.push_back(
      "Staple the cloth before the back sheet goes on; run the seal round the sheet's edge without "
      "a gap; grips at both sides, so that one person can take it out from inside at once.");
}

}  // namespace roomwright::design
