// The independent check of a plan against its order; it shares nothing with the search.
#include <algorithm>

#include "shop/cutting/cutting.h"

namespace roomwright::shop {

namespace {

/// One stick against its stock: every part sound, a kerf between neighbours, within the trim.
void check_stick(const CuttingOrder& order, const CutStick& stick, std::size_t index,
                 Diagnostics& found) {
  const std::string where = "sticks[" + std::to_string(index) + "]";
  if (stick.stock < 0 || stick.stock >= static_cast<int>(order.stock.size()) || stick.repeat < 1) {
    found.add(where, "names no stock", double(stick.stock), {});
    return;
  }
  const CuttingStock& stock = order.stock[static_cast<std::size_t>(stick.stock)];
  std::int64_t last = -order.kerf;
  for (const Cut& cut : stick.cuts) {
    if (cut.part < 0 || cut.part >= static_cast<int>(order.parts.size())) {
      found.add(where, "names no part", double(cut.part), {});
      return;
    }
    if (cut.to - cut.from != order.parts[static_cast<std::size_t>(cut.part)].length)
      found.add(where, "has a cut of another length than its part", double(cut.to - cut.from), {});
    if (cut.from < order.trim || cut.to > stock.length - order.trim)
      found.add(where, "cuts into the end trim", double(cut.from), {});
    if (cut.from < last + order.kerf && last >= 0)
      found.add(where, "has no kerf before a part", double(cut.from), {});
    for (const auto& [from, to] : stock.defects)
      if (cut.from < to && cut.to > from) found.add(where, "holds a defect", double(from), {});
    last = cut.to;
  }
}

/// What is left of a stick, and what that is worth.
void check_offcut(const CuttingOrder& order, const CutStick& stick, std::size_t index,
                  Diagnostics& found) {
  const CuttingStock& stock = order.stock[static_cast<std::size_t>(stick.stock)];
  const std::int64_t end = stock.length - order.trim;
  const std::int64_t last = stick.cuts.empty() ? order.trim : stick.cuts.back().to + order.kerf;
  const std::int64_t left = std::max<std::int64_t>(0, end - last);
  std::int64_t worth = 0;
  if (stock.defects.empty() && left >= order.keep.least && order.keep.worth > 0)
    worth = std::min(order.keep.worth, stock.cost / (end - order.trim)) * left;
  const std::string where = "sticks[" + std::to_string(index) + "].offcut";
  if (stock.defects.empty() && left != stick.offcut)
    found.add(where, "is not what is left", double(stick.offcut), {});
  if (worth != stick.offcut_worth)
    found.add(where, "is worth something else", double(stick.offcut_worth), {});
}

/// The way of the stop along the sticks, and the loads of the saw.
void check_setup(const CuttingOrder& order, const CuttingPlan& plan, Diagnostics& found) {
  std::int64_t settings = 0, patterns = 0, loads = 0, sticks = 0, stop = -1;
  for (std::size_t s = 0; s < plan.sticks.size(); ++s) {
    const CutStick& stick = plan.sticks[s];
    const bool goes_on = s > 0 && plan.sticks[s - 1].pattern == stick.pattern;
    if (goes_on &&
        (stick.cuts.size() != plan.sticks[s - 1].cuts.size() ||
         !std::equal(stick.cuts.begin(), stick.cuts.end(), plan.sticks[s - 1].cuts.begin(),
                     [](const Cut& a, const Cut& b) { return a.from == b.from && a.to == b.to; })))
      found.add("sticks[" + std::to_string(s) + "]", "differs from its pattern", {}, {});
    if (!goes_on) {
      loads += (sticks + order.bundle - 1) / order.bundle;
      sticks = 0;
      ++patterns;
      for (const Cut& cut : stick.cuts) {
        if (cut.to - cut.from != stop) ++settings;
        stop = cut.to - cut.from;
      }
    }
    sticks += stick.repeat;
  }
  loads += (sticks + order.bundle - 1) / order.bundle;
  if (settings != plan.settings || plan.settings < plan.settings_bound)
    found.add("settings", "are counted wrong", double(plan.settings), {});
  if (patterns != plan.patterns || plan.patterns < plan.patterns_bound)
    found.add("patterns", "are counted wrong", double(plan.patterns), {});
  if (loads != plan.loads) found.add("loads", "are counted wrong", double(plan.loads), {});
}

}  // namespace

Result<Done> check_cutting(const CuttingOrder& order, const CuttingPlan& plan) {
  Diagnostics found;
  std::vector<std::int64_t> cut(order.parts.size(), 0), used(order.stock.size(), 0);
  std::int64_t cost = 0;
  for (std::size_t s = 0; s < plan.sticks.size(); ++s) {
    const CutStick& stick = plan.sticks[s];
    check_stick(order, stick, s, found);
    if (found.empty()) check_offcut(order, stick, s, found);
    if (!found.empty()) return found;
    for (const Cut& one : stick.cuts) cut[static_cast<std::size_t>(one.part)] += stick.repeat;
    used[static_cast<std::size_t>(stick.stock)] += stick.repeat;
    cost += (order.stock[static_cast<std::size_t>(stick.stock)].cost - stick.offcut_worth) *
            stick.repeat;
  }
  for (std::size_t i = 0; i < cut.size(); ++i)
    if (cut[i] != order.parts[i].count)
      found.add("parts." + order.parts[i].name, "is not cut as often as asked", double(cut[i]), {});
  for (std::size_t i = 0; i < used.size(); ++i)
    if (order.stock[i].count && used[i] > *order.stock[i].count)
      found.add("stock." + order.stock[i].name, "is used more often than there is", double(used[i]),
                {});
  if (cost != plan.cost || plan.bound > plan.cost)
    found.add("cost", "does not add up", double(cost), {});
  check_setup(order, plan, found);
  if (!found.empty()) return found;
  return Done{};
}

}  // namespace roomwright::shop
