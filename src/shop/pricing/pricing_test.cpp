// Money that reconciles to the cent: purchase, costing and quote.
#include "shop/pricing/pricing.h"

#include <gtest/gtest.h>

#include "figures/small_shop.h"

namespace roomwright::shop {
namespace {

struct Job {
  Shop shop = figures::small_shop(true);
  Schedule schedule;
  PricingInput input;

  explicit Job(int pieces, int optional = 0) {
    Parts all;
    for (int i = 0; i < pieces; ++i) {
      Parts parts;
      const std::string piece = "W" + std::to_string(i);
      parts.sticks.push_back({piece, "stile", "square", 1_mm * (900 + 37 * i), 2});
      parts.cloths.push_back({piece, "face", "cloth", 700_mm, 1300_mm, 1});
      parts.boards.push_back({piece, "board", "wool", 600_mm, 1200_mm, 1, false});
      parts.operations.push_back({piece, Station::saw, "cut", 2.0 + i});
      all.append(parts);
      input.items.push_back({piece, "panel", i >= pieces - optional ? "rear" : "", parts, 5});
    }
    schedule = make_schedule(all, shop).value();
    input.shop = &shop;
    input.schedule = &schedule;
    input.distance_km = 17.3;
  }
};

TEST(Pricing, lines_add_up_and_the_three_reconcile) {
  for (int pieces = 1; pieces <= 13; ++pieces) {
    const Job job(pieces, pieces / 3);
    const Pricing pricing = make_pricing(job.input).value();
    Money bought, cost;
    for (const auto& row : pricing.purchase.rows) bought += row.cost;
    EXPECT_EQ(bought, pricing.purchase.total);
    EXPECT_EQ(bought, pricing.costing.material);
    for (const auto& row : pricing.costing.rows) cost += row.cost;
    EXPECT_EQ(cost, pricing.costing.cost);
    EXPECT_EQ(pricing.costing.cost + pricing.costing.margin, pricing.costing.price);
    for (const auto& option : pricing.quote.options) {
      Money net;
      for (const auto& row : option.rows) net += row.price;
      EXPECT_EQ(net, option.net);
      EXPECT_EQ(option.net + option.tax, option.total);
      EXPECT_EQ(option.deposit + option.balance, option.total);
    }
    EXPECT_EQ(pricing.quote.options.back().net, pricing.costing.price)
        << "everything together is the whole price";
  }
}

TEST(Pricing, margin_is_a_share_of_the_price) {
  const Job job(4);
  const Costing costing = make_pricing(job.input).value().costing;
  EXPECT_NEAR(double(costing.margin.minor_units()) / double(costing.price.minor_units()), 0.225,
              1e-4);
}

TEST(Pricing, travel_is_there_and_back) {
  const Job job(2);
  EXPECT_EQ(make_pricing(job.input).value().costing.travel, Money::minor(1453))
      << "34.6 km at 0.42";
}

TEST(Pricing, the_offer_without_the_option_costs_less) {
  const Job job(6, 2);
  const Quote quote = make_pricing(job.input).value().quote;
  ASSERT_EQ(quote.options.size(), 2u);
  EXPECT_LT(quote.options[0].total, quote.options[1].total);
  EXPECT_EQ(quote.options[0].rows.size() + 2, quote.options[1].rows.size());
}

TEST(Pricing, wrong_percentages_are_told) {
  Job job(1);
  job.shop.terms.margin_percent = {100, 0};
  job.shop.terms.tax_percent = {-1, 0};
  EXPECT_EQ(make_pricing(job.input).mistakes().size(), 2u);
}

}  // namespace
}  // namespace roomwright::shop
