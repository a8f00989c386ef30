// How long a room rings by the formulas of diffuse-field theory, band by band, with air absorption.
// Each formula stands on its own assumption; their spread is shown as doubt, never averaged away.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

enum class DecayFormula { sabine, eyring, millington, fitzroy, arau };
std::string decay_formula_name(DecayFormula formula);

/// The largest coefficient that enters a logarithm: measured values of small samples exceed 1,
/// where ln(1 − α) has no meaning. In Sabine's sum coefficients stay as they are.
inline constexpr double log_cap = 0.99;
/// The rule in words, for reports.
std::string log_cap_rule();

/// One piece of boundary. `share` says how much of its area counts for the room's three directions
/// (x, y, z; sums to 1): a wall along y is (1, 0, 0), a floor (0, 0, 1). Furniture and things in
/// the middle of the room: (1/3, 1/3, 1/3).
struct AbsorbingArea {
  double area_m2 = 0;
  double absorption = 0;
  Vec3 share{1.0 / 3, 1.0 / 3, 1.0 / 3};
};

struct DecayInput {
  double volume_m3 = 0;
  double sound_speed_m_s = 343.2;
  double air_energy_1_m = 0;  ///< m; enters as 4 m V
  std::vector<AbsorbingArea> areas;
};

struct DecayTime {
  std::optional<double> t_s;
  std::string reason;  ///< where there is none
};

/// Fitzroy and Arau-Puchades need a boundary on each of the three directions.
/// Sources: W. C. Sabine; C. F. Eyring, J. Acoust. Soc. Am. 1 (1930); G. Millington, J. Acoust.
/// Soc. Am. 4 (1932); D. Fitzroy, J. Acoust. Soc. Am. 31 (1959); H. Arau-Puchades, Acustica 65
/// (1988); forms as in H. Kuttruff, Room Acoustics, ch. 5 (from memory).
DecayTime decay_time(const DecayInput& input, DecayFormula formula);

/// 24 ln 10 / c, s/m.
double sabine_constant(double sound_speed_m_s);

/// How a surface's area counts for the three directions: the squares of its normal's components, so
/// that they sum to 1. For a box that is the pair of walls itself. A plan polygon's walls are split
/// so between x and y along the plan's longest wall; see docs/physics/decay.md.
Vec3 direction_share(const Room& room, int surface);

/// 2000 √(T/V). Source: M. R. Schroeder & H. Kuttruff, J. Acoust. Soc. Am. 34 (1962).
double schroeder_hz(double t_s, double volume_m3);

/// Where direct and diffuse sound of an omnidirectional source are equal: √(A / 16π).
double critical_distance_m(double absorption_area_m2);

}  // namespace roomwright::acoustics
