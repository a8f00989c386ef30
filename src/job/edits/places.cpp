// Places as text and in a tree; see places.h.
#include "job/edits/places.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace roomwright::job {

namespace {

bool bare_sign(char sign) {
  return (sign >= 'a' && sign <= 'z') || (sign >= 'A' && sign <= 'Z') ||
         (sign >= '0' && sign <= '9') || sign == '_' || sign == '-';
}

Complaint no_place(std::string_view text, const char* what) {
  return {"at", what, "\"" + std::string(text.substr(0, 80)) + "\"",
          "such as pieces[3].from or room.height", 0};
}

/// Takes `"a key"` in JSON's quotes from the front; false where it does not end.
bool take_quoted(std::string_view& rest, std::string& key) {
  std::size_t end = 1;
  while (end < rest.size() && rest[end] != '"') end += rest[end] == '\\' ? 2 : 1;
  if (end >= rest.size()) return false;
  const Json read = Json::parse(rest.substr(0, end + 1), nullptr, false);
  if (!read.is_string()) return false;
  key = read.get<std::string>();
  rest.remove_prefix(end + 1);
  return true;
}

bool take_key(std::string_view& rest, std::string& key) {
  if (!rest.empty() && rest[0] == '"') return take_quoted(rest, key);
  const auto end = std::find_if_not(rest.begin(), rest.end(), bare_sign);
  key.assign(rest.begin(), end);
  rest.remove_prefix(key.size());
  return !key.empty();
}

bool take_index(std::string_view& rest, std::ptrdiff_t& index) {
  constexpr std::ptrdiff_t most = 1'000'000;
  std::size_t end = 1;
  index = 0;
  for (; end < rest.size() && rest[end] >= '0' && rest[end] <= '9' && index <= most; ++end)
    index = index * 10 + (rest[end] - '0');
  const bool padded = end > 2 && rest[1] == '0';
  if (end == 1 || padded || index > most || end >= rest.size() || rest[end] != ']') return false;
  rest.remove_prefix(end + 1);
  return true;
}

}  // namespace

Result<Place> read_place(std::string_view text) {
  Place out;
  for (std::string_view rest = text; !rest.empty();) {
    PlaceStep step;
    if (rest[0] == '[' && !out.empty()) {
      if (!take_index(rest, step.index)) return no_place(text, "has an index that is none");
    } else {
      if (!out.empty()) {
        if (rest[0] != '.') return no_place(text, "has a sign that belongs in quotes");
        rest.remove_prefix(1);
      }
      if (!take_key(rest, step.key)) return no_place(text, "has a key that cannot be read");
    }
    out.push_back(std::move(step));
    if (out.size() > most_place_steps) return no_place(text, "has too many steps");
  }
  if (out.empty()) return no_place(text, "must name a place");
  return out;
}

std::string place_text(const Place& place) {
  std::string out;
  for (const PlaceStep& step : place) {
    if (step.listed()) {
      out += "[" + std::to_string(step.index) + "]";
      continue;
    }
    if (!out.empty()) out += ".";
    const bool bare = !step.key.empty() && std::all_of(step.key.begin(), step.key.end(), bare_sign);
    out += bare ? step.key : Json(step.key).dump(-1, ' ', false, Json::error_handler_t::replace);
  }
  return out;
}

const Json* value_at(const Json& tree, const Place& place) {
  const Json* at = &tree;
  for (const PlaceStep& step : place) {
    if (step.listed()) {
      if (!at->is_array() || std::size_t(step.index) >= at->size()) return nullptr;
      at = &(*at)[std::size_t(step.index)];
    } else {
      if (!at->is_object()) return nullptr;
      const auto found = at->find(step.key);
      if (found == at->end()) return nullptr;
      at = &*found;
    }
  }
  return at;
}

Json* value_at(Json& tree, const Place& place) {
  return const_cast<Json*>(value_at(std::as_const(tree), place));
}

bool same_value(const Json& a, const Json& b) {
  const auto whole = [](const Json& value) { return value.is_number_integer(); };
  if (whole(a) != whole(b) || a.is_number_float() != b.is_number_float()) return false;
  if (a.is_array() && b.is_array()) {
    if (a.size() != b.size()) return false;
    for (std::size_t i = 0; i < a.size(); ++i)
      if (!same_value(a[i], b[i])) return false;
    return true;
  }
  if (a.is_object() && b.is_object()) {
    if (a.size() != b.size()) return false;
    for (auto x = a.begin(), y = b.begin(); x != a.end(); ++x, ++y)
      if (x.key() != y.key() || !same_value(*x, *y)) return false;
    return true;
  }
  return a == b;
}

}  // namespace roomwright::job
