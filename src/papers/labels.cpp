// A label for each piece, with its code, on sheets of the shop's own grid. Pages are the labels'
// own: what says which page it is stands in the margin.
#include <algorithm>

#include "papers/benchwork.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Text;

namespace {

constexpr double inner_mm = 4;  // of a label's edge, for printers that feed a little off

/// The place as one finds it at the wall.
std::string place_words(const job::LabelRow& row, const Units& units) {
  if (row.place.rfind("corner", 0) == 0)
    return row.place + ", foot at " + print_length(row.bottom, units);
  if (row.place.empty()) return "";
  return row.place + ": left " + print_length(row.left, units) + ", bottom " +
         print_length(row.bottom, units);
}

void draw_label(drawing::Sheet& sheet, const job::Job& job, const job::LabelRow& row, Vec2 from,
                Vec2 to) {
  const Units& units = job.region.units;
  const double high = to.y - from.y - 2 * inner_mm, wide = to.x - from.x - 2 * inner_mm;
  const double code = std::min({high, wide * 0.44, 45.0});
  const Vec2 at{from.x + inner_mm, from.y + inner_mm};
  const auto drawn = drawing::qr_code(sheet, row.payload, at, code);
  const double x = at.x + (drawn ? code + 2 : 0), room = to.x - inner_mm - x;
  const double large = std::min(11.0, high * 0.2), words = std::min(3.4, high * 0.07);
  double y = at.y + large * 0.85;
  const auto line = [&](const std::string& text, double size, bool bold, Ink ink) {
    sheet.shapes.push_back(
        Text{{x, y}, drawing::fitted(text, size, room, bold), size, bold, Anchor::left, 0, ink});
  };
  line(row.piece, large, true, Ink::ink);
  y += words * 1.9;
  line(row.product, words, true, Ink::ink);
  y += words * 1.6;
  const std::string place = place_words(row, units);
  for (const std::string& one : drawing::wrap_text(place, words, room)) {
    if (place.empty()) break;
    line(one, words, false, Ink::ink);
    y += words * 1.45;
  }
  line(print_dimension(row.width, units) + " × " + print_dimension(row.height, units) + " × " +
           print_length(row.depth, units),
       words, false, Ink::ink);
  y += words * 1.45;
  line(print_mass(row.mass_kg, units), words, false, Ink::ink);
  y += words * 1.5;
  if (row.two_people) {
    sheet.shapes.push_back(drawing::rectangle({x, y - words * 1.05}, {x + room, y + words * 0.65},
                                              {Ink::ink, 0.5, Dash::none}));
    sheet.shapes.push_back(Text{{x + room / 2, y + words * 0.15},
                                "Two people lift",
                                words,
                                true,
                                Anchor::centre,
                                0,
                                Ink::ink});
  }
  const std::string job_line =
      (job.reference.empty() ? job.title : job.reference) + ", revision " + job.revision;
  sheet.shapes.push_back(Text{{x, to.y - inner_mm},
                              drawing::fitted(job_line, words * 0.85, room),
                              words * 0.85,
                              false,
                              Anchor::left,
                              0,
                              Ink::graphite});
}

void say_page(drawing::Sheet& sheet, const job::Job& job, std::size_t page, std::size_t pages) {
  const double y = 7.5, size = 2.6;
  double x = 8;
  const auto say = [&](const std::string& text, bool bold) {
    sheet.shapes.push_back(Text{{x, y}, text, size, bold, Anchor::left, 0, Ink::graphite});
    x += drawing::text_width_mm(text, size, bold) + 5;
  };
  say(job.reference.empty() ? drawing::fitted(job.title, size, 60, true) : job.reference, true);
  say("Labels", true);
  say(std::to_string(page) + " of " + std::to_string(pages), false);
  say(job.date, false);
  say("print at actual size", false);
}

}  // namespace

Paper label_paper(const job::Job& job, const job::Pack& pack) {
  const shop::LabelSheet& grid = job.shop.labels;
  const bool letter = job.region.paper == job::PaperSize::letter;
  const std::size_t each = std::size_t(grid.across * grid.down);
  const auto& labels = pack.packing.labels;
  const std::size_t pages = std::max<std::size_t>(1, (labels.size() + each - 1) / each);
  Paper paper{"14-labels", "Labels", {}, false, {}, {}};
  for (std::size_t page = 0; page < pages; ++page) {
    drawing::Sheet sheet;
    sheet.width_mm = letter ? 215.9 : 210;
    sheet.height_mm = letter ? 279.4 : 297;
    say_page(sheet, job, page + 1, pages);
    for (std::size_t i = page * each; i < std::min(labels.size(), (page + 1) * each); ++i) {
      const int place = int(i - page * each), column = place % grid.across,
                row = place / grid.across;
      const Vec2 from{(grid.left + grid.step_across * column).millimetres(),
                      (grid.top + grid.step_down * row).millimetres()};
      draw_label(sheet, job, labels[i], from,
                 {from.x + grid.width.millimetres(), from.y + grid.height.millimetres()});
    }
    paper.sheets.push_back(sheet);
  }
  paper.scales.assign(paper.sheets.size(), 1);
  return paper;
}

}  // namespace roomwright::papers
