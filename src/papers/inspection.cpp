// The inspection sheet: what is measured on each piece before it leaves, and room to write.
#include "papers/sheets.h"

namespace roomwright::papers {

namespace {

/// The same limit for every piece of the sheet, as one sentence.
std::string limits_sentence(const shop::InspectionLine& line, const Units& units) {
  return "Square: the two diagonals differ by no more than " +
         print_fine(line.square_within, units) +
         ". Flat: face down on a flat bench, no corner stands off by more than " +
         print_fine(line.flat_within, units) + ".";
}

std::string weight_range(const shop::InspectionLine& line, const Units& units) {
  const std::string most = print_mass(line.most_kg, units);
  std::string least = print_mass(line.least_kg, units);
  if (const auto blank = least.find(' '); blank != std::string::npos) least.resize(blank);
  return least + " to " + most;
}

}  // namespace

Paper inspection_paper(const job::Job& job, const std::vector<shop::InspectionLine>& lines) {
  const Units& units = job.region.units;
  Flow flow(job, {"Inspection", units_name(job), "", false, false}, true);
  flow.finding(std::to_string(lines.size()) + (lines.size() == 1 ? " piece" : " pieces") +
               " to look at before the van is loaded.");
  if (!lines.empty()) flow.paragraph(limits_sentence(lines.front(), units), 3.4);
  flow.paragraph(
      "Cloth: straight on its thread, drum-tight, no scallops, no stains. Staples: flush, at the "
      "rule's pitch, trimmed. Label: this piece's, on the back. Write the measure, tick what is "
      "right; a piece that fails goes back to the station named here and is looked at again.",
      3.1);
  std::vector<Cells> rows;
  for (const auto& line : lines)
    rows.push_back({line.piece.label, line.piece.product, print_length(line.diagonal, units), "",
                    "", "", weight_range(line, units), "", "", "", "", ""});
  flow.table({{"piece", 0.8, Align::left},
              {"what", 1.9, Align::left},
              {"diagonals", 1.1, Align::right},
              {"one", 0.9, Align::left},
              {"other", 0.9, Align::left},
              {"corner off", 1.0, Align::left},
              {"should weigh", 1.7, Align::right},
              {"weighs", 0.9, Align::left},
              {"cloth", 0.65, Align::left},
              {"staples", 0.8, Align::left},
              {"label", 0.65, Align::left},
              {"by, or back to", 1.6, Align::left}},
             rows, 3.4);
  flow.space(2);
  flow.paragraph(
      "What fails goes back. Square, flat: \"" + shop::station_title(shop::Station::drill_screw) +
          "\" (loosen, pull square or clamp flat, screw again). Weight: \"" +
          shop::station_title(shop::Station::boards) +
          "\" (a missing or wrong board? the loads on the wall follow from the weight). Cloth, "
          "staples: \"" +
          shop::station_title(shop::Station::face_cloth) + "\". Label: \"" +
          shop::station_title(shop::Station::pack) + "\".",
      2.9);
  flow.caution(
      "Two people lift what the hanging sheet marks for two; gloves and a mask where boards lie "
      "open. Local rules on manual handling and mineral fibres come first.");
  return {"inspection", "Inspection", flow.finish(), false, {}};
}

}  // namespace roomwright::papers
