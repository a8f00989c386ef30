// The driven field of a box: lays the task out (response_layout.h), sends the frequencies through
// the kernels in blocks (response_kernel.h), and reports. See waves.h.
#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>

#include "acoustics/waves/response_drive.h"
#include "acoustics/waves/response_layout.h"
#include "acoustics/waves/response_request.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

namespace {

constexpr double most_response_bytes = 9e8;
constexpr double most_response_work = 4e11;  // complex products of a whole block
using Value = std::complex<double>;

/// Sends the blocks of one task through a kernel; a report for each source, or one for all.
class Driver {
 public:
  Driver(const ResponseRequest& request, const Layout& layout, const BoxPlace& size,
         WaveKernel kernel, std::vector<ResponseReport>& reports)
      : request_(request),
        layout_(layout),
        kernel_(kernel),
        reports_(reports),
        filler_(request, size, !request.patches.empty()) {}

  std::size_t blocks() const {
    return (request_.frequencies_hz.size() + wave_block - 1) / wave_block;
  }
  const BlockFiller& filler() const { return filler_; }

  /// Each on its own thread, with a working space of its own.
  struct Bench {
    BlockInput input;
    std::vector<double> field;
    WaveSpace space;
  };
  Bench make_bench() const {
    const WaveTask& task = layout_.task;
    return {BlockInput(task, request_.patches.size()),
            block_lanes(static_cast<std::size_t>(task.receivers) * reports_.size()),
            WaveSpace(wave_space(task))};
  }

  void run(std::size_t block, Bench& bench) {
    const std::size_t count = request_.frequencies_hz.size();
    BlockInput& input = bench.input;
    for (std::size_t lane = 0; lane < wave_block; ++lane)
      filler_.fill(layout_.task, input, lane, std::min(block * wave_block + lane, count - 1));
    const int lanes =
        static_cast<int>(std::min<std::size_t>(wave_block, count - block * wave_block));
    const WaveBlock call{lanes,
                         input.wave_number.data(),
                         input.wall.data(),
                         {input.number[0].data(), input.number[1].data(), input.number[2].data()},
                         input.strength.data(),
                         bench.field.data(),
                         input.pivot.data()};
    // A few frequencies would leave most of a wide vector idle.
    (lanes <= 2 ? wave_kernel_baseline : kernel_)(layout_.task, call, bench.space.start);
    for (std::size_t lane = 0; lane < static_cast<std::size_t>(lanes); ++lane)
      keep(block * wave_block + lane, lane, bench);
  }

 private:
  void keep(std::size_t frequency, std::size_t lane, const Bench& bench) {
    const std::size_t receivers = request_.receivers_m.size();
    for (std::size_t s = 0; s < reports_.size(); ++s)
      for (std::size_t r = 0; r < receivers; ++r) {
        const Value p = take_lane(bench.field, s * receivers + r, lane) * request_.density_kg_m3;
        reports_[s].pressure_pa[r][frequency] = p;
        if (!std::isfinite(p.real()) || !std::isfinite(p.imag()))
          filler_.worse(frequency, WaveFault::not_finite);
      }
    if (bench.input.pivot[lane] < 1e-10) filler_.worse(frequency, WaveFault::near_singular);
  }

  const ResponseRequest& request_;
  const Layout& layout_;
  WaveKernel kernel_;
  std::vector<ResponseReport>& reports_;
  BlockFiller filler_;
};

ResponseReport empty_report(const ResponseRequest& request, const ResponseOptions& options,
                            const WaveTask& task) {
  ResponseReport report;
  report.accuracy_db = options.accuracy_db;
  report.unknowns = task.unknowns;
  for (int a = 0; a < 3; ++a) report.modes += task.axis[a].row_start[task.axis[a].rows];
  report.method =
      "exact field of a box with uniform walls" +
      std::string(request.patches.empty() ? ""
                                          : ", pressures on the patches in Legendre functions");
  report.pressure_pa.assign(request.receivers_m.size(),
                            std::vector<Value>(request.frequencies_hz.size()));
  return report;
}

/// All blocks, on some threads.
void run_all(Driver& driver, std::size_t workers, const Watch& watch) {
  const std::size_t blocks = driver.blocks();
  std::atomic<std::size_t> next{0}, done{0};
  std::mutex telling;
  parallel_for(workers, static_cast<int>(workers), [&](std::size_t) {
    auto bench = driver.make_bench();
    for (std::size_t block = next++; block < blocks && !watch.cancelled(); block = next++) {
      driver.run(block, bench);
      const std::size_t ready = ++done;
      if (watch.progress && (ready * 20 / blocks != (ready - 1) * 20 / blocks)) {
        const std::lock_guard lock(telling);
        watch.tick(double(ready) / double(blocks), "frequencies");
      }
    }
  });
}

Result<std::vector<ResponseReport>> box_responses(const ResponseRequest& request,
                                                  const ResponseOptions& options, bool apart,
                                                  const Watch& watch) {
  Diagnostics found = options.check();
  found.add_all(wrong_response_request(request));
  const WaveKernel kernel = wave_kernel_of(options.width);
  if (!kernel) found.add("width", "is not to be had on this processor", {}, "ask for the fastest");
  if (!found.empty()) return found;
  LayoutInput input = layout_input(request, options);
  input.apart = apart && request.sources.size() > 1;
  if (found = too_much(input); !found.empty()) return found;
  watch.tick(0, "modes");
  Layout layout;
  make_layout(input, layout);

  const std::size_t kept = input.apart ? request.sources.size() : 1;
  std::vector<ResponseReport> reports(kept, empty_report(request, options, layout.task));
  Driver driver(request, layout, input.size_m, kernel, reports);
  const std::size_t blocks = driver.blocks();
  const double bytes = 8.0 * double(wave_space(layout.task));
  if (layout_work(layout) * double(blocks) > most_response_work || bytes > most_response_bytes)
    return Complaint{"frequencies_hz", "ask for more work than one call may do",
                     layout_work(layout) * double(blocks),
                     "fewer frequencies, patches or receivers", 0};
  const int wanted = options.threads > 0 ? options.threads : default_threads();
  const std::size_t workers = std::clamp<std::size_t>(
      static_cast<std::size_t>(std::min(double(wanted), most_response_bytes / bytes)), 1, blocks);
  run_all(driver, workers, watch);
  if (watch.cancelled()) return Complaint{"response", "was cancelled", {}, "start it again", 0};
  std::vector<Complaint> warnings;
  if (found = driver.filler().told(warnings); !found.empty()) return found;
  for (ResponseReport& report : reports) report.warnings = warnings;
  return reports;
}

}  // namespace

Diagnostics ResponseOptions::check() const {
  Diagnostics found;
  if (!(accuracy_db >= 0.01 && accuracy_db <= 3))
    found.add("accuracy_db", "must be from 0.01 to 3", accuracy_db, "such as 0.25");
  if (threads < 0 || threads > 1024)
    found.add("threads", "must be from 0 to 1024", double(threads), "0 takes all");
  return found;
}

Result<ResponseReport> response(const ResponseRequest& request, const ResponseOptions& options,
                                const Watch& watch) {
  if (auto found = not_built(request); !found.empty()) return found;
  auto reports = box_responses(request, options, false, watch);
  if (!reports) return reports.mistakes();
  return std::move(reports->front());
}

Result<std::vector<ResponseReport>> responses(const ResponseRequest& request,
                                              const ResponseOptions& options, const Watch& watch) {
  if (auto found = not_built(request); !found.empty()) return found;
  return box_responses(request, options, true, watch);
}

Result<std::vector<std::complex<double>>> pressure_map(const ResponseRequest& request, double hz,
                                                       const MapGrid& grid,
                                                       const ResponseOptions& options,
                                                       const Watch& watch) {
  if (grid.count_one < 1 || grid.count_two < 1 ||
      double(grid.count_one) * grid.count_two > double(most_response_receivers))
    return Complaint{"grid", "must have from 1 to 20000 points",
                     double(grid.count_one) * grid.count_two, "a wider step", 0};
  for (const auto& patch : request.patches)
    if (patch.admittance.size() != 1)
      return Complaint{"patches",
                       "must have one admittance each for a map at one frequency",
                       {},
                       "give the value at that frequency",
                       0};
  ResponseRequest at = request;
  at.frequencies_hz = {hz};
  at.receivers_m.clear();
  for (int j = 0; j < grid.count_two; ++j)
    for (int i = 0; i < grid.count_one; ++i) {
      Vec3 point = grid.at_m + grid.step_one_m * i + grid.step_two_m * j;
      for (const ResponseSource& source : at.sources)
        if (length(point - source.at_m) < 1.5e-3)
          point = point + Vec3{source.at_m.x > box_size_m(at.room).x / 2 ? -2e-3 : 2e-3, 0, 0};
      at.receivers_m.push_back(point);
    }
  const auto report = response(at, options, watch);
  if (!report) return report.mistakes();
  std::vector<std::complex<double>> out;
  for (const auto& line : report->pressure_pa) out.push_back(line[0]);
  return out;
}

}  // namespace roomwright::acoustics
