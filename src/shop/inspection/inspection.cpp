// The limits of a piece and what is said when it misses one; see inspection.h.
#include "shop/inspection/inspection.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace roomwright::shop {

std::vector<InspectionLine> inspection_sheet(const std::vector<PieceAsDrawn>& pieces,
                                             const Rules& rules) {
  std::vector<InspectionLine> out;
  for (const PieceAsDrawn& piece : pieces) {
    InspectionLine line;
    line.piece = piece;
    line.diagonal = Length::from_m(std::hypot(piece.width.metres(), piece.height.metres()))
                        .round_to(rules.grid);
    line.square_within = rules.square_within;
    line.flat_within = rules.flat_within;
    line.least_kg = piece.mass_kg * (1 - rules.weight_within_percent / 100);
    line.most_kg = piece.mass_kg * (1 + rules.weight_within_percent / 100);
    out.push_back(line);
  }
  return out;
}

namespace {

Length apart(Length a, Length b) {
  return a > b ? a - b : b - a;
}

void check_diagonal(const InspectionLine& line, const std::optional<Length>& measured,
                    const char* key, const Units& units, Diagnostics& found) {
  if (!measured) return;
  if (apart(*measured, line.diagonal).nanometres() * 10 <= line.diagonal.nanometres()) return;
  found.add(line.piece.label + "." + key,
            "is not near the drawn " + print_length(line.diagonal, units),
            print_length(*measured, units), "measure again, and look whether it is this piece");
}

class Judging {
 public:
  Judging(const InspectionLine& line, const Inspected& found, const Units& units)
      : line_(line), found_(found), units_(units) {}

  InspectionResult all() {
    square();
    flat();
    weight();
    seen(found_.cloth, "cloth", Station::face_cloth,
         "the cloth is not as it should be (slack, scalloped, off its thread or stained): take it "
         "off at that side and stretch it again");
    seen(found_.staples, "staples", Station::face_cloth,
         "staples stand proud, are missing or further apart than the rule: drive, fill, trim");
    seen(found_.label, "label", Station::pack,
         "the label is missing or not this piece's: print it again before it is packed");
    out_.complete = out_.open.empty();
    out_.passed = out_.complete && out_.faults.empty();
    for (const InspectionFault& fault : out_.faults)
      out_.back_to = out_.back_to ? std::min(*out_.back_to, fault.back_to) : fault.back_to;
    return std::move(out_);
  }

 private:
  void fault(const char* what, Station back_to, const std::string& sentence) {
    out_.faults.push_back({what, back_to, line_.piece.label + ": " + sentence});
  }

  void square() {
    if (!found_.diagonal_a || !found_.diagonal_b) return out_.open.emplace_back("square"), void();
    const Length off = apart(*found_.diagonal_a, *found_.diagonal_b);
    if (off > line_.square_within)
      fault("square", Station::drill_screw,
            "the diagonals differ by " + print_fine(off, units_) + ", allowed are " +
                print_fine(line_.square_within, units_) +
                ": loosen the corners, pull it square, screw again");
  }

  void flat() {
    if (!found_.corner_gap) return out_.open.emplace_back("flat"), void();
    if (*found_.corner_gap > line_.flat_within)
      fault("flat", Station::drill_screw,
            "a corner stands " + print_fine(*found_.corner_gap, units_) +
                " off the bench, allowed "
                "are " +
                print_fine(line_.flat_within, units_) +
                ": look for a twisted stick, loosen, clamp flat, screw again");
  }

  void weight() {
    if (!found_.mass_kg) return out_.open.emplace_back("weight"), void();
    const double kg = *found_.mass_kg;
    if (kg >= line_.least_kg && kg <= line_.most_kg) return;
    const bool light = kg < line_.least_kg;
    fault(
        "weight", Station::boards,
        "weighs " + print_mass(kg, units_) + ", computed " +
            print_mass(line_.piece.mass_kg, units_) + " (" + print_mass(line_.least_kg, units_) +
            " to " + print_mass(line_.most_kg, units_) + "): " +
            (light ? "is a board missing, or lighter than the one drawn?"
                   : "is a board too many, denser than the one drawn, or wet?") +
            " Its loads on the wall were computed from the weight: they hold only if it is right");
  }

  void seen(const std::optional<bool>& good, const char* what, Station back_to,
            const std::string& sentence) {
    if (!good)
      out_.open.emplace_back(what);
    else if (!*good)
      fault(what, back_to, sentence);
  }

  const InspectionLine& line_;
  const Inspected& found_;
  const Units& units_;
  InspectionResult out_;
};

}  // namespace

Result<InspectionResult> inspect(const InspectionLine& line, const Inspected& found,
                                 const Units& units) {
  Diagnostics wrong;
  check_diagonal(line, found.diagonal_a, "diagonal_a", units, wrong);
  check_diagonal(line, found.diagonal_b, "diagonal_b", units, wrong);
  if (found.corner_gap && *found.corner_gap < Length())
    wrong.add(line.piece.label + ".corner_gap", "must be 0 or more");
  if (found.mass_kg && !(*found.mass_kg > 0 && *found.mass_kg < 1000))
    wrong.add(line.piece.label + ".mass_kg", "must be above 0 and below 1000", *found.mass_kg,
              "in kilograms");
  if (!wrong.empty()) return wrong;
  return Judging(line, found, units).all();
}

std::vector<ReworkRow> rework_rows(const std::vector<ReworkTime>& times) {
  std::map<std::pair<std::string, Station>, ReworkRow> sums;
  for (const ReworkTime& time : times) {
    ReworkRow& row = sums[{time.cause, time.station}];
    row.cause = time.cause;
    row.station = time.station;
    ++row.times;
    row.minutes += time.minutes;
  }
  std::vector<ReworkRow> out;
  for (auto& [key, row] : sums) out.push_back(std::move(row));
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.minutes > b.minutes; });
  return out;
}

}  // namespace roomwright::shop
