// Surfaces and porous boards by generic name, from the tables in data/, each row with its source.
// What a table does not give is extrapolated by the rule below and marked so.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "acoustics/sound/sound.h"

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

}  // namespace roomwright::acoustics
