// Waves below, rays above, as one pressure impulse response of a source and a receiver at 48 kHz.
// Scale: the direct sound of 1 m in free air is an impulse of height 1 (a transfer function of
// 4πr p/ρ for the waves; the square root of 4π times the energy for the rays). Time 0 is when the
// source sounds. Two points in the air, no head and no ear.
#pragma once

#include <array>
#include <complex>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/rays/rays.h"
#include "acoustics/sound/sound.h"
#include "acoustics/waves/waves.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

inline constexpr int impulse_rate_hz = 48000;
inline constexpr double greatest_impulse_s = 20;
/// A mismatch between waves and rays above it is a warning, and no more than it is evened out.
inline constexpr double most_match_db = 3;

// ---- the low part -----------------------------------------------------------------------------

/// Pressures (Pa) of a source of volume acceleration 1 m³/s² at first · step_hz,
/// (first + 1) · step_hz …; impulse_rate_hz / step_hz is a whole even number.
struct WavePart {
  double step_hz = 1;
  std::size_t first = 0;
  std::vector<std::complex<double>> pressure_pa;
  double density_kg_m3 = 1.204;
};

/// The even grid of a wave solution: from low_hz or a little below it up to high_hz, in steps of at
/// most 1 / decay_s, so that what one period leaves over has fallen by 60 dB when it comes round.
struct WaveGrid {
  double step_hz = 1;
  std::size_t first = 0;
  std::vector<double> hz;
};
/// decay_s: 0.05 to greatest_impulse_s; low_hz at least least_response_hz.
WaveGrid wave_grid(double low_hz, double high_hz, double decay_s);

/// By source, then receiver: `request` solved on the grid (its own frequencies are not looked at).
/// Errors: as acoustics::response.
Result<std::vector<std::vector<WavePart>>> wave_parts(ResponseRequest request, const WaveGrid& grid,
                                                      const ResponseOptions& options,
                                                      const Watch& watch = {});

// ---- the high part ----------------------------------------------------------------------------

struct RayPart {
  TracedPair pair;
  double bin_s = 1e-3;
  std::vector<double> band_hz;  ///< mid-band frequencies, ascending, an octave apart
  /// Energy factor by band on all that the trace holds, such as 1 / the gain on a loudspeaker's
  /// axis, which makes its direct sound flat there. Empty: 1.
  std::vector<double> gain;
};

// ---- together ---------------------------------------------------------------------------------

struct ImpulseOptions {
  double crossover_hz = 0;  ///< the middle of the octave where the two cross; 0: as high as it goes
  double seconds = 0;       ///< length; 0: that of the echogram, or of the waves alone
  /// The source falls by 24 dB an octave below it. 0: it does not; the pressure of a closed room
  /// then stands for ever, and no period holds it.
  double high_pass_hz = 20;
  std::uint64_t seed = 1;  ///< of the noise
  /// A second receiver close to one that had the seed `beside`: the scattered sound of the two is
  /// as alike as in a diffuse field at that distance.
  struct Beside {
    std::uint64_t seed = 1;
    double distance_m = 0.17;
    double sound_speed_m_s = 343.2;
  };
  std::optional<Beside> beside;
};

struct ImpulseReport {
  std::vector<double> samples;  ///< at impulse_rate_hz
  std::vector<double> low;      ///< the waves' part alone, one whole period of 1 / step_hz
  std::vector<double> high;     ///< the rays' part alone
  double crossover_hz = 0;      ///< 0: only one of the two was there
  double mismatch_db = 0;   ///< waves over rays without the direct sound, in the crossover's octave
  double match_db = 0;      ///< what the rays' reflected sound was raised by there
  double wrap_db = -300;    ///< end of the waves' period against its loudest part
  double before_db = -300;  ///< energy before the direct sound against all
  std::string method;
  std::vector<Complaint> warnings;
};

/// One of the two parts may be missing: rays then sound down to 0 Hz (their lowest band held),
/// waves up to where they end. Low part: inverse transform of the even grid; below its first
/// frequency the real part is held and the imaginary part goes to 0. High part: each exact path as
/// an impulse at its fractional delay, its level between bands by cos² over the logarithm of
/// frequency, sign +; the rest of the echogram as seeded noise, band by band. Crossover: cos² and
/// sin² over one octave, real and of sum 1, so that a direct sound that both hold alike stays one
/// impulse. Above 20 kHz all fades out; above the highest band and below the lowest, that band's
/// values hold. In the octave about the crossover the rays' reflected sound is brought to the
/// energy that the waves have there without the direct sound, by at most most_match_db; the factor
/// fades to 1 within the octave above. Warnings: a greater mismatch; a period that has not fallen
/// by 60 dB; no direct path. Errors: both parts missing; values out of range or of unequal size; a
/// crossover whose octave does not lie in the waves' band. Sources: coherence
/// sin(kd)/kd of a diffuse field, R. K. Cook et al., J. Acoust. Soc. Am. 27 (1955), from memory;
/// the rest is our own arithmetic.
Result<ImpulseReport> impulse_response(const std::optional<WavePart>& waves,
                                       const std::optional<RayPart>& rays,
                                       const ImpulseOptions& options);

// ---- a loudspeaker ----------------------------------------------------------------------------

/// Directivity of a piston of radius piston_m set in a rigid sphere of radius sphere_m, a model of
/// a loudspeaker in its box: a sphere in the bass, ever narrower above. The piston is a cap of the
/// sphere: it must be small. By band: mean energy of five frequencies of the octave, as levels
/// every 5° from 0° to 180° against the axis, for Directivity::Kind::table; and the gain on the
/// axis as energy against a sphere of equal power. sphere_m 0.02 to 0.5, piston_m at most a third
/// of it. Source: P. M. Morse & K. U. Ingard, Theoretical Acoustics, ch. 7 (from memory)
struct PistonBeam {
  std::vector<std::vector<double>> level_db;
  std::vector<double> axis_gain;
};
PistonBeam piston_in_sphere(double sphere_m, double piston_m, const std::vector<double>& band_hz,
                            double sound_speed_m_s);

}  // namespace roomwright::acoustics
