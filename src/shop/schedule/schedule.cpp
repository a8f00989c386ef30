// The whole schedule, material by material, then the stations; see schedule.h.
#include "shop/schedule/schedule.h"

#include "shop/schedule/plans.h"

namespace roomwright::shop {

double Schedule::shop_min() const {
  double sum = 0;
  for (const StationRow& station : stations) sum += station.total_min();
  return sum;
}

Result<Schedule> make_schedule(const Parts& parts, const Shop& shop,
                               const ScheduleOptions& options) {
  const Watch& watch = options.watch;
  Diagnostics found;
  Schedule schedule;
  watch.tick(0.0, "planning the sticks");
  schedule.sticks = plan_sticks(parts, shop, options, found);
  watch.tick(0.5, "laying out the cloth");
  schedule.cloths = plan_cloths(parts, shop, options, found);
  watch.tick(0.7, "laying out boards and sheets");
  schedule.sheets = plan_sheets(parts, shop, options, found);
  schedule.hardware = count_hardware(parts, shop, found);
  schedule.stations = plan_stations(parts, shop, schedule, found);
  if (!found.empty()) return found;
  return schedule;
}

}  // namespace roomwright::shop
