// Most value on sheets: a bound by the dynamic program with multipliers on the counts, layouts met
// on the way, and the search from the best of them. See table.h.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "shop/layout/table.h"

namespace roomwright::shop {

namespace {

constexpr std::size_t most_marks = 2600;
constexpr std::int64_t coarse_steps = 220;

/// Parts by value for their area until the sheets' area is full.
double density_bound(const LayoutProblem& problem) {
  long double area = 0, sum = 0;
  for (const Material& material : problem.materials)
    area += static_cast<long double>(material.count) * static_cast<long double>(material.width) *
            static_cast<long double>(material.height);
  std::vector<std::size_t> order(problem.items.size());
  std::iota(order.begin(), order.end(), 0);
  const auto full = [&](std::size_t i) {
    return static_cast<long double>(problem.items[i].width) *
           static_cast<long double>(problem.items[i].height);
  };
  const auto rate = [&](std::size_t i) {
    return static_cast<long double>(problem.items[i].value) / full(i);
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return rate(a) > rate(b); });
  for (const std::size_t i : order) {
    if (area <= 0) break;
    const long double take =
        std::min(static_cast<long double>(problem.items[i].count), area / full(i));
    sum += take * static_cast<long double>(problem.items[i].value);
    area -= take * full(i);
  }
  return double(sum);
}

/// The same in steps, to the safe side for a layout: parts grow, sheets shrink.
LayoutProblem in_steps(const LayoutProblem& problem, std::int64_t step) {
  LayoutProblem out = problem;
  for (Item& item : out.items) {
    item.width = (item.width + step - 1) / step;
    item.height = (item.height + step - 1) / step;
  }
  for (Material& material : out.materials) material.width /= step, material.height /= step;
  return out;
}

std::vector<std::int64_t> counts_in(const LayoutProblem& problem, const Tree& tree) {
  std::vector<std::int64_t> counts(problem.items.size());
  for (const Cell& cell : tree.cells)
    if (cell.item >= 0) ++counts[static_cast<std::size_t>(cell.item)];
  return counts;
}

class Multipliers {
 public:
  Multipliers(const LayoutProblem& problem, double at_least, Budget& budget)
      : problem_(problem),
        budget_(budget),
        patcher_(problem, budget, 7),
        prices_(problem.items.size()) {
    found_.bound = density_bound(problem);
    reached_ = at_least;
  }

  ValueBound search(std::int64_t most_work) {
    if (problem_.items.empty()) return {};
    std::vector<Table> tables;
    std::int64_t work = 0;
    for (const Material& material : problem_.materials) {
      tables.emplace_back(problem_, material.width, material.height, most_marks);
      work += tables.back().work();
    }
    const bool exact =
        std::all_of(tables.begin(), tables.end(), [](const Table& t) { return t.exact(); });
    if (work > most_work || !exact) {
      tables.clear();
      for (const Material& material : problem_.materials)
        tables.emplace_back(problem_, material.width, material.height, 0);
      bound_only(tables);
      coarse_layout();
      return found_;
    }
    const std::int64_t rounds = std::clamp<std::int64_t>(most_work / work, 1, 250);
    double pace = 1;
    int idle = 0;
    for (std::int64_t round = 0; round < rounds && !closed() && !budget_.spent(); ++round) {
      const double before = found_.bound;
      const double bound = evaluate(tables, pace);
      if (bound < before - 1e-9 * before)
        idle = 0;
      else if (++idle >= 8)
        pace *= 0.6, idle = 0;
    }
    return found_;
  }

 private:
  bool closed() const { return std::floor(found_.bound * (1 + 1e-12) + 1e-6) <= reached_; }

  std::vector<double> reduced() const {
    std::vector<double> values;
    for (std::size_t i = 0; i < prices_.size(); ++i)
      values.push_back(std::max(0.0, double(problem_.items[i].value) - prices_[i]));
    return values;
  }

  /// One bound; then the multipliers move against the copies that were used too often.
  double evaluate(std::vector<Table>& tables, double pace) {
    const std::vector<double> values = reduced();
    double bound = 0;
    std::vector<double> excess(prices_.size());
    for (std::size_t i = 0; i < prices_.size(); ++i) {
      bound += prices_[i] * double(problem_.items[i].count);
      excess[i] = -double(problem_.items[i].count);
    }
    Sheets2d sheets;
    for (std::size_t m = 0; m < tables.size(); ++m) {
      const double many = double(problem_.materials[m].count);
      bound += many * tables[m].run(values);
      const Tree tree = tables[m].best();
      const auto counts = counts_in(problem_, tree);
      for (std::size_t i = 0; i < counts.size(); ++i) excess[i] += many * double(counts[i]);
      for (std::int64_t n = 0; n < problem_.materials[m].count && sheets.size() < 200; ++n)
        sheets.push_back({static_cast<int>(m), tree});
    }
    found_.bound = std::min(found_.bound, bound);
    meet(sheets);
    double square = 0;
    for (std::size_t i = 0; i < excess.size(); ++i) {
      if (excess[i] < 0 && prices_[i] <= 0) excess[i] = 0;
      square += excess[i] * excess[i];
    }
    if (square <= 0) return bound;
    const double stride = pace * std::max(bound - reached_, 1e-3 * bound) / square;
    for (std::size_t i = 0; i < excess.size(); ++i)
      prices_[i] =
          std::clamp(prices_[i] + stride * excess[i], 0.0, double(problem_.items[i].value));
    return bound;
  }

  void meet(const Sheets2d& sheets) {
    State state = patcher_.state_of(sheets);
    const double reached = patcher_.refill(state);
    if (found_.layout && reached <= reached_) return;
    reached_ = std::max(reached_, reached);
    found_.layout = Rebuild::sheets_of(state);
  }

  void bound_only(std::vector<Table>& tables) {
    double bound = 0;
    for (std::size_t m = 0; m < tables.size(); ++m)
      bound += double(problem_.materials[m].count) * tables[m].run(reduced());
    found_.bound = std::min(found_.bound, bound);
  }

  void coarse_layout() {
    std::int64_t longest = 1;
    for (const Material& material : problem_.materials)
      longest = std::max({longest, material.width, material.height});
    const std::int64_t step = std::max<std::int64_t>(1, longest / coarse_steps);
    const LayoutProblem coarse = in_steps(problem_, step);
    Sheets2d sheets;
    std::vector<double> values = reduced();
    for (std::size_t m = 0; m < coarse.materials.size(); ++m) {
      if (coarse.materials[m].width == 0 || coarse.materials[m].height == 0) continue;
      Table table(coarse, coarse.materials[m].width, coarse.materials[m].height, most_marks);
      table.run(values);
      Tree tree = table.best();
      for (Cell& cell : tree.cells) cell.width *= step, cell.height *= step;
      for (std::int64_t n = 0; n < coarse.materials[m].count && sheets.size() < 200; ++n)
        sheets.push_back({static_cast<int>(m), tree});
    }
    meet(sheets);
  }

  const LayoutProblem& problem_;
  Budget& budget_;
  Rebuild patcher_;
  std::vector<double> prices_;
  ValueBound found_;
  double reached_ = 0;
};

}  // namespace

ValueBound value_bound(const LayoutProblem& problem, double at_least, std::int64_t most_work,
                       Budget& budget) {
  return Multipliers(problem, at_least, budget).search(most_work);
}

}  // namespace roomwright::shop
