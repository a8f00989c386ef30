// Private to shop/layout: cutting trees, the form in which every search gives its layouts, and the
// plan that is read off them.
#pragma once

#include <cstdint>
#include <vector>

#include "shop/layout/problem.h"

namespace roomwright::shop {

/// A piece of material: a part (item >= 0), or kids side by side along its axis, from the left or
/// from below; what they leave at the far end is waste. width and height: what it takes, at least
/// what its kids take; in it a part lies in the corner.
struct Cell {
  int item = -1;
  bool turned = false;
  char axis = 'x';
  std::int64_t width = 0, height = 0;
  std::vector<int> kids{};
};
struct Tree {
  std::vector<Cell> cells;
  int root = -1;

  int add(Cell cell) {
    cells.push_back(std::move(cell));
    return static_cast<int>(cells.size()) - 1;
  }
};

/// One tree a sheet; on a roll one in all.
struct Sheet2d {
  int material = 0;
  Tree tree;
};
using Sheets2d = std::vector<Sheet2d>;

/// What a cell's content needs at least.
std::pair<std::int64_t, std::int64_t> need(const LayoutProblem& problem, const Tree& tree,
                                           int cell);

/// Places and cuts in the order's own sizes; used, sheets_used, packs and left_over too.
LayoutPlan plan_of(const LayoutOrder& order, const LayoutProblem& problem, const Sheets2d& sheets);

/// Fills in packs, left_over and used from places and sheets_used.
void settle_sums(const LayoutOrder& order, LayoutPlan& plan);

}  // namespace roomwright::shop
