// Every cavity with its fill. The engine gives the impedance of cloth, board and air once for each;
// any front before them only adds jωm, so the mass that puts the peak on the target, and what the
// peak is like near that mass, follow from that one curve. What is chosen by it is measured again
// as a whole stack (ranking.cpp).
#include <algorithm>
#include <complex>

#include "design/tuned/search.h"

namespace roomwright::design::tuned {

namespace {

constexpr int to_octave = 12;
constexpr int points_below = 3 * to_octave;      // points under the target
constexpr int points_above = 2 * to_octave + 9;  // and over it
constexpr int points = points_below + points_above + 1;
constexpr double start_factor = 2;  // wool moves a peak by less, off the cotangent equation

/// The impedance behind the front, over ρc, times the frequency over the target's: smooth enough
/// for a cubic between twelve points to the octave.
struct Curve {
  std::array<double, points> resistance, reactance;
  double target_hz = 0;
  double mass_by = 0;  ///< what a mass adds to the reactance, times (frequency over target)²

  /// Places are in steps of a twelfth octave from the first point.
  double scale(double place) const { return std::exp2((place - points_below) / to_octave); }
  double absorption(double place, double mass_kg_m2) const {
    const double by = scale(place);
    const double r = between(resistance, place) / by;
    const double x = between(reactance, place) / by + mass_by * mass_kg_m2 * by;
    return 4 * r / ((1 + r) * (1 + r) + x * x);
  }

 private:
  static double between(const std::array<double, points>& values, double place) {
    const int at = std::clamp(int(place) - 1, 0, points - 4);
    const double t = place - at - 1;
    const double* v = values.data() + at;
    return -t * (t - 1) * (t - 2) / 6 * v[0] + (t + 1) * (t - 1) * (t - 2) / 2 * v[1] -
           (t + 1) * t * (t - 2) / 2 * v[2] + (t + 1) * t * (t - 1) / 6 * v[3];
  }
};

/// Slope at the target by each place, to fourth order.
double slope_at_target(const std::array<double, points>& v) {
  return (v[points_below - 2] - 8 * v[points_below - 1] + 8 * v[points_below + 1] -
          v[points_below + 2]) /
         12;
}

/// The mass for which the absorption is stationary at the target. With r, x the impedance without
/// the mass and X = x + μ: dα/df = 0 is (r' − 2r/f) X² + 2r (x/f − x') X + r' (1 − r²) = 0, of
/// whose roots the one nearer to resonance is the peak. 0 where there is none.
double tuning_mass(const Curve& curve) {
  const double r = curve.resistance[points_below], x = curve.reactance[points_below];
  const double octave = to_octave / std::log(2.0);  // f d/df of what is stored times f
  const double r_slope = slope_at_target(curve.resistance) * octave - r;
  const double x_slope = slope_at_target(curve.reactance) * octave - x;
  const double a = r_slope - 2 * r, b = 2 * r * (x - x_slope), c = r_slope * (1 - r * r);
  const double under = b * b - 4 * a * c;
  if (!(under >= 0) || b == 0) return 0;
  const double total = 2 * c / (-b - std::copysign(std::sqrt(under), b));
  return std::max(0.0, (total - x) / curve.mass_by);
}

struct Probe {
  double place = 0, half_width_hz = 0, absorption = 0;
};

/// Climbs from a place to the top near it, by parabolas of ever smaller steps.
double climb(const Curve& curve, double mass_kg_m2, double place, double step) {
  for (int round = 0; round < 20; ++round) {
    const double left = curve.absorption(place - step, mass_kg_m2);
    const double here = curve.absorption(place, mass_kg_m2);
    const double right = curve.absorption(place + step, mass_kg_m2);
    const double bend = left - 2 * here + right;
    const double move =
        bend < 0 ? step * (left - right) / (2 * bend) : (right > left ? step : -step);
    place = std::clamp(place + std::clamp(move, -step, step), 3.0, points - 4.0);
    if (std::abs(move) < step / 2) step /= 4;
  }
  return place;
}

/// How far from the top, in hertz, the absorption first falls to half on one side; 0: it does not.
double fall(const Curve& curve, double mass_kg_m2, const Probe& top, int side) {
  double near = top.place, far = side > 0 ? std::floor(near) + 1 : std::ceil(near) - 1;
  const double half = top.absorption / 2;
  while (curve.absorption(far, mass_kg_m2) > half) {
    near = far;
    far += side;
    if (far < 1 || far > points - 2) return 0;
  }
  for (int i = 0; i < 30; ++i) {
    const double middle = (near + far) / 2;
    (curve.absorption(middle, mass_kg_m2) > half ? near : far) = middle;
  }
  return std::abs(curve.scale(far) - curve.scale(top.place)) * curve.target_hz;
}

/// The peak with this mass, climbing from a place near it; half width 0: none.
Probe probe(const Curve& curve, double mass_kg_m2, double place, double step) {
  Probe out;
  out.place = climb(curve, mass_kg_m2, place, step);
  out.absorption = curve.absorption(out.place, mass_kg_m2);
  const double low = fall(curve, mass_kg_m2, out, -1), high = fall(curve, mass_kg_m2, out, 1);
  if (low > 0 && high > 0) out.half_width_hz = (low + high) / 2;
  return out;
}

std::vector<double> curve_hz(double target_hz) {
  std::vector<double> hz;
  for (int i = -points_below; i <= points_above; ++i)
    hz.push_back(target_hz * std::exp2(double(i) / to_octave));
  return hz;
}

Curve curve_of(const Workshop& with, const Cavity& cavity, const std::vector<double>& hz) {
  Design design;
  design.front = Front::membrane;  // any: its layer is taken out again
  design.board = cavity.board;
  design.layers = cavity.layers;
  design.place = cavity.place;
  design.cavity = cavity.depth;
  acoustics::Stack stack = stack_of(with, design, {});
  stack.layers.erase(stack.layers.begin() + (with.cloth ? 1 : 0));
  acoustics::AbsorptionOptions options;
  options.incidence.kind = acoustics::Incidence::normal;
  options.same_on_every_machine = true;
  const auto report = acoustics::absorption(stack, with.air, hz, options);
  RW_ASSERT(report.ok());
  Curve curve;
  curve.target_hz = with.target.hz;
  curve.mass_by = 2 * pi * with.target.hz / with.air.impedance_pa_s_m();
  for (std::size_t i = 0; i < hz.size(); ++i) {
    curve.resistance[i] = report->impedance[i].real() * hz[i] / with.target.hz;
    curve.reactance[i] = report->impedance[i].imag() * hz[i] / with.target.hz;
  }
  return curve;
}

void work_out(const Workshop& with, const std::vector<double>& hz, Cavity& cavity) {
  const Curve curve = curve_of(with, cavity, hz);
  const double mass = tuning_mass(curve);
  if (mass <= 0) return;
  const Probe at = probe(curve, mass, points_below, 0.02);
  if (at.half_width_hz <= 0) return;
  constexpr double nudge = 0.05;               // octaves of mass
  const double shift = nudge * to_octave / 2;  // the frequency goes as the mass's inverse root
  const Probe less = probe(curve, mass * std::exp2(-nudge), at.place + shift, 0.05);
  const Probe more = probe(curve, mass * std::exp2(nudge), at.place - shift, 0.05);
  if (less.half_width_hz <= 0 || more.half_width_hz <= 0) return;
  cavity.mass_kg_m2 = mass;
  cavity.peak_hz = curve.scale(at.place) * with.target.hz;
  cavity.log_width = std::log2(at.half_width_hz);
  cavity.absorption = at.absorption;
  cavity.hz_slope = (more.place - less.place) / to_octave / (2 * nudge);
  cavity.width_slope = std::log2(more.half_width_hz / less.half_width_hz) / (2 * nudge);
  cavity.absorption_slope = (more.absorption - less.absorption) / (2 * nudge);
  cavity.bound = trap_score(with.target, {with.target.hz, at.half_width_hz, at.absorption}, {});
}

/// Depths of one fill, those only for which some front may do.
struct Depths {
  const Workshop& with;
  MassRange fronts;
  Length from, to;

  void add(Cavity fill, std::vector<Cavity>& out) const {
    const shop::Board* board = with.boards[std::size_t(fill.board)].item;
    const Length thick = board ? board->thickness * fill.layers : Length();
    for (Length depth = std::max(from, thick).round_up_to(with.grid); depth <= to;
         depth += with.grid) {
      if (depth == thick && fill.place != FillPlace::behind_front) continue;
      if (!may_do(depth)) continue;
      fill.depth = depth;
      out.push_back(fill);
    }
  }

 private:
  bool may_do(Length depth) const {
    const double hz = with.target.hz;
    return cotangent_hz(fronts.low_kg_m2, depth.metres(), with.air) * start_factor > hz &&
           cotangent_hz(fronts.high_kg_m2, depth.metres(), with.air) < hz * start_factor &&
           least_half_width_hz(depth) <
               with.target.half_width_hz * greatest_width_factor * start_factor;
  }
  /// That of a resonance on the target that nothing brakes: f over f dX/df of μ − cot x; any board
  /// and cloth make it wider. 0 where no mass tunes the cavity's air so high.
  double least_half_width_hz(Length depth) const {
    const double x = 2 * pi * with.target.hz * depth.metres() / with.air.sound_speed_m_s;
    const double sine = std::sin(x);
    return x < pi / 2 ? with.target.hz / (1 / std::tan(x) + x / (sine * sine)) : 0;
  }
};

std::vector<Cavity> all_fills(const Workshop& with, const Depths& depths) {
  std::vector<Cavity> out;
  for (std::size_t board = 0; board < with.boards.size(); ++board) {
    Cavity fill;
    fill.board = int(board);
    if (!with.boards[board].item) {
      if (with.cloth) depths.add(fill, out);
      continue;
    }
    for (fill.layers = 1; fill.layers <= most_layers_of_board; ++fill.layers)
      for (const FillPlace place :
           {FillPlace::behind_front, FillPlace::middle, FillPlace::at_back}) {
        fill.place = place;
        depths.add(fill, out);
      }
  }
  return out;
}

}  // namespace

std::vector<Cavity> cavities_of(const Workshop& with, MassRange fronts, Length from, Length to,
                                const Watch& watch, TrapRange progress) {
  std::vector<Cavity> out = all_fills(with, {with, fronts, from, to});
  const std::vector<double> hz = curve_hz(with.target.hz);
  constexpr std::size_t chunk = 512;
  for (std::size_t start = 0; start < out.size() && !watch.cancelled(); start += chunk) {
    watch.tick(progress.low + (progress.high - progress.low) * double(start) / double(out.size()),
               "cavities and their fill");
    parallel_for(std::min(chunk, out.size() - start), with.threads,
                 [&](std::size_t i) { work_out(with, hz, out[start + i]); });
  }
  return out;
}

}  // namespace roomwright::design::tuned
