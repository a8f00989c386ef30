// Drawings to hang from: each wall and the ceiling with every piece dimensioned from one datum, and
// the list of what hangs where.
#include <algorithm>
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
  label_at(sheet, {words.x, middle}, hang.label, 3.4, true);
  label_at(sheet, {words.x, middle + 4},
           drawing::fitted(print_mass(hang.mass_kg, units), 2.4, room - 1), 2.4, false,
           Ink::graphite);
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
