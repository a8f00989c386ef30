// Every kind from random specifications over what the schema allows: nothing crashes, parts weigh
// what their volumes weigh, members keep apart, and what stands at the bench's sheets adds up.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <numbers>
#include <set>

#include "design/products/kinds.h"
#include "figures/small_shop.h"

namespace roomwright::design {
namespace {

shop::Shop full_shop() {
  shop::Shop shop = figures::small_shop(true);
  shop.hardware["short"] = shop.hardware["screw"];
  shop.hardware["short"].length = 35_mm;
  shop.hardware["seal"] = {"seal", "m", 10, Money::minor(900), 0, {}, {}, 0.01};
  shop.rules.lap_screw = "short";
  shop.rules.panel_clip = "hanger";
  shop.rules.plug_seal = "seal";
  shop.rules.plug_grip = "hanger";
  return shop;
}

ProductSpec plain(Kind kind) {
  ProductSpec spec;
  spec.key = spec.name = "piece";
  spec.kind = kind;
  spec.timber = "deep";
  spec.board = "wool";
  spec.cloth = "cloth";
  if (kind == Kind::solid_trap || kind == Kind::window_plug) spec.sheet = "ply";
  if (kind == Kind::free_screen) spec.stand = StandPlan{700_mm};
  if (kind == Kind::window_plug) spec.plug = PlugPlan{900_mm, 1100_mm, 12_mm};
  if (kind == Kind::custom) {
    spec.board = spec.cloth = "";
    spec.custom = CustomPlan{{{Length(), Length()},
                              {900_mm, Length()},
                              {900_mm, 500_mm},
                              {450_mm, 760_mm},
                              {Length(), 500_mm}},
                             {{LayerOf::cloth, "cloth", {}},
                              {LayerOf::board, "wool", {}},
                              {LayerOf::air, "", 20_mm},
                              {LayerOf::sheet, "ply", {}}}};
  }
  return spec;
}

Product piece(const ProductSpec& spec, const shop::Shop& shop) {
  const auto product = make_product(spec, shop, "p");
  EXPECT_TRUE(product.ok()) << (product.ok() ? "" : product.mistakes().text());
  return *product;
}

// ---- a second computation ---------------------------------------------------------------------

bool inside_outline(const std::vector<Corner>& outline, Vec2 at) {
  bool in = true;
  double turn = 0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Corner &a = outline[i], &b = outline[(i + 1) % outline.size()];
    const Vec2 p{a[0].metres(), a[1].metres()}, q{b[0].metres(), b[1].metres()};
    const double side = cross(q - p, at - p);
    if (turn == 0) turn = side;
    in = in && side * turn >= 0;
  }
  return in;
}

bool within(double at, Length from, Length size) {
  return at >= from.metres() && at <= (from + size).metres();
}

bool holds_point(const Member& m, Vec3 p) {
  if (!within(p.x, m.x, m.width) || !within(p.y, m.y, m.height) || !within(p.z, m.z, m.depth))
    return false;
  if (!m.outline.empty() && !inside_outline(m.outline, {p.x, m.in_plan ? p.z : p.y})) return false;
  for (const Notch& n : m.notches)
    if (within(p.x, n.x, n.width) && within(p.y, n.y, n.height) && within(p.z, n.z, n.depth))
      return false;
  return true;
}

/// Whether the router takes the wood at a point away, by the edge's definition.
bool routed_away(const Product& product, Vec3 p) {
  const double u = product.edge.face().metres(), v = product.edge.side().metres();
  for (const OuterSide& side : product.sides) {
    const double x = dot(p - side.from, side.inward), z = p.z - side.from.z;
    if (product.edge.shape == EdgeShape::square || x < 0 || z < 0 || x > u || z > v) continue;
    if (product.edge.shape == EdgeShape::chamfer && x / u + z / v < 1) return true;
    if (product.edge.shape == EdgeShape::round_over && std::hypot(u - x, u - z) > u) return true;
    if (product.edge.shape == EdgeShape::cove && std::hypot(x, z) < u) return true;
  }
  return false;
}

struct Sampled3 {
  double timber_kg = 0;
  Vec3 moment;
  int overlaps = 0;  ///< points that two members hold
};

/// Timber on a regular grid of points.
Sampled3 sampled_timber(const Product& product, double density, double step_m) {
  Sampled3 out;
  std::set<std::array<long, 3>> seen;
  for (std::size_t i = 0; i < product.members.size(); ++i) {
    const Member& m = product.members[i];
    const auto first = [&](Length from) { return std::lround(std::floor(from.metres() / step_m)); };
    for (long a = first(m.x); a * step_m < (m.x + m.width).metres(); ++a)
      for (long b = first(m.y); b * step_m < (m.y + m.height).metres(); ++b)
        for (long c = first(m.z); c * step_m < (m.z + m.depth).metres(); ++c) {
          // A little off the corners of boxes.
          const Vec3 p{(a + 0.43) * step_m, (b + 0.37) * step_m, (c + 0.51) * step_m};
          if (!holds_point(m, p)) continue;
          if (!seen.insert({a, b, c}).second) ++out.overlaps;
          if (routed_away(product, p)) continue;
          const double mass = step_m * step_m * step_m * density;
          out.timber_kg += mass;
          out.moment = out.moment + p * mass;
        }
  }
  return out;
}

TEST(Kinds, weigh_what_a_grid_of_points_in_their_members_weighs_and_no_two_members_overlap) {
  const shop::Shop shop = full_shop();
  std::vector<ProductSpec> specs;
  for (const Joint joint : {Joint::butt, Joint::half_lap, Joint::mitre})
    for (const EdgeShape shape : {EdgeShape::chamfer, EdgeShape::round_over, EdgeShape::cove}) {
      ProductSpec spec = plain(Kind::wall_panel);
      spec.width = 420_mm, spec.height = 560_mm;
      spec.joint = joint;
      spec.edge = EdgeSpec{shape, 12_mm, shape == EdgeShape::chamfer ? 55.0 : 45.0};
      spec.stretchers = 1;
      specs.push_back(spec);
    }
  specs.push_back(plain(Kind::custom));
  specs.back().edge = EdgeSpec{EdgeShape::chamfer, 14_mm, 45};
  specs.push_back(plain(Kind::solid_trap));
  specs.back().width = 500_mm, specs.back().height = 300_mm;
  specs.back().timber = "square";
  specs.push_back(plain(Kind::free_screen));
  specs.back().width = 400_mm, specs.back().height = 500_mm;
  for (const ProductSpec& spec : specs) {
    const Product product = piece(spec, shop);
    const Sampled3 by_points = sampled_timber(product, 450, 0.003);
    EXPECT_EQ(by_points.overlaps, 0) << kind_title(spec.kind) << " joint " << int(spec.joint);
    EXPECT_NEAR(by_points.timber_kg, product.timber_kg,
                (spec.kind == Kind::solid_trap ? 0.02 : 0.006) * product.timber_kg)
        << kind_title(spec.kind) << " joint " << int(spec.joint) << " edge "
        << int(product.edge.shape);
  }
}

TEST(Kinds, have_their_centre_of_gravity_where_the_points_have_it) {
  const shop::Shop shop = full_shop();
  for (const Kind kind : {Kind::wall_panel, Kind::free_screen, Kind::custom}) {
    ProductSpec spec = plain(kind);
    if (kind != Kind::custom) spec.width = 400_mm, spec.height = 500_mm;
    spec.edge = EdgeSpec{EdgeShape::round_over, 12_mm, 45};
    const Product product = piece(spec, shop);
    Sampled3 sum = sampled_timber(product, 450, 0.003);
    double mass = sum.timber_kg;
    const auto add = [&](double density, const Solid& solid) {
      sum.moment = sum.moment + solid.middle_m * (solid.volume_m3 * density);
      mass += solid.volume_m3 * density;
    };
    for (const BoardPlace& board : product.boards) add(60, solid_of(board));
    for (const Plate& plate : product.plates) add(600, solid_of(plate));
    const Vec3 middle = sum.moment * (1 / mass);
    EXPECT_NEAR(length(middle - product.centre_of_gravity_m), 0, 1.5e-3) << kind_title(kind);
  }
}

// ---- joints -----------------------------------------------------------------------------------

double stick_metres(const Product& product) {
  double sum = 0;
  for (const auto& stick : product.parts.sticks) sum += stick.count * stick.length.metres();
  return sum;
}

TEST(Joints, ask_for_the_sticks_that_their_corners_need) {
  const shop::Shop shop = full_shop();
  ProductSpec spec = plain(Kind::wall_panel);
  spec.width = 600_mm, spec.height = 900_mm;
  EXPECT_NEAR(stick_metres(piece(spec, shop)), 2 * 0.6 + 2 * (0.9 - 0.054), 1e-9);
  for (const Joint joint : {Joint::half_lap, Joint::mitre}) {
    spec.joint = joint;
    EXPECT_NEAR(stick_metres(piece(spec, shop)), 2 * 0.6 + 2 * 0.9, 1e-9) << "from end to end";
  }
  spec.joint = Joint::half_lap;
  const Product lapped = piece(spec, shop);
  for (const auto& operation : lapped.parts.operations)
    if (operation.feature == "lap") EXPECT_EQ(operation.count, 8);
  for (const Screw& screw : lapped.screws) EXPECT_EQ(screw.along.z, -1) << "from the back";
  spec.joint = Joint::mitre;
  spec.sheet = "ply";
  const Product splined = piece(spec, shop);
  EXPECT_TRUE(splined.screws.empty()) << "a spline takes the screws' place";
  ASSERT_EQ(splined.parts.sheets.size(), 1u);
  EXPECT_EQ(splined.parts.sheets[0].count, 4);
  EXPECT_EQ(splined.parts.sheets[0].width, 18_mm) << "a third of 27 mm into each side";
}

TEST(Joints, count_the_screws_that_they_place) {
  const shop::Shop shop = full_shop();
  Random random(3);
  for (int round = 0; round < 60; ++round) {
    ProductSpec spec = plain(Kind::wall_panel);
    spec.width = 1_mm * random.between(250, 1300);
    spec.height = 1_mm * random.between(250, 1300);
    spec.joint = static_cast<Joint>(round % 3);
    spec.stretchers = int(random.between(0, 2));
    spec.stretcher_run = static_cast<StretcherRun>(random.between(0, 2));
    const auto made = make_product(spec, shop, "p");
    if (!made) continue;
    double counted = 0;
    for (const auto& part : made->parts.hardware)
      if (part.hardware == "screw" || part.hardware == "short") counted += part.count;
    EXPECT_EQ(counted, double(made->screws.size()) + 2) << "two go into the wall";
    for (const Screw& screw : made->screws) {
      const Vec3 tip = screw.at + screw.along * (screw.length_m - 1e-4);
      const bool in = std::any_of(made->members.begin(), made->members.end(),
                                  [&](const Member& m) { return holds_point(m, tip); });
      EXPECT_TRUE(in) << screw.joint << ": its point is in wood";
    }
  }
}

TEST(Stretchers, lie_where_they_are_asked_for) {
  const shop::Shop shop = full_shop();
  ProductSpec spec = plain(Kind::wall_panel);
  spec.width = 1200_mm, spec.height = 600_mm;
  spec.stretchers = 2;
  const auto upright = [&](const Product& product) {
    return std::count_if(product.members.begin(), product.members.end(), [](const Member& m) {
      return m.name == "stretcher" && m.height > m.width;
    });
  };
  EXPECT_EQ(upright(piece(spec, shop)), 2) << "across the long side";
  spec.stretcher_run = StretcherRun::level;
  EXPECT_EQ(upright(piece(spec, shop)), 0);
  spec.stretchers = 10;
  spec.height = 400_mm;
  const auto crowded = make_product(spec, shop, "p");
  ASSERT_FALSE(crowded.ok());
  EXPECT_EQ(crowded.mistakes().items()[0].where, "p.stretchers");
}

// ---- mountings, screens, plugs ----------------------------------------------------------------

TEST(Cleat, says_how_far_a_panel_is_lifted_and_how_far_it_stands_off) {
  // Geometry: over 27 mm at 45° the bevel rises 27 mm; 3 mm of play.
  shop::Shop shop = full_shop();
  shop.timber["deep"].depth = 70_mm;
  ProductSpec spec = plain(Kind::wall_panel);
  spec.mounting = Mounting::french_cleat;
  const Product panel = piece(spec, shop);
  EXPECT_EQ(panel.lift_on, 30_mm);
  EXPECT_EQ(panel.stand_off, 27_mm);
  const auto* check = &panel.checks.back();
  // Two halves of 67 mm, the narrow side 33.5 − 13.5 = 20 mm.
  EXPECT_EQ(check->what, "French cleat");
  EXPECT_TRUE(check->ok);
  EXPECT_EQ(check->clearance, 5_mm);
  spec.gap = 20_mm;
  EXPECT_FALSE(make_product(spec, shop, "p").ok());
}

TEST(Screen, is_tipped_by_its_weight_times_half_its_foot_over_its_height) {
  // Statics: moments about the foot's end.
  const shop::Shop shop = full_shop();
  ProductSpec spec = plain(Kind::free_screen);
  spec.width = 900_mm, spec.height = 1300_mm;
  const Product screen = piece(spec, shop);
  EXPECT_EQ(screen.height, 1327_mm) << "on feet of 27 mm";
  EXPECT_EQ(screen.depth, 700_mm);
  EXPECT_EQ(screen.parts.cloths.size(), 2u) << "both faces";
  EXPECT_NEAR(tipping_force_n(screen),
              screen.mass_kg() * 9.80665 *
                  std::min(screen.centre_of_gravity_m.z, 0.7 - screen.centre_of_gravity_m.z) /
                  1.327,
              1e-9);
  EXPECT_NEAR(screen.centre_of_gravity_m.z, 0.35, 0.04);
}

TEST(Screen, that_is_tipped_too_easily_gets_a_foot_that_stands) {
  const shop::Shop shop = full_shop();
  ProductSpec spec = plain(Kind::free_screen);
  spec.width = 900_mm, spec.height = 1500_mm;
  spec.stand->foot = 200_mm;
  const Product light = piece(spec, shop);
  const BenchCheck& check = light.checks.back();
  ASSERT_EQ(check.what, "tipping");
  ASSERT_FALSE(check.ok);
  const std::string mark = "Make the feet at least ";
  const std::size_t at = check.sentence.find(mark);
  ASSERT_NE(at, std::string::npos) << check.sentence;
  spec.stand->foot = Length::from_mm(std::stod(check.sentence.substr(at + mark.size())));
  EXPECT_TRUE(piece(spec, shop).checks.back().ok) << check.sentence;
  spec.stand->foot -= 20_mm;
  EXPECT_FALSE(piece(spec, shop).checks.back().ok) << check.sentence;
}

TEST(Plug, leaves_the_clearance_that_its_seal_fills) {
  const shop::Shop shop = full_shop();
  const Product plug = piece(plain(Kind::window_plug), shop);
  EXPECT_EQ(plug.width, 900_mm - 16_mm);
  EXPECT_EQ(plug.height, 1100_mm - 16_mm);
  EXPECT_EQ(plug.depth, 120_mm + 12_mm);
  EXPECT_FALSE(plug.cautions.empty());
  ProductSpec thin = plain(Kind::window_plug);
  thin.plug->seal = 9_mm;
  const Product loose = piece(thin, shop);
  const auto seal = std::find_if(loose.checks.begin(), loose.checks.end(),
                                 [](const BenchCheck& one) { return one.what == "seal"; });
  EXPECT_FALSE(seal->ok) << "pressed by 11 %";
  thin.plug->seal = 10_mm;
  const Product tight = piece(thin, shop);
  EXPECT_TRUE(std::all_of(tight.checks.begin(), tight.checks.end(),
                          [](const BenchCheck& one) { return one.ok || one.what != "seal"; }));
}

// ---- custom -----------------------------------------------------------------------------------

TEST(Custom, boards_and_members_add_up_to_the_outline) {
  const shop::Shop shop = full_shop();
  Random random(12);
  int made_count = 0;
  for (int round = 0; round < 80; ++round) {
    // Corners on an ellipse are convex in any number.
    const int corners = int(random.between(3, 9));
    std::vector<double> turns;
    for (int i = 0; i < corners; ++i)
      turns.push_back((i + random.uniform(0, 0.5)) * 2 * std::numbers::pi / corners);
    ProductSpec spec = plain(Kind::custom);
    spec.custom->layers = {{LayerOf::cloth, "cloth", {}}, {LayerOf::board, "wool", {}}};
    spec.custom->outline.clear();
    const double a = random.uniform(200, 900), b = random.uniform(200, 900);
    for (const double turn : turns)
      spec.custom->outline.push_back({Length::from_mm(std::round(a * std::cos(turn))),
                                      Length::from_mm(std::round(b * std::sin(turn)))});
    const auto made = make_product(spec, shop, "p");
    if (!made) continue;
    ++made_count;
    Polygon outline;
    for (const auto& [x, y] : spec.custom->outline) outline.push_back({x.metres(), y.metres()});
    double area_m2 = 0;
    for (const Member& member : made->members) area_m2 += solid_of(member).volume_m3 / 0.120;
    for (const BoardPlace& board : made->boards) {
      area_m2 += solid_of(board).volume_m3 / 0.040;
      bool cut_from = false;
      for (const auto& part : made->parts.boards)
        cut_from =
            cut_from || std::max(part.width, part.height) >= std::max(board.width, board.height);
      EXPECT_TRUE(cut_from);
    }
    EXPECT_NEAR(area_m2, signed_area(outline), 1e-5);
    EXPECT_EQ(made->members.size(), outline.size());
  }
  EXPECT_GT(made_count, 20);
}

TEST(Custom, absorbs_over_the_area_of_its_outline) {
  const shop::Shop shop = full_shop();
  const Product gable = piece(plain(Kind::custom), shop);
  EXPECT_NEAR(gable.sound.face_width_m * gable.sound.face_height_m, 0.9 * 0.5 + 0.9 * 0.26 / 2,
              1e-9);
  ASSERT_EQ(gable.sound.strips[0].stack.layers.size(), 5u) << "four, and the air left in the frame";
  const auto got = absorption_of(gable, shop, acoustics::standard_air());
  ASSERT_TRUE(got.ok());
  EXPECT_GT(got->likely_m2[4], 0.3 * 0.567);
  for (std::size_t i = 0; i < got->likely_m2.size(); ++i)
    EXPECT_LE(got->low_m2[i], got->high_m2[i]);
}

TEST(Custom, is_refused_where_it_cannot_be_mitred) {
  const shop::Shop shop = full_shop();
  const auto refused = [&](std::vector<Corner> outline) {
    ProductSpec spec = plain(Kind::custom);
    spec.custom->outline = std::move(outline);
    const auto made = make_product(spec, shop, "p");
    EXPECT_FALSE(made.ok());
    return made.ok() ? std::string() : made.mistakes().text();
  };
  const Length o;
  EXPECT_NE(refused({{o, o}, {o, 500_mm}, {500_mm, o}}).find("anticlockwise"), std::string::npos);
  EXPECT_NE(refused({{o, o}, {900_mm, o}, {500_mm, 60_mm}, {500_mm, 900_mm}, {o, 900_mm}})
                .find("30 to 330"),
            std::string::npos);
  EXPECT_NE(refused({{o, o}, {900_mm, o}, {900_mm, 60_mm}, {o, 600_mm}}).find("mitres"),
            std::string::npos);
}

/// At the least width it is made inside itself, a millimetre less is refused.
void expect_least_width(ProductSpec spec, const shop::Shop& shop, Length least) {
  spec.width = least;
  const auto made = make_product(spec, shop, "p");
  ASSERT_TRUE(made.ok()) << made.mistakes().text();
  for (const Member& one : made->members) {
    EXPECT_GE(one.z, Length()) << one.name;
    for (const Member& other : made->members)
      EXPECT_TRUE(&one == &other || one.name != "foot" || other.name != "foot" ||
                  one.x + one.width <= other.x || other.x + other.width <= one.x);
  }
  spec.width = least - 1_mm;
  const auto refused = make_product(spec, shop, "p");
  ASSERT_FALSE(refused.ok());
  EXPECT_NE(refused.mistakes().text().find("p.width: is too narrow"), std::string::npos)
      << refused.mistakes().text();
}

TEST(Products, too_narrow_for_their_own_timber_are_refused) {  // a spine through the face; feet in
                                                               // one another
  const shop::Shop shop = full_shop();
  const shop::Timber& deep = shop.timber.at(plain(Kind::solid_trap).timber);
  expect_least_width(plain(Kind::solid_trap), shop,
                     std::max(deep.width * 4, deep.width + deep.depth * 2));
  shop::Shop deeper = shop;
  deeper.timber.at(plain(Kind::free_screen).timber).depth = 150_mm;
  expect_least_width(plain(Kind::free_screen), deeper, 450_mm);
}

// ---- anything at all --------------------------------------------------------------------------

ProductSpec any_spec(Random& random) {
  const Kind kind = static_cast<Kind>(random.between(0, 8));
  ProductSpec spec = plain(kind);
  const auto side = [&] { return 1_mm * random.between(100, 3000); };
  if (random.below(2)) spec.timber = "square";
  if (random.below(4) && kind != Kind::custom && kind != Kind::window_plug)
    spec.width = side(), spec.height = side();
  if (random.below(3) == 0) spec.back_cloth = "back";
  if (random.below(3) == 0) spec.sheet = "ply";
  spec.board_layers = int(random.between(1, 3));
  if (random.below(3) == 0) spec.gap = 1_mm * random.between(0, 300);
  if (random.below(2))
    spec.edge = EdgeSpec{static_cast<EdgeShape>(random.between(0, 3)), 1_mm * random.between(0, 40),
                         random.uniform(10, 80)};
  spec.joint = static_cast<Joint>(random.between(0, 2));
  if (random.below(3) == 0) spec.stretchers = int(random.between(0, 10));
  spec.stretcher_run = static_cast<StretcherRun>(random.between(0, 2));
  if (random.below(3) == 0) spec.mounting = static_cast<Mounting>(random.between(0, 2));
  if (spec.stand) spec.stand->foot = 1_mm * random.between(100, 2000);
  if (spec.plug) *spec.plug = {side(), side(), 1_mm * random.between(1, 60)};
  if (spec.custom)
    for (auto& [x, y] : spec.custom->outline)
      x += 1_mm * random.between(-200, 200), y += 1_mm * random.between(-200, 200);
  if (kind == Kind::tuned_trap)
    spec.tuned = TunedFront{static_cast<Front>(random.between(0, 2)),
                            "ply",
                            1_mm * random.between(1, 30),
                            1_mm * random.between(10, 200),
                            1_mm * random.between(1, 20),
                            1_mm * random.between(10, 200),
                            1_mm * random.between(10, 400),
                            static_cast<FillPlace>(random.between(0, 2))};
  if (kind == Kind::diffuser) {
    spec.wells = WellPlan{acoustics::Sequence::quadratic_residue, 7, random.uniform(300, 2000),
                          1_mm * random.between(20, 100),         1, false};
    spec.board = spec.cloth = "";
  }
  return spec;
}

TEST(AnySpec, is_made_or_refused_by_key_and_what_is_made_adds_up) {
  const shop::Shop shop = full_shop();
  Random random(77);
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 20000 : 1500;
  std::map<Kind, int> made_of;
  for (int round = 0; round < rounds; ++round) {
    const ProductSpec spec = any_spec(random);
    const auto made = make_product(spec, shop, "p");
    if (!made) {
      for (const Complaint& fault : made.mistakes().items())
        EXPECT_EQ(fault.where.rfind("p.", 0), 0u) << fault.sentence();
      continue;
    }
    ++made_of[spec.kind];
    const Product& product = *made;
    EXPECT_GT(product.mass_kg(), 0);
    EXPECT_GE(product.timber_kg, 0);
    EXPECT_TRUE(std::isfinite(product.centre_of_gravity_m.x + product.centre_of_gravity_m.y +
                              product.centre_of_gravity_m.z));
    for (const Member& m : product.members) {
      EXPECT_TRUE(m.x >= Length() && m.x + m.width <= product.width) << m.name;
      EXPECT_TRUE(m.y >= Length() && m.y + m.height <= product.height) << m.name;
      EXPECT_TRUE(m.z >= Length()) << m.name;
    }
    const bool boxes = spec.joint == Joint::butt && spec.kind != Kind::custom;
    for (std::size_t i = 0; boxes && i < product.members.size(); ++i)
      for (std::size_t k = 0; k < i; ++k) {
        const Member &a = product.members[i], &b = product.members[k];
        const auto apart = [](Length p, Length ps, Length q, Length qs) {
          return p + ps <= q || q + qs <= p;
        };
        EXPECT_TRUE(apart(a.x, a.width, b.x, b.width) || apart(a.y, a.height, b.y, b.height) ||
                    apart(a.z, a.depth, b.z, b.depth))
            << kind_title(spec.kind) << ": " << a.name << " in " << b.name;
      }
    for (const BenchCheck& check : product.checks) {
      EXPECT_EQ(check.ok, check.clearance >= Length()) << check.sentence;
      EXPECT_FALSE(check.sentence.empty());
    }
    for (const auto& stick : product.parts.sticks) EXPECT_GT(stick.length, Length()) << stick.name;
    for (const auto& board : product.parts.boards)
      EXPECT_TRUE(board.width > Length() && board.height > Length());
  }
  EXPECT_EQ(made_of.size(), 9u) << "each kind came through";
}

}  // namespace
}  // namespace roomwright::design
