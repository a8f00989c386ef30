// The driven field of any room: checks what is asked, chooses the prisms, has the band solved and
// says what it is worth.
#include "acoustics/waves/solid_response.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/response_checks.h"
#include "acoustics/waves/solid_band.h"
#include "acoustics/waves/solid_values.h"

namespace roomwright::acoustics {

namespace {

using Value = std::complex<double>;
const double field_pi = std::acos(-1.0);
constexpr double most_graded_bytes = 2.5e8;  // of one factor, for near sources
/// Of a whole call: the mesh's matrices, the factors of all threads, the fields that each has in
/// hand, and the small model's functions, of which a mode asks for so many at most (by trial: 1.8
/// to 3.5).
constexpr double most_call_bytes = 9.5e8;
constexpr double functions_a_mode = 3.5;
constexpr double held_fields = 50;  // complex values for each unknown and thread
constexpr double least_modes_a_window = 30;
constexpr double most_solid_work = 4e13;  // complex products of a whole call
/// Of a mesh that keeps the claim from near_source_m on at every frequency (200 Hz in air of 343
/// m/s), and what a coarser one follows, wave number times distance: by trial,
/// docs/physics/waves.md.
constexpr double fine_enough_1_m = 3.66;
constexpr double follows_from = 4.5;
constexpr double least_claim_db = 0.1;       // with patches
constexpr double least_body_claim_db = 0.3;  // with objects

int degrees_for(const ResponseRequest& request, double accuracy_db) {
  int more = least_loss(request) < 0.004 && request.objects.empty() ? 1 : 0;
  if (accuracy_db < 0.2) ++more;
  if (accuracy_db < 0.06) ++more;
  return more;
}

/// A mesh, and how far from a source the claim holds on it.
struct Chosen {
  Result<SolidModel> model;
  FrontTree tree;  ///< of the model, where there is one
  double clear_m = near_source_m;
  const char* off = "4 dB";  ///< what a level nearer than that may be off by
  /// Of a graded mesh, straight above and below a source: there the functions of the height, of
  /// which there are fewer than of the plan, overshoot.
  double beside_m = 0;
};

double bytes_of(const FrontTree& tree) {
  return 4.0 * double(tree.factor_size) + tree.space_bytes();
}

/// The field of a point is as steep at 20 Hz as at 200: a mesh as wide as low frequencies allow
/// would not follow it for metres. So it is at least as fine as one for fine_enough_1_m, and graded
/// toward near sources, where either is to be had in the memory.
Chosen choose_mesh(const ResponseRequest& request, SolidAsk& ask, double most_bytes) {
  const double own = ask.wave_number_1_m, fine = std::max(own, fine_enough_1_m);
  const auto made = [&](double clear_m, const char* off) {
    Chosen out{make_solid(ask), {}, clear_m, off};
    if (out.model) out.tree = make_tree(*out.model);
    return out;
  };
  const auto fits = [](const Chosen& one, double most) {
    return one.model.ok() && bytes_of(one.tree) <= most;
  };
  if (!ask.near_sources_m.empty()) {
    // Its own wave number is enough where every source is graded for.
    const bool all_near = ask.near_sources_m.size() == request.sources.size();
    for (const double k : {fine, own}) {
      if (k != fine && !all_near) continue;
      ask.wave_number_1_m = k;
      if (Chosen one = made(0.4, "1 dB"); fits(one, most_graded_bytes)) {
        one.beside_m = 0.2;
        return one;
      }
      if (own >= fine) break;  // the second would be the same
    }
    ask.near_sources_m.clear();
  }
  ask.wave_number_1_m = fine;
  if (fine > own)
    if (Chosen one = made(near_source_m, "4 dB"); fits(one, most_bytes)) return one;
  ask.wave_number_1_m = own;
  return fine > own ? made(std::max(near_source_m, follows_from / own), "6 dB")
                    : made(near_source_m, "4 dB");
}

/// Where the field of a point is steeper than the mesh follows.
void warn_of_near(const ResponseRequest& request, std::size_t source, const Chosen& chosen,
                  ResponseReport& report) {
  const double clear = chosen.clear_m;
  for (std::size_t r = 0; r < request.receivers_m.size() && report.warnings.size() < 100; ++r) {
    const Vec3 from = request.receivers_m[r] - request.sources[source].at_m;
    const double away = length(from), beside = std::hypot(from.x, from.y);
    if (away >= clear && beside < chosen.beside_m)
      report.warnings.push_back(
          {"receivers_m[" + std::to_string(r) + "]",
           "stands so nearly above or below sources[" + std::to_string(source) +
               "] that its level may be off by 2 dB",
           beside, "from " + fixed(chosen.beside_m, 1) + " m beside it on the claim holds", 0});
    if (away < clear)
      report.warnings.push_back({"receivers_m[" + std::to_string(r) + "]",
                                 "lies so near sources[" + std::to_string(source) +
                                     "] that its level may be off by " + chosen.off,
                                 away, "from " + fixed(clear, 1) + " m on the claim holds", 0});
  }
}

Complaint too_large(double bytes, double most, const std::string& of) {
  return {"frequencies_hz",
          "ask for " + fixed(bytes / 1e6, 0) + " MB " + of + "; at most " + fixed(most / 1e6, 0),
          {},
          "a lower greatest frequency, or a smaller room",
          0};
}

/// As wide windows as the memory allows beside one factor, then as many threads.
std::optional<Complaint> share_memory(const FrontTree& tree, int wanted_threads, SolidTask& task) {
  const double unknowns = task.model.unknowns();
  // The last and widest front's space is touched to about a half.
  const double thread =
      4 * double(tree.factor_size) + tree.space_bytes() + 16 * held_fields * unknowns;
  const double mode = 8 * functions_a_mode * unknowns, most = most_call_bytes - task.model.bytes();
  const double modes = (most - thread) / mode;
  if (modes < least_modes_a_window)
    return too_large(thread + mode * least_modes_a_window, most, "beside the mesh");
  task.most_modes = std::min(task.most_modes, modes);
  const auto [low, high] =
      std::minmax_element(task.request.frequencies_hz.begin(), task.request.frequencies_hz.end());
  const auto below = [&](double hz) {
    return mode_count_estimate(task.request.room, task.request.sound_speed_m_s, hz);
  };
  const double asked = std::min(task.most_modes, below(*high) - below(*low));
  task.threads = std::clamp(static_cast<int>((most - mode * asked) / thread), 1, wanted_threads);
  return std::nullopt;
}

std::vector<Vec3> near_sources(const ResponseRequest& request) {
  std::vector<Vec3> out;
  for (const ResponseSource& source : request.sources)
    if (std::any_of(request.receivers_m.begin(), request.receivers_m.end(),
                    [&](const Vec3& at) { return length(source.at_m - at) < near_source_m; }))
      out.push_back(source.at_m);
  return out;
}

std::string method_text(const SolidModel& model, const SolidBand& solved) {
  int plan = 0, height = 0;
  for (const SolidColumn& column : model.columns)
    for (const TriangleShape& shape : column.shapes) plan = std::max(plan, shape.order);
  for (const SolidLayer& layer : model.layers) height = std::max(height, layer.degree);
  std::string out = "prisms over " + std::to_string(model.columns.size()) +
                    " triangles of the plan, degree up to " + std::to_string(plan) +
                    " across and " + std::to_string(height) + " up; " +
                    std::to_string(solved.outright) + " frequencies solved outright";
  if (solved.windows > 0)
    out += ", the others by a small model of up to " + std::to_string(solved.small) +
           " functions held against them";
  return out;
}

}  // namespace

Diagnostics wrong_solid_request(const ResponseRequest& request) {
  Diagnostics found;
  check_lists(request, found);
  if (!found.empty()) return found;
  check_air(request, found);
  check_points(request, found);
  check_boundaries(request, found);
  found.add_all(wrong_objects(request.room, request.objects, request.patches));
  for (std::size_t o = 0; o < request.objects.size(); ++o)
    for (std::size_t s = 0; s < request.objects[o].slabs.size(); ++s) {
      const FluidSlab& slab = request.objects[o].slabs[s];
      for (const auto* values : {&slab.density, &slab.compressibility})
        if (values->size() != 1 && values->size() != request.frequencies_hz.size()) {
          found.add("objects[" + std::to_string(o) + "].layers[" + std::to_string(s) + "]",
                    "must have one value, or one for each frequency", double(values->size()));
          break;
        }
    }
  return found;
}

Result<SolidReports> solve_solid(const ResponseRequest& request, const SolidOptions& options,
                                 const Watch& watch) {
  Diagnostics found = options.common.check();
  found.add_all(wrong_solid_request(request));
  const FrontKernel* kernel = front_kernel_of(options.common.width);
  if (!kernel) found.add("width", "is not to be had on this processor", {}, "ask for the fastest");
  if (!found.empty()) return found;
  watch.tick(0, "mesh");
  const double top =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  SolidAsk ask{request.room,
               request.patches,
               request.objects,
               2 * field_pi * top / request.sound_speed_m_s,
               slowness(request),
               near_sources(request),
               degrees_for(request, options.common.accuracy_db) + options.more_degrees,
               options.fine_bodies || request.objects.empty(),
               fluids_of(request).of_slab};
  if (!options.stretches.empty()) ask.stretch_along = options.stretches[0].along;
  if (options.fine_bodies) ask.one_level_m = plan_snap_m, ask.slit_step = 0.6;
  Chosen chosen = choose_mesh(request, ask, most_solid_bytes);
  auto& model = chosen.model;
  if (!model) return model.mistakes();
  const FrontTree& tree = chosen.tree;
  const double bytes = bytes_of(tree);
  if (bytes > most_solid_bytes) return too_large(bytes, most_solid_bytes, "for one frequency");
  SolidTask task{request,
                 *model,
                 tree,
                 *kernel,
                 {},
                 1,
                 options.common.accuracy_db / 8.7,
                 watch,
                 fluids_of(request),
                 options.variants};
  for (const RoomStretch& one : options.stretches)
    task.stretches.push_back(stretch_weights(request, one));
  const int wanted = options.common.threads > 0 ? options.common.threads : default_threads();
  if (auto complaint = share_memory(tree, wanted, task)) return *complaint;
  const auto place = [&](Vec3 at, const std::string& where) {
    auto point = model->point(at);
    if (point)
      task.loads.push_back(std::move(*point));
    else
      found.add(where, "is outside the room", {}, "keep it between the walls");
  };
  for (std::size_t s = 0; s < request.sources.size(); ++s) {
    const std::string where = "sources[" + std::to_string(s) + "].at_m";
    place(request.sources[s].at_m, where);
    if (model->material_at(request.sources[s].at_m) != 0)
      found.add(where, "lies inside an object", {}, "move it into the air");
  }
  for (std::size_t r = 0; r < request.receivers_m.size(); ++r)
    place(request.receivers_m[r], "receivers_m[" + std::to_string(r) + "]");
  if (!found.empty()) return found;
  if (const double work = tree.work * std::min(double(request.frequencies_hz.size()),
                                               20 * double(solid_windows(task).size()));
      work > most_solid_work)
    return Complaint{"frequencies_hz", "ask for more work than one call may do", work,
                     "fewer or lower frequencies", 0};

  const SolidBand solved = solve_band(task, options.every_outright);
  if (watch.cancelled()) return Complaint{"response", "was cancelled", {}, "start it again", 0};
  std::vector<ResponseReport> out(request.sources.size());
  for (std::size_t s = 0; s < out.size(); ++s) {
    ResponseReport& report = out[s];
    report.method = method_text(*model, solved);
    report.unknowns = model->unknowns();
    report.accuracy_db =
        request.patches.empty() && request.objects.empty()
            ? options.common.accuracy_db
            : std::max(request.objects.empty() ? least_claim_db : least_body_claim_db,
                       options.common.accuracy_db);
    warn_of_near(request, s, chosen, report);
    if (is_lossless(request))
      report.warnings.push_back({"surfaces",
                                 "lose nothing: at a mode the field has no bound; given as if they "
                                 "had an admittance of 1e-10",
                                 {},
                                 "give the walls what they absorb",
                                 0});
    const double strength = request.sources[s].volume_acceleration_m3_s2 * request.density_kg_m3;
    report.pressure_pa.assign(request.receivers_m.size(),
                              std::vector<Value>(request.frequencies_hz.size()));
    for (std::size_t i = 0; i < request.frequencies_hz.size(); ++i) {
      if (solved.answers.broken[i]) {
        found.add("frequencies_hz[" + std::to_string(i) + "]", "has no finite answer",
                  request.frequencies_hz[i], "give some surface a real part above 0");
        break;
      }
      for (std::size_t r = 0; r < request.receivers_m.size(); ++r)
        report.pressure_pa[r][i] = strength * solved.answers.at[i](static_cast<Eigen::Index>(r),
                                                                   static_cast<Eigen::Index>(s));
    }
  }
  if (!found.empty()) return found;
  return SolidReports{std::move(out), solved.off};
}

Result<std::vector<ResponseReport>> solid_responses(const ResponseRequest& request,
                                                    const SolidOptions& options,
                                                    const Watch& watch) {
  auto solved = solve_solid(request, options, watch);
  if (!solved) return solved.mistakes();
  return std::move(solved->by_source);
}

bool wants_solid(const ResponseRequest& request) {
  return !is_box(request.room) || !request.objects.empty();
}

Result<ResponseReport> solid_response(const ResponseRequest& request,
                                      const ResponseOptions& options, const Watch& watch) {
  auto each = solid_responses(request, {options, 0, false}, watch);
  if (!each) return each.mistakes();
  ResponseReport sum = std::move(each->front());
  for (std::size_t s = 1; s < each->size(); ++s)
    for (std::size_t r = 0; r < sum.pressure_pa.size(); ++r)
      for (std::size_t i = 0; i < sum.pressure_pa[r].size(); ++i)
        sum.pressure_pa[r][i] += (*each)[s].pressure_pa[r][i];
  return sum;
}

Result<std::vector<Value>> solid_map(const ResponseRequest& request, double hz, const MapGrid& grid,
                                     const ResponseOptions& options, const Watch& watch) {
  ResponseRequest at = request;
  at.frequencies_hz = {hz};
  at.receivers_m.clear();
  std::vector<std::size_t> index;
  for (int j = 0; j < grid.count_two; ++j)
    for (int i = 0; i < grid.count_one; ++i) {
      Vec3 point = grid.at_m + grid.step_one_m * i + grid.step_two_m * j;
      for (const ResponseSource& source : at.sources)
        if (length(point - source.at_m) < 1.5e-3) {
          point.x += 2e-3;
          if (!contains(at.room, point)) point.x -= 4e-3;
        }
      if (!contains(at.room, point, -1e-9)) continue;
      index.push_back(static_cast<std::size_t>(j) * static_cast<std::size_t>(grid.count_one) +
                      static_cast<std::size_t>(i));
      at.receivers_m.push_back(point);
    }
  std::vector<Value> out(static_cast<std::size_t>(grid.count_one) *
                         static_cast<std::size_t>(grid.count_two));
  if (index.empty()) return out;
  const auto report = solid_response(at, options, watch);
  if (!report) return report.mistakes();
  for (std::size_t r = 0; r < index.size(); ++r) out[index[r]] = report->pressure_pa[r][0];
  return out;
}

}  // namespace roomwright::acoustics
