// Tuned traps designed backwards: from the frequency, the width of the peak and the depth that is
// free to boxes that the shop can build. A front that is drilled, slotted or left plain is a mass;
// the cavity behind it, with its board, is a spring with a brake. Every design that a builder could
// make on the shop's own grid is weighed by the absorption of its layers; the best of each kind are
// given with what they will do, how far a builder's tolerances move them, what they weigh and cost.
//
// What counts as makeable, besides what make_product asks for:
//   grid        whole millimetres, or sixteenths of an inch for a shop that measures in inches
//   fronts      any sheet of the shop
//   holes       drills of usual_drills; pitch from twice the drill to 500 mm; at least two holes
//               each way and at most `most_holes` in all (common practice, no source)
//   slots       3 to 20 mm, or 1/8 to 13/16 in; slats from 20 mm (a narrower strip is not safe to
//               rip: common practice, no source) to 400 mm; at least two slots
//   plain       the sheet's own bending, estimated as that of a plate on hinges, lies at most at
//               half the target, else it is no limp mass; the board stays 10 mm clear of it (common
//               practice, no source)
//   cavity      10 to 600 mm; 0 to 6 layers of one board, at each place; a full cavity counts once
// A front without board or cloth behind or before it brakes nothing and is left out.
#pragma once

#include <string>
#include <vector>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "design/products/products.h"
#include "shop/stock/stock.h"

namespace roomwright::design {

/// What is wanted. The half width is how far from the peak the absorption has fallen to half of its
/// peak, the mean of both sides.
struct TrapTarget {
  double hz = 63;                         ///< 20 to 500
  double half_width_hz = 20;              ///< 1 to 200, below hz
  Length deepest = Length::from_mm(180);  ///< outside depth of the box, its sheets included
  Length width = Length::from_mm(600);    ///< outside, 100 mm to 3 m
  Length height = Length::from_mm(1200);  ///< outside, 100 mm to 3 m
  std::vector<Front> fronts{Front::perforated, Front::slotted, Front::membrane};
  std::string sheet;  ///< of the box; empty: every sheet of the shop of at least 9 mm
  std::string board;  ///< in the cavity; empty: every board of the shop, and none
  std::string cloth;  ///< in front; empty: none
};

struct TrapOptions {
  int most = 12;               ///< answers, 1 to 100
  int threads = 0;             ///< 0: default_threads()
  bool finite_size = true;     ///< third-octave absorption of the face as large as it is
  std::vector<Length> drills;  ///< that the builder has, 1 to 80 mm; empty: usual_drills
  /// Errors: each option out of its range.
  Diagnostics check() const;
};

/// 3 to 25 mm in whole millimetres; or 1/8 to 1 in by sixteenths.
std::vector<Length> usual_drills(bool metric);

// ---- One peak -------------------------------------------------------------------------------

/// A stack's peak at normal incidence.
struct TrapPeak {
  double hz = 0;
  double half_width_hz = 0;
  double absorption = 0;
};
/// The highest absorption between half and twice near_hz (above 0), and the first frequencies on
/// either side where it has fallen to half of that, to 2e-6 of the frequency.
/// Errors: those of absorption; no peak inside that range; no fall to half within three octaves.
Result<TrapPeak> trap_peak(const acoustics::Stack& stack, const acoustics::Air& air,
                           double near_hz);

/// Where a mass before a cavity of air resonates: the first root of ω m = ρ c cot(ω D / c), by
/// which the search starts. mass_kg_m2 and cavity_m above 0.
/// Source: Cox & D'Antonio, Acoustic Absorbers and Diffusers (from memory).
double cotangent_hz(double mass_kg_m2, double cavity_m, const acoustics::Air& air);

/// Mass per area that a perforated, slotted or membrane layer moves, its end corrections included,
/// its losses not; 0 for other layers. Source: those of layers in absorbers.h.
double front_mass_kg_m2(const acoustics::Layer& front, const acoustics::Air& air);

// ---- Score ----------------------------------------------------------------------------------

/// What the score looks at besides the peak.
struct TrapEffort {
  Length depth;           ///< outside
  double cost_share = 0;  ///< material a square metre of face over four times the dearest sheet
  int holes = 0;          ///< to drill
  double squeeze = 0;     ///< see TrapAnswer
  bool posts = false;     ///< the front needs posts to the back so as not to bend
};
/// 100 for a perfect hit, less
///   400 for each octave that the peak is off (1 % costs 6 points),
///   20 for each octave that the half width is off (a tenth costs 3),
///   40 × (1 − peak absorption), and, to tell equals apart,
///   2 × depth / deepest, 2 × cost_share, and 1 for every thousand holes.
/// and, where the layers promise more than a build may hold,
///   15 × squeeze, at most 15, and 3 for a front that needs posts.
/// The weights are our own (no source).
double trap_score(const TrapTarget& target, const TrapPeak& peak, const TrapEffort& effort);

/// Answers stay within these of the target, else they are none.
inline constexpr double greatest_miss = 0.10;       ///< of the frequency
inline constexpr double greatest_width_factor = 2;  ///< of the half width, either way
inline constexpr double least_peak_absorption = 0.5;
inline constexpr int most_holes = 4000;
/// True where all three hold.
bool trap_fits(const TrapTarget& target, const TrapPeak& peak);

// ---- Answers --------------------------------------------------------------------------------

struct TrapRange {
  double low = 0, high = 0;
};
struct TrapBand {
  double nominal_hz = 0, centre_hz = 0;
  double absorption = 0;
};

struct TrapAnswer {
  ProductSpec spec;  ///< ready for make_product
  double score = 0;
  TrapPeak peak;
  /// Lowest and highest peak over a builder's tolerances: hole or slot ±0.2 mm, depth of the cavity
  /// ±2 mm, mass of a plain front ±5 %, each alone and all together (common practice, no source).
  TrapRange drift_hz;
  /// What the doubt about the board's flow resistivity (its 10th and 90th percentile) makes of the
  /// half width and the peak's absorption; without a board the values themselves.
  TrapRange half_width_hz, peak_absorption;
  /// Third octaves, four either side of the target's: diffuse, reacting locally, each the mean of
  /// nine frequencies; not clipped.
  std::vector<TrapBand> third_octaves;
  double open_area = 0;  ///< of the face inside the box, from the holes really drilled; plain: 0
  int openings = 0;      ///< holes or slots
  Length depth;          ///< outside
  double mass_kg = 0;
  Money material;         ///< sheets, board and cloth by area, in the shop's currency; no labour
  double cost_share = 0;  ///< as in TrapEffort
  /// What a board within one opening's width behind the openings would brake besides, where the air
  /// spreads from them, over ρc: the layers, even over the face, do not know of it.
  double squeeze = 0;
  bool posts = false;                 ///< the front needs posts to the back so as not to bend
  std::string sentence;               ///< what it is and what it will do
  std::vector<std::string> warnings;  ///< where the models are weak
  std::vector<std::string> cautions;  ///< of the work
};

struct TrapReport {
  std::vector<TrapAnswer> answers;  ///< best first
  std::size_t cavities = 0;         ///< fills and depths whose impedance was worked out
  std::size_t fronts = 0;           ///< fronts weighed before each of them
  std::size_t measured = 0;         ///< whole designs whose peak the layers gave
  std::string method;
};

/// Ranked by score. For each front, sheet of the front, board and drill or slot the best design is
/// found; of those that share front, sheet and board at most two are given, and only where their
/// drills or slots differ by at least 4 mm. Each front that has an answer at all has one in the
/// list (where options.most allows). Keys are `trap_63_1`, `trap_63_2` …
/// air: of the room. Errors: every wrong entry of target and options by its key; a shop without
/// sheets; nothing that fits the depth, with the least depth that would do (on the shop's grid) and
/// its front; nothing at any depth, with the nearest there is; a cancelled watch.
Result<TrapReport> design_traps(const TrapTarget& target, const shop::Shop& shop,
                                const acoustics::Air& air, const TrapOptions& options = {},
                                const Watch& watch = {});

/// The block that goes into a job file: `[[products]]` and, where it is tuned, `[products.tuned]`.
/// Lengths are texts with their unit, `"8 mm"` or `"5/16 in"`, so that they mean the same whatever
/// unit the job is written in; what has its default is left out. For kinds without wells.
std::string product_toml(const ProductSpec& spec, const Units& units);

}  // namespace roomwright::design
