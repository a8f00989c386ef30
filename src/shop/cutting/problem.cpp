// From an order to the problem that is solved, and the arithmetic of plans; see problem.h.
#include "shop/cutting/problem.h"

#include <algorithm>
#include <functional>
#include <map>
#include <numeric>
#include <tuple>

namespace roomwright::shop {

namespace {

using Stretches = std::vector<std::pair<std::int64_t, std::int64_t>>;

/// Sound stretches between the trimmed ends and the defects, at least a kerf apart.
Stretches stretches_of(const CuttingStock& stock, const CuttingOrder& order) {
  Stretches out;
  std::int64_t from = order.trim;
  const std::int64_t end = stock.length - order.trim;
  for (const auto& [begin, stop] : stock.defects) {
    const bool sound = std::min(begin, end) > from;
    if (sound) out.emplace_back(from, std::min(begin, end));
    from = std::max(from, sound ? std::max(stop, begin + order.kerf) : stop);
  }
  if (end > from) out.emplace_back(from, end);
  return out;
}

void gather_items(const CuttingOrder& order, Problem& problem) {
  std::map<std::int64_t, Problem::Item, std::greater<>> items;
  for (std::size_t i = 0; i < order.parts.size(); ++i) {
    const CuttingPart& part = order.parts[i];
    if (part.count == 0) continue;
    Problem::Item& item = items[part.length];
    item.length = part.length;
    item.size = part.length + order.kerf;
    item.demand += part.count;
    item.owners.emplace_back(static_cast<int>(i), part.count);
  }
  for (auto& [length, item] : items) problem.items.push_back(std::move(item));
}

/// The sticks of one bin whose offcut is kept: they hold less, and what they cost falls with what
/// is left of them. An offcut is worth at most what its length cost.
void add_kept_bin(const CuttingOrder& order, Problem& problem, std::size_t at) {
  Problem::Bin kept = problem.bins[at];
  const std::int64_t usable = kept.stretches[0].second - kept.stretches[0].first;
  kept.rate = std::min(order.keep.worth, kept.cost / usable);
  kept.capacity = usable - order.keep.least;
  kept.cost -= kept.rate * usable;
  if (kept.rate <= 0 || kept.capacity < problem.items.back().size) return;
  problem.bins[at].kept = static_cast<int>(problem.bins.size());
  problem.bins.push_back(std::move(kept));
}

void gather_bins(const CuttingOrder& order, Problem& problem) {
  std::map<std::pair<Stretches, std::int64_t>, std::size_t> seen;
  for (std::size_t s = 0; s < order.stock.size(); ++s) {
    const CuttingStock& stock = order.stock[s];
    const std::int64_t count = stock.count.value_or(-1);
    Stretches stretches = stretches_of(stock, order);
    if (stretches.empty() || count == 0) continue;
    const auto [at, fresh] = seen.try_emplace({stretches, stock.cost}, problem.bins.size());
    if (fresh) problem.bins.emplace_back();
    Problem::Bin& bin = problem.bins[at->second];
    bin.members.emplace_back(static_cast<int>(s), count);
    if (!fresh) continue;
    for (const auto& [from, to] : stretches) bin.capacity += to - from + order.kerf;
    bin.cost = stock.cost;
    bin.stretches = std::move(stretches);
  }
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    Problem::Bin& bin = problem.bins[b];
    bin.root = static_cast<int>(b);
    std::int64_t all = 0;
    for (const auto& [stock, count] : bin.members) all = count < 0 || all < 0 ? -1 : all + count;
    if (all < 0) continue;
    bin.limit = static_cast<int>(problem.limits.size());
    problem.limits.push_back(std::min(all, most_cutting_parts));
  }
}

void check_stock(const CuttingStock& stock, const std::string& at, Diagnostics& found) {
  if (stock.length <= 0 || stock.length > greatest_cutting_length)
    found.add(at + ".length", "must be above 0", double(stock.length), {});
  if (stock.cost < 0 || stock.cost > greatest_cutting_cost)
    found.add(at + ".cost", "must be at least 0", double(stock.cost), {});
  if (stock.count && (*stock.count < 0 || *stock.count > most_cutting_parts))
    found.add(at + ".count", "must be from 0 to 1000000", double(*stock.count), {});
  std::int64_t last = 0;
  for (const auto& [from, to] : stock.defects) {
    if (from < last || to <= from || to > stock.length)
      found.add(at + ".defects", "must rise, lie apart and lie on the stick", double(from),
                "give [from, to] from the raw end");
    last = to;
  }
}

void check_parts(const CuttingOrder& order, Diagnostics& found) {
  if (order.parts.size() > most_part_lengths * 5)
    found.add("parts", "must have at most 10000 entries", double(order.parts.size()),
              "gather equal parts");
  std::int64_t all = 0;
  for (std::size_t i = 0; i < order.parts.size() && i < most_part_lengths * 5; ++i) {
    const CuttingPart& part = order.parts[i];
    const std::string at = "parts[" + std::to_string(i) + "]";
    if (part.length <= 0 || part.length > greatest_cutting_length)
      found.add(at + ".length", "must be above 0", double(part.length), {});
    if (part.count < 0 || part.count > most_cutting_parts)
      found.add(at + ".count", "must be from 0 to 1000000", double(part.count), {});
    all += std::clamp<std::int64_t>(part.count, 0, most_cutting_parts);
  }
  if (all > most_cutting_parts)
    found.add("parts", "must be at most 1000000 in all", double(all), "cut them in two batches");
}

}  // namespace

void check_cutting_order(const CuttingOrder& order, Diagnostics& found) {
  if (order.kerf < 0 || order.kerf > greatest_cutting_length)
    found.add("kerf", "must be at least 0", double(order.kerf), {});
  if (order.trim < 0 || order.trim > greatest_cutting_length)
    found.add("trim", "must be at least 0", double(order.trim), {});
  if (order.bundle < 1 || order.bundle > 1000)
    found.add("bundle", "must be from 1 to 1000", double(order.bundle),
              "how many sticks the saw takes at once");
  if (order.keep.least < 0 || order.keep.least > greatest_cutting_length)
    found.add("keep.least", "must be at least 0", double(order.keep.least), {});
  if (order.keep.worth < 0 || order.keep.worth > greatest_cutting_cost)
    found.add("keep.value_per_length", "must be at least 0", double(order.keep.worth), {});
  if (order.stock.empty() || order.stock.size() > most_stock_entries)
    found.add("stock", "must have from 1 to 500 entries", double(order.stock.size()),
              "list what there is");
  check_parts(order, found);
  for (std::size_t i = 0; i < order.stock.size() && i < most_stock_entries; ++i)
    check_stock(order.stock[i], "stock[" + std::to_string(i) + "]", found);
}

Problem problem_of(const CuttingOrder& order) {
  Problem problem;
  problem.kerf = order.kerf;
  gather_items(order, problem);
  gather_bins(order, problem);
  const std::size_t bins = problem.bins.size();
  for (std::size_t b = 0; b < bins && !problem.items.empty(); ++b)
    if (order.keep.worth > 0 && problem.bins[b].whole()) add_kept_bin(order, problem, b);
  return problem;
}

void check_lengths(const CuttingOrder& order, const Problem& problem, Diagnostics& found) {
  std::int64_t longest = -1;
  for (const auto& bin : problem.bins)
    for (const auto& [from, to] : bin.stretches) longest = std::max(longest, to - from);
  for (const auto& item : problem.items)
    if (item.length > longest)
      for (const auto& [part, count] : item.owners)
        found.add("parts." + order.parts[static_cast<std::size_t>(part)].name,
                  "is longer than every stick", double(item.length),
                  longest < 0 ? "there is no usable stock"
                              : "the longest usable stretch is " + std::to_string(longest));
  if (problem.items.size() > most_part_lengths)
    found.add("parts", "must have at most 2000 different lengths", double(problem.items.size()),
              "cut them in two batches");
}

bool Problem::keeps() const {
  return std::any_of(bins.begin(), bins.end(), [](const Bin& b) { return b.rate > 0; });
}

std::int64_t Problem::cost_step() const {
  std::int64_t sizes = 0, step = 0;
  for (const Item& item : items) sizes = std::gcd(sizes, item.size);
  for (const Bin& one : bins) {
    step = std::gcd(step, one.cost);
    if (one.rate > 0) step = std::gcd(step, one.rate * sizes);
  }
  return std::max<std::int64_t>(1, step);
}

std::int64_t filled(const Problem& problem, const Counts& counts) {
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < counts.size(); ++i) sum += counts[i] * problem.items[i].size;
  return sum;
}

std::int64_t cost_of(const Problem& problem, const Pattern& pattern) {
  const Problem::Bin& bin = problem.bin(pattern.bin);
  return bin.cost + (bin.rate > 0 ? bin.rate * filled(problem, pattern.counts) : 0);
}

void Solution::add(const Problem& problem, Pattern pattern, std::int64_t times) {
  const int kept = problem.bin(pattern.bin).kept;
  if (kept >= 0 && filled(problem, pattern.counts) <= problem.bin(kept).capacity)
    pattern.bin = kept;
  cost += cost_of(problem, pattern) * times;
  patterns.push_back(std::move(pattern));
  uses.push_back(times);
}

void Solution::append(const Solution& other) {
  patterns.insert(patterns.end(), other.patterns.begin(), other.patterns.end());
  uses.insert(uses.end(), other.uses.begin(), other.uses.end());
  cost += other.cost;
}

Left::Left(const Problem& problem) : stock(problem.limits) {
  for (const auto& item : problem.items) demand.push_back(item.demand);
}

bool Left::done() const {
  return std::all_of(demand.begin(), demand.end(), [](std::int64_t d) { return d == 0; });
}

std::int64_t Left::sticks(const Problem& problem, int bin) const {
  const int limit = problem.bin(bin).limit;
  return limit < 0 ? most_cutting_parts : stock[static_cast<std::size_t>(limit)];
}

std::int64_t Left::times(const Problem& problem, const Pattern& pattern) const {
  std::int64_t most = sticks(problem, pattern.bin);
  for (std::size_t i = 0; i < demand.size(); ++i)
    if (pattern.counts[i] > 0) most = std::min(most, demand[i] / pattern.counts[i]);
  return most;
}

void Left::take(const Problem& problem, const Pattern& pattern, std::int64_t count) {
  const int limit = problem.bin(pattern.bin).limit;
  if (limit >= 0) stock[static_cast<std::size_t>(limit)] -= count;
  for (std::size_t i = 0; i < demand.size(); ++i) demand[i] -= pattern.counts[i] * count;
}

}  // namespace roomwright::shop
