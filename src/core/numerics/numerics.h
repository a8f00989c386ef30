// Small numerical tools that several engines share. Thin: what a library does well is left to it.
#pragma once

#include <complex>
#include <cstdint>
#include <vector>

namespace roomwright {

/// Points and weights for an integral over [from, to].
struct Quadrature {
  std::vector<double> points, weights;
};

/// Gauss-Legendre with `count` points (1 to 2000): exact for polynomials of degree 2 count − 1.
Quadrature gauss_legendre(int count, double from, double to);

/// Points that fill the unit cube evenly, the same on every machine: Halton's sequence in up to 12
/// dimensions, shifted as a whole by an amount that the seed gives.
/// Source: J. H. Halton, Numer. Math. 2 (1960); R. Cranley, T. Patterson, SIAM J. Numer. Anal. 13
/// (1976) (shift); both from memory.
class EvenPoints {
 public:
  static constexpr std::size_t most_dimensions = 12;
  EvenPoints(std::size_t dimensions, std::uint64_t seed);
  /// Coordinates above 0 and below 1 of point 0, 1, 2 …
  std::vector<double> point(std::uint32_t index) const;

 private:
  std::vector<double> shift_;
};

/// x with Φ(x) = p for the standard normal distribution; p above 0 and below 1. To 1e-12.
double normal_quantile(double p);

/// The p-quantile of values in any order, linear between the two nearest; values not empty.
double quantile(std::vector<double> values, double p);

/// A quantity known by its 10th, 50th and 90th percentile, all above 0: log-normal on either side
/// of the middle. share: above 0 and below 1.
double log_normal_between(double low, double middle, double high, double share);

// ---- Fourier ----------------------------------------------------------------------------------

using Complexes = std::vector<std::complex<double>>;

/// X[k] = Σ x[n] e^{−2πi nk/N} of real samples for k = 0 … N/2; N even, at least 2.
Complexes spectrum_of(const std::vector<double>& samples);
/// The samples back; `spectrum` has N/2 + 1 values, the first and the last count as real.
std::vector<double> samples_of(const Complexes& spectrum);
/// The least even number from `least` on without a prime factor above 5: quick to transform.
std::size_t quick_length(std::size_t least);
/// Σ a[m] b[n − m], of length |a| + |b| − 1; empty where one is empty. In blocks: memory is a few
/// times that of the shorter one besides the result.
std::vector<double> convolved(const std::vector<double>& a, const std::vector<double>& b);

}  // namespace roomwright
