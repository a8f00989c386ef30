// Private to acoustics/waves: one patch picked up while all else stands. What is kept of it: bands
// of frequencies with their functions and modes, and a table for each block (mover_kernel.h).
#pragma once

#include <array>
#include <complex>
#include <memory>
#include <mutex>
#include <vector>

#include "acoustics/waves/mover_kernel.h"
#include "acoustics/waves/response_drive.h"
#include "acoustics/waves/response_layout.h"

namespace roomwright::acoustics {

/// A side of the patch on each axis: bessel_rows, as far as any band needs them.
struct MoverSide {
  double side_m = 0;
  std::array<std::vector<double>, 3> rows;
};

/// Some frequencies with the functions and modes that the highest of them needs.
struct MoverPart {
  LayoutInput input;
  Layout layout;
  MoverBand band{};
  double reach_m = 0;                       ///< of the near part
  std::array<std::vector<int>, 3> counts;   ///< of a wall's modes, by axis
  std::array<int, 3> fine{};                ///< modes of rigid walls for the near part
  std::array<std::vector<double>, 3> fade;  ///< share e^(−q²t²), by mode and node
  std::vector<std::array<std::vector<double>, 2>> tile_rows;  ///< ∫φ cos, by tile and axis across
  std::vector<std::array<std::vector<double>, 3>> point_rows;  ///< cos, by point and axis
  std::array<std::vector<std::vector<double>>, 6> tile_near, point_near;
  std::array<std::vector<const double*>, 6> tile_near_at, point_near_at;
  std::vector<int> kept, place_of;
  std::size_t first_block = 0, blocks = 0;
};

struct MoverBlock {
  MoverTable table{};
  std::unique_ptr<WaveSpace> memory;
  std::array<std::vector<double>, 6> strength;  ///< √Δβ of the patch by wall
  std::size_t first = 0, count = 0;             ///< of the sorted frequencies
};

/// A band laid out: task, modes, and all of the near part that does not move.
void lay_part(const MoverKernel& kernel, MoverPart& part);
/// Functions of the patch along a side in a band; 0 where they would be more than most_legendre.
int mover_order(const MoverPart& part, double side_m);
/// Of a patch's functions those of a low degree along both axes together: for each along the first
/// axis, as many along the second.
std::array<int, most_legendre> mover_widths(const std::array<int, 2>& order);
/// Of one block's table.
double mover_table_doubles(const MoverPart& part);
void make_table_space(const MoverPart& part, MoverBlock& block);

/// What one thread needs for one position, set up once.
struct MoverBench {
  std::vector<double> own[2], image[2], tiles, points, along, field;
  std::vector<MoverNearTile> near_tiles;
  std::vector<MoverNearPoint> near_points;
  std::unique_ptr<WaveSpace> space;
};
MoverBench mover_bench(const std::vector<std::unique_ptr<MoverPart>>& parts,
                       const std::array<double, 2>& sides);

/// The patch at a place: ∫φ cos along its two axes, in rows of `stride`.
struct MoverRows {
  std::vector<double> rows[2], own[2];  ///< own: signs in place of phases
  int stride[2] = {0, 0};
};
/// The near part of a patch at a place, put into the bench; what the kernel is given.
MoverPlace place_near(const MoverKernel& kernel, const MoverPart& part, const WallPatch& patch,
                      const std::array<int, 2>& order, const MoverRows& rows, MoverBench& bench);

}  // namespace roomwright::acoustics
