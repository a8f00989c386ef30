// Private to shop/learning: features that were noted together, taken apart by sessions in which
// their counts differ. A station's set-up and its single things are features alike.
//
// The model: minutes of a session = Σ count × standard × e^θ, times a scatter of its day as in
// learning.h. The logarithms θ are normal around 0 with `prior_spread`, of which a part is common
// to all of them: who is slow at one thing is likely slow at the others, so that features which
// never vary against each other share what was found in proportion to their standards. Sessions of
// one day and person count as one day together. The answer is the most likely θ, with the spread of
// its surroundings (Laplace's approximation; an outlier pulls by its Student weight alone).
#pragma once

#include <vector>

#include "shop/learning/learning.h"

namespace roomwright::shop {

/// One session: what each feature would take by its standard, and the minutes that were taken.
struct MixedSession {
  std::vector<double> standard_min;  ///< by feature; 0: none of it
  double minutes = 0;
  double weight = 1;  ///< 1 over the sessions of its day and person
};

/// By feature. Each session has some standard above 0.
std::vector<LogRatio> take_apart(const std::vector<MixedSession>& sessions, std::size_t features,
                                 const LearningOptions& options);

}  // namespace roomwright::shop
