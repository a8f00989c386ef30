// Starting, ending, names, headers, limits: what any caller meets before an answer is worked out.
#include <atomic>
#include <chrono>
#include <csignal>
#include <fstream>
#include <thread>

#include "server/serving.h"

namespace roomwright::served {
namespace {

using Seconds = std::chrono::duration<double>;
using Clock = std::chrono::steady_clock;

TEST_F(Serving, starts_on_a_store_that_is_not_there_yet_and_ends_when_told) {
  auto served = serve();
  EXPECT_TRUE(fs::exists(store()));
  EXPECT_TRUE(fs::exists(store() + ".backups")) << "the backup of the day";
  const Answer state = served->ask("GET", "/api/state");
  EXPECT_EQ(state.status, 200) << state.body;
  EXPECT_TRUE(json(state).value("empty", false));
  EXPECT_FALSE(json(state).value("lan", true));
  const auto before = Clock::now();
  EXPECT_EQ(served->stop(), 0) << served->said();
  EXPECT_LT(Seconds(Clock::now() - before).count(), 3);
  auto again = serve();
  again->signal(SIGINT);
  EXPECT_EQ(again->wait(), 0);
}

TEST_F(Serving, open_streams_and_idle_connections_do_not_keep_it_from_ending) {
  auto served = serve();
  Line idle(served->port()), stream(served->port()), half(served->port());
  ASSERT_TRUE(stream.send(request_text(host(*served), "GET", "/api/events")));
  EXPECT_NE(stream.until("retry:").find("200 OK"), std::string::npos);
  ASSERT_TRUE(half.send("GET / HTTP/1.1\r\nHo"));
  const auto before = Clock::now();
  EXPECT_EQ(served->stop(), 0);
  EXPECT_LT(Seconds(Clock::now() - before).count(), 12);
  EXPECT_TRUE(stream.ends(1));
}

TEST_F(Serving, a_second_one_on_the_same_store_is_told_where_the_first_is) {
  auto first = serve();
  Served second(store());
  EXPECT_EQ(second.wait(), 1);
  EXPECT_NE(second.said().find("is open already: roomwright serve at http://127.0.0.1:" +
                               std::to_string(first->port())),
            std::string::npos)
      << second.said();
  EXPECT_TRUE(healthy(*first));
}

TEST_F(Serving, a_port_that_is_taken_is_told_and_without_a_wish_the_next_is_taken) {
  auto first = serve();
  const std::string other = (folder_ / "other.store").string();
  Served second(other, {"--port", std::to_string(first->port())});
  EXPECT_EQ(second.wait(), 1);
  EXPECT_NE(second.said().find("is taken by another program; name another port with --port"),
            std::string::npos)
      << second.said();
  EXPECT_FALSE(fs::exists(other)) << "nothing was made";
  Served wrong(other, {"--port", "70000"});
  EXPECT_EQ(wrong.wait(), 2);
}

TEST_F(Serving, every_answer_guards_the_browser) {
  auto served = serve();
  for (const char* target : {"/", "/api/state", "/nothing", "/trust"}) {
    const Answer answer = served->ask("GET", target);
    EXPECT_EQ(answer.header("x-content-type-options"), "nosniff") << target;
    EXPECT_EQ(answer.header("referrer-policy"), "no-referrer") << target;
    EXPECT_EQ(answer.header("cross-origin-opener-policy"), "same-origin") << target;
    EXPECT_EQ(answer.header("cross-origin-resource-policy"), "same-origin") << target;
    EXPECT_FALSE(answer.header("date").empty()) << target;
    EXPECT_TRUE(answer.header("access-control-allow-origin").empty()) << target;
  }
  EXPECT_EQ(served->ask("GET", "/api/state").header("cache-control"), "no-store");
  EXPECT_NE(
      served->ask("GET", "/api/state").header("content-security-policy").find("default-src 'none'"),
      std::string::npos);
}

TEST_F(Serving, the_page_is_there_or_it_is_said_how_to_build_it) {
  auto served = serve();
  const Answer page = served->ask("GET", "/");
  EXPECT_EQ(page.status, 200);
  if (page.header("content-type").rfind("text/plain", 0) == 0) {
    EXPECT_NE(page.body.find("scripts/page.sh"), std::string::npos);
    EXPECT_NE(served->said().find("was not built into"), std::string::npos);
    GTEST_SKIP() << "the page was not built into this program";
  }
  EXPECT_NE(page.header("content-security-policy").find("script-src 'self'"), std::string::npos);
  EXPECT_EQ(page.header("content-security-policy").find("unsafe"), std::string::npos);
  EXPECT_EQ(page.body.find("<script>"), std::string::npos) << "the policy lets none run";
  const std::size_t at = page.body.find("assets/");
  const std::string script = "/" + page.body.substr(at, page.body.find('"', at) - at);
  const Answer whole = served->ask("GET", script);
  const Answer small = served->ask("GET", script, "", {{"Accept-Encoding", "gzip, br"}});
  EXPECT_EQ(small.header("content-encoding"), "br");
  EXPECT_LT(small.body.size() * 3, whole.body.size());
  EXPECT_NE(whole.header("cache-control").find("immutable"), std::string::npos);
  EXPECT_EQ(served->ask("GET", script, "", {{"If-None-Match", whole.header("etag")}}).status, 304);
  const Answer head = served->ask("HEAD", script);
  EXPECT_EQ(head.status, 200);
  EXPECT_EQ(head.header("content-length"), std::to_string(whole.body.size()));
}

TEST_F(Serving, other_names_and_other_sites_are_turned_away) {
  auto served = serve();
  const auto with = [&](const std::string& text) {
    Line line(served->port());
    line.send(text);
    return line.read().status;
  };
  EXPECT_EQ(with(request_text("rebound.example:" + std::to_string(served->port()), "GET", "/")),
            421);
  EXPECT_EQ(with(request_text("localhost:" + std::to_string(served->port()), "GET", "/api/state")),
            200);
  EXPECT_EQ(with(request_text("localhost", "GET", "/api/state")), 421);
  EXPECT_EQ(with("GET /api/state HTTP/1.1\r\n\r\n"), 400);
  EXPECT_EQ(with("GET /api/state HTTP/1.0\r\n\r\n"), 400);
  EXPECT_EQ(with("GET /api/state HTTP/1.0\r\nHost: " + host(*served) + "\r\n\r\n"), 200);
  const Json job = {{"start", "room"}, {"token", fresh_token()}};
  const auto posted = [&](const std::string& name, const std::string& value) {
    return served
        ->ask("POST", "/api/jobs", job.dump(),
              {{"Content-Type", "application/json"}, {name, value}})
        .status;
  };
  EXPECT_EQ(posted("Origin", "http://other.example"), 403);
  EXPECT_EQ(posted("Origin", "null"), 403);
  EXPECT_EQ(posted("Sec-Fetch-Site", "cross-site"), 403);
  EXPECT_EQ(json(served->ask("GET", "/api/jobs")).size(), 0u) << "nothing was written";
  EXPECT_EQ(served->ask("GET", "/api/events", "", {{"Origin", "http://other.example"}}).status,
            403);
  EXPECT_EQ(served->ask("POST", "/api/jobs", "{}", {{"Content-Type", "text/plain"}}).status, 415)
      << "what another site's form can send is no request of ours";
}

TEST_F(Serving, nothing_outside_the_page_can_be_read) {
  auto served = serve();
  for (const char* target :
       {"/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2fetc/passwd", "//etc/passwd",
        "/assets/../../shop.store", "/shop.store", "/assets/", "/index.html%00.js", "/.git/config"})
    EXPECT_EQ(served->ask("GET", target).status, 404) << target;
  EXPECT_EQ(served->ask("GET", "/..\\..\\etc\\passwd").status, 400);
  EXPECT_EQ(served->ask("DELETE", "/").status, 405);
}

TEST_F(Serving, a_connection_serves_many_requests_sent_ahead_or_one_by_one) {
  auto served = serve();
  Line line(served->port());
  std::string many;
  for (int i = 0; i < 50; ++i)
    many += request_text(host(*served), "GET", i % 2 ? "/api/state" : "/nothing");
  ASSERT_TRUE(line.send(many));
  for (int i = 0; i < 50; ++i) ASSERT_EQ(line.read().status, i % 2 ? 200 : 404) << i;
  ASSERT_TRUE(
      line.send(request_text(host(*served), "GET", "/api/state", "", {{"Connection", "close"}})));
  const Answer last = line.read();
  EXPECT_EQ(last.header("connection"), "close");
  EXPECT_TRUE(line.ends(2));
}

TEST_F(Serving, a_body_longer_than_admitted_is_cut_however_it_is_sent) {
  auto served = serve();
  const std::string kind = "Content-Type: application/json\r\n";
  const std::string start = "POST /api/jobs HTTP/1.1\r\nHost: " + host(*served) + "\r\n" + kind;
  {
    Line line(served->port());
    line.send(start + "Content-Length: 99999999\r\n\r\n{");
    EXPECT_EQ(line.read().status, 413) << "told before the body is sent";
    EXPECT_TRUE(line.ends(3));
  }
  {
    Line line(served->port());
    line.send(start + "Content-Length: 18446744073709551615\r\n\r\n{");
    EXPECT_EQ(line.read().status, 413);
  }
  {
    Line line(served->port());
    line.send(start + "Transfer-Encoding: chunked\r\n\r\n");
    const std::string part = "100000\r\n" + std::string(1u << 20, ' ') + "\r\n";
    int sent = 0;
    while (sent < 100 && line.send(part)) ++sent;
    EXPECT_EQ(line.read().status, 413);
    EXPECT_LT(sent, 60) << "32 MB are allowed";
  }
  {
    Line line(served->port());
    line.send("GET /api/state HTTP/1.1\r\nHost: " + host(*served) +
              "\r\nContent-Length: 5\r\n\r\nhello");
    EXPECT_EQ(line.read().status, 413) << "a question has no body";
    EXPECT_TRUE(line.ends(3)) << "hello is not taken for the next request";
  }
  EXPECT_LT(served->memory_mb(), 150);
  EXPECT_TRUE(healthy(*served));
}

TEST_F(Serving, a_body_is_asked_for_only_after_its_head_was_admitted) {
  auto served = serve();
  const Json job = {{"start", "room"}, {"title", "Booth"}, {"token", fresh_token()}};
  const std::string body = job.dump();
  Line line(served->port());
  line.send("POST /api/jobs HTTP/1.1\r\nHost: " + host(*served) +
            "\r\nContent-Type: application/json\r\nExpect: 100-continue\r\nContent-Length: " +
            std::to_string(body.size()) + "\r\n\r\n");
  EXPECT_EQ(line.read(5).status, 100);
  line.send(body);
  EXPECT_EQ(line.read().status, 201);
  line.send("POST /api/nothing HTTP/1.1\r\nHost: " + host(*served) +
            "\r\nExpect: 100-continue\r\nContent-Length: 5\r\n\r\n");
  EXPECT_EQ(line.read().status, 404) << "no body is wanted";
}

// One test for all that wait, so that their waiting is the same.
TEST_F(Serving, who_sends_slowly_is_let_go_and_holds_nobody_up) {
  auto served = serve();
  const auto start = Clock::now();
  Line silent(served->port()), head(served->port()), body(served->port()), drip(served->port());
  body.send("POST /api/jobs HTTP/1.1\r\nHost: " + host(*served) +
            "\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{");
  head.send("GET /api/state HT");
  std::vector<std::unique_ptr<Line>> crowd;
  for (int i = 0; i < 150; ++i) {
    crowd.push_back(std::make_unique<Line>(served->port()));
    crowd.back()->send("GET / HTTP/1.1\r\nX: ");
  }
  double worst_s = 0;
  for (int i = 0; i < 20; ++i) {
    const auto before = Clock::now();
    ASSERT_EQ(served->ask("GET", "/api/state").status, 200);
    worst_s = std::max(worst_s, Seconds(Clock::now() - before).count());
  }
  EXPECT_LT(worst_s, 1);
  // A letter a second keeps a head alive no longer than a head may take.
  drip.send("GET / HTTP/1.1\r\nX-Slow: ");
  bool dripping = true;
  while (dripping && Seconds(Clock::now() - start).count() < 20)
    dripping = !drip.ends(1) && drip.send("a");
  EXPECT_FALSE(dripping);
  EXPECT_TRUE(head.ends(1));
  for (auto& one : crowd) EXPECT_TRUE(one->ends(1));
  EXPECT_GT(Seconds(Clock::now() - start).count(), 8) << "slow phones have their ten seconds";
  EXPECT_TRUE(body.ends(12)) << "a body that stalls";
  EXPECT_FALSE(silent.ends(0.1)) << "one that asks nothing may stay for a minute";
  EXPECT_TRUE(healthy(*served));
}

TEST_F(Serving, large_files_at_once_do_not_lie_in_memory) {
  auto served = serve();
  const std::string job = demo(*served);
  const std::string bytes(40u << 20, 'r');
  std::atomic<int> kept{0};
  std::vector<std::thread> phones;
  for (int i = 0; i < 6; ++i)
    phones.emplace_back([&, i] {
      Line line(served->port());
      line.send(request_text(host(*served), "POST",
                             "/api/files?name=take" + std::to_string(i) +
                                 ".wav&kind=recording&document=" + job + "&token=" + fresh_token(),
                             bytes, {{"Content-Type", "application/octet-stream"}}));
      kept += line.read(60).status == 201;
    });
  double most_mb = 0;
  std::thread watch([&] {
    for (int i = 0; i < 200 && kept < 6; ++i) {
      most_mb = std::max(most_mb, served->memory_mb());
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  });
  for (std::thread& one : phones) one.join();
  watch.join();
  EXPECT_EQ(kept, 6);
  EXPECT_LT(most_mb, 400);
  // And out again, whole and in part, to twelve who read slowly.
  std::vector<std::unique_ptr<Line>> readers;
  for (int i = 0; i < 12; ++i) {
    readers.push_back(std::make_unique<Line>(served->port()));
    readers.back()->send(request_text(host(*served), "GET", "/api/files/1"));
    readers.back()->until("\r\n\r\n");
  }
  most_mb = std::max(most_mb, served->memory_mb());
  for (auto& reader : readers) {
    const Answer file = reader->read();
    EXPECT_EQ(file.status, 200);
    EXPECT_TRUE(file.body == bytes) << file.body.size();
  }
  const Answer part = served->ask("GET", "/api/files/1", "", {{"Range", "bytes=1000000-3999999"}});
  EXPECT_EQ(part.status, 206);
  EXPECT_EQ(part.body.size(), 3'000'000u);
  EXPECT_LT(most_mb, 200);
  std::printf("six files of 40 MB in and twelve out: at most %.0f MB of memory\n", most_mb);
}

TEST_F(Serving, off_the_local_network_it_listens_on_loopback_alone) {
  auto served = serve();
  char port[8];
  std::snprintf(port, sizeof port, ":%04X", served->port());
  int found = 0;
  for (const auto& [name, loopback] :
       {std::pair("tcp", "0100007F"), std::pair("tcp6", "00000000000000000000000001000000")}) {
    std::ifstream table("/proc/" + std::to_string(served->process()) + "/net/" + name);
    for (std::string line; std::getline(table, line);) {
      if (line.find(" 0A ") == std::string::npos || line.find(port) == std::string::npos) continue;
      ++found;
      EXPECT_NE(line.find(std::string(loopback) + port), std::string::npos) << line;
    }
  }
  EXPECT_GE(found, 1);
  EXPECT_FALSE(fs::exists(store() + ".lan")) << "no certificate is made";
  EXPECT_EQ(served->ask("GET", "/trust/roomwright.crt").status, 404);
}

}  // namespace
}  // namespace roomwright::served
