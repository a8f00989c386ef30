// The programs over patterns, solved by Clp and CBC; see master.h. Doubles end here: what leaves is
// checked again in whole numbers.
#include "shop/cutting/master.h"

#include <CbcHeuristic.hpp>
#include <CbcModel.hpp>
#include <CglGomory.hpp>
#include <CglKnapsackCover.hpp>
#include <CglMixedIntegerRounding2.hpp>
#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cmath>

namespace roomwright::shop {

struct Master::Solver {
  ClpSimplex clp;
  int shortages = 0;  ///< the first columns: one for each item
  double scale = 1;   ///< costs are divided by it
  std::vector<std::vector<std::pair<int, std::int64_t>>> sparse;  ///< by pattern: item and count
};

Master::Master(const Problem& problem, double shortage)
    : problem_(problem), solver_(std::make_unique<Solver>()) {
  ClpSimplex& clp = solver_->clp;
  clp.setLogLevel(0);
  for (const auto& bin : problem.bins)
    solver_->scale = std::max(solver_->scale, static_cast<double>(bin.cost));
  const auto items = static_cast<int>(problem.items.size());
  clp.resize(items + static_cast<int>(problem.limits.size()), 0);
  for (int i = 0; i < items; ++i)
    clp.setRowBounds(i, static_cast<double>(problem.items[static_cast<std::size_t>(i)].demand),
                     COIN_DBL_MAX);
  for (int l = 0; l < static_cast<int>(problem.limits.size()); ++l)
    clp.setRowBounds(items + l, -COIN_DBL_MAX,
                     static_cast<double>(problem.limits[static_cast<std::size_t>(l)]));
  for (int i = 0; i < items; ++i) {
    const double one = 1;
    clp.addColumn(1, &i, &one, 0, COIN_DBL_MAX, shortage);
  }
  solver_->shortages = items;
}

Master::~Master() = default;

bool Master::add(const Pattern& pattern) {
  if (!known_.insert({pattern.bin, pattern.counts}).second) return false;
  std::vector<int> rows;
  std::vector<double> values;
  solver_->sparse.emplace_back();
  for (std::size_t i = 0; i < pattern.counts.size(); ++i)
    if (pattern.counts[i] > 0) {
      rows.push_back(static_cast<int>(i));
      values.push_back(static_cast<double>(pattern.counts[i]));
      solver_->sparse.back().emplace_back(static_cast<int>(i), pattern.counts[i]);
    }
  const int limit = problem_.bin(pattern.bin).limit;
  if (limit >= 0) {
    rows.push_back(static_cast<int>(problem_.items.size()) + limit);
    values.push_back(1);
  }
  solver_->clp.addColumn(static_cast<int>(rows.size()), rows.data(), values.data(), 0, COIN_DBL_MAX,
                         static_cast<double>(cost_of(problem_, pattern)) / solver_->scale);
  patterns_.push_back(pattern);
  return true;
}

void Master::ask_for(const Left& left, const std::set<std::size_t>& barred) {
  ClpSimplex& clp = solver_->clp;
  const auto items = static_cast<int>(problem_.items.size());
  for (int i = 0; i < items; ++i)
    clp.setRowLower(i, static_cast<double>(left.demand[static_cast<std::size_t>(i)]));
  for (int l = 0; l < static_cast<int>(problem_.limits.size()); ++l)
    clp.setRowUpper(items + l, static_cast<double>(left.stock[static_cast<std::size_t>(l)]));
  for (std::size_t p = 0; p < patterns_.size(); ++p) {
    bool fits = !barred.count(p);
    for (const auto& [item, count] : solver_->sparse[p])
      fits = fits && count <= left.demand[static_cast<std::size_t>(item)];
    clp.setColumnUpper(solver_->shortages + static_cast<int>(p), fits ? COIN_DBL_MAX : 0);
  }
}

Master::Relaxed Master::relax() {
  ClpSimplex& clp = solver_->clp;
  clp.primal();
  Relaxed out;
  if (clp.status() != 0) {
    clp.allSlackBasis(true);
    clp.primal();
    if (clp.status() != 0) return out;
  }
  const double* columns = clp.primalColumnSolution();
  out.feasible = true;
  out.cost = clp.objectiveValue() * solver_->scale;
  for (int i = 0; i < solver_->shortages; ++i) out.feasible = out.feasible && columns[i] < 1e-6;
  out.uses.assign(columns + solver_->shortages, columns + clp.numberColumns());
  const double* prices = clp.dualRowSolution();
  const std::size_t items = problem_.items.size();
  for (std::size_t i = 0; i < items; ++i)
    out.prices.push_back(std::max(0.0, prices[i]) * solver_->scale);
  for (std::size_t l = 0; l < problem_.limits.size(); ++l)
    out.rents.push_back(std::max(0.0, -prices[items + l]) * solver_->scale);
  return out;
}

namespace {

/// One whole variable for the number of sticks of each bin carries its cost: branching on these few
/// numbers first closes the gap that comes of mixing stick lengths.
void count_sticks(OsiClpSolverInterface& whole, const Problem& problem,
                  const std::vector<Pattern>& patterns, int shortages, std::int64_t step) {
  for (std::size_t p = 0; p < patterns.size(); ++p)
    whole.setObjCoeff(
        shortages + static_cast<int>(p),
        static_cast<double>((cost_of(problem, patterns[p]) - problem.bin(patterns[p].bin).cost) /
                            step));
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
  ask_for(Left(problem_));
  OsiClpSolverInterface whole;
  const ClpSimplex& clp = solver_->clp;
  whole.loadProblem(*solver_->clp.matrix(), clp.columnLower(), clp.columnUpper(), clp.objective(),
                    clp.rowLower(), clp.rowUpper());
  whole.messageHandler()->setLogLevel(0);
  whole.getModelPtr()->setLogLevel(0);
  const int columns = whole.getNumCols();
  for (int i = 0; i < solver_->shortages; ++i) whole.setColUpper(i, 0);
  for (int i = solver_->shortages; i < columns; ++i) whole.setInteger(i);
  const std::int64_t step = problem_.cost_step();
  count_sticks(whole, problem_, patterns_, solver_->shortages, step);
  whole.resolve();  // not initialSolve: that one may write to the standard output
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
