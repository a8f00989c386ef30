// Private to app/api: the words that every JSON of a stage is made of. Lengths are metres.
#pragma once

#include <optional>

#include "app/api/api.h"

namespace roomwright::app {

Json length_json(Length length);
Json optional_json(const std::optional<double>& value);
/// Rounded to what means something, so that the last digits of a sum do not reach a paper.
double rounded(double value, int decimals);
/// By nominal frequency.
Json octaves_json(const acoustics::OctaveSpectrum& spectrum, int decimals);
Json point_json(const Vec3& point);
Json statements_json(const std::vector<job::Statement>& statements);

}  // namespace roomwright::app
