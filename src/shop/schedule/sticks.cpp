// Sticks: parts of one section, counted by length, go to the cutting engine in whole grid steps;
// its plan comes back as marks with the names of the pieces, and as stop settings, longest first.
#include <algorithm>
#include <map>
#include <numeric>

#include "shop/schedule/plans.h"

namespace roomwright::shop {

namespace {

/// What the saw needs of one section: lengths, longest first, and whose each part is.
struct SectionWork {
  std::vector<Length> lengths;                      ///< distinct, falling
  std::map<Length, std::vector<StickPart>> owners;  ///< one entry a part, in the job's order
};

SectionWork section_work(const Parts& parts, const std::string& section) {
  SectionWork work;
  for (const StickPart& stick : parts.sticks)
    if (stick.section == section)
      for (int i = 0; i < stick.count; ++i) work.owners[stick.length].push_back(stick);
  for (auto at = work.owners.rbegin(); at != work.owners.rend(); ++at)
    work.lengths.push_back(at->first);
  return work;
}

/// Where a stock entry of the order came from.
struct StockOrigin {
  const StickStock* stock = nullptr;
  bool in_hand = false;
};

struct SectionOrder {
  CuttingOrder order;
  std::vector<StockOrigin> origins;
  std::int64_t step = 1;  ///< nanometres in one unit of the order
};

void add_stock(SectionOrder& made, const StickStock& stock, bool in_hand) {
  CuttingStock entry;
  entry.name = std::to_string(made.origins.size());
  entry.length = stock.shortest.nanometres();
  entry.cost = in_hand ? 0 : stock.price.minor_units();
  if (in_hand)
    entry.count = stock.in_hand;
  else if (stock.sold)
    entry.count = *stock.sold;
  made.order.stock.push_back(entry);
  made.origins.push_back({&stock, in_hand});
}

/// The order in the largest step that divides every length, so that the engine counts in small
/// numbers: a metric shop's in millimetres, an inch shop's in sixteenths.
void shrink_order(SectionOrder& made) {
  std::int64_t step = std::gcd(made.order.kerf, made.order.trim);
  for (const auto& stock : made.order.stock) step = std::gcd(step, stock.length);
  for (const auto& part : made.order.parts) step = std::gcd(step, part.length);
  if (step <= 1) return;
  made.step = step;
  made.order.kerf /= step;
  made.order.trim /= step;
  for (auto& stock : made.order.stock) stock.length /= step;
  for (auto& part : made.order.parts) part.length /= step;
}

SectionOrder section_order(const Timber& timber, const SectionWork& work, const Rules& rules) {
  SectionOrder made;
  made.order.kerf = rules.kerf.nanometres();
  made.order.trim = rules.end_trim.nanometres();
  for (const StickStock& stock : timber.sticks) {
    if (stock.in_hand > 0) add_stock(made, stock, true);
    add_stock(made, stock, false);
  }
  for (const Length length : work.lengths)
    made.order.parts.push_back({print_mm(length), length.nanometres(),
                                static_cast<std::int64_t>(work.owners.at(length).size())});
  shrink_order(made);
  return made;
}

/// Hands out the owners of each length in the job's order.
class Owners {
 public:
  explicit Owners(const SectionWork& work) : work_(work) {}
  const StickPart& next(Length length) { return work_.owners.at(length)[taken_[length]++]; }

 private:
  const SectionWork& work_;
  std::map<Length, std::size_t> taken_;
};

StickPattern pattern_of(const CutStick& stick, const SectionOrder& made, const SectionWork& work,
                        const Rules& rules, Owners& owners) {
  const StockOrigin& origin = made.origins[static_cast<std::size_t>(stick.stock)];
  StickPattern pattern;
  pattern.stock_length = origin.stock->length;
  pattern.in_hand = origin.in_hand;
  pattern.sticks = static_cast<int>(stick.repeat);
  pattern.offcut = Length::from_nm(stick.offcut * made.step);
  pattern.keep_offcut = pattern.offcut >= rules.least_offcut;
  for (const Cut& cut : stick.cuts) {
    const Length length = work.lengths[static_cast<std::size_t>(cut.part)];
    const Length from = Length::from_nm(cut.from * made.step) - rules.end_trim;
    pattern.marks.push_back({"", "", length, from, from + length});
  }
  for (int s = 0; s < pattern.sticks; ++s) {
    pattern.pieces.emplace_back();
    for (Mark& mark : pattern.marks) {
      const StickPart& owner = owners.next(mark.length);
      pattern.pieces.back().push_back(owner.piece + " " + owner.name);
      if (s == 0) mark.piece = owner.piece, mark.part = owner.name;
    }
  }
  return pattern;
}

/// `12 stiles (W1, W2)`, one entry a part name.
std::vector<std::string> owner_texts(const std::vector<StickPart>& owners) {
  std::vector<std::pair<std::string, std::vector<std::string>>> groups;
  std::vector<int> counts;
  for (const StickPart& owner : owners) {
    std::size_t g = 0;
    while (g < groups.size() && groups[g].first != owner.name) ++g;
    if (g == groups.size()) {
      groups.push_back({owner.name, {}});
      counts.push_back(0);
    }
    ++counts[g];
    auto& pieces = groups[g].second;
    if (pieces.empty() || pieces.back() != owner.piece) pieces.push_back(owner.piece);
  }
  std::vector<std::string> out;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    std::string text =
        std::to_string(counts[g]) + " " + groups[g].first + (counts[g] == 1 ? "" : "s") + " (";
    for (std::size_t i = 0; i < groups[g].second.size(); ++i)
      text += (i == 0 ? "" : ", ") + groups[g].second[i];
    out.push_back(text + ")");
  }
  return out;
}

void add_purchase(StickPlan& plan) {
  for (const StickPattern& pattern : plan.patterns) {
    (pattern.in_hand ? plan.sticks_from_rack : plan.sticks_to_buy) += pattern.sticks;
    plan.bought += pattern.stock_length * pattern.sticks;
    for (const Mark& mark : pattern.marks) plan.used += mark.length * pattern.sticks;
    if (pattern.in_hand) continue;
    bool known = false;
    for (auto& [length, count] : plan.buy)
      if (length == pattern.stock_length) count += pattern.sticks, known = true;
    if (!known) plan.buy.emplace_back(pattern.stock_length, pattern.sticks);
  }
  std::sort(plan.buy.begin(), plan.buy.end());
}

bool check_section(const std::string& section, const Timber& timber, const SectionWork& work,
                   const Rules& rules, Diagnostics& found) {
  Length longest;
  for (const StickStock& stock : timber.sticks)
    longest = std::max(longest, stock.shortest - rules.end_trim * 2);
  for (const Length length : work.lengths)
    if (length > longest) {
      const StickPart& owner = work.owners.at(length).front();
      found.add("timber." + section,
                "has no stick long enough for the " + owner.name + " of " + owner.piece,
                print_mm(length),
                "longest usable: " + print_mm(longest) +
                    "; add a longer stick or make the piece smaller");
      return false;
    }
  return true;
}

StickPlan plan_section(const std::string& section, const Timber& timber, const SectionWork& work,
                       const Shop& shop, const ScheduleOptions& asked, Diagnostics& found) {
  StickPlan plan;
  plan.section = section;
  plan.name = timber.name;
  plan.kerf = shop.rules.kerf;
  plan.end_trim = shop.rules.end_trim;
  if (!check_section(section, timber, work, shop.rules, found)) return plan;
  const SectionOrder made = section_order(timber, work, shop.rules);
  CuttingOptions options;
  options.watch = asked.watch;
  options.setup_rounds = asked.setup_rounds;
  const auto solved = solve_cutting(made.order, options);
  if (!solved) {
    for (const Complaint& item : solved.mistakes().items())
      found.add("timber." + section, item.what, item.got, item.remedy);
    return plan;
  }
  Owners owners(work);
  for (const CutStick& stick : solved->sticks)
    plan.patterns.push_back(pattern_of(stick, made, work, shop.rules, owners));
  for (const Length length : work.lengths)
    plan.stops.push_back({length, static_cast<int>(work.owners.at(length).size()),
                          owner_texts(work.owners.at(length))});
  plan.cost = Money::minor(solved->cost);
  plan.bound = Money::minor(solved->bound);
  plan.proven = solved->proven;
  add_purchase(plan);
  return plan;
}

/// What goes back to the rack gets a name to be written on it.
void name_offcuts(std::vector<StickPlan>& plans) {
  int number = 0;
  for (StickPlan& plan : plans)
    for (StickPattern& pattern : plan.patterns)
      for (int s = 0; pattern.keep_offcut && s < pattern.sticks; ++s)
        pattern.offcut_names.push_back("K" + std::to_string(++number));
}

}  // namespace

std::vector<StickPlan> plan_sticks(const Parts& parts, const Shop& shop,
                                   const ScheduleOptions& options, Diagnostics& found) {
  std::vector<StickPlan> plans;
  for (const auto& [section, timber] : shop.timber) {
    const SectionWork work = section_work(parts, section);
    if (!work.lengths.empty())
      plans.push_back(plan_section(section, timber, work, shop, options, found));
  }
  name_offcuts(plans);
  return plans;
}

}  // namespace roomwright::shop
