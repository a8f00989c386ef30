// Private to job/stages: the part of a treatment that formulas give, in milliseconds, and what need
// not be found anew while pieces are only moved about.
#pragma once

#include <array>
#include <map>
#include <utility>

#include "job/stages/boundary.h"

namespace roomwright::job {

/// True of a job wherever its pieces are: whatever else changes asks for a new one.
struct TreatmentMemory {
  struct Decay {
    std::array<std::vector<OctaveArea>, 3> areas;  ///< least, likely, most
    std::vector<DecayRow> after;
    Doubt doubt;
  };
  std::vector<design::Product> products;
  /// By key of the product and tenths of a degree of its corner.
  std::map<std::pair<std::string, long>, design::PieceAbsorption> absorptions;
  std::optional<std::vector<Statement>> cloths;
  std::vector<Decay> decays;  ///< the latest at the end
};

/// As placed(), with products that were made before.
Result<Treatment> placed_from(const Job& job, TreatmentMemory& memory);
/// The products made, every piece placed and checked, absorption, decay, and what is intercepted;
/// `statements` say so in the order in which they were found.
Result<Treatment> treated_by_formula(const Job& job, const Survey& survey, const Findings& findings,
                                     TreatmentMemory& memory);
/// Worst first.
void sort_statements(std::vector<Statement>& statements);

}  // namespace roomwright::job
