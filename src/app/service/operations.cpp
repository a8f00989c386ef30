// Which requests there are, who may ask them and how long they take: web/api/openapi.json in the
// service's own words. A test holds the two against each other, both ways.
#include "app/service/parts.h"

namespace roomwright::app {

namespace {

constexpr std::size_t no_body = 0, json_body = 32u << 20;

const std::vector<Role> everyone = {Role::office, Role::bench, Role::site};
const std::vector<Role> in_the_shop = {Role::office, Role::bench};
const std::vector<Role> office_alone = {Role::office};

std::vector<Operation> all_operations() {
  using enum Pace;
  return {
      {"state", "GET", "/api/state", everyone, quick, no_body},
      {"library", "GET", "/api/library", everyone, quick, no_body},
      {"jobs", "GET", "/api/jobs", everyone, quick, no_body},
      {"create_job", "POST", "/api/jobs", office_alone, quick, json_body},
      {"import_job", "POST", "/api/jobs/import", office_alone, quick, json_body},
      {"export_job", "GET", "/api/jobs/{id}/export", office_alone, quick, no_body},
      {"stage", "GET", "/api/jobs/{id}/stages/{stage}", everyone, long_, no_body},
      {"draft", "POST", "/api/jobs/{id}/draft", office_alone, stream, json_body},
      {"inspections", "GET", "/api/jobs/{id}/inspections", everyone, long_, no_body},
      {"measured", "GET", "/api/jobs/{id}/measured", everyone, long_, no_body},
      {"advice", "GET", "/api/jobs/{id}/advice/{kind}", office_alone, long_, no_body},
      {"papers", "GET", "/api/jobs/{id}/papers", everyone, long_, no_body},
      {"paper", "GET", "/api/jobs/{id}/papers/{name}", everyone, long_, no_body},
      {"alternatives", "GET", "/api/jobs/{id}/alternatives", everyone, quick, no_body},
      {"add_alternative", "POST", "/api/jobs/{id}/alternatives", office_alone, quick, json_body},
      {"take_alternative", "POST", "/api/jobs/{id}/alternatives/{alternative}/take", office_alone,
       quick, json_body},
      {"remove_alternative", "DELETE", "/api/jobs/{id}/alternatives/{alternative}", office_alone,
       quick, no_body},
      {"documents", "GET", "/api/documents", office_alone, quick, no_body},
      {"document", "GET", "/api/documents/{id}", everyone, quick, no_body},
      {"remove_document", "DELETE", "/api/documents/{id}", office_alone, quick, json_body},
      {"document_text", "GET", "/api/documents/{id}/text", office_alone, quick, no_body},
      {"replace_document", "PUT", "/api/documents/{id}/text", office_alone, quick, json_body},
      {"edit", "POST", "/api/documents/{id}/edits", office_alone, quick, json_body},
      {"undo", "POST", "/api/documents/{id}/undo", office_alone, quick, json_body},
      {"redo", "POST", "/api/documents/{id}/redo", office_alone, quick, json_body},
      {"history", "GET", "/api/documents/{id}/history", office_alone, quick, no_body},
      {"events", "GET", "/api/events", everyone, events, no_body},
      {"files", "GET", "/api/files", everyone, quick, no_body},
      {"put_file", "POST", "/api/files", everyone, long_, most_file_bytes},
      {"file_bytes", "GET", "/api/files/{id}", everyone, long_, no_body},
      {"remove_file", "DELETE", "/api/files/{id}", office_alone, quick, no_body},
      {"entries", "GET", "/api/journals/{name}", everyone, quick, no_body},
      {"append", "POST", "/api/journals/{name}", everyone, quick, json_body},
      {"stock", "GET", "/api/stock", everyone, quick, no_body},
      {"times", "GET", "/api/times", in_the_shop, long_, no_body},
      {"write_times", "POST", "/api/times", office_alone, long_, json_body},
      {"calendar", "GET", "/api/calendar", in_the_shop, long_, no_body},
      {"clients", "GET", "/api/clients", office_alone, quick, no_body},
      {"export_client", "GET", "/api/clients/{name}/export", office_alone, long_, no_body},
      {"erase_client", "POST", "/api/clients/{name}/erase", office_alone, long_, json_body},
      {"devices", "GET", "/api/devices", office_alone, quick, no_body},
      {"pairing_code", "POST", "/api/devices/codes", office_alone, quick, json_body},
      {"pair", "POST", "/api/devices/pair", {}, quick, json_body},
      {"unpair", "DELETE", "/api/devices/{id}", office_alone, quick, no_body},
  };
}

bool is_place(std::string_view part) {
  return part.size() > 2 && part.front() == '{' && part.back() == '}';
}

std::vector<std::string_view> split(std::string_view text, char sign) {
  std::vector<std::string_view> out;
  for (;;) {
    const auto at = text.find(sign);
    out.push_back(text.substr(0, at));
    if (at == std::string_view::npos) return out;
    text.remove_prefix(at + 1);
  }
}

int hex_digit(char sign) {
  if (sign >= '0' && sign <= '9') return sign - '0';
  if (sign >= 'a' && sign <= 'f') return sign - 'a' + 10;
  if (sign >= 'A' && sign <= 'F') return sign - 'A' + 10;
  return -1;
}

/// Whether the parts fit a pattern, and how many of them word for word (the more the better).
std::optional<int> fits(const std::vector<std::string_view>& pattern,
                        const std::vector<std::string>& parts) {
  if (pattern.size() != parts.size()) return std::nullopt;
  int same = 0;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (is_place(pattern[i])) continue;
    if (pattern[i] != parts[i]) return std::nullopt;
    ++same;
  }
  return same;
}

}  // namespace

const std::vector<Operation>& operations() {
  static const std::vector<Operation> all = all_operations();
  return all;
}

bool valid_utf8(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    const auto lead = static_cast<unsigned char>(text[at]);
    const int more = lead < 0x80                   ? 0
                     : lead >= 0xc2 && lead < 0xe0 ? 1
                     : lead >= 0xe0 && lead < 0xf0 ? 2
                     : lead >= 0xf0 && lead < 0xf5 ? 3
                                                   : -1;
    if (more < 0 || at + std::size_t(more) >= text.size()) return false;
    for (int k = 1; k <= more; ++k)
      if ((static_cast<unsigned char>(text[at + std::size_t(k)]) & 0xc0) != 0x80) return false;
    if (more >= 2) {
      const auto next = static_cast<unsigned char>(text[at + 1]);
      if ((lead == 0xe0 && next < 0xa0) || (lead == 0xed && next > 0x9f) ||
          (lead == 0xf0 && next < 0x90) || (lead == 0xf4 && next > 0x8f))
        return false;
    }
    at += 1 + std::size_t(more);
  }
  return true;
}

std::optional<std::string> decoded(std::string_view text, bool plus_is_blank) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const int high = hex_digit(text[i + 1]), low = hex_digit(text[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      out += static_cast<char>(high * 16 + low);
      i += 2;
    } else {
      out += plus_is_blank && text[i] == '+' ? ' ' : text[i];
    }
  }
  if (!valid_utf8(out)) return std::nullopt;
  for (const char sign : out)
    if (static_cast<unsigned char>(sign) < 0x20 || sign == 0x7f) return std::nullopt;
  return out;
}

std::optional<std::vector<std::string>> path_words(std::string_view path) {
  if (path.empty() || path[0] != '/') return std::nullopt;
  std::vector<std::string> out;
  for (const std::string_view part : split(path.substr(1), '/')) {
    auto word = decoded(part, false);
    if (!word || word->empty() || *word == "." || *word == ".." || word->size() > most_word ||
        word->find_first_of("/\\") != std::string::npos)
      return std::nullopt;
    out.push_back(std::move(*word));
  }
  return out;
}

std::optional<Query> query_of(std::string_view target) {
  Query out;
  const auto mark = target.find('?');
  if (mark == std::string_view::npos || mark + 1 == target.size()) return out;
  for (const std::string_view pair : split(target.substr(mark + 1), '&')) {
    if (pair.empty()) continue;
    const auto equals = pair.find('=');
    auto key = decoded(pair.substr(0, equals), true);
    auto value = equals == std::string_view::npos ? std::optional<std::string>("")
                                                  : decoded(pair.substr(equals + 1), true);
    if (!key || !value || !out.emplace(std::move(*key), std::move(*value)).second)
      return std::nullopt;
  }
  return out;
}

Route route_of(std::string_view method, const std::vector<std::string>& parts) {
  static const std::vector<std::vector<std::string_view>> patterns = [] {
    std::vector<std::vector<std::string_view>> out;
    for (const Operation& one : operations())
      out.push_back(split(std::string_view(one.path).substr(1), '/'));
    return out;
  }();
  Route out;
  int best = -1;
  std::size_t found = 0;
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    const auto same = fits(patterns[i], parts);
    if (!same) continue;
    const Operation& one = operations()[i];
    if (std::find(out.allowed.begin(), out.allowed.end(), one.method) == out.allowed.end())
      out.allowed.push_back(one.method);
    if (one.method != method || *same <= best) continue;
    best = *same;
    out.operation = &one;
    found = i;
  }
  if (out.operation)
    for (std::size_t k = 0; k < parts.size(); ++k)
      if (is_place(patterns[found][k])) out.words.push_back(parts[k]);
  return out;
}

}  // namespace roomwright::app
