// The programs over patterns, solved by Clp and CBC; see master.h. Doubles end here: what leaves is
// checked again in whole numbers.
#include "shop/cutting/master.h"

#include <CbcHeuristic.hpp>
#include <CbcModel.hpp>
#include <CglGomory.hpp>
#include <CglKnapsackCover.hpp>
#include <CglMixedIntegerRounding2.hpp>
#include <OsiClpSolverInterface.hpp>
#include <cmath>
#include <numeric>

namespace roomwright::shop {

namespace {
constexpr double shortage_cost =
    1e7;  // of one part that no stick gives, relative to the dearest stick
}

struct Master::Solver {
  OsiClpSolverInterface clp;
  std::vector<int> stock_row;  ///< by bin; -1 where unlimited
  int shortages = 0;           ///< the first columns: one for each item
  double scale = 1;            ///< costs are divided by it
};

Master::Master(const Problem& problem) : problem_(problem), solver_(std::make_unique<Solver>()) {
  OsiClpSolverInterface& clp = solver_->clp;
  clp.messageHandler()->setLogLevel(0);
  clp.getModelPtr()->setLogLevel(0);
  for (const auto& bin : problem.bins)
    solver_->scale = std::max(solver_->scale, static_cast<double>(bin.cost));
  for (const auto& item : problem.items)
    clp.addRow(0, nullptr, nullptr, static_cast<double>(item.demand), COIN_DBL_MAX);
  int row = static_cast<int>(problem.items.size());
  for (const auto& bin : problem.bins) {
    solver_->stock_row.push_back(bin.count < 0 ? -1 : row);
    if (bin.count < 0) continue;
    clp.addRow(0, nullptr, nullptr, -COIN_DBL_MAX, static_cast<double>(bin.count));
    ++row;
  }
  for (int i = 0; i < static_cast<int>(problem.items.size()); ++i) {
    const double one = 1;
    clp.addCol(1, &i, &one, 0, COIN_DBL_MAX, shortage_cost);
  }
  solver_->shortages = static_cast<int>(problem.items.size());
}

Master::~Master() = default;

void Master::add(const Pattern& pattern) {
  std::vector<int> rows;
  std::vector<double> values;
  for (std::size_t i = 0; i < pattern.counts.size(); ++i)
    if (pattern.counts[i] > 0) {
      rows.push_back(static_cast<int>(i));
      values.push_back(static_cast<double>(pattern.counts[i]));
    }
  const auto bin = static_cast<std::size_t>(pattern.bin);
  if (solver_->stock_row[bin] >= 0) {
    rows.push_back(solver_->stock_row[bin]);
    values.push_back(1);
  }
  solver_->clp.addCol(static_cast<int>(rows.size()), rows.data(), values.data(), 0, COIN_DBL_MAX,
                      static_cast<double>(problem_.bins[bin].cost) / solver_->scale);
  patterns_.push_back(pattern);
}

Master::Relaxed Master::relax() {
  OsiClpSolverInterface& clp = solver_->clp;
  clp.resolve();
  Relaxed out;
  if (!clp.isProvenOptimal()) return out;
  const double* columns = clp.getColSolution();
  out.feasible = true;
  for (int i = 0; i < solver_->shortages; ++i) out.feasible = out.feasible && columns[i] < 1e-6;
  out.uses.assign(columns + solver_->shortages, columns + clp.getNumCols());
  const double* prices = clp.getRowPrice();
  for (std::size_t i = 0; i < problem_.items.size(); ++i)
    out.prices.push_back(std::max(0.0, prices[i]) * solver_->scale);
  for (const int row : solver_->stock_row)
    out.rents.push_back(row < 0 ? 0 : std::max(0.0, -prices[row]) * solver_->scale);
  return out;
}

namespace {

/// The greatest number of which every cost is a multiple.
std::int64_t common_step(const Problem& problem) {
  std::int64_t step = 0;
  for (const auto& bin : problem.bins) step = std::gcd(step, bin.cost);
  return std::max<std::int64_t>(1, step);
}

/// One whole variable for the number of sticks of each bin carries its cost: branching on these few
/// numbers first closes the gap that comes of mixing stick lengths.
void count_sticks(OsiClpSolverInterface& whole, const Problem& problem,
                  const std::vector<Pattern>& patterns, int shortages, std::int64_t step) {
  const int columns = whole.getNumCols();
  for (int i = shortages; i < columns; ++i) whole.setObjCoeff(i, 0);
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    std::vector<int> index;
    std::vector<double> value;
    for (std::size_t p = 0; p < patterns.size(); ++p)
      if (patterns[p].bin == static_cast<int>(b)) {
        index.push_back(shortages + static_cast<int>(p));
        value.push_back(-1);
      }
    const int row = whole.getNumRows();
    whole.addRow(static_cast<int>(index.size()), index.data(), value.data(), 0, 0);
    const double one = 1;
    whole.addCol(1, &row, &one, 0, COIN_DBL_MAX, static_cast<double>(problem.bins[b].cost / step));
    whole.setInteger(whole.getNumCols() - 1);
  }
}

}  // namespace

Master::Whole Master::solve_whole(std::int64_t at_most, std::int64_t max_nodes, double seconds) {
  OsiClpSolverInterface whole(solver_->clp);
  whole.messageHandler()->setLogLevel(0);
  whole.getModelPtr()->setLogLevel(0);
  const int columns = whole.getNumCols();
  for (int i = 0; i < solver_->shortages; ++i) whole.setColUpper(i, 0);
  for (int i = solver_->shortages; i < columns; ++i) whole.setInteger(i);
  const std::int64_t step = common_step(problem_);
  count_sticks(whole, problem_, patterns_, solver_->shortages, step);
  CbcModel model(whole);
  model.setLogLevel(0);
  model.messageHandler()->setLogLevel(0);
  model.solver()->messageHandler()->setLogLevel(0);
  CglGomory gomory;
  CglMixedIntegerRounding2 rounding;
  model.addCutGenerator(&gomory, -1, "gomory");
  model.addCutGenerator(&rounding, -1, "rounding");
  CbcRounding nearest(model);
  model.addHeuristic(&nearest);
  std::vector<int> priorities(static_cast<std::size_t>(columns - solver_->shortages), 1000);
  priorities.insert(priorities.end(), problem_.bins.size(), 1);
  model.passInPriorities(priorities.data(), false);
  model.setCutoff(static_cast<double>(at_most / step) + 0.5);
  model.setDblParam(CbcModel::CbcCutoffIncrement, 0.999);
  model.setMaximumNodes(static_cast<int>(std::min<std::int64_t>(max_nodes, 1'000'000'000)));
  if (seconds > 0) model.setMaximumSeconds(seconds);
  model.initialSolve();
  model.branchAndBound();
  Whole out;
  out.complete = model.isProvenOptimal() || model.isProvenInfeasible();
  const double* best = model.bestSolution();
  if (!best) return out;
  out.found = true;
  for (int i = solver_->shortages; i < columns; ++i) out.uses.push_back(std::llround(best[i]));
  return out;
}

}  // namespace roomwright::shop
