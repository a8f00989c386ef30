// What a recording tells of a room: an impulse response out of a recorded sweep, then for each band
// how long it rings, how clear it is and how loud, all with what the noise of the recording allows
// to say; several positions together. Samples in, no files.
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

/// A band, or the whole response (hz 0: no filter). Decays: EDT 0 to −10 dB, T20 −5 to −25, T30 −5
/// to −35, by least squares on the backward-integrated decay, for 60 dB. C50, C80, D50 (0 to 1) and
/// the centre time: energies from time 0, with what a filter moves before it counted as early.
struct MeasuredBand {
  double hz = 0;  ///< nominal
  MeasuredFigure edt_s, t20_s, t30_s, c50_db, c80_db, d50, ts_ms;
  MeasuredFigure noise_db;          ///< mean square of the noise against the band's peak
  MeasuredFigure dynamic_range_db;  ///< from the beginning of the decay down to the noise
  double range_db = 0;              ///< the same, as it was found
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
inline constexpr double most_recorded_samples = 16777216;  ///< recording and sweep together
/// What comes so little before time 0 is kept of a response that a sweep was divided out of: there
/// a sharp sound has its beginning.
inline constexpr double sweep_lead_s = 0.05;

/// A sweep whose pitch rises by equal intervals in equal times.
struct SweepAsked {
  double from_hz = 20, to_hz = 20000, seconds = 5;
};
/// x(t) = sin(2π f₁ L (e^(t/L) − 1)), L = T / ln(f₂/f₁), without fades. Errors: from 1 Hz on,
/// rising, below half the rate; 0.1 to 120 s.
/// Source: A. Farina, 108th AES Convention (2000), from memory.
Result<std::vector<double>> exponential_sweep(const SweepAsked& asked, double rate_hz);

/// The impulse response behind a recording of a sweep that was played: divided in the spectrum,
/// where the sweep has energy; it begins sweep_lead_s before the sweep's own time, and ends where
/// the recording no longer holds the whole answer to the sweep's last note. rate_hz: of both.
/// Errors: one of them is silent; the recording ends less than least_response_s after the sweep;
/// more samples than the limit.
Result<std::vector<double>> impulse_of_sweep(const std::vector<double>& recording,
                                             const std::vector<double>& sweep, double rate_hz);

/// Time 0 is the first sample within 20 dB of the peak; sound that a band's filter moves before it
/// counts at time 0. What comes after most_response_s is left out. Octaves, and levels by third.
/// Errors: silent; shorter than least_response_s after its onset; a rate below 24 kHz leaves
/// octaves out, which is no error.
/// Sources: figures, ISO 3382-1:2009, Annex A; ranges and 10 dB of margin below each, ISO
/// 3382-1:2009 and -2:2008; where decay and noise meet, A. Lundeby et al., Acustica 81 (1995); the
/// filter's own decay, B T > 16, ISO 3382-2; all from memory.
Result<MeasuredRoom> measured_room(const std::vector<double>& impulse, double rate_hz);

struct FiguresAsked {
  bool thirds = false;             ///< else octaves
  double response_per_octave = 0;  ///< above 0: the response, smoothed over 1/n octave
};
struct ResponsePoint {
  double hz = 0;
  double level_db = 0;  ///< a single sample of 1 has 0 at every frequency
};
struct MeasuredFigures {
  std::vector<MeasuredBand> bands;
  MeasuredBand broadband;  ///< the response as it is
  /// Mean energy over the interval, two points in each, from 20 Hz to 20 kHz or what the rate
  /// holds; up to where the slowest octave meets its noise.
  std::vector<ResponsePoint> response;
  double seconds = 0;
};
/// As measured_room.
Result<MeasuredFigures> measured_figures(const std::vector<double>& impulse, double rate_hz,
                                         const FiguresAsked& asked);

/// The mean of several positions by the arithmetic mean of what is valid in each, with its standard
/// deviation. Not valid where no position is; the reason then is the first one's.
/// Source: spatial averaging, ISO 3382-2:2008 (from memory).
struct MeanFigure {
  MeasuredFigure mean;
  double deviation = 0;   ///< of one position, 0 with fewer than two
  std::size_t valid = 0;  ///< positions
};
MeanFigure mean_figure(const std::vector<MeasuredFigure>& positions);

}  // namespace roomwright::acoustics
