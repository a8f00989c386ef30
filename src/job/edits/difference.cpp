// The edits that lead from one tree to another. Elements of lists are matched by their label or
// key, others by their value, by the longest common sequence; what lies between two matches is
// replaced in pairs, and the rest put in or taken out.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "job/edits/edits.h"
#include "job/edits/places.h"

namespace roomwright::job {

namespace {

constexpr std::size_t most_matched = 2000;  // elements of a list: a table of this size squared

std::string element_identity(const Json& element) {
  for (const char* key : {"label", "key"})
    if (element.is_object() && element.contains(key) && element[key].is_string())
      return std::string(key) + "=" + element[key].get<std::string>();
  return element.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::vector<std::string> identities(const Json& list) {
  std::vector<std::string> out;
  for (const Json& element : list) out.push_back(element_identity(element));
  return out;
}

using Matches = std::vector<std::pair<std::size_t, std::size_t>>;

/// Longest common sequence, as pairs of indices.
Matches common_sequence(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  const std::size_t n = a.size(), m = b.size();
  if (n > most_matched || m > most_matched) return {};
  std::vector<std::vector<std::uint16_t>> best(n + 1, std::vector<std::uint16_t>(m + 1));
  for (std::size_t i = n; i-- > 0;)
    for (std::size_t j = m; j-- > 0;)
      best[i][j] = a[i] == b[j] ? static_cast<std::uint16_t>(best[i + 1][j + 1] + 1)
                                : std::max(best[i + 1][j], best[i][j + 1]);
  Matches out;
  for (std::size_t i = 0, j = 0; i < n && j < m;)
    if (a[i] == b[j])
      out.emplace_back(i++, j++);
    else if (best[i + 1][j] >= best[i][j + 1])
      ++i;
    else
      ++j;
  return out;
}

class Differ {
 public:
  Edits edits;

  void values(const Json& a, const Json& b, Place& at) {
    if (same_value(a, b)) return;
    if (a.is_object() && b.is_object())
      tables(a, b, at);
    else if (a.is_array() && b.is_array())
      lists(a, b, at);
    else
      add(at, &a, &b);
  }

  void tables(const Json& a, const Json& b, Place& at) {
    for (auto one = a.begin(); one != a.end(); ++one) {
      at.push_back({one.key()});
      if (const auto other = b.find(one.key()); other == b.end())
        add(at, &*one, nullptr);
      else
        values(*one, *other, at);
      at.pop_back();
    }
    for (auto one = b.begin(); one != b.end(); ++one) {
      if (a.contains(one.key())) continue;
      at.push_back({one.key()});
      add(at, nullptr, &*one);
      at.pop_back();
    }
  }

 private:
  void lists(const Json& a, const Json& b, Place& at) {
    Matches matches = common_sequence(identities(a), identities(b));
    matches.emplace_back(a.size(), b.size());
    at.push_back({"", 0});
    std::size_t i = 0, j = 0;
    std::ptrdiff_t shift = 0;  // how much longer the list has become
    const auto index = [&](std::size_t before) {
      at.back().index = static_cast<std::ptrdiff_t>(before) + shift;
    };
    for (const auto& [to_i, to_j] : matches) {
      for (; i < to_i && j < to_j; ++i, ++j) index(i), values(a[i], b[j], at);
      for (; i < to_i; ++i, --shift) index(i), add(at, &a[i], nullptr);
      for (; j < to_j; ++j, ++shift) index(i), add(at, nullptr, &b[j]);
      if (i < a.size() && j < b.size()) index(i), values(a[i], b[j], at);
      ++i, ++j;
    }
    at.pop_back();
  }

  void add(const Place& at, const Json* from, const Json* to) {
    const auto text = [](const Json* value) {
      return value ? value->dump(-1, ' ', false, Json::error_handler_t::replace) : std::string();
    };
    edits.push_back({place_text(at), text(from), text(to)});
  }
};

}  // namespace

Edits difference(const Json& before, const Json& after) {
  Differ differ;
  Place at;
  if (before.is_object() && after.is_object()) differ.tables(before, after, at);
  return std::move(differ.edits);
}

}  // namespace roomwright::job
