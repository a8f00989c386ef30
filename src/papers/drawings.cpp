// Drawings to build from: each product from the front with its section and parts.
#include <algorithm>
#include <cmath>
#include <map>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Frame;
using drawing::Ink;
using drawing::Path;
using drawing::Text;

std::string scale_name(double scale) {
  return "1:" + fixed(scale, 0);
}

void label_at(drawing::Sheet& sheet, Vec2 at, const std::string& text, double size, bool bold,
              Ink ink) {
  sheet.shapes.push_back(Text{at, text, size, bold, Anchor::centre, 0, ink});
}

namespace {

void title_of_view(drawing::Sheet& sheet, Vec2 at, const std::string& text) {
  sheet.shapes.push_back(Text{at, text, 3, true, Anchor::left, 0, Ink::ink});
}

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
  label_at(sheet, {from.x + face / 6, from.y + face + 5},
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

}  // namespace roomwright::papers
