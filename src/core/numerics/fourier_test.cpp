// The transforms against the sum that defines them, and convolution against the double loop.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/base/base.h"
#include "core/numerics/numerics.h"

namespace roomwright {
namespace {

std::vector<double> noise(std::size_t count, std::uint64_t seed) {
  Random random(seed);
  std::vector<double> out(count);
  for (double& value : out) value = random.uniform(-1, 1);
  return out;
}

TEST(Fourier, is_the_sum_that_defines_it_for_any_even_length) {
  for (const std::size_t n : {2, 4, 6, 10, 14, 30, 64, 90, 22}) {
    const auto samples = noise(n, n);
    const Complexes spectrum = spectrum_of(samples);
    ASSERT_EQ(spectrum.size(), n / 2 + 1);
    for (std::size_t k = 0; k <= n / 2; ++k) {
      std::complex<double> sum = 0;
      for (std::size_t i = 0; i < n; ++i)
        sum += samples[i] * std::polar(1.0, -2 * std::numbers::pi * double(i * k) / double(n));
      EXPECT_LT(std::abs(sum - spectrum[k]), 1e-12 * n) << n << " " << k;
    }
    const auto back = samples_of(spectrum);
    ASSERT_EQ(back.size(), n);
    for (std::size_t i = 0; i < n; ++i) EXPECT_NEAR(back[i], samples[i], 1e-13);
  }
}

TEST(Fourier, quick_lengths_have_small_factors_only) {
  EXPECT_EQ(quick_length(0), 2u);
  EXPECT_EQ(quick_length(7), 8u);
  EXPECT_EQ(quick_length(97), 100u);
  EXPECT_EQ(quick_length(48000), 48000u);
}

TEST(Fourier, convolution_is_the_double_loop) {
  for (const auto& [m, n] : {std::pair{1, 1}, {1, 5}, {300, 7}, {7, 5000}, {900, 5000}}) {
    const auto a = noise(m, 1), b = noise(n, 2);
    const auto got = convolved(a, b);
    ASSERT_EQ(got.size(), std::size_t(m + n - 1));
    for (int k = 0; k < m + n - 1; ++k) {
      double sum = 0;
      for (int i = std::max(0, k - n + 1); i <= std::min(k, m - 1); ++i) sum += a[i] * b[k - i];
      ASSERT_NEAR(got[k], sum, 1e-11) << k;
    }
  }
  EXPECT_TRUE(convolved({}, {1.0}).empty());
}

}  // namespace
}  // namespace roomwright
