// No design of the same shop scores more than what is answered; what cannot be answered is said so
// that one can act on it; the same wish has the same answers.
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <set>

#include "design/tuned/trial.h"
#include "design/tuned/tuned.h"

namespace roomwright::design {
namespace {

using namespace trial;

// ---- Score ----------------------------------------------------------------------------------

/// Material by area from the parts that are cut; and what else the score looks at, from the
/// product.
double material_minor(const Product& product, const shop::Shop& shop) {
  double minor = 0;
  for (const auto& part : product.parts.sheets) {
    const shop::Sheet& sheet = shop.sheets.at(part.sheet);
    minor += part.count * part.width.metres() * part.height.metres() * sheet.price.minor_units() /
             (sheet.width.metres() * sheet.height.metres());
  }
  for (const auto& part : product.parts.boards) {
    const shop::Board& board = shop.boards.at(product.spec.board);
    minor += part.count * part.width.metres() * part.height.metres() *
             board.price_per_pack.minor_units() /
             (board.per_pack * board.width.metres() * board.height.metres());
  }
  for (const auto& part : product.parts.cloths)
    minor += part.across.metres() * part.along.metres() *
             shop.cloths.at(product.spec.cloth).price_per_m.minor_units() /
             shop.cloths.at(product.spec.cloth).roll_width.metres();
  return minor;
}

TrapEffort effort(const Product& product, const shop::Shop& shop, double target_hz) {
  TrapEffort out;
  const TunedFront& front = *product.spec.tuned;
  double dearest = 0;
  for (const auto& [key, sheet] : shop.sheets)
    dearest = std::max(dearest,
                       sheet.price.minor_units() / (sheet.width.metres() * sheet.height.metres()));
  out.depth = product.depth;
  out.holes = int(holes_of(product).size());
  out.cost_share = material_minor(product, shop) /
                   (product.width.metres() * product.height.metres()) / (4 * dearest);
  if (front.front == Front::membrane) return out;
  const auto& stack = product.sound.strips[0].stack;
  const std::size_t at = product.spec.cloth.empty() ? 0 : 1;
  const double opening = (front.hole + front.slot).metres();
  double end_over_open = 0;
  if (const auto* sheet = std::get_if<acoustics::PerforatedLayer>(&stack.layers[at])) {
    const double e = sheet->open_area;
    end_over_open = 0.425 * opening * (1 - 1.47 * std::sqrt(e) + 0.47 * std::pow(e, 1.5)) / e;
  } else if (const auto* slats = std::get_if<acoustics::SlottedLayer>(&stack.layers[at])) {
    const double e = slats->open_area;
    end_over_open = -opening / round_pi * std::log(std::sin(round_pi * e / 2)) / e;
  }
  const auto* gap = std::get_if<acoustics::AirLayer>(&stack.layers[at + 1]);
  const double fading = std::max(0.0, 1 - (gap ? gap->thickness_m : 0) / opening);
  for (const auto& layer : stack.layers)
    if (const auto* wool = std::get_if<acoustics::PorousLayer>(&layer))
      out.squeeze =
          fading * wool->flow_resistivity_pa_s_m2 * end_over_open / air.impedance_pa_s_m();
  const shop::Sheet& sheet = shop.sheets.at(front.sheet);
  const double a = (product.width - product.plates[0].width * 2).metres();
  const double b = (product.height - product.plates[0].width * 2).metres();
  const double bending =
      sheet.thickness.metres() * std::sqrt(8e9 / (12 * 0.91 * sheet.density_kg_m3));
  const double up = front.front == Front::slotted ? 0 : 1 / (b * b);
  out.posts = round_pi / 2 * bending * (1 / (a * a) + up) < 2 * target_hz;
  return out;
}

TEST(TrapScore, of_every_answer_is_that_of_its_product) {
  for (const Case& one : cases())
    for (const TrapAnswer& answer : one.report.answers) {
      const Product product = made(answer.spec, one.shop);
      const TrapEffort again = effort(product, one.shop, one.target.hz);
      EXPECT_EQ(again.posts, answer.posts) << answer.sentence;
      EXPECT_NEAR(again.squeeze, answer.squeeze, 1e-9) << answer.sentence;
      EXPECT_NEAR(again.cost_share, answer.cost_share, 1e-9) << answer.sentence;
      EXPECT_NEAR(material_minor(product, one.shop), answer.material.minor_units(), 0.51);
      EXPECT_NEAR(trap_score(one.target, answer.peak, again), answer.score, 1e-6);
    }
}

/// Every design of one sheet, one board and two drills, by make_product and the engine alone.
struct Tried {
  double best = -1e9;
  std::map<Length, double> by_drill;
  std::size_t count = 0;
};
Tried try_all(const TrapTarget& target, const shop::Shop& shop, const std::vector<Length>& drills) {
  Tried out;
  const Length board = shop.boards.at("wool").thickness, sheets = 24_mm;
  for (const Length drill : drills)
    for (Length cavity = board; cavity + sheets <= target.deepest; cavity += 1_mm)
      for (const FillPlace place :
           {FillPlace::behind_front, FillPlace::middle, FillPlace::at_back}) {
        std::map<std::size_t, bool> seen;  // pitches of as many holes sound and cost the same
        for (Length pitch = drill * 2; pitch <= 500_mm; pitch += 1_mm) {
          ProductSpec spec;
          spec.key = spec.name = "tried";
          spec.kind = Kind::tuned_trap;
          spec.sheet = "ply";
          spec.board = "wool";
          spec.width = target.width;
          spec.height = target.height;
          spec.tuned = TunedFront{Front::perforated, "ply", drill, pitch, {}, {}, cavity, place};
          const Product product = made(spec, shop);
          const auto holes = holes_of(product);
          std::set<double> x, y;
          for (const Vec2& hole : holes) x.insert(hole.x), y.insert(hole.y);
          if (x.size() < 2 || y.size() < 2 || !seen.emplace(holes.size(), true).second) continue;
          ++out.count;
          const auto peak = trap_peak(product.sound.strips[0].stack, air, target.hz);
          if (!peak || !trap_fits(target, *peak)) continue;
          const double score = trap_score(target, *peak, effort(product, shop, target.hz));
          out.best = std::max(out.best, score);
          auto& of_drill = out.by_drill.emplace(drill, -1e9).first->second;
          of_drill = std::max(of_drill, score);
        }
      }
  return out;
}

TEST(TrapScore, of_the_best_answer_is_the_best_of_every_design_there_is) {
  const shop::Shop shop = figures::small_shop(true);
  TrapOptions options;
  options.drills = {5_mm, 12_mm};
  TrapTarget target;
  target.width = 300_mm;
  target.height = 420_mm;
  target.fronts = {Front::perforated};
  target.board = "wool";
  target.deepest = 82_mm;
  for (const auto& [hz, half_width_hz] : {std::pair{150.0, 30.0}, {210.0, 40.0}, {175.0, 45.0}}) {
    target.hz = hz;
    target.half_width_hz = half_width_hz;
    const Tried tried = try_all(target, shop, options.drills);
    EXPECT_GT(tried.count, 2000u);
    ASSERT_EQ(tried.by_drill.size(), 2u) << hz;
    const TrapReport report = designed(target, shop, options);
    ASSERT_EQ(report.answers.size(), 2u) << "the drills differ by 7 mm";
    EXPECT_NEAR(report.answers[0].score, tried.best, 1e-6) << hz;
    for (const TrapAnswer& answer : report.answers)
      EXPECT_NEAR(answer.score, tried.by_drill.at(answer.spec.tuned->hole), 1e-6) << hz;
  }
}

// ---- What goes wrong ------------------------------------------------------------------------

TEST(TrapErrors, tell_every_silly_wish_at_once) {
  TrapTarget target;
  target.hz = 1000;
  target.half_width_hz = std::nan("");
  target.width = 20_mm;
  target.height = 4000_mm;
  target.deepest = Length();
  target.fronts.clear();
  target.sheet = "marble";
  target.board = "straw";
  target.cloth = "silk";
  TrapOptions options;
  options.most = 0;
  options.threads = -1;
  options.drills = {Length::from_mm(0.2)};
  const std::string text = mistakes_of(target, drum_shop(), options);
  for (const char* key :
       {"target.hz", "target.half_width_hz", "target.width", "target.height", "target.deepest",
        "target.fronts", "target.sheet", "target.board", "target.cloth", "options.most",
        "options.threads", "options.drills[0]", "plywood_12", "stone_wool_50"})
    EXPECT_NE(text.find(key), std::string::npos) << key << " in\n" << text;
  target = TrapTarget{};
  target.half_width_hz = 63;
  EXPECT_NE(mistakes_of(target, drum_shop()).find("below the frequency"), std::string::npos);
}

TEST(TrapErrors, name_what_the_shop_lacks) {
  shop::Shop bare = drum_shop();
  bare.sheets.clear();
  EXPECT_NE(mistakes_of({}, bare).find("shop.sheets: has no sheet"), std::string::npos);
  bare = drum_shop();
  bare.boards.clear();
  EXPECT_NE(mistakes_of({}, bare).find("shop.boards"), std::string::npos);
  bare = drum_shop();
  for (const char* key : {"plywood_9", "plywood_12", "plywood_18"}) bare.sheets.erase(key);
  EXPECT_NE(mistakes_of({}, bare).find("no sheet of the shop makes a box"), std::string::npos);
  bare = drum_shop();
  bare.rules.corner_screw = "nail";
  EXPECT_NE(mistakes_of({}, bare).find("rules.corner_screw"), std::string::npos);
  TrapTarget small;
  small.width = small.height = 250_mm;
  small.fronts = {Front::membrane};
  EXPECT_NE(mistakes_of(small, drum_shop()).find("limp"), std::string::npos);
}

TEST(TrapErrors, of_depth_say_the_least_that_would_do_and_it_does) {
  for (const Length deepest : {12_mm, 90_mm}) {
    TrapTarget target;
    target.deepest = deepest;
    const std::string text = mistakes_of(target, drum_shop());
    const std::size_t at = text.find("give at least ");
    ASSERT_NE(at, std::string::npos) << text;
    EXPECT_NE(text.find("by a perforated front of plywood_"), std::string::npos) << text;
    target.deepest = Length::from_mm(std::stod(text.substr(at + 14)));
    EXPECT_GT(target.deepest, deepest);
    const TrapReport report = designed(target, drum_shop());
    ASSERT_FALSE(report.answers.empty());
    EXPECT_EQ(report.answers[0].depth, target.deepest);
    target.deepest = target.deepest - 1_mm;
    EXPECT_NE(mistakes_of(target, drum_shop()).find("target.deepest"), std::string::npos);
  }
}

TEST(TrapErrors, of_a_wish_that_no_depth_grants_tell_the_nearest_there_is) {
  TrapTarget target;
  target.half_width_hz = 1;
  const std::string text = mistakes_of(target, drum_shop());
  EXPECT_NE(text.find("at any depth; the nearest peaks at"), std::string::npos) << text;
}

TEST(TrapErrors, of_a_cancelled_watch_come_soon) {
  const std::atomic<bool> cancel{true};
  Watch watch;
  watch.cancel = &cancel;
  const auto got = design_traps({}, drum_shop(), air, {}, watch);
  ASSERT_FALSE(got.ok());
  EXPECT_NE(got.mistakes().text().find("cancelled"), std::string::npos);
}

// ---- The same again -------------------------------------------------------------------------

std::string digest(const TrapReport& report) {
  std::string out;
  for (const TrapAnswer& answer : report.answers) {
    out += product_toml(answer.spec, {}) + answer.sentence + "\n";
    for (const double value :
         {answer.score, answer.peak.hz, answer.peak.half_width_hz, answer.peak.absorption,
          answer.drift_hz.low, answer.drift_hz.high, answer.half_width_hz.low,
          answer.peak_absorption.low, answer.mass_kg, answer.open_area, answer.cost_share})
      out += shortest(value) + " ";
    for (const TrapBand& band : answer.third_octaves) out += shortest(band.absorption) + " ";
    for (const auto& warning : answer.warnings) out += warning + "\n";
  }
  return out;
}

TEST(TrapReport, is_the_same_on_every_run_and_any_number_of_threads) {
  const std::string before = digest(cases()[0].report);
  for (const int threads : {1, 2}) {
    TrapOptions options;
    options.threads = threads;
    EXPECT_EQ(before, digest(designed({}, drum_shop(), options))) << threads;
  }
}

TEST(TrapReport, tells_how_far_it_is_and_how_much_it_weighed) {
  std::vector<double> told;
  Watch watch;
  watch.progress = [&](double fraction, std::string_view) { told.push_back(fraction); };
  const auto report = design_traps({}, drum_shop(), air, {}, watch);
  ASSERT_TRUE(report.ok());
  EXPECT_TRUE(std::is_sorted(told.begin(), told.end()));
  EXPECT_GT(told.size(), 3u);
  EXPECT_EQ(told.back(), 1);
  EXPECT_GT(report->cavities, 1000u);
  EXPECT_GT(report->fronts, 1000u);
  EXPECT_GT(report->measured, 100u);
}

TEST(TrapReport, has_the_best_of_every_front_that_fits) {
  for (const Case& one : cases())
    for (const Front front : one.target.fronts) {
      TrapTarget alone = one.target;
      alone.fronts = {front};
      const auto by_itself = design_traps(alone, one.shop, air);
      if (!by_itself) continue;
      const auto& answers = one.report.answers;
      const auto at = std::find_if(answers.begin(), answers.end(), [&](const TrapAnswer& answer) {
        return answer.spec.tuned->front == front;
      });
      ASSERT_NE(at, answers.end());
      EXPECT_NEAR(at->score, by_itself->answers[0].score, 1e-6);
    }
}

}  // namespace
}  // namespace roomwright::design
