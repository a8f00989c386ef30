// The tracer against image sources, closed forms, diffuse-field theory and laws; its stated errors
// against its own scatter. The measured room is in seminar_test.cpp.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "acoustics/rays/echogram.h"
#include "acoustics/rays/rays.h"
#include "acoustics/rays/tracer_scene.h"
#include "acoustics/sound/sound.h"
#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

constexpr double trace_speed = 343.2;

Finish finish(double absorption, double scattering) {
  return {{absorption}, {scattering}};
}

/// One band, one source, one receiver, one finish all over.
TracedScene traced(const Room& room, double absorption, double scattering, Vec3 source,
                   Vec3 receiver) {
  TracedScene scene;
  scene.room = room;
  scene.bands = 1;
  scene.surfaces.assign(surface_count(room), finish(absorption, scattering));
  scene.sources.push_back({source, {}});
  scene.receivers_m.push_back(receiver);
  return scene;
}

Room box_room() {
  return make_box(5, 4, 2.6).value();
}
Room ell_room() {
  return make_room({{0, 0}, {5, 0}, {5, 2}, {3, 2}, {3, 4}, {0, 4}}, 2.5).value();
}
constexpr Vec3 near_source{1.2, 1.3, 1.2}, near_receiver{3.1, 2.4, 1.5};

TraceOptions with_rays(int rays, double seconds = 0) {
  TraceOptions options;
  options.rays = rays;
  options.seconds = seconds;
  return options;
}

const TracedBand& only(const TraceReport& report) {
  return report.pairs.at(0).bands.at(0);
}

double eyring_s(double volume, double area, double absorption, double air = 0) {
  return 24 * std::log(10.0) / trace_speed * volume /
         (-area * std::log(1 - absorption) + 4 * air * volume);
}
double eyring_s(const Room& room, double absorption) {
  return eyring_s(volume_m3(room), total_area_m2(room), absorption);
}

void expect_within(const TracedValue& got, double wanted, double errors, double besides) {
  ASSERT_TRUE(got.value) << got.reason;
  EXPECT_NEAR(*got.value, wanted, errors * got.standard_error + besides)
      << "standard error " << got.standard_error;
}

/// Mean of the bins from a time on, against sound that fills the volume evenly: c · bin / V.
void expect_filled(const TraceReport& report, double from_s, double volume) {
  const TracedBand& band = only(report);
  double sum = 0, count = 0, variance = 0;
  for (std::size_t i = static_cast<std::size_t>(from_s / report.bin_s); i < band.echogram.size();
       ++i) {
    sum += band.echogram[i];
    variance += band.echogram_error[i] * band.echogram_error[i];
    count += 1;
  }
  const double wanted = trace_speed * report.bin_s / volume;
  // Neighbouring bins of one ray belong together: the error of the mean is taken thrice as large as
  // that of independent bins.
  EXPECT_NEAR(sum / count / wanted, 1, 3 * 3 * std::sqrt(variance) / count / wanted + 1e-3);
  EXPECT_LT(std::sqrt(variance) / count / wanted, 0.01);
}

// ---- figures from an echogram ---------------------------------------------------------------

Echogram sampled(const std::function<double(double)>& left_after, double bin_s, double end_s) {
  Echogram echogram;
  echogram.bin_s = bin_s;
  for (int i = 0; i < std::lround(end_s / bin_s); ++i)
    echogram.bins.push_back(left_after(i * bin_s) - left_after((i + 1) * bin_s));
  return echogram;
}

TEST(Echogram, figures_of_an_even_decay_are_the_closed_form) {
  // Source: ISO 3382-1:2009, definitions, closed forms (tests/figures/decay_single.csv)
  for (const auto& row : figures::rows("decay_single.csv")) {
    const double t_s = std::stod(row.at("T_s")), k = 6 * std::log(10.0) / t_s;
    const auto got = decay_figures_of(
        sampled([&](double t) { return std::exp(-k * t); }, 1e-3, 0.9 * t_s));  // the rest is added
    for (const DecayFigure figure : {edt, t20, t30}) EXPECT_NEAR(*got[figure].value / t_s, 1, 1e-4);
    // Within a bin energy counts as even, which at most moves half the bin's curvature.
    EXPECT_NEAR(*got[c50].value, std::stod(row.at("C50_dB")), 2e-3);
    EXPECT_NEAR(*got[c80].value, std::stod(row.at("C80_dB")), 2e-3);
    EXPECT_NEAR(*got[d50].value, std::stod(row.at("D50")), 1e-4);
    EXPECT_NEAR(*got[centre_time].value, std::stod(row.at("Ts_ms")), 0.02);
  }
}

TEST(Echogram, figures_of_two_slopes_are_the_closed_form) {
  // Source: least squares over the ranges of ISO 3382, computed (tests/figures/decay_double.csv)
  for (const auto& row : figures::rows("decay_double.csv")) {
    const double k1 = 6 * std::log(10.0) / std::stod(row.at("T1_s"));
    const double k2 = 6 * std::log(10.0) / std::stod(row.at("T2_s"));
    const double share = std::pow(10.0, std::stod(row.at("level_of_slope2_at_t0_dB")) / 10);
    const auto got = decay_figures_of(
        sampled([&](double t) { return std::exp(-k1 * t) / k1 + share * std::exp(-k2 * t) / k2; },
                1e-3, std::stod(row.at("T2_s")) * 1.5));
    EXPECT_NEAR(*got[edt].value / std::stod(row.at("EDT_ls")), 1, 3e-3);
    EXPECT_NEAR(*got[t20].value / std::stod(row.at("T20_ls")), 1, 3e-3);
    EXPECT_NEAR(*got[t30].value / std::stod(row.at("T30_ls")), 1, 3e-3);
    EXPECT_NEAR(*got[c80].value, std::stod(row.at("C80_dB")), 5e-3);
  }
}

TEST(Echogram, says_why_there_is_no_figure) {
  const auto even = decay_figures_of(sampled([](double t) { return 1 - t; }, 1e-3, 0.5));
  EXPECT_FALSE(even[t20].value);
  EXPECT_NE(even[t20].reason.find("does not fall"), std::string::npos);
  const auto brief =
      decay_figures_of(sampled([](double t) { return std::exp(-10 * t); }, 1e-3, 0.8));
  EXPECT_TRUE(brief[t20].value);  // 34.7 dB at the end: enough for T20, not for T30
  EXPECT_FALSE(brief[t30].value);
  EXPECT_NE(brief[t30].reason.find("needs 40 dB of decay, has 34.7"), std::string::npos)
      << brief[t30].reason;
  EXPECT_FALSE(decay_figures_of(Echogram{1e-3, 0, std::vector<double>(100, 0.0), {}})[d50].value);
}

// ---- against images -------------------------------------------------------------------------

TEST(Tracer, meets_the_sum_of_images_of_a_rigid_box_bin_by_bin) {
  // Every image within 30 m is of order 20 at most: order <= 0.503 · distance + 3.
  const auto images =
      image_paths(box_room(), near_source, near_receiver, trace_speed, {}, {20}).value();
  std::vector<double> exact(17);
  const auto add = [&](double way_m) {
    const std::size_t bin = static_cast<std::size_t>(way_m / trace_speed / 5e-3);
    if (bin < exact.size()) exact[bin] += 1 / (4 * std::numbers::pi * way_m * way_m);
  };
  add(images.direct_m);
  for (const ImagePath& path : images.paths) add(path.length_m);
  double squares = 0, count = 0;
  for (int seed = 1; seed <= 4; ++seed) {
    TraceOptions options = with_rays(500'000, 0.085);
    options.seed = seed;
    options.bin_ms = 5;
    options.radius_m = 0.05;
    options.image_order = 1;
    const auto report =
        trace(traced(box_room(), 0, 0, near_source, near_receiver), options).value();
    const TracedBand& band = only(report);
    ASSERT_EQ(band.echogram.size(), exact.size());
    EXPECT_EQ(report.lost, 0);
    for (std::size_t i = 0; i < exact.size(); ++i) {
      if (band.echogram_error[i] == 0) {
        EXPECT_NEAR(band.echogram[i], exact[i], 1e-12);
        continue;
      }
      EXPECT_LT(band.echogram_error[i], 0.2 * exact[i]);
      squares += std::pow((band.echogram[i] - exact[i]) / band.echogram_error[i], 2);
      count += 1;
    }
  }
  // With the error itself from 16 batches 15/13 is expected, ± 0.2 for sixty bins.
  EXPECT_GE(count, 56);
  EXPECT_GT(squares / count, 0.6);
  EXPECT_LT(squares / count, 1.8);
}

TEST(Tracer, takes_no_path_twice_whatever_the_order_of_images) {
  TracedScene scene = traced(box_room(), 0.15, 0.2, near_source, near_receiver);
  std::vector<TracedValue> strength, c80;
  for (const int order : {0, 2, 6}) {
    TraceOptions options = with_rays(100'000);
    options.image_order = order;
    const auto report = trace(scene, options).value();
    strength.push_back(only(report).strength_db);
    c80.push_back(only(report).c80_db);
  }
  TraceOptions spheres = with_rays(100'000);
  spheres.rain = false;
  const auto caught = trace(scene, spheres).value();
  strength.push_back(only(caught).strength_db);
  c80.push_back(only(caught).c80_db);
  for (const auto& values : {strength, c80})
    for (const TracedValue& value : values) {
      const double both = std::hypot(value.standard_error, values[0].standard_error);
      EXPECT_NEAR(*value.value, *values[0].value, 3.5 * both + 0.01);
      EXPECT_LT(both, 0.2);
    }
}

// ---- theory ---------------------------------------------------------------------------------

TEST(Tracer, energy_stays_in_rigid_rooms_and_fills_them_evenly) {
  expect_filled(
      trace(traced(box_room(), 0, 0.3, near_source, near_receiver), with_rays(30'000, 0.6)).value(),
      0.1, 52);
  const auto ell =
      trace(traced(ell_room(), 0, 0.3, {4.5, 1.5, 1.2}, {2.5, 3.5, 1.2}), with_rays(30'000, 0.6))
          .value();
  expect_filled(ell, 0.15, volume_m3(ell_room()));
  EXPECT_EQ(ell.lost, 0);
  const Room sloped = make_sloped_room({{0, 0}, {5, 0}, {5, 4}, {0, 4}},
                                       {Vec3{0, 0, 2}, Vec3{5, 0, 3.2}, Vec3{0, 4, 2.5}})
                          .value();
  expect_filled(
      trace(traced(sloped, 0, 0.3, near_source, near_receiver), with_rays(30'000, 0.6)).value(),
      0.15, volume_m3(sloped));
}

TEST(Tracer, a_box_in_the_room_takes_its_volume_and_its_shadow) {
  TracedScene scene = traced(box_room(), 0, 0.3, {1, 2, 1}, {4, 2, 1});
  TracedBox cupboard;
  cupboard.middle_m = {2.5, 2};
  cupboard.size_m = {0.5, 2};
  cupboard.turn_deg = 20;
  cupboard.high_m = 2;
  cupboard.finish = finish(0, 0.3);
  scene.boxes.push_back(cupboard);
  const auto report = trace(scene, with_rays(50'000, 0.6)).value();
  EXPECT_FALSE(report.pairs[0].direct_clear);
  EXPECT_GT(report.pairs[0].arrival_s, 3 / trace_speed + 1e-3);
  EXPECT_LT(report.lost_share, 1e-4);
  expect_filled(report, 0.15, 50);
  // A hanging panel between them does not stand in the way below it.
  scene.boxes[0].low_m = 1.5;
  const auto hung = trace(scene, with_rays(50'000, 0.6)).value();
  EXPECT_TRUE(hung.pairs[0].direct_clear);
  expect_filled(hung, 0.15, 51.5);
}

TEST(Tracer, mean_free_path_of_diffuse_reflection_is_4_v_over_s) {
  // Source: H. Kuttruff, Room Acoustics, ch. 5 (from memory)
  for (const Room& room : {box_room(), ell_room()}) {
    const auto report =
        trace(traced(room, 0, 1, near_source, {2.4, 1.1, 1.4}), with_rays(20'000, 1)).value();
    EXPECT_NEAR(report.mean_free_path_m / (4 * volume_m3(room) / total_area_m2(room)), 1, 0.01);
  }
}

TEST(Tracer, diffuse_walls_that_absorb_little_follow_eyring) {
  // Source: C. F. Eyring, J. Acoust. Soc. Am. 1 (1930)
  TracedScene scene = traced(box_room(), 0.05, 1, near_source, near_receiver);
  const auto report = trace(scene, with_rays(30'000)).value();
  const double wanted = eyring_s(box_room(), 0.05);
  expect_within(only(report).t20_s, wanted, 3, 0.02 * wanted);
  expect_within(only(report).t30_s, wanted, 3, 0.02 * wanted);
  EXPECT_LT(only(report).t20_s.standard_error, 0.01 * wanted);
}

TEST(Tracer, diffuse_walls_that_absorb_more_ring_longer_than_eyring_by_the_paths_variance) {
  // Free paths are not all of one length: ln(1 − α) becomes ln(1 − α) (1 + γ²/2 ln(1 − α)), with γ²
  // near 0.4 in such rooms. Source: H. Kuttruff, Acustica 23 (1970); Room Acoustics, ch. 5 (both
  // from memory)
  const auto report =
      trace(traced(box_room(), 0.2, 1, near_source, near_receiver), with_rays(100'000)).value();
  const double eyring = eyring_s(box_room(), 0.2);
  EXPECT_NEAR(eyring, 0.4322937, 1e-5);  // Source: tests/figures/reverberation.csv, uniform 0.2
  const double corrected = eyring / (1 + 0.4 / 2 * std::log(1 - 0.2));
  expect_within(only(report).t30_s, corrected, 3, 0.02 * corrected);
}

TEST(Tracer, a_specular_cube_decays_as_its_directions_do) {
  // In a cube with one absorption each direction d keeps its own rate c (|dx| + |dy| + |dz|)/L:
  // E(t) is the mean of exp(t rate ln(1 − α)). Its start is Eyring's, for little absorption
  // Sabine's; its end hangs on the axial directions.
  const double alpha = 0.05, side = 4;
  const auto report =
      trace(traced(make_box(side, side, side).value(), alpha, 0, {1.1, 1.4, 1.7}, {2.7, 2.3, 1.9}),
            with_rays(200'000, 2.5))
          .value();
  const auto left_after = [&](double t) {
    double sum = 0, rates = 0;
    for (int i = 0; i < 40; ++i)
      for (int k = 0; k < 40; ++k) {
        const double z = (i + 0.5) / 40, phi = (k + 0.5) / 40 * std::numbers::pi / 2;
        const double r = std::sqrt(1 - z * z);
        const double rate =
            -std::log(1 - alpha) * trace_speed / side * (z + r * std::cos(phi) + r * std::sin(phi));
        sum += std::exp(-rate * t) / rate;
        rates += 1 / rate;
      }
    return sum / rates;
  };
  const auto exact = decay_figures_of(sampled(left_after, 1e-3, 2.5));
  expect_within(only(report).t20_s, *exact[t20].value, 3, 0.02 * *exact[t20].value);
  expect_within(only(report).t30_s, *exact[t30].value, 3, 0.02 * *exact[t30].value);
  const double sabine = 24 * std::log(10.0) / trace_speed * 64 / (96 * alpha);
  expect_within(only(report).edt_s, sabine, 3, 0.05 * sabine);
}

TEST(Tracer, a_long_thin_room_differs_from_sabine) {
  const Room room = make_box(24, 2.4, 2.4).value();
  const auto report =
      trace(traced(room, 0.2, 0.1, {1, 1.1, 1.2}, {18, 1.3, 1.4}), with_rays(500'000)).value();
  const double sabine =
      24 * std::log(10.0) / trace_speed * volume_m3(room) / (0.2 * total_area_m2(room));
  ASSERT_TRUE(only(report).t30_s.value) << only(report).t30_s.reason;
  EXPECT_GT(std::abs(*only(report).t30_s.value / sabine - 1), 0.1);
}

TEST(Tracer, air_alone_gives_its_closed_form) {
  // E goes as exp(−m c t): T = 6 ln 10 / (m c)
  TracedScene scene = traced(box_room(), 0, 0.3, near_source, near_receiver);
  scene.bands = 2;
  scene.air_energy_1_m = {0.02, 0.05};
  const auto report = trace(scene, with_rays(20'000)).value();
  for (int band = 0; band < 2; ++band) {
    const double wanted = 6 * std::log(10.0) / scene.air_energy_1_m[band] / trace_speed;
    expect_within(report.pairs[0].bands[band].t30_s, wanted, 3, 0.003 * wanted);
  }
}

// ---- laws -----------------------------------------------------------------------------------

TEST(Tracer, source_and_receiver_may_be_swapped) {
  TracedScene there = traced(ell_room(), 0.1, 0.25, {4.5, 1.3, 1.2}, {1.5, 3.4, 1.6});
  there.surfaces[1] = finish(0.6, 0.1);
  there.surfaces[3] = finish(0.3, 0.8);
  TracedScene back = there;
  std::swap(back.sources[0].at_m, back.receivers_m[0]);
  TraceOptions other = with_rays(200'000);
  other.seed = 2;
  const auto report_there = trace(there, with_rays(200'000)).value();
  const auto report_back = trace(back, other).value();
  const TracedBand &a = only(report_there), &b = only(report_back);
  for (const auto& [one, two] : {std::pair{&a.strength_db, &b.strength_db},
                                 {&a.t20_s, &b.t20_s},
                                 {&a.d50, &b.d50},
                                 {&a.c80_db, &b.c80_db}})
    EXPECT_NEAR(*one->value, *two->value,
                3.5 * std::hypot(one->standard_error, two->standard_error));
  EXPECT_LT(a.strength_db.standard_error, 0.1);
}

TEST(Tracer, a_patch_over_a_whole_wall_is_the_wall) {
  TracedScene wall = traced(box_room(), 0.1, 0.2, near_source, near_receiver);
  TracedScene patch = wall;
  wall.surfaces[3] = finish(0.8, 0.5);
  patch.patches = {{3, {0, 0}, {4, 2.6}}};
  patch.patch_finishes = {finish(0.8, 0.5)};
  const auto a = trace(wall, with_rays(20'000)).value();
  const auto b = trace(patch, with_rays(20'000)).value();
  EXPECT_NEAR(*only(a).strength_db.value, *only(b).strength_db.value, 1e-3);
  EXPECT_NEAR(*only(a).t20_s.value, *only(b).t20_s.value, 1e-3);
  patch.patches[0].to_m.x = 2;  // half of it
  const auto half = trace(patch, with_rays(20'000)).value();
  EXPECT_GT(*only(half).strength_db.value, *only(a).strength_db.value + 0.3);
}

TEST(Tracer, nothing_comes_round_a_corner_sooner_than_it_can) {
  // Two bays beside each other, open to one another at their far end.
  const Room bays =
      make_room({{0, 0}, {6, 0}, {6, 4}, {3.2, 4}, {3.2, 1}, {2.8, 1}, {2.8, 4}, {0, 4}}, 2.5)
          .value();
  TracedScene scene = traced(bays, 0.1, 0.5, {2.2, 3.5, 1.2}, {3.8, 3.5, 1.2});
  TraceOptions options = with_rays(100'000, 0.3);
  options.radius_m = 0.1;
  const auto report = trace(scene, options).value();
  EXPECT_FALSE(report.pairs[0].direct_clear);
  const double way_m = 2 * std::hypot(0.6, 2.5) + 0.4;  // by the two inner corners
  const TracedBand& band = only(report);
  for (std::size_t i = 0; i < band.echogram.size(); ++i)
    if ((i + 1) * report.bin_s < (way_m - 0.1) / trace_speed) EXPECT_EQ(band.echogram[i], 0) << i;
  EXPECT_GT(report.pairs[0].arrival_s, way_m / trace_speed - 1e-3);
  EXPECT_LT(report.pairs[0].arrival_s, way_m / trace_speed + 6e-3);
  EXPECT_NE(band.c80_db.reason.find("no direct path"), std::string::npos);
  EXPECT_EQ(report.lost, 0);
  scene.receivers_m[0] = {2.2, 1.2, 1.2};
  EXPECT_TRUE(trace(scene, options).value().pairs[0].direct_clear);
}

TEST(Tracer, what_is_stopped_by_chance_is_made_up_for) {
  // Far below where rays begin to be stopped (80 dB) the decay keeps its slope.
  const auto report =
      trace(traced(box_room(), 0.2, 1, near_source, near_receiver), with_rays(100'000, 0.85))
          .value();
  const auto between = [&](double from_s, double to_s) {
    double sum = 0;
    for (int i = std::lround(from_s * 1e3); i < std::lround(to_s * 1e3); ++i)
      sum += only(report).echogram[i];
    return sum;
  };
  const double early = energy_db(between(0.2, 0.3) / between(0.4, 0.5));     // -27 to -66 dB
  const double late = energy_db(between(0.55, 0.65) / between(0.75, 0.85));  // -73 to -113 dB
  EXPECT_NEAR(late, early, 1);
}

TEST(Tracer, sources_send_where_they_point) {
  TracedScene scene = traced(box_room(), 0.999, 0, {1, 2, 1.3}, {3, 2, 1.3});
  TraceOptions options = with_rays(2000, 0.1);
  options.image_order = 0;
  const auto direct = [&](const Directivity& directivity) {
    scene.sources[0].directivity = directivity;
    const auto report = trace(scene, options).value();
    double sum = 0;
    for (const double bin : only(report).echogram) sum += bin;
    return sum * 4 * std::numbers::pi * 4;
  };
  Directivity cardioid;
  cardioid.kind = Directivity::Kind::first_order;
  EXPECT_NEAR(direct({}), 1, 0.005);       // 0.1 % comes back
  EXPECT_NEAR(direct(cardioid), 3, 0.01);  // 1 / (a² + (1 − a)²/3)
  cardioid.axis = {0, 1, 0};
  EXPECT_NEAR(direct(cardioid), 0.75, 0.01);
  Directivity half;  // nothing to the back, by 60 dB
  half.kind = Directivity::Kind::table;
  half.level_db = {std::vector<double>(181, 0.0)};
  for (int i = 91; i <= 180; ++i) half.level_db[0][i] = -60;
  EXPECT_NEAR(direct(half), 2, 0.02);
  // All patterns have one power: they fill a rigid room alike.
  TracedScene rigid = traced(box_room(), 0, 0.5, {1, 2, 1.3}, {3, 2, 1.3});
  rigid.sources[0].directivity = half;
  expect_filled(trace(rigid, with_rays(30'000, 0.5)).value(), 0.1, 52);
}

TEST(Tracer, bands_that_scatter_otherwise_are_as_if_traced_alone) {
  TracedScene scene = traced(box_room(), 0.1, 0, near_source, near_receiver);
  scene.bands = 3;
  for (Finish& each : scene.surfaces) each = {{0.1, 0.2, 0.1}, {0.1, 0.1, 0.6}};
  const auto both = trace(scene, with_rays(20'000, 0.8)).value();
  EXPECT_EQ(both.passes, 2);
  const auto third =
      trace(traced(box_room(), 0.1, 0.6, near_source, near_receiver), with_rays(20'000, 0.8))
          .value();
  for (std::size_t i = 0; i < only(third).echogram.size(); ++i)
    EXPECT_EQ(both.pairs[0].bands[2].echogram[i], only(third).echogram[i]);
  EXPECT_LT(*both.pairs[0].bands[1].t20_s.value, *both.pairs[0].bands[0].t20_s.value);
}

// ---- errors and repetition ------------------------------------------------------------------

bool same_bytes(const TraceReport& a, const TraceReport& b) {
  if (a.pairs.size() != b.pairs.size() || a.bounces != b.bounces) return false;
  for (std::size_t i = 0; i < a.pairs.size(); ++i)
    for (std::size_t band = 0; band < a.pairs[i].bands.size(); ++band) {
      const TracedBand &one = a.pairs[i].bands[band], &two = b.pairs[i].bands[band];
      if (one.echogram != two.echogram || one.echogram_error != two.echogram_error ||
          one.t20_s.value != two.t20_s.value ||
          one.c80_db.standard_error != two.c80_db.standard_error)
        return false;
    }
  return true;
}

TEST(Tracer, gives_the_same_bytes_for_a_seed_on_any_threads_and_any_machine) {
  TracedScene scene = traced(ell_room(), 0.1, 0.3, near_source, {2.4, 3.1, 1.4});
  scene.patches = {{2, {1, 0.5}, {3, 1.5}}};
  scene.patch_finishes = {finish(0.7, 0.4)};
  scene.boxes.push_back({{4, 1}, {0.6, 0.4}, 15, 0, 0.8, finish(0.3, 0.5)});
  TraceOptions options = with_rays(5'000);
  options.threads = 1;
  const auto one = trace(scene, options).value();
  options.threads = 3;
  EXPECT_TRUE(same_bytes(one, trace(scene, options).value()));
  options.any_machine = true;
  EXPECT_TRUE(same_bytes(one, trace(scene, options).value()));
  options.seed = 2;
  EXPECT_FALSE(same_bytes(one, trace(scene, options).value()));
}

TracedScene eight_receivers() {
  TracedScene scene = traced(box_room(), 0.15, 0.25, near_source, near_receiver);
  for (int i = 1; i < 8; ++i) scene.receivers_m.push_back({0.6 + 0.55 * i, 3.3 - 0.3 * i, 1.4});
  return scene;
}

double mean_square_error(const TraceReport& report, TracedValue TracedBand::*figure) {
  double sum = 0;
  for (const TracedPair& pair : report.pairs)
    sum += std::pow((pair.bands[0].*figure).standard_error, 2) / report.pairs.size();
  return sum;
}

TEST(Tracer, four_times_the_rays_halve_the_error) {
  const TracedScene scene = eight_receivers();
  const auto few = trace(scene, with_rays(10'000)).value();
  const auto many = trace(scene, with_rays(40'000)).value();
  EXPECT_EQ(few.rays_to_halve_error, many.rays);
  for (const auto figure : {&TracedBand::t20_s, &TracedBand::c80_db, &TracedBand::strength_db})
    EXPECT_NEAR(std::sqrt(mean_square_error(many, figure) / mean_square_error(few, figure)), 0.5,
                0.15);
}

TEST(Tracer, seeds_scatter_as_the_stated_error_says) {
  const TracedScene scene = eight_receivers();
  std::vector<TraceReport> reports;
  for (int seed = 0; seed < 10; ++seed) {
    TraceOptions options = with_rays(4'000);
    options.seed = 100 + seed;
    reports.push_back(trace(scene, options).value());
  }
  for (const auto figure : {&TracedBand::edt_s, &TracedBand::t20_s, &TracedBand::t30_s,
                            &TracedBand::c80_db, &TracedBand::d50, &TracedBand::ts_ms}) {
    double stated = 0, scatter = 0;
    for (std::size_t pair = 0; pair < reports[0].pairs.size(); ++pair) {
      double mean = 0;
      for (const auto& report : reports)
        mean += *(report.pairs[pair].bands[0].*figure).value / reports.size();
      for (const auto& report : reports) {
        const TracedValue& got = report.pairs[pair].bands[0].*figure;
        scatter += std::pow(*got.value - mean, 2) / (reports.size() - 1);
        stated += std::pow(got.standard_error, 2) / reports.size();
      }
    }
    // Chi-square with 72 degrees of freedom at most (receivers share their rays): 0.5 to 1.7 is
    // past its 0.1 % limits, and past those of half as many.
    EXPECT_GT(scatter / stated, 0.45);
    EXPECT_LT(scatter / stated, 1.8);
  }
}

TEST(Tracer, odd_plans_end_and_lose_next_to_nothing) {
  const Polygon wedge{{0, 0}, {12, 0}, {12, 0.7}};
  const Polygon comb{{0, 0}, {6, 0}, {6, 3},   {5, 3},   {5, 0.6}, {4, 0.6},
                     {4, 3}, {3, 3}, {3, 0.6}, {2, 0.6}, {2, 3},   {0, 3}};
  const Polygon straight{{0, 0}, {2, 0}, {5, 0}, {5, 4}, {2.5, 4.000001}, {0, 4}};
  Polygon round;
  for (int i = 0; i < 64; ++i) {
    const double turn = 2 * std::numbers::pi * i / 64, radius = i % 2 == 0 ? 3 : 2.6;
    round.push_back({3 + radius * std::cos(turn), 3 + radius * std::sin(turn)});
  }
  struct Place {
    Polygon plan;
    Vec3 source, receiver;
  };
  const Place places[] = {{wedge, {9, 0.25, 1.2}, {11, 0.3, 1.3}},
                          {comb, {1, 1.5, 1.2}, {1.5, 0.4, 1.4}},
                          {straight, {1, 1.5, 1.2}, {1.5, 0.4, 1.4}},
                          {round, {3, 4, 1.2}, {3.5, 2, 1.4}}};
  for (const auto& [plan, source, receiver] : places) {
    const Room room = make_room(plan, 2.5).value();
    for (const double scattering : {0.0, 0.4}) {
      const auto report =
          trace(traced(room, 0.1, scattering, source, receiver), with_rays(20'000, 1)).value();
      EXPECT_LT(report.lost_share, 1e-3);
      double sum = 0;
      for (const double bin : only(report).echogram) sum += bin;
      EXPECT_TRUE(std::isfinite(sum));
      EXPECT_GT(sum, 0);
    }
  }
}

TEST(Tracer, wrong_requests_are_told_at_once) {
  const TracedScene good = traced(box_room(), 0.1, 0.1, near_source, near_receiver);
  TraceOptions options;
  options.rays = 20;
  options.bin_ms = 0;
  options.seconds = 30;
  EXPECT_EQ(trace(good, options).mistakes().size(), 3u);
  TracedScene scene = good;
  scene.sources[0].at_m = {9, 1, 1};
  scene.receivers_m[0] = {1, 1, 0.01};
  EXPECT_EQ(trace(scene).mistakes().size(), 2u);
  scene = good;
  scene.surfaces[0] = {{0.1, 0.2}, {2.0}};
  scene.boxes.push_back({{5, 2}, {1, 1}, 0, 0, 1, {}});
  EXPECT_EQ(trace(scene).mistakes().size(), 3u);
  scene = good;
  scene.bands = 3;
  for (int i = 0; i < 6; ++i) scene.surfaces[i].scattering = {0.1, 0.2, 0.3};
  const auto work = trace(scene, with_rays(10'000'000, 20));
  ASSERT_FALSE(work.ok());
  EXPECT_NE(work.mistakes().text().find("ask for at most"), std::string::npos);
  for (int i = 0; i < 40; ++i) scene.receivers_m.push_back(near_receiver);
  options = with_rays(100, 20);
  options.bin_ms = 0.1;
  EXPECT_EQ(trace(scene, options).mistakes().items()[0].where, "bin_ms");
  scene = traced(ell_room(), 0.1, 0.1, near_source, {2.4, 3.1, 1.4});
  options = with_rays(100);
  options.image_order = 9;
  EXPECT_EQ(trace(scene, options).mistakes().items()[0].remedy, "ask for at most 5");
}

TEST(Tracer, tells_its_progress_and_can_be_stopped) {
  const TracedScene scene = traced(box_room(), 0.1, 0.1, near_source, near_receiver);
  std::atomic<bool> cancel = false;
  double told = 0;
  int ticks = 0;
  TraceOptions options = with_rays(200'000);
  options.watch.cancel = &cancel;
  options.watch.progress = [&](double fraction, std::string_view) {
    EXPECT_GE(fraction, told);
    told = fraction;
    ++ticks;
  };
  EXPECT_TRUE(trace(scene, options).ok());
  EXPECT_EQ(told, 1);
  EXPECT_GT(ticks, 10);
  told = 0;
  options.watch.progress = [&](double, std::string_view) { cancel = true; };
  const auto stopped = trace(scene, options);
  ASSERT_FALSE(stopped.ok());
  EXPECT_NE(stopped.mistakes().text().find("cancelled"), std::string::npos);
}

}  // namespace
}  // namespace roomwright::acoustics
