// Private to job/edits: a place in a tree, as a list of keys and indices.
#pragma once

#include <cstddef>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"
#include "core/reading/reading.h"

namespace roomwright::job {

/// A key of a table, or an index of a list.
struct PlaceStep {
  std::string key;
  std::ptrdiff_t index = -1;  ///< at least 0: a list's
  bool listed() const { return index >= 0; }
  bool operator==(const PlaceStep&) const = default;
};
using Place = std::vector<PlaceStep>;

inline constexpr std::size_t most_place_steps = 24;

/// Errors: what is wrong with the text of the place.
Result<Place> read_place(std::string_view text);
std::string place_text(const Place& place);

/// The value at a place; nullptr where it is not there.
const Json* value_at(const Json& tree, const Place& place);
Json* value_at(Json& tree, const Place& place);

/// The same value and, unlike ==, the same kind of number.
bool same_value(const Json& a, const Json& b);

}  // namespace roomwright::job
