// See answers.h.
#include "app/server/answers.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <ctime>

#include "app/server/head.h"

namespace roomwright::app {

namespace {

std::string header_value(std::string_view text) {
  std::string out;
  for (const char c : text)
    if (static_cast<unsigned char>(c) >= ' ' && c != 127) out += c;
  return out;
}

}  // namespace

bool has_header(const Headers& headers, std::string_view name) {
  return std::any_of(headers.begin(), headers.end(),
                     [&](const auto& one) { return same_word(one.first, name); });
}

PageAnswer told(int status, const std::string& why, bool as_json) {
  PageAnswer out;
  out.status = status;
  if (as_json) {
    // `why` is one of our own sentences: nothing in it needs escaping but a quote or a backslash.
    std::string safe;
    for (const char c : why)
      if (c != '"' && c != '\\' && static_cast<unsigned char>(c) >= ' ') safe += c;
    out.body = R"({"errors":[{"where":"","what":")" + safe + R"("}]})";
  } else {
    out.content_type = "text/plain; charset=utf-8";
    out.body = why + "\n";
  }
  return out;
}

std::string_view reason_of(int status) {
  constexpr std::array<std::pair<int, std::string_view>, 30> words = {{
      {100, "Continue"},
      {200, "OK"},
      {201, "Created"},
      {204, "No Content"},
      {206, "Partial Content"},
      {304, "Not Modified"},
      {307, "Temporary Redirect"},
      {400, "Bad Request"},
      {401, "Unauthorized"},
      {403, "Forbidden"},
      {404, "Not Found"},
      {405, "Method Not Allowed"},
      {408, "Request Timeout"},
      {409, "Conflict"},
      {410, "Gone"},
      {413, "Content Too Large"},
      {414, "URI Too Long"},
      {415, "Unsupported Media Type"},
      {416, "Range Not Satisfiable"},
      {417, "Expectation Failed"},
      {421, "Misdirected Request"},
      {422, "Unprocessable Content"},
      {429, "Too Many Requests"},
      {431, "Request Header Fields Too Large"},
      {499, "Nobody Waits"},
      {500, "Internal Server Error"},
      {501, "Not Implemented"},
      {503, "Service Unavailable"},
      {505, "HTTP Version Not Supported"},
      {507, "Insufficient Storage"},
  }};
  for (const auto& [number, word] : words)
    if (number == status) return word;
  return "Answer";
}

const Headers& guard_headers() {
  static const Headers headers = {
      {"X-Content-Type-Options", "nosniff"},
      {"Referrer-Policy", "no-referrer"},
      {"Cross-Origin-Opener-Policy", "same-origin"},
      {"Cross-Origin-Resource-Policy", "same-origin"},
      {"X-Frame-Options", "DENY"},
      {"Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=(), usb=()"}};
  return headers;
}

std::string_view page_policy() {
  return "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
         "img-src 'self' blob: data:; media-src 'self' blob:; connect-src 'self'; worker-src "
         "'self'; "
         "manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

std::string_view answer_policy() {
  return "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; font-src data:; "
         "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

std::string http_date(std::int64_t now_s) {
  const std::time_t now = std::time_t(now_s);
  std::tm at{};
  gmtime_r(&now, &at);
  // Not strftime: names of days and months must not follow a locale.
  constexpr const char* days[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr const char* months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                    "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  char text[64];
  std::snprintf(text, sizeof text, "%s, %02d %s %04d %02d:%02d:%02d GMT", days[at.tm_wday],
                at.tm_mday, months[at.tm_mon], at.tm_year + 1900, at.tm_hour, at.tm_min, at.tm_sec);
  return text;
}

std::string answer_head(int status, std::string_view type, const Headers& headers,
                        std::string_view connection) {
  std::string out =
      "HTTP/1.1 " + std::to_string(status) + " " + std::string(reason_of(status)) + "\r\n";
  const auto add = [&](std::string_view name, std::string_view value) {
    out += header_value(name) + ": " + header_value(value) + "\r\n";
  };
  add("Date", http_date(std::time(nullptr)));
  if (!type.empty()) add("Content-Type", type);
  for (const auto& [name, value] : headers) add(name, value);
  for (const auto& [name, value] : guard_headers())
    if (!has_header(headers, name)) add(name, value);
  if (!connection.empty()) add("Connection", connection);
  return out;
}

}  // namespace roomwright::app
