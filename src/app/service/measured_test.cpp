// Recordings before and after hanging, as the page puts them in.
#include <cmath>
#include <cstdint>

#include "app/service/trial.h"

namespace roomwright::app {
namespace {

constexpr double rate_hz = 48000;

/// 16 bits, one channel. Source: RIFF/WAVE, from memory.
std::string wav(const std::vector<double>& samples) {
  const auto number = [](std::uint32_t value, int bytes) {
    std::string out;
    for (int i = 0; i < bytes; ++i) out += static_cast<char>((value >> (8 * i)) & 255);
    return out;
  };
  double peak = 1e-9;
  for (const double one : samples) peak = std::max(peak, std::abs(one));
  std::string data;
  for (const double one : samples)
    data += number(std::uint32_t(std::lround(one / peak * 32000)) & 0xffff, 2);
  const std::uint32_t size = std::uint32_t(data.size()), rate = std::uint32_t(rate_hz);
  return "RIFF" + number(36 + size, 4) + "WAVEfmt " + number(16, 4) + number(1, 2) + number(1, 2) +
         number(rate, 4) + number(2 * rate, 4) + number(2, 2) + number(16, 2) + "data" +
         number(size, 4) + data;
}

/// Noise that loses 60 dB in t_s, above steady noise at so many dB below its beginning.
std::vector<double> dying(double t_s, double noise_db) {
  std::uint64_t state = 88172645463325252ull;
  const auto noise = [&] {
    double sum = 0;
    for (int i = 0; i < 4; ++i) {
      state ^= state << 13;
      state ^= state >> 7;
      state ^= state << 17;
      sum += double(state >> 11) / double(1ull << 53) - 0.5;
    }
    return sum;
  };
  std::vector<double> out(std::size_t(1.6 * rate_hz));
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double t = double(i) / rate_hz - 0.1;
    out[i] =
        std::pow(10, noise_db / 20) * noise() + (t >= 0 ? noise() * std::pow(10, -3 * t / t_s) : 0);
  }
  return out;
}

class MeasuredTest : public ServiceTest {
 protected:
  PageAnswer put(const std::string& place, const std::string& bytes) {
    From from;
    from.kind = "application/octet-stream";
    return ask("POST",
               "/api/files?name=" + place + ".wav&kind=recording&document=room&place=" + place,
               bytes, from);
  }
  Json measured() { return tree(ask("GET", "/api/jobs/room/measured")); }
  static double t20(const Json& side, double hz) {
    for (const Json& band : side["bands"])
      if (band["hz"] == hz) return band["t20_s"]["value"];
    return 0;
  }
  static std::string sentences(const Json& told) {
    std::string out;
    for (const Json& one : told["statements"]) out += one["sentence"].get<std::string>() + "\n";
    return out;
  }
};

TEST_F(MeasuredTest, a_job_that_was_not_measured_says_so) {
  bring_in();
  const Json told = measured();
  EXPECT_TRUE(told["before"].is_null() && told["after"].is_null());
  EXPECT_EQ(sentences(told), "Nothing is measured yet.\n");
  EXPECT_EQ(ask("GET", "/api/jobs/none/measured").status, 404);
}

TEST_F(MeasuredTest, before_and_after_stand_beside_what_was_promised) {
  bring_in();
  const Json predicted = tree(ask("GET", "/api/jobs/room/stages/proof"))["result"]["predicted"];
  double low = 0, high = 0;
  for (const Json& row : predicted)
    if (row["hz"] == 1000) {
      low = row["low_s"];
      high = row["high_s"];
    }
  ASSERT_GT(high, low);
  EXPECT_EQ(put("before", wav(dying(0.9, -70))).status, 201);
  EXPECT_NE(sentences(measured()).find("Measured before hanging, the room rings for 0.9"),
            std::string::npos)
      << sentences(measured());
  put("after", wav(dying(0.35, -70)));
  const Json told = measured();
  EXPECT_NEAR(t20(told["before"], 1000), 0.9, 0.09);
  EXPECT_NEAR(t20(told["after"], 1000), 0.35, 0.05);
  EXPECT_EQ(told["after"]["levels"].size(), 24u);
  const std::string said = sentences(told);
  EXPECT_NE(said.find("before hanging it rang for"), std::string::npos) << said;
  EXPECT_NE(said.find("octaves that could be measured are within what was promised"),
            std::string::npos)
      << said;
  const double is = t20(told["after"], 1000);
  EXPECT_EQ(said.find("at 1 kHz ") == std::string::npos,
            std::lround(is * 100) >= std::lround(low * 100) &&
                std::lround(is * 100) <= std::lround(high * 100))
      << said << low << " to " << high;
}

TEST_F(MeasuredTest, what_the_noise_hides_is_told_and_not_judged) {
  bring_in();
  put("after", wav(dying(0.5, -25)));
  const Json told = measured();
  for (const Json& band : told["after"]["bands"])
    EXPECT_EQ(band["t20_s"]["valid"], false) << band["hz"];
  const std::string said = sentences(told);
  EXPECT_NE(said.find("does not tell how long it rings: needs 35 dB above the noise"),
            std::string::npos)
      << said;
  EXPECT_EQ(said.find("promised"), std::string::npos);
}

TEST_F(MeasuredTest, the_newest_recording_counts_and_one_put_away_does_not) {
  bring_in();
  put("after", wav(dying(0.9, -70)));
  const Json second = tree(put("after", wav(dying(0.3, -70))));
  EXPECT_NEAR(t20(measured()["after"], 1000), 0.3, 0.05);
  EXPECT_EQ(ask("DELETE", "/api/files/" + second["id"].dump()).status, 200);
  EXPECT_NEAR(t20(measured()["after"], 1000), 0.9, 0.09);
}

TEST_F(MeasuredTest, a_file_that_is_no_recording_says_nothing_and_breaks_nothing) {
  bring_in();
  put("before", "this is a letter");
  put("after", wav(dying(0.4, -70)));
  const Json told = measured();
  EXPECT_NE(told["before"]["fault"], "");
  EXPECT_EQ(told["before"]["bands"].size(), 0u);
  EXPECT_NE(sentences(told).find("The recording before hanging says nothing"), std::string::npos);
  EXPECT_NEAR(t20(told["after"], 1000), 0.4, 0.06);
}

TEST_F(MeasuredTest, recordings_of_a_sweep_are_evaluated_with_the_sweep_that_was_played) {
  bring_in();
  std::vector<double> sweep(std::size_t(2 * rate_hz));
  const double low = 30, high = 18000, length_s = 2, grow = std::log(high / low);
  for (std::size_t i = 0; i < sweep.size(); ++i) {
    const double t = double(i) / rate_hz;
    sweep[i] = std::sin(2 * M_PI * low * length_s / grow * (std::exp(t / length_s * grow) - 1));
  }
  // A room of one echo every 20 ms, each weaker than the one before: 60 dB in 0.6 s.
  std::vector<double> recording(sweep.size() + std::size_t(1.5 * rate_hz), 0.0);
  for (int echo = 0; echo < 40; ++echo)
    for (std::size_t i = 0; i < sweep.size(); ++i) {
      const std::size_t at = i + std::size_t(0.02 * echo * rate_hz);
      if (at < recording.size()) recording[at] += sweep[i] * std::pow(10, -3 * 0.02 * echo / 0.6);
    }
  put("after", wav(recording));
  put("sweep", wav(sweep));
  const Json told = measured();
  EXPECT_EQ(told["sweep"], "sweep.wav");
  EXPECT_EQ(told["after"]["fault"], "");
  EXPECT_NEAR(told["after"]["seconds"].get<double>(), 1.5, 0.05);
  EXPECT_NEAR(t20(told["after"], 1000), 0.6, 0.05);
}

TEST_F(MeasuredTest, the_proof_on_paper_has_what_was_recorded) {
  bring_in();
  const auto paper = [&] { return ask("GET", "/api/jobs/room/papers/10-proof.pdf").body; };
  const std::string blank = paper();
  put("after", wav(dying(0.35, -70)));
  const std::string after = paper();
  EXPECT_NE(after, blank);
  EXPECT_EQ(paper(), after) << "kept under its recordings";
  put("before", "this is a letter");
  EXPECT_EQ(paper(), after) << "what says nothing changes nothing";
  put("before", wav(dying(0.9, -70)));
  EXPECT_NE(paper(), after);
  EXPECT_GT(after.size(), blank.size() + 5000) << "with plots and verdicts";
}

}  // namespace
}  // namespace roomwright::app
