// Private to job/stages: the wave field at the seats, and what findings and treatment say of it.
#pragma once

#include "job/stages/boundary.h"
#include "job/stages/pieces.h"

namespace roomwright::job {

/// The room with its walls and the pieces that lie flat on them, for waves at these frequencies;
/// sources and receivers are the caller's. Treatment null: today.
acoustics::ResponseRequest wave_request(const Job& job, const Survey& survey,
                                        const Treatment* treatment, const std::vector<double>& hz);

BassField bass_today(const Job& job, const Survey& survey);
BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment);

/// Settles which pair swings most from 25 Hz up, and says why.
void say_bass(const Job& job, const Survey& survey, Findings& found);
void say_bass_change(const Findings& found, Treatment& treatment);

}  // namespace roomwright::job
