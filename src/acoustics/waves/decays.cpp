// Damped modes of prisms with any admittance and patches: rigid modes coupled by what absorbs, each
// followed from its rigid value as the absorption grows. See treated_modes in waves.h.
//
// Modes are taken in groups of neighbours. Of each group the nearest modes, its inner ones, are
// coupled exactly; the others enter to second order through 1/(λ − k²), and what lies beyond all
// that are counted through screened.h.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "acoustics/waves/coupled.h"
#include "acoustics/waves/decays.h"
#include "acoustics/waves/followed.h"
#include "acoustics/waves/solid_decays.h"
#include "acoustics/waves/solid_response.h"

namespace roomwright::acoustics {

namespace {

using DecayValue = std::complex<double>;
const double decay_pi = std::acos(-1.0);
constexpr int group_size = 16, inner_size = 72;

struct RigidMode {
  double lambda;
  int across, along;
};

DecayValue between(const std::vector<double>& hz, const Admittance& values, double at) {
  if (values.empty()) return 0;
  if (values.size() == 1) return values[0];
  const auto next = std::upper_bound(hz.begin(), hz.end(), at) - hz.begin();
  if (next == 0) return values.front();
  if (next == std::ptrdiff_t(hz.size())) return values.back();
  const std::size_t i = std::size_t(next);
  const double part = (at - hz[i - 1]) / (hz[i] - hz[i - 1]);
  return values[i - 1] * (1 - part) + values[i] * part;
}

/// All that damps, at one frequency and a share of its full strength.
class Damping {
 public:
  Damping(const TreatedRoom& treated, const PrismRoom& room, const PrismFunctions& functions,
          const std::vector<PrismTile>& tiles)
      : treated_(treated), room_(room), functions_(functions), tiles_(tiles) {}

  double hz(DecayValue k) const { return k.real() * treated_.sound_speed_m_s / (2 * decay_pi); }
  DecayValue surface(int surface, DecayValue k) const {
    return between(treated_.frequencies_hz, treated_.surfaces[std::size_t(surface)], hz(k));
  }
  /// β of each patch less its wall's, by function.
  ComplexVector jumps(DecayValue k) const {
    ComplexVector out(functions_.count());
    Eigen::Index row = 0;
    for (std::size_t p = 0; p < tiles_.size(); ++p) {
      const DecayValue own =
          between(treated_.frequencies_hz, treated_.patches[p].admittance, hz(k));
      out.segment(row, tiles_[p].count()).setConstant(own - surface(tiles_[p].area.surface, k));
      row += tiles_[p].count();
    }
    return out;
  }
  /// Σ β ∫ φ φ over the surfaces. `stiffer`: with what lies beyond every function across.
  ComplexMatrix walls(const std::vector<RigidMode>& one, const std::vector<RigidMode>& two,
                      DecayValue k, double share, bool stiffer) const {
    const std::size_t edges = room_.coupling.size();
    std::vector<DecayValue> beta(edges),
        end{surface(room_.prism.surface_of(-1), k), surface(room_.prism.surface_of(-2), k)};
    for (std::size_t e = 0; e < edges; ++e) {
      beta[e] = share * surface(room_.prism.surface_of(int(e)), k);
      if (stiffer)
        beta[e] /= 1.0 + DecayValue(0, 1) * k * beta[e] * (2 / (decay_pi * room_.cut_1_m));
    }
    for (DecayValue& value : end) {
      value *= share;
      if (stiffer)
        value /= 1.0 + DecayValue(0, 1) * k * value *
                           (2 * room_.prism.length_m / (decay_pi * decay_pi * room_.axis_all));
    }
    ComplexMatrix out(Eigen::Index(one.size()), Eigen::Index(two.size()));
    for (Eigen::Index b = 0; b < out.cols(); ++b)
      for (Eigen::Index a = 0; a < out.rows(); ++a) {
        const RigidMode &x = one[std::size_t(a)], &y = two[std::size_t(b)];
        DecayValue sum = 0;
        if (x.along == y.along)
          for (std::size_t e = 0; e < edges; ++e)
            sum += beta[e] * room_.coupling[e](x.across, y.across);
        if (x.across == y.across)
          sum += std::sqrt((x.along ? 2.0 : 1.0) * (y.along ? 2.0 : 1.0)) / room_.prism.length_m *
                 (end[0] + ((x.along + y.along) % 2 ? -1.0 : 1.0) * end[1]);
        out(a, b) = sum;
      }
    return out;
  }
  /// Function of the patches by mode.
  Eigen::MatrixXd patches(const std::vector<RigidMode>& modes) const {
    Eigen::MatrixXd out(functions_.count(), Eigen::Index(modes.size()));
    for (Eigen::Index n = 0; n < out.cols(); ++n)
      for (int j = 0; j < functions_.count(); ++j)
        out(j, n) = functions_.across()(modes[std::size_t(n)].across, functions_.across_of(j)) *
                    functions_.along()(modes[std::size_t(n)].along, functions_.along_of(j));
    return out;
  }
  const PrismFunctions& functions() const { return functions_; }

 private:
  const TreatedRoom& treated_;
  const PrismRoom& room_;
  const PrismFunctions& functions_;
  const std::vector<PrismTile>& tiles_;
};

/// A group's inner modes and what the outer ones add, at the group's own wave number.
class Group : public GrowingModes {
 public:
  Group(const Damping& damping, std::vector<RigidMode> inner, const std::vector<RigidMode>& outer,
        double k)
      : damping_(damping), inner_(std::move(inner)) {
    lambda_.resize(Eigen::Index(inner_.size()));
    for (std::size_t n = 0; n < inner_.size(); ++n) lambda_[Eigen::Index(n)] = inner_[n].lambda;
    Eigen::VectorXd lift(Eigen::Index(outer.size()));
    for (std::size_t n = 0; n < outer.size(); ++n)
      lift[Eigen::Index(n)] = 1 / (outer[n].lambda - k * k);
    const ComplexMatrix coupling = damping.walls(inner_, outer, k, 1, false);
    second_ = coupling * lift.asDiagonal() * coupling.transpose();
    patches_ = damping.patches(inner_);
    if (patches_.rows() == 0) return;
    const Eigen::MatrixXd far = damping.patches(outer);
    through_ = far.cast<DecayValue>() * lift.asDiagonal() * coupling.transpose();
    self_ = damping.functions().rest(k * k) + far * lift.asDiagonal() * far.transpose();
  }

  /// The matrix whose eigenvalue is k².
  ComplexMatrix at(DecayValue k, double share) const override {
    const DecayValue jk = DecayValue(0, 1) * k;
    ComplexMatrix out = jk * damping_.walls(inner_, inner_, k, share, true);
    out -= (jk * jk * share * share) * second_;
    out.diagonal() += lambda_.cast<DecayValue>();
    if (patches_.rows() == 0) return out;
    const ComplexVector jump = (jk * share) * damping_.jumps(k);
    ComplexMatrix system = self_.cast<DecayValue>() * jump.asDiagonal();
    system.diagonal().array() += 1;
    const ComplexMatrix seen = patches_.cast<DecayValue>() - (jk * share) * through_;
    out += seen.transpose() * jump.asDiagonal() * system.partialPivLu().solve(seen);
    return out;
  }
  Eigen::Index size() const override { return lambda_.size(); }
  double lambda(Eigen::Index n) const override { return lambda_[n]; }

 private:
  const Damping& damping_;
  std::vector<RigidMode> inner_;
  Eigen::VectorXd lambda_;
  ComplexMatrix second_, through_;
  Eigen::MatrixXd patches_, self_;
};

}  // namespace

Result<std::vector<DampedWave>> damped_waves(const TreatedRoom& treated, double max_hz, int threads,
                                             const Watch& watch) {
  auto made = make_prism_room(treated.room, treated.sound_speed_m_s, 1.1 * max_hz);
  if (!made) return made.mistakes();
  const PrismRoom& room = *made;
  PrismFunctions functions(room);
  std::vector<PrismTile> tiles;
  const double k_most = 2 * decay_pi * max_hz / treated.sound_speed_m_s;
  for (const ResponsePatch& patch : treated.patches) {
    tiles.push_back(prism_tile(room.prism, treated.room, patch.area, k_most, 0.25));
    functions.add_tile(tiles.back());
  }
  functions.settle(0);
  std::vector<RigidMode> all;
  for (int m = 0; m < room.axis_damped; ++m)
    for (int i = 0; i < room.basis.count(); ++i)
      all.push_back({room.basis.eigenvalues()[i] + room.axis_square(m), i, m});
  std::stable_sort(all.begin(), all.end(),
                   [](const RigidMode& a, const RigidMode& b) { return a.lambda < b.lambda; });
  std::size_t wanted = 1;
  while (wanted < all.size() && all[wanted].lambda <= k_most * k_most) ++wanted;
  const Damping damping(treated, room, functions, tiles);
  std::vector<DampedWave> out(wanted - 1);
  std::vector<char> lost(wanted, 0);
  const std::size_t groups = (wanted - 1 + group_size - 1) / group_size;
  parallel_for(groups, threads, [&](std::size_t g) {
    if (watch.cancelled()) return;
    const std::size_t from = 1 + g * group_size, to = std::min(wanted, from + group_size);
    const std::size_t margin = (inner_size - group_size) / 2;
    const std::size_t low = from > margin ? from - margin : 0,
                      high = std::min(all.size(), low + inner_size);
    std::vector<RigidMode> inner(all.begin() + std::ptrdiff_t(low),
                                 all.begin() + std::ptrdiff_t(high));
    std::vector<RigidMode> outer(all.begin(), all.begin() + std::ptrdiff_t(low));
    outer.insert(outer.end(), all.begin() + std::ptrdiff_t(high), all.end());
    const double k = std::sqrt((all[from].lambda + all[to - 1].lambda) / 2);
    const Group group(damping, std::move(inner), outer, k);
    auto first = first_followed(group, k);
    for (std::size_t n = from; n < to; ++n) {
      Followed& mode = first[n - low];
      lost[n] = !follow(group, mode);
      out[n - 1] = {
          std::sqrt(all[n].lambda) * treated.sound_speed_m_s / (2 * decay_pi),
          (mode.k.real() < 0 ? -mode.k : mode.k) * treated.sound_speed_m_s / (2 * decay_pi)};
    }
  });
  if (watch.cancelled()) return Complaint{"modes", "were cancelled", {}, "start again", 0};
  for (std::size_t n = 1; n < wanted; ++n)
    if (lost[n])
      return Complaint{"patches", "absorb so much that a mode cannot be followed",
                       out[n - 1].rigid_hz, "ask for modes below that", 0};
  return out;
}

namespace {

Diagnostics wrong_treatment(const TreatedRoom& treated, double max_hz) {
  // The checks of a driven room, with a source and a receiver that are always right.
  ResponseRequest request;
  request.room = treated.room;
  request.sound_speed_m_s = treated.sound_speed_m_s;
  request.surfaces = treated.surfaces;
  request.patches = treated.patches;
  const Vec2 corner = treated.room.plan_m[0];
  request.sources = {{{corner.x, corner.y, 0}}};
  request.receivers_m = {{corner.x, corner.y, 0.1}};
  request.frequencies_hz = treated.frequencies_hz;
  if (request.frequencies_hz.empty()) request.frequencies_hz = {100};
  Diagnostics found = wrong_prism_request(request);
  if (!(max_hz >= least_response_hz && max_hz <= greatest_response_hz))
    found.add("max_hz", "must be from 5 to 2000", max_hz, "such as 200");
  if (!std::is_sorted(treated.frequencies_hz.begin(), treated.frequencies_hz.end()))
    found.add("frequencies_hz", "must ascend", {}, "sort them");
  return found;
}

Diagnostics wrong_body_request(const ResponseRequest& treated, double max_hz) {
  ResponseRequest request = treated;
  const Vec2 corner = treated.room.plan_m[0];
  request.sources = {{{corner.x, corner.y, 0}}};
  request.receivers_m = {{corner.x, corner.y, 0.1}};
  Diagnostics found = wrong_solid_request(request);
  if (!(max_hz >= least_response_hz && max_hz <= greatest_response_hz))
    found.add("max_hz", "must be from 5 to 2000", max_hz, "such as 200");
  if (!std::is_sorted(treated.frequencies_hz.begin(), treated.frequencies_hz.end()))
    found.add("frequencies_hz", "must ascend", {}, "sort them");
  return found;
}

Complaint too_many_modes(double expected, double max_hz) {
  return {"max_hz", "asks for about " + fixed(expected, 0) + " modes", max_hz,
          "ask for a lower frequency", 0};
}

ModesReport modes_report(const std::vector<DampedWave>& waves, double expected,
                         std::string method) {
  ModesReport report;
  report.count_estimate = expected;
  report.method = std::move(method);
  for (const DampedWave& wave : waves) {
    Mode mode;
    mode.hz = wave.hz.real();
    mode.rigid_hz = wave.rigid_hz;
    if (wave.hz.imag() > 1e-9 * wave.rigid_hz)
      mode.decay_s = 3 * std::log(10.0) / (2 * decay_pi * wave.hz.imag());
    report.modes.push_back(mode);
  }
  std::stable_sort(report.modes.begin(), report.modes.end(),
                   [](const Mode& a, const Mode& b) { return a.hz < b.hz; });
  return report;
}

}  // namespace

Result<ModesReport> treated_modes(const Room& room, double sound_speed_m_s, double max_hz,
                                  const std::vector<Admittance>& surfaces,
                                  const std::vector<ResponsePatch>& patches,
                                  const std::vector<double>& frequencies_hz, const Watch& watch) {
  const TreatedRoom treated{room, sound_speed_m_s, surfaces, patches, frequencies_hz};
  if (const Diagnostics found = wrong_treatment(treated, max_hz); !found.empty()) return found;
  const double expected = mode_count_estimate(room, sound_speed_m_s, max_hz);
  if (expected > most_plan_modes) return too_many_modes(expected, max_hz);
  const auto waves = damped_waves(treated, max_hz, 0, watch);
  if (!waves) return waves.mistakes();
  return modes_report(*waves, expected, "rigid modes of a prism, coupled by surfaces and patches");
}

Result<ModesReport> treated_modes(const ResponseRequest& request, double max_hz,
                                  const Watch& watch) {
  if (request.objects.empty() && prism_of(request.room))
    return treated_modes(request.room, request.sound_speed_m_s, max_hz, request.surfaces,
                         request.patches, request.frequencies_hz, watch);
  if (const Diagnostics found = wrong_body_request(request, max_hz); !found.empty()) return found;
  const double expected = mode_count_estimate(request.room, request.sound_speed_m_s, max_hz);
  if (expected > most_plan_modes) return too_many_modes(expected, max_hz);
  const auto solved = solid_damped_waves(request, max_hz, {}, watch);
  if (!solved) return solved.mistakes();
  ModesReport report =
      modes_report(solved->waves, expected,
                   "a small model of " + std::to_string(solved->small) + " functions, of " +
                       std::to_string(solved->unknowns) + " unknowns; " +
                       std::to_string(solved->outright) + " solutions of all of them make it");
  report.unknowns = solved->unknowns;
  return report;
}

}  // namespace roomwright::acoustics
