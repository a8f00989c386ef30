// One run of pieces through the shop: from the parts and the schedule to lots on the line, and back
// to what each person does when. Sticks are cut length by length as the cut sheet says, for all
// products at once; cloth and boards are cut to size apart from the frames, so that a second pair
// of hands has work from the first minute; the pieces of a lot follow each other from station to
// station. How many pieces make a lot is tried out.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "shop/line/line.h"
#include "shop/parts/parts.h"
#include "shop/schedule/schedule.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

/// What the run must know of a piece beside its parts.
struct RunPiece {
  std::string label;
  std::string product;          ///< pieces of one product go together
  std::int64_t router_set = 0;  ///< what the router is set to; another one is set up anew
  bool two_people = false;      ///< lifted by two: at the last two stations
};
struct RunRequest {
  const Parts* parts = nullptr;
  const Shop* shop = nullptr;
  const Schedule* schedule = nullptr;  ///< of these parts
  std::vector<RunPiece> pieces;
  int people = 1;
  std::int64_t max_nodes = 20'000;  ///< of each size of lot
  Watch watch;
};

/// One stretch of work, in minutes from the start of the run.
struct RunTask {
  Station station = Station::saw;
  std::string station_title;
  bool ahead = false;  ///< cloth or boards cut to size, ahead of the frames
  std::string what;    ///< `S1 to S4`
  std::vector<std::string> pieces;
  std::vector<int> people;                           ///< from 0
  double begin_min = 0, start_min = 0, end_min = 0;  ///< set-up from begin to start
};
struct RunPlan {
  std::vector<RunTask> tasks;  ///< by begin
  int people = 1;
  double finish_min = 0, bound_min = 0, work_min = 0;
  bool proven = false;   ///< no plan of these lots is sooner
  double least_min = 0;  ///< by work, people, heads and tails alone: the least of one reason
  int lots = 0, most_in_lot = 0;
  std::vector<double> busy_min;  ///< of each person
  int router_set_ups = 0;
  bool two_wanted = false;  ///< a second pair of hands is needed and not there
  std::string method;
  std::int64_t nodes = 0;
};
/// Errors: those of the line.
Result<RunPlan> plan_run(const RunRequest& request);

/// `S1 to S4, T2`
std::string label_list(const std::vector<std::string>& labels);

}  // namespace roomwright::shop
