// The bass at the seat: one section of the findings.
#include <algorithm>
#include <cmath>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Dash;
using drawing::Ink;

namespace {

constexpr double least_db = -40;

/// The pair that swings most, today and with the treatment, each with what it may be off.
drawing::Plot level_plot(const job::Pack& pack) {
  const auto& before = pack.findings.bass.levels;
  const std::size_t worst = pack.findings.bass.worst;
  double high = 10, low = -10;
  drawing::Plot plot;
  plot.question = "What arrives at " + before[worst].seat + " from loudspeaker " +
                  before[worst].loudspeaker + "?";
  plot.x_label = "frequency, Hz";
  plot.y_label = "dB against the direct sound";
  plot.x_ticks = {25, 31.5, 40, 50, 63, 80, 100, 125, 160};
  const auto curve = [&](const job::BassField& bass, const char* label, drawing::Pen pen) {
    drawing::Curve out{label, {}, pen, false, {}, {}};
    const auto held = [&](double level) {
      high = std::max(high, level), low = std::min(low, std::max(level, least_db));
      return std::max(level, least_db);
    };
    for (std::size_t i = 0; i < bass.hz.size(); ++i)
      out.points.push_back({bass.hz[i], held(bass.levels[worst].level_db[i])});
    for (std::size_t i = 0; bass.doubt && i < bass.doubt_hz.size(); ++i) {
      out.low.push_back({bass.doubt_hz[i], held(bass.doubt->low[i])});
      out.high.push_back({bass.doubt_hz[i], held(bass.doubt->high[i])});
    }
    return out;
  };
  plot.curves.push_back(curve(pack.findings.bass, "today", {Ink::graphite, 0.3, Dash::none}));
  const bool treated = !pack.treatment.bass.levels.empty() && !pack.treatment.pieces.empty();
  if (treated) {
    // One hatching alone: that of the curve that matters more.
    plot.curves[0].low.clear(), plot.curves[0].high.clear();
    plot.curves.push_back(
        curve(pack.treatment.bass, "with the treatment", {Ink::chalk_blue, 0.7, Dash::none}));
  }
  plot.y_step = 10;
  plot.y_decimals = 0;
  plot.y_high = std::ceil(high / 10) * 10;
  plot.y_low = std::floor(low / 10) * 10;
  return plot;
}

void marks_table(Flow& flow, const job::Pack& pack) {
  const auto& bass = pack.findings.bass;
  const auto& worst = bass.levels[bass.worst];
  std::vector<Cells> rows;
  for (const auto& mark : bass.marks)
    if (mark.loudspeaker == worst.loudspeaker && mark.seat == worst.seat)
      rows.push_back({mark.peak ? "peak" : "dip", fixed(mark.hz, 0), fixed(mark.level_db, 0),
                      mark.cause.empty() ? "several resonances together" : mark.cause});
  if (rows.empty()) return;
  flow.keep_together(20);
  flow.heading("What makes its peaks and dips");
  flow.table({{"", 0.6, Align::left},
              {"Hz", 0.6, Align::right},
              {"dB", 0.6, Align::right},
              {"made by", 6, Align::left}},
             rows, 2.7);
}

/// One surface as cells; the side of a square is the pressure there.
void draw_surface(drawing::Sheet& sheet, const job::SurfacePressure& map, const std::string& name,
                  Vec2 from, double cell_mm) {
  const Vec2 size{map.across * cell_mm, map.up * cell_mm};
  sheet.shapes.push_back(drawing::rectangle(from, from + size, {Ink::graphite, 0.2, Dash::none}));
  for (int j = 0; j < map.up; ++j)
    for (int i = 0; i < map.across; ++i) {
      const double level = map.level_db[std::size_t(j * map.across + i)];
      const double half = std::pow(10, level / 20) * 0.42 * cell_mm;
      if (half < 0.05) continue;
      // As one faces a wall, u runs from the right.
      const double across = map.surface >= 2 ? map.across - i - 0.5 : i + 0.5;
      const Vec2 middle = from + Vec2{across * cell_mm, size.y - (j + 0.5) * cell_mm};
      sheet.shapes.push_back(drawing::filled_rectangle(middle - Vec2{half, half},
                                                       middle + Vec2{half, half}, Ink::chalk_blue,
                                                       {Ink::chalk_blue, 0, Dash::none}));
    }
  sheet.shapes.push_back(drawing::Text{from + Vec2{size.x / 2, size.y + 3.6}, name, 2.6, false,
                                       drawing::Anchor::centre, 0, Ink::graphite});
}

/// Floor, ceiling and every wall in rows of one scale.
void bite_picture(Flow& flow, const job::Job& job, const job::BiteMap& map) {
  constexpr double gap_mm = 5, caption_mm = 7;
  int widest = 1;
  for (const auto& one : map.surfaces) widest = std::max(widest, one.across);
  const double cell_mm = std::min(2.6, flow.width_mm() / (2.2 * widest));
  struct Row {
    std::vector<std::size_t> surfaces;
    double width_mm = 0, height_mm = 0;
  };
  std::vector<Row> rows(1);
  for (std::size_t s = 0; s < map.surfaces.size(); ++s) {
    const double width_mm = map.surfaces[s].across * cell_mm + gap_mm;
    if (rows.back().width_mm + width_mm > flow.width_mm()) rows.emplace_back();
    rows.back().surfaces.push_back(s);
    rows.back().width_mm += width_mm;
    rows.back().height_mm =
        std::max(rows.back().height_mm, map.surfaces[s].up * cell_mm + caption_mm);
  }
  double height_mm = 0;
  for (const Row& row : rows) height_mm += row.height_mm;
  flow.keep_together(height_mm + 24);
  flow.heading("Where does a trap bite at " + fixed(map.hz, 0) + " Hz?");
  flow.paragraph("Loudspeaker " + map.loudspeaker +
                     ", today. The side of a square is the sound pressure on the surface there; "
                     "walls as one faces them, floor and ceiling as the plan lies.",
                 2.6, Ink::graphite);
  flow.picture(height_mm, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
    double y = from.y;
    for (const Row& row : rows) {
      double x = from.x;
      for (const std::size_t s : row.surfaces) {
        const auto& one = map.surfaces[s];
        draw_surface(sheet, one, acoustics::surface_name(job.room, one.surface), {x, y}, cell_mm);
        x += one.across * cell_mm + gap_mm;
      }
      y += row.height_mm;
    }
  });
}

}  // namespace

void bass_section(Flow& flow, const job::Job& job, const job::Pack& pack) {
  const auto& bass = pack.findings.bass;
  flow.keep_together(90);
  flow.heading("Bass at the seat");
  flow.paragraph(bass.note, 2.6, Ink::graphite);
  if (bass.levels.empty()) return;
  flow.picture(66, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    drawing::draw_plot(sheet, level_plot(pack), from, to);
  });
  if (bass.doubt || pack.treatment.bass.doubt)
    flow.paragraph(
        "Hatched: where eight of ten lie, by what is not known of walls, wool, "
        "temperature and sizes.",
        2.6, Ink::graphite);
  marks_table(flow, pack);
  if (bass.bites) bite_picture(flow, job, *bass.bites);
}

}  // namespace roomwright::papers
