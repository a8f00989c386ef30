// Modes followed as what absorbs grows; see followed.h.
#include "acoustics/waves/followed.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

using FollowedValue = std::complex<double>;
constexpr double first_share = 1e-3;

/// One turn of Rayleigh's quotient iteration for a complex symmetric matrix. False where it fails.
bool refine(const GrowingModes& modes, double share, Followed& mode) {
  Eigen::MatrixXcd matrix = modes.at(mode.k, share);
  for (int turn = 0; turn < 3; ++turn) {
    const FollowedValue square = mode.k * mode.k;
    Eigen::MatrixXcd shifted = matrix;
    shifted.diagonal().array() -= square * (1.0 + 1e-13);
    Eigen::VectorXcd next = shifted.partialPivLu().solve(mode.vector);
    if (!next.allFinite()) return false;
    next /= next.norm();
    const FollowedValue own = (next.transpose() * next)(0, 0);
    if (std::abs(own) < 1e-6) return false;
    const FollowedValue found = (next.transpose() * (matrix * next))(0, 0) / own;
    mode.vector = next;
    mode.k = std::sqrt(found);
    if (std::abs(found - square) < 1e-12 * std::abs(found)) break;
  }
  return true;
}

}  // namespace

std::vector<Followed> first_followed(const GrowingModes& modes, double k) {
  const Eigen::ComplexEigenSolver<Eigen::MatrixXcd> solver(modes.at(k, first_share));
  const Eigen::Index size = modes.size();
  std::vector<Followed> out(static_cast<std::size_t>(size));
  std::vector<char> used(static_cast<std::size_t>(size), 0);
  for (Eigen::Index n = 0; n < size; ++n) {
    Eigen::Index best = -1;
    double most = -1;
    for (Eigen::Index v = 0; v < size; ++v) {
      if (used[std::size_t(v)]) continue;
      const double near =
          std::norm(solver.eigenvectors()(n, v)) -
          10 * std::abs(solver.eigenvalues()[v] - modes.lambda(n)) / (1 + modes.lambda(n));
      if (near > most + 1e-9 || best < 0) most = near, best = v;
    }
    used[std::size_t(best)] = 1;
    out[std::size_t(n)] = {std::sqrt(solver.eigenvalues()[best]), solver.eigenvectors().col(best)};
  }
  return out;
}

bool follow(const GrowingModes& modes, Followed& mode, double least_kept) {
  double share = first_share, step = 0.02;
  while (share < 1) {
    Followed next = mode;
    const double to = std::min(1.0, share + step);
    const bool fine = refine(modes, to, next) && refine(modes, to, next);
    const double kept = fine ? std::abs((next.vector.adjoint() * mode.vector)(0, 0)) : 0;
    if (kept < least_kept && step > 1e-4) {
      step /= 2;
      continue;
    }
    if (!fine) return false;
    mode = next;
    share = to;
    if (kept > 0.2 * least_kept + 0.8) step = std::min(0.15, step * 1.7);
  }
  for (int turn = 0; turn < 4; ++turn)
    if (!refine(modes, 1, mode)) return false;
  return true;
}

}  // namespace roomwright::acoustics
