// The published schema: as the code has it, no key more and none fewer than the reader knows, and
// never narrower than the reader.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <functional>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "job/document/trial.h"

namespace roomwright::job {
namespace {

/// 2.0 is an integer to JSON Schema (Validation, 2020-12, 6.1.1), but not to the library that
/// judges.
void write_whole_numbers_whole(Json& tree) {
  if (tree.is_number_float() && std::abs(tree.get<double>()) < 1e15 &&
      tree.get<double>() == std::floor(tree.get<double>()))
    tree = static_cast<long long>(tree.get<double>());
  if (tree.is_structured())
    for (auto& value : tree) write_whole_numbers_whole(value);
}

/// A schema, ready to judge many trees by a library that is not ours.
class Judge {
 public:
  explicit Judge(Json tree) : tree_(std::move(tree)) {
    valijson::SchemaParser parser;
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(tree_), schema_);
  }
  bool takes(Json tree, std::string& why) const {
    write_whole_numbers_whole(tree);
    valijson::Validator validator;
    valijson::ValidationResults results;
    const bool good =
        validator.validate(schema_, valijson::adapters::NlohmannJsonAdapter(tree), &results);
    valijson::ValidationResults::Error error;
    while (results.popError(error)) {
      for (const auto& step : error.context) why += step;
      why += ": " + error.description + "\n";
    }
    return good;
  }

 private:
  Json tree_;
  valijson::Schema schema_;
};

Json tree_of(const std::string& path) {
  return read_document(source(path))->tree();
}

TEST(Schema, is_published_as_the_code_has_it) {
  for (const auto& [name, schema] :
       {std::pair<std::string, Json>{"job", job_schema()}, {"shop", shop_schema()}}) {
    const std::string path =
        std::string(ROOMWRIGHT_SOURCE_DIR) + "/docs/schema/" + name + ".schema.json";
    const std::string text = json_text(schema) + "\n";
    if (std::getenv("ROOMWRIGHT_ACCEPT")) ASSERT_TRUE(write_file(path, text).ok());
    EXPECT_EQ(read_file(path).value(), text) << "run ./check --accept after looking";
  }
}

TEST(Schema, accepts_the_examples) {
  const Judge jobs(job_schema()), shops(shop_schema());
  for (const char* name :
       {"control_room", "tracking_room", "drum_room", "rehearsal_room", "panel_order"}) {
    std::string why;
    EXPECT_TRUE(jobs.takes(tree_of(std::string("examples/") + name + ".toml"), why)) << why;
  }
  for (const char* name : {"examples/shop_metric", "examples/shop_inch", "tests/wrong/shop"}) {
    std::string why;
    EXPECT_TRUE(shops.takes(tree_of(std::string(name) + ".toml"), why)) << why;
  }
}

TEST(Schema, refuses_what_is_plainly_wrong) {
  const Judge jobs(job_schema());
  const Json good = tree_of("examples/control_room.toml");
  const std::vector<std::pair<std::string, std::function<void(Json&)>>> faults = {
      {"an unknown key", [](Json& t) { t["colour"] = "red"; }},
      {"a text for a place", [](Json& t) { t["seats"][0]["at"] = "here"; }},
      {"no seat", [](Json& t) { t["seats"] = Json::array(); }},
      {"another version", [](Json& t) { t["schema"] = 2; }},
      {"a size beside a plan",
       [](Json& t) {
         t["room"]["size"] = {1, 2, 3};
       }},
      {"no height", [](Json& t) { t["room"].erase("height"); }},
      {"a piece in two places",
       [](Json& t) {
         t["pieces"][0]["on"] = "wall0", t["pieces"][0]["from"] = {1, 2};
       }},
      {"a date in words", [](Json& t) { t["date"] = "last Friday"; }},
      {"no such use", [](Json& t) { t["use"] = "cooking"; }},
      {"an order beside a room", [](Json& t) { t["order"]["items"] = Json::array(); }},
      {"a hundred and twenty per cent", [](Json& t) { t["climate"]["humidity_percent"] = 120; }},
  };
  for (const auto& [what, spoil] : faults) {
    Json wrong = good;
    spoil(wrong);
    std::string why;
    EXPECT_FALSE(jobs.takes(wrong, why)) << what;
  }
}

// ---- no key more, none fewer ------------------------------------------------------------------

/// Every word in quotes in the reader's own sources that could be a key, and every key of both
/// schemas.
std::set<std::string> words_that_may_be_keys() {
  std::set<std::string> words;
  for (const char* file : {"document.cpp", "job_file.cpp", "product_file.cpp", "room_file.cpp",
                           "shop_file.cpp", "dispatch_file.cpp"}) {
    const std::string text = source(std::string("src/job/document/") + file);
    static const std::regex word("\"([a-z][a-z0-9_]*)\"");
    for (std::sregex_iterator at(text.begin(), text.end(), word), end; at != end; ++at)
      words.insert((*at)[1]);
  }
  const std::function<void(const Json&)> walk = [&](const Json& node) {
    if (node.is_object() && node.contains("properties") && node["properties"].is_object())
      for (const auto& [key, value] : node["properties"].items()) words.insert(key);
    if (node.is_structured())
      for (const auto& value : node) walk(value);
  };
  walk(job_schema());
  walk(shop_schema());
  return words;
}

/// Calls visit(path, tree's object, schema's object) for every object that the schema closes.
void each_object(const std::string& path, Json& tree, const Json& schema,
                 const std::function<void(const std::string&, Json&, const Json&)>& visit) {
  if (tree.is_array()) {
    if (!schema.contains("items")) return;
    for (std::size_t i = 0; i < tree.size(); ++i)
      each_object(path + "[" + std::to_string(i) + "]", tree[i], schema["items"], visit);
  } else if (tree.is_object()) {
    for (auto& [key, value] : tree.items()) {
      const std::string below = path.empty() ? key : path + "." + key;
      if (schema.contains("properties") && schema["properties"].contains(key))
        each_object(below, value, schema["properties"][key], visit);
      else if (schema["additionalProperties"].is_object())
        each_object(below, value, schema["additionalProperties"], visit);
    }
    if (schema["additionalProperties"] == false) visit(path, tree, schema);
  }
}

/// A document in which every object of the schema stands once at least.
Json full_job() {
  Json tree = tree_of("examples/control_room.toml");
  tree["pieces"][0]["option"] = "a choice";
  const Json drums = tree_of("examples/drum_room.toml");
  for (const Json& product : drums["products"]) tree["products"].push_back(product);
  const Json every = tree_of("examples/rehearsal_room.toml");
  for (const Json& product : every["products"])
    if (product["kind"] == "custom" || product["kind"] == "free_screen" ||
        product["kind"] == "window_plug")
      tree["products"].push_back(product);
  return tree;
}
Json full_order() {
  return tree_of("examples/panel_order.toml");
}
Json full_shop() {
  Json tree = tree_of("examples/shop_metric.toml");
  tree["times"]["set_up"] = Json::object();
  return tree;
}

/// Puts every word into one object at a time and hears which of them the reader does not know.
void expect_the_same_keys(const Json& whole, const Json& schema,
                          const std::function<Sources(const Json&)>& sources,
                          std::size_t at_least) {
  const std::set<std::string> words = words_that_may_be_keys();
  Json tree = whole;
  std::set<const Json*> seen;  // each kind of object once
  std::size_t kinds = 0;
  each_object("", tree, schema, [&](const std::string& path, Json& object, const Json& form) {
    if (!seen.insert(&form).second) return;
    ++kinds;
    const Json before = object;
    std::set<std::string> unknown;
    // A few at a time: so many mistakes of one file and no more are told.
    constexpr std::size_t at_once = 100;
    static_assert(2 * at_once < most_mistakes_told);
    for (auto word = words.begin(); word != words.end();) {
      object = before;
      for (std::size_t i = 0; i < at_once && word != words.end(); ++i, ++word)
        if (!object.contains(*word)) object[*word] = nullptr;
      const auto job = read_job(sources(tree));
      ASSERT_FALSE(job.ok());
      for (const Complaint& fault : job.mistakes().items()) {
        const std::string where = fault.where.substr(fault.where.find(": ") + 2);
        const std::string start = path.empty() ? "" : path + ".";
        if (fault.what == "is not a known key" && where.rfind(start, 0) == 0)
          unknown.insert(where.substr(start.size()));
      }
    }
    for (const std::string& word : words) {
      // A word that stood there before is the document's own, and the document was taken.
      const bool known = before.contains(word) || unknown.count(word) == 0;
      EXPECT_EQ(form["properties"].contains(word), known)
          << path << "." << word << " is known to the " << (known ? "reader" : "schema")
          << " alone";
    }
    object = before;
  });
  EXPECT_GE(kinds, at_least);
}

TEST(Schema, has_the_keys_of_the_job_reader_no_more_and_no_fewer) {
  for (const auto& [tree, kinds] :
       {std::pair<Json, std::size_t>{full_job(), 12}, {full_order(), 6}})
    expect_the_same_keys(
        tree, job_schema(),
        [](const Json& one) {
          return Sources{json_text(one), source("examples/shop_metric.toml")};
        },
        kinds);
}

TEST(Schema, has_the_keys_of_the_shop_reader_no_more_and_no_fewer) {
  expect_the_same_keys(
      full_shop(), shop_schema(),
      [](const Json& tree) {
        return Sources{source("examples/control_room.toml"), json_text(tree)};
      },
      12);
}

TEST(Manual, names_every_key_and_its_small_job_is_read) {
  const std::string page = source("docs/job-file.md"), rules = source("docs/shop/rules.md");
  const std::function<void(const Json&)> walk = [&](const Json& node) {
    if (node.is_object() && node.contains("properties") && node["properties"].is_object())
      for (const auto& [key, value] : node["properties"].items()) {
        const bool told = std::regex_search(page, std::regex("\\b" + key + "\\b")) ||
                          rules.find("`" + key + "`") != std::string::npos;
        EXPECT_TRUE(told) << key << " stands neither in docs/job-file.md nor docs/shop/rules.md";
      }
    if (node.is_structured())
      for (const auto& value : node) walk(value);
  };
  walk(job_schema());
  walk(shop_schema());
  const auto start = page.find("```toml\n"), end = page.find("```\n", start + 8);
  ASSERT_NE(end, std::string::npos);
  const auto job =
      read_job({page.substr(start + 8, end - start - 8), source("tests/wrong/shop.toml")});
  EXPECT_TRUE(job.ok()) << job.mistakes().text();
}

// ---- never narrower than the reader -----------------------------------------------------------

/// A random place in a tree.
Json& somewhere(Json& tree, Random& random) {
  Json* at = &tree;
  while (at->is_structured() && !at->empty()) {
    auto next = at->begin();
    std::advance(next, random.below(static_cast<std::uint32_t>(at->size())));
    at = &*next;
    if (random.below(8) == 0) break;
  }
  return *at;
}

/// One edit that keeps the tree a tree: another value, a key less, a thing of a list twice or less,
/// another way to write a number.
void edit(Json& tree, Random& random) {
  static const Json values = {0,
                              1,
                              2,
                              -1,
                              0.5,
                              1e9,
                              1000000,
                              "",
                              "x",
                              "1 m",
                              "3' 2\"",
                              true,
                              false,
                              nullptr,
                              "mm",
                              "40",
                              "2.50",
                              Json::array(),
                              Json::object()};
  Json& at = somewhere(tree, random);
  switch (random.below(5)) {
    case 0:
      at = values[random.below(static_cast<std::uint32_t>(values.size()))];
      break;
    case 1:
      if (at.is_number()) at = at.get<double>() * (0.5 + random.unit());
      break;
    case 2:
      if (at.is_number()) at = shortest(at.get<double>());
      break;
    case 3:
      if (at.is_structured() && !at.empty()) {
        auto gone = at.begin();
        std::advance(gone, random.below(static_cast<std::uint32_t>(at.size())));
        at.erase(gone);
      }
      break;
    default:
      if (at.is_array() && !at.empty()) at.push_back(at[0]);
      if (at.is_number_integer()) at = at.get<double>();
  }
}

TEST(Schema, takes_every_tree_that_the_reader_takes) {
  const Judge jobs(job_schema()), shops(shop_schema());
  const Json job_tree = full_job(), order_tree = full_order(), shop_tree = full_shop();
  Random random(7);
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 20000 : 1000;
  int taken = 0, refused = 0;
  for (int round = 0; round < rounds; ++round) {
    Json job = random.below(4) ? job_tree : order_tree, shop = shop_tree;
    for (std::uint32_t n = 1 + random.below(2); n > 0; --n)
      edit(random.below(2) ? job : shop, random);
    if (!read_job({json_text(job), json_text(shop)}).ok()) {
      ++refused;
      continue;
    }
    ++taken;
    ASSERT_TRUE(migrate(job).ok());
    std::string why;
    EXPECT_TRUE(jobs.takes(job, why)) << why << json_text(job);
    EXPECT_TRUE(shops.takes(shop, why)) << why << json_text(shop);
    if (HasFailure()) return;
  }
  EXPECT_GT(taken, rounds / 10);
  EXPECT_GT(refused, rounds / 10);
}

}  // namespace
}  // namespace roomwright::job
