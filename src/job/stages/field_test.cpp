// The wave field of a job: what makes peaks and dips, where a trap bites, where the bass is
// evenest, how sure it is, and that what was kept changes nothing.
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "core/numerics/numerics.h"
#include "job/stages/bass.h"
#include "job/stages/doubt.h"
#include "job/stages/field.h"
#include "job/stages/kept.h"
#include "job/stages/sizes.h"
#include "kept/kept.h"

namespace roomwright::job {
namespace {

Job tracking_room() {
  const std::string folder = std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/";
  return read_job({read_file(folder + "tracking_room.toml").value(),
                   read_file(folder + "shop_inch.toml").value()})
      .value();
}

struct Kept {
  std::map<std::string, std::string> values;
  int found = 0, put = 0;
  Keep keep() {
    return {[this](const std::string& key) -> std::optional<std::string> {
              const auto at = values.find(key);
              if (at == values.end()) return std::nullopt;
              ++found;
              return at->second;
            },
            [this](const std::string& key, const std::string& value) {
              values[key] = value;
              ++put;
            }};
  }
};

TEST(Field, every_mark_is_an_extreme_of_its_curve_and_the_greatest_are_among_them) {
  const Job job = tracking_room();
  const Survey at = survey(job);
  const Findings found = findings(job, at);
  const BassField& bass = found.bass;
  ASSERT_FALSE(bass.marks.empty());
  for (const BassMark& mark : bass.marks) {
    const auto i = std::size_t(std::lround(mark.hz - bass.hz[0]));
    const auto& db = bass.levels[0].level_db;
    const double sign = mark.peak ? 1 : -1;
    EXPECT_DOUBLE_EQ(db[i], mark.level_db);
    EXPECT_GT(sign * db[i], sign * db[i - 1]);
    EXPECT_GE(sign * db[i], sign * db[i + 1]);
    EXPECT_GE(mark.stands_db, 6);
  }
  const auto& db = bass.levels[0].level_db;
  const double highest = *std::max_element(db.begin() + 5, db.end());
  const double deepest = *std::min_element(db.begin() + 5, db.end());
  const auto has = [&](double level) {
    return std::any_of(bass.marks.begin(), bass.marks.end(),
                       [&](const BassMark& mark) { return mark.level_db == level; });
  };
  EXPECT_TRUE(has(highest));
  EXPECT_TRUE(has(deepest));
}

TEST(Field, a_seat_half_way_along_a_box_hears_no_odd_mode_and_the_cause_is_not_such_a_mode) {
  Job job = tracking_room();
  const Vec3 size = acoustics::box_size_m(job.room);
  job.seats[0].at.x = Length::from_m(size.x / 2);
  const Findings found = findings(job, survey(job));
  for (const BassMark& mark : found.bass.marks)
    EXPECT_EQ(mark.cause.find("axial resonance at " + fixed(found.modes[0].hz, 1)),
              std::string::npos)
        << "the first mode has its node there";
}

TEST(Field, places_round_the_seat_hold_the_seat_itself) {
  const Findings found = findings(tracking_room(), survey(tracking_room()));
  for (const SeatLevel& level : found.bass.levels)
    for (std::size_t i = 0; i < level.level_db.size(); ++i) {
      EXPECT_LE(level.around_low_db[i], level.level_db[i]);
      EXPECT_GE(level.around_high_db[i], level.level_db[i]);
    }
}

TEST(Field, the_lowest_mode_presses_on_the_walls_at_its_ends_and_least_half_way) {
  // Source: standing wave between rigid walls, H. Kuttruff, Room Acoustics, ch. 3: |cos πx/L|.
  Job job = tracking_room();
  const Survey at = survey(job);
  Findings found = findings(job, at);
  const Vec3 size = acoustics::box_size_m(job.room);
  ASSERT_TRUE(found.bass.bites);
  const BiteMap& map = *found.bass.bites;
  ASSERT_EQ(map.surfaces.size(), 6u);
  double loudest = -1e9;
  for (const auto& one : map.surfaces)
    for (const double level : one.level_db) loudest = std::max(loudest, level);
  EXPECT_NEAR(loudest, 0, 1e-9) << "levels are against the loudest of all";
  ASSERT_EQ(map.corner_db.size(), 4u);
  EXPECT_GT(size.x, 0);
  for (const double level : map.corner_db) EXPECT_LE(level, 0);
}

TEST(Field, what_was_kept_gives_the_same_answer_and_is_not_solved_again) {
  const Job job = tracking_room();
  Kept kept;
  const job::Run run{{}, kept.keep()};
  const Findings first = findings(job, survey(job), run);
  EXPECT_GT(kept.put, 0);
  const int solved = kept.put;
  const Findings second = findings(job, survey(job), run);
  EXPECT_EQ(kept.put, solved);
  EXPECT_EQ(kept.found, solved);
  EXPECT_EQ(first.bass.levels[0].level_db, second.bass.levels[0].level_db);
  EXPECT_EQ(first.bass.note, second.bass.note);
  // Another room asks for another solution.
  Job other = job;
  other.loudspeakers[0].at.x = other.loudspeakers[0].at.x + 10_mm;
  findings(other, survey(other), run);
  EXPECT_GT(kept.put, solved);
}

TEST(Field, a_broken_kept_value_counts_as_not_there) {
  const Job job = tracking_room();
  Kept kept;
  const job::Run run{{}, kept.keep()};
  auto request = field_request(job, survey(job), nullptr, {40, 50});
  request.sources = {{metres_of(job.loudspeakers[0].at), 1}};
  request.receivers_m = {metres_of(job.seats[0].at)};
  const auto whole = kept_responses(request, {}, run).value();
  for (const std::size_t cut : {0u, 1u, 9u, 40u}) {
    for (auto& [key, value] : kept.values) value.resize(std::min(cut, value.size()));
    const auto again = kept_responses(request, {}, run).value();
    EXPECT_EQ(again[0].pressure_pa, whole[0].pressure_pa);
  }
  for (auto& [key, value] : kept.values)  // a count that cannot be
    for (std::size_t i = 0; i < 8; ++i) value[i] = '\xff';
  EXPECT_EQ(kept_responses(request, {}, run).value()[0].pressure_pa, whole[0].pressure_pa);
}

TEST(Places, the_best_set_is_as_even_when_the_job_stands_there) {
  Job job = tracking_room();
  const Survey at = survey(job);
  const Treatment pieces = placed(job).value();
  const PlacesReport report = places(job, at, pieces, {}).value();
  EXPECT_GT(report.tried, 5000u);
  ASSERT_FALSE(report.best.empty());
  EXPECT_LE(report.best[0].unevenness_db, report.today.unevenness_db);
  for (std::size_t i = 1; i < report.best.size(); ++i)
    EXPECT_GE(std::round(report.best[i].unevenness_db * 100),
              std::round(report.best[i - 1].unevenness_db * 100));
  const PlaceChoice best = report.best[0];
  const auto to = [](const Vec3& m) {
    return Point{Length::from_m(m.x), Length::from_m(m.y), Length::from_m(m.z)};
  };
  job.loudspeakers[0].at = to(best.at_m[0]);
  job.seats[0].at = to(best.at_m[1]);
  const PlacesReport moved = places(job, at, pieces, {}).value();
  EXPECT_NEAR(moved.today.unevenness_db, best.unevenness_db, 0.02);
}

TEST(Places, a_pair_keeps_its_angle_and_its_distance_from_walls) {
  Job job = tracking_room();
  const Vec3 size = acoustics::box_size_m(job.room);
  const auto point = [](double x, double y, double z) {
    return Point{Length::from_m(x), Length::from_m(y), Length::from_m(z)};
  };
  job.loudspeakers.resize(1);
  job.loudspeakers.push_back(job.loudspeakers[0]);
  job.loudspeakers[0].label = "left", job.loudspeakers[1].label = "right";
  job.loudspeakers[0].at = point(0.8, size.y / 2 + 0.7, 1.2);
  job.loudspeakers[1].at = point(0.8, size.y / 2 - 0.7, 1.2);
  job.seats[0].at = point(2.1, size.y / 2, 1.2);
  const PlacesReport report = places(job, survey(job), placed(job).value(), {}).value();
  for (const PlaceChoice& one : report.best) {
    const Vec3 left = one.at_m[0], right = one.at_m[1], seat = one.at_m[2];
    const double angle = 2 *
                         std::atan2(length(left - right) / 2, length((left + right) * 0.5 - seat)) *
                         180 / std::acos(-1.0);
    EXPECT_GE(angle, 49);
    EXPECT_LE(angle, 71);
    EXPECT_GT(left.y, right.y) << "left stays left";
    for (const Vec3& at : {left, right}) {
      EXPECT_GE(std::min({at.x, at.y, size.x - at.x, size.y - at.y}), 0.3 - 0.011);
    }
  }
}

TEST(Places, a_job_without_seats_is_told_what_is_missing) {
  Job job = tracking_room();
  job.seats.clear();
  const auto report = places(job, survey(job), placed(job).value(), {});
  ASSERT_FALSE(report.ok());
  EXPECT_EQ(report.mistakes().items()[0].where, "seats");
}

TEST(Doubt, a_sum_of_inputs_has_the_shares_of_its_squares_and_the_width_of_its_law) {
  // y = 3 a + 1 b with a and b even over 0 to 1: variances as 9 to 1; and with b alone 10 % to 90 %
  // is 0.8 wide. Source: first principles (variance of a sum of independent inputs).
  const std::vector<DoubtInput> two{{"a", "m"}, {"b", "n"}};
  const auto sum = sample_doubt(
      two, 512, [](const std::vector<double>& x) { return std::vector<double>{3 * x[0] + x[1]}; });
  ASSERT_TRUE(sum);
  EXPECT_EQ(sum->shares[0].input, "a");
  EXPECT_NEAR(sum->shares[0].share, 0.9, 0.001);
  EXPECT_NEAR(sum->shares[1].share, 0.1, 0.001);
  const auto one = sample_doubt(
      {{"b", "n"}}, 512, [](const std::vector<double>& x) { return std::vector<double>{x[0]}; });
  EXPECT_NEAR(one->high[0] - one->low[0], 0.8, 0.01);
}

TEST(Doubt, a_run_that_fails_gives_no_doubt_rather_than_a_wrong_one) {
  int runs = 0;
  EXPECT_FALSE(sample_doubt({{"a", "m"}}, 8, [&](const std::vector<double>&) {
    return ++runs == 5 ? std::vector<double>{} : std::vector<double>{1};
  }));
}

TEST(Doubt, the_likely_level_and_time_lie_inside_their_corridors) {
  const Job job = tracking_room();
  const Survey at = survey(job);
  const Findings found = findings(job, at);
  ASSERT_TRUE(found.bass.doubt);
  int inside = 0;
  for (std::size_t i = 0; i < found.bass.doubt_hz.size(); ++i) {
    EXPECT_LE(found.bass.doubt->low[i], found.bass.doubt->high[i]);
    const auto k = std::size_t(std::lround(found.bass.doubt_hz[i] - found.bass.hz[0]));
    const double level = found.bass.levels[found.bass.worst].level_db[k];
    inside += level >= found.bass.doubt->low[i] - 0.5 && level <= found.bass.doubt->high[i] + 0.5;
  }
  EXPECT_GT(inside, int(found.bass.doubt_hz.size() * 8 / 10));
  for (std::size_t i = 0; i < found.decay.size(); ++i) {
    EXPECT_LE(found.decay_doubt.low[i], found.decay[i].likely_s);
    EXPECT_GE(found.decay_doubt.high[i], found.decay[i].likely_s);
  }
  double sum = 0;
  for (const DoubtShare& one : found.decay_doubt.shares) sum += one.share;
  EXPECT_NEAR(sum, 1, 1e-9);
}

/// Today, with its doubt by the box's own solver; found once.
const BassField& tracking_bass() {
  static const BassField bass = [] {
    const Job job = tracking_room();
    const Survey at = survey(job);
    BassField out = bass_today(job, at, kept_run());
    find_bass_doubt(job, at, nullptr, worst_pair(out), out, job::Run{});
    return out;
  }();
  return bass;
}

// ---- sizes --------------------------------------------------------------------------------------

TEST(Sizes, are_known_as_well_as_the_tape_closes) {
  Job job = tracking_room();
  job.diagonals.clear(), job.heights.clear();
  const auto unchecked = room_sizes(job, survey(job));
  const Vec3 size = acoustics::box_size_m(job.room);
  EXPECT_NEAR(unchecked[0].size_m, std::max(size.x, size.y), 1e-9) << "the longer one";
  EXPECT_NEAR(unchecked[2].size_m, size.z, 1e-9);
  for (const RoomSize& one : unchecked) EXPECT_DOUBLE_EQ(one.spread, 0.005);
  // A diagonal 8 mm too short: a side's error shows in it by the cosine of the angle between.
  const double across = std::hypot(size.x, size.y);
  job.diagonals = {{0, 2, Length::from_m(std::round(across * 1000) / 1000) - 8_mm}};
  const auto taped = room_sizes(job, survey(job));
  for (const std::size_t d : {0u, 1u})
    EXPECT_NEAR(taped[d].spread, 0.008 * across / taped[d].size_m / taped[d].size_m,
                2e-4 / taped[d].size_m);
  EXPECT_DOUBLE_EQ(taped[2].spread, 0.005);
  job.heights.push_back({1000_mm, 1000_mm, Length::from_m(size.z)});
  EXPECT_NEAR(room_sizes(job, survey(job))[2].spread, 0.003 / size.z, 3e-4);
}

TEST(Sizes, stretch_the_side_that_they_name_wherever_the_plan_points) {
  for (const bool first_is_long : {true, false}) {
    Job job = tracking_room();
    job.room = acoustics::make_box(first_is_long ? 5 : 3, first_is_long ? 3 : 5, 2.4).value();
    acoustics::ResponseRequest request;
    request.room = job.room;
    const auto longer =
        acoustics::stretched(request, stretch_of_sizes(job.room, {1.01, 1, 1.02})).room;
    const Vec3 size = acoustics::box_size_m(longer);
    EXPECT_NEAR(std::max(size.x, size.y), 5.05, 1e-9);
    EXPECT_NEAR(std::min(size.x, size.y), 3, 1e-9);
    EXPECT_NEAR(size.z, 2.448, 1e-9);
  }
}

TEST(Sizes, of_which_one_alone_is_not_known_make_it_the_one_to_measure) {
  const Job job = tracking_room();
  ASSERT_FALSE(job.diagonals.empty());
  ASSERT_TRUE(job.heights.empty()) << "only the height was never checked";
  const BassField& bass = tracking_bass();
  ASSERT_TRUE(bass.doubt);
  const auto share = [&](const std::string& name) {
    for (const DoubtShare& one : bass.doubt->shares)
      if (one.input == name) return one;
    ADD_FAILURE() << name;
    return DoubtShare{};
  };
  const DoubtShare height = share("the height of the room");
  EXPECT_GT(height.share, 2 * share("the length of the room").share);
  EXPECT_GT(height.share, 2 * share("the width of the room").share);
  EXPECT_NE(height.measurement.find("height at three places"), std::string::npos);
  share("the temperature");
}

// Source: the box's own solver, another method
TEST(Doubt, of_a_box_by_the_shared_model_is_that_by_its_own_solver) {
  const Job job = tracking_room();
  const Survey at = survey(job);
  const BassField& own = tracking_bass();
  BassField shared = own;
  find_bass_doubt(job, at, nullptr, worst_pair(own), shared, job::Run{}, false);
  ASSERT_TRUE(own.doubt && shared.doubt);
  for (std::size_t i = 0; i < own.doubt_hz.size(); ++i) {
    EXPECT_NEAR(own.doubt->low[i], shared.doubt->low[i], 0.5) << own.doubt_hz[i];
    EXPECT_NEAR(own.doubt->high[i], shared.doubt->high[i], 0.5) << own.doubt_hz[i];
  }
  ASSERT_EQ(own.doubt->shares.size(), shared.doubt->shares.size());
  for (std::size_t i = 0; i < own.doubt->shares.size(); ++i)
    for (const DoubtShare& other : shared.doubt->shares)
      if (other.input == own.doubt->shares[i].input)
        EXPECT_NEAR(own.doubt->shares[i].share, other.share, 0.03) << other.input;
}

TEST(Field, a_cloud_under_a_sloped_ceiling_is_wool_that_hangs_parallel_to_it) {
  Job job = tracking_room();
  const double low_m = job.room.height_m;
  job.room = acoustics::make_sloped_room(job.room.plan_m,
                                         {Vec3{0, 0, low_m}, {1, 0, low_m + 0.12}, {0, 1, low_m}})
                 .value();
  const Survey at = survey(job);
  const Treatment hung = placed(job).value();
  FieldPieces pieces;
  acoustics::ResponseRequest request = field_request(job, at, &hung, {30, 45}, {}, &pieces);
  const Plane ceiling = acoustics::surface_plane(job.room, 1);
  int clouds = 0;
  for (std::size_t i = 0; i < job.pieces.size(); ++i) {
    const design::Product& product = product_of(job, hung, job.pieces[i]);
    if (product.spec.kind != design::Kind::ceiling_cloud) continue;
    ++clouds;
    ASSERT_GE(pieces.body[i], 0);
    const auto& body = request.objects[std::size_t(pieces.body[i])];
    ASSERT_TRUE(body.below_ceiling_m);
    const double middle_m = (body.below_ceiling_m->near_m + body.below_ceiling_m->far_m) / 2;
    EXPECT_NEAR(body.below_ceiling_m->far_m - body.below_ceiling_m->near_m,
                product.boards[0].thickness.metres(), 1e-9);
    // The face, carried back along the normal to the middle of the wool.
    const design::Placement& place = hung.pieces[i].placement;
    for (const Vec3& corner : place.face_m) {
      EXPECT_NEAR(ceiling.distance(corner), place.protrudes_m, 1e-9);
      const Vec3 there = corner - ceiling.normal * (place.protrudes_m - middle_m);
      EXPECT_NEAR(distance_to_edge(body.plan_m, {there.x, there.y}), 0, 1e-9);
    }
  }
  EXPECT_GT(clouds, 0);
  for (const Loudspeaker& speaker : job.loudspeakers)
    request.sources.push_back({metres_of(speaker.at), 1});
  request.receivers_m = {metres_of(job.seats[0].at)};
  const int bodies = int(request.objects.size());
  const auto solved = solve_field(request, kept_run());
  ASSERT_TRUE(solved.ok()) << solved.mistakes().text();
  EXPECT_EQ(solved->bodies, bodies) << solved->note;
}

TEST(Doubt, is_told_with_traps_and_clouds_and_kept_runs_change_nothing) {
  const std::string folder = std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/";
  const Job job = read_job({read_file(folder + "control_room.toml").value(),
                            read_file(folder + "shop_metric.toml").value()})
                      .value();
  const Survey at = survey(job);
  const Treatment hung = placed(job).value();
  BassField bass = bass_treated(job, at, hung, kept_run());
  ASSERT_GT(bass.bodies, 0);
  const std::size_t pair = worst_pair(bass);
  BassField again = bass;
  Kept kept;
  find_bass_doubt(job, at, &hung, pair, bass, {{}, kept.keep()});
  ASSERT_TRUE(bass.doubt);
  EXPECT_EQ(kept.put, 1);
  find_bass_doubt(job, at, &hung, pair, again, {{}, kept.keep()});
  EXPECT_EQ(kept.found, 1);
  EXPECT_EQ(bass.doubt->low, again.doubt->low);
  EXPECT_EQ(bass.doubt->high, again.doubt->high);
  int inside = 0;
  for (std::size_t i = 0; i < bass.doubt_hz.size(); ++i) {
    EXPECT_LE(bass.doubt->low[i], bass.doubt->high[i]);
    const auto k = std::size_t(std::lround(bass.doubt_hz[i] - bass.hz[0]));
    const double level = bass.levels[pair].level_db[k];
    inside += level >= bass.doubt->low[i] - 0.5 && level <= bass.doubt->high[i] + 0.5;
  }
  EXPECT_GT(inside, int(bass.doubt_hz.size() * 8 / 10));
  EXPECT_TRUE(
      std::any_of(bass.doubt->shares.begin(), bass.doubt->shares.end(), [](const DoubtShare& one) {
        return one.input == "the wool of the pieces" && one.share > 0.1;
      }));
}

}  // namespace
}  // namespace roomwright::job
