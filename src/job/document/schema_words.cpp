// What each key is, and the words of the schemas; see schema_words.h.
#include "job/document/schema_words.h"

#include <map>
#include <nlohmann/json.hpp>

namespace roomwright::job {

namespace {

/// What each key is, for editors that show it: by `table.key`, else by `key` alone.
const std::map<std::string, const char*>& key_notes() {
  static const std::map<std::string, const char*> notes = {
      {"across", "labels beside one another on a sheet"},
      {"arches_from", "of the wheel arches, from the bulkhead"},
      {"bears_kg", "most that may rest on one package"},
      {"between", "of two pieces in a carton: what lies between them"},
      {"between_arches", "clear width between the wheel arches"},
      {"carton", "board and padding, more on each side"},
      {"carton_kg", "most in one carton that one person lifts"},
      {"collected", "by the customer: no carriage"},
      {"items.count", "how many pieces"},
      {"items.label", "a letter; pieces get it and a number"},
      {"items.product", "a key of the products"},
      {"items.cloth", "in place of the product's own"},
      {"items.width", "in place of the product's own"},
      {"items.height", "in place of the product's own"},
      {"layers", "packages above one another, the lowest counted"},
      {"layers_of", "layers, for kinds that bear more or less"},
      {"van.length", "bulkhead to doors"},
      {"van.width", "between the walls"},
      {"van.height", "floor to roof"},
      {"mark_both_faces", "each mark is drawn on two faces of the stick"},
      {"most_girth", "longest side and the way round the other two"},
      {"most_kg", "of the charged weight"},
      {"most_length", "longest side"},
      {"order", "in place of a room: what a customer hangs alone"},
      {"payload_kg", "what the van may carry, its crew and tools taken off"},
      {"per_kg", "for each charged kilogram"},
      {"rates.price", "for each carton"},
      {"rear_axle", "from the bulkhead"},
      {"rear_axle_kg", "what the rear axle takes of the load"},
      {"step_kg", "charged weight is rounded up to it"},
      {"volumetric_kg_m3", "what a cubic metre is charged as"},
      {"labels.width", "of one label"},
      {"labels.height", "of one label"},
      {"labels.left", "of the first label, from the paper's edge"},
      {"labels.top", "of the first label, from the paper's edge"},
      {"step_across", "from one label to the next"},
      {"wrap_kg_m2", "of a package's surface"},
      {"packing.wrap", "cloth, paper and corner guards: more on each side"},
      {"zone", "of the carrier's rates"},
      {"at", "[x, y, z] from the plan's origin and the floor"},
      {"heights.at", "[x, y] on the floor"},
      {"back_cloth", "a key of the shop's cloth; none where left out"},
      {"below_ceiling", "in place of height: the product is as high as the room less this"},
      {"board", "a key of the shop's boards"},
      {"board_layers", "boards one behind another"},
      {"ceiling", "three points [x, y, z] of a sloped ceiling's plane"},
      {"chamfer", "45 degrees, measured on the face; 0 is a square edge"},
      {"angle_deg", "of a chamfer, against the face"},
      {"cleat_timber", "a key of the shop's timber; the product's own where left out"},
      {"custom", "what a custom piece has besides: its outline and its layers"},
      {"edge", "what the router takes off all round the face, in place of chamfer"},
      {"stand.foot", "length of a screen's feet, front to back"},
      {"in_window", "the label of the window that a plug is pressed into"},
      {"joint", "of a frame's corners"},
      {"layers", "from the face to the back"},
      {"layers.of", "a key of the shop's cloths, boards or sheets"},
      {"layers.thickness", "of air"},
      {"mounting", "how a wall panel is held"},
      {"outline", "corners [x, y], anticlockwise from the front; re-entrant ones too"},
      {"plug", "what a window plug has besides: its reveal and its seal"},
      {"reveal_width", "clear, as measured"},
      {"reveal_height", "clear, as measured"},
      {"seal", "thickness of the soft strip before it is pressed"},
      {"edge.size", "of a chamfer on the face; else the radius"},
      {"stand", "what a free-standing screen has besides: its feet"},
      {"stretchers", "how many; by the shop's rule where left out"},
      {"stretcher_run", "across the long side, or as said"},
      {"cloth", "a key of the shop's cloth"},
      {"corner_screw", "a key of the shop's hardware"},
      {"currency", "ISO 4217 code, of every price in the file"},
      {"date", "the day of this revision, year-month-day"},
      {"deposit_percent", "of the total, due with the order"},
      {"depth", "front to back"},
      {"way_in.depth", "of a lift or a landing"},
      {"begins", "when the shop's day begins, such as 08:00"},
      {"days", "of the week, that are worked"},
      {"due", "the day by which it was promised to hang"},
      {"holidays", "days that are not worked, year-month-day"},
      {"lead_days", "days on the calendar from the order to the door"},
      {"machines", "how many of each there are"},
      {"pause_min", "how long the pause is, in minutes; not worked"},
      {"people", "who work on a run"},
      {"per_day", "hours worked on a day, without the pause"},
      {"start", "the first day in the shop; as soon as may be where left out"},
      {"wait", "minutes after a station in which nobody is needed: glue, finish"},
      {"diagonals", "measured distances between corners of the plan: the tape's own check"},
      {"diameter", "of a screw, over its thread"},
      {"distance_km", "from the shop to the room, one way"},
      {"fixing_ground", "what screws go into"},
      {"flow_resistance_pa_s_m", "of one layer of cloth, Pa s/m"},
      {"face", "whether a cloth may be seen; false: for backs alone"},
      {"fibre_um", "mean diameter of a board's fibre in micrometres, where the maker states it"},
      {"binder_percent", "binder's share of a board's mass, where the maker states it"},
      {"flow_resistivity_pa_s_m2", "as the maker states it, Pa s/m2; else the library's range"},
      {"foot", "height of a trap's lower edge above the floor"},
      {"furniture.from", "[x, y, z] of the lower corner"},
      {"furniture.to", "[x, y, z] of the upper corner"},
      {"features.from", "[left, bottom] as one faces the wall; x and y on floor and ceiling"},
      {"features.to", "[right, top] as one faces the wall; x and y on floor and ceiling"},
      {"pieces.from", "[left, bottom] as one faces the wall; x and y on the ceiling"},
      {"diagonals.from", "a corner of the plan, counted from 0"},
      {"diagonals.to", "another corner of the plan"},
      {"cavity", "of a tuned trap: depth between the front's back and the back sheet"},
      {"design_hz", "of a diffuser: its depths are whole parts of half this wavelength"},
      {"fill_at", "of a tuned trap: where the board lies in the cavity"},
      {"front", "of a tuned trap"},
      {"tuned", "what a tuned trap has besides: its front and its cavity"},
      {"wells", "what a diffuser has besides: its sequence and its wells"},
      {"tuned.sheet", "of the front: a key of the shop's sheets"},
      {"hole", "of a perforated front: the drill"},
      {"grid", "sizes of parts are rounded to this"},
      {"wells.grid", "of a diffuser: blocks in both directions instead of slits"},
      {"periods", "of a diffuser: how many stand side by side in one piece"},
      {"pitch", "of a perforated front: from hole to hole, each way"},
      {"prime", "of a diffuser: the sequence's prime number"},
      {"sequence", "of a diffuser: how the depths follow each other"},
      {"sheet",
       "a key of the shop's sheets: end plates, the box of a tuned trap, a diffuser's boards"},
      {"slat", "of a slotted front: the strip between two slots"},
      {"slot", "of a slotted front: the gap between two slats"},
      {"well", "of a diffuser: clear width of a well; of a grid the width of its blocks"},
      {"gap", "air behind a panel's frame, or above a cloud's"},
      {"hanging_factor", "asked safety factor of what hangs"},
      {"square_within", "most difference of a piece's two diagonals"},
      {"flat_within", "most that a corner of a piece stands off a flat bench"},
      {"weight_within_percent", "most difference of a piece's weight from the computed one"},
      {"heights", "measured heights: the tape's own check"},
      {"humidity_percent", "relative humidity of the room"},
      {"in_corner", "a corner of the plan, counted from 0"},
      {"in_hand", "in the rack, paid for already"},
      {"keep_clear", "room that must stay free all round"},
      {"key", "a short name by which pieces call it"},
      {"label", "a short name that stands once in its list"},
      {"labour_per_hour", "cost of an hour in the shop, in currency units"},
      {"least_offcut", "an offcut at least this long goes back to the rack"},
      {"margin_percent", "of the price, not of the cost"},
      {"material", "a surface of the library of published tables"},
      {"boards.material", "a porous board of the library"},
      {"measured", "what the tape says"},
      {"on", "floor, ceiling, wall0, wall1 ..."},
      {"option", "priced apart, as a choice of this name"},
      {"overhead_percent", "on material, labour and site"},
      {"pile_one_way", "true where every piece must run the same way on the roll"},
      {"plan", "corners [x, y], anticlockwise from above"},
      {"schema", "version of this form"},
      {"seats", "where the ears are"},
      {"shop", "the shop file, beside this one"},
      {"shortest", "no stick of this length is shorter; plans are made for it"},
      {"size", "[x, y, z] of a rectangular room"},
      {"sold", "how many the yard has; as many as wanted where left out"},
      {"sold_by", "cut lengths are rounded up to a multiple of this"},
      {"stud_specific_gravity", "of the wood that screws go into, oven-dry"},
      {"temperature_c", "of the room, degrees Celsius"},
      {"through", "which members run over the ends of the others"},
      {"timber", "a key of the shop's timber"},
      {"turned", "hung on its side: width and height exchanged"},
      {"units", "of bare numbers that are lengths"},
      {"way_in", "what the largest piece must pass"},
      {"width", "outside"},
      {"timber.width", "what the front shows"},
      {"way_in.width", "clear"},
      {"way_in.height", "clear"},
  };
  return notes;
}

}  // namespace

Json number_schema(double least, double most) {
  return {{"type", "number"}, {"minimum", least}, {"maximum", most}};
}
Json number_above_0(double most) {
  return {{"type", "number"}, {"exclusiveMinimum", 0}, {"maximum", most}};
}
Json whole_schema(int least, int most) {
  return {{"type", "integer"}, {"minimum", least}, {"maximum", most}};
}
Json truth_schema() {
  return {{"type", "boolean"}};
}
Json text_schema(int most) {
  return {{"type", "string"}, {"minLength", 1}, {"maxLength", most}};
}
Json length_schema() {
  return {{"type", Json::array({"number", "string"})}};
}
Json decimal_schema(double most) {
  return {{"type", Json::array({"number", "string"})}, {"minimum", 0}, {"maximum", most}};
}
Json names_schema(const std::vector<std::string>& names) {
  return {{"enum", names}};
}
Json list_schema(const Json& of, int least, int most) {
  Json out = {{"type", "array"}, {"items", of}, {"maxItems", most}};
  if (least > 0) out["minItems"] = least;
  return out;
}
Json lengths_schema(int count) {
  return list_schema(length_schema(), count, count);
}
Json table_schema(const Json& of) {
  return {{"type", "object"}, {"additionalProperties", of}};
}
Json needs(std::initializer_list<const char*> keys) {
  Json list = Json::array();
  for (const char* key : keys) list.push_back(key);
  return {{"required", list}};
}

Json object_schema(const std::string& name, Json properties,
                   const std::vector<std::string>& required) {
  for (auto& [key, value] : properties.items()) {
    auto note = key_notes().find(name + "." + key);
    if (note == key_notes().end()) note = key_notes().find(key);
    if (note != key_notes().end()) value["description"] = note->second;
  }
  Json out = {{"type", "object"}, {"properties", properties}, {"additionalProperties", false}};
  if (!required.empty()) out["required"] = required;
  return out;
}

Json version_schema() {
  return {{"const", schema_version}};
}

Json headed(const char* title, Json schema) {
  schema["$schema"] = "https://json-schema.org/draft/2020-12/schema";
  schema["title"] = title;
  return schema;
}

}  // namespace roomwright::job
