// One frequency of many rooms; see solid_family.h.
#include "acoustics/waves/solid_family.h"

#include <algorithm>
#include <cmath>

#include "acoustics/waves/dense.h"

namespace roomwright::acoustics {

namespace {

using FamilyFields = Eigen::MatrixXcd;
constexpr std::size_t few_members = 16;        // of a family, are solved one by one
constexpr Eigen::Index most_family_loads = 8;  // as are those with more loads
constexpr std::size_t first_snapshots = 6, more_snapshots = 2;

FamilyFields at_receivers_of(const SolidBasis& basis, const FamilyFields& field, int sides) {
  const FamilyFields all = basis.on_loads() * field.leftCols(sides);
  return all.bottomRows(all.rows() - sides);
}

/// The small model on the fields of some members.
class FamilyModel {
 public:
  explicit FamilyModel(const SolidBasis& basis) : basis_(basis) { fields_.resize(basis.size(), 0); }
  void add(const std::vector<FamilyFields>& snapshots) {
    for (const FamilyFields& one : snapshots) {
      const Eigen::Index before = fields_.cols();
      fields_.conservativeResize(basis_.size(), before + one.cols());
      fields_.rightCols(one.cols()) = one;
    }
    // Orthonormal, twice against what came before; what is nothing new is left out.
    Eigen::Index kept = 0;
    for (Eigen::Index c = 0; c < fields_.cols(); ++c) {
      Eigen::VectorXcd v = fields_.col(c);
      v /= std::max(v.norm(), 1e-300);
      for (int turn = 0; turn < 2; ++turn)
        v -= fields_.leftCols(kept) * (fields_.leftCols(kept).adjoint() * v);
      const double size = v.norm();
      if (!(size > 1e-9)) continue;
      fields_.col(kept++) = v / size;
    }
    fields_.conservativeResize(basis_.size(), kept);
    project();
  }
  FamilyFields solve(const SolidValues& values, int sides) const {
    FamilyFields matrix = FamilyFields::Zero(fields_.cols(), fields_.cols());
    for (std::size_t m = 0; m < values.stiffness.size(); ++m) {
      if (basis_.stiffness(m) && basis_.mass(m))
        matrix += values.inverse_density[m] * stiffness_[m] - values.stiffness[m] * mass_[m];
      else if (basis_.stiffness(m))
        matrix += values.inverse_density[m] * stiffness_[m];
    }
    for (std::size_t b = 0; b < values.boundary.size(); ++b)
      if (basis_.boundary(b) && values.boundary[b] != 0.0)
        matrix += values.boundary[b] * boundary_[b];
    const FamilyFields x = matrix.partialPivLu().solve(on_loads_.topRows(sides).transpose());
    if (!x.allFinite()) return {};
    return on_loads_.bottomRows(on_loads_.rows() - sides) * x;
  }

 private:
  void project() {
    const auto small = [&](const Eigen::MatrixXd& part) -> FamilyFields {
      const FamilyFields half = complex_product(dense_view(part), dense_view(fields_));
      return complex_product(dense_view(fields_).transposed(), dense_view(half));
    };
    stiffness_.clear(), mass_.clear(), boundary_.clear();
    for (std::size_t m = 0; m < basis_.materials(); ++m) {
      stiffness_.push_back(basis_.stiffness(m) ? small(*basis_.stiffness(m)) : FamilyFields());
      mass_.push_back(basis_.mass(m) ? small(*basis_.mass(m)) : FamilyFields());
    }
    for (std::size_t b = 0; b < basis_.boundaries(); ++b)
      boundary_.push_back(basis_.boundary(b) ? small(*basis_.boundary(b)) : FamilyFields());
    on_loads_ = basis_.on_loads() * fields_;
  }
  const SolidBasis& basis_;
  FamilyFields fields_, on_loads_;
  std::vector<FamilyFields> stiffness_, mass_, boundary_;
};

}  // namespace

std::vector<FamilyFields> solve_family(const SolidBasis& basis,
                                       const std::vector<SolidValues>& values, int sides,
                                       const FrontKernel& kernel, double tolerance) {
  std::vector<FamilyFields> out(values.size());
  const Eigen::Index loads = basis.on_loads().rows();
  if (values.size() < few_members || loads > most_family_loads) {
    for (std::size_t m = 0; m < values.size(); ++m)
      if (FamilyFields field; basis.fields(values[m], sides, kernel, field))
        out[m] = at_receivers_of(basis, field, sides);
    return out;
  }
  std::vector<char> solved(values.size(), 0);
  const auto snapshot = [&](std::size_t m, std::vector<FamilyFields>& fields) {
    solved[m] = 1;
    FamilyFields field;
    if (!basis.fields(values[m], static_cast<int>(loads), kernel, field)) return;
    out[m] = at_receivers_of(basis, field, sides);
    fields.push_back(std::move(field));
  };
  std::vector<FamilyFields> fields;
  for (std::size_t p = 0; p < first_snapshots; ++p)
    snapshot(p * values.size() / first_snapshots, fields);
  FamilyModel model(basis);
  model.add(fields);
  for (;;) {
    // The open members that are told to be farthest from the mean of all are held against the
    // small model.
    FamilyFields mean;
    std::vector<std::size_t> open;
    for (std::size_t m = 0; m < values.size(); ++m) {
      if (!solved[m]) out[m] = model.solve(values[m], sides), open.push_back(m);
      if (out[m].size() == 0) continue;
      if (mean.size() == 0) mean = FamilyFields::Zero(out[m].rows(), out[m].cols());
      mean += out[m] / double(values.size());
    }
    if (open.empty()) return out;
    const auto away = [&](std::size_t m) {
      return out[m].size() == 0 ? 1e300 : (out[m] - mean).norm();
    };
    std::stable_sort(open.begin(), open.end(),
                     [&](std::size_t a, std::size_t b) { return away(a) > away(b); });
    double worst = 0;
    fields.clear();
    for (std::size_t p = 0; p < std::min(more_snapshots, open.size()); ++p) {
      const FamilyFields told = out[open[p]];
      out[open[p]] = {};
      snapshot(open[p], fields);
      const FamilyFields& exact = out[open[p]];
      if (exact.size() == 0) continue;
      worst =
          told.size() == 0
              ? 1
              : std::max(worst, ((told - exact).array().abs() / exact.array().abs()).maxCoeff());
    }
    if (worst <= tolerance) return out;
    model.add(fields);
  }
}

}  // namespace roomwright::acoustics
