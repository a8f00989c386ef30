// Fourier transforms by the library's, and convolution in blocks; see numerics.h.
#include <algorithm>
#include <unsupported/Eigen/FFT>

#include "core/base/base.h"
#include "core/numerics/numerics.h"

namespace roomwright {

namespace {

/// Half spectra only: what a real signal needs. The library keeps its tables in here.
Eigen::FFT<double> half_spectra() {
  return Eigen::FFT<double>(Eigen::default_fft_impl<double>(), Eigen::FFT<double>::HalfSpectrum);
}

}  // namespace

Complexes spectrum_of(const std::vector<double>& samples) {
  RW_ASSERT(samples.size() >= 2 && samples.size() % 2 == 0);
  auto transform = half_spectra();
  Complexes out;
  transform.fwd(out, samples);
  return out;
}

std::vector<double> samples_of(const Complexes& spectrum) {
  RW_ASSERT(spectrum.size() >= 2);
  auto transform = half_spectra();
  Complexes half = spectrum;
  half.front() = half.front().real();
  half.back() = half.back().real();
  std::vector<double> out;
  transform.inv(out, half, static_cast<Eigen::Index>(2 * (half.size() - 1)));
  return out;
}

std::size_t quick_length(std::size_t least) {
  for (std::size_t length = std::max<std::size_t>(2, least + least % 2);; length += 2) {
    std::size_t rest = length;
    for (const std::size_t prime : {2, 3, 5})
      while (rest % prime == 0) rest /= prime;
    if (rest == 1) return length;
  }
}

std::vector<double> convolved(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.empty() || b.empty()) return {};
  const auto& brief = a.size() < b.size() ? a : b;
  const auto& lengthy = a.size() < b.size() ? b : a;
  const std::size_t transform = quick_length(std::max<std::size_t>(4 * brief.size(), 1024));
  const std::size_t block = transform - brief.size() + 1;
  std::vector<double> padded(brief);
  padded.resize(transform);
  const Complexes filter = spectrum_of(padded);
  std::vector<double> out(a.size() + b.size() - 1);
  for (std::size_t from = 0; from < lengthy.size(); from += block) {
    const std::size_t count = std::min(block, lengthy.size() - from);
    padded.assign(transform, 0);
    std::copy_n(lengthy.begin() + static_cast<std::ptrdiff_t>(from), count, padded.begin());
    Complexes spectrum = spectrum_of(padded);
    for (std::size_t i = 0; i < spectrum.size(); ++i) spectrum[i] *= filter[i];
    const auto samples = samples_of(spectrum);
    for (std::size_t i = 0; i < count + brief.size() - 1; ++i) out[from + i] += samples[i];
  }
  return out;
}

}  // namespace roomwright
