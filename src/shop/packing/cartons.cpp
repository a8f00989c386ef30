// Pieces into cartons: one item at a time, the split that costs least by dynamic programming over
// the count.
#include <algorithm>
#include <cmath>
#include <map>

#include "shop/packing/packing.h"

namespace roomwright::shop {

double charged_kg(double mass_kg, const std::array<Length, 3>& size, const Carriage& carriage) {
  const double volume = size[0].metres() * size[1].metres() * size[2].metres();
  const double charged = std::max(mass_kg, volume * carriage.volumetric_kg_m3);
  return std::ceil(charged / carriage.step_kg - 1e-9) * carriage.step_kg;
}

Length girth_and_length(const std::array<Length, 3>& size) {
  const Length longest = std::max({size[0], size[1], size[2]});
  return longest + (size[0] + size[1] + size[2] - longest) * 2;
}

namespace {

/// A carton with this many pieces, face to face, as it would be sent.
Carton carton_of(const CartonItem& item, int pieces, const Packing& packing) {
  Carton out;
  out.pieces = pieces;
  out.width = item.width + packing.carton * 2;
  out.height = item.height + packing.carton * 2;
  out.depth = item.depth * pieces + packing.between * (pieces - 1) + packing.carton * 2;
  const double w = out.width.metres(), h = out.height.metres(), d = out.depth.metres();
  out.mass_kg = item.mass_kg * pieces + 2 * (w * h + w * d + h * d) * packing.carton_kg_m2;
  out.two_people = out.mass_kg > packing.carton_kg;
  return out;
}

/// The cheapest rate that takes it; false where none does.
bool rate_carton(Carton& carton, const Carriage& carriage, const std::string& zone) {
  const std::array<Length, 3> size{carton.width, carton.height, carton.depth};
  carton.charged_kg = charged_kg(carton.mass_kg, size, carriage);
  carton.by_volume = carton.charged_kg >= carton.mass_kg + carriage.step_kg;
  const Length longest = std::max({size[0], size[1], size[2]});
  bool found = false;
  for (const Rate& rate : carriage.rates) {
    if (rate.zone != zone || carton.charged_kg > rate.most_kg || longest > rate.most_length ||
        girth_and_length(size) > rate.most_girth)
      continue;
    const Money price = rate.price + rate.per_kg.times(std::llround(carton.charged_kg * 1000), 1000,
                                                       Rounding::half_up);
    if (found && price >= carton.price) continue;
    carton.price = price;
    carton.rate = rate.name;
    found = true;
  }
  return found;
}

/// Every number of pieces that a carton may hold and a carrier takes.
std::vector<Carton> possible_cartons(const CartonItem& item, const Packing& packing,
                                     const Carriage& carriage, const std::string& zone,
                                     bool rated) {
  std::vector<Carton> out;
  for (int pieces = 1; pieces <= std::min(item.count, packing.carton_pieces); ++pieces) {
    Carton carton = carton_of(item, pieces, packing);
    if (pieces > 1 && carton.mass_kg > packing.carton_kg) break;
    if (!rated || rate_carton(carton, carriage, zone)) out.push_back(carton);
  }
  return out;
}

struct Split {
  Money cost;
  int cartons = 0;
  std::size_t last = 0;  ///< which of the possible ones was added
  bool reached = false;
};

/// The best split of each count up to the item's.
std::vector<Split> best_splits(int count, const std::vector<Carton>& possible) {
  std::vector<Split> best(std::size_t(count) + 1);
  best[0].reached = true;
  for (int n = 1; n <= count; ++n)
    for (std::size_t c = 0; c < possible.size(); ++c) {
      const int before = n - possible[c].pieces;
      if (before < 0 || !best[std::size_t(before)].reached) continue;
      const Split& from = best[std::size_t(before)];
      const Split with{from.cost + possible[c].price, from.cartons + 1, c, true};
      Split& to = best[std::size_t(n)];
      if (!to.reached || std::pair(with.cost, with.cartons) < std::pair(to.cost, to.cartons))
        to = with;
    }
  return best;
}

}  // namespace

Result<CartonPlan> plan_cartons(const std::vector<CartonItem>& items, const Packing& packing,
                                const Carriage& carriage, const std::string& zone, bool collected) {
  Diagnostics found;
  CartonPlan plan;
  const bool rated = !collected && !carriage.rates.empty();
  for (std::size_t i = 0; i < items.size(); ++i) {
    const auto possible = possible_cartons(items[i], packing, carriage, zone, rated);
    const auto best = best_splits(items[i].count, possible);
    if (!best.back().reached) {
      const Carton carton = carton_of(items[i], 1, packing);
      found.add("carriage.rates",
                "take no carton of " + items[i].label + (zone.empty() ? "" : " to " + zone),
                print_mm(carton.width) + " × " + print_mm(carton.height) + " × " +
                    print_mm(carton.depth) + ", " + fixed(carton.mass_kg, 1) + " kg",
                "add a rate that takes it, or let it be collected");
      continue;
    }
    std::map<std::size_t, int, std::greater<>> used;  // the fullest first
    for (int n = items[i].count; n > 0; n -= possible[best[std::size_t(n)].last].pieces)
      ++used[best[std::size_t(n)].last];
    for (const auto& [which, cartons] : used) {
      Carton carton = possible[which];
      carton.item = i;
      carton.cartons = cartons;
      plan.count += cartons;
      plan.mass_kg += carton.mass_kg * cartons;
      plan.carriage += carton.price * cartons;
      plan.cartons.push_back(carton);
    }
  }
  if (!found.empty()) return found;
  return plan;
}

}  // namespace roomwright::shop
