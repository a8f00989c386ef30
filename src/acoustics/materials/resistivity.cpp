// Flow resistivity from density and fibre, by the published relations of data/; see materials.h.
#include <algorithm>
#include <cmath>

#include "acoustics/materials/materials.h"
#include "acoustics/materials/table.h"

namespace roomwright::acoustics {

extern const char* const table_resistivity_relations;

namespace {

ResistivityRelation relation_of(const Cells& cells) {
  ResistivityRelation out;
  const auto at = [&](std::size_t i) { return number_of(cells[i]); };
  const auto micrometres = [&](std::size_t i) { return number_of(cells[i]) * 1e-6; };
  out.key = cells[0];
  out.fibre = cells[1];
  out.random = cells[2] == "random";
  out.c = at(3), out.n = at(4), out.m = at(5);
  out.fibre_density_kg_m3 = at(6);
  out.diameter_low_m = micrometres(7), out.diameter_m = micrometres(8);
  out.diameter_high_m = micrometres(9);
  out.spread = at(10);
  out.density_from_kg_m3 = at(11), out.density_to_kg_m3 = at(12);
  out.diameter_from_m = micrometres(13), out.diameter_to_m = micrometres(14);
  out.source = cells[15];
  return out;
}

/// Source: the row's own; the random form by Cox & D'Antonio, Table 5.1 (see data/).
double by_relation(const ResistivityRelation& relation, double density_kg_m3, double diameter_m) {
  if (!relation.random)
    return relation.c * std::pow(density_kg_m3, relation.n) / std::pow(diameter_m, relation.m);
  const double h = density_kg_m3 / relation.fibre_density_kg_m3, free = 1 - h;
  const double a = diameter_m / 2, viscosity_pa_s = 1.84e-5;
  return 4 * viscosity_pa_s / (a * a) *
         (0.55 * std::pow(h, 4.0 / 3) / free + std::sqrt(2.0) * h * h / (free * free * free));
}

void warn_range(const char* what, double value, double from, double to, double scale,
                std::vector<Complaint>& warnings) {
  if (to <= 0 || (value >= from && value <= to)) return;
  warnings.push_back({what,
                      "lies outside the relation's published range of " + shortest(from * scale) +
                          " to " + shortest(to * scale),
                      value * scale, "trust the estimate less, or have the board measured", 0});
}

Diagnostics check_wool(const Wool& wool, const std::string& where) {
  Diagnostics found;
  const auto at = [&](const char* key) { return where.empty() ? key : where + "." + key; };
  if (!find_resistivity_relation(wool.fibre)) {
    std::string known;
    for (const auto& one : resistivity_relations()) known += (known.empty() ? "" : ", ") + one.key;
    found.add(at("fibre"), "is not known", "\"" + wool.fibre + "\"", "one of " + known);
  }
  if (!(wool.density_kg_m3 >= 5 && wool.density_kg_m3 <= 400))
    found.add(at("density_kg_m3"), "must be from 5 to 400", wool.density_kg_m3, "as on its label");
  if (wool.fibre_diameter_m && !(*wool.fibre_diameter_m >= 1e-6 && *wool.fibre_diameter_m <= 2e-4))
    found.add(at("fibre_diameter_m"), "must be from 1e-06 to 0.0002", *wool.fibre_diameter_m,
              "such as 6.5e-6, or leave it out");
  if (!(wool.binder_share >= 0 && wool.binder_share <= 0.3))
    found.add(at("binder_share"), "must be from 0 to 0.3", wool.binder_share, "such as 0.04");
  return found;
}

}  // namespace

const std::vector<ResistivityRelation>& resistivity_relations() {
  static const std::vector<ResistivityRelation> all = [] {
    std::vector<ResistivityRelation> out;
    for (const Cells& cells : table_rows(table_resistivity_relations))
      out.push_back(relation_of(cells));
    return out;
  }();
  return all;
}

const ResistivityRelation* find_resistivity_relation(std::string_view key) {
  for (const ResistivityRelation& relation : resistivity_relations())
    if (relation.key == key) return &relation;
  return nullptr;
}

Result<FlowResistivity> estimate_flow_resistivity(const Wool& wool, const std::string& where) {
  Diagnostics found = check_wool(wool, where);
  if (!found.empty()) return found;
  const ResistivityRelation& relation = *find_resistivity_relation(wool.fibre);
  const double density = wool.density_kg_m3 * (1 - wool.binder_share);
  const double diameter = wool.fibre_diameter_m.value_or(relation.diameter_m);
  FlowResistivity out;
  out.source = relation.source;
  out.likely_pa_s_m2 = by_relation(relation, density, diameter);
  const double own = std::log(relation.spread);
  const auto factor = [&](double other_diameter) {
    const double by_diameter =
        wool.fibre_diameter_m
            ? 0
            : std::log(by_relation(relation, density, other_diameter) / out.likely_pa_s_m2);
    return std::exp(std::hypot(own, by_diameter));
  };
  out.low_pa_s_m2 = out.likely_pa_s_m2 / factor(relation.diameter_high_m);
  out.high_pa_s_m2 = out.likely_pa_s_m2 * factor(relation.diameter_low_m);
  warn_range("density_kg_m3", wool.density_kg_m3, relation.density_from_kg_m3,
             relation.density_to_kg_m3, 1, out.warnings);
  if (wool.fibre_diameter_m)
    warn_range("fibre_diameter_um", *wool.fibre_diameter_m, relation.diameter_from_m,
               relation.diameter_to_m, 1e6, out.warnings);
  return out;
}

FlowResistivity flow_resistivity_of(const PorousBoard& board, double density_kg_m3) {
  FlowResistivity out{board.flow_resistivity_low_pa_s_m2,
                      board.flow_resistivity_pa_s_m2,
                      board.flow_resistivity_high_pa_s_m2,
                      board.source,
                      {}};
  const auto* relation = find_resistivity_relation(board.key.substr(0, board.key.rfind('_')));
  if (!relation || density_kg_m3 <= 0 || density_kg_m3 == board.density_kg_m3) return out;
  const double scale = by_relation(*relation, density_kg_m3, relation->diameter_m) /
                       by_relation(*relation, board.density_kg_m3, relation->diameter_m);
  out.low_pa_s_m2 *= scale;
  out.likely_pa_s_m2 *= scale;
  out.high_pa_s_m2 *= scale;
  out.source += "; moved from " + shortest(board.density_kg_m3) + " to " + shortest(density_kg_m3) +
                " kg/m3 by the relation of its fibre";
  return out;
}

}  // namespace roomwright::acoustics
