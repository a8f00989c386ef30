// Private to acoustics/waves: the sparse solver of solid_model.h. Triangles are halved again and
// again (nested dissection, A. George, SIAM J. Numer. Anal. 10 (1973), from memory); each part is a
// front of dense rows from which the functions that no other part knows are eliminated.
#pragma once

#include <memory>
#include <vector>

#include "acoustics/waves/solid_kernel.h"
#include "acoustics/waves/solid_model.h"

namespace roomwright::acoustics {

/// Which functions of the plan are eliminated where; the same for every frequency.
struct FrontTree {
  struct Front {
    std::vector<int> functions;  ///< the first `gone` are eliminated here
    int gone = 0;
    std::vector<int> offset;  ///< of each function's rows
    int rows = 0, pivots = 0;
    int column = -1;               ///< of a leaf
    int child[2] = {-1, -1};       ///< children come before parents
    std::vector<int> into_parent;  ///< place in the parent of each function that is left
    std::size_t factor = 0;        ///< where its factor begins
  };
  std::vector<Front> fronts;
  std::size_t factor_size = 0;  ///< doubles
  double work = 0;              ///< complex products of one elimination
  double space_bytes = 0;       ///< at the worst moment, without the factor
};
FrontTree make_tree(const SolidModel& model);

/// Null where this processor has none of that width.
const FrontKernel* front_kernel_of(WaveWidth width);

/// One frequency's factor.
class FrontFactor {
 public:
  FrontFactor(const SolidModel& model, const FrontTree& tree, const FrontKernel& kernel);
  /// The smallest of the fronts' pivot ratios; 0 where it broke down or was cancelled, which is
  /// looked at between fronts.
  double eliminate(const SolidValues& values, const Watch& watch = {});
  /// How many pivots have a negative real part: of a real matrix, its negative eigenvalues
  /// (Sylvester).
  int negative_pivots() const;
  /// In place: each column a right-hand side.
  void solve(Eigen::MatrixXcd& x) const;

 private:
  void fill(const SolidColumn& column, const FrontTree::Front& front, const SolidValues& values,
            double* re, double* im) const;
  const SolidModel& model_;
  const FrontTree& tree_;
  const FrontKernel& kernel_;
  std::unique_ptr<double[]> memory_;
  double* factor_ = nullptr;
};

}  // namespace roomwright::acoustics
