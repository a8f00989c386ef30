// Cutting: a shop's order alone and ten together, the cases of the general-purpose peers, and the
// classic instances by family: how many are proven within a second, the slowest, what is left open.
// Times are of the processor. Data sets: ROOMWRIGHT_SHARED_DATA; without it those are left out.
#include <benchmark/benchmark.h>
#include <sys/resource.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <set>

#include "figures/figures.h"
#include "shop/cutting/cutting.h"

using namespace roomwright;

namespace {

double processor_seconds() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  return double(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         1e-6 * double(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

/// 220 parts of 14 lengths from two stick lengths, kerf 1/8 in at 1/16 in.
shop::CuttingOrder shop_order(std::uint64_t seed) {
  Random random(seed);
  shop::CuttingOrder order;
  order.kerf = 2;
  order.stock = {{"8 ft", 1532, 498, {}, {}}, {"12 ft", 2300, 796, {}, {}}};
  for (int i = 0; i < 14; ++i)
    order.parts.push_back({"p", random.between(120, 900), i == 0 ? 25 : 15});
  return order;
}

// ---- the peers' cases -----------------------------------------------------------------------

/// The numbers that the peers' generator draws. Source: M. Matsumoto & T. Nishimura, ACM Trans.
/// Model. Comput. Simul. 8 (1998), 3-30, and their seeding by an array (2002).
class PeerRandom {
 public:
  explicit PeerRandom(std::uint32_t key) {
    seed(19650218u);
    std::uint32_t i = 1;
    const auto step = [&](std::uint32_t factor) {
      const std::uint32_t last = state_[i - 1];
      state_[i] ^= (last ^ (last >> 30)) * factor;
    };
    const auto next = [&] {
      if (++i >= 624) state_[0] = state_[623], i = 1;
    };
    for (int k = 0; k < 624; ++k) {
      step(1664525u);
      state_[i] += key;
      next();
    }
    for (int k = 0; k < 623; ++k) {
      step(1566083941u);
      state_[i] -= i;
      next();
    }
    state_[0] = 0x80000000u;
  }
  /// 0 <= value < count.
  std::uint32_t below(std::uint32_t count) {
    int bits = 0;
    while (count >> bits) ++bits;
    while (true)
      if (const std::uint32_t value = draw() >> (32 - bits); value < count) return value;
  }
  int between(int lo, int hi) { return lo + int(below(std::uint32_t(hi - lo + 1))); }

 private:
  void seed(std::uint32_t s) {
    state_[0] = s;
    for (std::uint32_t i = 1; i < 624; ++i)
      state_[i] = 1812433253u * (state_[i - 1] ^ (state_[i - 1] >> 30)) + i;
  }
  std::uint32_t draw() {
    if (at_ == 624) {
      for (std::size_t i = 0; i < 624; ++i) {
        const std::uint32_t y = (state_[i] & 0x80000000u) | (state_[(i + 1) % 624] & 0x7fffffffu);
        state_[i] = state_[(i + 397) % 624] ^ (y >> 1) ^ (y & 1 ? 0x9908b0dfu : 0);
      }
      at_ = 0;
    }
    std::uint32_t y = state_[at_++];
    y ^= y >> 11;
    y ^= (y << 7) & 0x9d2c5680u;
    y ^= (y << 15) & 0xefc60000u;
    return y ^ (y >> 18);
  }
  std::array<std::uint32_t, 624> state_{};
  std::size_t at_ = 624;
};

void add_part(shop::CuttingOrder& order, int length) {
  order.parts.push_back({"p", length, 1});
}

shop::CuttingOrder peer_sizes(int parts, int stick, int lo, int hi, std::uint32_t seed) {
  PeerRandom random(seed);
  shop::CuttingOrder order;
  order.stock = {{"s", stick, 1, {}, {}}};
  for (int i = 0; i < parts; ++i) add_part(order, random.between(lo, hi));
  return order;
}

shop::CuttingOrder peer_triplets(int parts, std::uint32_t seed) {
  PeerRandom random(seed);
  shop::CuttingOrder order;
  order.stock = {{"s", 1000, 1, {}, {}}};
  for (int i = 0; i < parts / 3; ++i) {
    const int a = random.between(380, 490);
    const int lo = (1000 - a) / 2 - 1, hi = 1000 - a - 250;
    const int b = lo < hi ? random.between(lo, hi) : (1000 - a) / 2;
    for (const int length : {a, b, 1000 - a - b}) add_part(order, length);
  }
  return order;
}

shop::CuttingOrder peer_shop() {
  PeerRandom random(96);
  std::vector<int> lengths;
  std::set<std::uint32_t> taken;
  while (lengths.size() < 14)
    if (const std::uint32_t at = random.below(800); taken.insert(at).second)
      lengths.push_back(160 + int(at));
  std::sort(lengths.rbegin(), lengths.rend());
  shop::CuttingOrder order;
  order.kerf = 2;
  order.stock = {{"8 ft", 96 * 16, 748, {}, {}}, {"10 ft", 120 * 16, 998, {}, {}}};
  for (const int length : lengths) add_part(order, length);
  for (int i = 14; i < 220; ++i) ++order.parts[random.below(14)].count;
  return order;
}

// ---- benchmarks -----------------------------------------------------------------------------

void solve(benchmark::State& state, const std::vector<shop::CuttingOrder>& orders,
           std::int64_t setup_rounds) {
  shop::CuttingOptions options;
  options.setup_rounds = setup_rounds;
  int proven = 0;
  double cost = 0;
  for (auto _ : state) {
    proven = 0;
    cost = 0;
    for (const auto& order : orders) {
      const auto plan = shop::solve_cutting(order, options).value();
      proven += plan.proven;
      cost += double(plan.cost);
    }
  }
  state.counters["proven"] = proven;
  state.counters["cost"] = cost;
}

void solve_family(benchmark::State& state, const std::string& family) {
  const std::string folder = std::string(ROOMWRIGHT_SHARED_DATA) + "/data/cut1d_classic/";
  int all = 0, proven = 0, gaps = 0;
  double worst = 0;
  for (auto _ : state)
    for (const auto& row : figures::read_rows(folder + "index.csv")) {
      if (row.at("family") != family) continue;
      shop::CuttingOrder order;
      order.stock = {{"s", std::stoll(row.at("capacity")), 1, {}, {}}};
      for (const auto& part : figures::read_rows(folder + "instances/" + row.at("name") + ".csv"))
        order.parts.push_back({"p", std::stoll(part.at("length")), std::stoll(part.at("count"))});
      shop::CuttingOptions options;
      options.setup_rounds = 0;
      const double begun = processor_seconds();
      const auto plan = shop::solve_cutting(order, options).value();
      const double spent = processor_seconds() - begun;
      ++all;
      proven += plan.proven && spent <= 1;
      gaps += int(plan.cost - plan.bound);
      worst = std::max(worst, spent);
    }
  state.counters["instances"] = all;
  state.counters["proven_in_1_s"] = proven;
  state.counters["worst_s"] = worst;
  state.counters["open_sticks"] = gaps;
}

void add(const std::string& name, std::vector<shop::CuttingOrder> orders, std::int64_t setup) {
  benchmark::RegisterBenchmark(name.c_str(), [orders = std::move(orders),
                                              setup](benchmark::State& state) {
    solve(state, orders, setup);
  })->Unit(benchmark::kMillisecond);
}

int add_all() {
  const std::int64_t usual = shop::CuttingOptions{}.setup_rounds;
  std::vector<shop::CuttingOrder> ten;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) ten.push_back(shop_order(seed));
  add("shop_order", {ten[0]}, usual);
  add("shop_batch_of_ten", ten, usual);
  add("peer_shop/with_setup", {peer_shop()}, usual);
  add("peer_shop", {peer_shop()}, 0);
  for (std::uint32_t s = 0; s < 3; ++s) {
    const std::string at = "_" + std::to_string(s);
    add("peer_u120" + at, {peer_sizes(120, 150, 20, 100, s)}, 0);
    add("peer_u250" + at, {peer_sizes(250, 150, 20, 100, 10 + s)}, 0);
    add("peer_t120" + at, {peer_triplets(120, s)}, 0);
    add("peer_scholl3" + at, {peer_sizes(100, 1000, 200, 400, 20 + s)}, 0);
  }
  if (!std::filesystem::exists(std::string(ROOMWRIGHT_SHARED_DATA) + "/data/cut1d_classic")) {
    std::puts("cutting: no classic instances without the folder of open data sets");
    return 0;
  }
  for (const char* family : {"falkenauer_u", "falkenauer_t", "scholl1", "scholl2", "scholl3",
                             "schwerin", "waescher", "hard28"})
    benchmark::RegisterBenchmark((std::string("classic_") + family).c_str(),
                                 [family](benchmark::State& state) { solve_family(state, family); })
        ->Unit(benchmark::kMillisecond)
        ->Iterations(1);
  return 0;
}

[[maybe_unused]] const int added = add_all();

}  // namespace
