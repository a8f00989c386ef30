// Every front that the shop can make, as the mass that it moves. Many pitches make room for the
// same number of holes; the one that spreads them most evenly stands for them all.
#include <algorithm>
#include <map>

#include "design/tuned/search.h"

namespace roomwright::design::tuned {

namespace {

constexpr Length greatest_pitch = Length::from_mm(500);
constexpr Length least_slat = Length::from_mm(20), greatest_slat = Length::from_mm(400);
constexpr int least_openings = 2;  // each way
constexpr double poisson = 0.3;    // of the plate's own bending, from memory

/// How many openings there are, and how far from an even spread.
struct Spread {
  std::int64_t openings = 0;
  std::int64_t uneven_nm = 0;
};

/// As make_product sets holes: a margin of one drill at least.
Spread holes_at(const Inside& inside, Length hole, Length pitch) {
  const auto along = [&](Length side) {
    const std::int64_t room = (side - hole * 2).nanometres();
    return room < 0 ? std::int64_t{0} : room / pitch.nanometres() + 1;
  };
  const std::int64_t across = along(inside.width), up = along(inside.height);
  if (across < least_openings || up < least_openings) return {};
  return {across * up, std::abs((inside.width - pitch * across).nanometres()) +
                           std::abs((inside.height - pitch * up).nanometres())};
}

Spread slots_at(const Inside& inside, Length slot, Length slat) {
  const std::int64_t slots = (inside.height + slat).nanometres() / (slot + slat).nanometres();
  if (slots < least_openings) return {};
  return {slots, std::abs((inside.height - (slot + slat) * slots).nanometres())};
}

/// The evenest spacing for each number of openings, the smallest of equals.
template <class At>
std::map<std::int64_t, Length> spacings(Length from, Length to, Length grid, const At& at) {
  std::map<std::int64_t, std::pair<std::int64_t, Length>> best;
  for (Length step = from.round_up_to(grid); step <= to; step += grid) {
    const Spread spread = at(step);
    if (spread.openings < 1 || spread.openings > most_holes) continue;
    const auto [entry, fresh] = best.try_emplace(spread.openings, spread.uneven_nm, step);
    if (!fresh && spread.uneven_nm < entry->second.first) entry->second = {spread.uneven_nm, step};
  }
  std::map<std::int64_t, Length> out;
  for (const auto& [openings, entry] : best) out[openings] = entry.second;
  return out;
}

std::map<std::int64_t, Length> spacings_of(const Workshop& with, Front front, Length opening,
                                           int box) {
  const Inside inside = inside_of(with, box);
  if (front == Front::perforated)
    return spacings(opening * 2, greatest_pitch, with.grid,
                    [&](Length pitch) { return holes_at(inside, opening, pitch); });
  return spacings(least_slat, greatest_slat, with.grid,
                  [&](Length slat) { return slots_at(inside, opening, slat); });
}

double mass_of(const Workshop& with, const Design& design) {
  return front_mass_kg_m2(front_layer_of(with, design, {}), with.air);
}

Steps steps_of(const Workshop& with, Design design, const std::map<std::int64_t, Length>& spaced) {
  Steps out;
  out.box = design.box;
  for (const auto& [openings, step] : spaced) {
    design.openings = int(openings);
    design.step = step;
    out.steps.push_back({step, design.openings, mass_of(with, design)});
  }
  std::reverse(out.steps.begin(), out.steps.end());  // fewer openings move more mass
  return out;
}

/// Any design with this front; the board does not matter.
Design with_front(Front front, Length opening) {
  Design design;
  design.front = front;
  design.opening = opening;
  design.cavity = least_cavity;
  return design;
}

void add_open_fronts(const Workshop& with, Front front, const std::vector<Length>& openings,
                     std::vector<FrontPlan>& out) {
  for (const Length opening : openings) {
    std::vector<std::map<std::int64_t, Length>> spaced;
    for (std::size_t box = 0; box < with.boxes.size(); ++box)
      spaced.push_back(spacings_of(with, front, opening, int(box)));
    for (std::size_t sheet = 0; sheet < with.sheets.size(); ++sheet) {
      FrontPlan plan{front, int(sheet), opening, {}};
      Design design = with_front(front, opening);
      design.sheet = int(sheet);
      for (std::size_t box = 0; box < with.boxes.size(); ++box) {
        design.box = int(box);
        plan.boxes.push_back(steps_of(with, design, spaced[box]));
      }
      out.push_back(std::move(plan));
    }
  }
}

void add_plain_fronts(const Workshop& with, std::vector<FrontPlan>& out) {
  for (std::size_t sheet = 0; sheet < with.sheets.size(); ++sheet) {
    FrontPlan plan{Front::membrane, int(sheet), Length(), {}};
    Design design = with_front(Front::membrane, Length());
    design.sheet = int(sheet);
    for (std::size_t box = 0; box < with.boxes.size(); ++box) {
      design.box = int(box);
      if (own_bending_hz(with, design) <= with.target.hz / 2)
        plan.boxes.push_back({int(box), {{Length(), 0, mass_of(with, design)}}});
    }
    out.push_back(std::move(plan));
  }
}

}  // namespace

namespace {

/// √(B/m) of the front's sheet.
double bending_m2_s(const Workshop& with, const Design& design) {
  const shop::Sheet& sheet = *with.sheets[std::size_t(design.sheet)].item;
  const double thickness_m = sheet.thickness.metres();
  const double stiffness_n_m =
      assumed_modulus_pa * std::pow(thickness_m, 3) / (12 * (1 - poisson * poisson));
  return std::sqrt(stiffness_n_m / (thickness_m * sheet.density_kg_m3));
}

}  // namespace

double own_bending_hz(const Workshop& with, const Design& design) {
  const Inside inside = inside_of(with, design.box);
  const double a = inside.width.metres(), b = inside.height.metres();
  const double up = design.front == Front::slotted ? 0 : 1 / (b * b);
  return pi / 2 * bending_m2_s(with, design) * (1 / (a * a) + up);
}

bool needs_posts(const Workshop& with, const Design& design) {
  return design.front != Front::membrane && own_bending_hz(with, design) < 2 * with.target.hz;
}

double post_spacing_m(const Workshop& with, const Design& design) {
  const double ways = design.front == Front::slotted ? 1 : 2;
  return std::sqrt(pi / 2 * bending_m2_s(with, design) * ways / (2 * with.target.hz));
}

std::vector<FrontPlan> front_plans(const Workshop& with) {
  std::vector<FrontPlan> out;
  for (const Front front : with.target.fronts) {
    if (front == Front::perforated) add_open_fronts(with, front, with.drills, out);
    if (front == Front::slotted) add_open_fronts(with, front, with.slots, out);
    if (front == Front::membrane) add_plain_fronts(with, out);
  }
  return out;
}

MassRange masses_of(const std::vector<FrontPlan>& plans) {
  MassRange out{1e9, 0};
  for (const FrontPlan& plan : plans)
    for (const Steps& steps : plan.boxes)
      for (const Step& step : steps.steps) {
        out.low_kg_m2 = std::min(out.low_kg_m2, step.mass_kg_m2);
        out.high_kg_m2 = std::max(out.high_kg_m2, step.mass_kg_m2);
      }
  return out;
}

}  // namespace roomwright::design::tuned
