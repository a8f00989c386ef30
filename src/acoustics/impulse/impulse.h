// What a recording tells of a room: an impulse response out of a recorded sweep, then for each
// octave how long it rings, and for each third octave how loud it is, both with what the noise of
// the recording allows to say. Samples in, no files.
#pragma once

#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::acoustics {

/// A figure that may not be trusted says why.
struct MeasuredFigure {
  double value = 0;
  bool valid = false;
  std::string reason;  ///< where it is not valid
};

/// An octave. Ranges: EDT 0 to −10 dB, T20 −5 to −25, T30 −5 to −35, by least squares on the
/// backward-integrated decay, for 60 dB.
struct MeasuredBand {
  double hz = 0;  ///< nominal
  MeasuredFigure edt_s, t20_s, t30_s;
  double range_db = 0;  ///< from the beginning of the decay down to the noise
};

/// A third octave: the energy of the response for each hertz up to where it meets the noise, and of
/// as much noise, both against the mean from 200 Hz to 4 kHz. What passes every frequency alike is
/// level.
struct MeasuredLevel {
  double hz = 0;
  double level_db = 0, noise_db = 0;
};

struct MeasuredRoom {
  std::vector<MeasuredBand> bands;
  std::vector<MeasuredLevel> levels;
  double seconds = 0;  ///< of the response after its onset
};

inline constexpr double least_response_s = 0.2, most_response_s = 20;

/// The impulse response behind a recording of a sweep that was played: divided in the spectrum,
/// where the sweep has energy. It ends where the recording no longer holds the whole answer to the
/// sweep's last note. rate_hz: of both. Errors: one of them is silent; the recording ends less than
/// least_response_s after the sweep.
Result<std::vector<double>> impulse_of_sweep(const std::vector<double>& recording,
                                             const std::vector<double>& sweep, double rate_hz);

/// Time 0 is the first sample within 20 dB of the peak; sound that a band's filter moves before it
/// counts at time 0. What comes after most_response_s is left out. Errors: silent; shorter than
/// least_response_s after its onset; a rate below 24 kHz leaves octaves out, which is no error.
/// Sources: ranges and 10 dB of margin below each, ISO 3382-1:2009 and -2:2008; where decay and
/// noise meet, A. Lundeby et al., Acustica 81 (1995); the filter's own decay, B T > 16, ISO 3382-2;
/// all from memory.
Result<MeasuredRoom> measured_room(const std::vector<double>& impulse, double rate_hz);

}  // namespace roomwright::acoustics
