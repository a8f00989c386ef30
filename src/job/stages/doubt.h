// Private to job/stages: how far an answer may be off for what is not known well, and from which
// input that comes.
#pragma once

#include "job/stages/field.h"

namespace roomwright::job {

/// One input that is not known well.
struct DoubtInput {
  std::string name, measurement;
};
/// The materials of the room, the pieces' wool where there are pieces, the speed of sound.
std::vector<DoubtInput> field_inputs(const Job& job, bool treated);
/// Shares by field_inputs() as the wave field takes them.
FieldDoubt field_doubt_of(const Job& job, const std::vector<double>& shares);

/// answer(shares of the inputs) gives the outputs, none where it could not be had; samples runs of
/// all inputs at once, then fewer of each alone. Shares of variance are means over the outputs.
/// Nothing where a run failed.
std::optional<Doubt> sample_doubt(
    const std::vector<DoubtInput>& inputs, int samples,
    const std::function<std::vector<double>(const std::vector<double>&)>& answer);

/// Of the level of one pair; null treatment: today.
void find_bass_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                     std::size_t pair, BassField& bass, const Run& run);
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
