// Maps of a driven field; see calc_maps.h.
#include "app/api/calc_maps.h"

#include <algorithm>
#include <cmath>

namespace roomwright::app {

namespace {

/// Moved off a source, whose own place has no pressure.
Vec3 off_sources(const acoustics::Room& room, const std::vector<acoustics::ResponseSource>& sources,
                 Vec3 at) {
  for (const auto& source : sources)
    if (length(at - source.at_m) < 1.5e-3) {
      at.x += 2e-3;
      if (!acoustics::contains(room, at, -1e-9)) at.x -= 4e-3;
    }
  return at;
}

/// Of a grid from edge to edge, no wider than the step, what lies in the room.
std::vector<Vec3> points_of(const acoustics::Room& room, std::optional<int> surface, double z_m,
                            double step_m, const std::vector<acoustics::ResponseSource>& sources) {
  const Polygon outline = surface ? acoustics::surface_outline(room, *surface) : room.plan_m;
  Vec2 low = outline[0], high = low;
  for (const Vec2& corner : outline) {
    low = {std::min(low.x, corner.x), std::min(low.y, corner.y)};
    high = {std::max(high.x, corner.x), std::max(high.y, corner.y)};
  }
  const auto cells = [&](double size) {
    return std::max(1, static_cast<int>(std::ceil(size / step_m - 1e-9)));
  };
  const int across = cells(high.x - low.x), up = cells(high.y - low.y);
  std::vector<Vec3> out;
  for (int j = 0; j <= up; ++j)
    for (int i = 0; i <= across; ++i) {
      const Vec2 uv{low.x + (high.x - low.x) * i / across, low.y + (high.y - low.y) * j / up};
      const Vec3 at = surface ? acoustics::from_uv(room, *surface, uv) : Vec3{uv.x, uv.y, z_m};
      if (contains(outline, uv) && acoustics::contains(room, at, -1e-9))
        out.push_back(off_sources(room, sources, at));
    }
  return out;
}

}  // namespace

std::vector<CalcMap> read_maps(Reader& in, const acoustics::Room& room,
                               const std::vector<acoustics::ResponseSource>& sources,
                               std::size_t receivers, std::size_t frequencies) {
  std::vector<CalcMap> out;
  std::vector<std::string> names;
  double ceiling_m = 0, points = double(receivers);
  for (int s = 0; s < acoustics::surface_count(room); ++s)
    names.push_back(acoustics::surface_name(room, s));
  for (const Vec2& corner : room.plan_m) ceiling_m = std::max(ceiling_m, room.ceiling_at(corner));
  in.each(
      "maps", 0, most_maps,
      [&](Reader& entry) {
        const std::size_t before = entry.found().size();
        std::optional<std::size_t> surface;
        double z_m = 0;
        if (entry.has("surface") == entry.has("plane_z_m"))
          entry.complain("surface", "or plane_z_m must be given, and only one of them", {},
                         "such as \"wall0\"");
        else if (entry.has("surface"))
          surface = entry.one_of("surface", names);
        else
          z_m = entry.number("plane_z_m", {.at_least = 0, .at_most = ceiling_m}, "such as 1.2");
        entry.raw("surface"), entry.raw("plane_z_m");
        const double step_m =
            entry.number("step_m", {.at_least = 0.01, .at_most = 10}, "such as 0.2");
        entry.finish();
        if (entry.found().size() > before) return;
        const double area_m2 = surface ? acoustics::surface_area_m2(room, int(*surface))
                                       : acoustics::floor_area_m2(room);
        points += area_m2 / (step_m * step_m);
        if (points > 2 * double(acoustics::most_response_receivers)) return;  // told below
        const auto index = surface ? std::optional<int>(int(*surface)) : std::nullopt;
        out.push_back({surface ? names[*surface] : "plane at " + shortest(z_m) + " m",
                       points_of(room, index, z_m, step_m, sources)});
      },
      "a list of {surface, step_m} or {plane_z_m, step_m}");
  std::size_t exact = receivers;
  for (const CalcMap& map : out) exact += map.points_m.size();
  points = std::max(points, double(exact));
  if (points > double(acoustics::most_response_receivers) ||
      (!out.empty() && double(exact) * double(frequencies) > most_map_values))
    in.complain("maps", "ask for more than 20000 points or 200000 values", std::floor(points),
                "a wider step, or fewer frequencies");
  return out;
}

}  // namespace roomwright::app
