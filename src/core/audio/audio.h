// Sound files in and out, another sample rate, and how loud a programme is: thin faces over the
// libraries that do it (libsndfile, soxr). WAV and FLAC only. Samples are floats by channel, full
// scale at 1. Files are written whole or not at all.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"

namespace roomwright {

inline constexpr double least_audio_rate_hz = 8000, greatest_audio_rate_hz = 384000;

struct Audio {
  double rate_hz = 48000;                    ///< a whole number
  std::vector<std::vector<float>> channels;  ///< all of one length
  std::size_t frames() const { return channels.empty() ? 0 : channels[0].size(); }
  double seconds() const { return static_cast<double>(frames()) / rate_hz; }
};

struct AudioLimits {
  std::size_t most_channels = 8;
  double most_seconds = 600;
  std::size_t most_bytes = std::size_t{1} << 30;
};

/// A WAV (also RF64) or FLAC file with any number format that the library reads.
/// Errors, under the path or `name`: it cannot be read; no WAV or FLAC; damaged; no samples; a rate
/// out of the range above; more channels or longer than the limits; a sample that is no number.
Result<Audio> read_audio(const std::string& path, const AudioLimits& limits = {});
Result<Audio> read_audio_bytes(std::string_view bytes, const std::string& name,
                               const AudioLimits& limits = {});

enum class AudioFormat { wav_16, wav_24, wav_float, flac_16, flac_24 };

/// The file as bytes; the same samples give the same bytes. Whole-number formats round to the
/// nearest step and stop at full scale. Errors: no channel, channels of unequal length, a rate out
/// of range (FLAC: above 192 kHz or more than 8 channels), a sample that is no number.
Result<std::string> audio_bytes(const Audio& audio, AudioFormat format);
/// Errors: as above, and what the system said of the path.
Result<Done> write_audio(const std::string& path, const Audio& audio, AudioFormat format);

/// The same sound at another rate, flat to 91 % of the lower half rate, the rest cut; the length is
/// rounded up. A delay stays where it was. Errors: a rate out of range.
Result<Audio> resampled(const Audio& audio, double rate_hz);

/// Loudness of a whole programme in LKFS: two weighting filters, mean square of 400 ms blocks that
/// overlap by three quarters, channels alike (no surround gains), blocks below -70 LKFS and then
/// those 10 below the mean left out. Nothing where no block is left (silence, or below 0.4 s).
/// The rate must be 48 kHz.
/// Source: ITU-R BS.1770-4, Annex 1 (filter coefficients and gate from memory).
std::optional<double> loudness_lkfs(const Audio& audio);

}  // namespace roomwright
