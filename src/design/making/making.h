// How a product is made at the bench, worked out from its members, edge and cloth: the marks of its
// sticks, the settings of drill and router, and how the cloth is folded at a corner. Papers draw
// what stands here and compute only where it goes on the sheet.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/geometry/geometry.h"
#include "core/quantity/quantity.h"
#include "design/products/products.h"
#include "shop/stock/stock.h"

namespace roomwright::design {

// ---- story sticks ---------------------------------------------------------------------------

enum class MarkKind { end, edge, screw, hanger, hole, staple };
struct StoryMark {
  Length at;  ///< from the squared end: left or lower as the piece hangs
  MarkKind kind = MarkKind::edge;
  std::string what;  ///< `stile`, `screw`, `hanger`; empty for staples
};
/// Every mark of one kind of member on one stick.
struct StoryStick {
  std::string member;  ///< `stile`, `rail`; of boxes and diffusers `width`, `height`
  std::string from;    ///< which end is squared: `left end`, `lower end`
  int members = 1;     ///< that are marked from it
  Length length, width;
  std::vector<StoryMark> marks;  ///< ascending; both ends
};

// ---- drill and router -----------------------------------------------------------------------

struct ScrewHole {
  Length from_face;   ///< its axis
  std::string check;  ///< the bench check's sentence; empty where nothing is routed
  bool ok = true;
};
struct Setting {
  std::string member;
  Length stop;
  int count = 0;
};
/// Drills as drills_for; a head twice as wide as the thread: common practice, no source.
struct SetUp {
  std::vector<Setting> stops;  ///< longest first
  bool screwed = false;
  std::string screw;  ///< as the shop calls it
  Length thread, screw_length, clearance_hole, pilot_hole, pilot_depth, head;
  std::vector<ScrewHole> holes;
  Length member_width, member_depth;           ///< of the section
  std::vector<std::array<Length, 2>> profile;  ///< (in from the edge, back from the face)
  std::vector<Length> passes;  ///< the bit's height in each; empty: nothing is routed
};

// ---- cloth ----------------------------------------------------------------------------------

enum class FoldPart { bench, wood, cloth, lining, outline, crease, cut, staple, number };
/// A face or a line in space, metres: x and y in the plane of the face from the outer corner of the
/// frame inward, z from the face up to the back (the piece lies face down).
struct FoldShape {
  FoldPart part = FoldPart::outline;
  std::vector<Vec3> points_m;
  std::string text;  ///< of numbers
};
struct FoldStep {
  std::string title, sentence;
  bool flat = true;  ///< drawn from above; else from the corner, to the side
  std::vector<FoldShape> shapes;
};
enum class CornerShape { square, shaped, acute, reentrant };
/// The face cloth at one corner. `turn`: from the outer edge to where the cloth turns on to the
/// back.
struct FoldPlan {
  CornerShape corner = CornerShape::square;
  Length across, along;  ///< cut size of the cloth
  Length margin;         ///< cloth beyond the frame on every side
  Length turn, wrap, fold;
  /// Of the corner cut off, along each edge of the cloth; re-entrant: how far from the corner each
  /// flap stands at the back.
  Length cut_leg;
  Length stop_short;  ///< of the corner: staples up to here before the fold; re-entrant: the cut
  Length staple_pitch;
  Length staple_row;  ///< in from the edge of the back: in the wood, however far the cloth reaches
  std::vector<FoldStep> steps;
};

struct Making {
  std::vector<StoryStick> sticks;
  SetUp set_up;
  std::vector<FoldPlan> folds;       ///< none or one; of an outline, one for each re-entrant angle
  std::vector<FoldStep> back_cloth;  ///< empty where there is none
};
Making making_of(const Product& product, const shop::Shop& shop);

}  // namespace roomwright::design
