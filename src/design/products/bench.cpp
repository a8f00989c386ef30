// Findings at the bench before anything is cut: each screw against what the router takes away,
// against the staples and against its neighbour, by the exact distances of cuts.h; splitting, the
// drill, the length of screws and staples. Each says which, where, by how much and what clears it.
#include <algorithm>
#include <cmath>
#include <set>

#include "design/products/cuts.h"
#include "design/products/kinds.h"

namespace roomwright::design {

Drills drills_for(Length thread, double specific_gravity, const Units& units) {
  constexpr double hard_gravity = 0.6, root_share = 2.0 / 3;
  const Length step = units.metric ? Length::from_nm(500'000) : Length::from_nm(396'875);
  Drills out;
  out.share_of_root = specific_gravity > hard_gravity ? 0.90 : 0.70;
  out.pilot = std::max(
      step, Length::from_m(out.share_of_root * root_share * thread.metres()).round_to(step));
  out.clearance = (thread + step).round_up_to(step);
  return out;
}

namespace {

constexpr double touch_m = 5e-5;          // less than this is touching
constexpr double near_m = 0.06;           // farther than this from a screw no edge is looked at
constexpr double least_thread_m = 0.025;  // in the second member: common practice, no source

/// What the findings of one product share.
struct Bench {
  Product& product;
  const Ingredients& with;
  const shop::Rules& rules;
  const Units& units;

  std::string fine(double metres) const { return print_fine(Length::from_m(metres), units); }
  /// Up to the next tenth of a millimetre or 64th of an inch, so that a remedy holds.
  double up(double metres) const {
    const double step = units.metric ? 1e-4 : 0.0254 / 64;
    return std::ceil(metres / step - 1e-6) * step;
  }
  double down(double metres) const {
    const double step = units.metric ? 1e-4 : 0.0254 / 64;
    return std::floor(metres / step + 1e-6) * step;
  }
  void add(std::string what, double clearance_m, std::string sentence) {
    const Length clearance = Length::from_m(clearance_m);
    product.checks.push_back(
        {std::move(what), clearance >= Length(), clearance, std::move(sentence)});
  }
  double back_m() const { return product.frame_depth.metres(); }
  double behind_face_m(const Screw& screw) const { return screw.at.z; }
};

/// `the rail`, but `side 3`.
std::string the(const std::string& member) {
  return member.rfind("side ", 0) == 0 ? member : "the " + member;
}

std::string named(const Screw& screw) {
  return "Screw " + std::to_string(screw.number) + " of " + screw.joint;
}

bool near_side(const Screw& screw, const OuterSide& side, double reach_m) {
  const Vec3 tip = screw.at + screw.along * screw.length_m;
  const double nearest =
      std::min(dot(screw.at - side.from, side.inward), dot(tip - side.from, side.inward));
  return nearest < reach_m + near_m;
}

/// The side whose cut comes nearest, and how near.
struct Nearest {
  const OuterSide* side = nullptr;
  double clearance_m = 1;
};
Nearest nearest_cut(const Bench& bench, const Screw& screw, const EdgeSpec& edge) {
  Nearest out;
  const Region region = region_of(edge);
  for (const OuterSide& side : bench.product.sides) {
    if (!near_side(screw, side, region.u_m)) continue;
    const double clearance = clearance_m(screw, prism_of(side, region));
    if (!out.side || clearance < out.clearance_m - 1e-9) out = {&side, clearance};
  }
  return out;
}

/// How far back a screw must go to clear every side by as much as is wanted.
double step_back_m(const Bench& bench, const Screw& screw, double wanted_m) {
  const Region region = region_of(bench.product.edge);
  double step = 0;
  for (const OuterSide& side : bench.product.sides)
    if (near_side(screw, side, region.u_m))
      step = std::max(step, step_m(screw, prism_of(side, region), wanted_m, 1));
  return step;
}

/// The largest edge of the same kind that leaves what is wanted.
double clearing_size_m(const Bench& bench, const Screw& screw, double wanted_m) {
  double lo = 0, hi = bench.product.edge.size.metres();
  for (int i = 0; i < 40; ++i) {
    EdgeSpec edge = bench.product.edge;
    edge.size = Length::from_m((lo + hi) / 2);
    const bool clears =
        edge.size <= Length() || nearest_cut(bench, screw, edge).clearance_m >= wanted_m;
    (clears ? lo : hi) = (lo + hi) / 2;
  }
  return lo;
}

const char* edge_word(EdgeShape shape) {
  return shape == EdgeShape::chamfer      ? "chamfer"
         : shape == EdgeShape::round_over ? "round-over"
                                          : "cove";
}

/// Screws that run level can move back; those from the back of a lap can only be shorter.
std::string bit_remedy(const Bench& bench, const Screw& screw, double clearance_m,
                       double wanted_m) {
  if (std::abs(screw.along.z) > 0.5)
    return "Take a screw at least " + bench.fine(bench.up(wanted_m - clearance_m)) + " shorter.";
  const double step = bench.up(step_back_m(bench, screw, wanted_m));
  const double there = bench.behind_face_m(screw) + step;
  if (there <= bench.back_m() - bench.rules.screw_from_back.metres() + 1e-9)
    return "Set it at least " + bench.fine(step) + " farther back, at " + bench.fine(there) + ".";
  const double size = bench.down(clearing_size_m(bench, screw, wanted_m));
  return std::string("Make the ") + edge_word(bench.product.edge.shape) + " at most " +
         bench.fine(size) + ": the frame has no room to set it farther back.";
}

void against_bit(Bench& bench, const Screw& screw) {
  if (bench.product.edge.shape == EdgeShape::square) return;
  const Nearest nearest = nearest_cut(bench, screw, bench.product.edge);
  if (!nearest.side) return;
  const double wanted = bench.rules.screw_clearance.metres(), clear = nearest.clearance_m;
  std::string text = named(screw) + ", " + bench.fine(bench.behind_face_m(screw)) +
                     " behind the face, " +
                     (clear < 0 ? "lies " + bench.fine(-clear) + " inside the bit's path"
                                : "clears the bit by " + bench.fine(clear)) +
                     " (edge of " + the(nearest.side->member) + ")";
  if (clear < wanted - 1e-9)
    text += "; the rule asks for " + bench.fine(wanted) + ". " +
            bit_remedy(bench, screw, clear, wanted);
  else
    text += ".";
  bench.add("screw " + std::to_string(screw.number) + " against the router bit", clear - wanted,
            text);
}

/// The band at the back in which staples stand.
Prism staple_zone(const Bench& bench, const OuterSide& side, double staple_m) {
  Region box;
  box.form = Region::Form::box;
  box.u_m = std::min(bench.rules.wrap, bench.with.timber->width).metres();
  box.u0_m = std::min(bench.rules.back_cloth_inset.metres(), box.u_m);  // none at the very edge
  box.v_m = bench.back_m();
  box.v0_m = bench.back_m() - staple_m;
  return prism_of(side, box);
}

void against_staples(Bench& bench, const Screw& screw) {
  const auto at = bench.with.shop->hardware.find(bench.rules.staple);
  if (at == bench.with.shop->hardware.end() || !at->second.length) return;
  if (std::abs(screw.along.z) > 0.5) return;  // from the back: staples keep off its head
  double step = 0;
  for (const OuterSide& side : bench.product.sides) {
    if (!near_side(screw, side, bench.rules.wrap.metres())) continue;
    const Prism zone = staple_zone(bench, side, at->second.length->metres());
    if (gap_m(screw, zone) <= 0) step = std::max(step, step_m(screw, zone, 1e-10, -1));
  }
  if (step < touch_m) return;  // clear: nothing to say
  bench.add("screw " + std::to_string(screw.number) + " against the staples", -bench.up(step),
            named(screw) + " lies where the staples' points end. Set it at least " +
                bench.fine(bench.up(step)) +
                " farther from the back, or take staples that much "
                "shorter.");
}

void against_neighbour(Bench& bench, const Screw& screw, const Screw& other) {
  const double wanted = screw.diameter_m, gap = gap_m(screw, other);
  if (gap >= wanted - 1e-9) return;
  bench.add("screws " + std::to_string(screw.number) + " and " + std::to_string(other.number),
            gap - wanted,
            "Screws " + std::to_string(screw.number) + " and " + std::to_string(other.number) +
                " of " + screw.joint +
                (gap < 0 ? " meet" : " stand " + bench.fine(gap) + " apart") + "; they want " +
                bench.fine(wanted) + " of wood between them. Take timber at least " +
                bench.fine(bench.up(wanted - gap)) + " deeper, or one screw fewer at each joint.");
}

/// Whether a joint's screws were told of it already: they lie alike.
bool told(const Bench& bench, const std::string& what, const std::string& joint) {
  return std::any_of(
      bench.product.checks.begin(), bench.product.checks.end(), [&](const BenchCheck& check) {
        return check.what == what && check.sentence.find(" of " + joint + " ") != std::string::npos;
      });
}

/// What splits: the first member near its end, the second beside its side or the cut.
/// Published spacings are of structural joints and larger: with drilled holes 7 diameters from an
/// unloaded end and 3 from an unloaded edge. Source: EN 1995-1-1, table 8.2, as table 5.1 of the
/// LVL handbook (2025) gives it. The shop's own rule is common practice, no source.
void against_splitting(Bench& bench, const Screw& screw) {
  if (screw.diameter_m <= 0) return;
  const double end = screw.from_end_m / screw.diameter_m;
  const double wanted_end = bench.rules.end_distance_diameters;
  const Nearest cut = nearest_cut(bench, screw, bench.product.edge);
  const bool level = std::abs(screw.along.z) < 0.5;
  double side_m = screw.from_side_m;
  if (level) side_m = std::min({side_m, screw.at.z, bench.back_m() - screw.at.z});
  if (level && cut.side && bench.product.edge.shape != EdgeShape::square)
    side_m = std::min(side_m, std::max(0.0, cut.clearance_m) + screw.diameter_m / 2);
  const double side = side_m / screw.diameter_m, wanted_side = bench.rules.edge_distance_diameters;
  if (end < wanted_end - 1e-9 && !told(bench, "splitting at the end", screw.joint))
    bench.add("splitting at the end", screw.from_end_m - wanted_end * screw.diameter_m,
              named(screw) + " sits " + bench.fine(screw.from_end_m) + " from the end of " +
                  the(screw.first) + ", " + fixed(end, 1) +
                  " times its thickness; the rule asks for " + fixed(wanted_end, 1) +
                  ". Take a screw of at most " +
                  bench.fine(bench.down(screw.from_end_m / wanted_end)) + ", or timber at least " +
                  bench.fine(bench.up(2 * wanted_end * screw.diameter_m)) + " wide.");
  if (side < wanted_side - 1e-9 && !told(bench, "splitting at the side", screw.joint))
    bench.add("splitting at the side", side_m - wanted_side * screw.diameter_m,
              named(screw) + " leaves " + bench.fine(side_m) + " of " + the(screw.second) +
                  " beside it, " + fixed(side, 1) + " times its thickness; the rule asks for " +
                  fixed(wanted_side, 1) + ". Take a screw of at most " +
                  bench.fine(bench.down(side_m / wanted_side)) + ".");
}

void screw_length(Bench& bench, const Screw& screw) {
  const double thread = screw.length_m - screw.first_m;
  const double longest = screw.wood_m - screw_left_m;
  if (thread <= 0)
    bench.add("screw length", thread - least_thread_m,
              "The screws of " + screw.joint + " (" + bench.fine(screw.length_m) +
                  ") do not pass " + the(screw.first) + " (" + bench.fine(screw.first_m) +
                  "): take screws at least " +
                  bench.fine(bench.up(screw.first_m + least_thread_m)) + " long.");
  else if (screw.length_m > longest + 1e-9)
    bench.add("screw length", longest - screw.length_m,
              "The screws of " + screw.joint + " (" + bench.fine(screw.length_m) +
                  ") come out of " + the(screw.second) + ": take screws at most " +
                  bench.fine(bench.down(longest)) + " long.");
}

void say_drill(Bench& bench, const Screw& screw) {
  const double gravity = bench.with.timber->specific_gravity;
  const Drills drills = drills_for(Length::from_m(screw.diameter_m), gravity, bench.units);
  bench.add("drill", 0,
            "Drill " + bench.fine(drills.pilot.metres()) + " for the thread (" +
                fixed(100 * drills.share_of_root, 0) +
                " % of its root in wood of specific gravity " + fixed(gravity, 2) + "), " +
                bench.fine(drills.clearance.metres()) +
                " through the first member, and countersink.");
}

std::string all_clear(const Bench& bench, const Screw& screw) {
  return "Screws of " + screw.joint + ": " + bench.fine(screw.from_end_m) + " from the end of " +
         the(screw.first) + ", " + fixed(screw.from_end_m / std::max(screw.diameter_m, 1e-6), 1) +
         " times their thickness; " +
         bench.fine(std::min(screw.length_m - screw.first_m, screw.wood_m - screw.first_m)) +
         " of thread in " + the(screw.second) + ".";
}

void check_joints(Bench& bench) {
  std::set<std::pair<std::string, int>> told;
  std::vector<const Screw*> firsts;
  // Copies by joint and number lie alike, mirrored: the first of each speaks for all.
  for (const Screw& screw : bench.product.screws) {
    if (!told.insert({screw.joint, screw.number}).second) continue;
    firsts.push_back(&screw);
  }
  for (const Screw* screw : firsts) against_bit(bench, *screw);
  const Screw* before = nullptr;
  for (const Screw* screw : firsts) {
    const bool same = before && before->joint == screw->joint;
    against_staples(bench, *screw);
    if (same) against_neighbour(bench, *before, *screw);
    const std::size_t known = bench.product.checks.size();
    if (!same) screw_length(bench, *screw);
    against_splitting(bench, *screw);
    if (!same && known == bench.product.checks.size())
      bench.add("screws of " + screw->joint, 0, all_clear(bench, *screw));
    before = screw;
  }
  if (!firsts.empty()) say_drill(bench, *firsts.front());
}

}  // namespace

std::vector<Length> screw_depths(const Product& product, const shop::Rules& rules) {
  const Length last = product.frame_depth - rules.screw_from_back;
  // What the face needs is room for the router.
  const Length first = product.edge.shape == EdgeShape::square
                           ? std::min(rules.screw_from_face, rules.screw_from_back)
                           : rules.screw_from_face;
  const int count = rules.screws_per_corner;
  std::vector<Length> out;
  for (int i = 0; i < count; ++i)
    out.push_back(first + (count > 1
                               ? Length::from_nm((last - first).nanometres() * i / (count - 1))
                               : Length()));
  return out;
}

Screw screw_of(const shop::Hardware& hardware, Vec3 at, Vec3 along) {
  Screw out;
  out.at = at;
  out.along = along;
  out.diameter_m = hardware.diameter ? hardware.diameter->metres() : 0.004;
  out.head_m = 2 * out.diameter_m;  // a countersunk head: common practice, no source
  out.length_m = hardware.length ? hardware.length->metres() : 0.060;
  return out;
}

void check_bench(Product& product, const Ingredients& with) {
  Bench bench{product, with, with.shop->rules, with.shop->units};
  check_joints(bench);
}

void check_staples(Product& product, const Ingredients& with, Length thinnest,
                   const std::string& part) {
  const auto at = with.shop->hardware.find(with.shop->rules.staple);
  if (at == with.shop->hardware.end() || !at->second.length) return;
  Bench bench{product, with, with.shop->rules, with.shop->units};
  const Length longest = thinnest - with.shop->rules.staple_margin;
  const Length length = *at->second.length;
  const bool holds = length <= longest;
  bench.add("staple length", (longest - length).metres(),
            "Staples of " + bench.fine(length.metres()) + " go into " +
                bench.fine(thinnest.metres()) + " of wood at the thinnest (" + part + ")" +
                (holds ? "."
                       : ": take staples of at most " +
                             bench.fine(bench.down(std::max(0.0, longest.metres()))) + "."));
}

}  // namespace roomwright::design
