// Modes under a ceiling that slopes: the prisms' own matrices, rigid walls, the lowest eigenvalues
// by the Lanczos method on the shifted inverse, their number checked by Sylvester's law of inertia.
#include <Spectra/SymGEigsShiftSolver.h>

#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_fronts.h"
#include "acoustics/waves/solid_response.h"

namespace roomwright::acoustics {

namespace {

SolidValues shifted(const SolidModel& model, double shift) {
  SolidValues out;
  out.inverse_density.assign(1, 1);
  out.stiffness.assign(1, shift);
  out.boundary.assign(static_cast<std::size_t>(model.boundaries), 0);
  return out;
}

/// (K − σM)⁻¹ for the Lanczos solver.
class PrismInverse {
 public:
  using Scalar = double;
  PrismInverse(const SolidModel& model, FrontFactor& factor) : model_(model), factor_(factor) {}
  Eigen::Index rows() const { return model_.unknowns(); }
  Eigen::Index cols() const { return rows(); }
  void set_shift(const double& shift) { factor_.eliminate(shifted(model_, shift)); }
  void perform_op(const double* in, double* out) const {
    Eigen::MatrixXcd x = Eigen::Map<const Eigen::VectorXd>(in, rows());
    factor_.solve(x);
    Eigen::Map<Eigen::VectorXd>(out, rows()) = x.real();
  }

 private:
  const SolidModel& model_;
  FrontFactor& factor_;
};
class PrismMass {
 public:
  using Scalar = double;
  explicit PrismMass(const SolidModel& model) : model_(model) {}
  Eigen::Index rows() const { return model_.unknowns(); }
  Eigen::Index cols() const { return rows(); }
  void perform_op(const double* in, double* out) const {
    const Eigen::MatrixXd x = Eigen::Map<const Eigen::VectorXd>(in, rows());
    Eigen::Map<Eigen::VectorXd>(out, rows()) = apply_mass(model_, 0, x);
  }

 private:
  const SolidModel& model_;
};

}  // namespace

Result<PlaneReport> solid_eigenvalues(const Room& room, double most) {
  const double pi = std::acos(-1.0), k = std::sqrt(most);
  const std::vector<ResponsePatch> no_patches;
  const std::vector<ResponseObject> no_objects;
  const double fine = std::max(k, pi / std::sqrt(floor_area_m2(room)));
  SolidAsk ask{.room = room, .patches = no_patches, .objects = no_objects};
  ask.wave_number_1_m = fine;
  ask.slowness = {1.0};
  ask.more_degrees = 2;
  ask.follow_patches = false;
  const auto model = make_solid(ask);
  if (!model) return model.mistakes();
  const FrontTree tree = make_tree(*model);
  if (8.0 * double(tree.factor_size) + tree.space_bytes() > most_solid_bytes)
    return Complaint{"max_hz",
                     "asks for more memory than one call may take",
                     {},
                     "ask for a lower frequency",
                     0};
  FrontFactor factor(*model, tree, fastest_front_kernel());
  const double scale = std::pow(pi, 2) / floor_area_m2(room);
  factor.eliminate(shifted(*model, most));
  const int below = factor.negative_pivots();
  PrismInverse inverse(*model, factor);
  PrismMass mass(*model);
  const int wanted = std::min(below + 2, model->unknowns() / 3);
  const int kept = std::min(model->unknowns(), std::max(2 * wanted, wanted + 20));
  Spectra::SymGEigsShiftSolver<PrismInverse, PrismMass, Spectra::GEigsMode::ShiftInvert> solver(
      inverse, mass, wanted, kept, -0.3 * scale);
  solver.init();
  solver.compute(Spectra::SortRule::LargestMagn, 500, 1e-11);
  PlaneReport report;
  report.unknowns = model->unknowns();
  if (solver.info() == Spectra::CompInfo::Successful)
    for (const double value : solver.eigenvalues())
      if (value > 1e-7 * scale && value <= most) report.eigenvalues.push_back(value);
  std::sort(report.eigenvalues.begin(), report.eigenvalues.end());
  if (static_cast<int>(report.eigenvalues.size()) + 1 != below)
    return Complaint{"room",
                     "has modes that the solver did not find",
                     {},
                     "ask for a lower frequency, or simplify the plan",
                     0};
  return report;
}

}  // namespace roomwright::acoustics
