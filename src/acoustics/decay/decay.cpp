// The formulas; see decay.h.
#include "acoustics/decay/decay.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

double capped(double absorption) {
  return std::clamp(absorption, 0.0, log_cap);
}

DecayTime from_area(const DecayInput& in, double area_m2) {
  const double whole = area_m2 + 4 * in.air_energy_1_m * in.volume_m3;
  if (!(whole > 0)) return {std::nullopt, "nothing absorbs: the room would ring for ever"};
  return {sabine_constant(in.sound_speed_m_s) * in.volume_m3 / whole, ""};
}

struct Sums {
  double surface_m2 = 0, absorption_m2 = 0;
};
Sums sums_of(const DecayInput& in) {
  Sums out;
  for (const AbsorbingArea& area : in.areas) {
    out.surface_m2 += area.area_m2;
    out.absorption_m2 += area.area_m2 * area.absorption;
  }
  return out;
}

DecayTime eyring(const DecayInput& in) {
  const Sums sums = sums_of(in);
  if (!(sums.surface_m2 > 0)) return from_area(in, 0);
  const double mean = capped(sums.absorption_m2 / sums.surface_m2);
  return from_area(in, -sums.surface_m2 * std::log(1 - mean));
}

DecayTime millington(const DecayInput& in) {
  double sum = 0;
  for (const AbsorbingArea& area : in.areas)
    sum -= area.area_m2 * std::log(1 - capped(area.absorption));
  return from_area(in, sum);
}

/// The three directions: their area and mean absorption.
struct Directions {
  std::array<double, 3> surface_m2{}, mean{};
  double all_m2 = 0;
  bool complete() const {
    return std::all_of(surface_m2.begin(), surface_m2.end(), [](double s) { return s > 0; });
  }
};
Directions directions_of(const DecayInput& in) {
  Directions out;
  std::array<double, 3> absorbed{};
  for (const AbsorbingArea& area : in.areas) {
    const double shares[] = {area.share.x, area.share.y, area.share.z};
    for (std::size_t d = 0; d < 3; ++d) {
      out.surface_m2[d] += area.area_m2 * shares[d];
      absorbed[d] += area.area_m2 * area.absorption * shares[d];
    }
  }
  for (std::size_t d = 0; d < 3; ++d) {
    out.all_m2 += out.surface_m2[d];
    if (out.surface_m2[d] > 0) out.mean[d] = capped(absorbed[d] / out.surface_m2[d]);
  }
  return out;
}

/// T of a room all of whose surface had the mean of one direction.
DecayTime one_direction(const DecayInput& in, const Directions& all, std::size_t d) {
  return from_area(in, -all.all_m2 * std::log(1 - all.mean[d]));
}

DecayTime by_directions(const DecayInput& in, bool product) {
  const Directions all = directions_of(in);
  if (!all.complete()) return {std::nullopt, "needs a boundary on each of the three directions"};
  double sum = 0;
  for (std::size_t d = 0; d < 3; ++d) {
    const DecayTime one = one_direction(in, all, d);
    if (!one.t_s) return {std::nullopt, "one direction absorbs nothing and the air is lossless"};
    const double share = all.surface_m2[d] / all.all_m2;
    sum += share * (product ? std::log(*one.t_s) : *one.t_s);
  }
  return {product ? std::exp(sum) : sum, ""};
}

}  // namespace

std::string decay_formula_name(DecayFormula formula) {
  static const char* const names[] = {"sabine", "eyring", "millington", "fitzroy", "arau"};
  return names[static_cast<int>(formula)];
}

std::string log_cap_rule() {
  return "A coefficient above " + fixed(log_cap, 2) + " counts as " + fixed(log_cap, 2) +
         " where a formula takes a logarithm (Eyring and Arau-Puchades: of the mean; Millington: "
         "of "
         "each); Sabine's sum takes it as it is.";
}

double sabine_constant(double sound_speed_m_s) {
  return 24 * std::log(10.0) / sound_speed_m_s;
}

DecayTime decay_time(const DecayInput& input, DecayFormula formula) {
  switch (formula) {
    case DecayFormula::sabine:
      return from_area(input, sums_of(input).absorption_m2);
    case DecayFormula::eyring:
      return eyring(input);
    case DecayFormula::millington:
      return millington(input);
    case DecayFormula::fitzroy:
      return by_directions(input, false);
    case DecayFormula::arau:
      return by_directions(input, true);
  }
  return {};
}

Vec3 direction_share(const Room& room, int surface) {
  std::size_t longest = 0;
  double most = 0;
  const std::size_t n = room.plan_m.size();
  for (std::size_t i = 0; i < n; ++i) {
    const double run = length(room.plan_m[(i + 1) % n] - room.plan_m[i]);
    if (run > most * (1 + 1e-9)) {
      most = run;
      longest = i;
    }
  }
  const Vec2 along = (room.plan_m[(longest + 1) % n] - room.plan_m[longest]) * (1 / most);
  const Vec3 normal = surface_plane(room, surface).normal;
  const double a = normal.x * along.x + normal.y * along.y;
  const double b = -normal.x * along.y + normal.y * along.x;
  return {a * a, b * b, normal.z * normal.z};
}

double schroeder_hz(double t_s, double volume_m3) {
  return 2000 * std::sqrt(t_s / volume_m3);
}

double critical_distance_m(double absorption_area_m2) {
  return std::sqrt(absorption_area_m2 / (16 * std::acos(-1.0)));
}

}  // namespace roomwright::acoustics
