#include "app/api/api.h"
#include "app/api/calc.h"
#include <nlohmann/json.hpp>
namespace roomwright::app {
Result<Json> calc_absorber(const Json&){return Json();}
Result<Json> calc_rating(const Json&){return Json();}
Result<Json> calc_modes(const Json&){return Json();}
Result<Json> calc_decay(const Json&){return Json();}
Result<Json> calc_reflections(const Json&){return Json();}
Result<Json> calc_cutting(const Json&){return Json();}
Result<Json> calc_layout(const Json&){return Json();}

}
