// From a target to ranked answers: what is asked is checked, the fronts and cavities of the shop
// are worked out and ranked, and unlike ones are chosen. Where nothing fits, the least depth that
// would do is searched for, so that the error can say it.
#include "design/tuned/tuned.h"

#include <algorithm>

#include "design/tuned/search.h"

namespace roomwright::design {

namespace tuned {

namespace {

constexpr Length least_box_sheet = Length::from_mm(9);
constexpr Length least_side = Length::from_mm(100), greatest_side = Length::from_mm(3000);
constexpr Length greatest_depth = Length::from_mm(700);  // cavity and two stout sheets
constexpr Length unlike = Length::from_mm(4);            // drills and slots that differ
constexpr Length unlike_inch = sixteenth_inch * 3;       // the same in sixteenths: 3/16 in
constexpr int most_alike = 2;
constexpr const char* start_again = "start it again";

// ---- what is asked --------------------------------------------------------------------------

void check_hertz(const TrapTarget& target, Diagnostics& found) {
  if (!(target.hz >= 20 && target.hz <= 500))
    found.add("target.hz", "must be from 20 to 500", target.hz,
              "higher up porous absorbers do better, lower down no box of this kind is practical");
  if (!(target.half_width_hz >= 1 && target.half_width_hz <= 200))
    found.add("target.half_width_hz", "must be from 1 to 200", target.half_width_hz,
              "such as a third of the frequency");
  else if (!(target.half_width_hz < target.hz))
    found.add("target.half_width_hz", "must be below the frequency", target.half_width_hz,
              "such as a third of it");
}

void check_sizes(const TrapTarget& target, Diagnostics& found) {
  for (const auto& [key, side] :
       {std::pair{"target.width", target.width}, {"target.height", target.height}})
    if (side < least_side || side > greatest_side)
      found.add(key, "must be from 100 mm to 3000 mm", print_mm(side),
                "give the box's outside size");
  if (target.deepest <= Length())
    found.add("target.deepest", "must be above 0", print_mm(target.deepest),
              "give the depth that is free, such as 180 mm");
  if (target.fronts.empty())
    found.add("target.fronts", "names no front", {}, "perforated, slotted, membrane");
}

template <class T>
void check_key(const std::map<std::string, T>& entries, const std::string& key, const char* where,
               const char* group, Diagnostics& found) {
  if (key.empty() || entries.count(key)) return;
  std::string known;
  for (const auto& [name, entry] : entries) known += (known.empty() ? "" : ", ") + name;
  found.add(where, "is not in the shop file", "\"" + key + "\"",
            std::string("give one of its ") + group + (known.empty() ? " (none)" : ": " + known));
}

Diagnostics check_target(const TrapTarget& target, const shop::Shop& shop) {
  Diagnostics found;
  check_hertz(target, found);
  check_sizes(target, found);
  if (shop.sheets.empty())
    found.add("shop.sheets", "has no sheet", {}, "a tuned trap needs sheet material: add some");
  else
    check_key(shop.sheets, target.sheet, "target.sheet", "sheets", found);
  check_key(shop.boards, target.board, "target.board", "boards", found);
  check_key(shop.cloths, target.cloth, "target.cloth", "cloths", found);
  if (shop.boards.empty() && target.cloth.empty())
    found.add("shop.boards", "has no board, and no cloth is asked for", {},
              "something must brake the air: add a board, or name a cloth");
  return found;
}

// ---- what the search draws from -------------------------------------------------------------

std::vector<Length> sizes(Length from, Length to, Length step) {
  std::vector<Length> out;
  for (Length size = from; size <= to; size += step) out.push_back(size);
  return out;
}

std::vector<Length> usual_slots(bool metric) {
  return metric ? sizes(Length::from_mm(3), Length::from_mm(20), Length::from_mm(1))
                : sizes(eighth_inch, sixteenth_inch * 13, sixteenth_inch);
}

/// Box sheets that leave 100 mm inside.
void add_sheets(Workshop& with) {
  const TrapTarget& target = with.target;
  for (const auto& [key, sheet] : with.shop->sheets) {
    with.sheets.push_back({key, &sheet});
    const bool asked =
        target.sheet.empty() ? sheet.thickness >= least_box_sheet : key == target.sheet;
    const Length inside = std::min(target.width, target.height) - sheet.thickness * 2;
    if (asked && inside >= least_side) with.boxes.push_back({key, &sheet});
    const double area_m2 = sheet.width.metres() * sheet.height.metres();
    with.dearest_per_m2 =
        std::max(with.dearest_per_m2, double(sheet.price.minor_units()) / area_m2);
  }
}

Workshop workshop_of(const TrapTarget& target, const shop::Shop& shop, const acoustics::Air& air,
                     const TrapOptions& options) {
  Workshop with;
  with.target = target;
  with.shop = &shop;
  with.air = air;
  with.threads = options.threads;
  const bool metric = shop.units.metric;
  with.grid = metric ? Length::from_mm(1) : sixteenth_inch;
  add_sheets(with);
  for (const auto& [key, board] : shop.boards)
    if (target.board.empty() || key == target.board) {
      const auto wool = wool_resistivity(board);
      with.boards.push_back(
          {key, &board, wool.low_pa_s_m2, wool.likely_pa_s_m2, wool.high_pa_s_m2});
    }
  if (target.board.empty()) with.boards.push_back({});
  if (!target.cloth.empty()) with.cloth = &shop.cloths.at(target.cloth);
  with.drills = options.drills.empty() ? usual_drills(metric) : options.drills;
  with.slots = usual_slots(metric);
  return with;
}

Length thinnest(const std::vector<Named<shop::Sheet>>& sheets) {
  Length out = greatest_depth;
  for (const auto& sheet : sheets) out = std::min(out, sheet.item->thickness);
  return out;
}

/// The deepest cavity that some front and box leave inside an outside depth.
Length deepest_cavity(const Workshop& with, Length outside) {
  return std::min(greatest_cavity, outside - thinnest(with.sheets) - thinnest(with.boxes));
}

bool has_front(const std::vector<FrontPlan>& plans) {
  return std::any_of(plans.begin(), plans.end(), [](const FrontPlan& plan) {
    return std::any_of(plan.boxes.begin(), plan.boxes.end(),
                       [](const Steps& steps) { return !steps.steps.empty(); });
  });
}

std::size_t count_fronts(const std::vector<FrontPlan>& plans) {
  std::size_t out = 0;
  for (const FrontPlan& plan : plans)
    for (const Steps& steps : plan.boxes) out += steps.steps.size();
  return out;
}

// ---- where nothing fits ---------------------------------------------------------------------

constexpr std::size_t few_groups = 12;

bool fits_within(Workshop& with, const std::vector<FrontPlan>& plans,
                 const std::vector<Cavity>& cavities, Length outside) {
  with.target.deepest = outside;
  return !rank(with, plans, cavities, few_groups, true).best.empty();
}

/// What fits within a depth fits within any larger one, so halving finds the least.
Length least_depth(Workshop& with, const std::vector<FrontPlan>& plans,
                   const std::vector<Cavity>& cavities, Length without, Length does) {
  while (does - without > with.grid) {
    const Length middle = Length::from_nm((without + does).nanometres() / 2).round_up_to(with.grid);
    if (middle >= does) break;
    (fits_within(with, plans, cavities, middle) ? does : without) = middle;
  }
  return does;
}

Complaint too_shallow(Workshop& with, const std::vector<FrontPlan>& plans,
                      const std::vector<Cavity>& cavities, Length least) {
  const Length asked = with.target.deepest;
  with.target.deepest = least;
  const Scored best = rank(with, plans, cavities, few_groups, true).best.front();
  return {"target.deepest", "is too little for this frequency and half width",
          size_text(asked, with.shop->units),
          "give at least " + size_text(outside_depth(with, best.design), with.shop->units) +
              ", by " + front_text(with, best.design) + "; or ask for a smaller half width",
          0};
}

Complaint out_of_reach(const Workshop& with, const std::vector<FrontPlan>& plans,
                       const std::vector<Cavity>& cavities) {
  const Ranking near = rank(with, plans, cavities, few_groups, false);
  if (near.best.empty())
    return {"target", "no front and fill of this shop peaks near it at any depth", with.target.hz,
            "ask for another frequency, or add boards and sheets to the shop file", 0};
  const Scored& best = near.best.front();
  return {"target",
          "no front and fill of this shop comes near it at any depth; the nearest peaks at " +
              fixed(best.peak.hz, 1) + " Hz with a half width of " +
              fixed(best.peak.half_width_hz, 1) + " Hz and an absorption of " +
              fixed(best.peak.absorption, 2) + ", by " + front_text(with, best.design),
          with.target.hz,
          "ask for what lies nearer to that, allow more fronts, or add boards to the shop file", 0};
}

/// Deeper and deeper, until something fits.
Complaint nothing_fits(Workshop with, const std::vector<FrontPlan>& plans,
                       std::vector<Cavity> cavities, const Watch& watch) {
  const Length asked = with.target.deepest;
  Length without = asked, known = std::max(least_cavity - with.grid, deepest_cavity(with, asked));
  const Length end = greatest_depth;
  while (without < end && !watch.cancelled()) {
    const Length next = std::min(
        end, std::max(Length::from_nm(without.nanometres() / 4 * 5), without + least_cavity * 3));
    const Length reach = deepest_cavity(with, next);
    const auto more =
        cavities_of(with, masses_of(plans), known + with.grid, reach, watch, {0.5, 0.9});
    cavities.insert(cavities.end(), more.begin(), more.end());
    known = std::max(known, reach);
    if (fits_within(with, plans, cavities, next)) {
      const Length least = least_depth(with, plans, cavities, without, next);
      with.target.deepest = asked;
      return too_shallow(with, plans, cavities, least);
    }
    without = next;
  }
  if (watch.cancelled()) return {"tuned traps", "was cancelled", {}, start_again, 0};
  with.target.deepest = std::max(asked, end);
  return out_of_reach(with, plans, cavities);
}

// ---- unlike answers -------------------------------------------------------------------------

/// Whether one more design says something that those chosen do not.
bool adds(const std::vector<Scored>& chosen, const Scored& one, Length apart) {
  int alike = 0;
  for (const Scored& other : chosen) {
    const Design &a = one.design, &b = other.design;
    if (a.front != b.front || a.sheet != b.sheet || a.board != b.board) continue;
    const Length between = a.opening > b.opening ? a.opening - b.opening : b.opening - a.opening;
    if (between < apart || ++alike >= most_alike) return false;
  }
  return true;
}

/// The best unlike ones; the best of each front is among them, in the last places if need be.
std::vector<Scored> choose(const Workshop& with, const Ranking& ranking, std::size_t most) {
  const Length apart = with.shop->units.metric ? unlike : unlike_inch;
  std::vector<Scored> all;
  for (const Scored& one : ranking.best)
    if (adds(all, one, apart)) all.push_back(one);
  std::vector<bool> first(all.size(), false);
  std::size_t owed = 0;
  for (const Front front : {Front::perforated, Front::slotted, Front::membrane})
    for (std::size_t i = 0; i < all.size(); ++i)
      if (all[i].design.front == front) {
        first[i] = true;
        ++owed;
        break;
      }
  std::vector<Scored> out;
  for (std::size_t i = 0; i < all.size() && out.size() < most; ++i) {
    if (first[i]) --owed;
    if (first[i] || out.size() + owed < most) out.push_back(all[i]);
  }
  return out;
}

}  // namespace

}  // namespace tuned

Diagnostics TrapOptions::check() const {
  Diagnostics found;
  if (most < 1 || most > 100)
    found.add("options.most", "must be from 1 to 100", double(most), "such as 12");
  if (threads < 0 || threads > 1024)
    found.add("options.threads", "must be from 0 to 1024", double(threads), "0: the machine's");
  for (std::size_t i = 0; i < drills.size(); ++i)
    if (drills[i] < Length::from_mm(1) || drills[i] > Length::from_mm(80))
      found.add("options.drills[" + std::to_string(i) + "]", "must be from 1 mm to 80 mm",
                print_mm_tenths(drills[i]), "give the drill's diameter");
  return found;
}

std::vector<Length> usual_drills(bool metric) {
  return metric ? tuned::sizes(Length::from_mm(3), Length::from_mm(25), Length::from_mm(1))
                : tuned::sizes(eighth_inch, Length::from_inch(1), sixteenth_inch);
}

Result<TrapReport> design_traps(const TrapTarget& target, const shop::Shop& shop,
                                const acoustics::Air& air, const TrapOptions& options,
                                const Watch& watch) {
  Diagnostics found = tuned::check_target(target, shop);
  found.add_all(options.check());
  if (!found.empty()) return found;
  const tuned::Workshop with = tuned::workshop_of(target, shop, air, options);
  if (with.boxes.empty())
    return Complaint{"target.sheet",
                     "no sheet of the shop makes a box of this size",
                     {},
                     "it takes one of at least 9 mm that leaves 100 mm inside: add one to the "
                     "shop file, name one, or make the box wider",
                     0};
  const std::vector<tuned::FrontPlan> plans = tuned::front_plans(with);
  if (!tuned::has_front(plans))
    return Complaint{"target.fronts",
                     "no sheet of the shop makes such a front",
                     {},
                     "a plain front needs a sheet that is limp for this frequency: allow drilled "
                     "or slotted fronts, take a thinner sheet, or make the box larger",
                     0};
  const std::vector<tuned::Cavity> cavities =
      tuned::cavities_of(with, tuned::masses_of(plans), tuned::least_cavity,
                         tuned::deepest_cavity(with, target.deepest), watch, {0, 0.5});
  const std::size_t groups = std::size_t(options.most) * 6 + 24;
  const tuned::Ranking ranking = tuned::rank(with, plans, cavities, groups, true);
  if (watch.cancelled())
    return Complaint{"tuned traps", "was cancelled", {}, tuned::start_again, 0};
  if (ranking.best.empty()) return tuned::nothing_fits(with, plans, cavities, watch);
  watch.tick(0.8, "answers");
  auto answers =
      tuned::answers_of(with, tuned::choose(with, ranking, std::size_t(options.most)), options);
  if (!answers) return answers.mistakes();
  watch.tick(1, "answers");
  return TrapReport{std::move(*answers), cavities.size(), tuned::count_fronts(plans),
                    ranking.measured,
                    "every cavity's impedance by its layers, fronts as masses before it, the best "
                    "measured as whole stacks at normal incidence"};
}

}  // namespace roomwright::design
