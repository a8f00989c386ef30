// Bounds from prices; see bound.h. Source of the bound: A. A. Farley, Oper. Res. 38 (1990).
#include "shop/cutting/bound.h"

#include <algorithm>

namespace roomwright::shop {

namespace {

constexpr std::size_t most_bins = 12;
constexpr std::size_t most_cuts = 60;
constexpr std::int64_t most_nodes = 400'000;
/// What a double may be short of a whole number's quotient; so much is granted to every count.
constexpr double grant = 1e-9;

/// So that what one stick holds stays far from the end of 64 bits.
std::int64_t price_scale(const Problem& problem, double dearest) {
  for (const auto& bin : problem.bins) dearest = std::max(dearest, static_cast<double>(bin.cost));
  return std::clamp<std::int64_t>(static_cast<std::int64_t>(0x1p46 / dearest), 1,
                                  std::int64_t{1} << 30);
}

}  // namespace

Prices prices_of(const Problem& problem, const Master::Relaxed& relaxed) {
  Prices out;
  double dearest = 1;
  for (const double price : relaxed.prices) dearest = std::max(dearest, price);
  out.scale = price_scale(problem, dearest);
  for (const double price : relaxed.prices)
    out.item.push_back(
        static_cast<std::int64_t>(std::min(0x1p50, price * static_cast<double>(out.scale))));
  return out;
}

Bound bound_of(const Problem& problem, const Prices& prices,
               const std::vector<std::int64_t>& most) {
  Bound out;
  Huge shrink_top = 1, shrink_bottom = 1;
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    const Huge cost = Huge(problem.bins[b].cost) * prices.scale;
    if (problem.bins[b].limit < 0 && most[b] > cost && cost * shrink_bottom < shrink_top * most[b])
      shrink_top = cost, shrink_bottom = most[b];
  }
  out.prices.scale = prices.scale;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    out.prices.item.push_back(
        static_cast<std::int64_t>(Huge(prices.item[i]) * shrink_top / shrink_bottom));
    out.scaled += Huge(out.prices.item.back()) * problem.items[i].demand;
  }
  out.rent.assign(problem.limits.size(), 0);
  for (std::size_t b = 0; b < problem.bins.size(); ++b) {
    const Problem::Bin& bin = problem.bins[b];
    if (bin.limit < 0) continue;
    const Huge reach = (Huge(most[b]) * shrink_top + shrink_bottom - 1) / shrink_bottom;
    const Huge over = reach - Huge(bin.cost) * prices.scale;
    std::int64_t& rent = out.rent[static_cast<std::size_t>(bin.limit)];
    if (over > rent) rent = static_cast<std::int64_t>(over);
  }
  for (std::size_t l = 0; l < problem.limits.size(); ++l)
    out.scaled -= Huge(out.rent[l]) * problem.limits[l];
  return out;
}

std::int64_t Bound::cost(std::int64_t step) const {
  if (scaled <= 0) return 0;
  const Huge unit = Huge(prices.scale) * step;
  return static_cast<std::int64_t>((scaled + unit - 1) / unit) * step;
}

StickCounts::StickCounts(const Problem& problem)
    : problem_(problem),
      useful_(problem.bins.size() > 1 && problem.bins.size() <= most_bins && !problem.keeps()) {}

void StickCounts::cut(const Prices& prices, const std::vector<std::int64_t>& most) {
  if (!useful_) return;
  Huge need = 0;
  for (std::size_t i = 0; i < problem_.items.size(); ++i)
    need += Huge(prices.item[i]) * problem_.items[i].demand;
  if (need <= 0) return;
  Cut cut;
  for (const std::int64_t value : most)
    cut.most.push_back(static_cast<double>(value) / static_cast<double>(need));
  if (cuts_.size() >= most_cuts) cuts_.erase(cuts_.begin());
  cuts_.push_back(std::move(cut));
}

std::optional<Counts> StickCounts::cheapest(std::int64_t at_most,
                                            const std::vector<Counts>& skipped, bool& complete) {
  numbers_.assign(problem_.bins.size(), 0);
  found_.reset();
  skipped_ = &skipped;
  target_ = at_most;
  nodes_ = 0;
  search(0, 0, std::vector<double>(cuts_.size(), 1 - grant));
  complete = nodes_ < most_nodes;
  return found_;
}

std::int64_t StickCounts::cost(const Counts& numbers) const {
  std::int64_t out = 0;
  for (std::size_t b = 0; b < numbers.size(); ++b) out += numbers[b] * problem_.bins[b].cost;
  return out;
}

bool StickCounts::forbids(const Counts& numbers) const {
  return std::any_of(cuts_.begin(), cuts_.end(), [&](const Cut& cut) {
    double held = 0;
    for (std::size_t b = 0; b < numbers.size(); ++b)
      held += cut.most[b] * static_cast<double>(numbers[b]);
    return held < 1 - grant;
  });
}

/// What the bins from `from` on must still cost, by the hardest of the cuts.
double StickCounts::least_more(std::size_t from, const std::vector<double>& need) const {
  double out = 0;
  for (std::size_t c = 0; c < cuts_.size(); ++c) {
    if (need[c] <= 0) continue;
    double rate = 1e300;
    for (std::size_t b = from; b < problem_.bins.size(); ++b)
      if (cuts_[c].most[b] > 0)
        rate = std::min(rate, static_cast<double>(problem_.bins[b].cost) / cuts_[c].most[b]);
    out = std::max(out, need[c] * rate);
  }
  return out;
}

void StickCounts::search(std::size_t at, std::int64_t cost, std::vector<double> need) {
  if (++nodes_ >= most_nodes || cost > target_) return;
  const auto met = [&] {
    return std::all_of(need.begin(), need.end(), [](double n) { return n <= 0; });
  };
  if (at == problem_.bins.size()) {
    if (!met() || std::count(skipped_->begin(), skipped_->end(), numbers_)) return;
    found_ = numbers_;
    target_ = cost - 1;
    return;
  }
  if (static_cast<double>(cost) + least_more(at, need) >
      static_cast<double>(target_) * (1 + 1e-9) + 1e-6)
    return;
  const Problem::Bin& bin = problem_.bins[at];
  const std::int64_t stock = problem_.stock_of(bin);
  const std::int64_t first = bin.cost == 0 ? stock : 0;  // what is free is all at hand
  for (std::size_t c = 0; c < cuts_.size(); ++c)
    need[c] -= cuts_[c].most[at] * static_cast<double>(first);
  for (std::int64_t n = first; n <= stock && cost + n * bin.cost <= target_; ++n) {
    numbers_[at] = n;
    search(at + 1, cost + n * bin.cost, need);
    // One more is no use where all is met, unless some numbers are skipped.
    if (nodes_ >= most_nodes || (skipped_->empty() && met())) break;
    for (std::size_t c = 0; c < cuts_.size(); ++c) need[c] -= cuts_[c].most[at];
  }
  numbers_[at] = 0;
}

}  // namespace roomwright::shop
