// How loud a programme is; see audio.h.
#include <array>
#include <cmath>

#include "core/audio/audio.h"

namespace roomwright {

namespace {

/// One second-order filter, leading coefficient of the recursive part 1.
struct Filter {
  double b0, b1, b2, a1, a2;
  double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  double step(double x) {
    const double y = b0 * x + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
    x2 = x1, x1 = x, y2 = y1, y1 = y;
    return y;
  }
};

// The head's shelf and the low cut, at 48 kHz.
// Source: ITU-R BS.1770-4, Annex 1, tables 1 and 2 (from memory)
constexpr Filter shelf{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241,
                       0.73248077421585};
constexpr Filter low_cut{1, -2, 1, -1.99004745483398, 0.99007225036621};

constexpr std::size_t step_frames = 4800;  // 100 ms; a block is four of them
constexpr double offset_db = -0.691, least_lkfs = -70, gate_below_mean = 10;

/// Sum over channels of the squares in each whole 100 ms.
std::vector<double> weighted_steps(const Audio& audio) {
  std::vector<double> out(audio.frames() / step_frames);
  for (const auto& channel : audio.channels) {
    Filter first = shelf, second = low_cut;
    for (std::size_t i = 0; i < out.size() * step_frames; ++i) {
      const double y = second.step(first.step(double(channel[i])));
      out[i / step_frames] += y * y;
    }
  }
  return out;
}

double lkfs(double mean_square) {
  return offset_db + 10 * std::log10(std::max(mean_square, 1e-30));
}

std::optional<double> mean_above(const std::vector<double>& blocks, double gate_lkfs) {
  double sum = 0, count = 0;
  for (const double block : blocks)
    if (lkfs(block) > gate_lkfs) sum += block, count += 1;
  if (count == 0) return {};
  return lkfs(sum / count);
}

}  // namespace

std::optional<double> loudness_lkfs(const Audio& audio) {
  RW_ASSERT(audio.rate_hz == 48000);
  const auto steps = weighted_steps(audio);
  std::vector<double> blocks;
  for (std::size_t i = 0; i + 4 <= steps.size(); ++i)
    blocks.push_back((steps[i] + steps[i + 1] + steps[i + 2] + steps[i + 3]) / (4 * step_frames));
  const auto first = mean_above(blocks, least_lkfs);
  if (!first) return {};
  return mean_above(blocks, std::max(least_lkfs, *first - gate_below_mean));
}

}  // namespace roomwright
