// What the shop builds, by parameters: each product is at once layers (for the physics) and parts
// (for the saw), from one set of sizes. The step from the sizes on the tape to physics in metres,
// and to the shop's own grid, happens here and only here.
//
// Kinds, all generic:
//   wall panel       a timber frame with boards inside, cloth round the face, hung flat with a gap
//   straddling trap  the same frame set across a corner, air behind it
//   solid trap       a triangular prism full of board, in a corner, cloth on the face
//   ceiling cloud    the frame hung below the ceiling; sound reaches both faces
// Sound of traps and clouds is an approximation (strips of varying depth; two faces), named in
// `Sound::approximation`, with a doubt that says so, until a field solution replaces it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/sound/sound.h"
#include "core/base/base.h"
#include "core/geometry/geometry.h"
#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"
#include "shop/stock/stock.h"

namespace roomwright::design {

enum class Kind { wall_panel, straddling_trap, solid_trap, ceiling_cloud };
/// `wall panel`, `straddling corner trap`, `solid corner trap`, `ceiling cloud`
std::string kind_title(Kind kind);

/// What a person writes down for a product. Keys name entries of the shop file.
struct ProductSpec {
  std::string key;
  std::string name;
  Kind kind = Kind::wall_panel;
  std::string timber;
  std::string board;
  std::string cloth;
  std::string back_cloth;        ///< empty: none
  std::string sheet;             ///< solid trap: its two end plates
  int board_layers = 1;          ///< one behind another
  std::optional<Length> width;   ///< finished frame, outside; none: what a whole board asks for
  std::optional<Length> height;  ///< across and along the board as it stands in the frame
  Length chamfer;                ///< 0: square edge; else 45°, measured on the face
  Length gap;                    ///< wall panel: frame back to wall; cloud: frame back to ceiling
};

/// A stick in place. x to the right and y up from the frame's lower left outer corner, seen from
/// the front; z from the face backward.
struct Member {
  std::string name;
  Length x, y, width, height;  ///< in the face
  Length z, depth;
  std::string section;
  Length length;  ///< along the grain
};

struct BoardPlace {
  Length x, y, width, height;
  Length z, thickness;
  bool triangle = false;
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
  std::string approximation;       ///< empty where the layers are exact
  double approximation_doubt = 0;  ///< relative half-width that it adds
};

/// A check at the bench with its number.
struct BenchCheck {
  std::string what;  ///< `screw against router bit, corner of stile and rail`
  bool ok = true;
  Length clearance;      ///< negative: by how much it fails
  std::string sentence;  ///< which, where, by how many millimetres, what would clear it
};

/// One piece as it is made.
struct Product {
  ProductSpec spec;
  Length width, height, depth;  ///< finished, outside, without the cloth
  Length stand_off;             ///< gap behind the frame
  std::vector<Member> members;
  std::vector<BoardPlace> boards;
  shop::Parts parts;  ///< `piece` left empty
  double timber_kg = 0, board_kg = 0, cloth_kg = 0, other_kg = 0;
  double mass_kg() const { return timber_kg + board_kg + cloth_kg + other_kg; }
  Vec3 centre_of_gravity_m;  ///< from the lower left front corner, z backward
  bool two_people = false;
  int router_passes = 0;  ///< on each side
  std::vector<std::array<Length, 2>>
      edge_profile;   ///< (in from the edge, back from the face), face to back
  Length cloth_path;  ///< along that profile from the face to the back
  Sound sound;
  std::vector<BenchCheck> checks;
  std::vector<std::string> cautions;
};

/// Limits: sides 100 mm to 3 m, gap 0 to 1 m, 1 to 6 board layers.
/// Errors name `spec` keys under `where`, every one at once: keys not in the shop file, boards
/// deeper than the frame, sizes out of range, a chamfer larger than the bit or the timber allows,
/// members that cross. A failing bench check (a screw in the bit's path) is no error: it is in
/// `checks`, and the build stage reports it first.
Result<Product> make_product(const ProductSpec& spec, const shop::Shop& shop,
                             const std::string& where);

/// Absorption of one placed piece by octave, in m² of sabine, with its range.
struct PieceAbsorption {
  acoustics::OctaveSpectrum low_m2{}, likely_m2{}, high_m2{};
  acoustics::OctaveSpectrum coefficient{};  ///< likely_m2 over the face's area
  std::vector<std::string> warnings;
};

/// The range comes from the board's flow resistivity (stated: ±10 %; else the library's range) and
/// from the approximation. corner_angle_deg: between the walls that a trap straddles.
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
