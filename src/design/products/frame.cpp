// The rectangular frame with boards: wall panel, straddling trap, cloud, screen, plug. Members with
// their joints, screws, cloth and operations all come from the same few lengths.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

/// The frame's own lengths, worked out once.
struct FrameSizes {
  Length width, height, member, depth;  ///< outside; member's face; front to back
  bool rails_through = true;            ///< rails (top, bottom) run over the stiles' ends
  bool level = true;                    ///< stretchers lie level
  int stretchers = 0;
  Joint joint = Joint::butt;
};

/// count spans of at most `most`, as stretchers between them.
int stretchers_for(Length span, Length most) {
  if (most <= Length() || span <= most) return 0;
  return static_cast<int>((span.nanometres() + most.nanometres() - 1) / most.nanometres()) - 1;
}

FrameSizes frame_sizes(const ProductSpec& spec, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  FrameSizes sizes;
  sizes.member = with.timber->width;
  sizes.depth = with.timber->depth;
  sizes.joint = spec.joint;
  const Length around = sizes.member * 2;
  sizes.width = spec.width.value_or(with.board->width + rules.clearance_across + around);
  sizes.height = spec.height.value_or(with.board->height + rules.clearance_along + around);
  if (spec.plug) {
    sizes.width = plug_side(spec.plug->reveal_width, rules);
    sizes.height = plug_side(spec.plug->reveal_height, rules);
  }
  const bool upright = sizes.width <= sizes.height;
  const bool short_run = rules.through == shop::Through::short_members;
  sizes.rails_through = upright == short_run;
  sizes.level = spec.stretcher_run == StretcherRun::shorter
                    ? upright
                    : spec.stretcher_run == StretcherRun::level;
  const Length span = (sizes.level ? sizes.height : sizes.width) - around;
  sizes.stretchers = spec.stretchers.value_or(stretchers_for(span, rules.stretcher_span));
  return sizes;
}

Member& add_member(Product& product, const Ingredients& with, std::string name, Length x, Length y,
                   Length width, Length height) {
  Member member;
  member.name = std::move(name);
  member.x = x, member.y = y, member.width = width, member.height = height;
  member.depth = with.timber->depth;
  member.section = product.spec.timber;
  member.length = std::max(width, height);
  product.parts.sticks.push_back({"", member.name, member.section, member.length, 1});
  product.members.push_back(std::move(member));
  return product.members.back();
}

/// The long sides of mitred members lie outside.
void mitre(Member& member, const FrameSizes& s) {
  const Length m = s.member, x0 = member.x, y0 = member.y;
  const Length x1 = x0 + member.width, y1 = y0 + member.height;
  if (member.name == "rail")
    member.outline = y0 == Length()
                         ? std::vector<Corner>{{x0, y0}, {x1, y0}, {x1 - m, y1}, {x0 + m, y1}}
                         : std::vector<Corner>{{x0 + m, y0}, {x1 - m, y0}, {x1, y1}, {x0, y1}};
  else
    member.outline = x0 == Length()
                         ? std::vector<Corner>{{x0, y0}, {x1, y0 + m}, {x1, y1 - m}, {x0, y1}}
                         : std::vector<Corner>{{x0, y0 + m}, {x1, y0}, {x1, y1}, {x0, y1 - m}};
}

/// Half the depth out of each end: members that run through keep their front half.
void lap(Member& member, const FrameSizes& s, bool keeps_front) {
  const Length half = Length::from_nm(s.depth.nanometres() / 2);
  const Length z = keeps_front ? half : Length();
  const Length depth = keeps_front ? s.depth - half : half;
  const bool rail = member.name == "rail";
  for (const bool far_end : {false, true})
    member.notches.push_back({rail && far_end ? s.width - s.member : member.x,
                              !rail && far_end ? s.height - s.member : member.y, s.member, s.member,
                              z, depth});
}

void add_members(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Length m = s.member;
  const bool whole = s.joint != Joint::butt;  // both run the whole way
  const bool rails = whole || s.rails_through, stiles = whole || !s.rails_through;
  const Length rail_x = rails ? Length() : m, rail = rails ? s.width : s.width - m * 2;
  const Length stile_y = stiles ? Length() : m, stile = stiles ? s.height : s.height - m * 2;
  add_member(product, with, "rail", rail_x, Length(), rail, m);
  add_member(product, with, "rail", rail_x, s.height - m, rail, m);
  add_member(product, with, "stile", Length(), stile_y, m, stile);
  add_member(product, with, "stile", s.width - m, stile_y, m, stile);
  for (Member& member : product.members) {
    if (s.joint == Joint::mitre) mitre(member, s);
    if (s.joint == Joint::half_lap) lap(member, s, (member.name == "rail") == s.rails_through);
  }
}

/// Cells between the stretchers, equal to within the shop's grid; returns each cell's start.
std::vector<Length> add_stretchers(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Length m = s.member;
  const Length span = (s.level ? s.height : s.width) - m * 2;
  const int cells = s.stretchers + 1;
  const Length free = span - m * s.stretchers;
  std::vector<Length> starts{m};
  for (int i = 1; i < cells; ++i) {
    const Length edge = (m + Length::from_nm(free.nanometres() * i / cells) + m * (i - 1))
                            .round_to(with.shop->rules.grid);
    if (s.level)
      add_member(product, with, "stretcher", m, edge, s.width - m * 2, m);
    else
      add_member(product, with, "stretcher", edge, m, m, s.height - m * 2);
    starts.push_back(edge + m);
  }
  return starts;
}

void fill_cells(Product& product, const Ingredients& with, const FrameSizes& s,
                const std::vector<Length>& starts) {
  const Length end = (s.level ? s.height : s.width) - s.member;
  for (std::size_t i = 0; i < starts.size(); ++i) {
    const Length stop = i + 1 < starts.size() ? starts[i + 1] - s.member : end;
    const Length along = stop - starts[i];
    if (s.level)
      fill_cell(product, with, {s.member, starts[i], s.width - s.member * 2, along});
    else
      fill_cell(product, with, {starts[i], s.member, along, s.height - s.member * 2});
  }
}

// ---- joints -----------------------------------------------------------------------------------

void add_sides(Product& product, const FrameSizes& s) {
  const double w = s.width.metres(), h = s.height.metres();
  product.sides = {{"rail", {0, 0, 0}, {w, 0, 0}, {0, 1, 0}},
                   {"stile", {w, 0, 0}, {w, h, 0}, {-1, 0, 0}},
                   {"rail", {w, h, 0}, {0, h, 0}, {0, -1, 0}},
                   {"stile", {0, h, 0}, {0, 0, 0}, {1, 0, 0}}};
}

/// The same screw in each of the four corners.
void mirrored(Product& product, const FrameSizes& s, const Screw& screw) {
  for (const bool right : {false, true})
    for (const bool top : {false, true}) {
      Screw one = screw;
      if (right) one.at.x = s.width.metres() - one.at.x, one.along.x = -one.along.x;
      if (top) one.at.y = s.height.metres() - one.at.y, one.along.y = -one.along.y;
      product.screws.push_back(std::move(one));
    }
}

/// Through the outer side of the member that runs through, along the other.
void side_screws(Product& product, const shop::Hardware& hardware, const FrameSizes& s,
                 const std::vector<Length>& depths) {
  const double m = s.member.metres();
  const bool rails = s.joint == Joint::mitre || s.rails_through;
  for (std::size_t i = 0; i < depths.size(); ++i) {
    const double z = depths[i].metres();
    Screw screw = rails ? screw_of(hardware, {m / 2, 0, z}, {0, 1, 0})
                        : screw_of(hardware, {0, m / 2, z}, {1, 0, 0});
    screw.joint = "each corner";
    screw.first = rails ? "rail" : "stile";
    screw.second = rails ? "stile" : "rail";
    screw.number = static_cast<int>(i) + 1;
    screw.from_end_m = screw.from_side_m = m / 2;
    screw.first_m = s.joint == Joint::mitre ? m / 2 : m;
    screw.wood_m = (rails ? s.height : s.width).metres();
    mirrored(product, s, screw);
  }
}

/// From the back, along the lap's diagonal.
void lap_screws(Product& product, const shop::Hardware& hardware, const FrameSizes& s, int count) {
  const double m = s.member.metres(), depth = s.depth.metres();
  for (int i = 0; i < count; ++i) {
    const double at = m * (i + 1) / (count + 1);
    Screw screw = screw_of(hardware, {at, m - at, depth}, {0, 0, -1});
    screw.joint = "each lap";
    screw.first = s.rails_through ? "stile" : "rail";
    screw.second = s.rails_through ? "rail" : "stile";
    screw.number = i + 1;
    screw.from_end_m = screw.from_side_m = std::min(at, m - at);
    screw.first_m = depth / 2;
    screw.wood_m = depth;
    mirrored(product, s, screw);
  }
}

void stretcher_screws(Product& product, const shop::Hardware& hardware, const FrameSizes& s,
                      const std::vector<Length>& depths) {
  for (const Member& member : product.members) {
    if (member.name != "stretcher") continue;
    const double x = (member.x + Length::from_nm(member.width.nanometres() / 2)).metres();
    const double y = (member.y + Length::from_nm(member.height.nanometres() / 2)).metres();
    for (const bool far_end : {false, true})
      for (std::size_t i = 0; i < depths.size(); ++i) {
        const double z = depths[i].metres(), sense = far_end ? -1 : 1;
        Screw screw =
            s.level ? screw_of(hardware, {far_end ? s.width.metres() : 0, y, z}, {sense, 0, 0})
                    : screw_of(hardware, {x, far_end ? s.height.metres() : 0, z}, {0, sense, 0});
        screw.joint = "each stretcher's end";
        screw.first = s.level ? "stile" : "rail";
        screw.second = "stretcher";
        screw.number = static_cast<int>(i) + 1;
        screw.from_end_m =
            std::min(s.level ? y : x, (s.level ? s.height : s.width).metres() - (s.level ? y : x));
        screw.from_side_m = s.member.metres() / 2;
        screw.first_m = s.member.metres();
        screw.wood_m = (s.level ? s.width : s.height).metres();
        product.screws.push_back(std::move(screw));
      }
  }
}

/// A spline of sheet in each mitre, a third of the member into each side.
void add_splines(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Length grid = with.shop->rules.grid;
  const Length groove = Length::from_nm(s.member.nanometres() / 3).round_to(grid);
  const Length across = Length::from_m(s.member.metres() * std::sqrt(2.0)).round_up_to(grid);
  product.parts.sheets.push_back({"", "spline", product.spec.sheet, groove * 2, across, 4, false});
  add_operation(product, shop::Station::drill_screw, "spline", 4);
  product.making.push_back("Mitres: a groove " + print_length(groove, with.shop->units) +
                           " deep along each, mid-way front to back, for a glued spline of " +
                           with.sheet->name + "; clamp until the glue has set.");
}

void say_laps(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Units& units = with.shop->units;
  product.making.push_back(
      "Half-laps: mark " + print_length(s.member, units) + " from each end, saw half the depth (" +
      print_fine(Length::from_nm(s.depth.nanometres() / 2), units) + ") out of it: " +
      (s.rails_through ? "rails from the back, stiles from the front"
                       : "stiles from the back, rails from the front") +
      "; glue and clamp" +
      (with.shop->rules.lap_screw.empty()
           ? "."
           : ", screws from the back; staples keep off their heads."));
}

void add_corners(Product& product, const Ingredients& with, const FrameSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const auto& hardware = with.shop->hardware;
  const auto depths = screw_depths(product, rules);
  const auto corner = hardware.find(rules.corner_screw), lapped = hardware.find(rules.lap_screw);
  const bool splined = s.joint == Joint::mitre && with.sheet;
  if (s.joint == Joint::half_lap) {
    add_operation(product, shop::Station::saw, "lap", 8);
    say_laps(product, with, s);
    if (lapped != hardware.end()) {
      lap_screws(product, lapped->second, s, rules.screws_per_corner);
      add_hardware(product, rules.lap_screw, 4 * rules.screws_per_corner);
    }
  } else if (splined) {
    add_splines(product, with, s);
  } else if (corner != hardware.end()) {
    side_screws(product, corner->second, s, depths);
    add_hardware(product, rules.corner_screw, 4 * rules.screws_per_corner);
  }
  if (s.joint == Joint::mitre) add_operation(product, shop::Station::saw, "mitre", 8);
  if (corner != hardware.end() && s.stretchers > 0) {
    stretcher_screws(product, corner->second, s, depths);
    add_hardware(product, rules.corner_screw, 2 * s.stretchers * rules.screws_per_corner);
  }
  if (!rules.glue.empty())
    add_hardware(product, rules.glue, (4 + 2 * s.stretchers) * rules.glue_ml_per_corner);
  add_operation(product, shop::Station::drill_screw, "corner", 4);
  if (s.stretchers > 0)
    add_operation(product, shop::Station::drill_screw, "stretcher_joint", 2 * s.stretchers);
}

void add_edges(Product& product, const FrameSizes& s) {
  const double around_m = 2 * (s.width + s.height).metres();
  if (product.router_passes > 0)
    add_operation(product, shop::Station::rout, "pass_metre", around_m * product.router_passes);
  add_operation(product, shop::Station::sand, "edge_metre", around_m);
}

bool check_frame(const ProductSpec& spec, const Ingredients& with, const FrameSizes& s,
                 const std::string& where, Diagnostics& found) {
  const std::size_t before = found.size();
  const Length wool = with.board->thickness * spec.board_layers;
  if (wool > s.depth)
    found.add(where + ".board", "is deeper than the frame",
              print_mm(wool) + " in " + print_mm(s.depth),
              "take a deeper timber, a thinner board or fewer board_layers");
  for (const auto& [side, name] : {std::pair{s.width, ".width"}, {s.height, ".height"}}) {
    const std::string key = where + (spec.plug ? std::string(".plug.reveal_") + (name + 1) : name);
    if (side < least_side || side > greatest_side)
      found.add(key, "must be from 100 mm to 3000 mm", print_mm(side),
                "give the finished size of the frame");
    else if (side - s.member * 2 < Length::from_mm(50))
      found.add(key, "leaves less than 50 mm between the members", print_mm(side),
                "make it larger or take a narrower timber");
  }
  if (spec.stand && spec.stand->foot < s.depth)
    found.add(where + ".stand.foot", "is shorter than the frame is deep",
              print_mm(spec.stand->foot), "make it at least " + print_mm(s.depth));
  if (spec.stand && s.width < with.timber->depth * 3)
    found.add(
        where + ".width", "is too narrow for two feet laid flat", print_mm(s.width),
        "make it at least " + print_mm(with.timber->depth * 3) + " or take a slighter timber");
  const Length free = (s.level ? s.height : s.width) - s.member * (2 + s.stretchers);
  if (spec.stretchers && found.size() == before && free < Length::from_mm(50) * (s.stretchers + 1))
    found.add(where + ".stretchers", "leave less than 50 mm between the members",
              double(s.stretchers), "take fewer");
  return found.size() == before;
}

}  // namespace

void add_operation(Product& product, shop::Station station, const char* feature, double count) {
  for (auto& operation : product.parts.operations)
    if (operation.station == station && operation.feature == feature) {
      operation.count += count;
      return;
    }
  product.parts.operations.push_back({"", station, feature, count});
}

void add_hardware(Product& product, const std::string& key, double count) {
  for (auto& part : product.parts.hardware)
    if (part.hardware == key) {
      part.count += count;
      return;
    }
  product.parts.hardware.push_back({"", key, count});
}

void add_cloth(Product& product, const Ingredients& with, const std::string& name,
               const std::string& key, ClothSize size) {
  const bool face = name == "face";
  product.parts.cloths.push_back({"", name, key, size.across, size.along, 1});
  const shop::Station station = face ? shop::Station::face_cloth : shop::Station::back_cloth;
  const double around_m = size.perimeter.metres();
  add_operation(product, station, "cloth_cut", 1);
  add_operation(product, station, face ? "face_staple_metre" : "back_staple_metre", around_m);
  if (face) add_operation(product, station, "corner_fold", size.corners);
  add_hardware(product, with.shop->rules.staple,
               std::ceil(around_m / with.shop->rules.staple_pitch.metres()));
}

/// The face cloth follows the edge's profile to the back; the back cloth lies flat inside it.
void add_cloths(Product& product, const Ingredients& with, const ClothOver& over) {
  const shop::Rules& rules = with.shop->rules;
  const Length in = product.edge.face();  // the face's flat part begins here
  const Length beyond = product.cloth_path + rules.wrap + rules.fold - in;
  const auto cut = [&](Length side) { return (side + beyond * 2).round_up_to(rules.grid); };
  add_cloth(product, with, "face", product.spec.cloth,
            {cut(over.width), cut(over.height), over.perimeter, over.corners});
  if (!with.back_cloth) return;
  const Length inset = rules.back_cloth_inset * 2;
  add_cloth(product, with, "back",
            product.spec.back_cloth.empty() ? product.spec.cloth : product.spec.back_cloth,
            {over.width - inset, over.height - inset, over.perimeter - inset * 4});
}

bool make_frame(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  const FrameSizes sizes = frame_sizes(product.spec, with);
  if (!check_frame(product.spec, with, sizes, where, found)) return false;
  product.width = sizes.width;
  product.height = sizes.height;
  product.depth = product.frame_depth = sizes.depth;
  product.stand_off = product.spec.gap;
  shape_edge(product, with, where, found);
  if (!found.empty()) return false;
  add_members(product, with, sizes);
  add_sides(product, sizes);
  fill_cells(product, with, sizes, add_stretchers(product, with, sizes));
  add_operation(product, shop::Station::saw, "cut", static_cast<double>(product.members.size()));
  add_corners(product, with, sizes);
  add_edges(product, sizes);
  add_cloths(product, with, {sizes.width, sizes.height, (sizes.width + sizes.height) * 2});
  check_bench(product, with);
  check_staples(product, with, sizes.depth - product.edge.side(),
                product.edge.shape == EdgeShape::square
                    ? "the frame's back"
                    : "the frame's back, behind the routed edge");
  if (product.spec.kind == Kind::free_screen) add_feet(product, with);
  if (product.spec.kind == Kind::window_plug) add_plug(product, with);
  if (!add_mounting(product, with, where, found)) return false;
  add_operation(product, shop::Station::finish, "inspect", 1);
  add_operation(product, shop::Station::pack, "label_pack", 1);
  return true;
}

}  // namespace roomwright::design
