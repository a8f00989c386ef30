// See head.h.
#include "app/server/head.h"

#include <algorithm>
#include <charconv>

namespace roomwright::app {

namespace {

constexpr std::size_t most_target = 8192;

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? char(c - 'A' + 'a') : c;
}

std::string lowered(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), lower);
  return out;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

/// `name:port` in its two parts; the port is what the scheme stands for where none is said.
std::optional<std::pair<std::string, int>> split_host(std::string_view host, bool secure) {
  int port = secure ? 443 : 80;
  const std::size_t colon = host.rfind(':');
  const std::size_t bracket = host.rfind(']');
  if (colon != std::string_view::npos && (bracket == std::string_view::npos || colon > bracket)) {
    const std::string_view digits = host.substr(colon + 1);
    const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), port);
    if (fault != std::errc() || end != digits.data() + digits.size() || digits.empty())
      return std::nullopt;
    host = host.substr(0, colon);
  }
  return std::pair{lowered(host), port};
}

bool is_ours(std::string_view host, const Site& site) {
  const auto parts = split_host(host, site.secure);
  return parts && parts->second == site.port &&
         std::find(site.names.begin(), site.names.end(), parts->first) != site.names.end();
}

bool clean_target(std::string_view target) {
  if (target.empty() || target[0] != '/') return false;
  return std::all_of(target.begin(), target.end(),
                     [](char c) { return c > ' ' && c < 127 && c != '#' && c != '\\'; });
}

/// A page of another site may lead here by a link; it may neither write nor listen with the rights
/// of this browser, nor start work as if it were a picture.
bool from_elsewhere(const HttpHead& head, const Site& site) {
  const bool api = head.path().rfind("/api/", 0) == 0;
  const std::string_view from = head.field("sec-fetch-site");
  const bool foreign = !from.empty() && from != "same-origin" && from != "none";
  const bool guarded = !head.reads() || head.path() == "/api/events";
  if (foreign && (guarded || (api && head.field("sec-fetch-mode") != "navigate"))) return true;
  if (!guarded || head.count("origin") == 0) return false;
  const std::string_view origin = head.field("origin");
  const std::string_view scheme = site.secure ? "https://" : "http://";
  return head.count("origin") > 1 || origin.rfind(scheme, 0) != 0 ||
         !is_ours(origin.substr(scheme.size()), site) ||
         !same_word(origin.substr(scheme.size()), head.field("host"));
}

}  // namespace

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

bool lists_word(std::string_view list, std::string_view word) {
  while (!list.empty()) {
    const std::size_t comma = std::min(list.find(','), list.size());
    if (same_word(trimmed(list.substr(0, comma)), word)) return true;
    list.remove_prefix(std::min(comma + 1, list.size()));
  }
  return false;
}

std::string_view HttpHead::field(std::string_view name) const {
  for (const auto& [key, value] : fields)
    if (key == name) return value;
  return {};
}

std::size_t HttpHead::count(std::string_view name) const {
  return std::size_t(std::count_if(fields.begin(), fields.end(),
                                   [&](const auto& one) { return one.first == name; }));
}

std::string_view HttpHead::path() const {
  return std::string_view(target).substr(0, std::min(target.find('?'), target.size()));
}

std::optional<Turned> turned_away(const HttpHead& head, const Site& site) {
  if (head.version != 11 && head.version != 10) return Turned{505, "only HTTP/1.1 is spoken here"};
  if (head.count("host") != 1) return Turned{400, "a request names its host once"};
  if (head.target.size() > most_target) return Turned{414, "the address is too long"};
  if (!clean_target(head.target)) return Turned{400, "the address is malformed"};
  if (!is_ours(head.field("host"), site))
    return Turned{421, "this address answers to its own names only, such as " + site.names.front() +
                           ":" + std::to_string(site.port)};
  if (const std::string_view encoding = head.field("transfer-encoding");
      head.count("transfer-encoding") > 1 || (!encoding.empty() && !same_word(encoding, "chunked")))
    return Turned{501, "bodies are sent whole or chunked"};
  if (const std::string_view encoding = head.field("content-encoding");
      !encoding.empty() && !same_word(encoding, "identity"))
    return Turned{415, "bodies are sent uncompressed"};
  if (from_elsewhere(head, site)) return Turned{403, "asked by a page of another site"};
  return std::nullopt;
}

std::string cookie_value(std::string_view cookies, std::string_view name) {
  while (!cookies.empty()) {
    const std::size_t end = std::min(cookies.find(';'), cookies.size());
    const std::string_view one = trimmed(cookies.substr(0, end));
    const std::size_t equals = one.find('=');
    if (equals != std::string_view::npos && one.substr(0, equals) == name)
      return std::string(one.substr(equals + 1));
    cookies.remove_prefix(std::min(end + 1, cookies.size()));
  }
  return {};
}

RequestHead request_head(const HttpHead& head, const Site& site, const std::string& peer) {
  RequestHead out;
  out.method = head.method;
  out.target = head.target;
  out.content_type = head.field("content-type");
  out.range = head.field("range");
  out.last_event_id = head.field("last-event-id");
  out.secret = cookie_value(head.field("cookie"), device_cookie);
  out.loopback = site.loopback;
  out.peer = peer;
  return out;
}

}  // namespace roomwright::app
