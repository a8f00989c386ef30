// Sound as waves. For now: the modes of a room with rigid walls, exactly in a box, and in any other
// plan with a flat ceiling by a plane eigenvalue solver times the height. The driven field comes
// later.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

enum class ModeKind { axial, tangential, oblique, plan };

struct Mode {
  double hz = 0;
  std::optional<double> decay_s;            ///< T60 of the mode; none where walls are rigid
  std::optional<std::array<int, 3>> order;  ///< only in a box
  ModeKind kind = ModeKind::plan;
};
/// `axial`, `tangential`, `oblique`; in a plan that is no box `height` where only the height
/// counts, `plan` where only the plan does, `plan and height` otherwise.
std::string mode_kind_name(const Mode& mode);

inline constexpr double most_modes = 20000;     ///< of a box
inline constexpr double most_plan_modes = 400;  ///< of a plan, before the height is added

struct ModesReport {
  std::vector<Mode> modes;  ///< ascending, without the static one, equal ones repeated
  double count_estimate = 0;
  std::string method;
  int unknowns = 0;  ///< of the plane solver; 0 in a box
};

/// Modes up to max_hz (above 0). Errors: more modes than the limits above (the message says how
/// many); "is not built yet" for a sloped ceiling.
/// Sources: box f = c/2 √Σ(n/l)², H. Kuttruff, Room Acoustics, ch. 3; any plan: Neumann eigenvalues
/// by high-order finite elements, refined toward re-entrant corners, f = c/2π √(λ + (nπ/h)²).
Result<ModesReport> modes(const Room& room, double sound_speed_m_s, double max_hz);

/// Damped modes of a box whose six walls have a uniform real admittance each (ρc/Z ≥ 0, below 1),
/// by surface: complex frequency by continuation from the rigid mode. T60 = 3 ln 10 / (2π Im f).
/// Errors: as above; another room than a box "is not built yet"; admittances out of range.
/// Source: separable Robin problem, P. M. Morse & K. U. Ingard, Theoretical Acoustics, ch. 9.
Result<ModesReport> damped_modes(const Room& room, double sound_speed_m_s, double max_hz,
                                 const std::vector<double>& admittance);

/// 4πVf³/3c³ + πSf²/4c² + Lf/8c; in a box with its edges, elsewhere volume and area alone.
/// Source: R. H. Bolt / D. Y. Maa, J. Acoust. Soc. Am. 10 (1939), as in Kuttruff, ch. 3.
double mode_count_estimate(const Room& room, double sound_speed_m_s, double hz);

/// Modes of each third-octave band from 25 Hz up to 200 Hz: the count that must not fall with
/// rising frequency. Source: O. J. Bonello, J. Audio Eng. Soc. 29 (1981).
struct BandCount {
  double nominal_hz = 0;
  int modes = 0;
};
std::vector<BandCount> modes_per_third(const std::vector<Mode>& modes);

/// Plane Neumann eigenvalues (1/m²) of a polygon up to `most`, ascending, without 0.
struct PlaneReport {
  std::vector<double> eigenvalues;
  int unknowns = 0;
};
Result<PlaneReport> plane_eigenvalues(const Polygon& plan_m, double most);

}  // namespace roomwright::acoustics
