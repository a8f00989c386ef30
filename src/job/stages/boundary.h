// Private to job/stages: the room's boundary as areas with octave absorption, today and with
// pieces.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

struct OctaveArea {
  double area_m2 = 0;
  acoustics::OctaveSpectrum absorption{};
  Vec3 share{1.0 / 3, 1.0 / 3, 1.0 / 3};
  int surface = -1;  ///< -1: furniture or a piece
  bool operator==(const OctaveArea&) const = default;
};

/// Every surface less its features of another material, the features, the furniture.
std::vector<OctaveArea> boundary_of(const Job& job);

/// One row an octave by every formula, held against the corridor.
std::vector<DecayRow> decay_rows(const std::vector<OctaveArea>& likely, const Survey& survey,
                                 const acoustics::Corridor& corridor);

/// Widens rows of the likely boundary by what the pieces' own doubt does.
void widen_rows(std::vector<DecayRow>& rows, const std::vector<OctaveArea>& least,
                const std::vector<OctaveArea>& most, const Survey& survey,
                const acoustics::Corridor& corridor);

/// Mean of 1, 2 and 4 kHz: where the rule for early reflections holds.
double upper_mean(const acoustics::OctaveSpectrum& absorption);

std::string band_name(double hz);
Vec3 metres_of(const Point& point);

}  // namespace roomwright::job
