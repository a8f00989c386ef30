// Routed edges and what they do: profiles, the cloth's way over them, passes; screws against the
// cut, held against dense sampling of both bodies; every finding's remedy clears it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "design/products/cuts.h"
#include "design/products/kinds.h"
#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

ProductSpec framed(EdgeSpec edge = {}) {
  ProductSpec spec;
  spec.key = spec.name = "framed";
  spec.timber = "deep";
  spec.board = "wool";
  spec.cloth = "cloth";
  if (edge.shape != EdgeShape::square) spec.edge = edge;
  return spec;
}

shop::Shop wide_bits() {
  shop::Shop shop = figures::small_shop(true);
  shop.rules.router_bit = 60_mm;
  shop.rules.round_bit = 60_mm;
  return shop;
}

Product framed_product(const ProductSpec& spec, const shop::Shop& shop) {
  const auto product = make_product(spec, shop, "products[0]");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

/// Length of the taut cloth over a profile: along the upper hull of its points, by brute force.
double hull_length_m(std::vector<Vec2> points) {
  std::vector<Vec2> hull;
  for (const Vec2& p : points) {
    while (hull.size() > 1 && cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0)
      hull.pop_back();
    hull.push_back(p);
  }
  double sum = 0;
  for (std::size_t i = 1; i < hull.size(); ++i) sum += length(hull[i] - hull[i - 1]);
  return sum;
}

/// The profile's points, finely, from the face to the back: what is wood at each u, by definition.
std::vector<Vec2> fine_profile(const EdgeSpec& edge, double depth_m) {
  const double u = edge.face().metres(), v = edge.side().metres();
  std::vector<Vec2> out;
  constexpr int steps = 20000;
  for (int i = 0; i <= steps; ++i) {
    const double t = double(i) / steps;
    if (edge.shape == EdgeShape::chamfer) out.push_back({u * (1 - t), v * t});
    const double turn = std::numbers::pi / 2 * t;
    if (edge.shape == EdgeShape::round_over)
      out.push_back({u - u * std::sin(turn), u - u * std::cos(turn)});
    if (edge.shape == EdgeShape::cove) out.push_back({u * std::cos(turn), u * std::sin(turn)});
  }
  out.push_back({0, depth_m});
  // u runs toward the edge: mirror it so that the hull's outside is on one side.
  for (Vec2& p : out) p.x = -p.x;
  return out;
}

TEST(Edge, lets_the_cloth_follow_the_convex_hull_of_its_profile) {
  const shop::Shop shop = wide_bits();
  for (const EdgeSpec& edge : {EdgeSpec{EdgeShape::chamfer, 12_mm, 45},
                               {EdgeShape::chamfer, 10_mm, 30},
                               {EdgeShape::chamfer, 6_mm, 60},
                               {EdgeShape::round_over, 14_mm, 45},
                               {EdgeShape::cove, 9_mm, 45}}) {
    const Product panel = framed_product(framed(edge), shop);
    const double depth = panel.frame_depth.metres();
    EXPECT_NEAR(panel.cloth_path.metres(), hull_length_m(fine_profile(edge, depth)), 2e-9);
    EXPECT_EQ(panel.edge_profile.front(), (std::array<Length, 2>{edge.face(), Length()}));
    EXPECT_EQ(panel.edge_profile.back(), (std::array<Length, 2>{Length(), panel.frame_depth}));
    EXPECT_EQ(panel.edge_profile[panel.edge_profile.size() - 2][1], edge.side());
  }
}

TEST(Edge, has_the_cloth_path_of_its_closed_form) {
  const shop::Shop shop = wide_bits();
  const auto path_mm = [&](const EdgeSpec& edge) {
    return framed_product(framed(edge), shop).cloth_path.millimetres();
  };
  const double pi = std::numbers::pi;
  EXPECT_NEAR(path_mm({EdgeShape::chamfer, 15_mm, 45}), 15 * std::sqrt(2.0) + 120 - 15, 1e-6);
  EXPECT_NEAR(path_mm({EdgeShape::chamfer, 10_mm, 60}), 20 + 120 - 10 * std::sqrt(3.0), 1e-6);
  EXPECT_NEAR(path_mm({EdgeShape::round_over, 12_mm, 45}), pi * 6 + 120 - 12, 1e-6);
  EXPECT_NEAR(path_mm({EdgeShape::cove, 12_mm, 45}), 12 * std::sqrt(2.0) + 120 - 12, 1e-6);
}

TEST(Edge, takes_less_cloth_than_a_square_one_whatever_its_shape) {
  // common practice, no source
  const shop::Shop shop = wide_bits();
  const Length square = framed_product(framed(), shop).parts.cloths[0].across;
  for (const EdgeShape shape : {EdgeShape::chamfer, EdgeShape::round_over, EdgeShape::cove})
    EXPECT_LT(framed_product(framed({shape, 12_mm, 45}), shop).parts.cloths[0].across, square);
  const Length round = framed_product(framed({EdgeShape::round_over, 12_mm, 45}), shop).cloth_path;
  const Length slope = framed_product(framed({EdgeShape::chamfer, 12_mm, 45}), shop).cloth_path;
  EXPECT_LT(slope, round) << "the chord is shorter than the arc";
}

TEST(Edge, takes_as_many_passes_as_its_longer_leg_asks_for) {
  // common practice, no source: a chamfer of the bit's full size takes two passes on each side
  const shop::Shop shop = figures::small_shop(true);
  const auto passes = [&](const EdgeSpec& edge) {
    return framed_product(framed(edge), shop).router_passes;
  };
  EXPECT_EQ(passes({EdgeShape::chamfer, shop.rules.router_bit, 45}), 2);
  EXPECT_EQ(passes({EdgeShape::chamfer, 11_mm, 60}), 2) << "19 mm down the side";
  EXPECT_EQ(passes({EdgeShape::chamfer, 10_mm, 30}), 1);
  EXPECT_EQ(passes({EdgeShape::round_over, 12_mm, 45}), 2);
  EXPECT_EQ(passes({EdgeShape::cove, 6_mm, 45}), 1);
  EXPECT_FALSE(make_product(framed({EdgeShape::chamfer, 14_mm, 60}), shop, "p").ok())
      << "24 mm down the side is beyond the bit";
}

TEST(Edge, sets_the_bit_for_each_pass_by_the_way_down_the_side) {
  const shop::Shop shop = figures::small_shop(true);
  const auto heights = [&](const EdgeSpec& edge) {
    return framed_product(framed(edge), shop).bit_heights;
  };
  EXPECT_EQ(heights({EdgeShape::chamfer, 15_mm, 45}), (std::vector<Length>{10_mm, 15_mm}));
  const EdgeSpec steep{EdgeShape::chamfer, 11_mm, 60};
  ASSERT_EQ(heights(steep).size(), 2u);
  EXPECT_EQ(heights(steep)[0], 10_mm) << "the side is the longer leg";
  EXPECT_EQ(heights(steep)[1], steep.side());
  const EdgeSpec flat{EdgeShape::chamfer, 15_mm, 30};
  ASSERT_EQ(heights(flat).size(), 2u);
  EXPECT_NEAR(heights(flat)[0].metres(), 0.010 * std::tan(std::acos(-1.0) / 6), 1e-8);
  EXPECT_EQ(heights(flat)[1], flat.side());
  EXPECT_EQ(heights({EdgeShape::round_over, 12_mm, 45}), (std::vector<Length>{6_mm, 12_mm}));
  EXPECT_TRUE(heights({}).empty());
}

TEST(Edge, is_refused_with_a_size_that_would_do) {
  const shop::Shop shop = figures::small_shop(true);
  for (const EdgeSpec& edge : {EdgeSpec{EdgeShape::chamfer, 21_mm, 30},
                               {EdgeShape::chamfer, 18_mm, 65},
                               {EdgeShape::round_over, 13_mm, 45}}) {
    const auto refused = make_product(framed(edge), shop, "p");
    ASSERT_FALSE(refused.ok());
    const std::string remedy = refused.mistakes().items()[0].remedy;
    ASSERT_EQ(refused.mistakes().items()[0].where, "p.edge.size");
    EdgeSpec smaller = edge;
    smaller.size =
        Length::from_mm(std::stod(remedy.substr(std::string("make it at most ").size())));
    EXPECT_TRUE(make_product(framed(smaller), shop, "p").ok()) << remedy;
  }
}

// ---- screws in space --------------------------------------------------------------------------

/// Points of a screw's body: its capsule and the cone of its head, every few degrees.
std::vector<Vec3> body_points(const Screw& screw) {
  const Vec3 other = std::abs(screw.along.z) < 0.5 ? Vec3{0, 0, 1} : Vec3{1, 0, 0};
  const Vec3 u = normalised(cross(screw.along, other)), v = cross(screw.along, u);
  std::vector<Vec3> out;
  const double r = screw.diameter_m / 2, run = screw.length_m - r;
  constexpr int around = 72, steps = 100;
  for (int i = 0; i < around; ++i) {
    const double turn = 2 * std::numbers::pi * i / around;
    const Vec3 off = u * std::cos(turn) + v * std::sin(turn);
    for (int k = 0; k <= steps; ++k)
      out.push_back(screw.at + screw.along * (run * k / steps) + off * r);
    for (int k = 0; k <= 20; ++k) {
      const double tilt = std::numbers::pi / 2 * k / 20;
      out.push_back(screw.at + screw.along * (run + r * std::sin(tilt)) +
                    off * (r * std::cos(tilt)));
    }
    const double head = screw.head_m / 2;
    for (int k = 0; k <= 20; ++k)
      out.push_back(screw.at + screw.along * ((head - r) * k / 20) +
                    off * (head + (r - head) * k / 20));
  }
  return out;
}

/// Points of a prism's section: its rim finely, its inside coarsely.
std::vector<Vec2> region_points(const Region& region) {
  std::vector<Vec2> out;
  constexpr int fine = 600, coarse = 12;
  const double u = region.u_m, v = region.v_m;
  const auto curve = [&](double t) -> Vec2 {
    const double turn = std::numbers::pi / 2 * t;
    if (region.form == Region::Form::wedge) return {u * (1 - t), v * t};
    if (region.form == Region::Form::inside_arc) return {u * std::cos(turn), u * std::sin(turn)};
    return {u - u * std::sin(turn), u - u * std::cos(turn)};
  };
  for (int i = 0; i <= fine; ++i) {
    const double t = double(i) / fine;
    out.push_back(curve(t));
    out.push_back({u * t, 0});
    out.push_back({0, v * t});
    for (int k = 0; i % 50 == 0 && k < coarse; ++k) out.push_back(curve(t) * (double(k) / coarse));
  }
  return out;
}

/// By sampling both bodies. The prism is square: across and along come apart.
double sampled_gap_m(const Screw& screw, const Prism& prism, const std::vector<Vec2>& section) {
  double least = 1e9;
  for (const Vec3& p : body_points(screw)) {
    const Vec3 off = p - prism.from;
    const double along = dot(off, prism.along);
    const double beyond = std::max({0.0, -along, along - prism.length_m});
    const Vec2 across{dot(off, prism.inward), off.z};
    if (std::hypot(across.x, across.y) > least + 0.05) continue;
    for (const Vec2& q : section) least = std::min(least, std::hypot(length(across - q), beyond));
  }
  return least;
}

TEST(Cuts, exact_distances_agree_with_dense_sampling_of_both_bodies) {
  Random random(41);
  const shop::Hardware hardware{"screw", "each", 1, Money(), 0, 4_mm, 50_mm, 0};
  for (int round = 0; round < 24; ++round) {
    const EdgeShape shape = static_cast<EdgeShape>(1 + round % 3);
    const EdgeSpec edge{shape, 1_mm * random.between(4, 18), random.uniform(25, 65)};
    OuterSide side;
    const double turn = random.uniform(0, 2 * std::numbers::pi);
    const Vec3 along{std::cos(turn), std::sin(turn), 0};
    side.to = along * random.uniform(0.02, 0.4);
    side.inward = {-along.y, along.x, 0};
    const Prism prism = prism_of(side, region_of(edge));
    // Somewhere behind the cut, any way round, also beyond the side's ends.
    const double lean = random.uniform(0, 2 * std::numbers::pi);
    const Screw screw =
        screw_of(hardware,
                 along * random.uniform(-0.05, 0.4) + side.inward * random.uniform(0.0, 0.05) +
                     Vec3{0, 0, edge.side().metres() + random.uniform(0.004, 0.03)},
                 normalised(Vec3{std::cos(lean), std::sin(lean), random.uniform(0, 0.5)}));
    const double exact = gap_m(screw, prism),
                 sampled = sampled_gap_m(screw, prism, region_points(prism.region));
    EXPECT_LE(exact, sampled + 1e-9) << "no pair of points is nearer; round " << round;
    EXPECT_GE(exact, sampled - 4e-4) << "and some pair is as near; round " << round;
  }
}

TEST(Cuts, of_two_screws_agree_with_sampling_of_their_axes) {
  Random random(5);
  const shop::Hardware hardware{"screw", "each", 1, Money(), 0, 4_mm, 50_mm, 0};
  const auto somewhere = [&] {
    return Vec3{random.uniform(-0.05, 0.05), random.uniform(-0.05, 0.05), random.uniform(0, 0.1)};
  };
  for (int round = 0; round < 40; ++round) {
    Screw a = screw_of(hardware, somewhere(), normalised(somewhere()));
    Screw b = screw_of(hardware, somewhere(), normalised(somewhere()));
    double least = length(a.at - b.at) - (a.head_m + b.head_m) / 2;
    for (int i = 0; i <= 300; ++i)
      for (int k = 0; k <= 300; ++k)
        least = std::min(least, length(a.at + a.along * (0.048 * i / 300) -
                                       (b.at + b.along * (0.048 * k / 300))) -
                                    0.004);
    EXPECT_LE(gap_m(a, b), least + 1e-9);
    EXPECT_GE(gap_m(a, b), least - 3e-4);
  }
}

const BenchCheck* failing(const Product& product) {
  for (const BenchCheck& check : product.checks)
    if (!check.ok) return &check;
  return nullptr;
}

TEST(Bench, a_screw_too_near_the_bit_is_cleared_by_the_step_that_is_told) {
  // common practice, no source: refused with the distance that would clear it
  for (const EdgeShape shape : {EdgeShape::chamfer, EdgeShape::round_over, EdgeShape::cove})
    for (const double angle : {35.0, 45.0, 55.0}) {
      shop::Shop shop = wide_bits();
      shop.rules.screws_per_corner = 1;
      shop.rules.screw_from_face = 13_mm;
      ProductSpec spec = framed({shape, 15_mm, angle});
      const Product panel = framed_product(spec, shop);
      const BenchCheck* fault = failing(panel);
      ASSERT_NE(fault, nullptr) << int(shape) << " " << angle;
      const std::string text = fault->sentence, mark = "farther back, at ";
      const std::size_t at = text.find(mark);
      ASSERT_NE(at, std::string::npos) << text;
      shop.rules.screw_from_face = Length::from_mm(std::stod(text.substr(at + mark.size())));
      const Product cleared = framed_product(spec, shop);
      EXPECT_TRUE(cleared.checks[0].ok) << text << " then " << cleared.checks[0].sentence;
      EXPECT_LT(cleared.checks[0].clearance, Length::from_mm(0.11)) << "and no farther";
      shop.rules.screw_from_face -= Length::from_mm(0.2);
      EXPECT_FALSE(framed_product(spec, shop).checks[0].ok) << text;
    }
}

TEST(Bench, where_there_is_no_room_behind_a_smaller_edge_is_told_and_does) {
  shop::Shop shop = wide_bits();
  shop.rules.screws_per_corner = 1;
  shop.rules.screw_from_face = 20_mm;
  shop.rules.screw_from_back = 24_mm;
  ProductSpec spec = framed({EdgeShape::chamfer, 22_mm, 45});
  spec.timber = "square";
  const BenchCheck* fault = failing(framed_product(spec, shop));
  ASSERT_NE(fault, nullptr);
  const Product panel = framed_product(spec, shop);
  const std::string text = failing(panel)->sentence, mark = "at most ";
  const std::size_t at = text.find(mark);
  ASSERT_NE(at, std::string::npos) << text;
  spec.edge->size = Length::from_mm(std::stod(text.substr(at + mark.size())));
  EXPECT_TRUE(framed_product(spec, shop).checks[0].ok) << text;
}

TEST(Bench, moving_a_shank_back_by_what_is_missing_is_not_enough_beside_a_slope) {
  // The shank runs along a 45° slope: a step back brings it away by 1/√2 of the step only.
  Screw screw;
  screw.diameter_m = screw.head_m = 0.004, screw.length_m = 0.05;
  screw.at = {0.010, 0.010, 0.012}, screw.along = {0, 1, 0};
  OuterSide stile{"stile", {0, 1, 0}, {0, 0, 0}, {1, 0, 0}};
  const Prism prism = prism_of(stile, region_of({EdgeShape::chamfer, 15_mm, 45}));
  const double gap = gap_m(screw, prism), wanted = gap + 0.002;
  EXPECT_NEAR(gap, (0.022 - 0.015) / std::sqrt(2.0) - 0.002, 1e-12);
  EXPECT_NEAR(step_m(screw, prism, wanted, 1), 0.002 * std::sqrt(2.0), 1e-9);
}

TEST(Bench, staples_splitting_and_lengths_are_found_and_their_remedies_hold) {
  shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = framed();
  shop.hardware["staple"].length = 120_mm;
  const Product long_staples = framed_product(spec, shop);
  const auto has = [](const Product& product, const char* what) {
    return std::any_of(product.checks.begin(), product.checks.end(),
                       [&](const BenchCheck& check) { return !check.ok && check.what == what; });
  };
  EXPECT_TRUE(has(long_staples, "staple length"));
  shop.hardware["staple"].length = 118_mm;
  EXPECT_FALSE(has(framed_product(spec, shop), "staple length")) << "2 mm of wood stay";
  shop.hardware["staple"].length = 13_mm;
  EXPECT_TRUE(has(framed_product(spec, shop), "screw 2 against the staples"))
      << "14 mm from the back, 2 mm thick, its head 4: the staples' points meet it";
  shop.hardware["staple"].length = 9_mm;
  EXPECT_EQ(failing(framed_product(spec, shop)), nullptr);
  shop.hardware["screw"].diameter = 7_mm;
  const Product thick = framed_product(spec, shop);
  EXPECT_TRUE(has(thick, "splitting at the end")) << "13.5 mm is less than twice 7 mm";
  shop.hardware["screw"].diameter = Length::from_mm(6.7);
  EXPECT_FALSE(has(framed_product(spec, shop), "splitting at the end"));
  shop.hardware["screw"].diameter = 4_mm;
  shop.hardware["screw"].length = 25_mm;
  EXPECT_TRUE(has(framed_product(spec, shop), "screw length"));
}

TEST(Bench, two_screws_in_one_place_are_told) {
  // 32 mm behind the face and 14 from the back of 44 mm timber are the same place.
  const shop::Shop shop = figures::small_shop(true);
  ProductSpec spec = framed({EdgeShape::chamfer, 8_mm, 45});
  spec.timber = "square";
  const BenchCheck* fault = nullptr;
  const Product panel = framed_product(spec, shop);
  for (const BenchCheck& check : panel.checks)
    if (check.what == "screws 1 and 2") fault = &check;
  ASSERT_NE(fault, nullptr);
  EXPECT_FALSE(fault->ok);
}

}  // namespace
}  // namespace roomwright::design
