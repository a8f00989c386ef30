// The driven field of a box against closed forms, a second method's solutions, and the laws that it
// must obey.
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <complex>
#include <filesystem>
#include <iterator>
#include <regex>
#include <sstream>

#include "acoustics/waves/response_parts.h"
#include "acoustics/waves/waves.h"
#include "figures/figures.h"
#include "figures/reference_room.h"

namespace roomwright::acoustics {
namespace {

using Value = std::complex<double>;
const double driven_pi = std::acos(-1.0);
constexpr int floor_at = 0, ceiling_at = 1, wall0 = 2, wall1 = 3, wall2 = 4, wall3 = 5;

/// `0.02` or `(0.05+0.02j)`.
Value complex_of(const std::string& text) {
  static const std::regex both("\\(?([-+0-9.e]+?)([-+][0-9.]+)j\\)?");
  std::smatch match;
  if (std::regex_match(text, match, both)) return {std::stod(match[1]), std::stod(match[2])};
  return std::stod(text);
}
std::vector<std::string> words(const std::string& cell) {
  std::istringstream in(cell);
  return {std::istream_iterator<std::string>(in), {}};
}
Vec3 place_of(const std::string& cell) {
  const auto at = figures::numbers(cell);
  return {at.at(0), at.at(1), at.at(2)};
}
Room box_of(std::string dims) {
  std::replace(dims.begin(), dims.end(), 'x', ' ');
  const auto size = figures::numbers(dims);
  return make_box(size.at(0), size.at(1), size.at(2)).value();
}
double decibels(Value found, Value wanted) {
  return 20 * std::log10(std::abs(found / wanted));
}

/// Density 1, so that the pressure is the Green's function.
ResponseRequest request_of(const figures::Row& row) {
  ResponseRequest out;
  out.room = box_of(row.at("dims_m"));
  out.density_kg_m3 = 1;
  out.surfaces.resize(6);
  out.sources = {{place_of(row.at("source_m"))}};
  out.receivers_m = {place_of(row.at("receiver_m"))};
  out.frequencies_hz = {std::stod(row.at("f_Hz"))};
  return out;
}
Value green_of(const figures::Row& row) {
  return {std::stod(row.at("Re_G_1/m")), std::stod(row.at("Im_G_1/m"))};
}

ResponseReport solved(const ResponseRequest& request, double accuracy_db = 0.25,
                      WaveWidth width = WaveWidth::fastest, int threads = 2) {
  ResponseOptions options;
  options.accuracy_db = accuracy_db;
  options.width = width;
  options.threads = threads;
  auto report = response(request, options);
  if (!report) throw std::runtime_error(report.mistakes().text());
  return std::move(report).value();
}

TEST(Response, meets_the_driven_rooms_with_uniform_walls) {
  int rows = 0;
  // Source: exact double sum over modes with the closed form along x, checked by a triple sum
  // (tests/figures/driven_rooms.csv)
  for (const auto& row : figures::rows("driven_rooms.csv")) {
    ResponseRequest request = request_of(row);
    const auto walls = words(row.at("beta x0 xL y0 yL z0 zL"));
    const int order[] = {wall3, wall1, wall0, wall2, floor_at, ceiling_at};
    for (int i = 0; i < 6; ++i) request.surfaces[order[i]] = {complex_of(walls.at(i))};
    const Value found = solved(request).pressure_pa[0][0], wanted = green_of(row);
    EXPECT_NEAR(decibels(found, wanted), 0, 0.01) << row.at("case") << " " << row.at("f_Hz");
    EXPECT_LT(std::abs(found - wanted), 1e-4 * std::abs(wanted)) << row.at("case");
    ++rows;
  }
  EXPECT_EQ(rows, 16);
}

TEST(Response, meets_a_wall_lined_with_porous_board_as_a_wall_and_as_a_patch) {
  int rows = 0;
  // Source: the same double sum, complex admittance of the whole wall x = 5 m
  // (tests/figures/driven_lined_wall.csv)
  for (const auto& row : figures::rows("driven_lined_wall.csv")) {
    const Value beta{std::stod(row.at("Re_beta")), std::stod(row.at("Im_beta"))};
    ResponseRequest request = request_of(row);
    request.surfaces[wall1] = {beta};
    const Value wanted = green_of(row);
    EXPECT_NEAR(decibels(solved(request).pressure_pa[0][0], wanted), 0, 0.001) << row.at("f_Hz");
    request.surfaces[wall1] = {};
    request.patches = {{{wall1, {0, 0}, {4, 2.6}}, {beta}}};
    EXPECT_NEAR(decibels(solved(request).pressure_pa[0][0], wanted), 0, 0.1) << row.at("f_Hz");
    ++rows;
  }
  EXPECT_EQ(rows, 8);
}

TEST(Response, meets_a_strip_of_absorber_on_a_wall) {
  int rows = 0;
  // Source: mode matching, good to 1e-6 (tests/figures/driven_strip.csv)
  for (const auto& row : figures::rows("driven_strip.csv")) {
    ResponseRequest request = request_of(row);
    request.patches = {{{wall1, {std::stod(row.at("y1_m")), 0}, {std::stod(row.at("y2_m")), 2.6}},
                        {complex_of(row.at("beta"))}}};
    EXPECT_NEAR(decibels(solved(request).pressure_pa[0][0], green_of(row)), 0, 0.1)
        << row.at("case") << " " << row.at("f_Hz");
    ++rows;
  }
  EXPECT_EQ(rows, 7);
}

TEST(Response, finds_the_reflection_factor_of_a_tube_from_two_receivers) {
  int rows = 0;
  for (const auto& row : figures::rows("tube.csv")) {
    const double hz = std::stod(row.at("f_Hz"));
    if (hz > 500) continue;  // above it the tube of 0.5 m carries more than a plane wave
    const Value zeta{std::stod(row.at("Re_zeta")), std::stod(row.at("Im_zeta"))};
    ResponseRequest request;
    request.room = make_box(6, 0.5, 0.5).value();
    request.surfaces.resize(6);
    request.surfaces[wall3] = {1.0 / zeta};
    request.surfaces[wall1] = {1.0};
    request.sources = {{{5, 0.25, 0.25}}};
    const double k = 2 * driven_pi * hz / request.sound_speed_m_s;
    const double near = 1.5, apart = driven_pi / 2.5 / k;
    request.receivers_m = {{near, 0.25, 0.25}, {near + apart, 0.25, 0.25}};
    request.frequencies_hz = {hz};
    const auto pressure = solved(request).pressure_pa;
    // p(x) ~ e^{jkx} + R e^{−jkx}; Source: ISO 10534-2:1998, 7.8 (transfer function of two points)
    const Value ratio = pressure[1][0] / pressure[0][0], j{0, 1};
    const Value reflection = (std::exp(j * k * (near + apart)) - ratio * std::exp(j * k * near)) /
                             (ratio * std::exp(-j * k * near) - std::exp(-j * k * (near + apart)));
    // Source: ISO 10534-1 relations (tests/figures/tube.csv)
    EXPECT_NEAR(reflection.real(), std::stod(row.at("Re_R")), 1e-4) << hz;
    EXPECT_NEAR(reflection.imag(), std::stod(row.at("Im_R")), 1e-4) << hz;
    ++rows;
  }
  EXPECT_EQ(rows, 4);
}

// ---- the room with six patches ------------------------------------------------------------------

ResponseRequest reference_room(const std::vector<double>& hz, bool with_patches) {
  ResponseRequest out = reference::request(reference::box(), hz, 0.02);
  if (with_patches) reference::hang(out, reference::box_areas);
  return out;
}
using reference::every;

void expect_reference(const std::string& name, bool with_patches, double near_db, double far_db) {
  const std::string shared_data = ROOMWRIGHT_SHARED_DATA;
  const std::string file = shared_data + "/data/room_truth/" + name + ".csv";
  if (shared_data.empty() || !std::filesystem::exists(file))
    GTEST_SKIP() << "needs the folder of open data sets";
  std::vector<double> hz;
  std::vector<std::vector<Value>> truth(5);
  for (const auto& row : figures::read_rows(file)) {
    hz.push_back(std::stod(row.at("f_Hz")));
    for (int r = 0; r < 5; ++r) {
      const std::string n = std::to_string(r + 1);
      truth[r].push_back({std::stod(row.at("re" + n)), std::stod(row.at("im" + n))});
    }
  }
  ASSERT_EQ(hz.size(), 281u);
  const auto report = solved(reference_room(hz, with_patches));
  for (int r = 0; r < 5; ++r) {
    double greatest = 0;
    for (const Value g : truth[r]) greatest = std::max(greatest, std::abs(g));
    for (std::size_t i = 0; i < hz.size(); ++i) {
      const bool near = std::abs(truth[r][i]) > greatest * std::pow(10, -1.5);
      EXPECT_NEAR(decibels(report.pressure_pa[r][i], truth[r][i]), 0, near ? near_db : far_db)
          << name << " receiver " << r << " at " << hz[i];
    }
  }
}

TEST(Response, meets_the_reference_field_of_a_bare_room) {
  // Source: exact separable field by another program, good to 4e-4 dB (the data set's README)
  expect_reference("rect_bare", false, 0.001, 0.001);
}
TEST(Response, meets_the_reference_field_of_a_room_with_six_patches) {
  // Source: the patches solved with more functions by another program, good to 4e-4 dB, within
  // 0.043 dB of finite elements (the data set's README)
  expect_reference("rect_patches", true, 0.03, 0.06);
}

// ---- laws
// -----------------------------------------------------------------------------------------

/// Patches in corners and along edges, one that is springy, in a room whose walls differ.
ResponseRequest mixed_room(const std::vector<double>& hz) {
  ResponseRequest out;
  out.room = make_box(4.3, 3.1, 2.5).value();
  out.surfaces = {{0.01}, {0.03}, {Value(0.02, 0.01)}, {Value(0.05, 0.04)}, {}, {0.02}};
  out.patches = {{{wall0, {0, 0}, {0.6, 2.5}}, {Value(0.4, 0.35)}},
                 {{wall3, {2.5, 0}, {3.1, 2.5}}, {Value(0.3, 0.3)}},
                 {{ceiling_at, {1.2, 0.9}, {2.8, 2.1}}, {Value(0.8, 0.2)}},
                 {{wall1, {1.0, 0.4}, {2.0, 1.6}}, {Value(0.001, 0)}},
                 {{floor_at, {3.5, 2.3}, {4.3, 3.1}}, {Value(0.1, 0.5)}}};
  out.sources = {{{0.7, 0.5, 1.0}}};
  out.receivers_m = {{2.9, 1.7, 1.2}};
  out.frequencies_hz = hz;
  return out;
}

TEST(Response, swaps_source_and_receiver) {
  ResponseRequest request = mixed_room({31, 62.5, 118, 199, 300});
  const auto forth = solved(request).pressure_pa[0];
  std::swap(request.sources[0].at_m, request.receivers_m[0]);
  const auto back = solved(request).pressure_pa[0];
  for (std::size_t i = 0; i < forth.size(); ++i)
    EXPECT_LT(std::abs(forth[i] - back[i]), 1e-6 * std::abs(forth[i])) << i;
}

TEST(Response, does_not_mind_the_order_of_patches) {
  ResponseRequest request = mixed_room({31, 62.5, 118, 199, 300});
  const auto before = solved(request).pressure_pa[0];
  std::reverse(request.patches.begin(), request.patches.end());
  const auto after = solved(request).pressure_pa[0];
  for (std::size_t i = 0; i < before.size(); ++i)
    EXPECT_LT(std::abs(before[i] - after[i]), 1e-9 * std::abs(before[i])) << i;
}

TEST(Response, does_not_mind_a_patch_that_is_cut_in_two) {
  const auto hz = every(20, 300, 7);
  ResponseRequest request = mixed_room(hz);
  const auto before = solved(request).pressure_pa[0];
  auto half = request.patches[2];
  request.patches[2].area.to_m.x = half.area.from_m.x = 1.9;
  request.patches.push_back(half);
  half = request.patches[0];
  request.patches[0].area.to_m.y = half.area.from_m.y = 1.1;
  request.patches.push_back(half);
  const auto after = solved(request).pressure_pa[0];
  for (std::size_t i = 0; i < before.size(); ++i)
    EXPECT_NEAR(decibels(after[i], before[i]), 0, 0.05) << hz[i];
}

TEST(Response, takes_patches_over_all_walls_for_those_walls) {
  const auto hz = every(25, 225, 25);
  ResponseRequest request;
  request.room = make_box(3.2, 2.7, 2.3).value();
  request.sources = {{{0.7, 0.5, 1.0}}};
  request.receivers_m = {{2.2, 1.7, 1.2}, {1.3, 2.2, 0.4}};
  request.frequencies_hz = hz;
  const Value beta[] = {{0.05, 0.02}, {0.1, 0.3},    {0.03, 0},
                        {0.2, 0.1},   {0.06, -0.05}, {0.15, 0.2}};
  for (const Value& one : beta) request.surfaces.push_back({one});
  const auto walls = solved(request).pressure_pa;
  request.surfaces.assign(6, {0.02});
  for (int i = 0; i < 6; ++i) {
    const auto outline = surface_outline(request.room, i);
    request.patches.push_back({{i, outline[0], outline[2]}, {beta[i]}});
  }
  const auto patches = solved(request).pressure_pa;
  for (std::size_t r = 0; r < 2; ++r)
    for (std::size_t i = 0; i < hz.size(); ++i)
      EXPECT_NEAR(decibels(patches[r][i], walls[r][i]), 0, 0.1) << r << " " << hz[i];
}

TEST(Response, sources_add_by_their_strength) {
  ResponseRequest request = mixed_room({40, 155});
  request.sources = {{{0.7, 0.5, 1.0}, 2}, {{3.6, 0.6, 1.5}, -0.5}};
  const auto both = solved(request).pressure_pa[0];
  ResponseRequest one = request, two = request;
  one.sources = {request.sources[0]}, two.sources = {request.sources[1]};
  const auto first = solved(one).pressure_pa[0], second = solved(two).pressure_pa[0];
  for (std::size_t i = 0; i < both.size(); ++i)
    EXPECT_LT(std::abs(both[i] - first[i] - second[i]), 1e-9 * std::abs(both[i]));
}

/// Points and weights of Gauss and Legendre on [from, to], eight of them.
std::vector<std::array<double, 2>> eight_points(double from, double to) {
  std::vector<std::array<double, 2>> out;
  for (int i = 0; i < 8; ++i) {
    double x = std::cos(driven_pi * (i + 0.75) / 8.5), slope = 0;
    for (int turn = 0; turn < 30; ++turn) {
      double before = 1, here = x;
      for (int n = 2; n <= 8; ++n) {
        const double next = ((2 * n - 1) * x * here - (n - 1) * before) / n;
        before = here, here = next;
      }
      slope = 8 * (before - x * here) / (1 - x * x);
      x -= here / slope;
    }
    out.push_back(
        {(from + to) / 2 + x * (to - from) / 2, (to - from) / ((1 - x * x) * slope * slope)});
  }
  return out;
}

TEST(Response, gives_back_at_the_surfaces_the_power_that_the_source_puts_in) {
  const auto hz = std::vector<double>{45, 90, 160};
  ResponseRequest request = mixed_room(hz);
  // The field's part that turns with the source is smooth there: a point 10 mm away shows it.
  request.receivers_m = {request.sources[0].at_m + Vec3{0.01, 0, 0}};
  struct Piece {
    double weight;
    int surface, patch;  // patch −1: the wall
  };
  std::vector<Piece> pieces;
  // Each surface cut along the edges of its patches; no cell is wider than 0.9 m.
  for (int s = 0; s < 6; ++s) {
    const auto outline = surface_outline(request.room, s);
    std::array<std::vector<double>, 2> cuts{
        {{outline[0].x, outline[2].x}, {outline[0].y, outline[2].y}}};
    for (const auto& patch : request.patches)
      if (patch.area.surface == s) {
        cuts[0].insert(cuts[0].end(), {patch.area.from_m.x, patch.area.to_m.x});
        cuts[1].insert(cuts[1].end(), {patch.area.from_m.y, patch.area.to_m.y});
      }
    for (auto& list : cuts) {
      std::sort(list.begin(), list.end());
      list.erase(std::unique(list.begin(), list.end()), list.end());
    }
    for (std::size_t i = 0; i + 1 < cuts[0].size(); ++i)
      for (std::size_t j = 0; j + 1 < cuts[1].size(); ++j)
        for (const auto& u : eight_points(cuts[0][i], cuts[0][i + 1]))
          for (const auto& v : eight_points(cuts[1][j], cuts[1][j + 1])) {
            int on = -1;
            for (std::size_t p = 0; p < request.patches.size(); ++p) {
              const Patch& area = request.patches[p].area;
              if (area.surface == s && u[0] > area.from_m.x && u[0] < area.to_m.x &&
                  v[0] > area.from_m.y && v[0] < area.to_m.y)
                on = int(p);
            }
            pieces.push_back({u[1] * v[1], s, on});
            request.receivers_m.push_back(from_uv(request.room, s, {u[0], v[0]}));
          }
  }
  const auto report = solved(request);
  for (std::size_t f = 0; f < hz.size(); ++f) {
    // Half the real part of pressure times conjugate volume velocity, 1/(jω).
    const double omega = 2 * driven_pi * hz[f];
    const double given = 0.5 * (report.pressure_pa[0][f] * std::conj(1.0 / Value(0, omega))).real();
    double taken = 0;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      const auto& piece = pieces[i];
      const Admittance& beta = piece.patch >= 0 ? request.patches[piece.patch].admittance
                                                : request.surfaces[piece.surface];
      const double real = beta.empty() ? 0 : beta[0].real();
      taken += 0.5 * real * std::norm(report.pressure_pa[i + 1][f]) * piece.weight /
               (request.density_kg_m3 * request.sound_speed_m_s);
    }
    EXPECT_NEAR(taken / given, 1, 0.01) << hz[f];
  }
}

TEST(Response, comes_nearer_as_more_is_asked) {
  const auto hz = every(60, 300, 30);
  const ResponseRequest request = mixed_room(hz);
  const auto fine = solved(request, 0.02).pressure_pa[0];
  double before = 1e9;
  for (const double accuracy : {0.5, 0.25, 0.06}) {
    const auto found = solved(request, accuracy).pressure_pa[0];
    double worst = 0;
    for (std::size_t i = 0; i < hz.size(); ++i)
      worst = std::max(worst, std::abs(decibels(found[i], fine[i])));
    EXPECT_LT(worst, before);
    EXPECT_LT(worst, accuracy / 2);
    before = worst;
  }
}

TEST(Response, keeps_its_claim_in_rooms_drawn_at_random) {
  Random random(20);
  for (int turn = 0; turn < 12; ++turn) {
    ResponseRequest request;
    const double x = random.uniform(2, 5), y = random.uniform(2, 5), z = random.uniform(2, 3.5);
    request.room = make_box(x, y, z).value();
    for (int s = 0; s < 6; ++s)
      request.surfaces.push_back({Value(random.uniform(0.001, 0.1), random.uniform(-0.02, 0.1))});
    std::vector<Patch> areas;
    for (int p = 0; p < 12 && areas.size() < 4; ++p) {
      const int s = int(random.below(6));
      const Vec2 most = surface_outline(request.room, s)[2];
      const double w = std::min(most.x, random.uniform(0.2, 1.4));
      const double h = random.unit() < 0.3 ? most.y : std::min(most.y, random.uniform(0.2, 1.4));
      const double u = random.unit() < 0.5 ? 0 : random.uniform(0, most.x - w);
      areas.push_back({s, {u, 0}, {u + w, h}});
      if (!check_patches(request.room, areas, "patches").empty()) areas.pop_back();
    }
    for (const Patch& area : areas)
      request.patches.push_back({area, {Value(random.uniform(0, 1), random.uniform(-0.3, 0.6))}});
    const auto anywhere = [&] {
      return Vec3{random.uniform(0.1, x - 0.1), random.uniform(0.1, y - 0.1),
                  random.uniform(0.1, z - 0.1)};
    };
    request.sources = {{anywhere()}};
    request.receivers_m = {anywhere(), anywhere()};
    request.frequencies_hz = every(20, 300, 10);
    const auto found = solved(request).pressure_pa, fine = solved(request, 0.03).pressure_pa;
    for (std::size_t r = 0; r < 2; ++r) {
      double greatest = 0;
      for (const Value p : fine[r]) greatest = std::max(greatest, std::abs(p));
      for (std::size_t i = 0; i < fine[r].size(); ++i)
        EXPECT_NEAR(decibels(found[r][i], fine[r][i]), 0,
                    std::abs(fine[r][i]) > greatest * std::pow(10, -1.5) ? 0.25 : 0.5)
            << turn << " " << request.frequencies_hz[i];
    }
  }
}

TEST(Response, falls_to_the_free_field_beside_a_source) {
  ResponseRequest request = mixed_room({50, 200});
  request.sources = {{{2.1, 1.5, 1.3}}};
  for (const double r : {0.002, 0.02, 0.1}) {
    request.receivers_m = {request.sources[0].at_m + Vec3{r * 0.6, 0, r * 0.8},
                           request.sources[0].at_m + Vec3{0, r, 0}};
    const auto report = solved(request);
    const double free = request.density_kg_m3 / (4 * driven_pi * r);
    // Whatever the walls send back is smooth: the same at both points but for a few parts in 100.
    for (std::size_t f = 0; f < 2; ++f) {
      const Value rest = report.pressure_pa[0][f] - free, other = report.pressure_pa[1][f] - free;
      EXPECT_LT(std::abs(rest), 6.0) << r;
      EXPECT_LT(std::abs(rest - other), 0.05 * std::abs(rest) + 2 * r + 0.01 * free * r) << r;
    }
  }
}

// ---- wave numbers between two walls
// ---------------------------------------------------------------

TEST(AxisNumbers, solve_their_equation_and_are_all_different) {
  Random random(7);
  for (int turn = 0; turn < 2000; ++turn) {
    const double length = random.uniform(2, 6), k = random.uniform(0.3, 5.6);
    const auto wall = [&] {
      const double real = random.unit() < 0.5 ? random.uniform(0, 0.03) : random.uniform(0, 0.9);
      return Value(0, k) * Value(real + 1e-3, random.uniform(-0.5, 1) * std::min(1.0, 4 * real));
    };
    const Value near = wall(), far = wall();
    std::vector<Value> found(20);
    ASSERT_TRUE(axis_numbers(length, near, far, 20, found.data())) << turn;
    for (std::size_t i = 0; i < found.size(); ++i) {
      const Value q = found[i], turned = q * length;
      // Source: (q² − κ0κL) sin qL = q (κ0 + κL) cos qL, from ψ'(0) = κ0 ψ, ψ'(L) = −κL ψ
      const Value left = (q * q - near * far) * std::sin(turned);
      const Value right = q * (near + far) * std::cos(turned);
      EXPECT_LT(std::abs(left - right), 1e-6 * (std::abs(left) + std::abs(right) + 1e-3)) << turn;
      for (std::size_t j = 0; j < i; ++j)
        EXPECT_GT(std::abs(q * q - found[j] * found[j]), 1e-7) << turn << " " << i << " " << j;
    }
  }
}

TEST(AxisNumbers, do_not_miss_the_wave_that_clings_to_a_springy_far_wall) {
  // This pair once lost the second of its two clinging waves, at 192 Hz between springy walls.
  const Value near{-1.0932, 1.1248}, far{-1.4517, 1.2127};
  std::vector<Value> found(20);
  ASSERT_TRUE(axis_numbers(3.9, near, far, 20, found.data()));
  for (const Value wall : {near, far}) {
    double nearest = 1e9;
    for (const Value q : found) nearest = std::min(nearest, std::abs(q * q + wall * wall));
    EXPECT_LT(nearest, 0.2);  // q ≈ jκ, but for the other wall's e^(−κL)
  }
}

// ---- machine and limits
// --------------------------------------------------------------------------

TEST(Response, has_the_same_bytes_on_any_number_of_threads_and_lanes) {
  const ResponseRequest request = mixed_room(every(20, 300, 13));
  const auto one = solved(request, 0.25, WaveWidth::baseline, 1).pressure_pa;
  EXPECT_EQ(one, solved(request, 0.25, WaveWidth::baseline, 3).pressure_pa);
  EXPECT_EQ(one, solved(request, 0.25, WaveWidth::fastest, 2).pressure_pa);
  for (const WaveWidth width : {WaveWidth::four, WaveWidth::eight}) {
    ResponseOptions options;
    options.width = width;
    const auto report = response(request, options);
    if (report) EXPECT_EQ(one, report->pressure_pa);
  }
}

TEST(Response, tells_when_a_rigid_room_is_driven_at_a_mode) {
  ResponseRequest request;
  request.room = make_box(5, 4, 2.5).value();
  request.sources = {{{0.7, 0.9, 1.2}}};
  request.receivers_m = {{3.2, 2.2, 1.0}};
  request.frequencies_hz = {34.32, 50, 171.6, 34.32 * (1 + 1e-7)};
  const auto report = solved(request);
  ASSERT_EQ(report.warnings.size(), 2u);
  EXPECT_EQ(report.warnings[0].where, "frequencies_hz[0]");
  EXPECT_EQ(report.warnings[1].where, "frequencies_hz[2]");
  for (const Value p : report.pressure_pa[0]) EXPECT_TRUE(std::isfinite(std::abs(p)));
  // With patches the field is bounded, and lies between those just beside the mode.
  request.patches = {{{wall0, {1, 0.5}, {2, 1.5}}, {Value(0.5, 0.3)}}};
  request.frequencies_hz = {34.32, 34.32 * (1 - 1e-5), 34.32 * (1 + 1e-5)};
  const auto damped = solved(request).pressure_pa[0];
  EXPECT_LT(std::abs(damped[0] - (damped[1] + damped[2]) / 2.0), 1e-3 * std::abs(damped[0]));
  EXPECT_GT(std::abs(damped[2] - damped[1]), 1e-6 * std::abs(damped[0]));
}

TEST(Response, tells_all_that_is_wrong_at_once) {
  ResponseRequest request = mixed_room({50});
  request.surfaces[0] = {Value(-0.1, 0)};
  request.patches[1].admittance = {Value(-1, 0)};
  request.patches[2].area.to_m.x = 9;
  request.patches[4].area = {floor_at, {3, 2}, {3.6, 2.6}};
  request.patches.push_back({{floor_at, {3.4, 2.4}, {4, 3}}, {0.5}});
  request.sources[0].at_m.z = 7;
  request.receivers_m.push_back({std::nan(""), 1, 1});
  request.frequencies_hz = {1};
  const auto report = response(request, {.accuracy_db = -1});
  ASSERT_FALSE(report.ok());
  std::vector<std::string> where;
  for (const auto& complaint : report.mistakes().items()) where.push_back(complaint.where);
  for (const char* wanted :
       {"accuracy_db", "surfaces.floor.admittance", "patches[1].admittance", "patches[2]",
        "patches[5]", "sources[0].at_m", "receivers_m[1]", "frequencies_hz[0]"})
    EXPECT_TRUE(std::count(where.begin(), where.end(), wanted)) << wanted;
}

TEST(Response, refuses_what_is_too_much_for_one_call) {
  ResponseRequest request = mixed_room(std::vector<double>(20001, 50.0));
  EXPECT_FALSE(response(request, {}).ok());
  request = mixed_room({2000});
  request.room = make_box(30, 30, 10).value();
  request.patches.clear();
  EXPECT_FALSE(response(request, {}).ok());
  request.frequencies_hz = {150};
  for (int s = 0; s < 6; ++s) {
    const auto outline = surface_outline(request.room, s);
    request.patches.push_back({{s, outline[0], outline[2]}, {0.5}});
  }
  EXPECT_FALSE(response(request, {}).ok());
}

TEST(Response, stops_when_it_is_cancelled_and_tells_how_far_it_is) {
  const ResponseRequest request = mixed_room(every(20, 300, 1));
  std::atomic<bool> cancel{false};
  double last = 0;
  Watch watch;
  watch.cancel = &cancel;
  watch.progress = [&](double part, std::string_view) {
    last = part;
    if (part > 0.2) cancel = true;
  };
  const auto report = response(request, {}, watch);
  ASSERT_FALSE(report.ok());
  EXPECT_EQ(report.mistakes().items()[0].what, "was cancelled");
  EXPECT_LT(last, 0.6);
}

TEST(Response, turns_with_the_plan) {
  ResponseRequest request = mixed_room({50, 130});
  request.patches.erase(request.patches.begin() + 4);
  request.patches.erase(request.patches.begin() + 2);  // those on ceiling and floor
  const auto straight = solved(request).pressure_pa[0];
  const double turn = 0.4;
  const auto moved = [&](Vec2 at) {
    return Vec2{7 + std::cos(turn) * at.x - std::sin(turn) * at.y,
                -3 + std::sin(turn) * at.x + std::cos(turn) * at.y};
  };
  for (Vec2& corner : request.room.plan_m) corner = moved(corner);
  for (Vec3* at : {&request.sources[0].at_m, &request.receivers_m[0]}) {
    const Vec2 plan = moved({at->x, at->y});
    *at = {plan.x, plan.y, at->z};
  }
  const auto turned_plan = solved(request).pressure_pa[0];
  for (std::size_t i = 0; i < straight.size(); ++i)
    EXPECT_LT(std::abs(straight[i] - turned_plan[i]), 1e-6 * std::abs(straight[i]));
}

TEST(PressureMap, is_the_response_point_by_point) {
  ResponseRequest request = mixed_room({});
  request.receivers_m.clear();
  const MapGrid grid{{0.3, 0.2, 1.2}, {0.5, 0, 0}, {0, 0.6, 0}, 8, 5};
  const auto map = pressure_map(request, 97, grid, {});
  ASSERT_TRUE(map.ok()) << map.mistakes().text();
  ASSERT_EQ(map->size(), 40u);
  request.frequencies_hz = {97};
  request.receivers_m = {{0.3 + 3 * 0.5, 0.2 + 2 * 0.6, 1.2}};
  EXPECT_LT(std::abs((*map)[2 * 8 + 3] - solved(request).pressure_pa[0][0]),
            1e-3 * std::abs((*map)[2 * 8 + 3]));
}

TEST(Response, takes_an_admittance_for_every_frequency) {
  ResponseRequest request = mixed_room({50, 130});
  request.surfaces[2] = {0.02, 0.2};
  request.patches[0].admittance = {0.3, Value(0.5, 0.1)};
  const auto both = solved(request, 0.25, WaveWidth::fastest, 1).pressure_pa[0];
  request.frequencies_hz = {130};
  request.surfaces[2] = {0.2};
  request.patches[0].admittance = {Value(0.5, 0.1)};
  EXPECT_LT(std::abs(solved(request).pressure_pa[0][0] - both[1]), 1e-9 * std::abs(both[1]));
}

}  // namespace
}  // namespace roomwright::acoustics
