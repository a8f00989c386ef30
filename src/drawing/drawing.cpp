// Small helpers over shapes: rectangles, scales, marks, the scale bar; see drawing.h.
#include "drawing/drawing.h"

#include <algorithm>
#include <cmath>

namespace roomwright::drawing {

Path rectangle(Vec2 from, Vec2 to, Pen pen) {
  return {{from, {to.x, from.y}, to, {from.x, to.y}}, true, pen, false, Ink::paper, false};
}

Path filled_rectangle(Vec2 from, Vec2 to, Ink fill, Pen pen) {
  Path out = rectangle(from, to, pen);
  out.filled = true;
  out.fill = fill;
  return out;
}

double fitting_scale(double model_width_m, double model_height_m, double width_mm,
                     double height_mm) {
  for (const double scale : {1., 2., 5., 10., 15., 20., 25., 30., 40., 50., 75., 100., 200.})
    if (model_width_m * 1000 / scale <= width_mm && model_height_m * 1000 / scale <= height_mm)
      return scale;
  return 500;
}

namespace {

/// Moves wanted places apart to at least `gap`, keeping their order, as near as they may be.
std::vector<double> apart(const std::vector<double>& wanted, double gap) {
  std::vector<double> out = wanted;
  for (std::size_t i = 1; i < out.size(); ++i) out[i] = std::max(out[i], out[i - 1] + gap);
  // What was pushed too far slides back as a whole group.
  for (std::size_t end = out.size(); end > 0;) {
    std::size_t begin = end - 1;
    while (begin > 0 && out[begin] - out[begin - 1] <= gap + 1e-9) --begin;
    double shift = 0;
    for (std::size_t i = begin; i < end; ++i) shift += out[i] - wanted[i];
    shift /= static_cast<double>(end - begin);
    const double room = begin > 0 ? out[begin] - out[begin - 1] - gap : 1e9;
    for (std::size_t i = begin; i < end; ++i) out[i] -= std::min(shift, room);
    end = begin;
  }
  return out;
}

constexpr double mark_size_mm = 2.6;

void tidy(std::vector<Mark>& marks) {
  std::stable_sort(marks.begin(), marks.end(),
                   [](const Mark& a, const Mark& b) { return a.at_m < b.at_m; });
  marks.erase(
      std::unique(marks.begin(), marks.end(),
                  [](const Mark& a, const Mark& b) { return std::abs(a.at_m - b.at_m) < 5e-4; }),
      marks.end());
}

}  // namespace

double marks_below(Sheet& sheet, const Frame& frame, double y_mm, std::vector<Mark> marks) {
  tidy(marks);
  if (marks.empty()) return y_mm;
  std::vector<double> wanted;
  double longest = 0;
  for (const Mark& mark : marks) {
    wanted.push_back(frame.to_sheet({mark.at_m, 0}).x);
    longest = std::max(longest, text_width_mm(mark.text, mark_size_mm));
  }
  const std::vector<double> places = apart(wanted, mark_size_mm * 1.25);
  const Pen thin{Ink::graphite, 0.18, Dash::none};
  sheet.shapes.push_back(Line{{wanted.front(), y_mm}, {wanted.back(), y_mm}, thin});
  for (std::size_t i = 0; i < marks.size(); ++i) {
    sheet.shapes.push_back(Line{{wanted[i], y_mm - 1.2}, {wanted[i], y_mm + 1.2}, thin});
    sheet.shapes.push_back(Line{{wanted[i], y_mm + 1.2}, {places[i], y_mm + 3.6}, thin});
    sheet.shapes.push_back(Text{{places[i] + mark_size_mm * 0.36, y_mm + 4.2},
                                marks[i].text,
                                mark_size_mm,
                                false,
                                Anchor::right,
                                90,
                                Ink::ink});
  }
  return y_mm + 5 + longest;
}

double marks_left(Sheet& sheet, const Frame& frame, double x_mm, std::vector<Mark> marks) {
  tidy(marks);
  if (marks.empty()) return x_mm;
  std::vector<double> wanted;
  double longest = 0;
  for (auto mark = marks.rbegin(); mark != marks.rend(); ++mark) {
    wanted.push_back(frame.to_sheet({0, mark->at_m}).y);
    longest = std::max(longest, text_width_mm(mark->text, mark_size_mm));
  }
  const std::vector<double> places = apart(wanted, mark_size_mm * 1.25);
  const Pen thin{Ink::graphite, 0.18, Dash::none};
  sheet.shapes.push_back(Line{{x_mm, wanted.front()}, {x_mm, wanted.back()}, thin});
  for (std::size_t i = 0; i < marks.size(); ++i) {
    sheet.shapes.push_back(Line{{x_mm - 1.2, wanted[i]}, {x_mm + 1.2, wanted[i]}, thin});
    sheet.shapes.push_back(Line{{x_mm - 1.2, wanted[i]}, {x_mm - 3.6, places[i]}, thin});
    sheet.shapes.push_back(Text{{x_mm - 4.2, places[i] + mark_size_mm * 0.36},
                                marks[marks.size() - 1 - i].text,
                                mark_size_mm,
                                false,
                                Anchor::right,
                                0,
                                Ink::ink});
  }
  return x_mm - 5 - longest;
}

void scale_bar(Sheet& sheet, Vec2 at, double scale, bool metric) {
  const double unit_m = metric ? 0.5 : 0.3048;
  const double step = unit_m * 1000 / scale;
  for (int i = 0; i < 4; ++i) {
    Path block = rectangle({at.x + i * step, at.y}, {at.x + (i + 1) * step, at.y + 1.4},
                           {Ink::ink, 0.18, Dash::none});
    block.filled = i % 2 == 0;
    block.fill = Ink::ink;
    sheet.shapes.push_back(block);
  }
  const std::string end = metric ? "2 m" : "4 ft";
  sheet.shapes.push_back(Text{{at.x, at.y - 1}, "0", 2.4, false, Anchor::centre, 0, Ink::graphite});
  sheet.shapes.push_back(
      Text{{at.x + 4 * step, at.y - 1}, end, 2.4, false, Anchor::centre, 0, Ink::graphite});
}

}  // namespace roomwright::drawing
