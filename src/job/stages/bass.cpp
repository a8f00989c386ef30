// The bass at the seat: the wave field with the room's surfaces and pieces, against the direct
// sound alone; what makes its peaks and dips; where on the surfaces a trap would bite.
#include "job/stages/bass.h"

#include <algorithm>
#include <cmath>

namespace roomwright::job {

namespace {

using Complex = std::complex<double>;
constexpr double lowest_hz = 20, highest_hz = 200;
constexpr double told_from_hz = 25;      // below it loudspeakers give little
constexpr double least_standing_db = 6;  // a peak or dip worth a line
constexpr double around_m = 0.25;        // how far a head moves
constexpr double cell_m = 0.3;           // of the maps of pressure
constexpr std::size_t most_marks = 6;    // of one pair

std::vector<double> bass_hz() {
  std::vector<double> out;
  for (double hz = lowest_hz; hz <= highest_hz; hz += 1) out.push_back(hz);
  return out;
}

// ---- levels -------------------------------------------------------------------------------------

/// The seat, then places round it that lie in the room.
std::vector<Vec3> places_round(const Job& job, const Vec3& seat) {
  std::vector<Vec3> out{seat};
  for (const Vec3 step : {Vec3{1, 0, 0},
                          {-1, 0, 0},
                          {0, 1, 0},
                          {0, -1, 0},
                          {0, 0, 0.6},
                          {0, 0, -0.6},
                          {0.7, 0.7, 0},
                          {-0.7, 0.7, 0},
                          {0.7, -0.7, 0},
                          {-0.7, -0.7, 0}})
    if (const Vec3 at = seat + step * around_m; acoustics::contains(job.room, at, 0.02))
      out.push_back(at);
  return out;
}

SeatLevel level_of(const Vec3& source, const std::vector<Vec3>& places,
                   const std::vector<Complex>* pressure, std::size_t count, double density_kg_m3) {
  SeatLevel out;
  for (std::size_t p = 0; p < places.size(); ++p) {
    const double distance_m = length(source - places[p]);
    for (std::size_t i = 0; i < count; ++i) {
      const double level = against_direct_db(pressure[p][i], distance_m, density_kg_m3);
      if (p == 0) {
        out.level_db.push_back(level);
        out.around_low_db.push_back(level), out.around_high_db.push_back(level);
      }
      out.around_low_db[i] = std::min(out.around_low_db[i], level);
      out.around_high_db[i] = std::max(out.around_high_db[i], level);
    }
  }
  return out;
}

BassField field(const Job& job, const Survey& survey, const Treatment* treatment, const Run& run) {
  BassField out;
  if (job.loudspeakers.empty() || job.seats.empty()) return out;
  if (!run.sound_field) {
    out.note = field_left_out;
    return out;
  }
  const BassAsk ask = bass_ask(job, survey, treatment);
  const auto solved = solve_field(ask.request, run);
  if (!solved) {
    out.note = "The bass at the seat is not told: " + solved.mistakes().items()[0].what + ".";
    return out;
  }
  out.patches = solved->patches, out.bodies = solved->bodies;
  std::vector<const SourcePressures*> pressures;
  for (const auto& report : solved->by_source) pressures.push_back(&report.pressure_pa);
  set_levels(job, ask, pressures, out);
  out.note = "Wave field: " + solved->by_source[0].method +
             "; each wall a resistance that absorbs what its table says." +
             (solved->note.empty() ? "" : " " + solved->note);
  return out;
}

// ---- causes -------------------------------------------------------------------------------------

const Loudspeaker& speaker_named(const Job& job, const std::string& label) {
  return *std::find_if(job.loudspeakers.begin(), job.loudspeakers.end(),
                       [&](const Loudspeaker& one) { return one.label == label; });
}
const Seat& seat_named(const Job& job, const std::string& label) {
  return *std::find_if(job.seats.begin(), job.seats.end(),
                       [&](const Seat& one) { return one.label == label; });
}

/// A box's mode at a point, in the box's own frame.
double shape_at(const Job& job, const std::array<int, 3>& order, const Vec3& point) {
  const Vec3 size = acoustics::box_size_m(job.room);
  const Vec2 first = job.room.plan_m[0], along = job.room.plan_m[1] - first;
  const Vec2 unit = along * (1 / length(along)), at = Vec2{point.x, point.y} - first;
  const double pi = std::acos(-1.0);
  return std::cos(order[0] * pi * dot(unit, at) / size.x) *
         std::cos(order[1] * pi * cross(unit, at) / size.y) *
         std::cos(order[2] * pi * point.z / size.z);
}

std::string mode_text(const acoustics::Mode& mode) {
  std::string out = acoustics::mode_kind_name(mode) + " resonance at " + fixed(mode.hz, 1) + " Hz";
  if (mode.order)
    out += " (" + std::to_string((*mode.order)[0]) + ", " + std::to_string((*mode.order)[1]) +
           ", " + std::to_string((*mode.order)[2]) + ")";
  return out;
}

/// The mode that makes a peak: near enough, and driven and heard well where its shape is known.
std::string mode_of_peak(const Job& job, const Findings& found, const BassMark& mark) {
  const Vec3 source = metres_of(speaker_named(job, mark.loudspeaker).at);
  const Vec3 seat = metres_of(seat_named(job, mark.seat).at);
  const acoustics::Mode* best = nullptr;
  double most = 0;
  for (const auto& mode : found.modes) {
    const double away = std::abs(mode.hz - mark.hz);
    if (away > std::max(3.0, 0.04 * mark.hz)) continue;
    double weight = 1 / (1 + away);
    if (mode.order)
      weight *= std::abs(shape_at(job, *mode.order, source) * shape_at(job, *mode.order, seat));
    if (weight > most) most = weight, best = &mode;
  }
  return best ? "the room's " + mode_text(*best) : std::string();
}

/// The surface whose reflection comes an odd number of half waves late at a dip.
std::string boundary_of_dip(const Job& job, const Survey& survey, const BassMark& mark) {
  const Vec3 source = metres_of(speaker_named(job, mark.loudspeaker).at);
  const Vec3 seat = metres_of(seat_named(job, mark.seat).at);
  std::string best;
  double nearest = 0.08;
  for (int surface = 0; surface < acoustics::surface_count(job.room); ++surface) {
    const auto plane = acoustics::surface_plane(job.room, surface);
    const double late_m = length(plane.mirror(source) - seat) - length(source - seat);
    const double cancels_hz = survey.air.sound_speed_m_s / (2 * late_m);
    const double off = std::abs(cancels_hz / mark.hz - 1);
    if (off > nearest) continue;
    nearest = off;
    const double from_source = std::abs(plane.distance(source));
    const double from_seat = std::abs(plane.distance(seat));
    const bool source_near = from_source <= from_seat;
    best = "the reflection by " + acoustics::surface_name(job.room, surface) + ", " +
           print_room_length(std::min(from_source, from_seat), job.region.units) + " from the " +
           (source_near ? "loudspeaker" : "seat") + ", comes half a wavelength late";
  }
  return best;
}

/// Where no single reflection does it: the resonances on either side, in opposite phase.
std::string modes_beside_dip(const Findings& found, double hz) {
  const acoustics::Mode *below = nullptr, *above = nullptr;
  for (const auto& mode : found.modes) {
    if (mode.hz <= hz) below = &mode;
    if (mode.hz > hz && !above) above = &mode;
  }
  if (!below || !above) return {};
  return "the resonances at " + fixed(below->hz, 1) + " and " + fixed(above->hz, 1) +
         " Hz work against each other here";
}

// ---- peaks and dips -----------------------------------------------------------------------------

/// How far a local extreme stands out: down to the higher of the two saddles that part it from
/// something more extreme; where there is nothing such, down to the other extreme.
double stands_out(const std::vector<double>& level, std::size_t at, double sign) {
  double parted = 1e9, whole = 0;
  for (const int step : {-1, 1}) {
    double least = sign * level[at];
    bool beyond = false;
    for (std::ptrdiff_t i = std::ptrdiff_t(at) + step; i >= 0 && i < std::ptrdiff_t(level.size());
         i += step) {
      beyond = sign * level[std::size_t(i)] > sign * level[at];
      if (beyond) break;
      least = std::min(least, sign * level[std::size_t(i)]);
    }
    const double by = sign * level[at] - least;
    whole = std::max(whole, by);
    if (beyond) parted = std::min(parted, by);
  }
  return std::min(parted, whole);
}

std::vector<BassMark> marks_of(const std::vector<double>& hz, const SeatLevel& level) {
  std::vector<BassMark> out;
  for (std::size_t i = 1; i + 1 < hz.size(); ++i) {
    if (hz[i] < told_from_hz) continue;
    const auto& db = level.level_db;
    for (const double sign : {1.0, -1.0}) {
      if (sign * db[i] <= sign * db[i - 1] || sign * db[i] < sign * db[i + 1]) continue;
      const double by = stands_out(db, i, sign);
      if (by < least_standing_db) continue;
      out.push_back({level.loudspeaker, level.seat, sign > 0, hz[i], db[i], by, {}});
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const BassMark& a, const BassMark& b) {
    return std::round(a.stands_db * 10) > std::round(b.stands_db * 10);
  });
  if (out.size() > most_marks) out.resize(most_marks);
  return out;
}

void find_marks(const Job& job, const Survey& survey, Findings& found) {
  for (const SeatLevel& level : found.bass.levels)
    for (BassMark& mark : marks_of(found.bass.hz, level)) {
      if (mark.peak) {
        mark.cause = mode_of_peak(job, found, mark);
      } else {
        mark.cause = boundary_of_dip(job, survey, mark);
        if (mark.cause.empty()) mark.cause = modes_beside_dip(found, mark.hz);
      }
      found.bass.marks.push_back(std::move(mark));
    }
}

// ---- where a trap bites -------------------------------------------------------------------------

struct Cells {
  SurfacePressure* to;
  std::vector<Vec3> points;
  std::vector<std::size_t> cells;
};

/// Middles of cells, a little off the surface.
Cells cells_of(const Job& job, int surface, SurfacePressure& out) {
  const Polygon outline = acoustics::surface_outline(job.room, surface);
  Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
  for (const Vec2& corner : outline) {
    low = {std::min(low.x, corner.x), std::min(low.y, corner.y)};
    high = {std::max(high.x, corner.x), std::max(high.y, corner.y)};
  }
  out.surface = surface;
  out.across = std::max(1, int(std::lround((high.x - low.x) / cell_m)));
  out.up = std::max(1, int(std::lround((high.y - low.y) / cell_m)));
  out.level_db.assign(std::size_t(out.across) * std::size_t(out.up), -200);
  Cells cells{&out, {}, {}};
  const Vec3 inward = acoustics::surface_plane(job.room, surface).normal * 0.005;
  for (int j = 0; j < out.up; ++j)
    for (int i = 0; i < out.across; ++i) {
      const Vec2 uv{low.x + (high.x - low.x) * (i + 0.5) / out.across,
                    low.y + (high.y - low.y) * (j + 0.5) / out.up};
      const Vec3 at = acoustics::from_uv(job.room, surface, uv) + inward;
      if (!contains(outline, uv) || !acoustics::contains(job.room, at)) continue;
      cells.points.push_back(at);
      cells.cells.push_back(std::size_t(j * out.across + i));
    }
  return cells;
}

double mean_level(const std::vector<double>& levels) {
  double sum = 0;
  int count = 0;
  for (const double level : levels)
    if (level > -200) sum += std::pow(10, level / 10), ++count;
  return count == 0 ? -200 : 10 * std::log10(sum / count);
}

/// Mean over the column of cells of the two walls at a plan corner.
double corner_level(const BiteMap& map, int corner, int corners) {
  const SurfacePressure& after = map.surfaces[std::size_t(2 + corner)];
  const SurfacePressure& before = map.surfaces[std::size_t(2 + (corner + corners - 1) % corners)];
  std::vector<double> levels;
  for (int j = 0; j < after.up; ++j)
    levels.push_back(after.level_db[std::size_t(j * after.across)]);
  for (int j = 0; j < before.up; ++j)
    levels.push_back(before.level_db[std::size_t(j * before.across + before.across - 1)]);
  return mean_level(levels);
}

std::optional<BiteMap> bites_at(const Job& job, const Survey& survey, const BassMark& peak,
                                const Run& run) {
  BiteMap map;
  map.hz = peak.hz;
  map.loudspeaker = peak.loudspeaker;
  map.surfaces.resize(std::size_t(acoustics::surface_count(job.room)));
  acoustics::ResponseRequest request = field_request(job, survey, nullptr, {peak.hz});
  request.sources = {{metres_of(speaker_named(job, peak.loudspeaker).at), 1}};
  std::vector<Cells> all;
  for (std::size_t s = 0; s < map.surfaces.size(); ++s) {
    all.push_back(cells_of(job, int(s), map.surfaces[s]));
    request.receivers_m.insert(request.receivers_m.end(), all.back().points.begin(),
                               all.back().points.end());
  }
  const auto solved = solve_field(request, run);
  if (!solved) return std::nullopt;
  const auto& pressure = solved->by_source[0].pressure_pa;
  double loudest = 1e-300;
  for (const auto& row : pressure) loudest = std::max(loudest, std::abs(row[0]));
  std::size_t at = 0;
  for (const Cells& cells : all) {
    for (const std::size_t cell : cells.cells)
      cells.to->level_db[cell] =
          std::max(-60.0, std::round(200 * std::log10(std::abs(pressure[at++][0]) / loudest)) / 10);
    cells.to->mean_db = mean_level(cells.to->level_db);
  }
  const int corners = int(job.room.plan_m.size());
  for (int c = 0; c < corners; ++c) map.corner_db.push_back(corner_level(map, c, corners));
  return map;
}

// ---- sentences ----------------------------------------------------------------------------------

struct Extremes {
  std::size_t peak = 0, dip = 0;
};
Extremes extremes_of(const SeatLevel& level) {
  const auto [low, high] = std::minmax_element(level.level_db.begin() + 5, level.level_db.end());
  return {static_cast<std::size_t>(high - level.level_db.begin()),
          static_cast<std::size_t>(low - level.level_db.begin())};
}

double swing_db(const SeatLevel& level) {
  const Extremes at = extremes_of(level);
  return level.level_db[at.peak] - level.level_db[at.dip];
}

const BassMark* mark_at(const BassField& bass, const SeatLevel& level, bool peak, double hz) {
  for (const BassMark& mark : bass.marks)
    if (mark.loudspeaker == level.loudspeaker && mark.seat == level.seat && mark.peak == peak &&
        mark.hz == hz)
      return &mark;
  return nullptr;
}

void say_bites(const BassField& bass, std::vector<Statement>& out) {
  if (!bass.bites) return;
  const auto& corners = bass.bites->corner_db;
  const auto best = std::max_element(corners.begin(), corners.end());
  std::string where;
  for (std::size_t c = 0; c < corners.size(); ++c)
    if (corners[c] > *best - 1) where += (where.empty() ? "corner " : ", ") + std::to_string(c);
  out.push_back({0, "bass",
                 "Near " + fixed(bass.bites->hz, 0) + " Hz sound presses most in " + where +
                     "; a trap there takes up most of that peak.",
                 "", ""});
}

}  // namespace

std::size_t worst_pair(const BassField& bass) {
  std::size_t out = 0;
  for (std::size_t i = 1; i < bass.levels.size(); ++i)
    if (swing_db(bass.levels[i]) > swing_db(bass.levels[out])) out = i;
  return out;
}

BassAsk bass_ask(const Job& job, const Survey& survey, const Treatment* treatment) {
  BassAsk out;
  out.request = field_request(job, survey, treatment, bass_hz(), {}, &out.pieces);
  for (const Seat& seat : job.seats) {
    out.places.push_back(places_round(job, metres_of(seat.at)));
    out.request.receivers_m.insert(out.request.receivers_m.end(), out.places.back().begin(),
                                   out.places.back().end());
  }
  for (const Loudspeaker& speaker : job.loudspeakers)
    out.request.sources.push_back({metres_of(speaker.at), 1});
  return out;
}

void set_levels(const Job& job, const BassAsk& ask,
                const std::vector<const SourcePressures*>& by_source, BassField& out) {
  out.hz = ask.request.frequencies_hz;
  out.levels.clear();
  for (std::size_t l = 0; l < job.loudspeakers.size(); ++l) {
    const std::vector<Complex>* pressure = by_source[l]->data();
    for (std::size_t s = 0; s < job.seats.size(); ++s) {
      SeatLevel level = level_of(ask.request.sources[l].at_m, ask.places[s], pressure,
                                 out.hz.size(), ask.request.density_kg_m3);
      level.loudspeaker = job.loudspeakers[l].label, level.seat = job.seats[s].label;
      out.levels.push_back(std::move(level));
      pressure += ask.places[s].size();
    }
  }
}

BassField bass_today(const Job& job, const Survey& survey, const Run& run) {
  return field(job, survey, nullptr, run);
}

BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment,
                       const Run& run) {
  return field(job, survey, &treatment, run);
}

void say_bass(const Job& job, const Survey& survey, Findings& found, const Run& run) {
  BassField& bass = found.bass;
  if (bass.levels.empty()) return;
  find_marks(job, survey, found);
  bass.worst = worst_pair(bass);
  const SeatLevel& worst = bass.levels[bass.worst];
  const Extremes at = extremes_of(worst);
  const BassMark* peak = mark_at(bass, worst, true, bass.hz[at.peak]);
  const BassMark* dip = mark_at(bass, worst, false, bass.hz[at.dip]);
  std::string cause;
  if (peak && !peak->cause.empty()) cause = "peak: " + peak->cause;
  if (dip && !dip->cause.empty()) cause += (cause.empty() ? "" : "; ") + ("dip: " + dip->cause);
  found.statements.push_back(
      {swing_db(worst) > 20 ? 65 : 35, "bass",
       "At " + worst.seat + " the bass of loudspeaker " + worst.loudspeaker + " stands " +
           fixed(worst.level_db[at.peak], 0) + " dB above its direct sound near " +
           fixed(bass.hz[at.peak], 0) + " Hz and " + fixed(-worst.level_db[at.dip], 0) +
           " dB below it near " + fixed(bass.hz[at.dip], 0) + " Hz.",
       cause, "deep traps where that resonance is strong; try loudspeaker and seat elsewhere"});
  if (peak) bass.bites = bites_at(job, survey, *peak, run);
  say_bites(bass, found.statements);
}

void say_bass_change(const Findings& found, Treatment& treatment) {
  if (found.bass.levels.empty() || treatment.bass.levels.empty()) return;
  treatment.bass.worst = found.bass.worst;
  const SeatLevel& before = found.bass.levels[found.bass.worst];
  const SeatLevel& after = treatment.bass.levels[found.bass.worst];
  const Extremes at = extremes_of(before);
  treatment.statements.push_back(
      {0, "bass",
       "At " + after.seat + " the bass of loudspeaker " + after.loudspeaker + " near " +
           fixed(found.bass.hz[at.peak], 0) + " Hz goes from " +
           fixed(before.level_db[at.peak], 1) + " to " + fixed(after.level_db[at.peak], 1) +
           " dB; from 25 to 200 Hz it swings by " + fixed(swing_db(after), 0) + " dB instead of " +
           fixed(swing_db(before), 0) + "." +
           (treatment.bass.note.find("left out") == std::string::npos
                ? ""
                : " Corner traps and clouds are not counted in this."),
       "", ""});
}

}  // namespace roomwright::job
