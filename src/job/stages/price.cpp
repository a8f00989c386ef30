// Price: one line a piece for the client, everything for the shop.
#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

/// `wall panel, 640 × 1288 mm, 100 mm deep`
std::string describe(const design::Product& product, const Units& units) {
  return design::kind_title(product.spec.kind) + " “" + product.spec.name + "”, " +
         print_dimension(product.width, units) + " × " + print_length(product.height, units) +
         ", " + print_length(product.depth, units) + " deep";
}

shop::PricingInput pricing_input(const Job& job, const Treatment& treatment,
                                 const BuildSheet& build) {
  shop::PricingInput input;
  input.shop = &job.shop;
  input.schedule = &build.schedule;
  input.units = job.region.units;
  input.distance_km = job.site.distance_km;
  input.trips = job.site.trips;
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
  auto pricing = shop::make_pricing(pricing_input(job, treatment, build));
  if (!pricing) return pricing.mistakes();
  PriceSheet sheet;
  sheet.purchase = std::move(pricing->purchase);
  sheet.costing = std::move(pricing->costing);
  sheet.quote = std::move(pricing->quote);
  say_price(job, sheet);
  return sheet;
}

}  // namespace roomwright::job
