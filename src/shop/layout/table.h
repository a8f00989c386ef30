// Private to shop/layout: most value on one piece of material, by a dynamic program over all cuts
// from edge to edge, copies unlimited; and bounds from it by multipliers on the counts.
#pragma once

#include "shop/layout/rebuild.h"

namespace roomwright::shop {

/// Where cuts may lie along one side: sums of parts' sizes (normal patterns: N. Christofides &
/// C. Whitlock, Operations Research 25 (1977), from memory). Where there are too many, every
/// coordinate is rounded to a grid: up for bounds, down for layouts.
struct Marks {
  std::vector<std::int64_t> at;  ///< ascending, at[0] = 0, the last is the side or below it
  bool exact = true;
};

/// F(w, h) for all marks: the most value that a w by h piece holds, without counts.
class Table {
 public:
  /// most: marks on either side.
  Table(const LayoutProblem& problem, std::int64_t width, std::int64_t height, std::size_t most);

  bool exact() const { return x_.exact && y_.exact; }
  std::int64_t work() const;  ///< steps of one run
  /// values: by item, at least 0. Returns F of the whole piece; never below the truth. Where the
  /// marks are coarse this is a bound only, and `best` must not be asked.
  double run(const std::vector<double>& values);
  /// The cutting tree behind the last run; only where exact.
  Tree best() const;

 private:
  struct Lying {
    std::size_t item;
    bool turned;
    std::size_t x, y;  ///< the least marks that hold it
  };
  const double* row(std::size_t x) const { return &f_[x * y_.at.size()]; }
  void begin_row(std::size_t x);
  void cut_across(std::size_t x);
  void cut_along(std::size_t x);
  int read(Tree& tree, std::size_t x, std::size_t y) const;
  const Lying* single(std::size_t x, std::size_t y) const;

  Marks x_, y_;
  std::vector<std::uint32_t> rests_;     ///< along y: of each whole, each cut up to its half
  std::vector<std::size_t> first_rest_;  ///< where a whole's rests begin
  std::vector<Lying> lying_;
  std::vector<double> f_, values_;
};

struct ValueBound {
  double bound = 0;
  std::optional<Sheets2d> layout;  ///< within the counts: the best that was met
};

/// A bound on the value of all sheets, by multipliers on the counts, and layouts met on the way.
ValueBound value_bound(const LayoutProblem& problem, double at_least, std::int64_t most_work,
                       Budget& budget);

}  // namespace roomwright::shop
