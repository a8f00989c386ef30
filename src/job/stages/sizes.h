// Private to job/stages: how well the room's length, width and height are known.
#pragma once

#include <array>

#include "job/stages/stages.h"

namespace roomwright::job {

/// One of the room's three sizes. The true one lies within `spread` of it, as a share on either
/// side, in eight of ten such rooms.
struct RoomSize {
  std::string name;  ///< `the length of the room` …
  double size_m = 0, spread = 0;
  std::string measurement;  ///< what would about halve the spread
};
/// Along what the room is taped: its longest wall.
Vec2 taped_along(const acoustics::Room& room);
/// Length (the longer of the two in plan), width, height (its mean). The tape says how well each is
/// known where it was checked; elsewhere it is half a percent.
std::array<RoomSize, 3> room_sizes(const Job& job, const Survey& survey);
/// Whether that is the name of one.
bool is_room_size(const std::string& name);
/// The room with other sizes: each times the factor in `by`, in the order of room_sizes().
acoustics::RoomStretch stretch_of_sizes(const acoustics::Room& room,
                                        const std::array<double, 3>& by);

}  // namespace roomwright::job
