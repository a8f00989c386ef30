// What holds a piece up: the load for each fixing point, what one screw into wood may carry by the
// handbook's withdrawal or lateral formula, the safety factor that leaves, and the caution. Nothing
// here approves an installation; it says what was computed and who must decide.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"

namespace roomwright::shop {

enum class Ground { wood, masonry, unknown };
enum class Pull { along, across };  ///< the screw's axis

struct FixingRequest {
  double mass_kg = 0;
  int points = 1;
  Ground ground = Ground::unknown;
  double specific_gravity = 0;  ///< of the wood; used for wood alone
  double screw_diameter_m = 0;
  double penetration_m = 0;  ///< of the thread in the wood
  Pull pull = Pull::across;
  bool overhead = false;
  double asked_factor = 5;
};

struct FixingReport {
  double load_n = 0;  ///< on each point, in the worst case that one point carries nothing
  int points = 1;
  std::optional<double> ultimate_n;  ///< of one screw; none where no published value holds
  std::optional<double> safety_factor;
  double asked_factor = 5;
  bool ok = false;      ///< false also where nothing could be computed
  std::string source;   ///< of the formula
  std::string verdict;  ///< one sentence
  std::vector<std::string> cautions;
};

/// Errors: points below 1, mass outside 0 … 500 kg, wood without gravity or screw.
/// Source: Wood Handbook, FPL-GTR-190 (2010), chapter 8: wood screw withdrawal 108.25 G² D L and
/// lateral K D² (N, mm); maximum loads, from memory.
Result<FixingReport> fixing(const FixingRequest& request);

}  // namespace roomwright::shop
