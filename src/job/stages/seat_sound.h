// Private to job/stages: what rays tell of the seats, today and with the pieces, for the papers.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

/// Few enough rays for every pack; kept results are used where there are any. Errors: cancelled.
/// What the tracer cannot do is told in the note.
Result<SeatSound> seat_sound(const Job& job, const Survey& survey, const Findings& findings,
                             const Treatment& treatment, const Run& run);

}  // namespace roomwright::job
