// See response_parts.h.
#include "acoustics/waves/response_parts.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

using Root = std::complex<double>;
const double parts_pi = std::acos(-1.0);

// ---- wave numbers of one axis -----------------------------------------------------------------

/// Without the library's care for infinities, which costs more than the division.
Root over(Root a, Root b) {
  const double size = b.real() * b.real() + b.imag() * b.imag();
  return {(a.real() * b.real() + a.imag() * b.imag()) / size,
          (a.imag() * b.real() - a.real() * b.imag()) / size};
}

/// atan w for |w| up to about 1/2.
Root small_atan(Root w) {
  const Root square = -w * w;
  const double size = std::norm(w);
  Root sum = 0;
  const int terms = size < 1e-6 ? 2 : size < 1e-4 ? 4 : size < 0.01 ? 8 : size < 0.07 ? 14 : 28;
  for (int i = terms; i >= 0; --i) sum = sum * square + 1.0 / (2 * i + 1);
  return sum * w;
}

/// A root that the walls move little: qL = nπ + atan(κ0/q) + atan(κL/q), by Newton.
Root stiff_number(double length, Root near, Root far, int n) {
  const double rigid = n * parts_pi / length;
  Root q = rigid + (near + far) / (rigid * length);
  for (int turn = 0; turn < 20; ++turn) {
    const Root inverse = over(1.0, q);
    const Root rest =
        q * length - n * parts_pi - small_atan(near * inverse) - small_atan(far * inverse);
    const Root slope = length + over(near, q * q + near * near) + over(far, q * q + far * far);
    const Root step = over(rest, slope);
    q -= step;
    if (std::norm(step) < 1e-29 * std::norm(q)) break;
  }
  return q;
}

struct AxisEquation {
  Root value, slope;
};
/// (s − κ0 κL) sin(√s L)/√s − (κ0 + κL) cos √s L and its slope by s: whole functions of s.
AxisEquation at_square(double length, Root near, Root far, Root s) {
  const Root q = std::sqrt(s), turn = q * length;
  const bool small = std::norm(turn) < 1e-4;
  const Root sine = small ? length * (1.0 - turn * turn / 6.0 + turn * turn * turn * turn / 120.0)
                          : std::sin(turn) / q;
  const Root cosine = std::cos(turn);
  const Root bend = small ? length * length * length * (-1.0 / 6.0 + turn * turn / 60.0)
                          : (length * cosine - sine) / (2.0 * s);
  return {(s - near * far) * sine - (near + far) * cosine,
          sine + (s - near * far) * bend + (near + far) * length * sine / 2.0};
}

/// s = q² near a start; `others` are roots that it must not be.
Root soft_square(double length, Root near, Root far, Root start, const std::vector<Root>& others) {
  Root s = start;
  for (int turn = 0; turn < 80; ++turn) {
    const AxisEquation at = at_square(length, near, far, s);
    if (std::norm(at.value) == 0) break;
    Root ratio = over(at.slope, at.value);
    for (const Root& other : others)
      if (std::norm(s - other) > 0) ratio -= over(1.0, s - other);
    Root step = over(1.0, ratio);
    const double most = 4 / (length * length) + 0.5 * std::abs(s);
    if (std::abs(step) > most) step *= most / std::abs(step);
    s -= step;
    if (std::norm(step) < 1e-29 * (std::norm(s) + 1e-24)) break;
  }
  return s;
}

/// How far the sum of 1/((q² + s²) ∫ψ²), ψ(0) = 1, is off its closed form, over the length.
double sum_fault(double length, Root near, Root far, int count, const Root* q) {
  const double s = 2 / length;
  const double e = std::exp(-2 * s * length);
  Root difference =
      ((s + far) + (s - far) * e) / ((s + near) * (s + far) - (s - near) * (s - far) * e) -
      (1 + e) / ((1 - e) * s);
  for (int n = 0; n < count; ++n) {
    const Root square = q[n] * q[n], turn = q[n] * length;
    const Root end = std::cos(turn) + over(near, q[n]) * std::sin(turn);
    const Root integral =
        (end * end * ((square + far * far) * length + far) + near) / (2.0 * square);
    const double rigid = n * parts_pi / length;
    difference -= over(1.0, integral * (square + s * s)) -
                  (n == 0 ? 1 : 2) / (length * (rigid * rigid + s * s));
  }
  // The rest of the series, to its first order: −2/L (κ0² + 3 (κ0 + κL)/L) Σ q⁻⁴.
  const double unit = length / parts_pi, last = count - 0.5;
  const Root rest = -2 / length * (near * near + 3.0 * (near + far) / length) * unit * unit * unit *
                    unit / (3 * last * last * last);
  return std::abs(difference - rest) / length;
}

/// Those roots that the walls move far: `soft` of them, none of `others`. Each is followed from the
/// rigid one in steps; with `bound` the waves that cling to a springy wall, q ≈ jκ, are sought
/// first.
std::vector<Root> soft_squares(double length, Root near, Root far, int soft, int steps, bool bound,
                               std::vector<Root> others) {
  std::vector<Root> found;
  const auto keep = [&](Root start) {
    const Root s = soft_square(length, near, far, start, others);
    others.push_back(s);
    found.push_back(s);
  };
  if (bound)
    for (const Root wall : {near, far})
      if (wall.real() * length < -1) keep(-wall * wall);
  for (int n = 0; n < soft; ++n) {
    const double rigid = n * parts_pi / length;
    Root s = rigid * rigid + (n == 0 ? 1.0 : 2.0) * (near + far) / (double(steps) * length);
    for (int step = 1; step < steps; ++step) {
      const double part = double(step) / steps;
      s = soft_square(length, near * part, far * part, s, {});
    }
    keep(s);
  }
  // Too many starts end in roots beyond the soft ones.
  std::stable_sort(found.begin(), found.end(),
                   [](Root a, Root b) { return std::sqrt(a).real() < std::sqrt(b).real(); });
  found.resize(static_cast<std::size_t>(soft));
  return found;
}

bool solve_axis(double length, Root near, Root far, int count, int steps, bool bound, Root* out) {
  const double strength = (std::abs(near) + std::abs(far)) * length / parts_pi;
  const int soft = std::min(count, static_cast<int>(strength / 0.4) + 1);
  for (int n = soft; n < count; ++n) out[n] = stiff_number(length, near, far, n);
  std::vector<Root> others;
  for (int n = soft; n < std::min(count, soft + 12); ++n) others.push_back(out[n] * out[n]);
  const auto squares = soft_squares(length, near, far, soft, steps, bound, std::move(others));
  for (int n = 0; n < soft; ++n) out[n] = std::sqrt(squares[static_cast<std::size_t>(n)]);
  // A mode that is missed changes the sum by at least 2/((nπ)² + 4), n the last; one that clings to
  // a wall does so only as seen from there.
  const double n = count * parts_pi, least = 0.4 / (n * n);
  return sum_fault(length, near, far, count, out) < least &&
         sum_fault(length, far, near, count, out) < least;
}

// ---- Legendre functions against the modes of rigid walls --------------------------------------

/// j_n(z), n below count, real z: upward where that is stable, else by the series.
void bessel_row(double z, int count, double* out) {
  if (z > count) {
    const double sine = std::sin(z), cosine = std::cos(z);
    out[0] = sine / z;
    if (count > 1) out[1] = (out[0] - cosine) / z;
    for (int n = 1; n + 1 < count; ++n) out[n + 1] = (2 * n + 1) / z * out[n] - out[n - 1];
    return;
  }
  // Downward from far above, then scaled.
  const int start = count + 30;
  double above = 0, here = 1e-200;
  std::vector<double> all(static_cast<std::size_t>(start) + 1);
  all[static_cast<std::size_t>(start)] = here;
  if (z < 1e-8) {
    for (int n = 0; n < count; ++n) out[n] = n == 0 ? 1 : n == 1 ? z / 3 : 0;
    return;
  }
  for (int n = start; n >= 1; --n) {
    const double below = (2 * n + 1) / z * here - above;
    above = here;
    here = below;
    all[static_cast<std::size_t>(n) - 1] = here;
    if (std::abs(here) > 1e200) {
      for (int i = n - 1; i <= start; ++i) all[static_cast<std::size_t>(i)] *= 1e-200;
      above *= 1e-200, here *= 1e-200;
    }
  }
  const double zero = std::sin(z) / z, one = (zero - std::cos(z)) / z;
  const double scale = std::abs(zero) > std::abs(one) ? zero / all[0] : one / all[1];
  for (int n = 0; n < count; ++n) out[n] = all[static_cast<std::size_t>(n)] * scale;
}

/// ∫ φ_i cos(mπx/L): order entries for each mode.
std::vector<double> rigid_integrals(double length, double low, double high, int order, int modes) {
  std::vector<double> out(static_cast<std::size_t>(order) * modes);
  const double half = (high - low) / 2, centre = (high + low) / 2;
  std::vector<double> bessel(static_cast<std::size_t>(order) + 1);
  for (int m = 0; m < modes; ++m) {
    const double q = m * parts_pi / length;
    bessel_row(q * half, order, bessel.data());
    const double sine = std::sin(q * centre), cosine = std::cos(q * centre);
    for (int i = 0; i < order; ++i) {
      const double phase = i % 4 == 0 ? cosine : i % 4 == 1 ? -sine : i % 4 == 2 ? -cosine : sine;
      out[static_cast<std::size_t>(m) * order + i] =
          std::sqrt(2 * half * (2 * i + 1)) * phase * bessel[static_cast<std::size_t>(i)];
    }
  }
  return out;
}

double mode_share(int m, double length) {
  return (m == 0 ? 1 : 2) / length;
}

}  // namespace

bool axis_numbers(double length, std::complex<double> near, std::complex<double> far, int count,
                  std::complex<double>* out) {
  if (count == 0) return true;
  // Enough of them that the last ones are hardly moved by the walls.
  const double strength = (std::abs(near) + std::abs(far)) * length / parts_pi;
  std::vector<Root> all(
      static_cast<std::size_t>(std::max(count, static_cast<int>(3 * strength) + 12)));
  for (const int steps : {2, 10, 60})
    for (const bool bound : {false, true})
      if (solve_axis(length, near, far, static_cast<int>(all.size()), steps, bound, all.data())) {
        std::copy_n(all.begin(), count, out);
        return true;
      }
  return false;
}

std::vector<double> pair_tail(const std::array<double, 3>& size_m, const WaveTile& one,
                              const WaveTile& two, double from_1_m, double to_1_m) {
  const double l0 = size_m[one.axis == 0 ? 1 : 0], l1 = size_m[one.axis == 2 ? 1 : 2];
  const int m0 = static_cast<int>(to_1_m * l0 / parts_pi) + 1;
  const int m1 = static_cast<int>(to_1_m * l1 / parts_pi) + 1;
  const int ni = one.order[0], nj = one.order[1], nk = two.order[0], nl = two.order[1];
  const auto b = rigid_integrals(l0, one.low[0], one.high[0], ni, m0);
  const auto d = rigid_integrals(l0, two.low[0], two.high[0], nk, m0);
  const auto c = rigid_integrals(l1, one.low[1], one.high[1], nj, m1);
  const auto e = rigid_integrals(l1, two.low[1], two.high[1], nl, m1);
  const std::size_t across = static_cast<std::size_t>(nj) * nl;
  std::vector<double> products(across * m1);  // by mode: (j, l)
  for (int n = 0; n < m1; ++n)
    for (int j = 0; j < nj; ++j)
      for (int l = 0; l < nl; ++l)
        products[across * n + static_cast<std::size_t>(j) * nl + l] =
            mode_share(n, l1) * c[static_cast<std::size_t>(n) * nj + j] *
            e[static_cast<std::size_t>(n) * nl + l];
  std::vector<double> out(tail_terms * static_cast<std::size_t>(ni) * nk * across), row(3 * across);
  for (int m = 0; m < m0; ++m) {
    const double q = m * parts_pi / l0;
    const auto up_to = [&](double cut) {
      return cut < q
                 ? 0
                 : std::min(m1, static_cast<int>(std::sqrt(cut * cut - q * q) * l1 / parts_pi) + 1);
    };
    std::fill(row.begin(), row.end(), 0.0);
    for (int n = up_to(from_1_m); n < up_to(to_1_m); ++n) {
      const double p = n * parts_pi / l1;
      const double first = 1 / std::sqrt(q * q + p * p), second = first * first;
      const double third = second * first;
      const double* product = products.data() + across * n;
      for (std::size_t at = 0; at < across; ++at) {
        row[at] += first * product[at];
        row[across + at] += second * product[at];
        row[2 * across + at] += third * product[at];
      }
    }
    for (int i = 0; i < ni; ++i)
      for (int k = 0; k < nk; ++k) {
        const double x = mode_share(m, l0) * b[static_cast<std::size_t>(m) * ni + i] *
                         d[static_cast<std::size_t>(m) * nk + k];
        for (std::size_t term = 0; term < tail_terms; ++term) {
          double* to = out.data() + ((term * ni + i) * nk + k) * across;
          const double* from = row.data() + term * across;
          for (std::size_t at = 0; at < across; ++at) to[at] += x * from[at];
        }
      }
  }
  return out;
}

std::vector<double> bessel_rows(double length, double side, int order, int modes) {
  const std::size_t stride = static_cast<std::size_t>(modes);
  std::vector<double> out(static_cast<std::size_t>(order) * stride);
  std::vector<double> bessel(static_cast<std::size_t>(order) + 1);
  for (int m = 0; m < modes; ++m) {
    bessel_row(m * parts_pi / length * side / 2, order, bessel.data());
    for (int i = 0; i < order; ++i)
      out[static_cast<std::size_t>(i) * stride + static_cast<std::size_t>(m)] =
          std::sqrt(side * (2 * i + 1)) * bessel[static_cast<std::size_t>(i)];
  }
  return out;
}

void put_phases(double length, double low, double high, int order, int modes, int stride,
                const double* bessel, int bessel_stride, double* out) {
  const double step = parts_pi / length * (low + high) / 2;
  const double c1 = std::cos(step), s1 = std::sin(step);
  double cosine = 1, sine = 0;
  for (int m = 0; m < modes; ++m) {
    if (m % 32 == 0) cosine = std::cos(m * step), sine = std::sin(m * step);
    const double phase[] = {cosine, -sine, -cosine, sine};
    for (int i = 0; i < order; ++i)
      out[static_cast<long>(i) * stride + m] =
          phase[i % 4] * bessel[static_cast<long>(i) * bessel_stride + m];
    const double next = cosine * c1 - sine * s1;
    sine = sine * c1 + cosine * s1;
    cosine = next;
  }
}

double near_field_rest(const std::array<double, 3>& size_m, const std::array<double, 3>& a,
                       const std::array<double, 3>& b, int axis, double cut_1_m,
                       double damping_1_m) {
  double sum = 0;
  std::array<std::vector<double>, 3> places;  // distances from b of the images of a
  for (std::size_t d = 0; d < 3; ++d) {
    const int most = static_cast<int>(20 / (damping_1_m * 2 * size_m[d])) + 1;
    for (int n = -most; n <= most; ++n)
      for (const double sign : {1.0, -1.0})
        places[d].push_back(2 * n * size_m[d] + sign * a[d] - b[d]);
  }
  for (const double x : places[0])
    for (const double y : places[1])
      for (const double z : places[2]) {
        const double r = std::sqrt(x * x + y * y + z * z);
        if (r * damping_1_m < 30) sum += std::exp(-damping_1_m * r) / (4 * parts_pi * r);
      }
  const std::size_t closed = static_cast<std::size_t>(axis);
  const std::size_t first = axis == 0 ? 1 : 0, second = axis == 2 ? 1 : 2;
  const double low = std::min(a[closed], b[closed]), high = std::max(a[closed], b[closed]);
  for (int m = 0; m * parts_pi / size_m[first] <= cut_1_m; ++m) {
    const double q = m * parts_pi / size_m[first];
    const double share =
        mode_share(m, size_m[first]) * std::cos(q * a[first]) * std::cos(q * b[first]);
    const int count =
        static_cast<int>(std::sqrt(cut_1_m * cut_1_m - q * q) * size_m[second] / parts_pi) + 1;
    for (int n = 0; n < count; ++n) {
      const double p = n * parts_pi / size_m[second];
      const double g = std::sqrt(q * q + p * p + damping_1_m * damping_1_m);
      const double before = 1 + std::exp(-2 * g * low);
      const double after = 1 + std::exp(-2 * g * (size_m[closed] - high));
      const double along = before * after * std::exp(-g * (high - low)) /
                           (2 * g * (1 - std::exp(-2 * g * size_m[closed])));
      sum -= share * mode_share(n, size_m[second]) * std::cos(p * a[second]) *
             std::cos(p * b[second]) * along;
    }
  }
  return sum;
}

}  // namespace roomwright::acoustics
