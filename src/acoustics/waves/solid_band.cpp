// The frequencies of a band; see solid_band.h.
#include "acoustics/waves/solid_band.h"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <numeric>

#include "acoustics/waves/solid_family.h"
#include "acoustics/waves/solid_reduce.h"

namespace roomwright::acoustics {

namespace {

using Fields = Eigen::MatrixXcd;
constexpr std::size_t most_loads = 12;      // whose fields make the small model
constexpr std::size_t few_frequencies = 8;  // are solved outright
/// More sources than that: some make the small model, which gives the others at every frequency.
constexpr std::size_t many_sources = 24, spread_sources_of_band = 8, other_sources = 4,
                      other_receivers = 4;
/// At the lowest of those frequencies so many: close to a source its field hardly moves with
/// frequency, and no other source's shows it.
constexpr std::size_t first_sources = 64;

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

/// Sources that are solved outright for the small model, and a few receivers.
struct Picked {
  std::vector<std::size_t> sources, receivers;
};
/// All sources, or, where they are many, some spread evenly over the list: those of the small model
/// and others at each turn, whose fields it has not seen.
Picked pick(const SolidTask& task, std::size_t turn) {
  Picked out;
  const std::size_t sources = task.sources();
  if (sources <= many_sources) {
    for (std::size_t s = 0; s < sources; ++s) out.sources.push_back(s);
  } else {
    std::vector<char> taken(sources, 0);
    const std::size_t spread =
        turn == 0 ? std::min(first_sources, sources) : spread_sources_of_band;
    for (std::size_t p = 0; p < spread; ++p) taken[p * sources / spread] = 1;
    for (std::size_t p = 0; p < other_sources && turn > 0; ++p) {
      std::size_t s = (p * sources / other_sources + 7 * turn + 3) % sources;
      while (taken[s]) s = (s + 1) % sources;
      taken[s] = 1;
    }
    for (std::size_t s = 0; s < sources; ++s)
      if (taken[s]) out.sources.push_back(s);
  }
  const bool many = sources > many_sources;
  const std::size_t extra =
      std::min(task.receivers(),
               many ? other_receivers
                    : std::max<std::size_t>(2, most_loads - std::min(most_loads, sources)));
  for (std::size_t r = 0; r < extra; ++r)
    out.receivers.push_back(many ? r * task.receivers() / extra : r);
  return out;
}

Fields at_receivers(const SolidTask& task, const Fields& field, std::size_t sources) {
  Fields out(static_cast<Eigen::Index>(task.receivers()), static_cast<Eigen::Index>(sources));
  for (std::size_t s = 0; s < sources; ++s)
    for (std::size_t r = 0; r < task.receivers(); ++r)
      out(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(s)) =
          at_load(field, static_cast<Eigen::Index>(s), task.loads[task.sources() + r]);
  return out;
}

/// A frequency solved outright: receivers by picked sources, and what joins the small model.
struct Outright {
  Picked picked;
  Fields at, fields;
};

/// Of the sources and some receivers the fields, and moments of them. Nothing where it breaks down
/// or is cancelled.
Outright outright(const SolidTask& task, std::size_t i, FrontFactor& factor, Picked picked,
                  int moments, SolidAnswers& answers) {
  Outright out;
  answers.outright[i] = 1;
  if (factor.eliminate(task.values(i), task.watch) == 0) {
    answers.broken[i] = answers.done[i] = 1;
    return out;
  }
  std::vector<SolidPoint> loads;
  for (const std::size_t s : picked.sources) loads.push_back(task.loads[s]);
  if (moments > 0)
    for (const std::size_t r : picked.receivers) loads.push_back(task.loads[task.sources() + r]);
  Fields x = load_matrix(task.model, loads, loads.size());
  factor.solve(x);
  out.at = at_receivers(task, x, picked.sources.size());
  if (picked.sources.size() == task.sources()) {
    answers.at[i] = out.at;
    answers.done[i] = 1;
  }
  out.picked = std::move(picked);
  if (moments == 0) return out;
  const Eigen::Index block = x.cols();
  Fields all(x.rows(), block * moments);
  for (int m = 0; m < moments; ++m) {
    if (task.watch.cancelled()) {
      answers.broken[i] = answers.done[i] = 1;
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
  out.fields = std::move(all);
  return out;
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
  Window(const SolidTask& task, std::vector<std::size_t> order, SolidAnswers& answers,
         Progress& progress)
      : task_(task),
        order_(std::move(order)),
        answers_(answers),
        progress_(progress),
        basis_(task.model,
               2 * std::acos(-1.0) * task.request.frequencies_hz[order_.back()] /
                   task.request.sound_speed_m_s,
               task.loads),
        greatest_(Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(task.receivers()),
                                        static_cast<Eigen::Index>(task.sources()))) {}

  int size() const { return basis_.size(); }
  int solved() const { return solved_; }
  double off() const { return off_; }

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
      off_ = *std::max_element(error.begin(), error.end());
      if (off_ <= task_.tolerance) break;
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
  /// against a share (dip_) of the greatest of that receiver so far. Of many sources each is looked
  /// at too seldom to know that: there the mean over the receivers, 30 dB down, counts too.
  double difference(const Fields& small, const Outright& exact) const {
    double worst = 0;
    for (std::size_t p = 0; p < exact.picked.sources.size(); ++p) {
      const double least =
          task_.sources() <= many_sources
              ? 0
              : 0.03 * exact.at.col(static_cast<Eigen::Index>(p)).cwiseAbs().mean();
      for (Eigen::Index r = 0; r < exact.at.rows(); ++r) {
        const auto s = static_cast<Eigen::Index>(exact.picked.sources[p]);
        const auto value = exact.at(r, static_cast<Eigen::Index>(p));
        worst = std::max(worst, std::abs(small(r, s) - value) /
                                    std::max({std::abs(value), dip_ * greatest_(r, s), least}));
      }
    }
    return worst;
  }
  void remember(const Outright& exact) {
    for (std::size_t p = 0; p < exact.picked.sources.size(); ++p)
      for (Eigen::Index r = 0; r < exact.at.rows(); ++r) {
        double& greatest = greatest_(r, static_cast<Eigen::Index>(exact.picked.sources[p]));
        greatest = std::max(greatest, std::abs(exact.at(r, static_cast<Eigen::Index>(p))));
      }
  }

  Fields small_at(std::size_t i) const {
    Fields at;
    const auto sources = static_cast<Eigen::Index>(task_.sources());
    if (!basis_.solve(task_.values(i), static_cast<int>(sources), task_.kernel, at)) return {};
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
      std::vector<Fields> small(count);
      std::vector<Outright> exact(count);
      parallel_for(count, static_cast<int>(std::max<std::size_t>(1, workers)), [&](std::size_t c) {
        const std::size_t i = order_[points[fresh[from + c]]];
        if (compare) small[c] = small_at(i);
        FrontFactor factor(task_.model, task_.tree, task_.kernel, FrontStore::single);
        const bool many_at_once = turn_ + c == 0 && task_.sources() > many_sources;
        exact[c] = outright(task_, i, factor, pick(task_, turn_ + c), many_at_once ? 1 : moments_,
                            answers_);
        progress_.step(1, "frequencies solved outright");
      });
      turn_ += count;
      for (const Outright& one : exact) remember(one);
      for (std::size_t c = 0; c < count; ++c) {
        const std::size_t i = order_[points[fresh[from + c]]];
        ++solved_;
        if (answers_.broken[i]) continue;
        if (compare)
          error[fresh[from + c]] = small[c].size() == 0 ? 1 : difference(small[c], exact[c]);
        basis_.add(exact[c].fields, task_.threads);
      }
    }
    return error;
  }

  void rest() {
    // What is left, by frequency: rooms that differ in their values alone go together.
    std::vector<std::vector<std::size_t>> open;
    std::size_t last = 0;
    std::vector<std::size_t> sorted = order_;
    if (task_.variants > 1) std::sort(sorted.begin(), sorted.end());
    for (const std::size_t i : sorted) {
      if (answers_.done[i]) continue;
      if (open.empty() || task_.variants == 1 || i / task_.variants != last) open.push_back({});
      open.back().push_back(i);
      last = i / task_.variants;
    }
    parallel_for(open.size(), task_.threads, [&](std::size_t o) {
      if (task_.watch.cancelled()) return;
      std::vector<SolidValues> values;
      for (const std::size_t i : open[o]) values.push_back(task_.values(i));
      const auto fields = solve_family(basis_, values, static_cast<int>(task_.sources()),
                                       task_.kernel, 0.2 * task_.tolerance);
      for (std::size_t m = 0; m < open[o].size(); ++m) {
        const std::size_t i = open[o][m];
        answers_.at[i] = fields[m];
        answers_.done[i] = 1;
        if (answers_.at[i].size() == 0) answers_.broken[i] = 1;
        progress_.step(0.03, "frequencies of the small model");
      }
    });
  }

  const SolidTask& task_;
  std::vector<std::size_t> order_;
  SolidAnswers& answers_;
  Progress& progress_;
  SolidBasis basis_;
  int moments_ = 1, solved_ = 0;
  std::size_t turn_ = 0;
  double off_ = 0;
  /// A room that loses next to nothing has dips of 50 dB and more, which the claim means too.
  const double dip_ =
      least_loss(task_.request) < 0.004 && task_.request.objects.empty() ? 0.001 : 0.01;
  Eigen::MatrixXd greatest_;  ///< so far, receivers by sources
};

void every_outright(const SolidTask& task, const std::vector<std::size_t>& window,
                    SolidAnswers& answers, Progress& progress) {
  parallel_for(window.size(), task.threads, [&](std::size_t w) {
    if (task.watch.cancelled()) return;
    FrontFactor factor(task.model, task.tree, task.kernel, FrontStore::single);
    Picked all;
    for (std::size_t s = 0; s < task.sources(); ++s) all.sources.push_back(s);
    outright(task, window[w], factor, std::move(all), 0, answers);
    progress.step(1, "frequencies solved outright");
  });
}

}  // namespace

std::vector<std::vector<std::size_t>> solid_windows(const SolidTask& task) {
  const std::vector<std::size_t> order = in_order(task.request.frequencies_hz);
  const auto modes = [&](std::size_t i) {
    return mode_count_estimate(task.request.room, task.request.sound_speed_m_s,
                               task.request.frequencies_hz[i]);
  };
  const double from = modes(order.front()), to = modes(order.back());
  const int count = std::max(1, static_cast<int>(std::ceil((to - from) / task.most_modes)));
  std::vector<std::vector<std::size_t>> out(static_cast<std::size_t>(count));
  for (const std::size_t i : order) {
    const double share = count == 1 ? 0 : (modes(i) - from) / std::max(1e-9, to - from) * count;
    out[static_cast<std::size_t>(std::clamp(static_cast<int>(share), 0, count - 1))].push_back(i);
  }
  out.erase(std::remove_if(out.begin(), out.end(), [](const auto& w) { return w.empty(); }),
            out.end());
  return out;
}

SolidBand solve_band(const SolidTask& task, bool all_outright) {
  SolidBand out;
  const std::size_t count = task.request.frequencies_hz.size();
  out.answers.at.resize(count);
  out.answers.done.assign(count, 0);
  out.answers.outright = out.answers.broken = out.answers.done;
  const auto windows = solid_windows(task);
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
    const double block =
        2.0 * double(task.sources() > many_sources
                         ? spread_sources_of_band + other_sources + other_receivers
                         : std::min(most_loads, task.sources() + task.receivers()));
    const int moments = std::clamp(
        static_cast<int>(std::ceil((1.3 * modes + 40) / (double(starts) * block))), 1, 8);
    Window one(task, window, out.answers, progress);
    one.run(moments, starts);
    out.outright += one.solved();
    out.small = std::max(out.small, one.size());
    out.off = std::max(out.off, one.off());
    ++out.windows;
  }
  return out;
}

}  // namespace roomwright::acoustics
