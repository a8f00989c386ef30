// Sound files through libsndfile, always from and to memory; see audio.h.
#include "core/audio/audio.h"

#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <memory>

namespace roomwright {

namespace {

// ---- a file in memory, as the library wants it ----------------------------------------------

struct Memory {
  std::string_view source;  ///< read from
  std::string* sink = nullptr;
  sf_count_t at = 0;
  sf_count_t size() const { return static_cast<sf_count_t>(sink ? sink->size() : source.size()); }
};

Memory& memory_of(void* user) {
  return *static_cast<Memory*>(user);
}
sf_count_t memory_length(void* user) {
  return memory_of(user).size();
}
sf_count_t memory_tell(void* user) {
  return memory_of(user).at;
}
sf_count_t memory_seek(sf_count_t offset, int whence, void* user) {
  Memory& memory = memory_of(user);
  const sf_count_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? memory.at : memory.size();
  if (offset > memory.size() - base && !memory.sink) offset = memory.size() - base;
  if (base + offset < 0) return -1;
  return memory.at = base + offset;
}
sf_count_t memory_read(void* to, sf_count_t count, void* user) {
  Memory& memory = memory_of(user);
  const std::string_view all = memory.sink ? std::string_view(*memory.sink) : memory.source;
  if (memory.at >= memory.size() || count <= 0) return 0;
  const auto part = std::min(count, memory.size() - memory.at);
  std::memcpy(to, all.data() + memory.at, static_cast<std::size_t>(part));
  memory.at += part;
  return part;
}
sf_count_t memory_write(const void* from, sf_count_t count, void* user) {
  Memory& memory = memory_of(user);
  if (!memory.sink || count <= 0) return 0;
  const auto end = static_cast<std::size_t>(memory.at + count);
  if (memory.sink->size() < end) memory.sink->resize(end);
  std::memcpy(memory.sink->data() + memory.at, from, static_cast<std::size_t>(count));
  memory.at += count;
  return count;
}

struct Closer {
  void operator()(SNDFILE* file) const { sf_close(file); }
};
using File = std::unique_ptr<SNDFILE, Closer>;

File open_memory(Memory& memory, int mode, SF_INFO& info) {
  SF_VIRTUAL_IO io{memory_length, memory_seek, memory_read, memory_write, memory_tell};
  return File(sf_open_virtual(&io, mode, &info, &memory));
}

// ---- reading --------------------------------------------------------------------------------

Complaint wrong(const std::string& name, std::string what, Got got = {}, std::string remedy = {}) {
  return {name, std::move(what), std::move(got), std::move(remedy), 0};
}

bool begins_as_known(std::string_view bytes) {
  if (bytes.size() < 12) return false;
  const std::string_view head = bytes.substr(0, 4);
  return head == "fLaC" || ((head == "RIFF" || head == "RF64") && bytes.substr(8, 4) == "WAVE");
}

Diagnostics check_info(const SF_INFO& info, const std::string& name, const AudioLimits& limits) {
  Diagnostics found;
  if (info.samplerate < least_audio_rate_hz || info.samplerate > greatest_audio_rate_hz)
    found.add(wrong(name, "has a sample rate that is not between 8 and 384 kHz",
                    double(info.samplerate), "save it at 48 kHz"));
  if (info.channels < 1 || info.channels > static_cast<int>(limits.most_channels))
    found.add(wrong(
        name,
        "has a number of channels that is not from 1 to " + std::to_string(limits.most_channels),
        double(info.channels), "save fewer of them"));
  return found;
}

Complaint too_long(const std::string& name, const AudioLimits& limits) {
  return wrong(name, "is longer than " + shortest(limits.most_seconds) + " s", {},
               "cut a shorter piece");
}

Result<Audio> read_samples(SNDFILE* file, const SF_INFO& info, const std::string& name,
                           const AudioLimits& limits) {
  Audio out;
  out.rate_hz = info.samplerate;
  out.channels.resize(static_cast<std::size_t>(info.channels));
  constexpr sf_count_t block_frames = 1 << 14;
  std::vector<float> block(static_cast<std::size_t>(block_frames * info.channels));
  const auto most = static_cast<std::size_t>(limits.most_seconds * out.rate_hz);
  for (;;) {
    const sf_count_t got = sf_readf_float(file, block.data(), block_frames);
    if (got <= 0) break;
    if (out.frames() + static_cast<std::size_t>(got) > most) return too_long(name, limits);
    for (std::size_t i = 0; i < static_cast<std::size_t>(got) * out.channels.size(); ++i) {
      if (!std::isfinite(block[i]))
        return wrong(name, "holds a sample that is no number", {}, "save it again");
      out.channels[i % out.channels.size()].push_back(block[i]);
    }
  }
  if (sf_error(file) != SF_ERR_NO_ERROR)
    return wrong(name, std::string("is damaged: ") + sf_strerror(file), {}, "save it again");
  if (out.frames() == 0) return wrong(name, "holds no samples", {}, "save it again");
  return out;
}

// ---- writing --------------------------------------------------------------------------------

int bits_of(AudioFormat format) {
  if (format == AudioFormat::wav_float) return 0;
  return format == AudioFormat::wav_16 || format == AudioFormat::flac_16 ? 16 : 24;
}

bool flac(AudioFormat format) {
  return format == AudioFormat::flac_16 || format == AudioFormat::flac_24;
}

int code_of(AudioFormat format) {
  const int bits = bits_of(format);
  const int number = bits == 0 ? SF_FORMAT_FLOAT : bits == 16 ? SF_FORMAT_PCM_16 : SF_FORMAT_PCM_24;
  return number | (flac(format) ? SF_FORMAT_FLAC : SF_FORMAT_WAV);
}

Diagnostics check_audio(const Audio& audio, AudioFormat format) {
  Diagnostics found;
  const double most_hz = flac(format) ? 192000 : greatest_audio_rate_hz;
  if (!(audio.rate_hz >= least_audio_rate_hz && audio.rate_hz <= most_hz &&
        audio.rate_hz == std::floor(audio.rate_hz)))
    found.add("rate_hz", "must be a whole number from 8000 to " + shortest(most_hz), audio.rate_hz);
  const std::size_t most_channels = flac(format) ? 8 : 256;
  if (audio.channels.empty() || audio.channels.size() > most_channels)
    found.add("channels", "must be from 1 to " + std::to_string(most_channels),
              double(audio.channels.size()));
  for (const auto& channel : audio.channels) {
    if (channel.size() != audio.frames())
      found.add("channels", "must all have the same length", double(channel.size()));
    if (!std::all_of(channel.begin(), channel.end(), [](float x) { return std::isfinite(x); }))
      found.add("channels", "hold a sample that is no number");
  }
  return found;
}

/// A sample as the library's 32-bit number, whose upper bits count; rounded and held by us, so that
/// it is the same with every version of it.
int whole(float sample, int bits) {
  const double full = std::ldexp(1.0, bits - 1);
  const double held = std::clamp(std::nearbyint(double(sample) * full), -full, full - 1);
  return static_cast<int>(held) * (1 << (32 - bits));
}

bool write_samples(SNDFILE* file, const Audio& audio, int bits) {
  constexpr std::size_t block_frames = 1 << 14;
  std::vector<float> reals;
  std::vector<int> wholes;
  for (std::size_t from = 0; from < audio.frames(); from += block_frames) {
    const std::size_t to = std::min(from + block_frames, audio.frames());
    reals.clear();
    wholes.clear();
    for (std::size_t i = from; i < to; ++i)
      for (const auto& channel : audio.channels)
        if (bits == 0)
          reals.push_back(channel[i]);
        else
          wholes.push_back(whole(channel[i], bits));
    const auto count = static_cast<sf_count_t>(to - from);
    const sf_count_t written = bits == 0 ? sf_writef_float(file, reals.data(), count)
                                         : sf_writef_int(file, wholes.data(), count);
    if (written != count) return false;
  }
  return true;
}

}  // namespace

Result<Audio> read_audio_bytes(std::string_view bytes, const std::string& name,
                               const AudioLimits& limits) {
  const auto no_sound = [&] {
    return wrong(name, "is no WAV or FLAC file", {}, "save it as WAV at 48 kHz");
  };
  if (!begins_as_known(bytes)) return no_sound();
  Memory memory{bytes};
  SF_INFO info{};
  const File file = open_memory(memory, SFM_READ, info);
  if (!file) return no_sound();
  const int kind = info.format & SF_FORMAT_TYPEMASK;
  if (kind != SF_FORMAT_WAV && kind != SF_FORMAT_WAVEX && kind != SF_FORMAT_RF64 &&
      kind != SF_FORMAT_FLAC)
    return no_sound();
  if (Diagnostics found = check_info(info, name, limits); !found.empty()) return found;
  const bool length_known = info.frames != SF_COUNT_MAX;  // a stream's may not be
  if (length_known && double(info.frames) > limits.most_seconds * info.samplerate)
    return too_long(name, limits);
  return read_samples(file.get(), info, name, limits);
}

Result<Audio> read_audio(const std::string& path, const AudioLimits& limits) {
  const auto bytes = read_file(path, limits.most_bytes);
  if (!bytes) return bytes.mistakes();
  return read_audio_bytes(*bytes, path, limits);
}

Result<std::string> audio_bytes(const Audio& audio, AudioFormat format) {
  if (Diagnostics found = check_audio(audio, format); !found.empty()) return found;
  std::string out;
  Memory memory{{}, &out};
  SF_INFO info{};
  info.samplerate = static_cast<int>(audio.rate_hz);
  info.channels = static_cast<int>(audio.channels.size());
  info.format = code_of(format);
  File file = open_memory(memory, SFM_WRITE, info);
  if (!file) return wrong("audio", std::string("cannot be written: ") + sf_strerror(nullptr));
  sf_command(file.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);  // it holds the clock's time
  if (!write_samples(file.get(), audio, bits_of(format)))
    return wrong("audio", std::string("cannot be written: ") + sf_strerror(file.get()));
  file.reset();
  return out;
}

Result<Done> write_audio(const std::string& path, const Audio& audio, AudioFormat format) {
  const auto bytes = audio_bytes(audio, format);
  if (!bytes) return bytes.mistakes();
  return write_file(path, *bytes);
}

}  // namespace roomwright
