// What the shop can buy or has in hand, what it pays, how long things take, and the rules by which
// it builds: the shop file, shared between jobs. Each rule has a default and a reason
// (docs/shop/rules.md prints both). Read from TOML by job/document; here are only the words.
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"

namespace roomwright::shop {

/// Sticks of one length.
struct StickStock {
  Length length;            ///< nominal
  Length shortest;          ///< no stick of this length is shorter: plans are made for this
  Money price;              ///< each; what is in hand was paid for already
  int in_hand = 0;          ///< sticks in the rack
  std::optional<int> sold;  ///< how many the yard has this month; none: as many as wanted
  bool operator==(const StickStock&) const = default;
};

struct Timber {
  std::string name;
  Length width;  ///< across the face of a panel's frame (what the front shows)
  Length depth;  ///< front to back
  double density_kg_m3 = 450;
  double specific_gravity = 0.40;  ///< oven-dry mass, volume at 12 % moisture
  std::vector<StickStock> sticks;
  int lead_days = 0;  ///< from the order to the door, on the calendar
  bool operator==(const Timber&) const = default;
};

struct Cloth {
  std::string name;
  Length roll_width;  ///< usable, between the selvedges
  Length sold_by;     ///< cut length is rounded up to a multiple of this
  Money price_per_m;
  Length in_hand;  ///< what is on the roll in the rack, one dye lot
  double mass_kg_m2 = 0.25;
  double flow_resistance_pa_s_m = 50;
  bool pile_one_way = true;
  std::string fire_note;  ///< what the supplier's certificate says, such as `EN 13501-1 B-s1,d0`
  int lead_days = 0;
  bool face = true;  ///< false: for backs alone, nobody is to look at it
  bool operator==(const Cloth&) const = default;
};

struct Board {
  std::string name;
  Length width, height, thickness;
  double density_kg_m3 = 60;
  std::optional<double> flow_resistivity_pa_s_m2;  ///< measured or stated by the maker
  std::string
      material;  ///< key of the library of porous boards: gives the range where nothing is stated
  int per_pack = 1;
  Money price_per_pack;
  int in_hand = 0;  ///< boards
  std::string fire_note;
  std::optional<double> fibre_um{};  ///< mean fibre diameter, where the maker states it
  double binder_percent = 0;         ///< of the mass
  int lead_days = 0;
  bool operator==(const Board&) const = default;
};

struct Sheet {
  std::string name;
  Length width, height, thickness;
  double density_kg_m3 = 680;
  Money price;
  int in_hand = 0;
  int lead_days = 0;
  bool operator==(const Sheet&) const = default;
};

/// How hardware is used; the rules pick by this word and by `for`.
struct Hardware {
  std::string name;
  std::string unit = "each";  ///< `each`, `m` or `ml`
  double per_pack = 1;
  Money price_per_pack;
  double in_hand = 0;
  std::optional<Length> diameter;  ///< screws: over the thread
  std::optional<Length> length;    ///< screws and staples
  double mass_kg = 0;              ///< of one
  int lead_days = 0;
  bool operator==(const Hardware&) const = default;
};

enum class Through { short_members, long_members };  ///< which run over the ends of the others

/// Rules of building. Every length is the shop's own; the defaults are for metric shops.
struct Rules {
  // Saw.
  Length kerf;
  Length end_trim;               ///< cut off each raw end, its saw cut included
  Length least_offcut;           ///< an offcut at least this long goes back to the rack
  bool mark_both_faces = false;  ///< each mark is drawn on two faces of the stick
  // Frames.
  Through through = Through::short_members;
  Length clearance_across;  ///< both sides together, in the board's width
  Length clearance_along;   ///< both sides together, in the board's length
  Length stretcher_span;    ///< a member longer than this gets a stretcher in the middle
  Length grid;              ///< sizes of parts are rounded to this
  // Corner screws.
  std::string corner_screw;  ///< hardware key
  int screws_per_corner = 2;
  Length screw_from_face;  ///< first screw's axis from the frame's front face
  Length screw_from_back;  ///< last screw's axis from the frame's back
  Length screw_clearance;  ///< least distance between a screw and the cut of the router bit
  double glue_ml_per_corner = 3;
  std::string glue;       ///< hardware key, may be empty
  std::string lap_screw;  ///< hardware key: from the back through a half-lap; empty: glued alone
  double end_distance_diameters = 2;   ///< a drilled screw's axis from the end of its member
  double edge_distance_diameters = 2;  ///< and from the member's side, or what the router leaves
  // Edges.
  Length chamfer_per_pass;  ///< deepest chamfer in one pass; a bigger one takes more
  Length router_bit;        ///< largest chamfer of the bit, the longer of its two legs
  Length round_per_pass;    ///< largest radius in one pass
  Length round_bit;         ///< largest radius of round-over and cove bits
  // Cloth.
  Length wrap;         ///< cloth on the back of the frame
  Length fold;         ///< more at each side, to be gripped and trimmed
  Length roll_end;     ///< lost at the start of a roll
  std::string staple;  ///< hardware key
  Length staple_pitch;
  Length staple_margin;     ///< wood left behind a staple's points
  Length back_cloth_inset;  ///< back cloth ends this far inside the frame's edge
  // Hanging.
  std::string panel_hanger;  ///< hardware key, and how many for a panel
  int hangers_per_panel = 2;
  std::string cloud_hanger;
  int hangers_per_cloud = 4;
  std::string safety_wire;      ///< one for each cloud hanger, apart from it
  std::string wall_screw;       ///< hardware key: the screw into the wall or joist
  std::string cleat_timber;     ///< timber key of French cleats; empty: the product's own
  double cleat_angle_deg = 45;  ///< of the rip against the level
  Length cleat_play;            ///< lift beyond the bevel, to hook it on
  std::string panel_clip;       ///< hardware key, and how many for a panel
  int clips_per_panel = 4;
  Length clip_lift;  ///< free height above, to hang a panel on its clips
  // Screens and plugs.
  double tip_force_n = 30;  ///< a push at the top that a screen must stand
  Length plug_clearance;    ///< between a plug's frame and the reveal, each side
  std::string plug_seal;    ///< hardware key, sold by the metre
  std::string plug_grip;    ///< hardware key, and how many for a plug
  int grips_per_plug = 2;
  double hanging_factor = 5;  ///< asked safety factor for what hangs
  double two_person_kg = 20;  ///< from this weight, or
  Length two_person_length;   ///< from this length, two people lift
  // Placing.
  Length keep_clear;  ///< between a piece and an edge of its wall or a neighbour
  // Before it leaves.
  Length square_within;  ///< the two diagonals differ by no more
  Length flat_within;    ///< a corner stands off a flat bench by no more
  double weight_within_percent =
      10;  ///< of the computed weight: what the materials' densities may do
  bool operator==(const Rules&) const = default;
};

/// Minutes at a station: once a batch for setting up, and each time.
struct Times {
  std::map<std::string, double> set_up_min;  ///< by station name
  std::map<std::string, double> each_min;    ///< by feature
  bool operator==(const Times&) const = default;
};

/// Who and what works on a run.
struct Line {
  int people = 1;
  std::map<std::string, int> machines;     ///< by station name
  std::map<std::string, double> wait_min;  ///< after a station, without anyone: glue, finish
  bool operator==(const Line&) const = default;
};

/// When the shop works. Times of day in minutes after midnight.
struct Hours {
  int per_day_min = 8 * 60;
  int begins = 8 * 60;
  int pause_at = 12 * 60, pause_min = 30;
  std::array<bool, 7> works{true, true, true, true, true, false, false};  ///< Monday first
  std::vector<std::string> holidays;                                      ///< year-month-day
  bool operator==(const Hours&) const = default;
};

/// What is added to the cost.
struct Terms {
  Decimal labour_per_hour;  ///< cost of an hour in the shop, in currency units
  Decimal site_per_hour;
  Decimal overhead_percent;  ///< on labour and material
  Decimal margin_percent;    ///< of the price, not of the cost
  Decimal tax_percent;
  std::string tax_name = "VAT";
  Decimal deposit_percent;  ///< of the total, due with the order
  int valid_days = 30;
  int due_days = 14;
  Decimal travel_per_km;
  Decimal consumables_per_piece;  ///< blades, abrasive, pencils …
  Decimal waste_removal;          ///< one sum a job
  double site_minutes_per_piece = 20;
  double site_minutes_set_up = 60;
  bool operator==(const Terms&) const = default;
};

/// How finished pieces are protected, stacked and boxed.
struct Packing {
  Length wrap;                           ///< cloth, paper and corner guards: more on each side
  double wrap_kg_m2 = 0.3;               ///< of the package's surface
  double bears_kg = 60;                  ///< most that may rest on one package
  int layers = 2;                        ///< packages above one another, the lowest counted
  std::map<std::string, int> layers_of;  ///< the same for kinds that bear more or less
  // Orders that a carrier takes.
  Length carton;   ///< board and padding: more on each side
  Length between;  ///< between two pieces of a carton
  double carton_kg_m2 = 0.9;
  int carton_pieces = 6;  ///< most in one carton
  double carton_kg = 20;  ///< most in one carton that one person lifts
  bool operator==(const Packing&) const = default;
};

/// The load space, as one looks in from the rear doors; 0 where a van has no such thing.
struct Van {
  std::string name;
  Length length, width, height;  ///< bulkhead to doors, between the walls, floor to roof
  double payload_kg = 0;
  Length between_arches, arches_from, arches_length, arches_height;  ///< from: of the bulkhead
  Length rear_axle, wheelbase;  ///< of the bulkhead; from axle to axle
  double rear_axle_kg = 0;      ///< what the rear axle takes of the load
  bool operator==(const Van&) const = default;
};

/// One rate of a carrier: the cheapest that takes a carton is taken.
struct Rate {
  std::string name, zone;
  double most_kg = 0;   ///< charged weight
  Length most_length;   ///< longest side
  Length most_girth;    ///< longest side and the way round the other two
  Money price, per_kg;  ///< for each carton, and for each charged kilogram
  bool operator==(const Rate&) const = default;
};
struct Carriage {
  double volumetric_kg_m3 = 200;  ///< what a cubic metre is charged as
  double step_kg = 1;             ///< charged weight is rounded up to it
  std::vector<Rate> rates;
  bool operator==(const Carriage&) const = default;
};

/// Labels on a sheet of the region's paper.
struct LabelSheet {
  int across = 2, down = 4;
  Length width, height;           ///< of one label
  Length left, top;               ///< of the first, from the paper's edges
  Length step_across, step_down;  ///< from one to the next
  bool operator==(const LabelSheet&) const = default;
};

/// The shop file.
struct Shop {
  std::string name;  ///< as it stands on the quote; the demo's is a generic description
  Currency currency;
  Units units;  ///< how the shop reads and prints lengths
  std::map<std::string, Timber> timber;
  std::map<std::string, Cloth> cloths;
  std::map<std::string, Board> boards;
  std::map<std::string, Sheet> sheets;
  std::map<std::string, Hardware> hardware;
  Rules rules;
  Times times;
  Terms terms;
  Packing packing;
  std::optional<Van> van;
  Carriage carriage;
  LabelSheet labels;
  Line line;
  Hours hours;
  bool operator==(const Shop&) const = default;
};

/// The defaults of Rules and Times for a metric or an inch shop. Lengths are round in its own
/// units.
Rules default_rules(bool metric);
Packing default_packing(bool metric);
LabelSheet default_labels(bool metric);
Times default_times();
Line default_line();

/// The features that Times::each_min must price (the schedule asks for no others).
const std::vector<std::string>& time_features();

}  // namespace roomwright::shop
