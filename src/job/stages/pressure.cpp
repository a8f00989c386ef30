// Pressure: where sound presses on the room's surfaces and on a level plane at one frequency, today
// and with the pieces, and what a trap that pressure drives would meet there. One solution of the
// wave field gives every surface, the plane and the mean of the room's air.
#include <algorithm>
#include <cmath>
#include <set>

#include "job/stages/field.h"
#include "job/stages/pressure_grid.h"

namespace roomwright::job {

namespace {

using Complex = std::complex<double>;
constexpr double step_m = 0.1;  // at most a tenth of a wave up to greatest_pressure_hz
constexpr double most_map_points = 12000;
constexpr double air_step_m = 0.4;  // of the points whose mean is the room's
constexpr double most_air_points = 3000;
constexpr double clear_m = 0.3;  // of a loudspeaker, whose own field is not the room's
constexpr double ears_m = 1.2;   // where there is no seat; common practice, no source
constexpr double wool_front_m = 0.1, wool_front_in = 4;  // off the wall, for what porous wool meets
constexpr std::size_t most_peaks = 3;
constexpr double same_peak = 0.05;  // of two loudspeakers, say

// ---- what is asked ------------------------------------------------------------------------------

bool counts(const PressureOptions& options, const Loudspeaker& one) {
  return options.loudspeaker.empty() || one.label == options.loudspeaker;
}

std::string labels_of(const Job& job) {
  std::string out;
  for (const Loudspeaker& one : job.loudspeakers) out += (out.empty() ? "" : ", ") + one.label;
  return out;
}

/// The highest peaks that the findings name, highest first, each frequency once.
std::vector<double> highest_peaks(const PressureOptions& options, const Findings& findings) {
  std::vector<const BassMark*> peaks;
  for (const BassMark& mark : findings.bass.marks)
    if (mark.peak && (options.loudspeaker.empty() || mark.loudspeaker == options.loudspeaker))
      peaks.push_back(&mark);
  std::stable_sort(peaks.begin(), peaks.end(), [](const BassMark* a, const BassMark* b) {
    return std::round(a->level_db * 10) > std::round(b->level_db * 10);
  });
  std::vector<double> out;
  for (const BassMark* mark : peaks) {
    const bool told = std::any_of(
        out.begin(), out.end(), [&](double hz) { return std::abs(mark->hz / hz - 1) < same_peak; });
    if (out.size() < most_peaks && !told) out.push_back(mark->hz);
  }
  return out;
}

double highest_ceiling_m(const acoustics::Room& room) {
  double out = 0;
  for (const Vec2& corner : room.plan_m) out = std::max(out, room.ceiling_at(corner));
  return out;
}

Diagnostics wrong_options(const Job& job, const PressureOptions& options,
                          const std::vector<double>& hz, double plane_m) {
  Diagnostics found;
  if (job.loudspeakers.empty())
    found.add("loudspeakers", "is empty: nothing sounds", {}, "add a loudspeaker to the job");
  else if (std::none_of(job.loudspeakers.begin(), job.loudspeakers.end(),
                        [&](const Loudspeaker& one) { return counts(options, one); }))
    found.add("loudspeaker", "is not in this job", "\"" + options.loudspeaker + "\"",
              "the job has " + labels_of(job));
  if (hz.empty())
    found.add("hz", "is not given, and the findings name no peak", {}, "give one, such as 63");
  if (hz.size() > most_pressure_frequencies)
    found.add("hz", "names more than 12 frequencies", double(hz.size()), "ask for fewer at a time");
  for (const double one : hz)
    if (!(one >= least_pressure_hz && one <= greatest_pressure_hz))
      found.add("hz", "must be from 20 to 300", one, "such as 63");
  const double ceiling_m = highest_ceiling_m(job.room);
  if (!(plane_m >= 0.01 && plane_m <= ceiling_m - 0.01))
    found.add("plane", "must lie between the floor and the ceiling",
              print_room_length(plane_m, job.region.units),
              "the ceiling is " + print_room_length(ceiling_m, job.region.units) +
                  " high; name the unit, such as 1.2 m or 4 ft");
  return found;
}

// ---- the points ---------------------------------------------------------------------------------

bool is_told(PressurePlace what) {
  return what == PressurePlace::air || what == PressurePlace::edge;
}

/// What is solved for at one frequency: points of every map, then the air's.
struct PressureTask {
  std::vector<PressureGrid> grids;
  /// By told point of the maps, how much of the next receivers makes it; mostly all of one.
  std::vector<std::vector<double>> parts;
  std::vector<double> air_weight;  ///< by point of the air
  acoustics::ResponseRequest request;
};

double step_for(const acoustics::Room& room) {
  const double area_m2 = acoustics::total_area_m2(room) + acoustics::floor_area_m2(room);
  return std::max(step_m, std::sqrt(area_m2 / most_map_points));
}

/// Places whose pressures, in these parts, make that of another.
struct Fitted {
  std::vector<Vec3> places;
  std::vector<double> parts;
};
/// Straight above and below a source the whole-room solver is off: it resolves the height in
/// finitely many functions there. Such a point is taken from the plane through four places around
/// the source's axis, which misses the curvature: a share of (kr)²/4.
Fitted off_axis(const acoustics::ResponseRequest& request, const PressureMap& map, const Vec3& at) {
  constexpr double beside_axis_m = 0.17, ring_m = 0.2;
  const Fitted itself{{at}, {1}};
  if ((acoustics::is_box(request.room) && request.objects.empty()) || map.surface >= 2)
    return itself;
  for (const auto& source : request.sources) {
    const Vec2 axis{source.at_m.x, source.at_m.y}, off = Vec2{at.x, at.y} - axis;
    if (length(off) > beside_axis_m || std::abs(source.at_m.z - at.z) < 2 * ring_m) continue;
    Fitted out;
    for (const Vec2 way : {Vec2{1, 0}, Vec2{-1, 0}, Vec2{0, 1}, Vec2{0, -1}}) {
      const Vec2 uv = axis + way * ring_m;
      if (!contains(map.outline_m, uv)) return itself;
      out.places.push_back(map.surface < 0 ? Vec3{uv.x, uv.y, at.z}
                                           : acoustics::from_uv(request.room, map.surface, uv));
      out.parts.push_back(0.25 + dot(off, way) / (2 * ring_m));
    }
    return out;
  }
  return itself;
}

/// A source's own place has no pressure: a point there stands two millimetres beside it.
Vec3 beside_sources(const acoustics::ResponseRequest& request, Vec3 at) {
  for (const auto& source : request.sources)
    if (length(at - source.at_m) < 1.5e-3) {
      at.x += 2e-3;
      if (!acoustics::contains(request.room, at)) at.x -= 4e-3;
    }
  return at;
}

/// Middles of cells of the room's air, each with the height it stands for.
void add_air(PressureTask& task) {
  const acoustics::Room& room = task.request.room;
  const double step = std::max(air_step_m, std::cbrt(acoustics::volume_m3(room) / most_air_points));
  Vec2 low = room.plan_m[0], high = low;
  for (const Vec2& c : room.plan_m) {
    low = {std::min(low.x, c.x), std::min(low.y, c.y)};
    high = {std::max(high.x, c.x), std::max(high.y, c.y)};
  }
  const auto cells = [&](double size) { return static_cast<int>(std::ceil(size / step)); };
  const int across = cells(high.x - low.x), along = cells(high.y - low.y),
            up = cells(highest_ceiling_m(room));
  for (int i = 0; i < across; ++i)
    for (int j = 0; j < along; ++j) {
      const Vec2 at{low.x + (high.x - low.x) * (i + 0.5) / across,
                    low.y + (high.y - low.y) * (j + 0.5) / along};
      if (!contains(room.plan_m, at)) continue;
      const double ceiling_m = room.ceiling_at(at);
      for (int k = 0; k < up; ++k) {
        const Vec3 point{at.x, at.y, ceiling_m * (k + 0.5) / up};
        const bool near =
            std::any_of(task.request.sources.begin(), task.request.sources.end(),
                        [&](const auto& source) { return length(source.at_m - point) < clear_m; });
        if (near || in_a_body(task.request.objects, point)) continue;
        task.air_weight.push_back(ceiling_m);
        task.request.receivers_m.push_back(point);
      }
    }
}

void add_maps(const acoustics::Room& room, double plane_m, double step, PressureTask& task) {
  for (int s = 0; s <= acoustics::surface_count(room); ++s) {
    const int surface = s < acoustics::surface_count(room) ? s : -1;
    task.grids.push_back(pressure_grid(room, surface, plane_m, step, task.request.objects));
    const PressureMap& map = task.grids.back().map;
    for (std::size_t i = 0; i < map.what.size(); ++i)
      if (is_told(map.what[i])) {
        Fitted fitted = off_axis(task.request, map, map.point_m[i]);
        for (const Vec3& at : fitted.places)
          task.request.receivers_m.push_back(beside_sources(task.request, at));
        task.parts.push_back(std::move(fitted.parts));
      }
  }
}

PressureTask task_of(const Job& job, const Survey& survey, const Treatment* treatment, double hz,
                     double plane_m) {
  PressureTask out;
  out.request = field_request(job, survey, treatment, {hz});
  for (const Loudspeaker& one : job.loudspeakers)
    out.request.sources.push_back({metres_of(one.at), 1});
  // Many narrow walls have more points than their area says.
  for (double step = step_for(job.room);; step *= 1.25) {
    out.grids.clear(), out.parts.clear(), out.request.receivers_m.clear();
    add_maps(job.room, plane_m, step, out);
    if (double(out.request.receivers_m.size()) <= 1.3 * most_map_points || step > 2) break;
  }
  add_air(out);
  return out;
}

// ---- the levels ---------------------------------------------------------------------------------

double level_of_square(double square) {
  return 10 * std::log10(std::max(square, 1e-20));
}

/// Over the cells, each by the mean of those of its corners that lie in the air or on an edge.
double mean_square(const PressureGrid& grid, const std::vector<double>& square) {
  const PressureMap& map = grid.map;
  double sum = 0, area_m2 = 0;
  for (int j = 0; j + 1 < map.up; ++j)
    for (int i = 0; i + 1 < map.across; ++i) {
      const auto first = static_cast<std::size_t>(j * map.across + i);
      double cell = 0;
      int told = 0;
      for (const std::size_t at : {first, first + 1, first + static_cast<std::size_t>(map.across),
                                   first + static_cast<std::size_t>(map.across) + 1})
        if (is_told(map.what[at])) cell += square[at], ++told;
      if (told == 0) continue;
      const double part_m2 = grid.cell_m2[static_cast<std::size_t>(j * (map.across - 1) + i)];
      sum += part_m2 * cell / told;
      area_m2 += part_m2;
    }
  return area_m2 > 0 ? sum / area_m2 : 0;
}

/// Mean squares against one loudspeaker's direct sound at 1 m; levels against that too.
Result<PressureRoom> room_of(const Job& job, const PressureOptions& options, PressureTask task,
                             const Run& run) {
  auto solved = solve_field(task.request, run);
  if (!solved) return solved.mistakes();
  PressureRoom out;
  out.note = solved->note;
  const double direct = task.request.density_kg_m3 / (4 * std::acos(-1.0));
  std::size_t receiver = 0, point = 0;
  const auto next_square = [&] {
    Complex sum = 0;
    const std::vector<double> parts =
        point < task.parts.size() ? task.parts[point] : std::vector<double>{1};
    for (const double part : parts) {
      for (std::size_t s = 0; s < job.loudspeakers.size(); ++s)
        if (counts(options, job.loudspeakers[s]))
          sum += part * solved->by_source[s].pressure_pa[receiver][0];
      ++receiver;
    }
    ++point;
    return std::norm(sum / direct);
  };
  std::vector<Vec3> sounding;
  for (const Loudspeaker& one : job.loudspeakers)
    if (counts(options, one)) sounding.push_back(metres_of(one.at));
  std::vector<double> means;
  for (PressureGrid& grid : task.grids) {
    PressureMap& map = grid.map;
    std::vector<double> square(map.what.size(), 0);
    for (std::size_t i = 0; i < square.size(); ++i)
      if (is_told(map.what[i])) {
        square[i] = next_square();
        map.level_db[i] = level_of_square(square[i]);
      }
    means.push_back(mean_square(grid, square));
  }
  double air = 0, weight = 0;
  for (const double one : task.air_weight) air += one * next_square(), weight += one;
  air = weight > 0 ? air / weight : 0;
  out.mean_db = level_of_square(air);
  out.greatest_db = -200;
  for (std::size_t m = 0; m < task.grids.size(); ++m) {
    PressureMap& map = task.grids[m].map;
    map.mean_db = level_of_square(means[m]);
    map.share = air > 0 ? means[m] / air : 0;
    map.most = greatest_place(job, map, sounding);
    if (map.surface >= 0) {
      out.order.push_back(m);
      out.greatest_db = std::max(out.greatest_db, map.most.level_db);
    }
    out.maps.push_back(std::move(map));
  }
  std::stable_sort(out.order.begin(), out.order.end(), [&](std::size_t a, std::size_t b) {
    return std::round(out.maps[a].share * 100) > std::round(out.maps[b].share * 100);
  });
  return out;
}

/// Levels of all rooms against the greatest on their surfaces.
void refer(PressureAt& at) {
  at.reference_db = -200;
  for (const PressureRoom& room : at.rooms)
    at.reference_db = std::max(at.reference_db, room.greatest_db);
  for (PressureRoom& room : at.rooms) {
    room.greatest_db -= at.reference_db, room.mean_db -= at.reference_db;
    for (PressureMap& map : room.maps) {
      map.mean_db -= at.reference_db, map.most.level_db -= at.reference_db;
      for (std::size_t i = 0; i < map.level_db.size(); ++i)
        if (is_told(map.what[i])) map.level_db[i] -= at.reference_db;
    }
  }
}

// ---- sentences ----------------------------------------------------------------------------------

/// Rigid modes to somewhat above the frequencies: the findings', or found anew as far as needed.
/// None where they cannot be told.
std::vector<acoustics::Mode> modes_about(const Job& job, const Survey& survey,
                                         const Findings& findings, const std::vector<double>& hz) {
  const double reach_hz = 1.05 * *std::max_element(hz.begin(), hz.end()) + 5;
  if (!findings.modes.empty() && findings.modes_to_hz >= reach_hz) return findings.modes;
  const auto report = acoustics::modes(job.room, survey.air.sound_speed_m_s, reach_hz);
  return report ? report->modes : findings.modes;
}

std::string nearest_resonance(const std::vector<acoustics::Mode>& modes, double hz) {
  const acoustics::Mode* best = nullptr;
  for (const auto& mode : modes)
    if (!best || std::abs(mode.hz - hz) < std::abs(best->hz - hz)) best = &mode;
  if (!best) return {};
  std::string out = acoustics::mode_kind_name(*best) + " at " + fixed(best->hz, 1) + " Hz";
  if (best->order)
    out += " (" + std::to_string((*best->order)[0]) + ", " + std::to_string((*best->order)[1]) +
           ", " + std::to_string((*best->order)[2]) + ")";
  return out;
}

std::string hz_text(double hz) {
  return fixed(hz, hz == std::round(hz) ? 0 : 1) + " Hz";
}

/// `the floor`, `wall2`
std::string spoken(const PressureMap& map) {
  return map.surface < 2 ? "the " + map.name : map.name;
}

/// The surfaces whose share is within a tenth of the greatest.
std::string leading(const PressureRoom& room) {
  std::vector<std::string> names;
  for (const std::size_t m : room.order)
    if (room.maps[m].share > 0.9 * room.maps[room.order[0]].share && names.size() < 3)
      names.push_back(spoken(room.maps[m]));
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i)
    out += (i == 0 ? "" : i + 1 < names.size() ? ", " : " and ") + names[i];
  return out;
}

const PressureMap& greatest_map(const PressureRoom& room) {
  std::size_t best = room.order[0];
  for (const std::size_t m : room.order)
    if (std::round(room.maps[m].most.level_db * 100) >
        std::round(room.maps[best].most.level_db * 100))
      best = m;
  return room.maps[best];
}

/// What wool before a bare wall meets at most. Of a standing wave p cos(k_n d) before a hard wall
/// the motion toward it is (k_n / k) sin(k_n d), no more than sin(kd) as k_n ≤ k: our own
/// derivation.
std::string wool_words(const Job& job, double quarter_wave_m) {
  const bool metric = job.region.units.metric;
  const double front_m = metric ? wool_front_m : Length::from_inch(wool_front_in).metres();
  const double share =
      std::pow(std::sin(std::acos(-1.0) / 2 * std::min(1.0, front_m / quarter_wave_m)), 2);
  return "Wool works by air that moves through it, and a wall holds that still: " +
         print_room_length(front_m, job.region.units) +
         " before it, motion toward the wall has at "
         "most " +
         fixed(100 * share, share < 0.1 ? 1 : 0) +
         " % of the energy of what presses on it; all of it no nearer than " +
         print_room_length(quarter_wave_m, job.region.units) + ".";
}

std::string db_text(double db) {
  const std::string text = fixed(db, 1);
  return text[0] == '-' ? "−" + text.substr(1) : text;
}

void say_pressure(const PressureAt& at, std::vector<Statement>& out) {
  const PressureRoom& today = at.rooms[0];
  const PressureMap& most = greatest_map(today);
  const PressureMap& first = today.maps[today.order[0]];
  const std::string leads = leading(today);
  out.push_back({20, "pressure",
                 "At " + hz_text(at.hz) + " sound presses most on " + spoken(most) + ", " +
                     most.most.words + "; " + leads +
                     (leads == spoken(first) ? " meets " : " meet up to ") + fixed(first.share, 1) +
                     " times the room's mean square.",
                 at.resonance.empty() ? "" : "the nearest resonance: " + at.resonance,
                 "traps that pressure drives (plates, slots, holes) bite there most"});
  if (at.rooms.size() > 1)
    out.push_back({0, "pressure",
                   "With the pieces the greatest pressure at " + hz_text(at.hz) + " goes from " +
                       db_text(today.greatest_db) + " to " + db_text(at.rooms[1].greatest_db) +
                       " dB and the room's mean from " + db_text(today.mean_db) + " to " +
                       db_text(at.rooms[1].mean_db) + " dB.",
                   "", ""});
}

std::vector<std::string> notes_of(const PressureReport& report, const Job& job) {
  std::vector<std::string> out = {
      "0 dB is the greatest on the surfaces at that frequency, today and treated together, where a "
      "loudspeaker's own direct sound makes less than half of it; the plane stands " +
          print_room_length(report.plane_m, job.region.units) + " above the floor.",
      "Share: a surface's mean squared pressure over that of the room's air, clear of loudspeakers "
      "by 0.3 m. It is what drives a trap of plates, slots or holes.",
      "Not told: how air moves along and before a surface, which is what wool lives on, and what a "
      "new piece does to the field once it hangs."};
  if (report.loudspeaker.find("together") != std::string::npos)
    out.push_back(
        "All loudspeakers play the same: what one drives and another cancels is not seen; name one "
        "to see it alone.");
  std::set<std::string> left_out;
  for (const PressureAt& at : report.at)
    for (const PressureRoom& room : at.rooms)
      if (!room.note.empty() && left_out.insert(room.note).second) out.push_back(room.note);
  return out;
}

}  // namespace

Result<PressureReport> pressure(const Job& job, const Survey& survey, const Findings& findings,
                                const Treatment& treatment, const PressureOptions& options,
                                const Run& run) {
  const std::vector<double> hz = options.hz.empty() ? highest_peaks(options, findings) : options.hz;
  PressureReport out;
  out.plane_m = options.plane_m     ? *options.plane_m
                : job.seats.empty() ? ears_m
                                    : metres_of(job.seats[0].at).z;
  if (Diagnostics found = wrong_options(job, options, hz, out.plane_m); !found.empty())
    return found;
  out.loudspeaker = !options.loudspeaker.empty()   ? options.loudspeaker
                    : job.loudspeakers.size() == 1 ? job.loudspeakers[0].label
                                                   : "all loudspeakers together";
  const auto modes = modes_about(job, survey, findings, hz);
  const std::size_t states = options.treated && !treatment.pieces.empty() ? 2 : 1;
  for (std::size_t f = 0; f < hz.size(); ++f) {
    PressureAt at;
    at.hz = hz[f];
    at.resonance = nearest_resonance(modes, at.hz);
    at.quarter_wave_m = survey.air.sound_speed_m_s / at.hz / 4;
    for (std::size_t state = 0; state < states; ++state) {
      const double part = double(f * states + state), parts = double(hz.size() * states);
      auto room = room_of(
          job, options, task_of(job, survey, state == 1 ? &treatment : nullptr, at.hz, out.plane_m),
          {run.watch.part(part / parts, (part + 1) / parts), run.keep});
      if (!room) return room.mistakes();
      room->treated = state == 1;
      at.rooms.push_back(std::move(*room));
    }
    refer(at);
    at.wool = wool_words(job, at.quarter_wave_m);
    say_pressure(at, out.statements);
    out.at.push_back(std::move(at));
  }
  if (options.treated && states == 1)
    out.notes.push_back("The job has no pieces yet: the room is shown as it is today.");
  for (std::string& note : notes_of(out, job)) out.notes.push_back(std::move(note));
  return out;
}

}  // namespace roomwright::job
