// What is asked, by which of the folder's ways: bounds first, then plans until one meets the bound
// or the work allowed is done. See layout.h.
#include "shop/layout/layout.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "shop/layout/fill.h"
#include "shop/layout/joins.h"
#include "shop/layout/patterns.h"
#include "shop/layout/scales.h"
#include "shop/layout/table.h"

namespace roomwright::shop {

namespace {

constexpr std::int64_t most_searched = 3000;  ///< parts; more are filled in fixed orders only

constexpr std::int64_t most_joined = 16;  ///< parts of which every block is looked at
constexpr std::int64_t most_join_nodes = 40'000'000;
constexpr std::int64_t one_walk = 900'000'000;  ///< nodes; of more work another walk begins
constexpr std::int64_t most_pattern_work = 500'000'000;
constexpr std::int64_t most_table_work = 2'000'000'000;

std::int64_t suggested_nodes(const LayoutProblem& problem) {
  std::int64_t sizes = 0;
  for (const Item& item : problem.items) sizes += item.turns ? 2 : 1;
  // A roll of many sizes walks among layouts of one length: that takes longer, and pays.
  return std::clamp<std::int64_t>(300'000 * sizes * sizes, 6'000'000,
                                  problem.roll ? one_walk : 300'000'000);
}

class Solving {
 public:
  Solving(const LayoutOrder& order, const LayoutOptions& options)
      : order_(order), options_(options), problem_(problem_of(order)) {
    budget_.most_nodes = options.max_nodes > 0 ? options.max_nodes : suggested_nodes(problem_);
    budget_.seconds = options.seconds;
    budget_.watch = &options_.watch;
  }

  Result<LayoutPlan> solve() {
    if (problem_.most)
      value();
    else if (problem_.roll)
      roll();
    else
      sheets();
    if (!best_)
      return Complaint{
          "sheets", "do not suffice for all parts", {}, "add sheets or raise their count", 0};
    finish();
    return *best_;
  }

 private:
  void roll() {
    LayoutProblem plain = problem_;
    plain.repeat = 0;
    std::int64_t slack = 0;
    for (Item& item : plain.items) {
      slack = std::max(slack, item.slack);
      item.height -= item.slack;
      item.slack = 0;
    }
    for (const bool newest : {false, true})
      for (const bool as_given : {false, true})
        offer(plan_of(order_, problem_, shelves(problem_, newest, as_given)));
    if (options_.paid && problem_.repeat == 0) return paid_roll();
    const std::int64_t kerf = problem_.kerf;
    const std::int64_t enough = best_ ? least_paid_alike(best_->used) + kerf : INT64_MAX / 4;
    bound_ = std::max<std::int64_t>(0, roll_bound(plain, enough, options_.watch) - kerf);
    if (problem_.repeat == 0) {
      const std::int64_t grain = height_grain();
      bound_ = (bound_ + kerf + grain - 1) / grain * grain - kerf;
    }
    if (problem_.repeat > 0 && !free_phases(order_))
      bound_ =
          std::max(bound_, roll_bound(problem_, enough + slack, options_.watch) - slack - kerf);
    if (done()) return;
    offer(fill_plan(order_, problem_, bound_, problem_.repeat > 0 ? 400 : 20, budget_));
    if (done() || free_phases(order_) || problem_.pieces() > most_searched) return;
    // Small orders: what a short search leaves open, blocks may settle.
    if (problem_.pieces() <= most_joined && problem_.repeat == 0) {
      rebuild_roll(budget_.most_nodes / 8);
      if (!done()) join_lengths();
    }
    if (!done()) rebuild_roll(budget_.most_nodes);
  }
  /// For a price: a short search first, then whether the scales forbid what would be paid less; a
  /// bound that only comes nearer is worth nothing here.
  void paid_roll() {
    const std::int64_t kerf = problem_.kerf;
    bound_ = std::max<std::int64_t>(
        0, static_cast<std::int64_t>(
               std::ceil(problem_.area() / double(problem_.materials[0].width) * (1 - 1e-11))) -
               kerf);
    if (done()) return;
    offer(fill_plan(order_, problem_, bound_, 20, budget_));
    if (done() || problem_.pieces() > most_searched) return;
    rebuild_roll(budget_.most_nodes / 16);
    if (done()) return;
    const std::int64_t alike = least_paid_alike(best_->used);
    if (roll_too_short(problem_, alike - 1 + kerf, true, options_.watch)) bound_ = alike;
    if (!done() && problem_.pieces() <= most_joined) join_lengths();
    if (!done()) rebuild_roll(budget_.most_nodes);
  }
  void rebuild_roll(std::int64_t nodes) {
    const std::int64_t most = std::min(budget_.most_nodes, budget_.nodes + nodes);
    for (std::uint64_t seed = 20261; !done() && budget_.nodes < most && !budget_.hurried; ++seed) {
      Budget share = budget_;
      share.most_nodes = std::min(most, budget_.nodes + one_walk);
      Rebuild rebuild(problem_, share, seed);
      const State state = rebuild.shortest(most_paid_alike(bound_) + problem_.kerf);
      budget_.nodes = std::max(share.nodes, budget_.nodes + 1);
      budget_.hurried = share.hurried;
      offer(plan_of(order_, problem_, Rebuild::sheets_of(state)));
    }
  }

  /// Lengths from the bound upwards, as long as blocks can tell whether all goes into them.
  void join_lengths() {
    if (problem_.repeat > 0 || problem_.pieces() > most_joined) return;
    const std::int64_t kerf = problem_.kerf;
    for (std::int64_t grain = height_grain(); !done();) {
      std::int64_t length = (bound_ + kerf + grain - 1) / grain * grain;
      if (options_.paid) {  // what is paid less, as long as that goes
        length = (least_paid_alike(best_->used) - 1 + kerf) / grain * grain;
        if (length < bound_ + kerf) {
          bound_ = std::min(best_->used, length + grain - kerf);
          return;
        }
      }
      Budget blocks;
      blocks.watch = budget_.watch;
      const JoinResult joined =
          join_all(problem_, problem_.materials[0].width, length, most_join_nodes, blocks);
      if (joined.how == Joined::given_up) return;
      if (joined.how == Joined::found) {
        offer(plan_of(order_, problem_, {{0, joined.tree}}));
        if (options_.paid) continue;
        bound_ = best_->used;
        return;
      }
      bound_ = std::min(best_->used, length + grain - kerf);
    }
  }
  /// Every length that a layout can have is a multiple of it.
  std::int64_t height_grain() const {
    std::int64_t grain = 0;
    for (const Item& item : problem_.items) {
      grain = std::gcd(grain, item.height);
      if (item.turns) grain = std::gcd(grain, item.width);
    }
    return std::max<std::int64_t>(1, grain);
  }

  void sheets() {
    const std::int64_t pieces = problem_.pieces();
    if (problem_.materials.size() == 1) {
      const Sheets2d rows = shelves(problem_);
      if (!rows.empty() || pieces == 0) offer(plan_of(order_, problem_, rows));
      // A bound above one sheet less than these is all that can be asked.
      if (options_.paid) return paid_sheets();
      const double enough = rows.empty() ? 1e300 : double(rows.size()) - 1 + 1e-6;
      bound_ = cost_of(problem_, {sheet_count_bound(problem_, enough, false, options_.watch)});
      if (done()) return;
    }
    offer(fill_plan(order_, problem_, bound_, 20, budget_));
    if (problem_.materials.size() > 1) bound_by_patterns();
    if (done() || pieces > most_searched) return;
    rebuild_sheets(budget_.most_nodes / 16);
    if (!done() && problem_.materials.size() == 1) bound_by_patterns();
    if (!done()) rebuild_sheets(budget_.most_nodes);
  }
  /// As paid_roll, for sheets of one kind.
  void paid_sheets() {
    const Material& sheet = problem_.materials[0];
    bound_ = cost_of(problem_,
                     {static_cast<std::int64_t>(std::ceil(problem_.area() / double(sheet.width) /
                                                          double(sheet.height) * (1 - 1e-11)))});
    if (done()) return;
    offer(fill_plan(order_, problem_, bound_, 20, budget_));
    if (done() || problem_.pieces() > most_searched) return;
    rebuild_sheets(budget_.most_nodes / 16);
    if (done() || !best_) return;
    const double enough = double(best_->sheets_used.size()) - 1 + 1e-6;
    bound_ = std::max(
        bound_, cost_of(problem_, {sheet_count_bound(problem_, enough, true, options_.watch)}));
    if (!done()) rebuild_sheets(budget_.most_nodes);
  }
  void bound_by_patterns() {
    const std::int64_t enough = best_ ? best_->used : INT64_MAX / 4;
    bound_ = std::max(bound_, pattern_bound(problem_, enough, most_pattern_work, budget_));
  }
  void rebuild_sheets(std::int64_t nodes) {
    Budget share = budget_;
    share.most_nodes = std::min(budget_.most_nodes, budget_.nodes + nodes);
    Rebuild rebuild(problem_, share, 20261);
    const State state = rebuild.cheapest(most_paid_alike(bound_));
    budget_.nodes = share.nodes;
    budget_.hurried = share.hurried;
    if (state.missing <= 0) offer(plan_of(order_, problem_, Rebuild::sheets_of(state)));
  }

  void value() {
    offer(plan_of(order_, problem_, {}));
    offer(fill_plan(order_, problem_, -1, 20, budget_));
    const ValueBound found = value_bound(problem_, double(best_->used), most_table_work, budget_);
    bound_ = static_cast<std::int64_t>(std::floor(found.bound * (1 + 1e-12) + 1e-6));
    if (found.layout) offer(plan_of(order_, problem_, *found.layout));
    if (done() || problem_.items.empty()) return;
    // A short search first: blocks need something to beat.
    if (found.layout) rebuild_value(&*found.layout, budget_.most_nodes / 16);
    if (!done()) join_value();
    if (!done() && found.layout)
      rebuild_value(&*found.layout, (budget_.most_nodes - budget_.nodes) / 2);
    if (!done()) rebuild_value(nullptr, budget_.most_nodes);
  }
  void rebuild_value(const Sheets2d* start, std::int64_t nodes) {
    Budget share = budget_;
    share.most_nodes = std::min(budget_.most_nodes, budget_.nodes + nodes);
    const State state = Rebuild(problem_, share, 20261).richest(double(bound_), start);
    budget_.nodes = share.nodes;
    budget_.hurried = share.hurried;
    offer(plan_of(order_, problem_, Rebuild::sheets_of(state)));
  }
  /// One sheet: blocks may show that nothing better is left, or find it.
  void join_value() {
    if (problem_.materials.size() != 1 || problem_.materials[0].count != 1) return;
    Budget blocks;
    blocks.watch = budget_.watch;
    const Material& sheet = problem_.materials[0];
    const MostJoined joined = join_most(problem_, sheet.width, sheet.height, double(best_->used),
                                        most_join_nodes / 2, blocks);
    if (joined.value > 0) offer(plan_of(order_, problem_, {{0, joined.tree}}));
    if (joined.complete) bound_ = best_->used;
  }

  void offer(std::optional<LayoutPlan> plan) {
    if (!plan) return;
    if (!best_ || (problem_.most ? plan->used > best_->used : plan->used < best_->used))
      best_ = std::move(plan);
  }
  bool done() const {
    return best_ && (best_->used == bound_ ||
                     (options_.paid && options_.paid(best_->used) == options_.paid(bound_)));
  }
  /// The least, and of what is found the most, that is paid as so much is.
  std::int64_t least_paid_alike(std::int64_t used) const {
    if (!options_.paid) return used;
    std::int64_t low = -1, high = used;  // paid less, paid alike
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      (options_.paid(middle) < options_.paid(used) ? low : high) = middle;
    }
    return high;
  }
  std::int64_t most_paid_alike(std::int64_t used) const {
    if (!options_.paid || !best_) return used;
    std::int64_t low = used, high = best_->used + 1;
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      (options_.paid(middle) > options_.paid(used) ? high : low) = middle;
    }
    return low;
  }

  void finish() {
    RW_ASSERT(problem_.most ? bound_ >= best_->used : bound_ <= best_->used);
    best_->bound = bound_;
    best_->proven = best_->used == bound_;
    best_->hurried = budget_.hurried;
    best_->nodes = budget_.nodes;
    best_->method = best_->proven     ? "a layout meets the bound"
                    : budget_.hurried ? "stopped early at the caller's wish; the gap stands"
                                      : "the best that the work allowed found; the gap stands";
  }

  const LayoutOrder& order_;
  const LayoutOptions& options_;
  LayoutProblem problem_;
  Budget budget_;
  std::optional<LayoutPlan> best_;
  std::int64_t bound_ = 0;
};

}  // namespace

TrianglePair triangle_pair(std::int64_t width, std::int64_t height, std::int64_t kerf) {
  // A similar triangle whose hypotenuse lies half a kerf further out.
  const auto w = static_cast<long double>(width), h = static_cast<long double>(height);
  const long double out = static_cast<long double>(kerf) / 2 * std::sqrt(w * w + h * h);
  return {width + static_cast<std::int64_t>(std::ceil(out / h)),
          height + static_cast<std::int64_t>(std::ceil(out / w))};
}

Result<LayoutPlan> solve_layout(const LayoutOrder& order, const LayoutOptions& options) {
  Diagnostics found;
  check_order(order, found);
  if (!found.empty()) return found;
  return Solving(order, options).solve();
}

}  // namespace roomwright::shop
