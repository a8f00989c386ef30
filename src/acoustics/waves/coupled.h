// Private to acoustics/waves: the driven field of a prism (basis.h) by its rigid modes, coupled by
// the admittance of its surfaces. Along the prism the ends have exact damped functions z̃; across,
// for each of them, the modes that matter at a frequency are coupled,
//   (diag(μ + ν − k²) + jk Σ β E − (jk)² (Σ β E) diag(1/(μ_far + ν − k²)) (Σ β E)) a = f,
// the far ones enter by that last term and through the sources; what lies beyond all of them comes
// from screened.h. Everything that is asked, a pressure at a point or its integral with a Legendre
// function over a patch, is a product of a part across and a part along.
#pragma once

#include <Eigen/Dense>

#include <array>
#include <complex>
#include <optional>
#include <vector>

#include "acoustics/waves/basis.h"
#include "acoustics/waves/screened.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

using ComplexMatrix = Eigen::MatrixXcd;
using ComplexVector = Eigen::VectorXcd;

/// What does not move with frequency.
struct PrismRoom {
  Prism prism;
  PlaneBasis basis;
  double k_most_1_m = 0;                  ///< of the band
  double kappa_1_m = 0;                   ///< of the screened function
  double cut_1_m = 0;                     ///< modes counted one by one reach up to here
  int axis_damped = 0;                    ///< functions along the prism that are damped
  int axis_all = 0;                       ///< with the rigid ones beyond
  std::vector<Eigen::MatrixXd> coupling;  ///< by edge of the section

  double axis_square(int m) const;  ///< (mπ/L)²
  /// How many functions across stay below the cut with function m along.
  int across_count(int m) const;
};
/// Errors: a room that is no prism; too many functions.
Result<PrismRoom> make_prism_room(const Room& room, double sound_speed_m_s, double hz_most);

/// One frequency: β by surface.
struct PrismAtK {
  std::complex<double> k;
  ComplexVector surface;        ///< jkβ by surface of the room
  ComplexVector wall;           ///< jkβ by edge of the section
  ComplexVector axis_number;    ///< q of the damped functions along, ν = q²
  ComplexMatrix axis_function;  ///< damped by rigid: z̃ = Σ c z
  int near = 0;                 ///< functions across that are coupled
  struct Across {
    ComplexMatrix inverse;  ///< near by near
    ComplexMatrix to_far;   ///< near by far: jk (Σ β E) / D_far
    ComplexVector far;      ///< 1 / D_far
  };
  std::vector<Across> across;  ///< by damped function along
};
/// False where the damped functions along the prism cannot be told apart.
bool prism_at(const PrismRoom& room, std::complex<double> k,
              const std::vector<std::complex<double>>& admittance, PrismAtK& out);

/// Σ jkβ E: near by all.
ComplexMatrix prism_coupling(const PrismRoom& room, const PrismAtK& at);

/// What is asked of a field: integrals over patches and values at points.
class PrismFunctions {
 public:
  explicit PrismFunctions(const PrismRoom& room) : room_(&room) {}
  void add_point(const PrismPoint& point);
  void add_tile(const PrismTile& tile);
  int count() const { return static_cast<int>(functions_.size()); }

  /// The field between every two of them. Needs `settle` first.
  ComplexMatrix field(const PrismAtK& at) const;
  /// What the near functions across see of each column of across(), with the far ones' share, for
  /// damped function m along.
  ComplexMatrix reached(const PrismAtK& at, int m) const;
  /// Computes what does not move with frequency. Points below function `sources` are not paired
  /// among themselves, and those from there on neither: they may lie in one place.
  void settle(int sources);
  /// Of the modes beyond the damped ones, at k².
  Eigen::MatrixXd rest(double k_square) const;

  struct Item {  ///< a point or a tile, and its first function
    bool is_tile;
    PrismPoint point;
    PrismTile tile;
    int first;
    int count() const { return is_tile ? tile.count() : 1; }
  };
  const std::vector<Item>& items() const { return items_; }
  const Eigen::MatrixXd& across() const { return across_; }
  const Eigen::MatrixXd& along() const { return along_; }
  int across_of(int function) const { return functions_[std::size_t(function)].across; }
  int along_of(int function) const { return functions_[std::size_t(function)].along; }

 private:
  struct Function {
    int across, along;  ///< columns of the two tables
  };
  struct WallReach {
    int column, edge;                    ///< of the table across, of the section
    std::vector<Eigen::MatrixXd> terms;  ///< by function along: near function by power
  };
  void add_reaches(const std::vector<Vec2>& points, const Eigen::MatrixXd& weights, int column);
  ComplexMatrix walls_beyond(const PrismAtK& at, int m) const;
  void add_columns(Eigen::MatrixXd& table, const Eigen::MatrixXd& more);

  const PrismRoom* room_;
  std::vector<Function> functions_;
  std::vector<Item> items_;
  std::vector<WallReach> reaches_;
  struct OnSurface {  ///< what jkβ of a surface adds between two tiles on it
    int surface, first, second;
    Eigen::MatrixXd part;
  };
  OnSurface on_surface(const Item& one, const Item& two, const Eigen::MatrixXd& screened) const;
  /// Gives what two tiles of one surface are to each other besides.
  std::optional<OnSurface> add_screened(const Item& one, const Item& two);
  std::vector<OnSurface> on_surface_;
  Eigen::MatrixXd across_;               ///< function of the basis by column
  Eigen::MatrixXd along_;                ///< rigid function along by column
  std::vector<Eigen::MatrixXd> power_;   ///< of (k² + κ²)^(p−1)
  std::vector<Eigen::MatrixXd> beyond_;  ///< at Chebyshev points of k²
};

Diagnostics wrong_prism_request(const ResponseRequest& request);
/// With as many functions as the highest wave number and the accuracy ask for.
PrismTile prism_tile(const Prism& prism, const Room& room, const Patch& area, double k_most_1_m,
                     double accuracy_db);
std::complex<double> admittance_at(const Admittance& values, std::size_t frequency);
std::vector<std::complex<double>> surface_admittances(const ResponseRequest& request,
                                                      std::size_t frequency);

/// ∫ of every function across with Legendre functions over a tile's part across: those along the
/// edge, on an end all of the tile's.
Eigen::MatrixXd tile_across(const PrismRoom& room, const PrismTile& tile);
/// Values at k² of what is known at Chebyshev points of it (up to the band's end).
inline constexpr int chebyshev_points = 6;
double chebyshev_point(double most, int c);
std::array<double, chebyshev_points> chebyshev_shares(double most, double at);

/// As response(), for a room that is a prism. Claims accuracy_db, or 8 dB times the greatest |β| of
/// a surface where that is more (with a warning); patches may have any admittance.
Result<ResponseReport> prism_response(const ResponseRequest& request,
                                      const ResponseOptions& options, const Watch& watch = {});

}  // namespace roomwright::acoustics
