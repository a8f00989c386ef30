// A patch of a prism at one place, from what was compressed for that surface. See
// plan_mover_state.h.
#include <algorithm>
#include <cmath>
#include <map>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/dense_kernel.h"
#include "acoustics/waves/plan_mover_state.h"

namespace roomwright::acoustics {

namespace {

/// The patch at one place, without frequency.
struct Placed {
  int count = 0, first = 0, second = 0;  ///< functions; along the edge, along the prism
  int tile_first = 0;                    ///< of the tile's first side
  Eigen::MatrixXd across;                ///< function of the surface by function
  Eigen::MatrixXd turned;                ///< the same the other way round
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

/// On two threads: what the functions across gather, and what images do.
Placed place(const PrismRoom& room, const MoverSurface& surface, const PrismTile& tile,
             const ScreenedParts& alone, int threads) {
  Placed out;
  out.count = tile.count();
  out.tile_first = tile.order[0];
  Eigen::MatrixXd whole_across;
  ScreenedParts screened;
  parallel_for(2, threads, [&](std::size_t part) {
    if (part == 0)
      screened = screened_with_images(room.prism, room.kappa_1_m, tile, alone);
    else
      whole_across = tile_across(room, tile);
  });
  out.across = surface.gather.transpose() * whole_across;
  out.turned = out.across.transpose();
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
  out.turned = out.across.transpose();
  return out;
}

/// left (column by column, `rows` of them) · right, from its row `first` on.
template <class From>
void thin(const From* left, Eigen::Index rows, Eigen::Index inner, const Eigen::MatrixXd& right,
          double* out, Eigen::Index out_column, Eigen::Index first = 0) {
  DenseThin task{rows, right.cols(),         inner,        nullptr, nullptr,
                 rows, right.data() + first, right.rows(), out,     out_column};
  if constexpr (std::is_same_v<From, float>)
    task.brief = left;
  else
    task.left = left;
  thin_product(task);
}

/// What a table holds, gathered along both its indices: row by (second · first's count + first).
Eigen::MatrixXd gathered(const std::vector<float>& table, const Eigen::MatrixXd& first,
                         const Eigen::MatrixXd& second) {
  const Eigen::Index inner = second.rows();
  const Eigen::Index rows = Eigen::Index(table.size()) / (first.rows() * inner);
  Eigen::MatrixXd half(rows * inner, first.cols()), out(rows, first.cols() * second.cols());
  thin(table.data(), rows * inner, first.rows(), first, half.data(), half.rows());
  for (Eigen::Index i = 0; i < first.cols(); ++i)
    thin(half.col(i).data(), rows, inner, second, out.col(i).data(), rows * first.cols());
  return out;
}
Eigen::MatrixXd gathered(const MoverSurface& surface, const Placed& placed,
                         const std::vector<float>& table) {
  if (surface.edge >= 0) return gathered(table, placed.across, placed.along);
  const Eigen::Index rows = Eigen::Index(table.size()) / placed.across.rows();
  Eigen::MatrixXd out(rows, placed.count);
  thin(table.data(), rows, placed.across.rows(), placed.across, out.data(), rows);
  return out;
}

/// Real parts, then imaginary ones, by function: function by column.
ComplexMatrix whole_rows(const Eigen::MatrixXd& rows) {
  const Eigen::Index count = rows.rows() / 2;
  ComplexMatrix out(rows.cols(), count);
  out.real() = rows.topRows(count).transpose();
  out.imag() = rows.bottomRows(count).transpose();
  return out;
}

/// Adds Uᵀ X U of an end's own functions.
void add_end_self(const Placed& placed, const std::vector<float>& held, ComplexMatrix& out) {
  const Eigen::Index n = placed.across.rows(), count = placed.count;
  Eigen::MatrixXd half(2 * n, count), part(count, count);
  thin(held.data(), 2 * n, n, placed.across, half.data(), 2 * n);
  thin(placed.turned.data(), count, n, half, part.data(), count);
  out.real() += part;
  thin(placed.turned.data(), count, n, half, part.data(), count, n);
  out.imag() += part;
}

/// Adds products of two functions along by products of two across, over all damped ones.
void add_edge_self(const PrismRoom& room, const Placed& placed, const MoverStanding& own,
                   const std::vector<float>& held, ComplexMatrix& out) {
  const int first = placed.first, second = placed.second;
  const Eigen::Index damped = room.axis_damped, pairs = second * (second + 1) / 2;
  const Eigen::MatrixXd across = gathered(held, placed.across, placed.across);
  const ComplexMatrix along = own.at.axis_function * placed.along.cast<MoverValue>();
  Eigen::MatrixXd weights(2 * pairs, 2 * damped);
  for (Eigen::Index m = 0; m < damped; ++m) {
    Eigen::Index row = 0;
    for (int l = 0; l < second; ++l)
      for (int j = 0; j <= l; ++j, ++row) {
        const MoverValue pair = along(m, j) * along(m, l);
        weights(row, m) = weights(pairs + row, damped + m) = pair.real();
        weights(pairs + row, m) = pair.imag();
        weights(row, damped + m) = -pair.imag();
      }
  }
  Eigen::MatrixXd sums(2 * pairs, first * first);
  thin(weights.data(), 2 * pairs, 2 * damped, across, sums.data(), 2 * pairs);
  Eigen::Index row = 0;
  for (int l = 0; l < second; ++l)
    for (int j = 0; j <= l; ++j, ++row)
      for (int k = 0; k < first; ++k)
        for (int i = 0; i < first; ++i) {
          const MoverValue sum(sums(row, k * first + i), sums(pairs + row, k * first + i));
          out(j * first + i, l * first + k) += sum;
          if (j != l) out(l * first + i, j * first + k) += sum;
        }
}

/// Takes from `out` what the other patches answer.
void take_answers(const MoverSurface& surface, const Placed& placed,
                  const MoverSurface::AtFrequency& at, ComplexMatrix& out) {
  const Eigen::Index kept = at.shape_count, count = placed.count;
  if (kept == 0) return;
  const Eigen::MatrixXd shapes = gathered(surface, placed, at.shapes);
  Eigen::MatrixXd answered(2 * kept, count), turned(count, 2 * kept), part(count, count);
  thin(at.middle.data(), 2 * kept, 2 * kept, shapes, answered.data(), 2 * kept);
  turned << shapes.topRows(kept).transpose(), -shapes.bottomRows(kept).transpose();
  thin(turned.data(), count, 2 * kept, answered, part.data(), count);
  out.real() -= part;
  turned << shapes.bottomRows(kept).transpose(), shapes.topRows(kept).transpose();
  thin(turned.data(), count, 2 * kept, answered, part.data(), count);
  out.imag() -= part;
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
  if (surface.edge < 0)
    add_end_self(placed, at.self, out);
  else
    add_edge_self(room, placed, own, at.self, out);
  take_answers(surface, placed, at, out);
  return out;
}

}  // namespace

/// A drag keeps a patch's size: then nothing of it is to be done again. Of the size to 1e-10 m, at
/// the origin, so that a place has the same answer whatever was asked before.
const ScreenedParts& PlanMover::State::alone(const PrismTile& tile) {
  const auto rounded = [](double x) { return std::round(x * 1e10) * 1e-10; };
  const Vec2 size = tile.area.high - tile.area.low;
  PrismTile own = tile;
  own.area.low = {0, 0};
  own.area.high = {rounded(size.x), rounded(size.y)};
  for (const MoverAlone& one : sizes)
    if (one.size_m.x == own.area.high.x && one.size_m.y == own.area.high.y &&
        one.order[0] == tile.order[0] && one.order[1] == tile.order[1])
      return one.parts;
  constexpr std::size_t most = 8;
  if (sizes.size() == most) sizes.pop_front();
  sizes.push_back(
      {own.area.high, {tile.order[0], tile.order[1]}, screened_alone(room.kappa_1_m, own)});
  return sizes.back().parts;
}

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
  const Placed most = place(own.room, held, tile, own.alone(tile), own.options.threads);
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
      const ComplexMatrix seen = whole_rows(gathered(held, placed, at.points));
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
