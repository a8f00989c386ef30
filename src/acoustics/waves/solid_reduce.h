// Private to acoustics/waves: the band by a small model. The matrix is a sum of few real ones with
// weights that move with frequency; projected on the fields of some frequencies (and on what
// follows from them by the shifted inverse: rational Krylov, A. Ruhe, Linear Algebra Appl. 58
// (1984), from memory) it is small, and is solved at every frequency.
#pragma once

#include <vector>

#include "acoustics/waves/solid_fronts.h"

namespace roomwright::acoustics {

/// A real, orthonormal basis that grows, and the small matrices on it.
class SolidBasis {
 public:
  /// loads: a row for each of sources and receivers.
  SolidBasis(const SolidModel& model, double wave_number_1_m, std::vector<SolidPoint> loads);
  /// Takes what is new in the real and imaginary parts of `fields`.
  void add(const Eigen::MatrixXcd& fields, int threads);
  int size() const { return static_cast<int>(basis_.cols()); }
  /// The same in the functions of the basis, for the first `sides` loads.
  bool fields(const SolidValues& values, int sides, const FrontKernel& kernel,
              Eigen::MatrixXcd& out) const;
  /// The basis at the loads, by row.
  const Eigen::MatrixXd& on_loads() const { return on_loads_; }
  /// As the model's terms name them (SolidModel::parts).
  std::size_t materials() const { return stiffness_.size(); }
  std::size_t boundaries() const { return boundary_.size(); }
  /// A part's small matrix; none where no column holds that material or boundary, and of the mass
  /// of what is told by direction but for the first.
  const Eigen::MatrixXd* stiffness(std::size_t material) const {
    return used_stiffness_[material] ? &stiffness_[material] : nullptr;
  }
  const Eigen::MatrixXd* mass(std::size_t material) const {
    return used_mass_[material] ? &mass_[material] : nullptr;
  }
  const Eigen::MatrixXd* boundary(std::size_t boundary) const {
    return used_boundary_[boundary] ? &boundary_[boundary] : nullptr;
  }
  const Eigen::MatrixXd& functions() const { return basis_; }
  double bytes() const { return 8.0 * double(basis_.size()); }
  /// Fields of the first `sides` loads at all loads, by column; false where it breaks down.
  bool solve(const SolidValues& values, int sides, const FrontKernel& kernel,
             Eigen::MatrixXcd& out) const;

 private:
  Eigen::MatrixXd fresh(const Eigen::MatrixXcd& fields) const;
  const SolidModel& model_;
  std::vector<SolidPoint> loads_;
  Eigen::VectorXd scale_;
  Eigen::MatrixXd basis_;
  Eigen::MatrixXd on_loads_;  ///< basis at the loads, by row
  std::vector<Eigen::MatrixXd> stiffness_, mass_, boundary_;
  std::vector<bool> used_stiffness_, used_mass_, used_boundary_;
  std::vector<std::vector<Eigen::Index>> material_rows_, boundary_rows_;  ///< that each touches
};

Eigen::MatrixXcd load_matrix(const SolidModel& model, const std::vector<SolidPoint>& loads,
                             std::size_t count);
std::complex<double> at_load(const Eigen::MatrixXcd& field, Eigen::Index column,
                             const SolidPoint& load);

}  // namespace roomwright::acoustics
