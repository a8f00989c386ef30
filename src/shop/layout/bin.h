// Private to shop/layout: one piece of material being filled and emptied again. A tree of cells
// whose axes alternate; every cell's rest is one rectangle at its far end, and the rests together
// are all the free rectangles there are. A spot may be larger than its rectangle by what the cells
// above have left: a row grows into the rest above it.
#pragma once

#include <cstdint>
#include <vector>

#include "shop/layout/tree.h"

namespace roomwright::shop {

/// Where a part may go: into the rest of a cell.
struct Spot {
  int cell = -1;
  bool turned = false;
  double score = 0;  ///< least is best
};
enum class Liking { area, side, flush };

class Bin {
 public:
  Bin(const LayoutProblem& problem, int material, std::int64_t width, std::int64_t height);

  int material() const { return material_; }
  std::int64_t width() const { return cells_[root()].width; }
  std::int64_t height() const { return cells_[root()].height; }
  int parts() const { return parts_; }
  double filled() const { return filled_; }  ///< area of its parts

  /// The spot that is liked best; blinks: about one in 64 spots is overlooked.
  Spot find(std::size_t item, Liking liking, Random* blinks, std::int64_t& nodes) const;
  /// across: the rest is first cut across its cell's axis. Keeps the larger free rectangle whole
  /// where `across` is decided by `larger_whole`.
  void put(std::size_t item, const Spot& spot, bool flip);

  /// Removes the whole content of a random cell of at most `most` parts, or one part.
  void ruin_cell(int most, Random& random, std::vector<std::int64_t>& pool);
  void ruin_part(Random& random, std::vector<std::int64_t>& pool);
  void clear(std::vector<std::int64_t>& pool);
  /// Changes the size; what does not fit any more goes to the pool.
  void resize(std::int64_t width, std::int64_t height, Random& random,
              std::vector<std::int64_t>& pool);
  /// What the content needs at least along y.
  std::int64_t needed_height() const;
  /// Gives rests that lie beside each other in all kids of a cell back to the cell above, here and
  /// there.
  void gather_rests(Random& random);

  Tree tree() const;
  /// Fills an empty bin as the tree says, and takes its parts from the pool.
  void load(const Tree& tree, std::vector<std::int64_t>& pool);

 private:
  struct Piece {
    std::int64_t width = 0, height = 0, along = 0;  ///< along: sum of the kids
    int parent = -1, first = -1, next = -1;
    int item = -1;
    int slot = -1;    ///< in inner_
    char axis = 'x';  ///< '-' : not in use
    bool turned = false;
  };
  std::size_t root() const { return static_cast<std::size_t>(root_); }
  Piece& at(int cell) { return cells_[static_cast<std::size_t>(cell)]; }
  const Piece& at(int cell) const { return cells_[static_cast<std::size_t>(cell)]; }
  static std::int64_t extent(const Piece& piece, char axis) {
    return axis == 'x' ? piece.width : piece.height;
  }
  static void set_extent(Piece& piece, char axis, std::int64_t value) {
    (axis == 'x' ? piece.width : piece.height) = value;
  }
  std::int64_t rest(int cell) const {
    return cell < 0 ? 0 : extent(at(cell), at(cell).axis) - at(cell).along;
  }
  int make(const Piece& piece);
  void adopt(int parent, int kid);
  void disown(int kid);
  void drop(int cell, std::vector<std::int64_t>& pool);  ///< and all below, not from its parent
  void remove(int cell, std::vector<std::int64_t>& pool);
  int pick(Random& random, bool leaf) const;
  int count_parts(int cell, int most) const;
  void tighten(int cell);
  void raise_root();
  void set_cross(int cell, std::int64_t value);
  void grow_cross(int cell, std::int64_t value);
  void grow(int cell, std::int64_t a, std::int64_t c);
  void eject(int cell, Random& random, std::vector<std::int64_t>& pool);
  std::int64_t cross_need(int cell) const;
  int copy_to(Tree& tree, int cell) const;
  void load_into(int parent, const Tree& tree, int cell, std::vector<std::int64_t>& pool);

  const LayoutProblem* problem_;
  int material_;
  std::vector<Piece> cells_;
  std::vector<int> spare_;
  std::vector<int> inner_;  ///< cells that are not parts
  int root_ = 0;
  int parts_ = 0;
  double filled_ = 0;
};

}  // namespace roomwright::shop
