// Proof: what is measured after hanging, where, against which target, and the table to fill. The
// measurements themselves come later; nothing here claims a result.
#include "job/stages/boundary.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

std::string seat_place(const Job& job, const Seat& seat) {
  const Units& units = job.region.units;
  return seat.label + ": " + print_length(seat.at.x, units) + " and " +
         print_length(seat.at.y, units) + " from the plan's origin, ears " +
         print_length(seat.at.z, units) + " high";
}

std::string decay_target(const Findings& findings) {
  std::string out;
  for (const DecayRow& row : findings.decay)
    if (row.target_low_s && row.target_high_s && row.hz >= 125 && row.hz <= 4000)
      out += (out.empty() ? "" : "; ") + band_name(row.hz) + " " + fixed(*row.target_low_s, 2) +
             "–" + fixed(*row.target_high_s, 2) + " s";
  return out.empty() ? "no published target for this use: before against after" : out;
}

}  // namespace

ProofSheet proof(const Job& job, const Findings& findings, const Treatment& treatment) {
  ProofSheet sheet;
  for (const Seat& seat : job.seats) {
    sheet.points.push_back({"decay time by octave (T20), each loudspeaker in turn",
                            seat_place(job, seat), decay_target(findings)});
    sheet.points.push_back({"first reflections within 15 ms, each loudspeaker in turn",
                            seat_place(job, seat),
                            "at least 10 dB below the direct sound, 1 to 8 kHz"});
    sheet.points.push_back({"level by third octave, 50 Hz to 16 kHz, both loudspeakers",
                            seat_place(job, seat),
                            "within ±3 dB of its mean from 200 Hz to 4 kHz"});
  }
  sheet.predicted = treatment.after;
  sheet.how = {
      "Measure before the first piece hangs and after the last, with the same microphone, places, "
      "levels and doors; note temperature and humidity.",
      "Put the microphone where the ears are, its capsule upward, nobody in the room.",
      "Play a sweep of 10 s or more, loud enough to stand 45 dB over the noise in each band; wear "
      "ear protection.",
      "Two more places 0.3 m to each side show how far the seat speaks for its surroundings.",
      "Write each value beside its prediction; a band that misses by more than its range is worth "
      "a "
      "second measurement before a second panel."};
  sheet.statements.push_back({0, "proof",
                              "After hanging, " + std::to_string(sheet.points.size()) +
                                  " readings at " + std::to_string(job.seats.size()) +
                                  (job.seats.size() == 1 ? " seat" : " seats") +
                                  " show whether the room is what was promised.",
                              "", ""});
  return sheet;
}

}  // namespace roomwright::job
