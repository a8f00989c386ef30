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
  std::size_t factor_size = 0;  ///< numbers
  double work = 0;              ///< complex products of one elimination
  std::size_t front_size = 0;   ///< doubles of the largest front
  std::size_t left_size = 0;    ///< doubles of what waits for parents, at the worst moment
  int most_rows = 0;
  /// Of one elimination, without the factor.
  double space_bytes() const { return 8.0 * double(front_size + left_size); }
};
FrontTree make_tree(const SolidModel& model);

/// Null where this processor has none of that width.
const FrontKernel* front_kernel_of(WaveWidth width);

/// How a factor is kept. In single precision it takes half the memory; sums are in double. solve()
/// then goes back to the matrix (iterative refinement, N. J. Higham, Accuracy and Stability of
/// Numerical Algorithms, ch. 12, from memory) where a first answer leaves more than refine_above of
/// the right-hand side.
enum class FrontStore { exact, single };
inline constexpr double refine_above = 3e-4;

/// One frequency's factor; may be used for another frequency, and keeps its memory.
class FrontFactor {
 public:
  FrontFactor(const SolidModel& model, const FrontTree& tree, const FrontKernel& kernel,
              FrontStore store = FrontStore::exact);
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
  void sweep(Eigen::MatrixXcd& x) const;
  void refine(const Eigen::MatrixXcd& wanted, Eigen::MatrixXcd& x) const;
  double pivot(std::size_t at) const { return single_ ? double(single_[at]) : factor_[at]; }
  const SolidModel& model_;
  const FrontTree& tree_;
  const FrontKernel& kernel_;
  std::unique_ptr<double[]> memory_;
  double* factor_ = nullptr;
  float* single_ = nullptr;
  SolidValues values_;  ///< of the last elimination
};

}  // namespace roomwright::acoustics
