// Which inner loop runs, and the nodes it may work from; see kernel.h.
#include "acoustics/absorbers/kernel.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

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

/// So little that the loop's own bound on what shows of it (kernel_lanes.h) rarely turns a stack of
/// sheets, wool and air away; what was seen to show is no more than rounding (kernel_test.cpp).
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
  for (double rho = 1.5; rho < 1e8 && half > 0; rho *= 1.25) {
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

/// How much of each node's value belongs to each angle, in blocks: Lagrange's polynomial of node n
/// is 2/count · Σ' T_i(s_n) T_i. Both lists in −1 … 1.
std::vector<double> shares_of(const std::vector<double>& nodes, const std::vector<double>& angles) {
  const std::size_t count = nodes.size(), block = kernel_block;
  std::vector<double> out((angles.size() + block - 1) / block * block * count);
  std::vector<std::vector<double>> at_nodes;
  for (const double node : nodes) at_nodes.push_back(chebyshev(static_cast<int>(count), node));
  for (std::size_t a = 0; a < angles.size(); ++a) {
    const std::vector<double> at_angle = chebyshev(static_cast<int>(count), angles[a]);
    for (std::size_t n = 0; n < count; ++n) {
      double sum = 0.5;
      for (std::size_t i = 1; i < count; ++i) sum += at_nodes[n][i] * at_angle[i];
      out[(a / block * count + n) * block + a % block] = sum * 2 / double(count);
    }
  }
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
  std::vector<double> nodes, angles, x, cosine, secant;
  for (const double angle : sine2) angles.push_back(half > 0 ? (angle - middle) / half : 0);
  for (int n = 0; n < count; ++n) {
    nodes.push_back(std::cos(table_pi * (n + 0.5) / count));
    x.push_back(middle + half * nodes.back());
  }
  while (x.size() % kernel_step != 0) x.push_back(x.back());
  for (const double at : x) {
    cosine.push_back(std::sqrt(1 - at));
    secant.push_back(1 / cosine.back());
  }
  KernelNodes set{};
  set.count = count;
  set.worked_out = static_cast<int>(x.size());
  set.middle = middle;
  set_reach(set, half);
  const auto keep = [&](std::vector<double> list) {
    lists_.push_back(std::move(list));
    return lists_.back().data();
  };
  set.sine2 = keep(std::move(x));
  set.cosine = keep(std::move(cosine));
  set.secant = keep(std::move(secant));
  set.share = keep(shares_of(nodes, angles));
  sets_.push_back(set);
}

}  // namespace roomwright::acoustics
