// The job document: everything that a person tells us about one job, checked. TOML for people, the
// same keys as JSON for programs, a JSON Schema of both (docs/schema), a version number, and a way
// forward from every older version. Reading finds every mistake at once, each with its line.
// Invariants of a Job that was read: (1) the room is a valid Room, or the job is an order; (2)
// every key that names a product, material, surface or stock entry is known; (3) labels are unique
// within their list; (4) loudspeakers, seats and furniture lie inside the room, openings on their
// walls; (5) every number is finite and in range. Whether pieces fit is the treatment stage's to
// say, not a mistake.
#pragma once

#include <array>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "acoustics/criteria/criteria.h"
#include "acoustics/materials/materials.h"
#include "acoustics/rooms/rooms.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "core/reading/reading.h"
#include "design/products/products.h"
#include "shop/stock/stock.h"

namespace roomwright::job {

/// The schema's version; older documents are migrated on reading, newer ones refused.
inline constexpr int schema_version = 1;

struct Point {
  Length x, y, z;
  bool operator==(const Point&) const = default;
};

enum class PaperSize { a4, letter };
enum class Projection { first_angle, third_angle };

struct Region {
  std::string name;  ///< as the person says it, such as `northern Europe`
  Units units;       ///< how lengths are read (bare numbers) and printed
  LengthUnit bare = LengthUnit::mm;
  PaperSize paper = PaperSize::a4;
  Projection projection = Projection::first_angle;
  bool operator==(const Region&) const = default;
};

struct Client {
  std::string name, site, contact;
  bool operator==(const Client&) const = default;
};

/// The tape's own check on the plan: a measured distance between two corners of it.
struct Diagonal {
  int from = 0, to = 0;  ///< plan corners
  Length measured;
  bool operator==(const Diagonal&) const = default;
};
struct HeightReading {
  Length x, y, height;
  bool operator==(const HeightReading&) const = default;
};

enum class FeatureKind {
  door,
  window,
  radiator,
  socket,
  switch_plate,
  vent,
  sprinkler,
  smoke_detector,
  lamp,
  other
};
std::string feature_title(FeatureKind kind);

/// An opening or obstacle on a surface: a keep-out zone, and where it has a material, a patch.
struct Feature {
  std::string label;
  FeatureKind kind = FeatureKind::other;
  int surface = 0;
  Length from_u, from_v, to_u, to_v;  ///< from below to
  Length keep_clear;                  ///< all round
  std::string material;               ///< empty: as the surface
  bool operator==(const Feature&) const = default;
};

enum class FurnitureKind { desk, console, rack, couch, shelf, other };
std::string furniture_title(FurnitureKind kind);

/// As files call it: `wall_panel` …
std::string kind_key(design::Kind kind);

/// A box on the floor plan: reflects or absorbs by its material (whole surface, floor side apart).
struct Furniture {
  std::string label;
  FurnitureKind kind = FurnitureKind::other;
  Length from_x, from_y, to_x, to_y, from_z, to_z;
  std::string material;
  bool operator==(const Furniture&) const = default;
};

struct Loudspeaker {
  std::string label;
  Point at;
  bool subwoofer = false;
  bool operator==(const Loudspeaker&) const = default;
};
struct Seat {
  std::string label;
  Point at;  ///< the ears
  bool operator==(const Seat&) const = default;
};

/// A product hung in a place.
struct Piece {
  std::string label;
  std::string product;  ///< key in `products`
  int surface = -1;     ///< wall panels: a wall; clouds: the ceiling (index 1); screens: the floor
  int corner = -1;      ///< traps: the plan corner
  /// Lower left corner as one faces it: from the left-hand corner of a wall (x of the plan on the
  /// ceiling), and the height (y); traps: from_v is the foot.
  Length from_u, from_v;
  bool turned = false;   ///< width and height exchanged on the wall; a screen across its own width
  std::string window{};  ///< plugs: the label of the window that they are pressed into
  std::string option;    ///< empty: in the offer; else an option of the quote
  bool operator==(const Piece&) const = default;
};

/// Something that the largest piece must pass on its way in.
struct WayIn {
  std::string label;
  std::string kind;  ///< `door`, `stairs` or `lift`
  Length width, height;
  std::optional<Length> depth;  ///< lifts, landings
  std::optional<double> limit_kg;
  bool operator==(const WayIn&) const = default;
};

struct Site {
  double distance_km = 0;
  int trips = 1;
  std::string fixing_ground;  ///< what screws go into: `wood`, `masonry`, `unknown`
  double stud_specific_gravity = 0.40;
  std::vector<WayIn> way_in;
  bool operator==(const Site&) const = default;
};

/// One line of an order. Its product is one of Job::products, made to the line's own size and
/// cloth.
struct OrderItem {
  std::string label;    ///< its pieces are this and a number: `A1`, `A2` …
  std::string product;  ///< key
  int count = 1;
  bool operator==(const OrderItem&) const = default;
};
/// What a customer hangs alone: no room is known.
struct Order {
  bool collected = false;  ///< by the customer: no carriage
  std::string zone;        ///< of the carrier's rates
  std::vector<OrderItem> items;
  bool operator==(const Order&) const = default;
};

/// One job, read and checked, with its shop.
struct Job {
  std::string title, reference, date, revision;
  std::string start;  ///< the first day in the shop; empty: as soon as what it needs is there
  std::string due;    ///< the day by which it was promised to hang; empty: none
  acoustics::Use use = acoustics::Use::mixing;
  Client client;
  Region region;
  acoustics::AirInput climate;

  std::vector<std::array<Length, 2>> plan;  ///< anticlockwise from above
  std::optional<Length> height;             ///< flat ceiling
  std::vector<Point> ceiling;               ///< else three points of its plane
  acoustics::Room room;
  std::vector<Diagonal> diagonals;
  std::vector<HeightReading> heights;
  std::vector<std::string> finish;  ///< material key by surface index, all filled
  std::vector<Feature> features;
  std::vector<Furniture> furniture;
  std::vector<Loudspeaker> loudspeakers;
  std::vector<Seat> seats;
  std::vector<design::ProductSpec> products;
  std::vector<Piece> pieces;
  Site site;
  std::optional<Order> order;  ///< then there is no room, and pieces have no place
  shop::Shop shop;
  std::vector<std::string> notes;  ///< what reading changed: the steps of a migration

  const design::ProductSpec* product(std::string_view key) const;
  bool operator==(const Job&) const = default;
};

/// Reads a job from the text of a TOML or JSON document (told apart by their first sign) and the
/// text of its shop file.
/// Errors: every mistake of both, with line, key, what was got and what would be right; those of
/// the shop file first, each file's in its own order, `shop file` or `job file` before the key; of
/// more than most_mistakes_told in one file, these and how many more there are.
inline constexpr std::size_t most_mistakes_told = 300;
struct Sources {
  std::string job_text, shop_text;
};
Result<Job> read_job(const Sources& sources);

/// The shop file that a job names (`shop = "shop.toml"`), read from the text alone, so that the
/// caller can fetch it: a plain name, never a path. Errors: the text is no TOML or JSON, or names
/// none.
Result<std::string> shop_file_of(std::string_view job_text);

/// The tree of a TOML or JSON document, whatever its keys mean. Errors: more than 2 MB, 20 levels,
/// 50,000 values or 80 bytes a key; not UTF-8; broken TOML or JSON; a key twice in one table. Each
/// with its line.
Result<Json> document_tree(std::string_view text);
/// Reads a shop file alone. Errors: every mistake, as read_job tells them.
Result<shop::Shop> read_shop_file(std::string_view shop_text);

/// Brings a tree of an older schema to schema_version in place, and the lines of its keys with it;
/// says each step it took. Errors: no version, or one that is newer or none.
Result<std::vector<std::string>> migrate(Json& tree, Lines* lines = nullptr);

/// The JSON Schema (2020-12) of the job document and of the shop file.
Json job_schema();
Json shop_schema();

}  // namespace roomwright::job
