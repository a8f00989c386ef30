// calc absorber: a stack's absorption and impedance.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/api/calc.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

namespace {

acoustics::Incidence incidence_of(Reader& in) {
  acoustics::Incidence out;
  const Json* raw =
      in.required("incidence", "\"normal\", {\"angle_deg\": 45} or {\"diffuse_to_deg\": 78}");
  if (!raw) return out;
  if (raw->is_string() && *raw == "normal") {
    out.kind = acoustics::Incidence::normal;
    return out;
  }
  if (!raw->is_object()) {
    in.complain("incidence", "is not known", shown(*raw),
                "\"normal\", {\"angle_deg\": 45} or {\"diffuse_to_deg\": 78}");
    return out;
  }
  in.child("incidence", [&](Reader& kind) {
    if (kind.has("angle_deg")) {
      out.kind = acoustics::Incidence::at_angle;
      out.angle_deg = kind.number("angle_deg", {.at_least = 0, .at_most = 89.9});
    } else {
      out.diffuse_to_deg = kind.number("diffuse_to_deg", {.above = 0, .at_most = 90}, "such as 78");
    }
    kind.finish();
  });
  return out;
}

/// The rating of a diffuse spectrum, where its bands are the rated ones.
Json rating_of(const Frequencies& frequencies, const std::vector<double>& absorption) {
  acoustics::RatedSpectrum spectrum;
  for (std::size_t i = 0; i < absorption.size(); ++i) {
    const double hz = frequencies.nominal_hz[i];
    if (frequencies.thirds ? hz >= 100 && hz <= 5000 : hz >= 125 && hz <= 4000)
      spectrum[int(hz)] = std::clamp(std::round(absorption[i] * 1000) / 1000, 0.0, 2.0);
  }
  Json bands = Json::object();
  for (const auto& [band, value] : spectrum) bands[std::to_string(band)] = value;
  auto rated = calc_rating(Json{{"absorption", bands}});
  return rated ? *rated : Json();
}

/// `spreads`: which values of which layers are not known well.
void read_spreads(Reader& in, std::vector<acoustics::LayerSpread>& spreads) {
  static const std::vector<std::string> keys = {"thickness_m", "flow_resistivity_pa_s_m2",
                                                "flow_resistance_pa_s_m", "mass_kg_m2", "hole_m"};
  in.each("spreads", 0, 12, [&](Reader& entry) {
    acoustics::LayerSpread spread;
    spread.layer = static_cast<std::size_t>(entry.whole("layer", 0, 11, "from 0, room side first"));
    spread.quantity = static_cast<acoustics::Quantity>(entry.one_of("key", keys).value_or(0));
    spread.low = entry.number("low", {.above = 0}, "the 10th percentile");
    spread.high = entry.number("high", {.above = 0}, "the 90th percentile");
    entry.finish();
    spreads.push_back(spread);
  });
}

}  // namespace

Result<Json> calc_absorber(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  std::vector<acoustics::LayerSpread> spreads;
  const auto stack = read_stack(in, &spreads);
  read_spreads(in, spreads);
  acoustics::CorridorOptions corridor;
  corridor.samples = int(in.whole_or("samples", corridor.samples, 8, 4096));
  corridor.seed = static_cast<std::uint64_t>(in.whole_or("seed", 1, 0, 1000000000));
  const auto air = read_air(in);
  acoustics::AbsorptionOptions options;
  options.incidence = incidence_of(in);
  options.reaction = in.one_of_or("reaction", 0, {"extended", "local"}).value_or(0) == 1
                         ? acoustics::Reaction::local
                         : acoustics::Reaction::extended;
  options.angles = 64;
  if (in.has("size_m")) {
    const auto size =
        in.numbers("size_m", 2, 2, {.at_least = 0.02, .at_most = 100}, "[width, height]");
    if (size.size() == 2) options.size_m = acoustics::Size2{size[0], size[1]};
  }
  const auto frequencies = read_frequencies(in);
  in.raw("size_m");
  in.finish();
  if (!found.empty() || !stack || !air || !frequencies) return found;
  const auto report = acoustics::absorption(*stack, *air, frequencies->hz, options);
  if (!report) return report.mistakes();
  Json range;
  if (!spreads.empty()) {
    const auto got =
        acoustics::absorption_corridor(*stack, spreads, *air, frequencies->hz, options, corridor);
    if (!got) return got.mistakes();
    range = {{"low", got->low}, {"middle", got->middle}, {"high", got->high}};
  }
  Json impedance = Json::array();
  for (const auto& z : report->impedance) impedance.push_back(complex_json(z));
  Json out = {{"frequencies_hz", frequencies->hz},
              {"absorption", report->absorption},
              {"impedance", impedance},
              {"warnings", warnings_json(report->warnings)}};
  if (!spreads.empty()) out["corridor"] = range;
  if (!frequencies->nominal_hz.empty() && options.incidence.kind == acoustics::Incidence::diffuse)
    out["rating"] = rating_of(*frequencies, report->absorption);
  return out;
}

Result<Json> calc_rating(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const Json* raw = in.required("absorption", "{\"125\": 0.2, …}");
  acoustics::RatedSpectrum spectrum;
  if (raw && !raw->is_object()) in.complain("absorption", "must be a table by band", shown(*raw));
  if (raw && raw->is_object())
    for (const auto& [band, value] : raw->items()) {
      const bool digits = !band.empty() && band.size() < 6 &&
                          band.find_first_not_of("0123456789") == std::string::npos;
      if (!digits || !value.is_number() || !std::isfinite(value.get<double>()))
        in.complain("absorption." + band, "must be a nominal band with a number", shown(value));
      else
        spectrum[std::stoi(band)] = value.get<double>();
    }
  in.finish();
  if (!found.empty()) return found;
  const auto rated = acoustics::rating(spectrum);
  if (!rated) return rated.mistakes();
  Json practical = Json::object();
  for (const auto& [band, value] : rated->practical) practical[std::to_string(band)] = value;
  return Json{{"practical", practical},
              {"alpha_w", rated->alpha_w},
              {"shape", rated->shape},
              {"class", rated->letter_class ? Json(*rated->letter_class) : Json()},
              {"nrc", rated->nrc ? Json(*rated->nrc) : Json()},
              {"saa", rated->saa ? Json(*rated->saa) : Json()}};
}

}  // namespace roomwright::app
