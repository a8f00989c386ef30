// Private to job/stages: the wave field at the seats, and what findings and treatment say of it.
#pragma once

#include "job/stages/boundary.h"
#include "job/stages/pieces.h"

namespace roomwright::job {

BassField bass_today(const Job& job, const Survey& survey);
BassField bass_treated(const Job& job, const Survey& survey, const Treatment& treatment);

/// The pair that swings most from 25 Hz up; nullptr where there is none.
const SeatLevel* worst_bass(const BassField& bass);

void say_bass(const Job& job, const Survey& survey, Findings& found);
void say_bass_change(const Findings& found, Treatment& treatment);

}  // namespace roomwright::job
