// Private to app/server: answers as they go over the line, and what stands in all of them.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/service/service.h"

namespace roomwright::app {

using Headers = std::vector<std::pair<std::string, std::string>>;

/// The answer to what was turned away, or to what went wrong in the transport: JSON for /api, else
/// a line of text.
PageAnswer told(int status, const std::string& why, bool as_json);

/// `Not Found`
std::string_view reason_of(int status);

/// Headers that every answer carries, and the policy of what a page may load.
const Headers& guard_headers();
std::string_view page_policy();    ///< Content-Security-Policy of the page and of /trust
std::string_view answer_policy();  ///< of answers of /api, should a browser show one

bool has_header(const Headers& headers, std::string_view name);

/// `Fri, 27 Nov 2026 15:04:05 GMT` (RFC 9110, 5.6.7)
std::string http_date(std::int64_t now_s);

/// Status and headers, each with its end of line, without the empty line behind them. Signs that
/// would end a header are left out of names and values. `connection`: empty says nothing.
std::string answer_head(int status, std::string_view type, const Headers& headers,
                        std::string_view connection);

}  // namespace roomwright::app
