// Which requests an address answers at all.
#include <gtest/gtest.h>

#include "app/server/answers.h"
#include "app/server/head.h"

namespace roomwright::app {
namespace {

const Site here{true, false, {"127.0.0.1", "localhost", "[::1]"}, 8137};
const Site shop{false, true, {"192.168.1.20", "shop-desk.local"}, 8138};

HttpHead head(std::string method, std::string target, std::string host,
              std::vector<std::pair<std::string, std::string>> more = {}) {
  HttpHead out{std::move(method), std::move(target), 11, {{"host", std::move(host)}}};
  out.fields.insert(out.fields.end(), more.begin(), more.end());
  return out;
}

int turned(const HttpHead& asked, const Site& site = here) {
  const auto out = turned_away(asked, site);
  return out ? out->status : 0;
}

TEST(Head, only_names_of_this_address_with_its_port_are_answered) {
  for (const char* host : {"127.0.0.1:8137", "localhost:8137", "LocalHost:8137", "[::1]:8137"})
    EXPECT_EQ(turned(head("GET", "/", host)), 0) << host;
  for (const char* host :
       {"localhost", "127.0.0.1:80", "localhost:81370", "localhost:8137x", "localhost:", "",
        "shop.example:8137", "127.0.0.1.example:8137", "[::1]", "localhost.:8137", "0.0.0.0:8137"})
    EXPECT_EQ(turned(head("GET", "/", host)), 421) << host;
  EXPECT_EQ(turned(head("GET", "/", "192.168.1.20:8138"), shop), 0);
  EXPECT_EQ(turned(head("GET", "/", "localhost:8138"), shop), 421);
}

TEST(Head, a_request_without_a_host_or_with_two_is_malformed) {
  EXPECT_EQ(turned(HttpHead{"GET", "/", 11, {}}), 400);
  EXPECT_EQ(turned(HttpHead{"GET", "/", 10, {}}), 400);
  EXPECT_EQ(turned(head("GET", "/", "localhost:8137", {{"host", "localhost:8137"}})), 400);
  EXPECT_EQ(turned(HttpHead{"GET", "/", 20, {{"host", "localhost:8137"}}}), 505);
}

TEST(Head, a_target_is_a_path_of_plain_signs) {
  const std::string host = "localhost:8137";
  for (const char* target :
       {"*", "http://localhost:8137/", "", "assets", "/a#b", "/a\\b", "/\xc3\xa4"})
    EXPECT_EQ(turned(head("GET", target, host)), 400) << target;
  EXPECT_EQ(turned(head("GET", "/" + std::string(9000, 'a'), host)), 414);
  EXPECT_EQ(turned(head("GET", "/%2e%2e/../x?y=%00", host)), 0) << "harmless: names are exact";
}

TEST(Head, a_page_of_another_site_neither_writes_nor_listens) {
  const std::string host = "localhost:8137";
  const auto origin = [&](const char* method, const char* target, const char* from) {
    return turned(head(method, target, host, {{"origin", from}}));
  };
  EXPECT_EQ(origin("POST", "/api/jobs", "http://localhost:8137"), 0);
  EXPECT_EQ(origin("POST", "/api/jobs", "http://127.0.0.1:8137"), 403) << "not the host it named";
  for (const char* from : {"https://localhost:8137", "http://localhost:8138", "http://evil.example",
                           "null", "", "http://localhost:8137.evil.example"})
    for (const char* method : {"POST", "PUT", "DELETE", "OPTIONS"})
      EXPECT_EQ(origin(method, "/api/jobs", from), 403) << method << " from " << from;
  EXPECT_EQ(origin("GET", "/api/events", "http://evil.example"), 403);
  EXPECT_EQ(origin("GET", "/api/state", "http://evil.example"), 0) << "it cannot read the answer";
  const auto site = [&](const char* method, const char* target, const char* from,
                        const char* mode) {
    return turned(head(method, target, host, {{"sec-fetch-site", from}, {"sec-fetch-mode", mode}}));
  };
  EXPECT_EQ(site("POST", "/api/jobs", "cross-site", "cors"), 403);
  EXPECT_EQ(site("POST", "/api/jobs", "same-site", "cors"), 403) << "another port of this machine";
  EXPECT_EQ(site("POST", "/api/jobs", "same-origin", "cors"), 0);
  EXPECT_EQ(site("POST", "/api/jobs", "none", "navigate"), 0);
  EXPECT_EQ(site("GET", "/api/jobs/a/stages/build", "cross-site", "no-cors"), 403);
  EXPECT_EQ(site("GET", "/", "cross-site", "navigate"), 0) << "a link may lead here";
}

TEST(Head, encodings_of_a_body_that_are_not_spoken_are_named) {
  const std::string host = "localhost:8137";
  EXPECT_EQ(turned(head("POST", "/api/x", host, {{"transfer-encoding", "gzip, chunked"}})), 501);
  EXPECT_EQ(turned(head("POST", "/api/x", host, {{"transfer-encoding", "Chunked"}})), 0);
  EXPECT_EQ(turned(head("POST", "/api/x", host, {{"content-encoding", "gzip"}})), 415);
}

TEST(Head, the_service_is_asked_in_its_own_words) {
  const RequestHead asked = request_head(head("POST", "/api/files?name=a", "192.168.1.20:8138",
                                              {{"cookie", "a=b; roomwright=cafe; roomwright=other"},
                                               {"content-type", "x/y"},
                                               {"range", "bytes=0-1"},
                                               {"last-event-id", "7"}}),
                                         shop, "192.168.1.77");
  EXPECT_EQ(asked.secret, "cafe");
  EXPECT_EQ(asked.content_type, "x/y");
  EXPECT_EQ(asked.range, "bytes=0-1");
  EXPECT_EQ(asked.last_event_id, "7");
  EXPECT_EQ(asked.peer, "192.168.1.77");
  EXPECT_FALSE(asked.loopback);
  EXPECT_EQ(cookie_value("roomwrightx=1;roomwright", "roomwright"), "");
  EXPECT_EQ(cookie_value("", "roomwright"), "");
}

TEST(Head, what_is_told_is_whole_json) {
  EXPECT_EQ(told(400, "a \"b\" \\ \n c", true).body,
            R"({"errors":[{"where":"","what":"a b   c"}]})");
  EXPECT_EQ(told(404, "no", false).body, "no\n");
}

TEST(Head, a_value_cannot_begin_another_header) {
  const std::string text = answer_head(
      200, "a/b\r\nX: 1", {{"Content-Disposition", "attachment; name=\"a\r\n\r\nb\""}}, "");
  EXPECT_NE(text.find("Content-Type: a/bX: 1\r\n"), std::string::npos);
  EXPECT_NE(text.find("name=\"ab\"\r\n"), std::string::npos);
  EXPECT_EQ(text.rfind("HTTP/1.1 200 OK\r\nDate: ", 0), 0u);
  EXPECT_EQ(text.find("Connection"), std::string::npos);
}

TEST(Head, a_date_is_in_the_words_of_the_standard) {
  EXPECT_EQ(http_date(784111777), "Sun, 06 Nov 1994 08:49:37 GMT");  // Source: RFC 9110, 5.6.7
}

}  // namespace
}  // namespace roomwright::app
