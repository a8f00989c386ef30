// Drawings to build and hang from: each product with its section and parts, each wall and the
// ceiling with every piece dimensioned from one datum.
#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Frame;
using drawing::Ink;
using drawing::Line;
using drawing::Path;
using drawing::Text;

namespace {

std::string scale_name(double scale) {
  return "1:" + fixed(scale, 0);
}

void label(drawing::Sheet& sheet, Vec2 at, const std::string& text, double size, bool bold,
           Ink ink = Ink::ink) {
  sheet.shapes.push_back(Text{at, text, size, bold, Anchor::centre, 0, ink});
}

void title_of_view(drawing::Sheet& sheet, Vec2 at, const std::string& text) {
  sheet.shapes.push_back(Text{at, text, 3, true, Anchor::left, 0, Ink::ink});
}

// ---- products -------------------------------------------------------------------------------

void draw_box(drawing::Sheet& sheet, const Frame& frame, double x, double y, double w, double h,
              Ink fill, drawing::Pen pen) {
  const Vec2 a = frame.to_sheet({x, y + h}), b = frame.to_sheet({x + w, y});
  sheet.shapes.push_back(drawing::filled_rectangle(a, b, fill, pen));
}

/// The drilled grid, where its holes are large enough on paper to be seen.
void draw_holes(drawing::Sheet& sheet, const design::Product& product, const Frame& frame) {
  if (!product.spec.tuned || product.spec.tuned->front != design::Front::perforated) return;
  for (const auto& hole : design::holes_of(product)) {
    const double half = product.spec.tuned->hole.metres() / 2;
    draw_box(sheet, frame, hole.x - half, hole.y - half, 2 * half, 2 * half, Ink::ink,
             {Ink::ink, 0, Dash::none});
  }
}

/// Plates and members whose edges the front view dimensions: not each of a grid's hundred blocks,
/// and of a diffuser's fins those of the first period.
std::vector<std::array<Length, 4>> dimensioned(const design::Product& product) {
  std::vector<std::array<Length, 4>> out;
  if (product.spec.custom)  // the outline's corners
    for (const auto& side : product.sides)
      out.push_back({Length::from_m(side.from.x), Length::from_m(side.from.y), Length(), Length()});
  for (const auto& member : product.members)
    if (!product.spec.custom && member.name != "block" && member.name.rfind("cleat", 0) != 0)
      out.push_back({member.x, member.y, member.width, member.height});
  const int wells = product.sound.wells ? product.sound.wells->columns() : 0;
  int fins = 0;
  for (const auto& plate : product.plates)
    if (plate.name == "side" || plate.name == "end" || (plate.name == "fin" && fins++ <= wells))
      out.push_back({plate.x, plate.y, plate.width, plate.height});
  return out;
}

/// A member or board by its outline, else its box.
template <class Part>
void draw_outlined(drawing::Sheet& sheet, const Frame& frame, const Part& part, Ink fill,
                   drawing::Pen pen) {
  if (part.outline.empty()) {
    draw_box(sheet, frame, part.x.metres(), part.y.metres(), part.width.metres(),
             part.height.metres(), fill, pen);
    return;
  }
  Path path{{}, true, pen, true, fill, false};
  for (const auto& [x, y] : part.outline)
    path.points.push_back(frame.to_sheet({x.metres(), y.metres()}));
  sheet.shapes.push_back(path);
}

/// What lies behind the frame: its edges alone.
void draw_hidden(drawing::Sheet& sheet, const Frame& frame, const design::Member& member,
                 drawing::Pen pen) {
  const double x = member.x.metres(), y = member.y.metres();
  sheet.shapes.push_back(drawing::rectangle(frame.to_sheet({x, y + member.height.metres()}),
                                            frame.to_sheet({x + member.width.metres(), y}), pen));
}

/// The frame's outline, and the line at which the face's flat part begins.
void draw_sides(drawing::Sheet& sheet, const Frame& frame, const design::Product& product) {
  if (product.sides.empty()) return;
  const double face = product.edge.face().metres();
  Path outer{{}, true, {Ink::ink, 0.4, Dash::none}, false, Ink::paper, false};
  Path inner{{}, true, {Ink::graphite, 0.15, Dash::none}, false, Ink::paper, false};
  for (std::size_t i = 0; i < product.sides.size(); ++i) {
    const auto& side = product.sides[i];
    const auto& before = product.sides[(i + product.sides.size() - 1) % product.sides.size()];
    outer.points.push_back(frame.to_sheet({side.from.x, side.from.y}));
    // Both offsets meet on the corner's bisector.
    const Vec3 sum = side.inward + before.inward;
    const Vec3 in = sum * (face / (1 + dot(side.inward, before.inward)));
    inner.points.push_back(frame.to_sheet({side.from.x + in.x, side.from.y + in.y}));
  }
  sheet.shapes.push_back(outer);
  if (face > 0) sheet.shapes.push_back(inner);
}

/// Front view: members as timber, boards behind the cloth as wool.
void front_view(drawing::Sheet& sheet, const design::Product& product, const Units& units,
                const Frame& frame) {
  const double w = product.width.metres(), h = product.height.metres();
  if (product.spec.plug)  // its back sheet lies behind the wool
    draw_box(sheet, frame, 0, 0, w, h, Ink::corridor, {Ink::cedar, 0.2, Dash::none});
  if (product.spec.kind == design::Kind::solid_trap) {
    draw_box(sheet, frame, 0, 0, w, h, Ink::wool, {Ink::ink, 0.35, Dash::none});
  } else {
    for (const auto& board : product.boards)
      draw_outlined(sheet, frame, board, Ink::wool, {Ink::moss, 0.15, Dash::dashed});
  }
  // Back to front, so that what stands before hides what lies behind.
  for (const char* name : {"back", "spacer", "well bottom", "side", "end", "fin", "front", "slat"})
    for (const auto& plate : product.plates)
      if (plate.name == name && !product.spec.plug)
        draw_box(sheet, frame, plate.x.metres(), plate.y.metres(), plate.width.metres(),
                 plate.height.metres(), plate.name == "well bottom" ? Ink::paper : Ink::corridor,
                 {Ink::cedar, 0.2, Dash::none});
  draw_holes(sheet, product, frame);
  for (const auto& member : product.members) {
    const bool behind = member.name == "spine" || member.name.rfind("cleat", 0) == 0;
    const drawing::Pen pen{Ink::cedar, 0.3, behind ? Dash::dashed : Dash::none};
    if (member.in_plan)
      draw_box(sheet, frame, member.x.metres(), member.y.metres(), member.width.metres(),
               member.height.metres(), Ink::corridor, pen);
    else if (behind)
      draw_hidden(sheet, frame, member, pen);
    else
      draw_outlined(sheet, frame, member, Ink::corridor, pen);
  }
  const Vec2 a = frame.to_sheet({0, h}), b = frame.to_sheet({w, 0});
  if (product.sides.empty())
    sheet.shapes.push_back(drawing::rectangle(a, b, {Ink::ink, 0.4, Dash::none}));
  draw_sides(sheet, frame, product);
  std::vector<drawing::Mark> across, up;
  across.push_back({0, "0"});
  up.push_back({0, "0"});
  for (const auto& [x, y, width, height] : dimensioned(product)) {
    for (const Length edge : {x, x + width})
      across.push_back({edge.metres(), print_dimension(edge, units)});
    for (const Length edge : {y, y + height})
      up.push_back({edge.metres(), print_dimension(edge, units)});
  }
  across.push_back({w, print_dimension(product.width, units)});
  up.push_back({h, print_dimension(product.height, units)});
  drawing::marks_below(sheet, frame, b.y + 3, across);
  drawing::marks_left(sheet, frame, a.x - 3, up);
}

constexpr double section_most_mm = 84;

/// A horizontal cut through a box or a row of wells, its front to the left.
void plates_section(drawing::Sheet& sheet, const design::Product& product, const Units& units,
                    Vec2 from, double scale) {
  const double mm = 1 / scale;
  const double most = section_most_mm;  // a wide piece shows its first part
  const auto box = [&](Length across, Length wide, Length z, Length depth, Ink fill, Ink edge) {
    const double y0 = across.millimetres() * mm;
    const double y1 = std::min(most, y0 + wide.millimetres() * mm);
    if (y0 >= most) return;
    sheet.shapes.push_back(drawing::filled_rectangle(
        {from.x + z.millimetres() * mm, from.y + y0},
        {from.x + (z + depth).millimetres() * mm, from.y + y1}, fill, {edge, 0.25, Dash::none}));
  };
  const bool slats = std::any_of(product.plates.begin(), product.plates.end(),
                                 [](const design::Plate& plate) { return plate.name == "slat"; });
  for (const auto& board : product.boards)
    if (slats || board.y <= product.boards.front().y)
      box(slats ? board.y : board.x, slats ? board.height : board.width, board.z, board.thickness,
          Ink::wool, Ink::moss);
  for (const auto& plate : product.plates) {
    // Slats lie across: their section is the upright one.
    if (slats ? plate.name == "side" : plate.name == "end") continue;
    box(slats ? plate.y : plate.x, slats ? plate.height : plate.width, plate.z, plate.depth,
        Ink::corridor, Ink::cedar);
  }
  for (const auto& member : product.members)
    if (member.y == Length())
      box(member.x, member.width, member.z, member.depth, Ink::corridor, Ink::cedar);
  std::vector<drawing::Mark> marks = {
      {0, "0"}, {product.depth.metres(), print_dimension(product.depth, units)}};
  for (const auto& plate : product.plates)
    for (const Length edge : {plate.z, plate.z + plate.depth})
      marks.push_back({edge.metres(), print_dimension(edge, units)});
  Frame frame{{from.x, 0}, scale};
  const double reached =
      std::min(most, (slats ? product.height : product.width).millimetres() * mm);
  drawing::marks_below(sheet, frame, from.y + reached + 3, marks);
}

/// Plan of a solid trap, its face to the left.
void prism_view(drawing::Sheet& sheet, const design::Product& product, const Units& units,
                Vec2 from, double scale) {
  const double mm = 1 / scale;  // sheet mm for a model mm
  const double face = product.width.millimetres() * mm;
  Path prism{{{from.x, from.y}, {from.x, from.y + face}, {from.x + face / 2, from.y + face / 2}},
             true,
             {Ink::ink, 0.35, Dash::none},
             true,
             Ink::wool,
             false};
  sheet.shapes.push_back(prism);
  for (const auto& member : product.members) {
    Path stick{{}, true, {Ink::cedar, 0.3, Dash::none}, true, Ink::corridor, false};
    const auto put = [&](Length x, Length z) {
      stick.points.push_back({from.x + z.millimetres() * mm, from.y + x.millimetres() * mm});
    };
    for (const auto& [x, z] : member.outline) put(x, z);
    if (member.outline.empty())
      for (const auto& [right, back] : {std::pair{0, 0}, {1, 0}, {1, 1}, {0, 1}})
        put(member.x + member.width * right, member.z + member.depth * back);
    sheet.shapes.push_back(stick);
  }
  label(sheet, {from.x + face / 6, from.y + face + 5},
        print_dimension(product.width, units) + " across the corner", 2.6, false);
}

/// What the shop file calls an entry; its key where it has none.
template <class T>
std::string entry_name(const std::map<std::string, T>& entries, const std::string& key) {
  const auto at = entries.find(key);
  return at == entries.end() ? key : at->second.name;
}

std::vector<Cells> part_rows(const design::Product& product, const shop::Shop& shop,
                             const Units& units) {
  std::vector<Cells> rows;
  const auto add = [&](const std::string& name, int count, const std::string& size,
                       const std::string& of) {
    for (auto& row : rows)
      if (row[0] == name && row[2] == size && row[3] == of) {
        row[1] = std::to_string(std::stoi(row[1]) + count);
        return;
      }
    rows.push_back({name, std::to_string(count), size, of});
  };
  for (const auto& stick : product.parts.sticks)
    add(stick.name, stick.count, print_length(stick.length, units),
        entry_name(shop.timber, stick.section));
  for (const auto& board : product.parts.boards)
    add(board.name, board.count,
        print_dimension(board.width, units) + " × " + print_length(board.height, units) +
            (board.triangle ? ", half" : ""),
        entry_name(shop.boards, board.board));
  for (const auto& sheet : product.parts.sheets)
    add(sheet.name, sheet.count,
        print_dimension(sheet.width, units) + " × " + print_length(sheet.height, units) +
            (sheet.triangle ? ", half" : ""),
        entry_name(shop.sheets, sheet.sheet));
  for (const auto& cloth : product.parts.cloths)
    add(cloth.name + " cloth", cloth.count,
        print_dimension(cloth.across, units) + " across × " + print_length(cloth.along, units) +
            " along",
        entry_name(shop.cloths, cloth.cloth));
  return rows;
}

/// What it takes of screws, staples, glue and the like, in one line.
std::string hardware_line(const design::Product& product, const shop::Shop& shop) {
  std::string out;
  for (const auto& part : product.parts.hardware) {
    const auto at = shop.hardware.find(part.hardware);
    const std::string unit = at == shop.hardware.end() ? "each" : at->second.unit;
    out += (out.empty() ? "Hardware: " : "; ") +
           fixed(part.count, part.count == std::floor(part.count) ? 0 : 1) +
           (unit == "each" ? " × " : " " + unit + " ") + entry_name(shop.hardware, part.hardware);
  }
  return out.empty() ? out : out + ".";
}

int pieces_of(const job::Job& job, const std::string& product) {
  return static_cast<int>(
      std::count_if(job.pieces.begin(), job.pieces.end(),
                    [&](const job::Piece& piece) { return piece.product == product; }));
}

std::string product_sentence(const job::Job& job, const design::Product& product) {
  const Units& units = job.region.units;
  const std::string kind = design::kind_title(product.spec.kind);
  return std::to_string(pieces_of(job, product.spec.key)) + " × " + product.spec.name +
         (product.spec.name == kind ? "" : ": " + kind) + ", " +
         print_dimension(product.width, units) + " × " + print_dimension(product.height, units) +
         " × " + print_length(product.depth, units) + ", " + print_mass(product.mass_kg(), units) +
         (product.two_people ? ", two people lift it." : ".");
}

/// Every fault; of what is clear the tightest of its sort.
void bench_checks(Flow& flow, const design::Product& product) {
  const auto sort_of = [](const design::BenchCheck& check) {
    return check.what.substr(0, check.what.find(' ')) +
           (check.what.find("router") != std::string::npos ? " router" : "");
  };
  for (const auto& check : product.checks) {
    const bool tightest = std::none_of(
        product.checks.begin(), product.checks.end(), [&](const design::BenchCheck& other) {
          const bool first = &other < &check ? other.clearance <= check.clearance
                                             : other.clearance < check.clearance;
          return other.ok && sort_of(other) == sort_of(check) && first;
        });
    if (!check.ok) flow.bullet("Fault: " + check.sentence);
    if (check.ok && tightest) flow.bullet(check.sentence);
  }
}

/// What can hurt stands first, so that it is never left alone on a page. Where all does not fit on
/// one page, the checks get the second.
void product_page(Flow& flow, const job::Job& job, const design::Product& product, double scale,
                  bool two_pages) {
  const Units& units = job.region.units;
  flow.finding(product_sentence(job, product));
  std::string cautions;
  for (const auto& caution : product.cautions) cautions += (cautions.empty() ? "" : " ") + caution;
  if (!cautions.empty()) flow.caution(cautions);
  const double front_mm = product.height.metres() * 1000 / scale + 34;
  const bool boxed = product.spec.tuned || product.spec.wells;
  const double section_mm =
      !boxed ? 98 : std::min(section_most_mm, product.width.millimetres() / 10) + 36;
  flow.picture(std::clamp(std::max(front_mm, section_mm), 60.0, 118.0), [&](drawing::Sheet& sheet,
                                                                            Vec2 from, Vec2 to) {
    (void)to;
    title_of_view(sheet, {from.x, from.y + 3}, "Front, cloth off");
    const double h = product.height.metres() * 1000 / scale;
    const Frame frame{{from.x + 26, from.y + 8 + h}, scale};
    front_view(sheet, product, units, frame);
    const double section = 5;
    const Vec2 at{from.x + 118, from.y + 14};
    if (boxed) {
      const double cut = std::max(section, std::min(scale, 10.0));
      const bool slotted =
          product.spec.tuned && product.spec.tuned->front == design::Front::slotted;
      title_of_view(
          sheet, {at.x, from.y + 3},
          std::string(slotted ? "Upright section, " : "Section from above, ") + scale_name(cut));
      plates_section(sheet, product, units, at, cut);
      return;
    }
    if (product.spec.kind == design::Kind::solid_trap) {
      title_of_view(sheet, {at.x, from.y + 3}, "Plan, from above, " + scale_name(scale));
      prism_view(sheet, product, units, at, scale);
      return;
    }
    title_of_view(sheet, {at.x, from.y + 3}, "Section at the edge, " + scale_name(section));
    edge_section(sheet, job, product, at, section);
  });
  flow.table({{"part", 1.4, Align::left},
              {"count", 0.6, Align::right},
              {"size", 2.6, Align::left},
              {"of", 2.4, Align::left}},
             part_rows(product, job.shop, units), 2.7);
  if (const std::string line = hardware_line(product, job.shop); !line.empty()) flow.bullet(line);
  if (product.router_passes > 0) flow.bullet(edge_sentence(product, units));
  for (const auto& line : product.making) flow.bullet(line);
  if (two_pages) {
    flow.new_page();
    flow.heading("Checks at the bench: " + product.spec.name);
  }
  bench_checks(flow, product);
}

}  // namespace

Paper product_paper(const job::Job& job, const job::Pack& pack) {
  Paper paper{"06-shop-drawings", "Shop drawings", {}, true, {}};
  Flow flow(job, {"Shop drawings", units_name(job), "", true, false});
  bool first = true;
  for (const design::Product& product : pack.treatment.products) {
    if (pieces_of(job, product.spec.key) == 0) continue;
    const double scale =
        drawing::fitting_scale(product.width.metres(), product.height.metres(), 84, 88);
    if (!first) flow.new_page();
    flow.set_scale(scale_name(scale));
    first = false;
    Flow trial(job, {"Shop drawings", units_name(job), "", true, false});
    product_page(trial, job, product, scale, false);
    product_page(flow, job, product, scale, trial.finish().size() > 1);
  }
  paper.sheets = flow.finish();
  paper.scales = flow.scales();
  return paper;
}

namespace {

// ---- elevations -----------------------------------------------------------------------------

/// One surface seen from inside the room; x runs to the right as one faces it.
struct View {
  const job::Job& job;
  int surface = 0;
  double run_m = 0;
  bool wall() const { return surface >= 2; }
  double x(double u) const { return wall() ? run_m - u : u; }
};

Path outline_of(const View& view, const Frame& frame) {
  Path path;
  path.closed = true;
  path.pen = {Ink::ink, 0.5, Dash::none};
  for (const Vec2& uv : acoustics::surface_outline(view.job.room, view.surface))
    path.points.push_back(frame.to_sheet({view.x(uv.x), uv.y}));
  return path;
}

void draw_features(drawing::Sheet& sheet, const View& view, const Frame& frame) {
  for (const auto& feature : view.job.features) {
    if (feature.surface != view.surface) continue;
    const double x0 = std::min(view.x(feature.from_u.metres()), view.x(feature.to_u.metres()));
    const double x1 = std::max(view.x(feature.from_u.metres()), view.x(feature.to_u.metres()));
    const Vec2 a = frame.to_sheet({x0, feature.to_v.metres()}),
               b = frame.to_sheet({x1, feature.from_v.metres()});
    const double clear = feature.keep_clear.metres() * 1000 / frame.scale;
    sheet.shapes.push_back(drawing::rectangle(
        {a.x - clear, a.y - clear}, {b.x + clear, b.y + clear}, {Ink::madder, 0.15, Dash::dotted}));
    Path box = drawing::rectangle(a, b, {Ink::graphite, 0.25, Dash::dashed});
    sheet.shapes.push_back(box);
    const bool plugged =
        std::any_of(view.job.pieces.begin(), view.job.pieces.end(),
                    [&](const job::Piece& piece) { return piece.window == feature.label; });
    if (plugged) continue;  // the plug's own mark stands there
    const bool inside = drawing::text_width_mm(feature.label, 2.3) < b.x - a.x - 1;
    sheet.shapes.push_back(Text{{(a.x + b.x) / 2, inside ? (a.y + b.y) / 2 + 0.8 : a.y - clear - 1},
                                feature.label,
                                2.3,
                                false,
                                Anchor::centre,
                                0,
                                Ink::graphite});
  }
}

struct Marks {
  std::vector<drawing::Mark> across, up;
};

/// Where an outline has the most room for words: its middle where that lies inside, else a point
/// far from every side; and how wide they may be.
std::pair<Vec2, double> roomiest(const Polygon& outline, Vec2 middle) {
  Vec2 low = outline[0], high = outline[0];
  for (const Vec2& p : outline) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  constexpr int steps = 24;
  Vec2 best = middle;
  double most = contains(outline, middle) ? distance_to_edge(outline, middle) : 0;
  for (int i = 1; i < steps; ++i)
    for (int k = 1; k < steps; ++k) {
      const Vec2 at{low.x + (high.x - low.x) * i / steps, low.y + (high.y - low.y) * k / steps};
      if (!contains(outline, at)) continue;
      const double room = distance_to_edge(outline, at);
      if (room > most * 1.05 + 0.1) best = at, most = room;
    }
  return {best, 2 * most};
}

void draw_piece(drawing::Sheet& sheet, const View& view, const Frame& frame,
                const job::HangPiece& hang, const design::Footprint& foot, bool trap,
                Marks& marks) {
  const Units& units = view.job.region.units;
  const double x0 = std::min(view.x(foot.from_m.x), view.x(foot.to_m.x)),
               x1 = std::max(view.x(foot.from_m.x), view.x(foot.to_m.x));
  const Vec2 a = frame.to_sheet({x0, foot.to_m.y}), b = frame.to_sheet({x1, foot.from_m.y});
  const drawing::Pen edge{trap ? Ink::moss : Ink::chalk_blue, 0.4, Dash::none};
  Vec2 words{(a.x + b.x) / 2, (a.y + b.y) / 2};
  double room = b.x - a.x;
  if (hang.outline.empty()) {
    sheet.shapes.push_back(drawing::filled_rectangle(a, b, trap ? Ink::wool : Ink::cloth, edge));
  } else {
    Path path{{}, true, edge, true, Ink::cloth, false};
    for (const auto& [x, y] : hang.outline)
      path.points.push_back(frame.to_sheet({x.metres(), y.metres()}));
    sheet.shapes.push_back(path);
    std::tie(words, room) = roomiest(path.points, words);
  }
  const double middle = words.y;
  label(sheet, {words.x, middle}, hang.label, 3.4, true);
  label(sheet, {words.x, middle + 4},
        drawing::fitted(print_mass(hang.mass_kg, units), 2.4, room - 1), 2.4, false, Ink::graphite);
  const auto metres = [&](double m) {
    return drawing::Mark{
        m,
        print_dimension(Length::from_m(m).round_to(units.metric ? 1_mm : sixteenth_inch), units)};
  };
  marks.across.push_back(metres(x0));
  marks.across.push_back(metres(x1));
  marks.up.push_back(metres(foot.from_m.y));
  marks.up.push_back(metres(foot.to_m.y));
}

void draw_fixing_points(drawing::Sheet& sheet, const Frame& frame, const job::HangPiece& hang) {
  for (const auto& point : hang.fixing_points) {
    const Vec2 at = frame.to_sheet({point[0].metres(), point[1].metres()});
    sheet.shapes.push_back(
        Line{{at.x - 1.2, at.y}, {at.x + 1.2, at.y}, {Ink::madder, 0.3, Dash::none}});
    sheet.shapes.push_back(
        Line{{at.x, at.y - 1.2}, {at.x, at.y + 1.2}, {Ink::madder, 0.3, Dash::none}});
  }
}

bool draw_pieces(drawing::Sheet& sheet, const View& view, const Frame& frame, const job::Pack& pack,
                 Marks& marks) {
  bool any = false;
  for (std::size_t i = 0; i < pack.hang.pieces.size(); ++i)
    for (const auto& foot : pack.treatment.pieces[i].placement.footprints)
      if (foot.surface == view.surface) {
        const bool trap = view.job.pieces[i].corner >= 0;
        draw_piece(sheet, view, frame, pack.hang.pieces[i], foot, trap, marks);
        if (!trap) draw_fixing_points(sheet, frame, pack.hang.pieces[i]);
        any = true;
      }
  return any;
}

struct Extent {
  double x0 = 1e9, x1 = -1e9, y0 = 1e9, y1 = -1e9;
};

void surface_page(Flow& flow, const job::Job& job, const job::Pack& pack, int surface, double scale,
                  const Extent& extent) {
  const Units& units = job.region.units;
  View view{job, surface, surface >= 2 ? acoustics::wall_length_m(job.room, surface) : 0};
  const std::string name = acoustics::surface_name(job.room, surface);
  flow.finding(view.wall()    ? name + ", seen from inside the room"
               : surface == 0 ? "Floor, drawn as seen from above"
                              : "Ceiling, drawn as seen from above");
  flow.paragraph(view.wall() ? "Datum: left-hand finished wall and floor. Crosses are fixing "
                               "points; dotted red is kept clear."
                             : "Datum: the plan's origin, corner 0. Crosses are fixing points; "
                               "dotted red is kept clear.",
                 2.6, Ink::graphite);
  flow.picture(flow.room_mm(), [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    const double shift = view.wall() ? 0 : extent.x0;
    const double low = view.wall() ? 0 : extent.y0;
    const Frame frame{{from.x + 30 - shift * 1000 / scale,
                       from.y + 6 + (extent.y1 - low) * 1000 / scale + low * 1000 / scale},
                      scale};
    Marks marks;
    const auto datum = [&](double m) {
      return drawing::Mark{
          m,
          print_dimension(Length::from_m(m).round_to(units.metric ? 1_mm : sixteenth_inch), units)};
    };
    sheet.shapes.push_back(outline_of(view, frame));
    draw_features(sheet, view, frame);
    draw_pieces(sheet, view, frame, pack, marks);
    for (const double edge : {view.wall() ? 0.0 : extent.x0, view.wall() ? view.run_m : extent.x1})
      marks.across.push_back(datum(edge));
    for (const double edge : {low, extent.y1}) marks.up.push_back(datum(edge));
    const double bottom = frame.to_sheet({0, low}).y,
                 left = frame.to_sheet({view.wall() ? 0.0 : extent.x0, 0}).x;
    const double reached = drawing::marks_below(sheet, frame, bottom + 4, marks.across);
    drawing::marks_left(sheet, frame, left - 4, marks.up);
    drawing::scale_bar(sheet, {left, std::min(to.y - 2, reached + 9)}, scale, units.metric);
  });
}

Extent extent_of(const job::Job& job, int surface) {
  Extent out;
  for (const Vec2& uv : acoustics::surface_outline(job.room, surface)) {
    out.x0 = std::min(out.x0, uv.x), out.x1 = std::max(out.x1, uv.x);
    out.y0 = std::min(out.y0, uv.y), out.y1 = std::max(out.y1, uv.y);
  }
  return out;
}

void hang_list(Flow& flow, const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  flow.finding(pack.hang.statements.empty() ? "How each piece hangs."
                                            : pack.hang.statements.back().sentence);
  std::vector<Cells> rows;
  for (std::size_t i = 0; i < pack.hang.pieces.size(); ++i) {
    const auto& piece = pack.hang.pieces[i];
    const bool trap = job.pieces[i].corner >= 0;
    rows.push_back(
        {piece.label, piece.product, piece.place,
         trap ? "in the corner" : print_length(piece.left, units),
         print_length(piece.bottom, units),
         print_mass(piece.mass_kg, units) + (piece.two_people ? ", two people" : ""),
         std::to_string(piece.fixing.points), fixed(piece.fixing.load_n, 0) + " N",
         piece.fixing.points == 0 ? (piece.surface == 0 ? "stands" : "pressed in")
         : piece.fixing.safety_factor
             ? fixed(*piece.fixing.safety_factor, 1) + " of " + fixed(piece.fixing.asked_factor, 0)
             : "rated anchors, ÷" + fixed(piece.fixing.asked_factor, 0)});
  }
  flow.table({{"piece", 0.7, Align::left},
              {"product", 1.8, Align::left},
              {"on", 1, Align::left},
              {"left", 1.2, Align::right},
              {"bottom", 1.1, Align::right},
              {"weight", 1.4, Align::right},
              {"points", 0.7, Align::right},
              {"load a point", 1.1, Align::right},
              {"safety factor", 1.5, Align::left}},
             rows, 2.7);
  flow.paragraph(
      "Load a point: as if one of the points had failed. On floor and ceiling left and bottom are "
      "x and "
      "y of the plan.",
      2.6, Ink::graphite);
  flow.heading("The way in");
  for (const auto& check : pack.hang.way_in) flow.bullet(check.sentence);
  if (pack.hang.way_in.empty())
    flow.bullet("No door, stairs or lift was given: measure them before the pieces are made.");
  flow.heading("Cautions");
  for (const auto& caution : pack.hang.cautions) flow.caution(caution);
}

}  // namespace

Paper elevation_paper(const job::Job& job, const job::Pack& pack) {
  Paper paper{"07-elevations", "Elevations and fixings", {}, true, {}};
  Flow flow(job, {"Elevations and fixings", units_name(job), "", false, false}, true);
  hang_list(flow, job, pack);
  for (int surface = 0; surface < acoustics::surface_count(job.room); ++surface) {
    const bool used =
        std::any_of(pack.treatment.pieces.begin(), pack.treatment.pieces.end(),
                    [&](const job::PieceRow& piece) {
                      return std::any_of(
                          piece.placement.footprints.begin(), piece.placement.footprints.end(),
                          [&](const design::Footprint& foot) { return foot.surface == surface; });
                    });
    if (!used) continue;
    const Extent extent = extent_of(job, surface);
    const double scale = drawing::fitting_scale(extent.x1 - extent.x0, extent.y1 - extent.y0,
                                                flow.width_mm() - 40, 105);
    flow.new_page(scale_name(scale));
    surface_page(flow, job, pack, surface, scale, extent);
  }
  paper.sheets = flow.finish();
  paper.scales = flow.scales();
  return paper;
}

}  // namespace roomwright::papers
