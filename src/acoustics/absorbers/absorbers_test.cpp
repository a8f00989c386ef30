// Stacks against computed tables of published formulas, closed forms, and laws: no stack makes
// energy, a doubled layer is one of twice the thickness, a large face is an infinite one.
#include "acoustics/absorbers/absorbers.h"

#include <gtest/gtest.h>

#include <cmath>
#include <sstream>

#include "acoustics/absorbers/layers.h"
#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

/// The constants that the tables state: c 343.2, ρ 1.204, η 1.813e-5.
Air table_air() {
  AirInput input;
  input.density_kg_m3 = 1.204;
  input.sound_speed_m_s = 343.2;
  Air air = make_air(input).value();
  air.viscosity_pa_s = 1.813e-5;
  return air;
}

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string part; std::getline(in, part, at);) {
    while (!part.empty() && part.front() == ' ') part.erase(part.begin());
    while (!part.empty() && part.back() == ' ') part.pop_back();
    out.push_back(part);
  }
  return out;
}

PorousModel model_of(const std::string& code) {
  if (code == "DB") return PorousModel::delany_bazley;
  if (code == "GP") return PorousModel::garai_pompoli;
  return code == "JCA" ? PorousModel::johnson_champoux_allard : PorousModel::miki;
}

/// The tables' layer codes; nullopt for what they hold beyond ours.
Layer layer_of(const std::string& code) {
  const auto part = split(code, ':');
  const auto at = [&](std::size_t i) { return std::stod(part.at(i)); };
  if (part[0] == "air") return AirLayer{at(1)};
  if (part[0] == "panel") return MembraneLayer{at(1)};
  if (part[0] == "screen") {
    ScreenLayer screen{at(1), std::nullopt};
    if (part.at(2) != "None") screen.mass_kg_m2 = at(2);
    return screen;
  }
  if (part[0] == "perf") return PerforatedLayer{at(1), at(2), at(3), false};
  PorousLayer layer;
  layer.model = model_of(part[0]);
  layer.thickness_m = at(1);
  layer.flow_resistivity_pa_s_m2 = at(2);
  if (part[0] == "JCA") {
    layer.porosity = at(3);
    layer.tortuosity = at(4);
    layer.viscous_length_m = at(5);
    layer.thermal_length_m = at(6);
  }
  return layer;
}

Stack stack_of(const std::string& codes) {
  Stack stack;
  for (const auto& code : split(codes, '|')) stack.layers.push_back(layer_of(code));
  return stack;
}

double at_one(const Stack& stack, double hz, AbsorptionOptions options) {
  options.angles = 200;
  return absorption(stack, table_air(), {hz}, options).value().absorption[0];
}

AbsorptionOptions diffuse(double to_deg, Reaction reaction) {
  AbsorptionOptions options;
  options.incidence = {Incidence::diffuse, 0, to_deg};
  options.reaction = reaction;
  return options;
}

TEST(Absorption, meets_the_computed_table_of_porous_and_resonant_stacks) {
  // Source: table computed from Delany & Bazley (1970), Miki (1990), Garai & Pompoli (2005),
  // Johnson, Champoux & Allard; transfer matrices, Paris' formula
  // (tests/figures/porous_absorption.csv)
  std::map<std::string, Stack> stacks;
  for (const auto& row : figures::rows("porous_cases.csv"))
    stacks[row.at("case")] = stack_of(row.at("layers front|...|back (rigid)"));
  int compared = 0;
  for (const auto& row : figures::rows("porous_absorption.csv")) {
    const Stack& stack = stacks.at(row.at("case"));
    const double hz = std::stod(row.at("exact_Hz"));
    AbsorptionOptions normal;
    normal.incidence.kind = Incidence::normal;
    const std::string where = row.at("case") + " " + row.at("nominal_Hz");
    EXPECT_NEAR(at_one(stack, hz, normal), std::stod(row.at("alpha_normal")), 1e-4) << where;
    EXPECT_NEAR(at_one(stack, hz, diffuse(90, Reaction::local)),
                std::stod(row.at("alpha_diffuse_local_0_90")), 1e-4)
        << where;
    EXPECT_NEAR(at_one(stack, hz, diffuse(78, Reaction::local)),
                std::stod(row.at("alpha_diffuse_local_0_78")), 1e-4)
        << where;
    EXPECT_NEAR(at_one(stack, hz, diffuse(90, Reaction::extended)),
                std::stod(row.at("alpha_diffuse_extended_0_90")), 1e-4)
        << where;
    EXPECT_NEAR(at_one(stack, hz, diffuse(78, Reaction::extended)),
                std::stod(row.at("alpha_diffuse_extended_0_78")), 1e-4)
        << where;
    ++compared;
  }
  EXPECT_GT(compared, 200);
}

TEST(Absorption, meets_the_table_by_angle) {
  // Source: table computed from Miki (1990) with refraction in every layer
  // (tests/figures/porous_angles.csv)
  for (const auto& row : figures::rows("porous_angles.csv")) {
    AbsorptionOptions options;
    options.incidence = {Incidence::at_angle, std::stod(row.at("angle_deg")), 78};
    const Stack stack = stack_of(row.at("layers"));
    const double hz = std::stod(row.at("f_Hz"));
    EXPECT_NEAR(at_one(stack, hz, options), std::stod(row.at("alpha_extended")), 1e-6);
    options.reaction = Reaction::local;
    EXPECT_NEAR(at_one(stack, hz, options), std::stod(row.at("alpha_local")), 1e-6);
  }
}

TEST(PorousWave, meets_the_table_of_characteristic_impedance_and_wave_number) {
  // Source: table computed from the models' formulas (tests/figures/porous_waves.csv)
  for (const auto& row : figures::rows("porous_waves.csv")) {
    PorousLayer layer;
    layer.model = model_of(row.at("model"));
    const auto values = figures::numbers(row.at("parameters"));
    layer.flow_resistivity_pa_s_m2 = values[0];
    if (values.size() == 5) {
      layer.porosity = values[1];
      layer.tortuosity = values[2];
      layer.viscous_length_m = values[3];
      layer.thermal_length_m = values[4];
    }
    const Wave wave = porous_wave(layer, table_air(), std::stod(row.at("f_Hz")));
    EXPECT_NEAR(wave.impedance.real() / std::stod(row.at("ReZc/rho0c0")), 1, 2e-4);
    EXPECT_NEAR(wave.impedance.imag() / std::stod(row.at("ImZc/rho0c0")), 1, 2e-4);
    EXPECT_NEAR(wave.number.real() / std::stod(row.at("Re k/k0")), 1, 2e-4);
    EXPECT_NEAR(wave.number.imag() / std::stod(row.at("Im k/k0")), 1, 2e-4);
  }
}

TEST(Microperforated, sheets_meet_the_table) {
  // Source: Maa (1998), exact form with end terms (tests/figures/microperforated.csv)
  for (const auto& row : figures::rows("microperforated.csv")) {
    Stack stack;
    stack.layers = {
        PerforatedLayer{std::stod(row.at("t_mm")) / 1e3, std::stod(row.at("hole_d_mm")) / 1e3,
                        std::stod(row.at("open_area")), true},
        AirLayer{std::stod(row.at("depth_mm")) / 1e3}};
    AbsorptionOptions normal;
    normal.incidence.kind = Incidence::normal;
    const double hz =
        1000 *
        std::pow(10, std::round(10 * std::log10(std::stod(row.at("nominal_Hz")) / 1000)) / 10);
    const auto report = absorption(stack, table_air(), {hz}, normal).value();
    EXPECT_NEAR(report.absorption[0], std::stod(row.at("alpha_normal")), 1e-4);
    EXPECT_NEAR(report.impedance[0].imag(), std::stod(row.at("Im_z")), 1e-3);
  }
}

/// The lowest frequency at which a stack's reactance is 0.
double tuned_hz(const Stack& stack, double from, double to) {
  const auto reactance = [&](double hz) {
    AbsorptionOptions normal;
    normal.incidence.kind = Incidence::normal;
    return absorption(stack, table_air(), {hz}, normal).value().impedance[0].imag();
  };
  for (int i = 0; i < 60; ++i) {
    const double middle = (from + to) / 2;
    (reactance(middle) < 0 ? from : to) = middle;
  }
  return from;
}

TEST(Resonators, are_tuned_where_the_cotangent_equation_says) {
  // Source: ω t_eff/ε = c cot(ωD/c) with the end correction of the layer
  // (tests/figures/perforated.csv)
  for (const auto& row : figures::rows("perforated.csv")) {
    if (row.at("end_correction") != "0.85r(1-1.47e^.5+0.47e^1.5)/side") continue;
    Stack stack;
    stack.layers = {
        PerforatedLayer{std::stod(row.at("t_mm")) / 1e3, std::stod(row.at("hole_d_mm")) / 1e3,
                        std::stod(row.at("open_area")), false},
        AirLayer{std::stod(row.at("depth_mm")) / 1e3}};
    const double hz = std::stod(row.at("f_exact_cot_Hz"));
    EXPECT_NEAR(tuned_hz(stack, hz / 2, hz * 1.3), hz, 1e-3);
  }
  // Source: Smits & Kosten (1951) end correction of slots (tests/figures/slotted.csv)
  for (const auto& row : figures::rows("slotted.csv")) {
    Stack stack;
    stack.layers = {
        SlottedLayer{std::stod(row.at("t_mm")) / 1e3, std::stod(row.at("slot_mm")) / 1e3,
                     std::stod(row.at("open_area")), false},
        AirLayer{std::stod(row.at("depth_mm")) / 1e3}};
    const double hz = std::stod(row.at("f_exact_cot_Hz"));
    EXPECT_NEAR(tuned_hz(stack, hz / 2, hz * 1.3), hz, 1e-3);
  }
  // Source: ω m = ρc cot(ωd/c) of a limp sheet before a cavity (tests/figures/panels.csv)
  for (const auto& row : figures::rows("panels.csv")) {
    Stack stack;
    stack.layers = {MembraneLayer{std::stod(row.at("mass_kg_m2"))},
                    AirLayer{std::stod(row.at("depth_mm")) / 1e3}};
    const double hz = std::stod(row.at("f_exact_cot_Hz"));
    EXPECT_NEAR(tuned_hz(stack, hz / 2, hz * 1.3), hz, 1e-3);
  }
}

TEST(Absorption, two_equal_layers_are_one_of_twice_the_thickness) {
  for (const double hz : {60.0, 500.0, 4000.0}) {
    PorousLayer once;
    once.thickness_m = 0.04;
    once.flow_resistivity_pa_s_m2 = 12000;
    PorousLayer twice = once;
    twice.thickness_m = 0.08;
    for (const Backing backing : {Backing::rigid, Backing::open})
      EXPECT_NEAR(at_one({{once, once}, backing}, hz, {}), at_one({{twice}, backing}, hz, {}),
                  1e-12);
  }
}

TEST(Absorption, a_rigid_gap_absorbs_nothing) {
  EXPECT_NEAR(at_one({{AirLayer{0.1}}, Backing::rigid}, 400, {}), 0, 1e-12);
  EXPECT_NEAR(at_one({{AirLayer{0.1}}, Backing::open}, 400, {}), 0, 1e-9);
}

TEST(FiniteSize, tends_to_the_infinite_face_and_exceeds_it_when_small) {
  const Stack stack = stack_of("MIKI:0.1:10000");
  AbsorptionOptions options;
  options.incidence.diffuse_to_deg = 90;
  const double infinite = at_one(stack, 500, options);
  double before = 10;
  for (const double side : {0.6, 1.2, 2.4, 4.8}) {
    options.size_m = Size2{side, side};
    const double here = at_one(stack, 500, options);
    EXPECT_GT(here, infinite);
    EXPECT_LT(here, before);
    before = here;
  }
  EXPECT_GT(at_one(stack, 500,
                   [&] {
                     options.size_m = Size2{1, 1};
                     return options;
                   }()),
            1.0);
  // The edge's share falls with the ratio of edge to area, so by about half for twice the side.
  options.size_m = Size2{9.6, 9.6};
  const double larger = at_one(stack, 500, options);
  EXPECT_LT((larger - infinite) / (before - infinite), 0.75);
}

TEST(FiniteSize, radiation_impedance_tends_to_the_piston_and_to_the_plane_wave) {
  // Source: small flat piston, resistance (k² S)/(2π): Morse & Ingard, Theoretical Acoustics, ch. 7
  const double k = 0.05;
  EXPECT_NEAR(radiation_impedance({1, 1}, k, 0.3).real() / (k * k / (2 * std::acos(-1.0))), 1,
              1e-3);
  EXPECT_NEAR(radiation_impedance({20, 20}, 20, 0.5).real(), 1 / std::cos(0.5), 0.02);
}

TEST(Octaves, are_the_mean_of_their_thirds) {
  const Stack stack = stack_of("MIKI:0.05:10000|air:0.05");
  const auto octaves = octave_absorptions({stack, stack}, table_air(), {}).value();
  std::vector<double> hz;
  for (int i = 9; i < 12; ++i) hz.push_back(third_octave_bands()[i].centre_hz);
  const auto thirds = absorption(stack, table_air(), hz, {}).value().absorption;
  EXPECT_NEAR(octaves[1].absorption[3], (thirds[0] + thirds[1] + thirds[2]) / 3, 1e-12);
}

TEST(Rating, meets_the_cases_by_thirds) {
  constexpr int thirds[] = {100, 125,  160,  200,  250,  315,  400,  500,  630,
                            800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000};
  const auto american = figures::rows("rating_american.csv");
  std::size_t index = 0;
  // Source: ISO 11654:1997, 4.1, 4.2, 5, Annex B, and ASTM C423, cases computed by their rules
  for (const auto& row : figures::rows("rating_thirds.csv")) {
    const auto values = figures::numbers(row.at("alpha_s 100..5000 Hz third octaves"));
    RatedSpectrum spectrum;
    for (std::size_t i = 0; i < 18; ++i) spectrum[thirds[i]] = values[i];
    const Rating got = rating(spectrum).value();
    EXPECT_DOUBLE_EQ(got.alpha_w, std::stod(row.at("alpha_w"))) << row.at("case");
    EXPECT_EQ(got.shape, row.at("indicator")) << row.at("case");
    EXPECT_EQ(got.letter_class.value_or("not classified"), row.at("class")) << row.at("case");
    for (const int octave : {125, 250, 500, 1000, 2000, 4000})
      EXPECT_DOUBLE_EQ(got.practical.at(octave), std::stod(row.at("ap" + std::to_string(octave))));
    EXPECT_DOUBLE_EQ(*got.nrc, std::stod(american[index].at("NRC"))) << row.at("case");
    EXPECT_DOUBLE_EQ(*got.saa, std::stod(american[index].at("SAA"))) << row.at("case");
    ++index;
  }
}

TEST(Rating, meets_the_cases_by_octaves) {
  // Source: ISO 11654:1997, 4.2, 5, Annex B, cases at the exact boundaries
  for (const auto& row : figures::rows("rating_octaves.csv")) {
    RatedSpectrum spectrum{{125, 0.1}};
    for (const int octave : {250, 500, 1000, 2000, 4000})
      spectrum[octave] = std::stod(row.at("ap" + std::to_string(octave)));
    const Rating got = rating(spectrum).value();
    EXPECT_DOUBLE_EQ(got.alpha_w, std::stod(row.at("alpha_w"))) << row.at("case");
    EXPECT_EQ(got.shape, row.at("indicator")) << row.at("case");
    EXPECT_EQ(got.letter_class.value_or("not classified"), row.at("class")) << row.at("case");
    EXPECT_FALSE(got.nrc.has_value());
  }
}

TEST(Absorption, wrong_stacks_are_told_in_full_and_never_answered) {
  PorousLayer bad;
  bad.thickness_m = -1;
  Stack stack{{bad, PerforatedLayer{0.01, 0.01, 1, false}, ScreenLayer{std::nan(""), {}}},
              Backing::rigid};
  EXPECT_EQ(check_stack(stack).size(), 4u);
  EXPECT_FALSE(absorption({}, table_air(), {100}, {}).ok());
  EXPECT_FALSE(absorption(stack_of("air:0.1"), table_air(), {0}, {}).ok());
  EXPECT_FALSE(absorption(stack_of("air:0.1"), table_air(), {}, {}).ok());
}

TEST(Absorption, thick_and_resistive_layers_stay_finite) {
  for (const char* code : {"MIKI:5:10000000", "DB:5:10000000", "MIKI:0.000001:0.001"})
    for (const double hz : {0.001, 20.0, 1e6})
      EXPECT_TRUE(std::isfinite(at_one(stack_of(code), hz, {}))) << code << hz;
}

}  // namespace
}  // namespace roomwright::acoustics
