// Any bytes as a sound file. Either there is sound or there is a complaint.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "core/audio/audio.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto audio = roomwright::read_audio_bytes(bytes, "take", {.most_seconds = 10});
  if (audio.ok() ? audio->frames() == 0 : audio.mistakes().empty()) std::abort();
  return 0;
}
