// Before a piece leaves: what is looked at, what may be off and why, and where a piece goes back to
// if it fails. Pure rules; what was measured comes from the person at the bench, what was computed
// from the stages.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "shop/parts/parts.h"
#include "shop/stock/stock.h"

namespace roomwright::shop {

/// What the stages say of a piece.
struct PieceAsDrawn {
  std::string label, product;
  Length width, height;
  double mass_kg = 0;
};

/// One line of the sheet: a piece and the limits that hold for it.
struct InspectionLine {
  PieceAsDrawn piece;
  Length diagonal;       ///< what both should measure, to the shop's grid
  Length square_within;  ///< most difference of the two
  Length flat_within;    ///< most gap under a corner
  double least_kg = 0, most_kg = 0;
};
std::vector<InspectionLine> inspection_sheet(const std::vector<PieceAsDrawn>& pieces,
                                             const Rules& rules);

/// What was found. What is missing was not looked at yet.
struct Inspected {
  std::optional<Length> diagonal_a, diagonal_b;
  std::optional<Length> corner_gap;  ///< face down on a flat bench, the corner that stands highest
  std::optional<double> mass_kg;
  std::optional<bool> cloth, staples, label;  ///< as they should be
  std::string note;                           ///< what was seen, in words
};

struct InspectionFault {
  std::string what;  ///< `square`, `flat`, `weight`, `cloth`, `staples`, `label`
  Station back_to = Station::pack;
  std::string sentence;  ///< what is wrong, by how much, and what to do there
};
struct InspectionResult {
  bool complete = false;          ///< all six were looked at
  bool passed = false;            ///< complete and without a fault
  std::vector<std::string> open;  ///< what is still to be looked at
  std::vector<InspectionFault> faults;
  std::optional<Station> back_to;  ///< the first station, in shop order, that it goes back to
};
/// Errors: a measure that cannot be true (a diagonal off by more than a tenth: the tape was misread
/// or it is another piece).
Result<InspectionResult> inspect(const InspectionLine& line, const Inspected& found,
                                 const Units& units);

/// Rework, as it was logged.
struct ReworkTime {
  Station station = Station::pack;
  std::string cause;  ///< one of an InspectionFault's `what`
  double minutes = 0;
};
struct ReworkRow {
  std::string cause;
  Station station = Station::pack;
  int times = 0;
  double minutes = 0;
};
/// By cause and station, most minutes first.
std::vector<ReworkRow> rework_rows(const std::vector<ReworkTime>& times);

}  // namespace roomwright::shop
