// Private to papers: drawings at full size and folds share these.
#pragma once

#include "papers/sheets.h"

namespace roomwright::papers {

/// Moves wanted places (ascending) apart to at least `gap`, pushing to the right, then back from
/// `most`.
std::vector<double> places_apart(std::vector<double> wanted, double gap, double most);

/// `side panel, rear panel and narrow panel`
std::string listed(const std::vector<std::string>& names);

}  // namespace roomwright::papers
