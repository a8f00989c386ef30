// Lists of parts, joined; see parts.h.
#include "shop/parts/parts.h"

namespace roomwright::shop {

std::string station_title(Station station) {
  switch (station) {
    case Station::saw:
      return "Cut the sticks";
    case Station::drill_screw:
      return "Drill and screw the frames";
    case Station::rout:
      return "Rout the edges";
    case Station::sand:
      return "Sand";
    case Station::back_cloth:
      return "Staple the back cloth";
    case Station::boards:
      return "Press in the boards";
    case Station::face_cloth:
      return "Stretch the face cloth and fold the corners";
    case Station::finish:
      return "Hang hardware, dust and inspect";
    case Station::pack:
      return "Label and pack";
  }
  return {};
}

namespace {
template <class T>
void join_parts(std::vector<T>& to, const std::vector<T>& from) {
  to.insert(to.end(), from.begin(), from.end());
}
}  // namespace

void Parts::append(const Parts& more) {
  join_parts(sticks, more.sticks);
  join_parts(cloths, more.cloths);
  join_parts(boards, more.boards);
  join_parts(sheets, more.sheets);
  join_parts(hardware, more.hardware);
  join_parts(operations, more.operations);
}

}  // namespace roomwright::shop
