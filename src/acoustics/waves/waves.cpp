// Modes from plane eigenvalues and heights; see waves.h.
#include "acoustics/waves/waves.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_response.h"

namespace roomwright::acoustics {

namespace {

const double wave_pi = std::acos(-1.0);

ModeKind box_kind(const std::array<int, 3>& order) {
  const auto moving = std::count_if(order.begin(), order.end(), [](int n) { return n > 0; });
  return moving == 1 ? ModeKind::axial : moving == 2 ? ModeKind::tangential : ModeKind::oblique;
}

Diagnostics wrong_modes_request(const Room& room, double speed, double max_hz) {
  Diagnostics found;
  if (!(max_hz > 0 && max_hz <= 20000)) {
    found.add("max_hz", "must be above 0 and at most 20000", max_hz, "such as 300");
    return found;
  }
  const double expected = mode_count_estimate(room, speed, max_hz);
  const double k = 2 * wave_pi * max_hz / speed;
  const double in_plan =
      floor_area_m2(room) * k * k / (4 * wave_pi) + perimeter(room.plan_m) * k / (4 * wave_pi);
  if (expected > most_modes || (!is_box(room) && in_plan > most_plan_modes) ||
      (!room.flat() && expected > most_plan_modes))
    found.add("max_hz", "asks for about " + fixed(expected, 0) + " modes", max_hz,
              "ask for a lower frequency");
  return found;
}

std::vector<Mode> room_modes(const std::vector<double>& eigenvalues, double speed) {
  std::vector<Mode> out;
  for (const double lambda : eigenvalues)
    out.push_back(
        {speed / (2 * wave_pi) * std::sqrt(lambda), std::nullopt, std::nullopt, ModeKind::oblique});
  return out;
}

std::vector<Mode> box_modes(const Room& room, double speed, double max_hz) {
  const Vec3 l = box_size_m(room);
  std::vector<Mode> out;
  const auto most = [&](double side) { return static_cast<int>(2 * max_hz * side / speed) + 1; };
  for (int x = 0; x <= most(l.x); ++x)
    for (int y = 0; y <= most(l.y); ++y)
      for (int z = 0; z <= most(l.z); ++z) {
        const double hz =
            speed / 2 * std::sqrt(x * x / (l.x * l.x) + y * y / (l.y * l.y) + z * z / (l.z * l.z));
        if (hz <= 0 || hz > max_hz) continue;
        const std::array<int, 3> order{x, y, z};
        out.push_back({hz, std::nullopt, order, box_kind(order)});
      }
  return out;
}

std::vector<Mode> plan_modes(const std::vector<double>& eigenvalues, double height, double speed,
                             double max_hz) {
  std::vector<Mode> out;
  std::vector<double> with_static{0};
  with_static.insert(with_static.end(), eigenvalues.begin(), eigenvalues.end());
  for (const double lambda : with_static)
    for (int n = 0;; ++n) {
      const double k = n * wave_pi / height;
      const double hz = speed / (2 * wave_pi) * std::sqrt(lambda + k * k);
      if (hz > max_hz) break;
      if (hz <= 0) continue;
      const ModeKind kind = lambda == 0 ? ModeKind::axial
                            : n == 0    ? ModeKind::plan
                                        : ModeKind::tangential;
      out.push_back({hz, std::nullopt, std::nullopt, kind});
    }
  return out;
}

void sort_modes(std::vector<Mode>& modes) {
  std::stable_sort(modes.begin(), modes.end(), [](const Mode& a, const Mode& b) {
    const double qa = std::round(a.hz * 1e6), qb = std::round(b.hz * 1e6);
    return qa != qb ? qa < qb : a.order < b.order;
  });
}

}  // namespace

std::string mode_kind_name(const Mode& mode) {
  if (mode.order)
    return mode.kind == ModeKind::axial        ? "axial"
           : mode.kind == ModeKind::tangential ? "tangential"
                                               : "oblique";
  if (mode.kind == ModeKind::oblique) return "room";
  return mode.kind == ModeKind::axial  ? "height"
         : mode.kind == ModeKind::plan ? "plan"
                                       : "plan and height";
}

double mode_count_estimate(const Room& room, double sound_speed_m_s, double hz) {
  const double f = hz / sound_speed_m_s;
  const double edges = is_box(room) ? total_edge_m(room) * f / 8 : 0;
  return 4 * wave_pi / 3 * volume_m3(room) * f * f * f + wave_pi / 4 * total_area_m2(room) * f * f +
         edges;
}

Result<ModesReport> modes(const Room& room, double sound_speed_m_s, double max_hz) {
  if (Diagnostics found = wrong_modes_request(room, sound_speed_m_s, max_hz); !found.empty())
    return found;
  ModesReport report;
  report.count_estimate = mode_count_estimate(room, sound_speed_m_s, max_hz);
  if (is_box(room)) {
    report.method = "exact, rectangular room with rigid walls";
    report.modes = box_modes(room, sound_speed_m_s, max_hz);
  } else if (!room.flat()) {
    const double k = 2 * wave_pi * max_hz / sound_speed_m_s;
    const auto found = solid_eigenvalues(room, k * k);
    if (!found) return found.mistakes();
    report.method = "finite elements in three dimensions with " + std::to_string(found->unknowns) +
                    " unknowns, rigid walls";
    report.unknowns = found->unknowns;
    report.modes = room_modes(found->eigenvalues, sound_speed_m_s);
  } else {
    const double k = 2 * wave_pi * max_hz / sound_speed_m_s;
    const auto plane = plane_eigenvalues(room.plan_m, k * k);
    if (!plane) return plane.mistakes();
    report.method = "plane finite elements of degree 8 with " + std::to_string(plane->unknowns) +
                    " unknowns, times the height, rigid walls";
    report.unknowns = plane->unknowns;
    report.modes = plan_modes(plane->eigenvalues, room.height_m, sound_speed_m_s, max_hz);
  }
  sort_modes(report.modes);
  return report;
}

std::vector<BandCount> modes_per_third(const std::vector<Mode>& modes) {
  std::vector<BandCount> out;
  int x = -16;
  for (const double nominal : {25., 31.5, 40., 50., 63., 80., 100., 125., 160., 200.}) {
    const double centre = 1000 * std::pow(10.0, 0.1 * x++), edge = std::pow(10.0, 0.05);
    BandCount band{nominal, 0};
    for (const Mode& mode : modes)
      band.modes += mode.hz >= centre / edge && mode.hz < centre * edge;
    out.push_back(band);
  }
  return out;
}

}  // namespace roomwright::acoustics
