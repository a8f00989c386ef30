// The seven stages on the demo jobs: what a builder would check, and that one number moves all that
// follows from it.
#include "job/stages/stages.h"
#include "job/stages/boundary.h"
#include "job/stages/doubt.h"
#include "kept/kept.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

namespace roomwright::job {
namespace {

std::string source(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/" + path).value();
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  if (at != std::string::npos) text.replace(at, from.size(), to);
  return text;
}

struct Done2 {
  Job job;
  Pack pack;
};
Done2 done(const std::string& job_text, const std::string& shop_text,
           const job::Run& run = quick_run()) {
  const auto job = read_job({job_text, shop_text});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  auto pack = run_all(*job, run);
  EXPECT_TRUE(pack.ok()) << (pack.ok() ? "" : pack.mistakes().text());
  return {*job, *pack};
}
Done2 control_room() {
  return done(source("examples/control_room.toml"), source("examples/shop_metric.toml"));
}

TEST(Stages, a_ceiling_50_mm_lower_moves_modes_reflection_product_stick_quote_and_elevation) {
  const Done2 before = control_room();
  const Done2 after = done(
      replaced(source("examples/control_room.toml"), "height = 2480\ndiag", "height = 2430\ndiag"),
      source("examples/shop_metric.toml"));
  const auto height_mode = [](const Done2& d) {
    for (const auto& mode : d.pack.findings.modes)
      if (mode.kind == acoustics::ModeKind::axial) return mode.hz;
    return 0.0;
  };
  EXPECT_NEAR(height_mode(before), before.pack.survey.air.sound_speed_m_s / (2 * 2.48), 1e-9);
  EXPECT_NEAR(height_mode(after), after.pack.survey.air.sound_speed_m_s / (2 * 2.43), 1e-9);
  const auto ceiling_delay = [](const Done2& d) {
    for (const auto& path : d.pack.findings.paths)
      if (path.surface == "ceiling") return path.delay_ms;
    return 0.0;
  };
  EXPECT_LT(ceiling_delay(after), ceiling_delay(before));
  const auto top_trap = [](const Done2& d) {
    for (const auto& product : d.pack.treatment.products)
      if (product.spec.key == "straddle_top") return product.height;
    return Length();
  };
  EXPECT_EQ(top_trap(before) - top_trap(after), 50_mm);
  const auto has_stop = [](const Done2& d, Length length) {
    for (const auto& plan : d.pack.build.schedule.sticks)
      for (const auto& stop : plan.stops)
        if (stop.stop == length) return true;
    return false;
  };
  EXPECT_TRUE(has_stop(before, top_trap(before) - 27_mm * 2));
  EXPECT_TRUE(has_stop(after, top_trap(after) - 27_mm * 2));
  EXPECT_FALSE(has_stop(before, top_trap(after) - 27_mm * 2));
  EXPECT_NE(before.pack.price.quote.options[0].total, after.pack.price.quote.options[0].total);
  const auto hung = [](const Done2& d) {
    for (const auto& piece : d.pack.hang.pieces)
      if (piece.label == "T2") return piece.height;
    return Length();
  };
  EXPECT_EQ(hung(before) - hung(after), 50_mm);
}

TEST(Stages, the_demo_fits_and_comes_near_its_target) {
  const Done2 d = control_room();
  EXPECT_TRUE(d.pack.treatment.buildable);
  EXPECT_TRUE(d.pack.survey.tape.size() == 6 && d.pack.survey.tape[0].within);
  EXPECT_EQ(d.pack.findings.statements.front().topic, "decay");
  int in_before = 0, in_after = 0;
  for (const auto& row : d.pack.treatment.before) in_before += row.verdict == "in";
  for (const auto& row : d.pack.treatment.after) {
    in_after += row.verdict == "in";
    EXPECT_LE(row.low_s, row.likely_s);
    EXPECT_GE(row.high_s, row.likely_s);
  }
  EXPECT_GE(in_after, in_before + 4);
  for (std::size_t i = 0; i < 8; ++i)
    EXPECT_LT(d.pack.treatment.after[i].likely_s, d.pack.treatment.before[i].likely_s);
  for (const auto& plan : d.pack.build.schedule.sticks) EXPECT_TRUE(plan.proven) << plan.name;
}

TEST(Stages, every_part_of_every_piece_is_in_the_schedule) {
  const Done2 d = control_room();
  std::size_t marks = 0, sticks = 0, cloths = 0, placed = 0;
  for (const auto& stick : d.pack.build.parts.sticks) sticks += std::size_t(stick.count);
  for (const auto& plan : d.pack.build.schedule.sticks)
    for (const auto& pattern : plan.patterns)
      marks += pattern.marks.size() * std::size_t(pattern.sticks);
  EXPECT_EQ(marks, sticks);
  for (const auto& cloth : d.pack.build.parts.cloths) cloths += std::size_t(cloth.count);
  for (const auto& plan : d.pack.build.schedule.cloths) placed += plan.pieces.size();
  EXPECT_EQ(placed, cloths);
}

TEST(Stages, quote_and_costing_reconcile_to_the_cent) {
  const Done2 d = control_room();
  Money rows;
  for (const auto& row : d.pack.price.quote.options.back().rows) rows += row.price;
  EXPECT_EQ(rows, d.pack.price.costing.price);
  EXPECT_EQ(d.pack.price.purchase.total, d.pack.price.costing.material);
}

TEST(Stages, places_are_from_the_left_hand_corner) {
  const Done2 d = control_room();
  for (std::size_t i = 0; i < d.job.pieces.size(); ++i) {
    if (d.job.pieces[i].surface < 2) continue;
    const auto& foot = d.pack.treatment.pieces[i].placement.footprints[0];
    const double run = acoustics::wall_length_m(d.job.room, foot.surface);
    EXPECT_NEAR(run - foot.to_m.x, d.pack.hang.pieces[i].left.metres(), 1e-6)
        << d.job.pieces[i].label;
  }
}

TEST(Stages, a_panel_over_a_door_is_told_by_the_treatment) {
  const std::string text =
      replaced(source("examples/control_room.toml"), "on = \"wall1\"\nfrom = [540, 600]",
               "on = \"wall1\"\nfrom = [1500, 600]");
  const Done2 d = done(text, source("examples/shop_metric.toml"));
  EXPECT_FALSE(d.pack.treatment.buildable);
  EXPECT_EQ(d.pack.treatment.statements.front().sentence,
            "Piece R1 hangs over the door by 660 mm.");
}

TEST(Stages, an_out_of_square_room_is_told_with_the_closing_error) {
  const std::string text =
      replaced(source("examples/control_room.toml"), "measured = 6651", "measured = 6691");
  const Done2 d = done(text, source("examples/shop_metric.toml"));
  EXPECT_EQ(d.pack.survey.statements.front().sentence,
            "The room is out of square: corner 0 to corner 2 measures 6691 mm, the plan gives 6648 "
            "mm, a closing error of 43.0 mm.");
}

TEST(Stages, the_sentences_say_what_treatment_does_not_do) {
  const Done2 d = control_room();
  EXPECT_NE(d.pack.findings.not_done[0].find("does not keep sound from the neighbours"),
            std::string::npos);
}

TEST(Stages, the_tracking_room_goes_through_in_inches) {
  const Done2 d = done(source("examples/tracking_room.toml"), source("examples/shop_inch.toml"));
  EXPECT_TRUE(d.pack.treatment.buildable) << d.pack.treatment.statements.front().sentence;
  for (const auto& piece : d.pack.hang.pieces)
    EXPECT_TRUE(piece.fixing.safety_factor.has_value()) << "studs of wood are computed";
  // 24 in board, 1/4 in clearance, two members of 3/4 in
  EXPECT_EQ(d.pack.treatment.products[0].width, 25_in + eighth_inch * 6);
}

TEST(Stages, the_drum_room_goes_through_with_its_boxes_wells_and_blocks) {
  const Done2 d = done(source("examples/drum_room.toml"), source("examples/shop_metric.toml"));
  EXPECT_TRUE(d.pack.treatment.buildable) << d.pack.treatment.statements.front().sentence;
  // The perforated trap is for 63 Hz: it does more there than two octaves up.
  EXPECT_GT(d.pack.treatment.pieces[0].likely_m2[0], 3 * d.pack.treatment.pieces[0].likely_m2[2]);
  // Two boxes of 5 × 9 holes
  double holes = 0;
  for (const auto& operation : d.pack.build.parts.operations)
    if (operation.feature == "hole") holes += operation.count;
  EXPECT_EQ(holes, 2 * 5 * 9);
  EXPECT_EQ(d.pack.treatment.products[3].width, 68_mm * 14 + 9_mm * 15);
}

TEST(Stages, the_rehearsal_room_goes_through_with_every_kind_and_no_fault_at_the_bench) {
  const Done2 d = done(source("examples/rehearsal_room.toml"), source("examples/shop_metric.toml"));
  EXPECT_TRUE(d.pack.treatment.buildable) << d.pack.treatment.statements.front().sentence;
  std::set<design::Kind> kinds;
  double mass = 0;
  for (std::size_t i = 0; i < d.job.pieces.size(); ++i) {
    const auto& spec = *d.job.product(d.job.pieces[i].product);
    kinds.insert(spec.kind);
    const HangPiece& hung = d.pack.hang.pieces[i];
    EXPECT_EQ(hung.fixing.points == 0, !design::hangs(spec.kind)) << hung.label;
    mass += hung.mass_kg;
  }
  EXPECT_EQ(kinds.size(), 9u);
  EXPECT_NEAR(mass, d.pack.hang.total_kg, 1e-9);
  for (const auto& product : d.pack.treatment.products)
    for (const auto& check : product.checks) EXPECT_TRUE(check.ok) << check.sentence;
  for (const auto& one : d.pack.build.statements) EXPECT_NE(one.topic, "bench") << one.sentence;
  // The plug takes its window's place: its own face, not the pane's, absorbs there.
  const auto after = treated_boundary(d.job, d.pack.treatment, &PieceRow::likely_m2);
  double walls = 0;
  for (std::size_t i = 0; i < 6; ++i) walls += after[i].area_m2;
  const double pane = after[7].area_m2;  // behind the six surfaces and the door
  EXPECT_NEAR(pane, 1.06 * 1.18 - 1.044 * 1.164, 1e-9);
  EXPECT_GT(walls, 80);
}

TEST(Stages, a_coated_cloth_is_told_in_a_sentence_and_an_open_one_is_not) {
  const std::string shop = source("examples/shop_metric.toml");
  const std::string heavy = replaced(shop, "mass_kg_m2 = 0.24\nflow_resistance_pa_s_m = 35",
                                     "mass_kg_m2 = 0.9\nflow_resistance_pa_s_m = 6000");
  const auto told = [](const Done2& d) {
    return std::any_of(d.pack.treatment.statements.begin(), d.pack.treatment.statements.end(),
                       [](const Statement& one) {
                         return one.topic == "cloth" &&
                                one.sentence.find("Above 1 kHz open-weave") != std::string::npos;
                       });
  };
  EXPECT_FALSE(told(done(source("examples/control_room.toml"), shop)));
  EXPECT_TRUE(told(done(source("examples/control_room.toml"), heavy)));
}

TEST(Stages, the_fill_is_weighed_by_what_the_room_misses) {
  const Done2 d = done(source("examples/control_room.toml"), source("examples/shop_metric.toml"));
  FillOptions options;
  options.instead_of = design::WantedBoard{"stone_wool_80", 50_mm, Length(), "open_weave_grey"};
  const auto report = fill(d.job, d.pack.survey, d.pack.findings, options).value();
  // The miss is what brings the decay down to its upper target by Sabine's formula.
  const auto& row = d.pack.findings.decay[2];
  const double per_second =
      24 * std::log(10.0) * d.pack.survey.volume_m3 / d.pack.survey.air.sound_speed_m_s;
  EXPECT_NEAR(report.missing_m2[2], per_second * (1 / *row.target_high_s - 1 / row.likely_s), 1e-9);
  EXPECT_TRUE(report.choices.front().best);
  EXPECT_FALSE(report.substitutes.empty());
  for (const auto& choice : report.choices) EXPECT_LE(choice.depth, options.deepest);
}

TEST(Stages, the_fill_shows_no_cloth_that_the_shop_has_for_backs_alone) {
  Done2 d = done(source("examples/control_room.toml"), source("examples/shop_metric.toml"));
  const auto under = [&](const std::string& cloth) {
    const auto report = fill(d.job, d.pack.survey, d.pack.findings, {}).value();
    return std::any_of(report.choices.begin(), report.choices.end(),
                       [&](const design::Choice& choice) { return choice.cloth == cloth; });
  };
  EXPECT_TRUE(under("open_weave_grey"));
  EXPECT_FALSE(under("fleece_black"));
  d.job.shop.cloths.at("fleece_black").face = true;
  EXPECT_TRUE(under("fleece_black"));
  for (auto& [key, cloth] : d.job.shop.cloths) cloth.face = false;
  const auto none = fill(d.job, d.pack.survey, d.pack.findings, {});
  ASSERT_FALSE(none.ok());
  EXPECT_NE(none.mistakes().text().find("that may be seen is missing"), std::string::npos);
}

TEST(Stages, the_bass_at_the_seat_is_a_field_in_a_box_and_in_any_other_plan) {
  const Done2 box =
      done(source("examples/tracking_room.toml"), source("examples/shop_inch.toml"), kept_run());
  const BassField& today = box.pack.findings.bass;
  ASSERT_EQ(today.levels.size(), box.job.loudspeakers.size() * box.job.seats.size());
  ASSERT_EQ(today.levels[0].level_db.size(), today.hz.size());
  EXPECT_EQ(box.pack.treatment.bass.patches, 7) << "the door and the six wall panels";
  const auto said = [](const std::vector<Statement>& statements) {
    return std::any_of(statements.begin(), statements.end(),
                       [](const Statement& one) { return one.topic == "bass"; });
  };
  EXPECT_TRUE(said(box.pack.findings.statements));
  EXPECT_TRUE(said(box.pack.treatment.statements));
  // Panels take energy out of the room: on the whole the field comes down.
  double before = 0, after = 0;
  for (std::size_t i = 0; i < today.hz.size(); ++i) {
    before += std::pow(10, today.levels[0].level_db[i] / 10);
    after += std::pow(10, box.pack.treatment.bass.levels[0].level_db[i] / 10);
  }
  EXPECT_LT(after, before);
  const Done2 plan =
      done(source("examples/control_room.toml"), source("examples/shop_metric.toml"), kept_run());
  EXPECT_EQ(plan.pack.findings.bass.levels.size(),
            plan.job.loudspeakers.size() * plan.job.seats.size())
      << plan.pack.findings.bass.note;
  // Seven corner traps and two clouds: what is left out is told.
  EXPECT_EQ(plan.pack.treatment.bass.bodies, 9) << "traps and clouds are counted";
}

TEST(Stages, a_sloped_room_goes_through_with_its_modes_and_its_bass) {
  std::string text = replaced(source("examples/control_room.toml"), "height = 2480\n",
                              "ceiling = [[0, 0, 2480], [5860, 0, 2480], [0, 3920, 2900]]\n");
  text = replaced(text, "below_ceiling = 1265 #", "height = 1215 #");
  // One corner trap of all bodies, so that it takes seconds.
  for (const char* trap : {"T2", "T3", "T4", "B1", "B2", "B3", "C1", "C2"}) {
    const auto from = text.find("[[pieces]]\nlabel = \"" + std::string(trap));
    ASSERT_NE(from, std::string::npos) << trap;
    text.erase(from, text.find("[[pieces]]", from + 1) - from);
  }
  const Done2 d = done(text, source("examples/shop_metric.toml"), kept_run());
  EXPECT_FALSE(d.pack.findings.modes.empty()) << d.pack.findings.modes_note;
  EXPECT_FALSE(d.pack.findings.bass.levels.empty()) << d.pack.findings.bass.note;
  EXPECT_EQ(d.pack.treatment.bass.bodies, 1) << d.pack.treatment.bass.note;
}

// ---- a measured room's size -----------------------------------------------------------------

/// A row of panels along a wall of the given run, from the left-hand corner, thin and deep in turn.
std::string panel_row(const std::string& wall, int run_mm, int bottom_mm, int count, int deep_every,
                      int& number) {
  std::string out;
  for (int i = 0; i < count; ++i) {
    const int left = 500 + i * ((run_mm - 1000 - 660) / std::max(1, count - 1));
    out += "[[pieces]]\nlabel = \"P" + std::to_string(number++) + "\"\nproduct = \"" +
           (i % deep_every == 0 ? "deep" : "thin") + "\"\non = \"" + wall + "\"\nfrom = [" +
           std::to_string(left) + ", " + std::to_string(bottom_mm) + "]\n";
  }
  return out;
}

TEST(Stages, a_room_of_the_seminar_rooms_size_is_brought_to_the_listening_target) {
  const std::string folder = std::string(ROOMWRIGHT_SHARED_DATA) + "/data/room_benchmark_seminar";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  // A plan polygon of the room's stated floor (49.29 m²) and volume (146.1 m³): BRAS, scene CR2
  std::string text =
      "schema = 1\ntitle = \"Seminar room\"\ndate = \"2026-11-20\"\nuse = \"listening\"\nshop = "
      "\"shop.toml\"\n[region]\nunits = \"mm\"\n"
      "[climate]\ntemperature_c = 19.5\nhumidity_percent = 41.7\n"
      "[room]\nplan = [[0, 0], [8400, 0], [8400, 5868], [8000, 5868], [8000, 5868.5], [0, "
      "5868.5]]\nheight = 2964\n"
      "[surfaces]\ndefault = \"hard_wall\"\nfloor = \"floor_boards_over_air\"\n"
      "[[loudspeakers]]\nlabel = \"left\"\nat = [1500, 2000, 1200]\n[[seats]]\nlabel = "
      "\"seat\"\nat = [4500, 2900, 1200]\n"
      "[[products]]\nkey = \"deep\"\nname = \"deep panel\"\nkind = \"wall_panel\"\ntimber = "
      "\"batten_27x240\"\nboard = \"stone_wool_50\"\n"
      "board_layers = 4\ncloth = \"open_weave_grey\"\ngap = 250\n"
      "[[products]]\nkey = \"thin\"\nname = \"thin panel\"\nkind = \"wall_panel\"\ntimber = "
      "\"batten_27x68\"\nboard = \"stone_wool_50\"\n"
      "cloth = \"open_weave_grey\"\n"
      "[[products]]\nkey = \"trap\"\nname = \"trap\"\nkind = \"straddling_trap\"\ntimber = "
      "\"batten_27x120\"\nboard = \"stone_wool_50\"\n"
      "board_layers = 2\ncloth = \"open_weave_grey\"\nwidth = 620\nheight = 1400\n";
  text = replaced(text, "[8400, 5868], [8000, 5868], [8000, 5868.5], [0, 5868.5]",
                  "[8400, 5400], [8000, 5400], [8000, 5890], [0, 5890]");
  int number = 1;
  for (const int bottom : {200, 1560}) {
    text += panel_row("wall0", 8400, bottom, 9, 2, number);
    text += panel_row("wall4", 8000, bottom, 9, 2, number);
    text += panel_row("wall5", 5890, bottom, 5, 2, number);
    text += panel_row("wall1", 5400, bottom, 5, 2, number);
  }
  for (const int corner : {0, 1, 5})
    for (const int foot : {40, 1480})
      text += "[[pieces]]\nlabel = \"T" + std::to_string(number++) +
              "\"\nproduct = \"trap\"\nin_corner = " + std::to_string(corner) +
              "\nfoot = " + std::to_string(foot) + "\n";
  const std::string shop = replaced(
      source("examples/shop_metric.toml"), "[timber.batten_45x45]",
      "[timber.batten_27x240]\nname = \"planed spruce 27 × 240 mm\"\nwidth = 27\ndepth = 240\n"
      "sticks = [{ length = 4200, price = 21.00 }]\n\n[timber.batten_45x45]");
  const Done2 d = done(text, shop);
  EXPECT_NEAR(d.pack.survey.floor_area_m2, 49.29, 0.05);
  EXPECT_NEAR(d.pack.survey.volume_m3, 146.1, 0.2);
  EXPECT_TRUE(d.pack.treatment.buildable) << d.pack.treatment.statements.front().sentence;
  for (const auto& row : d.pack.treatment.after)
    EXPECT_EQ(row.verdict, "in") << row.hz << " Hz: " << row.likely_s << " s, wanted "
                                 << *row.target_low_s << " to " << *row.target_high_s;
}

}  // namespace
}  // namespace roomwright::job
