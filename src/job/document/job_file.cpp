// The job file: contents, pieces, site (its products are in product_file.cpp). Every reader goes on
// after a mistake; what depends on the room is checked only where there is one.
#include <algorithm>
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

bool is_trap(design::Kind kind) {
  return kind == design::Kind::straddling_trap || kind == design::Kind::solid_trap;
}

/// Where a trap stands: a corner of the plan.
void read_corner(Reader& in, Job& job, Piece& piece) {
  for (const char* key : {"on", "from", "in_window"})
    if (in.raw(key))
      in.complain(key, "does not go with a corner trap", {}, "give in_corner and foot");
  piece.corner = int(in.whole("in_corner", 0,
                              static_cast<long long>(std::max<std::size_t>(1, job.plan.size())) - 1,
                              "a corner of the plan, from 0"));
  piece.from_v = lengths_of(job).optional(in, "foot", zero, zero, far);
  in.raw("turned");
}

/// Where a panel, cloud or screen is: its lower left corner as one faces the wall.
void read_place(Reader& in, Job& job, Piece& piece, const design::ProductSpec& spec) {
  for (const char* key : {"in_corner", "foot"})
    if (in.raw(key)) in.complain(key, "goes with a corner trap only", {}, "give on and from");
  if (in.raw("in_window"))
    in.complain("in_window", "goes with a window plug only", {}, "give on and from");
  const auto surface = surface_named(in, job, "on");
  const auto from = lengths_of(job).list<2>(in, "from", "[left, bottom] as you face it");
  piece.turned = in.truth_or("turned", false);
  if (!surface || !from) return;
  piece.surface = *surface;
  piece.from_u = (*from)[0];
  piece.from_v = (*from)[1];
  const bool cloud = spec.kind == design::Kind::ceiling_cloud;
  const bool screen = spec.kind == design::Kind::free_screen;
  if (cloud && piece.surface != 1)
    in.complain("on", "must be the ceiling for a cloud", {}, "on = \"ceiling\"");
  if (screen && piece.surface != 0)
    in.complain("on", "must be the floor for a screen", {}, "on = \"floor\"");
  if (!cloud && !screen && piece.surface < 2)
    in.complain("on", "must be a wall for a " + design::kind_title(spec.kind), {},
                "such as on = \"wall1\"");
}

/// A plug sits in a window of its reveal's size: its place follows from the window's.
void read_window(Reader& in, Job& job, Piece& piece, const design::ProductSpec& spec) {
  for (const char* key : {"on", "from", "in_corner", "foot"})
    if (in.raw(key)) in.complain(key, "does not go with a window plug", {}, "give in_window");
  in.raw("turned");
  piece.window = in.text("in_window", "the label of a window under [[features]]", 40);
  const auto at = std::find_if(job.features.begin(), job.features.end(), [&](const Feature& one) {
    return one.label == piece.window && one.kind == FeatureKind::window && one.surface >= 2;
  });
  if (at == job.features.end()) {
    if (!piece.window.empty() && has_room(job))
      in.complain("in_window", "is not a window in a wall", "\"" + piece.window + "\"",
                  "give the label of one under [[features]]");
    return;
  }
  piece.surface = at->surface;
  const Length width = at->to_u - at->from_u, height = at->to_v - at->from_v;
  if (!spec.plug) return;
  if (spec.plug->reveal_width != width || spec.plug->reveal_height != height)
    in.complain("in_window",
                "is " + print_mm(width) + " × " + print_mm(height) + ", the plug's reveal " +
                    print_mm(spec.plug->reveal_width) + " × " + print_mm(spec.plug->reveal_height),
                {}, "measure it once more; both are the clear opening");
  // In the middle of the reveal, in people's datum.
  const Length own = design::plug_side(spec.plug->reveal_width, job.shop.rules);
  const Length high = design::plug_side(spec.plug->reveal_height, job.shop.rules);
  const Length left = wall_run(job, at->surface) - at->to_u;
  piece.from_u = left + Length::from_nm((width - own).nanometres() / 2);
  piece.from_v = at->from_v + Length::from_nm((height - high).nanometres() / 2);
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
      for (const char* key : {"on", "from", "in_corner", "foot", "turned", "in_window"})
        entry.raw(key);
    } else if (is_trap(spec->kind)) {
      read_corner(entry, job, piece);
    } else if (spec->kind == design::Kind::window_plug) {
      read_window(entry, job, piece, *spec);
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
