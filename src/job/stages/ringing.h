// Private to job/stages: how long each resonance of the room rings, and the lowest octaves by them.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

/// Today where treatment is null. What cannot be told says so in the note.
Ringing ringing_of(const Job& job, const Survey& survey, const Treatment* treatment,
                   const Run& run);

void say_ringing(const Ringing& today, std::vector<Statement>& out);
void say_ringing_change(const Ringing& today, const Ringing& treated, std::vector<Statement>& out);

}  // namespace roomwright::job
