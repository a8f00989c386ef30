// The best pattern of each bin, all bins of one rate in one pass, and the list of all good ones.
// See patterns.h.
#include "shop/cutting/patterns.h"

#include <algorithm>
#include <map>
#include <set>

namespace roomwright::shop {

namespace {

/// What an item is worth in a bin of this rate.
std::vector<std::int64_t> values_at(const Problem& problem, const Prices& prices,
                                    std::int64_t rate) {
  std::vector<std::int64_t> out = prices.item;
  if (rate > 0)
    for (std::size_t i = 0; i < out.size(); ++i)
      out[i] = std::max<std::int64_t>(0, out[i] - rate * prices.scale * problem.items[i].size);
  return out;
}

/// What a stretch holds, with one kerf.
std::int64_t space_of(const Problem& problem, const Problem::Bin& bin, std::size_t stretch) {
  if (bin.whole()) return bin.capacity;
  return bin.stretches[stretch].second - bin.stretches[stretch].first + problem.kerf;
}

/// Depth-first over the items of one stretch after the other.
class PatternList {
 public:
  PatternList(const Problem& problem, int bin, const Prices& prices, std::int64_t least,
              std::size_t most, std::vector<Pattern>& out)
      : problem_(problem),
        bin_(problem.bin(bin)),
        values_(values_at(problem, prices, bin_.rate)),
        least_(least),
        most_(most),
        out_(out) {
    // Items without value still fill a pattern up to be maximal: they come last.
    order_ = by_density(problem, values_);
    for (std::size_t i = 0; i < problem.items.size(); ++i)
      if (values_[i] <= 0) order_.push_back(i);
    pattern_.bin = bin;
    pattern_.counts.assign(problem.items.size(), 0);
    if (!bin_.whole()) pattern_.stretches.assign(bin_.stretches.size(), pattern_.counts);
    std::int64_t later = 0;
    for (std::size_t s = bin_.stretches.size(); s-- > 0;) {
      later_.insert(later_.begin(), later);
      later += rest_bound(0, space(s));
    }
  }
  bool run() {
    go(0, 0, space(0), 0);
    return complete_;
  }

 private:
  std::int64_t space(std::size_t stretch) const { return space_of(problem_, bin_, stretch); }
  std::int64_t rest_bound(std::size_t at, std::int64_t rest) const {
    return at >= order_.size() ? 0 : most_at_density(problem_, values_, order_[at], rest);
  }

  void go(std::size_t stretch, std::size_t at, std::int64_t rest, std::int64_t value) {
    if (!complete_) return;
    if (++nodes_ > 40 * most_ + 100'000 || out_.size() >= most_) {
      complete_ = false;
      return;
    }
    if (at == order_.size()) {
      if (maximal(rest)) end_of(stretch, value);
      return;
    }
    if (value + rest_bound(at, rest) + later_[stretch] < least_) return;
    const std::size_t item = order_[at];
    const std::int64_t size = problem_.items[item].size;
    const std::int64_t taken = pattern_.counts[item];
    for (std::int64_t n = std::min(problem_.items[item].demand - taken, rest / size); n >= 0; --n) {
      pattern_.counts[item] = taken + n;
      if (!bin_.whole()) pattern_.stretches[stretch][item] = n;
      go(stretch, at + 1, rest - n * size, value + n * values_[item]);
    }
    pattern_.counts[item] = taken;
  }

  void end_of(std::size_t stretch, std::int64_t value) {
    if (stretch + 1 < bin_.stretches.size()) return go(stretch + 1, 0, space(stretch + 1), value);
    if (value < least_) return;
    if (!bin_.whole() && !seen_.insert(pattern_.counts).second) return;
    out_.push_back(pattern_);
  }

  bool maximal(std::int64_t rest) const {
    if (bin_.rate > 0) return true;  // what is left out is kept: the fuller is not the better
    for (std::size_t i = 0; i < problem_.items.size(); ++i)
      if (problem_.items[i].size <= rest && pattern_.counts[i] < problem_.items[i].demand)
        return false;
    return true;
  }

  const Problem& problem_;
  const Problem::Bin& bin_;
  std::vector<std::int64_t> values_;
  std::int64_t least_;
  std::size_t most_;
  std::vector<Pattern>& out_;
  std::vector<std::size_t> order_;
  std::vector<std::int64_t> later_;  ///< by stretch: the most that those after it can add
  std::set<Counts> seen_;
  Pattern pattern_;
  std::size_t nodes_ = 0;
  bool complete_ = true;
};

}  // namespace

std::vector<BestPattern> best_patterns(const Problem& problem, const std::vector<int>& bins,
                                       const Counts& limits, const Prices& prices,
                                       const std::vector<std::int64_t>& floors) {
  std::map<std::int64_t, std::map<std::int64_t, std::int64_t>> asked;  // rate: capacity: floor
  for (std::size_t k = 0; k < bins.size(); ++k) {
    const Problem::Bin& bin = problem.bin(bins[k]);
    for (std::size_t s = 0; s < bin.stretches.size(); ++s) {
      const std::int64_t floor = floors.empty() || !bin.whole() ? 0 : floors[k];
      const auto [at, fresh] = asked[bin.rate].try_emplace(space_of(problem, bin, s), floor);
      if (!fresh) at->second = std::min(at->second, floor);
    }
  }
  std::map<std::pair<std::int64_t, std::int64_t>, Packed> packed;  // by rate and capacity
  for (const auto& [rate, capacities] : asked) {
    std::vector<Space> spaces;
    for (const auto& [capacity, floor] : capacities) spaces.push_back({capacity, floor});
    auto found = pack_best(problem, spaces, limits, values_at(problem, prices, rate));
    for (std::size_t c = 0; c < spaces.size(); ++c)
      packed[{rate, spaces[c].capacity}] = std::move(found[c]);
  }
  std::vector<BestPattern> out;
  for (const int b : bins) {
    const Problem::Bin& bin = problem.bin(b);
    BestPattern best;
    best.pattern.bin = b;
    best.pattern.counts.assign(problem.items.size(), 0);
    for (std::size_t s = 0; s < bin.stretches.size(); ++s) {
      const Packed& one = packed.at({bin.rate, space_of(problem, bin, s)});
      best.value += one.value;
      best.bound += one.bound;
      for (std::size_t i = 0; i < one.counts.size(); ++i) best.pattern.counts[i] += one.counts[i];
      if (!bin.whole()) best.pattern.stretches.push_back(one.counts);
      if (bin.whole()) best.others = one.others;
    }
    out.push_back(std::move(best));
  }
  return out;
}

bool list_patterns(const Problem& problem, int bin, const Prices& prices, std::int64_t least,
                   std::size_t most, std::vector<Pattern>& out) {
  return PatternList(problem, bin, prices, least, most, out).run();
}

}  // namespace roomwright::shop
