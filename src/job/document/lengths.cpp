// Lengths in a document: a bare number in the file's unit, or a text with its own. Each is told
// where it is no length and where it is out of its range.
#include <cmath>
#include <nlohmann/json.hpp>

#include "job/document/parts.h"

namespace roomwright::job {

namespace {

/// Finely where whole millimetres would say nothing.
std::string told(Length length, bool metric) {
  const Units units{metric, 16};
  const bool fine = metric && length.nanometres() % 1'000'000 != 0;
  return fine ? print_fine(length, units) : print_length(length, units);
}

}  // namespace

std::optional<Length> LengthReader::value(Reader& in, const std::string& key, const Json& raw,
                                          Length at_least, Length at_most) const {
  if (!raw.is_number() && !raw.is_string()) {
    in.complain(key, "must be a length", shown(raw), "such as 1200 or \"13' 7 1/2\\\"\"");
    return std::nullopt;
  }
  const auto read = raw.is_string() ? read_length(raw.get_ref<const std::string&>(), unit)
                                    : read_length(raw.get<double>(), unit);
  if (!read) {
    const Complaint& fault = read.mistakes().items()[0];
    in.complain(key, fault.what, raw.is_string() ? shown(raw) : fault.got, fault.remedy);
    return std::nullopt;
  }
  if (*read < at_least || *read > at_most) {
    const bool metric = unit != LengthUnit::ft && unit != LengthUnit::in;
    in.complain(key, "must be from " + told(at_least, metric) + " to " + told(at_most, metric),
                told(*read, metric), "check the unit");
    return std::nullopt;
  }
  return *read;
}

Length LengthReader::required(Reader& in, const char* key, Length at_least, Length at_most,
                              const char* remedy) const {
  const Json* raw = in.required(key, remedy);
  return raw ? value(in, key, *raw, at_least, at_most).value_or(at_least) : at_least;
}

Length LengthReader::optional(Reader& in, const char* key, Length fallback, Length at_least,
                              Length at_most) const {
  return maybe(in, key, at_least, at_most).value_or(fallback);
}

std::optional<Length> LengthReader::maybe(Reader& in, const char* key, Length at_least,
                                          Length at_most) const {
  const Json* raw = in.raw(key);
  return raw ? value(in, key, *raw, at_least, at_most) : std::nullopt;
}

std::optional<std::vector<Length>> LengthReader::any_list(Reader& in, const std::string& key,
                                                          const Json* raw,
                                                          std::size_t count) const {
  if (!raw) return std::nullopt;
  if (!raw->is_array() || raw->size() != count) {
    in.complain(key, "must be a list of " + std::to_string(count) + " lengths",
                raw->is_array() ? Got(double(raw->size())) : shown(*raw), "such as [600, 900]");
    return std::nullopt;
  }
  std::vector<Length> out;
  for (std::size_t i = 0; i < count; ++i) {
    const auto one = value(in, key + "[" + std::to_string(i) + "]", (*raw)[i],
                           -greatest_typed_length, greatest_typed_length);
    if (one) out.push_back(*one);
  }
  if (out.size() != count) return std::nullopt;
  return out;
}

}  // namespace roomwright::job
