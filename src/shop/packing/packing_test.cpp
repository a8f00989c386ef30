// Van plans held to a checker of its own over random loads, and to counts that can be reckoned by
// hand; cartons held to every split there is.
#include "shop/packing/packing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

namespace roomwright::shop {
namespace {

Van plain_van() {
  Van van;
  van.length = 3000_mm;
  van.width = 1700_mm;
  van.height = 1800_mm;
  van.payload_kg = 900;
  return van;
}

Packing plain_packing() {
  Packing packing = default_packing(true);
  packing.bears_kg = 40;
  return packing;
}

Package panel(const std::string& label, Length width, Length height, Length depth, double mass_kg) {
  Package out;
  out.label = label;
  out.width = width, out.height = height, out.depth = depth;
  out.mass_kg = mass_kg;
  out.layers = 2;
  return out;
}

TEST(VanPlan, no_fault_in_random_loads) {
  Random random(41);
  int trips = 0, above_bound = 0, stacked = 0;
  for (int round = 0; round < 150; ++round) {
    Van van = plain_van();
    if (round % 2) {
      van.between_arches = 1200_mm, van.arches_from = 1500_mm;
      van.arches_length = 800_mm, van.arches_height = 300_mm;
    }
    if (round % 3 == 0) van.rear_axle = 2000_mm, van.wheelbase = 3400_mm, van.rear_axle_kg = 700;
    const Packing packing = plain_packing();
    std::vector<Package> hung;
    const auto count = random.between(1, 40);
    for (std::int64_t i = 0; i < count; ++i) {
      Package one = panel("P" + std::to_string(i), 1_mm * random.between(300, 1250),
                          1_mm * random.between(300, 1650), 1_mm * random.between(60, 420),
                          random.uniform(2, 45));
      one.layers = int(random.between(1, 3));
      one.may_lie = random.below(3) == 0;
      hung.push_back(one);
    }
    const auto plan = plan_van(hung, van, packing);
    ASSERT_TRUE(plan.ok()) << plan.mistakes().text();
    for (const std::string& fault : faults_of_plan(*plan, hung, van, packing))
      ADD_FAILURE() << "round " << round << ": " << fault;
    trips += int(plan->trips.size());
    above_bound += int(plan->trips.size()) - plan->bound;
    for (const Trip& trip : plan->trips)
      for (const PlacedPackage& one : trip.placed) stacked += one.z > Length();
  }
  EXPECT_GT(stacked, 100) << "stacks were tried";
  RecordProperty("trips", trips);
  RecordProperty("above_bound", above_bound);
  EXPECT_LT(above_bound, trips / 2);
}

TEST(VanPlan, three_hundred_pieces_are_planned_within_seconds) {
  Random random(9);
  std::vector<Package> hung;
  for (int i = 0; i < 300; ++i)
    hung.push_back(panel("P" + std::to_string(i), 1_mm * random.between(400, 700),
                         1_mm * random.between(700, 1250), 1_mm * random.between(60, 140),
                         random.uniform(3, 12)));
  Packing packing = plain_packing();
  packing.bears_kg = 100;
  const VanPlan plan = plan_van(hung, plain_van(), packing).value();
  for (const std::string& fault : faults_of_plan(plan, hung, plain_van(), packing))
    ADD_FAILURE() << fault;
  RecordProperty("trips", int(plan.trips.size()));
  RecordProperty("bound", plan.bound);
  EXPECT_LE(int(plan.trips.size()), 2 * plan.bound);
}

TEST(VanPlan, a_checker_that_sees_nothing_would_be_no_checker) {
  const Van van = plain_van();
  const Packing packing = plain_packing();
  std::vector<Package> hung;
  for (int i = 0; i < 8; ++i)
    hung.push_back(panel("P" + std::to_string(i), 600_mm, 1200_mm, 100_mm, 20));
  const VanPlan good = plan_van(hung, van, packing).value();
  ASSERT_TRUE(faults_of_plan(good, hung, van, packing).empty());
  const std::vector<std::pair<const char*, std::function<void(VanPlan&)>>> spoils = {
      {"overlap",
       [](VanPlan& p) {
         p.trips[0].placed[1] = p.trips[0].placed[0], p.trips[0].placed[1].package = 6;
       }},
      {"outside", [](VanPlan& p) { p.trips[0].placed[0].x = 2900_mm; }},
      {"in the air", [](VanPlan& p) { p.trips[0].placed[7].z = 300_mm; }},
      {"missing", [](VanPlan& p) { p.trips[0].placed.pop_back(); }},
      {"lying",
       [](VanPlan& p) {
         auto& one = p.trips[0].placed[0];
         one.along = 1200_mm, one.across = 600_mm, one.up = 100_mm;
       }},
      {"another size", [](VanPlan& p) { p.trips[0].placed[0].up = 500_mm; }},
      {"another weight", [](VanPlan& p) { p.trips[0].mass_kg += 1; }}};
  for (const auto& [what, spoil] : spoils) {
    VanPlan bad = good;
    spoil(bad);
    EXPECT_FALSE(faults_of_plan(bad, hung, van, packing).empty()) << what;
  }
  // The same plan in a van that carries less.
  Van small = van;
  small.payload_kg = 100;
  EXPECT_FALSE(faults_of_plan(good, hung, small, packing).empty());
}

TEST(VanPlan, equal_panels_stand_in_rows_that_can_be_counted) {
  // 100 mm thick, 1200 mm long: 17 abreast and two behind one another on their long edge, and a
  // second row of them on top where they bear it: 68 in 1200 + 600 mm of height.
  Van van = plain_van();
  van.payload_kg = 10'000;
  Packing packing = plain_packing();
  packing.bears_kg = 1000;
  std::vector<Package> hung;
  for (int i = 0; i < 68; ++i)
    hung.push_back(panel("P" + std::to_string(i), 600_mm, 1200_mm, 100_mm, 5));
  const VanPlan plan = plan_van(hung, van, packing).value();
  EXPECT_TRUE(faults_of_plan(plan, hung, van, packing).empty());
  EXPECT_EQ(plan.trips.size(), 1u);
  EXPECT_EQ(plan.bound, 1);
  // The same load where packages bear less, or none may stand on another.
  Packing weak = packing;
  weak.bears_kg = 4;
  EXPECT_FALSE(faults_of_plan(plan, hung, van, weak).empty());
  for (Package& one : hung) one.layers = 1;
  EXPECT_FALSE(faults_of_plan(plan, hung, van, packing).empty());
}

TEST(VanPlan, weight_alone_can_ask_for_more_trips_and_the_bound_says_so) {
  Van van = plain_van();
  van.payload_kg = 100;
  std::vector<Package> hung;
  for (int i = 0; i < 9; ++i)
    hung.push_back(panel("P" + std::to_string(i), 400_mm, 400_mm, 100_mm, 33));
  const VanPlan plan = plan_van(hung, van, plain_packing()).value();
  EXPECT_EQ(plan.trips.size(), 3u);
  EXPECT_EQ(plan.bound, 3);
  EXPECT_EQ(plan.bound_by, "weight");
}

TEST(VanPlan, what_is_too_high_to_stack_takes_floor_and_the_bound_counts_it) {
  Van van = plain_van();
  van.height = 1400_mm;
  std::vector<Package> hung;
  // Cubes of 900 mm: three along, one across (1700 < 1800).
  for (int i = 0; i < 7; ++i)
    hung.push_back(panel("P" + std::to_string(i), 900_mm, 900_mm, 900_mm, 10));
  const VanPlan plan = plan_van(hung, van, plain_packing()).value();
  EXPECT_EQ(plan.trips.size(), 3u);
  EXPECT_EQ(plan.bound, 2) << "7 of 0.81 m² on 5.1 m² of floor";
  EXPECT_EQ(plan.bound_by, "floor");
}

TEST(VanPlan, what_hangs_first_stands_nearest_the_doors) {
  std::vector<Package> hung;
  for (int i = 0; i < 3; ++i)
    hung.push_back(panel("P" + std::to_string(i), 1600_mm, 1700_mm, 400_mm, 30));
  const VanPlan plan = plan_van(hung, plain_van(), plain_packing()).value();
  ASSERT_EQ(plan.trips.size(), 1u);
  const auto& placed = plan.trips[0].placed;
  EXPECT_EQ(placed.front().package, 2u) << "the last hung is loaded first";
  EXPECT_GE(placed.back().x, placed.front().x);
  VanPlan shut = plan;
  std::swap(shut.trips[0].placed[0].x, shut.trips[0].placed[2].x);
  bool told = false;
  for (const std::string& fault : faults_of_plan(shut, hung, plain_van(), plain_packing()))
    told = told || fault.find("is shut in by") != std::string::npos;
  EXPECT_TRUE(told) << "the first to be hung stands at the bulkhead";
}

TEST(VanPlan, names_what_does_not_go_in) {
  const auto plan = plan_van(
      {panel("T9", 2000_mm, 3200_mm, 1900_mm, 30), panel("T8", 500_mm, 500_mm, 100_mm, 1000)},
      plain_van(), plain_packing());
  ASSERT_FALSE(plan.ok());
  ASSERT_EQ(plan.mistakes().size(), 2u);
  EXPECT_NE(plan.mistakes().text().find("T9"), std::string::npos);
  EXPECT_NE(plan.mistakes().text().find("T8"), std::string::npos);
}

TEST(VanPlan, nothing_to_carry_is_no_trip) {
  EXPECT_TRUE(plan_van({}, plain_van(), plain_packing()).value().trips.empty());
}

// ---- cartons --------------------------------------------------------------------------------

Carriage two_rates() {
  Carriage carriage;
  carriage.rates = {{"small", "", 20, 1300_mm, 2600_mm, Money::minor(700), Money::minor(30)},
                    {"large", "", 60, 2000_mm, 4000_mm, Money::minor(1500), Money::minor(20)}};
  return carriage;
}

CartonItem item_of(int count, double mass_kg = 4) {
  return {"A", 600_mm, 900_mm, 60_mm, mass_kg, count};
}

/// Every way to write a count as a sum, costed.
Money cheapest_by_force(const CartonItem& item, const Packing& packing, const Carriage& carriage) {
  std::vector<std::optional<Money>> single(std::size_t(item.count) + 1);
  for (int n = 1; n <= item.count; ++n) {
    CartonItem one = item;
    one.count = n;
    Packing only = packing;
    const Length w = item.width + packing.carton * 2, h = item.height + packing.carton * 2,
                 d = item.depth * n + packing.between * (n - 1) + packing.carton * 2;
    const double mass = item.mass_kg * n + 2 * packing.carton_kg_m2 *
                                               (w.metres() * h.metres() + w.metres() * d.metres() +
                                                h.metres() * d.metres());
    if (n > only.carton_pieces || (n > 1 && mass > only.carton_kg)) continue;
    const double charged = charged_kg(mass, {w, h, d}, carriage);
    for (const Rate& rate : carriage.rates) {
      if (charged > rate.most_kg || h > rate.most_length || h + (w + d) * 2 > rate.most_girth)
        continue;
      const Money price =
          rate.price + rate.per_kg.times(std::llround(charged * 1000), 1000, Rounding::half_up);
      if (!single[std::size_t(n)] || price < *single[std::size_t(n)])
        single[std::size_t(n)] = price;
    }
  }
  const std::function<std::optional<Money>(int, int)> split = [&](int left, int most) {
    std::optional<Money> best;
    if (left == 0) return std::optional<Money>(Money());
    for (int n = std::min(left, most); n >= 1; --n) {
      const auto rest = single[std::size_t(n)] ? split(left - n, n) : std::nullopt;
      if (rest && (!best || *rest + *single[std::size_t(n)] < *best))
        best = *rest + *single[std::size_t(n)];
    }
    return best;
  };
  return split(item.count, item.count).value();
}

TEST(Cartons, cost_the_least_of_every_split) {
  Packing packing = default_packing(true);
  Random random(5);
  for (int count = 1; count <= 18; ++count)
    for (int round = 0; round < 4; ++round) {
      packing.carton_pieces = int(random.between(1, 8));
      const CartonItem item = item_of(count, random.uniform(1, 12));
      const CartonPlan plan = plan_cartons({item}, packing, two_rates(), "", false).value();
      int pieces = 0;
      for (const Carton& carton : plan.cartons) pieces += carton.pieces * carton.cartons;
      EXPECT_EQ(pieces, count);
      EXPECT_EQ(plan.carriage, cheapest_by_force(item, packing, two_rates())) << count;
    }
}

TEST(Cartons, one_person_lifts_those_with_more_than_one_piece) {
  const Packing packing = default_packing(true);
  for (const double mass : {2.0, 5.5, 9.0, 23.0}) {
    const CartonPlan plan = plan_cartons({item_of(7, mass)}, packing, {}, "", false).value();
    for (const Carton& carton : plan.cartons) {
      EXPECT_TRUE(carton.pieces == 1 || carton.mass_kg <= packing.carton_kg);
      EXPECT_EQ(carton.two_people, carton.mass_kg > packing.carton_kg);
    }
    EXPECT_EQ(plan.carriage, Money());
  }
}

TEST(Cartons, charge_for_volume_where_it_weighs_more_than_the_scales_say) {
  Carriage carriage = two_rates();
  // 0.65 × 0.95 × 0.11 m = 0.067925 m³: at 200 kg/m³ 13.585 kg, charged as 14.
  EXPECT_EQ(charged_kg(5, {650_mm, 950_mm, 110_mm}, carriage), 14);
  EXPECT_EQ(charged_kg(14.2, {650_mm, 950_mm, 110_mm}, carriage), 15);
  carriage.step_kg = 0.5;
  EXPECT_EQ(charged_kg(14.2, {650_mm, 950_mm, 110_mm}, carriage), 14.5);
  EXPECT_EQ(girth_and_length({650_mm, 950_mm, 110_mm}), 2470_mm);
  EXPECT_EQ(girth_and_length({110_mm, 650_mm, 950_mm}), 2470_mm);
}

TEST(Cartons, say_what_no_carrier_takes) {
  const auto plan = plan_cartons({{"A", 2500_mm, 600_mm, 60_mm, 8, 2}}, default_packing(true),
                                 two_rates(), "", false);
  ASSERT_FALSE(plan.ok());
  EXPECT_NE(plan.mistakes().text().find("take no carton of A"), std::string::npos);
  EXPECT_TRUE(plan_cartons({{"A", 2500_mm, 600_mm, 60_mm, 8, 2}}, default_packing(true),
                           two_rates(), "", true)
                  .ok())
      << "collected";
}

}  // namespace
}  // namespace roomwright::shop
