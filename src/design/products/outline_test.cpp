// Outlines with re-entrant corners: an L, a U, a notch round a pipe, stars drawn by lot. Members
// and boards fill the outline once, screws stay in the wood that they join, hanging points lie on
// wood; what cannot be made is refused by name.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "design/products/kinds.h"
#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

const Length none;

using Corners = std::vector<Corner>;
const Corners ell = {{none, none},     {900_mm, none},    {900_mm, 400_mm},
                     {400_mm, 400_mm}, {400_mm, 1000_mm}, {none, 1000_mm}};
const Corners notched = {{none, none},     {1000_mm, none},  {1000_mm, 600_mm}, {600_mm, 600_mm},
                         {600_mm, 420_mm}, {480_mm, 420_mm}, {480_mm, 600_mm},  {none, 600_mm}};
const Corners you = {{none, none},     {1000_mm, none},  {1000_mm, 800_mm}, {750_mm, 800_mm},
                     {750_mm, 300_mm}, {250_mm, 300_mm}, {250_mm, 800_mm},  {none, 800_mm}};
const Corners arrow = {{none, none}, {450_mm, 200_mm}, {900_mm, none}, {450_mm, 900_mm}};

ProductSpec outlined(const Corners& outline) {
  ProductSpec spec;
  spec.key = spec.name = "piece";
  spec.kind = Kind::custom;
  spec.timber = "deep";
  spec.custom = CustomPlan{outline, {{LayerOf::cloth, "cloth", {}}, {LayerOf::board, "wool", {}}}};
  return spec;
}
shop::Shop shop_of_outlines() {
  shop::Shop shop = figures::small_shop(true);
  shop.hardware["short"] = shop.hardware["screw"];
  shop.hardware["short"].length = 35_mm;
  shop.rules.lap_screw = "short";
  return shop;
}
Product made_of(const Corners& outline) {
  const auto product = make_product(outlined(outline), shop_of_outlines(), "p");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}
Polygon polygon_of(const std::vector<Corner>& corners) {
  Polygon out;
  for (const auto& [x, y] : corners) out.push_back({x.metres(), y.metres()});
  return out;
}
double shoelace(const std::vector<Corner>& corners) {
  return std::abs(signed_area(polygon_of(corners)));
}

/// Every point of a grid inside the outline lies in just one member or board, none outside does.
void expect_filled_once(const Product& product, const Polygon& outline, double step_m = 0.0073) {
  for (double x = 0.0031; x < product.width.metres(); x += step_m)
    for (double y = 0.0027; y < product.height.metres(); y += step_m) {
      if (distance_to_edge(outline, {x, y}) < 1e-5) continue;
      int held = 0;
      bool near = false;
      const auto take = [&](const std::vector<Corner>& part) {
        const Polygon polygon = polygon_of(part);
        near = near || distance_to_edge(polygon, {x, y}) < 1e-6;
        held += contains(polygon, {x, y});
      };
      for (const Member& one : product.members) take(one.outline);
      for (const BoardPlace& one : product.boards) take(one.outline);
      if (near) continue;
      ASSERT_EQ(held, contains(outline, {x, y}) ? 1 : 0) << x << ", " << y;
    }
}

TEST(Outline, members_and_boards_fill_an_outline_with_re_entrant_corners_once) {
  for (const Corners& outline : {ell, notched, you, arrow}) {
    const Product product = made_of(outline);
    EXPECT_EQ(product.members.size(), outline.size());
    expect_filled_once(product, polygon_of(outline));
  }
}

TEST(Outline, a_stick_is_as_long_as_its_tips_lie_apart) {
  const Product product = made_of(ell);
  for (std::size_t i = 0; i < product.members.size(); ++i) {
    const Polygon quad = polygon_of(product.members[i].outline);
    const Vec2 run = quad[1] - quad[0], along = run * (1 / length(run));
    double low = 1e9, high = -1e9;
    for (const Vec2 p : quad)
      low = std::min(low, dot(p, along)), high = std::max(high, dot(p, along));
    EXPECT_NEAR(product.members[i].length.metres(), high - low, 1e-9) << i;
  }
  // The two sides of the inner corner reach past it by the width of the stick.
  EXPECT_EQ(product.members[2].length, 500_mm + 27_mm);
  EXPECT_EQ(product.members[3].length, 600_mm + 27_mm);
}

TEST(Outline, stars_drawn_by_lot_are_made_whole_or_refused) {
  const shop::Shop shop = shop_of_outlines();
  Random random(23);
  int made_count = 0, with_inner = 0;
  for (int round = 0; round < 150; ++round) {
    const int corners = int(random.between(4, 10));
    Corners outline;
    for (int i = 0; i < corners; ++i) {
      const double turn = (i + random.uniform(-0.2, 0.2)) * 2 * std::numbers::pi / corners;
      const double reach = random.uniform(350, 1300);
      outline.push_back({Length::from_mm(std::round(reach * std::cos(turn))),
                         Length::from_mm(std::round(reach * std::sin(turn)))});
    }
    const auto made = make_product(outlined(outline), shop, "p");
    if (!made) {
      EXPECT_FALSE(made.mistakes().text().empty());
      continue;
    }
    ++made_count;
    double area_m2 = 0;
    for (const Member& one : made->members) area_m2 += shoelace(one.outline);
    for (const BoardPlace& one : made->boards) area_m2 += shoelace(one.outline);
    EXPECT_NEAR(area_m2, shoelace(outline), 2e-5) << round;
    const Polygon whole = face_outline(*made, false);
    bool inner = false;
    for (std::size_t i = 0; i < whole.size(); ++i)
      inner = inner || cross(whole[(i + 1) % whole.size()] - whole[i],
                             whole[(i + 2) % whole.size()] - whole[(i + 1) % whole.size()]) < 0;
    with_inner += inner;
    expect_filled_once(*made, whole, 0.031);
  }
  EXPECT_GT(made_count, 40);
  EXPECT_GT(with_inner, 20);
}

TEST(Outline, screws_lie_in_the_two_members_that_they_join) {
  for (const Corners& outline : {ell, notched, you, arrow}) {
    const Product product = made_of(outline);
    for (const Screw& screw : product.screws) {
      const auto member = [&](const std::string& name) {
        for (const Member& one : product.members)
          if (one.name == name) return polygon_of(one.outline);
        return Polygon{};
      };
      const Polygon first = member(screw.first), second = member(screw.second);
      for (double s = 0.0005; s < std::min(screw.length_m, screw.wood_m) - 1e-4; s += 0.0005) {
        const Vec3 at = screw.at + screw.along * s;
        const bool in_first = contains(first, {at.x, at.y}, 1e-6),
                   in_second = contains(second, {at.x, at.y}, 1e-6);
        EXPECT_TRUE(in_first || in_second) << screw.joint << " at " << s;
        if (s < screw.first_m - 1e-4) EXPECT_TRUE(in_first) << screw.joint << " at " << s;
        if (s > screw.first_m + 1e-4) EXPECT_TRUE(in_second) << screw.joint << " at " << s;
      }
    }
  }
}

/// The outline drawn in by so much on every side.
Polygon drawn_in(const Polygon& outline, double by) {
  Polygon out;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 a = outline[i] - outline[(i + outline.size() - 1) % outline.size()];
    const Vec2 b = outline[(i + 1) % outline.size()] - outline[i];
    const Vec2 n = Vec2{-a.y, a.x} * (1 / length(a)), m = Vec2{-b.y, b.x} * (1 / length(b));
    out.push_back(outline[i] + (n + m) * (by / (1 + dot(n, m))));
  }
  return out;
}

TEST(Outline, timber_weighs_what_its_slices_weigh_with_the_chamfer_off) {
  const shop::Shop shop = shop_of_outlines();
  for (const Corners& corners : {ell, you, arrow}) {
    ProductSpec spec = outlined(corners);
    spec.edge = EdgeSpec{EdgeShape::chamfer, 12_mm, 45};
    const auto product = make_product(spec, shop, "p");
    ASSERT_TRUE(product.ok()) << product.mistakes().text();
    const Polygon outline = polygon_of(corners);
    const double inner = signed_area(drawn_in(outline, 0.027));
    double volume = 0;
    constexpr int slices = 12'000;
    for (int k = 0; k < slices; ++k) {
      const double z = 0.120 * (k + 0.5) / slices;
      volume += (signed_area(drawn_in(outline, std::max(0.0, 0.012 - z))) - inner) * 0.120 / slices;
    }
    EXPECT_NEAR(product->timber_kg, volume * shop.timber.at("deep").density_kg_m3,
                1e-4 * product->timber_kg);
  }
}

TEST(Outline, hanging_points_lie_on_wood_above_the_centre_of_gravity) {
  for (const Corners& outline : {ell, notched, you, arrow})
    for (const bool turned : {false, true}) {
      const Product product = made_of(outline);
      const auto points = hang_points_m(product, 2, turned);
      if (turned && points.empty()) continue;  // not every outline hangs level on its side
      ASSERT_EQ(points.size(), 2u);
      const double h = product.height.metres();
      const Vec3 heavy = product.centre_of_gravity_m;
      const Vec2 middle = turned ? Vec2{h - heavy.y, heavy.x} : Vec2{heavy.x, heavy.y};
      const double share = (middle.x - points[0].x) / (points[1].x - points[0].x);
      EXPECT_GT(share, 0.14);
      EXPECT_LT(share, 0.86);
      EXPECT_GT(points[0].y + share * (points[1].y - points[0].y), middle.y);
      for (const Vec2 at : points) {
        const Vec2 there = turned ? Vec2{at.y, h - at.x} : at;
        EXPECT_TRUE(std::any_of(
            product.members.begin(), product.members.end(),
            [&](const Member& one) { return contains(polygon_of(one.outline), there); }));
      }
    }
}

TEST(Outline, a_piece_that_would_tip_says_so) {
  const auto hanging = [](const Corners& outline) {
    const Product product = made_of(outline);
    for (const BenchCheck& one : product.checks)
      if (one.what == "hanging points") return one.ok;
    ADD_FAILURE();
    return false;
  };
  EXPECT_TRUE(hanging(ell));
  // A column on a wide foot: what lies far enough apart lies below the weight.
  EXPECT_FALSE(hanging({{none, none},
                        {1500_mm, none},
                        {1500_mm, 110_mm},
                        {805_mm, 110_mm},
                        {805_mm, 500_mm},
                        {695_mm, 500_mm},
                        {695_mm, 110_mm},
                        {none, 110_mm}}));
}

TEST(Outline, rectangles_hold_it_and_no_more_where_its_sides_are_level) {
  for (const Corners& corners : {ell, notched, you, arrow})
    for (const bool turned : {false, true}) {
      const Product product = made_of(corners);
      const Polygon outline = face_outline(product, turned);
      const auto boxes = face_boxes(product, turned);
      double area = 0;
      for (const FaceBox& one : boxes)
        area += (one.to_m.x - one.from_m.x) * (one.to_m.y - one.from_m.y);
      if (&corners != &arrow && corners.size() > 4) {
        EXPECT_NEAR(area, signed_area(outline), 1e-9);
      }
      for (double x = 0.003; x < 1.1; x += 0.011)
        for (double y = 0.002; y < 1.1; y += 0.013) {
          const bool held = std::any_of(boxes.begin(), boxes.end(), [&](const FaceBox& one) {
            return x >= one.from_m.x && x <= one.to_m.x && y >= one.from_m.y && y <= one.to_m.y;
          });
          EXPECT_TRUE(held || !contains(outline, {x, y}, 0)) << x << ", " << y;
        }
    }
}

TEST(Outline, cloth_is_relieved_at_each_re_entrant_corner_and_a_narrow_notch_is_lined) {
  const auto count = [](const Product& product, const std::string& name) {
    int all = 0;
    for (const auto& one : product.parts.cloths) all += one.name == name ? one.count : 0;
    return all;
  };
  EXPECT_EQ(count(made_of(ell), "corner patch"), 1);
  EXPECT_EQ(count(made_of(ell), "notch strip"), 0);
  EXPECT_EQ(count(made_of(notched), "corner patch"), 2);
  EXPECT_EQ(count(made_of(notched), "notch strip"), 2) << "120 mm do not reach the back twice";
  EXPECT_EQ(count(made_of(you), "notch strip"), 0);
}

TEST(Outline, absorbs_over_its_area_and_says_what_stands_in_its_place) {
  const Product product = made_of(ell);
  EXPECT_NEAR(product.sound.face_width_m * product.sound.face_height_m, 0.9 * 0.4 + 0.4 * 0.6,
              1e-9);
  EXPECT_FALSE(product.sound.approximation.empty());
  EXPECT_GT(product.sound.approximation_doubt, 0);
  const Product plain = made_of({{none, none}, {900_mm, none}, {900_mm, 400_mm}, {none, 400_mm}});
  EXPECT_TRUE(plain.sound.approximation.empty()) << "a rectangle stands for nothing else";
}

std::string refused(const Corners& outline) {
  const auto made = make_product(outlined(outline), shop_of_outlines(), "p");
  EXPECT_FALSE(made.ok());
  return made.ok() ? std::string() : made.mistakes().text();
}

TEST(Outline, what_cannot_be_made_is_refused_in_words) {
  const auto says = [](const std::string& text, const char* words) {
    EXPECT_NE(text.find(words), std::string::npos) << text;
  };
  Corners narrow = notched;
  narrow[4][0] = narrow[3][0] = 530_mm;  // a notch 50 mm wide; two sticks are 54
  says(refused(narrow), "notch narrower than two sticks");
  narrow[4][0] = narrow[3][0] = 534_mm;
  EXPECT_TRUE(make_product(outlined(narrow), shop_of_outlines(), "p").ok());
  const auto waist = [](Length across) {  // two notches opposite each other
    const Length left = 400_mm, right = left + across;
    return Corners{{none, none},    {900_mm, none},   {900_mm, 300_mm}, {right, 300_mm},
                   {right, 600_mm}, {900_mm, 600_mm}, {900_mm, 900_mm}, {none, 900_mm},
                   {none, 600_mm},  {left, 600_mm},   {left, 300_mm},   {none, 300_mm}};
  };
  says(refused(waist(100_mm)), "arm too narrow for its two sticks");  // 46 mm between them
  EXPECT_TRUE(make_product(outlined(waist(104_mm)), shop_of_outlines(), "p").ok());
  says(refused({{none, none}, {900_mm, none}, {900_mm, 600_mm}, {450_mm, 620_mm}, {none, 600_mm}}),
       "nearly straight");
  says(refused({{none, none}, {900_mm, none}, {900_mm, 900_mm}, {450_mm, -50_mm}, {none, 900_mm}}),
       "crosses or touches itself");
  says(refused({{none, none}, {900_mm, 450_mm}, {none, 900_mm}, {850_mm, 450_mm}}), "degrees");
}

}  // namespace
}  // namespace roomwright::design
