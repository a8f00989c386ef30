// The JSON Schema (2020-12) of both files: what every key may be. What depends on other keys (a
// label that stands twice, a seat outside the room) is the reader's to say.
#include <nlohmann/json.hpp>

#include "job/document/parts.h"

namespace roomwright::job {

namespace {

Json text_schema() {
  return {{"type", "string"}, {"minLength", 1}};
}
Json number_schema() {
  return {{"type", "number"}};
}
Json whole_schema() {
  return {{"type", "integer"}};
}
Json truth_schema() {
  return {{"type", "boolean"}};
}
/// A number in the file's unit, or a text with its own.
Json length_schema() {
  return {{"type", Json::array({"number", "string"})}};
}
Json decimal_schema() {
  return {{"type", Json::array({"number", "string"})}};
}
Json names_schema(const std::vector<std::string>& names) {
  return {{"enum", names}};
}
Json list_schema(const Json& of, int least = 0) {
  Json out = {{"type", "array"}, {"items", of}};
  if (least > 0) out["minItems"] = least;
  return out;
}
Json lengths_schema(int count) {
  return {{"type", "array"}, {"items", length_schema()}, {"minItems", count}, {"maxItems", count}};
}

/// An object with these keys and no others; those named must be there.
Json object_schema(const Json& properties, const std::vector<std::string>& required = {}) {
  Json out = {{"type", "object"}, {"properties", properties}, {"additionalProperties", false}};
  if (!required.empty()) out["required"] = required;
  return out;
}
Json table_schema(const Json& of) {
  return {{"type", "object"}, {"additionalProperties", of}};
}

Json room_schema() {
  const Json diagonal = object_schema(
      {{"from", whole_schema()}, {"to", whole_schema()}, {"measured", length_schema()}},
      {"from", "to", "measured"});
  const Json height =
      object_schema({{"at", lengths_schema(2)}, {"height", length_schema()}}, {"at", "height"});
  return object_schema(
      {{"size", lengths_schema(3)},
       {"plan", list_schema(lengths_schema(2), 3)},
       {"height", length_schema()},
       {"ceiling",
        {{"type", "array"}, {"items", lengths_schema(3)}, {"minItems", 3}, {"maxItems", 3}}},
       {"diagonals", list_schema(diagonal)},
       {"heights", list_schema(height)}});
}

Json feature_schema() {
  return object_schema({{"label", text_schema()},
                        {"kind", names_schema(feature_kind_names())},
                        {"on", text_schema()},
                        {"from", lengths_schema(2)},
                        {"to", lengths_schema(2)},
                        {"keep_clear", length_schema()},
                        {"material", text_schema()}},
                       {"label", "kind", "on", "from", "to"});
}

Json furniture_schema() {
  return object_schema({{"label", text_schema()},
                        {"kind", names_schema(furniture_kind_names())},
                        {"from", lengths_schema(3)},
                        {"to", lengths_schema(3)},
                        {"material", text_schema()}},
                       {"label", "kind", "from", "to", "material"});
}

Json product_schema() {
  return object_schema({{"key", text_schema()},
                        {"name", text_schema()},
                        {"kind", names_schema(kind_names())},
                        {"timber", text_schema()},
                        {"board", text_schema()},
                        {"cloth", text_schema()},
                        {"back_cloth", text_schema()},
                        {"sheet", text_schema()},
                        {"board_layers", whole_schema()},
                        {"width", length_schema()},
                        {"height", length_schema()},
                        {"below_ceiling", length_schema()},
                        {"chamfer", length_schema()},
                        {"gap", length_schema()}},
                       {"key", "name", "kind", "timber", "board", "cloth"});
}

Json piece_schema() {
  return object_schema({{"label", text_schema()},
                        {"product", text_schema()},
                        {"option", text_schema()},
                        {"on", text_schema()},
                        {"from", lengths_schema(2)},
                        {"turned", truth_schema()},
                        {"in_corner", whole_schema()},
                        {"foot", length_schema()}},
                       {"label", "product"});
}

Json site_schema() {
  const Json way = object_schema({{"label", text_schema()},
                                  {"kind", names_schema({"door", "stairs", "lift"})},
                                  {"width", length_schema()},
                                  {"height", length_schema()},
                                  {"depth", length_schema()},
                                  {"limit_kg", number_schema()}},
                                 {"label", "kind", "width", "height"});
  return object_schema({{"distance_km", number_schema()},
                        {"trips", whole_schema()},
                        {"fixing_ground", names_schema({"wood", "masonry", "unknown"})},
                        {"stud_specific_gravity", number_schema()},
                        {"way_in", list_schema(way)}});
}

Json headed(const char* title, Json schema) {
  schema["$schema"] = "https://json-schema.org/draft/2020-12/schema";
  schema["title"] = title;
  return schema;
}

}  // namespace

Json job_schema() {
  const Json speaker = object_schema(
      {{"label", text_schema()}, {"at", lengths_schema(3)}, {"subwoofer", truth_schema()}},
      {"label", "at"});
  const Json seat =
      object_schema({{"label", text_schema()}, {"at", lengths_schema(3)}}, {"label", "at"});
  return headed(
      "Roomwright job file",
      object_schema(
          {{"schema", whole_schema()},
           {"title", text_schema()},
           {"reference", text_schema()},
           {"date", text_schema()},
           {"revision", text_schema()},
           {"use", names_schema(acoustics::use_names())},
           {"shop", text_schema()},
           {"client",
            object_schema(
                {{"name", text_schema()}, {"site", text_schema()}, {"contact", text_schema()}})},
           {"region", object_schema({{"name", text_schema()},
                                     {"units", names_schema(length_unit_names())},
                                     {"paper", names_schema({"a4", "letter"})},
                                     {"projection", names_schema({"first-angle", "third-angle"})},
                                     {"denominator", whole_schema()}},
                                    {"units"})},
           {"climate", object_schema({{"temperature_c", number_schema()},
                                      {"humidity_percent", number_schema()}})},
           {"room", room_schema()},
           {"surfaces", table_schema(text_schema())},
           {"features", list_schema(feature_schema())},
           {"furniture", list_schema(furniture_schema())},
           {"loudspeakers", list_schema(speaker, 1)},
           {"seats", list_schema(seat, 1)},
           {"products", list_schema(product_schema())},
           {"pieces", list_schema(piece_schema())},
           {"site", site_schema()}},
          {"schema", "title", "date", "use", "shop", "region", "room", "surfaces", "loudspeakers",
           "seats"}));
}

namespace {

Json rules_schema() {
  Json keys = Json::object();
  for (const char* key :
       {"kerf", "end_trim", "least_offcut", "clearance_across", "clearance_along", "stretcher_span",
        "grid", "screw_from_face", "screw_from_back", "screw_clearance", "chamfer_per_pass",
        "router_bit", "wrap", "fold", "roll_end", "staple_pitch", "back_cloth_inset",
        "two_person_length", "keep_clear"})
    keys[key] = length_schema();
  for (const char* key : {"corner_screw", "glue", "staple", "panel_hanger", "cloud_hanger",
                          "safety_wire", "wall_screw"})
    keys[key] = text_schema();
  for (const char* key : {"screws_per_corner", "hangers_per_panel", "hangers_per_cloud"})
    keys[key] = whole_schema();
  for (const char* key : {"glue_ml_per_corner", "hanging_factor", "two_person_kg"})
    keys[key] = number_schema();
  keys["through"] = names_schema({"short", "long"});
  return object_schema(keys, {"corner_screw", "staple"});
}

Json terms_schema() {
  Json keys = Json::object();
  for (const char* key :
       {"labour_per_hour", "site_per_hour", "overhead_percent", "margin_percent", "tax_percent",
        "deposit_percent", "travel_per_km", "consumables_per_piece", "waste_removal"})
    keys[key] = decimal_schema();
  for (const char* key : {"valid_days", "due_days"}) keys[key] = whole_schema();
  for (const char* key : {"site_minutes_per_piece", "site_minutes_set_up"})
    keys[key] = number_schema();
  keys["tax_name"] = text_schema();
  return object_schema(keys);
}

Json times_schema() {
  const shop::Times times = shop::default_times();
  Json set_up = Json::object(), each = Json::object();
  for (const auto& [name, minutes] : times.set_up_min) set_up[name] = number_schema();
  for (const auto& [name, minutes] : times.each_min) each[name] = number_schema();
  return object_schema({{"set_up", object_schema(set_up)}, {"each", object_schema(each)}});
}

}  // namespace

Json shop_schema() {
  const Json stick = object_schema({{"length", length_schema()},
                                    {"shortest", length_schema()},
                                    {"price", decimal_schema()},
                                    {"in_hand", whole_schema()},
                                    {"sold", whole_schema()}},
                                   {"length", "price"});
  const Json timber = object_schema({{"name", text_schema()},
                                     {"width", length_schema()},
                                     {"depth", length_schema()},
                                     {"density_kg_m3", number_schema()},
                                     {"specific_gravity", number_schema()},
                                     {"sticks", list_schema(stick, 1)}},
                                    {"name", "width", "depth", "sticks"});
  const Json cloth = object_schema({{"name", text_schema()},
                                    {"roll_width", length_schema()},
                                    {"sold_by", length_schema()},
                                    {"price_per_m", decimal_schema()},
                                    {"in_hand", length_schema()},
                                    {"mass_kg_m2", number_schema()},
                                    {"flow_resistance_pa_s_m", number_schema()},
                                    {"pile_one_way", truth_schema()},
                                    {"fire_note", text_schema()}},
                                   {"name", "roll_width", "price_per_m"});
  const Json board = object_schema(
      {{"name", text_schema()},
       {"width", length_schema()},
       {"height", length_schema()},
       {"thickness", length_schema()},
       {"density_kg_m3", number_schema()},
       {"flow_resistivity_pa_s_m2", number_schema()},
       {"material", text_schema()},
       {"per_pack", whole_schema()},
       {"price_per_pack", decimal_schema()},
       {"in_hand", whole_schema()},
       {"fire_note", text_schema()}},
      {"name", "width", "height", "thickness", "density_kg_m3", "material", "price_per_pack"});
  const Json sheet = object_schema({{"name", text_schema()},
                                    {"width", length_schema()},
                                    {"height", length_schema()},
                                    {"thickness", length_schema()},
                                    {"density_kg_m3", number_schema()},
                                    {"price", decimal_schema()},
                                    {"in_hand", whole_schema()}},
                                   {"name", "width", "height", "thickness", "price"});
  const Json hardware = object_schema({{"name", text_schema()},
                                       {"unit", names_schema({"each", "m", "ml"})},
                                       {"per_pack", number_schema()},
                                       {"price_per_pack", decimal_schema()},
                                       {"in_hand", number_schema()},
                                       {"diameter", length_schema()},
                                       {"length", length_schema()},
                                       {"mass_kg", number_schema()}},
                                      {"name", "price_per_pack"});
  return headed("Roomwright shop file",
                object_schema({{"schema", whole_schema()},
                               {"name", text_schema()},
                               {"units", names_schema(length_unit_names())},
                               {"currency", names_schema(currency_codes())},
                               {"timber", table_schema(timber)},
                               {"cloth", table_schema(cloth)},
                               {"boards", table_schema(board)},
                               {"sheets", table_schema(sheet)},
                               {"hardware", table_schema(hardware)},
                               {"rules", rules_schema()},
                               {"times", times_schema()},
                               {"terms", terms_schema()}},
                              {"schema", "name", "units", "currency", "rules", "terms"}));
}

}  // namespace roomwright::job
