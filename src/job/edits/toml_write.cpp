// A tree written as TOML; see edits.h.
#include "job/edits/toml_write.h"

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>

namespace roomwright::job {

bool has_toml(const Json& value) {
  if (value.is_null() || value.is_discarded() || value.is_binary()) return false;
  if (value.is_number_unsigned())
    return value.get<std::uint64_t>() <= std::uint64_t(std::numeric_limits<std::int64_t>::max());
  if (!value.is_structured()) return true;
  return std::all_of(value.begin(), value.end(), has_toml);
}

namespace {

/// JSON's escapes are TOML's, but for the delete sign, which TOML wants escaped too.
std::string quoted(const std::string& text) {
  const std::string json = Json(text).dump(-1, ' ', false, Json::error_handler_t::replace);
  std::string out;
  for (const char sign : json)
    if (sign == '\x7f')
      out += "\\u007F";
    else
      out += sign;
  return out;
}

}  // namespace

std::string toml_key(const std::string& key) {
  const std::string text = place_text({{key}});
  return text[0] == '"' ? quoted(key) : text;
}

std::string toml_value(const Json& value) {
  if (value.is_string()) return quoted(value.get<std::string>());
  if (value.is_array()) {
    std::string out = "[";
    for (const Json& element : value) out += (out.size() > 1 ? ", " : "") + toml_value(element);
    return out + "]";
  }
  if (value.is_object()) {
    if (value.empty()) return "{}";
    std::string out = "{ ";
    for (auto one = value.begin(); one != value.end(); ++one)
      out += (out.size() > 2 ? ", " : "") + toml_key(one.key()) + " = " + toml_value(*one);
    return out + " }";
  }
  return value.dump();
}

bool list_of_tables(const Json& value) {
  return value.is_array() && !value.empty() &&
         std::all_of(value.begin(), value.end(), [](const Json& one) { return one.is_object(); });
}

std::string toml_table(const Json& table, const std::string& path) {
  std::string out;
  for (auto one = table.begin(); one != table.end(); ++one)
    if (!one->is_object() && !list_of_tables(*one))
      out += toml_key(one.key()) + " = " + toml_value(*one) + "\n";
  for (auto one = table.begin(); one != table.end(); ++one) {
    const std::string below = (path.empty() ? "" : path + ".") + toml_key(one.key());
    const auto block = [&](const std::string& header, const Json& of) {
      out += (out.empty() ? "" : "\n") + header + "\n" + toml_table(of, below);
    };
    if (one->is_object())
      block("[" + below + "]", *one);
    else if (list_of_tables(*one))
      for (const Json& element : *one) block("[[" + below + "]]", element);
  }
  return out;
}

Result<std::string> toml_text(const Json& tree) {
  if (!tree.is_object())
    return Complaint{"", "must be a table of keys and values", shown(tree), {}, 0};
  if (!has_toml(tree))
    return Complaint{"",
                     "holds null or a number beyond 64 bits, which TOML has not",
                     {},
                     "leave the key out, or keep the document as JSON",
                     0};
  return toml_table(tree, "");
}

}  // namespace roomwright::job
