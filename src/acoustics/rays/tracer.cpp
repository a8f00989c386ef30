// From a scene to echograms and figures with their errors: what may be wrong, how long and how much
// is traced, batches over threads, and the jackknife; see rays.h. The loop itself is in
// tracer_lanes.h.
#include <algorithm>
#include <cmath>
#include <thread>

#include "acoustics/rays/echogram.h"
#include "acoustics/rays/rays.h"
#include "acoustics/rays/tracer_kernel.h"
#include "acoustics/rays/tracer_scene.h"

namespace roomwright::acoustics {

TraceKernel fastest_tracer() {
#ifdef ROOMWRIGHT_TRACER_AVX2
  if (__builtin_cpu_supports("avx2")) return trace_avx2;
#endif
  return trace_baseline;
}

namespace {

// ---- what may be wrong ----------------------------------------------------------------------

std::string numbered(const std::string& list, std::size_t i) {
  return list + "[" + std::to_string(i) + "]";
}

void check_list(const std::vector<double>& list, std::size_t bands, double greatest,
                const std::string& where, Diagnostics& found) {
  if (list.size() != 1 && list.size() != bands)
    found.add(where, "must have one number, or one a band", double(list.size()),
              "there are " + std::to_string(bands) + " bands");
  for (const double value : list)
    if (!(value >= 0 && value <= greatest)) {
      found.add(where, "must be from 0 to " + shortest(greatest), value, {});
      break;
    }
}

void check_finish(const Finish& finish, std::size_t bands, const std::string& where,
                  Diagnostics& found) {
  check_list(finish.absorption, bands, 2, where + ".absorption", found);
  check_list(finish.scattering, bands, 1, where + ".scattering", found);
}

void check_finishes(const TracedScene& scene, Diagnostics& found) {
  const auto surfaces = static_cast<std::size_t>(surface_count(scene.room));
  if (!scene.surfaces.empty() && scene.surfaces.size() != surfaces)
    found.add("surfaces", "must have one finish a surface", double(scene.surfaces.size()),
              "the room has " + std::to_string(surfaces));
  if (scene.patches.size() != scene.patch_finishes.size())
    found.add("patches", "must have one finish a patch", double(scene.patch_finishes.size()), {});
  found.add_all(check_patches(scene.room, scene.patches, "patches"));
  for (std::size_t i = 0; i < scene.surfaces.size(); ++i)
    check_finish(scene.surfaces[i], scene.bands, numbered("surfaces", i), found);
  for (std::size_t i = 0; i < scene.patch_finishes.size(); ++i)
    check_finish(scene.patch_finishes[i], scene.bands, numbered("patches", i), found);
  for (std::size_t i = 0; i < scene.boxes.size(); ++i)
    check_finish(scene.boxes[i].finish, scene.bands, numbered("boxes", i), found);
}

bool has_numbers(const TracedBox& box) {
  for (const double x : {box.middle_m.x, box.middle_m.y, box.turn_deg})
    if (!std::isfinite(x)) return false;
  return box.size_m.x >= 1e-3 && box.size_m.y >= 1e-3 && box.size_m.x <= greatest_room_m &&
         box.size_m.y <= greatest_room_m && box.low_m >= 0 && box.high_m <= greatest_room_m &&
         box.high_m - box.low_m >= 1e-3;
}

bool corners_inside(const Room& room, const TracedBox& box) {
  for (const BoxFace& face : faces_of(room, {box}))
    for (const double u : {0.0, face.u_m})
      for (const double v : {0.0, face.v_m}) {
        const Vec3 corner = face.corner + face.along_u * u + face.along_v * v;
        if (!contains(room.plan_m, {corner.x, corner.y}, 1e-6) || corner.z < -1e-6 ||
            corner.z > room.ceiling_at({corner.x, corner.y}) + 1e-6)
          return false;
      }
  return true;
}

void check_boxes(const TracedScene& scene, Diagnostics& found) {
  if (scene.boxes.size() > most_traced_boxes)
    found.add("boxes", "must be at most " + std::to_string(most_traced_boxes),
              double(scene.boxes.size()), "leave out the smallest");
  for (std::size_t i = 0; i < scene.boxes.size(); ++i) {
    if (!has_numbers(scene.boxes[i]))
      found.add(numbered("boxes", i), "must have sides of at least 1 mm, above the floor", {}, {});
    else if (!corners_inside(scene.room, scene.boxes[i]))
      found.add(numbered("boxes", i), "reaches out of the room", {}, "move it inside");
  }
}

void check_directivity(const Directivity& directivity, std::size_t bands, const std::string& where,
                       Diagnostics& found) {
  const double size = length(directivity.axis);
  if (!(size > 1e-9 && size < 1e9)) found.add(where + ".axis", "must be a direction", {}, {});
  if (directivity.kind == Directivity::Kind::first_order &&
      !(directivity.order >= 0 && directivity.order <= 1))
    found.add(where + ".order", "must be from 0 to 1", directivity.order, {});
  if (directivity.kind != Directivity::Kind::table) return;
  const auto& table = directivity.level_db;
  if (table.size() != 1 && table.size() != bands)
    found.add(where + ".level_db", "must have one list, or one a band", double(table.size()), {});
  for (const auto& list : table) {
    if (list.size() < 2 || list.size() > 3601)
      found.add(where + ".level_db", "must have 2 to 3601 levels from 0 to 180 degrees",
                double(list.size()), {});
    for (const double level : list)
      if (!(std::abs(level) <= 200))
        found.add(where + ".level_db", "must be from -200 to 200 dB", level, {});
  }
}

void check_place(const TracedScene& scene, Vec3 at, const std::string& where, Diagnostics& found) {
  if (!std::isfinite(at.x + at.y + at.z) || !contains(scene.room, at, 0)) {
    found.add(where, "is not inside the room", {}, "move it inside");
    return;
  }
  for (std::size_t i = 0; i < scene.boxes.size(); ++i)
    if (gap_to_box_m(scene.boxes[i], at) < 0) {
      found.add(where, "is inside " + numbered("boxes", i), {}, "move one of them");
      return;
    }
  if (const double gap = gap_m(scene, at); gap < least_traced_gap_m)
    found.add(where, "must be 0.05 m clear of every surface", gap, "move it away");
}

void check_places(const TracedScene& scene, Diagnostics& found) {
  for (const auto& [where, count] :
       {std::pair{"sources", scene.sources.size()}, {"receivers", scene.receivers_m.size()}})
    if (count < 1 || count > most_traced_places)
      found.add(where, "must be from 1 to " + std::to_string(most_traced_places), double(count),
                {});
  for (std::size_t i = 0; i < scene.sources.size(); ++i) {
    check_place(scene, scene.sources[i].at_m, numbered("sources", i), found);
    check_directivity(scene.sources[i].directivity, scene.bands, numbered("sources", i), found);
    for (std::size_t k = 0; k < scene.receivers_m.size(); ++k)
      if (length(scene.sources[i].at_m - scene.receivers_m[k]) < least_traced_gap_m)
        found.add(numbered("receivers", k), "stands in " + numbered("sources", i), {},
                  "move it at least 0.05 m away");
  }
  for (std::size_t k = 0; k < scene.receivers_m.size(); ++k)
    check_place(scene, scene.receivers_m[k], numbered("receivers", k), found);
}

void check_options(const TracedScene& scene, const TraceOptions& options, Diagnostics& found) {
  if (options.rays < least_rays || options.rays > greatest_rays)
    found.add("rays", "must be from 100 to 10 million", double(options.rays), {});
  if (!(options.seconds == 0 || (options.seconds >= 0.01 && options.seconds <= greatest_trace_s)))
    found.add("seconds", "must be from 0.01 to 20, or 0", options.seconds, {});
  if (!(options.bin_ms >= 0.1 && options.bin_ms <= 50))
    found.add("bin_ms", "must be from 0.1 to 50", options.bin_ms, {});
  if (options.image_order < -1 || options.image_order > greatest_order)
    found.add("image_order", "must be from 0 to 20, or -1", double(options.image_order), {});
  if (!(options.radius_m >= 0.01 && options.radius_m <= 10))
    found.add("radius_m", "must be from 0.01 to 10", options.radius_m, {});
  if (!(scene.sound_speed_m_s >= 280 && scene.sound_speed_m_s <= 400))
    found.add("sound_speed_m_s", "must be from 280 to 400", scene.sound_speed_m_s, {});
  if (!scene.air_energy_1_m.empty() && scene.air_energy_1_m.size() != scene.bands)
    found.add("air_energy_1_m", "must have one number a band", double(scene.air_energy_1_m.size()),
              {});
  for (const double m : scene.air_energy_1_m)
    if (!(m >= 0 && m <= 10)) found.add("air_energy_1_m", "must be from 0 to 10", m, {});
}

Diagnostics wrong_trace_request(const TracedScene& scene, const TraceOptions& options) {
  Diagnostics found;
  if (scene.bands < 1 || scene.bands > most_trace_bands) {
    found.add("bands", "must be from 1 to 32", double(scene.bands), {});
    return found;
  }
  check_options(scene, options, found);
  check_finishes(scene, found);
  check_boxes(scene, found);
  if (found.empty()) check_places(scene, found);
  return found;
}

// ---- how much -------------------------------------------------------------------------------

struct Extent {
  double mean_free_path_m = 0;
  double longest_s = 0;  ///< by Eyring; 0 where nothing absorbs
};

Extent extent_of(const TracedScene& scene) {
  const auto areas = areas_of(scene);
  const auto materials = materials_of(scene);
  double volume = volume_m3(scene.room), area = 0;
  for (const TracedBox& box : scene.boxes) volume -= box_volume_m3(box);
  volume = std::max(volume, 0.05 * volume_m3(scene.room));
  for (const double a : areas) area += a;
  Extent out{4 * volume / area, 0};
  for (std::size_t band = 0; band < scene.bands; ++band) {
    double absorbed = 0;
    for (std::size_t i = 0; i < areas.size(); ++i)
      absorbed += areas[i] * absorption_of(materials[i], band);
    const double air = scene.air_energy_1_m.empty() ? 0 : scene.air_energy_1_m[band];
    const double loss_1_m =
        air - std::log1p(-std::min(0.999, absorbed / area)) / out.mean_free_path_m;
    if (loss_1_m <= 0) continue;
    out.longest_s = std::max(out.longest_s, 6 * std::log(10.0) / loss_1_m / scene.sound_speed_m_s);
  }
  return out;
}

struct TracePlan {
  double seconds = 0, bin_s = 0, mean_free_path_m = 0;
  std::size_t bins = 0;
  std::int64_t batch_rays = 0;
  std::vector<std::vector<std::size_t>> groups;
};

TracePlan plan_of(const TracedScene& scene, const TraceOptions& options) {
  const Extent extent = extent_of(scene);
  TracePlan plan;
  plan.mean_free_path_m = extent.mean_free_path_m;
  plan.seconds = options.seconds > 0    ? options.seconds
                 : extent.longest_s > 0 ? std::clamp(2 * extent.longest_s, 0.1, greatest_trace_s)
                                        : 2;
  plan.bin_s = options.bin_ms / 1e3;
  plan.bins = static_cast<std::size_t>(std::ceil(plan.seconds / plan.bin_s - 1e-9));
  plan.seconds = static_cast<double>(plan.bins) * plan.bin_s;
  plan.batch_rays = (options.rays + trace_batches - 1) / trace_batches;
  plan.groups = band_groups(scene);
  return plan;
}

Diagnostics too_much(const TracedScene& scene, const TracePlan& plan) {
  Diagnostics found;
  const auto receivers = double(scene.receivers_m.size()), sources = double(scene.sources.size());
  const double work = double(plan.batch_rays * trace_batches) * sources *
                      double(plan.groups.size()) * plan.seconds * scene.sound_speed_m_s /
                      plan.mean_free_path_m * (1 + receivers / 4);
  if (work > most_trace_work)
    found.add(
        "rays", "are too much work for this room, these sources and this long a time",
        double(plan.batch_rays * trace_batches),
        "ask for at most " +
            fixed(std::floor(double(plan.batch_rays * trace_batches) * most_trace_work / work), 0) +
            " rays, or for fewer seconds, sources or receivers");
  const double batch_cells = receivers * double(plan.bins) * trace_row * trace_batches;
  const double report_cells = receivers * sources * double(plan.bins) * double(scene.bands) * 4;
  const double cells = std::max(batch_cells, report_cells);
  if (cells > most_trace_cells)
    found.add("bin_ms", "makes too many time bins for these sources and receivers",
              plan.bin_s * 1e3,
              "ask for at least " +
                  fixed(std::ceil(plan.bin_s * 1e4 * cells / most_trace_cells) / 10, 1) +
                  " ms, or for fewer seconds or receivers");
  return found;
}

// ---- where rays start -----------------------------------------------------------------------

/// SplitMix64 (G. L. Steele, D. Lea & C. H. Flood, OOPSLA 2014).
std::uint64_t mixed(std::uint64_t& state) {
  state += 0x9e3779b97f4a7c15ULL;
  std::uint64_t z = state;
  z = (z ^ (z >> 30u)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27u)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31u);
}

/// sin and cos of 2π (turns - 1/2) by their series, the same on every machine.
std::array<double, 2> around(double turns) {
  const double half = (turns - 0.5) * 3.141592653589793, square = half * half;
  double sine = 0, cosine = 0;
  for (int n = 10; n >= 0; --n) {
    sine = 1 - (n == 10 ? 0 : square / ((2 * n + 2) * (2 * n + 3)) * sine);
    cosine = 1 - (n == 10 ? 0 : square / ((2 * n + 1) * (2 * n + 2)) * cosine);
  }
  sine *= half;
  return {2 * sine * cosine, 1 - 2 * sine * sine};
}

struct Emission {
  Vec3 from;
  const Pattern* pattern = nullptr;
  const std::vector<std::size_t>* bands = nullptr;
  std::uint64_t key = 0;
  std::int64_t rays = 0;
  std::uint32_t shift = 0;
};

/// The sphere in layers of equal area, one ray a layer at a random height of it, turned on by the
/// golden section from ray to ray.
void emit_ray(const void* context, long long ray, TraceRay& out) {
  const Emission& emission = *static_cast<const Emission*>(context);
  std::uint64_t state = emission.key + static_cast<std::uint64_t>(ray) * 0xd1342543de82ef95ULL;
  const std::uint64_t first = mixed(state), second = mixed(state), third = mixed(state);
  for (int i = 0; i < 2; ++i) {
    out.state[i] = static_cast<std::uint32_t>(first >> (32 * i));
    out.state[2 + i] = static_cast<std::uint32_t>(second >> (32 * i));
  }
  out.state[0] |= 1;  // never all 0
  const double inside = static_cast<double>(third >> 11u) * 0x1p-53;
  const double z = 1 - 2 * (static_cast<double>(ray) + inside) / double(emission.rays);
  const auto turn = static_cast<std::uint32_t>(ray) * 2654435769u + emission.shift;
  const auto [sine, cosine] = around(turn * 0x1p-32);
  const double radius = std::sqrt(std::max(0.0, 1 - z * z));
  const Vec3 way{radius * cosine, radius * sine, z};
  out.position[0] = float(emission.from.x);
  out.position[1] = float(emission.from.y);
  out.position[2] = float(emission.from.z);
  out.direction[0] = float(way.x);
  out.direction[1] = float(way.y);
  out.direction[2] = float(way.z);
  out.weight = 0;
  for (std::size_t i = 0; i < trace_row; ++i) {
    out.energy[i] =
        i < emission.bands->size() ? float(emission.pattern->gain((*emission.bands)[i], way)) : 0;
    out.weight = std::max(out.weight, out.energy[i]);
  }
}

// ---- batches --------------------------------------------------------------------------------

/// Says how far the work is, from the caller's thread only, and whether it is to stop.
class Progress {
 public:
  Progress(const Watch& watch, double chunks) : watch_(watch), chunks_(chunks) {}
  bool stop() {
    const double done = static_cast<double>(++done_);
    if (std::this_thread::get_id() == caller_ && done / chunks_ >= told_ + 0.01) {
      told_ = done / chunks_;
      watch_.tick(std::min(told_, 1.0), "tracing rays");
    }
    return watch_.cancelled();
  }

 private:
  const Watch& watch_;
  double chunks_, told_ = 0;
  std::atomic<std::int64_t> done_{0};
  std::thread::id caller_ = std::this_thread::get_id();
};

Complaint trace_cancelled() {
  return {"rays", "was cancelled", {}, "start it again", 0};
}

constexpr std::int64_t chunk_rays = 2048;

struct Pass {
  std::vector<std::vector<float>> histograms;  ///< by batch: [receiver][bin][trace_row]
  std::vector<TraceCount> counts;
};

Pass run_pass(const KernelScene& kernel_scene, const Emission& start, const TraceOptions& options,
              Progress& progress) {
  const TraceScene& scene = kernel_scene.scene;
  const TraceKernel kernel = options.any_machine ? trace_baseline : fastest_tracer();
  Pass out;
  out.histograms.resize(trace_batches);
  out.counts.resize(trace_batches);
  parallel_for(trace_batches, options.threads, [&](std::size_t batch) {
    Emission emission = start;
    std::uint64_t state = start.key + batch * 0x9fb21c651e98df25ULL;
    emission.key = mixed(state);
    emission.shift = static_cast<std::uint32_t>(mixed(state));
    std::vector<float>& histogram = out.histograms[batch];
    histogram.assign(static_cast<std::size_t>(scene.receiver_count) *
                         static_cast<std::size_t>(scene.bins) * trace_row,
                     0);
    TraceCount count{};
    for (std::int64_t first = 0; first < emission.rays; first += chunk_rays) {
      if (progress.stop()) break;
      kernel({&scene, &emission, emit_ray, first, std::min(first + chunk_rays, emission.rays),
              histogram.data(), &count});
    }
    out.counts[batch] = count;
  });
  return out;
}

// ---- figures --------------------------------------------------------------------------------

/// The batches of one receiver and band as energies a ray, with the air's attenuation.
std::vector<std::vector<double>> batches_of(const Pass& pass, const TracePlan& plan,
                                            std::size_t receiver, std::size_t column, double air,
                                            double speed) {
  std::vector<std::vector<double>> out(pass.histograms.size(), std::vector<double>(plan.bins));
  for (std::size_t i = 0; i < plan.bins; ++i) {
    const double way_m = (double(i) + 0.5) * plan.bin_s * speed;
    const double factor = std::exp(-air * way_m) / double(plan.batch_rays);
    for (std::size_t batch = 0; batch < out.size(); ++batch)
      out[batch][i] =
          factor * double(pass.histograms[batch][(receiver * plan.bins + i) * trace_row + column]);
  }
  return out;
}

double jackknife_error(const std::vector<double>& left_out) {
  double mean = 0, sum = 0;
  for (const double value : left_out) mean += value / double(left_out.size());
  for (const double value : left_out) sum += (value - mean) * (value - mean);
  return std::sqrt(sum * double(left_out.size() - 1) / double(left_out.size()));
}

std::array<TracedValue, decay_figures> figures_with_errors(
    const std::array<FigureValue, decay_figures>& whole, const Echogram& all,
    const std::vector<std::vector<double>>& batches, bool direct_clear) {
  const double n = double(batches.size());
  std::array<std::vector<double>, decay_figures> left_out;
  Echogram without = all;
  for (const auto& batch : batches) {
    for (std::size_t i = 0; i < batch.size(); ++i)
      without.bins[i] = (all.bins[i] * n - batch[i]) / (n - 1);
    const auto figures = decay_figures_of(without);
    for (std::size_t k = 0; k < decay_figures; ++k)
      if (figures[k].value) left_out[k].push_back(*figures[k].value);
  }
  std::array<TracedValue, decay_figures> out;
  for (std::size_t k = 0; k < decay_figures; ++k) {
    out[k].value = whole[k].value;
    out[k].reason = whole[k].reason;
    if (!whole[k].value) continue;
    if (left_out[k].size() < batches.size()) {
      out[k] = {{}, 0, "cannot be told from these rays; trace longer or more rays"};
      continue;
    }
    out[k].standard_error = jackknife_error(left_out[k]);
    if (!direct_clear && k >= c50 && k <= centre_time)
      out[k].reason = "there is no direct path: time counts from the first sound that arrives";
  }
  return out;
}

/// With no direct path: the first exact path, or the first bin that holds anything.
double first_sound_s(const TracedScene& scene, const ExactPaths& paths, const Pass& pass,
                     const TracePlan& plan, std::size_t source, std::size_t receiver) {
  if (paths.direct_clear)
    return length(scene.receivers_m[receiver] - scene.sources[source].at_m) / scene.sound_speed_m_s;
  double first = plan.seconds;
  for (std::size_t i = 0; i < paths.time_s.size(); ++i)
    if (*std::max_element(paths.energy[i].begin(), paths.energy[i].end()) > 0)
      first = std::min(first, paths.time_s[i]);
  const std::size_t row = plan.bins * trace_row;
  for (std::size_t i = 0; i < row; ++i)
    for (const auto& histogram : pass.histograms)
      if (histogram[receiver * row + i] > 0)
        return std::min(first, double(i / trace_row) * plan.bin_s);
  return first;
}

/// Whether T30 needs a longer time.
bool fill_band(TracedBand& out, const Echogram& echogram,
               const std::vector<std::vector<double>>& batches, bool direct_clear) {
  out.echogram = whole_echogram(echogram);
  out.echogram_error.resize(echogram.bins.size());
  const double n = double(batches.size());
  for (std::size_t i = 0; i < echogram.bins.size(); ++i) {
    double sum = 0;
    for (const auto& batch : batches) {
      const double off = batch[i] - echogram.bins[i];
      sum += off * off;
    }
    out.echogram_error[i] = std::sqrt(sum / (n * (n - 1)));
  }
  const auto whole = decay_figures_of(echogram);
  auto figures = figures_with_errors(whole, echogram, batches, direct_clear);
  TracedValue* const places[] = {&out.edt_s,  &out.t20_s, &out.t30_s, &out.c50_db,
                                 &out.c80_db, &out.d50,   &out.ts_ms, &out.strength_db};
  for (std::size_t k = 0; k < decay_figures; ++k) *places[k] = std::move(figures[k]);
  return whole[t30].longer;
}

Echogram echogram_of(const ExactPaths& paths, const std::vector<std::vector<double>>& batches,
                     const TracePlan& plan, std::size_t band, double arrival_s) {
  Echogram out;
  out.bin_s = plan.bin_s;
  out.arrival_s = arrival_s;
  out.bins.assign(plan.bins, 0);
  for (const auto& batch : batches)
    for (std::size_t i = 0; i < plan.bins; ++i) out.bins[i] += batch[i];
  for (double& bin : out.bins) bin /= double(batches.size());
  for (std::size_t i = 0; i < paths.time_s.size(); ++i)
    if (paths.time_s[i] < plan.seconds)
      out.paths.push_back({paths.time_s[i], paths.energy[i][band]});
  return out;
}

bool images_allowed(const TracedScene& scene, int order) {
  if (order > (is_box(scene.room) ? greatest_order : greatest_order_any_plan)) return false;
  const double each = image_candidates(scene.room, order);
  const auto pairs = double(scene.sources.size() * scene.receivers_m.size());
  return each <= most_image_candidates && each * pairs <= most_traced_images;
}

/// The order that is asked for, or the greatest up to 3 that this room and so many pairs allow.
int order_of_images(const TracedScene& scene, int asked) {
  if (asked >= 0) return asked;
  int order = 3;
  while (order > 0 && !images_allowed(scene, order)) --order;
  return order;
}

void check_image_order(const TracedScene& scene, int asked, Diagnostics& found) {
  if (asked <= 0 || images_allowed(scene, asked)) return;
  int possible = asked;
  while (possible > 0 && !images_allowed(scene, possible)) --possible;
  found.add("image_order", "has too many images for this room and so many pairs", double(asked),
            "ask for at most " + std::to_string(possible));
}

/// Image paths of each receiver, rigid, for their geometry alone.
Result<std::vector<ImageReport>> images_of(const TracedScene& scene, std::size_t source, int order,
                                           const Watch& watch) {
  std::vector<ImageReport> out;
  ImageOptions ask;
  ask.max_order = std::max(1, order);
  for (const Vec3 receiver : scene.receivers_m) {
    auto images = image_paths(scene.room, scene.sources[source].at_m, receiver,
                              scene.sound_speed_m_s, {}, ask);
    if (!images.ok()) return images.mistakes();
    if (order == 0) images->paths.clear();
    out.push_back(std::move(*images));
    if (watch.cancelled()) return trace_cancelled();
  }
  return out;
}

// ---- the whole ------------------------------------------------------------------------------

class Tracing {
 public:
  Tracing(const TracedScene& scene, const TraceOptions& options, TracePlan plan)
      : scene_(scene),
        options_(options),
        plan_(std::move(plan)),
        progress_(options.watch,
                  double(scene.sources.size() * plan_.groups.size() * trace_batches) *
                      std::ceil(double(plan_.batch_rays) / double(chunk_rays))) {
    for (const Vec3 receiver : scene.receivers_m)
      radius_m_.push_back(std::min(options.radius_m, 0.999 * gap_m(scene, receiver)));
    report_.rays = plan_.batch_rays * trace_batches;
    report_.passes = static_cast<int>(plan_.groups.size());
    report_.seconds = plan_.seconds;
    report_.bin_s = plan_.bin_s;
    report_.image_order = order_of_images(scene, options.image_order);
    if (4 * report_.rays <= greatest_rays) report_.rays_to_halve_error = 4 * report_.rays;
  }

  Result<TraceReport> run() {
    for (std::size_t source = 0; source < scene_.sources.size(); ++source) {
      auto images = images_of(scene_, source, report_.image_order, options_.watch);
      if (!images.ok()) return images.mistakes();
      trace_source(source, *images);
      if (options_.watch.cancelled()) return trace_cancelled();
    }
    report_.lost_share = double(report_.lost) / double(report_.rays) /
                         double(scene_.sources.size() * plan_.groups.size());
    report_.mean_free_path_m = report_.bounces > 0 ? path_m_ / double(report_.bounces) : 0;
    return std::move(report_);
  }
  bool wants_longer() const { return wants_longer_; }

 private:
  void trace_source(std::size_t source, const std::vector<ImageReport>& images) {
    const Pattern pattern(scene_.sources[source].directivity, scene_.bands);
    std::vector<ExactPaths> exact;
    const std::size_t first_pair = report_.pairs.size();
    for (std::size_t r = 0; r < scene_.receivers_m.size(); ++r) {
      exact.push_back(exact_paths(scene_, pattern, scene_.sources[source].at_m,
                                  scene_.receivers_m[r], images[r]));
      TracedPair pair;
      pair.source = source;
      pair.receiver = r;
      pair.direct_clear = exact[r].direct_clear;
      pair.image_paths = exact[r].paths;
      pair.radius_m = radius_m_[r];
      for (std::size_t i = 0; i < exact[r].time_s.size(); ++i)
        pair.paths.push_back({exact[r].time_s[i], exact[r].energy[i]});
      pair.bands.resize(scene_.bands);
      report_.pairs.push_back(std::move(pair));
    }
    for (std::size_t group = 0; group < plan_.groups.size(); ++group) {
      const Pass pass = trace_group(source, pattern, group);
      if (options_.watch.cancelled()) return;
      for (std::size_t r = 0; r < exact.size(); ++r)
        read_pass(pass, exact[r], group, report_.pairs[first_pair + r]);
    }
  }

  Pass trace_group(std::size_t source, const Pattern& pattern, std::size_t group) {
    KernelScene kernel = kernel_scene(scene_, plan_.groups[group], radius_m_);
    TraceScene& scene = kernel.scene;
    scene.range_m = float(plan_.seconds * scene_.sound_speed_m_s);
    scene.bins_per_m = float(1 / (plan_.bin_s * scene_.sound_speed_m_s));
    scene.bins = static_cast<int>(plan_.bins);
    scene.image_order = report_.image_order;
    scene.least_weight = 1e-8f;
    scene.most_steps = static_cast<int>(1000 + 40 * plan_.seconds * scene_.sound_speed_m_s /
                                                   plan_.mean_free_path_m);
    scene.rain = options_.rain;
    Emission emission;
    emission.from = scene_.sources[source].at_m - kernel.middle_m;
    emission.pattern = &pattern;
    emission.bands = &plan_.groups[group];
    emission.rays = plan_.batch_rays;
    std::uint64_t state = options_.seed ^ (0xa0761d6478bd642fULL * (source + 1));
    emission.key = mixed(state);
    const Pass pass = run_pass(kernel, emission, options_, progress_);
    for (const TraceCount& count : pass.counts) {
      report_.bounces += count.bounces;
      report_.lost += count.lost;
      path_m_ += count.path_m;
    }
    return pass;
  }

  void read_pass(const Pass& pass, const ExactPaths& exact, std::size_t group, TracedPair& pair) {
    const auto& bands = plan_.groups[group];
    const double arrival = first_sound_s(scene_, exact, pass, plan_, pair.source, pair.receiver);
    if (group == 0 || arrival < pair.arrival_s) pair.arrival_s = arrival;
    for (std::size_t column = 0; column < bands.size(); ++column) {
      const std::size_t band = bands[column];
      const double air = scene_.air_energy_1_m.empty() ? 0 : scene_.air_energy_1_m[band];
      const auto batches =
          batches_of(pass, plan_, pair.receiver, column, air, scene_.sound_speed_m_s);
      if (fill_band(pair.bands[band], echogram_of(exact, batches, plan_, band, arrival), batches,
                    exact.direct_clear))
        wants_longer_ = true;
    }
  }

  const TracedScene& scene_;
  const TraceOptions& options_;
  TracePlan plan_;
  Progress progress_;
  std::vector<double> radius_m_;
  double path_m_ = 0;
  bool wants_longer_ = false;
  TraceReport report_;
};

}  // namespace

Result<TraceReport> trace(const TracedScene& scene, const TraceOptions& options) {
  if (Diagnostics wrong = wrong_trace_request(scene, options); !wrong.empty()) return wrong;
  TracePlan plan = plan_of(scene, options);
  Diagnostics found = too_much(scene, plan);
  check_image_order(scene, options.image_order, found);
  if (!found.empty()) return found;
  // Where sound rings longer than Eyring says, the time is doubled, twice at most.
  TraceOptions longer = options;
  for (int doubled = 0;; ++doubled) {
    Tracing tracing(scene, longer, plan);
    auto report = tracing.run();
    if (!report.ok()) return report;
    longer.seconds = 2 * plan.seconds;
    longer.watch.progress = nullptr;
    if (options.seconds == 0 && tracing.wants_longer() && doubled < 2 &&
        extent_of(scene).longest_s > 0 && longer.seconds <= greatest_trace_s) {
      plan = plan_of(scene, longer);
      if (too_much(scene, plan).empty()) continue;
    }
    options.watch.tick(1, "tracing rays");
    return report;
  }
}

}  // namespace roomwright::acoustics
