// The linear program over patterns; see patterns.h. Each round's prices give a bound by themselves:
// no sheet may hold more than it costs, and what a counted sheet holds above its cost is its rent.
#include "shop/layout/patterns.h"

#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "shop/layout/table.h"

namespace roomwright::shop {

namespace {

constexpr std::size_t most_pattern_marks = 2000;
constexpr int most_pattern_rounds = 400;

/// Of one sheet; a pack's part.
double sheet_cost(const Material& material) {
  return double(material.cost) / double(material.per_pack);
}

/// What prices prove, where the most that a sheet of each kind can hold is known.
double proven_by(const LayoutProblem& problem, double wanted, const std::vector<double>& held) {
  double share = 1e300;  // of the prices, so that no sheet without a count pays for itself
  std::vector<double> tried;
  for (std::size_t m = 0; m < held.size(); ++m) {
    if (held[m] <= 0) continue;
    const double rate = sheet_cost(problem.materials[m]) / held[m];
    tried.push_back(rate);
    if (problem.materials[m].count < 0) share = std::min(share, rate);
  }
  double best = 0;
  for (const double rate : tried) {
    const double taken = std::min(rate, share);
    double sum = taken * wanted;
    for (std::size_t m = 0; m < held.size(); ++m)
      if (problem.materials[m].count >= 0)
        sum -= double(problem.materials[m].count) *
               std::max(0.0, taken * held[m] - sheet_cost(problem.materials[m]));
    best = std::max(best, sum);
  }
  return best;
}

class PatternProgram {
 public:
  explicit PatternProgram(const LayoutProblem& problem) : problem_(problem) {
    clp_.messageHandler()->setLogLevel(0);
    clp_.getModelPtr()->setLogLevel(0);
    for (const Item& item : problem.items)
      clp_.addRow(0, nullptr, nullptr, double(item.count), COIN_DBL_MAX);
    double dearest = 1;
    for (const Material& material : problem.materials) {
      clp_.addRow(0, nullptr, nullptr, -COIN_DBL_MAX,
                  material.count < 0 ? COIN_DBL_MAX : double(material.count));
      dearest = std::max(dearest, sheet_cost(material));
    }
    for (int i = 0; i < static_cast<int>(problem.items.size()); ++i) {
      const double one = 1;
      clp_.addCol(1, &i, &one, 0, COIN_DBL_MAX, 4 * dearest);
    }
  }
  void add(std::size_t material, const Tree& tree) {
    std::vector<double> counts(problem_.items.size(), 0);
    for (const Cell& cell : tree.cells)
      if (cell.item >= 0) ++counts[static_cast<std::size_t>(cell.item)];
    std::vector<int> rows;
    std::vector<double> values;
    for (std::size_t i = 0; i < counts.size(); ++i)
      if (counts[i] > 0) rows.push_back(static_cast<int>(i)), values.push_back(counts[i]);
    rows.push_back(static_cast<int>(problem_.items.size() + material));
    values.push_back(1);
    clp_.addCol(static_cast<int>(rows.size()), rows.data(), values.data(), 0, COIN_DBL_MAX,
                sheet_cost(problem_.materials[material]));
  }
  bool solve() {
    clp_.resolve();
    return clp_.isProvenOptimal();
  }
  double price(std::size_t item) const { return std::max(0.0, clp_.getRowPrice()[item]); }
  double rent(std::size_t material) const {
    return std::max(0.0, -clp_.getRowPrice()[problem_.items.size() + material]);
  }

 private:
  const LayoutProblem& problem_;
  OsiClpSolverInterface clp_;
};

double area_bound(const LayoutProblem& problem) {
  std::vector<double> held;
  for (const Material& material : problem.materials)
    held.push_back(double(material.width) * double(material.height));
  return proven_by(problem, problem.area(), held);
}

double program_bound(const LayoutProblem& problem, double enough, std::int64_t most_work,
                     const Budget& budget) {
  std::vector<Table> tables;
  std::int64_t work = 0;
  for (const Material& material : problem.materials) {
    tables.emplace_back(problem, material.width, material.height, most_pattern_marks);
    work += tables.back().work();
    if (!tables.back().exact() || work > most_work / 8) return 0;
  }
  PatternProgram program(problem);
  double best = 0;
  std::int64_t spent = 0;
  for (int round = 0; round < most_pattern_rounds && spent < most_work; ++round) {
    if (!program.solve() || (budget.watch && budget.watch->cancelled())) break;
    std::vector<double> prices, held;
    double wanted = 0;
    for (std::size_t i = 0; i < problem.items.size(); ++i) {
      prices.push_back(program.price(i));
      wanted += prices.back() * double(problem.items[i].count);
    }
    bool better = false;
    for (std::size_t m = 0; m < tables.size(); ++m) {
      held.push_back(tables[m].run(prices));
      const double pays = sheet_cost(problem.materials[m]) + program.rent(m);
      if (held.back() <= pays * (1 + 1e-9) + 1e-12) continue;
      program.add(m, tables[m].best());
      better = true;
    }
    spent += work;
    best = std::max(best, proven_by(problem, wanted, held));
    if (!better || best >= enough) break;
  }
  return best;
}

}  // namespace

std::int64_t pattern_bound(const LayoutProblem& problem, std::int64_t enough,
                           std::int64_t most_work, const Budget& budget) {
  if (problem.items.empty()) return 0;
  std::int64_t grain = 0;
  for (const Material& material : problem.materials) grain = std::gcd(grain, material.cost);
  if (grain == 0) return 0;
  const double bound =
      std::max(area_bound(problem), program_bound(problem, double(enough), most_work, budget));
  const auto steps =
      static_cast<std::int64_t>(std::ceil(bound / double(grain) * (1 - 1e-9) - 1e-9));
  return std::min(enough, std::max<std::int64_t>(0, steps) * grain);
}

}  // namespace roomwright::shop
