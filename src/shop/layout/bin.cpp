// Filling and emptying one piece of material; see bin.h. Invariants: (1) axes alternate from cell
// to kid; (2) an inner kid reaches across its cell: its extent across the cell's axis is the
// cell's; (3) along = sum of the kids' extents along the axis, at most the cell's extent; (4) no
// inner cell but the root is empty.
#include "shop/layout/bin.h"

#include <algorithm>

namespace roomwright::shop {

namespace {
char other(char axis) {
  return axis == 'x' ? 'y' : 'x';
}
}  // namespace

Bin::Bin(const LayoutProblem& problem, int material, std::int64_t width, std::int64_t height)
    : problem_(&problem), material_(material) {
  Piece whole;
  whole.width = width;
  whole.height = height;
  whole.axis = problem.roll ? 'y' : 'x';
  root_ = make(whole);
}

int Bin::make(const Piece& piece) {
  int cell = static_cast<int>(cells_.size());
  if (spare_.empty()) {
    cells_.push_back(piece);
  } else {
    cell = spare_.back();
    spare_.pop_back();
    at(cell) = piece;
  }
  if (piece.item < 0) {
    at(cell).slot = static_cast<int>(inner_.size());
    inner_.push_back(cell);
  }
  return cell;
}

void Bin::adopt(int parent, int kid) {
  at(kid).parent = parent;
  at(kid).next = at(parent).first;
  at(parent).first = kid;
  at(parent).along += extent(at(kid), at(parent).axis);
}

void Bin::disown(int kid) {
  const int parent = at(kid).parent;
  int* link = &at(parent).first;
  while (*link != kid) link = &at(*link).next;
  *link = at(kid).next;
  at(parent).along -= extent(at(kid), at(parent).axis);
  at(kid).parent = -1;
}

Spot Bin::find(std::size_t item, Liking liking, Random* blinks, std::int64_t& nodes) const {
  Spot best;
  const int ways = problem_->items[item].turns ? 2 : 1;
  for (int way = 0; way < ways; ++way) {
    const std::int64_t width = problem_->width(item, way == 1);
    const std::int64_t height = problem_->height(item, way == 1);
    for (const int cell : inner_) {
      const Piece& piece = at(cell);
      const bool x = piece.axis == 'x';
      const std::int64_t a = x ? width : height, c = x ? height : width;
      const std::int64_t free_c = x ? piece.height : piece.width;
      const std::int64_t free_a = (x ? piece.width : piece.height) - piece.along;
      const int above = piece.parent;
      std::int64_t more_a = 0, more_c = 0;
      if (c > free_c && c > free_c + (more_c = rest(above))) continue;
      if (a > free_a && (above < 0 || a > free_a + rest(at(above).parent))) continue;
      if (blinks && (blinks->next() & 63) == 0) continue;
      more_a = std::max<std::int64_t>(0, a - free_a);
      more_c = std::max<std::int64_t>(0, c - free_c);
      double score = 0;
      switch (liking) {
        case Liking::area:
          score = double(free_a + more_a) * double(free_c + more_c);
          break;
        case Liking::side:
          score = double(std::min(free_a + more_a - a, free_c + more_c - c));
          break;
        case Liking::flush:
          score = double(free_c + more_c - c);
          break;
      }
      // What grows takes the rest above from all its neighbours; they get it back in smaller
      // pieces.
      if (more_c > 0)
        score +=
            liking == Liking::area ? 0.5 * double(more_c) * double(piece.along) : double(more_c);
      if (more_a > 0)
        score += liking == Liking::area ? 0.5 * double(more_a) * double(at(above).along)
                                        : double(more_a);
      if (best.cell < 0 || score < best.score) best = {cell, way == 1, score};
    }
  }
  nodes += static_cast<std::int64_t>(inner_.size()) * ways;
  return best;
}

/// Makes a cell wider across; parts that reached across get a column of their own.
void Bin::grow_cross(int cell, std::int64_t value) {
  set_cross(cell, value);
  const char axis = at(cell).axis, cross = other(axis);
  for (int kid = at(cell).first; kid >= 0;) {
    const int next = at(kid).next;
    if (at(kid).item >= 0) {
      Piece column;
      column.axis = cross;
      set_extent(column, axis, extent(at(kid), axis));
      set_extent(column, cross, value);
      disown(kid);
      const int outer = make(column);
      adopt(outer, kid);
      adopt(cell, outer);
    }
    kid = next;
  }
}

/// Lets a part of a along and c across into a cell, from the rests above it.
void Bin::grow(int cell, std::int64_t a, std::int64_t c) {
  const int above = at(cell).parent;
  const std::int64_t more_c = c - extent(at(cell), other(at(cell).axis));
  if (more_c > 0) {
    at(above).along += more_c;
    grow_cross(cell, c);
  }
  const std::int64_t more_a = a - rest(cell);
  if (more_a > 0) {
    at(at(above).parent).along += more_a;
    grow_cross(above, extent(at(above), other(at(above).axis)) + more_a);
  }
}

void Bin::put(std::size_t item, const Spot& spot, bool flip) {
  Piece part;
  part.width = problem_->width(item, spot.turned);
  part.height = problem_->height(item, spot.turned);
  part.item = static_cast<int>(item);
  part.turned = spot.turned;
  const char axis = at(spot.cell).axis, cross = other(axis);
  const std::int64_t a = extent(part, axis), c = extent(part, cross);
  grow(spot.cell, a, c);
  const std::int64_t free_a = rest(spot.cell), free_c = extent(at(spot.cell), cross);
  RW_ASSERT(a <= free_a && c <= free_c);
  // Two ways to cut the rest; the larger free rectangle stays whole unless flipped.
  const double beside =
      std::max(double(free_a - a) * double(free_c), double(a) * double(free_c - c));
  const double above =
      std::max(double(free_a) * double(free_c - c), double(free_a - a) * double(c));
  // With a repeat, whatever is stacked must be as high as its parts are: a row as high as the rest
  // would shift what comes above it.
  const bool fixed_heights = problem_->repeat > 0 && axis == 'y';
  const bool across = !fixed_heights && c < free_c && a < free_a && ((above > beside) != flip);
  ++parts_;
  filled_ += double(part.width) * double(part.height);
  const int leaf = make(part);
  if (c == free_c) {
    adopt(spot.cell, leaf);
    return;
  }
  Piece column;
  column.axis = cross;
  set_extent(column, axis, across ? free_a : a);
  set_extent(column, cross, free_c);
  const int outer = make(column);
  if (across) {
    Piece row;
    row.axis = axis;
    set_extent(row, axis, free_a);
    set_extent(row, cross, c);
    const int inner = make(row);
    adopt(inner, leaf);
    adopt(outer, inner);
  } else {
    adopt(outer, leaf);
  }
  adopt(spot.cell, outer);
}

void Bin::drop(int cell, std::vector<std::int64_t>& pool) {
  if (at(cell).item >= 0) {
    ++pool[static_cast<std::size_t>(at(cell).item)];
    --parts_;
    filled_ -= double(at(cell).width) * double(at(cell).height);
  }
  for (int kid = at(cell).first; kid >= 0;) {
    const int next = at(kid).next;
    drop(kid, pool);
    kid = next;
  }
  if (const int slot = at(cell).slot; slot >= 0) {
    inner_[static_cast<std::size_t>(slot)] = inner_.back();
    at(inner_.back()).slot = slot;
    inner_.pop_back();
  }
  at(cell) = Piece{};
  at(cell).axis = '-';
  spare_.push_back(cell);
}

void Bin::remove(int cell, std::vector<std::int64_t>& pool) {
  if (cell == root_) {
    clear(pool);
    return;
  }
  int parent = at(cell).parent;
  disown(cell);
  drop(cell, pool);
  while (parent != root_ && at(parent).first < 0) {
    const int above = at(parent).parent;
    disown(parent);
    drop(parent, pool);
    parent = above;
  }
  for (int levels = 0; levels < 3 && parent != root_; ++levels) {
    const int above = at(parent).parent;
    tighten(parent);
    parent = above;
  }
}

std::int64_t Bin::cross_need(int cell) const {
  const char cross = other(at(cell).axis);
  std::int64_t most = 0;
  for (int kid = at(cell).first; kid >= 0; kid = at(kid).next)
    most = std::max(most, at(kid).item >= 0 ? extent(at(kid), cross) : at(kid).along);
  return most;
}

void Bin::set_cross(int cell, std::int64_t value) {
  const char cross = other(at(cell).axis);
  set_extent(at(cell), cross, value);
  for (int kid = at(cell).first; kid >= 0; kid = at(kid).next)
    if (at(kid).item < 0) set_extent(at(kid), cross, value);
}

void Bin::tighten(int cell) {
  const std::int64_t most = cross_need(cell);
  Piece& piece = at(cell);
  const char cross = other(piece.axis);
  const std::int64_t less = extent(piece, cross) - most;
  if (less <= 0) return;
  at(piece.parent).along -= less;
  set_cross(cell, most);
}

void Bin::raise_root() {
  if (at(root_).first < 0 || cross_need(root_) == extent(at(root_), other(at(root_).axis))) return;
  Piece above = at(root_);
  above.axis = other(above.axis);
  above.first = -1;
  above.along = 0;
  const int old = root_;
  set_cross(old, cross_need(old));
  const int fresh = make(above);
  root_ = fresh;
  adopt(fresh, old);
}

void Bin::gather_rests(Random& random) {
  for (int tries = 0; tries < 4; ++tries) {
    const int cell = inner_[random.below(static_cast<std::uint32_t>(inner_.size()))];
    if (cell != root_) tighten(cell);
  }
  if (random.below(4) == 0) raise_root();
}

int Bin::pick(Random& random, bool leaf) const {
  if (parts_ == 0) return -1;
  const auto count = static_cast<std::uint32_t>(cells_.size());
  for (;;) {
    const int cell = static_cast<int>(random.below(count));
    const Piece& piece = at(cell);
    if (piece.axis == '-' || cell == root_ || (leaf && piece.item < 0)) continue;
    return cell;
  }
}

int Bin::count_parts(int cell, int most) const {
  if (at(cell).item >= 0) return 1;
  int all = 0;
  for (int kid = at(cell).first; kid >= 0 && all <= most; kid = at(kid).next)
    all += count_parts(kid, most - all);
  return all;
}

void Bin::ruin_cell(int most, Random& random, std::vector<std::int64_t>& pool) {
  int cell = pick(random, false);
  if (cell < 0) return;
  for (int tries = 0; tries < 4 && count_parts(cell, most) > most; ++tries)
    cell = pick(random, false);
  if (count_parts(cell, most) <= most) remove(cell, pool);
}

void Bin::ruin_part(Random& random, std::vector<std::int64_t>& pool) {
  const int cell = pick(random, true);
  if (cell >= 0) remove(cell, pool);
}

void Bin::clear(std::vector<std::int64_t>& pool) {
  Piece whole = at(root_);
  for (int kid = whole.first; kid >= 0;) {
    const int next = at(kid).next;
    drop(kid, pool);
    kid = next;
  }
  whole.first = -1;
  whole.along = 0;
  cells_.clear();
  spare_.clear();
  inner_.clear();
  root_ = make(whole);
}

/// Removes kids until the rest fit along the axis, then the same below.
void Bin::eject(int cell, Random& random, std::vector<std::int64_t>& pool) {
  while (at(cell).along > extent(at(cell), at(cell).axis)) {
    int kids = 0;
    for (int kid = at(cell).first; kid >= 0; kid = at(kid).next) ++kids;
    int kid = at(cell).first;
    for (auto n = random.below(static_cast<std::uint32_t>(kids)); n > 0; --n) kid = at(kid).next;
    disown(kid);
    drop(kid, pool);
  }
}

void Bin::resize(std::int64_t width, std::int64_t height, Random& random,
                 std::vector<std::int64_t>& pool) {
  Piece& whole = at(root_);
  const char axis = whole.axis, cross = other(axis);
  whole.width = width;
  whole.height = height;
  eject(root_, random, pool);
  const std::int64_t most = extent(at(root_), cross);
  for (int kid = at(root_).first; kid >= 0;) {
    const int next = at(kid).next;
    if (at(kid).item >= 0) {
      if (extent(at(kid), cross) > most) disown(kid), drop(kid, pool);
    } else {
      set_extent(at(kid), cross, most);
      eject(kid, random, pool);
      if (at(kid).first < 0) disown(kid), drop(kid, pool);
    }
    kid = next;
  }
}

std::int64_t Bin::needed_height() const {
  return at(root_).axis == 'y' ? at(root_).along : cross_need(root_);
}

int Bin::copy_to(Tree& tree, int cell) const {
  const Piece& piece = at(cell);
  Cell copy;
  copy.item = piece.item;
  copy.turned = piece.turned;
  copy.axis = piece.axis;
  copy.width = piece.width;
  copy.height = piece.height;
  for (int kid = piece.first; kid >= 0; kid = at(kid).next) {
    const int made = copy_to(tree, kid);
    copy.kids.push_back(made);
  }
  return tree.add(std::move(copy));
}

Tree Bin::tree() const {
  Tree tree;
  if (parts_ > 0) tree.root = copy_to(tree, root_);
  return tree;
}

void Bin::load(const Tree& tree, std::vector<std::int64_t>& pool) {
  if (tree.root < 0) return;
  const Cell& whole = tree.cells[static_cast<std::size_t>(tree.root)];
  if (whole.item < 0) at(root_).axis = whole.axis;
  load_into(root_, tree, tree.root, pool);
}

void Bin::load_into(int parent, const Tree& tree, int index, std::vector<std::int64_t>& pool) {
  const Cell& cell = tree.cells[static_cast<std::size_t>(index)];
  const char axis = at(parent).axis, cross = other(axis);
  if (cell.item < 0 && cell.axis == axis) {
    for (const int kid : cell.kids) load_into(parent, tree, kid, pool);
    return;
  }
  Piece column;
  column.axis = cross;
  set_extent(column, cross, extent(at(parent), cross));
  if (cell.item < 0 && !cell.kids.empty()) {
    set_extent(column, axis, axis == 'x' ? cell.width : cell.height);
    const int outer = make(column);
    for (const int kid : cell.kids) load_into(outer, tree, kid, pool);
    if (at(outer).first < 0) {
      drop(outer, pool);
      return;
    }
    adopt(parent, outer);
    tighten(outer);
    return;
  }
  if (cell.item < 0 || pool[static_cast<std::size_t>(cell.item)] <= 0) return;
  const auto item = static_cast<std::size_t>(cell.item);
  Piece part;
  part.width = problem_->width(item, cell.turned);
  part.height = problem_->height(item, cell.turned);
  part.item = cell.item;
  part.turned = cell.turned;
  ++parts_;
  filled_ += double(part.width) * double(part.height);
  --pool[item];
  const int leaf = make(part);
  if (extent(part, cross) == extent(at(parent), cross)) {
    adopt(parent, leaf);
    return;
  }
  set_extent(column, axis, extent(part, axis));
  const int outer = make(column);
  adopt(outer, leaf);
  adopt(parent, outer);
}

}  // namespace roomwright::shop
