// Even points and quantiles; see numerics.h.
#include <algorithm>
#include <cmath>

#include "core/base/base.h"
#include "core/numerics/numerics.h"

namespace roomwright {

namespace {

constexpr std::uint32_t primes[EvenPoints::most_dimensions] = {2,  3,  5,  7,  11, 13,
                                                               17, 19, 23, 29, 31, 37};

/// The digits of n in a base, mirrored at the point.
double mirrored(std::uint32_t n, std::uint32_t base) {
  double value = 0, place = 1.0 / base;
  for (; n > 0; n /= base, place /= base) value += place * (n % base);
  return value;
}

}  // namespace

EvenPoints::EvenPoints(std::size_t dimensions, std::uint64_t seed) {
  RW_ASSERT(dimensions <= most_dimensions);
  Random random(seed);
  for (std::size_t i = 0; i < dimensions; ++i) shift_.push_back(random.unit());
}

std::vector<double> EvenPoints::point(std::uint32_t index) const {
  std::vector<double> out;
  for (std::size_t i = 0; i < shift_.size(); ++i) {
    const double sum = mirrored(index + 1, primes[i]) + shift_[i];
    out.push_back(std::clamp(sum - std::floor(sum), 1e-9, 1 - 1e-9));
  }
  return out;
}

double normal_quantile(double p) {
  double low = -9, high = 9;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (std::erfc(-middle / std::sqrt(2.0)) / 2 < p ? low : high) = middle;
  }
  return (low + high) / 2;
}

double quantile(std::vector<double> values, double p) {
  std::sort(values.begin(), values.end());
  const double at = std::clamp(p, 0.0, 1.0) * static_cast<double>(values.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  if (below + 1 >= values.size()) return values.back();
  const double share = at - static_cast<double>(below);
  return values[below] * (1 - share) + values[below + 1] * share;
}

double log_normal_between(double low, double middle, double high, double share) {
  const double z = normal_quantile(share) / normal_quantile(0.9);
  return middle * std::pow(z < 0 ? middle / low : high / middle, z);
}

}  // namespace roomwright
