// How well the room's sizes are known; see sizes.h.
#include "job/stages/sizes.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace roomwright::job {

namespace {

/// A size that nobody has checked, a tape's reading, and the widest that is worked with: a room
/// that closes worse is to be taped anew. Common practice, no source.
constexpr double unchecked_spread = 0.005, read_to_m = 0.003, widest_spread = 0.02;
/// A diagonal that runs more askew to a side than that says nothing of it.
constexpr double least_seen = 0.3;

constexpr const char* size_names[] = {"length", "width", "height"};
std::string size_title(const std::string& size) {
  return "the " + size + " of the room";
}

/// Extent of the plan along a direction.
double extent_m(const Polygon& plan, Vec2 along) {
  double low = 1e9, high = -1e9;
  for (const Vec2 corner : plan) {
    low = std::min(low, dot(along, corner));
    high = std::max(high, dot(along, corner));
  }
  return high - low;
}

/// Of tape checks from the first to the last, at least what a tape is read to.
double closing_m(const std::vector<TapeCheck>& tape, std::size_t from, std::size_t to) {
  double worst = read_to_m;
  for (std::size_t i = from; i < to; ++i)
    worst = std::max(worst, std::abs(tape[i].difference.metres()));
  return worst;
}

/// How much of an error of a side along `along` the best of the diagonals shows; 0: none does.
double seen_by_diagonals(const Job& job, Vec2 along) {
  double most = 0;
  for (const Diagonal& diagonal : job.diagonals) {
    const Vec2 run = job.room.plan_m[static_cast<std::size_t>(diagonal.to)] -
                     job.room.plan_m[static_cast<std::size_t>(diagonal.from)];
    most = std::max(most, std::abs(dot(run, along)) / length(run));
  }
  return most < least_seen ? 0 : most;
}

RoomSize side(const Job& job, const Survey& survey, const std::string& name, Vec2 along) {
  RoomSize out{size_title(name), extent_m(job.room.plan_m, along), unchecked_spread,
               "measure the " + name + " along both walls, and both diagonals, with a laser"};
  if (const double seen = seen_by_diagonals(job, along); seen > 0) {
    out.spread = closing_m(survey.tape, 0, job.diagonals.size()) / seen / out.size_m;
    out.measurement = "measure the " + name + " once more with a laser, along both walls";
  }
  return out;
}

RoomSize upward(const Job& job, const Survey& survey) {
  RoomSize out{size_title(size_names[2]), survey.volume_m3 / survey.floor_area_m2, unchecked_spread,
               "measure the height at three places with a laser"};
  if (!job.heights.empty()) {
    out.spread = closing_m(survey.tape, job.diagonals.size(), survey.tape.size()) / out.size_m;
    out.measurement = "measure the height once more with a laser, in the middle and every corner";
  }
  return out;
}

bool is_longer_across(const acoustics::Room& room, Vec2 along) {
  return extent_m(room.plan_m, {-along.y, along.x}) > extent_m(room.plan_m, along) + 1e-9;
}

}  // namespace

Vec2 taped_along(const acoustics::Room& room) {
  Vec2 best{};
  for (std::size_t i = 0; i < room.plan_m.size(); ++i) {
    const Vec2 wall = room.plan_m[(i + 1) % room.plan_m.size()] - room.plan_m[i];
    if (length(wall) > length(best) + 1e-9) best = wall;
  }
  return best * (1 / length(best));
}

std::array<RoomSize, 3> room_sizes(const Job& job, const Survey& survey) {
  RW_ASSERT(survey.tape.size() == job.diagonals.size() + job.heights.size());
  Vec2 along = taped_along(job.room);
  if (is_longer_across(job.room, along)) along = {-along.y, along.x};
  std::array<RoomSize, 3> out{side(job, survey, size_names[0], along),
                              side(job, survey, size_names[1], {-along.y, along.x}),
                              upward(job, survey)};
  for (RoomSize& one : out) one.spread = std::min(one.spread, widest_spread);
  return out;
}

bool is_room_size(const std::string& name) {
  return std::any_of(std::begin(size_names), std::end(size_names),
                     [&](const char* one) { return name == size_title(one); });
}

acoustics::RoomStretch stretch_of_sizes(const acoustics::Room& room,
                                        const std::array<double, 3>& by) {
  const Vec2 along = taped_along(room);
  const bool turned = is_longer_across(room, along);
  return {{by[turned ? 1 : 0], by[turned ? 0 : 1], by[2]}, along};
}

}  // namespace roomwright::job
