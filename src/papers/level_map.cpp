// Maps of levels; see level_map.h. Shades are rows of strips half a millimetre high, so that every
// writer of drawings can show them; the lines between them are followed from cell to cell.
#include "papers/level_map.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Path;
using drawing::Text;
using job::PressurePlace;

namespace {

constexpr double strip_mm = 0.5, under_mm = 0.2;
constexpr double least_line_mm = 6, least_label_mm = 22;

bool is_told(const job::PressureMap& map, std::size_t at) {
  return map.what[at] == PressurePlace::air || map.what[at] == PressurePlace::edge;
}

/// Between the four points around a place, of those that are told; nothing where most lie in a
/// body.
std::optional<double> level_between(const job::PressureMap& map, Vec2 uv) {
  const Vec2 size = map.to_m - map.from_m;
  const double x =
      std::clamp((uv.x - map.from_m.x) / size.x * (map.across - 1), 0.0, map.across - 1.0);
  const double y = std::clamp((uv.y - map.from_m.y) / size.y * (map.up - 1), 0.0, map.up - 1.0);
  const int i = std::min(static_cast<int>(x), map.across - 2),
            j = std::min(static_cast<int>(y), map.up - 2);
  double sum = 0, weight = 0;
  for (const int b : {0, 1})
    for (const int a : {0, 1}) {
      const auto at = static_cast<std::size_t>((j + b) * map.across + i + a);
      const double w = (a ? x - i : 1 - x + i) * (b ? y - j : 1 - y + j);
      if (!is_told(map, at)) continue;
      sum += w * map.level_db[at], weight += w;
    }
  if (weight < 0.5) return std::nullopt;
  return sum / weight;
}

/// Where a row of the sheet runs inside the outline, from left to right.
std::vector<std::array<double, 2>> inside_row(const std::vector<Vec2>& outline, double y) {
  std::vector<double> cuts;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 a = outline[i], b = outline[(i + 1) % outline.size()];
    if ((a.y <= y) != (b.y <= y)) cuts.push_back(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
  }
  std::sort(cuts.begin(), cuts.end());
  std::vector<std::array<double, 2>> out;
  for (std::size_t i = 0; i + 1 < cuts.size(); i += 2) out.push_back({cuts[i], cuts[i + 1]});
  return out;
}

Ink shade_at(const job::PressureMap& map, const MapFrame& frame, Vec2 mm) {
  const auto level = level_between(map, frame.to_model(mm));
  return level ? level_ink(*level) : Ink::wool;
}

void draw_shades(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame,
                 const std::vector<Vec2>& outline) {
  const double bottom = frame.from_mm.y + frame.size_mm().y;
  for (double y = frame.from_mm.y; y < bottom - 1e-9; y += strip_mm) {
    const double low = std::min(bottom, y + strip_mm), middle = (y + low) / 2;
    for (const auto& [left, right] : inside_row(outline, middle)) {
      double from = left;
      while (from < right - 1e-9) {
        const Ink ink = shade_at(map, frame, {std::min(from + strip_mm / 2, right), middle});
        double to = std::min(from + strip_mm, right);
        while (to < right - 1e-9 &&
               shade_at(map, frame, {std::min(to + strip_mm / 2, right), middle}) == ink)
          to = std::min(to + strip_mm, right);
        // A hair under the next ones, so that no paper shows between strips.
        sheet.shapes.push_back(drawing::filled_rectangle(
            {from, y}, {std::min(right, to + under_mm), std::min(bottom, low + under_mm)}, ink,
            {ink, 0, Dash::none}));
        from = to;
      }
    }
  }
}

// ---- lines of one level -------------------------------------------------------------------------

/// Where a line crosses a side of the grid: the side by its first point and whether it runs up.
using Crossing = std::pair<std::size_t, bool>;

struct Lines {
  const job::PressureMap& map;
  const MapFrame& frame;
  double level_db;
  std::map<Crossing, std::vector<Crossing>> next;

  bool above(std::size_t at) const { return map.level_db[at] >= level_db; }
  Vec2 point(std::size_t at) const {
    const Vec2 size = map.to_m - map.from_m;
    return map.from_m + Vec2{size.x * double(at % std::size_t(map.across)) / (map.across - 1),
                             size.y * double(at / std::size_t(map.across)) / (map.up - 1)};
  }
  Vec2 place(const Crossing& side) const {
    const std::size_t a = side.first, b = a + (side.second ? std::size_t(map.across) : 1);
    const double share = (level_db - map.level_db[a]) / (map.level_db[b] - map.level_db[a]);
    return frame.to_sheet(point(a) + (point(b) - point(a)) * std::clamp(share, 0.0, 1.0));
  }
  void join(const Crossing& a, const Crossing& b) {
    if (!contains(map.outline_m, frame.to_model((place(a) + place(b)) * 0.5))) return;
    next[a].push_back(b), next[b].push_back(a);
  }
  void cell(std::size_t first) {
    const std::size_t right = first + 1, up = first + std::size_t(map.across), far = up + 1;
    for (const std::size_t at : {first, right, up, far})
      if (!is_told(map, at)) return;
    std::array<Crossing, 4> met;
    std::size_t count = 0;
    if (above(first) != above(right)) met[count++] = {first, false};
    if (above(right) != above(far)) met[count++] = {right, true};
    if (above(up) != above(far)) met[count++] = {up, false};
    if (above(first) != above(up)) met[count++] = {first, true};
    if (count == 2) join(met[0], met[1]);
    if (count != 4) return;
    const double middle =
        (map.level_db[first] + map.level_db[right] + map.level_db[up] + map.level_db[far]) / 4;
    const bool turned = (middle >= level_db) == above(first);
    join(met[0], met[turned ? 1 : 3]), join(met[2], met[turned ? 3 : 1]);
  }
  /// Follows one line and forgets it.
  std::vector<Vec2> follow(Crossing from) {
    std::vector<Vec2> out{place(from)};
    while (!next[from].empty()) {
      const Crossing to = next[from].back();
      next[from].pop_back();
      auto& back = next[to];
      back.erase(std::find(back.begin(), back.end(), from));
      out.push_back(place(to));
      from = to;
    }
    return out;
  }
  std::vector<std::vector<Vec2>> all() {
    for (int j = 0; j + 1 < map.up; ++j)
      for (int i = 0; i + 1 < map.across; ++i) cell(static_cast<std::size_t>(j * map.across + i));
    std::vector<Crossing> starts;
    for (const bool open : {true, false})
      for (const auto& [at, others] : next)
        if ((others.size() == 1) == open) starts.push_back(at);
    std::vector<std::vector<Vec2>> out;
    for (const Crossing& at : starts)
      if (!next[at].empty()) out.push_back(follow(at));
    return out;
  }
};

double run_mm(const std::vector<Vec2>& line) {
  double out = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) out += length(line[i + 1] - line[i]);
  return out;
}

/// An end that lies beyond an oblique edge is drawn back to it.
void draw_back(const job::PressureMap& map, const MapFrame& frame, Vec2& end, Vec2 inner) {
  const auto inside = [&](Vec2 mm) { return contains(map.outline_m, frame.to_model(mm)); };
  if (inside(end) || !inside(inner)) return;
  for (int i = 0; i < 12; ++i) {
    const Vec2 middle = (end + inner) * 0.5;
    (inside(middle) ? inner : end) = middle;
  }
  end = inner;
}

Vec2 halfway(const std::vector<Vec2>& line) {
  double left = run_mm(line) / 2;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double side = length(line[i + 1] - line[i]);
    if (side >= left && side > 0) return line[i] + (line[i + 1] - line[i]) * (left / side);
    left -= side;
  }
  return line.back();
}

/// Small on a patch of paper, where it keeps clear of the others and of the outline.
void label_line(drawing::Sheet& sheet, const MapFrame& frame, Vec2 at, double level_db,
                std::vector<Vec2>& taken) {
  constexpr double size_mm = 1.9, clear_mm = 6;
  const std::string words = "−" + fixed(-level_db, 0);
  const double half = drawing::text_width_mm(words, size_mm) / 2 + 0.4;
  const Vec2 box = frame.size_mm();
  at.x = std::clamp(at.x, frame.from_mm.x + half + 0.5, frame.from_mm.x + box.x - half - 0.5);
  at.y = std::clamp(at.y, frame.from_mm.y + 1.8, frame.from_mm.y + box.y - 1.8);
  for (const Vec2& other : taken)
    if (std::abs(other.x - at.x) < clear_mm && std::abs(other.y - at.y) < 3) return;
  taken.push_back(at);
  sheet.shapes.push_back(drawing::filled_rectangle(at - Vec2{half, 1.15}, at + Vec2{half, 1.15},
                                                   Ink::paper, {Ink::paper, 0, Dash::none}));
  sheet.shapes.push_back(
      Text{at + Vec2{0, 0.7}, words, size_mm, false, Anchor::centre, 0, Ink::ink});
}

}  // namespace

Ink level_ink(double level_db) {
  constexpr Ink inks[] = {Ink::level_5, Ink::level_4, Ink::level_3, Ink::level_2, Ink::level_1};
  for (std::size_t i = 0; i < std::size(level_steps_db); ++i)
    if (level_db >= level_steps_db[i]) return inks[i];
  return Ink::level_0;
}

MapFrame map_frame(const job::PressureMap& map, Vec2 from_mm, double scale) {
  return {from_mm, scale, map.surface >= 2, map.from_m, map.to_m};
}

void draw_level_map(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame) {
  std::vector<Vec2> outline;
  for (const Vec2& uv : map.outline_m) outline.push_back(frame.to_sheet(uv));
  draw_shades(sheet, map, frame, outline);
  std::vector<std::pair<Vec2, double>> labels;
  for (const double level_db : level_steps_db)
    for (auto& line : Lines{map, frame, level_db, {}}.all()) {
      draw_back(map, frame, line.front(), line[1]);
      draw_back(map, frame, line.back(), line[line.size() - 2]);
      const double run = run_mm(line);
      if (run < least_line_mm) continue;
      const Ink ink = level_db > -5 ? Ink::paper : Ink::ink;
      sheet.shapes.push_back(Path{line, false, {ink, 0.15, Dash::none}, false, Ink::paper, false});
      if (run > least_label_mm) labels.push_back({halfway(line), level_db});
    }
  std::vector<Vec2> taken;
  for (const auto& [at, level_db] : labels) label_line(sheet, frame, at, level_db, taken);
}

void draw_outline(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame) {
  Path outline{{}, true, {Ink::ink, 0.35, Dash::none}, false, Ink::paper, false};
  for (const Vec2& uv : map.outline_m) outline.points.push_back(frame.to_sheet(uv));
  sheet.shapes.push_back(outline);
}

double draw_level_scale(drawing::Sheet& sheet, Vec2 from_mm, double width_mm, bool with_bodies) {
  constexpr double swatch_mm = 5, size_mm = 2.6;
  struct Entry {
    Ink ink;
    std::string words;
  };
  std::vector<Entry> entries{{Ink::level_5, "0 to −3 dB"}, {Ink::level_4, "−3 to −6"},
                             {Ink::level_3, "−6 to −12"},  {Ink::level_2, "−12 to −18"},
                             {Ink::level_1, "−18 to −24"}, {Ink::level_0, "below −24 dB"}};
  if (with_bodies) entries.push_back({Ink::wool, "inside a piece"});
  double x = from_mm.x, y = from_mm.y;
  for (const Entry& entry : entries) {
    const double wide = swatch_mm + 1.5 + drawing::text_width_mm(entry.words, size_mm) + 4;
    if (x > from_mm.x && x + wide - 4 > from_mm.x + width_mm) x = from_mm.x, y += 5;
    sheet.shapes.push_back(drawing::filled_rectangle({x, y}, {x + swatch_mm, y + 3.2}, entry.ink,
                                                     {Ink::graphite, 0.15, Dash::none}));
    sheet.shapes.push_back(Text{
        {x + swatch_mm + 1.5, y + 2.6}, entry.words, size_mm, false, Anchor::left, 0, Ink::ink});
    x += wide;
  }
  return y + 5 - from_mm.y;
}

}  // namespace roomwright::papers
