// The driven field of a prism from end to end: checks what is asked, solves the pressures on the
// patches frequency by frequency, and reports. See coupled.h.
#include <algorithm>
#include <atomic>
#include <cmath>

#include "acoustics/waves/coupled.h"
#include "acoustics/waves/response_checks.h"

namespace roomwright::acoustics {

namespace {

using PrismValue = std::complex<double>;
const double prism_pi = std::acos(-1.0);

}  // namespace

Diagnostics wrong_prism_request(const ResponseRequest& request) {
  Diagnostics found;
  check_lists(request, found);
  if (!request.objects.empty())
    found.add("objects", "are not built yet for this solver", {}, "leave them out");
  if (request.surfaces.size() != std::size_t(surface_count(request.room)))
    found.add("surfaces", "must have one admittance for each surface",
              double(request.surfaces.size()));
  if (!found.empty()) return found;
  check_air(request, found);
  check_boundaries(request, found);
  check_points(request, found);
  return found;
}

namespace {

/// Whether two sides of the section meet at another angle than a right one, within half a degree.
bool has_oblique_edges(const Prism& prism) {
  const Polygon& section = prism.section_m;
  const std::size_t n = section.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 in = section[(i + 1) % n] - section[i],
               on = section[(i + 2) % n] - section[(i + 1) % n];
    if (std::abs(dot(in, on)) > 0.0087 * length(in) * length(on)) return true;
  }
  return false;
}

}  // namespace

PrismTile prism_tile(const Prism& prism, const Room& room, const Patch& area, double k_most,
                     double accuracy_db) {
  PrismTile out;
  out.area = prism.of(room, area);
  const Vec2 size = out.area.high - out.area.low;
  const auto order = [&](double side) {
    const int more = accuracy_db < 0.03 ? 5 : accuracy_db < 0.15 ? 3 : accuracy_db < 0.5 ? 2 : 1;
    return std::min(12, static_cast<int>(k_most * side / 2 + 1.3) + more);
  };
  out.order[0] = order(size.x);
  out.order[1] = order(size.y);
  return out;
}

PrismValue admittance_at(const Admittance& values, std::size_t frequency) {
  if (values.empty()) return least_admittance;
  const PrismValue value = values[values.size() == 1 ? 0 : frequency];
  return std::abs(value) < least_admittance ? PrismValue(least_admittance) : value;
}

std::vector<PrismValue> surface_admittances(const ResponseRequest& request, std::size_t frequency) {
  std::vector<PrismValue> out;
  for (const Admittance& values : request.surfaces) out.push_back(admittance_at(values, frequency));
  return out;
}

namespace {

/// Pressure at the receivers over the density at one frequency; none where it cannot be had.
bool solve_prism(const PrismRoom& room, const PrismFunctions& functions,
                 const ResponseRequest& request, const std::vector<PrismTile>& tiles,
                 std::size_t frequency, std::vector<PrismValue>& out) {
  const double k = 2 * prism_pi * request.frequencies_hz[frequency] / request.sound_speed_m_s;
  const auto walls = surface_admittances(request, frequency);
  PrismAtK at;
  if (!prism_at(room, k, walls, at)) return false;
  const ComplexMatrix field = functions.field(at);
  const Eigen::Index sources = Eigen::Index(request.sources.size()),
                     receivers = Eigen::Index(request.receivers_m.size()),
                     points = sources + receivers, unknowns = field.rows() - points;
  ComplexVector strength(sources);
  for (Eigen::Index s = 0; s < sources; ++s)
    strength[s] = request.sources[std::size_t(s)].volume_acceleration_m3_s2;
  ComplexVector pressure = field.block(sources, 0, receivers, sources) * strength;
  if (unknowns > 0) {
    ComplexVector jump(unknowns);
    Eigen::Index row = 0;
    for (std::size_t p = 0; p < tiles.size(); ++p) {
      const PrismValue more = admittance_at(request.patches[p].admittance, frequency) -
                              walls[std::size_t(tiles[p].area.surface)];
      jump.segment(row, tiles[p].count()).setConstant(PrismValue(0, k) * more);
      row += tiles[p].count();
    }
    ComplexMatrix system = field.bottomRightCorner(unknowns, unknowns) * jump.asDiagonal();
    system.diagonal().array() += 1;
    const ComplexVector on =
        system.partialPivLu().solve(field.block(points, 0, unknowns, sources) * strength);
    pressure -= field.block(sources, points, receivers, unknowns) * jump.asDiagonal() * on;
  }
  out.assign(pressure.begin(), pressure.end());
  return pressure.allFinite();
}

}  // namespace

Result<ResponseReport> prism_response(const ResponseRequest& request,
                                      const ResponseOptions& options, const Watch& watch) {
  Diagnostics found = wrong_prism_request(request);
  found.add_all(options.check());
  if (!found.empty()) return found;
  const double most =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  watch.tick(0, "modes of the room");
  auto room = make_prism_room(request.room, request.sound_speed_m_s, most);
  if (!room) return room.mistakes();
  PrismFunctions functions(*room);
  for (const auto& source : request.sources) functions.add_point(room->prism.of(source.at_m));
  for (const Vec3& at : request.receivers_m) functions.add_point(room->prism.of(at));
  std::vector<PrismTile> tiles;
  for (const auto& patch : request.patches) {
    tiles.push_back(prism_tile(room->prism, request.room, patch.area,
                               2 * prism_pi * most / request.sound_speed_m_s, options.accuracy_db));
    functions.add_tile(tiles.back());
  }
  functions.settle(int(request.sources.size()));
  ResponseReport report;
  const std::size_t count = request.frequencies_hz.size();
  report.pressure_pa.assign(request.receivers_m.size(), std::vector<PrismValue>(count));
  std::atomic<std::size_t> done{0};
  std::vector<char> failed(count, 0);
  parallel_for(count, options.threads, [&](std::size_t f) {
    if (watch.cancelled()) return;
    std::vector<PrismValue> pressure;
    failed[f] = !solve_prism(*room, functions, request, tiles, f, pressure);
    for (std::size_t r = 0; r < pressure.size(); ++r)
      report.pressure_pa[r][f] = request.density_kg_m3 * pressure[r];
    ++done;
  });
  watch.tick(1, "driven field");
  if (watch.cancelled()) return Complaint{"response", "was cancelled", {}, "start it again", 0};
  if (const auto bad = std::find(failed.begin(), failed.end(), 1); bad != failed.end())
    return Complaint{"surfaces", "are so springy that the waves along them cannot be told apart",
                     request.frequencies_hz[std::size_t(bad - failed.begin())],
                     "check the imaginary part of the admittance", 0};
  report.method = "coupled modes of a prism";
  report.modes = room->basis.count() * room->axis_all;
  report.unknowns = functions.count() - int(request.sources.size() + request.receivers_m.size());
  // Measured against the box's own solver with six patches: 0.15 dB at walls of β = 0.02, 0.36 at
  // 0.05, 0.63 at 0.1.
  double wall = 0;
  for (const Admittance& values : request.surfaces)
    for (const PrismValue& value : values) wall = std::max(wall, std::abs(value));
  report.accuracy_db = std::max(options.accuracy_db, 8 * wall);
  if (report.accuracy_db > options.accuracy_db)
    report.warnings.push_back({"surfaces", "absorb more than this solver follows to the accuracy",
                               wall, "give walls that absorb much as patches", 0});
  // Measured against finite elements under thirteen slopes: 0.45 dB, 1.7 dB in deep dips.
  constexpr double beside_an_oblique_edge_db = 0.7;
  if (!request.patches.empty() && has_oblique_edges(room->prism) &&
      report.accuracy_db < beside_an_oblique_edge_db) {
    report.accuracy_db = beside_an_oblique_edge_db;
    report.warnings.push_back({"patches", "what edges that are not square bend is left out",
                               report.accuracy_db, "ask the room's whole solution", 0});
  }
  return report;
}

}  // namespace roomwright::acoustics
