// Private to acoustics/absorbers: the text of the inner loop, for LANES angles at a time; see
// kernel.h. It includes nothing of the standard library, so that no inline function of it is ever
// compiled for a newer processor than the program asks for.
//
// Pressure p and velocity v (times ρc) are carried from the back to the front as a pair that is
// known but for a common factor, so that a layer needs no division: with E = e^(−2A) for a turn
// A + jB, both cosh and sinh are taken times 2 e^(−A), which cannot overflow. The factor is kept
// only where sound passes through an open back. The polynomials are near-minimax fits of our own
// (relative errors below 1e-13 on their ranges).

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace roomwright::acoustics {
namespace {

#define ROOMWRIGHT_INLINE static inline __attribute__((always_inline))

typedef double Part __attribute__((vector_size(LANES * 8)));
typedef long long Bits __attribute__((vector_size(LANES * 8)));

/// Two vectors side by side: their chains of operations are independent, and fill the pipeline.
struct Pack {
  Part a, b;
};
#define ROOMWRIGHT_OPERATOR(sign)                          \
  ROOMWRIGHT_INLINE Pack operator sign(Pack x, Pack y) {   \
    return {x.a sign y.a, x.b sign y.b};                   \
  }                                                        \
  ROOMWRIGHT_INLINE Pack operator sign(Pack x, double y) { \
    return {x.a sign y, x.b sign y};                       \
  }                                                        \
  ROOMWRIGHT_INLINE Pack operator sign(double x, Pack y) { \
    return {x sign y.a, x sign y.b};                       \
  }
ROOMWRIGHT_OPERATOR(+)
ROOMWRIGHT_OPERATOR(-)
ROOMWRIGHT_OPERATOR(*)
ROOMWRIGHT_OPERATOR(/)
#undef ROOMWRIGHT_OPERATOR

ROOMWRIGHT_INLINE Pack operator-(Pack x) {
  return {-x.a, -x.b};
}
ROOMWRIGHT_INLINE Pack larger_of(Pack x, double y) {
  const Part least = x.a - x.a + y;
  return {x.a < least ? least : x.a, x.b < least ? least : x.b};
}
ROOMWRIGHT_INLINE Part size_of(Part x) {
  return (Part)((Bits)x & 0x7fffffffffffffffll);
}
ROOMWRIGHT_INLINE Pack size_of(Pack x) {
  return {size_of(x.a), size_of(x.b)};
}
/// where x is at least 0, then; else otherwise
ROOMWRIGHT_INLINE Pack where_positive(Pack x, Pack then, Pack otherwise) {
  return {x.a >= 0.0 ? then.a : otherwise.a, x.b >= 0.0 ? then.b : otherwise.b};
}

struct Pair {
  Pack re, im;
};

ROOMWRIGHT_INLINE Part root(Part x) {
#if defined(__AVX__) && LANES == 4
  return _mm256_sqrt_pd(x);
#elif defined(__SSE2__) && LANES == 2
  return _mm_sqrt_pd(x);
#else
  for (int i = 0; i < LANES; ++i) x[i] = __builtin_sqrt(x[i]);
  return x;
#endif
}
ROOMWRIGHT_INLINE Pack root(Pack x) {
  return {root(x.a), root(x.b)};
}

/// Straight into registers: a copy by halves would stall the loads that follow it.
typedef double LoosePart __attribute__((vector_size(LANES * 8), aligned(8), may_alias));
ROOMWRIGHT_INLINE Pack load(const double* from) {
  return {*reinterpret_cast<const LoosePart*>(from),
          *reinterpret_cast<const LoosePart*>(from + LANES)};
}

/// Adding it leaves a whole number in the low bits.
constexpr double rounder = 6755399441055744.0;  // 1.5 · 2^52

/// sin πx and cos πx: x less its nearest whole number, then polynomials on ±1/2.
ROOMWRIGHT_INLINE void turn_of(Pack x, Pack& sine, Pack& cosine) {
  const Pack shifted = x + rounder;
  const Bits odd_a = (Bits)shifted.a << 63, odd_b = (Bits)shifted.b << 63;
  const Pack r = x - (shifted - rounder);
  const Pack y = r * r;
  Pack s = y * 0.00044749608130882985962 + -0.0073640082744037401794;
  s = s * y + 0.082144795385144277902;
  s = s * y + -0.59926443401546461055;
  s = s * y + 2.5501640359103826102;
  s = s * y + -5.1677127799880057387;
  s = s * y + 3.1415926535896350633;
  s = s * r;
  Pack c = y * -0.00010045770985769054834 + 0.0019279085484672005522;
  c = c * y + -0.025806546324927655795;
  c = c * y + 0.23533059103024742621;
  c = c * y + -1.3352627664561906581;
  c = c * y + 4.0587121263474232609;
  c = c * y + -4.9348022005440018971;
  c = c * y + 1.0;
  sine = {(Part)((Bits)s.a ^ odd_a), (Part)((Bits)s.b ^ odd_b)};
  cosine = {(Part)((Bits)c.a ^ odd_a), (Part)((Bits)c.b ^ odd_b)};
}

/// e^(2πx) for x at most 0; where it falls below 1e-300 it is as good as 0.
ROOMWRIGHT_INLINE Pack fading(Pack x) {
  x = larger_of(x * 9.0647202836543876194, -1000.0);  // 2π log2 e
  const Pack shifted = x + rounder;
  const Pack r = x - (shifted - rounder);
  Pack e = r * 1.0210456746574953968e-7 + 1.3258468772912365432e-6;
  e = e * r + 0.000015252647923684870745;
  e = e * r + 0.00015403440250300637999;
  e = e * r + 0.0013333558246159529981;
  e = e * r + 0.0096181291820717791485;
  e = e * r + 0.055504108664351523481;
  e = e * r + 0.2402265069571913186;
  e = e * r + 0.69314718055995135846;
  e = e * r + 1.0;
  const long long one = 1023ll << 52;
  const Pack scale = {(Part)(((Bits)shifted.a << 52) + one), (Part)(((Bits)shifted.b << 52) + one)};
  return e * scale;
}

ROOMWRIGHT_INLINE Pair times(Pair a, Pair b) {
  return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}
ROOMWRIGHT_INLINE Pair times(Pair a, double re, double im) {
  return {a.re * re - a.im * im, a.re * im + a.im * re};
}
ROOMWRIGHT_INLINE Pair plus(Pair a, Pair b) {
  return {a.re + b.re, a.im + b.im};
}

struct Field {
  Pair p, v;
  Pack damping;  ///< −Σ A / π: what the common factor left out
  int doubled;   ///< how many times it left out a factor 2
  bool still;    ///< rigid behind: p = 1, v = 0 so far
};

/// y = √y² with its imaginary part at most 0, and 1/|y|².
ROOMWRIGHT_INLINE void across(const KernelStep& step, Pack sine2, Pair& y, Pack& inverse) {
  const Pack re = step.square_re - sine2 * (step.turn * step.turn);
  const double im = step.square_im;
  const Pack size = root(re * re + (im * im + 1e-290));
  const Pack larger = root((size + size_of(re)) * 0.5);
  const Pack both = 1.0 / (larger * size);
  inverse = both * larger;
  const Pack smaller = (both * (im < 0 ? -0.5 * im : 0.5 * im)) * size;
  // With y² in the lower half plane y is in the fourth quadrant; else the sign turns both parts.
  const Pack run = where_positive(re, larger, smaller);
  y.re = im > 0 ? -run : run;
  y.im = -where_positive(re, smaller, larger);
}

ROOMWRIGHT_INLINE void pass_wave(const KernelStep& step, Pack sine2, Field& field) {
  Pair y;
  Pack inverse, sine, cosine;
  across(step, sine2, y, inverse);
  turn_of(y.re, sine, cosine);
  const Pack e = fading(y.im);
  const Pack more = 1.0 + e, less = 1.0 - e;
  const Pair cosh = {more * cosine, less * sine}, sinh = {less * cosine, more * sine};
  field.damping = field.damping + y.im;
  field.doubled += 1;
  const Pack rr = sinh.re * y.re, ii = sinh.im * y.im, ri = sinh.re * y.im, ir = sinh.im * y.re;
  const Pair up = times({rr - ii, ri + ir}, step.inverse_re, step.inverse_im);
  if (field.still) {
    field.p = cosh;
    field.v = up;
    field.still = false;
    return;
  }
  const Pair down =
      times({(rr + ii) * inverse, (ir - ri) * inverse}, step.product_re, step.product_im);
  const Pair p = plus(times(field.p, cosh), times(field.v, down));
  field.v = plus(times(field.v, cosh), times(field.p, up));
  field.p = p;
}

ROOMWRIGHT_INLINE void pass_air(const KernelStep& step, Pack cosine_in, Pack secant, Field& field) {
  Pack sine, cosine;
  turn_of(cosine_in * step.turn, sine, cosine);
  const Pack up = sine * cosine_in;
  if (field.still) {
    field.p = {cosine, sine - sine};
    field.v = {sine - sine, up};
    field.still = false;
    return;
  }
  const Pack across_air = sine * secant;
  const Pair p = {field.p.re * cosine - field.v.im * across_air,
                  field.p.im * cosine + field.v.re * across_air};
  field.v = {field.v.re * cosine - field.p.im * up, field.v.im * cosine + field.p.re * up};
  field.p = p;
}

ROOMWRIGHT_INLINE Pack absorbed(const KernelCall& call, int at) {
  const KernelAngles& angles = call.angles;
  const Pack sine2 = load(angles.sine2 + at), cosine = load(angles.cosine + at);
  const Pack secant = load(angles.secant + at), zero = sine2 - sine2;
  Field field{{zero + 1.0, zero}, {call.open ? cosine : zero, zero}, zero, 0, !call.open};
  for (int i = call.count - 1; i >= 0; --i) {
    const KernelStep& step = call.steps[i];
    if (step.kind == KernelStep::wave)
      pass_wave(step, sine2, field);
    else if (step.kind == KernelStep::air)
      pass_air(step, cosine, secant, field);
    else
      field.p = plus(field.p, times(field.v, step.product_re, step.product_im));
  }
  const Pair radiation = {load(angles.radiation_re + at), load(angles.radiation_im + at)};
  const Pair sum = plus(field.p, times(field.v, radiation));
  const Pack inverse = 1.0 / (sum.re * sum.re + sum.im * sum.im);
  Pack out = (field.v.re * field.p.re + field.v.im * field.p.im) * load(angles.gain + at) * inverse;
  if (call.open) {
    double factor = 4;
    for (int i = 0; i < field.doubled; ++i) factor *= 4;
    out = out - fading(field.damping) * factor * inverse * load(angles.weight + at);
  }
  return out;
}

ROOMWRIGHT_INLINE double sum_over(const KernelCall& call) {
  Pack sum = load(call.angles.sine2);
  sum = sum - sum;
  for (int at = 0; at < call.angles.count; at += 2 * LANES) sum = sum + absorbed(call, at);
  double out = 0;
  for (int i = 0; i < LANES; ++i) out += sum.a[i] + sum.b[i];
  return out;
}

}  // namespace
}  // namespace roomwright::acoustics
