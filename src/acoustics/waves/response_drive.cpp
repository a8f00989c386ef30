// See response_drive.h.
#include "acoustics/waves/response_drive.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/response_parts.h"

namespace roomwright::acoustics {

namespace {

const double drive_pi = std::acos(-1.0);
constexpr double at_a_mode = 1e-9;      // of the wave number
constexpr double beside_a_mode = 2e-6;  // where a room without losses but its patches' is solved
using Value = std::complex<double>;

/// The wave number of a mode of the box with rigid walls within a share of the one given; else 0.
double rigid_mode_near(const BoxPlace& size, double wave_number, double share) {
  const auto most = [&](std::size_t d) {
    return static_cast<int>(wave_number * (1 + share) * size[d] / drive_pi);
  };
  for (int x = 0; x <= most(0); ++x)
    for (int y = 0; y <= most(1); ++y) {
      const double q = x * drive_pi / size[0], p = y * drive_pi / size[1];
      const double rest = std::max(0.0, wave_number * wave_number - q * q - p * p);
      const double z = std::round(std::sqrt(rest) * size[2] / drive_pi) * drive_pi / size[2];
      const double mode = std::sqrt(q * q + p * p + z * z);
      if (std::abs(mode / wave_number - 1) < share) return mode;
    }
  return 0;
}

}  // namespace

std::vector<double> block_lanes(std::size_t items) {
  return std::vector<double>(items * 2 * wave_block);
}
void put_lane(std::vector<double>& lanes, std::size_t item, std::size_t lane, Value value) {
  lanes[item * 2 * wave_block + lane] = value.real();
  lanes[item * 2 * wave_block + wave_block + lane] = value.imag();
}
Value take_lane(const std::vector<double>& lanes, std::size_t item, std::size_t lane) {
  return {lanes[item * 2 * wave_block + lane], lanes[item * 2 * wave_block + wave_block + lane]};
}

WaveSpace::WaveSpace(std::size_t doubles) : memory(new double[doubles + 8]) {
  const auto address = reinterpret_cast<std::uintptr_t>(memory.get());
  start = memory.get() + (64 - address % 64) % 64 / sizeof(double);
}

BlockInput::BlockInput(const WaveTask& task, std::size_t patches)
    : wave_number(block_lanes(1)),
      wall(block_lanes(6)),
      strength(block_lanes(std::max<std::size_t>(1, patches))),
      pivot(block_lanes(1)) {
  for (std::size_t a = 0; a < 3; ++a)
    number[a] = block_lanes(static_cast<std::size_t>(task.axis[a].modes));
}

Value patch_strength(Value patch, Value wall) {
  Value more = patch - wall;
  if (std::abs(more) < 1e-12) more = 1e-12;
  return std::sqrt(more);
}

/// The wave number, moved where the field without patches is too great to subtract from: what
/// patches damp changes little over beside_a_mode.
double BlockFiller::solvable_number(std::size_t i, const std::array<Value, 6>& walls) {
  const double k = 2 * drive_pi * request_.frequencies_hz[i] / request_.sound_speed_m_s;
  double softest = 0;
  for (const Value& wall : walls) softest = std::max(softest, std::abs(wall));
  if (softest > beside_a_mode / 2) return k;
  if (rigid_mode_near(size_, k, at_a_mode) > 0)
    worse(i, damped_ ? WaveFault::beside_mode : WaveFault::at_mode);
  if (!damped_) return k;
  const double mode = rigid_mode_near(size_, k, beside_a_mode);
  return mode == 0 ? k : mode * (k < mode ? 1 - beside_a_mode : 1 + beside_a_mode);
}

void BlockFiller::fill(const WaveTask& task, BlockInput& input, std::size_t lane, std::size_t i) {
  const auto walls = wall_admittances(request_, i);
  const double k = solvable_number(i, walls);
  input.wave_number[lane] = k;
  const Value turn{0, k};
  for (std::size_t w = 0; w < 6; ++w) put_lane(input.wall, w, lane, turn * walls[w]);
  for (std::size_t p = 0; p < request_.patches.size(); ++p) {
    const WaveTile* tile = task.tiles.items;
    while (tile->patch != static_cast<int>(p)) ++tile;
    put_lane(input.strength, p, lane,
             patch_strength(at_frequency(request_.patches[p].admittance, i),
                            walls[static_cast<std::size_t>(tile->wall)]));
  }
  std::vector<Value> numbers;
  for (std::size_t a = 0; a < 3; ++a) {
    const int count = task.axis[a].modes;
    numbers.resize(static_cast<std::size_t>(count));
    if (!axis_numbers(size_[a], turn * walls[2 * a], turn * walls[2 * a + 1], count,
                      numbers.data()))
      worse(i, WaveFault::apart);
    for (std::size_t m = 0; m < numbers.size(); ++m) {
      // A wave that falls by e^−26 between the walls is known to 5 digits from either.
      if (std::abs(numbers[m].imag()) * size_[a] > 26) worse(i, WaveFault::apart);
      put_lane(input.number[a], m, lane, numbers[m]);
    }
  }
}

Diagnostics BlockFiller::told(std::vector<Complaint>& warnings) const {
  Diagnostics found;
  const auto warn = [&](const std::string& where, const char* what, double hz, const char* remedy) {
    if (warnings.size() < 100) warnings.push_back({where, what, hz, remedy, 0});  // they say enough
  };
  for (std::size_t i = 0; i < faults_.size() && found.size() < 100; ++i) {
    const std::string where = "frequencies_hz[" + std::to_string(i) + "]";
    const double hz = request_.frequencies_hz[i];
    switch (faults_[i]) {
      case WaveFault::none:
        break;
      case WaveFault::apart:
        found.add(where, "has walls so springy that their waves cannot be told apart", hz,
                  "a smaller admittance of the walls, or patches in their place");
        break;
      case WaveFault::not_finite:
        found.add(where, "has no finite answer: the room stores energy and loses none", hz,
                  "give some surface a real part above 0");
        break;
      case WaveFault::at_mode:
        warn(where,
             "lies at a mode of a room with rigid walls, where the field has no bound; given as if "
             "the walls had an admittance of 1e-10",
             hz, "give the walls what they absorb");
        break;
      case WaveFault::beside_mode:
        warn(where,
             "lies at a mode of the room without its patches; given for a frequency two parts in a "
             "million beside it",
             hz, "give the walls what they absorb");
        break;
      case WaveFault::near_singular:
        warn(where, "has patches that nearly undo what the room loses", hz,
             "distrust this frequency");
        break;
    }
  }
  return found;
}

WaveKernel wave_kernel_of(WaveWidth width) {
#ifdef ROOMWRIGHT_WIDE_WAVES
  return kernel_of<WaveKernel>(width, wave_kernel_baseline, wave_kernel_avx2, wave_kernel_avx512);
#else
  return kernel_of<WaveKernel>(width, wave_kernel_baseline, nullptr, nullptr);
#endif
}

}  // namespace roomwright::acoustics
