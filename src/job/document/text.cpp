// TOML or JSON text to one tree with its lines. The libraries' exceptions end here, and so do texts
// that would cost a reader its stack or its memory: what is too large, too deep, too many or too
// long is refused before it is built.
#include <algorithm>
#include <locale>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

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
constexpr std::size_t most_values = 50'000;
constexpr std::size_t most_key_bytes = 80;

Complaint too_deep(int line) {
  return {"",
          "is nested deeper than " + std::to_string(most_depth) + " levels",
          {},
          "write a flatter file",
          line};
}
Complaint too_many(int line) {
  return {"",
          "holds more than " + std::to_string(most_values) + " values",
          {},
          "a job file holds a few hundred",
          line};
}
Complaint long_key(std::size_t bytes, int line) {
  return {"", "has a key longer than " + std::to_string(most_key_bytes) + " bytes", double(bytes),
          "write a shorter one", line};
}

// ---- encoding ---------------------------------------------------------------------------------

/// How many bytes the UTF-8 sign at the start takes; 0 where it is none.
std::size_t sign_bytes(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned lead = byte(0);
  if (lead < 0x80) return 1;
  const std::size_t bytes = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : 2;
  if (lead < 0xc2 || lead > 0xf4 || bytes > text.size()) return 0;
  unsigned point = lead & (0x7fu >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xc0u) != 0x80u) return 0;
    point = (point << 6u) | (byte(i) & 0x3fu);
  }
  const bool overlong = (bytes == 3 && point < 0x800) || (bytes == 4 && point < 0x10000);
  const bool surrogate = point >= 0xd800 && point <= 0xdfff;
  return overlong || surrogate || point > 0x10ffff ? 0 : bytes;
}

int line_at(std::string_view text, std::size_t at) {
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
}

/// What is wrong with the bytes, if anything is.
std::optional<Complaint> encoding_fault(std::string_view text) {
  const std::string_view mark = text.substr(0, 2);
  if (mark == "\xff\xfe" || mark == "\xfe\xff")
    return Complaint{"", "is UTF-16, not UTF-8", {}, "save it as UTF-8", 0};
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t bytes = sign_bytes(text.substr(at, 4));
    if (bytes == 0)
      return Complaint{
          "", "is not UTF-8 text", {}, "save it as UTF-8, or mend this line", line_at(text, at)};
    if (text[at] == '\0')
      return Complaint{
          "", "holds a zero byte", {}, "save it as plain text, in UTF-8", line_at(text, at)};
    at += bytes;
  }
  return std::nullopt;
}

// ---- TOML -------------------------------------------------------------------------------------

/// Where a key such as a.b.c.… has more dots than levels are allowed: each dot is one level, and
/// the library's own limit does not count them. Texts and comments are passed over.
std::optional<int> deep_key_line(std::string_view text) {
  int line = 1, dots = 0;
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char sign = text[at];
    if (sign == '\n') ++line;
    if (sign == '#') {
      at = std::min(text.find('\n', at), text.size()) - 1;
    } else if (sign == '"' || sign == '\'') {
      const std::string three(3, sign);
      const bool block = text.substr(at, 3) == three;
      const std::size_t open = at;
      at += block ? 3 : 1;
      while (at < text.size() && (block ? text.substr(at, 3) != three : text[at] != sign) &&
             (block || text[at] != '\n'))
        at += sign == '"' && text[at] == '\\' ? 2 : 1;
      if (block)  // one or two quotes more belong to the text
        for (at += 2; at + 1 < text.size() && text[at + 1] == sign;) ++at;
      at = std::min(at, text.size() - 1);
      line += static_cast<int>(std::count(text.begin() + static_cast<long>(open),
                                          text.begin() + static_cast<long>(at) + 1, '\n'));
    } else if (sign == '.') {
      if (++dots > most_depth) return line;
    } else if (std::string_view("\n=,[]{}").find(sign) != std::string_view::npos) {
      dots = 0;
    }
  }
  return std::nullopt;
}

/// Copies a TOML node into a tree and notes each key's line; stops at the first limit.
struct TomlCopier {
  Lines& lines;
  std::optional<Complaint> fault{};
  std::size_t values = 0;

  Json copy(const toml::node& node, const std::string& path, int depth) {
    const auto line = static_cast<int>(node.source().begin.line);
    if (depth > most_depth) fault = too_deep(line);
    if (++values > most_values) fault = too_many(line);
    if (fault) return nullptr;
    if (line > 0) lines.emplace(path, line);
    if (const auto* table = node.as_table()) return copy_table(*table, path, depth);
    if (const auto* list = node.as_array()) return copy_list(*list, path, depth);
    if (const auto* text = node.as_string()) return text->get();
    if (const auto* whole = node.as_integer()) return whole->get();
    if (const auto* number = node.as_floating_point()) return number->get();
    if (const auto* truth = node.as_boolean()) return truth->get();
    return dated(node);
  }

  Json copy_table(const toml::table& table, const std::string& path, int depth) {
    Json out = Json::object();
    for (const auto& [key, value] : table) {
      const std::string name(key.str());
      if (name.size() > most_key_bytes)
        fault = long_key(name.size(), static_cast<int>(value.source().begin.line));
      if (fault) break;
      out[name] = copy(value, path.empty() ? name : path + "." + name, depth + 1);
    }
    return out;
  }

  Json copy_list(const toml::array& list, const std::string& path, int depth) {
    Json out = Json::array();
    for (std::size_t i = 0; i < list.size() && !fault; ++i)
      out.push_back(copy(*list.get(i), path + "[" + std::to_string(i) + "]", depth + 1));
    return out;
  }

  /// Dates and times without quotes become their ISO text.
  static Json dated(const toml::node& node) {
    std::ostringstream out;
    out.imbue(std::locale::classic());
    if (const auto* date = node.as_date()) out << date->get();
    if (const auto* time = node.as_time()) out << time->get();
    if (const auto* both = node.as_date_time()) out << both->get();
    return out.str();
  }
};

/// The library's word for it, and what would be right.
Complaint toml_fault(const std::string& what, int line) {
  const auto says = [&](const char* words) { return what.find(words) != std::string::npos; };
  if (says("nested value depth")) return too_deep(line);
  const char* remedy = "mend the text there";
  if (says("redefine"))
    remedy = "keep one of them";
  else if (says("parsing string"))
    remedy = "end the text with its quotes, on the same line";
  else if (says("parsing boolean") || says("value type"))
    remedy = "put texts in quotes";
  else if (says("parsing integer") || says("parsing floating-point"))
    remedy = "write a plain decimal number, such as 2450";
  else if (says("table header"))
    remedy = "write [name], or [[name]] for one of a list";
  return {"", "is not TOML: " + what, {}, remedy, line};
}

Result<Document> read_toml(std::string_view text) {
  if (const auto line = deep_key_line(text)) return too_deep(*line);
  Document out;
  try {
    const toml::table table = toml::parse(text);
    TomlCopier copier{out.lines};
    out.tree() = copier.copy(table, "", 0);
    if (copier.fault) return *copier.fault;
    return out;
  } catch (const toml::parse_error& fault) {
    return toml_fault(std::string(fault.description()), int(fault.source().begin.line));
  } catch (const std::exception&) {
    return Complaint{"", "is not TOML", {}, "mend the text", 0};
  }
}

// ---- JSON -------------------------------------------------------------------------------------

/// Walks over JSON text and counts its lines. A line ends when the sign after it is read, because
/// the library reads one sign ahead after a number.
class CountingSigns {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;

  CountingSigns(const char* at, int* line) : at_(at), line_(line) {}
  const char& operator*() const {
    if (after_end_) ++*line_;
    after_end_ = false;
    return *at_;
  }
  CountingSigns& operator++() {
    after_end_ = *at_ == '\n';
    ++at_;
    return *this;
  }
  bool operator==(const CountingSigns& other) const { return at_ == other.at_; }
  bool operator!=(const CountingSigns& other) const { return at_ != other.at_; }

 private:
  const char* at_;
  int* line_;
  mutable bool after_end_ = false;
};

/// Notes each key's line, and stops at the first limit or the first key that stands twice.
struct JsonLines {
  Lines& lines;
  int line = 1;
  std::optional<Complaint> fault{};
  std::size_t values = 0;
  struct Level {
    std::string path;
    std::size_t count = 0;
    bool list = false;
    std::set<std::string> names{};
  };
  std::vector<Level> levels{};
  std::string path{};  ///< of the value that comes next

  bool value() {
    if (!levels.empty() && levels.back().list)
      path = levels.back().path + "[" + std::to_string(levels.back().count++) + "]";
    lines.emplace(path, line);
    if (++values > most_values) fault = too_many(line);
    return !fault;
  }
  bool open(bool list) {
    if (levels.size() >= most_depth) fault = too_deep(line);
    if (!value()) return false;
    levels.push_back({path, 0, list, {}});
    return true;
  }
  bool close() {
    levels.pop_back();
    return true;
  }

  bool null() { return value(); }
  bool boolean(bool) { return value(); }
  bool number_integer(Json::number_integer_t) { return value(); }
  bool number_unsigned(Json::number_unsigned_t) { return value(); }
  bool number_float(Json::number_float_t, const std::string&) { return value(); }
  bool string(std::string&) { return value(); }
  bool binary(Json::binary_t&) { return value(); }
  bool start_object(std::size_t) { return open(false); }
  bool start_array(std::size_t) { return open(true); }
  bool end_object() { return close(); }
  bool end_array() { return close(); }
  bool key(std::string& name) {
    if (name.size() > most_key_bytes) fault = long_key(name.size(), line);
    if (fault) return false;
    path = levels.back().path.empty() ? name : levels.back().path + "." + name;
    lines.emplace(path, line);
    if (!levels.back().names.insert(name).second)
      fault = Complaint{path, "stands twice in one table", {}, "keep one of them", line};
    return !fault;
  }
  bool parse_error(std::size_t, const std::string&, const Json::exception&) { return false; }
};

Result<Document> read_json(std::string_view text) {
  Document out;
  JsonLines watch{out.lines};
  try {
    const char* const start = text.data();
    Json::sax_parse(CountingSigns(start, &watch.line),
                    CountingSigns(start + text.size(), &watch.line), &watch);
  } catch (const std::exception&) {
    // parse_json tells what was wrong.
  }
  if (watch.fault) return *watch.fault;
  auto json = parse_json(text, most_document_bytes, most_depth);
  if (!json) {
    Complaint fault = json.mistakes().items()[0];
    if (fault.line == 0) fault.line = watch.line;
    return fault;
  }
  out.tree() = std::move(*json);
  return out;
}

}  // namespace

Result<Document> read_document(std::string_view text) {
  if (text.size() > most_document_bytes)
    return Complaint{"", "is larger than 2 MB", double(text.size()), "a job file is a few kB", 0};
  if (const auto fault = encoding_fault(text)) return *fault;
  if (text.substr(0, 3) == "\xef\xbb\xbf") text.remove_prefix(3);
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos)
    return Complaint{"", "is empty", {}, "start from an example", 0};
  return text[first] == '{' ? read_json(text) : read_toml(text);
}

}  // namespace roomwright::job
