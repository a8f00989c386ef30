// Targets; see criteria.h.
#include "acoustics/criteria/criteria.h"

#include <algorithm>
#include <cmath>

#include "core/base/base.h"

namespace roomwright::acoustics {

namespace {

const char* const listening_source =
    "EBU Tech 3276 (2nd ed. 1998) and ITU-R BS.1116-3: nominal time 0.25 s times the cube root of "
    "V/100 m³, within 0.2 "
    "to "
    "0.4 s, with the corridor's corner values from memory";

std::vector<std::string> outside_listening(Use use, double volume_m3, double floor_area_m2) {
  std::vector<std::string> out;
  const double least = use == Use::mixing ? 30 : 40;
  if (floor_area_m2 < least)
    out.push_back("the source asks for more than " + fixed(least, 0) +
                  " m² of floor, this room has " + fixed(floor_area_m2, 1) + " m²");
  if (volume_m3 > 300)
    out.push_back("the source asks for less than 300 m³, this room has " + fixed(volume_m3, 0) +
                  " m³");
  return out;
}

Corridor empty_corridor() {
  Corridor out;
  for (const Band& band : octave_bands()) out.bands.push_back({band.nominal_hz, {}, {}});
  return out;
}

Corridor listening_corridor(Use use, double volume_m3, double floor_area_m2) {
  Corridor out;
  out.nominal_s = listening_decay_s(volume_m3);
  for (const Band& band : octave_bands())
    out.bands.push_back(listening_band(*out.nominal_s, band.nominal_hz));
  out.trust = TargetTrust::published;
  out.source = listening_source;
  out.outside = outside_listening(use, volume_m3, floor_area_m2);
  return out;
}

/// A flat mid-band range from 125 Hz to 4 kHz with a rise allowed below.
Corridor practice_corridor(double low_s, double high_s, const char* source) {
  Corridor out = empty_corridor();
  out.nominal_s = (low_s + high_s) / 2;
  for (CorridorBand& band : out.bands) {
    if (band.hz > 4000) continue;
    band.low_s = low_s;
    band.high_s = band.hz < 100 ? high_s * 1.8 : band.hz < 200 ? high_s * 1.2 : high_s;
  }
  out.trust = TargetTrust::common_practice;
  out.source = source;
  return out;
}

/// DIN 18041:2016 A1: 0.45 lg V + 0.07, ±20 % from 250 Hz to 2 kHz.
Corridor music_corridor(double volume_m3) {
  Corridor out = empty_corridor();
  const double nominal = 0.45 * std::log10(volume_m3) + 0.07;
  out.nominal_s = nominal;
  for (CorridorBand& band : out.bands)
    if (band.hz >= 250 && band.hz <= 2000) {
      band.low_s = nominal * 0.8;
      band.high_s = nominal * 1.2;
    }
  out.trust = TargetTrust::published;
  out.source =
      "DIN 18041:2016, group A1 music, 0.45 lg V + 0.07 s (from memory), ±20 % from 250 Hz to 2 "
      "kHz";
  if (volume_m3 < 30) out.outside.push_back("the source is for rooms from 30 m³");
  return out;
}

}  // namespace

std::string use_title(Use use) {
  static const char* const titles[] = {"mixing", "tracking",  "narration",
                                       "drums",  "listening", "rehearsal"};
  return titles[static_cast<int>(use)];
}

double listening_decay_s(double volume_m3) {
  return std::clamp(0.25 * std::cbrt(volume_m3 / 100), 0.2, 0.4);
}

CorridorBand listening_band(double nominal_s, double hz) {
  CorridorBand out{hz, nominal_s - 0.05, nominal_s + 0.05};
  if (hz < 200)
    out.high_s =
        nominal_s + 0.05 + 0.25 * std::log(200 / std::max(hz, 63.0)) / std::log(200.0 / 63);
  if (hz > 4000) {
    out.low_s = nominal_s - 0.1;
    out.high_s = nominal_s + 0.1;
  }
  return out;
}

Corridor decay_corridor(Use use, double volume_m3, double floor_area_m2) {
  switch (use) {
    case Use::mixing:
    case Use::listening:
      return listening_corridor(use, volume_m3, floor_area_m2);
    case Use::rehearsal:
      return music_corridor(volume_m3);
    case Use::narration: {
      Corridor out = practice_corridor(0.15, 0.25, "common practice, no source: 0.15 to 0.25 s");
      if (volume_m3 < 15)
        out.outside.push_back("no published target was found for booths under 15 m³");
      return out;
    }
    case Use::tracking:
      return practice_corridor(0.3, 0.6,
                               "common practice, no source: 0.3 to 0.6 s for small bands");
    case Use::drums:
      return practice_corridor(0.3, 0.7,
                               "common practice, no source: 0.3 to 0.7 s, livelier by taste");
  }
  return empty_corridor();
}

Proportions proportions(double length_m, double width_m, double height_m) {
  Proportions out;
  const double l = length_m / height_m, w = width_m / height_m;
  out.window = 1.1 * w <= l && l <= 4.5 * w - 4;
  out.low_enough = length_m < 3 * height_m && width_m < 3 * height_m;
  const auto check = [&](const char* name, double ratio) {
    const double whole = std::max(1.0, std::round(ratio));
    if (std::abs(ratio / whole - 1) <= 0.05 + 1e-12) out.near_whole.emplace_back(name);
  };
  check("l/w", length_m / width_m);
  check("l/h", l);
  check("w/h", w);
  return out;
}

}  // namespace roomwright::acoustics
