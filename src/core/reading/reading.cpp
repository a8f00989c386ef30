// Readers over nlohmann's tree; see reading.h.
#include "core/reading/reading.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

namespace roomwright {

bool Range::holds(double value) const {
  return std::isfinite(value) && value > above && value >= at_least && value < below &&
         value <= at_most;
}

std::string Range::sentence() const {
  std::vector<std::string> parts;
  if (std::isfinite(above)) parts.push_back("above " + shortest(above));
  if (std::isfinite(at_least)) parts.push_back("at least " + shortest(at_least));
  if (std::isfinite(below)) parts.push_back("below " + shortest(below));
  if (std::isfinite(at_most)) parts.push_back("at most " + shortest(at_most));
  if (parts.empty()) return "must be a finite number";
  std::string out = "must be " + parts[0];
  for (std::size_t i = 1; i < parts.size(); ++i) out += " and " + parts[i];
  return out;
}

Got shown(const Json& value) {
  switch (value.type()) {
    case Json::value_t::null:
      return std::string("null");
    case Json::value_t::boolean:
      return std::string(value.get<bool>() ? "true" : "false");
    case Json::value_t::number_integer:
    case Json::value_t::number_unsigned:
    case Json::value_t::number_float:
      return value.get<double>();
    case Json::value_t::string: {
      const auto& text = value.get_ref<const std::string&>();
      std::string out = "\"";
      for (std::size_t i = 0; i < text.size() && i < 60; ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        out += byte < 0x20 || byte == 0x7f ? '?' : text[i];
      }
      while (!out.empty() && text.size() > 60 &&
             (static_cast<unsigned char>(out.back()) & 0xc0u) == 0x80u)
        out.pop_back();
      return out + (text.size() > 60 ? "…\"" : "\"");
    }
    case Json::value_t::array:
      return std::string("a list");
    case Json::value_t::object:
      return std::string("a table");
    default:
      return std::string("something else");
  }
}

void add_with_line(Diagnostics& found, const Lines* lines, Complaint complaint) {
  if (lines && complaint.line == 0) {
    std::string path = complaint.where;
    for (;;) {
      if (const auto at = lines->find(path); at != lines->end()) {
        complaint.line = at->second;
        break;
      }
      const auto cut = path.find_last_of(".[");
      if (cut == std::string::npos) break;
      path.resize(cut);
    }
  }
  found.add(std::move(complaint));
}

std::optional<std::string> nearest(std::string_view wanted, const std::vector<std::string>& names) {
  if (wanted.size() > 64) return std::nullopt;
  std::optional<std::string> best;
  std::size_t best_distance = std::max<std::size_t>(1, wanted.size() / 3) + 1;
  for (const auto& name : names) {
    if (name.size() > 128) continue;
    // Two letters that changed places are one slip of the fingers, so three rows are kept.
    std::vector<std::size_t> two_up(name.size() + 1), up = two_up, row = two_up;
    for (std::size_t j = 0; j <= name.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= wanted.size(); ++i) {
      two_up.swap(up);
      up.swap(row);
      row[0] = i;
      for (std::size_t j = 1; j <= name.size(); ++j) {
        row[j] = std::min({up[j] + 1, row[j - 1] + 1, up[j - 1] + (wanted[i - 1] != name[j - 1])});
        if (i > 1 && j > 1 && wanted[i - 1] == name[j - 2] && wanted[i - 2] == name[j - 1])
          row[j] = std::min(row[j], two_up[j - 2] + 1);
      }
    }
    if (row[name.size()] < best_distance) {
      best_distance = row[name.size()];
      best = name;
    }
  }
  return best;
}

Reader::Reader(const Json& object, std::string where, Diagnostics& found, const Lines* lines)
    : tree_(object), where_(std::move(where)), found_(found), lines_(lines) {
  if (!tree_.is_object())
    add_with_line(found_, lines_,
                  {where_, "must be a table of keys and values", shown(tree_), {}, 0});
}
Reader::~Reader() = default;
Reader::Reader(Reader&&) noexcept = default;

bool Reader::is_object() const {
  return tree_.is_object();
}

bool Reader::has(std::string_view key) const {
  return is_object() && tree_.find(std::string(key)) != tree_.end();
}

std::string Reader::path(std::string_view key) const {
  if (where_.empty()) return std::string(key);
  if (key.empty()) return where_;
  return where_ + "." + std::string(key);
}

std::vector<std::string> Reader::keys() const {
  std::vector<std::string> out;
  if (is_object())
    for (const auto& [key, value] : tree_.items()) out.push_back(key);
  return out;
}

void Reader::complain(std::string_view key, std::string what, Got got, std::string remedy) {
  add_with_line(found_, lines_, {path(key), std::move(what), std::move(got), std::move(remedy), 0});
}

const Json* Reader::raw(std::string_view key) {
  asked_.emplace_back(key);
  if (!is_object()) return nullptr;
  const auto at = tree_.find(std::string(key));
  return at == tree_.end() ? nullptr : &*at;
}

const Json* Reader::required(std::string_view key, std::string_view remedy) {
  const Json* value = raw(key);
  if (!value && is_object()) complain(key, "is missing", {}, std::string(remedy));
  return value;
}

double Reader::checked(std::string_view key, const Json& value, const Range& range,
                       std::string_view remedy) {
  const double nothing = std::numeric_limits<double>::quiet_NaN();
  if (!value.is_number()) {
    complain(key, "must be a number", shown(value), std::string(remedy));
    return nothing;
  }
  const double number = value.get<double>();
  if (range.holds(number)) return number;
  complain(key, std::isfinite(number) ? range.sentence() : "must be a finite number", number,
           std::string(remedy));
  return nothing;
}

double Reader::number(std::string_view key, const Range& range, std::string_view remedy) {
  const Json* value = required(key, remedy);
  return value ? checked(key, *value, range, remedy) : std::numeric_limits<double>::quiet_NaN();
}

double Reader::number_or(std::string_view key, double fallback, const Range& range,
                         std::string_view remedy) {
  const Json* value = raw(key);
  return value ? checked(key, *value, range, remedy) : fallback;
}

std::optional<double> Reader::optional_number(std::string_view key, const Range& range,
                                              std::string_view remedy) {
  const Json* value = raw(key);
  if (!value) return std::nullopt;
  return checked(key, *value, range, remedy);
}

long long Reader::whole_or(std::string_view key, long long fallback, long long at_least,
                           long long at_most, std::string_view remedy) {
  const Json* value = raw(key);
  if (!value) return fallback;
  if (!value->is_number() || value->get<double>() != std::floor(value->get<double>())) {
    complain(key, "must be a whole number", shown(*value), std::string(remedy));
    return at_least;
  }
  const double number = value->get<double>();
  if (number < static_cast<double>(at_least) || number > static_cast<double>(at_most)) {
    complain(key, "must be from " + std::to_string(at_least) + " to " + std::to_string(at_most),
             number, std::string(remedy));
    return at_least;
  }
  return static_cast<long long>(number);
}

long long Reader::whole(std::string_view key, long long at_least, long long at_most,
                        std::string_view remedy) {
  if (!has(key)) {
    required(key, remedy);
    return at_least;
  }
  return whole_or(key, at_least, at_least, at_most, remedy);
}

bool Reader::truth_or(std::string_view key, bool fallback) {
  const Json* value = raw(key);
  if (!value) return fallback;
  if (value->is_boolean()) return value->get<bool>();
  complain(key, "must be true or false", shown(*value));
  return fallback;
}

namespace {

bool valid_utf8(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size()) {
    const auto lead = static_cast<unsigned char>(text[i]);
    std::size_t more = 0;
    unsigned point = lead;
    if (lead < 0x80) {
      ++i;
      continue;
    }
    if (lead >= 0xc2 && lead <= 0xdf) {
      more = 1;
      point = lead & 0x1fu;
    } else if (lead >= 0xe0 && lead <= 0xef) {
      more = 2;
      point = lead & 0x0fu;
    } else if (lead >= 0xf0 && lead <= 0xf4) {
      more = 3;
      point = lead & 0x07u;
    } else {
      return false;
    }
    if (i + more >= text.size()) return false;
    for (std::size_t k = 1; k <= more; ++k) {
      const auto next = static_cast<unsigned char>(text[i + k]);
      if ((next & 0xc0u) != 0x80u) return false;
      point = (point << 6u) | (next & 0x3fu);
    }
    if ((more == 2 && point < 0x800) || (more == 3 && point < 0x10000) || point > 0x10ffff ||
        (point >= 0xd800 && point <= 0xdfff))
      return false;
    i += more + 1;
  }
  return true;
}

}  // namespace

std::string Reader::text(std::string_view key, std::string_view remedy, std::size_t max_bytes) {
  const Json* value = required(key, remedy);
  if (!value) return {};
  if (!value->is_string()) {
    complain(key, "must be a text in quotes", shown(*value), std::string(remedy));
    return {};
  }
  const auto& got = value->get_ref<const std::string&>();
  if (got.empty()) {
    complain(key, "must not be empty", {}, std::string(remedy));
    return {};
  }
  if (got.size() > max_bytes) {
    complain(key, "must be at most " + std::to_string(max_bytes) + " bytes long", shown(*value),
             std::string(remedy));
    return {};
  }
  const bool control = std::any_of(got.begin(), got.end(), [](char letter) {
    const auto byte = static_cast<unsigned char>(letter);
    return byte < 0x20 || byte == 0x7f;
  });
  if (control || !valid_utf8(got)) {
    complain(key, "must be plain text without control characters", shown(*value),
             std::string(remedy));
    return {};
  }
  return got;
}

std::string Reader::text_or(std::string_view key, std::string_view fallback,
                            std::size_t max_bytes) {
  if (!has(key)) {
    raw(key);
    return std::string(fallback);
  }
  return text(key, {}, max_bytes);
}

std::optional<std::size_t> Reader::one_of(std::string_view key,
                                          const std::vector<std::string>& names) {
  std::string list;
  for (std::size_t i = 0; i < names.size(); ++i)
    list += (i == 0 ? "" : i + 1 == names.size() ? " or " : ", ") + names[i];
  const Json* value = required(key, "give one of " + list);
  if (!value) return std::nullopt;
  if (value->is_string()) {
    const auto& got = value->get_ref<const std::string&>();
    for (std::size_t i = 0; i < names.size(); ++i)
      if (names[i] == got) return i;
    if (const auto near = nearest(got, names)) {
      complain(key, "is not known", shown(*value), "did you mean " + *near + "? Known: " + list);
      return std::nullopt;
    }
  }
  complain(key, "is not known", shown(*value), "give one of " + list);
  return std::nullopt;
}

std::optional<std::size_t> Reader::one_of_or(std::string_view key, std::size_t fallback,
                                             const std::vector<std::string>& names) {
  if (!has(key)) {
    raw(key);
    return fallback;
  }
  return one_of(key, names);
}

std::vector<double> Reader::numbers(std::string_view key, std::size_t at_least_count,
                                    std::size_t at_most_count, const Range& range,
                                    std::string_view remedy) {
  const Json* value = required(key, remedy);
  if (!value) return {};
  if (!value->is_array()) {
    complain(key, "must be a list of numbers", shown(*value), std::string(remedy));
    return {};
  }
  if (value->size() < at_least_count || value->size() > at_most_count) {
    const std::string wanted =
        at_least_count == at_most_count
            ? std::to_string(at_least_count)
            : std::to_string(at_least_count) + " to " + std::to_string(at_most_count);
    complain(key, "must have " + wanted + " numbers", static_cast<double>(value->size()),
             std::string(remedy));
    return {};
  }
  std::vector<double> out;
  for (std::size_t i = 0; i < value->size(); ++i)
    out.push_back(
        checked(std::string(key) + "[" + std::to_string(i) + "]", (*value)[i], range, remedy));
  return out;
}

void Reader::child(std::string_view key, const std::function<void(Reader&)>& read) {
  const Json* value = raw(key);
  if (!value) return;
  Reader inside(*value, path(key), found_, lines_);
  if (value->is_object()) read(inside);
}

void Reader::required_child(std::string_view key, const std::function<void(Reader&)>& read,
                            std::string_view remedy) {
  if (required(key, remedy)) child(key, read);
}

void Reader::each(std::string_view key, std::size_t at_least_count, std::size_t at_most_count,
                  const std::function<void(Reader&)>& read, std::string_view remedy) {
  const Json* value = at_least_count > 0 ? required(key, remedy) : raw(key);
  if (!value) return;
  if (!value->is_array()) {
    complain(key, "must be a list of tables", shown(*value), std::string(remedy));
    return;
  }
  if (value->size() < at_least_count || value->size() > at_most_count) {
    complain(key,
             "must have " + std::to_string(at_least_count) + " to " +
                 std::to_string(at_most_count) + " entries",
             static_cast<double>(value->size()), std::string(remedy));
    return;
  }
  for (std::size_t i = 0; i < value->size(); ++i) {
    Reader inside((*value)[i], path(key) + "[" + std::to_string(i) + "]", found_, lines_);
    if ((*value)[i].is_object()) read(inside);
  }
}

void Reader::each_named(std::string_view key,
                        const std::function<void(const std::string&, Reader&)>& read) {
  const Json* value = raw(key);
  if (!value) return;
  if (!value->is_object()) {
    complain(key, "must be a table of tables", shown(*value));
    return;
  }
  for (const auto& [name, object] : value->items()) {
    Reader inside(object, path(key) + "." + name, found_, lines_);
    if (object.is_object()) read(name, inside);
  }
}

void Reader::finish() {
  if (!is_object()) return;
  for (const auto& [key, value] : tree_.items()) {
    if (std::find(asked_.begin(), asked_.end(), key) != asked_.end()) continue;
    std::string shown_key = std::get<std::string>(shown(Json(key)));
    shown_key = shown_key.substr(1, shown_key.size() - 2);
    const auto near = nearest(key, asked_);
    complain(shown_key, "is not a known key", {},
             near ? "did you mean " + *near + "?" : "take it out");
  }
}

Result<Json> parse_json(std::string_view text, std::size_t max_bytes, int max_depth) {
  if (text.size() > max_bytes)
    return Complaint{
        "", "the text is larger than " + std::to_string(max_bytes) + " bytes", {}, "send less", 0};
  bool too_deep = false;
  std::string twice;
  std::vector<std::set<std::string>> seen;
  const auto watch = [&](int depth, Json::parse_event_t event, Json& parsed) {
    if (depth > max_depth) too_deep = true;
    if (event == Json::parse_event_t::object_start) seen.emplace_back();
    if (event == Json::parse_event_t::object_end && !seen.empty()) seen.pop_back();
    if (event == Json::parse_event_t::key && !seen.empty() && parsed.is_string() &&
        !seen.back().insert(parsed.get<std::string>()).second && twice.empty())
      twice = parsed.get<std::string>();
    return !too_deep;
  };
  try {
    Json tree = Json::parse(text, watch);
    if (too_deep)
      return Complaint{"",
                       "is nested deeper than " + std::to_string(max_depth) + " levels",
                       {},
                       "send a flatter tree",
                       0};
    if (!twice.empty())
      return Complaint{twice, "stands twice in one table", {}, "keep one of them", 0};
    return tree;
  } catch (const Json::parse_error& fault) {
    const std::size_t at = std::min(fault.byte > 0 ? fault.byte - 1 : 0, text.size());
    int line = 1;
    std::size_t start = 0;
    for (std::size_t i = 0; i < at; ++i)
      if (text[i] == '\n') {
        ++line;
        start = i + 1;
      }
    return Complaint{"",
                     "is not JSON: stopped at line " + std::to_string(line) + ", column " +
                         std::to_string(at - start + 1),
                     {},
                     "mend the text there",
                     line};
  } catch (const Json::exception&) {
    return Complaint{
        "", "is not JSON: a number is too large or a text is broken", {}, "mend it", 0};
  }
}

std::string json_text(const Json& tree, int indent) {
  return tree.dump(indent, ' ', false, Json::error_handler_t::replace);
}

Json json_of(const Diagnostics& found) {
  Json list = Json::array();
  for (const auto& item : found.items()) {
    Json entry = {{"where", item.where}, {"what", item.what}, {"remedy", item.remedy}};
    if (const auto* number = std::get_if<double>(&item.got)) {
      if (std::isfinite(*number))
        entry["got"] = *number;
      else
        entry["got"] = shortest(*number);
    } else if (const auto* text = std::get_if<std::string>(&item.got)) {
      entry["got"] = *text;
    } else {
      entry["got"] = nullptr;
    }
    if (item.line > 0) entry["line"] = item.line;
    list.push_back(std::move(entry));
  }
  return Json{{"errors", std::move(list)}};
}

}  // namespace roomwright
