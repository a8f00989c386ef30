// Private to acoustics/waves: what a patch that moves in a prism (plan_mover.h) keeps between
// places.
#pragma once

#include <array>
#include <complex>
#include <deque>
#include <memory>
#include <vector>

#include "acoustics/waves/coupled.h"
#include "acoustics/waves/plan_mover.h"

namespace roomwright::acoustics {

using MoverValue = std::complex<double>;

/// A symmetric matrix by its lower half, column by column, in six digits.
inline std::vector<std::complex<float>> lower_half(const ComplexMatrix& m) {
  std::vector<std::complex<float>> out;
  out.reserve(std::size_t(m.rows() * (m.rows() + 1) / 2));
  for (Eigen::Index j = 0; j < m.cols(); ++j)
    for (Eigen::Index i = j; i < m.rows(); ++i) out.emplace_back(m(i, j));
  return out;
}
inline ComplexMatrix whole_of(const std::vector<std::complex<float>>& lower, Eigen::Index size) {
  ComplexMatrix out(size, size);
  std::size_t at = 0;
  for (Eigen::Index j = 0; j < size; ++j)
    for (Eigen::Index i = j; i < size; ++i, ++at) out(i, j) = out(j, i) = MoverValue(lower[at]);
  return out;
}

/// A frequency with everything that stands.
struct MoverStanding {
  double k = 0;
  MoverValue own;                           ///< β of the patch that moves
  PrismAtK at;                              ///< without `to_far`
  std::vector<std::complex<float>> answer;  ///< (1/jkΔβ + S)⁻¹ of the other patches: lower half
  ComplexMatrix answer_to;                  ///< it times their fields of sources and receivers
  ComplexMatrix direct;                     ///< receivers by sources
};

/// A surface that has been asked for. Rows: function along the prism · functions + function.
struct MoverSurface {
  int edge = 0, functions = 0, along = 1;
  Eigen::MatrixXd traces;  ///< of the plane's functions: count by function
  Eigen::MatrixXd gather;  ///< from ∫ of the plane's functions to ∫ of this surface's
  std::vector<std::array<Eigen::MatrixXd, screened_terms>> counted;   ///< by function along
  std::vector<std::array<Eigen::MatrixXd, chebyshev_points>> beyond;  ///< by function along
  std::vector<Eigen::VectorXd> end_beyond;                            ///< of an end
  std::vector<Eigen::MatrixXd> coupled_pairs;                         ///< by function along
  std::array<Eigen::MatrixXd, screened_terms> fields;                 ///< of what stands
  std::array<Eigen::MatrixXd, chebyshev_points> fields_beyond;
  /// What a patch gathers, in six digits: number ((function · along + rigid function along) · rows
  /// + row) of a table, the rows being all real parts, then all imaginary ones.
  struct AtFrequency {
    /// On an edge as above, the second index a function of the surface too and rows the damped
    /// functions along; on an end function by function, first all real parts of a column.
    std::vector<float> self;
    std::vector<float> points;  ///< rows: sources and receivers
    std::vector<float> shapes;  ///< rows: the other patches' answers
    std::vector<float> middle;  ///< between shapes: (re, −im; im, re), column by column
    int shape_count = 0;
  };
  std::vector<AtFrequency> at;
};

using ScreenedParts = std::array<Eigen::MatrixXd, screened_terms + 1>;
/// What a patch of one size is to itself, its images apart.
struct MoverAlone {
  Vec2 size_m;
  int order[2];
  ScreenedParts parts;
};

struct PlanMover::State {
  ResponseRequest request;
  ResponseOptions options;
  std::size_t patch = 0;
  PrismRoom room;
  PrismFunctions functions;  ///< points, then the tiles that stand
  double k_most = 0;
  int sources = 0, points = 0;
  std::vector<MoverStanding> standing;
  std::vector<std::unique_ptr<MoverSurface>> surfaces;
  std::deque<MoverAlone> sizes;  ///< the last ones asked for

  State(const ResponseRequest& asked, PrismRoom made)
      : request(asked), room(std::move(made)), functions(room) {}

  using Pressure = std::vector<std::vector<MoverValue>>;  ///< by receiver, by frequency
  Result<std::vector<Pressure>> pressures(const Patch& area, const ComplexMatrix& strength);
  ComplexVector strengths() const;
  bool stand(std::size_t f, MoverStanding& out) const;
  const MoverSurface& surface(int index);
  const ScreenedParts& alone(const PrismTile& tile);
  void make_shapes(MoverSurface& out) const;
  void make_counted(MoverSurface& out) const;
  void make_fields(MoverSurface& out) const;
  void add_screened_fields(MoverSurface& out) const;
  void add_end_fields(MoverSurface& out) const;
  void add_corner_fields(MoverSurface& out, const PlaneBasis::EdgePoints& rule,
                         const Eigen::MatrixXd& shapes) const;
  MoverSurface::AtFrequency make_frequency(const MoverSurface& surface, std::size_t f) const;
  double end_at(const MoverSurface& surface) const {
    return surface.edge == -1 ? 0 : room.prism.length_m;
  }
  Eigen::VectorXd end_row(const MoverSurface& surface) const {
    Eigen::VectorXd out(room.axis_all);
    cosine_row(room.prism.length_m, end_at(surface), room.axis_all, out.data());
    return out;
  }
};

}  // namespace roomwright::acoustics
