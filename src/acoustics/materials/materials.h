// Surfaces and porous boards by generic name, from the tables in data/, each row with its source.
// What a table does not give is extrapolated by the rule below and marked so.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "acoustics/sound/sound.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

enum class Trust { published, extrapolated, estimated };
std::string trust_name(Trust trust);

/// A surface's random-incidence absorption by octave, 63 Hz to 8 kHz. 63 Hz is never in the tables:
/// it is the 125 Hz value less the step from 250 to 125 Hz where the values fall toward low
/// frequencies, else the 125 Hz value, not below 0.01. A missing 8 kHz is the 4 kHz value.
/// scattering: an estimate at mid frequencies where no source gives it.
struct SurfaceMaterial {
  std::string key, group, name, source;
  OctaveSpectrum absorption{};
  std::array<Trust, octave_count> trust{};
  double scattering = 0.1;
  Trust scattering_trust = Trust::estimated;
};
const std::vector<SurfaceMaterial>& surface_materials();
const SurfaceMaterial* find_surface_material(std::string_view key);

/// A porous board by kind and density, with the range of its flow resistivity.
struct PorousBoard {
  std::string key, name, source;
  double density_kg_m3 = 0;
  double flow_resistivity_low_pa_s_m2 = 0;
  double flow_resistivity_pa_s_m2 = 0;
  double flow_resistivity_high_pa_s_m2 = 0;
};
const std::vector<PorousBoard>& porous_boards();
const PorousBoard* find_porous_board(std::string_view key);

// ---- Flow resistivity where the seller states none ------------------------------------------

/// A published relation between bulk density, fibre diameter and flow resistivity.
struct ResistivityRelation {
  std::string key, fibre, source;  ///< key: `glass_wool`, `stone_wool` …
  bool random = false;             ///< the random-fibre form; else c ρ^n / d^m
  double c = 0, n = 0, m = 0;
  double fibre_density_kg_m3 = 0;
  double diameter_low_m = 0, diameter_m = 0, diameter_high_m = 0;  ///< to expect: 10, 50, 90 %
  double spread = 1;                                               ///< of the relation itself
  double density_from_kg_m3 = 0, density_to_kg_m3 = 0;             ///< published range; 0: unknown
  double diameter_from_m = 0, diameter_to_m = 0;
};
const std::vector<ResistivityRelation>& resistivity_relations();
const ResistivityRelation* find_resistivity_relation(std::string_view key);

/// What is known of a board.
struct Wool {
  std::string fibre;  ///< key of a relation
  double density_kg_m3 = 0;
  std::optional<double> fibre_diameter_m;
  double binder_share = 0;  ///< of the mass
};

/// 10th, 50th and 90th percentile, log-normal between them.
struct FlowResistivity {
  double low_pa_s_m2 = 0, likely_pa_s_m2 = 0, high_pa_s_m2 = 0;
  std::string source;
  std::vector<Complaint> warnings;  ///< outside the relation's published range
};

/// The relation's own spread and, where no fibre diameter is given, that of the diameters to
/// expect, taken as independent. Binder adds mass and no fibre surface: ρ (1 − b) enters the
/// relation (own estimate, no source). density_kg_m3: 5 to 400; fibre_diameter_m: 1e-6 to 2e-4;
/// binder_share: 0 to 0.3. Errors: each out of its range, or an unknown fibre; keys under `where`.
Result<FlowResistivity> estimate_flow_resistivity(const Wool& wool, const std::string& where = "");

/// A board of the library at another density: its range follows the relation of its fibre. With the
/// library's own density, or where the library has no relation for it, its range as it stands.
FlowResistivity flow_resistivity_of(const PorousBoard& board, double density_kg_m3);

}  // namespace roomwright::acoustics
