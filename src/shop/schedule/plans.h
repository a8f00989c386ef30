// Private to shop/schedule: one plan a material, each through its engine.
#pragma once

#include "shop/schedule/schedule.h"

namespace roomwright::shop {

std::vector<StickPlan> plan_sticks(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& options, Diagnostics& found);
std::vector<ClothPlan> plan_cloths(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& options, Diagnostics& found);
std::vector<SheetPlan> plan_sheets(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& options, Diagnostics& found);
std::vector<HardwareRow> count_hardware(const Parts& parts, const Shop& shop, Diagnostics& found);
std::vector<StationRow> plan_stations(const Parts& parts, const Shop& shop,
                                      const Schedule& schedule, Diagnostics& found);
/// Steps and cautions that follow from what is done at a station.
void add_feature_steps(StationRow& row);

}  // namespace roomwright::shop
