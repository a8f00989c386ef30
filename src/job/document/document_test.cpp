// The job document: the demo jobs, units at the edges, both forms of text, migration.
#include "job/document/document.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/trial.h"

namespace roomwright::job {
namespace {

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
  EXPECT_EQ(std::count_if(job.pieces.begin(), job.pieces.end(),
                          [](const Piece& piece) { return piece.option == "rear wall"; }),
            3);
}

TEST(Examples, the_tracking_room_is_read_in_feet_and_inches) {
  const Job job = demo("tracking_room.toml", "shop_inch.toml");
  EXPECT_EQ(job.plan[1][0], sixteenth_inch * (16 * (18 * 12 + 4) + 8));
  EXPECT_EQ(job.plan[2][1], sixteenth_inch * (16 * (13 * 12 + 7) + 8));
  EXPECT_EQ(job.region.paper, PaperSize::letter);
  EXPECT_EQ(job.shop.currency.code, "USD");
  EXPECT_EQ(job.shop.terms.tax_name, "sales tax");
  EXPECT_GE(job.pieces.size(), 8u);
  std::set<design::Kind> kinds;
  for (const Piece& piece : job.pieces) kinds.insert(job.product(piece.product)->kind);
  EXPECT_EQ(kinds.size(), 3u);
  EXPECT_EQ(job.products[0].gap, 2_in) << "a bare number takes the stated unit";
}

TEST(Examples, hang_nothing_over_a_door_or_a_window) {
  for (const auto& [name, shop] : {std::pair{"control_room.toml", "shop_metric.toml"},
                                   std::pair{"tracking_room.toml", "shop_inch.toml"},
                                   std::pair{"drum_room.toml", "shop_metric.toml"},
                                   std::pair{"rehearsal_room.toml", "shop_metric.toml"}}) {
    const Job job = demo(name, shop);
    for (const Piece& piece : job.pieces) {
      if (piece.surface < 0) continue;
      const auto made = design::make_product(*job.product(piece.product), job.shop, "products");
      ASSERT_TRUE(made.ok());
      const Length run = piece.surface < 2
                             ? Length()
                             : Length::from_m(acoustics::wall_length_m(job.room, piece.surface));
      for (const Feature& feature : job.features) {
        if (feature.surface != piece.surface || feature.label == piece.window) continue;
        // A feature keeps u from the wall's first corner; a piece the tape's way, from the left.
        const bool wall = piece.surface >= 2;
        const Length left = wall ? run - feature.to_u : feature.from_u;
        const Length right = wall ? run - feature.from_u : feature.to_u;
        // A notch may hold what its piece may not cover.
        for (const design::FaceBox& box : design::face_boxes(*made, false)) {
          const double u = piece.from_u.metres(), v = piece.from_v.metres();
          const bool apart = u + box.to_m.x <= left.metres() ||
                             u + box.from_m.x >= right.metres() ||
                             v + box.to_m.y <= feature.from_v.metres() ||
                             v + box.from_m.y >= feature.to_v.metres();
          EXPECT_TRUE(apart) << name << ": " << piece.label << " over " << feature.label;
        }
      }
    }
  }
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

TEST(Json, tells_the_line_of_each_key) {
  const auto document = read_document(
      "{\n  \"schema\": 1,\n  \"room\": {\n    \"size\": [\n      5,\n      4, 3\n    ],\n"
      "    \"a.b\": 1, \"a\": {\"b\": 2}\n  },\n  \"seats\": [\n    {},\n    {\"at\": 1}\n  ]\n}");
  ASSERT_TRUE(document.ok()) << document.mistakes().text();
  EXPECT_EQ(document->lines.at("schema"), 2);
  EXPECT_EQ(document->lines.at("room"), 3);
  EXPECT_EQ(document->lines.at("room.size"), 4);
  EXPECT_EQ(document->lines.at("room.size[0]"), 5) << "a number that ends its line";
  EXPECT_EQ(document->lines.at("room.size[2]"), 6);
  EXPECT_EQ(document->lines.at("seats[1]"), 12);
  EXPECT_EQ(document->lines.at("seats[1].at"), 12);
}

TEST(ReadJob, tells_so_many_mistakes_and_how_many_more) {
  std::string text = source("tests/wrong/unknown-key.toml");
  for (int i = 0; i < 400; ++i) text += "z" + std::to_string(i) + " = 1\n";
  const auto job = read_job({text, source("tests/wrong/shop.toml")});
  ASSERT_FALSE(job.ok());
  ASSERT_EQ(job.mistakes().size(), most_mistakes_told + 1);
  EXPECT_EQ(job.mistakes().items().back().sentence(),
            "job file: has 101 more mistakes; mend these first");
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

TEST(Migration, keeps_the_line_of_a_renamed_key) {
  std::string text = source("tests/wrong/height-negative.toml");
  text.replace(text.find("schema = 1"), 10, "schema = 0");
  text.replace(text.find("height ="), 6, "ceiling_height");
  const auto job = read_job({text, source("tests/wrong/shop.toml")});
  ASSERT_FALSE(job.ok());
  EXPECT_EQ(job.mistakes().text(),
            "line 12: job file: room.height: must be from 500 mm to 100000 mm, got -2500 mm; check "
            "the unit\n");
}

TEST(Migration, refuses_a_file_from_the_future_without_guessing_at_the_rest) {
  const auto job = read_job({"schema = 2\nrooms = 3\n", source("tests/wrong/shop.toml")});
  ASSERT_FALSE(job.ok());
  EXPECT_EQ(job.mistakes().text(),
            "line 1: job file: schema: is newer than this program reads, got 2; get a newer "
            "program, or write schema = 1\n");
}

TEST(Migration, an_old_file_is_read_as_a_whole_job) {
  std::string text = source("examples/control_room.toml");
  text.replace(text.find("schema = 1"), 10, "schema = 0");
  text.replace(text.find("height = 2480"), 6, "ceiling_height");
  const auto job = read_job({text, source("examples/shop_metric.toml")});
  ASSERT_TRUE(job.ok()) << job.mistakes().text();
  EXPECT_EQ(job->notes, (std::vector<std::string>{"room.ceiling_height is now room.height",
                                                  "schema 0 is now schema 1"}));
  EXPECT_TRUE(demo("control_room.toml", "shop_metric.toml").notes.empty());
}

TEST(ShopFile, must_lie_beside_the_job) {
  EXPECT_EQ(*shop_file_of("shop = \"a.toml\""), "a.toml");
  EXPECT_FALSE(shop_file_of("shop = \"../a.toml\"").ok());
  EXPECT_FALSE(shop_file_of("shop = \"/etc/passwd\"").ok());
  EXPECT_FALSE(shop_file_of("shop = \"prices/a.toml\"").ok());
  EXPECT_FALSE(shop_file_of("shop = 'C:\\a.toml'").ok());
  EXPECT_FALSE(shop_file_of("{\"shop\": \"a\\u0000.toml\"}").ok());
  EXPECT_FALSE(shop_file_of("title = 3").ok());
}

}  // namespace
}  // namespace roomwright::job
