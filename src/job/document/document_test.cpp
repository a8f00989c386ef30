// The job document: the demo jobs, units at the edges, both forms of text, migration, the schema.
#include "job/document/document.h"

#include <gtest/gtest.h>

#include <cstdlib>

#include <nlohmann/json.hpp>
#include <set>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "job/document/parts.h"

namespace roomwright::job {
namespace {

std::string source(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/" + path).value();
}

Job demo(const std::string& name, const std::string& shop) {
  const auto job = read_job({source("examples/" + name), source("examples/" + shop)});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  return *job;
}

TEST(Examples, the_control_room_is_read_whole) {
  const Job job = demo("control_room.toml", "shop_metric.toml");
  EXPECT_EQ(job.plan.size(), 6u);
  EXPECT_EQ(*job.height, 2480_mm);
  EXPECT_GE(job.pieces.size(), 12u);
  EXPECT_EQ(job.use, acoustics::Use::mixing);
  EXPECT_EQ(job.diagonals.size(), 3u);
  EXPECT_EQ(job.features.size(), 7u);
  EXPECT_EQ(job.shop.timber.at("batten_27x68").sticks[0].price, Money::minor(410));
  std::set<design::Kind> kinds;
  for (const Piece& piece : job.pieces) kinds.insert(job.product(piece.product)->kind);
  EXPECT_EQ(kinds.size(), 4u);
}

TEST(Examples, the_tracking_room_is_read_in_feet_and_inches) {
  const Job job = demo("tracking_room.toml", "shop_inch.toml");
  EXPECT_EQ(job.plan[1][0], sixteenth_inch * (16 * (18 * 12 + 4) + 8));
  EXPECT_EQ(job.plan[2][1], sixteenth_inch * (16 * (13 * 12 + 7) + 8));
  EXPECT_EQ(job.region.paper, PaperSize::letter);
  EXPECT_EQ(job.shop.currency.code, "USD");
  EXPECT_EQ(job.products[0].gap, 2_in) << "a bare number takes the stated unit";
}

TEST(Features, are_placed_as_one_faces_the_wall) {
  const Job job = demo("control_room.toml", "shop_metric.toml");
  const Feature& door = job.features[0];
  // wall1 is 3140 mm long; 1440 … 2240 from the left-hand corner is u = 900 … 1700 from the first
  // corner
  EXPECT_EQ(door.from_u, 900_mm);
  EXPECT_EQ(door.to_u, 1700_mm);
  EXPECT_NEAR(acoustics::from_uv(job.room, door.surface, {door.from_u.metres(), 0}).y, 0.9, 1e-9);
}

TEST(Json, reads_as_the_same_job) {
  const auto document = read_document(source("examples/control_room.toml"));
  const std::string as_json = json_text(document->tree());
  const auto job = read_job({as_json, source("examples/shop_metric.toml")});
  ASSERT_TRUE(job.ok()) << job.mistakes().text();
  EXPECT_EQ(job->pieces.size(), demo("control_room.toml", "shop_metric.toml").pieces.size());
}

TEST(Migration, brings_the_first_drafts_form_forward) {
  Json tree = {
      {"schema", 0}, {"room", {{"ceiling_height", 2500}}}, {"panels", {{{"label", "W1"}}}}};
  const auto steps = migrate(tree);
  ASSERT_TRUE(steps.ok());
  EXPECT_EQ(steps->size(), 3u);
  EXPECT_EQ(tree["schema"], 1);
  EXPECT_EQ(tree["room"]["height"], 2500);
  EXPECT_FALSE(tree["room"].contains("ceiling_height"));
  EXPECT_TRUE(tree.contains("pieces"));
  EXPECT_TRUE(migrate(tree)->empty()) << "a second time changes nothing";
}

TEST(Migration, an_old_file_is_read_as_a_whole_job) {
  std::string text = source("examples/control_room.toml");
  text.replace(text.find("schema = 1"), 10, "schema = 0");
  text.replace(text.find("height = 2480"), 6, "ceiling_height");
  EXPECT_TRUE(read_job({text, source("examples/shop_metric.toml")}).ok());
}

TEST(ShopFile, must_lie_beside_the_job) {
  EXPECT_EQ(*shop_file_of("shop = \"a.toml\""), "a.toml");
  EXPECT_FALSE(shop_file_of("shop = \"../a.toml\"").ok());
  EXPECT_FALSE(shop_file_of("shop = \"/etc/passwd\"").ok());
  EXPECT_FALSE(shop_file_of("title = 3").ok());
}

// ---- the schema -----------------------------------------------------------------------------

bool valid(const Json& schema_tree, const Json& tree, std::string& why) {
  valijson::Schema schema;
  valijson::SchemaParser parser;
  valijson::adapters::NlohmannJsonAdapter schema_adapter(schema_tree), adapter(tree);
  parser.populateSchema(schema_adapter, schema);
  valijson::Validator validator;
  valijson::ValidationResults results;
  const bool good = validator.validate(schema, adapter, &results);
  valijson::ValidationResults::Error error;
  while (results.popError(error)) why += error.description + "\n";
  return good;
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
  for (const char* name : {"control_room", "tracking_room"}) {
    std::string why;
    const auto document = read_document(source(std::string("examples/") + name + ".toml"));
    EXPECT_TRUE(valid(job_schema(), document->tree(), why)) << why;
  }
  for (const char* name : {"shop_metric", "shop_inch"}) {
    std::string why;
    const auto document = read_document(source(std::string("examples/") + name + ".toml"));
    EXPECT_TRUE(valid(shop_schema(), document->tree(), why)) << why;
  }
}

TEST(Schema, refuses_unknown_keys_and_wrong_types) {
  auto document = read_document(source("examples/control_room.toml"));
  std::string why;
  Json wrong = document->tree();
  wrong["colour"] = "red";
  EXPECT_FALSE(valid(job_schema(), wrong, why));
  wrong = document->tree();
  wrong["seats"][0]["at"] = "here";
  EXPECT_FALSE(valid(job_schema(), wrong, why));
}

/// Every key of an object schema, taken out of an example one by one: the reader must know each.
TEST(Schema, names_no_key_that_the_reader_does_not_know) {
  Json tree = {{"schema", 1}};
  const Json schema = job_schema();
  for (const auto& [key, value] : schema["properties"].items()) tree[key] = nullptr;
  const auto job = read_job({json_text(tree), source("examples/shop_metric.toml")});
  ASSERT_FALSE(job.ok());
  EXPECT_EQ(job.mistakes().text().find("is not a known key"), std::string::npos)
      << job.mistakes().text();
}

// ---- anything at all ------------------------------------------------------------------------

TEST(ReadJob, survives_mutations_of_the_examples) {
  Random random(1);
  const std::string job_text = source("examples/control_room.toml"),
                    shop_text = source("examples/shop_metric.toml");
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 20000 : 400;
  for (int round = 0; round < rounds; ++round) {
    Sources sources{job_text, shop_text};
    std::string& text = random.below(2) ? sources.job_text : sources.shop_text;
    for (std::uint32_t n = 1 + random.below(6); n > 0; --n) {
      const std::size_t at = random.below(static_cast<std::uint32_t>(text.size()));
      switch (random.below(4)) {
        case 0:
          text[at] = static_cast<char>(random.below(256));
          break;
        case 1:
          text.erase(at, random.below(30));
          break;
        case 2:
          text.insert(
              at, std::string(1 + random.below(3), "0123456789-.[]{}\"=\n,e"[random.below(21)]));
          break;
        default:
          text.insert(at, text.substr(random.below(static_cast<std::uint32_t>(text.size())),
                                      random.below(60)));
      }
    }
    const auto job = read_job(sources);
    EXPECT_TRUE(job.ok() || !job.mistakes().empty());
  }
}

}  // namespace
}  // namespace roomwright::job
