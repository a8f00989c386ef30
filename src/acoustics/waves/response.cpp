// The driven field of a box: checks what is asked, lays the task out (response_layout.h), sends the
// frequencies through the kernels in blocks (response_kernel.h), and reports. See waves.h.
#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdint>
#include <memory>
#include <mutex>

#include "acoustics/waves/response_checks.h"
#include "acoustics/waves/response_layout.h"
#include "acoustics/waves/response_parts.h"
#include "acoustics/waves/solid_response.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

namespace {

const double response_pi = std::acos(-1.0);
constexpr double most_response_bytes = 9e8;
constexpr double most_response_work = 4e11;  // complex products of a whole block
constexpr double at_a_mode = 1e-9;           // of the wave number
constexpr double beside_a_mode = 2e-6;  // where a room without losses but its patches' is solved

using Place = std::array<double, 3>;
using Value = std::complex<double>;

/// The wall of a box (see response_kernel.h) that a surface is.
constexpr std::array<int, 6> wall_of_surface{4, 5, 2, 1, 3, 0};

/// Places in the box's own frame: its corner at the plan's first, x along the plan's first side.
class Frame {
 public:
  explicit Frame(const Room& room) : origin_(room.plan_m[0]) {
    const Vec2 along = room.plan_m[1] - room.plan_m[0];
    along_ = along * (1 / length(along));
    const Vec3 size = box_size_m(room);
    size_ = {size.x, size.y, size.z};
  }
  const Place& size() const { return size_; }
  Place place(Vec3 point) const {
    const Vec2 at = Vec2{point.x, point.y} - origin_;
    Place out{dot(at, along_), cross(along_, at), point.z};
    for (std::size_t d = 0; d < 3; ++d) out[d] = std::clamp(out[d], 0.0, size_[d]);
    return out;
  }
  /// Floor and ceiling have the plan's own x and y: false where those lie across the box's.
  bool square() const { return std::abs(along_.x) > 1 - 1e-12 || std::abs(along_.y) > 1 - 1e-12; }

 private:
  Vec2 origin_, along_;
  Place size_{};
};

void check_room(const ResponseRequest& request, Diagnostics& found) {
  if (!is_box(request.room)) {
    found.add("room", "is not built yet: the driven field of a room that is no box", {},
              "give a rectangular plan and a flat ceiling");
    return;
  }
  const Frame frame(request.room);
  for (std::size_t d = 0; d < 3; ++d)
    if (!(frame.size()[d] >= least_room_m && frame.size()[d] <= greatest_response_room_m))
      found.add("room.size_m[" + std::to_string(d) + "]", "must be from 0.5 to 30 m",
                frame.size()[d], "check the unit");
  if (!frame.square())
    for (std::size_t i = 0; i < request.patches.size(); ++i)
      if (request.patches[i].area.surface < 2)
        found.add("patches[" + std::to_string(i) + "]",
                  "lies askew on the floor or ceiling of a turned plan", {},
                  "turn the plan so that its sides run along x and y");
  check_points(request, found);
}

Diagnostics wrong_response_request(const ResponseRequest& request) {
  Diagnostics found;
  check_lists(request, found);
  if (!found.empty()) return found;
  check_air(request, found);
  check_room(request, found);
  check_boundaries(request, found);
  return found;
}

/// A patch across the two axes of its wall.
WallPatch wall_patch(const Room& room, const Frame& frame, const Patch& patch) {
  WallPatch out;
  const int wall = wall_of_surface[static_cast<std::size_t>(patch.surface)];
  out.axis = wall / 2, out.side = wall % 2;
  const Place a = frame.place(from_uv(room, patch.surface, patch.from_m));
  const Place b = frame.place(from_uv(room, patch.surface, patch.to_m));
  for (std::size_t d = 0; d < 2; ++d) {
    const std::size_t axis = d == 0 ? (out.axis == 0 ? 1 : 0) : (out.axis == 2 ? 1 : 2);
    out.low[d] = std::min(a[axis], b[axis]);
    out.high[d] = std::max(a[axis], b[axis]);
  }
  return out;
}

LayoutInput layout_input(const ResponseRequest& request, const ResponseOptions& options) {
  LayoutInput input;
  const Frame frame(request.room);
  input.size_m = frame.size();
  for (const ResponsePatch& patch : request.patches)
    input.patches.push_back(wall_patch(request.room, frame, patch.area));
  for (const ResponseSource& source : request.sources) {
    input.sources.push_back(frame.place(source.at_m));
    input.strength.push_back(source.volume_acceleration_m3_s2);
  }
  for (const Vec3& at : request.receivers_m) input.receivers.push_back(frame.place(at));
  const double highest =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  input.greatest_wave_number = 2 * response_pi * highest / request.sound_speed_m_s;
  input.accuracy_db = options.accuracy_db;
  input.threads = options.threads;
  return input;
}

Diagnostics too_much(const LayoutInput& input) {
  Diagnostics found;
  if (const int unknowns = layout_unknowns(input); unknowns > most_response_unknowns)
    found.add("patches", "ask for more than 1600 unknowns", double(unknowns),
              "fewer or smaller patches, or a lower greatest frequency");
  const double longest = *std::max_element(input.size_m.begin(), input.size_m.end());
  if (const double modes = layout_cut_1_m(input) * longest / response_pi; modes > most_axis_modes)
    found.add("frequencies_hz", "ask for more than 240 modes along the longest side",
              std::ceil(modes), "a lower greatest frequency, or a smaller room");
  return found;
}

// ---- one frequency ------------------------------------------------------------------------------

const Value& at_frequency(const Admittance& values, std::size_t i) {
  return values[values.size() == 1 ? 0 : i];
}

std::array<Value, 6> wall_admittances(const ResponseRequest& request, std::size_t frequency) {
  std::array<Value, 6> out{};
  for (std::size_t i = 0; i < 6; ++i) {
    Value value = i < request.surfaces.size() && !request.surfaces[i].empty()
                      ? at_frequency(request.surfaces[i], frequency)
                      : Value(0);
    if (std::abs(value) < least_admittance) value = least_admittance;
    out[static_cast<std::size_t>(wall_of_surface[i])] = value;
  }
  return out;
}

/// The wave number of a mode of the box with rigid walls within a share of the one given; else 0.
double rigid_mode_near(const Place& size, double wave_number, double share) {
  const auto most = [&](std::size_t d) {
    return static_cast<int>(wave_number * (1 + share) * size[d] / response_pi);
  };
  for (int x = 0; x <= most(0); ++x)
    for (int y = 0; y <= most(1); ++y) {
      const double q = x * response_pi / size[0], p = y * response_pi / size[1];
      const double rest = std::max(0.0, wave_number * wave_number - q * q - p * p);
      const double z = std::round(std::sqrt(rest) * size[2] / response_pi) * response_pi / size[2];
      const double mode = std::sqrt(q * q + p * p + z * z);
      if (std::abs(mode / wave_number - 1) < share) return mode;
    }
  return 0;
}

/// Lanes of one block: real parts, then imaginary ones.
void put(std::vector<double>& lanes, std::size_t item, std::size_t lane, Value value) {
  lanes[item * 2 * wave_block + lane] = value.real();
  lanes[item * 2 * wave_block + wave_block + lane] = value.imag();
}
Value take(const std::vector<double>& lanes, std::size_t item, std::size_t lane) {
  return {lanes[item * 2 * wave_block + lane], lanes[item * 2 * wave_block + wave_block + lane]};
}

// ---- all of them --------------------------------------------------------------------------------

enum class Fault : char { none, at_mode, beside_mode, apart, not_finite, near_singular };

class Driver {
 public:
  Driver(const ResponseRequest& request, const Layout& layout, const Place& size, WaveKernel kernel,
         ResponseReport& report)
      : request_(request),
        layout_(layout),
        size_(size),
        kernel_(kernel),
        report_(report),
        faults_(request.frequencies_hz.size(), Fault::none) {}

  std::size_t blocks() const {
    return (request_.frequencies_hz.size() + wave_block - 1) / wave_block;
  }
  const std::vector<Fault>& faults() const { return faults_; }

  /// Each on its own thread, with a working space of its own.
  struct Bench {
    std::vector<double> wave_number, wall, strength, field, on_tiles, pivot;
    std::array<std::vector<double>, 3> number;
    std::unique_ptr<double[]> memory;
    double* space = nullptr;
  };
  Bench make_space() const {
    Bench out;
    const WaveTask& task = layout_.task;
    const auto lanes = [](std::size_t count) {
      return std::vector<double>(count * 2 * wave_block);
    };
    out.wave_number = lanes(1), out.pivot = lanes(1), out.wall = lanes(6);
    out.strength = lanes(std::max<std::size_t>(1, request_.patches.size()));
    out.field = lanes(static_cast<std::size_t>(task.receivers));
    out.on_tiles = lanes(static_cast<std::size_t>(std::max(1, task.unknowns)));
    for (std::size_t a = 0; a < 3; ++a)
      out.number[a] = lanes(static_cast<std::size_t>(task.axis[a].modes));
    const std::size_t size = wave_space(task);
    out.memory = std::unique_ptr<double[]>(new double[size + 8]);
    const auto address = reinterpret_cast<std::uintptr_t>(out.memory.get());
    out.space = out.memory.get() + (64 - address % 64) % 64 / sizeof(double);
    return out;
  }

  void run(std::size_t block, Bench& bench) {
    const std::size_t count = request_.frequencies_hz.size();
    for (std::size_t lane = 0; lane < wave_block; ++lane)
      fill(bench, lane, std::min(block * wave_block + lane, count - 1));
    const int lanes =
        static_cast<int>(std::min<std::size_t>(wave_block, count - block * wave_block));
    const WaveBlock call{lanes,
                         bench.wave_number.data(),
                         bench.wall.data(),
                         {bench.number[0].data(), bench.number[1].data(), bench.number[2].data()},
                         bench.strength.data(),
                         bench.field.data(),
                         bench.on_tiles.data(),
                         bench.pivot.data()};
    // A few frequencies would leave most of a wide vector idle.
    (lanes <= 2 ? wave_kernel_baseline : kernel_)(layout_.task, call, bench.space);
    for (std::size_t lane = 0; lane < wave_block; ++lane) {
      const std::size_t i = block * wave_block + lane;
      if (i >= count) break;
      for (std::size_t r = 0; r < report_.pressure_pa.size(); ++r) {
        const Value p = take(bench.field, r, lane) * request_.density_kg_m3;
        report_.pressure_pa[r][i] = p;
        if (!is_number(p.real()) || !is_number(p.imag())) worse(i, Fault::not_finite);
      }
      if (bench.pivot[lane] < 1e-10 && faults_[i] == Fault::none) worse(i, Fault::near_singular);
    }
  }

 private:
  void worse(std::size_t i, Fault fault) {
    if (faults_[i] != Fault::apart) faults_[i] = fault;
  }

  /// The wave number, moved where the field without patches is too great to subtract from: what
  /// patches damp changes little over beside_a_mode.
  double solvable_number(std::size_t i, const std::array<Value, 6>& walls) {
    const double k = 2 * response_pi * request_.frequencies_hz[i] / request_.sound_speed_m_s;
    double softest = 0;
    for (const Value& wall : walls) softest = std::max(softest, std::abs(wall));
    if (softest > beside_a_mode / 2) return k;
    if (rigid_mode_near(size_, k, at_a_mode) > 0)
      worse(i, request_.patches.empty() ? Fault::at_mode : Fault::beside_mode);
    if (request_.patches.empty()) return k;
    const double mode = rigid_mode_near(size_, k, beside_a_mode);
    return mode == 0 ? k : mode * (k < mode ? 1 - beside_a_mode : 1 + beside_a_mode);
  }

  void fill(Bench& bench, std::size_t lane, std::size_t i) {
    const auto walls = wall_admittances(request_, i);
    const double k = solvable_number(i, walls);
    bench.wave_number[lane] = k;
    const Value turn{0, k};
    for (std::size_t w = 0; w < 6; ++w) put(bench.wall, w, lane, turn * walls[w]);
    for (std::size_t p = 0; p < request_.patches.size(); ++p) {
      const WaveTile* tile = layout_.task.tiles.items;
      while (tile->patch != static_cast<int>(p)) ++tile;
      Value more = at_frequency(request_.patches[p].admittance, i) -
                   walls[static_cast<std::size_t>(tile->wall)];
      if (std::abs(more) < 1e-12) more = 1e-12;
      put(bench.strength, p, lane, std::sqrt(more));
    }
    std::vector<Value> numbers;
    for (std::size_t a = 0; a < 3; ++a) {
      const int count = layout_.task.axis[a].modes;
      numbers.resize(static_cast<std::size_t>(count));
      if (!axis_numbers(size_[a], turn * walls[2 * a], turn * walls[2 * a + 1], count,
                        numbers.data()))
        worse(i, Fault::apart);
      for (std::size_t m = 0; m < numbers.size(); ++m) {
        // A wave that falls by e^−26 between the walls is known to 5 digits from either.
        if (std::abs(numbers[m].imag()) * size_[a] > 26) worse(i, Fault::apart);
        put(bench.number[a], m, lane, numbers[m]);
      }
    }
  }

  const ResponseRequest& request_;
  const Layout& layout_;
  Place size_;
  WaveKernel kernel_;
  ResponseReport& report_;
  std::vector<Fault> faults_;
};

/// Null where this processor has none of that width.
WaveKernel kernel_of(WaveWidth width) {
  if (width == WaveWidth::baseline) return wave_kernel_baseline;
  if (width == WaveWidth::fastest) return fastest_wave_kernel();
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (width == WaveWidth::four && __builtin_cpu_supports("avx2")) return wave_kernel_avx2;
  if (width == WaveWidth::eight && __builtin_cpu_supports("avx512f")) return wave_kernel_avx512;
#endif
  return nullptr;
}

Diagnostics told(const ResponseRequest& request, const std::vector<Fault>& faults,
                 ResponseReport& report) {
  Diagnostics found;
  for (std::size_t i = 0; i < faults.size(); ++i) {
    const std::string where = "frequencies_hz[" + std::to_string(i) + "]";
    const double hz = request.frequencies_hz[i];
    if (faults[i] == Fault::apart)
      found.add(where, "has walls so springy that their waves cannot be told apart", hz,
                "a smaller admittance of the walls, or patches in their place");
    else if (faults[i] == Fault::not_finite)
      found.add(where, "has no finite answer: the room stores energy and loses none", hz,
                "give some surface a real part above 0");
    else if (faults[i] == Fault::at_mode)
      report.warnings.push_back({where,
                                 "lies at a mode of a room with rigid walls, where the field has "
                                 "no bound; given as if the walls had an admittance of 1e-10",
                                 hz, "give the walls what they absorb", 0});
    else if (faults[i] == Fault::beside_mode)
      report.warnings.push_back({where,
                                 "lies at a mode of the room without its patches; given for a "
                                 "frequency two parts in a million beside it",
                                 hz, "give the walls what they absorb", 0});
    else if (faults[i] == Fault::near_singular)
      report.warnings.push_back({where, "has patches that nearly undo what the room loses", hz,
                                 "distrust this frequency", 0});
    if (found.size() >= 100) break;
    if (report.warnings.size() > 100) report.warnings.pop_back();  // a hundred say enough
  }
  return found;
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
  if (wants_solid(request)) return solid_response(request, options, watch);
  Diagnostics found = options.check();
  found.add_all(wrong_response_request(request));
  const WaveKernel kernel = kernel_of(options.width);
  if (!kernel) found.add("width", "is not to be had on this processor", {}, "ask for the fastest");
  if (!found.empty()) return found;
  const LayoutInput input = layout_input(request, options);
  if (found = too_much(input); !found.empty()) return found;
  watch.tick(0, "modes");
  Layout layout;
  make_layout(input, layout);

  ResponseReport report;
  report.accuracy_db = options.accuracy_db;
  report.unknowns = layout.task.unknowns;
  for (int a = 0; a < 3; ++a)
    report.modes += layout.task.axis[a].row_start[layout.task.axis[a].rows];
  report.method =
      "exact field of a box with uniform walls" +
      std::string(request.patches.empty() ? ""
                                          : ", pressures on the patches in Legendre functions");
  report.pressure_pa.assign(request.receivers_m.size(),
                            std::vector<Value>(request.frequencies_hz.size()));
  Driver driver(request, layout, input.size_m, kernel, report);
  const std::size_t blocks = driver.blocks();
  const double bytes = 8.0 * double(wave_space(layout.task));
  if (layout_work(layout) * double(blocks) > most_response_work || bytes > most_response_bytes)
    return Complaint{"frequencies_hz", "ask for more work than one call may do",
                     layout_work(layout) * double(blocks),
                     "fewer frequencies, patches or receivers", 0};

  const int wanted = options.threads > 0 ? options.threads : default_threads();
  const std::size_t workers = std::clamp<std::size_t>(
      static_cast<std::size_t>(std::min(double(wanted), most_response_bytes / bytes)), 1, blocks);
  std::atomic<std::size_t> next{0}, done{0};
  std::mutex telling;
  parallel_for(workers, static_cast<int>(workers), [&](std::size_t) {
    auto space = driver.make_space();
    for (std::size_t block = next++; block < blocks && !watch.cancelled(); block = next++) {
      driver.run(block, space);
      const std::size_t ready = ++done;
      if (watch.progress && (ready * 20 / blocks != (ready - 1) * 20 / blocks)) {
        const std::lock_guard lock(telling);
        watch.tick(double(ready) / double(blocks), "frequencies");
      }
    }
  });
  if (watch.cancelled()) return Complaint{"response", "was cancelled", {}, "start it again", 0};
  if (found = told(request, driver.faults(), report); !found.empty()) return found;
  return report;
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
  if (wants_solid(request)) return solid_map(request, hz, grid, options, watch);
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
