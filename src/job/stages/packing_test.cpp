// From the bench to the room or to a carrier: labels that read back, a load that a checker passes,
// an order that adds up without a room.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "job/stages/stages.h"

namespace roomwright::job {
namespace {

Job example(const std::string& name, const std::string& shop) {
  const auto text = [](const std::string& path) {
    return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + path).value();
  };
  const auto job = read_job({text(name + ".toml"), text(shop + ".toml")});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  return *job;
}

struct Packed {
  Job job;
  Treatment treatment;
  HangSheet hang;
  PackingSheet packing;
};
/// No sound is needed to pack.
Packed packed(Job job) {
  Packed out;
  out.job = std::move(job);
  out.treatment = placed(out.job).value();
  out.hang = hang(out.job, out.treatment);
  out.packing = packing(out.job, out.treatment, out.hang).value();
  return out;
}

TEST(LabelCodes, read_back_as_they_were_written) {
  for (const auto& [name, shop] :
       {std::pair<std::string, std::string>{"control_room", "shop_metric"},
        {"tracking_room", "shop_inch"}}) {
    const Packed one = packed(example(name, shop));
    ASSERT_EQ(one.packing.labels.size(), one.job.pieces.size());
    for (const LabelRow& row : one.packing.labels) {
      const LabelText text = read_label(row.payload).value();
      EXPECT_EQ(text.reference, one.job.reference);
      EXPECT_EQ(text.revision, one.job.revision);
      EXPECT_EQ(text.piece, row.piece);
      EXPECT_EQ(text.product, row.product);
      EXPECT_EQ(text.place, row.place);
      EXPECT_LE((text.left - row.left).nanometres(), 50'000);
      EXPECT_GE((text.left - row.left).nanometres(), -50'000);
      EXPECT_NEAR(text.mass_kg, row.mass_kg, 0.051);
      EXPECT_EQ(text.two_people, row.two_people);
    }
  }
}

TEST(LabelCodes, a_stroke_in_a_name_does_not_break_the_fields) {
  Job job = example("control_room", "shop_metric");
  job.reference = "D|17";
  const Packed one = packed(job);
  EXPECT_EQ(read_label(one.packing.labels[0].payload).value().reference, "D/17");
}

TEST(LabelCodes, of_another_form_are_refused) {
  EXPECT_FALSE(read_label("").ok());
  EXPECT_FALSE(read_label("RW2|a|b|c|d|e|0|0|1|1").ok());
  EXPECT_FALSE(read_label("RW1|a|b|c|d|e|0|0|1").ok());
  EXPECT_FALSE(read_label("RW1|a|b|c|d|e|left|0|1|1").ok());
}

TEST(PackingStage, what_hangs_overhead_is_first_and_corners_fill_from_the_foot) {
  const Packed one = packed(example("control_room", "shop_metric"));
  std::vector<std::string> order;
  for (const std::size_t i : one.hang.order) order.push_back(one.job.pieces[i].label);
  const auto at = [&](const std::string& label) {
    return std::find(order.begin(), order.end(), label) - order.begin();
  };
  EXPECT_EQ(std::set<std::string>(order.begin(), order.begin() + 2),
            (std::set<std::string>{"C1", "C2"}));
  EXPECT_LT(at("T1"), at("T2")) << "T2 stands above T1";
  EXPECT_LT(at("T4"), at("S1")) << "corners before walls";
  EXPECT_EQ(order.size(), one.job.pieces.size());
}

TEST(PackingStage, the_demo_jobs_loads_have_no_fault) {
  for (const auto& [name, shop] :
       {std::pair<std::string, std::string>{"control_room", "shop_metric"},
        {"tracking_room", "shop_inch"},
        {"drum_room", "shop_metric"}}) {
    const Packed one = packed(example(name, shop));
    ASSERT_TRUE(one.packing.van) << name;
    std::vector<shop::Package> packages;
    for (const PackageRow& row : one.packing.packages) packages.push_back(row.package);
    for (const std::string& fault :
         shop::faults_of_plan(*one.packing.van, packages, *one.job.shop.van, one.job.shop.packing))
      ADD_FAILURE() << name << ": " << fault;
    EXPECT_EQ(int(one.packing.van->trips.size()), one.packing.van->bound) << name;
  }
}

TEST(PackingStage, a_package_is_the_piece_its_blocks_and_its_wrapping) {
  const Packed one = packed(example("control_room", "shop_metric"));
  for (const PackageRow& row : one.packing.packages) {
    if (row.piece != "S1") continue;
    // 660 × 1254 × 68 mm with blocks of 60 mm behind it and 6 mm of wrapping on each side.
    EXPECT_EQ(row.package.width, 672_mm);
    EXPECT_EQ(row.package.height, 1266_mm);
    EXPECT_EQ(row.package.depth, 140_mm);
  }
}

TEST(PackingStage, a_shop_without_a_van_lists_packages_and_says_so) {
  Job job = example("control_room", "shop_metric");
  job.shop.van.reset();
  const Packed one = packed(job);
  EXPECT_FALSE(one.packing.van);
  EXPECT_EQ(one.packing.packages.size(), job.pieces.size());
  EXPECT_NE(one.packing.statements[0].sentence.find("names no van"), std::string::npos);
}

TEST(PackingStage, a_van_that_is_too_small_is_a_statement_and_stops_nothing) {
  Job job = example("control_room", "shop_metric");
  job.shop.van->length = 600_mm;
  job.shop.van->height = 600_mm;
  const Packed one = packed(job);
  EXPECT_FALSE(one.packing.van);
  EXPECT_GE(one.packing.statements[0].weight, 80);
}

// ---- orders ---------------------------------------------------------------------------------

TEST(Orders, go_from_the_saw_to_the_carrier_without_a_room) {
  const Job job = example("panel_order", "shop_metric");
  ASSERT_TRUE(job.order);
  const auto pack = run_all(job);
  ASSERT_TRUE(pack.ok()) << pack.mistakes().text();
  EXPECT_EQ(job.pieces.size(), 15u);
  EXPECT_EQ(pack->packing.labels.size(), 15u);
  EXPECT_TRUE(pack->findings.statements.empty());
  int pieces = 0;
  for (const shop::Carton& carton : pack->packing.cartons.cartons)
    pieces += carton.pieces * carton.cartons;
  EXPECT_EQ(pieces, 15);
  ASSERT_TRUE(pack->instructions);
  EXPECT_GE(pack->instructions->cautions.size(), 4u);
  EXPECT_GT(pack->instructions->load_n, 0);
}

TEST(Orders, are_made_to_each_lines_own_size_and_cloth) {
  const Job job = example("panel_order", "shop_metric");
  const auto pack = run_all(job).value();
  std::set<std::string> cloths;
  for (const auto& part : pack.build.parts.cloths)
    if (part.piece[0] == 'B' && part.name == "face") cloths.insert(part.cloth);
  EXPECT_EQ(cloths, std::set<std::string>{"heavy_wool_felt"});
  for (const auto& product : pack.treatment.products)
    if (product.spec.key == "panel B") {
      EXPECT_EQ(product.height, 760_mm);
      EXPECT_EQ(product.width, 600_mm);
    }
}

TEST(Orders, lines_and_carriage_add_up_to_the_price_and_nobody_travels) {
  const auto pack = run_all(example("panel_order", "shop_metric")).value();
  const shop::QuoteOption& offer = pack.price.quote.options.front();
  Money sum;
  for (const shop::QuoteRow& row : offer.rows) sum += row.price;
  EXPECT_EQ(sum, offer.net);
  EXPECT_EQ(offer.net, pack.price.costing.price);
  EXPECT_EQ(offer.rows.size(), 4u) << "three lines and the carriage";
  EXPECT_EQ(pack.price.costing.site, Money());
  EXPECT_EQ(pack.price.costing.travel, Money());
  EXPECT_EQ(pack.price.costing.carriage, pack.packing.cartons.carriage);
  EXPECT_GT(pack.price.costing.carriage, Money());
}

TEST(Orders, that_are_collected_cost_no_carriage) {
  Job job = example("panel_order", "shop_metric");
  job.order->collected = true;
  const auto pack = run_all(job).value();
  EXPECT_EQ(pack.packing.cartons.carriage, Money());
  EXPECT_EQ(pack.price.quote.options[0].rows.back().description, "Collected by you");
}

TEST(Orders, no_carton_that_holds_several_pieces_is_heavier_than_one_person_lifts) {
  const auto pack = run_all(example("panel_order", "shop_metric")).value();
  for (const shop::Carton& carton : pack.packing.cartons.cartons)
    EXPECT_TRUE(carton.pieces == 1 || carton.mass_kg <= 20);
}

TEST(Orders, that_no_carrier_takes_are_told_with_their_size) {
  Job job = example("panel_order", "shop_metric");
  for (shop::Rate& rate : job.shop.carriage.rates) rate.most_length = 500_mm;
  const auto pack = run_all(job);
  ASSERT_FALSE(pack.ok());
  EXPECT_EQ(pack.mistakes().size(), 3u) << "each line";
}

}  // namespace
}  // namespace roomwright::job
