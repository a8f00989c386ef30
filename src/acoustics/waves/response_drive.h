// Private to acoustics/waves: what the kernels are given for each block of frequencies (wave
// numbers, walls, patches), and what is told of frequencies that went wrong.
#pragma once

#include <algorithm>
#include <array>
#include <complex>
#include <cstdint>
#include <memory>
#include <vector>

#include "acoustics/waves/response_kernel.h"
#include "acoustics/waves/response_layout.h"
#include "acoustics/waves/response_request.h"

namespace roomwright::acoustics {

/// From harmless to worst; a frequency keeps the worst.
enum class WaveFault : char { none, near_singular, beside_mode, at_mode, not_finite, apart };

/// Numbers of a block: for each item wave_block real parts, then as many imaginary ones.
std::vector<double> block_lanes(std::size_t items);
void put_lane(std::vector<double>& lanes, std::size_t item, std::size_t lane,
              std::complex<double> value);
std::complex<double> take_lane(const std::vector<double>& lanes, std::size_t item,
                               std::size_t lane);

/// √(β of the patch − β of its wall), never 0.
std::complex<double> patch_strength(std::complex<double> patch, std::complex<double> wall);

/// Working space that starts at a multiple of 64 bytes.
struct WaveSpace {
  std::unique_ptr<double[]> memory;
  double* start = nullptr;
  explicit WaveSpace(std::size_t doubles = 0);
};

/// What a block is made of; `number` for each axis.
struct BlockInput {
  std::vector<double> wave_number, wall, strength, pivot;
  std::array<std::vector<double>, 3> number;
  BlockInput() = default;
  BlockInput(const WaveTask& task, std::size_t patches);
};

/// Fills the lanes of blocks. `patches` of the request are those in the task; `damped` tells that
/// some patch takes energy, so that a rigid room's mode has a bound.
class BlockFiller {
 public:
  BlockFiller(const ResponseRequest& request, const BoxPlace& size, bool damped)
      : request_(request),
        size_(size),
        damped_(damped),
        faults_(request.frequencies_hz.size(), WaveFault::none) {}
  void fill(const WaveTask& task, BlockInput& input, std::size_t lane, std::size_t frequency);
  void worse(std::size_t frequency, WaveFault fault) {
    faults_[frequency] = std::max(faults_[frequency], fault);
  }
  /// Errors; warnings go to the list.
  Diagnostics told(std::vector<Complaint>& warnings) const;

 private:
  double solvable_number(std::size_t frequency, const std::array<std::complex<double>, 6>& walls);

  const ResponseRequest& request_;
  BoxPlace size_;
  bool damped_;
  std::vector<WaveFault> faults_;
};

/// Null where this processor has none of that width.
template <class Kernel>
Kernel kernel_of(WaveWidth width, Kernel baseline, Kernel four, Kernel eight) {
#if defined(ROOMWRIGHT_WIDE_WAVES)
  const bool has_four = __builtin_cpu_supports("avx2"),
             has_eight = __builtin_cpu_supports("avx512f");
#else
  const bool has_four = false, has_eight = false;
#endif
  switch (width) {
    case WaveWidth::baseline:
      return baseline;
    case WaveWidth::four:
      return has_four ? four : nullptr;
    case WaveWidth::eight:
      return has_eight ? eight : nullptr;
    case WaveWidth::fastest:
      break;
  }
  return has_eight ? eight : has_four ? four : baseline;
}
WaveKernel wave_kernel_of(WaveWidth width);

}  // namespace roomwright::acoustics
