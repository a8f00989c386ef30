// Readers: every mistake at once, unknown keys named, lines found, JSON parsed within limits.
#include "core/reading/reading.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace roomwright {
namespace {

TEST(Reader, tells_every_mistake_of_an_object) {
  const Json tree = {{"a", "text"}, {"b", 7}, {"extra", 1}, {"list", {1, 2, "x"}}};
  Diagnostics found;
  Reader in(tree, "top", found);
  in.number("a", {.above = 0}, "such as 3");
  in.number("b", {.at_most = 5});
  in.number("missing", {});
  in.numbers("list", 3, 3, {});
  in.finish();
  ASSERT_EQ(found.size(), 5u);
  EXPECT_EQ(found.items()[0].sentence(), "top.a: must be a number, got \"text\"; such as 3");
  EXPECT_EQ(found.items()[1].sentence(), "top.b: must be at most 5, got 7");
  EXPECT_EQ(found.items()[2].sentence(), "top.missing: is missing");
  EXPECT_EQ(found.items()[3].sentence(), "top.list[2]: must be a number, got \"x\"");
  EXPECT_EQ(found.items()[4].sentence(), "top.extra: is not a known key; take it out");
}

TEST(Reader, suggests_the_nearest_known_name) {
  const Json tree = {{"thicknes", 3}, {"kind", "prous"}};
  Diagnostics found;
  Reader in(tree, "", found);
  in.number_or("thickness", 1, {});
  in.one_of("kind", {"porous", "air"});
  in.finish();
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found.items()[0].sentence(),
            "kind: is not known, got \"prous\"; did you mean porous? Known: porous or air");
  EXPECT_EQ(found.items()[1].sentence(), "thicknes: is not a known key; did you mean thickness?");
}

TEST(Reader, finds_the_line_of_the_nearest_enclosing_key) {
  const Json tree = {{"list", {{{"x", -1}}}}};
  const Lines lines = {{"list", 3}, {"list[0]", 4}};
  Diagnostics found;
  Reader in(tree, "", found, &lines);
  in.each("list", 1, 5, [](Reader& entry) { entry.number("x", {.above = 0}); });
  EXPECT_EQ(found.items()[0].line, 4);
}

TEST(Reader, refuses_broken_text) {
  const Json tree = {{"a", std::string("bell\x07")},
                     {"b", std::string("\xff\xfe")},
                     {"c", ""},
                     {"d", std::string(600, 'x')}};
  Diagnostics found;
  Reader in(tree, "", found);
  for (const char* key : {"a", "b", "c", "d"}) in.text(key);
  EXPECT_EQ(found.size(), 4u);
}

TEST(ParseJson, tells_where_it_stopped_and_what_stands_twice) {
  EXPECT_EQ(parse_json("{\"a\": 1,\n \"b\": }").mistakes().items()[0].what,
            "is not JSON: stopped at line 2, column 7");
  EXPECT_EQ(parse_json("{\"a\": 1, \"a\": 2}").mistakes().items()[0].sentence(),
            "a: stands twice in one table; keep one of them");
  EXPECT_FALSE(parse_json(std::string(200, '[') + std::string(200, ']')).ok());
  EXPECT_FALSE(parse_json("[1]", 2).ok());
  EXPECT_FALSE(parse_json("").ok());
  EXPECT_TRUE(parse_json("{\"a\": [1, 2, {\"b\": null}]}").ok());
}

TEST(JsonText, never_throws_on_bad_utf8) {
  EXPECT_FALSE(json_text(Json("\xff\xfe")).empty());
}

}  // namespace
}  // namespace roomwright
