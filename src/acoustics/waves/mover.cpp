// One patch picked up while all else stands, and what it does at a place. See waves.h and mover.h.
#include "acoustics/waves/mover.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <numeric>
#include <optional>

#include "acoustics/waves/plan_mover.h"
#include "acoustics/waves/response_parts.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

namespace {

const double mover_pi = std::acos(-1.0);
constexpr double most_mover_bytes = 3e8;
constexpr std::size_t most_mover_parts = 8;
using Value = std::complex<double>;

const MoverKernel* mover_kernel_of(WaveWidth width) {
#ifdef ROOMWRIGHT_WIDE_WAVES
  return kernel_of<const MoverKernel*>(width, &mover_kernel_baseline, &mover_kernel_avx2,
                                       &mover_kernel_avx512);
#else
  return kernel_of<const MoverKernel*>(width, &mover_kernel_baseline, nullptr, nullptr);
#endif
}

/// One value for each frequency, in another order.
Admittance in_order(const Admittance& values, const std::vector<std::size_t>& order) {
  if (values.size() <= 1) return values;
  Admittance out;
  for (const std::size_t i : order) out.push_back(values[i]);
  return out;
}

Complaint cancelled() {
  return {"response", "was cancelled", {}, "start it again", 0};
}

}  // namespace

struct PatchMover::State {
  std::optional<PlanMover> plan;   ///< of a room that is no box; then all else is empty
  std::mutex plan_lock;            ///< it prepares a surface when that is first asked for
  std::vector<PatchMover> apart;   ///< of a box, one for each source; then all else is empty
  ResponseRequest fixed;           ///< frequencies ascending, without the patch
  std::size_t moved = 0;           ///< the place of the patch in the request
  std::vector<std::size_t> order;  ///< of the frequencies: ascending to asked
  Vec2 size_m;                     ///< of the patch, as picked up
  Admittance admittance;
  ResponseOptions options;
  const MoverKernel* kernel = nullptr;
  std::vector<std::unique_ptr<MoverPart>> parts;  ///< ascending
  std::vector<MoverBlock> blocks;
  std::array<MoverSide, 2> sides;
  std::array<int, 3> fine{};  ///< the most of any part
  mutable std::mutex lock;
  mutable std::vector<std::unique_ptr<MoverBench>> benches;  ///< idle ones

  void start(const ResponseRequest& request, std::size_t patch);
  Diagnostics lay_parts(const LayoutInput& whole);
  Diagnostics make_tables(const BoxPlace& size, const Watch& watch);
  int most_order() const;
  std::vector<double> side_rows(double side, std::size_t axis) const;
  std::unique_ptr<MoverBench> take_bench() const;
  void fill_rows(const WallPatch& place, MoverRows& rows) const;
  void run_part(const MoverPart& part, const WallPatch& place, const MoverRows& rows,
                MoverBench& bench, std::vector<std::vector<Value>>& out) const;
  Diagnostics wrong_place(const Patch& area) const;
  std::vector<std::vector<Value>> without() const;
};

void PatchMover::State::start(const ResponseRequest& request, std::size_t patch) {
  fixed = request, moved = patch;
  const auto& hz = request.frequencies_hz;
  order.resize(hz.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return hz[a] < hz[b]; });
  for (std::size_t i = 0; i < order.size(); ++i) fixed.frequencies_hz[i] = hz[order[i]];
  for (auto& surface : fixed.surfaces) surface = in_order(surface, order);
  for (auto& one : fixed.patches) one.admittance = in_order(one.admittance, order);
  const ResponsePatch& one = fixed.patches[patch];
  size_m = one.area.to_m - one.area.from_m;
  admittance = one.admittance;
  fixed.patches.erase(fixed.patches.begin() + static_cast<std::ptrdiff_t>(patch));
}

/// Blocks of frequencies in order, in parts of equal width in frequency.
Diagnostics PatchMover::State::lay_parts(const LayoutInput& whole) {
  const std::size_t count = fixed.frequencies_hz.size();
  const double highest = fixed.frequencies_hz.back();
  std::size_t last = most_mover_parts;
  for (std::size_t first = 0; first < count; first += wave_block) {
    MoverBlock block;
    block.first = first, block.count = std::min<std::size_t>(wave_block, count - first);
    const double top = fixed.frequencies_hz[first + block.count - 1];
    const auto which =
        static_cast<std::size_t>(double(most_mover_parts) * top / highest * (1 - 1e-12));
    if (which != last || parts.empty()) {
      parts.push_back(std::make_unique<MoverPart>());
      parts.back()->input = whole;
      parts.back()->input.threads = 1;
      parts.back()->first_block = blocks.size();
    }
    last = which;
    parts.back()->input.greatest_wave_number = 2 * mover_pi * top / fixed.sound_speed_m_s;
    ++parts.back()->blocks;
    blocks.push_back(std::move(block));
  }
  parallel_for(parts.size(), options.threads,
               [&](std::size_t i) { lay_part(*kernel, *parts[parts.size() - 1 - i]); });
  Diagnostics found;
  const double longer = std::max(size_m.x, size_m.y);
  if (mover_order(*parts.back(), longer) == 0)
    found.add("patches[" + std::to_string(moved) + "]",
              "is too large to be picked up at the greatest frequency", longer,
              "a smaller patch, or a lower greatest frequency");
  double doubles = 0;
  for (const auto& part : parts) {
    doubles += mover_table_doubles(*part) * double(part->blocks);
    for (std::size_t a = 0; a < 3; ++a) fine[a] = std::max(fine[a], part->fine[a]);
  }
  if (8 * doubles > most_mover_bytes)
    found.add("patches", "ask for more than 300 MB to pick one up", std::ceil(8e-6 * doubles),
              "fewer frequencies, patches or receivers");
  return found;
}

int PatchMover::State::most_order() const {
  return mover_order(*parts.back(), std::max(size_m.x, size_m.y));
}

std::vector<double> PatchMover::State::side_rows(double side, std::size_t axis) const {
  return bessel_rows(parts.back()->input.size_m[axis], side, most_order(), fine[axis]);
}

Diagnostics PatchMover::State::make_tables(const BoxPlace& size, const Watch& watch) {
  BlockFiller filler(fixed, size, true);
  std::atomic<std::size_t> next{0}, done{0};
  std::mutex telling;
  const int wanted = options.threads > 0 ? options.threads : default_threads();
  const std::size_t workers = std::min(static_cast<std::size_t>(wanted), blocks.size());
  std::size_t space = 0;
  for (const auto& part : parts)
    space = std::max(space, mover_prepare_space(part->layout.task, part->band));
  const auto fill = [&](const MoverPart& part, MoverBlock& block, WaveSpace& work) {
    const WaveTask& task = part.layout.task;
    BlockInput input(task, fixed.patches.size());
    for (auto& strength : block.strength) strength = block_lanes(1);
    for (std::size_t lane = 0; lane < wave_block; ++lane) {
      const std::size_t i = block.first + std::min(lane, block.count - 1);
      filler.fill(task, input, lane, i);
      const auto walls = wall_admittances(fixed, i);
      for (std::size_t wall = 0; wall < 6; ++wall)
        put_lane(block.strength[wall], 0, lane,
                 patch_strength(at_frequency(admittance, i), walls[wall]));
    }
    make_table_space(part, block);
    const WaveBlock call{wave_block,
                         input.wave_number.data(),
                         input.wall.data(),
                         {input.number[0].data(), input.number[1].data(), input.number[2].data()},
                         input.strength.data(),
                         nullptr,
                         input.pivot.data()};
    kernel->prepare(task, call, part.band, block.table, work.start);
  };
  parallel_for(workers, static_cast<int>(workers), [&](std::size_t) {
    WaveSpace work(space);
    for (std::size_t i = next++; i < blocks.size() && !watch.cancelled(); i = next++) {
      const std::size_t at = blocks.size() - 1 - i;  // the longest first
      const auto part = std::find_if(parts.begin(), parts.end(), [&](const auto& one) {
        return at >= one->first_block && at < one->first_block + one->blocks;
      });
      fill(**part, blocks[at], work);
      const std::size_t ready = ++done;
      if (watch.progress) {
        const std::lock_guard hold(telling);
        watch.tick(double(ready) / double(blocks.size()), "picking up");
      }
    }
  });
  if (watch.cancelled()) return Result<Done>(cancelled()).mistakes();
  std::vector<Complaint> warnings;
  return filler.told(warnings);
}

Result<PatchMover> PatchMover::pick_up(const ResponseRequest& request, std::size_t patch,
                                       const ResponseOptions& options, const Watch& watch) {
  if (auto found = not_built(request); !found.empty()) return found;
  if (!is_box(request.room)) {
    auto plan = PlanMover::pick_up(request, patch, options, watch);
    if (!plan) return plan.mistakes();
    PatchMover out;
    out.state_ = std::make_shared<State>();
    out.state_->plan = std::move(*plan);
    return out;
  }
  Diagnostics found = options.check();
  found.add_all(wrong_response_request(request));
  if (patch >= request.patches.size())
    found.add("patch", "is not one of the patches", double(patch), "count them from 0");
  const MoverKernel* kernel = mover_kernel_of(options.width);
  if (!kernel) found.add("width", "is not to be had on this processor", {}, "ask for the fastest");
  if (!found.empty()) return found;
  auto state = std::make_shared<State>();
  state->kernel = kernel, state->options = options;
  state->start(request, patch);
  const LayoutInput input = layout_input(state->fixed, options);
  if (found = too_much(input); !found.empty()) return found;
  watch.tick(0, "modes");
  if (found = state->lay_parts(input); !found.empty()) return found;
  for (std::size_t d = 0; d < 2; ++d) {
    MoverSide& side = state->sides[d];
    side.side_m = d == 0 ? state->size_m.x : state->size_m.y;
    for (std::size_t axis = 0; axis < 3; ++axis)
      side.rows[axis] = state->side_rows(side.side_m, axis);
  }
  if (found = state->make_tables(input.size_m, watch); !found.empty()) return found;
  PatchMover out;
  out.state_ = std::move(state);
  return out;
}

std::unique_ptr<MoverBench> PatchMover::State::take_bench() const {
  {
    const std::lock_guard hold(lock);
    if (!benches.empty()) {
      auto out = std::move(benches.back());
      benches.pop_back();
      return out;
    }
  }
  return std::make_unique<MoverBench>(mover_bench(parts, {size_m.x, size_m.y}));
}

void PatchMover::State::fill_rows(const WallPatch& place, MoverRows& out) const {
  for (std::size_t which = 0; which < 2; ++which) {
    const std::size_t axis = static_cast<std::size_t>(which == 0 ? (place.axis == 0 ? 1 : 0)
                                                                 : (place.axis == 2 ? 1 : 2));
    const double side = place.high[which] - place.low[which];
    const MoverSide* known = nullptr;
    for (const MoverSide& one : sides)
      if (std::abs(one.side_m - side) < 1e-9) known = &one;
    std::vector<double> other;
    if (!known) other = side_rows(side, axis);
    const int functions = most_order();
    const double* bessel = known ? known->rows[axis].data() : other.data();
    out.stride[which] = fine[axis];
    out.rows[which].resize(static_cast<std::size_t>(functions) *
                           static_cast<std::size_t>(fine[axis]));
    put_phases(parts.back()->input.size_m[axis], place.low[which], place.high[which], functions,
               fine[axis], fine[axis], bessel, fine[axis], out.rows[which].data());
    out.own[which].assign(bessel, bessel + out.rows[which].size());
    for (std::size_t i = 0; i < out.own[which].size(); ++i)
      if (const std::size_t row = i / static_cast<std::size_t>(fine[axis]) % 4;
          row == 1 || row == 2)
        out.own[which][i] = -out.own[which][i];
  }
}

void PatchMover::State::run_part(const MoverPart& part, const WallPatch& place,
                                 const MoverRows& place_rows, MoverBench& bench,
                                 std::vector<std::vector<Value>>& out) const {
  const std::array<int, 2> functions{mover_order(part, place.high[0] - place.low[0]),
                                     mover_order(part, place.high[1] - place.low[1])};
  const MoverPlace near = place_near(*kernel, part, place, functions, place_rows, bench);
  for (std::size_t b = part.first_block; b < part.first_block + part.blocks; ++b) {
    const MoverBlock& block = blocks[b];
    kernel->place(part.layout.task, part.band, block.table, near,
                  block.strength[static_cast<std::size_t>(near.wall)].data(), bench.field.data(),
                  bench.space->start);
    for (std::size_t r = 0; r < out.size(); ++r)
      for (std::size_t lane = 0; lane < block.count; ++lane)
        out[r][order[block.first + lane]] = take_lane(bench.field, r, lane) * fixed.density_kg_m3;
  }
}

Diagnostics PatchMover::State::wrong_place(const Patch& area) const {
  std::vector<Patch> areas;
  for (const ResponsePatch& patch : fixed.patches) areas.push_back(patch.area);
  areas.push_back(area);
  Diagnostics found;
  const Diagnostics wrong = check_patches(fixed.room, areas, "patches");
  for (const Complaint& complaint : wrong.items()) {
    Complaint told = complaint;
    told.where = "area" + told.where.substr(std::min(told.where.find(']') + 1, told.where.size()));
    found.add(std::move(told));
  }
  if (!found.empty()) return found;
  const Vec2 size = area.to_m - area.from_m;
  constexpr double touch = 1e-9;
  const auto fits = [&](double one, double two) {
    return size.x <= one + touch && size.y <= two + touch;
  };
  if (!fits(size_m.x, size_m.y) && !fits(size_m.y, size_m.x))
    found.add("area", "is larger than the patch that was picked up", std::max(size.x, size.y),
              "pick it up at its largest");
  if (area.surface < 2 && !BoxCoordinates(fixed.room).square())
    found.add("area", "lies askew on the floor or ceiling of a turned plan", {},
              "turn the plan so that its sides run along x and y");
  return found;
}

Result<std::vector<std::vector<std::complex<double>>>> PatchMover::at(const Patch& area) const {
  if (state_->plan) {
    const std::lock_guard hold(state_->plan_lock);
    return state_->plan->at(area);
  }
  const State& state = *state_;
  if (auto found = state.wrong_place(area); !found.empty()) return found;
  const WallPatch place = wall_patch(state.fixed.room, BoxCoordinates(state.fixed.room), area);
  std::vector<std::vector<Value>> out(state.fixed.receivers_m.size(),
                                      std::vector<Value>(state.order.size()));
  MoverRows rows;
  state.fill_rows(place, rows);
  const int wanted = state.options.threads > 0 ? state.options.threads : default_threads();
  const std::size_t workers = std::min(static_cast<std::size_t>(wanted), state.parts.size());
  std::atomic<std::size_t> next{0};
  parallel_for(workers, static_cast<int>(workers), [&](std::size_t) {
    auto bench = state.take_bench();
    for (std::size_t i = next++; i < state.parts.size(); i = next++)
      state.run_part(*state.parts[state.parts.size() - 1 - i], place, rows, *bench, out);
    const std::lock_guard hold(state.lock);
    state.benches.push_back(std::move(bench));
  });
  return out;
}

Result<PatchMover> PatchMover::pick_up_apart(const ResponseRequest& request, std::size_t patch,
                                             const ResponseOptions& options, const Watch& watch) {
  if (!is_box(request.room)) return pick_up(request, patch, options, watch);
  PatchMover out;
  out.state_ = std::make_shared<State>();
  ResponseRequest one = request;
  for (std::size_t s = 0; s < request.sources.size(); ++s) {
    one.sources = {request.sources[s]};
    const double count = double(request.sources.size());
    auto mover = pick_up(one, patch, options, watch.part(double(s) / count, double(s + 1) / count));
    if (!mover) return mover.mistakes();
    out.state_->apart.push_back(std::move(*mover));
  }
  return out;
}

std::vector<std::vector<Value>> PatchMover::State::without() const {
  std::vector<std::vector<Value>> out(fixed.receivers_m.size(), std::vector<Value>(order.size()));
  for (const MoverBlock& block : blocks)
    for (std::size_t r = 0; r < out.size(); ++r)
      for (std::size_t lane = 0; lane < block.count; ++lane) {
        const double* at = block.table.fixed + 2 * wave_block * r + lane;
        out[r][order[block.first + lane]] = Value{at[0], at[wave_block]} * fixed.density_kg_m3;
      }
  return out;
}

Result<std::vector<std::vector<std::vector<std::complex<double>>>>> PatchMover::at_apart(
    const std::optional<Patch>& area) const {
  if (state_->plan) {
    const std::lock_guard hold(state_->plan_lock);
    if (area) return state_->plan->at_apart(*area);
    return state_->plan->without_apart();
  }
  std::vector<std::vector<std::vector<Value>>> out;
  for (const PatchMover& mover : state_->apart) {
    if (!area) {
      out.push_back(mover.state_->without());
      continue;
    }
    auto one = mover.at(*area);
    if (!one) return one.mistakes();
    out.push_back(std::move(*one));
  }
  return out;
}

}  // namespace roomwright::acoustics
