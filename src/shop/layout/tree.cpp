// From cutting trees to places and cuts; see tree.h. Sizes in trees hold one kerf, so a cut lies
// one kerf before the end of its cell, and none is made where the cell reaches the piece's end.
#include "shop/layout/tree.h"

#include <algorithm>

namespace roomwright::shop {

namespace {

struct Region {
  std::int64_t x, y, width, height;
};

class Reading {
 public:
  Reading(const LayoutProblem& problem, LayoutPlan& plan)
      : problem_(problem), plan_(plan), next_(problem.items.size()) {
    for (const Item& item : problem.items) left_.push_back(item.owners);
  }

  /// Everything of a tree within a rectangle whose corner is the material's.
  void read(const Tree& tree, int cell, const Region& rect, int sheet) {
    tree_ = &tree;
    sheet_ = sheet;
    read(cell, rect);
  }
  void cut(char axis, std::int64_t at, std::int64_t from, std::int64_t to, int sheet) {
    plan_.cuts.push_back({sheet, axis, at, from, to});
  }

 private:
  void read(int index, Region rect) {
    const Cell& cell = tree_->cells[static_cast<std::size_t>(index)];
    if (cell.item >= 0) {
      part(cell, rect);
      return;
    }
    for (const int kid : cell.kids) {
      const Cell& inner = tree_->cells[static_cast<std::size_t>(kid)];
      Region first = rect;
      if (cell.axis == 'x') {
        first.width = std::min(inner.width, rect.width);
        split_x(rect, first.width);
        rect.x += first.width, rect.width -= first.width;
      } else {
        first.height = std::min(inner.height, rect.height);
        split_y(rect, first.height);
        rect.y += first.height, rect.height -= first.height;
      }
      read(kid, first);
    }
  }
  void split_x(const Region& rect, std::int64_t width) {
    if (width < rect.width)
      cut('x', rect.x + width - problem_.kerf, rect.y, rect.y + rect.height - problem_.kerf,
          sheet_);
  }
  void split_y(const Region& rect, std::int64_t height) {
    if (height < rect.height)
      cut('y', rect.y + height - problem_.kerf, rect.x, rect.x + rect.width - problem_.kerf,
          sheet_);
  }
  void part(const Cell& cell, Region rect) {
    const auto item = static_cast<std::size_t>(cell.item);
    const std::int64_t width = problem_.width(item, cell.turned);
    const std::int64_t height =
        problem_.height(item, cell.turned) - (cell.turned ? 0 : problem_.items[item].slack);
    RW_ASSERT(width <= rect.width && height <= rect.height);
    split_x(rect, width);
    rect.width = width;
    split_y(rect, height);
    auto& owners = left_[item];
    RW_ASSERT(next_[item] < owners.size());
    plan_.placed.push_back({owners[next_[item]].first, sheet_, rect.x, rect.y,
                            width - problem_.kerf, height - problem_.kerf});
    if (--owners[next_[item]].second == 0) ++next_[item];
  }

  const LayoutProblem& problem_;
  LayoutPlan& plan_;
  const Tree* tree_ = nullptr;
  int sheet_ = 0;
  std::vector<std::vector<std::pair<int, std::int64_t>>> left_;
  std::vector<std::size_t> next_;
};

/// The end of the last part on a roll, with its kerf: rounding to the repeat does not count there.
std::int64_t reach(const LayoutProblem& problem, const Tree& tree, int index) {
  const Cell& cell = tree.cells[static_cast<std::size_t>(index)];
  if (cell.item >= 0) {
    const auto item = static_cast<std::size_t>(cell.item);
    return problem.height(item, cell.turned) - (cell.turned ? 0 : problem.items[item].slack);
  }
  std::int64_t at = 0, far = 0;
  for (const int kid : cell.kids) {
    far = std::max(far, at + reach(problem, tree, kid));
    if (cell.axis == 'y') at += tree.cells[static_cast<std::size_t>(kid)].height;
  }
  return far;
}

void read_roll(const LayoutProblem& problem, const Tree& tree, Reading& reading, LayoutPlan& plan) {
  if (tree.root < 0) return;
  const std::int64_t length = reach(problem, tree, tree.root), kerf = problem.kerf;
  const std::int64_t width = problem.materials[0].width;
  plan.used = length - kerf;
  const std::int64_t left = problem.origin_x;
  const std::int64_t whole = left > 0 ? width - kerf + 2 * left - kerf : width - kerf;
  reading.cut('y', length - kerf, 0, whole, 0);
  if (left > 0) {
    reading.cut('x', left - kerf, 0, length - kerf, 0);
    reading.cut('x', left + width - kerf, 0, length - kerf, 0);
  }
  reading.read(tree, tree.root, {left, 0, width, length}, 0);
}

}  // namespace

std::pair<std::int64_t, std::int64_t> need(const LayoutProblem& problem, const Tree& tree,
                                           int index) {
  const Cell& cell = tree.cells[static_cast<std::size_t>(index)];
  if (cell.item >= 0)
    return {problem.width(static_cast<std::size_t>(cell.item), cell.turned),
            problem.height(static_cast<std::size_t>(cell.item), cell.turned)};
  std::int64_t width = 0, height = 0;
  for (const int kid : cell.kids) {
    const auto [w, h] = need(problem, tree, kid);
    if (cell.axis == 'x')
      width += w, height = std::max(height, h);
    else
      height += h, width = std::max(width, w);
  }
  return {width, height};
}

LayoutPlan plan_of(const LayoutOrder& order, const LayoutProblem& problem, const Sheets2d& sheets) {
  LayoutPlan plan;
  Reading reading(problem, plan);
  if (order.roll) {
    if (!sheets.empty()) read_roll(problem, sheets[0].tree, reading, plan);
  } else {
    for (const Sheet2d& sheet : sheets) {
      const Material& material = problem.materials[static_cast<std::size_t>(sheet.material)];
      const int index = static_cast<int>(plan.sheets_used.size());
      plan.sheets_used.push_back(material.sheet);
      if (sheet.tree.root >= 0)
        reading.read(sheet.tree, sheet.tree.root, {0, 0, material.width, material.height}, index);
    }
  }
  settle_sums(order, plan);
  return plan;
}

void settle_sums(const LayoutOrder& order, LayoutPlan& plan) {
  if (order.roll) return;
  std::vector<std::int64_t> sheets(order.sheets.size());
  for (const int sheet : plan.sheets_used) ++sheets[static_cast<std::size_t>(sheet)];
  plan.used = 0;
  plan.packs.clear();
  plan.left_over.clear();
  for (std::size_t s = 0; s < sheets.size(); ++s) {
    const std::int64_t pack = order.sheets[s].per_pack;
    plan.packs.push_back((sheets[s] + pack - 1) / pack);
    plan.left_over.push_back(plan.packs.back() * pack - sheets[s]);
    plan.used += plan.packs.back() * order.sheets[s].cost;
  }
  if (order.aim == LayoutAim::least) return;
  plan.used = 0;
  for (const Placed& placed : plan.placed)
    plan.used += order.parts[static_cast<std::size_t>(placed.part)].value;
}

}  // namespace roomwright::shop
