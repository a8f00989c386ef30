// Hands the order's parts and sticks to the patterns; see marks.h.
#include "shop/cutting/marks.h"

#include <algorithm>

namespace roomwright::shop {

namespace {

/// Hands out entries of the order, in its sequence.
class Owners {
 public:
  explicit Owners(std::vector<std::pair<int, std::int64_t>> left) : left_(std::move(left)) {}
  int take() {
    while (left_[at_].second == 0) ++at_;
    if (left_[at_].second > 0) --left_[at_].second;
    return left_[at_].first;
  }

 private:
  std::vector<std::pair<int, std::int64_t>> left_;  ///< -1: without end
  std::size_t at_ = 0;
};

struct AllOwners {
  std::vector<Owners> parts, sticks;
  explicit AllOwners(const Problem& problem) {
    for (const auto& item : problem.items) parts.emplace_back(item.owners);
    for (const auto& bin : problem.bins) sticks.emplace_back(bin.members);
  }
};

void cut_stretch(const Problem& problem, const Counts& counts, std::int64_t from, std::int64_t to,
                 AllOwners& owners, CutStick& stick) {
  std::int64_t at = from;
  for (std::size_t i = 0; i < counts.size(); ++i)
    for (std::int64_t n = 0; n < counts[i]; ++n) {
      stick.cuts.push_back({owners.parts[i].take(), at, at + problem.items[i].length});
      at += problem.items[i].size;
    }
  stick.offcut = std::max<std::int64_t>(0, to - at);
}

bool same_cuts(const CutStick& a, const CutStick& b) {
  return a.pattern == b.pattern && a.stock == b.stock &&
         std::equal(
             a.cuts.begin(), a.cuts.end(), b.cuts.begin(), b.cuts.end(),
             [](const Cut& x, const Cut& y) { return x.part == y.part && x.from == y.from; });
}

}  // namespace

std::vector<CutStick> sticks_of(const Problem& problem, const Solution& solution) {
  AllOwners owners(problem);
  std::vector<CutStick> out;
  for (std::size_t p = 0; p < solution.patterns.size(); ++p) {
    const Pattern& pattern = solution.patterns[p];
    const Problem::Bin& bin = problem.bin(pattern.bin);
    for (std::int64_t n = 0; n < solution.uses[p]; ++n) {
      CutStick stick;
      stick.pattern = static_cast<int>(p);
      stick.stock = owners.sticks[static_cast<std::size_t>(bin.root)].take();
      for (std::size_t s = 0; s < bin.stretches.size(); ++s)
        cut_stretch(problem, bin.whole() ? pattern.counts : pattern.stretches[s],
                    bin.stretches[s].first, bin.stretches[s].second, owners, stick);
      stick.offcut_worth = bin.rate * stick.offcut;
      if (!out.empty() && same_cuts(out.back(), stick))
        ++out.back().repeat;
      else
        out.push_back(std::move(stick));
    }
  }
  return out;
}

std::int64_t loads_of(const Solution& solution, std::int64_t bundle) {
  std::int64_t out = 0;
  for (const std::int64_t uses : solution.uses) out += (uses + bundle - 1) / bundle;
  return out;
}

}  // namespace roomwright::shop
