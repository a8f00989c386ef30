// Private to acoustics/waves: the inner loops of a patch that is moved while all else stands, as in
// response_kernel.h: compiled for each width of the vector unit, the same bytes from each.
//
// Whatever a wall and a thing exchange is split in two. With heat's kernel over a time t²,
//   G = ∫0^∞ 2t e^(k²t²) H0 H1 H2 dt,  H of an axis = Σ ψψ/∫ψ² e^(−q²t²),
// the part up to t = T reaches only over a few T, and is summed over a few t from products of three
// axes that no frequency moves ("near part"); the rest fades as e^(−q²T²), so that few modes of the
// wall carry it ("far part": the exact field of these modes less their near part).
// Source: P. P. Ewald, Ann. Phys. 369 (1921), the splitting (from memory).
#pragma once

#include "acoustics/waves/response_kernel.h"

namespace roomwright::acoustics {

inline constexpr int most_axis_rows = 240;
inline constexpr int mover_nodes = 8;  ///< values of t; as many as a block has lanes

/// The modes of a wall that carry the far part.
struct MoverWall {
  double cut_1_m = 0;           ///< up to this wave number across
  int rows = 0;                 ///< of the first axis across
  const int* counts = nullptr;  ///< of the second, for each
  int modes = 0;
  /// Near part along the wall's normal, by tile: of each function of a tile that lies across; null
  /// where out of reach, or not across. By point: at each point; null where out of reach.
  const double* const* tile_near = nullptr;
  const double* const* point_near = nullptr;
};
struct MoverBand {
  double node[mover_nodes], weight[mover_nodes];  ///< t; 2t by the step of t
  MoverWall wall[6];
  int axis_modes[3];  ///< that the far part takes of each axis
  /// Of a tile's functions only those of a low degree in both together are kept: the unknowns that
  /// are, and for each unknown of the task its place among them, or −1.
  int unknowns;
  const int *kept, *place_of;
};

/// What is kept of a block of frequencies, wave_block real parts and as many imaginary ones for
/// each entry (k alone real). Points are the sources' sum, then each receiver.
struct MoverTable {
  double* wave_number;
  double* matrix;    ///< of the tiles, L D Lᵀ: L⁻¹ below, 1/D on the diagonal
  double* strength;  ///< √Δβ by unknown
  double* brought;   ///< −jk (L D Lᵀ)⁻¹ √Δβ (what a point brings to the tiles), by point
  double* fixed;     ///< field at the receivers without the patch
  double* soft[6];   ///< by node: how a wall of some admittance lowers the near part on it, then
                     ///< the same along a strip that starts there
  float* rows[6];  ///< L⁻¹ √Δβ (what a mode brings) by unknown; then by point, with the tiles
  double* self[6];  ///< far part of a wall's modes with themselves
  double *number[3], *plus[3], *minus[3];
};

/// What one tile and the patch exchange: Σ over t of along[(i, k)] across[(j, l)], with i of the
/// patch along its axis `which`, k of the tile along its axis `tile_which`.
struct MoverNearTile {
  int tile, which, tile_which;
  const double *along, *across;
};
struct MoverNearPoint {
  int point;
  const double *first, *second;  ///< by function along either axis
};
struct MoverPlace {
  int wall;
  double low[2], high[2];
  int order[2];
  int functions;             ///< those that are kept: for each along the first axis
  int width[most_legendre];  ///< as many along the second
  int edge[2];               ///< the nearer wall along either axis
  const double* own[2];      ///< by pairs i ≤ k of functions along either axis, the patch itself
  const double* image[2];    ///< and with its image in the walls along that axis
  WaveList<MoverNearTile> tiles;
  WaveList<MoverNearPoint> points;
};

/// Doubles of working space.
std::size_t mover_prepare_space(const WaveTask& task, const MoverBand& band);
std::size_t mover_place_space(const WaveTask& task, const MoverBand& band, int functions,
                              int order);

struct MoverKernel {
  /// Fills the table. The task holds all that stands.
  void (*prepare)(const WaveTask& task, const WaveBlock& block, const MoverBand& band,
                  const MoverTable& table, double* space);
  /// Field at the receivers with the patch at a place; strength: its √Δβ there.
  void (*place)(const WaveTask& task, const MoverBand& band, const MoverTable& table,
                const MoverPlace& place, const double* strength, double* field, double* space);
  /// Σ over modes of a b fade, for `count` modes: a and b in rows by function, fade and what comes
  /// out by node. With `half` only pairs i ≤ k.
  void (*cross)(int functions, const double* a, int others, const double* b, int count, int stride,
                const double* fade, bool half, double* out);
};
extern const MoverKernel mover_kernel_baseline;
#ifdef ROOMWRIGHT_WIDE_WAVES
extern const MoverKernel mover_kernel_avx2;
extern const MoverKernel mover_kernel_avx512;
#endif

}  // namespace roomwright::acoustics
