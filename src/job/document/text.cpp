// TOML or JSON text to one tree with its lines; lengths in it. The library's exceptions end here.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#define TOML_HEADER_ONLY 0
#include <toml++/toml.h>

#include "job/document/parts.h"

namespace roomwright::job {

struct Tree {
  Json json = Json::object();
};

Document::Document() : tree_(std::make_unique<Tree>()) {}
Document::~Document() = default;
Document::Document(Document&&) noexcept = default;
Document& Document::operator=(Document&&) noexcept = default;
Json& Document::tree() {
  return tree_->json;
}
const Json& Document::tree() const {
  return tree_->json;
}

namespace {

constexpr int most_depth = 20;

/// Copies a TOML node into a tree and notes each key's line.
struct TomlCopier {
  Lines& lines;
  bool too_deep = false;

  Json copy(const toml::node& node, const std::string& path, int depth) {
    if (const auto line = static_cast<int>(node.source().begin.line); line > 0)
      lines.emplace(path, line);
    if (depth > most_depth) {
      too_deep = true;
      return nullptr;
    }
    if (const auto* table = node.as_table()) {
      Json out = Json::object();
      for (const auto& [key, value] : *table) {
        const std::string name(key.str());
        out[name] = copy(value, path.empty() ? name : path + "." + name, depth + 1);
      }
      return out;
    }
    if (const auto* list = node.as_array()) {
      Json out = Json::array();
      for (std::size_t i = 0; i < list->size(); ++i)
        out.push_back(copy(*list->get(i), path + "[" + std::to_string(i) + "]", depth + 1));
      return out;
    }
    if (const auto* text = node.as_string()) return text->get();
    if (const auto* whole = node.as_integer()) return whole->get();
    if (const auto* number = node.as_floating_point()) return number->get();
    if (const auto* truth = node.as_boolean()) return truth->get();
    return dated(node);
  }

  /// Dates without quotes become their ISO text.
  static Json dated(const toml::node& node) {
    if (const auto* date = node.as_date()) {
      char text[16];
      std::snprintf(text, sizeof text, "%04d-%02d-%02d", int(date->get().year),
                    int(date->get().month), int(date->get().day));
      return std::string(text);
    }
    return nullptr;
  }
};

Result<Document> read_toml(std::string_view text) {
  Document out;
  try {
    const toml::table table = toml::parse(text);
    TomlCopier copier{out.lines};
    out.tree() = copier.copy(table, "", 0);
    if (copier.too_deep)
      return Complaint{"", "is nested deeper than 20 levels", {}, "write a flatter file", 0};
    return out;
  } catch (const toml::parse_error& fault) {
    const auto line = static_cast<int>(fault.source().begin.line);
    std::string what(fault.description());
    return Complaint{"", "is not TOML: " + what, {}, "mend the text there", line};
  } catch (const std::exception&) {
    return Complaint{"", "is not TOML", {}, "mend the text", 0};
  }
}

bool utf16_or_binary(std::string_view text) {
  if (text.size() >= 2 &&
      ((text[0] == '\xff' && text[1] == '\xfe') || (text[0] == '\xfe' && text[1] == '\xff')))
    return true;
  return text.find('\0') != std::string_view::npos;
}

}  // namespace

Result<Document> read_document(std::string_view text) {
  if (text.size() > most_document_bytes)
    return Complaint{"", "is larger than 2 MB", double(text.size()), "a job file is a few kB", 0};
  if (utf16_or_binary(text)) return Complaint{"", "is not UTF-8 text", {}, "save it as UTF-8", 0};
  if (text.substr(0, 3) == "\xef\xbb\xbf") text.remove_prefix(3);
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos)
    return Complaint{"", "is empty", {}, "start from an example", 0};
  if (text[first] != '{') return read_toml(text);
  auto json = parse_json(text, most_document_bytes, most_depth);
  if (!json) return json.mistakes();
  Document out;
  out.tree() = std::move(*json);
  return out;
}

// ---- lengths --------------------------------------------------------------------------------

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
    const Units units{unit != LengthUnit::ft && unit != LengthUnit::in, 16};
    in.complain(
        key,
        "must be from " + print_length(at_least, units) + " to " + print_length(at_most, units),
        print_length(*read, units), "check the unit");
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
