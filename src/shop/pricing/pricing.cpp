// Purchase list, costing and quote from one schedule; see pricing.h for how they reconcile.
#include "shop/pricing/pricing.h"

#include <cmath>

namespace roomwright::shop {

namespace {

/// A count that came out of a computation, as an exact decimal of three places.
Decimal thousandths(double value) {
  return {std::llround(value * 1000), 3};
}

std::string quantity_text(double value) {
  const double rounded = std::round(value * 10) / 10;
  return rounded == std::floor(rounded) ? fixed(rounded, 0) : fixed(rounded, 1);
}

void buy_sticks(const PricingInput& in, Purchase& purchase) {
  for (const StickPlan& plan : in.schedule->sticks) {
    std::string buy, needed;
    for (const auto& [length, count] : plan.buy)
      buy += (buy.empty() ? "" : ", ") + std::to_string(count) + " × " +
             print_length(length, in.units);
    const int all = plan.sticks_to_buy + plan.sticks_from_rack;
    needed = std::to_string(all) + (all == 1 ? " stick" : " sticks");
    PurchaseRow row{"timber",
                    plan.section,
                    plan.name,
                    needed,
                    std::to_string(plan.sticks_from_rack) + " from the rack",
                    buy.empty() ? "nothing" : buy,
                    double(plan.sticks_to_buy),
                    "stick",
                    Money(),
                    plan.cost};
    purchase.rows.push_back(row);
  }
}

void buy_cloths(const PricingInput& in, Purchase& purchase) {
  for (const ClothPlan& plan : in.schedule->cloths)
    purchase.rows.push_back(
        {"cloth", plan.cloth, plan.name, print_length(plan.length, in.units),
         print_length(plan.from_rack, in.units) + " from the rack",
         plan.to_buy == Length() ? "nothing"
                                 : print_length(plan.to_buy, in.units) + ", one dye lot",
         plan.to_buy.metres(), "m", in.shop->cloths.at(plan.cloth).price_per_m, plan.cost});
}

void buy_boards(const PricingInput& in, Purchase& purchase) {
  for (const SheetPlan& plan : in.schedule->sheets) {
    const bool packs = plan.wool && plan.per_pack > 1;
    const std::string unit =
        packs ? (plan.packs == 1 ? " pack of " : " packs of ") + std::to_string(plan.per_pack)
              : std::string(plan.packs == 1 ? " sheet" : " sheets");
    const Money price = plan.wool ? in.shop->boards.at(plan.key).price_per_pack
                                  : in.shop->sheets.at(plan.key).price;
    purchase.rows.push_back({plan.wool ? "boards" : "sheets", plan.key, plan.name,
                             std::to_string(plan.used),
                             std::to_string(plan.from_rack) + " from the rack",
                             plan.packs == 0 ? "nothing" : std::to_string(plan.packs) + unit,
                             double(plan.packs), packs ? "pack" : "sheet", price, plan.cost});
  }
}

void buy_hardware(const PricingInput& in, Purchase& purchase) {
  for (const HardwareRow& row : in.schedule->hardware) {
    const Hardware& hardware = in.shop->hardware.at(row.key);
    const std::string unit = row.unit == "each" ? "" : " " + row.unit;
    purchase.rows.push_back({"hardware", row.key, row.name, quantity_text(row.used) + unit,
                             quantity_text(row.from_rack) + unit + " in hand",
                             row.packs == 0 ? "nothing"
                                            : std::to_string(row.packs) +
                                                  (row.packs == 1 ? " pack of " : " packs of ") +
                                                  quantity_text(hardware.per_pack) + unit,
                             double(row.packs), "pack", hardware.price_per_pack, row.cost});
  }
}

Purchase make_purchase(const PricingInput& in) {
  Purchase purchase;
  buy_sticks(in, purchase);
  buy_cloths(in, purchase);
  buy_boards(in, purchase);
  buy_hardware(in, purchase);
  for (const PurchaseRow& row : purchase.rows) purchase.total += row.cost;
  return purchase;
}

/// A rate for an hour, times minutes: rounded half up, once a row.
Money for_minutes(const Decimal& per_hour, double minutes, const Currency& currency) {
  const Decimal amount = thousandths(minutes);
  const std::int64_t unit = currency.digits == 0 ? 1 : currency.digits == 3 ? 1000 : 100;
  return Money::minor(unit)
      .times(per_hour, Rounding::half_up)
      .times(amount.mantissa, 60 * 1000, Rounding::half_up);
}

Money in_units(const Decimal& amount, double count, const Currency& currency) {
  const std::int64_t unit = currency.digits == 0 ? 1 : currency.digits == 3 ? 1000 : 100;
  return Money::minor(unit)
      .times(amount, Rounding::half_up)
      .times(thousandths(count), Rounding::half_up);
}

void cost_material(const Purchase& purchase, Costing& costing) {
  for (const PurchaseRow& row : purchase.rows) {
    costing.rows.push_back({"material", row.name, row.buy, row.cost});
    costing.material += row.cost;
  }
}

void cost_labour(const PricingInput& in, Costing& costing) {
  for (const StationRow& station : in.schedule->stations) {
    const Money cost =
        for_minutes(in.shop->terms.labour_per_hour, station.total_min(), in.shop->currency);
    costing.rows.push_back({"labour", station_title(station.station),
                            fixed(station.total_min() / 60, 2) + " h", cost});
    costing.labour += cost;
  }
}

double pieces_of(const PricingInput& in) {
  double count = 0;
  for (const QuoteItem& item : in.items) count += item.count;
  return count;
}

double site_minutes(const PricingInput& in) {
  const Terms& terms = in.shop->terms;
  return terms.site_minutes_set_up + terms.site_minutes_per_piece * pieces_of(in);
}

/// Hung by the shop: hours at the site and the way there.
void cost_site(const PricingInput& in, Costing& costing) {
  const Terms& terms = in.shop->terms;
  const Currency& currency = in.shop->currency;
  const double minutes = site_minutes(in), km = 2 * in.distance_km * in.trips;
  costing.site = for_minutes(terms.site_per_hour, minutes, currency);
  costing.rows.push_back({"site", "Hang the pieces", fixed(minutes / 60, 2) + " h", costing.site});
  costing.travel = in_units(terms.travel_per_km, km, currency);
  costing.rows.push_back(
      {"travel",
       "There and back, " + std::to_string(in.trips) + (in.trips == 1 ? " trip" : " trips"),
       fixed(km, 0) + " km", costing.travel});
}

void cost_rest(const PricingInput& in, Costing& costing) {
  const Terms& terms = in.shop->terms;
  const Currency& currency = in.shop->currency;
  if (in.hung) {
    cost_site(in, costing);
  } else {
    costing.carriage = in.carriage;
    costing.rows.push_back({"carriage", in.carriage_text, "once", costing.carriage});
  }
  const double pieces = pieces_of(in);
  costing.consumables = in_units(terms.consumables_per_piece, pieces, currency);
  costing.rows.push_back({"consumables", "Blades, abrasive, pencils", fixed(pieces, 0) + " pieces",
                          costing.consumables});
  costing.waste = in_units(terms.waste_removal, 1, currency);
  costing.rows.push_back({"waste", "Offcuts and packing taken away", "once", costing.waste});
}

/// Margin is a share of the price: price = cost / (1 − margin), rounded half up, once.
void add_margin(const PricingInput& in, Costing& costing) {
  const Money direct = costing.material + costing.labour + costing.site + costing.travel +
                       costing.carriage + costing.consumables + costing.waste;
  costing.overhead = (costing.material + costing.labour + costing.site)
                         .percent(in.shop->terms.overhead_percent, Rounding::half_up);
  costing.rows.push_back({"overhead", "Rent, machines, insurance",
                          in.shop->terms.overhead_percent.text() + " %", costing.overhead});
  costing.cost = direct + costing.overhead;
  const Decimal margin = in.shop->terms.margin_percent;
  std::int64_t hundred = 100;
  for (int i = 0; i < margin.scale; ++i) hundred *= 10;
  costing.price = costing.cost.times(hundred, hundred - margin.mantissa, Rounding::half_up);
  costing.margin = costing.price - costing.cost;
}

/// What a piece weighs in the split of the price: its material at purchase prices and its minutes,
/// in minor units. Only ratios matter, so whole numbers do.
std::int64_t weight_of(const PricingInput& in, const QuoteItem& item) {
  double minutes = 0, material = 0;
  const Shop& shop = *in.shop;
  for (const Operation& operation : item.parts.operations)
    if (const auto each = shop.times.each_min.find(operation.feature);
        each != shop.times.each_min.end())
      minutes += each->second * operation.count;
  for (const StickPart& stick : item.parts.sticks) {
    const auto at = shop.timber.find(stick.section);
    if (at == shop.timber.end() || at->second.sticks.empty()) continue;
    const StickStock& stock = at->second.sticks.front();
    material += double(stock.price.minor_units()) * stick.length.metres() / stock.length.metres() *
                stick.count;
  }
  for (const ClothPart& cloth : item.parts.cloths)
    if (const auto at = shop.cloths.find(cloth.cloth); at != shop.cloths.end())
      material += double(at->second.price_per_m.minor_units()) * cloth.count *
                  cloth.along.metres() * cloth.across.metres() / at->second.roll_width.metres();
  for (const BoardPart& board : item.parts.boards)
    if (const auto at = shop.boards.find(board.board); at != shop.boards.end())
      material += double(at->second.price_per_pack.minor_units()) / at->second.per_pack *
                  board.count * board.width.metres() * board.height.metres() *
                  (board.triangle ? 0.5 : 1.0) /
                  (at->second.width.metres() * at->second.height.metres());
  const double labour = minutes / 60 * shop.terms.labour_per_hour.value() * 100;
  return std::llround(std::max(1.0, material + labour));
}

struct Shares {
  std::vector<Money> pieces;  ///< of items, in order
  Money installation, travel;
};

/// The whole price before tax, split: site and travel by what they cost, the rest by the pieces.
Shares share_price(const PricingInput& in, const Costing& costing) {
  const Money outside = costing.site + costing.travel + costing.carriage;
  const std::vector<Money> groups =
      allocate(costing.price, {(costing.cost - outside).minor_units(), costing.site.minor_units(),
                               (costing.travel + costing.carriage).minor_units()});
  std::vector<std::int64_t> weights;
  for (const QuoteItem& item : in.items) weights.push_back(weight_of(in, item));
  return {allocate(groups[0], weights), groups[1], groups[2]};
}

void total_option(const Terms& terms, QuoteOption& option) {
  option.net = Money();
  for (const QuoteRow& row : option.rows) option.net += row.price;
  option.tax = option.net.percent(terms.tax_percent, Rounding::half_up);
  option.total = option.net + option.tax;
  option.deposit = option.total.percent(terms.deposit_percent, Rounding::half_up);
  option.balance = option.total - option.deposit;
}

std::vector<std::string> option_names(const std::vector<QuoteItem>& items) {
  std::vector<std::string> names{""};
  for (const QuoteItem& item : items) {
    bool known = false;
    for (const std::string& name : names) known = known || name == item.option;
    if (!known) names.push_back(item.option);
  }
  return names;
}

/// What an option carries of the installation: by its number of pieces.
Money hung_share(const PricingInput& in, Money installation, const std::string& option) {
  std::int64_t hung = 0;
  for (const QuoteItem& item : in.items)
    if (item.option.empty() || item.option == option) ++hung;
  return installation.times(hung, std::max<std::int64_t>(1, std::int64_t(in.items.size())),
                            Rounding::half_up);
}

QuoteOption make_option(const PricingInput& in, const Shares& shares, const std::string& name,
                        bool everything) {
  QuoteOption option;
  option.name = name;
  for (std::size_t i = 0; i < in.items.size(); ++i) {
    const QuoteItem& item = in.items[i];
    if (everything || item.option.empty() || item.option == name)
      option.rows.push_back({item.label, item.description, shares.pieces[i]});
  }
  if (!in.hung) {
    option.rows.push_back({"", in.carriage_text, shares.travel});
    total_option(in.shop->terms, option);
    return option;
  }
  const Money hung = everything ? shares.installation : hung_share(in, shares.installation, name);
  option.rows.push_back({"", "Installation at your place", hung});
  option.rows.push_back({"", "Travel", shares.travel});
  total_option(in.shop->terms, option);
  return option;
}

std::vector<std::string> terms_where_hung(const Terms& terms) {
  return {
      "Valid for " + std::to_string(terms.valid_days) + " days.",
      "A deposit of " + terms.deposit_percent.text() + " % starts the work; the balance is due " +
          std::to_string(terms.due_days) + " days after hanging.",
      "Prices hold for the room as measured; what the walls hide is priced when it is found.",
      "Treatment changes the sound inside the room; it does not keep sound from the neighbours.",
      "Fire behaviour and fixings follow local codes; certificates of the materials come with the "
      "delivery."};
}

std::vector<std::string> terms_where_sent(const Terms& terms) {
  return {
      "Valid for " + std::to_string(terms.valid_days) + " days.",
      "A deposit of " + terms.deposit_percent.text() +
          " % starts the work; the balance is due before the cartons leave.",
      "You hang them: read the sheet that lies in each carton first.",
      "Look at every carton while the carrier waits; write what is damaged on the delivery note.",
      "Panels change the sound inside a room; they do not keep sound from the neighbours. For "
      "this order no room was measured, so nothing is promised of one.",
      "Fire behaviour and fixings follow local codes; certificates of the materials come with "
      "the delivery."};
}

Quote make_quote(const PricingInput& in, const Costing& costing) {
  const Terms& terms = in.shop->terms;
  Quote quote;
  quote.tax_percent = terms.tax_percent;
  quote.tax_name = terms.tax_name;
  quote.valid_days = terms.valid_days;
  quote.due_days = terms.due_days;
  quote.deposit_percent = terms.deposit_percent;
  const Shares shares = share_price(in, costing);
  const std::vector<std::string> names = option_names(in.items);
  for (const std::string& name : names)
    quote.options.push_back(make_option(in, shares, name, false));
  // With several options the client may take them all; with one, that option is already all.
  if (names.size() > 2) quote.options.push_back(make_option(in, shares, "everything", true));
  quote.terms = in.hung ? terms_where_hung(terms) : terms_where_sent(terms);
  return quote;
}

Diagnostics wrong_terms(const Terms& terms) {
  Diagnostics found;
  const auto percent = [&](const char* key, const Decimal& value, double below) {
    if (!(value.value() >= 0 && value.value() < below))
      found.add(std::string("terms.") + key, "must be from 0 to below " + fixed(below, 0),
                value.value(), "give it in per cent");
  };
  percent("margin_percent", terms.margin_percent, 95);
  percent("tax_percent", terms.tax_percent, 100);
  percent("deposit_percent", terms.deposit_percent, 101);
  percent("overhead_percent", terms.overhead_percent, 500);
  return found;
}

}  // namespace

Result<Pricing> make_pricing(const PricingInput& input) {
  if (Diagnostics found = wrong_terms(input.shop->terms); !found.empty()) return found;
  Pricing pricing;
  pricing.purchase = make_purchase(input);
  cost_material(pricing.purchase, pricing.costing);
  cost_labour(input, pricing.costing);
  cost_rest(input, pricing.costing);
  add_margin(input, pricing.costing);
  pricing.quote = make_quote(input, pricing.costing);
  return pricing;
}

}  // namespace roomwright::shop
