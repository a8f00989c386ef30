// Private to acoustics/waves: modes that are followed from their rigid values as what absorbs grows
// from nothing to its full strength.
#pragma once

#include <Eigen/Dense>

#include <complex>
#include <vector>

namespace roomwright::acoustics {

/// Coupled modes as a complex symmetric matrix that moves with the wave number and with the share
/// of the absorption; a mode is where the wave number's square is an eigenvalue of it.
class GrowingModes {
 public:
  virtual ~GrowingModes() = default;
  virtual Eigen::MatrixXcd at(std::complex<double> k, double share) const = 0;
  virtual Eigen::Index size() const = 0;
  /// Square of the rigid wave number.
  virtual double lambda(Eigen::Index n) const = 0;
};

struct Followed {
  std::complex<double> k;
  Eigen::VectorXcd vector;
};

/// First vectors of the modes, at a share so small that each is still known by its rigid one; equal
/// ones are parted by what damps them, about wave number k.
std::vector<Followed> first_followed(const GrowingModes& modes, double k);

/// From there to the full absorption, in steps that halve where a mode loses itself (its vector
/// keeping less of itself than `least_kept`). False where it fails.
bool follow(const GrowingModes& modes, Followed& mode, double least_kept = 0.9);

}  // namespace roomwright::acoustics
