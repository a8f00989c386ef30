// Rooms that are prisms: eigenfunctions, damped modes, the driven field and a patch that moves,
// against closed forms, reference fields and the box's own solver.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>

#include "acoustics/waves/basis.h"
#include "acoustics/waves/coupled.h"
#include "acoustics/waves/plan_mover.h"
#include "acoustics/waves/waves.h"
#include "figures/figures.h"
#include "figures/reference_room.h"

namespace roomwright::acoustics {
namespace {

using Field = std::complex<double>;
const double prism_test_pi = std::acos(-1.0);
using reference::box_areas;
using reference::l_areas;
using reference::sloped_room;

TEST(PlaneBasis, functions_are_orthonormal_along_edges_as_over_the_plan) {
  // ∫ |∇ψ|² = λ and Green's identity tie the boundary to the inside: for ψ_0 = 1/√A the coupling
  // of an edge with itself is its length over the area.
  const auto basis = PlaneBasis::make(reference::l_plan, 6).value();
  const double area = signed_area(reference::l_plan);
  for (int e = 0; e < 6; ++e) {
    const Vec2 run = reference::l_plan[(e + 1) % 6] - reference::l_plan[e];
    EXPECT_NEAR(basis.edge_coupling(e)(0, 0), length(run) / area, 1e-9);
  }
  for (const Vec2 at : {Vec2{0.3, 0.4}, {3.1, 2.4}, {5.2, 0}, {2, 4.1}})
    EXPECT_NEAR(basis.at({at})(0, 0), 1 / std::sqrt(area), 1e-9);
}

TEST(PlaneBasis, finite_elements_meet_the_cosines_of_a_rectangle) {
  // A rectangle with a fifth corner goes through the elements; its couplings do not depend on
  // signs.
  const auto exact = PlaneBasis::make({{0, 0}, {5, 0}, {5, 3.7}, {0, 3.7}}, 7).value();
  const auto found = PlaneBasis::make({{0, 0}, {5, 0}, {5, 3.7}, {2, 3.7}, {0, 3.7}}, 7).value();
  ASSERT_EQ(found.count(), exact.count());
  for (int i = 1; i < found.count(); ++i)
    EXPECT_NEAR(found.eigenvalues()[i] / exact.eigenvalues()[i], 1, 1e-3);
  for (int i = 0; i < 20; ++i) {
    const double there = std::abs(exact.at({{1.1, 0.9}})(i, 0));
    EXPECT_NEAR(std::abs(found.at({{1.1, 0.9}})(i, 0)), there, 1e-4) << i;
    EXPECT_NEAR(found.edge_coupling(0)(i, i), exact.edge_coupling(0)(i, i), 1e-4) << i;
  }
}

TEST(Prism, a_room_that_is_none_is_told_so) {
  const Room askew =
      make_sloped_room(reference::box_plan, {Vec3{0, 0, 2.2}, {5.2, 0, 3.2}, {0, 4.1, 2.6}})
          .value();
  EXPECT_FALSE(prism_of(askew));
  EXPECT_TRUE(prism_of(sloped_room()));
  const auto report = treated_modes(askew, 343, 100, std::vector<Admittance>(6), {}, {});
  EXPECT_NE(report.mistakes().text().find("is no prism"), std::string::npos);
}

// ---- damped modes -----------------------------------------------------------------------------

TEST(TreatedModes, meet_the_exact_ones_of_a_box) {
  const Room box = make_box(5, 4, 2.6).value();
  const std::vector<double> walls{0.1, 0.05, 0.02, 0.1, 0.02, 0.02};
  std::vector<Admittance> surfaces;
  for (const double beta : walls) surfaces.push_back({beta});
  const auto found = treated_modes(box, 343.2, 120, surfaces, {}, {}).value();
  // Source: separable Robin problem (damped_modes; P. M. Morse & K. U. Ingard, Theoretical
  // Acoustics, ch. 9)
  const auto exact = damped_modes(box, 343.2, 120, walls).value();
  ASSERT_EQ(found.modes.size(), exact.modes.size());
  for (std::size_t i = 0; i < exact.modes.size(); ++i) {
    EXPECT_NEAR(found.modes[i].hz / exact.modes[i].hz, 1, 5e-4) << i;
    EXPECT_NEAR(*found.modes[i].decay_s / *exact.modes[i].decay_s, 1, 0.005) << i;
  }
}

TEST(TreatedModes, meet_the_table_of_complex_frequencies) {
  int compared = 0;
  // Source: separable Robin problem at 30 digits (tests/figures/admittance_modes.csv)
  for (const auto& row : figures::rows("admittance_modes.csv")) {
    const double near = std::stod(row.at("beta_x0")), far = std::stod(row.at("beta_xL"));
    if (std::max(near, far) > 0.1) continue;
    std::string text = row.at("dims_m");
    std::replace(text.begin(), text.end(), 'x', ' ');
    const auto size = figures::numbers(text);
    std::vector<Admittance> surfaces(6);
    surfaces[5] = {near};
    surfaces[3] = {far};
    const double hz = std::stod(row.at("Re_f_Hz")), decay = std::stod(row.at("T60_of_mode_s"));
    const auto found = treated_modes(make_box(size[0], size[1], size[2]).value(), 343.2,
                                     std::stod(row.at("rigid_f_Hz")) + 0.5, surfaces, {}, {})
                           .value();
    double best = 1;
    for (const Mode& mode : found.modes)
      if (mode.decay_s)
        best = std::min(best, std::abs(mode.hz / hz - 1) + std::abs(*mode.decay_s / decay - 1));
    EXPECT_LT(best, 0.005) << row.at("case") << " " << hz;
    ++compared;
  }
  EXPECT_GT(compared, 5);
}

TEST(TreatedModes, a_patch_over_a_whole_wall_is_that_wall) {
  const Room box = make_box(5, 4, 2.6).value();
  std::vector<Admittance> surfaces(6, {0.02});
  const std::vector<ResponsePatch> patch{{{3, {0, 0}, {4, 2.6}}, {0.1}}};
  const auto as_patch = treated_modes(box, 343.2, 100, surfaces, patch, {}).value();
  surfaces[3] = {0.1};
  const auto as_wall = treated_modes(box, 343.2, 100, surfaces, {}, {}).value();
  ASSERT_EQ(as_patch.modes.size(), as_wall.modes.size());
  for (std::size_t i = 0; i < as_wall.modes.size(); ++i) {
    EXPECT_NEAR(as_patch.modes[i].hz / as_wall.modes[i].hz, 1, 1e-3) << i;
    EXPECT_NEAR(*as_patch.modes[i].decay_s / *as_wall.modes[i].decay_s, 1, 0.006) << i;
  }
}

TEST(TreatedModes, double_modes_stay_two_and_split_where_one_wall_absorbs) {
  const Room square = make_box(4, 4, 2.5).value();
  std::vector<Admittance> surfaces(6);
  surfaces[3] = {0.05};  // x = 4: damps along x more than along y
  const auto found = treated_modes(square, 343.2, 50, surfaces, {}, {}).value();
  const auto exact = damped_modes(square, 343.2, 50, {0, 0, 0, 0.05, 0, 0}).value();
  ASSERT_EQ(found.modes.size(), 2u);
  std::vector<double> one, two;
  for (int i = 0; i < 2; ++i) {
    one.push_back(*found.modes[i].decay_s);
    two.push_back(*exact.modes[i].decay_s);
  }
  std::sort(one.begin(), one.end());
  std::sort(two.begin(), two.end());
  EXPECT_NEAR(one[0] / two[0], 1, 0.005);
  EXPECT_NEAR(one[1] / two[1], 1, 0.005);
  EXPECT_GT(one[1], 1.5 * one[0]);
}

TEST(TreatedModes, decays_fall_as_patches_are_added_in_an_l_and_under_a_slope) {
  const Room rooms[] = {reference::l_room(), sloped_room()};
  const std::vector<ResponsePatch> patches{{{2, {2, 0.5}, {3.2, 1.7}}, {0.3}},
                                           {{3, {0.5, 0.7}, {1.7, 1.9}}, {0.3}}};
  for (const Room& room : rooms) {
    const std::vector<Admittance> surfaces(std::size_t(surface_count(room)), {0.02});
    std::vector<double> sums;
    for (std::size_t count = 0; count <= patches.size(); ++count) {
      const auto found =
          treated_modes(room, 343, 80, surfaces,
                        {patches.begin(), patches.begin() + std::ptrdiff_t(count)}, {})
              .value();
      double sum = 0;
      for (const Mode& mode : found.modes) sum += *mode.decay_s;
      sums.push_back(sum / double(found.modes.size()));
    }
    EXPECT_LT(sums[1], 0.97 * sums[0]);
    EXPECT_LT(sums[2], 0.97 * sums[1]);
  }
}

// ---- the driven field -------------------------------------------------------------------------

double difference_db(Field a, Field b) {
  return 20 * std::log10(std::abs(a) / std::abs(b));
}

/// Every step-th line of a reference field; all of them where long tests are asked for.
void expect_prism_reference(const std::string& name, const Room& room, double beta,
                            const std::vector<Patch>& areas) {
  const std::string folder = std::string(ROOMWRIGHT_SHARED_DATA) + "/data/room_truth/";
  if (std::string(ROOMWRIGHT_SHARED_DATA).empty() ||
      !std::filesystem::exists(folder + name + ".csv"))
    GTEST_SKIP() << "needs the folder of open data sets";
  const int step = std::getenv("ROOMWRIGHT_LONG") ? 1 : 7;
  std::vector<double> hz;
  std::vector<std::vector<Field>> truth(5);
  std::vector<double> greatest(5, 0);
  int line = 0;
  for (const auto& row : figures::read_rows(folder + name + ".csv")) {
    const bool taken = line++ % step == 0;
    if (taken) hz.push_back(std::stod(row.at("f_Hz")));
    for (int r = 0; r < 5; ++r) {
      const std::string n = std::to_string(r + 1);
      const Field value{std::stod(row.at("re" + n)), std::stod(row.at("im" + n))};
      greatest[r] = std::max(greatest[r], std::abs(value));
      if (taken) truth[r].push_back(value);
    }
  }
  ResponseRequest request = reference::request(room, hz, beta);
  reference::hang(request, areas);
  std::vector<double> avoided;
  if (beta == 0) {
    const auto basis = make_prism_room(room, 343, 320).value();
    for (int m = 0; m < basis.axis_all; ++m)
      for (int i = 0; i < basis.across_count(m); ++i)
        avoided.push_back(343 / (2 * prism_test_pi) *
                          std::sqrt(basis.basis.eigenvalues()[i] + basis.axis_square(m)));
  }
  const auto found = prism_response(request, {}).value();
  for (int r = 0; r < 5; ++r)
    for (std::size_t f = 0; f < hz.size(); ++f) {
      if (std::any_of(avoided.begin(), avoided.end(),
                      [&](double mode) { return std::abs(mode - hz[f]) < 0.3; }))
        continue;
      const bool near = std::abs(truth[r][f]) > greatest[r] * std::pow(10, -1.5);
      EXPECT_NEAR(difference_db(found.pressure_pa[r][f], truth[r][f]), 0, near ? 0.25 : 0.5)
          << name << " receiver " << r << " at " << hz[f];
    }
}

TEST(PrismResponse, meets_the_reference_field_of_a_bare_box) {
  // Source: exact separable field by another program, good to 4e-4 dB (the data set's README)
  expect_prism_reference("rect_bare", reference::box(), 0.02, {});
}
TEST(PrismResponse, meets_the_reference_field_of_a_box_with_six_patches) {
  // Source: patches solved with more functions by another program, good to 4e-4 dB (as above)
  expect_prism_reference("rect_patches", reference::box(), 0.02, box_areas);
}
TEST(PrismResponse, meets_the_reference_field_of_an_l) {
  // Source: exact modes along the height by spectral elements across, good to 3e-4 dB (as above)
  expect_prism_reference("lshape_uniform", reference::l_room(), 0.02, {});
}
TEST(PrismResponse, meets_the_reference_field_under_a_rigid_slope) {
  // Source: exact modes across the slope's section, good to 3e-4 dB (as above)
  expect_prism_reference("slope_rigid", sloped_room(), 0, {});
}

TEST(PrismResponse, a_source_and_a_receiver_may_be_swapped) {
  ResponseRequest request = reference::request(reference::l_room(), {63, 117, 180}, 0.05);
  reference::hang(request, l_areas);
  request.receivers_m = {{2.2, 3.6, 0.4}};
  const auto there = prism_response(request, {}).value();
  std::swap(request.sources[0].at_m, request.receivers_m[0]);
  const auto back = prism_response(request, {}).value();
  for (int f = 0; f < 3; ++f)
    EXPECT_NEAR(std::abs(there.pressure_pa[0][f] / back.pressure_pa[0][f] - 1.0), 0, 1e-9);
}

TEST(PrismResponse, is_the_same_for_any_number_of_threads) {
  ResponseRequest request = reference::request(sloped_room(), {50, 90, 130, 170}, 0.03);
  ResponseOptions one, seven;
  one.threads = 1, seven.threads = 7;
  EXPECT_EQ(prism_response(request, one).value().pressure_pa,
            prism_response(request, seven).value().pressure_pa);
}

TEST(PrismResponse, claims_less_where_walls_absorb_much_and_keeps_the_claim) {
  ResponseRequest request = reference::request(reference::box(), {60, 110, 160, 210}, 0.1);
  reference::hang(request, box_areas);
  const auto found = prism_response(request, {}).value();
  EXPECT_EQ(found.warnings.size(), 1u);
  EXPECT_NEAR(found.accuracy_db, 0.8, 1e-9);
  const auto exact = response(request, {}).value();
  for (std::size_t r = 0; r < 5; ++r)
    for (std::size_t f = 0; f < 4; ++f)
      EXPECT_NEAR(difference_db(found.pressure_pa[r][f], exact.pressure_pa[r][f]), 0,
                  2 * found.accuracy_db);
}

TEST(PrismResponse, tells_every_mistake_at_once) {
  ResponseRequest request = reference::request(reference::l_room(), {100}, 0.02);
  request.receivers_m[0] = {4.5, 3.5, 1};  // outside the L
  request.surfaces[2] = {Field(-0.1, 0)};
  const std::string text = prism_response(request, {}).mistakes().text();
  EXPECT_NE(text.find("receivers_m[0]"), std::string::npos);
  EXPECT_NE(text.find("surfaces.wall0.admittance"), std::string::npos);
}

// ---- a patch that moves -----------------------------------------------------------------------

/// Random places on every surface, and the corners of the first.
void expect_moved(ResponseRequest request, const std::vector<Patch>& places, double near_db,
                  double far_db) {
  const std::size_t moved = 2;
  const auto mover = PlanMover::pick_up(request, moved, {}).value();
  for (const Patch& place : places) {
    const auto found = mover.at(place).value();
    request.patches[moved].area = place;
    const auto wanted = prism_response(request, {}).value().pressure_pa;
    for (std::size_t r = 0; r < wanted.size(); ++r) {
      double greatest = 0;
      for (const Field value : wanted[r]) greatest = std::max(greatest, std::abs(value));
      for (std::size_t f = 0; f < wanted[r].size(); ++f) {
        const bool near = std::abs(wanted[r][f]) > greatest * std::pow(10, -1.5);
        EXPECT_NEAR(difference_db(found[r][f], wanted[r][f]), 0, near ? near_db : far_db)
            << "surface " << place.surface << " at " << place.from_m.x << ", " << place.from_m.y
            << ", " << request.frequencies_hz[f] << " Hz";
      }
    }
  }
}

TEST(PlanMover, agrees_with_the_whole_solution_in_an_l_in_corners_too) {
  ResponseRequest request =
      reference::request(reference::l_room(), {40, 75, 110, 145, 180, 215}, 0.02);
  reference::hang(request, l_areas);
  expect_moved(request,
               {l_areas[2],
                {2, {0, 0}, {0.6, 1.2}},
                {2, {3.1, 1.3}, {4.3, 1.9}},
                {5, {0.5, 0.6}, {1.1, 1.8}},
                {0, {0, 0}, {0.6, 1.2}},
                {0, {3.7, 0.9}, {4.3, 2.1}}},
               0.25, 0.5);
}

TEST(PlanMover, agrees_with_the_whole_solution_under_a_slope) {
  ResponseRequest request = reference::request(sloped_room(), {45, 90, 150, 210}, 0.02);
  reference::hang(
      request,
      {{5, {3.0, 0.7}, {3.6, 1.9}}, {2, {2.0, 0.7}, {2.6, 1.9}}, {0, {4.0, 1.3}, {4.6, 2.5}}});
  expect_moved(request,
               {{0, {2.0, 1.3}, {3.2, 1.9}}, {4, {0, 0}, {0.6, 1.2}}, {3, {1.4, 0.9}, {2.0, 2.1}}},
               0.25, 0.5);
}

TEST(PlanMover, has_the_same_bytes_on_any_number_of_threads_whatever_was_asked_before) {
  ResponseRequest request = reference::request(reference::l_room(), {40, 120, 180}, 0.02);
  reference::hang(request, l_areas);
  ResponseOptions one, three;
  one.threads = 1, three.threads = 3;
  const auto fresh = PlanMover::pick_up(request, 2, one).value();
  const auto used = PlanMover::pick_up(request, 2, three).value();
  for (const Patch& before :
       {Patch{5, {0.37, 0.6}, {0.97, 1.8}}, Patch{2, {0.91, 0.2}, {1.51, 1.4}}})
    used.at(before).value();
  const Patch place{2, {3.1, 1.3}, {3.7, 2.5}};
  EXPECT_EQ(fresh.at(place).value(), used.at(place).value());
}

TEST(PlanMover, says_where_a_patch_may_not_go) {
  ResponseRequest request = reference::request(reference::l_room(), {60}, 0.02);
  reference::hang(request, l_areas);
  EXPECT_FALSE(PlanMover::pick_up(request, 6, {}).ok());
  const auto mover = PlanMover::pick_up(request, 2, {}).value();
  EXPECT_FALSE(mover.at({2, {5, 0.5}, {5.6, 1.7}}).ok());
  EXPECT_FALSE(mover.at({7, {0.8, 0.8}, {1.4, 2.0}}).ok());
}

}  // namespace
}  // namespace roomwright::acoustics
