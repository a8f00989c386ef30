// The driven field of any room: checks what is asked, builds the prisms, solves some frequencies
// outright and the others by the small model, which is held against each new outright solution
// until it keeps the accuracy.
#include "acoustics/waves/solid_response.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <numeric>

#include "acoustics/waves/response_checks.h"
#include "acoustics/waves/solid_reduce.h"

namespace roomwright::acoustics {

namespace {

using Value = std::complex<double>;
using Fields = Eigen::MatrixXcd;
const double field_pi = std::acos(-1.0);
constexpr double most_graded_bytes = 4e8;  // of one factor, for near sources
/// Of one factor, for objects under a slope: there every function of the height meets every other,
/// and putting the matrices together takes longer than solving them.
constexpr double most_sloped_bytes = 4e8;
constexpr double most_shared_bytes = 8e8;   // of the factors of all threads
constexpr double most_solid_work = 4e13;    // complex products of a whole call
constexpr double slowest_followed = 2;      // times shorter than air's: meshes keep to no more
constexpr std::size_t most_loads = 12;      // whose fields make the small model
constexpr std::size_t few_frequencies = 8;  // are solved outright
/// Of a mesh that keeps the claim from near_source_m on at every frequency (200 Hz in air of 343
/// m/s), and what a coarser one follows, wave number times distance: by trial,
/// docs/physics/waves.md.
constexpr double fine_enough_1_m = 3.66;
constexpr double follows_from = 4.5;
constexpr double least_claim_db = 0.1;       // with patches
constexpr double least_body_claim_db = 0.3;  // with objects

Value at_index(const Admittance& values, std::size_t i) {
  return values[values.size() == 1 ? 0 : i];
}

bool is_lossless(const ResponseRequest& request) {
  const auto lossy = [](const Admittance& values) {
    return std::any_of(values.begin(), values.end(), [](Value v) { return v.real() > 1e-9; });
  };
  return request.objects.empty() &&
         std::none_of(request.surfaces.begin(), request.surfaces.end(), lossy) &&
         std::none_of(request.patches.begin(), request.patches.end(),
                      [&](const ResponsePatch& p) { return lossy(p.admittance); });
}

/// The least share of the power that falls on all surfaces and is lost, for the frequency that
/// loses least: a room that loses little needs its modes placed more exactly.
double least_loss(const ResponseRequest& request) {
  double least = 1;
  for (std::size_t i = 0; i < request.frequencies_hz.size(); ++i) {
    double sum = 0;
    for (std::size_t s = 0; s < request.surfaces.size(); ++s)
      if (!request.surfaces[s].empty())
        sum += surface_area_m2(request.room, static_cast<int>(s)) *
               at_index(request.surfaces[s], i).real();
    for (const ResponsePatch& patch : request.patches) {
      const Vec2 size = patch.area.to_m - patch.area.from_m;
      sum += std::abs(size.x * size.y) * std::min(1.0, at_index(patch.admittance, i).real());
    }
    least = std::min(least, sum / total_area_m2(request.room));
  }
  return least;
}

/// The fluids of the objects' slabs, each once, and which of them each slab is (from 1).
struct Fluids {
  std::vector<const FluidSlab*> all;
  std::vector<int> of_slab;
};
Fluids fluids_of(const ResponseRequest& request) {
  Fluids out;
  for (const ResponseObject& object : request.objects)
    for (const FluidSlab& slab : object.slabs) {
      const auto same = std::find_if(out.all.begin(), out.all.end(), [&](const FluidSlab* known) {
        return known->density == slab.density && known->compressibility == slab.compressibility;
      });
      out.of_slab.push_back(static_cast<int>(same - out.all.begin()) + 1);
      if (same == out.all.end()) out.all.push_back(&slab);
    }
  return out;
}

SolidValues values_at(const ResponseRequest& request, std::size_t i) {
  SolidValues out;
  const double k = 2 * field_pi * request.frequencies_hz[i] / request.sound_speed_m_s;
  out.inverse_density = {1};
  out.stiffness = {k * k};
  for (const FluidSlab* fluid : fluids_of(request).all) {
    out.inverse_density.push_back(1.0 / at_index(fluid->density, i));
    out.stiffness.push_back(k * k * at_index(fluid->compressibility, i));
  }
  const auto surfaces = static_cast<std::size_t>(surface_count(request.room));
  const bool lossless = is_lossless(request);
  std::vector<Value> wall(surfaces, 0);
  for (std::size_t s = 0; s < surfaces; ++s) {
    if (s < request.surfaces.size() && !request.surfaces[s].empty())
      wall[s] = at_index(request.surfaces[s], i);
    if (lossless && wall[s].real() < least_admittance) wall[s] += least_admittance;
  }
  const Value turn{0, k};
  for (const Value& beta : wall) out.boundary.push_back(turn * beta);
  for (const ResponsePatch& patch : request.patches)
    out.boundary.push_back(turn * (at_index(patch.admittance, i) -
                                   wall[static_cast<std::size_t>(patch.area.surface)]));
  return out;
}

/// By material, the greatest |√(ρκ)| over the frequencies, weighted by their share of the greatest:
/// how much shorter than in air its waves are at the top of the band.
std::vector<double> slowness(const ResponseRequest& request) {
  const double top =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  std::vector<double> out{1};
  for (const FluidSlab* fluid : fluids_of(request).all) {
    double most = 0;
    for (std::size_t i = 0; i < request.frequencies_hz.size(); ++i)
      most = std::max(most, request.frequencies_hz[i] / top *
                                std::sqrt(std::abs(at_index(fluid->density, i) *
                                                   at_index(fluid->compressibility, i))));
    // Along a slab its field follows the air's; only across it do its own short waves stand, and
    // those die away within a few of them.
    out.push_back(std::clamp(most, 0.3, slowest_followed));
  }
  return out;
}

int degrees_for(const ResponseRequest& request, double accuracy_db) {
  int more = least_loss(request) < 0.004 && request.objects.empty() ? 1 : 0;
  if (accuracy_db < 0.2) ++more;
  if (accuracy_db < 0.06) ++more;
  return more;
}

/// A mesh, and how far from a source the claim holds on it.
struct Chosen {
  Result<SolidModel> model;
  double clear_m = near_source_m;
  const char* off = "4 dB";  ///< what a level nearer than that may be off by
};

double bytes_of(const FrontTree& tree) {
  return 8.0 * double(tree.factor_size) + tree.space_bytes;
}

/// The field of a point is as steep at 20 Hz as at 200: a mesh as wide as low frequencies allow
/// would not follow it for metres. So it is at least as fine as one for fine_enough_1_m, and graded
/// toward near sources, where either is to be had in the memory.
Chosen choose_mesh(const ResponseRequest& request, SolidAsk& ask, double most_bytes) {
  const double own = ask.wave_number_1_m, fine = std::max(own, fine_enough_1_m);
  const auto fits = [&](double most) {
    auto model = make_solid(ask);
    if (model && bytes_of(make_tree(*model)) > most)
      model = Complaint{"frequencies_hz", "ask for too much memory", {}, "", 0};
    return model;
  };
  if (!ask.near_sources_m.empty()) {
    // Its own wave number is enough where every source is graded for.
    const bool all_near = ask.near_sources_m.size() == request.sources.size();
    for (const double k : {fine, own}) {
      if (k != fine && !all_near) continue;
      ask.wave_number_1_m = k;
      if (auto model = fits(most_graded_bytes); model.ok()) return {std::move(model), 0.4, "1 dB"};
    }
    ask.near_sources_m.clear();
  }
  ask.wave_number_1_m = fine;
  if (fine > own)
    if (auto model = fits(most_bytes); model.ok()) return {std::move(model)};
  ask.wave_number_1_m = own;
  return {make_solid(ask), fine > own ? std::max(near_source_m, follows_from / own) : near_source_m,
          fine > own ? "6 dB" : "4 dB"};
}

/// Where the field of a point is steeper than the mesh follows.
void warn_of_near(const ResponseRequest& request, std::size_t source, const Chosen& chosen,
                  ResponseReport& report) {
  const double clear = chosen.clear_m;
  for (std::size_t r = 0; r < request.receivers_m.size() && report.warnings.size() < 100; ++r) {
    const double away = length(request.receivers_m[r] - request.sources[source].at_m);
    if (away < clear)
      report.warnings.push_back({"receivers_m[" + std::to_string(r) + "]",
                                 "lies so near sources[" + std::to_string(source) +
                                     "] that its level may be off by " + chosen.off,
                                 away, "from " + fixed(clear, 1) + " m on the claim holds", 0});
  }
}

std::vector<Vec3> near_sources(const ResponseRequest& request) {
  std::vector<Vec3> out;
  for (const ResponseSource& source : request.sources)
    if (std::any_of(request.receivers_m.begin(), request.receivers_m.end(),
                    [&](const Vec3& at) { return length(source.at_m - at) < near_source_m; }))
      out.push_back(source.at_m);
  return out;
}

// ---- one band
// ------------------------------------------------------------------------------------

/// A source or receiver by its unknowns, and the pressures that are looked for.
struct Task {
  const ResponseRequest& request;
  const SolidModel& model;
  const FrontTree& tree;
  const FrontKernel& kernel;
  std::vector<SolidPoint> loads;  ///< sources, then receivers
  int threads = 1;
  /// Of the small model against an outright solution that it has not seen. That solution then joins
  /// it, and what was so far off falls by powers of ten (waves_solid_test.cpp).
  double tolerance = 0;
  const Watch& watch;
  std::size_t sources() const { return request.sources.size(); }
  std::size_t receivers() const { return request.receivers_m.size(); }
};

/// By frequency: receivers by sources, of unit strength.
struct Answers {
  std::vector<Fields> at;
  std::vector<char> done, outright, broken;
};

class Progress {
 public:
  Progress(const Watch& watch, double most) : watch_(watch), most_(most) {}
  void step(double amount, const char* doing) {
    const std::lock_guard lock(mutex_);
    done_ += amount;
    const int now = static_cast<int>(50 * std::min(1.0, done_ / most_));
    if (now == told_) return;
    told_ = now;
    watch_.tick(std::min(0.99, done_ / most_), doing);
  }

 private:
  const Watch& watch_;
  double most_, done_ = 0;
  int told_ = -1;
  std::mutex mutex_;
};

Fields at_receivers(const Task& task, const Fields& field) {
  Fields out(static_cast<Eigen::Index>(task.receivers()),
             static_cast<Eigen::Index>(task.sources()));
  for (std::size_t s = 0; s < task.sources(); ++s)
    for (std::size_t r = 0; r < task.receivers(); ++r)
      out(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(s)) =
          at_load(field, static_cast<Eigen::Index>(s), task.loads[task.sources() + r]);
  return out;
}

/// Solves a frequency outright. For the small model also the fields of some receivers, and moments.
Fields outright(const Task& task, std::size_t i, FrontFactor& factor, int moments,
                Answers& answers) {
  answers.done[i] = answers.outright[i] = 1;
  if (factor.eliminate(values_at(task.request, i), task.watch) == 0) {
    answers.broken[i] = 1;
    return {};
  }
  const std::size_t extra =
      moments == 0
          ? 0
          : std::min(task.receivers(),
                     std::max<std::size_t>(2, most_loads - std::min(most_loads, task.sources())));
  Fields x = load_matrix(task.model, task.loads, task.sources() + extra);
  factor.solve(x);
  answers.at[i] = at_receivers(task, x);
  if (moments == 0) return {};
  const Eigen::Index block = x.cols();
  Fields all(x.rows(), block * moments);
  for (int m = 0; m < moments; ++m) {
    if (task.watch.cancelled()) {
      answers.broken[i] = 1;
      return {};
    }
    if (m > 0) {
      Eigen::MatrixXd both(x.rows(), 2 * block);
      both << x.real(), x.imag();
      both = apply_mass(task.model, 0, both);
      x.real() = both.leftCols(block);
      x.imag() = both.rightCols(block);
      for (Eigen::Index c = 0; c < block; ++c)
        if (const double size = x.col(c).norm(); size > 0) x.col(c) /= size;
      factor.solve(x);
    }
    all.middleCols(m * block, block) = x;
  }
  return all;
}

std::vector<std::size_t> in_order(const std::vector<double>& hz) {
  std::vector<std::size_t> order(hz.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return hz[a] < hz[b]; });
  return order;
}

/// The frequencies order[from … to) by one small model.
class Window {
 public:
  Window(const Task& task, std::vector<std::size_t> order, Answers& answers, Progress& progress)
      : task_(task),
        order_(std::move(order)),
        answers_(answers),
        progress_(progress),
        basis_(task.model,
               2 * field_pi * task.request.frequencies_hz[order_.back()] /
                   task.request.sound_speed_m_s,
               task.loads) {}

  int size() const { return basis_.size(); }
  int solved() const { return solved_; }

  /// moments: of each outright solution; starts: how many of those at first.
  void run(int moments, std::size_t starts) {
    moments_ = moments;
    const std::vector<std::size_t> points = spread(starts);
    solve(points, false);
    struct Gap {
      std::size_t from, to;
      double expected;  ///< error, or for one between starts a number above all errors
    };
    std::vector<Gap> gaps;
    for (std::size_t p = 0; p + 1 < points.size(); ++p)
      if (points[p + 1] > points[p] + 1)
        gaps.push_back({points[p], points[p + 1], 1e9 + double(p)});
    // The two worst gaps at a time; the model is one, so where those are bridged all are.
    while (!gaps.empty() && !task_.watch.cancelled()) {
      std::stable_sort(gaps.begin(), gaps.end(),
                       [](const Gap& a, const Gap& b) { return a.expected > b.expected; });
      const std::size_t count = std::min<std::size_t>(2, gaps.size());
      std::vector<std::size_t> middles;
      for (std::size_t g = 0; g < count; ++g) middles.push_back((gaps[g].from + gaps[g].to) / 2);
      const std::vector<double> error = solve(middles, true);
      if (*std::max_element(error.begin(), error.end()) <= task_.tolerance) break;
      const std::vector<Gap> tested(gaps.begin(),
                                    gaps.begin() + static_cast<std::ptrdiff_t>(count));
      gaps.erase(gaps.begin(), gaps.begin() + static_cast<std::ptrdiff_t>(count));
      for (std::size_t g = 0; g < count; ++g)
        for (const auto& half : {std::pair{tested[g].from, middles[g]}, {middles[g], tested[g].to}})
          if (half.second > half.first + 1) gaps.push_back({half.first, half.second, error[g]});
    }
    rest();
  }

 private:
  /// Places in the order, from first to last, between which about as many modes lie.
  std::vector<std::size_t> spread(std::size_t count) const {
    const auto measure = [&](std::size_t place) {
      const double hz = task_.request.frequencies_hz[order_[place]];
      return mode_count_estimate(task_.request.room, task_.request.sound_speed_m_s, hz) + 0.05 * hz;
    };
    const double from = measure(0), to = measure(order_.size() - 1);
    std::vector<std::size_t> out{0};
    std::size_t place = 0;
    for (std::size_t p = 1; p < count; ++p) {
      const double wanted = from + (to - from) * double(p) / double(count - 1);
      while (place + 1 < order_.size() && measure(place) < wanted) ++place;
      if (place > out.back()) out.push_back(place);
    }
    if (out.back() + 1 < order_.size()) out.push_back(order_.size() - 1);
    return out;
  }

  /// How far the small model is from an outright solution, against the level there or, in a dip,
  /// against a hundredth of the greatest of that receiver so far.
  double difference(const Fields& small, const Fields& exact) const {
    double worst = 0;
    for (Eigen::Index s = 0; s < exact.cols(); ++s)
      for (Eigen::Index r = 0; r < exact.rows(); ++r) {
        double greatest = 0;
        for (const std::size_t i : order_)
          if (answers_.outright[i] && !answers_.broken[i])
            greatest = std::max(greatest, std::abs(answers_.at[i](r, s)));
        worst = std::max(worst, std::abs(small(r, s) - exact(r, s)) /
                                    std::max(std::abs(exact(r, s)), 0.01 * greatest));
      }
    return worst;
  }

  Fields small_at(std::size_t i) const {
    Fields at;
    const auto sources = static_cast<Eigen::Index>(task_.sources());
    if (!basis_.solve(values_at(task_.request, i), static_cast<int>(sources), task_.kernel, at))
      return {};
    return at.bottomRows(at.rows() - sources);
  }

  std::vector<double> solve(const std::vector<std::size_t>& points, bool compare) {
    std::vector<double> error(points.size(), 0);
    std::vector<std::size_t> fresh;  // of `points`
    for (std::size_t p = 0; p < points.size(); ++p)
      if (!answers_.outright[order_[points[p]]]) fresh.push_back(p);
    const std::size_t workers = std::min(fresh.size(), static_cast<std::size_t>(task_.threads));
    // Two at a time whatever the threads: the basis grows in the same order.
    constexpr std::size_t together = 2;
    for (std::size_t from = 0; from < fresh.size() && !task_.watch.cancelled(); from += together) {
      const std::size_t count = std::min(together, fresh.size() - from);
      std::vector<Fields> fields(count), small(count);
      parallel_for(count, static_cast<int>(std::max<std::size_t>(1, workers)), [&](std::size_t c) {
        const std::size_t i = order_[points[fresh[from + c]]];
        if (compare) small[c] = small_at(i);
        FrontFactor factor(task_.model, task_.tree, task_.kernel);
        fields[c] = outright(task_, i, factor, moments_, answers_);
        progress_.step(1, "frequencies solved outright");
      });
      for (std::size_t c = 0; c < count; ++c) {
        const std::size_t i = order_[points[fresh[from + c]]];
        ++solved_;
        if (answers_.broken[i]) continue;
        if (compare)
          error[fresh[from + c]] = small[c].size() == 0 ? 1 : difference(small[c], answers_.at[i]);
        basis_.add(fields[c], task_.threads);
      }
    }
    return error;
  }

  void rest() {
    std::vector<std::size_t> open;
    for (const std::size_t i : order_)
      if (!answers_.done[i]) open.push_back(i);
    parallel_for(open.size(), task_.threads, [&](std::size_t o) {
      if (task_.watch.cancelled()) return;
      const std::size_t i = open[o];
      answers_.at[i] = small_at(i);
      answers_.done[i] = 1;
      if (answers_.at[i].size() == 0) answers_.broken[i] = 1;
      progress_.step(0.03, "frequencies of the small model");
    });
  }

  const Task& task_;
  std::vector<std::size_t> order_;
  Answers& answers_;
  Progress& progress_;
  SolidBasis basis_;
  int moments_ = 1, solved_ = 0;
};

struct Solved {
  Answers answers;
  int outright = 0, small = 0, windows = 0;
};

/// Bands of at most so many modes each share a small model.
constexpr double modes_a_window = 170;

std::vector<std::vector<std::size_t>> windows_of(const Task& task) {
  const std::vector<std::size_t> order = in_order(task.request.frequencies_hz);
  const auto modes = [&](std::size_t i) {
    return mode_count_estimate(task.request.room, task.request.sound_speed_m_s,
                               task.request.frequencies_hz[i]);
  };
  const double from = modes(order.front()), to = modes(order.back());
  const int count = std::max(1, static_cast<int>(std::ceil((to - from) / modes_a_window)));
  std::vector<std::vector<std::size_t>> out(static_cast<std::size_t>(count));
  for (const std::size_t i : order) {
    const double share = count == 1 ? 0 : (modes(i) - from) / std::max(1e-9, to - from) * count;
    out[static_cast<std::size_t>(std::clamp(static_cast<int>(share), 0, count - 1))].push_back(i);
  }
  out.erase(std::remove_if(out.begin(), out.end(), [](const auto& w) { return w.empty(); }),
            out.end());
  return out;
}

void every_outright(const Task& task, const std::vector<std::size_t>& window, Answers& answers,
                    Progress& progress) {
  parallel_for(window.size(), task.threads, [&](std::size_t w) {
    if (task.watch.cancelled()) return;
    FrontFactor factor(task.model, task.tree, task.kernel);
    outright(task, window[w], factor, 0, answers);
    progress.step(1, "frequencies solved outright");
  });
}

Solved solve_all(const Task& task, bool all_outright) {
  Solved out;
  const std::size_t count = task.request.frequencies_hz.size();
  out.answers.at.resize(count);
  out.answers.done.assign(count, 0);
  out.answers.outright = out.answers.broken = out.answers.done;
  const auto windows = windows_of(task);
  Progress progress(task.watch, double(windows.size()) * 10 + 0.03 * double(count));
  for (const auto& window : windows) {
    if (task.watch.cancelled()) break;
    if (all_outright || window.size() <= few_frequencies) {
      every_outright(task, window, out.answers, progress);
      out.outright += static_cast<int>(window.size());
      continue;
    }
    const double hz0 = task.request.frequencies_hz[window.front()];
    const double hz1 = task.request.frequencies_hz[window.back()];
    const double speed = task.request.sound_speed_m_s;
    const double modes = mode_count_estimate(task.request.room, speed, hz1) -
                         mode_count_estimate(task.request.room, speed, hz0);
    const std::size_t starts = 4;
    const double block = 2.0 * double(std::min(most_loads, task.sources() + task.receivers()));
    const int moments = std::clamp(
        static_cast<int>(std::ceil((1.3 * modes + 40) / (double(starts) * block))), 1, 8);
    Window one(task, window, out.answers, progress);
    one.run(moments, starts);
    out.outright += one.solved();
    out.small = std::max(out.small, one.size());
    ++out.windows;
  }
  return out;
}

std::string method_text(const SolidModel& model, const Solved& solved) {
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

Complaint too_large(double bytes, double most) {
  return {
      "frequencies_hz",
      "ask for " + fixed(bytes / 1e6, 0) + " MB for one frequency; at most " + fixed(most / 1e6, 0),
      {},
      "a lower greatest frequency, or a smaller room",
      0};
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

Result<std::vector<ResponseReport>> solid_responses(const ResponseRequest& request,
                                                    const SolidOptions& options,
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
  if (options.fine_bodies) ask.one_level_m = plan_snap_m, ask.slit_step = 0.6;
  const bool slow = !request.room.flat() && !request.objects.empty();
  Chosen chosen = choose_mesh(request, ask, slow ? most_sloped_bytes : most_solid_bytes);
  auto& model = chosen.model;
  if (!model) return model.mistakes();
  const FrontTree tree = make_tree(*model);
  const double bytes = bytes_of(tree);
  if (const double most = slow ? most_sloped_bytes : most_solid_bytes; bytes > most)
    return too_large(bytes, most);
  Task task{request, *model, tree, *kernel, {}, 1, options.common.accuracy_db / 8.7, watch};
  const int wanted = options.common.threads > 0 ? options.common.threads : default_threads();
  task.threads = std::clamp(static_cast<int>(most_shared_bytes / bytes), 1, wanted);
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
                                               20 * double(windows_of(task).size()));
      work > most_solid_work)
    return Complaint{"frequencies_hz", "ask for more work than one call may do", work,
                     "fewer or lower frequencies", 0};

  const Solved solved = solve_all(task, options.every_outright);
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
  return out;
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
