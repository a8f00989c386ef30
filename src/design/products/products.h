// What the shop builds, by parameters: each product is at once layers (for the physics) and parts
// (for the saw), from one set of sizes. The step from the sizes on the tape to physics in metres,
// and to the shop's own grid, happens here and only here.
//
// Kinds, all generic:
//   wall panel       a timber frame with boards inside, cloth round the face, hung flat with a gap
//   straddling trap  the same frame set across a corner, air behind it
//   solid trap       a triangular prism full of board, in a corner, cloth on the face
//   ceiling cloud    the frame hung below the ceiling; sound reaches both faces
//   tuned trap       a closed box of sheet material with a perforated, slotted or plain front
//   diffuser         a row of wells between fins, or a grid of blocks, by a sequence of numbers
//   free screen      the frame on two feet, cloth on both faces, moved about the room
//   window plug      the frame with a sheet behind it, pressed into a window's reveal
//   custom           layers and a frame's outline as a person gives them, mitred at any angle
// Sound of traps and clouds is an approximation (strips of varying depth; two faces), named in
// `Sound::approximation`, with a doubt that says so, until a field solution replaces it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/diffusers/diffusers.h"
#include "acoustics/materials/materials.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"
#include "core/geometry/geometry.h"
#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"
#include "shop/stock/stock.h"

namespace roomwright::design {

enum class Kind {
  wall_panel,
  straddling_trap,
  solid_trap,
  ceiling_cloud,
  tuned_trap,
  diffuser,
  free_screen,
  window_plug,
  custom
};
/// `wall panel`, `straddling corner trap`, `solid corner trap`, `ceiling cloud`, `tuned trap`,
/// `diffuser`, `free-standing screen`, `window plug`, `custom piece`
std::string kind_title(Kind kind);
/// Whether it hangs: screens stand and plugs are pressed in.
bool hangs(Kind kind);

enum class EdgeShape { square, chamfer, round_over, cove };
/// What the router takes off all round the face.
struct EdgeSpec {
  EdgeShape shape = EdgeShape::square;
  Length size;            ///< chamfer: on the face; round-over and cove: the radius
  double angle_deg = 45;  ///< chamfer: of the cut against the face
  /// How far the cut reaches in from the edge, and back from the face.
  Length face() const;
  Length side() const;
  bool operator==(const EdgeSpec&) const = default;
};

enum class Joint { butt, half_lap, mitre };
enum class Mounting { stand_off, french_cleat, clips };
enum class StretcherRun { shorter, level, upright };  ///< shorter: across the long side

enum class Front { perforated, slotted, membrane };
enum class FillPlace { behind_front, middle, at_back };

/// The front of a tuned trap and the cavity behind it.
struct TunedFront {
  Front front = Front::perforated;
  std::string sheet;   ///< of the front
  Length hole, pitch;  ///< perforated: drill and square grid
  Length slot, slat;   ///< slotted: the gap, and the strip of sheet between two gaps
  Length cavity;       ///< from the front's back to the back sheet
  FillPlace fill = FillPlace::behind_front;
  bool operator==(const TunedFront&) const = default;
};

/// The wells of a diffuser.
struct WellPlan {
  acoustics::Sequence sequence = acoustics::Sequence::quadratic_residue;
  int prime = 7;
  double design_hz = 0;
  Length well;      ///< clear width; of a grid the width of its blocks
  int periods = 1;  ///< side by side
  bool grid = false;
  bool operator==(const WellPlan&) const = default;
};

/// The feet of a free-standing screen.
struct StandPlan {
  Length foot;  ///< its length, front to back
  bool operator==(const StandPlan&) const = default;
};

/// The opening that a window plug is pressed into.
struct PlugPlan {
  Length reveal_width, reveal_height;  ///< clear
  Length seal;                         ///< thickness of the soft strip before it is pressed
  bool operator==(const PlugPlan&) const = default;
};

enum class LayerOf { cloth, board, sheet, air };
struct CustomLayer {
  LayerOf of = LayerOf::air;
  std::string key;   ///< of the shop file; air has none
  Length thickness;  ///< of air
  bool operator==(const CustomLayer&) const = default;
};
/// A frame's outline (anticlockwise from the front, x right, y up; re-entrant corners too) and what
/// lies in it, from the face to the back.
struct CustomPlan {
  std::vector<std::array<Length, 2>> outline;
  std::vector<CustomLayer> layers;
  bool operator==(const CustomPlan&) const = default;
};

/// What a person writes down for a product. Keys name entries of the shop file.
struct ProductSpec {
  std::string key;
  std::string name;
  Kind kind = Kind::wall_panel;
  std::string timber;
  std::string board;
  std::string cloth;
  std::string back_cloth;  ///< empty: none
  std::string sheet;  ///< solid trap: its two end plates; tuned trap: its box; diffuser: its boards
  int board_layers = 1;          ///< one behind another
  std::optional<Length> width;   ///< finished frame, outside; none: what a whole board asks for
  std::optional<Length> height;  ///< across and along the board as it stands in the frame
  Length chamfer;                ///< 0: square edge; else 45°, measured on the face
  Length gap;                    ///< wall panel: frame back to wall; cloud: frame back to ceiling
  std::optional<TunedFront> tuned;  ///< tuned trap
  std::optional<WellPlan> wells;    ///< diffuser
  std::optional<EdgeSpec> edge{};   ///< in place of `chamfer`
  Joint joint = Joint::butt;        ///< of the frame's corners
  std::optional<int> stretchers{};  ///< none: by the shop's rule
  StretcherRun stretcher_run = StretcherRun::shorter;
  Mounting mounting = Mounting::stand_off;  ///< wall panels and custom pieces
  std::optional<StandPlan> stand{};         ///< free screen
  std::optional<PlugPlan> plug{};           ///< window plug
  std::optional<CustomPlan> custom{};
  bool operator==(const ProductSpec&) const = default;
};
/// `edge`, or `chamfer` at 45°.
EdgeSpec edge_of(const ProductSpec& spec);

/// Drills for a wood screw, in the shop's own steps (half a millimetre, 1/64 in).
/// clearance: a step wider than the thread (common practice, no source). pilot: 70 % of the
/// thread's root in softwood, 90 % in hardwood (specific gravity above 0.6); the root is taken as
/// two thirds of the thread (common practice, no source). Source: ANSI/AF&PA NDS commentary,
/// C11.1.2.1
struct Drills {
  Length clearance, pilot;
  double share_of_root = 0;
};
Drills drills_for(Length thread, double specific_gravity, const Units& units);

/// A corner of an outline: (x, y) in the face, or (x, z) of what is drawn in plan.
using Corner = std::array<Length, 2>;

/// Wood taken out of a member, in the product's coordinates.
struct Notch {
  Length x, y, width, height, z, depth;
};

/// A stick in place. x to the right and y up from the frame's lower left outer corner, seen from
/// the front; z from the face backward.
struct Member {
  std::string name;
  Length x, y, width, height;  ///< in the face: the box round it
  Length z, depth;
  std::string section;
  Length length;                  ///< along the grain, long point to long point
  std::vector<Corner> outline{};  ///< empty where the box is filled
  bool in_plan = false;           ///< the outline is (x, z), else (x, y)
  std::vector<Notch> notches{};   ///< of half-laps
};

struct BoardPlace {
  Length x, y, width, height;
  Length z, thickness;
  bool triangle = false;
  std::vector<Corner> outline{};  ///< (x, y); empty where the box is filled
  std::string board{};            ///< key; empty: the product's
};

/// A screw in place, in metres: it goes in at `at`, its head flush, toward `along`.
struct Screw {
  std::string joint;          ///< `each corner`, `corner 3`, `each stretcher's end`
  std::string first, second;  ///< the member that it passes, the one that it holds
  int number = 1;             ///< from the face, in its joint
  Vec3 at, along;
  double diameter_m = 0, head_m = 0, length_m = 0;  ///< over the thread; of the head; whole
  double from_end_m = 0;   ///< its axis from the first member's end, along the grain
  double from_side_m = 0;  ///< and from the nearest side of the second, in the face
  double first_m = 0;      ///< of its way in the first member
  double wood_m = 0;       ///< until it would come out
};

/// A side of the frame's outline. The router runs along it, unless edges are square; what it takes
/// away lies inward of the side and behind its z.
struct OuterSide {
  std::string member;
  Vec3 from, to;  ///< on the outer side, in the face's plane
  Vec3 inward;    ///< unit, in the face
};

/// A part of sheet material in place, as members are.
struct Plate {
  std::string name, sheet;
  Length x, y, width, height;
  Length z, depth;
  double open_area = 0;           ///< drilled away
  std::vector<Corner> outline{};  ///< (x, y); empty where the box is filled
};

/// One layer stack over a share of the face.
struct Strip {
  double area_share = 1;  ///< sums to 1 over the strips of one face
  acoustics::Stack stack;
};

/// How the piece meets sound, before its place is known (right-angled corner assumed for traps).
struct Sound {
  std::vector<Strip> strips;  ///< of the face
  std::vector<Strip> upper;   ///< of the cloud's upper face, with its own share of the area
  double upper_area_m2 = 0;   ///< how much of the upper face counts; 0 for other kinds
  double face_width_m = 0, face_height_m = 0;
  std::optional<acoustics::Wells> wells;  ///< a diffuser: no stack of layers
  std::string approximation;              ///< empty where the layers are exact
  double approximation_doubt = 0;         ///< relative half-width that it adds
};

/// A check at the bench with its number.
struct BenchCheck {
  std::string what;  ///< `screw 1 against the router bit`
  bool ok = true;
  Length clearance;      ///< negative: by how much it fails
  std::string sentence;  ///< which, where, by how many millimetres, what would clear it
};

/// One piece as it is made.
struct Product {
  ProductSpec spec;
  Length width, height, depth;  ///< finished, outside, without the cloth
  Length frame_depth;           ///< front to back of the frame alone
  Length frame_z;               ///< its face behind the foremost point (feet stand out)
  Length stand_off;             ///< gap behind the frame
  Length lift_on;               ///< free height above, needed to lift it on its cleat or clips
  std::vector<Member> members;
  std::vector<BoardPlace> boards;
  std::vector<Plate> plates;
  std::vector<std::string> making;  ///< what the drawing must say besides: holes, slots, depths
  shop::Parts parts;                ///< `piece` left empty
  double timber_kg = 0, board_kg = 0, cloth_kg = 0, other_kg = 0;
  double mass_kg() const { return timber_kg + board_kg + cloth_kg + other_kg; }
  Vec3 centre_of_gravity_m;  ///< from the lower left front corner, z backward
  bool two_people = false;
  EdgeSpec edge;
  int router_passes = 0;            ///< on each side
  std::vector<Length> bit_heights;  ///< in each pass, from the face back
  std::vector<std::array<Length, 2>>
      edge_profile;   ///< (in from the edge, back from the face), face to back; an arc as 16 chords
  Length cloth_path;  ///< the taut cloth over that profile from the face to the back, exact on arcs
  std::vector<Screw> screws;     ///< of the frame's joints
  std::vector<OuterSide> sides;  ///< of the frame
  Sound sound;
  std::vector<BenchCheck> checks;
  std::vector<std::string> cautions;
};

/// Limits: sides 100 mm to 3 m, gap 0 to 1 m, 1 to 6 board layers; a custom outline of 3 to 12
/// corners, each from 30° to 330° and 15° off straight, its arms with 50 mm between their members,
/// its notches two members wide; a chamfer from 15° to 75°.
/// Errors name `spec` keys under `where`, every one at once: keys not in the shop file, boards
/// deeper than the frame, sizes out of range, a chamfer larger than the bit or the timber allows,
/// members that cross. A failing bench check (a screw in the bit's path) is no error: it is in
/// `checks`, and the build stage reports it first.
Result<Product> make_product(const ProductSpec& spec, const shop::Shop& shop,
                             const std::string& where);

/// Flow resistivity of a board of the shop, 10th, 50th and 90th percentile: stated, ±10 % (common
/// practice, no source); else by its fibre diameter and the relation of its fibre; else the
/// library's range, moved to the board's own density.
acoustics::FlowResistivity wool_resistivity(const shop::Board& board);

/// A cloth as it hangs, stretched over its frame: pulled 5 % thinner it weighs 5 % less and lets
/// about 10 % more air through (common practice, no source).
acoustics::ScreenLayer stretched_cloth(const shop::Cloth& cloth);

/// The outline of a piece as it hangs, seen from the front, from the lower left of its box; turned:
/// a quarter anticlockwise. Kinds without an outline: their box.
Polygon face_outline(const Product& product, bool turned);
double face_area_m2(const Product& product);
/// Across the grain, of the first member; 0 where there is none.
double member_width_m(const Product& product);
/// Rectangles that together hold the outline: exactly it where its sides are level or upright, else
/// strips of at most 25 mm.
struct FaceBox {
  Vec2 from_m, to_m;
};
std::vector<FaceBox> face_boxes(const Product& product, bool turned);
/// Points on the wood of a custom piece's sides, left to right, with the centre of gravity
/// between and below the outer two; empty where there are none.
std::vector<Vec2> hang_points_m(const Product& product, int count, bool turned);

/// Volume of a member, board or plate less what is cut out of it (routed edges apart), and its
/// middle, in metres.
struct Solid {
  double volume_m3 = 0;
  Vec3 middle_m;
};
Solid solid_of(const Member& member);
Solid solid_of(const BoardPlace& board);
Solid solid_of(const Plate& plate);

/// What must be said of a piece that stands free or is pressed in; empty for what hangs.
std::string standing_caution(Kind kind);

/// The outside size of a window plug's frame in its reveal.
Length plug_side(Length reveal, const shop::Rules& rules);

/// The push at the top, square to the face, that tips a free-standing screen.
double tipping_force_n(const Product& product);

/// Middles of the holes of a perforated front, from the lower left corner; empty for other fronts.
std::vector<Vec2> holes_of(const Product& product);

/// Absorption of one placed piece by octave, in m² of sabine, with its range.
struct PieceAbsorption {
  acoustics::OctaveSpectrum low_m2{}, likely_m2{}, high_m2{};
  acoustics::OctaveSpectrum coefficient{};  ///< likely_m2 over the face's area
  std::vector<std::string> warnings;
};

/// The range is the 10th to 90th percentile over the board's flow resistivity (an even sample of
/// 33), widened by the approximation. corner_angle_deg: between the walls that a trap straddles.
/// Source: the layers by absorbers.h (diffuse incidence to 78°, finite size as named there).
Result<PieceAbsorption> absorption_of(const Product& product, const shop::Shop& shop,
                                      const acoustics::Air& air, double corner_angle_deg = 90);

/// Distance from the corner along each wall to the edge of a face of this width, and from the
/// corner to the middle of the face.
struct CornerReach {
  double along_wall_m = 0;
  double to_face_m = 0;
};
CornerReach corner_reach(double face_width_m, double corner_angle_deg);

}  // namespace roomwright::design
