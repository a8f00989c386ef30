// Private to acoustics/waves: rooms that are prisms, a polygon times a length, and the
// eigenfunctions of their polygon. A plan under a flat ceiling is a prism along z; a rectangular
// plan whose ceiling slopes along one of its sides is one along the other side. The rigid room's
// eigenfunctions are then ψ_i(s, t) √(ε_m/L) cos(mπa/L), ε_0 = 1 and else 2.
#pragma once

#include <Eigen/Dense>

#include <memory>
#include <optional>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "acoustics/waves/elements.h"

namespace roomwright::acoustics {

/// A point of a prism: (s, t) across, a along.
struct PrismPoint {
  Vec2 across;
  double along = 0;
};
/// A rectangle on a surface of a prism. On an edge's face: `low`, `high` run along the edge and
/// along the prism; on an end: across, along s and t.
struct PrismArea {
  int surface = 0;
  int edge = 0;  ///< −1: the end at 0, −2: the end at `length_m`
  Vec2 low, high;
};

struct Prism {
  Polygon section_m;  ///< anticlockwise
  double length_m = 0;
  Vec3 origin, s, t, along;  ///< of the room: unit vectors at right angles
  std::vector<int> edges;    ///< by surface: as PrismArea::edge

  PrismPoint of(Vec3 point) const;
  PrismArea of(const Room& room, const Patch& patch) const;
  /// The surface of an edge or an end.
  int surface_of(int edge) const;
  double edge_length(int edge) const;
  Vec2 on_edge(int edge, double along) const;
};
/// None where the room is no prism.
std::optional<Prism> prism_of(const Room& room);

/// Neumann eigenfunctions of a polygon, ∫ ψ² dS = 1: products of cosines in a rectangle, elsewhere
/// finite elements.
class PlaneBasis {
 public:
  /// All functions with eigenvalues up to most_1_m² (wave number across, 1/m, above 0).
  /// Errors: more than most_basis_functions; functions that the solver did not find.
  static Result<PlaneBasis> make(const Polygon& section_m, double most_1_m);

  int count() const { return static_cast<int>(eigenvalues_.size()); }
  /// 1/m², ascending, the first is 0.
  const Eigen::VectorXd& eigenvalues() const { return eigenvalues_; }
  int unknowns() const { return unknowns_; }
  const Polygon& section_m() const { return section_; }

  /// Function by point.
  Eigen::MatrixXd at(const std::vector<Vec2>& points) const;
  /// Points along an edge (metres from its first corner) and weights that integrate products of
  /// two functions over it.
  struct EdgePoints {
    std::vector<double> along, weights;
  };
  EdgePoints edge_points(int edge) const;
  /// Function by point of an edge.
  Eigen::MatrixXd on_edge(int edge, const std::vector<double>& along) const;
  /// ∫ ψ_i ψ_k along an edge.
  Eigen::MatrixXd edge_coupling(int edge) const;

 private:
  void values(Vec2 at, double* out) const;
  void rectangle_values(Vec2 at, double* out) const;
  void element_values(Vec2 at, double* out) const;

  Polygon section_;
  Eigen::VectorXd eigenvalues_;
  int unknowns_ = 0;
  std::vector<std::array<int, 2>> orders_;  ///< of a rectangle
  std::shared_ptr<const PlaneSolution> elements_;
  /// Of the solution's functions those that are kept: a node's lie together.
  using ByNode = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
  std::shared_ptr<const ByNode> by_node_;
};

inline constexpr int most_basis_functions = 700;

/// Orthonormal Legendre functions on [low, high], orders below count, at x.
void legendre_row(double low, double high, double x, int count, double* out);
/// √(ε_m/L) cos(mπx/L), m below count.
void cosine_row(double length, double x, int count, double* out);
/// ∫ of the two: cosine by Legendre function.
Eigen::MatrixXd cosine_integrals(double length, double low, double high, int order, int count);

}  // namespace roomwright::acoustics
