// Tuned traps from a target: what is answered can be built, peaks where it says, and stays there
// within a builder's tolerances.
#include "design/tuned/tuned.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "design/tuned/trial.h"
#include "figures/figures.h"

namespace roomwright::design {
namespace {

using namespace trial;

acoustics::AbsorptionOptions straight_on() {
  acoustics::AbsorptionOptions options;
  options.incidence.kind = acoustics::Incidence::normal;
  options.reaction = acoustics::Reaction::local;
  return options;
}

std::vector<double> absorption_at(const acoustics::Stack& stack, const std::vector<double>& hz) {
  return acoustics::absorptions({stack}, air, hz, straight_on()).value()[0];
}

// ---- One peak -------------------------------------------------------------------------------

/// Screen, limp mass, air: z = r + j (ωm/ρc − cot ωD/c), so that the peak is 4r/(1+r)² where the
/// reactance is 0 and half of it where the reactance is ±(1 + r).
TEST(TrapPeak, of_a_braked_mass_before_air_is_that_of_its_closed_form) {
  const double rho_c = air.impedance_pa_s_m(), c = air.sound_speed_m_s;
  for (const double r : {0.02, 0.3, 1.0, 2.5})
    for (const double mass : {0.8, 3.0, 12.0})
      for (const double depth : {0.02, 0.1, 0.3}) {
        acoustics::Stack stack;
        stack.layers = {acoustics::ScreenLayer{r * rho_c, {}}, acoustics::MembraneLayer{mass},
                        acoustics::AirLayer{depth}};
        const double start = cotangent_hz(mass, depth, air);
        const auto reactance = [&](double hz) {
          const double omega = 2 * round_pi * hz;
          return omega * mass / rho_c - 1 / std::tan(omega * depth / c);
        };
        const auto where = [&](double wanted) {
          double low = 1e-3, high = c / (2 * depth) * (1 - 1e-12);
          for (int i = 0; i < 200; ++i) {
            const double hz = (low + high) / 2;
            (reactance(hz) < wanted ? low : high) = hz;
          }
          return low;
        };
        EXPECT_NEAR(start, where(0), 1e-6 * start);
        for (const double near : {0.7 * start, start, 1.6 * start}) {
          const TrapPeak peak = trap_peak(stack, air, near).value();
          EXPECT_NEAR(peak.hz, start, 2e-6 * start) << r << " " << mass << " " << depth;
          EXPECT_NEAR(peak.absorption, 4 * r / ((1 + r) * (1 + r)), 1e-9);
          const double half = (where(1 + r) - where(-1 - r)) / 2;
          EXPECT_NEAR(peak.half_width_hz, half, 2e-5 * half + 2e-6 * start);
        }
      }
}

TEST(TrapPeak, says_where_there_is_none) {
  acoustics::Stack stack;
  stack.layers = {acoustics::MembraneLayer{3}, acoustics::AirLayer{0.1}};
  EXPECT_FALSE(trap_peak(stack, air, 80).ok()) << "nothing brakes it";
  EXPECT_FALSE(trap_peak(stack, air, -1).ok());
  EXPECT_FALSE(trap_peak({}, air, 80).ok());
}

// ---- The closed form against published relations, solved elsewhere --------------------------

acoustics::Air table_air() {
  acoustics::AirInput input;
  input.sound_speed_m_s = 343.2;
  return acoustics::make_air(input).value();
}

/// Source: perforated absorber, ω t/ε = c cot(ωD/c), Cox & D'Antonio, Acoustic Absorbers and
/// Diffusers (from memory); computed in perforated.csv
TEST(TrapStart, of_perforated_fronts_is_that_of_the_table) {
  const acoustics::Air given = table_air();
  int own = 0;
  for (const auto& row : figures::rows("perforated.csv")) {
    const double open = std::stod(row.at("open_area")),
                 wanted = std::stod(row.at("f_exact_cot_Hz"));
    const double depth_m = std::stod(row.at("depth_mm")) / 1000;
    const double length_m = std::stod(row.at("t_eff_mm")) / 1000;
    EXPECT_NEAR(cotangent_hz(given.density_kg_m3 * length_m / open, depth_m, given), wanted,
                5e-3 * wanted);
    if (row.at("end_correction") != "0.85r(1-1.47e^.5+0.47e^1.5)/side") continue;
    ++own;
    const double mass = front_mass_kg_m2(
        acoustics::PerforatedLayer{std::stod(row.at("t_mm")) / 1000,
                                   std::stod(row.at("hole_d_mm")) / 1000, open, false},
        given);
    EXPECT_NEAR(cotangent_hz(mass, depth_m, given), wanted, 5e-3 * wanted);
  }
  EXPECT_EQ(own, 4);
}

/// Source: slotted absorber, Smits & Kosten, Acustica 1 (1951) (from memory); computed in
/// slotted.csv
TEST(TrapStart, of_slotted_fronts_is_that_of_the_table) {
  const acoustics::Air given = table_air();
  const auto rows = figures::rows("slotted.csv");
  EXPECT_EQ(rows.size(), 3u);
  for (const auto& row : rows) {
    const double wanted = std::stod(row.at("f_exact_cot_Hz"));
    const double mass =
        front_mass_kg_m2(acoustics::SlottedLayer{std::stod(row.at("t_mm")) / 1000,
                                                 std::stod(row.at("slot_mm")) / 1000,
                                                 std::stod(row.at("open_area")), false},
                         given);
    EXPECT_NEAR(cotangent_hz(mass, std::stod(row.at("depth_mm")) / 1000, given), wanted,
                5e-3 * wanted);
  }
}

/// Source: limp panel before air, ω m = ρ c cot(ωD/c), as above (from memory); computed in
/// panels.csv
TEST(TrapStart, of_plain_fronts_is_that_of_the_table) {
  const acoustics::Air given = table_air();
  const auto rows = figures::rows("panels.csv");
  EXPECT_EQ(rows.size(), 5u);
  for (const auto& row : rows) {
    const double wanted = std::stod(row.at("f_exact_cot_Hz"));
    const double mass =
        front_mass_kg_m2(acoustics::MembraneLayer{std::stod(row.at("mass_kg_m2"))}, given);
    EXPECT_NEAR(cotangent_hz(mass, std::stod(row.at("depth_mm")) / 1000, given), wanted,
                5e-3 * wanted);
  }
}

// ---- Answers --------------------------------------------------------------------------------

bool on_grid(Length length, bool metric) {
  const Length grid = metric ? Length::from_mm(1) : sixteenth_inch;
  return length.nanometres() % grid.nanometres() == 0;
}

TEST(TrapAnswers, can_all_be_made_within_the_depth_on_the_shops_own_grid) {
  for (const Case& one : cases()) {
    const bool metric = one.shop.units.metric;
    const auto drills = usual_drills(metric);
    ASSERT_FALSE(one.report.answers.empty());
    std::set<std::string> keys;
    for (const TrapAnswer& answer : one.report.answers) {
      const Product product = made(answer.spec, one.shop);
      const TunedFront& front = *answer.spec.tuned;
      EXPECT_LE(product.depth, one.target.deepest);
      EXPECT_EQ(product.depth, answer.depth);
      EXPECT_EQ(product.mass_kg(), answer.mass_kg);
      EXPECT_TRUE(keys.insert(answer.spec.key).second);
      EXPECT_TRUE(on_grid(front.cavity, metric) && on_grid(front.pitch, metric) &&
                  on_grid(front.slot, metric) && on_grid(front.slat, metric));
      EXPECT_GE(one.shop.sheets.at(answer.spec.sheet).thickness, 9_mm);
      const double inside_m2 = (product.width - product.plates[0].width * 2).metres() *
                               (product.height - product.plates[0].width * 2).metres();
      if (front.front == Front::perforated) {
        EXPECT_EQ(std::count(drills.begin(), drills.end(), front.hole), 1);
        const auto holes = holes_of(product);
        EXPECT_EQ(int(holes.size()), answer.openings);
        const double r = front.hole.metres() / 2;
        EXPECT_NEAR(answer.open_area, holes.size() * round_pi * r * r / inside_m2, 1e-12);
      }
      if (front.front == Front::slotted)
        EXPECT_EQ(std::count_if(product.plates.begin(), product.plates.end(),
                                [](const Plate& plate) { return plate.name == "slat"; }),
                  answer.openings + 1);
    }
  }
}

TEST(TrapAnswers, of_an_inch_shop_are_drilled_with_inch_drills) {
  const Case& inches = cases()[2];
  int drilled = 0;
  for (const TrapAnswer& answer : inches.report.answers)
    if (answer.spec.tuned->front == Front::perforated) {
      ++drilled;
      EXPECT_TRUE(on_grid(answer.spec.tuned->hole, false));
      EXPECT_NE(answer.spec.name.find(" in holes"), std::string::npos) << answer.spec.name;
    }
  EXPECT_GT(drilled, 0);
  EXPECT_EQ(usual_drills(false).front(), eighth_inch);
  EXPECT_EQ(usual_drills(false).back(), 1_in);
  EXPECT_EQ(usual_drills(false).size(), 15u);
  EXPECT_EQ(usual_drills(true).size(), 23u);
}

TEST(TrapAnswers, peak_where_the_products_own_layers_do) {
  for (const Case& one : cases())
    for (const TrapAnswer& answer : one.report.answers) {
      const Product product = made(answer.spec, one.shop);
      const acoustics::Stack& stack = product.sound.strips[0].stack;
      const TrapPeak again = trap_peak(stack, air, one.target.hz).value();
      EXPECT_NEAR(again.hz, answer.peak.hz, 1e-6 * again.hz) << answer.sentence;
      EXPECT_NEAR(again.half_width_hz, answer.peak.half_width_hz, 1e-6 * again.hz);
      EXPECT_NEAR(again.absorption, answer.peak.absorption, 1e-12);
      std::vector<double> hz;
      for (double f = one.target.hz / 2; f < 2 * one.target.hz; f += 0.01) hz.push_back(f);
      const auto fine = absorption_at(stack, hz);
      const std::size_t top = std::max_element(fine.begin(), fine.end()) - fine.begin();
      EXPECT_NEAR(hz[top], answer.peak.hz, 0.011) << answer.sentence;
      EXPECT_NEAR(fine[top], answer.peak.absorption, 1e-6);
      std::size_t low = top, high = top;
      while (low > 0 && fine[low] > fine[top] / 2) --low;
      while (high + 1 < hz.size() && fine[high] > fine[top] / 2) ++high;
      if (low > 0 && high + 1 < hz.size())
        EXPECT_NEAR((hz[high] - hz[low]) / 2, answer.peak.half_width_hz, 0.011);
    }
}

TEST(TrapAnswers, have_third_octaves_of_the_products_own_layers) {
  const Case& one = cases()[0];
  for (const TrapAnswer& answer : one.report.answers) {
    const Product product = made(answer.spec, one.shop);
    ASSERT_EQ(answer.third_octaves.size(), 9u);
    EXPECT_EQ(answer.third_octaves[4].nominal_hz, 63);
    acoustics::AbsorptionOptions options;
    options.reaction = acoustics::Reaction::local;
    options.size_m = acoustics::Size2{0.6, 1.2};
    for (const TrapBand& band : answer.third_octaves) {
      double sum = 0;
      for (int i = -4; i <= 4; ++i)
        sum += acoustics::absorption(product.sound.strips[0].stack, air,
                                     {band.centre_hz * std::pow(10.0, i / 90.0)}, options)
                   .value()
                   .absorption[0];
      EXPECT_NEAR(band.absorption, sum / 9, 1e-9);
    }
  }
}

/// A product's layers as one builder got them.
acoustics::Stack built(const Product& product, double hole_m, double depth_m, double mass) {
  acoustics::Stack stack = product.sound.strips[0].stack;
  std::vector<acoustics::AirLayer*> airs;
  for (acoustics::Layer& layer : stack.layers) {
    if (auto* sheet = std::get_if<acoustics::PerforatedLayer>(&layer)) {
      const double d = sheet->hole_diameter_m + hole_m;
      sheet->open_area *= d * d / (sheet->hole_diameter_m * sheet->hole_diameter_m);
      sheet->hole_diameter_m = d;
    }
    if (auto* sheet = std::get_if<acoustics::SlottedLayer>(&layer)) {
      sheet->open_area *= (sheet->slot_width_m + hole_m) / sheet->slot_width_m;
      sheet->slot_width_m += hole_m;
    }
    if (auto* plate = std::get_if<acoustics::MembraneLayer>(&layer)) plate->mass_kg_m2 *= mass;
    if (auto* gap = std::get_if<acoustics::AirLayer>(&layer)) airs.push_back(gap);
  }
  EXPECT_FALSE(airs.empty()) << "these cases leave air for the depth to go to";
  for (auto* gap : airs) gap->thickness_m += depth_m / airs.size();
  return stack;
}

TEST(TrapAnswers, drift_no_further_than_they_say_in_random_builds) {
  Random random(7);
  std::set<Front> seen;
  for (const Case& one : cases())
    for (const TrapAnswer& answer : one.report.answers) {
      seen.insert(answer.spec.tuned->front);
      const Product product = made(answer.spec, one.shop);
      double low = 1e9, high = 0;
      for (int i = 0; i < 200; ++i) {
        const auto stack = built(product, random.uniform(-2e-4, 2e-4), random.uniform(-2e-3, 2e-3),
                                 random.uniform(0.95, 1.05));
        const double hz = trap_peak(stack, air, answer.peak.hz).value().hz;
        low = std::min(low, hz), high = std::max(high, hz);
      }
      EXPECT_GE(low, answer.drift_hz.low - 1e-3) << answer.sentence;
      EXPECT_LE(high, answer.drift_hz.high + 1e-3) << answer.sentence;
      EXPECT_GT(high - low, 0.5 * (answer.drift_hz.high - answer.drift_hz.low))
          << "and the range is not idle: " << answer.sentence;
      EXPECT_LE(answer.half_width_hz.low, answer.peak.half_width_hz);
      EXPECT_GE(answer.half_width_hz.high, answer.peak.half_width_hz);
    }
  EXPECT_EQ(seen.size(), 3u) << "every front was among them";
}

TEST(TrapAnswers, of_the_drum_room_hit_63_hz_within_two_per_cent) {
  const TrapAnswer& best = cases()[0].report.answers.front();
  EXPECT_NEAR(best.peak.hz, 63, 0.02 * 63);
  EXPECT_NEAR(best.peak.half_width_hz, 20, 4);
  EXPECT_GT(best.peak.absorption, 0.8);
}

TEST(TrapAnswers, differ_by_more_than_a_millimetre_and_come_best_first) {
  for (const Case& one : cases()) {
    const auto& answers = one.report.answers;
    EXPECT_LE(answers.size(), 12u);
    for (std::size_t i = 0; i < answers.size(); ++i) {
      EXPECT_TRUE(trap_fits(one.target, answers[i].peak));
      if (i > 0) EXPECT_LE(answers[i].score, answers[i - 1].score + 1e-4);
      for (std::size_t k = 0; k < i; ++k) {
        const TunedFront &a = *answers[i].spec.tuned, &b = *answers[k].spec.tuned;
        if (a.front != b.front || a.sheet != b.sheet ||
            answers[i].spec.board != answers[k].spec.board)
          continue;
        const Length apart =
            std::max(a.hole + a.slot, b.hole + b.slot) - std::min(a.hole + a.slot, b.hole + b.slot);
        EXPECT_GE(apart, one.shop.units.metric ? 4_mm : sixteenth_inch * 3);
      }
    }
  }
}

TEST(TrapAnswers, warn_where_the_layers_are_weak_and_caution_where_work_can_hurt) {
  bool plain = false;
  for (const Case& one : cases())
    for (const TrapAnswer& answer : one.report.answers) {
      EXPECT_FALSE(answer.cautions.empty());
      std::string text;
      for (const auto& warning : answer.warnings) text += warning + "\n";
      const bool moves = answer.spec.tuned->front == Front::membrane;
      plain = plain || moves;
      EXPECT_EQ(text.find("stiffness is not counted") != std::string::npos, moves) << text;
      EXPECT_EQ(text.find("glue posts") != std::string::npos, answer.posts) << text;
      EXPECT_EQ(text.find("The board lies so close") != std::string::npos, answer.squeeze > 0.05);
      EXPECT_EQ(text.find("The cloth counts") != std::string::npos,
                !moves && !one.target.cloth.empty());
    }
  EXPECT_TRUE(plain);
}

// ---- The block for a job file ---------------------------------------------------------------

TEST(TrapToml, is_the_block_that_a_job_file_takes) {
  ProductSpec spec;
  spec.key = "boom";
  spec.name = "trap \"63 Hz\"";
  spec.kind = Kind::tuned_trap;
  spec.sheet = "plywood_12";
  spec.board = "stone_wool_50";
  spec.board_layers = 2;
  spec.width = 620_mm;
  spec.height = 1240_mm;
  spec.tuned =
      TunedFront{Front::perforated, "plywood_9", 8_mm, 74_mm, {}, {}, 150_mm, FillPlace::at_back};
  EXPECT_EQ(product_toml(spec, {}),
            "[[products]]\n"
            "key = \"boom\"\n"
            "name = \"trap \\\"63 Hz\\\"\"\n"
            "kind = \"tuned_trap\"\n"
            "sheet = \"plywood_12\"\n"
            "board = \"stone_wool_50\"\n"
            "board_layers = 2\n"
            "width = \"620 mm\"\n"
            "height = \"1240 mm\"\n"
            "[products.tuned]\n"
            "front = \"perforated\"\n"
            "sheet = \"plywood_9\"\n"
            "hole = \"8 mm\"\n"
            "pitch = \"74 mm\"\n"
            "cavity = \"150 mm\"\n"
            "fill_at = \"at_back\"\n");
}

/// The text between the quotes behind a key.
std::string value_of(const std::string& toml, const std::string& key) {
  const std::size_t at = toml.find("\n" + key + " = \"");
  if (at == std::string::npos) return "";
  const std::size_t from = at + key.size() + 5;
  return toml.substr(from, toml.find('"', from) - from);
}

TEST(TrapToml, holds_lengths_that_read_back_exactly_whatever_the_job_measures_in) {
  for (const Case& one : cases())
    for (const TrapAnswer& answer : one.report.answers) {
      const std::string toml = product_toml(answer.spec, one.shop.units);
      const TunedFront& front = *answer.spec.tuned;
      for (const auto& [key, length] : {std::pair{"width", *answer.spec.width},
                                        {"height", *answer.spec.height},
                                        {"cavity", front.cavity},
                                        {"hole", front.hole},
                                        {"pitch", front.pitch},
                                        {"slot", front.slot},
                                        {"slat", front.slat}}) {
        const std::string text = value_of(toml, key);
        if (length == Length())
          EXPECT_EQ(text, "") << toml;
        else
          for (const LengthUnit unit : {LengthUnit::m, LengthUnit::mm, LengthUnit::ft})
            EXPECT_EQ(read_length(text, unit).value(), length) << toml;
      }
    }
}

}  // namespace
}  // namespace roomwright::design
