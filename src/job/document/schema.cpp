// The JSON Schema (2020-12) of both files: what every key may be. What depends on other keys (a
// label that stands twice, a seat outside the room) and on the unit (the range of a length) is the
// reader's to say; whatever the reader takes, the schema takes too.
#include <map>
#include <nlohmann/json.hpp>

#include "job/document/parts.h"

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
      {"outline", "corners [x, y], anticlockwise from the front, convex"},
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

/// A number from least to most.
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
/// The reader counts bytes, the schema signs: what the reader takes is never longer.
Json text_schema(int most = 500) {
  return {{"type", "string"}, {"minLength", 1}, {"maxLength", most}};
}
/// A number in the file's unit, or a text with its own.
Json length_schema() {
  return {{"type", Json::array({"number", "string"})}};
}
/// A number, or a text where every digit counts.
Json decimal_schema(double most) {
  return {{"type", Json::array({"number", "string"})}, {"minimum", 0}, {"maximum", most}};
}
Json names_schema(const std::vector<std::string>& names) {
  return {{"enum", names}};
}
Json list_schema(const Json& of, int least = 0, int most = int(most_list)) {
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

/// An object with these keys and no others; those named must be there. `name` finds their notes.
Json object_schema(const std::string& name, Json properties,
                   const std::vector<std::string>& required = {}) {
  for (auto& [key, value] : properties.items()) {
    auto note = key_notes().find(name + "." + key);
    if (note == key_notes().end()) note = key_notes().find(key);
    if (note != key_notes().end()) value["description"] = note->second;
  }
  Json out = {{"type", "object"}, {"properties", properties}, {"additionalProperties", false}};
  if (!required.empty()) out["required"] = required;
  return out;
}

Json room_schema() {
  const Json diagonal = object_schema(
      "diagonals",
      {{"from", whole_schema(0, 63)}, {"to", whole_schema(0, 63)}, {"measured", length_schema()}},
      {"from", "to", "measured"});
  const Json height = object_schema(
      "heights", {{"at", lengths_schema(2)}, {"height", length_schema()}}, {"at", "height"});
  Json out = object_schema(
      "room", {{"size", lengths_schema(3)},
               {"plan", list_schema(lengths_schema(2), 3, int(acoustics::most_plan_corners))},
               {"height", length_schema()},
               {"ceiling", list_schema(lengths_schema(3), 3, 3)},
               {"diagonals", list_schema(diagonal, 0, 200)},
               {"heights", list_schema(height, 0, 200)}});
  Json box = needs({"size"});
  box["not"] = {{"anyOf", Json::array({needs({"plan"}), needs({"height"}), needs({"ceiling"})})}};
  Json flat = needs({"plan", "height"}), sloped = needs({"plan", "ceiling"});
  flat["not"] = {{"anyOf", Json::array({needs({"size"}), needs({"ceiling"})})}};
  sloped["not"] = {{"anyOf", Json::array({needs({"size"}), needs({"height"})})}};
  out["oneOf"] = Json::array({box, flat, sloped});
  return out;
}

Json feature_schema() {
  return object_schema("features",
                       {{"label", text_schema(40)},
                        {"kind", names_schema(feature_kind_names())},
                        {"on", text_schema(20)},
                        {"from", lengths_schema(2)},
                        {"to", lengths_schema(2)},
                        {"keep_clear", length_schema()},
                        {"material", text_schema()}},
                       {"label", "kind", "on", "from", "to"});
}

Json furniture_schema() {
  return object_schema("furniture",
                       {{"label", text_schema(40)},
                        {"kind", names_schema(furniture_kind_names())},
                        {"from", lengths_schema(3)},
                        {"to", lengths_schema(3)},
                        {"material", text_schema()}},
                       {"label", "kind", "from", "to", "material"});
}

/// A rule for products of some kinds: what they need besides.
Json of_kinds(std::initializer_list<const char*> kinds, std::initializer_list<const char*> keys) {
  Json out = needs(keys);
  out["properties"] = {
      {"kind", {{"enum", Json(std::vector<std::string>(kinds.begin(), kinds.end()))}}}};
  return out;
}

Json product_schema() {
  const Json tuned = object_schema("tuned",
                                   {{"front", names_schema(front_names())},
                                    {"sheet", text_schema()},
                                    {"cavity", length_schema()},
                                    {"fill_at", names_schema(fill_place_names())},
                                    {"hole", length_schema()},
                                    {"pitch", length_schema()},
                                    {"slot", length_schema()},
                                    {"slat", length_schema()}},
                                   {"front", "sheet", "cavity"});
  const Json wells = object_schema("wells",
                                   {{"sequence", names_schema(sequence_names())},
                                    {"prime", whole_schema(3, 97)},
                                    {"design_hz", number_schema(50, 10000)},
                                    {"well", length_schema()},
                                    {"periods", whole_schema(1, 20)},
                                    {"grid", truth_schema()}},
                                   {"sequence", "prime", "design_hz", "well"});
  const Json edge = object_schema("edge",
                                  {{"shape", names_schema(edge_shape_names())},
                                   {"size", length_schema()},
                                   {"angle_deg", number_schema(15, 75)}},
                                  {"shape"});
  const Json stand = object_schema("stand", {{"foot", length_schema()}}, {"foot"});
  const Json plug = object_schema("plug",
                                  {{"reveal_width", length_schema()},
                                   {"reveal_height", length_schema()},
                                   {"seal", length_schema()}},
                                  {"reveal_width", "reveal_height", "seal"});
  const Json layer = object_schema("layers",
                                   {{"kind", names_schema(layer_kind_names())},
                                    {"of", text_schema()},
                                    {"thickness", length_schema()}},
                                   {"kind"});
  const Json custom = object_schema(
      "custom",
      {{"outline", list_schema(lengths_schema(2), 3, 12)}, {"layers", list_schema(layer, 1, 10)}},
      {"outline", "layers"});
  Json out = object_schema("products",
                           {{"key", text_schema(40)},
                            {"name", text_schema(80)},
                            {"kind", names_schema(kind_names())},
                            {"timber", text_schema()},
                            {"board", text_schema()},
                            {"cloth", text_schema()},
                            {"back_cloth", text_schema()},
                            {"sheet", text_schema()},
                            {"board_layers", whole_schema(1, 6)},
                            {"width", length_schema()},
                            {"height", length_schema()},
                            {"below_ceiling", length_schema()},
                            {"chamfer", length_schema()},
                            {"gap", length_schema()},
                            {"edge", edge},
                            {"joint", names_schema(joint_names())},
                            {"stretchers", whole_schema(0, 10)},
                            {"stretcher_run", names_schema(stretcher_run_names())},
                            {"mounting", names_schema(mounting_names())},
                            {"tuned", tuned},
                            {"wells", wells},
                            {"stand", stand},
                            {"plug", plug},
                            {"custom", custom}},
                           {"key", "name", "kind"});
  out["not"] = needs({"height", "below_ceiling"});
  // A table that goes with one kind goes with no other.
  const auto apart = [](Json kinds, std::initializer_list<const char*> tables) {
    Json any = Json::array();
    for (const char* table : tables) any.push_back(needs({table}));
    kinds["not"] = {{"anyOf", any}};
    return kinds;
  };
  out["anyOf"] = Json::array(
      {apart(of_kinds({"wall_panel", "straddling_trap", "solid_trap", "ceiling_cloud"},
                      {"timber", "board", "cloth"}),
             {"tuned", "wells", "stand", "plug", "custom"}),
       apart(of_kinds({"tuned_trap"}, {"sheet", "tuned"}), {"wells", "stand", "plug", "custom"}),
       apart(of_kinds({"diffuser"}, {"sheet", "wells"}), {"tuned", "stand", "plug", "custom"}),
       apart(of_kinds({"free_screen"}, {"timber", "board", "cloth", "stand"}),
             {"tuned", "wells", "plug", "custom"}),
       apart(of_kinds({"window_plug"}, {"timber", "board", "cloth", "sheet", "plug"}),
             {"tuned", "wells", "stand", "custom"}),
       apart(of_kinds({"custom"}, {"timber", "custom"}),
             {"tuned", "wells", "stand", "plug", "board", "cloth"})});
  return out;
}

Json piece_schema() {
  Json out = object_schema("pieces",
                           {{"label", text_schema(40)},
                            {"product", text_schema(40)},
                            {"option", text_schema(40)},
                            {"on", text_schema(20)},
                            {"from", lengths_schema(2)},
                            {"turned", truth_schema()},
                            {"in_corner", whole_schema(0, 63)},
                            {"in_window", text_schema(40)},
                            {"foot", length_schema()}},
                           {"label", "product"});
  out["oneOf"] = Json::array({needs({"on", "from"}), needs({"in_corner"}), needs({"in_window"})});
  return out;
}

Json site_schema() {
  const Json way = object_schema("way_in",
                                 {{"label", text_schema(40)},
                                  {"kind", names_schema({"door", "stairs", "lift"})},
                                  {"width", length_schema()},
                                  {"height", length_schema()},
                                  {"depth", length_schema()},
                                  {"limit_kg", number_above_0(100000)}},
                                 {"label", "kind", "width", "height"});
  return object_schema("site", {{"distance_km", number_schema(0, 20000)},
                                {"trips", whole_schema(0, 1000)},
                                {"fixing_ground", names_schema({"wood", "masonry", "unknown"})},
                                {"stud_specific_gravity", number_schema(0.25, 0.9)},
                                {"way_in", list_schema(way, 0, 50)}});
}

Json order_schema() {
  const Json line = object_schema("items",
                                  {{"label", text_schema(20)},
                                   {"product", text_schema(40)},
                                   {"count", whole_schema(1, 500)},
                                   {"width", length_schema()},
                                   {"height", length_schema()},
                                   {"cloth", text_schema()}},
                                  {"label", "product", "count"});
  return object_schema(
      "order",
      {{"collected", truth_schema()}, {"zone", text_schema(40)}, {"items", list_schema(line, 1)}},
      {"items"});
}

Json region_schema() {
  return object_schema("region",
                       {{"name", text_schema()},
                        {"units", names_schema(length_unit_names())},
                        {"paper", names_schema({"a4", "letter"})},
                        {"projection", names_schema({"first-angle", "third-angle"})},
                        {"denominator", {{"enum", {2, 4, 8, 16, 32, 64}}}}},
                       {"units"});
}

Json version_schema() {
  return {{"const", schema_version}};
}

Json headed(const char* title, Json schema) {
  schema["$schema"] = "https://json-schema.org/draft/2020-12/schema";
  schema["title"] = title;
  return schema;
}

}  // namespace

Json job_schema() {
  const Json speaker = object_schema(
      "loudspeakers",
      {{"label", text_schema(40)}, {"at", lengths_schema(3)}, {"subwoofer", truth_schema()}},
      {"label", "at"});
  const Json seat = object_schema("seats", {{"label", text_schema(40)}, {"at", lengths_schema(3)}},
                                  {"label", "at"});
  Json surfaces = table_schema(text_schema());
  surfaces["properties"] = {{"default", text_schema()}};
  surfaces["required"] = {"default"};
  const Json client = object_schema(
      "client",
      {{"name", text_schema(120)}, {"site", text_schema(200)}, {"contact", text_schema(200)}});
  const Json climate = object_schema("climate", {{"temperature_c", number_schema(-20, 50)},
                                                 {"humidity_percent", number_schema(0, 100)}});
  Json date = text_schema(10);
  date["pattern"] = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";
  Json out =
      headed("Roomwright job file", object_schema("job",
                                                  {{"schema", version_schema()},
                                                   {"title", text_schema(120)},
                                                   {"reference", text_schema(40)},
                                                   {"date", date},
                                                   {"revision", text_schema(10)},
                                                   {"start", date},
                                                   {"due", date},
                                                   {"use", names_schema(acoustics::use_names())},
                                                   {"shop", text_schema(200)},
                                                   {"client", client},
                                                   {"region", region_schema()},
                                                   {"climate", climate},
                                                   {"room", room_schema()},
                                                   {"surfaces", surfaces},
                                                   {"features", list_schema(feature_schema())},
                                                   {"furniture", list_schema(furniture_schema())},
                                                   {"loudspeakers", list_schema(speaker, 1, 40)},
                                                   {"seats", list_schema(seat, 1, 40)},
                                                   {"products", list_schema(product_schema())},
                                                   {"pieces", list_schema(piece_schema())},
                                                   {"site", site_schema()},
                                                   {"order", order_schema()}},
                                                  {"schema", "title", "date", "shop", "region"}));
  const char* const of_a_room[] = {"use",   "room",         "surfaces", "features", "furniture",
                                   "seats", "loudspeakers", "pieces",   "site"};
  Json room = needs({"use", "room", "surfaces", "loudspeakers", "seats"}), order = needs({"order"});
  room["not"] = needs({"order"});
  Json none = Json::array();
  for (const char* key : of_a_room) none.push_back(needs({key}));
  order["not"] = {{"anyOf", none}};
  out["oneOf"] = Json::array({room, order});
  return out;
}

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
