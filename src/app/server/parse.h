// Private to app/server: Beast's parser as we set it, and its head in our own words. Apart from the
// sessions so that the fuzzer drives the same parser without sockets.
#pragma once

#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <limits>
#include <optional>

#include "app/server/head.h"

namespace roomwright::app {

using HeadParser = boost::beast::http::request_parser<boost::beast::http::buffer_body>;

inline constexpr std::size_t most_field_bytes = 16384;

/// For one request; head and body are bounded by whoever reads them. A limit of `none` would refuse
/// every body: Beast 1.74 compares its length with it all the same.
inline void prepare(HeadParser& parser) {
  parser.header_limit(std::uint32_t(most_field_bytes));
  parser.body_limit(std::numeric_limits<std::uint64_t>::max());
}

enum class HeadStep { more, whole, too_long, broken };

/// Takes what has come into the buffer. Not by Beast's own reading: its limit holds for one field
/// after the other, ours for all that was `taken` together.
inline HeadStep read_on(HeadParser& parser, boost::beast::flat_buffer& buffer, std::size_t& taken,
                        std::size_t most_bytes) {
  boost::system::error_code fault;
  const std::size_t used = parser.put(buffer.data(), fault);
  buffer.consume(used);
  taken += used;
  if (fault == boost::beast::http::error::header_limit) return HeadStep::too_long;
  if (fault && fault != boost::beast::http::error::need_more) return HeadStep::broken;
  if (taken > most_bytes) return HeadStep::too_long;
  if (parser.is_header_done()) return HeadStep::whole;
  return taken + buffer.size() > most_bytes ? HeadStep::too_long : HeadStep::more;
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
