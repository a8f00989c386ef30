// Writers and text: same bytes, well-formed SVG, paired DXF codes, wrapping that never exceeds.
#include "drawing/drawing.h"

#include <gtest/gtest.h>

#include <algorithm>

#include <cmath>
#include <sstream>

namespace roomwright::drawing {
namespace {

Sheet sample() {
  Sheet sheet;
  sheet.shapes = {Line{{10, 10}, {50, 10}, {}},
                  filled_rectangle({10, 20}, {60, 40}, Ink::wool, {Ink::moss, 0.3, Dash::dashed}),
                  Circle{{30, 60}, 4, {}, true},
                  Text{{20, 80}, "5 < 6 & \"so\" 14 3/8\"", 3, true, Anchor::left, 0, Ink::ink}};
  Path hatched = rectangle({70, 20}, {90, 60}, {Ink::chalk_blue, 0, Dash::none});
  hatched.hatched = true;
  sheet.shapes.push_back(hatched);
  return sheet;
}

TEST(Pdf, is_the_same_bytes_twice_and_has_its_pages) {
  const PdfInfo info{"sample", "2026-11-20"};
  const auto first = pdf_bytes({sample(), sample()}, info),
             second = pdf_bytes({sample(), sample()}, info);
  ASSERT_TRUE(first.ok());
  EXPECT_EQ(*first, *second);
  EXPECT_EQ(first->rfind("%PDF", 0), 0u);
  const auto later = pdf_bytes({sample(), sample()}, {"sample", "2026-11-21"});
  EXPECT_NE(*first, *later) << "the job's date is in it";
}

TEST(Svg, is_well_formed_and_escaped) {
  const std::string svg = svg_text(sample());
  EXPECT_NE(svg.find("5 &lt; 6 &amp; &quot;so&quot;"), std::string::npos);
  int depth = 0;
  for (std::size_t at = svg.find('<'); at != std::string::npos; at = svg.find('<', at + 1)) {
    const std::size_t end = svg.find('>', at);
    ASSERT_NE(end, std::string::npos);
    if (svg[at + 1] == '?') continue;
    if (svg[at + 1] == '/')
      --depth;
    else if (svg[end - 1] != '/')
      ++depth;
    EXPECT_GE(depth, 0);
  }
  EXPECT_EQ(depth, 0);
}

TEST(Dxf, has_its_codes_in_pairs_and_ends) {
  std::istringstream in(dxf_text(sample(), 20));
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  EXPECT_EQ(lines.size() % 2, 0u);
  for (std::size_t i = 0; i < lines.size(); i += 2)
    EXPECT_NE(lines[i].find_first_of("0123456789"), std::string::npos);
  EXPECT_EQ(lines[lines.size() - 1], "EOF");
}

TEST(Wrap, never_exceeds_its_width_even_with_one_long_word) {
  for (const char* text : {"a plain sentence that must be wrapped more than once to fit",
                           "Donaudampfschifffahrtsgesellschaftskapitän", ""})
    for (const double width : {12.0, 25.0, 60.0})
      for (const std::string& line : wrap_text(text, 3, width))
        EXPECT_LE(text_width_mm(line, 3), width + 0.5) << line;
  EXPECT_LE(text_width_mm(fitted("a very long label indeed", 3, 20), 3), 20);
}

TEST(Marks, are_moved_apart_where_they_would_touch) {
  Sheet sheet;
  const Frame frame{{20, 200}, 20};
  marks_below(sheet, frame, 210, {{0, "0"}, {0.01, "10"}, {0.02, "20"}, {1, "1000"}});
  std::vector<double> xs;
  for (const auto& shape : sheet.shapes)
    if (const auto* text = std::get_if<Text>(&shape)) xs.push_back(text->at.x);
  ASSERT_EQ(xs.size(), 4u);
  for (std::size_t i = 1; i < xs.size(); ++i) EXPECT_GE(xs[i] - xs[i - 1], 2.6);
}

TEST(Plot, ends_with_its_labels_apart_however_near_the_curves_end) {
  // Ends that lay a line's height apart but for the last digit once moved for ever.
  for (const double step : {0.0, 1e-3, 0.0359, 0.036, 0.05}) {
    Plot plot;
    plot.x_ticks = {125, 1000};
    for (int i = 0; i < 9; ++i) {
      Curve curve;
      curve.label = std::to_string(i);
      curve.points = {{125, 0.5}, {1000, 0.5 + step * i}};
      plot.curves.push_back(curve);
    }
    Sheet sheet;
    draw_plot(sheet, plot, {0, 0}, {180, 121});
    std::vector<double> ends;
    for (const Shape& shape : sheet.shapes)
      if (const auto* text = std::get_if<Text>(&shape);
          text && text->text.size() == 1 && text->at.x > 150)
        ends.push_back(text->at.y);
    ASSERT_EQ(ends.size(), 9u);
    std::sort(ends.begin(), ends.end());
    for (std::size_t i = 1; i < ends.size(); ++i) EXPECT_GT(ends[i] - ends[i - 1], 3.59) << step;
  }
}

TEST(Plot, survives_emptiness_and_missing_values) {
  Sheet sheet;
  Plot plot;
  plot.x_ticks = {63, 125};
  plot.curves = {{"none", {}, {}, false, {}, {}},
                 {"one", {{63, std::nan("")}, {125, 0.5}}, {}, true, {}, {}}};
  draw_plot(sheet, plot, {10, 10}, {100, 60});
  EXPECT_FALSE(svg_text(sheet).find("nan") != std::string::npos);
}

}  // namespace
}  // namespace roomwright::drawing
