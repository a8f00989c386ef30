// Another sample rate, by soxr; see audio.h.
#include <soxr.h>

#include <cmath>

#include "core/audio/audio.h"

namespace roomwright {

namespace {

Result<std::vector<float>> resampled_channel(const std::vector<float>& in, double from_hz,
                                             double to_hz) {
  const auto wanted =
      static_cast<std::size_t>(std::ceil(static_cast<double>(in.size()) * to_hz / from_hz));
  std::vector<float> out(wanted);
  std::size_t done = 0;
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
  const soxr_runtime_spec_t one_thread = soxr_runtime_spec(1);
  const soxr_error_t fault =
      soxr_oneshot(from_hz, to_hz, 1, in.data(), in.size(), nullptr, out.data(), out.size(), &done,
                   nullptr, &quality, &one_thread);
  if (fault) return Complaint{"rate_hz", std::string("cannot be changed: ") + fault, to_hz, {}, 0};
  std::fill(out.begin() + static_cast<std::ptrdiff_t>(done), out.end(), 0.0f);
  return out;
}

}  // namespace

Result<Audio> resampled(const Audio& audio, double rate_hz) {
  for (const double rate : {audio.rate_hz, rate_hz})
    if (!(rate >= least_audio_rate_hz && rate <= greatest_audio_rate_hz))
      return Complaint{"rate_hz", "must be from 8000 to 384000", rate, {}, 0};
  if (audio.rate_hz == rate_hz) return audio;
  Audio out;
  out.rate_hz = rate_hz;
  for (const auto& channel : audio.channels) {
    auto samples = resampled_channel(channel, audio.rate_hz, rate_hz);
    if (!samples) return samples.mistakes();
    out.channels.push_back(std::move(*samples));
  }
  return out;
}

}  // namespace roomwright
