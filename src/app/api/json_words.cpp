// The words of a stage as JSON; see json_words.h.
#include "app/api/json_words.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace roomwright::app {

Json length_json(Length length) {
  return length.metres();
}

Json optional_json(const std::optional<double>& value) {
  return value ? Json(*value) : Json();
}

double rounded(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double out = std::round(value * scale) / scale;
  return out == 0 ? 0 : out;
}

Json octaves_json(const acoustics::OctaveSpectrum& spectrum, int decimals) {
  Json out = Json::object();
  for (std::size_t i = 0; i < spectrum.size(); ++i)
    out[fixed(acoustics::octave_bands()[i].nominal_hz, 0)] = rounded(spectrum[i], decimals);
  return out;
}

Json point_json(const Vec3& point) {
  return {rounded(point.x, 4), rounded(point.y, 4), rounded(point.z, 4)};
}

Json statements_json(const std::vector<job::Statement>& statements) {
  Json out = Json::array();
  for (const auto& one : statements)
    out.push_back({{"weight", one.weight},
                   {"topic", one.topic},
                   {"sentence", one.sentence},
                   {"cause", one.cause},
                   {"next", one.next}});
  return out;
}

}  // namespace roomwright::app
