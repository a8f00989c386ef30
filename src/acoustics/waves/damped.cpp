// Damped modes of a box with uniform real admittances: each axis is a Robin problem of its own,
// coupled by the common frequency; Newton's method from the rigid mode, in small steps of the
// admittance so that each root keeps its name. See waves.h.
#include <algorithm>
#include <cmath>
#include <complex>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
const double damped_pi = std::acos(-1.0);

/// One axis: wave number q of cos-like functions with admittances a and b at its ends, for a free
/// wave number k: (q² + k² a b) sin(q l) = j k q (a + b) cos(q l).
struct Axis {
  double length, first, second;
};

Complex axis_equation(const Axis& axis, Complex q, Complex k) {
  const Complex j{0, 1};
  return (q * q + k * k * axis.first * axis.second) * std::sin(q * axis.length) -
         j * k * q * (axis.first + axis.second) * std::cos(q * axis.length);
}

/// q near a start for a given k, by Newton with a numerical slope.
Complex solve_axis(const Axis& axis, Complex start, Complex k) {
  Complex q = start;
  for (int i = 0; i < 60; ++i) {
    const Complex h = 1e-7 * (1.0 + std::abs(q));
    const Complex value = axis_equation(axis, q, k);
    const Complex slope =
        (axis_equation(axis, q + h, k) - axis_equation(axis, q - h, k)) / (2.0 * h);
    if (std::abs(slope) == 0) break;
    const Complex step = value / slope;
    q -= step;
    if (std::abs(step) < 1e-14 * (1.0 + std::abs(q))) break;
  }
  return q;
}

/// The first guess off q = nπ/l as the admittance leaves 0: q² ≈ (nπ/l)² + 2jk(a + b)/l (half that
/// for n = 0).
Complex axis_start(const Axis& axis, int n, Complex k) {
  const double rigid = n * damped_pi / axis.length;
  const Complex shift = Complex(0, n == 0 ? 1 : 2) * k * (axis.first + axis.second) / axis.length;
  return std::sqrt(rigid * rigid + shift);
}

/// Complex wave number of one mode.
Complex damped_wave_number(const std::array<Axis, 3>& axes, const std::array<int, 3>& order) {
  std::array<Complex, 3> q{};
  Complex k = 0;
  for (std::size_t d = 0; d < 3; ++d) {
    q[d] = order[d] * damped_pi / axes[d].length;
    k += q[d] * q[d];
  }
  k = std::sqrt(k);
  constexpr int steps = 40;
  for (int step = 1; step <= steps; ++step) {
    std::array<Axis, 3> part = axes;
    for (Axis& axis : part) {
      axis.first *= double(step) / steps;
      axis.second *= double(step) / steps;
    }
    for (int turn = 0; turn < 200; ++turn) {
      Complex sum = 0;
      for (std::size_t d = 0; d < 3; ++d) {
        if (part[d].first + part[d].second == 0) {
          sum += q[d] * q[d];
          continue;
        }
        const Complex start = step == 1 && turn == 0 ? axis_start(part[d], order[d], k) : q[d];
        q[d] = solve_axis(part[d], start, k);
        sum += q[d] * q[d];
      }
      const Complex next = std::sqrt(sum);
      const double change = std::abs(next - k);
      k = next;
      if (change < 1e-13 * std::abs(k)) break;
    }
  }
  return k.imag() < 0 ? std::conj(k) : k;
}

}  // namespace

Result<ModesReport> damped_modes(const Room& room, double sound_speed_m_s, double max_hz,
                                 const std::vector<double>& admittance) {
  if (!is_box(room))
    return Complaint{"surfaces",
                     "is not built yet: damped modes of a room that is no box",
                     {},
                     "leave surfaces out for the rigid modes",
                     0};
  Diagnostics found;
  for (std::size_t i = 0; i < admittance.size(); ++i)
    if (!(admittance[i] >= 0 && admittance[i] <= 0.5))
      found.add("surfaces." + surface_name(room, int(i)) + ".admittance",
                "must be at least 0 and at most 0.5 for damped modes", admittance[i],
                "ρc/Z of the wall");
  if (!found.empty()) return found;
  auto report = modes(room, sound_speed_m_s, max_hz);
  if (!report) return report;
  const Vec3 l = box_size_m(room);
  // x: wall3 (x = 0) and wall1; y: wall0 and wall2; z: floor and ceiling.
  const std::array<Axis, 3> axes{Axis{l.x, admittance[5], admittance[3]},
                                 {l.y, admittance[2], admittance[4]},
                                 {l.z, admittance[0], admittance[1]}};
  for (Mode& mode : report->modes) {
    const Complex k = damped_wave_number(axes, *mode.order);
    mode.hz = k.real() * sound_speed_m_s / (2 * damped_pi);
    const double decay = k.imag() * sound_speed_m_s / (2 * damped_pi);
    if (decay > 1e-12) mode.decay_s = 3 * std::log(10.0) / (2 * damped_pi * decay);
  }
  report->method = "exact, separable box with a uniform admittance on each wall";
  std::stable_sort(report->modes.begin(), report->modes.end(),
                   [](const Mode& a, const Mode& b) { return a.hz < b.hz; });
  return report;
}

}  // namespace roomwright::acoustics
