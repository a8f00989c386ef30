// The job file: contents, products, pieces, site. Every reader goes on after a mistake; what
// depends on the room is checked only where there is one.
#include <algorithm>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/parts.h"

namespace roomwright::job {

namespace {

/// A label that nothing else of its list bears.
std::string label_of(Reader& in, std::set<std::string>& taken) {
  const std::string label = in.text("label", "a short name, such as W1", 40);
  if (!label.empty() && !taken.insert(label).second)
    in.complain("label", "stands twice", "\"" + label + "\"", "give each its own label");
  return label;
}

/// The surface by name; nullopt after a complaint.
std::optional<int> surface_named(Reader& in, const Job& job, const char* key) {
  const std::string name = in.text(key, "floor, ceiling, wall0, wall1 …", 20);
  if (name.empty() || !has_room(job)) return std::nullopt;
  const auto surface = acoustics::find_surface(job.room, name);
  if (!surface) {
    std::vector<std::string> known;
    for (int i = 0; i < acoustics::surface_count(job.room); ++i)
      known.push_back(acoustics::surface_name(job.room, i));
    in.complain(key, "is not a surface of the room", "\"" + name + "\"",
                "floor, ceiling, wall0 to " + known.back());
  }
  return surface;
}

Length wall_run(const Job& job, int surface) {
  return Length::from_m(acoustics::wall_length_m(job.room, surface));
}

std::optional<Point> point_of(Reader& in, const Job& job, const char* key) {
  const auto at =
      lengths_of(job).list<3>(in, key, "[x, y, z]: from the plan's origin and the floor");
  if (!at) return std::nullopt;
  const Point point{(*at)[0], (*at)[1], (*at)[2]};
  if (has_room(job) && !acoustics::contains(job.room, metres(point), 0.01)) {
    in.complain(key, "lies outside the room or in a wall", {},
                "keep it 10 mm clear of every surface");
    return std::nullopt;
  }
  return point;
}

}  // namespace

const std::vector<std::string>& kind_names() {
  static const std::vector<std::string> names = {"wall_panel",    "straddling_trap", "solid_trap",
                                                 "ceiling_cloud", "tuned_trap",      "diffuser"};
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
const std::vector<std::string>& feature_kind_names() {
  static const std::vector<std::string> names = {"door",   "window", "radiator",  "socket",
                                                 "switch", "vent",   "sprinkler", "smoke_detector",
                                                 "lamp",   "other"};
  return names;
}
const std::vector<std::string>& furniture_kind_names() {
  static const std::vector<std::string> names = {"desk",  "console", "rack",
                                                 "couch", "shelf",   "other"};
  return names;
}

namespace {

/// Room that a thing wants round it, in mm. Common practice, no source; local code decides for
/// detectors and sprinklers.
Length clear_round(FeatureKind kind) {
  switch (kind) {
    case FeatureKind::door:
    case FeatureKind::window:
      return 30_mm;
    case FeatureKind::radiator:
      return 100_mm;
    case FeatureKind::vent:
      return 100_mm;
    case FeatureKind::sprinkler:
    case FeatureKind::smoke_detector:
      return 500_mm;
    case FeatureKind::lamp:
      return 150_mm;
    default:
      return 20_mm;
  }
}

/// Whether a side of the plan runs through the rectangle, 2 mm within its edges (the rectangle's
/// corners may all lie in the room, and a corner of the room in it).
bool plan_runs_through(const Polygon& plan, Vec2 low, Vec2 high) {
  const double within = 2e-3;
  for (std::size_t i = 0; i < plan.size(); ++i) {
    const Vec2 a = plan[i], b = plan[(i + 1) % plan.size()];
    double enter = 0, leave = 1;
    bool misses = false;
    const auto clip = [&](double from, double step, double lo, double hi) {
      if (step == 0) {
        misses = misses || from <= lo || from >= hi;
        return;
      }
      const double t0 = (lo - from) / step, t1 = (hi - from) / step;
      enter = std::max(enter, std::min(t0, t1));
      leave = std::min(leave, std::max(t0, t1));
    };
    clip(a.x, b.x - a.x, low.x + within, high.x - within);
    clip(a.y, b.y - a.y, low.y + within, high.y - within);
    if (!misses && enter < leave) return true;
  }
  return false;
}

/// The rectangle's lowest point under the ceiling.
double lowest_ceiling_m(const Job& job, Vec2 low, Vec2 high) {
  double least = job.room.ceiling_at(low);
  for (const Vec2 at : {high, Vec2{low.x, high.y}, Vec2{high.x, low.y}})
    least = std::min(least, job.room.ceiling_at(at));
  return least;
}

void check_furniture(Reader& in, const Job& job, const Furniture& thing) {
  const Vec2 low{thing.from_x.metres(), thing.from_y.metres()};
  const Vec2 high{thing.to_x.metres(), thing.to_y.metres()};
  bool outside = plan_runs_through(job.room.plan_m, low, high);
  for (const Vec2 corner : {low, high, Vec2{low.x, high.y}, Vec2{high.x, low.y}})
    outside = outside || !contains(job.room.plan_m, corner, 2e-3);
  if (outside) in.complain("from", "reaches out of the room", {}, "keep it inside the plan");
  if (thing.from_z < zero)
    in.complain("from[2]", "is below the floor", print_length(thing.from_z, job.region.units),
                "the floor is 0");
  if (!outside && thing.to_z.metres() > lowest_ceiling_m(job, low, high) + 2e-3)
    in.complain("to[2]", "is above the ceiling", print_length(thing.to_z, job.region.units),
                "keep it under the ceiling");
}

/// From a tape's rectangle (left-hand corner as one faces the wall, height) to u and v.
void place_feature(Reader& in, const Job& job, Feature& feature, const std::array<Length, 2>& from,
                   const std::array<Length, 2>& to) {
  if (!(from[0] < to[0] && from[1] < to[1])) {
    in.complain("to", "must lie beyond from in both", {},
                "from is the lower left corner, to the upper right");
    return;
  }
  feature.from_u = from[0];
  feature.to_u = to[0];
  feature.from_v = from[1];
  feature.to_v = to[1];
  if (feature.surface >= 2) {
    const Length run = wall_run(job, feature.surface);
    feature.from_u = run - to[0];
    feature.to_u = run - from[0];
  }
  const Polygon outline = acoustics::surface_outline(job.room, feature.surface);
  const Vec2 low{feature.from_u.metres(), feature.from_v.metres()};
  const Vec2 high{feature.to_u.metres(), feature.to_v.metres()};
  bool beyond = feature.surface < 2 && plan_runs_through(outline, low, high);
  for (const Vec2 corner : {low, high, Vec2{low.x, high.y}, Vec2{high.x, low.y}})
    beyond = beyond || !contains(outline, corner, 2e-3);
  if (beyond)
    in.complain("to", "reaches beyond " + acoustics::surface_name(job.room, feature.surface), {},
                "keep it on its surface");
}

void read_feature(Reader& in, Job& job, std::set<std::string>& labels) {
  const LengthReader lengths = lengths_of(job);
  Feature feature;
  feature.label = label_of(in, labels);
  feature.kind = static_cast<FeatureKind>(in.one_of("kind", feature_kind_names()).value_or(9));
  const auto surface = surface_named(in, job, "on");
  const auto from = lengths.list<2>(in, "from", "[left, bottom] as you face it");
  const auto to = lengths.list<2>(in, "to", "[right, top] as you face it");
  feature.keep_clear = lengths.optional(in, "keep_clear", clear_round(feature.kind), zero, 5000_mm);
  feature.material = material_of(in, "material", false);
  in.finish();
  if (!surface || !from || !to) return;
  feature.surface = *surface;
  place_feature(in, job, feature, *from, *to);
  job.features.push_back(feature);
}

void read_furniture(Reader& in, Job& job, std::set<std::string>& labels) {
  const LengthReader lengths = lengths_of(job);
  Furniture thing;
  thing.label = label_of(in, labels);
  thing.kind = static_cast<FurnitureKind>(in.one_of("kind", furniture_kind_names()).value_or(5));
  const auto from = lengths.list<3>(in, "from", "[x, y, z] of its lower corner");
  const auto to = lengths.list<3>(in, "to", "[x, y, z] of its upper corner");
  thing.material = material_of(in, "material", true);
  in.finish();
  if (!from || !to) return;
  if (!((*from)[0] < (*to)[0] && (*from)[1] < (*to)[1] && (*from)[2] < (*to)[2])) {
    in.complain("to", "must lie beyond from in all three", {}, "from is the lower corner");
    return;
  }
  thing.from_x = (*from)[0], thing.from_y = (*from)[1], thing.from_z = (*from)[2];
  thing.to_x = (*to)[0], thing.to_y = (*to)[1], thing.to_z = (*to)[2];
  if (has_room(job)) check_furniture(in, job, thing);
  job.furniture.push_back(thing);
}

bool inside_furniture(const Job& job, const Point& at, std::string& label) {
  for (const Furniture& thing : job.furniture)
    if (at.x > thing.from_x && at.x < thing.to_x && at.y > thing.from_y && at.y < thing.to_y &&
        at.z > thing.from_z && at.z < thing.to_z) {
      label = thing.label;
      return true;
    }
  return false;
}

std::optional<Point> free_point(Reader& in, const Job& job) {
  const auto at = point_of(in, job, "at");
  std::string label;
  if (at && inside_furniture(job, *at, label))
    in.complain("at", "lies inside " + label, {}, "move one of them");
  return at;
}

}  // namespace

void read_contents(Reader& in, Job& job) {
  std::set<std::string> features, furniture, speakers, seats;
  in.each("features", 0, most_list, [&](Reader& entry) { read_feature(entry, job, features); });
  in.each("furniture", 0, most_list, [&](Reader& entry) { read_furniture(entry, job, furniture); });
  in.each(
      "loudspeakers", 1, 40,
      [&](Reader& entry) {
        Loudspeaker speaker;
        speaker.label = label_of(entry, speakers);
        const auto at = free_point(entry, job);
        speaker.subwoofer = entry.truth_or("subwoofer", false);
        entry.finish();
        if (at) speaker.at = *at, job.loudspeakers.push_back(speaker);
      },
      "where the sound comes from: [[loudspeakers]] with label and at");
  in.each(
      "seats", 1, 40,
      [&](Reader& entry) {
        Seat seat;
        seat.label = label_of(entry, seats);
        const auto at = free_point(entry, job);
        entry.finish();
        if (!at) return;
        seat.at = *at;
        for (const Loudspeaker& speaker : job.loudspeakers)
          if (length(metres(speaker.at) - metres(seat.at)) < 0.1)
            entry.complain("at", "stands in loudspeaker " + speaker.label, {},
                           "keep them at least 100 mm apart");
        job.seats.push_back(seat);
      },
      "where the ears are: [[seats]] with label and at");
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
  const auto text = [&](const char* key, bool needed, const char* remedy) {
    return needed ? in.text(key, remedy) : in.text_or(key, "");
  };
  spec.timber = text("timber", !tuned && !diffuser, "a timber of the shop file");
  spec.board = text("board", !tuned && !diffuser, "a board of the shop file");
  spec.cloth = text("cloth", !tuned && !diffuser, "a cloth of the shop file");
  spec.back_cloth = in.text_or("back_cloth", "");
  spec.sheet = text("sheet", tuned || diffuser, "a sheet of the shop file");
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
    read_kind_table(entry, "tuned", design::Kind::tuned_trap, spec,
                    "its front and cavity: [products.tuned]",
                    [&](Reader& table) { read_tuned(table, lengths, spec); });
    read_kind_table(entry, "wells", design::Kind::diffuser, spec,
                    "its sequence and wells: [products.wells]",
                    [&](Reader& table) { read_wells(table, lengths, spec); });
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

namespace {

bool is_trap(design::Kind kind) {
  return kind == design::Kind::straddling_trap || kind == design::Kind::solid_trap;
}

/// Where a trap stands: a corner of the plan.
void read_corner(Reader& in, Job& job, Piece& piece) {
  for (const char* key : {"on", "from"})
    if (in.raw(key))
      in.complain(key, "does not go with a corner trap", {}, "give in_corner and foot");
  piece.corner = int(in.whole("in_corner", 0,
                              static_cast<long long>(std::max<std::size_t>(1, job.plan.size())) - 1,
                              "a corner of the plan, from 0"));
  piece.from_v = lengths_of(job).optional(in, "foot", zero, zero, far);
  in.raw("turned");
}

/// Where a panel or cloud hangs: its lower left corner as one faces the wall.
void read_place(Reader& in, Job& job, Piece& piece, const design::ProductSpec& spec) {
  for (const char* key : {"in_corner", "foot"})
    if (in.raw(key)) in.complain(key, "goes with a corner trap only", {}, "give on and from");
  const auto surface = surface_named(in, job, "on");
  const auto from = lengths_of(job).list<2>(in, "from", "[left, bottom] as you face it");
  piece.turned = in.truth_or("turned", false);
  if (!surface || !from) return;
  piece.surface = *surface;
  piece.from_u = (*from)[0];
  piece.from_v = (*from)[1];
  const bool cloud = spec.kind == design::Kind::ceiling_cloud;
  if (cloud && piece.surface != 1)
    in.complain("on", "must be the ceiling for a cloud", {}, "on = \"ceiling\"");
  if (!cloud && piece.surface < 2)
    in.complain("on", "must be a wall for a wall panel", {}, "such as on = \"wall1\"");
}

}  // namespace

void read_pieces(Reader& in, Job& job) {
  std::set<std::string> labels;
  in.each("pieces", 0, most_list, [&](Reader& entry) {
    Piece piece;
    piece.label = label_of(entry, labels);
    piece.product = entry.text("product", "the key of a product", 40);
    piece.option = entry.text_or("option", "", 40);
    const design::ProductSpec* spec = job.product(piece.product);
    if (!spec && !piece.product.empty()) {
      std::vector<std::string> known;
      for (const auto& one : job.products) known.push_back(one.key);
      const auto near = nearest(piece.product, known);
      entry.complain("product", "is not one of the products", "\"" + piece.product + "\"",
                     near ? "did you mean " + *near + "?" : "add it under [[products]]");
    }
    if (!spec) {
      for (const char* key : {"on", "from", "in_corner", "foot", "turned"}) entry.raw(key);
    } else if (is_trap(spec->kind)) {
      read_corner(entry, job, piece);
    } else {
      read_place(entry, job, piece, *spec);
    }
    entry.finish();
    if (spec) job.pieces.push_back(piece);
  });
}

void read_site(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  job.site.fixing_ground = "unknown";
  in.child("site", [&](Reader& site) {
    job.site.distance_km = site.number_or("distance_km", 0, {.at_least = 0, .at_most = 20000});
    job.site.trips = int(site.whole_or("trips", 1, 0, 1000));
    static const std::vector<std::string> grounds = {"wood", "masonry", "unknown"};
    job.site.fixing_ground = grounds[site.one_of_or("fixing_ground", 2, grounds).value_or(2)];
    job.site.stud_specific_gravity =
        site.number_or("stud_specific_gravity", 0.40, {.at_least = 0.25, .at_most = 0.9});
    std::set<std::string> labels;
    site.each("way_in", 0, 50, [&](Reader& entry) {
      WayIn way;
      way.label = label_of(entry, labels);
      static const std::vector<std::string> kinds = {"door", "stairs", "lift"};
      way.kind = kinds[entry.one_of("kind", kinds).value_or(0)];
      way.width = lengths.required(entry, "width", 200_mm, 20000_mm, "clear width");
      way.height = lengths.required(entry, "height", 200_mm, 20000_mm, "clear height");
      way.depth = lengths.maybe(entry, "depth", 200_mm, 20000_mm);
      way.limit_kg = entry.optional_number("limit_kg", {.above = 0, .at_most = 100000});
      entry.finish();
      job.site.way_in.push_back(way);
    });
    site.finish();
  });
}

}  // namespace roomwright::job
