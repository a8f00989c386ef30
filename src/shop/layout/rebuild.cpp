// Ruin and rebuild; see rebuild.h. A round that makes the pool heavier is kept while it is no worse
// than some rounds ago (late acceptance: E. Burke & Y. Bykov, EJOR 258 (2017), from memory).
#include "shop/layout/rebuild.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace roomwright::shop {

namespace {

/// Rounds that are looked back: few on one piece, where restarts serve better.
constexpr std::size_t short_memory = 10, long_memory = 120;
/// Of one length there are many layouts; among few sizes shorter ones are found without a walk.
constexpr std::size_t least_wandering_sizes = 20;
constexpr std::int64_t roll_rounds = 150, sheet_rounds = 20'000;
constexpr std::int64_t unlimited_cost = INT64_MAX;

}  // namespace

bool Budget::spent() {
  if (nodes >= most_nodes || hurried) return true;
  if (watch && watch->cancelled()) hurried = true;
  if (seconds > 0) {
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begun;
    if (spent.count() > seconds) hurried = true;
  }
  return hurried;
}

Rebuild::Rebuild(const LayoutProblem& problem, Budget& budget, std::uint64_t seed)
    : problem_(problem), budget_(budget), random_(seed) {
  const auto& items = problem.items;
  for (const Item& item : items)
    weights_.push_back(problem.most ? double(item.value)
                                    : double(item.width) * double(item.height));
  const auto sorted = [&](auto key) {
    std::vector<std::size_t> order(items.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return key(items[a]) > key(items[b]); });
    orders_.push_back(std::move(order));
  };
  sorted([](const Item& i) { return double(i.width) * double(i.height); });
  sorted([](const Item& i) { return double(i.height); });
  sorted([](const Item& i) { return double(i.width); });
  sorted([](const Item& i) { return double(std::max(i.width, i.height)); });
  sorted([](const Item& i) { return double(i.width) + double(i.height); });
  if (problem.most) {
    sorted([](const Item& i) { return double(i.value); });
    sorted([](const Item& i) { return double(i.value) / (double(i.width) * double(i.height)); });
  }
}

State Rebuild::empty() const {
  State state;
  for (const Item& item : problem_.items) state.pool.push_back(item.count);
  state.opened.assign(problem_.materials.size(), 0);
  weigh(state);
  return state;
}

void Rebuild::weigh(State& state) const {
  state.missing = 0;
  for (std::size_t i = 0; i < state.pool.size(); ++i)
    state.missing += weights_[i] * double(state.pool[i]);
}

Rebuild::Recipe Rebuild::recipe() {
  Recipe out;
  out.order = random_.below(static_cast<std::uint32_t>(orders_.size()));
  const auto liking = random_.below(4);
  out.liking = liking < 2 ? Liking::area : liking == 2 ? Liking::side : Liking::flush;
  out.dearest = static_cast<int>(random_.below(3));
  return out;
}

void Rebuild::touch(std::size_t bin) {
  if (touched_.size() <= bin) touched_.resize(bin + 1);
  touched_[bin] = 1;
}

bool Rebuild::open(State& state, std::size_t item, const Recipe& recipe,
                   std::int64_t at_most_cost) {
  if (problem_.roll || problem_.most) return false;
  std::size_t best = problem_.materials.size();
  double best_rate = 0;
  for (std::size_t m = 0; m < problem_.materials.size(); ++m) {
    const Material& material = problem_.materials[m];
    if (material.count >= 0 && state.opened[m] >= material.count) continue;
    if (!problem_.fits(item, false, material) && !problem_.fits(item, true, material)) continue;
    ++state.opened[m];
    const std::int64_t cost = cost_of(problem_, state.opened);
    --state.opened[m];
    if (cost > at_most_cost) continue;
    const double area = double(material.width) * double(material.height);
    const double added = double(cost - cost_of(problem_, state.opened));
    const double rate = recipe.dearest == 0   ? added / area
                        : recipe.dearest == 1 ? (added > 0 ? -area : -2 * area)
                                              : random_.unit();
    if (best == problem_.materials.size() || rate < best_rate) best = m, best_rate = rate;
  }
  if (best == problem_.materials.size()) return false;
  ++state.opened[best];
  state.bins.emplace_back(problem_, static_cast<int>(best), problem_.materials[best].width,
                          problem_.materials[best].height);
  touch(state.bins.size() - 1);
  reshaped_ = true;
  return true;
}

void Rebuild::fill(State& state, const Recipe& recipe, std::int64_t at_most_cost) {
  Random* blinks = recipe.blinks ? &random_ : nullptr;
  for (const std::size_t item : orders_[recipe.order]) {
    while (state.pool[item] > 0) {
      Spot best;
      std::size_t best_bin = 0;
      for (std::size_t b = 0; b < state.bins.size(); ++b) {
        const Spot spot = state.bins[b].find(item, recipe.liking, blinks, budget_.nodes);
        if (spot.cell >= 0 && (best.cell < 0 || spot.score < best.score)) best = spot, best_bin = b;
      }
      if (best.cell < 0) {
        if (!open(state, item, recipe, at_most_cost)) break;
        continue;
      }
      touch(best_bin);
      state.bins[best_bin].put(item, best, blinks && random_.below(6) == 0);
      --state.pool[item];
    }
  }
  weigh(state);
}

void Rebuild::ruin(State& state, std::int64_t at_most_cost) {
  const auto bins = static_cast<std::uint32_t>(state.bins.size());
  if (bins == 0) return;
  const bool many_kinds = problem_.materials.size() > 1 && at_most_cost != unlimited_cost;
  const std::uint32_t rounds = 1 + random_.below(bins == 1 ? 4 : 3);
  for (std::uint32_t r = 0; r < rounds; ++r) {
    const std::size_t b = random_.below(bins);
    Bin& bin = state.bins[b];
    touch(b);
    const auto how = random_.below(bins == 1 ? 20 : 10);
    if (how == 0 && bins > 1)
      bin.clear(state.pool);
    else if (how < 5)
      for (std::uint32_t n = 1 + random_.below(4); n > 0; --n) bin.ruin_part(random_, state.pool);
    else
      bin.ruin_cell(2 + static_cast<int>(random_.below(8)), random_, state.pool);
    bin.gather_rests(random_);
  }
  if (!many_kinds) return;
  for (std::size_t b = state.bins.size(); b-- > 0;)
    if (state.bins[b].parts() == 0) {
      --state.opened[static_cast<std::size_t>(state.bins[b].material())];
      state.bins.erase(state.bins.begin() + static_cast<std::ptrdiff_t>(b));
      reshaped_ = true;
    }
}

void Rebuild::settle(State& state, State& kept) {
  if (reshaped_ || state.bins.size() != kept.bins.size()) {
    kept = state;
  } else {
    for (std::size_t b = 0; b < state.bins.size() && b < touched_.size(); ++b)
      if (touched_[b]) kept.bins[b] = state.bins[b];
    kept.pool = state.pool;
    kept.missing = state.missing;
  }
}

void Rebuild::restore(State& state, const State& kept) {
  if (reshaped_ || state.bins.size() != kept.bins.size()) {
    state = kept;
  } else {
    for (std::size_t b = 0; b < state.bins.size() && b < touched_.size(); ++b)
      if (touched_[b]) state.bins[b] = kept.bins[b];
    state.pool = kept.pool;
    state.missing = kept.missing;
  }
}

bool Rebuild::empty_pool(State& state, std::int64_t rounds, std::int64_t at_most_cost) {
  if (state.missing <= 0) return true;
  State kept = state;
  const std::size_t memory = problem_.roll ? short_memory : long_memory;
  std::vector<double> past(memory, state.missing);
  for (std::int64_t round = 0; round < rounds && !budget_.spent(); ++round) {
    std::fill(touched_.begin(), touched_.end(), 0);
    reshaped_ = false;
    ruin(state, at_most_cost);
    fill(state, recipe(), at_most_cost);
    budget_.nodes += 20;
    if (state.missing <= 0) return true;
    double& then = past[static_cast<std::size_t>(round) % memory];
    if (state.missing <= kept.missing || state.missing <= then)
      settle(state, kept);
    else
      restore(state, kept);
    then = std::min(then, kept.missing);
  }
  return false;
}

std::int64_t Rebuild::step() const {
  std::int64_t common = problem_.repeat;
  for (const Item& item : problem_.items) {
    common = std::gcd(common, item.height);
    if (item.turns) common = std::gcd(common, item.width);
  }
  return std::max<std::int64_t>(1, common);
}

State Rebuild::first_filling(std::int64_t height) {
  State best;
  bool any = false;
  for (std::size_t order = 0; order < orders_.size(); ++order)
    for (const Liking liking : {Liking::flush, Liking::area, Liking::side}) {
      if (any && budget_.spent()) return best;
      State state = empty();
      if (problem_.roll) {
        state.bins.emplace_back(problem_, 0, problem_.materials[0].width, height);
        state.opened[0] = 1;
      }
      fill(state, {order, liking, false, static_cast<int>(order) % 2}, unlimited_cost);
      const auto better = [&] {
        if (state.missing != best.missing) return state.missing < best.missing;
        return problem_.roll ? state.bins[0].needed_height() < best.bins[0].needed_height()
                             : cost_of(problem_, state.opened) < cost_of(problem_, best.opened);
      };
      if (!any || better()) best = std::move(state);
      any = true;
    }
  return best;
}

State Rebuild::shortest(std::int64_t bound) {
  std::int64_t all = 0;
  for (std::size_t i = 0; i < problem_.items.size(); ++i) {
    const Item& item = problem_.items[i];
    const bool upright = problem_.fits(i, false, problem_.materials[0]);
    const bool lying = problem_.fits(i, true, problem_.materials[0]);
    const std::int64_t tall = upright && lying ? std::max(item.width, item.height)
                              : upright        ? item.height
                                               : item.width;
    all += item.count * tall;
  }
  State best = first_filling(all);
  const std::int64_t grain = step();
  const auto length = [&] { return best.bins[0].needed_height(); };
  std::int64_t stride = std::max(grain, (length() - bound) / 2);
  while (length() > bound && !budget_.spent()) {
    if (std::optional<State> shorter = within(best, std::max(bound, length() - stride), false)) {
      best = std::move(*shorter);
      stride = std::clamp((length() - bound) / 2, grain, std::max(grain, stride));
      continue;
    }
    stride = std::max(grain, stride * 2 / 3);
    // Not even a little shorter: another layout of this length may be a better place to begin.
    if (stride > grain || problem_.items.size() < least_wandering_sizes) continue;
    if (std::optional<State> other = within(best, length(), true)) best = std::move(*other);
  }
  return best;
}

/// The layout put into this height, `shaken` or not; nothing where not all could be placed.
std::optional<State> Rebuild::within(const State& best, std::int64_t height, bool shaken) {
  State state = best;
  state.bins[0].resize(problem_.materials[0].width, height, random_, state.pool);
  for (int times = shaken ? 3 : 0; times > 0; --times) ruin(state, unlimited_cost);
  fill(state, recipe(), unlimited_cost);
  if (!empty_pool(state, roll_rounds, unlimited_cost)) return std::nullopt;
  return state;
}

/// Takes sheets away until so much is not exceeded.
void Rebuild::lower_cost(State& state, std::int64_t at_most_cost) {
  while (cost_of(problem_, state.opened) > at_most_cost && !state.bins.empty()) {
    std::size_t least = 0;
    double least_rate = 0;
    for (std::size_t b = 0; b < state.bins.size(); ++b) {
      const auto m = static_cast<std::size_t>(state.bins[b].material());
      if (problem_.materials[m].cost == 0) continue;
      const double rate = state.bins[b].filled() / double(problem_.materials[m].cost) *
                          (0.7 + 0.6 * random_.unit());
      if (least_rate == 0 || rate < least_rate) least = b, least_rate = std::max(rate, 1e-9);
    }
    state.bins[least].clear(state.pool);
    --state.opened[static_cast<std::size_t>(state.bins[least].material())];
    state.bins.erase(state.bins.begin() + static_cast<std::ptrdiff_t>(least));
  }
  weigh(state);
}

State Rebuild::cheapest(std::int64_t bound) {
  State best = first_filling(0);
  if (best.missing > 0) {
    while (!budget_.spent() && !empty_pool(best, 2000, unlimited_cost)) {
    }
    if (best.missing > 0) return best;
  }
  std::int64_t grain = 0;
  for (const Material& material : problem_.materials) grain = std::gcd(grain, material.cost);
  while (grain > 0 && cost_of(problem_, best.opened) > bound && !budget_.spent()) {
    State state = best;
    const std::int64_t target = cost_of(problem_, best.opened) - grain;
    lower_cost(state, target);
    fill(state, recipe(), target);
    if (empty_pool(state, sheet_rounds, target)) best = std::move(state);
  }
  return best;
}

State Rebuild::richest(double most, const Sheets2d* start) {
  const double all = empty().missing;
  State state;
  if (start) {
    state = state_of(*start);
  } else {
    state = empty();
    for (std::size_t m = 0; m < problem_.materials.size(); ++m)
      for (std::int64_t n = 0; n < problem_.materials[m].count && state.bins.size() < 200; ++n) {
        state.bins.emplace_back(problem_, static_cast<int>(m), problem_.materials[m].width,
                                problem_.materials[m].height);
        ++state.opened[m];
      }
  }
  fill(state, {orders_.size() - 1, Liking::area, false, 0}, unlimited_cost);
  State best = state, kept = state;
  std::vector<double> past(long_memory, state.missing);
  for (std::int64_t round = 0; all - best.missing < most && !budget_.spent(); ++round) {
    std::fill(touched_.begin(), touched_.end(), 0);
    reshaped_ = false;
    ruin(state, unlimited_cost);
    fill(state, recipe(), unlimited_cost);
    budget_.nodes += 20;
    if (state.missing < best.missing) best = state;
    double& then = past[static_cast<std::size_t>(round) % long_memory];
    if (state.missing <= kept.missing || state.missing <= then)
      settle(state, kept);
    else
      restore(state, kept);
    then = std::min(then, kept.missing);
  }
  return best;
}

double Rebuild::refill(State& state) {
  State best = state;
  for (std::size_t order = 0; order < orders_.size(); ++order) {
    State one = state;
    fill(one, {order, Liking::area, false, 0}, unlimited_cost);
    if (order == 0 || one.missing < best.missing) best = std::move(one);
  }
  state = std::move(best);
  return empty().missing - state.missing;
}

State Rebuild::state_of(const Sheets2d& sheets) const {
  State state = empty();
  for (const Sheet2d& sheet : sheets) {
    const auto m = static_cast<std::size_t>(sheet.material);
    state.bins.emplace_back(problem_, sheet.material, problem_.materials[m].width,
                            problem_.materials[m].height);
    ++state.opened[m];
    state.bins.back().load(sheet.tree, state.pool);
  }
  weigh(state);
  return state;
}

Sheets2d Rebuild::sheets_of(const State& state) {
  Sheets2d out;
  for (const Bin& bin : state.bins) out.push_back({bin.material(), bin.tree()});
  return out;
}

}  // namespace roomwright::shop
