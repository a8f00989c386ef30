// The calculators by name; see calc.h.
#include "app/api/calc.h"

#include <nlohmann/json.hpp>

#include "app/api/api.h"

namespace roomwright::app {

namespace {

struct Calculator {
  const char* kind;
  Result<Json> (*run)(const Json&);
};

constexpr Calculator calculators[] = {
    {"absorber", calc_absorber},       {"cutting", calc_cutting},   {"decay", calc_decay},
    {"diffuser", calc_diffuser},       {"fixing", calc_fixing},     {"impulse", calc_impulse},
    {"layout", calc_layout},           {"modes", calc_modes},       {"rating", calc_rating},
    {"reflections", calc_reflections}, {"response", calc_response},
};

}  // namespace

const std::vector<std::string>& calc_kinds() {
  static const std::vector<std::string> kinds = [] {
    std::vector<std::string> out;
    for (const Calculator& calculator : calculators) out.emplace_back(calculator.kind);
    return out;
  }();
  return kinds;
}

Result<Json> calc(std::string_view kind, const Json& request) {
  for (const Calculator& calculator : calculators)
    if (kind == calculator.kind) return calculator.run(request);
  const auto near = nearest(kind, calc_kinds());
  std::string known;
  for (const auto& name : calc_kinds()) known += (known.empty() ? "" : ", ") + name;
  return Complaint{"", "no calculator bears this name", "\"" + std::string(kind) + "\"",
                   near ? "did you mean " + *near + "?" : "give one of " + known, 0};
}

bool not_built(const Diagnostics& found) {
  for (const auto& item : found.items())
    if (item.what.rfind("is not built yet", 0) == 0) return true;
  return false;
}

}  // namespace roomwright::app
