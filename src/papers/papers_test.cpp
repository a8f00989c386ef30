// The papers of both demo jobs: nothing overlaps, nothing is cut off, every page says who it is,
// and the texts are those that someone has looked at (tests/papers, renewed by ./check --accept).
#include "papers/papers.h"
#include "kept/kept.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <optional>

namespace roomwright::papers {
namespace {

std::string source(const std::string& path) {
  return read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/" + path).value();
}

struct Demo {
  std::string name;
  job::Job job;
  job::Pack pack;
  std::vector<Paper> papers;
};

const std::vector<Demo>& demos() {
  static const std::vector<Demo> all = [] {
    std::vector<Demo> out;
    for (const auto& [name, shop] :
         {std::pair<std::string, std::string>{"control_room", "shop_metric"},
          {"tracking_room", "shop_inch"},
          {"drum_room", "shop_metric"},
          {"rehearsal_room", "shop_metric"},
          {"panel_order", "shop_metric"}}) {
      Demo demo;
      demo.name = name;
      demo.job = job::read_job(
                     {source("examples/" + name + ".toml"), source("examples/" + shop + ".toml")})
                     .value();
      // The room with every kind is there for its parts and drawings.
      demo.pack =
          job::run_all(demo.job, name == "rehearsal_room" ? quick_run() : kept_run()).value();
      demo.papers = all_papers(demo.job, demo.pack);
      out.push_back(std::move(demo));
    }
    return out;
  }();
  return all;
}

/// Where a text's ink lies, without its ascenders' air.
struct Box {
  double x0, y0, x1, y1;
  std::string text;
};
Box box_of(const drawing::Text& text) {
  const double width = drawing::text_width_mm(text.text, text.size_mm, text.bold),
               height = text.size_mm * 0.72;
  const double shift = text.anchor == drawing::Anchor::left     ? 0
                       : text.anchor == drawing::Anchor::centre ? width / 2
                                                                : width;
  if (text.angle_deg == 90)
    return {text.at.x - height, text.at.y + shift - width, text.at.x, text.at.y + shift, text.text};
  return {text.at.x - shift, text.at.y - height, text.at.x - shift + width, text.at.y, text.text};
}

void expect_no_overlap(const Paper& paper, const std::string& of) {
  for (std::size_t page = 0; page < paper.sheets.size(); ++page) {
    const drawing::Sheet& sheet = paper.sheets[page];
    std::vector<Box> boxes;
    for (const auto& shape : sheet.shapes)
      if (const auto* text = std::get_if<drawing::Text>(&shape); text && !text->text.empty())
        boxes.push_back(box_of(*text));
    const std::string where = of + " " + paper.name + " page " + std::to_string(page + 1);
    EXPECT_FALSE(boxes.empty()) << where;
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      const Box& a = boxes[i];
      EXPECT_TRUE(a.x0 >= 3 && a.y0 >= 3 && a.x1 <= sheet.width_mm - 3 &&
                  a.y1 <= sheet.height_mm - 3)
          << where << ": " << a.text;
      for (std::size_t k = 0; k < i; ++k) {
        const Box& b = boxes[k];
        const double x = std::min(a.x1, b.x1) - std::max(a.x0, b.x0),
                     y = std::min(a.y1, b.y1) - std::max(a.y0, b.y0);
        EXPECT_FALSE(x > 0.3 && y > 0.3)
            << where << ": \"" << a.text << "\" over \"" << b.text << "\"";
      }
    }
  }
}

TEST(Papers, no_two_texts_overlap_and_none_leaves_its_page) {
  for (const Demo& demo : demos())
    for (const Paper& paper : demo.papers) expect_no_overlap(paper, demo.name);
}

/// A side with a decay in every octave but those that are not told.
job::MeasuredSide measured_side(double t_s, const std::vector<double>& untold_hz) {
  job::MeasuredSide out;
  out.positions = {"seat left", "seat right", "couch by the window"};
  for (const double hz : {63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0}) {
    const bool untold = std::count(untold_hz.begin(), untold_hz.end(), hz) > 0;
    const job::MeasuredMean mean =
        untold ? job::MeasuredMean{{}, 0, 0, "needs 35 dB above the noise, has 22 dB"}
               : job::MeasuredMean{t_s, 0.02, 3, ""};
    out.octaves.push_back({hz, mean, mean, mean});
  }
  for (int k = 0; k < 24; ++k)
    out.thirds.push_back({50 * std::pow(2, k / 3.0), k % 5 - 2.0 - (k == 1 ? 25 : 0), -50});
  return out;
}

std::string words_of(const Paper& paper) {
  std::string out;
  for (const drawing::Sheet& sheet : paper.sheets)
    for (const auto& shape : sheet.shapes)
      if (const auto* text = std::get_if<drawing::Text>(&shape)) out += text->text + " ";
  return out;
}

TEST(Papers, the_proof_says_of_each_promise_whether_it_is_met) {
  const Demo& demo = demos()[0];
  job::Pack pack = demo.pack;
  pack.proof.measured =
      job::proven(pack.proof, measured_side(0.6, {}), measured_side(0.28, {63, 125}));
  const Paper both = proof_paper(demo.job, pack);
  expect_no_overlap(both, "before and after");
  const std::string words = words_of(both);
  for (const job::Verdict& verdict : pack.proof.measured->verdicts)
    EXPECT_NE(words.find(verdict.sentence.substr(0, 40)), std::string::npos) << verdict.sentence;
  for (const char* said : {"after, T20 at 63 Hz, 125 Hz: needs 35 dB above the noise",
                           "3 positions (seat left, seat right, couch by the window)",
                           "How even is the level by third octave?", "before hanging"})
    EXPECT_NE(words.find(said), std::string::npos) << said;
  pack.proof.measured = job::proven(pack.proof, {}, measured_side(0.28, {}));
  const Paper after = proof_paper(demo.job, pack);
  expect_no_overlap(after, "after alone");
  EXPECT_NE(words_of(after).find("Before: not measured."), std::string::npos);
  pack.proof.measured = job::proven(pack.proof, measured_side(0.6, {}), {});
  expect_no_overlap(proof_paper(demo.job, pack), "before alone");
  EXPECT_EQ(words_of(proof_paper(demo.job, demo.pack)).find("What was measured proves"),
            std::string::npos)
      << "nothing is claimed where nothing was recorded";
}

TEST(Papers, every_page_has_its_title_block) {
  for (const Demo& demo : demos())
    for (const Paper& paper : demo.papers)
      for (std::size_t page = 0; page < paper.sheets.size(); ++page) {
        const std::string wanted =
            std::to_string(page + 1) + " of " + std::to_string(paper.sheets.size());
        bool number = false, date = false;
        for (const auto& shape : paper.sheets[page].shapes)
          if (const auto* text = std::get_if<drawing::Text>(&shape)) {
            number = number || text->text == wanted;
            date = date || text->text == demo.job.date;
          }
        EXPECT_TRUE(number && date) << demo.name << " " << paper.name << " " << page + 1;
      }
}

TEST(Papers, their_texts_are_those_that_were_looked_at) {
  for (const Demo& demo : demos())
    for (const Paper& paper : demo.papers) {
      std::string text;
      for (const auto& sheet : paper.sheets) {
        text += "---- page\n";
        for (const auto& shape : sheet.shapes)
          if (const auto* one = std::get_if<drawing::Text>(&shape)) text += one->text + "\n";
      }
      const std::string path = std::string(ROOMWRIGHT_SOURCE_DIR) + "/tests/papers/" + demo.name +
                               "-" + paper.name + ".txt";
      if (std::getenv("ROOMWRIGHT_ACCEPT")) ASSERT_TRUE(write_file(path, text).ok());
      const auto stored = read_file(path);
      ASSERT_TRUE(stored.ok()) << path;
      EXPECT_EQ(*stored, text) << path << ": run ./check --accept after looking at the page";
    }
}

TEST(Papers, the_quote_shows_no_cost_of_the_shop) {
  for (const Demo& demo : demos())
    for (const auto& sheet : demo.papers[0].sheets)
      for (const auto& shape : sheet.shapes)
        if (const auto* text = std::get_if<drawing::Text>(&shape)) {
          EXPECT_EQ(
              text->text.find(print_money(demo.pack.price.costing.cost, demo.job.shop.currency)),
              std::string::npos);
          EXPECT_EQ(text->text.find("margin"), std::string::npos);
        }
}

/// What a bench or a site device may open, told from the three that say what is paid by their
/// names.
void expect_no_money(const std::vector<Paper>& papers, const job::Job& job) {
  for (const Paper& paper : papers) {
    if (paper.name == "01-quote" || paper.name == "08-purchase" || paper.name == "09-costing")
      continue;
    for (const auto& sheet : paper.sheets)
      for (const auto& shape : sheet.shapes)
        if (const auto* text = std::get_if<drawing::Text>(&shape))
          EXPECT_EQ(text->text.find(job.shop.currency.sign), std::string::npos)
              << paper.name << ": " << text->text;
  }
}

TEST(Papers, those_of_the_bench_and_the_site_do_not_tell_what_is_paid) {
  for (const Demo& demo : demos()) expect_no_money(demo.papers, demo.job);
}

TEST(Papers, drawings_know_the_scale_of_each_page_for_their_full_size_copy) {
  for (const Paper& paper : demos()[0].papers) {
    if (!paper.vectors) continue;
    ASSERT_EQ(paper.scales.size(), paper.sheets.size());
    EXPECT_GT(paper.scales.back(), 1) << paper.name;
  }
}

// ---- full size --------------------------------------------------------------------------------

/// An order needs no room and no wave field: its papers are made in a moment.
struct OrderPapers {
  job::Job job;
  job::Pack pack;
  std::vector<Paper> papers;
  const Paper& named(const std::string& name) const {
    return *std::find_if(papers.begin(), papers.end(),
                         [&](const Paper& paper) { return paper.name == name; });
  }
};
const OrderPapers& order_papers() {
  static const OrderPapers made = [] {
    OrderPapers out;
    out.job =
        job::read_job({source("examples/panel_order.toml"), source("examples/shop_metric.toml")})
            .value();
    out.pack = job::run_all(out.job).value();
    out.papers = all_papers(out.job, out.pack);
    return out;
  }();
  return made;
}

TEST(OrderPapers, those_of_the_bench_do_not_tell_what_is_paid) {
  expect_no_money(order_papers().papers, order_papers().job);
}

TEST(StorySticks, every_mark_is_drawn_at_full_size_on_the_sheets_and_in_the_drawing) {
  const Paper& paper = order_papers().named("11-story-sticks");
  const auto& making = order_papers().pack.build.makings[0];
  const auto rail = std::find_if(making.sticks.begin(), making.sticks.end(),
                                 [](const auto& stick) { return stick.member == "rail"; });
  ASSERT_NE(rail, making.sticks.end());
  // The first whole stick is the first product's first member; its left end lies at 10 mm.
  ASSERT_FALSE(paper.whole.empty());
  std::vector<double> drawn;
  for (const auto& shape : paper.whole[0].shapes)
    if (const auto* line = std::get_if<drawing::Line>(&shape);
        line && line->from.x == line->to.x && line->to.y - line->from.y > 20)
      drawn.push_back(line->from.x - 10);
  for (const auto& mark : rail->marks) {
    if (mark.kind == design::MarkKind::staple) continue;
    EXPECT_TRUE(std::any_of(drawn.begin(), drawn.end(),
                            [&](double at) { return std::abs(at - mark.at.millimetres()) < 1e-9; }))
        << mark.what << " at " << mark.at.millimetres();
  }
  // The same in the DXF, a unit a millimetre.
  const std::string dxf = drawing::dxf_text(paper.whole[0], 1);
  EXPECT_NE(dxf.find("\n10\n" + shortest(10 + rail->length.millimetres()) + "\n"),
            std::string::npos);
}

TEST(StorySticks, tiles_lap_by_ten_millimetres_and_lose_no_part) {
  const Paper& paper = order_papers().named("11-story-sticks");
  double drawn = 0;
  int strips = 0;
  for (const auto& sheet : paper.sheets)
    for (const auto& shape : sheet.shapes)
      if (const auto* path = std::get_if<drawing::Path>(&shape);
          path && path->closed && !path->hatched && path->points.size() == 4 &&
          std::abs(path->points[2].y - path->points[0].y - 30) < 1e-9) {
        drawn += path->points[2].x - path->points[0].x;
        ++strips;
      }
  double whole = 0;
  for (const auto& sheet : paper.whole) whole += sheet.width_mm - 20;
  EXPECT_NEAR(drawn, whole + 10.0 * (strips - int(paper.whole.size())), 1e-6);
}

/// A page as grey values, by the printer's own way: PDF to dots.
struct Dots {
  int width = 0, height = 0;
  std::string grey;
  bool dark(int x, int y) const {
    return static_cast<unsigned char>(grey[std::size_t(y) * std::size_t(width) + std::size_t(x)]) <
           128;
  }
};
std::optional<Dots> printed(const std::vector<drawing::Sheet>& sheets, int dots_an_inch) {
  const std::string base =
      (std::filesystem::temp_directory_path() / ("roomwright_page_" + std::to_string(getpid())))
          .string();
  if (!write_file(base + ".pdf", drawing::pdf_bytes(sheets, {"page", "2026-11-24"}).value()).ok())
    return std::nullopt;
  const std::string command = "pdftoppm -f 1 -l 1 -r " + std::to_string(dots_an_inch) +
                              " -gray -singlefile " + base + ".pdf " + base + " 2>/dev/null";
  if (std::system(command.c_str()) != 0) return std::nullopt;
  const std::string pgm = read_file(base + ".pgm").value();
  Dots out;
  int most = 0, read = 0;
  if (std::sscanf(pgm.c_str(), "P5 %d %d %d%n", &out.width, &out.height, &most, &read) != 3)
    return std::nullopt;
  out.grey = pgm.substr(std::size_t(read) + 1);
  std::filesystem::remove(base + ".pdf");
  std::filesystem::remove(base + ".pgm");
  return out;
}

TEST(StorySticks, the_line_to_measure_is_100_mm_on_the_printed_page) {
  if (std::system("command -v pdftoppm >/dev/null") != 0) GTEST_SKIP() << "needs poppler-utils";
  const auto dots = printed(order_papers().named("11-story-sticks").sheets, 254);  // ten a mm
  ASSERT_TRUE(dots);
  EXPECT_NEAR(dots->width, 2970, 1) << "A4 lying";
  EXPECT_NEAR(dots->height, 2100, 1);
  // The first unbroken run of more than 90 mm from the top is the line.
  int longest = 0;
  for (int y = 0; y < dots->height && longest < 900; ++y) {
    int run = 0;
    for (int x = 0; x < dots->width; ++x) {
      run = dots->dark(x, y) ? run + 1 : 0;
      longest = std::max(longest, run);
    }
  }
  EXPECT_NEAR(longest, 1000 + 3, 3) << "100 mm and the width of its end strokes";
}

TEST(Labels, every_code_on_the_printed_page_is_read_back) {
  if (std::system("command -v zbarimg >/dev/null && command -v pdftoppm >/dev/null") != 0)
    GTEST_SKIP() << "needs zbar-tools and poppler-utils";
  const Paper& paper = order_papers().named("14-labels");
  std::string read;
  for (const auto& sheet : paper.sheets) {
    const std::string base =
        (std::filesystem::temp_directory_path() / ("roomwright_labels_" + std::to_string(getpid())))
            .string();
    ASSERT_TRUE(
        write_file(base + ".pdf", drawing::pdf_bytes({sheet}, {"labels", "2026-11-24"}).value())
            .ok());
    ASSERT_EQ(std::system(("pdftoppm -r 200 -png -singlefile " + base + ".pdf " + base).c_str()),
              0);
    ASSERT_EQ(
        std::system(("zbarimg -q --raw " + base + ".png >" + base + ".txt 2>/dev/null").c_str()),
        0);
    read += read_file(base + ".txt").value();
    for (const char* ending : {".pdf", ".png", ".txt"}) std::filesystem::remove(base + ending);
  }
  for (const auto& row : order_papers().pack.packing.labels)
    EXPECT_NE(read.find(row.payload + "\n"), std::string::npos) << row.payload;
  EXPECT_EQ(std::count(read.begin(), read.end(), '\n'), 15);
}

TEST(Labels, stay_inside_their_cells) {
  const auto& made = order_papers();
  const shop::LabelSheet& grid = made.job.shop.labels;
  for (const auto& sheet : made.named("14-labels").sheets)
    for (const auto& shape : sheet.shapes)
      if (const auto* text = std::get_if<drawing::Text>(&shape)) {
        const Box box = box_of(*text);
        if (box.y1 < grid.top.millimetres()) continue;  // the margin's own line
        const double x = box.x0 - grid.left.millimetres();
        const int column = int(x / grid.step_across.millimetres());
        EXPECT_LE(box.x1, (grid.left + grid.step_across * column + grid.width).millimetres());
      }
}

TEST(Orders, papers_speak_of_no_room) {
  for (const Paper& paper : order_papers().papers) {
    EXPECT_NE(paper.name, "02-findings");
    EXPECT_NE(paper.name, "07-elevations");
  }
  EXPECT_EQ(order_papers().papers.size(), 13u);
}

TEST(Tables, have_a_heading_and_equal_rows) {
  for (const Table& table : all_tables(demos()[0].job, demos()[0].pack)) {
    EXPECT_NE(table.csv.find("\r\n"), std::string::npos);
    EXPECT_GT(std::count(table.csv.begin(), table.csv.end(), '\n'), 2) << table.name;
  }
}

}  // namespace
}  // namespace roomwright::papers
