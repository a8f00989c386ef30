// When to order again; see ledger.h.
#include <algorithm>
#include <cmath>

#include "shop/ledger/ledger.h"

namespace roomwright::shop {

Result<std::int64_t> day_number(const std::string& date) {
  const Complaint wrong{"date", "is not a date", "\"" + date.substr(0, 40) + "\"",
                        "year-month-day, such as 2026-11-27", 0};
  if (date.size() < 10 || date[4] != '-' || date[7] != '-') return wrong;
  for (const std::size_t i : {0, 1, 2, 3, 5, 6, 8, 9})
    if (date[i] < '0' || date[i] > '9') return wrong;
  const int year = std::stoi(date.substr(0, 4)), month = std::stoi(date.substr(5, 2)),
            day = std::stoi(date.substr(8, 2));
  if (month < 1 || month > 12 || day < 1 || day > 31) return wrong;
  // Years begin in March, so that the leap day is the last; 400 years have 146 097 days.
  const std::int64_t y = year - (month <= 2 ? 1 : 0);
  const std::int64_t era = (y >= 0 ? y : y - 399) / 400;
  const std::int64_t of_era = y - era * 400;
  const std::int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146'097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719'468;
}

ReorderAdvice reorder_advice(const std::vector<DailyUse>& uses, std::int64_t today, int lead_days,
                             Amount available, const Slot& slot, const Units& units) {
  constexpr std::int64_t most_days = 180, least_days = 30;
  constexpr double enough = 1.65;  // common practice, no source
  ReorderAdvice out;
  std::int64_t first = today + 1;
  for (const DailyUse& use : uses)
    if (use.day <= today && use.day > today - most_days) first = std::min(first, use.day);
  const auto text = [&](double amount) {
    return amount_text(slot.kind, static_cast<Amount>(std::llround(amount)), units);
  };
  const std::string name = slot_text(slot, units);
  if (first > today) {
    out.sentence = name + ": not used in the last 180 days, so there is no rate to order by; " +
                   text(double(available)) + " free.";
    return out;
  }
  first = std::min(first, today - least_days + 1);
  out.days = today - first + 1;
  std::vector<double> by_day(static_cast<std::size_t>(out.days), 0.0);
  for (const DailyUse& use : uses)
    if (use.day >= first && use.day <= today)
      by_day[static_cast<std::size_t>(use.day - first)] += double(use.amount);
  for (const double day : by_day) out.per_day += day / double(out.days);
  double squares = 0;
  for (const double day : by_day) squares += (day - out.per_day) * (day - out.per_day);
  out.spread_per_day = std::sqrt(squares / double(out.days - 1));
  const double point =
      out.per_day * lead_days + enough * out.spread_per_day * std::sqrt(double(lead_days));
  // Whole pieces, millimetres of cloth, hardware as it is counted.
  const double grain = slot.kind == ItemKind::cloth      ? 1e6
                       : slot.kind == ItemKind::hardware ? 1e3
                                                         : 1;
  out.point = static_cast<Amount>(std::ceil(point / grain) * grain);
  out.now = available <= out.point;
  out.sentence = name + ": " + text(out.per_day * double(out.days)) + " used in " +
                 std::to_string(out.days) + " days, " + std::to_string(lead_days) +
                 " days to deliver: order when no more than " + text(double(out.point)) +
                 " is free; " + text(double(available)) + " is free" +
                 (out.now ? ": order now." : ".");
  return out;
}

}  // namespace roomwright::shop
