// Private to job/stages: the wave field at the seats, and what findings and treatment say of it.
#pragma once

#include "job/stages/field.h"

namespace roomwright::job {

BassField bass_today(const Job& job, const Survey& survey, const Run& run);
BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment,
                       const Run& run);

/// The wave field as it is asked for: every loudspeaker, and places at and round every seat.
struct BassAsk {
  acoustics::ResponseRequest request;
  std::vector<std::vector<Vec3>> places;  ///< by seat
  FieldPieces pieces;
};
BassAsk bass_ask(const Job& job, const Survey& survey, const Treatment* treatment);
/// by_source: pressures by receiver, by frequency.
using SourcePressures = std::vector<std::vector<std::complex<double>>>;
void set_levels(const Job& job, const BassAsk& ask,
                const std::vector<const SourcePressures*>& by_source, BassField& out);

/// The pair that swings most from 25 Hz up; there is one.
std::size_t worst_pair(const BassField& bass);
/// Settles which pair swings most from 25 Hz up, and says why.
void say_bass(const Job& job, const Survey& survey, Findings& found, const Run& run);
void say_bass_change(const Findings& found, Treatment& treatment);

}  // namespace roomwright::job
