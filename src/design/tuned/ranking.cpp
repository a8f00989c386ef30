// The best designs of each group (front, sheet of the front, drill or slot, board). Cavities come
// with a bound on what any front before them can score, so a group is done as soon as the next
// bound is below the few that it keeps; those few, of the most promising groups, are measured by
// the engine. Each group is one thread's own, and places break ties: the order of threads shows
// nowhere.
#include <algorithm>
#include <map>

#include "design/tuned/search.h"

namespace roomwright::design::tuned {

namespace {

constexpr std::size_t kept = 8;       // designs of a group, before they are measured
constexpr double most_octaves = 0.6;  // of mass, off the one that tunes: no further by a slope
constexpr double bound_slack = 0.05;  // points
constexpr double fit_slack = 0.02;    // of each limit, since the slopes are not exact

constexpr int most_alike_groups = 6;  // of one front, sheet and board
constexpr int least_of_front = 4;

struct Pick {
  double score = 0;  ///< by slopes
  std::size_t cavity = 0, box = 0, step = 0;
};

struct Group {
  const FrontPlan* plan = nullptr;
  int board = 0;
  std::vector<Pick> picks;  ///< best first
};

/// What the peak will be by the slopes of a cavity.
TrapPeak sloped(const Cavity& cavity, double octaves) {
  return {cavity.peak_hz * std::exp2(cavity.hz_slope * octaves),
          std::exp2(cavity.log_width + cavity.width_slope * octaves),
          cavity.absorption + cavity.absorption_slope * octaves};
}

bool nearly_fits(const TrapTarget& target, const TrapPeak& peak) {
  TrapTarget eased = target;
  TrapPeak raised = peak;
  raised.absorption += fit_slack;
  raised.hz = target.hz + (peak.hz - target.hz) * (1 - fit_slack);
  const double wide = std::log2(peak.half_width_hz / target.half_width_hz);
  raised.half_width_hz = target.half_width_hz * std::exp2(wide * (1 - fit_slack));
  return trap_fits(eased, raised);
}

Design design_of(const FrontPlan& plan, const Steps& steps, const Step& step,
                 const Cavity& cavity) {
  Design design;
  design.front = plan.front;
  design.sheet = plan.sheet;
  design.box = steps.box;
  design.board = cavity.board;
  design.layers = cavity.layers;
  design.place = cavity.place;
  design.opening = plan.opening;
  design.step = step.step;
  design.openings = step.openings;
  design.cavity = cavity.depth;
  return design;
}

/// A front that moves must not meet the board.
bool clears(const Workshop& with, const FrontPlan& plan, const Cavity& cavity) {
  if (plan.front != Front::membrane) return true;
  const shop::Board* board = with.boards[std::size_t(cavity.board)].item;
  if (!board) return true;
  if (cavity.place == FillPlace::behind_front) return false;
  const Length air = cavity.depth - board->thickness * cavity.layers;
  return air >= clear_of_plate * (cavity.place == FillPlace::middle ? 2 : 1);
}

/// Keeps the best few, by score, then as they came.
void keep(std::vector<Pick>& picks, const Pick& pick) {
  const auto at = std::upper_bound(picks.begin(), picks.end(), pick,
                                   [](const Pick& a, const Pick& b) { return a.score > b.score; });
  picks.insert(at, pick);
  if (picks.size() > kept) picks.pop_back();
}

double floor_of(const Group& group) {
  return group.picks.size() < kept ? -1e9 : group.picks.back().score;
}

/// One spacing before one cavity. True where none further from the mass that tunes it need be
/// tried: it fits, and the peak's frequency weighs so much that those score less; or it is too far.
bool try_step(const Workshop& with, const Cavity& cavity, const Pick& at, bool fit, Group& group) {
  const Steps& steps = group.plan->boxes[at.box];
  const Step& step = steps.steps[at.step];
  const double octaves = std::log2(step.mass_kg_m2 / cavity.mass_kg_m2);
  if (std::abs(octaves) > most_octaves) return true;
  const TrapPeak peak = sloped(cavity, octaves);
  if (fit && !nearly_fits(with.target, peak)) return false;
  if (trap_score(with.target, peak, {}) <= floor_of(group)) return true;
  const Design design = design_of(*group.plan, steps, step, cavity);
  const TrapEffort effort = effort_of(with, design);
  if (effort.depth > with.target.deepest) return true;
  const double score = trap_score(with.target, peak, effort);
  if (score > floor_of(group)) keep(group.picks, {score, at.cavity, at.box, at.step});
  return true;
}

/// Spacings outward from the mass that tunes the cavity, to either side.
void try_steps(const Workshop& with, const Cavity& cavity, std::size_t cavity_at, std::size_t box,
               bool fit, Group& group) {
  const std::vector<Step>& steps = group.plan->boxes[box].steps;
  const auto above =
      std::lower_bound(steps.begin(), steps.end(), cavity.mass_kg_m2,
                       [](const Step& step, double mass) { return step.mass_kg_m2 < mass; });
  const std::size_t middle = std::size_t(above - steps.begin());
  for (std::size_t i = middle; i < steps.size(); ++i)
    if (try_step(with, cavity, {0, cavity_at, box, i}, fit, group)) break;
  for (std::size_t i = middle; i > 0; --i)
    if (try_step(with, cavity, {0, cavity_at, box, i - 1}, fit, group)) break;
}

void fill_group(const Workshop& with, const std::vector<Cavity>& cavities,
                const std::vector<std::size_t>& by_bound, bool fit, Group& group) {
  for (const std::size_t at : by_bound) {
    const Cavity& cavity = cavities[at];
    if (cavity.bound + bound_slack <= floor_of(group)) break;
    if (!clears(with, *group.plan, cavity)) continue;
    for (std::size_t box = 0; box < group.plan->boxes.size(); ++box)
      try_steps(with, cavity, at, box, fit, group);
  }
}

/// False where no front before it can come near enough: within the frequency that is allowed the
/// half width and the absorption move by less than these.
bool may_fit(const TrapTarget& target, const Cavity& cavity) {
  constexpr double octaves = 0.5, absorption = 0.15;
  const double wide = std::abs(cavity.log_width - std::log2(target.half_width_hz));
  return wide < std::log2(greatest_width_factor) + octaves &&
         cavity.absorption > least_peak_absorption - absorption;
}

/// Cavities of each board that some mass tunes, highest bound first.
std::vector<std::vector<std::size_t>> by_board(const Workshop& with,
                                               const std::vector<Cavity>& cavities, bool fit) {
  std::vector<std::vector<std::size_t>> out(with.boards.size());
  for (std::size_t i = 0; i < cavities.size(); ++i)
    if (cavities[i].mass_kg_m2 > 0 && (!fit || may_fit(with.target, cavities[i])))
      out[std::size_t(cavities[i].board)].push_back(i);
  for (auto& list : out)
    std::stable_sort(list.begin(), list.end(), [&](std::size_t a, std::size_t b) {
      return cavities[a].bound > cavities[b].bound;
    });
  return out;
}

std::vector<Group> groups_of(const Workshop& with, const std::vector<FrontPlan>& plans,
                             const std::vector<Cavity>& cavities, bool fit) {
  std::vector<Group> groups;
  const auto lists = by_board(with, cavities, fit);
  for (const FrontPlan& plan : plans)
    for (std::size_t board = 0; board < with.boards.size(); ++board)
      if (!plan.boxes.empty() && !lists[board].empty()) groups.push_back({&plan, int(board), {}});
  parallel_for(groups.size(), with.threads, [&](std::size_t i) {
    fill_group(with, cavities, lists[std::size_t(groups[i].board)], fit, groups[i]);
  });
  return groups;
}

/// The most promising groups, not too many that differ by the drill alone, and some of each front.
std::vector<const Group*> promising(const std::vector<Group>& groups, std::size_t count) {
  std::vector<const Group*> all;
  for (const Group& group : groups)
    if (!group.picks.empty()) all.push_back(&group);
  std::stable_sort(all.begin(), all.end(), [](const Group* a, const Group* b) {
    return a->picks[0].score > b->picks[0].score;
  });
  std::vector<const Group*> out;
  std::map<std::array<int, 3>, int> by_kind;
  std::map<Front, int> by_front;
  for (const Group* group : all) {
    const FrontPlan& plan = *group->plan;
    int& alike = by_kind[{int(plan.front), plan.sheet, group->board}];
    int& of_front = by_front[plan.front];
    if (alike >= most_alike_groups || (out.size() >= count && of_front >= least_of_front)) continue;
    out.push_back(group);
    ++alike, ++of_front;
  }
  return out;
}

/// Whole designs by the engine; the best of the group's few.
std::optional<Scored> measure(const Workshop& with, const std::vector<Cavity>& cavities,
                              const Group& group, bool fit) {
  std::optional<Scored> best;
  for (const Pick& pick : group.picks) {
    const Steps& steps = group.plan->boxes[pick.box];
    Scored scored;
    scored.design = design_of(*group.plan, steps, steps.steps[pick.step], cavities[pick.cavity]);
    const auto peak = trap_peak(stack_of(with, scored.design, {}), with.air, with.target.hz);
    if (!peak || (fit && !trap_fits(with.target, *peak))) continue;
    scored.peak = *peak;
    scored.score = trap_score(with.target, *peak, effort_of(with, scored.design));
    if (!best || scored.score > best->score + 1e-6) best = scored;
  }
  return best;
}

}  // namespace

Ranking rank(const Workshop& with, const std::vector<FrontPlan>& plans,
             const std::vector<Cavity>& cavities, std::size_t groups, bool fit) {
  const std::vector<Group> all = groups_of(with, plans, cavities, fit);
  const std::vector<const Group*> chosen = promising(all, groups);
  std::vector<std::optional<Scored>> measured(chosen.size());
  parallel_for(chosen.size(), with.threads,
               [&](std::size_t i) { measured[i] = measure(with, cavities, *chosen[i], fit); });
  Ranking out;
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    out.measured += chosen[i]->picks.size();
    if (measured[i]) out.best.push_back(*measured[i]);
  }
  const auto rounded_score = [](const Scored& one) { return std::llround(one.score * 1e4); };
  std::stable_sort(out.best.begin(), out.best.end(), [&](const Scored& a, const Scored& b) {
    return rounded_score(a) > rounded_score(b);
  });
  return out;
}

}  // namespace roomwright::design::tuned
