// The rectangular frame with boards: wall panel, straddling trap, cloud. Members, boards in their
// cells, cloth, hardware and operations all come from the same few lengths.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

/// The frame's own lengths, worked out once.
struct FrameSizes {
  Length width, height, member, depth;  ///< outside; member's face; front to back
  bool rails_through = true;            ///< rails (top, bottom) run over the stiles' ends
  bool upright = true;                  ///< the long side stands up
  int stretchers = 0;                   ///< across the long side
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
  const Length around = sizes.member * 2;
  sizes.width = spec.width.value_or(with.board->width + rules.clearance_across + around);
  sizes.height = spec.height.value_or(with.board->height + rules.clearance_along + around);
  sizes.upright = sizes.width <= sizes.height;
  const bool short_run = rules.through == shop::Through::short_members;
  sizes.rails_through = sizes.upright == short_run;
  const Length span = (sizes.upright ? sizes.height : sizes.width) - around;
  sizes.stretchers = stretchers_for(span, rules.stretcher_span);
  return sizes;
}

void add_member(Product& product, const Ingredients& with, std::string name, Length x, Length y,
                Length width, Length height) {
  Member member{std::move(name),
                x,
                y,
                width,
                height,
                Length(),
                with.timber->depth,
                product.spec.timber,
                std::max(width, height)};
  product.parts.sticks.push_back({"", member.name, member.section, member.length, 1});
  product.members.push_back(std::move(member));
}

void add_members(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Length m = s.member;
  const Length rail_x = s.rails_through ? Length() : m;
  const Length rail_length = s.rails_through ? s.width : s.width - m * 2;
  const Length stile_y = s.rails_through ? m : Length();
  const Length stile_length = s.rails_through ? s.height - m * 2 : s.height;
  add_member(product, with, "rail", rail_x, Length(), rail_length, m);
  add_member(product, with, "rail", rail_x, s.height - m, rail_length, m);
  add_member(product, with, "stile", Length(), stile_y, m, stile_length);
  add_member(product, with, "stile", s.width - m, stile_y, m, stile_length);
}

/// Cells between the stretchers, equal to within the shop's grid; returns each cell's start.
std::vector<Length> add_stretchers(Product& product, const Ingredients& with, const FrameSizes& s) {
  const Length m = s.member;
  const Length span = (s.upright ? s.height : s.width) - m * 2;
  const int cells = s.stretchers + 1;
  const Length free = span - m * s.stretchers;
  std::vector<Length> starts{m};
  for (int i = 1; i < cells; ++i) {
    const Length edge = (m + Length::from_nm(free.nanometres() * i / cells) + m * (i - 1))
                            .round_to(with.shop->rules.grid);
    if (s.upright)
      add_member(product, with, "stretcher", m, edge, s.width - m * 2, m);
    else
      add_member(product, with, "stretcher", edge, m, m, s.height - m * 2);
    starts.push_back(edge + m);
  }
  return starts;
}

/// Cuts a length into whole boards and a rest; a rest under 100 mm is shared with its neighbour.
std::vector<Length> runs(Length whole, Length board) {
  std::vector<Length> out;
  while (whole > board) {
    out.push_back(board);
    whole = whole - board;
  }
  if (!out.empty() && whole < Length::from_mm(100)) {
    const Length pair = out.back() + whole;
    out.back() = Length::from_nm(pair.nanometres() / 2);
    whole = pair - out.back();
  }
  out.push_back(whole);
  return out;
}

struct Cell {
  Length x, y, width, height;
};

/// Boards of one cell, seen from the front; boards stand the way the cell is longer.
void fill_cell(Product& product, const Ingredients& with, const Cell& cell) {
  const shop::Board& board = *with.board;
  const shop::Rules& rules = with.shop->rules;
  const bool upright = cell.width <= cell.height;
  const Length board_x = upright ? board.width : board.height;
  const Length board_y = upright ? board.height : board.width;
  const Length clear_x = upright ? rules.clearance_across : rules.clearance_along;
  const Length clear_y = upright ? rules.clearance_along : rules.clearance_across;
  Length x = cell.x + Length::from_nm(clear_x.nanometres() / 2);
  for (const Length width : runs(cell.width - clear_x, board_x)) {
    Length y = cell.y + Length::from_nm(clear_y.nanometres() / 2);
    for (const Length height : runs(cell.height - clear_y, board_y)) {
      const bool cut = width < board_x || height < board_y;
      const int layers = product.spec.board_layers;
      product.boards.push_back({x, y, width, height, Length(), board.thickness * layers, false});
      product.parts.boards.push_back({"", "board", product.spec.board, upright ? width : height,
                                      upright ? height : width, layers, false});
      add_operation(product, shop::Station::boards, "board", layers);
      if (cut) add_operation(product, shop::Station::boards, "board_cut", layers);
      y = y + height;
    }
    x = x + width;
  }
}

void fill_cells(Product& product, const Ingredients& with, const FrameSizes& s,
                const std::vector<Length>& starts) {
  const Length end = (s.upright ? s.height : s.width) - s.member;
  for (std::size_t i = 0; i < starts.size(); ++i) {
    const Length stop = i + 1 < starts.size() ? starts[i + 1] - s.member : end;
    const Length along = stop - starts[i];
    if (s.upright)
      fill_cell(product, with, {s.member, starts[i], s.width - s.member * 2, along});
    else
      fill_cell(product, with, {starts[i], s.member, along, s.height - s.member * 2});
  }
}

void add_corners(Product& product, const Ingredients& with, const FrameSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const int joints = 4 + 2 * s.stretchers;
  add_hardware(product, rules.corner_screw, joints * rules.screws_per_corner);
  if (!rules.glue.empty()) add_hardware(product, rules.glue, joints * rules.glue_ml_per_corner);
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

/// The face cloth follows the edge's profile to the back; the back cloth lies flat inside it.
void add_cloths(Product& product, const Ingredients& with, const FrameSizes& s) {
  const shop::Rules& rules = with.shop->rules;
  const Length in = product.spec.chamfer;  // the face's flat part begins here
  const Length beyond = product.cloth_path + rules.wrap + rules.fold - in;
  const auto cut = [&](Length side) { return (side + beyond * 2).round_up_to(rules.grid); };
  add_cloth(product, with, "face", product.spec.cloth,
            {cut(s.width), cut(s.height), (s.width + s.height) * 2});
  if (!with.back_cloth) return;
  const Length inset = rules.back_cloth_inset * 2;
  add_cloth(product, with, "back", product.spec.back_cloth,
            {s.width - inset, s.height - inset, (s.width + s.height - inset * 2) * 2});
}

/// Blocks that hold a panel off its wall: short lengths of its own timber, one behind each corner.
void add_stand_off(Product& product, const Ingredients& with) {
  if (product.spec.kind != Kind::wall_panel || product.spec.gap < Length::from_mm(20)) return;
  product.parts.sticks.push_back({"", "stand-off block", product.spec.timber, product.spec.gap, 4});
  add_hardware(product, with.shop->rules.corner_screw, 4);
  add_operation(product, shop::Station::finish, "hanger", 4);
}

void add_hangers(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  const bool cloud = product.spec.kind == Kind::ceiling_cloud;
  const int count = cloud ? rules.hangers_per_cloud : rules.hangers_per_panel;
  const std::string& hanger = cloud ? rules.cloud_hanger : rules.panel_hanger;
  if (!hanger.empty()) add_hardware(product, hanger, count);
  if (!rules.wall_screw.empty()) add_hardware(product, rules.wall_screw, cloud ? 2 * count : count);
  if (cloud && !rules.safety_wire.empty()) add_hardware(product, rules.safety_wire, count);
  add_operation(product, shop::Station::finish, "hanger", count);
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
    if (side < least_side || side > greatest_side)
      found.add(where + name, "must be from 100 mm to 3000 mm", print_mm(side),
                "give the finished size of the frame");
    else if (side - s.member * 2 < Length::from_mm(50))
      found.add(where + name, "leaves less than 50 mm between the members", print_mm(side),
                "make it larger or take a narrower timber");
  }
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
  if (face) add_operation(product, station, "corner_fold", 4);
  add_hardware(product, with.shop->rules.staple,
               std::ceil(around_m / with.shop->rules.staple_pitch.metres()));
}

void finish_for_wall(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  if (!rules.panel_hanger.empty())
    add_hardware(product, rules.panel_hanger, rules.hangers_per_panel);
  if (!rules.wall_screw.empty()) add_hardware(product, rules.wall_screw, rules.hangers_per_panel);
  add_operation(product, shop::Station::finish, "hanger", rules.hangers_per_panel);
  add_operation(product, shop::Station::finish, "inspect", 1);
  add_operation(product, shop::Station::pack, "label_pack", 1);
}

bool make_frame(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  const FrameSizes sizes = frame_sizes(product.spec, with);
  if (!check_frame(product.spec, with, sizes, where, found)) return false;
  product.width = sizes.width;
  product.height = sizes.height;
  product.depth = sizes.depth;
  product.stand_off = product.spec.gap;
  shape_edge(product, with, where, found);
  if (!found.empty()) return false;
  add_members(product, with, sizes);
  fill_cells(product, with, sizes, add_stretchers(product, with, sizes));
  add_operation(product, shop::Station::saw, "cut", static_cast<double>(product.members.size()));
  add_corners(product, with, sizes);
  add_edges(product, sizes);
  add_cloths(product, with, sizes);
  add_stand_off(product, with);
  add_hangers(product, with);
  add_operation(product, shop::Station::finish, "inspect", 1);
  add_operation(product, shop::Station::pack, "label_pack", 1);
  check_bench(product, with);
  return true;
}

}  // namespace roomwright::design
