// What is told of a chosen design: the product as it is made, how far a builder's tolerances and
// the doubt about the board move it, and its absorption by third octaves.
#include <algorithm>

#include "design/tuned/search.h"

namespace roomwright::design::tuned {

namespace {

constexpr double hole_tolerance_m = 2e-4, depth_tolerance_m = 2e-3, mass_tolerance = 0.05;
constexpr int bands_beside = 4;  // thirds on either side of the target's
constexpr int to_band = 9;       // frequencies

std::optional<TrapPeak> peak_of(const Workshop& with, const Design& design, const Build& build,
                                double near_hz) {
  const auto peak = trap_peak(stack_of(with, design, build), with.air, near_hz);
  return peak ? std::optional(*peak) : std::nullopt;
}

void widen(TrapRange& range, double value) {
  range.low = std::min(range.low, value);
  range.high = std::max(range.high, value);
}

/// All corners and edges of the tolerances: the peak rises or falls with each of them.
TrapRange drift_of(const Workshop& with, const Design& design, const TrapPeak& peak) {
  TrapRange out{peak.hz, peak.hz};
  const bool plain = design.front == Front::membrane;
  for (int hole = plain ? 0 : -1; hole <= (plain ? 0 : 1); ++hole)
    for (int depth = -1; depth <= 1; ++depth)
      for (int mass = plain ? -1 : 0; mass <= (plain ? 1 : 0); ++mass) {
        Build build;
        build.hole_m = hole * hole_tolerance_m;
        build.depth_m = depth * depth_tolerance_m;
        build.mass = 1 + mass * mass_tolerance;
        if (const auto got = peak_of(with, design, build, peak.hz)) widen(out, got->hz);
      }
  return out;
}

void doubt_the_board(const Workshop& with, const Design& design, TrapAnswer& answer) {
  answer.half_width_hz = {answer.peak.half_width_hz, answer.peak.half_width_hz};
  answer.peak_absorption = {answer.peak.absorption, answer.peak.absorption};
  const Fill& wool = with.boards[std::size_t(design.board)];
  if (!wool.item) return;
  for (const double resistivity : {wool.low_pa_s_m2, wool.high_pa_s_m2}) {
    Build build;
    build.resistivity = resistivity;
    const auto got = peak_of(with, design, build, answer.peak.hz);
    if (!got) continue;
    widen(answer.half_width_hz, got->half_width_hz);
    widen(answer.peak_absorption, got->absorption);
  }
}

/// Source: IEC 61260-1:2014, 5.2 and Annex E, base ten; nominal names from memory.
std::vector<TrapBand> bands_around(double target_hz) {
  static const double names[] = {1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8};
  const int middle = int(std::lround(10 * std::log10(target_hz)));
  std::vector<TrapBand> out;
  for (int n = middle - bands_beside; n <= middle + bands_beside; ++n)
    out.push_back({names[n % 10] * std::pow(10.0, n / 10), std::pow(10.0, n / 10.0), 0});
  return out;
}

/// All answers at once: what depends on the face's size alone is worked out once.
void add_third_octaves(const Workshop& with, const std::vector<Scored>& chosen, bool finite_size,
                       std::vector<TrapAnswer>& answers) {
  const std::vector<TrapBand> bands = bands_around(with.target.hz);
  std::vector<double> hz;
  for (const TrapBand& band : bands)
    for (int i = 0; i < to_band; ++i)
      hz.push_back(band.centre_hz * std::pow(10.0, 0.1 * (2 * i + 1 - to_band) / (2.0 * to_band)));
  acoustics::AbsorptionOptions options;
  options.reaction = acoustics::Reaction::local;
  options.same_on_every_machine = true;
  if (finite_size)
    options.size_m = acoustics::Size2{with.target.width.metres(), with.target.height.metres()};
  std::vector<acoustics::Stack> stacks;
  for (const Scored& one : chosen) stacks.push_back(stack_of(with, one.design, {}));
  const auto rows = acoustics::absorptions(stacks, with.air, hz, options);
  RW_ASSERT(rows.ok());
  for (std::size_t a = 0; a < answers.size(); ++a) {
    answers[a].third_octaves = bands;
    for (std::size_t i = 0; i < hz.size(); ++i)
      answers[a].third_octaves[i / to_band].absorption += (*rows)[a][i] / to_band;
  }
}

TrapAnswer answer_of(const Workshop& with, const Scored& scored, const Product& product) {
  const Design& design = scored.design;
  TrapAnswer out;
  out.spec = product.spec;
  out.score = scored.score;
  out.peak = scored.peak;
  out.drift_hz = drift_of(with, design, scored.peak);
  doubt_the_board(with, design, out);
  out.open_area = open_area_of(with, design);
  out.openings = design.openings;
  out.depth = product.depth;
  out.mass_kg = product.mass_kg();
  out.material = Money::minor(std::llround(material_minor(with, design)));
  const TrapEffort effort = effort_of(with, design);
  out.cost_share = effort.cost_share;
  out.squeeze = effort.squeeze;
  out.posts = effort.posts;
  out.sentence = sentence_of(with, design, out);
  out.warnings = warnings_of(with, design, out, product);
  out.cautions = product.cautions;
  return out;
}

}  // namespace

Result<std::vector<TrapAnswer>> answers_of(const Workshop& with, const std::vector<Scored>& chosen,
                                           const TrapOptions& options) {
  std::vector<Product> products;
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    ProductSpec spec = spec_of(with, chosen[i].design);
    spec.key = "trap_" + fixed(with.target.hz, 0) + "_" + std::to_string(i + 1);
    spec.name = trap_name(with, chosen[i].design);
    auto product = make_product(spec, *with.shop, "answers[" + std::to_string(i) + "]");
    if (!product) return product.mistakes();
    products.push_back(std::move(*product));
  }
  std::vector<TrapAnswer> out(chosen.size());
  parallel_for(chosen.size(), with.threads,
               [&](std::size_t i) { out[i] = answer_of(with, chosen[i], products[i]); });
  add_third_octaves(with, chosen, options.finite_size, out);
  return out;
}

}  // namespace roomwright::design::tuned
