// A patch of a prism at one place, from what was compressed for that surface. See
// plan_mover_state.h.
#include <algorithm>
#include <cmath>
#include <map>

#include "acoustics/waves/plan_mover_state.h"

namespace roomwright::acoustics {

namespace {

/// The patch at one place, without frequency.
struct Placed {
  int count = 0, first = 0, second = 0;  ///< functions; along the edge, along the prism
  int tile_first = 0;                    ///< of the tile's first side
  Eigen::MatrixXd across;                ///< function of the surface by function
  Eigen::MatrixXd along;                 ///< rigid function along by function; none on an end
  std::array<Eigen::MatrixXd, screened_terms> power;
  std::array<Eigen::MatrixXd, chebyshev_points> beyond;
  Eigen::MatrixXd own_wall;
};

/// Σ over functions along of (Uᵀ X_m U) ⊗ (z zᵀ).
template <class Matrix>
void add_product(const Matrix& across, const Eigen::MatrixXd& along, int m, int first, int second,
                 double sign, Matrix& to) {
  for (int l = 0; l < second; ++l)
    for (int j = 0; j < second; ++j)
      to.block(j * first, l * first, first, first) += sign * along(m, j) * along(m, l) * across;
}

Placed place(const PrismRoom& room, const MoverSurface& surface, const PrismTile& tile) {
  Placed out;
  out.count = tile.count();
  out.tile_first = tile.order[0];
  const Eigen::MatrixXd whole_across = tile_across(room, tile);
  out.across = surface.gather.transpose() * whole_across;
  const auto screened = screened_tiles(room.prism, room.kappa_1_m, tile, tile);
  std::copy(screened.begin(), screened.end() - 1, out.power.begin());
  out.own_wall = screened.back();
  for (auto& part : out.beyond) part = Eigen::MatrixXd::Zero(out.count, out.count);
  if (surface.edge < 0) {
    out.first = out.count, out.second = 1;
    for (std::size_t p = 0; p < out.power.size(); ++p)
      out.power[p] -= out.across.transpose() * surface.counted[0][p] * out.across;
    for (std::size_t c = 0; c < out.beyond.size(); ++c)
      out.beyond[c] = whole_across.transpose() * surface.end_beyond[c].asDiagonal() * whole_across;
    out.own_wall -= out.across.transpose() * surface.coupled_pairs[0] * out.across;
    return out;
  }
  out.first = tile.order[0], out.second = tile.order[1];
  out.along = cosine_integrals(room.prism.length_m, tile.area.low.y, tile.area.high.y,
                               tile.order[1], room.axis_all);
  const auto squeeze = [&](const Eigen::MatrixXd& x) {
    return Eigen::MatrixXd(out.across.transpose() * x * out.across);
  };
  for (int m = 0; m < room.axis_all; ++m) {
    if (m >= room.axis_damped) {
      for (std::size_t c = 0; c < out.beyond.size(); ++c)
        add_product(squeeze(surface.beyond[std::size_t(m)][c]), out.along, m, out.first, out.second,
                    1, out.beyond[c]);
      continue;
    }
    for (std::size_t p = 0; p < out.power.size(); ++p)
      add_product(squeeze(surface.counted[std::size_t(m)][p]), out.along, m, out.first, out.second,
                  -1, out.power[p]);
    add_product(squeeze(surface.coupled_pairs[std::size_t(m)]), out.along, m, out.first, out.second,
                -1, out.own_wall);
  }
  return out;
}

/// The first few functions alone.
Placed reduced(const Placed& from, int first, int second) {
  Placed out = from;
  std::vector<int> kept;
  for (int j = 0; j < second; ++j)
    for (int i = 0; i < first; ++i) kept.push_back(j * from.tile_first + i);
  const auto square = [&](Eigen::MatrixXd& m) { m = Eigen::MatrixXd(m(kept, kept)); };
  for (auto& part : out.power) square(part);
  for (auto& part : out.beyond) square(part);
  square(out.own_wall);
  out.count = int(kept.size());
  out.tile_first = first;
  if (from.along.size() == 0) {  // on an end
    out.across = Eigen::MatrixXd(from.across(Eigen::all, kept));
    out.first = out.count;
  } else {
    out.across = from.across.leftCols(first);
    out.along = from.along.leftCols(second);
    out.first = first, out.second = second;
  }
  return out;
}

/// What is held on the surface, gathered by the patch: function by column.
template <class Held>
ComplexMatrix gathered(const MoverSurface& surface, const Placed& placed, const Held& held) {
  using Scalar = typename Held::Scalar;
  const Eigen::Matrix<Scalar, Eigen::Dynamic, Eigen::Dynamic> across =
      placed.across.transpose().template cast<Scalar>();
  if (surface.edge < 0) return whole((across * held).template cast<double>());
  Held out = Held::Zero(placed.count, held.cols()), part;
  for (int m = 0; m < surface.along; ++m) {
    part.noalias() = across * held.middleRows(m * surface.functions, surface.functions);
    for (int j = 0; j < placed.second; ++j)
      out.middleRows(j * placed.first, placed.first) += Scalar(placed.along(m, j)) * part;
  }
  return whole(out.template cast<double>());
}

ComplexMatrix self_field(const PrismRoom& room, const MoverSurface& surface, const Placed& placed,
                         const MoverStanding& own, const MoverSurface::AtFrequency& at) {
  const double k2 = own.k * own.k, lift = k2 + room.kappa_1_m * room.kappa_1_m;
  Eigen::MatrixXd rest = placed.power[screened_terms - 1];
  for (int p = screened_terms - 2; p >= 0; --p) rest = rest * lift + placed.power[std::size_t(p)];
  const auto shares = chebyshev_shares(room.k_most_1_m * room.k_most_1_m, k2);
  for (std::size_t c = 0; c < shares.size(); ++c) rest += shares[c] * placed.beyond[c];
  const MoverValue wall = surface.edge < 0 ? own.at.surface[room.prism.surface_of(surface.edge)]
                                           : own.at.wall[surface.edge];
  ComplexMatrix out = rest - wall * placed.own_wall;
  const auto squeeze = [&](const Eigen::MatrixXd& x) {  // Uᵀ X U of halves
    const Eigen::MatrixXd half = placed.across.transpose() * x;
    const Eigen::Index n = x.rows();
    ComplexMatrix done(placed.first, placed.first);
    done.real() = half.leftCols(n) * placed.across;
    done.imag() = half.rightCols(n) * placed.across;
    return done;
  };
  if (surface.edge < 0) return out + squeeze(at.self[0]);
  // Products of two functions along by products of two across, over all damped ones.
  const ComplexMatrix along = own.at.axis_function * placed.along.cast<MoverValue>();
  const int first = placed.first, second = placed.second;
  ComplexMatrix pairs(second * (second + 1) / 2, room.axis_damped);
  ComplexMatrix across(room.axis_damped, first * first);
  for (int m = 0; m < room.axis_damped; ++m) {
    int row = 0;
    for (int l = 0; l < second; ++l)
      for (int j = 0; j <= l; ++j) pairs(row++, m) = along(m, j) * along(m, l);
    const ComplexMatrix own_across = squeeze(at.self[std::size_t(m)]);
    across.row(m) = Eigen::Map<const Eigen::RowVectorXcd>(own_across.data(), own_across.size());
  }
  const ComplexMatrix sums = pairs * across;
  int row = 0;
  for (int l = 0; l < second; ++l)
    for (int j = 0; j <= l; ++j, ++row)
      for (int k = 0; k < first; ++k)
        for (int i = 0; i < first; ++i) {
          const MoverValue sum = sums(row, k * first + i);
          out(j * first + i, l * first + k) += sum;
          if (j != l) out(l * first + i, j * first + k) += sum;
        }
  return out;
}

}  // namespace

/// strength: source by answer.
Result<std::vector<PlanMover::State::Pressure>> PlanMover::State::pressures(
    const Patch& area, const ComplexMatrix& strength) {
  State& own = *this;
  std::vector<Patch> all;
  for (const ResponsePatch& one : own.request.patches) all.push_back(one.area);
  all[own.patch] = area;
  if (const Diagnostics found = check_patches(own.request.room, all, "patches"); !found.empty())
    return found;
  const MoverSurface& held = own.surface(area.surface);
  const PrismTile tile =
      prism_tile(own.room.prism, own.request.room, area, own.k_most, own.options.accuracy_db);
  const Placed most = place(own.room, held, tile);
  // Lower frequencies need fewer functions.
  std::map<std::pair<int, int>, Placed> fewer;
  std::vector<const Placed*> by_frequency;
  for (const MoverStanding& one : own.standing) {
    const PrismTile wanted =
        prism_tile(own.room.prism, own.request.room, area, one.k, own.options.accuracy_db);
    const std::pair orders{wanted.order[0], wanted.order[1]};
    if (!fewer.count(orders)) fewer[orders] = reduced(most, orders.first, orders.second);
    by_frequency.push_back(&fewer[orders]);
  }
  const Eigen::Index receivers = own.points - own.sources;
  const std::size_t count = own.standing.size();
  std::vector<Pressure> out(
      std::size_t(strength.cols()),
      Pressure(static_cast<std::size_t>(receivers), std::vector<MoverValue>(count)));
  constexpr std::size_t run = 8;
  parallel_for((count + run - 1) / run, own.options.threads, [&](std::size_t block) {
    for (std::size_t f = block * run; f < std::min(count, (block + 1) * run); ++f) {
      const MoverStanding& here = own.standing[f];
      const MoverSurface::AtFrequency& at = held.at[f];
      const Placed& placed = *by_frequency[f];
      ComplexMatrix self = self_field(own.room, held, placed, here, at);
      const ComplexMatrix seen = gathered(held, placed, at.points);
      if (at.shapes.cols() > 0) {
        const ComplexMatrix shapes = gathered(held, placed, at.shapes);
        self -= shapes * at.middle * shapes.transpose();
      }
      const MoverValue jump = MoverValue(0, here.k) *
                              (here.own - here.at.surface[area.surface] / MoverValue(0, here.k));
      self *= jump;
      self.diagonal().array() += 1;
      const ComplexMatrix on = self.partialPivLu().solve(seen.leftCols(own.sources) * strength);
      const ComplexMatrix pressure =
          here.direct * strength - jump * (seen.rightCols(receivers).transpose() * on);
      for (Eigen::Index s = 0; s < strength.cols(); ++s)
        for (Eigen::Index r = 0; r < receivers; ++r)
          out[std::size_t(s)][std::size_t(r)][f] = own.request.density_kg_m3 * pressure(r, s);
    }
  });
  return out;
}

ComplexVector PlanMover::State::strengths() const {
  ComplexVector out(sources);
  for (int s = 0; s < sources; ++s)
    out[s] = request.sources[std::size_t(s)].volume_acceleration_m3_s2;
  return out;
}

Result<PlanMover::State::Pressure> PlanMover::at(const Patch& area) const {
  auto sum = state_->pressures(area, state_->strengths());
  if (!sum) return sum.mistakes();
  return std::move(sum->front());
}

Result<std::vector<PlanMover::State::Pressure>> PlanMover::at_apart(const Patch& area) const {
  return state_->pressures(area, state_->strengths().asDiagonal().toDenseMatrix());
}

std::vector<PlanMover::State::Pressure> PlanMover::without_apart() const {
  const State& own = *state_;
  const ComplexVector strength = own.strengths();
  std::vector<State::Pressure> out(std::size_t(own.sources),
                                   State::Pressure(std::size_t(own.points - own.sources),
                                                   std::vector<MoverValue>(own.standing.size())));
  for (std::size_t s = 0; s < out.size(); ++s)
    for (std::size_t r = 0; r < out[s].size(); ++r)
      for (std::size_t f = 0; f < own.standing.size(); ++f)
        out[s][r][f] = own.request.density_kg_m3 * strength[Eigen::Index(s)] *
                       own.standing[f].direct(Eigen::Index(r), Eigen::Index(s));
  return out;
}

}  // namespace roomwright::acoustics
