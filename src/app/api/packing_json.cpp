// Packages, trips, cartons and orders as JSON.
#include "app/api/shop_json.h"

#include <nlohmann/json.hpp>

#include "app/api/json_words.h"

namespace roomwright::app {

namespace {

Json labels_json(const job::PackingSheet& packing) {
  Json out = Json::array();
  for (const auto& row : packing.labels)
    out.push_back({{"piece", row.piece},
                   {"product", row.product},
                   {"place", row.place},
                   {"left_m", length_json(row.left)},
                   {"bottom_m", length_json(row.bottom)},
                   {"mass_kg", rounded(row.mass_kg, 3)},
                   {"two_people", row.two_people},
                   {"code", row.payload}});
  return out;
}

Json trips_json(const job::PackingSheet& packing) {
  Json out = Json::array();
  if (!packing.van) return out;
  for (const auto& trip : packing.van->trips) {
    Json load = Json::array();
    for (const auto& one : trip.placed)
      load.push_back(
          {{"piece", packing.packages[one.package].piece},
           {"at_m", {length_json(one.x), length_json(one.y), length_json(one.z)}},
           {"size_m", {length_json(one.along), length_json(one.across), length_json(one.up)}}});
    out.push_back({{"load", load},
                   {"mass_kg", rounded(trip.mass_kg, 3)},
                   {"centre_m", {rounded(trip.centre_x_m, 4), rounded(trip.centre_y_m, 4)}},
                   {"rear_axle_kg", rounded(trip.rear_axle_kg, 2)},
                   {"leans", trip.leans},
                   {"tail_heavy", trip.tail_heavy}});
  }
  return out;
}

Json cartons_json(const job::Job& job, const job::PackingSheet& packing) {
  Json out = Json::array();
  for (const auto& carton : packing.cartons.cartons)
    out.push_back(
        {{"line", packing.items[carton.item].label},
         {"cartons", carton.cartons},
         {"pieces", carton.pieces},
         {"size_m",
          {length_json(carton.width), length_json(carton.height), length_json(carton.depth)}},
         {"mass_kg", rounded(carton.mass_kg, 3)},
         {"charged_kg", rounded(carton.charged_kg, 3)},
         {"two_people", carton.two_people},
         {"rate", carton.rate},
         {"price", plain_money(carton.price, job.shop.currency)}});
  return out;
}

}  // namespace

Json packing_json(const job::Job& job, const job::PackingSheet& packing) {
  Json packages = Json::array();
  for (const auto& row : packing.packages)
    packages.push_back({{"piece", row.piece},
                        {"size_m",
                         {length_json(row.package.width), length_json(row.package.height),
                          length_json(row.package.depth)}},
                        {"mass_kg", rounded(row.package.mass_kg, 3)},
                        {"two_people", row.two_people}});
  Json out = {{"labels", labels_json(packing)},
              {"packages", packages},
              {"trips", trips_json(packing)},
              {"cautions", packing.cautions},
              {"statements", statements_json(packing.statements)}};
  if (packing.van) out["trips_bound"] = packing.van->bound;
  if (job.order) out["cartons"] = cartons_json(job, packing);
  return out;
}

Json order_json(const job::Job& job, const job::Pack& pack) {
  const shop::QuoteOption& offer = pack.price.quote.options.front();
  const auto money = [&](Money amount) { return plain_money(amount, job.shop.currency); };
  Json lines = Json::array();
  for (const auto& row : offer.rows)
    lines.push_back(
        {{"label", row.label}, {"description", row.description}, {"price", money(row.price)}});
  return {{"currency", job.shop.currency.code},
          {"lines", lines},
          {"net", money(offer.net)},
          {"tax", money(offer.tax)},
          {"total", money(offer.total)},
          {"deposit", money(offer.deposit)},
          {"carriage", money(pack.packing.cartons.carriage)},
          {"mass_kg", rounded(pack.packing.cartons.mass_kg, 3)},
          {"cartons", cartons_json(job, pack.packing)},
          {"statements", statements_json(pack.packing.statements)}};
}

}  // namespace roomwright::app
