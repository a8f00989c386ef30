// The rooms of the reference fields, as the README of that data set states them: sizes, source,
// receivers, the uniform wall and the six patches of porous board. Shared by tests and benchmarks.
// Source: open data set of reference sound fields in small rooms (room_truth), README
#pragma once

#include <cmath>
#include <complex>
#include <vector>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics::reference {

inline constexpr double sound_speed_m_s = 343;
inline const Polygon l_plan{{0, 0}, {5.2, 0}, {5.2, 2.4}, {3.1, 2.4}, {3.1, 4.1}, {0, 4.1}};
inline const Polygon box_plan{{0, 0}, {5.2, 0}, {5.2, 4.1}, {0, 4.1}};

inline Room box() {
  return make_box(5.2, 4.1, 2.6).value();
}
inline Room l_room() {
  return make_room(l_plan, 2.6).value();
}
inline Room sloped_room() {
  return make_sloped_room(box_plan, {Vec3{0, 0, 2.2}, {5.2, 0, 3.2}, {0, 4.1, 2.2}}).value();
}

/// Places of the six patches in the box (surfaces by number: 2 + k is wall k), and six like them in
/// the L.
inline const std::vector<Patch> box_areas{{5, {3.0, 0.7}, {3.6, 1.9}}, {5, {0.5, 0.7}, {1.1, 1.9}},
                                          {2, {2.0, 0.7}, {2.6, 1.9}}, {4, {2.6, 0.7}, {3.2, 1.9}},
                                          {1, {2.0, 1.3}, {3.2, 1.9}}, {3, {1.4, 0.9}, {2.0, 2.1}}};
inline const std::vector<Patch> l_areas{{7, {3.0, 0.7}, {3.6, 1.9}}, {7, {0.5, 0.7}, {1.1, 1.9}},
                                        {2, {2.0, 0.7}, {2.6, 1.9}}, {6, {1.6, 0.7}, {2.2, 1.9}},
                                        {1, {1.0, 1.3}, {2.2, 1.9}}, {3, {0.9, 0.9}, {1.5, 2.1}}};

/// Miki's model as the data set states it: impedance and wave number, both against air's.
struct Miki {
  std::complex<double> impedance, number;
};
inline Miki miki(double hz, double flow_resistivity_pa_s_m2) {
  const double x = 1000 * hz / flow_resistivity_pa_s_m2;
  return {{1 + 5.50 * std::pow(x, -0.632), -8.43 * std::pow(x, -0.632)},
          {1 + 7.81 * std::pow(x, -0.618), -11.41 * std::pow(x, -0.618)}};
}

/// 0.1 m of board with 12 000 Pa s/m² on a rigid back, at normal incidence.
inline Admittance board(const std::vector<double>& hz) {
  Admittance out;
  for (const double f : hz) {
    const Miki wool = miki(f, 12000);
    const std::complex<double> turn = 2 * std::acos(-1.0) * f / sound_speed_m_s * 0.1 * wool.number;
    out.push_back(std::complex<double>(0, 1) * std::tan(turn) / wool.impedance);
  }
  return out;
}

/// beta: of every surface; 0 leaves them rigid. Density 1, so that pressures are Green's function.
inline ResponseRequest request(const Room& room, const std::vector<double>& hz, double beta) {
  ResponseRequest out;
  out.room = room;
  out.sound_speed_m_s = sound_speed_m_s;
  out.density_kg_m3 = 1;
  out.surfaces.assign(std::size_t(surface_count(room)), beta > 0 ? Admittance{beta} : Admittance{});
  out.sources = {{{0.6, 0.8, 1.1}}};
  out.receivers_m = {{3.40, 2.05, 1.2},
                     {3.15, 2.05, 1.2},
                     {3.65, 2.05, 1.2},
                     {3.40, 1.80, 1.2},
                     {3.40, 2.30, 1.2}};
  out.frequencies_hz = hz;
  return out;
}

/// Boards at these places; for the request's frequencies.
inline void hang(ResponseRequest& request, const std::vector<Patch>& areas) {
  const Admittance wool = board(request.frequencies_hz);
  for (const Patch& area : areas) request.patches.push_back({area, wool});
}

/// from, from + step … to.
inline std::vector<double> every(double from, double to, double step) {
  std::vector<double> out;
  for (double f = from; f <= to + 1e-9; f += step) out.push_back(f);
  return out;
}

}  // namespace roomwright::acoustics::reference
