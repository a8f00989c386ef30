// Damped modes of any room with bodies; see solid_decays.h.
//
// The small model holds fields of the whole model at full strength and at a trifle of it, from
// sources all over the room, at frequencies all over the band. Turned to the rigid modes that it
// holds, they are followed in groups as decays.cpp does: the near ones coupled exactly, what the
// others add taken at the group's wave number. Each is then put right by Newton's method on the
// small model's own matrix, which moves with frequency (A. Neumaier, SIAM J. Numer. Anal. 22
// (1985), from memory), and some are held against the whole model, whose fields join where they are
// off.
#include "acoustics/waves/solid_decays.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/followed.h"
#include "acoustics/waves/solid_reduce.h"
#include "acoustics/waves/solid_response.h"
#include "acoustics/waves/solid_values.h"

namespace roomwright::acoustics {

namespace {

using RingValue = std::complex<double>;
using RingMatrix = Eigen::MatrixXcd;
const double ring_pi = std::acos(-1.0);
constexpr std::size_t ring_group = 6, ring_inner = 64;
constexpr int ring_sources = 6;
constexpr double trifle = 0.03;     // of the full strength: nearly rigid
constexpr double most_off = 0.005;  // of Im f, small model against the whole one
constexpr int most_checks = 4;
/// A mode beyond these is looked at again: Im k against Re k, and what it keeps of its rigid one.
constexpr double most_damped = 0.1, least_rigid_share = 0.3;

/// The room's small model as rigid modes of it (K v = λ M v of the room full of air) and what all
/// that is not air adds, by parts.
class SmallWaves {
 public:
  SmallWaves(const SolidBasis& basis, const SolidModel& model, const ResponseRequest& request)
      : request_(request) {
    const Eigen::Index n = basis.size();
    Eigen::MatrixXd stiffness = Eigen::MatrixXd::Zero(n, n), mass = stiffness;
    for (std::size_t m = 0; m < std::size_t(model.materials); ++m)
      if (basis.stiffness(m)) stiffness += *basis.stiffness(m), mass += *basis.mass(m);
    const Eigen::GeneralizedSelfAdjointEigenSolver<Eigen::MatrixXd> solver(stiffness, mass);
    lambda_ = solver.eigenvalues();
    turn_ = solver.eigenvectors();
    for (std::size_t m = 1; m < std::size_t(model.materials); ++m)
      if (basis.stiffness(m)) {
        parts_.push_back({turned(*basis.stiffness(m)), int(m), Part::stiffness});
        parts_.push_back({turned(*basis.mass(m)), int(m), Part::mass});
      }
    for (std::size_t b = 0; b < std::size_t(model.boundaries); ++b)
      if (basis.boundary(b)) parts_.push_back({turned(*basis.boundary(b)), int(b), Part::boundary});
  }

  Eigen::Index size() const { return lambda_.size(); }
  double lambda(Eigen::Index n) const { return lambda_[n]; }
  const Eigen::MatrixXd& turn() const { return turn_; }

  struct Part {
    Eigen::MatrixXd matrix;
    int of = 0;
    enum Kind { stiffness, mass, boundary } kind = stiffness;
  };
  /// The parts between some modes alone.
  std::vector<Part> between(const std::vector<Eigen::Index>& rows,
                            const std::vector<Eigen::Index>& columns) const {
    std::vector<Part> out;
    for (const Part& part : parts_) out.push_back({part.matrix(rows, columns), part.of, part.kind});
    return out;
  }
  /// Σ weight · part: what is added to λ − k² on the diagonal.
  RingMatrix damping(const std::vector<Part>& parts, RingValue k, double share, Eigen::Index rows,
                     Eigen::Index columns) const {
    const SolidValues values = values_at_wave(request_, k, share);
    RingMatrix out = RingMatrix::Zero(rows, columns);
    for (const Part& part : parts) {
      const auto of = std::size_t(part.of);
      const RingValue weight = part.kind == Part::stiffness ? values.inverse_density[of] - 1.0
                               : part.kind == Part::mass    ? k * k - values.stiffness[of]
                                                            : values.boundary[of];
      if (weight != 0.0) out += weight * part.matrix;
    }
    return out;
  }
  /// The whole matrix.
  RingMatrix matrix(RingValue k) const {
    RingMatrix out = damping(parts_, k, 1, size(), size());
    out.diagonal() += lambda_.cast<RingValue>();
    out.diagonal().array() -= k * k;
    return out;
  }
  /// Its derivative by k.
  RingMatrix slope(RingValue k) const {
    constexpr double step = 1e-3;
    return (matrix(k * (1 + step)) - matrix(k * (1 - step))) / (2 * step * k);
  }

 private:
  Eigen::MatrixXd turned(const Eigen::MatrixXd& matrix) const {
    const Eigen::MatrixXd half = real_product(dense_view(matrix), dense_view(turn_));
    return real_product(dense_view(turn_).transposed(), dense_view(half));
  }
  const ResponseRequest& request_;
  Eigen::VectorXd lambda_;
  Eigen::MatrixXd turn_;
  std::vector<Part> parts_;
};

/// Neighbours [low, high) of all modes; the others as they add at the wave number k.
class SolidGroup : public GrowingModes {
 public:
  SolidGroup(const SmallWaves& all, Eigen::Index low, Eigen::Index high, double k) : all_(all) {
    for (Eigen::Index n = 0; n < all.size(); ++n)
      (n >= low && n < high ? inner_ : outer_).push_back(n);
    parts_ = all.between(inner_, inner_);
    const auto in = size(), out = Eigen::Index(outer_.size());
    if (out == 0) return;
    RingMatrix beyond = all.damping(all.between(outer_, outer_), k, 1, out, out);
    for (Eigen::Index n = 0; n < out; ++n)
      beyond(n, n) += all.lambda(outer_[std::size_t(n)]) - k * k;
    const RingMatrix coupling = all.damping(all.between(outer_, inner_), k, 1, out, in);
    through_ = beyond.partialPivLu().solve(coupling);
    second_ = complex_product(dense_view(coupling).transposed(), dense_view(through_));
  }
  Eigen::Index size() const override { return Eigen::Index(inner_.size()); }
  double lambda(Eigen::Index n) const override { return all_.lambda(inner_[std::size_t(n)]); }
  RingMatrix at(RingValue k, double share) const override {
    RingMatrix out = all_.damping(parts_, k, share, size(), size());
    for (Eigen::Index n = 0; n < size(); ++n) out(n, n) += lambda(n);
    if (!outer_.empty()) out -= (share * share) * second_;
    return out;
  }
  /// Over all modes.
  Eigen::VectorXcd whole(const Eigen::VectorXcd& inner) const {
    Eigen::VectorXcd out(all_.size());
    out(inner_) = inner;
    if (!outer_.empty()) out(outer_) = -(through_ * inner);
    return out;
  }

 private:
  const SmallWaves& all_;
  std::vector<Eigen::Index> inner_, outer_;
  std::vector<SmallWaves::Part> parts_;
  RingMatrix through_, second_;
};

/// Newton's method on the small matrix. False where it does not settle.
bool settle(const SmallWaves& all, Followed& mode) {
  RingMatrix slope = all.slope(mode.k);
  for (int turn = 0; turn < 12; ++turn) {
    const RingMatrix matrix = all.matrix(mode.k);
    RingMatrix shifted = matrix;
    shifted.diagonal().array() += 1e-13 * mode.k * mode.k;
    Eigen::VectorXcd next = shifted.partialPivLu().solve(slope * mode.vector);
    if (!next.allFinite()) return false;
    next /= next.norm();
    const RingValue moves = (next.transpose() * (slope * next))(0, 0);
    if (std::abs(moves) < 1e-9 * std::abs(mode.k)) return false;
    const RingValue step = (next.transpose() * (matrix * next))(0, 0) / moves;
    mode.k -= step;
    mode.vector = next;
    if (std::abs(step) < 1e-10 * std::abs(mode.k)) return true;
    if (turn == 4) slope = all.slope(mode.k);
  }
  return false;
}

// ---- the whole model ----------------------------------------------------------------------------

struct RingTask {
  const ResponseRequest& request;
  const SolidModel& model;
  const FrontTree& tree;
  const FrontKernel& kernel;
  int threads = 1;
  const Watch& watch;
};

/// Points spread evenly over the room's bounds, those that lie in it (J. H. Halton, Numer. Math. 2
/// (1960)).
std::vector<SolidPoint> spread_sources(const RingTask& task) {
  const auto radical = [](int i, int base) {
    double out = 0, unit = 1.0 / base;
    for (; i > 0; i /= base, unit /= base) out += unit * (i % base);
    return out;
  };
  Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
  double ceiling = 0;
  for (const Vec2 p : task.request.room.plan_m) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    ceiling = std::max(ceiling, task.request.room.ceiling_at(p));
  }
  std::vector<SolidPoint> out;
  for (int i = 1; i < 10000 && int(out.size()) < ring_sources; ++i) {
    const Vec3 at{low.x + (high.x - low.x) * radical(i, 2),
                  low.y + (high.y - low.y) * radical(i, 3), ceiling * radical(i, 5)};
    if (contains(task.request.room, at, 0.02))
      if (auto point = task.model.point(at)) out.push_back(std::move(*point));
  }
  return out;
}

/// Fields of the sources and powers of the shifted inverse, at each wave number and share.
bool gather(const RingTask& task, const std::vector<SolidPoint>& sources, double k, double share,
            int moments, RingMatrix& out) {
  FrontFactor factor(task.model, task.tree, task.kernel);
  if (factor.eliminate(values_at_wave(task.request, k, share), task.watch) == 0) return false;
  RingMatrix x = load_matrix(task.model, sources, sources.size());
  const Eigen::Index block = x.cols();
  out.resize(x.rows(), block * moments);
  for (int m = 0; m < moments; ++m) {
    if (m > 0) {
      Eigen::MatrixXd both(x.rows(), 2 * block);
      both << x.real(), x.imag();
      both = apply_mass(task.model, 0, both);
      x.real() = both.leftCols(block), x.imag() = both.rightCols(block);
      for (Eigen::Index c = 0; c < block; ++c)
        if (const double size = x.col(c).norm(); size > 0) x.col(c) /= size;
    }
    factor.solve(x);
    out.middleCols(m * block, block) = x;
  }
  return true;
}

/// One turn of Newton's method on the whole model from a mode of the small one: where it goes, and
/// its field.
bool whole_mode(const RingTask& task, const Eigen::VectorXcd& field, RingValue& k,
                Eigen::VectorXcd& next) {
  const auto apply = [&](const Eigen::VectorXcd& x, const SolidValues& values) {
    Eigen::MatrixXd both(x.size(), 2);
    both << x.real(), x.imag();
    Eigen::VectorXcd out = Eigen::VectorXcd::Zero(x.size());
    const auto take = [&](RingValue weight, const Eigen::MatrixXd& y) {
      out += weight * (y.col(0).cast<RingValue>() + RingValue(0, 1) * y.col(1).cast<RingValue>());
    };
    for (std::size_t m = 0; m < values.stiffness.size(); ++m) {
      take(values.inverse_density[m], apply_stiffness(task.model, int(m), both));
      take(-values.stiffness[m], apply_mass(task.model, int(m), both));
    }
    for (std::size_t b = 0; b < values.boundary.size(); ++b)
      if (values.boundary[b] != 0.0)
        take(values.boundary[b], apply_boundary(task.model, int(b), both));
    return out;
  };
  constexpr double step = 1e-3;
  const auto slope = [&](const Eigen::VectorXcd& x) -> Eigen::VectorXcd {
    return (apply(x, values_at_wave(task.request, k * (1 + step), 1)) -
            apply(x, values_at_wave(task.request, k * (1 - step), 1))) /
           (2 * step * k);
  };
  FrontFactor factor(task.model, task.tree, task.kernel);
  // A little beside the mode, where the matrix has an inverse.
  const RingValue beside = k * RingValue(1 + 1e-5, 0);
  if (factor.eliminate(values_at_wave(task.request, beside, 1), task.watch) == 0) return false;
  RingMatrix x = slope(field);
  factor.solve(x);
  next = x.col(0) / x.norm();
  const RingValue moves = (next.transpose() * slope(next))(0, 0);
  const RingValue rest = (next.transpose() * apply(next, values_at_wave(task.request, k, 1)))(0, 0);
  if (!(std::abs(moves) > 0)) return false;
  k -= rest / moves;
  return std::isfinite(k.real()) && std::isfinite(k.imag());
}

// ---- all modes ----------------------------------------------------------------------------------

Complaint cannot_follow(double hz) {
  return {"room", "absorbs so much that a mode cannot be followed", hz, "ask for modes below that",
          0};
}

bool one_place(const Followed& a, const Followed& b) {
  return std::abs(a.k - b.k) < 1e-6 * std::abs(a.k) && std::abs(a.vector.dot(b.vector)) > 0.99;
}

/// How much of a mode is the rigid mode n.
double share_of_rigid(const Followed& mode, std::size_t n) {
  return std::norm(mode.vector(Eigen::Index(n))) / mode.vector.squaredNorm();
}

/// Where a mode loses itself on its way (bodies of dense wool bring modes of their own, which it
/// meets): of the modes near the rigid one, by the small matrix straightened there, that one which
/// is most of it and no other's. False where there is none.
bool look_round(const SmallWaves& all, std::size_t n, const std::vector<Followed>& known,
                const std::vector<char>& failed, Followed& out) {
  const RingValue middle = std::sqrt(all.lambda(Eigen::Index(n))) * RingValue(0.98, 0.06);
  const Eigen::ComplexEigenSolver<RingMatrix> solver(
      all.slope(middle).partialPivLu().solve(all.matrix(middle)));
  if (solver.info() != Eigen::Success) return false;
  std::vector<Followed> near;
  for (Eigen::Index i = 0; i < all.size(); ++i) {
    const RingValue k = middle - solver.eigenvalues()[i];
    if (std::abs(k - middle) < 0.6 * std::abs(middle))
      near.push_back({k, solver.eigenvectors().col(i).normalized()});
  }
  std::stable_sort(near.begin(), near.end(), [&](const Followed& a, const Followed& b) {
    return share_of_rigid(a, n) > share_of_rigid(b, n);
  });
  constexpr std::size_t most_tried = 24;
  if (near.size() > most_tried) near.resize(most_tried);
  for (Followed& mode : near) {
    if (!settle(all, mode) || mode.k.real() <= 0 || mode.k.imag() <= 0) continue;
    bool taken = false;
    for (std::size_t m = 1; m < known.size(); ++m)
      taken = taken || (!failed[m] && one_place(known[m], mode));
    if (taken) continue;
    out = std::move(mode);
    return true;
  }
  return false;
}

/// The modes 1 … count of the small model at full strength.
bool follow_all(const RingTask& task, const SmallWaves& all, std::size_t count,
                std::vector<Followed>& out, std::size_t& lost) {
  out.resize(count + 1);
  std::vector<char> failed(count + 1, 0);
  const std::size_t groups = (count + ring_group - 1) / ring_group;
  parallel_for(groups, task.threads, [&](std::size_t g) {
    const std::size_t from = 1 + g * ring_group, to = std::min(count + 1, from + ring_group);
    const std::size_t margin = (ring_inner - ring_group) / 2;
    const std::size_t low = from > margin ? from - margin : 0;
    const std::size_t high = std::min(std::size_t(all.size()), low + ring_inner);
    const double k =
        std::sqrt((all.lambda(Eigen::Index(from)) + all.lambda(Eigen::Index(to - 1))) / 2);
    const SolidGroup group(all, Eigen::Index(low), Eigen::Index(high), k);
    const auto first = first_followed(group, k);
    for (std::size_t n = from; n < to && !task.watch.cancelled(); ++n) {
      Followed mode = first[n - low];
      bool fine = follow(group, mode);
      if (fine) {
        if (mode.k.real() < 0) mode.k = -mode.k;
        mode.vector = group.whole(mode.vector);
        mode.vector /= mode.vector.norm();
        fine = settle(all, mode) && mode.k.real() > 0;
      }
      failed[n] = !fine;
      out[n] = std::move(mode);
    }
  });
  // Of two that came to one place the one that is more of its rigid mode stays.
  for (std::size_t a = 1; a <= count; ++a)
    for (std::size_t b = a + 1; b <= count; ++b)
      if (!failed[a] && !failed[b] && one_place(out[a], out[b]))
        failed[share_of_rigid(out[a], a) < share_of_rigid(out[b], b) ? a : b] = 1;
  // One that has become little of its rigid mode, or dies away at once, may have changed places
  // with a mode of the wool: then another one is more of it.
  for (lost = 1; lost <= count && !task.watch.cancelled(); ++lost) {
    const bool strange = !failed[lost] && (out[lost].k.imag() > most_damped * out[lost].k.real() ||
                                           share_of_rigid(out[lost], lost) < least_rigid_share);
    if (!failed[lost] && !strange) continue;
    Followed other;
    const bool found = look_round(all, lost, out, failed, other);
    if (failed[lost] && !found) return false;
    if (found && (failed[lost] || share_of_rigid(other, lost) > share_of_rigid(out[lost], lost)))
      out[lost] = std::move(other);
    failed[lost] = 0;
  }
  return true;
}

/// The longest to ring, the shortest and the median, of those not looked at yet.
std::vector<std::size_t> worth_a_check(const std::vector<Followed>& modes,
                                       const std::vector<char>& seen) {
  std::vector<std::size_t> order;
  for (std::size_t n = 1; n < modes.size(); ++n)
    if (!seen[n]) order.push_back(n);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return modes[a].k.imag() < modes[b].k.imag();
  });
  if (order.size() < 3) return order;
  return {order.front(), order[order.size() / 2], order.back()};
}

}  // namespace

Result<SolidDecays> solid_damped_waves(const ResponseRequest& request, double max_hz,
                                       const SolidDecayOptions& options, const Watch& watch) {
  auto rigid = modes(request.room, request.sound_speed_m_s, max_hz);
  if (!rigid) return rigid.mistakes();
  SolidDecays out;
  const std::size_t count = rigid->modes.size();
  if (count == 0) return out;
  watch.tick(0, "mesh");
  const double k_most = 2 * ring_pi * max_hz / request.sound_speed_m_s;
  SolidAsk ask{.room = request.room, .patches = request.patches, .objects = request.objects};
  ask.wave_number_1_m = 1.15 * k_most;
  ask.slowness = slowness(request);
  ask.more_degrees = options.more_degrees;
  ask.follow_patches = request.objects.empty();
  ask.material_of = fluids_of(request).of_slab;
  const auto model = make_solid(ask);
  if (!model) return model.mistakes();
  const FrontTree tree = make_tree(*model);
  if (const double bytes = 8.0 * double(tree.factor_size) + tree.space_bytes();
      bytes > most_solid_bytes)
    return Complaint{"max_hz", "asks for more memory than one call may take", bytes / 1e6,
                     "ask for a lower frequency", 0};
  const int threads = options.threads > 0 ? options.threads : default_threads();
  const RingTask task{request, *model, tree, fastest_front_kernel(), threads, watch};

  const auto sources = spread_sources(task);
  SolidBasis basis(*model, k_most, sources);
  const double wanted = 2 * double(count) + 40;
  struct Start {
    double share_of_band, strength;
  };
  const Start starts[] = {{0.35, 1}, {0.7, trifle}, {0.75, 1}, {1.05, 1}};
  const int moments = std::clamp(int(std::ceil(wanted / (2.0 * ring_sources))), 2, 12);
  std::vector<RingMatrix> fields(std::size(starts));
  std::vector<char> fine(std::size(starts), 0);
  constexpr std::size_t together = 2;
  for (std::size_t from = 0; from < fields.size(); from += together) {
    parallel_for(together, threads, [&](std::size_t i) {
      const Start& start = starts[from + i];
      const int turns = start.strength == 1 ? (moments + 1) / 2 : moments;
      fine[from + i] = gather(task, sources, start.share_of_band * k_most, start.strength, turns,
                              fields[from + i]);
    });
    if (watch.cancelled()) return Complaint{"modes", "were cancelled", {}, "start again", 0};
    for (std::size_t i = from; i < from + together; ++i)
      if (fine[i]) basis.add(fields[i], threads), ++out.outright, fields[i].resize(0, 0);
    watch.tick(0.15 * double(from + together), "fields all over the band");
  }
  std::vector<Followed> found;
  std::vector<char> seen(count + 1, 0);
  for (int check = 0;; ++check) {
    const SmallWaves all(basis, *model, request);
    if (std::size_t(all.size()) < count + 2) return cannot_follow(rigid->modes[0].hz);
    std::size_t lost = 0;
    watch.tick(0.6 + 0.05 * check, "resonances followed");
    const bool followed = follow_all(task, all, count, found, lost);
    watch.tick(0.62 + 0.05 * check, "resonances held against the whole");
    if (watch.cancelled()) return Complaint{"modes", "were cancelled", {}, "start again", 0};
    if (!followed) return cannot_follow(rigid->modes[lost - 1].hz);
    if (check == most_checks) break;
    const auto picked = worth_a_check(found, seen);
    if (picked.empty()) break;
    RingMatrix joined(model->unknowns(), Eigen::Index(picked.size()));
    std::vector<double> off(picked.size(), 0);
    parallel_for(picked.size(), std::min(threads, 2), [&](std::size_t p) {
      RingValue k = found[picked[p]].k;
      const Eigen::VectorXcd small = all.turn() * found[picked[p]].vector;
      const Eigen::VectorXcd field = basis.functions() * small;
      Eigen::VectorXcd next = Eigen::VectorXcd::Zero(field.size());
      if (!whole_mode(task, field, k, next)) next.setZero();
      joined.col(Eigen::Index(p)) = next;
      off[p] = std::abs(k - found[picked[p]].k) /
               std::max(std::abs(found[picked[p]].k.imag()), 1e-7 * std::abs(k));
    });
    out.outright += int(picked.size());
    for (const std::size_t n : picked) seen[n] = 1;
    out.off = *std::max_element(off.begin(), off.end());
    if (out.off < most_off) break;
    basis.add(joined, threads);
  }
  out.unknowns = model->unknowns();
  out.small = basis.size();
  const double to_hz = request.sound_speed_m_s / (2 * ring_pi);
  for (std::size_t n = 1; n <= count; ++n)
    out.waves.push_back({rigid->modes[n - 1].hz, found[n].k * to_hz});
  return out;
}

}  // namespace roomwright::acoustics
