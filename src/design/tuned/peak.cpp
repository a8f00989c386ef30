// One peak by the engine, to many digits: where the absorption of whole stacks is highest near a
// frequency and where it has fallen to half. Also the closed form by which one may start, and the
// score.
#include <algorithm>
#include <limits>

#include "design/tuned/search.h"

namespace roomwright::design {

namespace {

using tuned::pi;

constexpr int scan_to_octave = 24;
constexpr double finest = 2e-7;      // octaves
constexpr double far_side = 3;       // octaves in which the fall to half must lie
constexpr double stride = 1.15;      // from one look outward to the next
constexpr double first_look = 1e-4;  // octaves

acoustics::AbsorptionOptions straight_on() {
  acoustics::AbsorptionOptions options;
  options.incidence.kind = acoustics::Incidence::normal;
  options.reaction = acoustics::Reaction::local;
  options.same_on_every_machine = true;
  return options;
}

/// One stack's absorption by frequency; the stack has been checked.
struct Look {
  const acoustics::Stack& stack;
  const acoustics::Air& air;
  double near_hz;

  /// Places are octaves from near_hz.
  std::vector<double> hz(const std::vector<double>& places) const {
    std::vector<double> out;
    for (const double place : places) out.push_back(near_hz * std::exp2(place));
    return out;
  }
  std::vector<double> at(const std::vector<double>& places) const {
    const auto rows = acoustics::absorptions({stack}, air, hz(places), straight_on());
    RW_ASSERT(rows.ok());
    return (*rows)[0];
  }
  acoustics::AbsorptionReport report(const std::vector<double>& places) const {
    const auto full = acoustics::absorption(stack, air, hz(places), straight_on());
    RW_ASSERT(full.ok());
    return *full;
  }
};

std::vector<double> evenly(double from, double to, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(from + (to - from) * i / (count - 1));
  return out;
}

struct Top {
  double place = 0, absorption = 0, step = 0;
};

/// The crossing of the reactance's zero between two places: a narrow peak hides between two looks.
Top resonance(const Look& look, double from, double to) {
  for (int round = 0; round < 6; ++round) {
    const auto places = evenly(from, to, 9);
    const auto report = look.report(places);
    std::size_t i = 1;
    while (i < 8 && report.impedance[i].imag() < 0) ++i;
    from = places[i - 1], to = places[i];
  }
  return {from, look.at({from})[0], first_look};
}

/// The best of a scan of two octaves and of every resonance inside it.
Top scan(const Look& look) {
  const auto places = evenly(-1, 1, 2 * scan_to_octave + 1);
  const auto report = look.report(places);
  const double gap = 1.0 / scan_to_octave;
  Top top{0, -1, gap};
  for (std::size_t i = 0; i < places.size(); ++i)
    if (report.absorption[i] > top.absorption) top = {places[i], report.absorption[i], gap};
  for (std::size_t i = 1; i < places.size(); ++i)
    if (report.impedance[i - 1].imag() < 0 && report.impedance[i].imag() >= 0)
      if (const Top found = resonance(look, places[i - 1], places[i]);
          found.absorption > top.absorption)
        top = found;
  return top;
}

/// Nine looks across a window that follows the top and narrows round it.
Top narrow(const Look& look, Top top) {
  for (int round = 0; round < 60 && top.step > finest; ++round) {
    const auto places = evenly(top.place - top.step, top.place + top.step, 9);
    const auto found = look.at(places);
    const std::size_t best =
        std::size_t(std::max_element(found.begin(), found.end()) - found.begin());
    const bool edge = best == 0 || best == 8;
    top = {places[best], found[best], edge ? top.step * 2 : top.step / 4};
    if (std::abs(top.place) > 1) break;
  }
  return top;
}

/// Octaves from the top to the fall to half on one side; 0: none within three octaves.
double fall_to_half(const Look& look, const Top& top, double side) {
  std::vector<double> reach{0};
  for (double r = first_look; r < far_side; r *= stride) reach.push_back(r);
  const auto falls = [&](const std::vector<double>& reaches) {
    std::vector<double> places;
    for (const double r : reaches) places.push_back(top.place + side * r);
    const auto found = look.at(places);
    std::size_t i = 1;
    while (i < found.size() && found[i] > top.absorption / 2) ++i;
    return i;
  };
  std::size_t at = falls(reach);
  if (at == reach.size()) return 0;
  double from = reach[at - 1], to = reach[at];
  while (to - from > finest) {
    const auto inner = evenly(from, to, 9);
    at = std::min<std::size_t>(falls(inner), 8);
    from = inner[at - 1], to = inner[at];
  }
  return (from + to) / 2;
}

Complaint no_peak(const char* what, double near_hz) {
  return {"stack", what, near_hz,
          "give it a board or a cloth that brakes, or look near another frequency", 0};
}

}  // namespace

Result<TrapPeak> trap_peak(const acoustics::Stack& stack, const acoustics::Air& air,
                           double near_hz) {
  Diagnostics found = acoustics::check_stack(stack);
  if (!(near_hz > 0 && near_hz <= 20000))
    found.add("near_hz", "must be above 0 and at most 20000", near_hz, "give hertz");
  if (!found.empty()) return found;
  const Look look{stack, air, near_hz};
  const Top top = narrow(look, scan(look));
  if (!(top.absorption > 1e-9) || std::abs(top.place) > 1 - 1e-6)
    return no_peak("has no peak within an octave of this frequency", near_hz);
  const double low = fall_to_half(look, top, -1), high = fall_to_half(look, top, 1);
  if (low == 0 || high == 0)
    return no_peak("does not fall to half of its peak within three octaves", near_hz);
  TrapPeak out;
  out.hz = near_hz * std::exp2(top.place);
  out.half_width_hz = out.hz * (std::exp2(high) - std::exp2(-low)) / 2;
  out.absorption = top.absorption;
  return out;
}

double cotangent_hz(double mass_kg_m2, double cavity_m, const acoustics::Air& air) {
  // x tan x = ρ D / m with x = ω D / c between 0 and π/2
  const double wanted = air.density_kg_m3 * cavity_m / mass_kg_m2;
  double low = 0, high = pi / 2;
  for (int i = 0; i < 60; ++i) {
    const double x = (low + high) / 2;
    (x * std::tan(x) < wanted ? low : high) = x;
  }
  return low * air.sound_speed_m_s / (2 * pi * cavity_m);
}

double front_mass_kg_m2(const acoustics::Layer& front, const acoustics::Air& air) {
  if (const auto* plate = std::get_if<acoustics::MembraneLayer>(&front)) return plate->mass_kg_m2;
  if (const auto* sheet = std::get_if<acoustics::PerforatedLayer>(&front)) {
    const double e = sheet->open_area;
    const double reach = 1 - 1.47 * std::sqrt(e) + 0.47 * std::sqrt(e * e * e);
    return air.density_kg_m3 / e * (sheet->thickness_m + 1.7 * sheet->hole_diameter_m / 2 * reach);
  }
  if (const auto* sheet = std::get_if<acoustics::SlottedLayer>(&front)) {
    const double end = -sheet->slot_width_m / pi * std::log(std::sin(pi * sheet->open_area / 2));
    return air.density_kg_m3 / sheet->open_area * (sheet->thickness_m + 2 * end);
  }
  return 0;
}

double trap_score(const TrapTarget& target, const TrapPeak& peak, const TrapEffort& effort) {
  return 100 - 400 * std::abs(std::log2(peak.hz / target.hz)) -
         20 * std::abs(std::log2(peak.half_width_hz / target.half_width_hz)) -
         40 * (1 - peak.absorption) - 2 * effort.depth.metres() / target.deepest.metres() -
         2 * effort.cost_share - effort.holes / 1000.0 - 15 * std::min(1.0, effort.squeeze) -
         (effort.posts ? 3 : 0);
}

bool trap_fits(const TrapTarget& target, const TrapPeak& peak) {
  return std::abs(peak.hz / target.hz - 1) <= greatest_miss &&
         peak.half_width_hz <= target.half_width_hz * greatest_width_factor &&
         peak.half_width_hz >= target.half_width_hz / greatest_width_factor &&
         peak.absorption >= least_peak_absorption;
}

}  // namespace roomwright::design
