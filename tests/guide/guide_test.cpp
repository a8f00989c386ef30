// The plots of docs/physics/choosing.md are the program's own: each is computed here again and held
// against the table of its points that lies beside it. ROOMWRIGHT_ACCEPT=1 writes tables and plots
// anew; look at them then.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <sstream>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/materials/materials.h"
#include "drawing/drawing.h"
#include "figures/figures.h"

namespace roomwright {
namespace {

using namespace acoustics;

struct Line {
  std::string label;
  Stack stack;
  std::vector<LayerSpread> spreads;
};
struct Chapter {
  std::string name, question;
  std::vector<Line> lines;
};

Layer wool(double thickness_m, double resistivity) {
  PorousLayer layer;
  layer.thickness_m = thickness_m;
  layer.flow_resistivity_pa_s_m2 = resistivity;
  return layer;
}

double library(const char* key) {
  return find_porous_board(key)->flow_resistivity_pa_s_m2;
}

Stack wall(std::vector<Layer> layers) {
  return {std::move(layers), Backing::rigid};
}

std::vector<Chapter> chapters() {
  const double stone = library("stone_wool_60");
  std::vector<Chapter> out;
  Chapter thickness{"thickness", "What does thickness do?", {}};
  for (const int mm : {25, 50, 100, 200})
    thickness.lines.push_back({std::to_string(mm) + " mm", wall({wool(mm / 1000.0, stone)}), {}});
  out.push_back(thickness);
  Chapter gap{"gap", "What does a gap behind 50 mm do?", {}};
  gap.lines.push_back({"on the wall", wall({wool(0.05, stone)}), {}});
  for (const int mm : {50, 100, 200})
    gap.lines.push_back(
        {std::to_string(mm) + " mm off", wall({wool(0.05, stone), AirLayer{mm / 1000.0}}), {}});
  out.push_back(gap);
  Chapter density{"density", "Is denser better? 150 mm of glass wool on the wall", {}};
  for (const char* key : {"glass_wool_16", "glass_wool_48", "glass_wool_96"})
    density.lines.push_back(
        {std::string(key).substr(11) + " kg/m³", wall({wool(0.15, library(key))}), {}});
  out.push_back(density);
  Chapter cloth{"cloth", "What does the cloth do to 50 mm?", {}};
  cloth.lines.push_back({"bare", wall({wool(0.05, stone)}), {}});
  for (const auto& [name, resistance, mass] :
       {std::tuple{"open weave", 35.0, 0.24}, {"heavy felt", 420.0, 0.62}, {"coated", 6000.0, 0.9}})
    cloth.lines.push_back({name, wall({ScreenLayer{resistance, mass}, wool(0.05, stone)}), {}});
  out.push_back(cloth);
  Chapter doubt{"doubt", "How sure is that? 100 mm of stone wool, 60 kg/m³", {}};
  const PorousBoard& board = *find_porous_board("stone_wool_60");
  doubt.lines.push_back({"by its label",
                         wall({wool(0.10, stone)}),
                         {{0, Quantity::flow_resistivity, board.flow_resistivity_low_pa_s_m2,
                           board.flow_resistivity_high_pa_s_m2}}});
  out.push_back(doubt);
  return out;
}

std::vector<double> thirds() {
  std::vector<double> hz;
  for (const Band& band : third_octave_bands()) hz.push_back(band.centre_hz);
  return hz;
}

/// By line: absorption, and the corridor where there is one.
struct Curves {
  std::vector<std::vector<double>> likely, low, high;
};
Curves curves_of(const Chapter& chapter) {
  Curves out;
  const Air air = standard_air();
  for (const Line& line : chapter.lines) {
    out.likely.push_back(absorption(line.stack, air, thirds(), {}).value().absorption);
    if (line.spreads.empty()) {
      out.low.emplace_back();
      out.high.emplace_back();
      continue;
    }
    const auto corridor =
        absorption_corridor(line.stack, line.spreads, air, thirds(), {}, {256, 1}).value();
    out.low.push_back(corridor.low);
    out.high.push_back(corridor.high);
  }
  return out;
}

std::string table_of(const Chapter& chapter, const Curves& curves) {
  std::ostringstream out;
  out << "# Random-incidence absorption to 78 degrees of an endless face, by "
         "docs/physics/absorbers.md\n";
  out << "hz";
  for (std::size_t i = 0; i < chapter.lines.size(); ++i) {
    out << "," << chapter.lines[i].label;
    if (!curves.low[i].empty()) out << ",p10,p90";
  }
  out << "\n";
  for (std::size_t f = 0; f < thirds().size(); ++f) {
    out << fixed(third_octave_bands()[f].nominal_hz,
                 third_octave_bands()[f].nominal_hz < 40 ? 1 : 0);
    for (std::size_t i = 0; i < chapter.lines.size(); ++i) {
      out << "," << fixed(curves.likely[i][f], 3);
      if (!curves.low[i].empty())
        out << "," << fixed(curves.low[i][f], 3) << "," << fixed(curves.high[i][f], 3);
    }
    out << "\n";
  }
  return out.str();
}

std::string picture_of(const Chapter& chapter, const Curves& curves) {
  drawing::Sheet sheet;
  sheet.width_mm = 170;
  sheet.height_mm = 82;
  sheet.shapes.push_back(drawing::filled_rectangle({0, 0}, {170, 82}, drawing::Ink::paper,
                                                   {drawing::Ink::paper, 0, drawing::Dash::none}));
  drawing::Plot plot;
  plot.question = chapter.question;
  plot.x_label = "octave band, Hz";
  plot.y_label = "absorption";
  for (const Band& band : octave_bands()) plot.x_ticks.push_back(band.nominal_hz);
  plot.y_low = 0;
  plot.y_high = 1.0;
  plot.y_step = 0.2;
  const drawing::Dash dashes[] = {drawing::Dash::none, drawing::Dash::dashed, drawing::Dash::dotted,
                                  drawing::Dash::none};
  for (std::size_t i = 0; i < chapter.lines.size(); ++i) {
    drawing::Curve curve;
    curve.label = chapter.lines[i].label;
    curve.pen = {i == 0 ? drawing::Ink::graphite : drawing::Ink::chalk_blue,
                 0.25 + 0.15 * double(i), dashes[i % 4]};
    for (std::size_t f = 0; f < thirds().size(); ++f) {
      const double hz = thirds()[f];
      curve.points.push_back({hz, curves.likely[i][f]});
      if (curves.low[i].empty()) continue;
      curve.low.push_back({hz, curves.low[i][f]});
      curve.high.push_back({hz, curves.high[i][f]});
    }
    plot.curves.push_back(curve);
  }
  draw_plot(sheet, plot, {6, 3}, {166, 80});
  return drawing::svg_text(sheet);
}

TEST(Guide, plots_are_those_of_the_engine) {
  for (const Chapter& chapter : chapters()) {
    const Curves curves = curves_of(chapter);
    const std::string base =
        std::string(ROOMWRIGHT_SOURCE_DIR) + "/docs/physics/plots/" + chapter.name;
    if (std::getenv("ROOMWRIGHT_ACCEPT")) {
      ASSERT_TRUE(write_file(base + ".csv", table_of(chapter, curves)).ok());
      ASSERT_TRUE(write_file(base + ".svg", picture_of(chapter, curves)).ok());
    }
    const auto rows = figures::read_rows(base + ".csv");
    ASSERT_EQ(rows.size(), thirds().size());
    for (std::size_t f = 0; f < rows.size(); ++f)
      for (std::size_t i = 0; i < chapter.lines.size(); ++i)
        EXPECT_NEAR(std::stod(rows[f].at(chapter.lines[i].label)), curves.likely[i][f], 6e-4)
            << chapter.name << " " << chapter.lines[i].label;
    EXPECT_TRUE(read_file(base + ".svg").ok());
  }
}

/// What the page says in words, asserted.
TEST(Guide, sentences_hold) {
  std::map<std::string, Curves> all;
  for (const Chapter& chapter : chapters()) all[chapter.name] = curves_of(chapter);
  const auto at = [&](const std::string& name, std::size_t line, double nominal_hz) {
    for (std::size_t f = 0; f < thirds().size(); ++f)
      if (third_octave_bands()[f].nominal_hz == nominal_hz) return all[name].likely[line][f];
    return -1.0;
  };
  // Each doubling of thickness moves the curve down by about an octave.
  for (std::size_t line = 0; line < 3; ++line)
    EXPECT_NEAR(at("thickness", line, 1000), at("thickness", line + 1, 500), 0.12);
  // 50 mm with 50 mm of gap does more at 250 Hz than 50 mm on the wall, less than 100 mm of wool.
  EXPECT_GT(at("gap", 1, 250), at("gap", 0, 250) + 0.15);
  EXPECT_LT(at("gap", 1, 250), at("thickness", 2, 250) + 0.05);
  // 96 kg/m³ absorbs less than 16 kg/m³ from 125 Hz up.
  for (const double hz : {125.0, 250.0, 500.0, 1000.0, 4000.0})
    EXPECT_LT(at("density", 2, hz), at("density", 0, hz)) << hz;
  // An open cloth changes nothing that is heard; a coated one takes most above 2 kHz away.
  EXPECT_NEAR(at("cloth", 1, 4000), at("cloth", 0, 4000), 0.02);
  EXPECT_LT(at("cloth", 3, 4000), at("cloth", 0, 4000) - 0.5);
  EXPECT_GT(at("cloth", 3, 125), at("cloth", 0, 125)) << "it works as a heavy front in the bass";
}

}  // namespace
}  // namespace roomwright
