// Private to app/server: Beast's parser as we set it, and its head in our own words. Apart from the
// sessions so that the fuzzer drives the same parser without sockets.
#pragma once

#include <boost/beast/http.hpp>
#include <limits>
#include <optional>

#include "app/server/head.h"

namespace roomwright::app {

using HeadParser = boost::beast::http::request_parser<boost::beast::http::buffer_body>;

/// For one request; the body is bounded by whoever reads it, after the head was admitted.
inline void prepare(HeadParser& parser, std::size_t head_bytes) {
  parser.header_limit(std::uint32_t(head_bytes));
  // Every length is above "none" for Beast 1.74, so that any body would be refused.
  parser.body_limit(std::numeric_limits<std::uint64_t>::max());
}

inline HttpHead head_of(const HeadParser& parser) {
  const auto& message = parser.get();
  HttpHead out;
  out.method = std::string(message.method_string());
  out.target = std::string(message.target());
  out.version = message.version();
  for (const auto& field : message) {
    std::string name(field.name_string());
    for (char& c : name)
      if (c >= 'A' && c <= 'Z') c = char(c - 'A' + 'a');
    out.fields.emplace_back(std::move(name), std::string(field.value()));
  }
  return out;
}

/// Of a body that says its length.
inline std::optional<std::size_t> length_of(const HeadParser& parser) {
  const auto length = parser.content_length();
  if (!length) return std::nullopt;
  return std::size_t(*length);
}

}  // namespace roomwright::app
