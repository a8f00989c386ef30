// One patch moved about in a prism; see plan_mover.h. On an edge's face everything is in products
// of functions χ along the edge, which span the traces of the plane's functions there, and the
// rigid functions along the prism; on an end, in the plane's own functions.
#include "acoustics/waves/plan_mover.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/plan_mover_state.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

const double plan_pi = std::acos(-1.0);
constexpr double trace_tolerance = 1e-3;   ///< of the greatest, for functions along an edge
constexpr double answer_tolerance = 2e-3;  ///< of the greatest, for what other patches answer with
/// Screened fields of what is on other surfaces: so far, and until they have faded by e^−5.
constexpr double corner_reach_m = 1.2, corner_fade = 5;

/// Points across of a tile, and its functions there with the weights: point by function.
void tile_section(const Prism& prism, const PrismTile& tile, std::vector<Vec2>& points,
                  Eigen::MatrixXd& weights) {
  const Vec2 low = tile.area.low, high = tile.area.high;
  const bool end = tile.area.edge < 0;
  const Quadrature first = gauss_legendre(12, low.x, high.x);
  const Quadrature second = end ? gauss_legendre(12, low.y, high.y) : Quadrature{{0}, {1}};
  points.clear();
  weights.resize(Eigen::Index(first.points.size() * second.points.size()),
                 end ? tile.count() : tile.order[0]);
  Eigen::VectorXd f(tile.order[0]), g = Eigen::VectorXd::Ones(end ? tile.order[1] : 1);
  for (std::size_t k = 0; k < second.points.size(); ++k)
    for (std::size_t i = 0; i < first.points.size(); ++i) {
      legendre_row(low.x, high.x, first.points[i], tile.order[0], f.data());
      if (end) legendre_row(low.y, high.y, second.points[k], tile.order[1], g.data());
      const Eigen::MatrixXd both = first.weights[i] * second.weights[k] * f * g.transpose();
      weights.row(Eigen::Index(points.size())) =
          Eigen::Map<const Eigen::RowVectorXd>(both.data(), both.size());
      points.push_back(end ? Vec2{first.points[i], second.points[k]}
                           : prism.on_edge(tile.area.edge, first.points[i]));
    }
}

}  // namespace

bool PlanMover::State::stand(std::size_t f, MoverStanding& out) const {
  out.k = 2 * plan_pi * request.frequencies_hz[f] / request.sound_speed_m_s;
  const auto walls = surface_admittances(request, f);
  if (!prism_at(room, out.k, walls, out.at)) return false;
  out.own = admittance_at(request.patches[patch].admittance, f);
  const ComplexMatrix field = functions.field(out.at);
  const Eigen::Index unknowns = field.rows() - points;
  const ComplexMatrix to = field.bottomLeftCorner(unknowns, points);
  ComplexVector root(unknowns);  // of the jumps: √J (1 + √J S √J)⁻¹ √J is symmetric
  Eigen::Index row = 0;
  std::size_t at = 0;
  for (const auto& item : functions.items()) {
    if (!item.is_tile) continue;
    if (at == patch) ++at;
    const MoverValue more = admittance_at(request.patches[at++].admittance, f) -
                            walls[std::size_t(item.tile.area.surface)];
    root.segment(row, item.count()).setConstant(std::sqrt(MoverValue(0, out.k) * more));
    row += item.count();
  }
  ComplexMatrix system =
      root.asDiagonal() * field.bottomRightCorner(unknowns, unknowns) * root.asDiagonal();
  system.diagonal().array() += 1;
  if (!invert_symmetric(system)) return false;
  system = root.asDiagonal() * system * root.asDiagonal();
  out.answer = lower_half(system);
  out.answer_to = complex_product(dense_view(system), dense_view(to));
  out.direct = field.block(sources, 0, points - sources, sources) -
               to.rightCols(points - sources).transpose() * out.answer_to.leftCols(sources);
  for (auto& across : out.at.across) across.to_far.resize(0, 0);
  return field.allFinite() && system.allFinite();
}

Result<PlanMover> PlanMover::pick_up(const ResponseRequest& request, std::size_t patch,
                                     const ResponseOptions& options, const Watch& watch) {
  Diagnostics found = wrong_prism_request(request);
  found.add_all(options.check());
  if (found.empty() && patch >= request.patches.size())
    found.add("patch", "is not there", double(patch), "count from 0");
  if (!found.empty()) return found;
  const double most =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  watch.tick(0, "modes of the room");
  auto made = make_prism_room(request.room, request.sound_speed_m_s, most);
  if (!made) return made.mistakes();
  PlanMover out;
  out.state_ = std::make_shared<State>(request, std::move(*made));
  State& own = *out.state_;
  own.options = options;
  own.patch = patch;
  own.k_most = 2 * plan_pi * most / request.sound_speed_m_s;
  own.sources = int(request.sources.size());
  own.points = own.sources + int(request.receivers_m.size());
  for (const auto& source : request.sources)
    own.functions.add_point(own.room.prism.of(source.at_m));
  for (const Vec3& at : request.receivers_m) own.functions.add_point(own.room.prism.of(at));
  for (std::size_t p = 0; p < request.patches.size(); ++p)
    if (p != patch)
      own.functions.add_tile(prism_tile(own.room.prism, request.room, request.patches[p].area,
                                        own.k_most, options.accuracy_db));
  own.functions.settle(own.sources);
  own.standing.resize(request.frequencies_hz.size());
  own.surfaces.resize(std::size_t(surface_count(request.room)));
  std::vector<char> bad(own.standing.size(), 0);
  parallel_for(bad.size(), options.threads, [&](std::size_t f) {
    if (!watch.cancelled()) bad[f] = !own.stand(f, own.standing[f]);
  });
  if (watch.cancelled()) return Complaint{"response", "was cancelled", {}, "start it again", 0};
  if (const auto at = std::find(bad.begin(), bad.end(), 1); at != bad.end())
    return Complaint{"surfaces", "are so springy that the waves along them cannot be told apart",
                     request.frequencies_hz[std::size_t(at - bad.begin())],
                     "check the imaginary part of the admittance", 0};
  return out;
}

// ---- a surface, when it is first asked for ----------------------------------------------------

void PlanMover::State::make_shapes(MoverSurface& out) const {
  const auto& mu = room.basis.eigenvalues();
  if (out.edge < 0) {
    const double k = room.k_most_1_m;
    const auto limit = std::upper_bound(mu.begin(), mu.end(), std::max(1.6 * k * k, k * k + 8));
    out.functions = int(limit - mu.begin());
    out.traces = Eigen::MatrixXd::Identity(mu.size(), out.functions);
    out.gather = out.traces;
    return;
  }
  const PlaneBasis::EdgePoints rule = room.basis.edge_points(out.edge);
  Eigen::MatrixXd values = room.basis.on_edge(out.edge, rule.along);
  for (Eigen::Index i = 0; i < values.cols(); ++i)
    values.col(i) *= std::sqrt(rule.weights[std::size_t(i)]);
  // Eigenvalues ascend: the squares of the singular values of `values`.
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(values * values.transpose());
  const Eigen::VectorXd size = parts.eigenvalues().reverse().cwiseMax(0).cwiseSqrt();
  while (out.functions < size.size() && size[out.functions] > trace_tolerance * size[0])
    ++out.functions;
  const Eigen::MatrixXd kept = parts.eigenvectors().rightCols(out.functions).rowwise().reverse();
  out.traces = kept * size.head(out.functions).asDiagonal();
  out.gather = kept * size.head(out.functions).cwiseInverse().asDiagonal();
  out.along = room.axis_all;
}

void PlanMover::State::make_counted(MoverSurface& out) const {
  const auto& mu = room.basis.eigenvalues();
  const double kappa2 = room.kappa_1_m * room.kappa_1_m, most = room.k_most_1_m * room.k_most_1_m;
  const auto residue = [&](double lambda, int c) {
    const double k2 = chebyshev_point(most, c);
    return std::pow((k2 + kappa2) / (lambda + kappa2), screened_terms) / (lambda - k2);
  };
  if (out.edge < 0) {
    const Eigen::VectorXd row = end_row(out);
    out.counted.resize(1);
    for (auto& part : out.counted[0]) part = Eigen::MatrixXd::Zero(out.functions, out.functions);
    out.end_beyond.assign(chebyshev_points, Eigen::VectorXd::Zero(mu.size()));
    Eigen::VectorXd pairs = Eigen::VectorXd::Zero(out.functions);
    for (Eigen::Index i = 0; i < mu.size(); ++i) {
      const double gamma = std::sqrt(mu[i] + kappa2);
      const double every = 1 / (gamma * std::tanh(gamma * room.prism.length_m));
      double rest = every;
      for (int m = 0; m < room.axis_all; ++m) {
        const double lambda = mu[i] + room.axis_square(m);
        if (i < out.functions && m < room.axis_damped) {
          rest -= row[m] * row[m] / (lambda + kappa2);
          for (int p = 0; p < screened_terms; ++p)
            out.counted[0][std::size_t(p)](i, i) +=
                row[m] * row[m] / std::pow(lambda + kappa2, p + 1);
        } else if (i < room.across_count(m) || m < room.axis_damped) {
          for (int c = 0; c < chebyshev_points; ++c)
            out.end_beyond[std::size_t(c)][i] += row[m] * row[m] * residue(lambda, c);
        }
      }
      if (i < out.functions) pairs[i] = every * every - rest * rest;
    }
    // Functions that are not coupled count by their residue alone: the first four powers of all of
    // them are in the screened function.
    out.coupled_pairs = {pairs.asDiagonal()};
    return;
  }
  const auto& coupling = room.coupling[std::size_t(out.edge)];
  const double k = room.k_most_1_m;
  const auto near =
      std::upper_bound(mu.begin(), mu.end(), std::max(1.6 * k * k, k * k + 8)) - mu.begin();
  const auto far = mu.size() - near;
  out.counted.resize(std::size_t(room.axis_damped));
  out.beyond.resize(std::size_t(room.axis_all));
  for (int m = 0; m < room.axis_all; ++m) {
    const Eigen::ArrayXd lambda = mu.array() + room.axis_square(m);
    if (m < room.axis_damped) {
      const Eigen::VectorXd lift = (lambda + kappa2).inverse().matrix();
      Eigen::MatrixXd lifted = out.traces;
      for (auto& part : out.counted[std::size_t(m)]) {
        lifted = lift.asDiagonal() * lifted;
        part = out.traces.transpose() * lifted;
      }
      lifted = lift.asDiagonal() * out.traces;
      out.coupled_pairs.push_back(lifted.transpose() * coupling * lifted -
                                  lifted.bottomRows(far).transpose() *
                                      coupling.bottomRightCorner(far, far) *
                                      lifted.bottomRows(far));
      continue;
    }
    const int count = room.across_count(m);
    for (int c = 0; c < chebyshev_points; ++c) {
      Eigen::VectorXd weight = Eigen::VectorXd::Zero(mu.size());
      for (int i = 0; i < count; ++i) weight[i] = residue(lambda[i], c);
      out.beyond[std::size_t(m)][std::size_t(c)] =
          out.traces.transpose() * weight.asDiagonal() * out.traces;
    }
  }
}

/// On an end, function by function across: all functions along.
void PlanMover::State::add_end_fields(MoverSurface& out) const {
  constexpr int many = 80;
  const auto& mu = room.basis.eigenvalues();
  const double length = room.prism.length_m, kappa2 = room.kappa_1_m * room.kappa_1_m;
  Eigen::VectorXd end(many);
  cosine_row(length, end_at(out), many, end.data());
  for (const auto& item : functions.items()) {
    const int second = item.is_tile && item.tile.area.edge >= 0 ? item.tile.order[1] : 1;
    Eigen::MatrixXd along(many, second);
    if (second > 1 || (item.is_tile && item.tile.area.edge >= 0))
      along = cosine_integrals(length, item.tile.area.low.y, item.tile.area.high.y, second, many);
    else
      cosine_row(length,
                 !item.is_tile               ? item.point.along
                 : item.tile.area.edge == -1 ? 0
                                             : length,
                 many, along.data());
    const int first = item.count() / second;
    for (int i = 0; i < out.functions; ++i) {
      Eigen::ArrayXd weight = end.array();
      for (auto& part : out.fields) {
        for (int m = 0; m < many; ++m) weight[m] /= mu[i] + room.axis_square(m) + kappa2;
        const Eigen::RowVectorXd sum = weight.matrix().transpose() * along;
        for (int a = 0; a < item.count(); ++a)
          part(i, item.first + a) += sum[second > 1 ? a / first : 0] *
                                     functions.across()(i, functions.across_of(item.first + a));
      }
    }
  }
}

/// On an edge from points and from tiles round a corner: two-dimensional screened functions,
///   (ρ/γ)^(p−1) K_(p−1)(γρ) / (2π (p − 1)! 2^(p−1)).
void PlanMover::State::add_corner_fields(MoverSurface& out, const PlaneBasis::EdgePoints& rule,
                                         const Eigen::MatrixXd& shapes) const {
  constexpr double factor[] = {1, 0.5, 0.125, 1.0 / 48};
  const double reach_m = std::max(corner_reach_m, corner_fade / room.kappa_1_m);
  for (const auto& item : functions.items()) {
    if (item.is_tile && item.tile.area.edge == out.edge) continue;
    std::vector<Vec2> places{item.point.across};
    Eigen::MatrixXd weights = Eigen::MatrixXd::Ones(1, 1);
    if (item.is_tile) tile_section(room.prism, item.tile, places, weights);
    std::vector<std::vector<std::vector<double>>> squares;
    double least = 1e300;
    for (const Vec2& point : places) {
      squares.push_back(
          section_image_squares(room.prism, room.kappa_1_m, point, out.edge, rule.along));
      for (const auto& list : squares.back())
        for (const double square : list) least = std::min(least, square);
    }
    if (least > reach_m * reach_m) continue;
    for (int m = 0; m < room.axis_all; ++m) {
      const double gamma = std::sqrt(room.kappa_1_m * room.kappa_1_m + room.axis_square(m));
      std::array<Eigen::MatrixXd, screened_terms> on;
      for (auto& part : on)
        part = Eigen::MatrixXd::Zero(Eigen::Index(rule.along.size()), weights.cols());
      for (std::size_t p = 0; p < places.size(); ++p)
        for (std::size_t i = 0; i < rule.along.size(); ++i)
          for (const double square : squares[p][i]) {
            const double r = std::sqrt(std::max(square, 1e-12));
            if (gamma * r > 14) continue;
            double k0 = std::cyl_bessel_k(0.0, gamma * r), k1 = std::cyl_bessel_k(1.0, gamma * r);
            double power = rule.weights[i] / (2 * plan_pi);
            for (std::size_t t = 0; t < screened_terms; ++t) {
              on[t].row(Eigen::Index(i)) += factor[t] * power * k0 * weights.row(Eigen::Index(p));
              const double next = k0 + 2 * double(t + 1) / (gamma * r) * k1;
              k0 = k1, k1 = next;
              power *= r / gamma;
            }
          }
      for (std::size_t t = 0; t < screened_terms; ++t) {
        const Eigen::MatrixXd part = shapes * on[t];
        for (int a = 0; a < item.count(); ++a)
          out.fields[t].block(m * out.functions, item.first + a, out.functions, 1) +=
              functions.along()(m, functions.along_of(item.first + a)) *
              part.col(a % weights.cols());
      }
    }
  }
}

/// The screened fields of what stands near: exactly in q on the same edge.
void PlanMover::State::add_screened_fields(MoverSurface& out) const {
  if (out.edge < 0) return add_end_fields(out);
  const PlaneBasis::EdgePoints rule = room.basis.edge_points(out.edge);
  const Eigen::MatrixXd shapes = out.gather.transpose() * room.basis.on_edge(out.edge, rule.along);
  add_corner_fields(out, rule, shapes);
  const double run = room.prism.edge_length(out.edge), kappa2 = room.kappa_1_m * room.kappa_1_m;
  const int waves = int(1.3 * room.cut_1_m * run / plan_pi) + 4;
  Eigen::MatrixXd against = Eigen::MatrixXd::Zero(out.functions, waves);  // ∫ χ cos
  Eigen::VectorXd cosines(waves);
  for (std::size_t i = 0; i < rule.along.size(); ++i) {
    cosine_row(run, rule.along[i], waves, cosines.data());
    against += rule.weights[i] * shapes.col(Eigen::Index(i)) * cosines.transpose();
  }
  for (const auto& item : functions.items()) {
    if (!item.is_tile || item.tile.area.edge != out.edge) continue;
    const Vec2 low = item.tile.area.low, high = item.tile.area.high;
    const Eigen::MatrixXd first = cosine_integrals(run, low.x, high.x, item.tile.order[0], waves);
    for (int m = 0; m < room.axis_all; ++m)
      for (std::size_t p = 0; p < screened_terms; ++p) {
        constexpr double factor[] = {1, 0.5, 0.375, 0.3125};
        Eigen::VectorXd weight(waves);
        for (int j = 0; j < waves; ++j)
          weight[j] =
              factor[p] * std::pow(std::pow(j * plan_pi / run, 2) + room.axis_square(m) + kappa2,
                                   0.5 - double(p + 1));
        const Eigen::MatrixXd part = against * weight.asDiagonal() * first;
        for (int a = 0; a < item.count(); ++a)
          out.fields[p].block(m * out.functions, item.first + a, out.functions, 1) +=
              functions.along()(m, functions.along_of(item.first + a)) *
              part.col(a % item.tile.order[0]);
      }
  }
}

void PlanMover::State::make_fields(MoverSurface& out) const {
  const auto& mu = room.basis.eigenvalues();
  const double kappa2 = room.kappa_1_m * room.kappa_1_m, most = room.k_most_1_m * room.k_most_1_m;
  const Eigen::Index rows = Eigen::Index(out.functions) * out.along;
  for (auto& part : out.fields) part = Eigen::MatrixXd::Zero(rows, functions.count());
  for (auto& part : out.fields_beyond) part = Eigen::MatrixXd::Zero(rows, functions.count());
  const Eigen::VectorXd end = out.edge < 0 ? end_row(out) : Eigen::VectorXd();
  const auto add = [&](Eigen::MatrixXd& to, int m, const Eigen::VectorXd& weight) {
    const Eigen::MatrixXd across =
        out.traces.transpose() * weight.asDiagonal() * functions.across();
    const double share = out.edge < 0 ? end[m] : 1;
    for (int a = 0; a < functions.count(); ++a)
      to.block(out.edge < 0 ? 0 : m * out.functions, a, out.functions, 1) +=
          share * functions.along()(m, functions.along_of(a)) * across.col(functions.across_of(a));
  };
  for (int m = 0; m < room.axis_all; ++m) {
    const Eigen::ArrayXd lambda = mu.array() + room.axis_square(m);
    if (m < room.axis_damped) {
      Eigen::ArrayXd weight = Eigen::ArrayXd::Constant(mu.size(), -1);
      for (auto& part : out.fields) add(part, m, (weight /= lambda + kappa2).matrix());
      continue;
    }
    for (int c = 0; c < chebyshev_points; ++c) {
      const double k2 = chebyshev_point(most, c);
      Eigen::VectorXd weight = Eigen::VectorXd::Zero(mu.size());
      for (int i = 0; i < room.across_count(m); ++i)
        weight[i] =
            std::pow((k2 + kappa2) / (lambda[i] + kappa2), screened_terms) / (lambda[i] - k2);
      add(out.fields_beyond[std::size_t(c)], m, weight);
    }
  }
  add_screened_fields(out);
}

namespace {

/// from ≈ Q · shares with orthonormal Q = from(:, chosen) · shares(:, chosen)⁻¹: the columns that
/// matter, by Cholesky's factors of their products, the greatest that is left first.
struct MainColumns {
  std::vector<Eigen::Index> chosen;
  ComplexMatrix shares;
  /// Q · right.
  ComplexMatrix times(const ComplexMatrix& from, const ComplexMatrix& right) const {
    const ComplexMatrix columns = from(Eigen::all, chosen), own = shares(Eigen::all, chosen);
    const ComplexMatrix solved = own.triangularView<Eigen::Upper>().solve(right);
    return complex_product(dense_view(columns), dense_view(solved));
  }
};
MainColumns main_columns(const ComplexMatrix& from, double tolerance) {
  const Eigen::Index n = from.cols();
  const ComplexMatrix turned = from.conjugate();
  const ComplexMatrix products = complex_product(dense_view(from).transposed(), dense_view(turned));
  Eigen::VectorXd left = products.diagonal().real();
  const double most = n ? left.maxCoeff() : 0;
  ComplexMatrix rows(n, std::min(from.rows(), n));  // of the shares
  MainColumns out;
  for (Eigen::Index step = 0; step < rows.cols(); ++step) {
    Eigen::Index best = 0;
    const double size = left.maxCoeff(&best);
    if (size <= tolerance * tolerance * most) break;
    auto row = rows.col(step);
    row = products.col(best);
    row.noalias() -= rows.leftCols(step) * rows.row(best).head(step).adjoint();
    row /= std::sqrt(size);
    for (const Eigen::Index done : out.chosen) row[done] = 0;
    left -= row.cwiseAbs2();
    left[best] = 0;
    out.chosen.push_back(best);
  }
  out.shares = rows.leftCols(Eigen::Index(out.chosen.size())).transpose();
  return out;
}

/// See MoverSurface::AtFrequency. Rows: function along · functions + function.
std::vector<float> held_table(const ComplexMatrix& from, int functions) {
  const Eigen::Index along = from.rows() / functions, rows = from.cols();
  std::vector<float> out(std::size_t(2 * from.size()));
  float* to = out.data();
  for (int a = 0; a < functions; ++a)
    for (Eigen::Index m = 0; m < along; ++m, to += 2 * rows)
      for (Eigen::Index r = 0; r < rows; ++r) {
        to[r] = float(from(m * functions + a, r).real());
        to[rows + r] = float(from(m * functions + a, r).imag());
      }
  return out;
}

}  // namespace

MoverSurface::AtFrequency PlanMover::State::make_frequency(const MoverSurface& surface,
                                                           std::size_t f) const {
  const MoverStanding& own = standing[f];
  PrismAtK at = own.at;
  const ComplexMatrix coupling = prism_coupling(room, at);
  const Eigen::Index near = at.near, far = room.basis.count() - near;
  const Eigen::Index count = surface.functions;
  const double k2 = own.k * own.k, lift = k2 + room.kappa_1_m * room.kappa_1_m;
  Eigen::MatrixXd rest = surface.fields[screened_terms - 1];
  for (int p = screened_terms - 2; p >= 0; --p) rest = rest * lift + surface.fields[std::size_t(p)];
  const auto shares = chebyshev_shares(room.k_most_1_m * room.k_most_1_m, k2);
  for (std::size_t c = 0; c < shares.size(); ++c) rest += shares[c] * surface.fields_beyond[c];
  ComplexMatrix fields = rest.cast<MoverValue>();
  MoverSurface::AtFrequency out;
  const ComplexMatrix along = at.axis_function * functions.along().cast<MoverValue>();
  const ComplexVector end =
      surface.edge < 0 ? ComplexVector(at.axis_function * end_row(surface).cast<MoverValue>())
                       : ComplexVector();
  const auto near_traces = surface.traces.topRows(near),
             far_traces = surface.traces.bottomRows(far);
  const auto far_across = functions.across().bottomRows(far);
  // What lies beyond every function across stiffens the wall that the patch is on.
  const MoverValue stiff =
      surface.edge < 0 ? 1.0 : 1.0 / (1.0 + at.wall[surface.edge] * 2.0 / (plan_pi * room.cut_1_m));
  const Eigen::Index damped = room.axis_damped;
  ComplexMatrix sum = ComplexMatrix::Zero(count, count);
  if (surface.edge >= 0) out.self.resize(std::size_t(2 * damped * count * count));
  // By function and function of the surface: what each damped function along brings.
  ComplexMatrix brought(surface.edge < 0 ? 0 : count * functions.count(), damped);
  for (int m = 0; m < damped; ++m) {
    PrismAtK::Across& across = at.across[std::size_t(m)];
    across.to_far = coupling.rightCols(far) * across.far.asDiagonal();
    ComplexMatrix seen = near_traces.cast<MoverValue>();
    add_product(seen, -1, dense_view(across.to_far), dense_view(far_traces));
    seen *= stiff;
    const ComplexMatrix reached = functions.reached(at, m);
    const ComplexMatrix solved = complex_product(dense_view(across.inverse), dense_view(seen));
    const ComplexMatrix weighted = across.far.asDiagonal() * far_traces.cast<MoverValue>();
    ComplexMatrix self = complex_product(dense_view(seen).transposed(), dense_view(solved));
    add_product(self, 1, dense_view(far_traces).transposed(), dense_view(weighted));
    ComplexMatrix to = complex_product(dense_view(solved).transposed(), dense_view(reached));
    add_product(to, 1, dense_view(weighted).transposed(), dense_view(far_across));
    if (surface.edge < 0) {
      const MoverValue share = end[m];
      sum += share * share * self;
      for (int a = 0; a < functions.count(); ++a)
        fields.col(a) += share * along(m, functions.along_of(a)) * to.col(functions.across_of(a));
      continue;
    }
    for (int a = 0; a < functions.count(); ++a)
      brought.block(a * count, m, count, 1) =
          along(m, functions.along_of(a)) * to.col(functions.across_of(a));
    for (Eigen::Index b = 0; b < count; ++b)
      for (Eigen::Index a = 0; a < count; ++a) {
        float* held = out.self.data() + (a * count + b) * 2 * damped + m;
        held[0] = float(self(a, b).real()), held[damped] = float(self(a, b).imag());
      }
  }
  if (surface.edge < 0) {
    for (Eigen::Index a = 0; a < count; ++a) {
      for (Eigen::Index b = 0; b < count; ++b) out.self.push_back(float(sum(b, a).real()));
      for (Eigen::Index b = 0; b < count; ++b) out.self.push_back(float(sum(b, a).imag()));
    }
  } else {
    const ComplexMatrix all = complex_product(dense_view(brought), dense_view(at.axis_function));
    for (int a = 0; a < functions.count(); ++a)
      for (int n = 0; n < room.axis_all; ++n)
        fields.block(n * count, a, count, 1) += all.block(a * count, n, count, 1);
  }
  const ComplexMatrix others = fields.rightCols(fields.cols() - points);
  ComplexMatrix seen_points = fields.leftCols(points);
  add_product(seen_points, -1, dense_view(others), dense_view(own.answer_to));
  out.points = held_table(seen_points, int(count));
  if (others.cols() == 0) return out;
  // What the patches answer with has fewer shapes than their fields: once more of the products.
  const MainColumns main = main_columns(others, answer_tolerance);
  const ComplexMatrix whole_answer = whole_of(own.answer, others.cols());
  const ComplexMatrix answered = complex_product(dense_view(main.shares), dense_view(whole_answer));
  const ComplexMatrix answer =
      complex_product(dense_view(answered), dense_view(main.shares).transposed());
  // The answer is Q X Qᵀ, X = Qᴴ answer Q*.
  const MainColumns few = main_columns(answer, answer_tolerance);
  const Eigen::Index kept = Eigen::Index(few.chosen.size());
  const ComplexMatrix fewer = few.times(answer, ComplexMatrix::Identity(kept, kept));
  const ComplexMatrix turned = fewer.conjugate();
  const ComplexMatrix middle = complex_product(dense_view(few.shares), dense_view(turned));
  out.shapes = held_table(main.times(others, fewer), int(count));
  out.shape_count = int(kept);
  for (Eigen::Index j = 0; j < 2 * kept; ++j)
    for (Eigen::Index i = 0; i < 2 * kept; ++i) {
      const MoverValue value = middle(i % kept, j % kept);
      out.middle.push_back(float(i / kept == j / kept ? value.real()
                                 : i < kept           ? -value.imag()
                                                      : value.imag()));
    }
  return out;
}

const MoverSurface& PlanMover::State::surface(int index) {
  auto& own = surfaces[std::size_t(index)];
  if (own) return *own;
  own = std::make_unique<MoverSurface>();
  own->edge = room.prism.edges[std::size_t(index)];
  make_shapes(*own);
  make_counted(*own);
  make_fields(*own);
  own->at.resize(standing.size());
  parallel_for(standing.size(), options.threads,
               [&](std::size_t f) { own->at[f] = make_frequency(*own, f); });
  return *own;
}

}  // namespace roomwright::acoustics
