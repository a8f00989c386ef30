// Sound as waves: the modes of a room with rigid walls, exactly in a box, and in any other plan
// with a flat ceiling by a plane eigenvalue solver times the height; and the driven field of a box
// with absorbing walls and patches of absorber on them.
#pragma once

#include <array>
#include <complex>
#include <memory>
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
  std::optional<double> rigid_hz{};  ///< of the rigid mode that a treated one grew from
};
/// `axial`, `tangential`, `oblique`; in a plan that is no box `height` where only the height
/// counts, `plan` where only the plan does, `plan and height` otherwise; under a ceiling that
/// slopes `room`.
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
/// many, and under a sloped ceiling most_plan_modes in all).
/// Sources: box f = c/2 √Σ(n/l)², H. Kuttruff, Room Acoustics, ch. 3; any plan: Neumann eigenvalues
/// by high-order finite elements, refined toward re-entrant corners, f = c/2π √(λ + (nπ/h)²); a
/// sloped ceiling: the same in three dimensions.
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

// ---- Driven field -----------------------------------------------------------------------------

inline constexpr std::size_t most_response_frequencies = 20000;
inline constexpr std::size_t most_response_patches = 64;
inline constexpr std::size_t most_response_objects = 64;
inline constexpr std::size_t most_response_sources = 1000;
inline constexpr std::size_t most_response_receivers = 20000;
inline constexpr int most_response_unknowns = 1600;
inline constexpr double greatest_response_room_m = 30;
inline constexpr double least_response_hz = 5, greatest_response_hz = 2000;
/// Below it a wall counts as rigid, and takes its place: it keeps the field finite at a mode.
inline constexpr double least_admittance = 1e-10;

/// ρc/Z of a surface that reacts locally, time as e^{+jωt}, real part ≥ 0: one value for every
/// frequency, or one for each.
using Admittance = std::vector<std::complex<double>>;

/// A patch takes the place of its wall there; its front lies in the wall's plane.
struct ResponsePatch {
  Patch area;
  Admittance admittance;  ///< of magnitude at most 1e6
};

/// A slab of an object: an equivalent fluid, against the air of the room. One value for every
/// frequency, or one for each. Passive: imaginary parts ≤ 0 (up to a tenth of the magnitude above 0
/// is let through: models fitted to measurements give that where flow resistivity is high).
struct FluidSlab {
  double thickness_m = 0;
  std::vector<std::complex<double>> density;          ///< ρ / ρ0
  std::vector<std::complex<double>> compressibility;  ///< (1/K) / (1/K0)
};
/// From near_m to far_m below the ceiling, along its normal; near_m of 0 lies against it.
struct CeilingSpan {
  double near_m = 0, far_m = 0;
  bool operator==(const CeilingSpan&) const = default;
};
/// A prism that stands or hangs in the room or straddles a corner; slabs are stacked along `axis`
/// from its lowest point along it and fill the prism. Its sides are upright whatever its ends are.
struct ResponseObject {
  Polygon plan_m;  ///< anticlockwise, inside the room or touching its walls; seen from above
  double low_m = 0, high_m = 0;
  Vec3 axis{0, 0, 1};
  std::vector<FluidSlab> slabs;
  /// In place of low_m and high_m: its ends are parallel to the ceiling. An upright axis then
  /// stands for the ceiling's normal, along which slabs have their thickness.
  std::optional<CeilingSpan> below_ceiling_m{};
};
struct ResponseSource {
  Vec3 at_m;
  double volume_acceleration_m3_s2 = 1;
};
struct ResponseRequest {
  Room room;  ///< a box, sides from 0.5 to 30 m; or any, see response()
  double sound_speed_m_s = 343.2;
  double density_kg_m3 = 1.204;
  std::vector<Admittance> surfaces;  ///< by surface, magnitude at most 20; empty ones are rigid
  std::vector<ResponsePatch> patches;
  std::vector<ResponseObject> objects;
  std::vector<ResponseSource> sources;  ///< they add
  std::vector<Vec3> receivers_m;        ///< inside or on a surface, 1 mm from any source
  std::vector<double> frequencies_hz;   ///< in any order
};
enum class WaveWidth { fastest, baseline, four, eight };
struct ResponseOptions {
  double accuracy_db = 0.25;  ///< 0.01 to 3: more of it asks for more functions and modes
  int threads = 0;            ///< 0: default_threads(); the answer is the same
  /// Lanes of the vector unit; the answer is the same. One that this processor lacks is an error.
  WaveWidth width = WaveWidth::fastest;
  Diagnostics check() const;
};
struct ResponseReport {
  std::vector<std::vector<std::complex<double>>> pressure_pa;  ///< by receiver, by frequency
  std::string method;
  int unknowns = 0;  ///< pressures on the patches
  int modes = 0;     ///< across the closed axes, all three
  double accuracy_db = 0;
  std::vector<Complaint> warnings;
};

/// Pressure amplitude in a box with a uniform admittance on each surface and rectangles of other
/// admittance on them. A source of volume acceleration 1 m³/s² makes ρ e^{−jkr}/(4πr) in free air.
/// How: the room without patches has an exact Green's function, with modes across two axes and a
/// closed form along the third; the pressures on the patches, in Legendre functions, solve
/// p = p0 − jk ∫ (β_patch − β_wall) G p dS. Claimed accuracy: accuracy_db in level where it lies
/// within 30 dB of the receiver's greatest, twice that elsewhere.
/// Warnings: a frequency within 1e-9 of a mode of a rigid room (the answer is finite, as if the
/// walls had least_admittance, or with patches that of a frequency 2e-6 beside the mode); patches
/// that nearly undo what the room loses.
/// Errors: all values out of range at once; a room that is no box; more unknowns or work than the
/// limits; walls so springy that their waves cannot be told apart; cancelled.
/// Sources: separable Green's function, P. M. Morse & K. U. Ingard, Theoretical Acoustics, ch. 9
/// (from memory); expansion of the patches' pressure: our own derivation from Green's identity.
///
/// Any other room, and a box with objects: prisms of high degree over triangles of the plan that
/// keep to the edges of objects and patches (docs/physics/waves.md), 5 to 2000 Hz up to 150 000
/// unknowns and 700 MB for a frequency (some 200 m³ to 300 Hz; 500 MB for objects under a slope).
/// Objects: at most most_response_objects, with from 3 to 16 corners in plan; their axis upright or
/// level, or of those that follow the ceiling along its normal; slabs of 2 mm or more; level ones
/// end 20 mm below a ceiling that slopes and below those that follow it, these 20 mm above the
/// floor; walls behind them keep their own admittance. A source may not lie in one, a patch not
/// under one. A patch on a sloped ceiling is given by its plan. A receiver within 0.4 m of a source
/// may be off by 1 dB, in large rooms within 0.9 m by more; a warning says so. The mesh is at least
/// that of 200 Hz, as a source's own field is as steep at low frequencies; where memory does not
/// allow it, a warning says how far around. Claimed accuracy: as above, at least 0.1 dB where there
/// are patches, 0.3 dB where there are objects.
Result<ResponseReport> response(const ResponseRequest& request, const ResponseOptions& options,
                                const Watch& watch = {});

/// The same for each source alone, from one factorisation: a report for each source. A hundred
/// sources by a hundred receivers at 181 frequencies are within the limits.
Result<std::vector<ResponseReport>> responses(const ResponseRequest& request,
                                              const ResponseOptions& options,
                                              const Watch& watch = {});

/// A room with other sizes: all of it, and all that is in it (sources, receivers, patches, bodies),
/// lies `by` times as far along three directions at right angles: `along` in plan, to the left of
/// that, and upward.
struct RoomStretch {
  Vec3 by{1, 1, 1};  ///< from least_stretch to greatest_stretch
  Vec2 along{1, 0};  ///< of length 1
};
inline constexpr double least_stretch = 0.8, greatest_stretch = 1.25;
/// That room. Rectangles on floor and ceiling keep their sides along x and y: exact where `along`
/// is one of these. A box stays one where `along` is one of its sides.
ResponseRequest stretched(const ResponseRequest& request, const RoomStretch& stretch);

/// One room with other values: each request of the list has the geometry, the sources (which add),
/// the receivers and the frequencies of the first, with its own admittances, fluids and speed of
/// sound, and where `stretches` are given its own sizes. In a room with bodies or that is no box
/// all share one small model, held against outright solutions of some of them. Errors: as
/// responses(); requests that differ in more than that; stretches that are not one for each
/// request, out of range, or along different directions; more than most_response_frequencies in
/// all.
struct VariantsReport {
  /// By request, receiver, frequency.
  std::vector<std::vector<std::vector<std::complex<double>>>> pressure_pa;
  /// How far the small model was from the last outright solutions that it had not seen, as a share
  /// of the pressure; 0 where there is none.
  double off = 0;
  std::string method;
};
Result<VariantsReport> variant_responses(const std::vector<ResponseRequest>& variants,
                                         const ResponseOptions& options, const Watch& watch = {},
                                         const std::vector<RoomStretch>& stretches = {});
/// The same by the shared small model, in a bare box too: what variant_responses() is held against.
Result<VariantsReport> shared_variant_responses(const std::vector<ResponseRequest>& variants,
                                                const ResponseOptions& options,
                                                const Watch& watch = {},
                                                const std::vector<RoomStretch>& stretches = {});

/// Damped modes of a room that is a prism (any plan under a flat ceiling, or a rectangular plan
/// whose ceiling slopes along one side) with any admittance on its surfaces and patches on them:
/// for each rigid mode up to max_hz its damped hz and T60 = 3 ln 10 / (2π Im f), by hz. A mode
/// that nothing damps has no decay_s.
/// surfaces: by surface, empty ones are rigid; frequencies_hz: ascending, of the admittances that
/// have more than one value, which are linear between them and taken at the real part of f.
/// Meets exact damped modes of a box within 0.5 % of T60 up to a uniform β of 0.1, and 2 % up to
/// 0.3; a wall that absorbs more is better given as a patch.
/// Errors: values out of range; a room that is no prism; more modes than most_plan_modes; a mode
/// that cannot be followed; cancelled.
/// How: rigid modes, coupled by what absorbs, each followed from its rigid value as it grows.
Result<ModesReport> treated_modes(const Room& room, double sound_speed_m_s, double max_hz,
                                  const std::vector<Admittance>& surfaces,
                                  const std::vector<ResponsePatch>& patches,
                                  const std::vector<double>& frequencies_hz,
                                  const Watch& watch = {});

/// The same of any room, with bodies too. Sources and receivers are not looked at; frequencies_hz
/// must ascend. Rooms that are a prism without bodies are those above. In any other a small model
/// of the whole field gives the modes; what is given by frequency goes on to complex ones as the
/// parabola through the three nearest. Some modes, the longest to ring among them, are held against
/// the whole model, which they meet within 0.5 %.
/// Errors: as responses(); more modes than most_plan_modes; a mode that cannot be followed.
Result<ModesReport> treated_modes(const ResponseRequest& request, double max_hz,
                                  const Watch& watch = {});

/// One patch picked up while all else stands: what it does anywhere on the walls, quickly.
class PatchMover {
 public:
  /// accuracy_db is what at() aims at: twice that in dips 30 dB under a receiver's greatest; rigid
  /// rooms miss it in dips of 50 dB. Errors: as response; no such patch; one wider than twelve
  /// Legendre functions resolve; tables of more than 300 MB.
  static Result<PatchMover> pick_up(const ResponseRequest& request, std::size_t patch,
                                    const ResponseOptions& options, const Watch& watch = {});
  /// The same for at_apart(). In a box it takes as many times longer as there are sources.
  static Result<PatchMover> pick_up_apart(const ResponseRequest& request, std::size_t patch,
                                          const ResponseOptions& options, const Watch& watch = {});
  /// Pressure by receiver, by frequency, with the patch at another place (any surface, any size up
  /// to the one that was picked up, turned or not; other sizes take longer). May be called from
  /// several threads. Errors: a place outside its surface or over another patch; a larger size.
  Result<std::vector<std::vector<std::complex<double>>>> at(const Patch& area) const;
  /// Of each source alone, after pick_up_apart(): by source, receiver, frequency. Without the patch
  /// where `area` is none.
  Result<std::vector<std::vector<std::vector<std::complex<double>>>>> at_apart(
      const std::optional<Patch>& area) const;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

/// The same at one frequency over a grid, for a map: x runs fastest. at_m: one corner; step_m and
/// count along two directions. Points within 1 mm of a source are moved away by that; outside a
/// room that is no box it gives 0.
struct MapGrid {
  Vec3 at_m, step_one_m, step_two_m;
  int count_one = 0, count_two = 0;
};
Result<std::vector<std::complex<double>>> pressure_map(const ResponseRequest& request, double hz,
                                                       const MapGrid& grid,
                                                       const ResponseOptions& options,
                                                       const Watch& watch = {});

}  // namespace roomwright::acoustics
