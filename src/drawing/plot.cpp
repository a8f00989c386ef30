// Plots over frequency: a soft corridor of what is wanted, curves with their names at their ends,
// hatched doubt; see drawing.h.
#include <algorithm>
#include <cmath>

#include "drawing/drawing.h"

namespace roomwright::drawing {

namespace {

constexpr double tick_mm = 2.5;

struct Axes {
  const Plot& plot;
  Vec2 from, to;  ///< of the plotting area

  double x(double hz) const {
    const double low = std::log(plot.x_ticks.front() / 1.3),
                 high = std::log(plot.x_ticks.back() * 1.3);
    return from.x + (std::log(hz) - low) / (high - low) * (to.x - from.x);
  }
  double y(double value) const {
    const double share =
        (std::clamp(value, plot.y_low, plot.y_high) - plot.y_low) / (plot.y_high - plot.y_low);
    return to.y - share * (to.y - from.y);
  }
  Vec2 at(Vec2 p) const { return {x(p.x), y(p.y)}; }
};

std::string tick_text(double hz) {
  return hz >= 1000 ? fixed(hz / 1000, hz < 10000 && std::fmod(hz, 1000) != 0 ? 1 : 0) + "k"
                    : fixed(hz, 0);
}

void band(Sheet& sheet, const Axes& axes, const std::vector<Vec2>& low,
          const std::vector<Vec2>& high, bool hatched) {
  if (low.size() < 2 || high.size() < 2) return;
  Path path;
  path.closed = true;
  path.pen = {Ink::chalk_blue, 0, Dash::none};
  path.filled = !hatched;
  path.fill = Ink::corridor;
  path.hatched = hatched;
  for (const Vec2& p : high) path.points.push_back(axes.at(p));
  for (auto p = low.rbegin(); p != low.rend(); ++p) path.points.push_back(axes.at(*p));
  sheet.shapes.push_back(path);
}

void draw_axes(Sheet& sheet, const Axes& axes) {
  const Plot& plot = axes.plot;
  const Pen thin{Ink::graphite, 0.12, Dash::none};
  for (double value = plot.y_low; value <= plot.y_high + 1e-9; value += plot.y_step) {
    const double y = axes.y(value);
    sheet.shapes.push_back(
        Line{{axes.from.x, y}, {axes.to.x, y}, {Ink::corridor, 0.25, Dash::none}});
    sheet.shapes.push_back(Text{{axes.from.x - 1.5, y + 0.9},
                                fixed(value, plot.y_decimals),
                                tick_mm,
                                false,
                                Anchor::right,
                                0,
                                Ink::graphite});
  }
  for (const double hz : plot.x_ticks) {
    const double x = axes.x(hz);
    sheet.shapes.push_back(Line{{x, axes.to.y}, {x, axes.to.y + 1.2}, thin});
    sheet.shapes.push_back(Text{
        {x, axes.to.y + 4.2}, tick_text(hz), tick_mm, false, Anchor::centre, 0, Ink::graphite});
  }
  sheet.shapes.push_back(Text{{(axes.from.x + axes.to.x) / 2, axes.to.y + 8.2},
                              plot.x_label,
                              tick_mm,
                              false,
                              Anchor::centre,
                              0,
                              Ink::graphite});
  sheet.shapes.push_back(Text{{axes.from.x, axes.from.y - 2},
                              plot.y_label,
                              tick_mm,
                              false,
                              Anchor::left,
                              0,
                              Ink::graphite});
}

constexpr double sample_mm = 6;

/// The place nearest to the wished one that is a line's height from all others.
double free_place(double wished, const std::vector<double>& taken) {
  constexpr double apart = 3.6;
  for (std::size_t i = 0; i <= 10 * taken.size() + 2; ++i) {
    const double steps = static_cast<double>((i + 1) / 2) * 0.5 * apart;
    const double y = wished + (i % 2 == 0 ? steps : -steps);
    if (std::none_of(taken.begin(), taken.end(),
                     [&](double other) { return std::abs(other - y) < apart - 1e-6; }))
      return y;
  }
  return wished;
}

void draw_curves(Sheet& sheet, const Axes& axes) {
  std::vector<double> ends;
  for (const Curve& curve : axes.plot.curves) {
    band(sheet, axes, curve.low, curve.high, true);
    Path path;
    path.pen = curve.pen;
    for (const Vec2& p : curve.points) {
      if (!std::isfinite(p.y)) continue;
      path.points.push_back(axes.at(p));
      if (curve.dots) sheet.shapes.push_back(Circle{axes.at(p), 0.8, curve.pen, true});
    }
    if (path.points.empty()) continue;
    sheet.shapes.push_back(path);
    if (curve.label.empty()) continue;
    const double y = free_place(path.points.back().y + 0.9, ends);
    ends.push_back(y);
    // A short piece of the line itself says which label is which where curves end together.
    sheet.shapes.push_back(
        Line{{axes.to.x + 1.5, y - 0.9}, {axes.to.x + 1.5 + sample_mm, y - 0.9}, curve.pen});
    sheet.shapes.push_back(Text{{axes.to.x + 2.5 + sample_mm, y},
                                curve.label,
                                tick_mm,
                                false,
                                Anchor::left,
                                0,
                                curve.pen.ink});
  }
}

}  // namespace

void draw_plot(Sheet& sheet, const Plot& plot, Vec2 from, Vec2 to) {
  sheet.shapes.push_back(
      Text{{from.x, from.y + 4}, plot.question, 3.6, true, Anchor::left, 0, Ink::ink});
  double label_mm = 4;
  for (const Curve& curve : plot.curves)
    if (!curve.label.empty())
      label_mm = std::max(label_mm, text_width_mm(curve.label, tick_mm) + 4 + sample_mm);
  const Axes axes{plot, {from.x + 10, from.y + 11}, {to.x - label_mm, to.y - 10}};
  band(sheet, axes, plot.corridor_low, plot.corridor_high, false);
  draw_axes(sheet, axes);
  draw_curves(sheet, axes);
  if (!plot.corridor_high.empty()) {
    const Vec2 at = axes.at(plot.corridor_high.front());
    sheet.shapes.push_back(Text{{at.x + 1, axes.y(plot.corridor_low.front().y) - 1},
                                "wanted",
                                tick_mm,
                                false,
                                Anchor::left,
                                0,
                                Ink::graphite});
  }
}

}  // namespace roomwright::drawing
