// Private to papers: one map of levels on a sheet, in one scale from light to dark with contour
// lines at named levels.
#pragma once

#include "papers/sheets.h"

namespace roomwright::papers {

/// Where the shades change, dB, darkest first; the lightest shade lies below the last.
inline constexpr double level_steps_db[] = {-3, -6, -12, -18, -24};
drawing::Ink level_ink(double level_db);

/// A map on a sheet: from its grid's corners, u to the right or, as one faces a wall, to the left.
struct MapFrame {
  Vec2 from_mm;  ///< upper left corner of the map's box
  double scale = 50;
  bool mirrored = false;
  Vec2 box_from_m, box_to_m;
  Vec2 size_mm() const { return (box_to_m - box_from_m) * (1000 / scale); }
  Vec2 to_sheet(Vec2 uv) const {
    const double right = mirrored ? box_to_m.x - uv.x : uv.x - box_from_m.x;
    return from_mm + Vec2{right, box_to_m.y - uv.y} * (1000 / scale);
  }
  Vec2 to_model(Vec2 mm) const {
    const Vec2 at = (mm - from_mm) * (scale / 1000);
    return {mirrored ? box_to_m.x - at.x : box_from_m.x + at.x, box_to_m.y - at.y};
  }
};
MapFrame map_frame(const job::PressureMap& map, Vec2 from_mm, double scale);

/// Shades, and contour lines with their levels.
void draw_level_map(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame);
void draw_outline(drawing::Sheet& sheet, const job::PressureMap& map, const MapFrame& frame);
/// What the shades mean; gives how high it is.
double draw_level_scale(drawing::Sheet& sheet, Vec2 from_mm, double width_mm, bool with_bodies);

}  // namespace roomwright::papers
