// calc fixing: what one point carries, and what a screw into wood may carry.
#include <nlohmann/json.hpp>

#include "app/api/calc.h"
#include "shop/fixings/fixings.h"

namespace roomwright::app {

namespace {

shop::FixingRequest request_of(Reader& in) {
  shop::FixingRequest request;
  request.mass_kg = in.number("weight_kg", {.above = 0, .at_most = 500}, "of the whole piece");
  request.points = int(in.whole("points", 1, 100, "how many fixings share it"));
  request.pull = in.one_of("pull", {"along", "across"}).value_or(1) == 0 ? shop::Pull::along
                                                                         : shop::Pull::across;
  request.overhead = in.truth_or("overhead", false);
  request.asked_factor =
      in.number_or("asked_factor", request.asked_factor, {.at_least = 1, .at_most = 20});
  in.required_child(
      "into",
      [&](Reader& into) {
        static const std::vector<std::string> kinds = {"wood", "masonry", "unknown"};
        request.ground = static_cast<shop::Ground>(into.one_of("kind", kinds).value_or(2));
        if (request.ground == shop::Ground::wood)
          request.specific_gravity = into.number(
              "specific_gravity", {.at_least = 0.2, .at_most = 1.2}, "oven-dry, such as 0.42");
        into.finish();
      },
      "{\"kind\": \"wood\", \"specific_gravity\": 0.42}");
  const auto screw = [&](Reader& part) {
    request.screw_diameter_m =
        part.number("diameter_m", {.above = 0, .at_most = 0.03}, "over the thread");
    request.penetration_m =
        part.number("penetration_m", {.above = 0, .at_most = 0.5}, "in the wood");
    part.finish();
  };
  if (request.ground == shop::Ground::wood)
    in.required_child("screw", screw, "{\"diameter_m\": 0.005, \"penetration_m\": 0.04}");
  else
    in.child("screw", screw);
  return request;
}

}  // namespace

Result<Json> calc_fixing(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const shop::FixingRequest asked = request_of(in);
  in.finish();
  if (!found.empty()) return found;
  const auto got = shop::fixing(asked);
  if (!got) return got.mistakes();
  const auto number = [](const std::optional<double>& value) {
    return value ? Json(*value) : Json();
  };
  Json allowable;
  if (got->ultimate_n) allowable = *got->ultimate_n / got->asked_factor;
  return Json{{"load_n", got->load_n},
              {"ultimate_n", number(got->ultimate_n)},
              {"allowable_n", allowable},
              {"source", got->source},
              {"safety_factor", number(got->safety_factor)},
              {"asked_factor", got->asked_factor},
              {"ok", got->ok},
              {"verdict", got->verdict},
              {"cautions", got->cautions}};
}

}  // namespace roomwright::app
