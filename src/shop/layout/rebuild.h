// Private to shop/layout: search by ruin and rebuild. Parts are taken out of a layout and put back
// another way, within material that is a little too small for the best layout yet; what does not
// fit waits in a pool, and the pool is to be emptied. (The idea: P. Shaw 1998; G. Schrimpf et al.
// 2000; both from memory.)
#pragma once

#include <chrono>
#include <functional>
#include <optional>

#include "shop/layout/bin.h"

namespace roomwright::shop {

/// What the search may spend.
struct Budget {
  std::int64_t nodes = 0, most_nodes = 0;
  double seconds = 0;
  std::chrono::steady_clock::time_point begun = std::chrono::steady_clock::now();
  const Watch* watch = nullptr;
  bool hurried = false;

  bool spent();
};

struct State {
  std::vector<Bin> bins;
  std::vector<std::int64_t> pool;    ///< by item: copies that are not placed
  std::vector<std::int64_t> opened;  ///< by material
  double missing = 0;                ///< weight of the pool
};

class Rebuild {
 public:
  Rebuild(const LayoutProblem& problem, Budget& budget, std::uint64_t seed);

  /// A roll: one bin, shortened again and again. Stops at `bound` (enlarged).
  State shortest(std::int64_t bound);
  /// Sheets: least cost for all; whether the pool could be emptied shows in `missing`.
  State cheapest(std::int64_t bound);
  /// Most value on all the sheets there are; `start` may hold a layout.
  State richest(double most, const Sheets2d* start = nullptr);

  /// Fills what is free from the pool, each order once, and gives the value that is placed.
  double refill(State& state);
  /// Bins filled as the trees say as far as counts reach, the pool with what is not in them.
  State state_of(const Sheets2d& sheets) const;
  static Sheets2d sheets_of(const State& state);

 private:
  using Goal = std::function<bool(const State&)>;
  struct Recipe {
    std::size_t order = 0;
    Liking liking = Liking::area;
    bool blinks = true;
    int dearest = 0;  ///< how a fresh sheet is chosen
  };
  State empty() const;
  void weigh(State& state) const;
  void fill(State& state, const Recipe& recipe, std::int64_t at_most_cost);
  bool open(State& state, std::size_t item, const Recipe& recipe, std::int64_t at_most_cost);
  void ruin(State& state, std::int64_t at_most_cost);
  Recipe recipe();
  void touch(std::size_t bin);
  void settle(State& state, State& kept);
  void restore(State& state, const State& kept);
  /// Works on the state until the pool is empty or `rounds` went by; true if empty.
  bool empty_pool(State& state, std::int64_t rounds, std::int64_t at_most_cost);
  State first_filling(std::int64_t height);
  std::optional<State> within(const State& best, std::int64_t height, bool shaken);
  void lower_cost(State& state, std::int64_t at_most_cost);
  std::int64_t step() const;

  const LayoutProblem& problem_;
  Budget& budget_;
  Random random_;
  std::vector<double> weights_;
  std::vector<std::vector<std::size_t>> orders_;
  std::vector<char> touched_;
  bool reshaped_ = false;
};

}  // namespace roomwright::shop
