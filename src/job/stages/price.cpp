// Price: one line a piece for the client, everything for the shop.
#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

/// `wall panel, 640 × 1288 mm, 100 mm deep`
std::string describe(const design::Product& product, const Units& units) {
  const std::string kind = design::kind_title(product.spec.kind);
  return kind + (product.spec.name == kind ? "" : " “" + product.spec.name + "”") + ", " +
         print_dimension(product.width, units) + " × " + print_length(product.height, units) +
         ", " + print_length(product.depth, units) + " deep";
}

/// One line of the quote for each line of the order.
void add_order_items(const Job& job, const Treatment& treatment, shop::PricingInput& input) {
  std::size_t next = 0;
  for (const OrderItem& item : job.order->items) {
    shop::QuoteItem line;
    const design::Product& product = product_of(job, treatment, job.pieces[next]);
    const auto cloth = job.shop.cloths.find(product.spec.cloth);
    line.label = item.label;
    line.description = std::to_string(item.count) + " × " + describe(product, job.region.units) +
                       (cloth == job.shop.cloths.end() ? "" : ", " + cloth->second.name);
    line.count = item.count;
    line.mass_kg = product.mass_kg() * item.count;
    for (int i = 0; i < item.count; ++i, ++next)
      line.parts.append(parts_of_piece(job, treatment, next));
    input.items.push_back(std::move(line));
  }
}

shop::PricingInput pricing_input(const Job& job, const Treatment& treatment,
                                 const BuildSheet& build) {
  shop::PricingInput input;
  input.shop = &job.shop;
  input.schedule = &build.schedule;
  input.units = job.region.units;
  input.distance_km = job.site.distance_km;
  input.trips = job.site.trips;
  if (job.order) {
    add_order_items(job, treatment, input);
    return input;
  }
  for (std::size_t i = 0; i < job.pieces.size(); ++i) {
    const Piece& piece = job.pieces[i];
    const design::Product& product = product_of(job, treatment, piece);
    input.items.push_back({piece.label, describe(product, job.region.units), piece.option,
                           parts_of_piece(job, treatment, i), product.mass_kg()});
  }
  return input;
}

void say_price(const Job& job, PriceSheet& sheet) {
  const Currency& currency = job.shop.currency;
  for (const shop::QuoteOption& option : sheet.quote.options)
    sheet.statements.push_back(
        {0, "price",
         (option.name.empty() ? "The offer" : "The offer with “" + option.name + "”") + " is " +
             print_money(option.total, currency) + " with " + sheet.quote.tax_name + ", " +
             print_money(option.deposit, currency) + " of it as a deposit.",
         "", ""});
  sheet.statements.push_back({0, "price",
                              "Materials to buy come to " +
                                  print_money(sheet.purchase.total, currency) +
                                  "; the whole job costs the shop " +
                                  print_money(sheet.costing.cost, currency) + " before its margin.",
                              "", ""});
}

}  // namespace

Result<PriceSheet> price(const Job& job, const Treatment& treatment, const BuildSheet& build) {
  shop::PricingInput input = pricing_input(job, treatment, build);
  if (job.order) {
    const auto cartons = order_cartons(job, treatment);
    if (!cartons) return cartons.mistakes();
    input.hung = false;
    input.carriage = cartons->carriage;
    input.carriage_text = job.order->collected
                              ? "Collected by you"
                              : "Carriage to your door, " + std::to_string(cartons->count) +
                                    (cartons->count == 1 ? " carton" : " cartons");
  }
  auto pricing = shop::make_pricing(input);
  if (!pricing) return pricing.mistakes();
  PriceSheet sheet;
  sheet.purchase = std::move(pricing->purchase);
  sheet.costing = std::move(pricing->costing);
  sheet.quote = std::move(pricing->quote);
  say_price(job, sheet);
  return sheet;
}

}  // namespace roomwright::job
