// The cloth at a corner. Cloth does not stretch here: a fold keeps every length, so where it must
// crease follows from the edge's profile. Flat, with the outer corner of the frame at (0, 0) and
// the frame at x, y > 0, flap A runs off at x < 0 and is folded first, flap B at y < 0. What lies
// between them, the ear, goes round the corner: half of it on flap A's side, half under flap B.
#include <algorithm>
#include <cmath>
#include <set>

#include "design/making/parts.h"

namespace roomwright::design {

namespace {

using Line3 = std::vector<Vec3>;

/// The edge as the cloth runs over it, and the lengths of the fold, in metres.
struct Edge {
  std::vector<Vec2> profile;  ///< (in, back), face to back
  std::vector<double> path;   ///< along it, from the face
  double inset = 0, depth = 0, turn = 0, wrap = 0, fold = 0, margin = 0, member = 0;
  double low = 0;             ///< where the straight side begins, from the face
  double pitch = 0, row = 0;  ///< row: of staples, in from the edge
  double reach = 0;           ///< how much of the frame is drawn

  /// At this distance from the face's edge along flap A, over the edge and on to the back.
  Vec2 at(double s) const {
    for (std::size_t i = 1; i < path.size(); ++i)
      if (s <= path[i]) {
        const double share =
            path[i] > path[i - 1] ? (s - path[i - 1]) / (path[i] - path[i - 1]) : 0;
        return profile[i - 1] + (profile[i] - profile[i - 1]) * share;
      }
    return {profile.back().x + s - path.back(), depth};
  }
};

Edge edge_of(const Product& product, const shop::Rules& rules) {
  Edge out;
  for (const auto& [in, back] : product.edge_profile)
    out.profile.push_back({in.metres(), back.metres()});
  out.path.push_back(0);
  for (std::size_t i = 1; i < out.profile.size(); ++i)
    out.path.push_back(out.path.back() + length(out.profile[i] - out.profile[i - 1]));
  out.inset = out.profile.front().x;
  out.depth = out.profile.back().y;
  out.low = out.profile[out.profile.size() - 2].y;
  out.turn = out.path.back() - out.inset;
  out.wrap = rules.wrap.metres();
  out.fold = rules.fold.metres();
  out.margin = out.turn + out.wrap + out.fold;
  out.pitch = rules.staple_pitch.metres();
  const Member& member = product.members.front();
  out.member = std::min(member.width, member.height).metres();
  out.row = std::min(out.wrap, out.member) / 2;  // in the wood, and in the cloth
  out.reach = out.margin + 2.5 * out.pitch;
  return out;
}

void line(FoldStep& step, FoldPart part, Line3 points) {
  step.shapes.push_back({part, std::move(points), ""});
}
void number(FoldStep& step, Vec3 at, const std::string& text) {
  step.shapes.push_back({FoldPart::number, {at}, text});
}
Line3 mirrored(Line3 points) {
  for (Vec3& p : points) std::swap(p.x, p.y);
  return points;
}

/// Where flap A creases round the corner, on the flat cloth: along the hip of the two profiles,
/// then along the upright edge.
Line3 crease_on_a(const Edge& e) {
  Line3 out;
  for (std::size_t i = 0; i < e.profile.size(); ++i)
    out.push_back({e.inset - e.path[i], e.profile[i].x, 0});
  return out;
}

// ---- right-angled corners ---------------------------------------------------------------------

void flat_corner(FoldStep& step, const Edge& e) {
  const double far = e.reach, m = e.margin;
  line(step, FoldPart::cloth, {{far, -m, 0}, {-m, -m, 0}, {-m, far, 0}, {far, far, 0}});
  line(step, FoldPart::wood, {{far, 0, 0}, {0, 0, 0}, {0, far, 0}, {far, far, 0}});
  if (e.inset > 0)
    line(step, FoldPart::outline, {{far, e.inset, 0}, {e.inset, e.inset, 0}, {e.inset, far, 0}});
  const Line3 turn = {{-e.turn, far, 0}, {-e.turn, 0, 0}};
  line(step, FoldPart::crease, turn);
  line(step, FoldPart::crease, mirrored(turn));
  line(step, FoldPart::crease, crease_on_a(e));
  line(step, FoldPart::crease, mirrored(crease_on_a(e)));
}

void staples_flat(FoldStep& step, const Edge& e) {
  const double row = e.turn + e.row;
  for (double at = e.turn; at < e.reach - 0.004; at += e.pitch) {
    const Line3 staple = {{-row, at - 0.004, 0}, {-row, at + 0.004, 0}};
    line(step, FoldPart::staple, staple);
    line(step, FoldPart::staple, mirrored(staple));
  }
}

/// The frame's corner as it lies on its face: sides by the profile, then the back.
void wood_corner(FoldStep& step, const Edge& e) {
  const double far = e.reach, w = e.member, d = e.depth;
  for (std::size_t i = 1; i < e.profile.size(); ++i) {
    const Vec2 p = e.profile[i - 1], q = e.profile[i];
    const Line3 side = {{p.x, p.x, p.y}, {p.x, far, p.y}, {q.x, far, q.y}, {q.x, q.x, q.y}};
    line(step, FoldPart::wood, side);
    line(step, FoldPart::wood, mirrored(side));
  }
  line(step, FoldPart::wood,
       {{0, far, d}, {0, 0, d}, {far, 0, d}, {far, w, d}, {w, w, d}, {w, far, d}});
}

/// Flap A over its edge, and on to the back as far as the wrap and the fold reach.
void wrapped_a(FoldStep& step, const Edge& e, double short_of_corner) {
  for (std::size_t i = 1; i < e.profile.size(); ++i) {
    const Vec2 p = e.profile[i - 1], q = e.profile[i];
    line(step, FoldPart::cloth,
         {{p.x, p.x, p.y}, {p.x, e.reach, p.y}, {q.x, e.reach, q.y}, {q.x, q.x, q.y}});
  }
  const double on = e.wrap + e.fold;
  line(step, FoldPart::lining,
       {{0, short_of_corner, e.depth},
        {0, e.reach, e.depth},
        {on, e.reach, e.depth},
        {on, short_of_corner + on, e.depth}});
  for (double at = e.turn; at < e.reach - 0.004; at += e.pitch)
    line(step, FoldPart::staple, {{e.row, at - 0.004, e.depth}, {e.row, at + 0.004, e.depth}});
}

/// Where the corner of the cloth is cut: x + y = -cut.
double cut_sum(const Edge& e) {
  return 2 * e.turn + std::sqrt(2.0) * e.fold;
}

/// The ear while it stands out in the plane of side A: v out of the corner, height by the profile.
Line3 ear(const Edge& e) {
  const double k = cut_sum(e);
  return {{0, 0, e.low},
          {0, -e.margin, e.low},
          {0, -e.margin, std::min(e.depth, k - e.margin + (e.depth - e.turn))},
          {0, -(k - e.turn), e.depth},
          {0, 0, e.depth}};
}

FoldStep first_flap(const Edge& e, const Units& units, const FoldPlan& plan) {
  FoldStep step{"First flap: the upright sides",
                "Pull the cloth of the upright side over the edge and on to the back; staple "
                "it " +
                    print_length(plan.staple_row, units) + " in from the edge, beginning " +
                    print_length(plan.stop_short, units) +
                    " from the corner. The corner's ear stands out past the end.",
                false,
                {}};
  wood_corner(step, e);
  line(step, FoldPart::bench,
       {{e.inset, -e.margin, 0},
        {e.reach, -e.margin, 0},
        {e.reach, e.inset, 0},
        {e.inset, e.inset, 0}});
  wrapped_a(step, e, 0);
  line(step, FoldPart::lining, ear(e));
  number(step, {0, e.reach * 0.55, e.depth / 2}, "1");
  return step;
}

/// The ear laid against side B: its half next to the wood, from the corner to the diagonal.
Line3 tucked(const Edge& e) {
  return {{0, 0, e.low}, {0, 0, e.depth}, {e.depth - e.low, 0, e.depth}};
}

FoldStep tuck(const Edge& e) {
  FoldStep step{
      "Tuck the ear",
      "Lay the ear flat round the corner against the upper or lower side. It creases from "
      "the corner to the cut at 45°; smooth it, nothing may stand up.",
      false,
      {}};
  wood_corner(step, e);
  const double half = e.depth;
  line(step, FoldPart::bench,
       {{e.inset, -e.margin, 0},
        {e.reach, -e.margin, 0},
        {e.reach, e.inset, 0},
        {e.inset, e.inset, 0}});
  wrapped_a(step, e, 0);
  line(step, FoldPart::lining, tucked(e));
  line(step, FoldPart::crease, {{0, 0, e.low}, {half - e.low, 0, e.depth}});
  number(step, {(half - e.low) * 0.36, 0, e.low + (half - e.low) * 0.67}, "2");
  return step;
}

FoldStep second_flap(const Edge& e, const Units& units, const FoldPlan& plan) {
  FoldStep step{"Second flap: top and bottom",
                "Pull the upper and lower cloth over, so that its edge lies along the corner and "
                "covers the ear. Staple through both layers, a staple on each side of the corner's "
                "diagonal, then outward.",
                false,
                {}};
  wood_corner(step, e);
  wrapped_a(step, e, 0);
  for (std::size_t i = 1; i < e.profile.size(); ++i) {
    const Vec2 p = e.profile[i - 1], q = e.profile[i];
    line(step, FoldPart::cloth,
         mirrored({{p.x, p.x, p.y}, {p.x, e.reach, p.y}, {q.x, e.reach, q.y}, {q.x, q.x, q.y}}));
  }
  const double on = e.wrap + e.fold;
  line(step, FoldPart::lining,
       {{0, 0, e.depth}, {e.reach, 0, e.depth}, {e.reach, on, e.depth}, {on, on, e.depth}});
  line(step, FoldPart::crease, {{0, 0, e.depth}, {on, on, e.depth}});
  line(step, FoldPart::cut, {{e.wrap, e.wrap, e.depth}, {e.reach, e.wrap, e.depth}});
  line(step, FoldPart::cut, {{e.wrap, e.wrap, e.depth}, {e.wrap, e.reach, e.depth}});
  const double beside = e.row * 1.6;
  line(step, FoldPart::staple,
       {{beside + 0.002, e.row, e.depth}, {beside + 0.010, e.row, e.depth}});
  line(step, FoldPart::staple,
       {{e.row, beside + 0.002, e.depth}, {e.row, beside + 0.010, e.depth}});
  for (double at = e.turn; at < e.reach - 0.004; at += e.pitch)
    line(step, FoldPart::staple, {{at - 0.004, e.row, e.depth}, {at + 0.004, e.row, e.depth}});
  number(step, {e.reach * 0.55, 0, e.depth / 2}, "3");
  step.sentence += " Trim what is over " + print_length(plan.wrap, units) + " on the back.";
  return step;
}

FoldStep lay_out(const Edge& e, const Units& units, const FoldPlan& plan) {
  FoldStep step{"Lay out and cut the corner",
                "Cloth face down, its pile the way its arrow runs; the piece face down on it, " +
                    print_length(plan.margin, units) +
                    " of cloth on every side. Staple the middle of each side, then outward every " +
                    print_length(plan.staple_pitch, units) + ". Mark " +
                    print_length(plan.cut_leg, units) +
                    " from the cloth's corner along both edges and cut from mark to mark.",
                true,
                {}};
  flat_corner(step, e);
  const double k = cut_sum(e);
  line(step, FoldPart::crease, {{e.inset, e.inset, 0}, {-k / 2, -k / 2, 0}});
  line(step, FoldPart::cut, {{-e.margin, e.margin - k, 0}, {e.margin - k, -e.margin, 0}});
  staples_flat(step, e);
  number(step, {-e.turn / 2, e.reach * 0.7, 0}, "1");
  number(step, {e.reach * 0.7, -e.turn / 2, 0}, "3");
  number(step, {-e.turn * 0.62, -e.turn * 0.3, 0}, "2");
  return step;
}

// ---- the acute edges of a solid corner trap ---------------------------------------------------

/// Flap A turns 135° round the acute edge on to the leg; flap B goes on the end plate, which the
/// leg meets at 45°. On the flat cloth the ear is 135° wide.
FoldStep lay_out_acute(const Edge& e, const Units& units, const FoldPlan& plan) {
  FoldStep step{"Lay out and cut the corner",
                "Cloth face down, the trap on it on its face, " + print_length(plan.margin, units) +
                    " of cloth on every side. Staple the middle of each side, then outward every " +
                    print_length(plan.staple_pitch, units) +
                    ". Cut the ear away along the red line: it leaves " +
                    print_length(plan.fold, units) + " beyond each crease to be turned under.",
                true,
                {}};
  const double far = e.reach, m = e.margin;
  line(step, FoldPart::cloth, {{far, -m, 0}, {-m, -m, 0}, {-m, far, 0}, {far, far, 0}});
  line(step, FoldPart::wood, {{far, 0, 0}, {0, 0, 0}, {0, far, 0}, {far, far, 0}});
  const double half = std::sqrt(0.5);
  line(step, FoldPart::crease, {{0, 0, 0}, {-m, 0, 0}});
  line(step, FoldPart::crease, {{0, 0, 0}, {m, -m, 0}});
  // On the bisector, a fold's width from both creases.
  const double bisector = 247.5 * std::acos(-1.0) / 180;
  const double r = e.fold / std::sin(67.5 * std::acos(-1.0) / 180);
  const Vec3 p{r * std::cos(bisector), r * std::sin(bisector), 0};
  const double down = p.y + m;
  line(step, FoldPart::cut, {{-m, p.y, 0}, p, {p.x + down, -m, 0}});
  (void)half;
  staples_flat(step, e);
  number(step, {-e.turn / 2, far * 0.7, 0}, "1");
  number(step, {far * 0.75, -e.turn / 2, 0}, "2");
  return step;
}

/// The prism's end, lying on its face: x runs along the face from the acute edge, y along its
/// length, z up to the corner.
void wood_prism(FoldStep& step, double far_x, double far_y) {
  line(step, FoldPart::wood, {{0, 0, 0}, {0, far_y, 0}, {far_x, far_y, far_x}, {far_x, 0, far_x}});
  line(step, FoldPart::wood, {{0, 0, 0}, {far_x, 0, 0}, {far_x, 0, far_x}});
}

/// The flap over one leg, which runs at 45° from the acute edge.
void cloth_on_leg(FoldStep& step, double far, double on) {
  const double out = on * std::sqrt(0.5);
  line(step, FoldPart::cloth, {{0, 0, 0}, {0, far, 0}, {out, far, out}, {out, 0, out}});
}

FoldStep prism_first(const Edge& e) {
  FoldStep step{"First flap: the two legs",
                "Pull the cloth round each acute edge on to the leg and staple it there. Turn the "
                "raw edge at the end under, flush with the plate.",
                false,
                {}};
  const double far = e.reach, half = std::sqrt(0.5);
  wood_prism(step, far, far);
  line(step, FoldPart::bench, {{0, -e.margin, 0}, {far, -e.margin, 0}, {far, 0, 0}, {0, 0, 0}});
  cloth_on_leg(step, far, e.turn + e.wrap);
  const double row = (e.turn + e.wrap / 2) * half;
  for (double at = e.pitch; at < far - 0.004; at += e.pitch)
    line(step, FoldPart::staple, {{row, at - 0.004, row}, {row, at + 0.004, row}});
  number(step, {e.turn * half / 2, far * 0.6, e.turn * half / 2}, "1");
  return step;
}

FoldStep prism_second(const Edge& e) {
  FoldStep step{"Second flap: the ends",
                "Fold the slanted edge under along the crease, pull the flap up over the end plate "
                "and staple it there, close to the edge that meets the wall.",
                false,
                {}};
  const double far = e.reach, on = e.turn + e.wrap;
  wood_prism(step, far, far);
  cloth_on_leg(step, far, e.turn + e.wrap);
  line(step, FoldPart::lining, {{0, 0, 0}, {far, 0, 0}, {far, 0, on}, {on, 0, on}});
  line(step, FoldPart::crease, {{0, 0, 0}, {on, 0, on}});
  const double row = e.turn + e.wrap / 2;
  for (double at = row + e.pitch / 2; at < far - 0.004; at += e.pitch)
    line(step, FoldPart::staple, {{at - 0.004, 0, row}, {at + 0.004, 0, row}});
  number(step, {far * 0.6, 0, e.turn / 2}, "2");
  return step;
}

// ---- re-entrant corners -----------------------------------------------------------------------

constexpr double cut_short_m = 0.003;  // common practice, no source

/// The corner at (0, 0); what is missing of the frame lies between its two sides, toward −x and −y.
struct Inner {
  double half = 0;  ///< of the angle between the two sides, outside
  Vec2 side[2], middle;

  /// On side k, s from the corner, at a point of the profile.
  Vec3 at(int k, double s, Vec2 p) const {
    const Vec2 q = middle * (-p.x / std::sin(half)) + side[k] * s;
    return {q.x, q.y, p.y};
  }
  /// How far the cut flap's edge lies from the corner after this way over the edge.
  double apart(double path) const { return path / std::tan(half); }
};
Inner inner_of(double outside_rad) {
  Inner out;
  out.half = outside_rad / 2;
  const double to = 225 * std::acos(-1.0) / 180;
  const auto way = [](double angle) { return Vec2{std::cos(angle), std::sin(angle)}; };
  out.side[0] = way(to - out.half), out.side[1] = way(to + out.half), out.middle = way(to);
  return out;
}

FoldStep relief_cut(const Edge& e, const Inner& c, const Units& units, const FoldPlan& plan) {
  FoldStep step{"The relief cut",
                "Cut the cloth that bridges the corner from outside, half-way between the two "
                "sides, to " +
                    print_length(plan.stop_short, units) +
                    " short of the wood. Cut no nearer: the cut runs on when the cloth is pulled.",
                true,
                {}};
  const double far = e.reach;
  line(step, FoldPart::cloth,
       {{-far, -far, 0}, {far / 2, -far, 0}, {far / 2, far / 2, 0}, {-far, far / 2, 0}});
  const Vec2 a = c.side[0] * far, b = c.side[1] * far;
  line(step, FoldPart::wood,
       {{a.x, a.y, 0},
        {0, 0, 0},
        {b.x, b.y, 0},
        {far / 2, b.y, 0},
        {far / 2, far / 2, 0},
        {a.x, far / 2, 0}});
  for (int k = 0; k < 2; ++k) {
    const Vec3 from = c.at(k, 0, {-e.turn, 0}), to = c.at(k, far - c.apart(e.turn), {-e.turn, 0});
    line(step, FoldPart::crease, {{from.x, from.y, 0}, {to.x, to.y, 0}});
  }
  const double near = plan.stop_short.metres();
  line(step, FoldPart::cut,
       {{c.middle.x * near, c.middle.y * near, 0}, {c.middle.x * far, c.middle.y * far, 0}});
  return step;
}

void wood_inside(FoldStep& step, const Edge& e, const Inner& c) {
  for (int k = 0; k < 2; ++k) {
    for (std::size_t i = 1; i < e.profile.size(); ++i) {
      const Vec2 p = e.profile[i - 1], q = e.profile[i];
      line(step, FoldPart::wood,
           {c.at(k, 0, p), c.at(k, e.reach, p), c.at(k, e.reach, q), c.at(k, 0, q)});
    }
    const Vec2 back{0, e.depth}, in{e.member, e.depth};
    line(step, FoldPart::wood,
         {c.at(k, 0, back), c.at(k, e.reach, back), c.at(k, e.reach, in), c.at(k, 0, in)});
  }
}

/// A strip round the corner, over the edge and on to the back: along each side as far as `along`
/// says at each way over the edge, from there on if it is a flap.
void cloth_inside(FoldStep& step, const Edge& e, const Inner& c, bool flap) {
  const double on = e.wrap + (flap ? e.fold : 0), strip = c.apart(e.path.back() + e.wrap) + e.fold;
  const auto from = [&](double path) { return flap ? c.apart(path) : 0.0; };
  const double to = flap ? e.reach : strip;
  for (int k = 0; k < 2; ++k) {
    for (std::size_t i = 1; i < e.profile.size(); ++i) {
      const Vec2 p = e.profile[i - 1], q = e.profile[i];
      line(step, FoldPart::cloth,
           {c.at(k, from(e.path[i - 1]), p), c.at(k, to, p), c.at(k, to, q),
            c.at(k, from(e.path[i]), q)});
    }
    const double turned = e.path.back();
    line(step, FoldPart::lining,
         {c.at(k, from(turned), {0, e.depth}), c.at(k, to, {0, e.depth}),
          c.at(k, to, {on, e.depth}), c.at(k, from(turned + on), {on, e.depth})});
    for (double at = from(turned + e.row) + e.pitch / 2; at < to - 0.004; at += e.pitch)
      line(step, FoldPart::staple,
           {c.at(k, at - 0.004, {e.row, e.depth}), c.at(k, at + 0.004, {e.row, e.depth})});
  }
}

FoldPlan relief_plan(const Product& product, const shop::Shop& shop, const shop::ClothPart& cloth,
                     double outside_rad) {
  Edge e = edge_of(product, shop.rules);
  e.member = member_width_m(product);
  e.row = std::min(e.wrap, e.member) / 2;
  const Inner c = inner_of(outside_rad);
  e.reach = std::max(e.reach, c.apart(e.path.back() + e.wrap) + e.fold + 1.5 * e.pitch);
  FoldPlan plan;
  plan.corner = CornerShape::reentrant;
  plan.across = cloth.across, plan.along = cloth.along;
  plan.turn = Length::from_m(e.turn);
  plan.wrap = shop.rules.wrap, plan.fold = shop.rules.fold;
  plan.margin = Length::from_m(e.margin).round_to(shop.rules.grid);
  plan.cut_leg = Length::from_m(c.apart(e.path.back())).round_to(shop.rules.grid);
  plan.stop_short = Length::from_m(cut_short_m);
  plan.staple_pitch = shop.rules.staple_pitch;
  plan.staple_row = Length::from_m(e.row).round_to(shop.rules.grid);
  FoldStep patch{"The corner patch",
                 "First, a strip of the same cloth round the corner, its edge flush with the face: "
                 "glue it to the sides, turn it on to the back and staple it there.",
                 false,
                 {}};
  wood_inside(patch, e, c);
  cloth_inside(patch, e, c, false);
  FoldStep flaps{"Both flaps",
                 "Pull each flap over its side and staple it on the back. They swing apart: at the "
                 "back each stands " +
                     print_length(plan.cut_leg, shop.units) +
                     " from the corner, and the patch shows between them. A drop of glue holds the "
                     "cut's end.",
                 false,
                 {}};
  wood_inside(flaps, e, c);
  cloth_inside(flaps, e, c, false);
  cloth_inside(flaps, e, c, true);
  number(flaps, c.at(0, e.reach * 0.7, {0, e.depth / 2}), "1");
  number(flaps, c.at(1, e.reach * 0.7, {0, e.depth / 2}), "2");
  plan.steps = {patch, relief_cut(e, c, shop.units, plan), flaps};
  return plan;
}

/// One plan for each angle of re-entrant corners.
std::vector<FoldPlan> relief_plans(const Product& product, const shop::Shop& shop,
                                   const shop::ClothPart& cloth) {
  const Polygon outline = face_outline(product, false);
  std::set<long> seen;
  std::vector<FoldPlan> out;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 in = outline[i] - outline[(i + outline.size() - 1) % outline.size()];
    const Vec2 on = outline[(i + 1) % outline.size()] - outline[i];
    const double turn = std::atan2(cross(in, on), dot(in, on));
    if (turn >= 0 || !seen.insert(std::lround(turn * 1000)).second) continue;
    out.push_back(relief_plan(product, shop, cloth, std::acos(-1.0) + turn));
  }
  return out;
}

}  // namespace

std::vector<FoldPlan> folds_of(const Product& product, const shop::Shop& shop) {
  const auto cloth = std::find_if(product.parts.cloths.begin(), product.parts.cloths.end(),
                                  [](const shop::ClothPart& one) { return one.name == "face"; });
  if (cloth == product.parts.cloths.end() || product.members.empty() ||
      product.edge_profile.size() < 2)
    return {};
  // The steps are drawn for square corners; an outline's cloth is folded as each corner asks. Its
  // re-entrant corners are drawn.
  if (product.spec.custom) return relief_plans(product, shop, *cloth);
  if (!product.plates.empty()) return {};
  const Edge e = edge_of(product, shop.rules);
  FoldPlan plan;
  plan.corner = product.spec.kind == Kind::solid_trap ? CornerShape::acute
                : e.inset > 0                         ? CornerShape::shaped
                                                      : CornerShape::square;
  plan.across = cloth->across;
  plan.along = cloth->along;
  plan.turn = Length::from_m(e.turn);
  plan.wrap = shop.rules.wrap;
  plan.fold = shop.rules.fold;
  plan.margin = Length::from_m(e.margin).round_to(shop.rules.grid);
  plan.cut_leg = Length::from_m(2 * e.margin - cut_sum(e)).round_to(shop.rules.grid);
  plan.stop_short = plan.turn.round_up_to(shop.rules.grid);
  plan.staple_pitch = shop.rules.staple_pitch;
  plan.staple_row = Length::from_m(e.row).round_to(shop.rules.grid);
  if (plan.corner == CornerShape::acute) {
    plan.cut_leg = Length();
    plan.steps = {lay_out_acute(e, shop.units, plan), prism_first(e), prism_second(e)};
  } else {
    plan.steps = {lay_out(e, shop.units, plan), first_flap(e, shop.units, plan), tuck(e),
                  second_flap(e, shop.units, plan)};
  }
  return {plan};
}

namespace {

/// The back of an outline, mirrored as one sees it: staples along every side; the longest four are
/// numbered.
void back_of_outline(FoldStep& step, const Product& product, const shop::Shop& shop) {
  const double inset = shop.rules.back_cloth_inset.metres(), w = product.width.metres();
  const Polygon face = face_outline(product, false);
  const auto drawn_in = [&](double by) {
    Line3 out;
    for (std::size_t i = 0; i < face.size(); ++i) {
      const Vec2 a = face[i] - face[(i + face.size() - 1) % face.size()];
      const Vec2 b = face[(i + 1) % face.size()] - face[i];
      const Vec2 n = Vec2{-a.y, a.x} * (1 / length(a)), m = Vec2{-b.y, b.x} * (1 / length(b));
      const Vec2 at = face[i] + (n + m) * (by / (1 + dot(n, m)));
      out.push_back({w - at.x, at.y, 0});
    }
    return out;
  };
  line(step, FoldPart::wood, drawn_in(0));
  line(step, FoldPart::cloth, drawn_in(inset));
  const Line3 row = drawn_in(inset + 0.006);
  std::vector<std::pair<double, std::size_t>> longest;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const Vec3 a = row[i], b = row[(i + 1) % row.size()];
    const Vec3 along = normalised(b - a);
    longest.emplace_back(-length(b - a), i);
    for (const Length at :
         staples_along(Length::from_m(length(b - a)), shop.rules.staple_pitch, 20_mm))
      line(step, FoldPart::staple,
           {a + along * (at.metres() - 0.004), a + along * (at.metres() + 0.004)});
  }
  std::sort(longest.begin(), longest.end());
  for (std::size_t k = 0; k < std::min<std::size_t>(4, longest.size()); ++k) {
    const std::size_t i = longest[k].second;
    const Vec3 a = row[i], b = row[(i + 1) % row.size()];
    const Vec3 in{-(b.y - a.y), b.x - a.x, 0};
    number(step, (a + b) * 0.5 - normalised(in) * 0.05, std::to_string(k + 1));
  }
}

}  // namespace

std::vector<FoldStep> back_cloth_steps(const Product& product, const shop::Shop& shop) {
  const auto cloth = std::find_if(product.parts.cloths.begin(), product.parts.cloths.end(),
                                  [](const shop::ClothPart& one) { return one.name == "back"; });
  if (cloth == product.parts.cloths.end()) return {};
  const double w = product.width.metres(), h = product.height.metres();
  const double inset = shop.rules.back_cloth_inset.metres(), in = inset + 0.006;
  FoldStep step{"The back cloth",
                "Lay it on the back, " + print_length(shop.rules.back_cloth_inset, shop.units) +
                    " inside the frame all round. Staple the middles 1 to 4, opposite sides in "
                    "turn, then outward every " +
                    print_length(shop.rules.staple_pitch, shop.units) +
                    " to the corners: flat, not tight.",
                true,
                {}};
  if (product.spec.custom) {
    back_of_outline(step, product, shop);
    return {step};
  }
  line(step, FoldPart::wood, {{0, 0, 0}, {w, 0, 0}, {w, h, 0}, {0, h, 0}});
  line(
      step, FoldPart::cloth,
      {{inset, inset, 0}, {w - inset, inset, 0}, {w - inset, h - inset, 0}, {inset, h - inset, 0}});
  for (const Length at : staples_along(product.width, shop.rules.staple_pitch, 20_mm))
    for (const double y : {in, h - in})
      line(step, FoldPart::staple, {{at.metres() - 0.004, y, 0}, {at.metres() + 0.004, y, 0}});
  for (const Length at : staples_along(product.height, shop.rules.staple_pitch, 20_mm))
    for (const double x : {in, w - in})
      line(step, FoldPart::staple, {{x, at.metres() - 0.004, 0}, {x, at.metres() + 0.004, 0}});
  number(step, {w / 2, h - in - 0.05, 0}, "1");
  number(step, {w / 2, in + 0.05, 0}, "2");
  number(step, {in + 0.05, h / 2, 0}, "3");
  number(step, {w - in - 0.05, h / 2, 0}, "4");
  return {step};
}

}  // namespace roomwright::design
