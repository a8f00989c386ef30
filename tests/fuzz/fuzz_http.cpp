// Bytes as they come in over a line: read by the server's own parser in pieces, judged by its own
// rules, put to the service's admission, and their body followed to its end. What must hold:
// nothing that is admitted names another host, no word given to the service holds a line's end, and
// an answer has one head.
#include <cstdlib>
#include <filesystem>

#include "app/server/answers.h"
#include "app/server/files.h"
#include "app/server/parse.h"
#include "app/store/store.h"

using namespace roomwright::app;

namespace {

void must(bool holds) {
  if (!holds) std::abort();
}

Service& service() {
  static const std::string path = (std::filesystem::temp_directory_path() /
                                   ("roomwright_fuzz_http_" + std::to_string(::getpid())))
                                      .string();
  static const auto store = [] {
    StoreOptions options;
    options.create = true;
    options.durable = false;
    return open_store(path, options);
  }();
  must(store.ok());
  static Service out(**store, [] {
    ServiceOptions options;
    options.now = [] { return std::string("2026-11-27T15:04:05Z"); };
    options.secret = [] { return std::string(64, 'a'); };
    return options;
  }());
  return out;
}

void one_line(const std::string& text) {
  must(text.find_first_of(std::string("\r\n\0", 3)) == std::string::npos);
}

void one_head(const PageAnswer& answer) {
  const std::string head = answer_head(answer.status, answer.content_type, answer.headers, "close");
  must(head.find("\r\n\r\n") == std::string::npos);
  must(head.rfind("HTTP/1.1 ", 0) == 0);
}

/// The body in small pieces, as a slow line brings it; how many bytes it has at most.
void follow_body(HeadParser& parser, boost::beast::flat_buffer& buffer, const std::uint8_t* at,
                 std::size_t left, std::size_t most) {
  char piece[64];
  std::size_t total = 0;
  for (int steps = 0; !parser.is_done() && steps < 20000; ++steps) {
    auto& target = parser.get().body();
    target.data = piece;
    target.size = sizeof piece;
    target.more = true;
    boost::system::error_code fault;
    const std::size_t used = parser.put(buffer.data(), fault);
    buffer.consume(used);
    must(target.size <= sizeof piece);
    total += sizeof piece - target.size;
    if (total > most) return;
    if (fault == boost::beast::http::error::need_buffer) continue;
    if (fault && fault != boost::beast::http::error::need_more) return;
    if (parser.is_done()) return;
    if (left == 0) return;
    const std::size_t more = std::min<std::size_t>(left, 17);
    std::memcpy(buffer.prepare(more).data(), at, more);
    buffer.commit(more);
    at += more;
    left -= more;
  }
}

const PageFiles& page() {
  static const PageFiles files({{"index.html", "<!doctype html>", "gz", "br"}});
  return files;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Site sites[] = {{true, false, {"127.0.0.1", "localhost", "[::1]"}, 8137},
                               {false, true, {"192.168.1.20", "shop-desk.local"}, 8138}};
  HeadParser parser;
  prepare(parser);
  boost::beast::flat_buffer buffer(65536);
  std::size_t taken = 0;
  HeadStep step = HeadStep::more;
  while (step == HeadStep::more && size > 0) {
    const std::size_t more = std::min<std::size_t>(size, 1 + data[0] % 97);
    std::memcpy(buffer.prepare(more).data(), data, more);
    buffer.commit(more);
    data += more;
    size -= more;
    step = read_on(parser, buffer, taken, most_field_bytes);
    must(taken <= most_field_bytes + 97);
  }
  if (step != HeadStep::whole) return 0;
  const HttpHead head = head_of(parser);
  std::size_t most_body = 1000;
  for (const Site& site : sites) {
    if (const auto turned = turned_away(head, site)) {
      must(turned->status >= 400 && turned->status < 600);
      one_head(told(turned->status, turned->why, true));
      continue;
    }
    must(head.count("host") == 1 && head.target[0] == '/');
    const RequestHead asked = request_head(head, site, "192.168.1.77");
    for (const std::string* word : {&asked.method, &asked.target, &asked.content_type, &asked.range,
                                    &asked.last_event_id, &asked.secret})
      one_line(*word);
    const Admission admission = service().admit(asked);
    if (!admission.ok) one_head(admission.refusal);
    if (admission.ok && !site.loopback) must(admission.operation == "pair");
    if (admission.ok) most_body = admission.most_body;
    (void)events_after(asked);
    const FileAnswer file = answer_file(page(), head);
    must(file.status == 200 || file.status == 304 || file.status == 404 || file.status == 405);
    must(file.body.empty() || head.path() == "/" || head.path() == "/index.html");
  }
  follow_body(parser, buffer, data, size, most_body);
  return 0;
}
