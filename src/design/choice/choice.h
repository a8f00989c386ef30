// What to fill the frames with: every board, number of boards, gap and cloth that the shop can buy,
// as a flat panel before a rigid wall; what a square metre of absorption costs with each in the
// bands that a room needs, and what comes nearest to a board that the region does not sell. It
// compares the fill alone: frame, labour and hanging are about the same for all and are priced
// elsewhere.
#pragma once

#include <string>
#include <vector>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/stock/stock.h"

namespace roomwright::design {

struct ChoiceRequest {
  acoustics::OctaveSpectrum weight{};  ///< by octave, each at least 0, not all 0; scaled to sum 1
  Length deepest = Length::from_mm(200);  ///< boards and gap together, 10 mm to 1 m
  std::vector<Length> gaps;               ///< tried behind the boards; empty: the usual ones
  int most_layers = 6;                    ///< boards one behind another, 1 to 6
  acoustics::Size2 face_m{0.6, 1.2};      ///< finite, as a panel hangs
  bool doubt = true;                      ///< carry the spread of the flow resistivity through
  int threads = 0;                        ///< 0: as the machine has; the answer is the same
};

struct Choice {
  std::string board, cloth;  ///< keys of the shop file
  int layers = 1;
  Length gap, depth;                       ///< depth: boards and gap
  acoustics::OctaveSpectrum absorption{};  ///< likely
  double cost_per_m2 = 0;                  ///< of face, in the shop's currency; bought new
  /// Weighted over the bands: 10th, likely, 90th percentile (all equal without doubt).
  double sabin_low = 0, sabin = 0, sabin_high = 0;  ///< m² of absorption for each m² of face
  double cost_low = 0, cost = 0, cost_high = 0;     ///< for each m² of absorption
  bool best = false;  ///< nothing else is both shallower and cheaper for each m² of absorption
};

struct ChoiceReport {
  std::vector<Choice> choices;  ///< all, cheapest for each m² of absorption first
  std::vector<std::string> notes;
};

/// Errors: keys of the request out of range; a shop without boards or cloths; nothing that is
/// shallow enough.
Result<ChoiceReport> choose(const ChoiceRequest& request, const shop::Shop& shop,
                            const acoustics::Air& air, const Watch& watch = {});

/// A board as someone else's drawing names it.
struct WantedBoard {
  std::string material;  ///< key of the library of porous boards
  Length thickness, gap;
  std::string cloth;  ///< of the shop, in front of both
};

struct Substitute {
  Choice choice;
  acoustics::OctaveSpectrum wanted{}, difference{};  ///< substitute less wanted
  double root_mean_square = 0;                       ///< of the difference, weighted
};

/// The nearest stacks that the shop can buy, nearest first, at most `most`; within request.deepest.
/// Errors: as choose; a material that is not in the library.
Result<std::vector<Substitute>> substitutes(const WantedBoard& wanted, const ChoiceRequest& request,
                                            const shop::Shop& shop, const acoustics::Air& air,
                                            std::size_t most = 5);

/// What the cloth does to a panel: its absorption less that of the same boards and gap under a
/// cloth that lets everything through, mean of the octaves 2 to 8 kHz. Below 0: it takes some away.
double cloth_effect(const shop::Cloth& cloth, const acoustics::Stack& bare,
                    const acoustics::Air& air);

}  // namespace roomwright::design
