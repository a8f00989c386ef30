// Private to acoustics/impulse: a response through a band's filter, as energy from its onset on,
// and where it meets the noise.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "acoustics/sound/sound.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

constexpr double noise_margin_db = 10;  ///< between the lower end of a range and the noise

/// The greatest magnitude.
double peak_of(const std::vector<double>& samples);

/// The impulse response from its onset on, with its spectrum.
struct Response {
  double rate_hz = 0;
  std::size_t onset = 0;     ///< in the padded samples
  std::size_t recorded = 0;  ///< of the samples before it, those that were recorded
  std::size_t frames = 0;    ///< from the onset on
  std::size_t length = 0;    ///< of the padded samples
  std::vector<double> samples;
  Complexes spectrum;
};
/// Errors: silent; shorter than least_response_s after its onset.
Result<Response> response_of(const std::vector<double>& impulse, double rate_hz);

/// Energy sample by sample from the onset on; what lies before it is in the first.
struct BandEnergy {
  std::vector<double> samples;
  double before_frames = 0;  ///< recorded samples, with their noise, that the first holds besides
  double peak = 0;           ///< of one sample
};
/// nullptr: the response as it is.
BandEnergy band_energy(const Response& response, const Band* band);

/// What the band's filter makes of a single sample: the share of its energy that it moves by more
/// than so many samples later, from none to up_to_s.
std::vector<double> filter_late_shares(const Band& band, double rate_hz, double up_to_s);

struct Line {
  double slope_db_s = 0, at_zero_db = 0;
  bool ok = false;
  double at(double seconds) const { return at_zero_db + slope_db_s * seconds; }
};
/// Least squares through points of a curve.
Line line_through(const std::vector<std::pair<double, double>>& points);

/// Where decay and noise meet.
struct Knee {
  double seconds = 0, noise = 0;  ///< noise: mean energy of a sample
  Line late;                      ///< the decay just above the noise
  double top_db = -300;           ///< of the smoothed decay
  bool met = false;               ///< false: the recording ends before
  /// An echo may stand out of the noise after the knee: where the last of them has passed, and the
  /// noise behind that. Elsewhere as above.
  double heard_s = 0, heard_noise = 0;
  double range_db() const { return top_db - energy_db(noise); }
  double heard_range_db() const { return top_db - energy_db(heard_noise); }
};
Knee knee_of(const std::vector<double>& energy, double rate_hz);

}  // namespace roomwright::acoustics
