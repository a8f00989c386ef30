// Private to acoustics/waves: arithmetic on LANES numbers at a time for response_lanes.h; the same
// bytes for any LANES. Like that file it includes nothing of the standard library.
#pragma once

#include "acoustics/waves/response_kernel.h"
#include "core/lanes/lanes.h"

namespace roomwright::acoustics {
namespace {

using roomwright::load;
using roomwright::root;
using roomwright::size_of;
using roomwright::store;

struct Pair {
  Part re, im;
};
ROOMWRIGHT_INLINE Pair pair(double re, double im) {
  return {every(re), every(im)};
}
ROOMWRIGHT_INLINE Pair operator+(Pair a, Pair b) {
  return {a.re + b.re, a.im + b.im};
}
ROOMWRIGHT_INLINE Pair operator-(Pair a, Pair b) {
  return {a.re - b.re, a.im - b.im};
}
ROOMWRIGHT_INLINE Pair operator*(Pair a, Pair b) {
  return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}
ROOMWRIGHT_INLINE Pair operator*(Pair a, Part b) {
  return {a.re * b, a.im * b};
}
ROOMWRIGHT_INLINE Pair operator*(Pair a, double b) {
  return {a.re * b, a.im * b};
}
ROOMWRIGHT_INLINE Pair operator-(Pair a) {
  return {-a.re, -a.im};
}
ROOMWRIGHT_INLINE void add_to(Pair& sum, Pair a, Pair b) {
  sum.re += a.re * b.re - a.im * b.im;
  sum.im += a.re * b.im + a.im * b.re;
}
ROOMWRIGHT_INLINE Pair turned(Pair a) {  // times j
  return {-a.im, a.re};
}
ROOMWRIGHT_INLINE Pair one_over(Pair a) {
  const Part inverse = 1.0 / (a.re * a.re + a.im * a.im);
  return {a.re * inverse, -a.im * inverse};
}
/// With a real part of at least 0.
ROOMWRIGHT_INLINE Pair root(Pair a) {
  const Part size = root(a.re * a.re + a.im * a.im);
  const Part larger = root((size + size_of(a.re)) * 0.5 + 1e-60);
  const Part smaller = 0.5 * a.im / larger;
  const Part sign = (Part)((Bits)a.im & (long long)0x8000000000000000ull);
  const Part with_sign = (Part)((Bits)larger | (Bits)sign);
  return {a.re >= 0.0 ? larger : size_of(smaller), a.re >= 0.0 ? smaller : with_sign};
}

/// Adding it leaves a whole number in the low bits.
constexpr double rounder = 6755399441055744.0;  // 1.5 · 2^52

/// e^x for x up to 700, as good as 0 below −700. Taylor's series of 2^r, |r| ≤ 1/2.
ROOMWRIGHT_INLINE Part exponential(Part x) {
  const Part least = every(-700.0);
  x = x < least ? least : x;
  const Part shifted = x * 1.4426950408889634074 + rounder;
  const Part whole = shifted - rounder;
  const Part r = (x - whole * 0.693147180369123816490) - whole * 1.90821492927058770002e-10;
  Part e = r * (1.0 / 479001600) + 1.0 / 39916800;
  e = e * r + 1.0 / 3628800;
  e = e * r + 1.0 / 362880;
  e = e * r + 1.0 / 40320;
  e = e * r + 1.0 / 5040;
  e = e * r + 1.0 / 720;
  e = e * r + 1.0 / 120;
  e = e * r + 1.0 / 24;
  e = e * r + 1.0 / 6;
  e = e * r + 0.5;
  e = e * r + 1.0;
  e = e * r + 1.0;
  return e * (Part)(((Bits)shifted << 52) + (1023ll << 52));
}

/// e^z. Sine and cosine by Taylor's series on ±π/4.
ROOMWRIGHT_INLINE Pair exponential(Pair z) {
  const Part size = exponential(z.re);
  const Part shifted = z.im * 0.63661977236758134308 + rounder;
  const Part whole = shifted - rounder;
  const Part r = (z.im - whole * 1.57079632673412561417) - whole * 6.07710050650619224932e-11;
  const Part y = r * r;
  Part s = y * (1.0 / 355687428096000.0) + -1.0 / 1307674368000.0;
  s = s * y + 1.0 / 6227020800.0;
  s = s * y + -1.0 / 39916800;
  s = s * y + 1.0 / 362880;
  s = s * y + -1.0 / 5040;
  s = s * y + 1.0 / 120;
  s = s * y + -1.0 / 6;
  s = s * y * r + r;
  Part c = y * (1.0 / 20922789888000.0) + -1.0 / 87178291200.0;
  c = c * y + 1.0 / 479001600;
  c = c * y + -1.0 / 3628800;
  c = c * y + 1.0 / 40320;
  c = c * y + -1.0 / 720;
  c = c * y + 1.0 / 24;
  c = c * y + -0.5;
  c = c * y + 1.0;
  const Bits turns = (Bits)shifted;
  const Bits odd = -(turns & 1);
  const Part sine = (Part)(((Bits)s & ~odd) | ((Bits)c & odd));
  const Part cosine = (Part)(((Bits)c & ~odd) | ((Bits)s & odd));
  const Bits sine_sign = (turns & 2) << 62, cosine_sign = ((turns + 1) & 2) << 62;
  return {size * (Part)((Bits)cosine ^ cosine_sign), size * (Part)((Bits)sine ^ sine_sign)};
}

ROOMWRIGHT_INLINE Pair load_pair(const double* from) {
  return {load(from), load(from + wave_block)};
}
ROOMWRIGHT_INLINE void store_pair(double* to, Pair value) {
  store(to, value.re);
  store(to + wave_block, value.im);
}
ROOMWRIGHT_INLINE bool any(Bits mask) {
  long long found = 0;
  for (int i = 0; i < LANES; ++i) found |= mask[i];
  return found != 0;
}

/// Spherical Bessel functions j_n(z), n below count; with `faded` i_n(z) e^(−z), of which `fade` is
/// e^(−2z), else sine and cosine of z. Below `near` by the series for the top two and downward,
/// elsewhere upward: either loses at most seven digits of sixteen, of functions that are at most 1.
ROOMWRIGHT_INLINE Pair series(Pair x, Pair z, int n) {
  Pair sum = pair(1, 0);
  for (int k = 12; k >= 1; --k) {
    const double c = 1.0 / (k * (2 * n + 2 * k + 1));
    sum = sum * (x * c);
    sum.re += 1.0;
  }
  Pair power = sum;
  for (int k = 1; k <= n; ++k) power = power * (z * (1.0 / (2 * k + 1)));
  return power;
}
static void spherical(Pair z, int count, bool faded, Pair fade_or_sine, Pair cosine, Pair* out) {
  const double near = count <= 6 ? 1.5 : 3.0;
  const Part size = z.re * z.re + z.im * z.im;
  const Bits close = size < near * near;
  const double sign = faded ? 1 : -1;
  const Pair inverse = one_over(Pair{z.re + 1e-150, z.im});
  Pair up[most_legendre + 1], down[most_legendre + 1];
  const bool any_close = any(close), any_far = any(~close);
  if (any_far) {
    if (faded) {
      const Pair more = pair(1, 0) + fade_or_sine, less = pair(1, 0) - fade_or_sine;
      up[0] = less * inverse * 0.5;
      up[1] = (more * 0.5 - up[0]) * inverse;
    } else {
      up[0] = fade_or_sine * inverse;
      up[1] = (up[0] - cosine) * inverse;
    }
    for (int n = 1; n + 1 < count; ++n) {
      const Pair step = up[n] * inverse * (2.0 * n + 1);
      up[n + 1] = faded ? up[n - 1] - step : step - up[n - 1];
    }
  }
  if (any_close) {
    const Pair x = z * z * (0.5 * sign);
    const int top = count < 2 ? 1 : count - 1;
    down[top] = series(x, z, top);
    down[top - 1] = series(x, z, top - 1);
    if (faded) {
      const Pair fade = exponential(-z);
      down[top] = down[top] * fade;
      down[top - 1] = down[top - 1] * fade;
    }
    for (int n = top - 1; n >= 1; --n) {
      const Pair step = down[n] * inverse * (2.0 * n + 1);
      down[n - 1] = faded ? step + down[n + 1] : step - down[n + 1];
    }
  }
  if (!any_far)
    for (int n = 0; n < count; ++n) out[n] = down[n];
  else if (!any_close)
    for (int n = 0; n < count; ++n) out[n] = up[n];
  else
    for (int n = 0; n < count; ++n) {
      out[n].re = close ? down[n].re : up[n].re;
      out[n].im = close ? down[n].im : up[n].im;
    }
}

/// √(2h (2i + 1)): what an orthonormal Legendre function of half-width h brings to an integral.
ROOMWRIGHT_INLINE double legendre_factor(double half, int i) {
  return __builtin_sqrt(2 * half * (2 * i + 1));
}

}  // namespace
}  // namespace roomwright::acoustics
