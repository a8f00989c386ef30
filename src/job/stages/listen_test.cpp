// Rays at the seats and impulse responses of the demo jobs: what they must agree with, what a
// treatment must do to them, and that chance and threads leave no trace.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "acoustics/field/field.h"
#include "job/stages/boundary.h"
#include "job/stages/scene.h"
#include "kept/kept.h"

namespace roomwright::job {
namespace {

struct Made {
  Job job;
  Survey survey;
  Findings findings;
  Treatment treatment;
};

std::string text_of(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + path).value();
}

Made made(const std::string& job_text, const std::string& shop) {
  auto job = read_job({job_text, text_of(shop)});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  Made out{*job, survey(*job), {}, {}};
  out.findings = findings(out.job, out.survey, quick_run());
  out.treatment = treatment(out.job, out.survey, out.findings, quick_run()).value();
  return out;
}
const Made& control() {
  static const Made out = made(text_of("control_room.toml"), "shop_metric.toml");
  return out;
}
const Made& drums() {
  static const Made out = made(text_of("drum_room.toml"), "shop_metric.toml");
  return out;
}

RayOptions few(int rays, int threads = 0) {
  RayOptions options;
  options.rays = rays;
  options.threads = threads;
  return options;
}

TEST(RayScene, holds_every_piece_of_the_demos_inside_the_room) {
  for (const Made* one : {&control(), &drums()}) {
    const RayScene scene =
        ray_scene(one->job, one->survey, &one->treatment, {metres_of(one->job.seats[0].at)});
    EXPECT_TRUE(scene.notes.empty()) << scene.notes[0];
    std::size_t with_material = 0;
    for (const Feature& feature : one->job.features) with_material += !feature.material.empty();
    EXPECT_EQ(scene.scene.patches.size() + scene.scene.boxes.size(),
              one->treatment.pieces.size() + one->job.furniture.size() + with_material);
  }
}

TEST(RayScene, keeps_the_absorbing_area_of_each_trap_and_cloud) {
  const Made& one = control();
  const RayScene scene = ray_scene(one.job, one.survey, &one.treatment, {});
  std::size_t at = one.job.furniture.size();
  for (const PieceRow& piece : one.treatment.pieces) {
    if (piece.kind == "wall panel") continue;
    const auto& box = scene.scene.boxes[at++];
    const double x = box.size_m.x, y = box.size_m.y, height = box.high_m - box.low_m;
    const double area = piece.kind == "ceiling cloud"            ? 2 * (x * y + (x + y) * height)
                        : piece.kind == "straddling corner trap" ? (x + 2 * y) * height
                                                                 : x * height;
    for (std::size_t band = 0; band < piece.likely_m2.size(); ++band) {
      // No face absorbs more than all: what a small piece catches beyond its face is lost.
      const double want = std::min(piece.likely_m2[band], acoustics::log_cap * area);
      EXPECT_NEAR(area * box.finish.absorption[band], want, 1e-9) << piece.label;
      EXPECT_GT(want, 0.7 * piece.likely_m2[band]) << piece.label;
    }
  }
  EXPECT_EQ(at, scene.scene.boxes.size());
}

TEST(RayScene, leaves_out_what_stands_at_a_loudspeaker_and_says_so) {
  std::string text = text_of("control_room.toml");
  const std::string at = "at = [620, 1160, 1180]";
  text.replace(text.find(at), at.size(), "at = [1500, 1900, 760]");  // 20 mm above the desk
  const Job job = read_job({text, text_of("shop_metric.toml")}).value();
  const RayScene scene = ray_scene(job, survey(job), nullptr, {});
  ASSERT_EQ(scene.notes.size(), 1u);
  EXPECT_NE(scene.notes[0].find("desk is left out"), std::string::npos) << scene.notes[0];
}

TEST(RaysAtSeats, tell_each_octave_with_its_error_and_the_treatment_shortens_it) {
  const Made& one = control();
  const auto today = rays_at_seats(one.job, one.survey, one.findings, nullptr, few(8000));
  const auto treated = rays_at_seats(one.job, one.survey, one.findings, &one.treatment, few(8000));
  ASSERT_TRUE(today && treated);
  ASSERT_EQ(today->pairs.size(), one.job.loudspeakers.size() * one.job.seats.size());
  EXPECT_EQ(today->pairs[1].seat, "couch");
  EXPECT_GE(today->rays, 8000);
  EXPECT_EQ(*today->rays_to_halve_error, 4 * today->rays);
  for (std::size_t band = 3; band < 7; ++band) {
    const SeatRayRow &a = today->pairs[0].rows[band], &b = treated->pairs[0].rows[band];
    ASSERT_TRUE(a.t20_s.value && b.t20_s.value && b.c50_db.value && b.d50.value);
    EXPECT_GT(a.t20_s.standard_error, 0);
    EXPECT_LT(*b.t20_s.value, 0.7 * *a.t20_s.value);
    EXPECT_GT(*b.c50_db.value, *a.c50_db.value);
    EXPECT_GT(*b.d50.value, *a.d50.value);
    EXPECT_FALSE(a.from_waves);
  }
  EXPECT_EQ(today->method.find("Every octave by rays") == 0, today->crossover_hz == 0);
}

TEST(RaysAtSeats, take_the_low_octaves_of_a_box_from_waves) {
  const Made& one = drums();
  const auto today = rays_at_seats(one.job, one.survey, one.findings, nullptr, few(4000));
  ASSERT_TRUE(today);
  const auto& rows = today->pairs[0].rows;
  EXPECT_TRUE(rows[0].from_waves);
  EXPECT_FALSE(rows[3].from_waves);
  for (const SeatRayRow& row : rows) {
    ASSERT_TRUE(row.t20_s.value) << row.hz << row.t20_s.reason;
    // The same absorption by two methods: no more than a factor of two apart from Eyring's time.
    const double eyring = one.findings.decay[std::size_t(&row - rows.data())].likely_s;
    EXPECT_NEAR(std::log2(*row.t20_s.value / eyring), 0, 1) << row.hz;
  }
  EXPECT_NE(today->method.find("from the wave field"), std::string::npos);
}

TEST(Listening, has_two_points_a_seat_with_the_direct_sound_in_its_place) {
  const Made& one = control();
  const auto got = listening(one.job, one.survey, one.findings, one.treatment, few(3000));
  ASSERT_TRUE(got) << got.mistakes().text();
  ASSERT_EQ(got->pairs.size(), 6u);
  const SeatImpulses& pair = got->pairs[0];  // left to the mixing seat
  const double r = length(metres_of(one.job.loudspeakers[0].at) - metres_of(one.job.seats[0].at));
  for (const auto* state : {&pair.today, &pair.treated}) {
    std::array<std::ptrdiff_t, 2> peak{};
    for (std::size_t point = 0; point < 2; ++point) {
      const auto& samples = (*state)[point];
      peak[point] = std::max_element(samples.begin(), samples.end()) - samples.begin();
      EXPECT_NEAR(double(peak[point]), r / one.survey.air.sound_speed_m_s * 48000, 12);
      // The impulse lies between two samples, which lowers its highest by a factor of 0.64 at most.
      EXPECT_LT(samples[std::size_t(peak[point])] * r, 1.3);
      EXPECT_GT(samples[std::size_t(peak[point])] * r, 0.5);
    }
    EXPECT_LT(peak[0], peak[1]) << "the left loudspeaker is nearer to the left point";
  }
  const bool said = std::any_of(got->notes.begin(), got->notes.end(), [](const std::string& note) {
    return note.find("Rays alone") == 0;
  });
  EXPECT_EQ(said, got->crossover_today_hz == 0 || got->crossover_treated_hz == 0)
      << "rays alone are told";
}

TEST(Listening, of_a_box_crosses_from_waves_to_rays_and_is_the_same_on_any_threads) {
  const Made& one = drums();
  const auto single = listening(one.job, one.survey, one.findings, one.treatment, few(2000, 1));
  const auto twice = listening(one.job, one.survey, one.findings, one.treatment, few(2000, 2));
  ASSERT_TRUE(single && twice);
  EXPECT_GE(single->crossover_today_hz, 120);
  EXPECT_LE(single->crossover_today_hz, 400);
  EXPECT_GT(single->crossover_treated_hz, 0);
  EXPECT_TRUE(std::none_of(single->notes.begin(), single->notes.end(), [](const auto& note) {
    return note.find("rings longer in the bass") != std::string::npos;
  })) << "the period is made to fit";
  EXPECT_EQ(single->pairs[0].today, twice->pairs[0].today);
  EXPECT_EQ(single->pairs[0].treated, twice->pairs[0].treated);
}

TEST(Listening, wants_a_loudspeaker_and_a_seat_and_can_be_stopped) {
  Made one = control();
  const std::atomic<bool> stop = true;
  RayOptions options = few(1000);
  options.watch.cancel = &stop;
  EXPECT_FALSE(listening(one.job, one.survey, one.findings, one.treatment, options));
  one.job.loudspeakers.clear();
  one.job.seats.clear();
  const auto got = listening(one.job, one.survey, one.findings, one.treatment, few(1000));
  ASSERT_FALSE(got);
  EXPECT_EQ(got.mistakes().size(), 2u);
}

}  // namespace
}  // namespace roomwright::job
