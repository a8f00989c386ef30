// What is wanted of a room by its use: published targets as corridors by octave, the rule for early
// reflections, the rule of proportions. Each says where it comes from, how sure that is, and when
// the room lies outside what its source was written for.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/sound/sound.h"

namespace roomwright::acoustics {

enum class Use { mixing, tracking, narration, drums, listening, rehearsal };
inline const std::vector<std::string>& use_names() {
  static const std::vector<std::string> names = {"mixing", "tracking",  "narration",
                                                 "drums",  "listening", "rehearsal"};
  return names;
}
std::string use_title(Use use);

enum class TargetTrust { published, common_practice, nothing_published };

/// One octave of the corridor; an end that is open has no value.
struct CorridorBand {
  double hz = 0;  ///< nominal
  std::optional<double> low_s, high_s;
};

struct Corridor {
  std::vector<CorridorBand> bands;  ///< the eight octaves, 63 Hz to 8 kHz
  std::optional<double> nominal_s;  ///< the mid-band target, where there is one
  TargetTrust trust = TargetTrust::nothing_published;
  std::string source;  ///< in words, with what is from memory said so
  std::vector<std::string>
      outside;  ///< why the room lies outside the source's scope; empty: inside
};

/// volume_m3 above 0, floor_area_m2 above 0.
/// Source: EBU Tech 3276 (2nd ed. 1998) and ITU-R BS.1116-3 for mixing and listening; DIN
/// 18041:2016 A1 for rehearsal; others common practice or nothing.
Corridor decay_corridor(Use use, double volume_m3, double floor_area_m2);

/// The corridor of EBU Tech 3276 at any band from 63 Hz to 8 kHz (nominal frequency).
CorridorBand listening_band(double nominal_s, double hz);

/// T_m = 0.25 (V / 100 m³)^(1/3), kept within 0.2 … 0.4 s. Source: EBU Tech 3276, 2.3.
double listening_decay_s(double volume_m3);

/// Reflections within this time must be this far below the direct sound, 1 to 8 kHz.
/// Source: EBU Tech 3276 and ITU-R BS.1116-3 (from memory).
inline constexpr double early_window_ms = 15;
inline constexpr double early_level_db = -10;

/// 1.1 w/h ≤ l/h ≤ 4.5 w/h − 4, l < 3h and w < 3h, no ratio within 5 % of a whole number.
/// Source: EBU Tech 3276 and ITU-R BS.1116-3, after R. Walker, BBC RD 1993/8 (from memory).
struct Proportions {
  bool window = false;                  ///< the first inequality
  bool low_enough = false;              ///< the second
  std::vector<std::string> near_whole;  ///< `l/h`, `w/h`, `l/w`
  bool good() const { return window && low_enough && near_whole.empty(); }
};
/// length_m ≥ width_m, both horizontal.
Proportions proportions(double length_m, double width_m, double height_m);

}  // namespace roomwright::acoustics
