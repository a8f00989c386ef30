// Maps of pressure: closed forms of a hard box, the driven field at the same points, symmetry, what
// is asked together and alone, words and wrong input.
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "job/stages/field.h"
#include "kept/kept.h"

namespace roomwright::job {
namespace {

/// A bare room of smooth concrete with loudspeakers at these places and a seat.
Job bare_job(const acoustics::Room& room, const std::vector<Vec3>& loudspeakers) {
  const std::string folder = std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/";
  Job job = read_job({read_file(folder + "control_room.toml").value(),
                      read_file(folder + "shop_metric.toml").value()})
                .value();
  job.room = room;
  job.finish.assign(std::size_t(acoustics::surface_count(room)), "smooth_concrete");
  job.features.clear(), job.furniture.clear(), job.pieces.clear();
  job.loudspeakers.clear(), job.seats.resize(1);
  const auto point = [](const Vec3& at) {
    return Point{Length::from_m(at.x), Length::from_m(at.y), Length::from_m(at.z)};
  };
  for (std::size_t i = 0; i < loudspeakers.size(); ++i)
    job.loudspeakers.push_back({i == 0 ? "left" : "right", point(loudspeakers[i]), false});
  job.seats[0].at = point({1.6, 1.1, 1.2});
  return job;
}

PressureOptions at_hz(std::vector<double> hz, bool treated = false) {
  PressureOptions out;
  out.hz = std::move(hz), out.treated = treated;
  return out;
}

/// Resonances are told where they are looked for: finding them under a slope takes a second.
Findings no_resonances() {
  Findings out;
  out.modes.push_back({50, {}, {}, acoustics::ModeKind::plan});
  out.modes_to_hz = 1000;
  return out;
}

Result<PressureReport> maps_of(const Job& job, const PressureOptions& options, const Run& run = {},
                               const Findings& found = no_resonances()) {
  const Survey at = survey(job);
  const auto treatment = placed(job);
  EXPECT_TRUE(treatment.ok());
  return pressure(job, at, found, *treatment, options, run);
}

const PressureMap& map_named(const PressureRoom& room, const std::string& name) {
  for (const auto& map : room.maps)
    if (map.name == name) return map;
  ADD_FAILURE() << name;
  return room.maps[0];
}

TEST(Pressure, at_a_mode_of_a_hard_box_the_maps_are_its_product_of_cosines) {
  // Source: cos(n π x/L) along each side; H. Kuttruff, Room Acoustics, ch. 3 (from memory)
  const Vec3 size{4.4, 3.1, 2.3};
  const Job job = bare_job(acoustics::make_box(size.x, size.y, size.z).value(), {{0.4, 0.3, 0.3}});
  const double c = survey(job).air.sound_speed_m_s;
  const double axial_hz = c / 2 / size.x, tangential_hz = std::hypot(axial_hz, c / 2 / size.y);
  const auto report = maps_of(job, at_hz({axial_hz, tangential_hz}), {}, {});
  ASSERT_TRUE(report.ok()) << report.mistakes().text();
  const double pi = std::acos(-1.0);
  double worst = 0;
  for (std::size_t f = 0; f < 2; ++f)
    for (const auto& map : report->at[f].rooms[0].maps)
      for (std::size_t i = 0; i < map.what.size(); ++i) {
        const Vec3& at = map.point_m[i];
        if (length(at - Vec3{0.4, 0.3, 0.3}) < 1) continue;
        const double shape =
            std::abs(std::cos(pi * at.x / size.x) * (f == 1 ? std::cos(pi * at.y / size.y) : 1));
        worst = std::max(worst, std::abs(std::pow(10, map.level_db[i] / 20) - shape));
      }
  EXPECT_LT(worst, 0.04) << "other modes and the loudspeaker's own sound";
  const PressureRoom& axial = report->at[0].rooms[0];
  EXPECT_NEAR(map_named(axial, "wall1").share, 2, 0.04) << "cos² is 1 there and 1/2 in the room";
  EXPECT_NEAR(map_named(axial, "wall0").share, 1, 0.04);
  EXPECT_EQ(map_named(axial, "wall1").most.words, "about alike all over");
  EXPECT_EQ(map_named(axial, "wall2").most.kind, "corner");
  EXPECT_EQ(report->at[0].resonance.substr(0, 5), "axial");
  const PressureRoom& tangential = report->at[1].rooms[0];
  EXPECT_NEAR(map_named(tangential, "wall2").share, 2, 0.06);
  EXPECT_NEAR(map_named(tangential, "floor").share, 1, 0.04);
  EXPECT_EQ(map_named(tangential, "wall0").most.words.substr(0, 10), "all along ");
}

TEST(Pressure, maps_of_one_request_are_those_asked_alone_and_kept_ones_are_the_same) {
  const Job job = bare_job(acoustics::make_box(3.6, 2.8, 2.2).value(), {{0.5, 0.4, 0.5}});
  std::map<std::string, std::string> values;
  int put = 0;
  const Keep keep{
      [&](const std::string& key) -> std::optional<std::string> {
        const auto at = values.find(key);
        return at == values.end() ? std::nullopt : std::optional(at->second);
      },
      [&](const std::string& key, const std::string& value) { values[key] = value, ++put; }};
  const auto both = maps_of(job, at_hz({40, 71}), {{}, keep});
  const auto alone = maps_of(job, at_hz({71})), again = maps_of(job, at_hz({71}), {{}, keep});
  ASSERT_TRUE(both.ok() && alone.ok() && again.ok());
  EXPECT_EQ(put, 2) << "each frequency is kept by itself, and found again";
  for (std::size_t m = 0; m < alone->at[0].rooms[0].maps.size(); ++m) {
    EXPECT_EQ(both->at[1].rooms[0].maps[m].level_db, alone->at[0].rooms[0].maps[m].level_db);
    EXPECT_EQ(again->at[0].rooms[0].maps[m].level_db, alone->at[0].rooms[0].maps[m].level_db);
  }
}

TEST(Pressure, a_symmetric_room_has_symmetric_maps) {
  const Job job =
      bare_job(acoustics::make_box(3.6, 2.8, 2.2).value(), {{0.5, 0.8, 1}, {0.5, 2.0, 1}});
  const auto report = maps_of(job, at_hz({66}));
  ASSERT_TRUE(report.ok());
  EXPECT_EQ(report->loudspeaker, "all loudspeakers together");
  for (const auto& map : report->at[0].rooms[0].maps) {
    if (map.name == "wall0" || map.name == "wall2") continue;
    const bool wall = map.surface >= 2;  // u runs along y; elsewhere v does
    for (int j = 0; j < map.up; ++j)
      for (int i = 0; i < map.across; ++i) {
        const auto at = std::size_t(j * map.across + i);
        const auto other = wall ? std::size_t(j * map.across + map.across - 1 - i)
                                : std::size_t((map.up - 1 - j) * map.across + i);
        ASSERT_NEAR(map.level_db[at], map.level_db[other], 1e-6) << map.name;
      }
  }
}

/// Levels of some points of the last room against response() asked for those; gives the maps.
PressureReport expect_the_driven_field(const Job& job, PressureOptions options) {
  const Survey at = survey(job);
  const auto treatment = placed(job);
  const auto report = maps_of(job, options);
  EXPECT_TRUE(report.ok()) << (report.ok() ? "" : report.mistakes().text());
  const PressureRoom& room = report->at[0].rooms.back();
  EXPECT_EQ(room.note, "");
  auto request = field_request(job, at, room.treated ? &*treatment : nullptr, options.hz);
  request.sources = {{metres_of(job.loudspeakers[0].at), 1}};
  std::vector<double> told;
  for (const auto& map : room.maps)
    for (std::size_t i = 5; i < map.what.size(); i += 97)
      if (map.what[i] == PressurePlace::air &&
          std::hypot(map.point_m[i].x - request.sources[0].at_m.x,
                     map.point_m[i].y - request.sources[0].at_m.y) > 0.2) {
        request.receivers_m.push_back(map.point_m[i]);
        told.push_back(map.level_db[i] + report->at[0].reference_db);
      }
  EXPECT_GT(told.size(), 12u);
  // Beside the loudspeaker: the mesh is graded toward it, as for the maps.
  request.receivers_m.push_back(request.sources[0].at_m + Vec3{0, 0, 0.3});
  const auto driven = acoustics::response(request, {});
  EXPECT_TRUE(driven.ok()) << (driven.ok() ? "" : driven.mistakes().text());
  for (std::size_t r = 0; r < told.size(); ++r)
    EXPECT_NEAR(told[r],
                20 * std::log10(std::abs(driven->pressure_pa[r][0]) * 4 * std::acos(-1.0) /
                                request.density_kg_m3),
                1e-6);
  return *report;
}

TEST(Pressure, is_the_driven_field_in_a_box_and_an_l) {
  const std::vector<Vec3> speaker{{0.5, 0.6, 0.5}};
  expect_the_driven_field(bare_job(acoustics::make_box(3.2, 2.6, 2.2).value(), speaker),
                          at_hz({58}));
  const auto ell =
      acoustics::make_room({{0, 0}, {2.6, 0}, {2.6, 1.2}, {2, 1.2}, {2, 2}, {0, 2}}, 2.2);
  const Job job = bare_job(ell.value(), speaker);
  const PressureReport report = expect_the_driven_field(job, at_hz({58}));
  // Above the loudspeaker the level rises steadily with x; the solver asked there itself has a
  // hump of 1 dB on the axis.
  const PressureMap& ceiling = map_named(report.at[0].rooms[0], "ceiling");
  std::vector<double> rising;
  for (std::size_t i = 0; i < ceiling.what.size(); ++i)
    if (std::abs(ceiling.point_m[i].y - 0.6) < 1e-6 && ceiling.point_m[i].x > 0.45 &&
        ceiling.point_m[i].x < 0.85)
      rising.push_back(ceiling.level_db[i]);
  ASSERT_EQ(rising.size(), 4u);
  for (std::size_t i = 1; i < rising.size(); ++i) EXPECT_GT(rising[i], rising[i - 1] + 0.3);
}

TEST(Pressure, under_a_slope_ends_there_and_inside_a_trap_there_is_no_level) {
  const auto slope = acoustics::make_sloped_room({{0, 0}, {2.2, 0}, {2.2, 1.9}, {0, 1.9}},
                                                 {{{0, 0, 2.3}, {0, 1.9, 2.3}, {2.2, 0, 1.9}}});
  Job job = bare_job(slope.value(), {{0.5, 0.6, 0.5}});
  const std::string folder = std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/";
  for (const Piece& piece : read_job({read_file(folder + "control_room.toml").value(),
                                      read_file(folder + "shop_metric.toml").value()})
                                .value()
                                .pieces)
    if (job.pieces.empty() && piece.corner == 2) job.pieces.push_back(piece);
  ASSERT_EQ(job.pieces.size(), 1u);
  const auto treatment = placed(job);
  ASSERT_TRUE(treatment.ok() && treatment->pieces[0].placement.ok());
  FieldPieces pieces;
  field_request(job, survey(job), &*treatment, {50}, {}, &pieces);
  ASSERT_EQ(pieces.body[0], 0) << "it is a body of wool";
  PressureOptions options = at_hz({50}, true);
  options.plane_m = 2.1;
  const PressureReport report = expect_the_driven_field(job, options);
  for (const auto& room : report.at[0].rooms) {
    const PressureMap& gable = map_named(room, "wall0");
    int outside = 0, inside = 0;
    for (std::size_t i = 0; i < gable.what.size(); ++i) {
      outside += gable.what[i] == PressurePlace::outside;
      EXPECT_LE(gable.point_m[i].z, job.room.ceiling_at({gable.point_m[i].x, 0}) + 1e-9);
    }
    EXPECT_GT(outside, 5);
    EXPECT_NEAR(map_named(room, "plane").to_m.x, 1.1, 1e-9) << "the plane ends at the ceiling";
    const PressureMap& wall = map_named(room, "wall1");
    for (std::size_t i = 0; i < wall.what.size(); ++i)
      if (wall.what[i] == PressurePlace::body) {
        ++inside;
        EXPECT_EQ(wall.level_db[i], -200) << "it is told as such and has no level";
      }
    EXPECT_EQ(inside > 10, room.treated);
  }
}

TEST(Pressure, wrong_input_is_told_all_at_once) {
  const Job job = bare_job(acoustics::make_box(3.6, 2.8, 2.2).value(), {{0.5, 0.4, 0.5}});
  PressureOptions wrong = at_hz({10, 63});
  wrong.loudspeaker = "lefd", wrong.plane_m = 2.3;
  const auto report = maps_of(job, wrong);
  ASSERT_FALSE(report.ok());
  const std::string text = report.mistakes().text();
  for (const char* part : {"loudspeaker: is not in this job", "the job has left",
                           "hz: must be from 20 to 300, got 10", "plane: must lie between"})
    EXPECT_NE(text.find(part), std::string::npos) << text;
  Job silent = job;
  silent.loudspeakers.clear();
  EXPECT_FALSE(maps_of(silent, at_hz({63})).ok());
  EXPECT_FALSE(maps_of(job, {}).ok()) << "where no frequency is asked for, the findings name none";
}

}  // namespace
}  // namespace roomwright::job
