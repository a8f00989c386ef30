// From a specification to one piece as it is made: the frame and its boards. The four kinds share
// the rectangular frame (frame.cpp) except the solid trap (prism.cpp); the layers are in sound.cpp.
#include "design/products/products.h"

#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

std::string kind_title(Kind kind) {
  switch (kind) {
    case Kind::wall_panel:
      return "wall panel";
    case Kind::straddling_trap:
      return "straddling corner trap";
    case Kind::solid_trap:
      return "solid corner trap";
    case Kind::ceiling_cloud:
      return "ceiling cloud";
    case Kind::tuned_trap:
      return "tuned trap";
    case Kind::diffuser:
      return "diffuser";
    case Kind::free_screen:
      return "free-standing screen";
    case Kind::window_plug:
      return "window plug";
    case Kind::custom:
      return "custom piece";
  }
  return {};
}

bool hangs(Kind kind) {
  return kind != Kind::free_screen && kind != Kind::window_plug;
}

CornerReach corner_reach(double face_width_m, double corner_angle_deg) {
  const double half = corner_angle_deg * std::acos(-1.0) / 360.0;
  return {face_width_m / (2 * std::sin(half)), face_width_m / (2 * std::tan(half))};
}

namespace {

constexpr Length least_screen = Length::from_mm(300), greatest_foot = Length::from_mm(2000);

template <class T>
const T* find_entry(const std::map<std::string, T>& entries, const std::string& key,
                    const std::string& where, const char* group, Diagnostics& found) {
  const auto at = entries.find(key);
  if (at != entries.end()) return &at->second;
  std::string known;
  for (const auto& [name, entry] : entries) known += (known.empty() ? "" : ", ") + name;
  found.add(where, "is not in the shop file", key.empty() ? "nothing" : "\"" + key + "\"",
            std::string("give one of its ") + group + ": " + known);
  return nullptr;
}

void check_side(const std::optional<Length>& side, const std::string& where, Diagnostics& found) {
  if (side && (*side < least_side || *side > greatest_side))
    found.add(where, "must be from 100 mm to 3000 mm", print_mm(*side),
              "give the finished size of the frame");
}

bool has_frame(Kind kind) {
  return kind == Kind::wall_panel || kind == Kind::straddling_trap || kind == Kind::ceiling_cloud ||
         kind == Kind::free_screen || kind == Kind::window_plug;
}

/// What goes with one kind and not with another.
void check_kind(const ProductSpec& spec, const std::string& where, Diagnostics& found) {
  const Kind kind = spec.kind;
  const std::string title = kind_title(kind);
  const auto refuse = [&](bool there, const char* key, const std::string& remedy) {
    if (there) found.add(where + key, "does not go with a " + title, {}, remedy);
  };
  const bool custom = kind == Kind::custom, frame = has_frame(kind);
  refuse(spec.edge && !frame && !custom, ".edge", "leave it out");
  if (spec.edge && spec.chamfer > Length())
    found.add(where + ".edge", "stands beside chamfer", {}, "give one of the two");
  refuse(spec.joint != Joint::butt && !frame, ".joint",
         custom ? "its corners are mitred anyway" : "leave it out");
  refuse(spec.stretchers && !frame, ".stretchers", "leave it out");
  refuse(spec.mounting == Mounting::french_cleat && kind != Kind::wall_panel, ".mounting",
         "take stand_off");
  refuse(spec.mounting == Mounting::clips && kind != Kind::wall_panel && !custom, ".mounting",
         "take stand_off");
  refuse(!hangs(kind) && spec.gap > Length(), ".gap", "leave it out");
  refuse((kind == Kind::window_plug || custom) && (spec.width || spec.height), ".width",
         custom ? "its outline says how large it is" : "its reveal says how large it is");
  if (kind == Kind::free_screen && !spec.stand)
    found.add(where + ".stand", "is missing", {}, "its feet: [products.stand]");
  if (kind == Kind::window_plug && !spec.plug)
    found.add(where + ".plug", "is missing", {}, "its reveal and seal: [products.plug]");
  if (custom && !spec.custom)
    found.add(where + ".custom", "is missing", {}, "its outline and layers: [products.custom]");
  if (spec.stretchers && (*spec.stretchers < 0 || *spec.stretchers > 10))
    found.add(where + ".stretchers", "must be from 0 to 10", double(*spec.stretchers), {});
  if (kind == Kind::free_screen && spec.width && *spec.width < least_screen)
    found.add(where + ".width", "must be at least 300 mm for two feet", print_mm(*spec.width), {});
  if (spec.stand && (spec.stand->foot < least_side || spec.stand->foot > greatest_foot))
    found.add(where + ".stand.foot", "must be from 100 mm to 2000 mm", print_mm(spec.stand->foot),
              {});
  if (spec.plug && (spec.plug->seal < Length::from_mm(1) || spec.plug->seal > Length::from_mm(60)))
    found.add(where + ".plug.seal", "must be from 1 mm to 60 mm", print_mm(spec.plug->seal), {});
}

void check_spec(const ProductSpec& spec, const std::string& where, Diagnostics& found) {
  check_side(spec.width, where + ".width", found);
  check_side(spec.height, where + ".height", found);
  if (spec.gap < Length() || spec.gap > greatest_gap)
    found.add(where + ".gap", "must be from 0 to 1000 mm", print_mm(spec.gap), "give the air gap");
  if (spec.chamfer < Length())
    found.add(where + ".chamfer", "must be at least 0", print_mm(spec.chamfer),
              "leave it out for a square edge");
  if (spec.board_layers < 1 || spec.board_layers > 6)
    found.add(where + ".board_layers", "must be from 1 to 6", double(spec.board_layers), {});
  if (spec.kind == Kind::tuned_trap && !spec.tuned)
    found.add(where + ".tuned", "is missing", {}, "its front and cavity: [products.tuned]");
  if (spec.kind == Kind::diffuser && !spec.wells)
    found.add(where + ".wells", "is missing", {}, "its sequence and wells: [products.wells]");
  check_kind(spec, where, found);
}

/// What is seen must be a cloth that the shop lets be seen.
void check_seen(const shop::Shop& shop, const std::string& key, const std::string& where,
                Diagnostics& found) {
  const auto cloth = shop.cloths.find(key);
  if (cloth == shop.cloths.end() || cloth->second.face) return;
  std::string others;
  for (const auto& [name, one] : shop.cloths)
    if (one.face) others += (others.empty() ? "" : ", ") + name;
  found.add(where, "is for backs alone by the shop file (face = false), and is seen here",
            "\"" + key + "\"",
            others.empty() ? "set face = true for it, or add a cloth to the shop file"
                           : "take one that may be seen: " + others);
}

/// What each kind is made of; complaints for what is not in the shop file.
Ingredients find_ingredients(const ProductSpec& spec, const shop::Shop& shop,
                             const std::string& where, Diagnostics& found) {
  Ingredients with;
  with.shop = &shop;
  const bool tuned = spec.kind == Kind::tuned_trap, diffuser = spec.kind == Kind::diffuser;
  const bool grid = diffuser && spec.wells && spec.wells->grid;
  const bool custom = spec.kind == Kind::custom, plug = spec.kind == Kind::window_plug;
  if (!(tuned || diffuser) || grid)
    with.timber = find_entry(shop.timber, spec.timber, where + ".timber", "timber", found);
  if (!diffuser && !custom && !(tuned && spec.board.empty()))
    with.board = find_entry(shop.boards, spec.board, where + ".board", "boards", found);
  if (!diffuser && !custom && !(tuned && spec.cloth.empty()))
    with.cloth = find_entry(shop.cloths, spec.cloth, where + ".cloth", "cloths", found);
  if (!spec.back_cloth.empty())
    with.back_cloth =
        find_entry(shop.cloths, spec.back_cloth, where + ".back_cloth", "cloths", found);
  // Over a tuned trap's holes a cloth stands for its resistance: a fleece serves there too.
  if (!tuned) check_seen(shop, spec.cloth, where + ".cloth", found);
  // Of a screen both sides are seen.
  if (spec.kind == Kind::free_screen)
    check_seen(shop, spec.back_cloth, where + ".back_cloth", found);
  if (custom && spec.custom && !spec.custom->layers.empty() &&
      spec.custom->layers[0].of == LayerOf::cloth)
    check_seen(shop, spec.custom->layers[0].key, where + ".custom.layers[0].of", found);
  if (spec.kind == Kind::free_screen && spec.back_cloth.empty()) with.back_cloth = with.cloth;
  const bool splined = spec.joint == Joint::mitre && !spec.sheet.empty();
  if (spec.kind == Kind::solid_trap || tuned || diffuser || plug || splined)
    with.sheet = find_entry(shop.sheets, spec.sheet, where + ".sheet", "sheets", found);
  if (tuned && spec.tuned)
    with.front =
        find_entry(shop.sheets, spec.tuned->sheet, where + ".tuned.sheet", "sheets", found);
  for (const auto& [key, name] : {std::pair{"rules.corner_screw", &shop.rules.corner_screw},
                                  {"rules.staple", &shop.rules.staple}})
    find_entry(shop.hardware, *name, key, "hardware", found);
  return with;
}

bool make_kind(Product& product, const Ingredients& with, const std::string& where,
               Diagnostics& found) {
  switch (product.spec.kind) {
    case Kind::solid_trap:
      return make_prism(product, with, where, found);
    case Kind::tuned_trap:
      return make_box(product, with, where, found);
    case Kind::diffuser:
      return make_wells(product, with, where, found);
    case Kind::custom:
      return make_custom(product, with, where, found);
    default:
      return make_frame(product, with, where, found);
  }
}

}  // namespace

Result<Product> make_product(const ProductSpec& spec, const shop::Shop& shop,
                             const std::string& where) {
  Diagnostics found;
  check_spec(spec, where, found);
  const Ingredients with = find_ingredients(spec, shop, where, found);
  if (!found.empty()) return found;
  Product product;
  product.spec = spec;
  const bool made = make_kind(product, with, where, found);
  if (!made || !found.empty()) return found;
  if (product.frame_depth == Length()) product.frame_depth = product.depth;
  weigh(product, with);
  if (product.spec.kind == Kind::free_screen) check_tipping(product, with);
  if (product.spec.kind == Kind::custom) check_hanging(product, with);
  product.sound = sound_of(product, with);
  add_cautions(product);
  return product;
}

}  // namespace roomwright::design
