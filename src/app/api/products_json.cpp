// Products as JSON; see products_json.h.
#include "app/api/products_json.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace roomwright::app {

namespace {

double to_places(double value, int places) {
  const double by = std::pow(10.0, places);
  return std::round(value * by) / by + 0.0;
}

Json spot_json(const Vec3& at) {
  return {to_places(at.x, 6), to_places(at.y, 6), to_places(at.z, 6)};
}

Json screws_json(const design::Product& product) {
  Json out = Json::array();
  for (const design::Screw& screw : product.screws)
    out.push_back({{"joint", screw.joint},
                   {"number", screw.number},
                   {"at_m", spot_json(screw.at)},
                   {"along", spot_json(screw.along)},
                   {"diameter_m", screw.diameter_m},
                   {"length_m", screw.length_m}});
  return out;
}

Json checks_json(const design::Product& product) {
  Json out = Json::array();
  for (const design::BenchCheck& check : product.checks)
    out.push_back({{"what", check.what},
                   {"ok", check.ok},
                   {"clearance_m", to_places(check.clearance.metres(), 6)},
                   {"sentence", check.sentence}});
  return out;
}

Json profile_json(const design::Product& product) {
  Json out = Json::array();
  for (const auto& [in, back] : product.edge_profile)
    out.push_back({to_places(in.metres(), 6), to_places(back.metres(), 6)});
  return out;
}

}  // namespace

Json products_json(const job::Treatment& treatment) {
  Json out = Json::array();
  for (const design::Product& product : treatment.products)
    out.push_back({{"key", product.spec.key},
                   {"kind", design::kind_title(product.spec.kind)},
                   {"width_m", product.width.metres()},
                   {"height_m", product.height.metres()},
                   {"depth_m", product.depth.metres()},
                   {"stand_off_m", product.stand_off.metres()},
                   {"lift_on_m", product.lift_on.metres()},
                   {"mass_kg", to_places(product.mass_kg(), 3)},
                   {"centre_of_gravity_m", spot_json(product.centre_of_gravity_m)},
                   {"two_people", product.two_people},
                   {"router_passes", product.router_passes},
                   {"edge_profile_m", profile_json(product)},
                   {"cloth_path_m", to_places(product.cloth_path.metres(), 6)},
                   {"screws", screws_json(product)},
                   {"checks", checks_json(product)},
                   {"making", product.making},
                   {"cautions", product.cautions}});
  return out;
}

}  // namespace roomwright::app
