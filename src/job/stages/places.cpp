// Places: where loudspeakers and seat get the evenest bass. Thousands of sets are made of a few
// hundred places; by reciprocity the wave field is solved once for every seat.
#include <algorithm>
#include <cmath>
#include <map>

#include "job/stages/field.h"

namespace roomwright::job {

namespace {

using Complex = std::complex<double>;

constexpr double from_hz = 25, middle_hz = 99, to_hz = 199;
constexpr double sub_to_hz = 120;
// Common practice, no source: the distances that a set keeps.
constexpr double speaker_off_wall_m = 0.3, seat_off_wall_m = 0.7, door_clear_m = 0.9;
constexpr double narrowest_deg = 50, widest_deg = 70;
constexpr double least_base_m = 0.9, greatest_base_m = 2.6;
constexpr double apart_m = 0.2;  // two answers
constexpr std::size_t most_seats = 64;
constexpr double sub_step_m = 0.2;

std::vector<double> told_hz() {
  std::vector<double> out;
  for (double hz = from_hz; hz <= to_hz; hz += hz < middle_hz ? 2 : 4) out.push_back(hz);
  return out;
}

// ---- how even -----------------------------------------------------------------------------------

/// Mean power within a twelfth of an octave on either side.
std::vector<double> smoothed(const std::vector<double>& hz, const std::vector<double>& power) {
  std::vector<double> out;
  const double reach = std::pow(2, 1.0 / 12);
  for (const double middle : hz) {
    double sum = 0;
    int count = 0;
    for (std::size_t i = 0; i < hz.size(); ++i)
      if (hz[i] >= middle / reach && hz[i] <= middle * reach) sum += power[i], ++count;
    out.push_back(10 * std::log10(std::max(sum / count, 1e-18)));
  }
  return out;
}

/// power: against the direct sound, by frequency.
void judge(const std::vector<double>& hz, const std::vector<double>& power, double up_to_hz,
           PlaceChoice& out) {
  const std::vector<double> level = smoothed(hz, power);
  double weight = 0, mean = 0, square = 0;
  out.highest_db = -1e9, out.lowest_db = 1e9;
  for (std::size_t i = 0; i < hz.size() && hz[i] <= up_to_hz; ++i) {
    const double w = 1 / hz[i];
    weight += w, mean += w * level[i], square += w * level[i] * level[i];
    if (level[i] > out.highest_db) out.highest_db = level[i], out.highest_hz = hz[i];
    if (level[i] < out.lowest_db) out.lowest_db = level[i], out.lowest_hz = hz[i];
  }
  mean /= weight;
  out.unevenness_db = std::sqrt(std::max(0.0, square / weight - mean * mean));
}

// ---- where a thing may stand --------------------------------------------------------------------

bool in_furniture(const Job& job, const Vec3& at) {
  return std::any_of(job.furniture.begin(), job.furniture.end(), [&](const Furniture& one) {
    return at.x > one.from_x.metres() && at.x < one.to_x.metres() && at.y > one.from_y.metres() &&
           at.y < one.to_y.metres() && at.z > one.from_z.metres() && at.z < one.to_z.metres();
  });
}

bool before_a_door(const Job& job, const Vec3& at) {
  return std::any_of(job.features.begin(), job.features.end(), [&](const Feature& one) {
    if (one.kind != FeatureKind::door) return false;
    const auto plane = acoustics::surface_plane(job.room, one.surface);
    const Vec2 uv = acoustics::to_uv(job.room, one.surface, at);
    return plane.distance(at) < door_clear_m && uv.x > one.from_u.metres() &&
           uv.x < one.to_u.metres();
  });
}

bool may_stand(const Job& job, const Vec3& at, double off_wall_m) {
  for (int s = 2; s < acoustics::surface_count(job.room); ++s) {
    const Vec2 a = job.room.plan_m[std::size_t(s - 2)];
    const Vec2 b = job.room.plan_m[std::size_t(s - 1) % job.room.plan_m.size()];
    if (distance_to_segment({at.x, at.y}, a, b) < off_wall_m) return false;
  }
  return acoustics::contains(job.room, at, 0.05) && !in_furniture(job, at) &&
         !before_a_door(job, at);
}

/// Where a person would set it down: to a centimetre, or half an inch.
Vec3 on_the_tape(const Job& job, const Vec3& at) {
  const Length grid = job.region.units.metric ? 10_mm : Length::from_inch(0.5);
  const auto round = [&](double m) { return Length::from_m(m).round_to(grid).metres(); };
  return {round(at.x), round(at.y), at.z};
}

// ---- candidates ---------------------------------------------------------------------------------

/// Sets as numbers into lists of places.
struct Candidates {
  std::vector<std::string> labels;
  std::vector<Vec3> speakers, seats;
  struct Set {
    std::vector<std::size_t> speakers;
    std::size_t seat;
  };
  std::vector<Set> sets;  ///< the first is today's
};

std::vector<const Loudspeaker*> main_speakers(const Job& job) {
  std::vector<const Loudspeaker*> out;
  for (const Loudspeaker& one : job.loudspeakers)
    if (!one.subwoofer && out.size() < 2) out.push_back(&one);
  return out;
}

/// What happens along the line from between the loudspeakers to the seat.
struct Axis {
  Vec2 origin, along, across;  ///< the seat; toward the loudspeakers; to their left
  Vec3 at(double forward, double left, double z) const {
    const Vec2 p = origin + along * forward + across * left;
    return {p.x, p.y, z};
  }
};

/// A pair: its line moves along the axis, its base changes, the seat follows the angle.
void pair_sets(const Job& job, const std::vector<const Loudspeaker*>& pair, Candidates& out) {
  const Vec3 one = metres_of(pair[0]->at), two = metres_of(pair[1]->at);
  const Vec3 seat = metres_of(job.seats[0].at);
  const Vec2 middle{(one.x + two.x) / 2, (one.y + two.y) / 2};
  Axis axis{{seat.x, seat.y}, middle - Vec2{seat.x, seat.y}, {}};
  axis.along = axis.along * (1 / std::max(length(axis.along), 1e-9));
  axis.across = {-axis.along.y, axis.along.x};
  // The first loudspeaker stays on its own side.
  const double side = cross(axis.along, Vec2{one.x, one.y} - middle) >= 0 ? 1 : -1;
  std::vector<std::pair<double, std::size_t>> seats;  // place along the axis
  const double seat_step = 0.04, line_step = 0.08, base_step = 0.1;
  std::vector<double> rows;
  for (double forward = -8; forward <= 8; forward += seat_step)
    if (const Vec3 at = axis.at(forward, 0, seat.z); may_stand(job, at, seat_off_wall_m))
      rows.push_back(forward);
  // Too many to solve: every second, third … of them.
  const std::size_t stride = (rows.size() + most_seats - 2) / (most_seats - 1);
  for (std::size_t i = 0; i < rows.size(); i += std::max<std::size_t>(1, stride)) {
    seats.emplace_back(rows[i], out.seats.size());
    out.seats.push_back(on_the_tape(job, axis.at(rows[i], 0, seat.z)));
  }
  for (double forward = -8; forward <= 8; forward += line_step)
    for (double base = least_base_m; base <= greatest_base_m; base += base_step) {
      const Vec3 left = axis.at(forward, side * base / 2, one.z);
      const Vec3 right = axis.at(forward, -side * base / 2, two.z);
      if (!may_stand(job, left, speaker_off_wall_m) || !may_stand(job, right, speaker_off_wall_m))
        continue;
      const std::size_t first = out.speakers.size();
      bool used = false;
      for (const auto& [place, index] : seats) {
        const double angle = 2 * std::atan2(base / 2, forward - place) * 180 / std::acos(-1.0);
        if (forward <= place || angle < narrowest_deg || angle > widest_deg) continue;
        out.sets.push_back({{first, first + 1}, index});
        used = true;
      }
      if (!used) continue;
      out.speakers.push_back(on_the_tape(job, left));
      out.speakers.push_back(on_the_tape(job, right));
    }
}

/// One loudspeaker and the seat, each on a grid; no nearer to each other than now by half, no
/// farther than by half.
void single_sets(const Job& job, const Loudspeaker& speaker, Candidates& out) {
  const Vec3 now = metres_of(speaker.at), seat = metres_of(job.seats[0].at);
  const double apart = length(now - seat);
  Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
  for (const Vec2& c : job.room.plan_m) {
    low = {std::min(low.x, c.x), std::min(low.y, c.y)};
    high = {std::max(high.x, c.x), std::max(high.y, c.y)};
  }
  const auto grid = [&](double z, double off_wall_m, std::size_t most) {
    for (double step = 0.2;; step *= 1.15) {
      std::vector<Vec3> places;
      for (double x = low.x + step / 2; x < high.x; x += step)
        for (double y = low.y + step / 2; y < high.y; y += step)
          if (may_stand(job, {x, y, z}, off_wall_m)) places.push_back(on_the_tape(job, {x, y, z}));
      if (places.size() <= most) return places;
    }
  };
  const std::size_t first_seat = out.seats.size(), first_speaker = out.speakers.size();
  for (const Vec3& at : grid(seat.z, seat_off_wall_m, most_seats - 1)) out.seats.push_back(at);
  for (const Vec3& at : grid(now.z, speaker_off_wall_m, 400)) out.speakers.push_back(at);
  for (std::size_t s = first_seat; s < out.seats.size(); ++s)
    for (std::size_t l = first_speaker; l < out.speakers.size(); ++l) {
      const double d = length(out.seats[s] - out.speakers[l]);
      if (d >= apart / 2 && d <= apart * 1.5) out.sets.push_back({{l}, s});
    }
}

Candidates candidates_of(const Job& job) {
  Candidates out;
  const auto speakers = main_speakers(job);
  Candidates::Set today{{}, 0};
  for (const Loudspeaker* one : speakers) {
    today.speakers.push_back(out.speakers.size());
    out.speakers.push_back(metres_of(one->at));
    out.labels.push_back(one->label);
  }
  out.labels.push_back(job.seats[0].label);
  out.seats.push_back(metres_of(job.seats[0].at));
  out.sets.push_back(today);
  if (speakers.size() == 2) pair_sets(job, speakers, out);
  if (speakers.size() == 1) single_sets(job, *speakers[0], out);
  return out;
}

// ---- the search ---------------------------------------------------------------------------------

/// |p|² against the direct sound, by seat, place of a loudspeaker, frequency.
using Powers = std::vector<std::vector<std::vector<double>>>;

Result<Powers> powers_of(acoustics::ResponseRequest request, const std::vector<Vec3>& seats,
                         const std::vector<Vec3>& speakers, const Run& run) {
  // Sources and receivers may be exchanged: the fewer of the two are solved for.
  request.receivers_m = speakers;
  for (const Vec3& seat : seats) request.sources.push_back({seat, 1});
  const auto solved = solve_field(request, run);
  if (!solved) return solved.mistakes();
  Powers out(seats.size());
  for (std::size_t s = 0; s < seats.size(); ++s)
    for (std::size_t l = 0; l < speakers.size(); ++l) {
      const double direct = request.density_kg_m3 /
                            (4 * std::acos(-1.0) * std::max(length(seats[s] - speakers[l]), 0.05));
      std::vector<double> row;
      for (const Complex& p : solved->by_source[s].pressure_pa[l])
        row.push_back(std::norm(p) / (direct * direct));
      out[s].push_back(std::move(row));
    }
  return out;
}

double how_far(const PlaceChoice& a, const PlaceChoice& b) {
  double out = 0;
  for (std::size_t i = 0; i < a.at_m.size(); ++i)
    out = std::max(out, length(a.at_m[i] - b.at_m[i]));
  return out;
}

/// The evenest, each at least a step from those before it. Near-equal ones keep their order.
std::vector<PlaceChoice> best_of(std::vector<PlaceChoice> all, std::size_t most) {
  std::stable_sort(all.begin(), all.end(), [](const PlaceChoice& a, const PlaceChoice& b) {
    return std::round(a.unevenness_db * 100) < std::round(b.unevenness_db * 100);
  });
  std::vector<PlaceChoice> out;
  for (PlaceChoice& one : all) {
    if (out.size() >= most) break;
    if (std::all_of(out.begin(), out.end(),
                    [&](const PlaceChoice& other) { return how_far(one, other) >= apart_m; }))
      out.push_back(std::move(one));
  }
  return out;
}

PlaceChoice choice_of(const Candidates& candidates, const Candidates::Set& set,
                      const Powers& powers, const std::vector<double>& hz) {
  PlaceChoice out;
  out.labels = candidates.labels;
  std::vector<double> power(hz.size());
  for (const std::size_t l : set.speakers) {
    out.at_m.push_back(candidates.speakers[l]);
    for (std::size_t i = 0; i < hz.size(); ++i)
      power[i] += powers[set.seat][l][i] / double(set.speakers.size());
  }
  out.at_m.push_back(candidates.seats[set.seat]);
  judge(hz, power, to_hz, out);
  return out;
}

/// Along the walls, as far from them as now; at every corner and between.
std::vector<Vec3> along_walls(const Job& job, const Vec3& now) {
  double off = 1e9;
  for (std::size_t i = 0; i < job.room.plan_m.size(); ++i)
    off = std::min(off, distance_to_segment({now.x, now.y}, job.room.plan_m[i],
                                            job.room.plan_m[(i + 1) % job.room.plan_m.size()]));
  off = std::clamp(off, 0.2, 0.6);
  std::vector<Vec3> out;
  for (int s = 2; s < acoustics::surface_count(job.room); ++s) {
    const double run = acoustics::wall_length_m(job.room, s);
    const Vec3 inward = acoustics::surface_plane(job.room, s).normal * off;
    const int steps = std::max(1, int(run / sub_step_m));
    for (int i = 0; i <= steps; ++i) {
      Vec3 at = acoustics::from_uv(job.room, s, {run * i / steps, 0}) + inward;
      at.z = now.z;
      if (may_stand(job, at, 0.95 * off)) out.push_back(on_the_tape(job, at));
    }
  }
  return out;
}

/// Where one subwoofer may stand, first where it does, and which of the receivers these are.
struct SubPlaces {
  const Loudspeaker* sub;
  std::vector<Vec3> places;
  std::size_t first_receiver = 0;
};
std::vector<SubPlaces> sub_places(const Job& job, std::size_t first_receiver) {
  std::vector<SubPlaces> out;
  for (const Loudspeaker& one : job.loudspeakers) {
    if (!one.subwoofer) continue;
    SubPlaces made{&one, {metres_of(one.at)}, first_receiver};
    for (const Vec3& at : along_walls(job, made.places[0])) made.places.push_back(at);
    first_receiver += made.places.size();
    out.push_back(std::move(made));
  }
  return out;
}

/// The job's own seats join those that are solved for; which they are. A seat on the very place of
/// a loudspeaker's candidate is moved by a hair: they are no pair.
std::vector<std::size_t> add_own_seats(const Job& job, const std::vector<Vec3>& speakers,
                                       std::vector<Vec3>& seats) {
  std::vector<std::size_t> out;
  for (const Seat& seat : job.seats) {
    Vec3 at = metres_of(seat.at);
    const auto within = [&](double m) {
      return [&at, m](const Vec3& other) { return length(other - at) < m; };
    };
    const auto known = std::find_if(seats.begin(), seats.end(), within(1e-9));
    out.push_back(std::size_t(known - seats.begin()));
    if (known != seats.end()) continue;
    while (std::any_of(speakers.begin(), speakers.end(), within(1.5e-3))) at.z += 2e-3;
    seats.push_back(at);
  }
  return out;
}

/// own_seats: of the powers, the job's own seats.
void place_sub(const SubPlaces& sub, const std::vector<double>& hz, const Powers& powers,
               const std::vector<std::size_t>& own_seats, const PlacesOptions& options,
               PlacesReport& report) {
  const std::vector<Vec3>& places = sub.places;
  std::vector<PlaceChoice> all;
  for (std::size_t p = 0; p < places.size(); ++p) {
    PlaceChoice sum;
    sum.labels = {sub.sub->label};
    sum.at_m = {places[p]};
    double mean = 0;
    for (const std::size_t seat : own_seats) {
      PlaceChoice one;
      judge(hz, powers[seat][sub.first_receiver + p], sub_to_hz, one);
      mean += one.unevenness_db / double(own_seats.size());
      if (seat == own_seats[0]) {
        sum.highest_db = one.highest_db, sum.highest_hz = one.highest_hz;
        sum.lowest_db = one.lowest_db, sum.lowest_hz = one.lowest_hz;
      }
    }
    sum.unevenness_db = mean;
    all.push_back(std::move(sum));
  }
  report.tried += all.size() - 1;
  const PlaceChoice today = all.front();
  report.subs.push_back({sub.sub->label, today, best_of(std::move(all), options.most)});
}

// ---- sentences ----------------------------------------------------------------------------------

std::string place_text(const Job& job, const Vec3& at) {
  return print_room_length(at.x, job.region.units) + ", " +
         print_room_length(at.y, job.region.units) + ", " +
         print_room_length(at.z, job.region.units);
}

void say_places(const Job& job, PlacesReport& report) {
  const PlaceChoice& best = report.best.front();
  if (best.unevenness_db > report.today.unevenness_db - 0.3) {
    report.statements.push_back({0, "places",
                                 "Loudspeakers and seat stand well: none of " +
                                     std::to_string(report.tried) +
                                     " other sets of places is evener by more than 0.3 dB.",
                                 "", ""});
  } else {
    std::string where;
    for (std::size_t i = 0; i < best.labels.size(); ++i)
      where += (i == 0 ? "" : "; ") + best.labels[i] + " at " + place_text(job, best.at_m[i]);
    report.statements.push_back(
        {40, "places",
         "The bass is evenest with " + where + ": it strays by " + fixed(best.unevenness_db, 1) +
             " dB from its mean instead of " + fixed(report.today.unevenness_db, 1) + ".",
         "resonances that loudspeakers and seat drive and hear less there",
         "move them before anything is built"});
  }
  for (const SubChoice& sub : report.subs)
    if (!sub.best.empty() && sub.best[0].unevenness_db < sub.today.unevenness_db - 0.3)
      report.statements.push_back({30, "places",
                                   "Subwoofer " + sub.label + " is evenest over all seats at " +
                                       place_text(job, sub.best[0].at_m[0]) + ": " +
                                       fixed(sub.best[0].unevenness_db, 1) + " dB instead of " +
                                       fixed(sub.today.unevenness_db, 1) + ".",
                                   "", ""});
}

}  // namespace

Result<PlacesReport> places(const Job& job, const Survey& survey, const Treatment& treatment,
                            const PlacesOptions& options, const Run& run) {
  if (main_speakers(job).empty() || job.seats.empty())
    return Complaint{job.seats.empty() ? "seats" : "loudspeakers",
                     "is empty: there is nothing to place",
                     {},
                     "add at least one loudspeaker and one seat to the job",
                     0};
  PlacesReport out;
  const std::vector<double> hz = told_hz();
  const auto request = field_request(job, survey, options.treated ? &treatment : nullptr, hz);
  const Candidates candidates = candidates_of(job);
  // One field for all: the seats as they are hear the subwoofers.
  const std::vector<SubPlaces> subs = sub_places(job, candidates.speakers.size());
  std::vector<Vec3> seats = candidates.seats, speakers = candidates.speakers;
  for (const SubPlaces& one : subs)
    speakers.insert(speakers.end(), one.places.begin(), one.places.end());
  std::vector<std::size_t> own_seats;
  if (!subs.empty()) own_seats = add_own_seats(job, speakers, seats);
  const auto powers = powers_of(request, seats, speakers, run);
  if (!powers) return powers.mistakes();
  std::vector<PlaceChoice> all(candidates.sets.size());
  parallel_for(all.size(), 0, [&](std::size_t i) {
    all[i] = choice_of(candidates, candidates.sets[i], *powers, hz);
  });
  out.tried = all.size() - 1;
  out.from_hz = from_hz, out.to_hz = to_hz;
  out.today = all.front();
  out.best = best_of(std::move(all), options.most);
  for (const SubPlaces& one : subs) place_sub(one, hz, *powers, own_seats, options, out);
  say_places(job, out);
  out.notes = {
      std::string("Wave field of the room ") +
          (options.treated ? "with the job's pieces" : "as it is today") +
          ", 25 to 200 Hz (subwoofers: to 120 Hz); how even: the standard deviation of the level "
          "over a logarithmic frequency scale, smoothed to a sixth of an octave.",
      "Loudspeakers keep 0.3 m and the seat 0.7 m from every wall, a pair keeps its line through "
      "the seat and an angle of 50 to 70 degrees there, nothing stands before a door: common "
      "practice, no source."};
  return out;
}

}  // namespace roomwright::job
