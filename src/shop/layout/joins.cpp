// Blocks of parts, joined until all are in one; see joins.h.
#include "shop/layout/joins.h"

#include <algorithm>
#include <array>
#include <map>
#include <queue>
#include <unordered_map>

namespace roomwright::shop {

namespace {

constexpr std::size_t words = 4;
constexpr std::size_t most_blocks = 400'000;

/// How many of each item, packed: a field has one bit more than its greatest count needs, so that
/// a sum that is too large shows there.
struct Tally {
  std::array<std::uint64_t, words> word{};
  bool operator==(const Tally&) const = default;
};
struct TallyHash {
  std::size_t operator()(const Tally& tally) const {
    std::uint64_t hash = 1469598103934665603ULL;
    for (const std::uint64_t w : tally.word)
      hash = (hash ^ w) * 0x9E3779B97F4A7C15ULL, hash ^= hash >> 29;
    return hash;
  }
};

struct Block {
  Tally tally;
  std::int64_t width = 0, height = 0;
  double waste = 0, value = 0;
  int item = -1, first = -1, second = -1;
  bool turned = false;
  char axis = 'x';
};

class Joining {
 public:
  Joining(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
          std::int64_t most_nodes, Budget& budget)
      : problem_(problem), width_(width), height_(height), budget_(budget) {
    stop_ = budget.nodes + most_nodes;
    allowed_ = double(width) * double(height) - problem.area();
  }

  JoinResult join() {
    if (allowed_ < 0) return {Joined::impossible, {}};
    if (!pack_fields()) return {};
    for (std::size_t i = 0; i < problem_.items.size(); ++i) {
      add_single(i, false);
      if (problem_.items[i].turns) add_single(i, true);
    }
    while (!waiting_.empty() && whole_ < 0) {
      if (budget_.nodes > stop_ || blocks_.size() > most_blocks || budget_.hurried) return {};
      const int block = waiting_.top().second;
      waiting_.pop();
      process(block);
    }
    if (whole_ < 0) return {Joined::impossible, {}};
    JoinResult out;
    out.how = Joined::found;
    out.tree.root = copy(out.tree, whole_);
    return out;
  }

  /// All blocks that could be part of something above `above`, as far as area tells.
  MostJoined join_most(double above) {
    MostJoined out;
    allowed_ = double(width_) * double(height_);
    above_ = above;
    most_ = true;
    if (!pack_fields()) return out;
    for (const Item& item : problem_.items)
      densest_ =
          std::max(densest_, double(item.value) / (double(item.width) * double(item.height)));
    for (std::size_t i = 0; i < problem_.items.size(); ++i) {
      add_single(i, false);
      if (problem_.items[i].turns) add_single(i, true);
    }
    while (!waiting_.empty()) {
      if (budget_.nodes > stop_ || blocks_.size() > most_blocks) break;
      const int block = waiting_.top().second;
      waiting_.pop();
      process(block);
    }
    out.complete = waiting_.empty() && budget_.nodes <= stop_;
    if (richest_ < 0) return out;
    out.value = above_;
    out.tree.root = copy(out.tree, richest_);
    return out;
  }

 private:
  /// Whether a block may still be part of something better; a better one is remembered.
  bool promising(const Block& block, int index) {
    if (block.value > above_) above_ = block.value, richest_ = index;
    const double beside =
        double(width_) * double(height_) - double(block.width) * double(block.height);
    return block.value + beside * densest_ > above_ * (1 + 1e-12);
  }

  bool pack_fields() {
    std::size_t word = 0, bit = 0;
    for (const Item& item : problem_.items) {
      std::size_t bits = 2;
      while ((std::int64_t{1} << (bits - 1)) <= item.count) ++bits;
      if (bit + bits > 64) ++word, bit = 0;
      if (word >= words || bits > 20) return false;
      one_.push_back({});
      one_.back().word[word] = std::uint64_t{1} << bit;
      limit_.word[word] += static_cast<std::uint64_t>(item.count) << bit;
      guard_.word[word] |= std::uint64_t{1} << (bit + bits - 1);
      bit += bits;
    }
    return true;
  }
  bool add_up(const Tally& a, const Tally& b, Tally& sum) const {
    for (std::size_t w = 0; w < words; ++w) {
      sum.word[w] = a.word[w] + b.word[w];
      if ((((limit_.word[w] | guard_.word[w]) - sum.word[w]) & guard_.word[w]) != guard_.word[w])
        return false;
    }
    return true;
  }
  void add_single(std::size_t item, bool turned) {
    Block block;
    block.tally = one_[item];
    block.width = problem_.width(item, turned);
    block.height = problem_.height(item, turned);
    block.item = static_cast<int>(item);
    block.turned = turned;
    block.value = double(problem_.items[item].value);
    keep(block);
  }
  void keep(const Block& block) {
    if (block.width > width_ || block.height > height_) return;
    auto& alike = known_[block.tally];
    for (const int other : alike) {
      const Block& one = blocks_[static_cast<std::size_t>(other)];
      if (one.width <= block.width && one.height <= block.height) return;
    }
    const int index = static_cast<int>(blocks_.size());
    if (most_ && !promising(block, index) && richest_ != index) return;
    alike.push_back(index);
    blocks_.push_back(block);
    waiting_.emplace(double(block.width) * double(block.height) - 4 * block.waste, index);
    if (!most_ && block.tally == limit_) whole_ = index;
  }

  using Side = std::map<std::int64_t, std::vector<int>>;
  /// Joins one block with all that were processed, along both axes.
  void process(int index) {
    const Block block = blocks_[static_cast<std::size_t>(index)];
    by_height_[block.height].push_back(index);
    by_width_[block.width].push_back(index);
    least_width_ = std::min(least_width_, block.width);
    least_height_ = std::min(least_height_, block.height);
    join_along(index, block, 'x');
    join_along(index, block, 'y');
  }
  void join_along(int index, const Block& block, char axis) {
    const bool x = axis == 'x';
    const Side& side = x ? by_height_ : by_width_;
    const std::int64_t cross = x ? block.height : block.width,
                       along = x ? block.width : block.height;
    const std::int64_t least = x ? least_width_ : least_height_;
    const double left = allowed_ - block.waste;
    const auto low = side.lower_bound(cross - static_cast<std::int64_t>(left / double(least)) - 1);
    const auto high = side.upper_bound(cross + static_cast<std::int64_t>(left / double(along)) + 1);
    for (auto at = low; at != high && whole_ < 0; ++at)
      for (const int other : at->second) {
        ++budget_.nodes;
        pair(index, block, other, x);
        if (whole_ >= 0) return;
      }
  }
  void pair(int index, const Block& block, int other, bool x) {
    const Block& second = blocks_[static_cast<std::size_t>(other)];
    Block joined;
    if (x) {
      joined.width = block.width + second.width;
      joined.height = std::max(block.height, second.height);
      if (joined.width > width_) return;
    } else {
      joined.width = std::max(block.width, second.width);
      joined.height = block.height + second.height;
      if (joined.height > height_) return;
    }
    const double fresh = double(joined.width) * double(joined.height) -
                         double(block.width) * double(block.height) -
                         double(second.width) * double(second.height);
    joined.waste = block.waste + second.waste + fresh;
    if (joined.waste > allowed_ * (1 + 1e-12)) return;
    if (!add_up(block.tally, second.tally, joined.tally)) return;
    joined.value = block.value + second.value;
    joined.axis = x ? 'x' : 'y';
    joined.first = index;
    joined.second = other;
    keep(joined);
  }
  int copy(Tree& tree, int index) const {
    const Block& block = blocks_[static_cast<std::size_t>(index)];
    Cell cell;
    cell.item = block.item;
    cell.turned = block.turned;
    cell.axis = block.axis;
    cell.width = block.width;
    cell.height = block.height;
    if (block.item < 0) {
      const int first = copy(tree, block.first), second = copy(tree, block.second);
      cell.kids = {first, second};
    }
    return tree.add(std::move(cell));
  }

  const LayoutProblem& problem_;
  std::int64_t width_, height_, stop_ = 0;
  Budget& budget_;
  double allowed_ = 0, above_ = 0, densest_ = 0;
  bool most_ = false;
  int richest_ = -1;
  std::vector<Tally> one_;
  Tally limit_, guard_;
  std::vector<Block> blocks_;
  std::unordered_map<Tally, std::vector<int>, TallyHash> known_;
  std::priority_queue<std::pair<double, int>> waiting_;
  Side by_height_, by_width_;
  std::int64_t least_width_ = INT64_MAX, least_height_ = INT64_MAX;
  int whole_ = -1;
};

}  // namespace

JoinResult join_all(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
                    std::int64_t most_nodes, Budget& budget) {
  return Joining(problem, width, height, most_nodes, budget).join();
}

MostJoined join_most(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
                     double above, std::int64_t most_nodes, Budget& budget) {
  return Joining(problem, width, height, most_nodes, budget).join_most(above);
}

}  // namespace roomwright::shop
