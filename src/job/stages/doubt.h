// Private to job/stages: how far an answer may be off for what is not known well, and from which
// input that comes.
#pragma once

#include "job/stages/field.h"

namespace roomwright::job {

/// One input that is not known well.
struct DoubtInput {
  std::string name, measurement;
};
/// The materials of the room, the pieces' wool where there are pieces, the temperature, the room's
/// length, width and height.
std::vector<DoubtInput> field_inputs(const Job& job, const Survey& survey, bool treated);
/// Shares by field_inputs() as the wave field takes them.
FieldDoubt field_doubt_of(const Job& job, const std::vector<double>& shares);

/// Shares of the inputs, run by run: `samples` of all at once, then fewer of each alone.
std::vector<std::vector<double>> doubt_points(std::size_t inputs, int samples);
/// What the outputs of those runs, by row, make of it. Shares of variance are means over the
/// outputs.
Doubt doubt_from(const std::vector<DoubtInput>& inputs, int samples,
                 const std::vector<std::vector<double>>& rows);
/// answer(shares of the inputs) gives the outputs, none where it could not be had; samples runs of
/// the points above. Nothing where a run failed.
std::optional<Doubt> sample_doubt(
    const std::vector<DoubtInput>& inputs, int samples,
    const std::function<std::vector<double>(const std::vector<double>&)>& answer);

/// Of the level of one pair; null treatment: today. A box without bodies is solved anew for each
/// run; elsewhere (and in a box that is not to go `its_own_way`) the runs share a small model, and
/// the corridor is wider by as much as that was off.
void find_bass_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                     std::size_t pair, BassField& bass, const Run& run, bool its_own_way = true);
void say_bass_doubt(const BassField& bass, std::vector<Statement>& out);

/// Of Eyring's time by octave, by the materials of the surfaces and the range of the pieces.
Doubt decay_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                  const std::vector<DecayRow>& rows);
void say_decay_doubt(const std::vector<DecayRow>& rows, const Doubt& doubt,
                     std::vector<Statement>& out);

/// The boundary with the pieces before it: what they cover is taken off, their own area comes on.
std::vector<OctaveArea> treated_boundary(const Job& job, const Treatment& treatment,
                                         acoustics::OctaveSpectrum PieceRow::*absorption);

}  // namespace roomwright::job
