// What was measured before and after hanging, held against what the proof promised: one verdict for
// each thing promised, and sentences that set before beside after.
#include <algorithm>
#include <cmath>

#include "job/stages/boundary.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

constexpr double promise_even_db = 3;  // what the proof's points promise of the levels
constexpr double clear_of_noise_db = 10;

std::string in_seconds(double value) {
  return fixed(value, 2) + " s";
}

/// `500 Hz`, `3.15 kHz`
std::string third_name(double hz) {
  return hz >= 1000 ? shortest(hz / 1000) + " kHz" : shortest(hz) + " Hz";
}

/// As it is printed: nobody is told that 0.34 s is not 0.25 to 0.34 s.
long hundredths(double value) {
  return std::lround(value * 100);
}

const MeasuredOctave* octave_at(const std::optional<MeasuredSide>& side, double hz) {
  if (!side) return nullptr;
  for (const MeasuredOctave& one : side->octaves)
    if (one.hz == hz) return &one;
  return nullptr;
}

std::optional<double> rings_at(const std::optional<MeasuredSide>& side, double hz) {
  const MeasuredOctave* octave = octave_at(side, hz);
  return octave ? octave->t20_s.value : std::nullopt;
}

/// `T20`, or `T20, mean of 2 of 3 positions, ± 0.02 s`
std::string how_known(const MeasuredMean& mean, std::size_t positions) {
  if (positions < 2) return "T20";
  const std::string of = mean.positions < int(positions)
                             ? std::to_string(mean.positions) + " of " + std::to_string(positions)
                             : std::to_string(mean.positions);
  if (mean.positions == 1) return "T20 at " + of + " positions";
  return "T20, mean of " + of + " positions, ± " + in_seconds(mean.deviation);
}

Verdict decay_verdict(const DecayRow& row, const std::optional<MeasuredSide>& after) {
  Verdict out{band_name(row.hz), Proven::untold, ""};
  const std::string range = fixed(row.low_s, 2) + " to " + in_seconds(row.high_s);
  const MeasuredOctave* octave = octave_at(after, row.hz);
  if (!after)
    out.sentence = "it was not measured after hanging";
  else if (!octave)
    out.sentence = "the recordings do not hold this octave";
  else if (!octave->t20_s.value)
    out.sentence = octave->t20_s.reason;
  if (!out.sentence.empty()) {
    out.sentence = out.of + " cannot be told: " + out.sentence + "; " + range + " was promised.";
    return out;
  }
  const double is = *octave->t20_s.value;
  const bool above = hundredths(is) > hundredths(row.high_s),
             below = hundredths(is) < hundredths(row.low_s);
  out.proven = above || below ? Proven::not_met : Proven::met;
  out.sentence = out.of + " is " + proven_word(out.proven) + ": it rings for " + in_seconds(is) +
                 " (" + how_known(octave->t20_s, after->positions.size()) + "), " +
                 (above   ? "longer than the promised "
                  : below ? "shorter than the promised "
                          : "within the promised ") +
                 range + ".";
  return out;
}

/// Thirds from low to high within ±3 dB of their middle.
Verdict level_verdict(const std::string& of, double low_hz, double high_hz,
                      const std::optional<MeasuredSide>& after) {
  Verdict out{of, Proven::untold, ""};
  double most = 0, at_hz = 0;
  std::string hidden;
  bool any = false;
  if (after)
    for (const MeasuredThird& one : after->thirds) {
      if (one.hz < low_hz || one.hz > high_hz) continue;
      if (one.level_db - one.noise_db < clear_of_noise_db) {
        hidden += (hidden.empty() ? "" : ", ") + third_name(one.hz);
        continue;
      }
      any = true;
      if (std::abs(one.level_db) > std::abs(most)) {
        most = one.level_db;
        at_hz = one.hz;
      }
    }
  const std::string wanted = "within 3 dB of the mean from 200 Hz to 4 kHz was promised";
  const bool misses = std::lround(10 * std::abs(most)) > std::lround(10 * promise_even_db);
  if (!any || (!hidden.empty() && !misses)) {
    const std::string why = !after ? "they were not measured after hanging"
                            : hidden.empty()
                                ? "the recordings do not hold these bands"
                                : "the noise stands within 10 dB of the sound at " + hidden;
    out.sentence = "The " + of + " cannot be told: " + why + "; " + wanted + ".";
    return out;
  }
  out.proven = misses ? Proven::not_met : Proven::met;
  out.sentence = "The " + of + " are " + proven_word(out.proven) + ": the farthest lies " +
                 fixed(std::abs(most), 1) + " dB " + (most < 0 ? "below" : "above") + " at " +
                 third_name(at_hz) + "; " + wanted +
                 (hidden.empty() ? "" : " (hidden by noise: " + hidden + ")") + ".";
  return out;
}

std::optional<double> middle_of(const std::optional<MeasuredSide>& side) {
  const auto low = rings_at(side, 500), high = rings_at(side, 1000);
  return low && high ? std::optional((*low + *high) / 2) : std::nullopt;
}

Statement middle_statement(const MeasuredProof& all) {
  const auto was = middle_of(all.before), is = middle_of(all.after);
  std::string text = "What was recorded does not tell how long 500 Hz and 1 kHz ring.";
  if (was && is) {
    const double change = 100 * (*is / *was - 1);
    text = "Measured, the room rings for " + in_seconds(*is) +
           " at 500 Hz and 1 kHz (T20); before hanging it rang for " + in_seconds(*was) +
           (hundredths(*is) == hundredths(*was) ? ": no difference."
                                                : ": " + fixed(std::abs(change), 0) + " % " +
                                                      (change < 0 ? "shorter." : "longer."));
  } else if (is || was) {
    text = std::string(is ? "Measured after hanging, " : "Measured before hanging, ") +
           "the room rings for " + in_seconds(is ? *is : *was) +
           " at 500 Hz and 1 kHz (T20); the other side is not told.";
  }
  return {60, "proof", text, "", ""};
}

/// Octaves within the published target, of those that both sides tell.
std::optional<Statement> target_statement(const ProofSheet& sheet, const MeasuredProof& all) {
  int of = 0, was = 0, is = 0;
  for (const DecayRow& row : sheet.predicted) {
    const auto before = rings_at(all.before, row.hz), after = rings_at(all.after, row.hz);
    if (!row.target_high_s || !before || !after) continue;
    const auto within = [&](double t_s) {
      return hundredths(t_s) >= hundredths(row.target_low_s.value_or(0)) &&
             hundredths(t_s) <= hundredths(*row.target_high_s);
    };
    ++of;
    was += within(*before);
    is += within(*after);
  }
  if (of == 0) return std::nullopt;
  return Statement{40, "proof",
                   "Of " + std::to_string(of) +
                       " octaves with a published target that both sides "
                       "tell, " +
                       std::to_string(was) + " lay within it before hanging and " +
                       std::to_string(is) + (is == 1 ? " does now." : " do now."),
                   "", ""};
}

Statement promise_statement(const MeasuredProof& all) {
  int met = 0, not_met = 0, untold = 0;
  for (const Verdict& one : all.verdicts) {
    met += one.proven == Proven::met;
    not_met += one.proven == Proven::not_met;
    untold += one.proven == Proven::untold;
  }
  return {50, "proof",
          "Of " + std::to_string(all.verdicts.size()) + " promises " + std::to_string(met) +
              (met == 1 ? " is met, " : " are met, ") + std::to_string(not_met) +
              (not_met == 1 ? " is not, " : " are not, ") + std::to_string(untold) +
              " cannot be told.",
          "", not_met > 0 ? "measure those once more before a panel is added or moved" : ""};
}

}  // namespace

std::string proven_word(Proven proven) {
  return proven == Proven::met ? "met" : proven == Proven::not_met ? "not met" : "cannot be told";
}

MeasuredProof proven(const ProofSheet& sheet, std::optional<MeasuredSide> before,
                     std::optional<MeasuredSide> after) {
  MeasuredProof out;
  out.before = std::move(before);
  out.after = std::move(after);
  for (const DecayRow& row : sheet.predicted) out.verdicts.push_back(decay_verdict(row, out.after));
  out.verdicts.push_back(level_verdict("levels from 50 to 160 Hz", 50, 160, out.after));
  out.verdicts.push_back(level_verdict("levels from 200 Hz to 4 kHz", 200, 4000, out.after));
  out.verdicts.push_back(level_verdict("levels from 5 to 10 kHz", 5000, 10000, out.after));
  out.verdicts.push_back({"first reflections", Proven::untold,
                          "The first reflections cannot be told: these recordings are not read for "
                          "them; at least 10 dB below the direct sound was promised."});
  out.statements.push_back(middle_statement(out));
  out.statements.push_back(promise_statement(out));
  if (auto target = target_statement(sheet, out)) out.statements.push_back(std::move(*target));
  return out;
}

}  // namespace roomwright::job
