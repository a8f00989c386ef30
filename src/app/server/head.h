// Private to app/server: what a request's head says, and whether this address answers it at all:
// Host against pages that point a name of their own at this machine, Origin and Sec-Fetch-Site
// against pages of others that write with this browser's rights. What a caller may do is the
// service's affair, and comes after. No sockets: the fuzzer and the unit tests come in here.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/service/service.h"

namespace roomwright::app {

/// A head as parsed: names of fields in lower case, in the order they came.
struct HttpHead {
  std::string method;    ///< as sent
  std::string target;    ///< as sent
  unsigned version = 0;  ///< 11 of HTTP/1.1
  std::vector<std::pair<std::string, std::string>> fields;

  /// The first of that name; empty where there is none.
  std::string_view field(std::string_view name) const;
  std::size_t count(std::string_view name) const;
  /// The target before its question mark.
  std::string_view path() const;
  bool reads() const { return method == "GET" || method == "HEAD"; }
};

/// One address that is listened on, and the names under which it answers.
struct Site {
  bool loopback = true;
  bool secure = false;             ///< TLS
  std::vector<std::string> names;  ///< `localhost`, `192.168.1.20`, `[::1]`: lower case, no port
  int port = 0;
};

/// Why this address does not answer, in words that a person can act on.
struct Turned {
  int status = 400;
  std::string why;
};

/// Errors: 400 malformed, 403 from another site's page, 414 too long, 421 a name that is not ours,
/// 501 an encoding that is not spoken, 505 another version of HTTP.
std::optional<Turned> turned_away(const HttpHead& head, const Site& site);

/// What the service is asked. `cookie`: the name under which a device keeps its secret.
RequestHead request_head(const HttpHead& head, const Site& site, const std::string& peer);

/// The first value of a cookie of that name in a Cookie field; empty where there is none.
std::string cookie_value(std::string_view cookies, std::string_view name);

/// Case-insensitive, for ASCII.
bool same_word(std::string_view a, std::string_view b);

/// Is `word` one of a comma-separated list?
bool lists_word(std::string_view list, std::string_view word);

}  // namespace roomwright::app
