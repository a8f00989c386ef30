// Requests that are no requests. Whatever comes in, the program answers the next caller.
#include <atomic>
#include <thread>

#include "core/base/base.h"
#include "server/serving.h"

namespace roomwright::served {
namespace {

TEST_F(Serving, what_is_malformed_is_refused_and_the_connection_ends) {
  auto served = serve();
  const std::string name = "Host: " + host(*served) + "\r\n";
  const std::string json_kind = "Content-Type: application/json\r\n";
  const std::string post = "POST /api/jobs HTTP/1.1\r\n" + name + json_kind;
  const std::vector<std::pair<std::string, std::string>> all = {
      {"no request at all", "hello\r\n\r\n"},
      {"binary", std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11) + "\r\n\r\n"},
      {"no version", "GET /\r\n" + name + "\r\n"},
      {"an odd version", "GET / HTTP/9.9\r\n" + name + "\r\n"},
      {"two blanks", "GET  / HTTP/1.1\r\n" + name + "\r\n"},
      {"a zero in the target", "GET /a" + std::string(1, '\0') + "b HTTP/1.1\r\n" + name + "\r\n"},
      {"a field without a colon", "GET / HTTP/1.1\r\n" + name + "nonsense\r\n\r\n"},
      {"a blank before the colon", "GET / HTTP/1.1\r\nHost : x\r\n\r\n"},
      {"a field that is folded", "GET / HTTP/1.1\r\n" + name + " folded: x\r\n\r\n"},
      {"lines ended by LF alone", "GET / HTTP/1.1\nHost: x\n\n"},
      {"a zero in a field",
       "GET / HTTP/1.1\r\n" + name + "X: a" + std::string(1, '\0') + "b\r\n\r\n"},
      {"two hosts", "GET / HTTP/1.1\r\n" + name + name + "\r\n"},
      {"an absolute address", "GET http://" + host(*served) + "/ HTTP/1.1\r\n" + name + "\r\n"},
      {"a star", "OPTIONS * HTTP/1.1\r\n" + name + "\r\n"},
      {"a host and port to connect to", "CONNECT other.example:443 HTTP/1.1\r\n" + name + "\r\n"},
      {"a negative length", post + "Content-Length: -1\r\n\r\n"},
      {"a length in words", post + "Content-Length: five\r\n\r\nhello"},
      {"two lengths", post + "Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}"},
      {"a length with a sign", post + "Content-Length: +2\r\n\r\n{}"},
      {"a length that overflows", post + "Content-Length: 99999999999999999999999\r\n\r\n{}"},
      {"length and chunks",
       post + "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n"},
      {"chunks and length",
       post + "Transfer-Encoding: chunked\r\nContent-Length: 2\r\n\r\n2\r\n{}\r\n0\r\n\r\n"},
      {"an encoding we do not speak", post + "Transfer-Encoding: gzip\r\n\r\n{}"},
      {"an encoding twice",
       post + "Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"},
      {"a chunk's size in words",
       post + "Transfer-Encoding: chunked\r\n\r\nlots\r\n{}\r\n0\r\n\r\n"},
      {"a chunk's size that overflows",
       post + "Transfer-Encoding: chunked\r\n\r\nfffffffffffffffffff\r\n{}"},
      {"a chunk longer than it says",
       post + "Transfer-Encoding: chunked\r\n\r\n1\r\n{}\r\n0\r\n\r\n"},
      {"a head without end",
       "GET / HTTP/1.1\r\n" + name + "X: " + std::string(40000, 'a') + "\r\n\r\n"},
      {"a thousand fields",
       [&] {
         std::string out = "GET / HTTP/1.1\r\n" + name;
         for (int i = 0; i < 3000; ++i) out += "X" + std::to_string(i) + ": y\r\n";
         return out + "\r\n";
       }()},
      {"a target without end", "GET /" + std::string(12000, 'a') + " HTTP/1.1\r\n" + name + "\r\n"},
  };
  for (const auto& [what, bytes] : all) {
    Line line(served->port());
    line.send(bytes);
    line.end_sending();
    const Answer answer = line.read(5);
    EXPECT_GE(answer.status, 400) << what;
    EXPECT_LT(answer.status, 506) << what;
    EXPECT_NE(answer.status, 500) << what;
    EXPECT_TRUE(line.ends(3)) << what;
    EXPECT_TRUE(line.waiting().empty()) << what << ": a second answer: " << line.waiting();
  }
  EXPECT_EQ(json(served->ask("GET", "/api/jobs")).size(), 0u) << "none of them made a job";
  EXPECT_EQ(served->stop(), 0);
}

/// Bytes of requests, each a little wrong: taken away, doubled, swapped, put in from a list of what
/// parsers stumble over.
std::string mutated(const std::vector<std::string>& seeds, Random& random) {
  static const std::vector<std::string> odd = {"\r\n",
                                               "\r",
                                               "\n",
                                               std::string(1, '\0'),
                                               "\xff",
                                               ":",
                                               " ",
                                               "%00",
                                               "%",
                                               "..",
                                               "/",
                                               "Content-Length: 3\r\n",
                                               "Transfer-Encoding: chunked\r\n",
                                               "0\r\n\r\n",
                                               "ffffffff\r\n",
                                               "HTTP/1.1",
                                               "Host: x\r\n",
                                               "Expect: 100-continue\r\n",
                                               "Connection: close\r\n",
                                               "Range: bytes=0-18446744073709551615\r\n",
                                               "Last-Event-ID: -1\r\n",
                                               "{\"edits\":[",
                                               "\"",
                                               "1e999"};
  std::string out = seeds[random.below(std::uint32_t(seeds.size()))];
  const int changes = 1 + int(random.below(4));
  for (int i = 0; i < changes && !out.empty(); ++i) {
    const std::size_t at = random.below(std::uint32_t(out.size()));
    const std::size_t size = random.below(12);
    switch (random.below(6)) {
      case 0:
        out.erase(at, size);
        break;
      case 1:
        out.insert(at, out.substr(at, size));
        break;
      case 2:
        out[at] = char(random.below(256));
        break;
      case 3:
        out.insert(at, odd[random.below(std::uint32_t(odd.size()))]);
        break;
      case 4:
        out.resize(at);
        break;
      default:
        std::swap(out[at], out[random.below(std::uint32_t(out.size()))]);
        break;
    }
  }
  return out;
}

TEST_F(Serving, thousands_of_broken_requests_leave_it_well) {
  auto served = serve();
  const std::string job = demo(*served), at = host(*served);
  const Json edit = {{"base", 1},
                     {"token", "x"},
                     {"edits", {{{"at", "room.height"}, {"from", 2480}, {"to", 2430}}}}};
  const Fields as_json = {{"Content-Type", "application/json"}};
  const std::vector<std::string> seeds = {
      request_text(at, "GET", "/", "", {{"Accept-Encoding", "gzip, br"}}),
      request_text(at, "GET", "/api/state"),
      request_text(at, "GET", "/api/jobs/" + job + "/stages/survey?version=1"),
      request_text(at, "GET", "/api/documents/" + job + "/history?after=0"),
      request_text(at, "GET", "/api/events?after=0", "", {{"Last-Event-ID", "1"}}),
      request_text(at, "GET", "/api/files/1", "", {{"Range", "bytes=0-99"}}),
      request_text(at, "POST", "/api/documents/" + job + "/edits", edit.dump(), as_json),
      request_text(at, "POST", "/api/journals/notes", note_body("t", job, "hello"), as_json),
      request_text(at, "POST", "/api/devices/pair", R"({"code":"123456","name":"phone"})", as_json),
      request_text(at, "POST", "/api/jobs", R"({"start":"room","token":"a"})", as_json) +
          request_text(at, "GET", "/api/state"),
      "POST /api/jobs/import?name=a HTTP/1.1\r\nHost: " + at +
          "\r\nContent-Type: application/toml\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nn = "
          "1\r\n0\r\n\r\n"};
  const int each = std::getenv("ROOMWRIGHT_LONG") ? 20000 : 1000;
  std::atomic<int> answered{0};
  std::vector<std::thread> senders;
  for (int thread = 0; thread < 4; ++thread)
    senders.emplace_back([&, thread] {
      Random random(std::uint64_t(20261 + thread));
      for (int i = 0; i < each; ++i) {
        Line line(served->port());
        if (!line.open()) continue;
        line.send(mutated(seeds, random));
        line.end_sending();
        line.ends(3);
        answered += line.waiting().rfind("HTTP/1.1 ", 0) == 0;
      }
    });
  for (std::thread& one : senders) one.join();
  EXPECT_TRUE(healthy(*served)) << served->said();
  EXPECT_GT(answered, each * 2) << "most were answered, be it with a refusal";
  std::printf("%d of %d broken requests were answered; %.0f MB\n", answered.load(), 4 * each,
              served->memory_mb());
  EXPECT_LT(served->memory_mb(), 300);
  EXPECT_EQ(served->stop(), 0);
}

}  // namespace
}  // namespace roomwright::served
