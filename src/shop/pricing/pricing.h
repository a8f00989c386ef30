// Money: what to buy, what the job costs the shop, and what the client is asked to pay. All in
// whole minor units; each rounding happens once, half up, where it is named. The quote's lines add
// up to its total and the costing's to its own, to the cent, and the two reconcile:
//   price before tax = cost + margin, where cost = material + labour + site + travel + … +
//   overhead.
#pragma once

#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"
#include "shop/schedule/schedule.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

/// One line of the purchase list.
struct PurchaseRow {
  std::string group;  ///< `timber`, `cloth`, `boards`, `sheets`, `hardware`
  std::string key, name;
  std::string needed, in_hand, buy;  ///< in people's units
  double quantity = 0;               ///< to buy, in the unit sold
  std::string unit;                  ///< `stick 2400 mm`, `m`, `pack of 6` …
  Money unit_price, cost;
};
struct Purchase {
  std::vector<PurchaseRow> rows;
  Money total;
};

struct CostRow {
  std::string group, name;  ///< `labour`, `Cut the sticks`
  std::string quantity;     ///< `2.4 h`
  Money cost;
};
struct Costing {
  std::vector<CostRow> rows;
  Money material, labour, site, travel, carriage, consumables, waste;
  Money overhead, cost;  ///< cost: everything above
  Money margin, price;   ///< price before tax
};

/// What is priced apart: one piece of the offer, or of an option.
struct QuoteItem {
  std::string label, description;
  std::string option;  ///< empty: in the offer
  Parts parts;         ///< of this piece
  double mass_kg = 0;
  int count = 1;  ///< pieces that it stands for: a line of an order is for several
};

struct QuoteRow {
  std::string label, description;
  Money price;  ///< before tax
};
struct QuoteOption {
  std::string name;            ///< empty: the offer itself
  std::vector<QuoteRow> rows;  ///< pieces, then installation and travel
  Money net, tax, total, deposit, balance;
};
struct Quote {
  std::vector<QuoteOption> options;  ///< the offer, then the offer with each option
  Decimal tax_percent;
  std::string tax_name;
  int valid_days = 30, due_days = 14;
  Decimal deposit_percent;
  std::vector<std::string> terms;
};

struct PricingInput {
  const Shop* shop = nullptr;
  const Schedule* schedule = nullptr;
  std::vector<QuoteItem> items;  ///< every piece of the job
  Units units;
  double distance_km = 0;
  int trips = 1;
  bool hung = true;  ///< by the shop; else sent, with this carriage in place of site and travel
  Money carriage;    ///< what the carrier asks
  std::string carriage_text;  ///< as it stands on the quote
};
struct Pricing {
  Purchase purchase;
  Costing costing;
  Quote quote;
};

/// Errors: a total beyond what Money holds; percentages out of range.
Result<Pricing> make_pricing(const PricingInput& input);

}  // namespace roomwright::shop
