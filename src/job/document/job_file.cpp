// The job file: room, contents, products, pieces, site. Every reader goes on after a mistake; what
// depends on the room is checked only where there is one.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/parts.h"

namespace roomwright::job {

namespace {

const Length zero = Length();
const Length far = Length::from_m(100);

LengthReader lengths_of(const Job& job) {
  return {job.region.bare};
}

Vec3 metres(const Point& p) {
  return {p.x.metres(), p.y.metres(), p.z.metres()};
}

/// A label that nothing else of its list bears.
std::string label_of(Reader& in, std::set<std::string>& taken) {
  const std::string label = in.text("label", "a short name, such as W1", 40);
  if (!label.empty() && !taken.insert(label).second)
    in.complain("label", "stands twice", "\"" + label + "\"", "give each its own label");
  return label;
}

std::string material_of(Reader& in, const char* key, bool required) {
  if (!required && !in.has(key)) {
    in.raw(key);
    return {};
  }
  const std::string name =
      in.text(key, "a surface of the library, such as plasterboard_two_layers");
  if (name.empty() || acoustics::find_surface_material(name)) return name;
  std::vector<std::string> known;
  for (const auto& one : acoustics::surface_materials()) known.push_back(one.key);
  const auto near = nearest(name, known);
  in.complain(key, "is not in the library of surfaces", "\"" + name + "\"",
              near ? "did you mean " + *near + "?" : "data/surfaces.csv lists them");
  return {};
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

bool has_room(const Job& job) {
  return job.room.plan_m.size() >= 3;
}

const std::vector<std::string>& kind_names() {
  static const std::vector<std::string> names = {"wall_panel", "straddling_trap", "solid_trap",
                                                 "ceiling_cloud"};
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

void read_region(Reader& in, Job& job) {
  in.required_child(
      "region",
      [&](Reader& region) {
        job.region.name = region.text_or("name", "");
        const auto unit = region.one_of("units", length_unit_names());
        job.region.bare = static_cast<LengthUnit>(unit.value_or(2));
        job.region.units.metric =
            job.region.bare != LengthUnit::ft && job.region.bare != LengthUnit::in;
        static const std::vector<std::string> papers = {"a4", "letter"};
        job.region.paper = static_cast<PaperSize>(
            region.one_of_or("paper", job.region.units.metric ? 0 : 1, papers).value_or(0));
        static const std::vector<std::string> projections = {"first-angle", "third-angle"};
        job.region.projection = static_cast<Projection>(
            region.one_of_or("projection", job.region.units.metric ? 0 : 1, projections)
                .value_or(0));
        const auto denominator = region.whole_or("denominator", 16, 2, 64, "2, 4, 8, 16, 32 or 64");
        job.region.units.denominator = int(denominator);
        if ((denominator & (denominator - 1)) != 0)
          region.complain("denominator", "must be 2, 4, 8, 16, 32 or 64", double(denominator));
        region.finish();
      },
      "units, such as \"mm\" or \"in\"");
}

namespace {

void read_plan(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  const Json* raw =
      in.required("plan", "corners as [[x, y], …], anticlockwise, or size = [x, y, z]");
  if (!raw) return;
  if (!raw->is_array() || raw->size() < 3 || raw->size() > acoustics::most_plan_corners) {
    in.complain("plan", "must be a list of 3 to 64 corners",
                raw->is_array() ? Got(double(raw->size())) : shown(*raw),
                "such as [[0, 0], [5400, 0], …]");
    return;
  }
  for (std::size_t i = 0; i < raw->size(); ++i) {
    const auto corner = lengths.any_list(in, "plan[" + std::to_string(i) + "]", &(*raw)[i], 2);
    if (corner) job.plan.push_back({(*corner)[0], (*corner)[1]});
  }
  if (job.plan.size() != raw->size()) job.plan.clear();
}

void read_size(Reader& in, Job& job) {
  const auto size = lengths_of(job).list<3>(in, "size", "[x, y, z]");
  if (!size) return;
  job.plan = {{zero, zero}, {(*size)[0], zero}, {(*size)[0], (*size)[1]}, {zero, (*size)[1]}};
  job.height = (*size)[2];
}

void read_ceiling(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  if (in.has("height") == in.has("ceiling")) {
    in.raw("height");
    in.raw("ceiling");
    in.complain("height", in.has("height") ? "stands beside ceiling" : "is missing", {},
                "give either height, or ceiling as three points of its plane");
    return;
  }
  if (in.has("height")) {
    // A height that is wrong leaves no room: nothing in it is then held against it.
    job.height = lengths.maybe(in, "height", 500_mm, far);
    return;
  }
  const Json* raw = in.required("ceiling");
  if (!raw->is_array() || raw->size() != 3) {
    in.complain("ceiling", "must be three points", shown(*raw),
                "[[x, y, z], [x, y, z], [x, y, z]]");
    return;
  }
  for (std::size_t i = 0; i < 3; ++i) {
    const auto point = lengths.any_list(in, "ceiling[" + std::to_string(i) + "]", &(*raw)[i], 3);
    if (point) job.ceiling.push_back({(*point)[0], (*point)[1], (*point)[2]});
  }
}

void make_the_room(Reader& in, Job& job) {
  if (job.plan.empty() || (!job.height && job.ceiling.size() != 3)) return;
  Polygon plan;
  for (const auto& corner : job.plan) plan.push_back({corner[0].metres(), corner[1].metres()});
  const auto room =
      job.height
          ? acoustics::make_room(plan, job.height->metres())
          : acoustics::make_sloped_room(
                plan, {metres(job.ceiling[0]), metres(job.ceiling[1]), metres(job.ceiling[2])});
  if (room) {
    job.room = *room;
    return;
  }
  for (const Complaint& fault : room.mistakes().items()) {
    std::string key = fault.where.substr(fault.where.find('.') + 1);
    if (const auto unit = key.find("_m"); unit != std::string::npos) key.erase(unit, 2);
    if (key.rfind("plan", 0) == 0 && in.has("size")) key = "size";
    in.complain(key, fault.what, fault.got, fault.remedy);
  }
}

void read_tape(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  const auto corners = static_cast<long long>(std::max<std::size_t>(1, job.plan.size()));
  in.each("diagonals", 0, 200, [&](Reader& entry) {
    Diagonal diagonal;
    const std::size_t before = entry.found().size();
    diagonal.from = int(entry.whole("from", 0, corners - 1, "a corner of the plan, from 0"));
    diagonal.to = int(entry.whole("to", 0, corners - 1, "a corner of the plan, from 0"));
    diagonal.measured = lengths.required(entry, "measured", 100_mm, far, "what the tape says");
    if (diagonal.from == diagonal.to && entry.found().size() == before)
      entry.complain("to", "is the same corner", double(diagonal.to), "name two corners");
    entry.finish();
    job.diagonals.push_back(diagonal);
  });
  in.each("heights", 0, 200, [&](Reader& entry) {
    const auto at = lengths.list<2>(entry, "at", "[x, y] of the place");
    HeightReading reading;
    reading.height = lengths.required(entry, "height", 300_mm, far, "what the tape says");
    if (at) {
      reading.x = (*at)[0];
      reading.y = (*at)[1];
      if (has_room(job) &&
          !contains(job.room.plan_m, Vec2{reading.x.metres(), reading.y.metres()}, 1e-3))
        entry.complain("at", "lies outside the plan", {}, "give a place on the floor");
      job.heights.push_back(reading);
    }
    entry.finish();
  });
}

}  // namespace

void read_room(Reader& in, Job& job) {
  in.required_child(
      "room",
      [&](Reader& room) {
        if (room.has("size")) {
          read_size(room, job);
          for (const char* key : {"plan", "height", "ceiling"})
            if (room.raw(key)) room.complain(key, "stands beside size", {}, "give one of the two");
        } else {
          read_plan(room, job);
          read_ceiling(room, job);
        }
        make_the_room(room, job);
        read_tape(room, job);
        room.finish();
      },
      "size or plan and height");
}

void read_surfaces(Reader& in, Job& job) {
  in.required_child(
      "surfaces",
      [&](Reader& surfaces) {
        const std::string fallback = material_of(surfaces, "default", true);
        if (!has_room(job)) {
          for (const auto& key : surfaces.keys()) surfaces.raw(key);
          return;
        }
        job.finish.assign(static_cast<std::size_t>(acoustics::surface_count(job.room)), fallback);
        for (int i = 0; i < acoustics::surface_count(job.room); ++i) {
          const std::string name = acoustics::surface_name(job.room, i);
          if (!surfaces.has(name)) continue;
          const std::string own = material_of(surfaces, name.c_str(), true);
          if (!own.empty()) job.finish[static_cast<std::size_t>(i)] = own;
          surfaces.raw(name);
        }
        for (int i = 0; i < acoustics::surface_count(job.room); ++i)
          surfaces.raw(acoustics::surface_name(job.room, i));
        surfaces.finish();
      },
      "at least default = \"a material\"");
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
  for (const Vec2 corner : {Vec2{feature.from_u.metres(), feature.from_v.metres()},
                            Vec2{feature.to_u.metres(), feature.from_v.metres()},
                            Vec2{feature.to_u.metres(), feature.to_v.metres()},
                            Vec2{feature.from_u.metres(), feature.to_v.metres()}})
    if (!contains(outline, corner, 2e-3)) {
      in.complain("to", "reaches beyond " + acoustics::surface_name(job.room, feature.surface), {},
                  "keep it on its surface");
      return;
    }
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
  if (has_room(job))
    for (const Vec2 corner : {Vec2{thing.from_x.metres(), thing.from_y.metres()},
                              Vec2{thing.to_x.metres(), thing.from_y.metres()},
                              Vec2{thing.to_x.metres(), thing.to_y.metres()},
                              Vec2{thing.from_x.metres(), thing.to_y.metres()}})
      if (!contains(job.room.plan_m, corner, 2e-3)) {
        in.complain("from", "reaches out of the room", {}, "keep it inside the plan");
        return;
      }
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
  if (spec.height) {
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

}  // namespace

void read_products(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  std::set<std::string> keys;
  in.each("products", 0, most_list, [&](Reader& entry) {
    design::ProductSpec spec;
    spec.key = entry.text("key", "a short name by which pieces call it", 40);
    if (!spec.key.empty() && !keys.insert(spec.key).second)
      entry.complain("key", "stands twice", "\"" + spec.key + "\"",
                     "give each product its own key");
    spec.name = entry.text("name", "as it stands on the quote", 80);
    spec.kind = static_cast<design::Kind>(entry.one_of("kind", kind_names()).value_or(0));
    spec.timber = entry.text("timber", "a timber of the shop file");
    spec.board = entry.text("board", "a board of the shop file");
    spec.cloth = entry.text("cloth", "a cloth of the shop file");
    spec.back_cloth = entry.text_or("back_cloth", "");
    spec.sheet = entry.text_or("sheet", "");
    spec.board_layers = int(entry.whole_or("board_layers", 1, 1, 6));
    spec.width = lengths.maybe(entry, "width", 100_mm, 3000_mm);
    spec.height = lengths.maybe(entry, "height", 100_mm, 3000_mm);
    read_below_ceiling(entry, job, spec);
    spec.chamfer = lengths.optional(entry, "chamfer", zero, zero, 200_mm);
    spec.gap = lengths.optional(entry, "gap", zero, zero, 1000_mm);
    entry.finish();
    job.products.push_back(spec);
  });
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
