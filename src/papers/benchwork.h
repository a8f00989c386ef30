// Private to papers: drawings at full size and folds share these.
#pragma once

#include "papers/sheets.h"

namespace roomwright::papers {

/// Moves wanted places (ascending) apart to at least `gap`, pushing to the right, then back from
/// `most`.
std::vector<double> places_apart(std::vector<double> wanted, double gap, double most);

/// A place as exact as the tape can show it: `13.5`, `27`, `3/8"`; never rounded to a whole
/// millimetre that it is not.
std::string exact_dimension(Length at, const Units& units);

/// `side panel, rear panel and narrow panel`
std::string listed(const std::vector<std::string>& names);

}  // namespace roomwright::papers
