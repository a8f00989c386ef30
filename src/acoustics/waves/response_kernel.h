// Private to acoustics/waves: the inner loops of the driven room, several frequencies at a time,
// one in each lane of the processor's vector unit. The same text (response_lanes.h) is compiled for
// any machine and, where the processor has them, for wider vectors; no fused multiply-add, so that
// every one of them gives the same bytes. What does not move with frequency (which modes, which
// pairs) is laid out here beforehand by response.cpp.
//
// Axes are 0, 1, 2; wall 2a is the one at 0 of axis a, 2a + 1 the one at its far end. "Closed along
// a" means: modes across, the exact one-dimensional field along a. The two axes across, in
// ascending order, are called first and second.
#pragma once

#include <cstddef>

namespace roomwright::acoustics {

inline constexpr int wave_block = 8;      ///< frequencies that go through a kernel together
inline constexpr int most_legendre = 12;  ///< functions along one side of a tile
inline constexpr int tail_terms = 3;

/// A rectangle of a wall on which the pressure is expanded in Legendre functions.
struct WaveTile {
  int axis, side, wall;
  double low[2], high[2];  ///< along the first and second axis across
  int order[2];
  int offset;  ///< of its unknowns
  int patch;
};

/// Tiles on one wall or on facing ones. `tail`: what the modes beyond the table add, a matrix of
/// (first i, first k, second j, second l) for each of tail_terms powers; null where negligible.
struct WavePair {
  int one, two;
  const double* tail;
  double cut_1_m;
};
/// `one` lies on wall 2a + side of the closed axis a, `two` across it on another axis.
struct WaveCorner {
  int one, two;
  double cut_1_m;
};
/// A source and a receiver; add: what the modes beyond the table add, at weights of two dampings.
struct WaveDirect {
  int source, receiver;
  double cut_1_m;
  double add[2];
};
/// A point's modes for the tiles of one axis, up to a wave number across for each side.
struct WaveReach {
  int point;
  double cut_1_m[2];
};
template <class Item>
struct WaveList {
  const Item* items;
  int count;
  const Item* begin() const { return items; }
  const Item* end() const { return items + count; }
};

struct WaveAxis {
  double length;
  int modes;             ///< of this axis as one across another
  int rows;              ///< of the table closed along this axis: modes of the first axis across
  const int* row_start;  ///< rows + 1 entries into the table
  WaveList<WavePair> pairs;
  WaveList<WaveCorner> corners;  ///< sorted by `two`, then by the wall of `one`
  WaveList<WaveReach> source_reach, receiver_reach;
  WaveList<WaveDirect> direct;
};

struct WaveTask {
  WaveAxis axis[3];
  WaveList<WaveTile> tiles;
  int unknowns;
  const double* points;  ///< x, y, z of each: sources first
  int sources, receivers;
  const double* strength;  ///< of the sources
  double damping_1_m[2];   ///< of WaveDirect::add
  bool apart;              ///< each source alone
};

/// wave_block frequencies: every entry is wave_block real parts, then as many imaginary ones.
struct WaveBlock {
  int lanes;  ///< how many of them are asked for; the others may be left as they are
  const double* wave_number;  ///< real alone
  const double* wall;         ///< jkβ of the six walls
  const double* number[3];    ///< wave numbers of each axis' modes
  const double* strength;     ///< of the patches: √(β of patch − β of wall)
  double* field;              ///< out: at the receivers, without density; apart: by source
  double* pivot;              ///< out, real alone: the smallest over the greatest
};

/// Doubles of working space for kernels; start it at a multiple of 64 bytes.
std::size_t wave_space(const WaveTask& task);
using WaveKernel = void (*)(const WaveTask& task, const WaveBlock& block, double* space);
void wave_kernel_baseline(const WaveTask& task, const WaveBlock& block, double* space);
#ifdef ROOMWRIGHT_WIDE_WAVES
void wave_kernel_avx2(const WaveTask& task, const WaveBlock& block, double* space);
void wave_kernel_avx512(const WaveTask& task, const WaveBlock& block, double* space);
#endif
/// The fastest that this processor can run.
WaveKernel fastest_wave_kernel();

}  // namespace roomwright::acoustics
