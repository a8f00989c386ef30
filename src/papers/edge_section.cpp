// The section at a frame's edge: its profile, the taut cloth, layers, screws, cleat, seal, wall.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Path;
using drawing::Text;

namespace {

constexpr double section_height_mm = 60;
constexpr double cloth_off_mm = 0.6;

/// Sheet millimetres: z of the product runs right from the face, u down from the outer edge.
struct SectionPlace {
  drawing::Sheet& sheet;
  const job::Job& job;
  const design::Product& product;
  Vec2 from;
  double mm;  ///< of the sheet for one of the model
  double member;

  double x(Length z) const { return from.x + z.millimetres() * mm; }
  double y(Length u) const { return from.y + u.millimetres() * mm; }
  double bottom() const { return from.y + section_height_mm; }
  double back() const { return x(product.frame_depth); }
};

void draw_timber(const SectionPlace& at) {
  Path timber{{}, true, {Ink::cedar, 0.35, Dash::none}, true, Ink::corridor, false};
  for (const auto& [u, v] : at.product.edge_profile) timber.points.push_back({at.x(v), at.y(u)});
  timber.points.push_back({at.back(), at.from.y + at.member});
  timber.points.push_back({at.from.x, at.from.y + at.member});
  at.sheet.shapes.push_back(timber);
}

/// Along the convex hull of the profile: a cove is bridged.
void draw_cloth(const SectionPlace& at) {
  const design::EdgeSpec& edge = at.product.edge;
  const double r = edge.face().millimetres() * at.mm, off = cloth_off_mm;
  Path cloth{{}, false, {Ink::chalk_blue, 0.5, Dash::none}, false, Ink::paper, false};
  cloth.points = {{at.from.x - off, at.bottom()}, {at.from.x - off, at.y(edge.face())}};
  for (int i = 1; edge.shape == design::EdgeShape::round_over && i < 16; ++i) {
    const double turn = std::numbers::pi / 2 * i / 16;
    cloth.points.push_back(
        {at.from.x + r - (r + off) * std::cos(turn), at.from.y + r - (r + off) * std::sin(turn)});
  }
  cloth.points.push_back({at.x(edge.side()), at.from.y - off});
  cloth.points.push_back({at.back() + off, at.from.y - off});
  const double wrap = at.job.shop.rules.wrap.millimetres() * at.mm;
  cloth.points.push_back({at.back() + off, at.from.y + std::min(at.member, wrap)});
  at.sheet.shapes.push_back(cloth);
  const bool screen = at.product.spec.kind == design::Kind::free_screen;
  const bool back = std::any_of(at.product.parts.cloths.begin(), at.product.parts.cloths.end(),
                                [](const auto& one) { return one.name == "back"; });
  if (back)
    at.sheet.shapes.push_back(Line{{at.back() + 0.3, at.from.y + 2},
                                   {at.back() + 0.3, at.bottom()},
                                   {Ink::chalk_blue, screen ? 0.5 : 0.25, Dash::none}});
}

void draw_layer(const SectionPlace& at, Length z, Length thickness, Ink fill, Ink edge) {
  at.sheet.shapes.push_back(drawing::filled_rectangle({at.x(z), at.from.y + at.member},
                                                      {at.x(z + thickness), at.bottom()}, fill,
                                                      {edge, 0.25, Dash::none}));
}

/// Each depth once; returns where the layers end.
std::vector<Length> draw_layers(const SectionPlace& at) {
  std::vector<Length> ends;
  const Length forward = at.product.frame_z;
  for (const auto& board : at.product.boards) {
    const Length end = board.z + board.thickness - forward;
    if (std::find(ends.begin(), ends.end(), end) != ends.end()) continue;
    ends.push_back(end);
    draw_layer(at, board.z - forward, board.thickness, Ink::wool, Ink::moss);
  }
  for (const auto& plate : at.product.plates)
    if (plate.name == "panel") {
      draw_layer(at, plate.z, plate.depth, Ink::corridor, Ink::cedar);
      ends.push_back(plate.z + plate.depth);
    }
  at.sheet.shapes.push_back(Line{{at.back(), at.from.y + at.member},
                                 {at.back(), at.bottom()},
                                 {Ink::graphite, 0.25, Dash::dotted}});
  return ends;
}

/// The corner screws as they lie in this side, dashed.
void draw_screws(const SectionPlace& at) {
  std::vector<double> drawn;
  for (const auto& screw : at.product.screws) {
    if (screw.joint != "each corner" && screw.joint != "corner 1") continue;
    const double z = (screw.at.z - at.product.frame_z.metres()) * 1000 * at.mm;
    if (std::find(drawn.begin(), drawn.end(), z) != drawn.end()) continue;
    drawn.push_back(z);
    const double run = std::min(screw.length_m * 1000 * at.mm, section_height_mm);
    const double head = screw.head_m * 500 * at.mm, x = at.from.x + z;
    at.sheet.shapes.push_back(
        Line{{x, at.from.y}, {x, at.from.y + run}, {Ink::graphite, 0.3, Dash::dashed}});
    at.sheet.shapes.push_back(
        Line{{x - head, at.from.y}, {x + head, at.from.y}, {Ink::graphite, 0.4, Dash::none}});
  }
}

/// The frame's strip with its point down against the wall, and the wall's strip under it.
void draw_cleat(const SectionPlace& at) {
  for (const auto& member : at.product.members) {
    if (member.name != "cleat") continue;
    const double thick = member.depth.millimetres() * at.mm;
    const double strip = member.height.millimetres() * at.mm;
    const double rise =
        thick * std::tan(at.job.shop.rules.cleat_angle_deg * std::numbers::pi / 180);
    const double x0 = at.back() + 0.9, x1 = x0 + thick, y = at.from.y;
    const auto strip_path = [&](std::vector<Vec2> points) {
      at.sheet.shapes.push_back(
          Path{std::move(points), true, {Ink::cedar, 0.3, Dash::none}, true, Ink::corridor, false});
    };
    strip_path({{x0, y}, {x1, y}, {x1, y + strip + rise / 2}, {x0, y + strip - rise / 2}});
    strip_path({{x0, y + strip - rise / 2 + 0.4},
                {x1, y + strip + rise / 2 + 0.4},
                {x1, y + 2 * strip},
                {x0, y + 2 * strip}});
  }
}

void draw_plug(const SectionPlace& at) {
  for (const auto& plate : at.product.plates)
    if (plate.name == "back")
      at.sheet.shapes.push_back(drawing::filled_rectangle(
          {at.x(plate.z), at.from.y}, {at.x(plate.z + plate.depth), at.bottom()}, Ink::corridor,
          {Ink::cedar, 0.3, Dash::none}));
  const double clear = at.job.shop.rules.plug_clearance.millimetres() * at.mm;
  const double end = at.x(at.product.depth);
  Path seal = drawing::filled_rectangle({end - 4, at.from.y - clear}, {end, at.from.y - 0.2},
                                        Ink::cloth, {Ink::graphite, 0.2, Dash::none});
  at.sheet.shapes.push_back(seal);
  Path reveal = drawing::rectangle({at.from.x - 4, at.from.y - clear - 3},
                                   {end + 6, at.from.y - clear}, {Ink::graphite, 0, Dash::none});
  reveal.hatched = true;
  at.sheet.shapes.push_back(reveal);
  at.sheet.shapes.push_back(Line{{at.from.x - 4, at.from.y - clear},
                                 {end + 6, at.from.y - clear},
                                 {Ink::ink, 0.5, Dash::none}});
}

void draw_wall(const SectionPlace& at) {
  const double wall = at.x(at.product.frame_depth + at.product.stand_off) + 0.9;
  at.sheet.shapes.push_back(
      Line{{wall, at.from.y - 3}, {wall, at.bottom()}, {Ink::ink, 0.5, Dash::none}});
  Path hatch = drawing::rectangle({wall, at.from.y - 3}, {wall + 4, at.bottom()},
                                  {Ink::graphite, 0, Dash::none});
  hatch.hatched = true;
  at.sheet.shapes.push_back(hatch);
}

/// A screen from the side, standing on its foot.
void screen_side(const SectionPlace& at, Vec2 from) {
  const auto& product = at.product;
  const double scale =
      drawing::fitting_scale(product.depth.metres(), product.height.metres(), 29, 68);
  const double mm = 1000 / scale, floor = from.y + product.height.metres() * mm;
  at.sheet.shapes.push_back(
      Text{{from.x, at.from.y - 5}, "Side, 1:" + fixed(scale, 0), 3, true, {}, 0, Ink::ink});
  for (const auto& member : product.members) {
    const double x = from.x + member.z.metres() * mm, y = floor - member.y.metres() * mm;
    at.sheet.shapes.push_back(drawing::filled_rectangle(
        {x, y - member.height.metres() * mm}, {x + member.depth.metres() * mm, y}, Ink::corridor,
        {Ink::cedar, 0.25, Dash::none}));
  }
  at.sheet.shapes.push_back(Line{{from.x - 3, floor},
                                 {from.x + product.depth.metres() * mm + 3, floor},
                                 {Ink::ink, 0.5, Dash::none}});
  drawing::marks_below(
      at.sheet, {{from.x, 0}, scale}, floor + 3,
      {{0, "0"},
       {product.frame_z.metres(), print_dimension(product.frame_z, at.job.region.units)},
       {product.depth.metres(), print_dimension(product.depth, at.job.region.units)}});
}

}  // namespace

void edge_section(drawing::Sheet& sheet, const job::Job& job, const design::Product& product,
                  Vec2 from, double scale) {
  const double mm = 1 / scale;
  const Units& units = job.region.units;
  const SectionPlace at{sheet,   job,
                        product, from,
                        mm,      job.shop.timber.at(product.spec.timber).width.millimetres() * mm};
  draw_timber(at);
  const std::vector<Length> ends = draw_layers(at);
  draw_screws(at);
  const design::Kind kind = product.spec.kind;
  if (kind == design::Kind::window_plug) draw_plug(at);
  draw_cloth(at);
  draw_cleat(at);
  if (design::hangs(kind) && kind != design::Kind::straddling_trap) draw_wall(at);
  std::vector<drawing::Mark> marks = {{0, "0"}};
  const auto mark = [&](Length z) { marks.push_back({z.metres(), print_dimension(z, units)}); };
  for (const Length end : ends) mark(end);
  mark(product.frame_depth);
  if (kind == design::Kind::window_plug) mark(product.depth);
  if (product.stand_off > Length()) mark(product.frame_depth + product.stand_off);
  drawing::marks_below(sheet, {{from.x, 0}, scale}, from.y + section_height_mm + 3, marks);
  if (kind == design::Kind::free_screen) screen_side(at, {from.x + 30, from.y});
}

std::string edge_sentence(const design::Product& product, const Units& units) {
  const design::EdgeSpec& edge = product.edge;
  std::string out = "Edge: ";
  if (edge.shape == design::EdgeShape::chamfer) {
    out += fixed(edge.angle_deg, edge.angle_deg == std::floor(edge.angle_deg) ? 0 : 1) +
           "° chamfer of " + print_length(edge.size, units);
    if (edge.side() != edge.face())
      out += " on the face, " + print_fine(edge.side(), units) + " down the side";
  } else {
    out += (edge.shape == design::EdgeShape::cove ? "cove" : "round-over") +
           std::string(" of radius ") + print_length(edge.size, units);
  }
  return out + ", " + std::to_string(product.router_passes) +
         (product.router_passes == 1 ? " pass" : " passes") + " on each side; the cloth runs " +
         print_length(product.cloth_path, units) + " over it.";
}

}  // namespace roomwright::papers
