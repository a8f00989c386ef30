// Marks, settings and folds: reckoned by hand, and held to laws: marks add up to the member, a fold
// changes no length.
#include "design/making/making.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

ProductSpec frame_spec(Kind kind = Kind::wall_panel) {
  ProductSpec spec;
  spec.key = "panel";
  spec.name = "panel";
  spec.kind = kind;
  spec.timber = "square";
  spec.board = "wool";
  spec.cloth = "cloth";
  spec.back_cloth = "back";
  return spec;
}

Product product_of_spec(const ProductSpec& spec, const shop::Shop& shop) {
  const auto product = make_product(spec, shop, "products[0]");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

std::vector<Length> places(const StoryStick& stick, MarkKind kind) {
  std::vector<Length> out;
  for (const StoryMark& mark : stick.marks)
    if (mark.kind == kind) out.push_back(mark.at);
  return out;
}

const StoryStick& stick_named(const Making& making, const std::string& name) {
  return *std::find_if(making.sticks.begin(), making.sticks.end(),
                       [&](const StoryStick& one) { return one.member == name; });
}

TEST(StorySticks, a_rail_over_the_stiles_ends_is_marked_at_their_edges_and_axes) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.width = 700_mm;
  spec.height = 1300_mm;
  const Making making = making_of(product_of_spec(spec, shop), shop);
  const StoryStick& rail = stick_named(making, "rail");
  EXPECT_EQ(rail.members, 2);
  EXPECT_EQ(rail.length, 700_mm);
  EXPECT_EQ(places(rail, MarkKind::end), (std::vector<Length>{Length(), 700_mm}));
  // Members are 44 mm wide.
  EXPECT_EQ(places(rail, MarkKind::edge), (std::vector<Length>{Length(), 44_mm, 656_mm, 700_mm}));
  EXPECT_EQ(places(rail, MarkKind::screw), (std::vector<Length>{22_mm, 678_mm}));
  EXPECT_EQ(places(rail, MarkKind::hanger), (std::vector<Length>{175_mm, 525_mm}));
}

TEST(StorySticks, a_stile_is_marked_where_its_stretchers_stand) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.width = 700_mm;
  spec.height = 1688_mm;  // 1600 between the rails: one stretcher in the middle
  const Product product = product_of_spec(spec, shop);
  const Making making = making_of(product, shop);
  const StoryStick& stile = stick_named(making, "stile");
  EXPECT_EQ(stile.length, 1600_mm);
  EXPECT_EQ(places(stile, MarkKind::edge), (std::vector<Length>{778_mm, 822_mm}));
  EXPECT_EQ(places(stile, MarkKind::screw), (std::vector<Length>{800_mm}));
}

TEST(StorySticks, members_that_cross_are_marked_on_each_other_and_those_in_another_plane_are_not) {
  const shop::Shop shop = figures::small_shop(true);
  Product product = product_of_spec(frame_spec(), shop);
  product.members.clear();
  const auto member = [](const char* name, Length x, Length y, Length w, Length h, Length z) {
    return Member{name, x, y, w, h, z, 20_mm, "square", std::max(w, h)};
  };
  product.width = 600_mm, product.height = 900_mm;
  product.members = {member("rail", Length(), 100_mm, 600_mm, 40_mm, Length()),
                     member("stile", 50_mm, Length(), 30_mm, 900_mm, Length()),
                     member("far", 300_mm, Length(), 30_mm, 900_mm, 200_mm)};
  const auto rail = stick_named(making_of(product, shop), "rail");
  EXPECT_EQ(places(rail, MarkKind::edge), (std::vector<Length>{50_mm, 80_mm}));
  EXPECT_EQ(places(rail, MarkKind::screw), (std::vector<Length>{65_mm}));
}

TEST(StorySticks, every_mark_lies_on_its_member_in_order) {
  for (const bool metric : {true, false}) {
    const shop::Shop shop = figures::small_shop(metric);
    for (const Kind kind : {Kind::wall_panel, Kind::straddling_trap, Kind::ceiling_cloud})
      for (const Length height : {700_mm, 1250_mm, 2400_mm}) {
        ProductSpec spec = frame_spec(kind);
        spec.width = 640_mm;
        spec.height = height;
        for (const StoryStick& stick : making_of(product_of_spec(spec, shop), shop).sticks) {
          EXPECT_GE(stick.marks.front().at, Length());
          EXPECT_LE(stick.marks.back().at, stick.length);
          for (std::size_t i = 1; i < stick.marks.size(); ++i)
            EXPECT_LE(stick.marks[i - 1].at, stick.marks[i].at);
        }
      }
  }
}

TEST(StorySticks, staples_start_in_the_middle_of_the_side) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.width = 700_mm;
  spec.height = 1300_mm;
  const Making making = making_of(product_of_spec(spec, shop), shop);
  const StoryStick& rail = stick_named(making, "rail");
  const auto staples = places(rail, MarkKind::staple);
  EXPECT_NE(std::find(staples.begin(), staples.end(), 350_mm), staples.end());
  for (std::size_t i = 1; i < staples.size(); ++i)
    EXPECT_EQ(staples[i] - staples[i - 1], shop.rules.staple_pitch);
  EXPECT_LT(staples.front(), shop.rules.wrap + shop.rules.staple_pitch);
}

TEST(SetUps, drills_passes_and_screws_of_a_chamfered_panel) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.chamfer = 15_mm;
  const Product product = product_of_spec(spec, shop);
  const auto set_up = making_of(product, shop).set_up;
  EXPECT_EQ(set_up.clearance_hole, Length::from_mm(4.5));
  EXPECT_EQ(set_up.pilot_hole, 2_mm) << "70 % of two thirds of 4 mm, to half a millimetre";
  for (const BenchCheck& check : product.checks)
    if (check.what == "drill") {
      EXPECT_NE(check.sentence.find("2.0 mm for the thread"), std::string::npos) << check.sentence;
      EXPECT_NE(check.sentence.find("4.5 mm through"), std::string::npos) << check.sentence;
    }
  EXPECT_EQ(set_up.pilot_depth, 26_mm) << "70 mm screw through 44 mm";
  EXPECT_EQ(set_up.passes, (std::vector<Length>{10_mm, 15_mm})) << "10 mm a pass";
  ASSERT_EQ(set_up.holes.size(), 2u);
  EXPECT_EQ(set_up.holes[0].from_face, 32_mm);
  EXPECT_EQ(set_up.holes[1].from_face, 30_mm) << "44 less 14: such a section is too shallow";
  EXPECT_FALSE(set_up.holes[0].check.empty());
}

TEST(SetUps, stops_are_those_of_the_parts_longest_first) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.gap = 60_mm;
  const Product product = product_of_spec(spec, shop);
  const auto set_up = making_of(product, shop).set_up;
  int count = 0;
  for (std::size_t i = 0; i < set_up.stops.size(); ++i) {
    count += set_up.stops[i].count;
    if (i > 0) EXPECT_LE(set_up.stops[i].stop, set_up.stops[i - 1].stop);
  }
  EXPECT_EQ(count, 8) << "four members and four stand-off blocks";
}

// ---- folds ----------------------------------------------------------------------------------

double total(const std::vector<Vec3>& points) {
  double sum = 0;
  for (std::size_t i = 1; i < points.size(); ++i) sum += length(points[i] - points[i - 1]);
  return sum;
}

std::vector<std::vector<Vec3>> lines_of(const FoldStep& step, FoldPart part) {
  std::vector<std::vector<Vec3>> out;
  for (const FoldShape& shape : step.shapes)
    if (shape.part == part) out.push_back(shape.points_m);
  return out;
}

TEST(Folds, the_margin_is_what_the_cloth_was_cut_for) {
  const shop::Shop shop = figures::small_shop(true);
  for (const Length chamfer : {Length(), 8_mm, 15_mm}) {
    ProductSpec spec = frame_spec();
    spec.chamfer = chamfer;
    const Product product = product_of_spec(spec, shop);
    const FoldPlan plan = making_of(product, shop).folds.at(0);
    EXPECT_EQ(plan.corner, chamfer > Length() ? CornerShape::shaped : CornerShape::square);
    EXPECT_NEAR(plan.across.millimetres(), (product.width + plan.margin * 2).millimetres(), 2);
    EXPECT_NEAR(plan.along.millimetres(), (product.height + plan.margin * 2).millimetres(), 2);
    // The way over the edge, less the inset of the face, then wrap and fold.
    EXPECT_NEAR(plan.margin.millimetres(), (product.cloth_path - chamfer).millimetres() + 60, 0.51);
  }
}

TEST(Folds, staples_meet_the_wood_where_the_cloth_reaches_beyond_it) {
  // The inch shop wraps 1 1/2 in: half of it is the whole of a 3/4 in member.
  shop::Shop shop = figures::small_shop(false);
  shop.timber["square"].width = sixteenth_inch * 12;
  const Product product = product_of_spec(frame_spec(), shop);
  const FoldPlan plan = making_of(product, shop).folds.at(0);
  EXPECT_EQ(plan.staple_row, sixteenth_inch * 6);
  for (const FoldStep& step : plan.steps)
    if (!step.flat)
      for (const auto& staple : lines_of(step, FoldPart::staple))
        for (const Vec3& p : staple) EXPECT_LT(std::min(p.x, p.y), sixteenth_inch.metres() * 12);
}

TEST(Folds, the_cut_leaves_the_folds_width_beyond_the_turn) {
  const shop::Shop shop = figures::small_shop(true);
  const Product product = product_of_spec(frame_spec(), shop);
  const FoldPlan plan = making_of(product, shop).folds.at(0);
  const auto cut = lines_of(plan.steps[0], FoldPart::cut).at(0);
  const Vec3 turn{-plan.turn.metres(), -plan.turn.metres(), 0};
  const Vec3 along = normalised(cut[1] - cut[0]);
  const double distance = length(cross(along, turn - cut[0]));
  EXPECT_NEAR(distance, plan.fold.metres(), 1e-9);
  // Both ends on the cloth's edges, cut_leg from its corner.
  const double margin = plan.margin.metres();
  EXPECT_NEAR(cut[0].x, -margin, 6e-4);
  EXPECT_NEAR(cut[0].y + margin, plan.cut_leg.metres(), 1e-3);
}

TEST(Folds, keep_every_length) {
  // The crease of a chamfered corner is as long on the cloth as the hip and the upright edge are on
  // the wood.
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec();
  spec.chamfer = 12_mm;
  const Product product = product_of_spec(spec, shop);
  const FoldPlan plan = making_of(product, shop).folds.at(0);
  std::vector<Vec3> crease;
  for (const auto& line : lines_of(plan.steps[0], FoldPart::crease))
    if (line.size() == product.edge_profile.size() && line[0].y == line[0].x &&
        line[1].x < line[1].y)
      crease = line;
  ASSERT_EQ(crease.size(), 3u);
  std::vector<Vec3> wood;
  for (const auto& [in, back] : product.edge_profile)
    wood.push_back({in.metres(), in.metres(), back.metres()});
  EXPECT_NEAR(total(crease), total(wood), 1e-12);
}

TEST(Folds, a_solid_trap_has_an_acute_corner_and_its_cut_keeps_off_both_creases) {
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = frame_spec(Kind::solid_trap);
  spec.sheet = "ply";
  spec.back_cloth.clear();
  spec.width = 500_mm;
  spec.height = 900_mm;
  const Making making = making_of(product_of_spec(spec, shop), shop);
  const FoldPlan plan = making.folds.at(0);
  EXPECT_EQ(plan.corner, CornerShape::acute);
  const auto cut = lines_of(plan.steps[0], FoldPart::cut).at(0);
  ASSERT_EQ(cut.size(), 3u);
  const double fold = plan.fold.metres();
  EXPECT_NEAR(-cut[1].y, fold, 1e-9) << "from the crease along y = 0";
  EXPECT_NEAR(std::abs(cut[1].x + cut[1].y) / std::sqrt(2.0), fold, 1e-9) << "from that at 45°";
  EXPECT_TRUE(making.back_cloth.empty());
}

TEST(Folds, back_cloth_lies_inside_the_frame_and_its_staples_on_it) {
  const shop::Shop shop = figures::small_shop(true);
  const Product product = product_of_spec(frame_spec(), shop);
  const auto steps = making_of(product, shop).back_cloth;
  ASSERT_EQ(steps.size(), 1u);
  const auto staples = lines_of(steps[0], FoldPart::staple);
  EXPECT_GT(staples.size(), 60u);
  const double inset = shop.rules.back_cloth_inset.metres();
  for (const auto& staple : staples)
    for (const Vec3& p : staple) {
      const double edge =
          std::min({p.x, p.y, product.width.metres() - p.x, product.height.metres() - p.y});
      EXPECT_GT(edge, inset);
      EXPECT_LT(edge, 0.044) << "in the wood";
    }
}

}  // namespace
}  // namespace roomwright::design
