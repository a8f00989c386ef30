// Files there and back, complaints in place of crashes, resampling against the tone itself,
// loudness against the standard's own calibration.
#include "core/audio/audio.h"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <numbers>

namespace roomwright {
namespace {

Audio tone(double rate_hz, double hz, double seconds, double amplitude, int channels = 1) {
  Audio out;
  out.rate_hz = rate_hz;
  std::vector<float> samples;
  for (int i = 0; i < int(seconds * rate_hz); ++i)
    samples.push_back(float(amplitude * std::sin(2 * std::numbers::pi * hz * i / rate_hz)));
  out.channels.assign(channels, samples);
  return out;
}

TEST(Audio, comes_back_from_every_format_within_half_a_step) {
  Audio in = tone(44100, 997, 0.5, 0.8, 2);
  for (float& x : in.channels[1]) x *= -0.3f;
  for (const auto& [format, step] : {std::pair{AudioFormat::wav_16, 1.0 / 32768},
                                     {AudioFormat::wav_24, 1.0 / 8388608},
                                     {AudioFormat::wav_float, 0.0},
                                     {AudioFormat::flac_16, 1.0 / 32768},
                                     {AudioFormat::flac_24, 1.0 / 8388608}}) {
    const auto bytes = audio_bytes(in, format);
    ASSERT_TRUE(bytes) << bytes.mistakes().text();
    EXPECT_EQ(*bytes, *audio_bytes(in, format));
    const auto out = read_audio_bytes(*bytes, "take.wav");
    ASSERT_TRUE(out) << out.mistakes().text();
    EXPECT_EQ(out->rate_hz, 44100);
    ASSERT_EQ(out->channels.size(), 2u);
    ASSERT_EQ(out->frames(), in.frames());
    for (std::size_t c = 0; c < 2; ++c)
      for (std::size_t i = 0; i < in.frames(); ++i)
        ASSERT_NEAR(out->channels[c][i], in.channels[c][i], 0.51 * step);
  }
}

TEST(Audio, stops_at_full_scale_instead_of_turning_over) {
  Audio loud;
  loud.channels = {{2.0f, -2.0f, 1.0f, -1.0f}};
  const auto out = read_audio_bytes(*audio_bytes(loud, AudioFormat::wav_24), "x");
  ASSERT_TRUE(out);
  EXPECT_NEAR(out->channels[0][0], 1, 1e-6);
  EXPECT_NEAR(out->channels[0][1], -1, 1e-6);
}

TEST(Audio, says_what_is_wrong_with_a_file) {
  const auto complaint = [](std::string_view bytes, const AudioLimits& limits = {}) {
    const auto out = read_audio_bytes(bytes, "take.wav", limits);
    return out ? std::string("none") : out.mistakes().text();
  };
  EXPECT_NE(complaint("").find("take.wav: is no WAV or FLAC file"), std::string::npos);
  EXPECT_NE(complaint("RIFF").find("is no WAV or FLAC file"), std::string::npos);
  EXPECT_NE(complaint("RIFFxxxxWAVE").find("is no WAV or FLAC file"), std::string::npos);
  const std::string good = *audio_bytes(tone(48000, 500, 2, 0.5, 3), AudioFormat::wav_16);
  EXPECT_NE(complaint(good, {.most_channels = 2}).find("channels that is not from 1 to 2, got 3"),
            std::string::npos);
  EXPECT_NE(complaint(good, {.most_seconds = 1}).find("is longer than 1 s"), std::string::npos);
  Audio none;
  none.channels = {{}};
  EXPECT_NE(complaint(*audio_bytes(none, AudioFormat::wav_16)).find("no samples"),
            std::string::npos);
  EXPECT_NE(read_audio("/nowhere/take.wav").mistakes().text().find("cannot read"),
            std::string::npos);
  std::string float_file = *audio_bytes(tone(48000, 500, 0.01, 0.5), AudioFormat::wav_float);
  float_file.replace(float_file.size() - 8, 4, std::string("\x00\x00\xc0\x7f", 4));
  EXPECT_NE(complaint(float_file).find("no number"), std::string::npos) << complaint(float_file);
  Audio bad;
  bad.rate_hz = 100;
  bad.channels = {{0.0f}, {}};
  EXPECT_EQ(audio_bytes(bad, AudioFormat::wav_16).mistakes().size(), 2u);
}

TEST(Audio, any_damaged_byte_gives_sound_or_a_complaint) {
  for (const AudioFormat format : {AudioFormat::wav_24, AudioFormat::flac_16}) {
    const std::string good = *audio_bytes(tone(48000, 500, 0.02, 0.5, 2), format);
    Random random(7);
    int complaints = 0;
    for (int turn = 0; turn < 1500; ++turn) {
      std::string bytes = good;
      for (int k = 0; k < 3; ++k)
        bytes[random.below(std::uint32_t(turn % 2 ? 64 : bytes.size()))] = char(random.below(256));
      if (turn % 5 == 0) bytes.resize(random.below(std::uint32_t(bytes.size())));
      const auto out = read_audio_bytes(bytes, "take.wav");
      complaints += !out;
      if (out) {
        EXPECT_GT(out->frames(), 0u);
      }
    }
    EXPECT_GT(complaints, 100);
  }
}

TEST(Audio, is_written_whole_or_not_at_all) {
  EXPECT_FALSE(write_audio("/nowhere/take.wav", tone(48000, 500, 0.1, 0.5), AudioFormat::wav_24));
  const auto path = std::filesystem::temp_directory_path() / "roomwright_audio_test.wav";
  ASSERT_TRUE(write_audio(path.string(), tone(48000, 500, 0.1, 0.5), AudioFormat::wav_24));
  EXPECT_EQ(read_audio(path.string())->frames(), 4800u);
  std::filesystem::remove(path);
}

TEST(Audio, a_tone_at_another_rate_is_the_same_tone_in_the_same_place) {
  for (const auto& [from, to] :
       {std::pair{44100.0, 48000.0}, {48000.0, 44100.0}, {96000.0, 48000.0}, {8000.0, 48000.0}}) {
    const auto got = resampled(tone(from, 1000, 1, 0.5), to);
    ASSERT_TRUE(got);
    const Audio want = tone(to, 1000, 1, 0.5);
    ASSERT_NEAR(double(got->frames()), double(want.frames()), 1);
    for (std::size_t i = 4000; i + 4000 < want.frames(); ++i)
      ASSERT_NEAR(got->channels[0][i], want.channels[0][i], 1e-5) << from << " " << to << " " << i;
  }
  EXPECT_FALSE(resampled(tone(48000, 1000, 0.1, 0.5), 1000));
}

TEST(Loudness, a_full_tone_at_997_hz_in_one_channel_reads_minus_3_01) {
  // Source: ITU-R BS.1770-4, Annex 1: 0 dB FS, 997 Hz in one channel reads -3.01 LKFS (from memory)
  EXPECT_NEAR(*loudness_lkfs(tone(48000, 997, 5, 1)), -3.01, 0.01);
  EXPECT_NEAR(*loudness_lkfs(tone(48000, 997, 5, 0.1, 2)), -20, 0.01);
}

TEST(Loudness, silence_between_does_not_count) {
  Audio tones = tone(48000, 997, 5, 0.1);
  const double without = *loudness_lkfs(tones);
  tones.channels[0].resize(48000 * 20, 0.0f);
  EXPECT_NEAR(*loudness_lkfs(tones), without, 0.2);  // blocks at the edge count a little
  Audio silent;
  silent.channels = {std::vector<float>(48000, 0.0f)};
  EXPECT_FALSE(loudness_lkfs(silent));
}

}  // namespace
}  // namespace roomwright
