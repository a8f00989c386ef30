// The papers of both demo jobs: nothing overlaps, nothing is cut off, every page says who it is,
// and the texts are those that someone has looked at (tests/papers, renewed by ./check --accept).
#include "papers/papers.h"
#include "kept/kept.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

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
          {"rehearsal_room", "shop_metric"}}) {
      Demo demo;
      demo.name = name;
      demo.job = job::read_job(
                     {source("examples/" + name + ".toml"), source("examples/" + shop + ".toml")})
                     .value();
      demo.pack = job::run_all(demo.job, kept_run()).value();
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

TEST(Papers, no_two_texts_overlap_and_none_leaves_its_page) {
  for (const Demo& demo : demos())
    for (const Paper& paper : demo.papers)
      for (std::size_t page = 0; page < paper.sheets.size(); ++page) {
        const drawing::Sheet& sheet = paper.sheets[page];
        std::vector<Box> boxes;
        for (const auto& shape : sheet.shapes)
          if (const auto* text = std::get_if<drawing::Text>(&shape); text && !text->text.empty())
            boxes.push_back(box_of(*text));
        const std::string where =
            demo.name + " " + paper.name + " page " + std::to_string(page + 1);
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

TEST(Papers, drawings_know_the_scale_of_each_page_for_their_full_size_copy) {
  for (const Paper& paper : demos()[0].papers) {
    if (!paper.vectors) continue;
    ASSERT_EQ(paper.scales.size(), paper.sheets.size());
    EXPECT_GT(paper.scales.back(), 1) << paper.name;
  }
}

TEST(Tables, have_a_heading_and_equal_rows) {
  for (const Table& table : all_tables(demos()[0].job, demos()[0].pack)) {
    EXPECT_NE(table.csv.find("\r\n"), std::string::npos);
    EXPECT_GT(std::count(table.csv.begin(), table.csv.end(), '\n'), 2) << table.name;
  }
}

}  // namespace
}  // namespace roomwright::papers
