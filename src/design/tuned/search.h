// Private to design/tuned: what the search draws from, and the steps that design_traps takes.
#pragma once

#include <cmath>
#include <cstdint>
#include <optional>

#include "design/tuned/tuned.h"

namespace roomwright::design::tuned {

inline const double pi = std::acos(-1.0);
inline constexpr Length least_cavity = Length::from_mm(10);
inline constexpr Length greatest_cavity = Length::from_mm(600);
inline constexpr Length clear_of_plate = Length::from_mm(10);
inline constexpr int most_layers_of_board = 6;

template <class T>
struct Named {
  std::string key;
  const T* item = nullptr;
};

/// A board, or none, with what is known of its flow resistivity.
struct Fill {
  std::string key;
  const shop::Board* item = nullptr;
  double low_pa_s_m2 = 0, likely_pa_s_m2 = 0, high_pa_s_m2 = 0;
};

/// What the search draws from: the shop's own, in the order of its keys.
struct Workshop {
  TrapTarget target;
  const shop::Shop* shop = nullptr;
  acoustics::Air air;
  Length grid;
  std::vector<Named<shop::Sheet>> sheets;  ///< fronts
  std::vector<Named<shop::Sheet>> boxes;
  std::vector<Fill> boards;
  const shop::Cloth* cloth = nullptr;
  std::vector<Length> drills, slots;
  double dearest_per_m2 = 0;  ///< of the shop's sheets, minor units
  int threads = 0;
};

/// One box, by places in the workshop's lists.
struct Design {
  Front front = Front::perforated;
  int sheet = 0, box = 0, board = 0, layers = 0;
  FillPlace place = FillPlace::behind_front;
  Length opening, step;  ///< hole and pitch, or slot and slat
  int openings = 0;      ///< holes or slots
  Length cavity;
};

/// How one build differs from the drawing.
struct Build {
  double hole_m = 0, depth_m = 0;  ///< added
  double mass = 1;                 ///< factor
  double resistivity = 0;          ///< of the board; 0: as likely
  bool friction = false;           ///< of the air in holes and slots, by the fine-hole models
};

// boxes.cpp: sizes, layers and material of one design.
struct Inside {
  Length width, height;
};
Inside inside_of(const Workshop& with, int box);
Length outside_depth(const Workshop& with, const Design& design);
double open_area_of(const Workshop& with, const Design& design);
acoustics::Layer front_layer_of(const Workshop& with, const Design& design, const Build& build);
acoustics::Stack stack_of(const Workshop& with, const Design& design, const Build& build);
double material_minor(const Workshop& with, const Design& design);  ///< not rounded
/// The air before the board; the whole cavity where there is none.
Length gap_of(const Workshop& with, const Design& design);
TrapEffort effort_of(const Workshop& with, const Design& design);
ProductSpec spec_of(const Workshop& with, const Design& design);

// fronts.cpp: every front that can be made, as a mass.
/// One spacing of openings.
struct Step {
  Length step;
  int openings = 0;
  double mass_kg_m2 = 0;
};
/// All spacings of one opening in one sheet before one box, by rising mass.
struct Steps {
  int box = 0;
  std::vector<Step> steps;
};
struct FrontPlan {
  Front front = Front::perforated;
  int sheet = 0;
  Length opening;
  std::vector<Steps> boxes;
};
std::vector<FrontPlan> front_plans(const Workshop& with);
/// The sheet's own first bending: a plate over the inside of the box on hinges all round, or slats
/// across its width on hinges at their ends, for a modulus of assumed_modulus_pa.
/// Source: π/2 √(B/m) (1/a² + 1/b²), Leissa, Vibration of Plates (1969) (from memory).
inline constexpr double assumed_modulus_pa = 8e9;  // plywood and dense board 3 to 12e9, from memory
double own_bending_hz(const Workshop& with, const Design& design);
/// A front that should stand still needs posts to the back where it would bend below twice the
/// target (common practice, no source); how far apart they may be, for squares or strips.
bool needs_posts(const Workshop& with, const Design& design);
double post_spacing_m(const Workshop& with, const Design& design);

// cavities.cpp: every cavity with its fill, and the mass that tunes it.
/// To first order in the logarithm of the mass around the mass that puts the peak on the target.
struct Cavity {
  int board = 0, layers = 0;
  FillPlace place = FillPlace::behind_front;
  Length depth;
  double mass_kg_m2 = 0;  ///< 0: no mass tunes it
  double peak_hz = 0;
  double log_width = 0, absorption = 0;                        ///< half width in octaves of 1 Hz
  double hz_slope = 0, width_slope = 0, absorption_slope = 0;  ///< an octave of mass
  double bound = 0;                                            ///< no front before it scores more
};
/// Masses of the lightest and the heaviest front.
struct MassRange {
  double low_kg_m2 = 0, high_kg_m2 = 0;
};
MassRange masses_of(const std::vector<FrontPlan>& plans);
/// Of all fills, for depths from `from` to `to` on the grid, where the cotangent equation does not
/// rule out every front beforehand; each worked out.
std::vector<Cavity> cavities_of(const Workshop& with, MassRange fronts, Length from, Length to,
                                const Watch& watch, TrapRange progress);

// ranking.cpp: the best designs of each group.
/// A design with the score that its layers gave it.
struct Scored {
  Design design;
  TrapPeak peak;
  double score = 0;
};
struct Ranking {
  std::vector<Scored> best;  ///< one a group, best first
  std::size_t measured = 0;
};
/// `groups`: how many of the most promising are measured; fit: only what trap_fits accepts.
Ranking rank(const Workshop& with, const std::vector<FrontPlan>& plans,
             const std::vector<Cavity>& cavities, std::size_t groups, bool fit);

// answers.cpp
/// Errors: what make_product finds wrong with the shop, such as a missing screw.
Result<std::vector<TrapAnswer>> answers_of(const Workshop& with, const std::vector<Scored>& chosen,
                                           const TrapOptions& options);

// words.cpp
/// `8 mm` or `5/16 in`; exact, in millimetres where sixty-fourths of an inch are not.
std::string size_text(Length length, const Units& units);
std::string trap_name(const Workshop& with, const Design& design);
/// `a perforated front of plywood_9 with holes of 8 mm`
std::string front_text(const Workshop& with, const Design& design);
std::string sentence_of(const Workshop& with, const Design& design, const TrapAnswer& answer);
/// What the layers cannot know: bending, friction, the box's own length, doubtful wool.
std::vector<std::string> warnings_of(const Workshop& with, const Design& design,
                                     const TrapAnswer& answer, const Product& product);

}  // namespace roomwright::design::tuned
