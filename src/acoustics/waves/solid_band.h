// Private to acoustics/waves: the frequencies of a band, some solved outright and the others by the
// small model, which is held against each new outright solution until it keeps the accuracy.
#pragma once

#include <vector>

#include "acoustics/waves/solid_fronts.h"
#include "acoustics/waves/solid_values.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

/// A source or receiver by its unknowns, and the pressures that are looked for.
struct SolidTask {
  const ResponseRequest& request;
  const SolidModel& model;
  const FrontTree& tree;
  const FrontKernel& kernel;
  std::vector<SolidPoint> loads;  ///< sources, then receivers
  int threads = 1;
  /// Of the small model against an outright solution that it has not seen. That solution then joins
  /// it, and what was so far off falls by powers of ten (waves_solid_test.cpp).
  double tolerance = 0;
  const Watch& watch;
  Fluids fluids;  ///< of the request
  /// Frequencies that follow each other in this number are one frequency of as many rooms that
  /// differ in their values alone (solid_family.h).
  std::size_t variants = 1;
  double most_modes = 170;  ///< bands of at most so many share a small model
  /// Of each of those rooms; empty where the model does not stretch.
  std::vector<StretchWeights> stretches{};
  SolidValues values(std::size_t frequency) const {
    SolidValues out = values_at(request, fluids, frequency);
    if (stretches.empty()) return out;
    return stretched_values(out, stretches[frequency % stretches.size()]);
  }
  std::size_t sources() const { return request.sources.size(); }
  std::size_t receivers() const { return request.receivers_m.size(); }
};

/// By frequency: receivers by sources, of unit strength.
struct SolidAnswers {
  std::vector<Eigen::MatrixXcd> at;
  std::vector<char> done, outright, broken;
};

struct SolidBand {
  SolidAnswers answers;
  int outright = 0, small = 0, windows = 0;
  /// Of the small model against the last outright solutions that it had not seen.
  double off = 0;
};

/// The frequencies by index, ascending; each list shares a small model.
std::vector<std::vector<std::size_t>> solid_windows(const SolidTask& task);

/// Ends early where the task is cancelled.
SolidBand solve_band(const SolidTask& task, bool all_outright);

}  // namespace roomwright::acoustics
