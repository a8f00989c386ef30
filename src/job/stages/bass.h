// Private to job/stages: the wave field at the seats, and what findings and treatment say of it.
#pragma once

#include "job/stages/boundary.h"
#include "job/stages/pieces.h"

namespace roomwright::job {

BassField bass_today(const Job& job, const Survey& survey, const Run& run);
BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment,
                       const Run& run);

/// Settles which pair swings most from 25 Hz up, and says why.
void say_bass(const Job& job, const Survey& survey, Findings& found, const Run& run);
void say_bass_change(const Findings& found, Treatment& treatment);

}  // namespace roomwright::job
