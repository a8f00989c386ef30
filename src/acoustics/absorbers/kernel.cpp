// Which inner loop runs, and the nodes it may work from; see kernel.h.
#include "acoustics/absorbers/kernel.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "acoustics/absorbers/kernel_nodes.h"

namespace roomwright::acoustics {

Kernel fastest_kernel() {
#ifdef ROOMWRIGHT_KERNEL_AVX2
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) return kernel_avx2;
#endif
  return kernel_baseline;
}

namespace {

const double table_pi = std::acos(-1.0);

constexpr double left_out = 1e-14;

/// Sets the greatest sum of turns that `count` nodes on middle ± half stand for. On the ellipse of
/// sum of axes ρ · half round the interval x strays by at most r = half (ρ + 1/ρ) / 2 from its
/// middle, so that |Im √(y² ± r t²)| ≤ |Im y| + t √r and no layer's functions grow by more than
/// e^(π t √r). Interpolation at Chebyshev points then errs by at most 4 e^(π t √r) ρ^(1 − count) /
/// (ρ − 1) of the field (Trefethen, Approximation Theory and Approximation Practice, 2013,
/// theorem 8.2, from memory).
void set_reach(KernelNodes& nodes, double half) {
  nodes.left_out = left_out;
  nodes.stray = 1;
  nodes.reach = half == 0 ? std::numeric_limits<double>::infinity() : 0;
  for (double rho = 1.5; rho < 1e8 && half > 0; rho *= 1.1) {
    const double r = half * (rho + 1 / rho) / 2;
    const double gained = (nodes.count - 1) * std::log(rho) + std::log((rho - 1) / 4 * left_out);
    const double reach = gained / (table_pi * std::sqrt(r));
    if (reach <= nodes.reach) continue;
    nodes.reach = reach;
    nodes.stray = std::sqrt(r);
  }
}

/// Chebyshev polynomials T_0 … T_{count−1} at s.
std::vector<double> chebyshev(int count, double s) {
  std::vector<double> out{1, s};
  while (static_cast<int>(out.size()) < count)
    out.push_back(2 * s * out.back() - out[out.size() - 2]);
  return out;
}

}  // namespace

KernelTable::KernelTable(const std::vector<double>& sine2) {
  if (sine2.empty()) return;
  const auto [least, most] = std::minmax_element(sine2.begin(), sine2.end());
  for (const int count : {4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24})
    if (3 * count <= 2 * static_cast<int>(sine2.size()))
      add(count, (*least + *most) / 2, (*most - *least) / 2, sine2);
}

void KernelTable::add(int count, double middle, double half, const std::vector<double>& sine2) {
  const auto entries = static_cast<std::size_t>(count), block = std::size_t{kernel_block};
  std::vector<double> x(entries), cosine(entries), secant(entries);
  const std::size_t blocks = (sine2.size() + block - 1) / block;
  std::vector<double> share(blocks * block * entries);
  std::vector<std::vector<double>> at_angles;
  for (const double angle : sine2)
    at_angles.push_back(chebyshev(count, half > 0 ? (angle - middle) / half : 0));
  for (std::size_t n = 0; n < entries; ++n) {
    const double s = std::cos(table_pi * (double(n) + 0.5) / count);
    x[n] = middle + half * s;
    cosine[n] = std::sqrt(1 - x[n]);
    secant[n] = 1 / cosine[n];
    // Lagrange's polynomial of this node: 2/count · Σ' T_i(s) T_i
    std::vector<double> own = chebyshev(count, s);
    for (double& value : own) value *= 2.0 / count;
    own[0] /= 2;
    for (std::size_t a = 0; a < sine2.size(); ++a) {
      double sum = 0;
      for (std::size_t i = 0; i < entries; ++i) sum += own[i] * at_angles[a][i];
      share[(a / block * entries + n) * block + a % block] = sum;
    }
  }
  const auto worked_out = (entries + kernel_step - 1) / kernel_step * kernel_step;
  for (std::vector<double>* list : {&x, &cosine, &secant}) list->resize(worked_out, list->back());
  KernelNodes set{};
  set.count = count;
  set.worked_out = static_cast<int>(worked_out);
  set.middle = middle;
  set_reach(set, half);
  const double** const to[] = {&set.sine2, &set.cosine, &set.secant, &set.share};
  std::vector<double>* const from[] = {&x, &cosine, &secant, &share};
  for (int i = 0; i < 4; ++i) {
    lists_.push_back(std::move(*from[i]));
    *to[i] = lists_.back().data();
  }
  sets_.push_back(set);
}

}  // namespace roomwright::acoustics
