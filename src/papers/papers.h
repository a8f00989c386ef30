// Each paper from the stages' results: what stands on which sheet. Papers print what a stage found
// and compute nothing but where things go.
#pragma once

#include <string>
#include <vector>

#include "drawing/drawing.h"
#include "job/document/document.h"
#include "job/stages/stages.h"
#include "shop/inspection/inspection.h"

namespace roomwright::papers {

struct Paper {
  std::string name;  ///< file name without its ending, such as `03-cut-sheet`
  std::string title;
  std::vector<drawing::Sheet> sheets;
  bool vectors = false;        ///< also written as SVG and DXF, sheet by sheet
  std::vector<double> scales;  ///< of each sheet's main view, for DXF at full size
  std::vector<drawing::Sheet>
      whole{};  ///< at full size on sheets of their own, as SVG and DXF alone
};

/// Every paper of a pack, in the order of the job; those of an order speak of no room.
std::vector<Paper> all_papers(const job::Job& job, const job::Pack& pack);

/// What to measure after hanging; where it was measured, what that proves.
Paper proof_paper(const job::Job& job, const job::Pack& pack);

/// Of several jobs in one run: shares, cut sheet, cloth and boards, stations, run and calendar.
std::vector<Paper> together_papers(const job::TogetherSheet& sheet);
/// The sheet that goes along with a batch to be inspected: what to measure on each piece, within
/// which limits, and room to write.
Paper inspection_paper(const job::Job& job, const std::vector<shop::InspectionLine>& lines);

/// Maps of pressure: a page a frequency, today and with the pieces.
Paper pressure_paper(const job::Job& job, const job::Treatment& treatment,
                     const job::PressureReport& report);
/// One frequency alone, as large as it needs.
drawing::Sheet pressure_picture(const job::Job& job, const job::Treatment& treatment,
                                const job::PressureReport& report, const job::PressureAt& at);

/// The tables as CSV: name and text.
struct Table {
  std::string name, csv;
};
std::vector<Table> all_tables(const job::Job& job, const job::Pack& pack);
/// Every point of the maps: frequency, state, surface, place, level.
Table pressure_table(const job::PressureReport& report);

}  // namespace roomwright::papers
