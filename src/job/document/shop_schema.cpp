// The JSON Schema (2020-12) of the shop file; what it does not say, the reader does (schema.cpp).
#include <nlohmann/json.hpp>

#include "job/document/schema_words.h"

namespace roomwright::job {

namespace {

Json rules_schema() {
  Json keys = Json::object();
  for (const char* key : {"kerf",
                          "end_trim",
                          "least_offcut",
                          "clearance_across",
                          "clearance_along",
                          "stretcher_span",
                          "grid",
                          "screw_from_face",
                          "screw_from_back",
                          "screw_clearance",
                          "chamfer_per_pass",
                          "router_bit",
                          "round_per_pass",
                          "round_bit",
                          "staple_margin",
                          "cleat_play",
                          "clip_lift",
                          "plug_clearance",
                          "wrap",
                          "fold",
                          "roll_end",
                          "staple_pitch",
                          "back_cloth_inset",
                          "two_person_length",
                          "keep_clear"})
    keys[key] = length_schema();
  for (const char* key : {"square_within", "flat_within"}) keys[key] = length_schema();
  for (const char* key :
       {"corner_screw", "glue", "staple", "panel_hanger", "cloud_hanger", "safety_wire",
        "wall_screw", "lap_screw", "panel_clip", "plug_seal", "plug_grip", "cleat_timber"})
    keys[key] = text_schema();
  keys["screws_per_corner"] = whole_schema(1, 6);
  keys["hangers_per_panel"] = whole_schema(1, 20);
  keys["hangers_per_cloud"] = whole_schema(3, 20);
  keys["clips_per_panel"] = whole_schema(2, 20);
  keys["grips_per_plug"] = whole_schema(1, 6);
  keys["end_distance_diameters"] = number_schema(0, 20);
  keys["edge_distance_diameters"] = number_schema(0, 20);
  keys["cleat_angle_deg"] = number_schema(15, 60);
  keys["tip_force_n"] = number_schema(0, 1000);
  keys["glue_ml_per_corner"] = number_schema(0, 100);
  keys["hanging_factor"] = number_schema(1, 20);
  keys["two_person_kg"] = number_above_0(200);
  keys["weight_within_percent"] = number_schema(1, 50);
  keys["through"] = names_schema({"short", "long"});
  keys["mark_both_faces"] = truth_schema();
  return object_schema("rules", keys, {"corner_screw", "staple"});
}

Json terms_schema() {
  return object_schema("terms", {{"labour_per_hour", decimal_schema(10000)},
                                 {"site_per_hour", decimal_schema(10000)},
                                 {"overhead_percent", decimal_schema(400)},
                                 {"margin_percent", decimal_schema(90)},
                                 {"tax_percent", decimal_schema(60)},
                                 {"tax_name", text_schema(40)},
                                 {"deposit_percent", decimal_schema(100)},
                                 {"valid_days", whole_schema(1, 365)},
                                 {"due_days", whole_schema(0, 365)},
                                 {"travel_per_km", decimal_schema(1000)},
                                 {"consumables_per_piece", decimal_schema(10000)},
                                 {"waste_removal", decimal_schema(100000)},
                                 {"site_minutes_per_piece", number_schema(0, 600)},
                                 {"site_minutes_set_up", number_schema(0, 2000)}});
}

Json times_schema() {
  const shop::Times times = shop::default_times();
  Json set_up = Json::object(), each = Json::object();
  for (const auto& [name, minutes] : times.set_up_min) set_up[name] = number_schema(0, 600);
  for (const auto& [name, minutes] : times.each_min) each[name] = number_schema(0, 600);
  return object_schema("times", {{"set_up", object_schema("set_up", set_up)},
                                 {"each", object_schema("each", each)}});
}

Json packing_schema() {
  Json kinds = Json::object();
  for (const std::string& kind : kind_names()) kinds[kind] = whole_schema(1, 20);
  return object_schema("packing", {{"wrap", length_schema()},
                                   {"wrap_kg_m2", number_schema(0, 20)},
                                   {"bears_kg", number_schema(0, 2000)},
                                   {"layers", whole_schema(1, 20)},
                                   {"layers_of", object_schema("layers_of", kinds)},
                                   {"carton", length_schema()},
                                   {"between", length_schema()},
                                   {"carton_kg_m2", number_schema(0, 20)},
                                   {"carton_pieces", whole_schema(1, 100)},
                                   {"carton_kg", number_above_0(200)}});
}

Json van_schema() {
  return object_schema("van",
                       {{"name", text_schema(80)},
                        {"length", length_schema()},
                        {"width", length_schema()},
                        {"height", length_schema()},
                        {"payload_kg", number_above_0(40000)},
                        {"between_arches", length_schema()},
                        {"arches_from", length_schema()},
                        {"arches_length", length_schema()},
                        {"arches_height", length_schema()},
                        {"rear_axle", length_schema()},
                        {"wheelbase", length_schema()},
                        {"rear_axle_kg", number_schema(0, 40000)}},
                       {"length", "width", "height", "payload_kg"});
}

Json carriage_schema() {
  const Json rate = object_schema("rates",
                                  {{"name", text_schema(80)},
                                   {"zone", text_schema(40)},
                                   {"most_kg", number_above_0(5000)},
                                   {"most_length", length_schema()},
                                   {"most_girth", length_schema()},
                                   {"price", decimal_schema(1e9)},
                                   {"per_kg", decimal_schema(1e9)}},
                                  {"name", "most_kg", "most_length", "most_girth", "price"});
  return object_schema("carriage",
                       {{"volumetric_kg_m3", number_schema(0, 2000)},
                        {"step_kg", number_above_0(100)},
                        {"rates", list_schema(rate, 1, 200)}},
                       {"rates"});
}

Json labels_schema() {
  Json keys = {{"across", whole_schema(1, 20)}, {"down", whole_schema(1, 40)}};
  for (const char* key : {"width", "height", "left", "top", "step_across", "step_down"})
    keys[key] = length_schema();
  return object_schema("labels", keys);
}

Json line_schema() {
  const shop::Line line = shop::default_line();
  Json machines = Json::object(), wait = Json::object();
  for (const auto& [name, count] : line.machines) machines[name] = whole_schema(1, 8);
  for (const auto& [name, minutes] : line.wait_min) wait[name] = number_schema(0, 600);
  return object_schema("line", {{"people", whole_schema(1, 8)},
                                {"machines", object_schema("machines", machines)},
                                {"wait", object_schema("wait", wait)}});
}

Json hours_schema() {
  Json clock = text_schema(5), date = text_schema(10);
  clock["pattern"] = "^([01][0-9]|2[0-3]):[0-5][0-9]$";
  date["pattern"] = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";
  const Json day = names_schema({"mon", "tue", "wed", "thu", "fri", "sat", "sun"});
  return object_schema("hours", {{"per_day", number_schema(0.5, 20)},
                                 {"begins", clock},
                                 {"pause_at", clock},
                                 {"pause_min", whole_schema(0, 240)},
                                 {"days", list_schema(day)},
                                 {"holidays", list_schema(date)}});
}

Json timber_schema() {
  const Json stick = object_schema("sticks",
                                   {{"length", length_schema()},
                                    {"shortest", length_schema()},
                                    {"price", decimal_schema(1e9)},
                                    {"in_hand", whole_schema(0, 100000)},
                                    {"sold", whole_schema(0, 100000)}},
                                   {"length", "price"});
  return object_schema("timber",
                       {{"name", text_schema()},
                        {"width", length_schema()},
                        {"depth", length_schema()},
                        {"density_kg_m3", number_schema(200, 1200)},
                        {"specific_gravity", number_schema(0.25, 0.9)},
                        {"sticks", list_schema(stick, 1, 50)},
                        {"lead_days", whole_schema(0, 365)}},
                       {"name", "width", "depth", "sticks"});
}

Json cloth_schema() {
  return object_schema("cloth",
                       {{"name", text_schema()},
                        {"roll_width", length_schema()},
                        {"sold_by", length_schema()},
                        {"price_per_m", decimal_schema(1e9)},
                        {"in_hand", length_schema()},
                        {"mass_kg_m2", number_schema(0.01, 5)},
                        {"flow_resistance_pa_s_m", number_schema(0, 10000)},
                        {"pile_one_way", truth_schema()},
                        {"face", truth_schema()},
                        {"fire_note", text_schema()},
                        {"lead_days", whole_schema(0, 365)}},
                       {"name", "roll_width", "price_per_m"});
}

Json board_schema() {
  return object_schema(
      "boards",
      {{"name", text_schema()},
       {"width", length_schema()},
       {"height", length_schema()},
       {"thickness", length_schema()},
       {"density_kg_m3", number_schema(5, 400)},
       {"flow_resistivity_pa_s_m2", number_schema(100, 1e6)},
       {"fibre_um", number_schema(1, 200)},
       {"binder_percent", number_schema(0, 30)},
       {"material", text_schema()},
       {"per_pack", whole_schema(1, 1000)},
       {"price_per_pack", decimal_schema(1e9)},
       {"in_hand", whole_schema(0, 100000)},
       {"fire_note", text_schema()},
       {"lead_days", whole_schema(0, 365)}},
      {"name", "width", "height", "thickness", "density_kg_m3", "material", "price_per_pack"});
}

Json sheet_schema() {
  return object_schema("sheets",
                       {{"name", text_schema()},
                        {"width", length_schema()},
                        {"height", length_schema()},
                        {"thickness", length_schema()},
                        {"density_kg_m3", number_schema(100, 2000)},
                        {"price", decimal_schema(1e9)},
                        {"in_hand", whole_schema(0, 100000)},
                        {"lead_days", whole_schema(0, 365)}},
                       {"name", "width", "height", "thickness", "price"});
}

Json hardware_schema() {
  return object_schema("hardware",
                       {{"name", text_schema()},
                        {"unit", names_schema({"each", "m", "ml"})},
                        {"per_pack", number_above_0(1e6)},
                        {"price_per_pack", decimal_schema(1e9)},
                        {"in_hand", number_schema(0, 1e7)},
                        {"diameter", length_schema()},
                        {"length", length_schema()},
                        {"mass_kg", number_schema(0, 50)},
                        {"lead_days", whole_schema(0, 365)}},
                       {"name", "price_per_pack"});
}

}  // namespace

Json shop_schema() {
  return headed("Roomwright shop file",
                object_schema("shop",
                              {{"schema", version_schema()},
                               {"name", text_schema()},
                               {"units", names_schema(length_unit_names())},
                               {"currency", names_schema(currency_codes())},
                               {"timber", table_schema(timber_schema())},
                               {"cloth", table_schema(cloth_schema())},
                               {"boards", table_schema(board_schema())},
                               {"sheets", table_schema(sheet_schema())},
                               {"hardware", table_schema(hardware_schema())},
                               {"rules", rules_schema()},
                               {"times", times_schema()},
                               {"packing", packing_schema()},
                               {"van", van_schema()},
                               {"carriage", carriage_schema()},
                               {"labels", labels_schema()},
                               {"line", line_schema()},
                               {"hours", hours_schema()},
                               {"terms", terms_schema()}},
                              {"schema", "name", "units", "currency", "rules", "terms"}));
}

}  // namespace roomwright::job
