// The JSON Schema (2020-12) of the job file: what every key may be. What depends on other keys (a
// label that stands twice, a seat outside the room) and on the unit (the range of a length) is the
// reader's to say; whatever the reader takes, the schema takes too.
#include <nlohmann/json.hpp>

#include "job/document/schema_words.h"

namespace roomwright::job {

namespace {

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

}  // namespace roomwright::job
