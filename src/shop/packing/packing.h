// How finished pieces leave the shop: packages stacked in the van, trip by trip, and cartons that a
// carrier takes. Whole nanometres in, places out; knows no products, only boxes with a weight.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

// ---- the van --------------------------------------------------------------------------------

/// One piece as it travels. It stands on an edge; one that may lie may also lie on its back.
struct Package {
  std::string label;
  Length width, height, depth;  ///< outside, protection included
  double mass_kg = 0;
  int layers = 1;  ///< packages above one another with this one lowest, itself counted
  bool may_lie = false;
};

/// x from the bulkhead toward the doors, y from the left-hand wall as one looks in from the doors,
/// z up; the sizes as the package stands.
struct PlacedPackage {
  std::size_t package = 0;
  Length x, y, z, along, across, up;
};

struct Trip {
  std::vector<PlacedPackage> placed;  ///< in load order: the last hung first
  double mass_kg = 0;
  double volume_m3 = 0;                   ///< of its packages
  double centre_x_m = 0, centre_y_m = 0;  ///< of the load
  double rear_axle_kg = 0;                ///< of the load; 0 where the axles are not known
  Length reach;                           ///< how far from the bulkhead it is filled
  /// The centre lies more than a tenth of the width beside the middle, or behind the rear axle, and
  /// the load is above a quarter of the payload (common practice, no source).
  bool leans = false, tail_heavy = false;
};

/// Trips carry the pieces in the order of hanging: the first trip what hangs first.
struct VanPlan {
  std::vector<Trip> trips;
  double space_m3 = 0;   ///< of the van, its wheel arches taken off
  int bound = 0;         ///< no plan has fewer trips
  std::string bound_by;  ///< `weight`, `volume`, `floor` or `one piece`
};

/// In the order of hanging. Each package goes straight in from the doors to what stands before it,
/// so it comes out the same way, the first hung first. Of several ways to choose places, what puts
/// most pieces into a trip. The bound holds for every plan: by weight, by volume, and by the floor
/// that packages take which are too high to stand on one another.
/// Errors: a package that does not go into the empty van, or is heavier than its payload.
Result<VanPlan> plan_van(const std::vector<Package>& hung, const Van& van, const Packing& packing);

/// Everything that is wrong with a plan, as sentences; written without the planner's code. Inside
/// the walls and clear of the arches, no overlap, each on the floor or on full support, stacks no
/// higher and no heavier than allowed, weight and rear axle within their limits, weight, centre and
/// balance as stated, each piece free to come out, every piece once and in the order of hanging.
std::vector<std::string> faults_of_plan(const VanPlan& plan, const std::vector<Package>& hung,
                                        const Van& van, const Packing& packing);

/// The package of a piece with these outside sizes.
Package package_of(const std::string& label, const std::array<Length, 3>& size, double mass_kg,
                   const Packing& packing, const std::string& kind);

// ---- cartons --------------------------------------------------------------------------------

/// Pieces alike that go into cartons of their own.
struct CartonItem {
  std::string label;
  Length width, height, depth;  ///< of one piece
  double mass_kg = 0;
  int count = 1;
};

struct Carton {
  std::size_t item = 0;
  int pieces = 1, cartons = 1;         ///< pieces in each; how many are alike
  Length width, height, depth;         ///< outside
  double mass_kg = 0, charged_kg = 0;  ///< of one, charged: the greater of weight and volume
  bool by_volume = false;
  bool two_people = false;
  std::string rate;  ///< empty: collected, or no rates are known
  Money price;       ///< carriage of one
};
struct CartonPlan {
  std::vector<Carton> cartons;
  int count = 0;
  double mass_kg = 0;
  Money carriage;
};

/// For each item the split into cartons that costs least carriage, of those the fewest cartons
/// (exact, by dynamic programming over the count); without rates the fewest cartons. A carton holds
/// one item, at most Packing::carton_pieces and, with more than one piece, at most carton_kg; one
/// piece that is heavier travels alone and is for two people.
/// Errors: a carton that no rate of the zone takes, with its sizes.
Result<CartonPlan> plan_cartons(const std::vector<CartonItem>& items, const Packing& packing,
                                const Carriage& carriage, const std::string& zone, bool collected);

/// What a carrier charges for, by weight and volume, rounded up to its step.
double charged_kg(double mass_kg, const std::array<Length, 3>& size, const Carriage& carriage);
/// The longest side and the way round the other two.
Length girth_and_length(const std::array<Length, 3>& size);

}  // namespace roomwright::shop
