// calc diffuser: depths and limits of a sequence, what it scatters where, what its wells absorb.
#include <nlohmann/json.hpp>

#include "acoustics/diffusers/diffusers.h"
#include "app/api/calc.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

namespace {

acoustics::DiffuserSpec spec_of(Reader& in) {
  acoustics::DiffuserSpec spec;
  spec.kind = static_cast<acoustics::Sequence>(
      in.one_of("kind", {"quadratic-residue", "primitive-root"}).value_or(0));
  spec.prime = int(in.whole("prime", 3, 97, "such as 7"));
  spec.design_hz = in.number("design_hz", {.at_least = 50, .at_most = 10000}, "such as 500");
  spec.well_width_m =
      in.number("well_width_m", {.at_least = 0.005, .at_most = 0.5}, "such as 0.06");
  spec.fin_thickness_m = in.number_or("fin_thickness_m", 0, {.at_least = 0, .at_most = 0.1});
  spec.depth_step_m = in.number_or("depth_step_m", 0, {.at_least = 0, .at_most = 0.02});
  spec.two_dimensional = in.truth_or("two_dimensional", false);
  return spec;
}

constexpr std::size_t most_boundary_frequencies = 40;  // each may take seconds

struct PolarRequest {
  bool asked = false, boundary = false;
  acoustics::PolarOptions options;
};

PolarRequest polar_of(Reader& in) {
  PolarRequest out;
  in.child("polar", [&](Reader& polar) {
    out.asked = true;
    out.options.frequencies_hz = polar.numbers("hz", 1, acoustics::most_polar_frequencies,
                                               {.at_least = 20, .at_most = 20000}, "hertz");
    out.options.incidence_deg =
        polar.number_or("incidence_deg", 0, {.at_least = -85, .at_most = 85});
    out.options.periods = int(polar.whole_or("periods", 2, 1, 50));
    out.options.step_deg = polar.number_or("step_deg", 1, {.at_least = 0.1, .at_most = 30});
    out.options.losses = polar.truth_or("losses", false);
    out.boundary = polar.one_of_or("model", 0, {"fourier", "boundary"}).value_or(0) == 1;
    if (out.boundary && out.options.frequencies_hz.size() > most_boundary_frequencies)
      polar.complain("hz", "has more than 40 entries for the boundary model",
                     double(out.options.frequencies_hz.size()), "ask for fewer, or take fourier");
    polar.finish();
  });
  return out;
}

Json polar_json(const acoustics::PolarReport& report, bool boundary) {
  Json out = {{"model", boundary ? "boundary" : "fourier"},
              {"angles_deg", report.angles_deg},
              {"levels_db", report.levels_db},
              {"diffusion", report.diffusion},
              {"flat_diffusion", report.flat_diffusion},
              {"normalised_diffusion", report.normalised_diffusion},
              {"power_error", report.power_error},
              {"warnings", warnings_json(report.warnings)}};
  if (boundary) out["elements"] = report.elements;
  return out;
}

Json diffuser_json(const acoustics::Diffuser& made) {
  return {{"sequence", made.sequence},
          {"generator", made.generator ? Json(made.generator) : Json()},
          {"depths_m", made.wells.depths_m},
          {"rows", made.wells.rows},
          {"greatest_depth_m", made.greatest_depth_m},
          {"period_m", made.wells.period_m()},
          {"period_limit_hz", made.period_limit_hz},
          {"low_hz", made.low_hz},
          {"high_hz", made.high_hz},
          {"flat_plate_hz", made.flat_plate_hz},
          {"least_distance_m", made.least_distance_m},
          {"warnings", warnings_json(made.notes)}};
}

}  // namespace

Result<Json> calc_diffuser(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const acoustics::DiffuserSpec spec = spec_of(in);
  const auto air = read_air(in);
  const PolarRequest polar = polar_of(in);
  acoustics::WellAbsorptionOptions wells;
  const bool absorbs = in.has("frequencies_hz") || in.has("bands");
  if (absorbs)
    if (const auto frequencies = read_frequencies(in)) wells.frequencies_hz = frequencies->hz;
  wells.incidence_deg = in.number_or("incidence_deg", 0, {.at_least = -85, .at_most = 85});
  in.finish();
  if (!found.empty() || !air) return found;
  const auto made = acoustics::design_diffuser(spec, *air);
  if (!made) return made.mistakes();
  Json out = diffuser_json(*made);
  if (polar.asked) {
    const auto report = polar.boundary ? acoustics::polar_boundary(made->wells, polar.options, *air)
                                       : acoustics::polar_fourier(made->wells, polar.options, *air);
    if (!report) return report.mistakes();
    out["polar"] = polar_json(*report, polar.boundary);
  }
  if (absorbs) {
    const auto report = acoustics::well_absorption(made->wells, wells, *air);
    if (!report) return report.mistakes();
    out["frequencies_hz"] = wells.frequencies_hz;
    out["absorption"] = report->absorption;
  }
  return out;
}

}  // namespace roomwright::app
