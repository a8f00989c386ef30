// The page inside the program: found by exact names, compressed where the other side takes it.
#include <gtest/gtest.h>

#include <algorithm>

#include "app/server/files.h"

namespace roomwright::app {
namespace {

const PageFiles& small_page() {
  static const PageFiles files({{"index.html", "<!doctype html>", "gz", {}},
                                {"assets/a-1.js", "let a = 1;", "zipped", "brotlied"},
                                {"assets/inter.woff2", "font", {}, {}}});
  return files;
}

FileAnswer page_of(std::string method, std::string target,
                   std::vector<std::pair<std::string, std::string>> fields = {}) {
  return answer_file(small_page(),
                     HttpHead{std::move(method), std::move(target), 11, std::move(fields)});
}

std::string header_of(const FileAnswer& answer, std::string_view name) {
  for (const auto& [key, value] : answer.headers)
    if (key == name) return value;
  return "";
}

TEST(Files, the_page_is_looked_up_anew_and_what_is_named_by_its_content_is_not) {
  const FileAnswer page = page_of("GET", "/");
  EXPECT_EQ(page.status, 200);
  EXPECT_EQ(page.body, "<!doctype html>");
  EXPECT_EQ(page.content_type, "text/html; charset=utf-8");
  EXPECT_EQ(header_of(page, "Cache-Control"), "no-cache");
  EXPECT_EQ(header_of(page, "Content-Security-Policy").find("unsafe"), std::string::npos);
  const FileAnswer script = page_of("GET", "/assets/a-1.js?x=1");
  EXPECT_EQ(script.content_type, "text/javascript; charset=utf-8");
  EXPECT_NE(header_of(script, "Cache-Control").find("immutable"), std::string::npos);
}

TEST(Files, the_smallest_that_is_understood_is_sent) {
  const auto coded = [](const char* accept) {
    const FileAnswer out = page_of("GET", "/assets/a-1.js", {{"accept-encoding", accept}});
    EXPECT_EQ(header_of(out, "Vary"), "Accept-Encoding");
    return std::pair{header_of(out, "Content-Encoding"), std::string(out.body)};
  };
  EXPECT_EQ(coded("gzip, deflate, br"), (std::pair<std::string, std::string>("br", "brotlied")));
  EXPECT_EQ(coded("gzip").second, "zipped");
  EXPECT_EQ(coded("br;q=0, gzip;q=0.5").second, "zipped");
  EXPECT_EQ(coded("br;q=0.1, gzip").second, "zipped");
  EXPECT_EQ(coded("GZIP ; q=1.0").second, "zipped");
  EXPECT_EQ(coded("identity").second, "let a = 1;");
  EXPECT_EQ(coded("brx").second, "let a = 1;");
  EXPECT_EQ(page_of("GET", "/", {{"accept-encoding", "br, gzip"}}).body, "gz") << "no brotli of it";
  EXPECT_EQ(page_of("GET", "/assets/inter.woff2", {{"accept-encoding", "br"}}).body, "font");
}

TEST(Files, what_is_known_is_not_sent_again) {
  const std::string tag = header_of(page_of("GET", "/"), "ETag");
  const FileAnswer again = page_of("GET", "/", {{"if-none-match", "\"x\", " + tag}});
  EXPECT_EQ(again.status, 304);
  EXPECT_TRUE(again.body.empty());
  EXPECT_EQ(header_of(again, "ETag"), tag);
  EXPECT_EQ(page_of("GET", "/", {{"if-none-match", "\"x\""}}).status, 200);
  const FileAnswer zipped = page_of("GET", "/", {{"accept-encoding", "gzip"}});
  EXPECT_NE(header_of(zipped, "ETag"), tag) << "other bytes, another tag";
}

TEST(Files, nothing_but_exact_names_leads_anywhere) {
  for (const char* target :
       {"/../etc/passwd", "/assets/../index.html", "/%2e%2e/index.html", "//index.html", "/assets",
        "/assets/", "/index.html/", "/Index.html", "/assets/a-1.js.br", "", "index.html"})
    EXPECT_EQ(page_of("GET", target).status, 404) << target;
  EXPECT_EQ(page_of("GET", "/index.html").status, 200);
}

TEST(Files, the_page_is_only_read) {
  EXPECT_EQ(page_of("HEAD", "/").status, 200);
  const FileAnswer post = page_of("POST", "/");
  EXPECT_EQ(post.status, 405);
  EXPECT_EQ(header_of(post, "Allow"), "GET, HEAD");
}

TEST(Files, a_program_without_its_page_says_how_to_build_it) {
  const PageFiles none({});
  const FileAnswer page = answer_file(none, HttpHead{"GET", "/", 11, {}});
  EXPECT_EQ(page.status, 200);
  EXPECT_NE(page.own_body.find("scripts/page.sh"), std::string::npos);
  EXPECT_EQ(answer_file(none, HttpHead{"GET", "/x", 11, {}}).status, 404);
}

}  // namespace
}  // namespace roomwright::app
