// Modes against closed forms and published benchmarks of other plans.
#include "acoustics/waves/waves.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <regex>

#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

constexpr double speed = 343.2;
const double pi = std::acos(-1.0);

Room box_named(const std::string& dims) {
  std::string text = dims;
  for (char& letter : text)
    if (letter == 'x') letter = ' ';
  const auto size = figures::numbers(text);
  return make_box(size[0], size[1], size[2]).value();
}

TEST(BoxModes, meet_the_table) {
  std::map<std::string, std::vector<Mode>> found;
  // Source: f = (c/2) √Σ(n/l)² (Kuttruff, Room Acoustics, ch. 3), table computed
  for (const auto& row : figures::rows("box_modes.csv")) {
    auto& list = found[row.at("dims_m")];
    if (list.empty()) list = modes(box_named(row.at("dims_m")), speed, 200).value().modes;
    const Mode& mode = list.at(std::stoul(row.at("rank")) - 1);
    EXPECT_NEAR(mode.hz, std::stod(row.at("f_Hz")), 1e-6 * mode.hz);
    EXPECT_EQ(mode_kind_name(mode), row.at("kind"));
  }
}

TEST(BoxModes, are_as_many_as_the_exact_count_and_near_the_estimate) {
  // Source: exact counts and 4πVf³/3c³ + πSf²/4c² + Lf/8c (tests/figures/mode_counts.csv)
  for (const auto& row : figures::rows("mode_counts.csv")) {
    const auto report =
        modes(box_named(row.at("dims_m")), speed, std::stod(row.at("f_Hz"))).value();
    EXPECT_EQ(report.modes.size(), std::stoul(row.at("exact_count_excluding_000")));
    EXPECT_NEAR(report.count_estimate, std::stod(row.at("N_formula")), 1e-4);
  }
}

TEST(BoxModes, five_metres_have_their_first_axial_mode_at_34_hz) {
  const auto report = modes(make_box(5, 4, 2.6).value(), speed, 100).value();
  EXPECT_NEAR(report.modes[0].hz, 34.32, 1e-9);
  EXPECT_EQ(*report.modes[0].order, (std::array<int, 3>{1, 0, 0}));
}

void expect_plane(const Polygon& plan, const std::vector<double>& wanted, double tolerance,
                  const std::string& name) {
  const auto report = plane_eigenvalues(plan, wanted.back() * 1.001);
  ASSERT_TRUE(report.ok()) << name;
  ASSERT_GE(report->eigenvalues.size(), wanted.size()) << name;
  for (std::size_t i = 0; i < wanted.size(); ++i)
    EXPECT_NEAR(report->eigenvalues[i] / wanted[i], 1, tolerance) << name << " " << i;
}

TEST(PlanModes, meet_the_l_shaped_benchmarks_with_double_values_twice) {
  const Polygon unit{{0, 0}, {2, 0}, {2, 1}, {1, 1}, {1, 2}, {0, 2}};
  std::vector<double> wanted;
  // Source: M. Dauge, benchmark eigenvalues of the L-shaped domain (tests/figures/lshape_unit.csv)
  for (const auto& row : figures::rows("lshape_unit.csv"))
    wanted.push_back(std::stod(row.at("lambda")));
  expect_plane(unit, wanted, 1e-6, "unit L");
  std::map<std::string, std::vector<double>> values;
  std::map<std::string, Polygon> plans;
  // Source: method of particular solutions, good to 1e-7 (tests/figures/lshape_rooms.csv)
  for (const auto& row : figures::rows("lshape_rooms.csv")) {
    const double a = std::stod(row.at("A_m")), b = std::stod(row.at("B_m"));
    const double ca = std::stod(row.at("cut_a_m")), cb = std::stod(row.at("cut_b_m"));
    plans[row.at("case")] = {{0, 0}, {a, 0}, {a, b - cb}, {a - ca, b - cb}, {a - ca, b}, {0, b}};
    values[row.at("case")].push_back(std::stod(row.at("lambda_1/m2")));
  }
  for (const auto& [name, list] : values) expect_plane(plans[name], list, 1e-6, name);
}

TEST(PlanModes, meet_the_splayed_plans) {
  std::map<std::string, std::vector<double>> values;
  std::map<std::string, Polygon> plans;
  // Source: spectral element on the bilinear map (tests/figures/splayed_rooms.csv)
  for (const auto& row : figures::rows("splayed_rooms.csv")) {
    Polygon plan;
    const std::string corners = row.at("corners_m");
    const std::regex pair(R"(\(([-0-9.]+),([-0-9.]+)\))");
    for (std::sregex_iterator it(corners.begin(), corners.end(), pair), end; it != end; ++it)
      plan.push_back({std::stod((*it)[1]), std::stod((*it)[2])});
    plans[row.at("case")] = plan;
    values[row.at("case")].push_back(std::stod(row.at("lambda_1/m2")));
  }
  for (const auto& [name, list] : values) expect_plane(plans[name], list, 1e-6, name);
}

TEST(PlanModes, meet_the_closed_forms_of_triangles) {
  // Source: G. Lamé (1833); B. J. McCartin, SIAM Review 45 (2003)
  // (tests/figures/triangle_equilateral.csv)
  std::map<double, std::vector<double>> wanted;  // side -> eigenvalues
  for (const auto& row : figures::rows("triangle_equilateral.csv")) {
    const double side = std::stod(row.at("domain").substr(std::string("equilateral side ").size()));
    for (int i = 0; i < std::stoi(row.at("multiplicity")); ++i)
      wanted[side].push_back(std::stod(row.at("lambda_1/m2")));
  }
  ASSERT_EQ(wanted.size(), 2u);
  for (const auto& [side, list] : wanted)
    expect_plane({{0, 0}, {side, 0}, {side / 2, side * std::sqrt(3.0) / 2}}, list, 1e-6,
                 "equilateral");
  // Source: symmetric modes of the square: right isosceles triangle of leg 4 (triangle_right.csv)
  const double unit = pi * pi / 16;
  expect_plane({{0, 0}, {4, 0}, {0, 4}}, {unit, 2 * unit, 4 * unit, 5 * unit}, 1e-8, "right");
}

TEST(BoxModes, are_as_many_in_each_third_octave_as_the_table_counts) {
  // Source: exact count between base-ten band edges (tests/figures/modes_per_third.csv)
  for (const auto& row : figures::rows("modes_per_third.csv")) {
    const auto found =
        modes(box_named(row.at("room")), speed, std::stod(row.at("upper_Hz")) - 1e-4).value();
    int inside = 0;
    for (const auto& mode : found.modes) inside += mode.hz >= std::stod(row.at("lower_Hz"));
    EXPECT_EQ(inside, std::stoi(row.at("modes"))) << row.at("room") << " " << row.at("nominal_Hz");
  }
}

TEST(PlanModes, a_box_with_a_fifth_corner_has_the_boxs_modes) {
  const Room odd = make_room({{0, 0}, {5, 0}, {5, 4}, {2, 4}, {0, 4}}, 2.6).value();
  const auto plan = modes(odd, speed, 150).value();
  const auto box = modes(make_box(5, 4, 2.6).value(), speed, 150).value();
  ASSERT_EQ(plan.modes.size(), box.modes.size());
  for (std::size_t i = 0; i < box.modes.size(); ++i)
    EXPECT_NEAR(plan.modes[i].hz / box.modes[i].hz, 1, 1e-8);
}

TEST(DampedModes, meet_the_table_of_complex_frequencies) {
  // Source: separable Robin problem at 30 digits (tests/figures/admittance_modes.csv)
  int compared = 0;
  for (const auto& row : figures::rows("admittance_modes.csv")) {
    std::vector<double> admittance(6, 0);
    admittance[5] = std::stod(row.at("beta_x0"));
    admittance[3] = std::stod(row.at("beta_xL"));
    const double hz = std::stod(row.at("Re_f_Hz"));
    const auto report =
        damped_modes(box_named(row.at("dims_m")), speed, hz * 1.2, admittance).value();
    const std::array<int, 3> order{std::stoi(row.at("nx")), std::stoi(row.at("ny")),
                                   std::stoi(row.at("nz"))};
    for (const Mode& mode : report.modes) {
      if (*mode.order != order) continue;
      EXPECT_NEAR(mode.hz / hz, 1, 1e-6) << row.at("case");
      EXPECT_NEAR(*mode.decay_s / std::stod(row.at("T60_of_mode_s")), 1, 1e-6) << row.at("case");
      ++compared;
    }
  }
  EXPECT_GT(compared, 5);
}

TEST(Modes, too_many_are_refused_with_a_reason) {
  const Room box = make_box(50, 40, 20).value();
  EXPECT_NE(modes(box, speed, 1000).mistakes().text().find("asks for about"), std::string::npos);
}

TEST(Modes, per_third_are_counted_by_exact_edges) {
  const auto report = modes(make_box(5, 4, 2.6).value(), speed, 225).value();
  const auto bands = modes_per_third(report.modes);
  // Source: counts with exact base-ten edges, 5.0 × 4.0 × 2.6 m: 1 2 5 7 11 24 42 from 50 to 200 Hz
  const int wanted[] = {1, 2, 5, 7, 11, 24, 42};
  for (int i = 0; i < 7; ++i) EXPECT_EQ(bands[i + 3].modes, wanted[i]);
}

}  // namespace
}  // namespace roomwright::acoustics
