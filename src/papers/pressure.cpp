// Maps of pressure: the room unfolded at one scale, today and with the pieces, what the shades
// mean, and the surfaces ranked by what a trap that pressure drives would meet.
#include <algorithm>
#include <cmath>

#include "papers/level_map.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Text;

namespace {

constexpr double gap_mm = 4, caption_mm = 5, below_mm = 2.5;

struct Placed {
  std::size_t map = 0;
  Vec2 from_mm;
};
struct Layout {
  std::vector<Placed> places;
  double scale = 50, width_mm = 0, height_mm = 0;
};

/// The walls as they stand when the room is unrolled: each one's right-hand end is the left-hand
/// end of the next.
std::vector<std::size_t> unrolled(const job::PressureRoom& room) {
  const std::size_t walls = room.maps.size() - 3;
  std::vector<std::size_t> out{2};
  for (std::size_t w = walls; w-- > 1;) out.push_back(2 + w);
  return out;
}

Vec2 map_mm(const job::PressureMap& map, double scale) {
  return (map.to_m - map.from_m) * (1000 / scale);
}

/// Rows no wider than that; what stands in one row stands on one line. Gives the rows.
int lay_rows(const job::PressureRoom& room, const std::vector<std::size_t>& order, double gap,
             double width_mm, Layout& out) {
  double x = 0;
  int rows = 0;
  std::vector<Placed> row;
  const auto end_row = [&] {
    double high = 0;
    for (const Placed& one : row) high = std::max(high, map_mm(room.maps[one.map], out.scale).y);
    for (Placed& one : row) {
      one.from_mm.y = out.height_mm + high - map_mm(room.maps[one.map], out.scale).y;
      out.places.push_back(one);
    }
    out.height_mm += high + caption_mm + below_mm;
    row.clear(), x = 0, ++rows;
  };
  for (const std::size_t map : order) {
    const double wide = map_mm(room.maps[map], out.scale).x;
    if (!row.empty() && x + wide > width_mm + 1e-6) end_row();
    row.push_back({map, {x, 0}});
    out.width_mm = std::max(out.width_mm, x + wide);
    x += wide + gap;
  }
  end_row();
  return rows;
}

/// The largest named scale at which it fits, the walls in one row if that is not too small.
Layout layout_for(const job::PressureRoom& room, double width_mm, double height_mm) {
  constexpr double smallest_one_row = 150;
  Layout out;
  for (const double scale :
       {20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 125.0, 150.0, 200.0, 300.0}) {
    out = {};
    out.scale = scale;
    lay_rows(room, {room.maps.size() - 1, 0, 1}, gap_mm, width_mm, out);
    const int rows = lay_rows(room, unrolled(room), 0, width_mm, out);
    if (out.height_mm <= height_mm && out.width_mm <= width_mm + 1e-6 &&
        (rows == 1 || scale > smallest_one_row))
      break;
  }
  return out;
}

void draw_pieces(drawing::Sheet& sheet, const job::Treatment& treatment,
                 const job::PressureMap& map, const MapFrame& frame) {
  for (const auto& piece : treatment.pieces)
    for (const auto& foot : piece.placement.footprints) {
      if (foot.surface != map.surface) continue;
      const Vec2 a = frame.to_sheet(foot.from_m), b = frame.to_sheet(foot.to_m);
      const Vec2 low{std::min(a.x, b.x), std::min(a.y, b.y)},
          high{std::max(a.x, b.x), std::max(a.y, b.y)};
      sheet.shapes.push_back(drawing::rectangle(low, high, {Ink::paper, 0.9, Dash::none}));
      sheet.shapes.push_back(drawing::rectangle(low, high, {Ink::cedar, 0.4, Dash::none}));
    }
}

/// Loudspeakers as squares, seats as rings, on the plane.
void draw_places(drawing::Sheet& sheet, const job::Job& job, const MapFrame& frame) {
  const auto at = [&](const job::Point& point) {
    return frame.to_sheet({point.x.metres(), point.y.metres()});
  };
  for (const auto& one : job.loudspeakers) {
    const Vec2 middle = at(one.at), half{1.1, 1.1};
    sheet.shapes.push_back(drawing::filled_rectangle(middle - half, middle + half, Ink::ink,
                                                     {Ink::paper, 0.3, Dash::none}));
  }
  for (const auto& one : job.seats) {
    sheet.shapes.push_back(drawing::Circle{at(one.at), 1.4, {Ink::paper, 0.9, Dash::none}, false});
    sheet.shapes.push_back(drawing::Circle{at(one.at), 1.4, {Ink::ink, 0.4, Dash::none}, false});
  }
}

/// A cross where the pressure is greatest.
void draw_most(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame) {
  if (map.most.kind.empty()) return;
  const Vec2 box = frame.size_mm();
  Vec2 at = frame.to_sheet(map.most.at_m);
  at.x = std::clamp(at.x, frame.from_mm.x + 1.3, frame.from_mm.x + box.x - 1.3);
  at.y = std::clamp(at.y, frame.from_mm.y + 1.3, frame.from_mm.y + box.y - 1.3);
  for (const auto& [ink, width] : {std::pair{Ink::ink, 0.9}, {Ink::paper, 0.4}})
    for (const Vec2 arm : {Vec2{0.9, 0.9}, Vec2{0.9, -0.9}})
      sheet.shapes.push_back(drawing::Line{at - arm, at + arm, {ink, width, Dash::none}});
}

/// A level or a difference with a true minus.
std::string signed_text(double value, int digits) {
  const std::string text = fixed(value, digits);
  return text[0] == '-' ? "−" + text.substr(1) : text;
}

/// As much of it as there is room for under a map.
std::string caption_of(const job::PressureMap& map, const std::string& plane, double width_mm) {
  if (map.surface < 0) return drawing::fitted(plane, 2.5, width_mm);
  for (const std::string& text : {map.name + "  ×" + fixed(map.share, 1), map.name})
    if (drawing::text_width_mm(text, 2.5) < width_mm) return text;
  return map.surface < 2 ? "" : map.name.substr(4);  // the wall's number
}

void draw_room(drawing::Sheet& sheet, const job::Job& job, const job::Treatment& treatment,
               const job::PressureReport& report, const job::PressureRoom& room,
               const Layout& layout, Vec2 from) {
  for (const Placed& one : layout.places) {
    const job::PressureMap& map = room.maps[one.map];
    const MapFrame frame = map_frame(map, from + one.from_mm, layout.scale);
    draw_level_map(sheet, map, frame);
    if (room.treated) draw_pieces(sheet, treatment, map, frame);
    draw_outline(sheet, map, frame);
    if (map.surface < 0) draw_places(sheet, job, frame);
    draw_most(sheet, map, frame);
    const std::string plane =
        "plane, " + print_room_length(report.plane_m, job.region.units) + " up";
    const Vec2 size = frame.size_mm();
    sheet.shapes.push_back(Text{frame.from_mm + Vec2{size.x / 2, size.y + 3.6},
                                caption_of(map, plane, size.x), 2.5, false, Anchor::centre, 0,
                                Ink::graphite});
  }
}

bool has_bodies(const job::PressureAt& at) {
  for (const auto& room : at.rooms)
    for (const auto& map : room.maps)
      for (const auto what : map.what)
        if (what == job::PressurePlace::body) return true;
  return false;
}

std::string hz_words(double hz) {
  return fixed(hz, hz == std::round(hz) ? 0 : 1) + " Hz";
}

std::string state_words(const job::PressureRoom& room) {
  return std::string(room.treated ? "With the pieces" : "Today") + ": greatest " +
         signed_text(room.greatest_db, 1) + " dB, the room's mean " + signed_text(room.mean_db, 1) +
         " dB";
}

constexpr const char* how_to_read =
    "Walls as one faces them, unrolled so that neighbours meet; plane, floor and ceiling as the "
    "plan lies. A cross: the greatest of that map. Behind a name: its mean square over the room's. "
    "On the plane squares are loudspeakers, rings seats; outlined are pieces.";

std::string reference_words(const job::PressureReport& report, const job::PressureAt& at) {
  return "Sound of " + report.loudspeaker + ". 0 dB: the greatest on the surfaces" +
         (at.rooms.size() > 1 ? ", today and with the pieces" : "") + "; it is " +
         fixed(at.reference_db, 1) + " dB over one loudspeaker's direct sound at 1 m." +
         (at.resonance.empty() ? "" : " Nearest resonance: " + at.resonance + ".");
}

void surfaces_table(Flow& flow, const job::PressureAt& at) {
  std::vector<Cells> rows;
  for (const std::size_t m : at.rooms[0].order) {
    const auto& today = at.rooms[0].maps[m];
    Cells row{today.name, fixed(today.share, 2), signed_text(today.most.level_db, 1),
              today.most.words};
    if (at.rooms.size() > 1) {
      row.insert(row.begin() + 2, fixed(at.rooms[1].maps[m].share, 2));
      row.insert(row.begin() + 4, signed_text(at.rooms[1].maps[m].most.level_db, 1));
    }
    rows.push_back(row);
  }
  std::vector<Column> columns{{"surface", 1, Align::left},
                              {"share today", 1, Align::right},
                              {"greatest, dB", 1, Align::right},
                              {"where, today", 4, Align::left}};
  if (at.rooms.size() > 1) {
    columns.insert(columns.begin() + 2, {"treated", 0.8, Align::right});
    columns.insert(columns.begin() + 4, {"treated", 0.8, Align::right});
  }
  flow.keep_together(9 + 5.8 * double(rows.size()));
  flow.table(columns, rows, 2.7);
}

}  // namespace

Paper pressure_paper(const job::Job& job, const job::Treatment& treatment,
                     const job::PressureReport& report) {
  Flow flow(job, {"Maps of pressure", units_name(job), "", false, false});
  bool first = true;
  for (const job::PressureAt& at : report.at) {
    if (!first) flow.new_page();
    first = false;
    for (const auto& one : report.statements)
      if (one.sentence.find("At " + hz_words(at.hz) + " ") == 0) flow.finding(one.sentence);
    flow.paragraph(reference_words(report, at), 2.8);
    constexpr double scale_mm = 5;
    const double each = (flow.room_mm() - scale_mm - 26) / double(at.rooms.size()) - 9;
    const Layout layout = layout_for(at.rooms[0], flow.width_mm(), each);
    flow.set_scale(scale_name(layout.scale));
    for (const job::PressureRoom& room : at.rooms) {
      flow.paragraph(state_words(room), 3.2);
      flow.picture(layout.height_mm, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
        draw_room(sheet, job, treatment, report, room, layout, from);
      });
    }
    flow.picture(scale_mm, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
      draw_level_scale(sheet, from, to.x - from.x, has_bodies(at));
    });
    flow.paragraph(how_to_read, 2.5, Ink::graphite);
    surfaces_table(flow, at);
    flow.paragraph(at.wool, 2.8);
  }
  flow.heading("What this tells and what not");
  for (const std::string& note : report.notes) flow.bullet(note);
  return {"pressure", "Maps of pressure", flow.finish(), false, flow.scales()};
}

drawing::Sheet pressure_picture(const job::Job& job, const job::Treatment& treatment,
                                const job::PressureReport& report, const job::PressureAt& at) {
  constexpr double margin_mm = 8, widest_mm = 264;
  const Layout layout = layout_for(at.rooms[0], widest_mm, 190);
  const double width_mm = std::max(layout.width_mm, 150.0);
  drawing::Sheet sheet;
  double y = margin_mm;
  const auto words = [&](const std::string& text, double size_mm, bool bold, Ink ink) {
    for (const auto& line : drawing::wrap_text(text, size_mm, width_mm, bold)) {
      sheet.shapes.push_back(
          Text{{margin_mm, y + size_mm}, line, size_mm, bold, Anchor::left, 0, ink});
      y += 1.42 * size_mm;
    }
    y += 1;
  };
  words("Where does sound press at " + hz_words(at.hz) + "?", 4.4, true, Ink::ink);
  words(reference_words(report, at), 2.8, false, Ink::ink);
  for (const job::PressureRoom& room : at.rooms) {
    y += 2;
    words(state_words(room), 3.2, true, Ink::ink);
    draw_room(sheet, job, treatment, report, room, layout, {margin_mm, y});
    y += layout.height_mm;
  }
  y += draw_level_scale(sheet, {margin_mm, y}, width_mm, has_bodies(at)) + 1;
  words(how_to_read, 2.5, false, Ink::graphite);
  drawing::scale_bar(sheet, {margin_mm, y + 4}, layout.scale, job.region.units.metric);
  sheet.width_mm = width_mm + 2 * margin_mm;
  sheet.height_mm = y + 12 + margin_mm;
  sheet.shapes.insert(sheet.shapes.begin(),
                      drawing::filled_rectangle({0, 0}, {sheet.width_mm, sheet.height_mm},
                                                Ink::paper, {Ink::paper, 0, Dash::none}));
  return sheet;
}

Table pressure_table(const job::PressureReport& report) {
  std::string csv = "hz,room,surface,x_m,y_m,z_m,level_db,what\r\n";
  for (const auto& at : report.at)
    for (const auto& room : at.rooms)
      for (const auto& map : room.maps)
        for (std::size_t i = 0; i < map.what.size(); ++i) {
          const bool body = map.what[i] == job::PressurePlace::body;
          if (!body && map.what[i] != job::PressurePlace::air) continue;
          const Vec3& p = map.point_m[i];
          csv += shortest(at.hz) + "," + (room.treated ? "treated" : "today") + "," + map.name +
                 "," + fixed(p.x, 3) + "," + fixed(p.y, 3) + "," + fixed(p.z, 3) + "," +
                 (body ? "" : fixed(map.level_db[i], 1)) + "," + (body ? "in a piece" : "air") +
                 "\r\n";
        }
  return {"pressure", csv};
}

}  // namespace roomwright::papers
