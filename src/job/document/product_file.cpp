// The products of the job file: each kind with its own table, what it is made of and how.
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/parts.h"

namespace roomwright::job {

const std::vector<std::string>& kind_names() {
  static const std::vector<std::string> names = {"wall_panel",    "straddling_trap", "solid_trap",
                                                 "ceiling_cloud", "tuned_trap",      "diffuser",
                                                 "free_screen",   "window_plug",     "custom"};
  return names;
}
const std::vector<std::string>& edge_shape_names() {
  static const std::vector<std::string> names = {"square", "chamfer", "round_over", "cove"};
  return names;
}
const std::vector<std::string>& joint_names() {
  static const std::vector<std::string> names = {"butt", "half_lap", "mitre"};
  return names;
}
const std::vector<std::string>& mounting_names() {
  static const std::vector<std::string> names = {"stand_off", "french_cleat", "clips"};
  return names;
}
const std::vector<std::string>& stretcher_run_names() {
  static const std::vector<std::string> names = {"shorter", "level", "upright"};
  return names;
}
const std::vector<std::string>& layer_kind_names() {
  static const std::vector<std::string> names = {"cloth", "board", "sheet", "air"};
  return names;
}
const std::vector<std::string>& front_names() {
  static const std::vector<std::string> names = {"perforated", "slotted", "membrane"};
  return names;
}
const std::vector<std::string>& fill_place_names() {
  static const std::vector<std::string> names = {"behind_front", "middle", "at_back"};
  return names;
}
const std::vector<std::string>& sequence_names() {
  static const std::vector<std::string> names = {"quadratic_residue", "primitive_root"};
  return names;
}
namespace {

/// `below_ceiling` in place of a height: the product follows the room, so that a ceiling which
/// turns out lower changes its sticks, its cloth and its price.
void read_below_ceiling(Reader& in, const Job& job, design::ProductSpec& spec) {
  const auto below = lengths_of(job).maybe(in, "below_ceiling", zero, far);
  if (!below) return;
  if (in.has("below_ceiling") && job.order) {
    in.complain("below_ceiling", "needs a room, and an order has none", {}, "give height");
  } else if (spec.height) {
    in.complain("below_ceiling", "stands beside height", {}, "give one of the two");
  } else if (!has_room(job)) {
    return;
  } else if (!job.height) {
    in.complain("below_ceiling", "needs a flat ceiling", {}, "give height");
  } else {
    spec.height = *job.height - *below;
    if (*spec.height < 100_mm || *spec.height > 3000_mm)
      in.complain("below_ceiling", "makes the product " + print_mm(*spec.height) + " high", {},
                  "keep it from 100 mm to 3000 mm");
  }
}

/// A length that only some fronts need: asked for where they do, taken where it stands.
Length front_length(Reader& in, const LengthReader& lengths, const char* key, bool needed,
                    Length least, Length most, const char* remedy) {
  if (needed) return lengths.required(in, key, least, most, remedy);
  return lengths.optional(in, key, zero, least, most);
}

/// A tuned trap's front, its cavity, where the board lies.
void read_tuned(Reader& in, const LengthReader& lengths, design::ProductSpec& spec) {
  design::TunedFront tuned;
  tuned.front = static_cast<design::Front>(in.one_of("front", front_names()).value_or(0));
  tuned.sheet = in.text("sheet", "a sheet of the shop file");
  tuned.cavity = lengths.required(in, "cavity", 10_mm, 600_mm, "depth between front and back");
  tuned.fill =
      static_cast<design::FillPlace>(in.one_of_or("fill_at", 0, fill_place_names()).value_or(0));
  const bool drilled = tuned.front == design::Front::perforated;
  const bool slotted = tuned.front == design::Front::slotted;
  tuned.hole = front_length(in, lengths, "hole", drilled, 1_mm, 80_mm, "the drill");
  tuned.pitch = front_length(in, lengths, "pitch", drilled, 2_mm, 500_mm, "from hole to hole");
  tuned.slot = front_length(in, lengths, "slot", slotted, 1_mm, 50_mm, "the gap between two slats");
  tuned.slat =
      front_length(in, lengths, "slat", slotted, 10_mm, 400_mm, "the strip between two gaps");
  in.finish();
  spec.tuned = tuned;
}

/// A diffuser's wells.
void read_wells(Reader& in, const LengthReader& lengths, design::ProductSpec& spec) {
  design::WellPlan wells;
  wells.sequence =
      static_cast<acoustics::Sequence>(in.one_of("sequence", sequence_names()).value_or(0));
  wells.prime = int(in.whole("prime", 3, 97, "such as 7"));
  wells.design_hz = in.number("design_hz", {.at_least = 50, .at_most = 10000}, "such as 500");
  wells.well = lengths.required(in, "well", 5_mm, 500_mm, "clear width of a well");
  wells.periods = int(in.whole_or("periods", 1, 1, 20));
  wells.grid = in.truth_or("grid", false);
  in.finish();
  spec.wells = wells;
}

/// A custom piece's outline and layers.
void read_custom(Reader& in, const LengthReader& lengths, design::ProductSpec& spec) {
  design::CustomPlan plan;
  const Json* outline = in.required("outline", "corners [x, y], anticlockwise from the front");
  if (outline && (!outline->is_array() || outline->size() < 3 || outline->size() > 12)) {
    in.complain("outline", "must be a list of 3 to 12 corners", shown(*outline));
  } else if (outline) {
    for (std::size_t i = 0; i < outline->size(); ++i)
      if (const auto at =
              lengths.any_list(in, "outline[" + std::to_string(i) + "]", &(*outline)[i], 2))
        plan.outline.push_back({(*at)[0], (*at)[1]});
  }
  in.each(
      "layers", 1, 10,
      [&](Reader& entry) {
        design::CustomLayer layer;
        const auto kind = entry.one_of("kind", layer_kind_names());
        layer.of = static_cast<design::LayerOf>(kind.value_or(3));
        const bool air = layer.of == design::LayerOf::air;
        layer.key = kind && !air ? entry.text("of", "a cloth, board or sheet of the shop file")
                                 : entry.text_or("of", "");
        if (kind && air)
          layer.thickness =
              lengths.required(entry, "thickness", 1_mm, 500_mm, "how deep the air is, such as 50");
        else if (lengths.maybe(entry, "thickness", zero, 500_mm) && kind)
          entry.complain("thickness", "goes with air alone", {}, "the shop file has the others'");
        entry.finish();
        plan.layers.push_back(layer);
      },
      "from the face to the back");
  in.finish();
  spec.custom = plan;
}

/// How a frame's edges, corners and stretchers are made, and how it hangs.
void read_making(Reader& in, const LengthReader& lengths, design::ProductSpec& spec) {
  in.child("edge", [&](Reader& table) {
    design::EdgeSpec edge;
    edge.shape =
        static_cast<design::EdgeShape>(table.one_of("shape", edge_shape_names()).value_or(0));
    const bool routed = edge.shape != design::EdgeShape::square;
    edge.size = routed ? lengths.required(table, "size", 1_mm, 200_mm,
                                          "a chamfer's width on the face, or the radius")
                       : lengths.optional(table, "size", zero, zero, 200_mm);
    edge.angle_deg = table.number_or("angle_deg", 45, {.at_least = 15, .at_most = 75});
    table.finish();
    spec.edge = edge;
  });
  spec.joint = static_cast<design::Joint>(in.one_of_or("joint", 0, joint_names()).value_or(0));
  if (in.has("stretchers")) spec.stretchers = int(in.whole_or("stretchers", 0, 0, 10));
  spec.stretcher_run = static_cast<design::StretcherRun>(
      in.one_of_or("stretcher_run", 0, stretcher_run_names()).value_or(0));
  spec.mounting =
      static_cast<design::Mounting>(in.one_of_or("mounting", 0, mounting_names()).value_or(0));
}

/// The table that a kind needs; one that stands with another kind is a mistake.
void read_kind_table(Reader& in, const char* key, design::Kind kind, design::ProductSpec& spec,
                     const char* remedy, const std::function<void(Reader&)>& read) {
  if (spec.kind == kind)
    in.required_child(key, read, remedy);
  else if (in.has(key)) {
    in.child(key, read);
    in.complain(key, std::string("goes with a ") + design::kind_title(kind) + " alone", {},
                "leave it out, or change kind");
  }
}

/// What a kind is made of; a text that it does not need may be left out.
void read_ingredients(Reader& in, design::ProductSpec& spec) {
  const bool tuned = spec.kind == design::Kind::tuned_trap;
  const bool diffuser = spec.kind == design::Kind::diffuser;
  const bool custom = spec.kind == design::Kind::custom;
  const bool plug = spec.kind == design::Kind::window_plug;
  const auto text = [&](const char* key, bool needed, const char* remedy) {
    return needed ? in.text(key, remedy) : in.text_or(key, "");
  };
  spec.timber = text("timber", !tuned && !diffuser, "a timber of the shop file");
  spec.board = text("board", !tuned && !diffuser && !custom, "a board of the shop file");
  spec.cloth = text("cloth", !tuned && !diffuser && !custom, "a cloth of the shop file");
  if (custom)
    for (const char* key : {"board", "cloth"})
      if (in.has(key))
        in.complain(key, "does not go with a custom piece", {}, "its layers say what is in it");
  spec.back_cloth = in.text_or("back_cloth", "");
  spec.sheet = text("sheet", tuned || diffuser || plug, "a sheet of the shop file");
}

/// The tables of which each goes with one kind.
void read_kind_tables(Reader& in, const LengthReader& lengths, design::ProductSpec& spec) {
  read_kind_table(in, "tuned", design::Kind::tuned_trap, spec,
                  "its front and cavity: [products.tuned]",
                  [&](Reader& table) { read_tuned(table, lengths, spec); });
  read_kind_table(in, "wells", design::Kind::diffuser, spec,
                  "its sequence and wells: [products.wells]",
                  [&](Reader& table) { read_wells(table, lengths, spec); });
  read_kind_table(in, "stand", design::Kind::free_screen, spec, "its feet: [products.stand]",
                  [&](Reader& table) {
                    design::StandPlan stand;
                    stand.foot =
                        lengths.required(table, "foot", 100_mm, 2000_mm, "length, front to back");
                    table.finish();
                    spec.stand = stand;
                  });
  read_kind_table(
      in, "plug", design::Kind::window_plug, spec, "its reveal and seal: [products.plug]",
      [&](Reader& table) {
        design::PlugPlan plug;
        plug.reveal_width =
            lengths.required(table, "reveal_width", 100_mm, 3100_mm, "clear, as measured");
        plug.reveal_height =
            lengths.required(table, "reveal_height", 100_mm, 3100_mm, "clear, as measured");
        plug.seal = lengths.required(table, "seal", 1_mm, 60_mm, "thickness before it is pressed");
        table.finish();
        spec.plug = plug;
      });
  read_kind_table(in, "custom", design::Kind::custom, spec,
                  "its outline and layers: [products.custom]",
                  [&](Reader& table) { read_custom(table, lengths, spec); });
}

}  // namespace

std::vector<bool> read_products(Reader& in, Job& job) {
  std::vector<bool> readable;
  const LengthReader lengths = lengths_of(job);
  std::set<std::string> keys;
  in.each("products", 0, most_list, [&](Reader& entry) {
    const std::size_t before = entry.found().size();
    design::ProductSpec spec;
    spec.key = entry.text("key", "a short name by which pieces call it", 40);
    if (!spec.key.empty() && !keys.insert(spec.key).second)
      entry.complain("key", "stands twice", "\"" + spec.key + "\"",
                     "give each product its own key");
    spec.name = entry.text("name", "as it stands on the quote", 80);
    spec.kind = static_cast<design::Kind>(entry.one_of("kind", kind_names()).value_or(0));
    read_ingredients(entry, spec);
    read_kind_tables(entry, lengths, spec);
    read_making(entry, lengths, spec);
    spec.board_layers = int(entry.whole_or("board_layers", 1, 1, 6));
    spec.width = lengths.maybe(entry, "width", 100_mm, 3000_mm);
    spec.height = lengths.maybe(entry, "height", 100_mm, 3000_mm);
    read_below_ceiling(entry, job, spec);
    spec.chamfer = lengths.optional(entry, "chamfer", zero, zero, 200_mm);
    spec.gap = lengths.optional(entry, "gap", zero, zero, 1000_mm);
    entry.finish();
    job.products.push_back(spec);
    readable.push_back(entry.found().size() == before);
  });
  return readable;
}

}  // namespace roomwright::job
