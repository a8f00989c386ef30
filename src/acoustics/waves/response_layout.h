// Private to acoustics/waves: what does not change with frequency in a driven room. Which tiles the
// patches become, which modes each pair of things needs, and the sums beyond those modes.
#pragma once

#include <array>
#include <complex>
#include <vector>

#include "acoustics/waves/response_kernel.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

/// A rectangle of a box's wall, along the two axes across.
struct WallPatch {
  int axis = 0, side = 0;
  std::array<double, 2> low{}, high{};
};

/// What the layout is made of; places in the box's own frame.
struct LayoutInput {
  std::array<double, 3> size_m{};
  std::vector<WallPatch> patches;
  std::vector<std::array<double, 3>> sources, receivers;
  std::vector<double> strength;
  double greatest_wave_number = 0;
  double accuracy_db = 0.25;
  int threads = 0;
  bool apart = false;          ///< each source alone
  double fewer_functions = 0;  ///< along a side, than accuracy_db asks for
  double least_cut_1_m = 0;    ///< every axis' table reaches so far
};

/// The task with all that it points to; not to be copied.
struct Layout {
  WaveTask task{};
  std::vector<WaveTile> tiles;
  std::vector<double> points, strength;
  std::array<std::vector<int>, 3> row_start;
  std::array<std::vector<WavePair>, 3> pairs;
  std::array<std::vector<WaveCorner>, 3> corners;
  std::array<std::vector<WaveReach>, 3> source_reach, receiver_reach;
  std::array<std::vector<WaveDirect>, 3> direct;
  std::vector<std::vector<double>> tails;

  Layout() = default;
  Layout(const Layout&) = delete;
  Layout& operator=(const Layout&) = delete;
};

inline constexpr int most_axis_modes = 240;

/// Halvings of the error that are asked for beyond 0.25 dB.
double finer(const LayoutInput& input);
/// A side becomes as many equal pieces as keep the functions within most_legendre.
struct SideCut {
  int pieces, order;
};
SideCut cut_side(const LayoutInput& input, double side);

/// How many unknowns the patches would take; nothing else is worked out.
int layout_unknowns(const LayoutInput& input);
/// The wave number across up to which every table reaches; its modes along the longest side must
/// not be more than most_axis_modes.
double layout_cut_1_m(const LayoutInput& input);
void make_layout(const LayoutInput& input, Layout& out);
/// Complex products for one block of frequencies, about.
double layout_work(const Layout& layout);

}  // namespace roomwright::acoustics
