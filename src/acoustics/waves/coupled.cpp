// The driven field of prisms by coupled modes; see coupled.h.
#include "acoustics/waves/coupled.h"

#include <algorithm>
#include <atomic>
#include <cmath>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/response_parts.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Value = std::complex<double>;
const double coupled_pi = std::acos(-1.0);

/// How far above the wave number functions across are coupled to each other.
double near_square(double k_most, double k) {
  return std::min(4 * k_most * k_most, std::max(1.6 * k * k, k * k + 8));
}

double axis_share(int m, double length) {
  return std::sqrt((m ? 2 : 1) / length);
}

}  // namespace

double PrismRoom::axis_square(int m) const {
  const double q = m * coupled_pi / prism.length_m;
  return q * q;
}

int PrismRoom::across_count(int m) const {
  const double most = cut_1_m * cut_1_m - axis_square(m);
  const auto& values = basis.eigenvalues();
  return static_cast<int>(std::upper_bound(values.begin(), values.end(), most) - values.begin());
}

Result<PrismRoom> make_prism_room(const Room& room, double sound_speed_m_s, double hz_most) {
  const auto prism = prism_of(room);
  if (!prism)
    return Complaint{"room",
                     "is no prism: a plan under a flat ceiling, or a rectangle whose ceiling "
                     "slopes along one side",
                     {},
                     "give such a room",
                     0};
  const double k = 2 * coupled_pi * std::max(hz_most, 150.0) / sound_speed_m_s;
  auto basis = PlaneBasis::make(prism->section_m, 2 * k);
  if (!basis) return basis.mistakes();
  PrismRoom out{*prism, std::move(*basis), k, 1.1 * k, 2 * k, 0, 0, {}};
  out.axis_damped = static_cast<int>(1.4 * k * prism->length_m / coupled_pi) + 2;
  out.axis_all = static_cast<int>(out.cut_1_m * prism->length_m / coupled_pi) + 1;
  out.axis_all = std::max(out.axis_all, out.axis_damped);
  for (int e = 0; e < static_cast<int>(prism->section_m.size()); ++e)
    out.coupling.push_back(out.basis.edge_coupling(e));
  return out;
}

// ---- one frequency ----------------------------------------------------------------------------

namespace {

/// Damped functions along: q, and their shares of the rigid ones, from Green's identity
///   (α² − q²) ∫ z̃ z = −Σ over both ends of jkβ z̃ z.
bool make_axis(const PrismRoom& room, Value near, Value far, PrismAtK& out) {
  const int count = room.axis_damped;
  const double length = room.prism.length_m;
  out.axis_number.resize(count);
  out.axis_function = ComplexMatrix::Zero(count, room.axis_all);
  if (std::abs(near) + std::abs(far) < 1e-12) {
    for (int n = 0; n < count; ++n) {
      out.axis_number[n] = n * coupled_pi / length;
      out.axis_function(n, n) = 1;
    }
    return true;
  }
  if (!axis_numbers(length, near, far, count, out.axis_number.data())) return false;
  for (int n = 0; n < count; ++n) {
    // z̃ = (cos qa + κ0 sin(qa)/q) / √∫, and the rigid functions at the two ends.
    const Value q = out.axis_number[n], square = q * q, turn = q * length;
    const Value end = std::cos(turn) + near / q * std::sin(turn);
    const Value integral =
        ((end * end * ((square + far * far) * length + far)) + near) / (2.0 * square);
    const Value scale = 1.0 / std::sqrt(integral);
    for (int m = 0; m < room.axis_all; ++m) {
      const double share = axis_share(m, length);
      const Value source = near * scale * share + far * end * scale * share * (m % 2 ? -1.0 : 1.0);
      out.axis_function(n, m) = source / (square - room.axis_square(m));
    }
  }
  return true;
}

}  // namespace

ComplexMatrix prism_coupling(const PrismRoom& room, const PrismAtK& at) {
  ComplexMatrix out = ComplexMatrix::Zero(at.near, room.basis.count());
  for (std::size_t e = 0; e < room.coupling.size(); ++e)
    if (const Value b = at.wall[Eigen::Index(e)]; b != 0.0)
      out += b * room.coupling[e].topRows(at.near);
  return out;
}

bool prism_at(const PrismRoom& room, Value k, const std::vector<Value>& admittance, PrismAtK& out) {
  const Value jk = Value(0, 1) * k;
  out.k = k;
  const auto beta = [&](int edge) { return admittance[std::size_t(room.prism.surface_of(edge))]; };
  if (!make_axis(room, jk * beta(-1), jk * beta(-2), out)) return false;
  out.surface =
      jk * Eigen::Map<const ComplexVector>(admittance.data(), Eigen::Index(admittance.size()));
  out.wall.resize(Eigen::Index(room.coupling.size()));
  for (int e = 0; e < int(out.wall.size()); ++e) out.wall[e] = jk * beta(e);
  const auto& mu = room.basis.eigenvalues();
  const int all = room.basis.count();
  const double limit = near_square(room.k_most_1_m, k.real());
  out.near = static_cast<int>(std::upper_bound(mu.begin(), mu.end(), limit) - mu.begin());
  const int near = out.near, far = all - near;
  const ComplexMatrix coupling = prism_coupling(room, out);
  // What lies beyond every function across stiffens a wall: Σ 2/(L q²) over q above the cut.
  ComplexMatrix beyond = ComplexMatrix::Zero(near, near);
  const double sum = 2 / (coupled_pi * room.cut_1_m);
  for (std::size_t e = 0; e < room.coupling.size(); ++e)
    if (const Value b = out.wall[Eigen::Index(e)]; b != 0.0)
      beyond += (b / (1.0 + b * sum) - b) * room.coupling[e].topLeftCorner(near, near);
  out.across.resize(std::size_t(room.axis_damped));
  for (int m = 0; m < room.axis_damped; ++m) {
    PrismAtK::Across& own = out.across[std::size_t(m)];
    const Value shift = out.axis_number[m] * out.axis_number[m] - k * k;
    own.far = (mu.tail(far).cast<Value>().array() + shift).inverse().matrix();
    own.to_far = coupling.rightCols(far) * own.far.asDiagonal();
    ComplexMatrix system = coupling.leftCols(near) + beyond;
    add_product(system, -1, dense_view(own.to_far),
                dense_view(coupling.rightCols(far)).transposed());
    system.diagonal().array() += mu.head(near).cast<Value>().array() + shift;
    own.inverse = system.partialPivLu().inverse();
  }
  return true;
}

// ---- what is asked ----------------------------------------------------------------------------

void PrismFunctions::add_columns(Eigen::MatrixXd& table, const Eigen::MatrixXd& more) {
  const Eigen::Index before = table.cols();
  table.conservativeResize(more.rows(), before + more.cols());
  table.rightCols(more.cols()) = more;
}

void PrismFunctions::add_point(const PrismPoint& point) {
  const int across = int(across_.cols()), along = int(along_.cols());
  items_.push_back({false, point, {}, count()});
  add_columns(across_, room_->basis.at({point.across}));
  Eigen::VectorXd row(room_->axis_all);
  cosine_row(room_->prism.length_m, point.along, room_->axis_all, row.data());
  add_columns(along_, row);
  functions_.push_back({across, along});
  add_reaches({point.across}, Eigen::MatrixXd::Ones(1, 1), across);
}

/// A wall's admittance reaches a point, or what is gathered over several, by functions across
/// beyond those of the basis too: what the screened function of the section gathers of each near
/// function along the wall, less what the basis does. weights: point by column.
void PrismFunctions::add_reaches(const std::vector<Vec2>& points, const Eigen::MatrixXd& weights,
                                 int column) {
  const PrismRoom& room = *room_;
  const auto& mu = room.basis.eigenvalues();
  const double kappa = room.kappa_1_m;
  const double most = near_square(room.k_most_1_m, room.k_most_1_m);
  const auto near = std::upper_bound(mu.begin(), mu.end(), most) - mu.begin();
  const Eigen::Index columns = weights.cols();
  std::vector<std::vector<WallReach>> by_edge(room.coupling.size());
  parallel_for(by_edge.size(), 0, [&](std::size_t edge) {
    const int e = int(edge);
    const PlaneBasis::EdgePoints rule = room.basis.edge_points(e);
    std::vector<std::vector<std::vector<double>>> squares;
    bool reached = false;
    for (const Vec2& point : points) {
      squares.push_back(section_image_squares(room.prism, kappa, point, e, rule.along));
      for (const auto& list : squares.back()) reached |= !list.empty();
    }
    if (!reached) return;
    const Eigen::MatrixXd traces = room.basis.on_edge(e, rule.along).topRows(near);
    std::vector<WallReach>& reaches = by_edge[edge];
    for (int c = 0; c < int(columns); ++c) reaches.push_back({column + c, e, {}});
    for (int m = 0; m < room.axis_damped; ++m) {
      const double gamma = std::sqrt(kappa * kappa + room.axis_square(m));
      Eigen::MatrixXd one = Eigen::MatrixXd::Zero(Eigen::Index(rule.along.size()), columns);
      Eigen::MatrixXd two = one;
      for (std::size_t p = 0; p < points.size(); ++p)
        for (std::size_t i = 0; i < rule.along.size(); ++i) {
          double first = 0, second = 0;
          for (const double square : squares[p][i]) {
            const double r = std::sqrt(std::max(square, 1e-12));
            first += std::cyl_bessel_k(0.0, gamma * r) / (2 * coupled_pi);
            second += r * std::cyl_bessel_k(1.0, gamma * r) / (4 * coupled_pi * gamma);
          }
          one.row(Eigen::Index(i)) += rule.weights[i] * first * weights.row(Eigen::Index(p));
          two.row(Eigen::Index(i)) += rule.weights[i] * second * weights.row(Eigen::Index(p));
        }
      const Eigen::VectorXd lift = (mu.array() + gamma * gamma).inverse().matrix();
      const Eigen::MatrixXd at = lift.asDiagonal() * across_.middleCols(column, columns);
      const auto coupling = room.coupling[std::size_t(e)].topRows(near);
      const Eigen::MatrixXd first = traces * one - coupling * at;
      const Eigen::MatrixXd second = traces * two - coupling * (lift.asDiagonal() * at);
      for (int c = 0; c < int(columns); ++c) {
        Eigen::MatrixXd terms(near, 2);
        terms << first.col(c), second.col(c);
        reaches[std::size_t(c)].terms.push_back(std::move(terms));
      }
    }
  });
  for (auto& reaches : by_edge)
    for (WallReach& reach : reaches) reaches_.push_back(std::move(reach));
}

Eigen::MatrixXd tile_across(const PrismRoom& room, const PrismTile& tile) {
  const Vec2 low = tile.area.low, high = tile.area.high;
  const auto points = [&](double side, int order) {
    return static_cast<int>(room.cut_1_m * side) + order + 8;
  };
  const Quadrature first = gauss_legendre(points(high.x - low.x, tile.order[0]), low.x, high.x);
  Eigen::VectorXd f(tile.order[0]);
  if (tile.area.edge >= 0) {
    const Eigen::MatrixXd traces = room.basis.on_edge(tile.area.edge, first.points);
    Eigen::MatrixXd out = Eigen::MatrixXd::Zero(room.basis.count(), tile.order[0]);
    for (std::size_t i = 0; i < first.points.size(); ++i) {
      legendre_row(low.x, high.x, first.points[i], tile.order[0], f.data());
      out += (first.weights[i] * traces.col(Eigen::Index(i))) * f.transpose();
    }
    return out;
  }
  const Quadrature second = gauss_legendre(points(high.y - low.y, tile.order[1]), low.y, high.y);
  Eigen::VectorXd g(tile.order[1]);
  std::vector<Vec2> points_on;
  const auto many = Eigen::Index(first.points.size() * second.points.size());
  Eigen::MatrixXd weights(tile.count(), many);
  for (std::size_t k = 0; k < second.points.size(); ++k) {
    legendre_row(low.y, high.y, second.points[k], tile.order[1], g.data());
    for (std::size_t i = 0; i < first.points.size(); ++i) {
      legendre_row(low.x, high.x, first.points[i], tile.order[0], f.data());
      Eigen::Map<Eigen::MatrixXd>(weights.col(Eigen::Index(points_on.size())).data(), tile.order[0],
                                  tile.order[1]) =
          (first.weights[i] * second.weights[k]) * f * g.transpose();
      points_on.push_back({first.points[i], second.points[k]});
    }
  }
  const Eigen::MatrixXd values = room.basis.at(points_on);
  return real_product(dense_view(values), dense_view(weights).transposed());
}

void PrismFunctions::add_tile(const PrismTile& tile) {
  const int across = int(across_.cols()), along = int(along_.cols());
  items_.push_back({true, {}, tile, count()});
  add_columns(across_, tile_across(*room_, tile));
  if (tile.area.edge >= 0) {
    add_columns(along_, cosine_integrals(room_->prism.length_m, tile.area.low.y, tile.area.high.y,
                                         tile.order[1], room_->axis_all));
    for (int j = 0; j < tile.order[1]; ++j)
      for (int i = 0; i < tile.order[0]; ++i) functions_.push_back({across + i, along + j});
    const Quadrature rule = gauss_legendre(24, tile.area.low.x, tile.area.high.x);
    std::vector<Vec2> points;
    Eigen::MatrixXd weights(24, tile.order[0]);
    Eigen::VectorXd f(tile.order[0]);
    for (int i = 0; i < 24; ++i) {
      points.push_back(room_->prism.on_edge(tile.area.edge, rule.points[std::size_t(i)]));
      legendre_row(tile.area.low.x, tile.area.high.x, rule.points[std::size_t(i)], tile.order[0],
                   f.data());
      weights.row(i) = rule.weights[std::size_t(i)] * f.transpose();
    }
    add_reaches(points, weights, across);
    return;
  }
  Eigen::VectorXd row(room_->axis_all);
  const double at = tile.area.edge == -1 ? 0 : room_->prism.length_m;
  cosine_row(room_->prism.length_m, at, room_->axis_all, row.data());
  add_columns(along_, row);
  for (int i = 0; i < tile.count(); ++i) functions_.push_back({across + i, along});
}

void PrismFunctions::settle(int sources) {
  const int size = count(), damped = room_->axis_damped, all = room_->axis_all;
  if (size == 0) return;
  power_.assign(screened_terms, Eigen::MatrixXd::Zero(size, size));
  beyond_.assign(chebyshev_points, Eigen::MatrixXd::Zero(size, size));
  const double kappa = room_->kappa_1_m, most = room_->k_most_1_m * room_->k_most_1_m;
  const auto& mu = room_->basis.eigenvalues();
  // Sums over modes: across by across for one function along, then times that.
  const auto add = [&](Eigen::MatrixXd& to, int m, const Eigen::VectorXd& weight) {
    const Eigen::MatrixXd weighted = weight.asDiagonal() * across_;
    const Eigen::MatrixXd across =
        real_product(dense_view(across_).transposed(), dense_view(weighted));
    for (int b = 0; b < size; ++b)
      for (int a = 0; a < size; ++a)
        to(a, b) +=
            along_(m, along_of(a)) * along_(m, along_of(b)) * across(across_of(a), across_of(b));
  };
  for (int m = 0; m < damped; ++m) {
    const Eigen::ArrayXd lift = 1 / (mu.array() + room_->axis_square(m) + kappa * kappa);
    Eigen::ArrayXd weight = Eigen::ArrayXd::Constant(mu.size(), -1);
    for (int p = 0; p < screened_terms; ++p) add(power_[std::size_t(p)], m, weight *= lift);
  }
  for (int m = damped; m < all; ++m)
    for (int c = 0; c < chebyshev_points; ++c) {
      const double k_square = chebyshev_point(most, c);
      Eigen::ArrayXd weight = Eigen::ArrayXd::Zero(mu.size());
      for (int i = 0; i < room_->across_count(m); ++i) {
        const double lambda = mu[i] + room_->axis_square(m);
        weight[i] =
            std::pow((k_square + kappa * kappa) / (lambda + kappa * kappa), screened_terms) /
            (lambda - k_square);
      }
      add(beyond_[std::size_t(c)], m, weight);
    }
  std::vector<std::pair<const Item*, const Item*>> pairs;
  for (std::size_t a = 0; a < items_.size(); ++a)
    for (std::size_t b = a; b < items_.size(); ++b) {
      const Item &one = items_[a], &two = items_[b];
      if (!one.is_tile && !two.is_tile && (one.first < sources) == (two.first < sources)) continue;
      pairs.push_back({&one, &two});
    }
  std::vector<std::optional<OnSurface>> on_surface(pairs.size());
  parallel_for(pairs.size(), 0, [&](std::size_t i) {
    on_surface[i] = add_screened(*pairs[i].first, *pairs[i].second);
  });
  for (auto& one : on_surface)
    if (one) on_surface_.push_back(std::move(*one));
}

std::optional<PrismFunctions::OnSurface> PrismFunctions::add_screened(const Item& one,
                                                                      const Item& two) {
  std::optional<OnSurface> out;
  const double kappa = room_->kappa_1_m;
  const Prism& prism = room_->prism;
  std::array<Eigen::MatrixXd, screened_terms> pair;
  if (one.is_tile && two.is_tile) {
    const auto terms = screened_tiles(prism, kappa, one.tile, two.tile);
    std::copy(terms.begin(), terms.end() - 1, pair.begin());
    if (one.tile.area.surface == two.tile.area.surface) out = on_surface(one, two, terms.back());
  } else if (!one.is_tile && !two.is_tile) {
    const Screened terms = screened_field(prism, kappa, one.point, two.point);
    for (std::size_t p = 0; p < terms.size(); ++p)
      pair[p] = Eigen::MatrixXd::Constant(1, 1, terms[p]);
  } else {
    const Item &tile = one.is_tile ? one : two, &point = one.is_tile ? two : one;
    const Eigen::MatrixXd terms = screened_tile_field(prism, kappa, tile.tile, point.point);
    for (std::size_t p = 0; p < pair.size(); ++p) {
      pair[p] = terms.col(Eigen::Index(p));
      if (!one.is_tile) pair[p].transposeInPlace();
    }
  }
  for (std::size_t p = 0; p < pair.size(); ++p) {
    power_[p].block(one.first, two.first, one.count(), two.count()) += pair[p];
    if (&one != &two)
      power_[p].block(two.first, one.first, two.count(), one.count()) += pair[p].transpose();
  }
  return out;
}

/// What a surface's own admittance does between tiles on it beyond the pairs of functions that are
/// coupled, to first order: all pairs by the screened function, less those that are.
PrismFunctions::OnSurface PrismFunctions::on_surface(const Item& one, const Item& two,
                                                     const Eigen::MatrixXd& screened) const {
  const PrismRoom& room = *room_;
  const auto& mu = room.basis.eigenvalues();
  const double kappa = room.kappa_1_m, length = room.prism.length_m;
  const double most = near_square(room.k_most_1_m, room.k_most_1_m);
  const auto near = std::upper_bound(mu.begin(), mu.end(), most) - mu.begin();
  const auto far = mu.size() - near;
  OnSurface out{one.tile.area.surface, one.first, two.first, screened};
  // The two tiles' own columns of the table across.
  const int at_one = across_of(one.first), at_two = across_of(two.first);
  const auto columns = [&](const Item& item) {
    return across_.middleCols(across_of(item.first),
                              item.tile.area.edge >= 0 ? item.tile.order[0] : item.count());
  };
  const auto take = [&](int m, const Eigen::MatrixXd& across) {
    for (int b = 0; b < two.count(); ++b)
      for (int a = 0; a < one.count(); ++a) {
        const int fa = one.first + a, fb = two.first + b;
        out.part(a, b) -= (m < 0 ? 1 : along_(m, along_of(fa)) * along_(m, along_of(fb))) *
                          across(across_of(fa) - at_one, across_of(fb) - at_two);
      }
  };
  if (one.tile.area.edge >= 0) {
    const auto& coupling = room.coupling[std::size_t(one.tile.area.edge)];
    for (int m = 0; m < room.axis_damped; ++m) {
      const Eigen::VectorXd lift =
          (mu.array() + room.axis_square(m) + kappa * kappa).inverse().matrix();
      const Eigen::MatrixXd left = lift.asDiagonal() * columns(one);
      const Eigen::MatrixXd right = lift.asDiagonal() * columns(two);
      const Eigen::MatrixXd all = real_product(dense_view(coupling), dense_view(right));
      const Eigen::MatrixXd beyond = real_product(dense_view(coupling.bottomRightCorner(far, far)),
                                                  dense_view(right.bottomRows(far)));
      take(m, left.transpose() * all - left.bottomRows(far).transpose() * beyond);
    }
  } else {
    Eigen::VectorXd weight(mu.size());
    for (Eigen::Index i = 0; i < mu.size(); ++i) {
      const double gamma = std::sqrt(mu[i] + kappa * kappa);
      double rest = 1 / (gamma * std::tanh(gamma * length));
      const double whole = rest;
      for (int m = 0; m < room.axis_damped; ++m)
        rest -= (m ? 2 : 1) / length / (gamma * gamma + room.axis_square(m));
      weight[i] = whole * whole - rest * rest;
    }
    take(-1, columns(one).transpose() * weight.asDiagonal() * columns(two));
  }
  return out;
}

Eigen::MatrixXd PrismFunctions::rest(double k_square) const {
  const double kappa = room_->kappa_1_m, most = room_->k_most_1_m * room_->k_most_1_m;
  Eigen::MatrixXd out = power_[screened_terms - 1];
  for (int p = screened_terms - 2; p >= 0; --p)
    out = out * (k_square + kappa * kappa) + power_[std::size_t(p)];
  const auto share = chebyshev_shares(most, k_square);
  for (int c = 0; c < chebyshev_points; ++c) out += share[std::size_t(c)] * beyond_[std::size_t(c)];
  return out;
}

double chebyshev_point(double most, int c) {
  return most / 2 * (1 - std::cos(coupled_pi * (c + 0.5) / chebyshev_points));
}

std::array<double, chebyshev_points> chebyshev_shares(double most, double at) {
  // Barycentric weights of the points of the first kind.
  std::array<double, chebyshev_points> share{};
  double sum = 0;
  for (int c = 0; c < chebyshev_points; ++c) {
    const double off = at - chebyshev_point(most, c);
    if (std::abs(off) < 1e-12 * most) {
      share.fill(0);
      share[std::size_t(c)] = 1;
      return share;
    }
    share[std::size_t(c)] =
        (c % 2 ? -1 : 1) * std::sin(coupled_pi * (c + 0.5) / chebyshev_points) / off;
    sum += share[std::size_t(c)];
  }
  for (double& one : share) one /= sum;
  return share;
}

ComplexMatrix PrismFunctions::reached(const PrismAtK& at, int m) const {
  const auto far = across_.bottomRows(room_->basis.count() - at.near);
  ComplexMatrix out = across_.topRows(at.near).cast<Value>();
  add_product(out, -1, dense_view(at.across[std::size_t(m)].to_far), dense_view(far));
  return out - walls_beyond(at, m);
}

ComplexMatrix PrismFunctions::walls_beyond(const PrismAtK& at, int m) const {
  ComplexMatrix out = ComplexMatrix::Zero(at.near, across_.cols());
  const Value lift = at.k * at.k + room_->kappa_1_m * room_->kappa_1_m;
  for (const WallReach& reach : reaches_) {
    const Value jump = at.wall[reach.edge];
    const Eigen::MatrixXd& terms = reach.terms[std::size_t(m)];
    const auto rows = std::min<Eigen::Index>(at.near, terms.rows());
    out.col(reach.column).head(rows) +=
        jump * (terms.col(0).head(rows).cast<Value>() + lift * terms.col(1).head(rows));
  }
  return out;
}

ComplexMatrix PrismFunctions::field(const PrismAtK& at) const {
  const int size = count(), near = at.near, far = room_->basis.count() - near;
  ComplexMatrix out = rest((at.k * at.k).real()).cast<Value>();
  for (const OnSurface& own : on_surface_) {
    const ComplexMatrix part = at.surface[own.surface] * own.part;
    out.block(own.first, own.second, part.rows(), part.cols()) -= part;
    if (own.first != own.second)
      out.block(own.second, own.first, part.cols(), part.rows()) -= part.transpose();
  }
  const ComplexMatrix along = at.axis_function * along_.cast<Value>();
  for (int m = 0; m < room_->axis_damped; ++m) {
    const PrismAtK::Across& own = at.across[std::size_t(m)];
    const ComplexMatrix reached = this->reached(at, m);
    const ComplexMatrix solved = complex_product(dense_view(own.inverse), dense_view(reached));
    const ComplexMatrix beyond = own.far.asDiagonal() * across_.bottomRows(far).cast<Value>();
    ComplexMatrix across = complex_product(dense_view(reached).transposed(), dense_view(solved));
    add_product(across, 1, dense_view(across_.bottomRows(far)).transposed(), dense_view(beyond));
    for (int b = 0; b < size; ++b) {
      const Value z = along(m, along_of(b));
      for (int a = 0; a < size; ++a)
        out(a, b) += z * along(m, along_of(a)) * across(across_of(a), across_of(b));
    }
  }
  return out;
}

}  // namespace roomwright::acoustics
