// Private to acoustics/absorbers: the text of the inner loop, for LANES angles at a time; see
// kernel.h. Like core/lanes it includes nothing of the standard library.
//
// Pressure p and velocity v (times ρc) are carried from the back to the front as a pair that is
// known but for a common factor, so that a layer needs no division: for a turn A + jB both cosh and
// sinh are taken times 2 e^(−A), which cannot overflow. The factor is kept for sound that passes
// through an open back, and to bring nodes to one factor. The polynomials are near-minimax fits of
// our own (relative errors below 1e-13 on their ranges).

#include "core/lanes/lanes.h"

namespace roomwright::acoustics {
namespace {

using roomwright::load;
using roomwright::store;

ROOMWRIGHT_INLINE Part larger_of(Part x, Part y) {
  return x < y ? y : x;
}

struct Pair {
  Part re, im;
};

/// Adding it leaves a whole number in the low bits.
constexpr double rounder = 6755399441055744.0;  // 1.5 · 2^52

/// c0 + c1 x + …, by pairs and pairs of pairs: the shorter the chain of operations, the more angles
/// the processor has under way at once.
ROOMWRIGHT_INLINE Part cubic(Part x, Part x2, double c0, double c1, double c2, double c3) {
  return (x * c1 + c0) + (x * c3 + c2) * x2;
}

/// sin πx and cos πx: x less its nearest whole number, then polynomials on ±1/2.
ROOMWRIGHT_INLINE void turn_of(Part x, Part& sine, Part& cosine) {
  const Part shifted = x + rounder;
  const Bits odd = (Bits)shifted << 63;
  const Part r = x - (shifted - rounder);
  const Part y = r * r, y2 = y * y, y4 = y2 * y2;
  const Part s =
      cubic(y, y2, 3.1415926535896350633, -5.1677127799880057387, 2.5501640359103826102,
            -0.59926443401546461055) +
      ((y * -0.0073640082744037401794 + 0.082144795385144277902) + y2 * 0.00044749608130882985962) *
          y4;
  const Part c =
      cubic(y, y2, 1.0, -4.9348022005440018971, 4.0587121263474232609, -1.3352627664561906581) +
      cubic(y, y2, 0.23533059103024742621, -0.025806546324927655795, 0.0019279085484672005522,
            -0.00010045770985769054834) *
          y4;
  sine = s * (Part)((Bits)r ^ odd);
  cosine = (Part)((Bits)c ^ odd);
}

/// e^(2πx) for x at most 0; where it falls below 1e-300 it is as good as 0.
ROOMWRIGHT_INLINE Part fading(Part x) {
  x = larger_of(x * 9.0647202836543876194, every(-1000.0));  // 2π log2 e
  const Part shifted = x + rounder;
  const Part r = x - (shifted - rounder);
  const Part r2 = r * r, r4 = r2 * r2;
  const Part low =
      cubic(r, r2, 1.0, 0.69314718055995135846, 0.2402265069571913186, 0.055504108664351523481);
  const Part middle = cubic(r, r2, 0.0096181291820717791485, 0.0013333558246159529981,
                            0.00015403440250300637999, 0.000015252647923684870745);
  const Part high = r * 1.0210456746574953968e-7 + 1.3258468772912365432e-6;
  const Part e = low + (middle + high * r4) * r4;
  return (Part)((Bits)e + ((Bits)shifted << 52));  // times 2 to that power
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
  Part fade;  ///< e^(−2 Σ A): the square of what the common factor holds
};

/// The layers are passed one after another, each at all of up to 64 angles. Kept as plain lists:
/// what holds vectors would be copied by halves.
constexpr int most_points = 64;
struct Fields {
  double p_re[most_points], p_im[most_points], v_re[most_points], v_im[most_points];
  double fade[most_points];
  int count;
  int doubled;  ///< how many times the common factor left out a factor 2
};
ROOMWRIGHT_INLINE Field load(const Fields& from, int at) {
  return {{load(from.p_re + at), load(from.p_im + at)},
          {load(from.v_re + at), load(from.v_im + at)},
          load(from.fade + at)};
}
ROOMWRIGHT_INLINE void store(Fields& to, int at, Pair p, Pair v, Part fade) {
  store(to.p_re + at, p.re);
  store(to.p_im + at, p.im);
  store(to.v_re + at, v.re);
  store(to.v_im + at, v.im);
  store(to.fade + at, fade);
}

struct Points {
  int count;
  const double *sine2, *cosine, *secant;
};

/// y = √y² with its imaginary part at most 0, and 1/|y|².
ROOMWRIGHT_INLINE void across(const KernelStep& step, Part sine2, Pair& y, Part& inverse) {
  const Part re = step.square_re - sine2 * (step.turn * step.turn);
  const double im = step.square_im;
  const Part size = root(re * re + (im * im + 1e-290));
  const Part larger = root(size * 0.5 + size_of(re) * 0.5);
  const Part both = 1.0 / (larger * size);
  inverse = both * larger;
  const Part smaller = (both * (im < 0 ? -0.5 * im : 0.5 * im)) * size;
  // With y² in the lower half plane y is in the fourth quadrant; else the sign turns both parts.
  const Part run = re >= 0.0 ? larger : smaller;
  y.re = (Part)((Bits)run ^ (im > 0 ? -0x7fffffffffffffffll - 1 : 0));
  y.im = -(re >= 0.0 ? smaller : larger);
}

/// What the layers do at each angle, worked out for all of them before any is passed, in two
/// strides: again for short chains that do not wait for one another. Layer i begins at i · count.
constexpr int most_turns = kernel_layers * most_points;
struct Turns {
  double y_re[most_turns], y_im[most_turns], inverse[most_turns];
  double sine[most_turns], cosine[most_turns], fade[most_turns];
};

ROOMWRIGHT_INLINE void turn_in(const KernelStep& given, const Points& points, int from,
                               Turns& out) {
  const KernelStep step = given;
  if (step.kind == KernelStep::air)
    for (int at = 0; at < points.count; at += LANES)
      store(out.y_re + from + at, load(points.cosine + at) * step.turn);
  if (step.kind == KernelStep::wave)
    for (int at = 0; at < points.count; at += LANES) {
      Pair y;
      Part inverse;
      across(step, load(points.sine2 + at), y, inverse);
      store(out.y_re + from + at, y.re);
      store(out.y_im + from + at, y.im);
      store(out.inverse + from + at, inverse);
    }
}

ROOMWRIGHT_INLINE void turns_of(const KernelCall& call, const Points& points, Turns& out) {
  for (int i = call.count - 1; i >= 0; --i) turn_in(call.steps[i], points, i * points.count, out);
  for (int i = call.count - 1; i >= 0; --i) {
    if (call.steps[i].kind == KernelStep::thin) continue;
    const bool wave = call.steps[i].kind == KernelStep::wave;
    for (int at = i * points.count; at < (i + 1) * points.count; at += LANES) {
      Part sine, cosine;
      turn_of(load(out.y_re + at), sine, cosine);
      store(out.sine + at, sine);
      store(out.cosine + at, cosine);
      if (wave) store(out.fade + at, fading(load(out.y_im + at)));
    }
  }
}

/// The first layer before a rigid wall needs a column of its matrix only.
template <bool still>
ROOMWRIGHT_INLINE void pass_wave(const KernelStep& step, const Turns& turns, int from,
                                 Fields& fields, int at) {
  const Pair y = {load(turns.y_re + from), load(turns.y_im + from)};
  const Part sine = load(turns.sine + from), cosine = load(turns.cosine + from);
  const Part fade = load(turns.fade + from), more = 1.0 + fade, less = 1.0 - fade;
  const Pair cosh = {more * cosine, less * sine}, sinh = {less * cosine, more * sine};
  const Part rr = sinh.re * y.re, ii = sinh.im * y.im, ri = sinh.re * y.im, ir = sinh.im * y.re;
  const Pair up = times({rr - ii, ri + ir}, step.inverse_re, step.inverse_im);
  if (still) {
    store(fields, at, cosh, up, fade);
    return;
  }
  const Part inverse = load(turns.inverse + from);
  const Pair down =
      times({(rr + ii) * inverse, (ir - ri) * inverse}, step.product_re, step.product_im);
  const Field field = load(fields, at);
  store(fields, at, plus(times(field.p, cosh), times(field.v, down)),
        plus(times(field.v, cosh), times(field.p, up)), field.fade * fade);
}

template <bool still>
ROOMWRIGHT_INLINE void pass_air(const Points& points, const Turns& turns, int from, Fields& fields,
                                int at) {
  const Part sine = load(turns.sine + from), cosine = load(turns.cosine + from);
  const Part up = sine * load(points.cosine + at), down = sine * load(points.secant + at);
  if (still) {
    store(fields, at, {cosine, Part{}}, {Part{}, up}, every(1));
    return;
  }
  const Field field = load(fields, at);
  store(fields, at,
        {field.p.re * cosine - field.v.im * down, field.p.im * cosine + field.v.re * down},
        {field.v.re * cosine - field.p.im * up, field.v.im * cosine + field.p.re * up}, field.fade);
}

ROOMWRIGHT_INLINE void pass_thin(const KernelStep& step, Fields& fields, int at) {
  const Field field = load(fields, at);
  const Pair p = plus(field.p, times(field.v, step.product_re, step.product_im));
  store(fields.p_re + at, p.re);
  store(fields.p_im + at, p.im);
}

/// Layer i; a thin one before a rigid wall does nothing.
template <bool still>
ROOMWRIGHT_INLINE void pass_layer(const KernelCall& call, int i, const Points& points,
                                  const Turns& turns, Fields& fields) {
  const KernelStep step = call.steps[i];
  const int count = points.count, from = i * count;
  if (step.kind == KernelStep::wave) {
    for (int at = 0; at < count; at += LANES) pass_wave<still>(step, turns, from + at, fields, at);
    fields.doubled += 1;
  } else if (step.kind == KernelStep::air) {
    for (int at = 0; at < count; at += LANES) pass_air<still>(points, turns, from + at, fields, at);
  } else if (!still) {
    for (int at = 0; at < count; at += LANES) pass_thin(step, fields, at);
  }
}

/// Through all layers, from the back to the front.
ROOMWRIGHT_INLINE void pass_all(const KernelCall& call, const Points& points, Fields& fields) {
  Turns turns;
  turns_of(call, points, turns);
  fields.count = points.count;
  fields.doubled = 0;
  int i = call.count - 1;
  while (!call.open && i >= 0 && call.steps[i].kind == KernelStep::thin) --i;
  if (!call.open && i >= 0) {
    pass_layer<true>(call, i--, points, turns, fields);
  } else {
    for (int at = 0; at < points.count; at += LANES) {
      const Part cosine = load(points.cosine + at);
      store(fields, at, {every(1), Part{}}, {call.open ? cosine : Part{}, Part{}}, every(1));
    }
  }
  for (; i >= 0; --i) pass_layer<false>(call, i, points, turns, fields);
}

struct Sum {
  Part absorbed;
  Part least;  ///< of |p + v z_r|²
};

ROOMWRIGHT_INLINE void add_absorbed(const KernelCall& call, int at, const Field& field,
                                    double factor, Sum& out) {
  const KernelAngles& angles = call.angles;
  const Pair radiation = {load(angles.radiation_re + at), load(angles.radiation_im + at)};
  const Pair sum = plus(field.p, times(field.v, radiation));
  const Part size = sum.re * sum.re + sum.im * sum.im;
  const Part inverse = 1.0 / size;
  const Part flow = field.v.re * field.p.re + field.v.im * field.p.im;
  out.absorbed = out.absorbed + flow * load(angles.gain + at) * inverse;
  out.least = size < out.least ? size : out.least;
  if (factor != 0)
    out.absorbed = out.absorbed - field.fade * factor * inverse * load(angles.weight + at);
}

ROOMWRIGHT_INLINE Sum start_sum() {
  return {Part{}, every(1e300)};
}
ROOMWRIGHT_INLINE void add_fields(const KernelCall& call, int from, const Fields& fields,
                                  Sum& out) {
  if (!call.open) {
    for (int at = 0; at < fields.count; at += LANES)
      add_absorbed(call, from + at, load(fields, at), 0, out);
    return;
  }
  double factor = 4;
  for (int i = 0; i < fields.doubled; ++i) factor *= 4;
  for (int at = 0; at < fields.count; at += LANES)
    add_absorbed(call, from + at, load(fields, at), factor, out);
}
ROOMWRIGHT_INLINE double total(Part x) {
  double out = 0;
  for (int i = 0; i < LANES; ++i) out += x[i];
  return out;
}

/// Every angle worked out.
ROOMWRIGHT_INLINE double sum_by_angles(const KernelCall& call) {
  const KernelAngles& angles = call.angles;
  Sum sum = start_sum();
  Fields fields;
  for (int from = 0; from < angles.count; from += most_points) {
    const int left = angles.count - from;
    const Points points = {left < most_points ? left : most_points, angles.sine2 + from,
                           angles.cosine + from, angles.secant + from};
    pass_all(call, points, fields);
    add_fields(call, from, fields, sum);
  }
  return total(sum.absorbed);
}

/// Brings the fields to the common factor of the first node, the most damped.
ROOMWRIGHT_INLINE void level(Fields& fields) {
  const Part common = every(fields.fade[0]);
  for (int at = 0; at < fields.count; at += LANES) {
    const Field field = load(fields, at);
    const Part scale = root(common / field.fade);
    store(fields, at, {field.p.re * scale, field.p.im * scale},
          {field.v.re * scale, field.v.im * scale}, field.fade);
  }
}

ROOMWRIGHT_INLINE double size_of(double re, double im) {
  return (re < 0 ? -re : re) + (im < 0 ? -im : im);
}

ROOMWRIGHT_INLINE double smaller_of(double x, double y) {
  return x < y ? x : y;
}

/// No part of the field at the first node's factor exceeds this on the ellipse, but for what the
/// nodes' reach stands for. There w = y² lies in a disc round its middle m with a radius of a², and
/// |sin πy / y| is at most π, and, as it is greatest on the rim, 1/√(a² − |m|) ≤ a / (a² − |m|);
/// |y sin πy| is at most π |w| and √|w| ≤ a + |m| / 2a.
ROOMWRIGHT_INLINE double growth(const KernelCall& call, const KernelNodes& nodes) {
  constexpr double pi = 3.1415926535897931;
  double p = 1, v = 0;
  for (int i = call.count - 1; i >= 0; --i) {
    const KernelStep& step = call.steps[i];
    const double product = size_of(step.product_re, step.product_im);
    if (step.kind == KernelStep::thin) {
      p += product * v;
      continue;
    }
    const double square = step.turn * step.turn, a = step.turn * nodes.stray;
    const double m = size_of(step.square_re - nodes.middle * square, step.square_im);
    const double rim = a * a - m;
    const double down = product * smaller_of(pi, a / (rim > 1e-300 ? rim : 1e-300));
    const double up =
        size_of(step.inverse_re, step.inverse_im) * smaller_of(pi * (a * a + m), a + m / (a + a));
    const double factor = step.kind == KernelStep::wave ? 2 : 1, before = p;
    p = factor * (p + v * down);
    v = factor * (v + before * up);
  }
  return p > v ? p : v;
}

/// From the nodes to two groups of angles: eight sums at once keep the multiply-adds busy.
ROOMWRIGHT_INLINE void share_out(const Fields& values, int count, const double* share, Field& a,
                                 Field& b) {
  Part apr = {}, api = {}, avr = {}, avi = {}, bpr = {}, bpi = {}, bvr = {}, bvi = {};
  for (int n = 0; n < count; ++n, share += kernel_block) {
    const Part to_a = load(share), to_b = load(share + LANES);
    apr = apr + to_a * values.p_re[n];
    bpr = bpr + to_b * values.p_re[n];
    api = api + to_a * values.p_im[n];
    bpi = bpi + to_b * values.p_im[n];
    avr = avr + to_a * values.v_re[n];
    bvr = bvr + to_b * values.v_re[n];
    avi = avi + to_a * values.v_im[n];
    bvi = bvi + to_b * values.v_im[n];
  }
  a = {{apr, api}, {avr, avi}, Part{}};
  b = {{bpr, bpi}, {bvr, bvi}, Part{}};
}

constexpr double most_shown = 1e-10;

/// A polynomial through the nodes. False where what it leaves out, an error e of p and of v, might
/// show. With an infinite face a passive stack has |v| ≤ s cos θ and |p| ≤ 2 s for
/// s = |p + v sec θ|, so that α errs by at most 16 sec θ e / s and their sum, where the mean secant
/// is at most 2, by 32 e / s. Faces of finite size and models that make energy have no such bound;
/// they are held by the tests.
ROOMWRIGHT_INLINE bool sum_by_nodes(const KernelCall& call, const KernelNodes& nodes, double& out) {
  const KernelAngles& angles = call.angles;
  Fields fields;
  pass_all(call, {nodes.worked_out, nodes.sine2, nodes.cosine, nodes.secant}, fields);
  if (!(fields.fade[0] > 1e-290)) return false;  // its exponent is at its end
  level(fields);
  const double least = 32 / most_shown * nodes.left_out * growth(call, nodes);
  Sum sum = start_sum();
  for (int from = 0; from < angles.count; from += 2 * LANES) {
    const double* share =
        nodes.share + (from / kernel_block) * nodes.count * kernel_block + from % kernel_block;
    Field a, b;
    share_out(fields, nodes.count, share, a, b);
    add_absorbed(call, from, a, 0, sum);
    if (from + LANES < angles.count) add_absorbed(call, from + LANES, b, 0, sum);
  }
  out = total(sum.absorbed);
  for (int i = 0; i < LANES; ++i)
    if (!(sum.least[i] > least * least)) return false;
  return out - out == 0;
}

ROOMWRIGHT_INLINE double sum_over(const KernelCall& call) {
  double turns = 0, out = 0;
  for (int i = 0; i < call.count; ++i) turns += call.steps[i].turn;
  for (int i = 0; i < call.angles.node_sets && !call.open; ++i)
    if (turns <= call.angles.nodes[i].reach) {
      if (sum_by_nodes(call, call.angles.nodes[i], out)) return out;
      break;
    }
  return sum_by_angles(call);
}

}  // namespace
}  // namespace roomwright::acoustics
