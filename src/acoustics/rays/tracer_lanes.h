// Private to acoustics/rays: the text of the tracer's inner loop, for LANES rays at a time; see
// tracer_kernel.h. It includes nothing of the standard library, so that no inline function of it is
// ever compiled for a newer processor than the program asks for.
//
// One step takes each of the block's rays to its next surface. What a step adds to a receiver:
// by the sphere, the energy of a leg that left its surface specularly, but for paths that the
// image sources give exactly; by the rain, at each hit, the scattered part straight to the
// receiver's centre. A path's last reflection is one or the other, so nothing counts twice.

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace roomwright::acoustics {
namespace {

#define ROOMWRIGHT_INLINE static inline __attribute__((always_inline))

typedef float Real __attribute__((vector_size(LANES * 4)));
typedef int Whole __attribute__((vector_size(LANES * 4)));
typedef unsigned Word __attribute__((vector_size(LANES * 4)));

constexpr int parts = trace_block / LANES;
constexpr float far_away = 1e30f;

ROOMWRIGHT_INLINE Real all(float x) {
  return Real{} + x;
}
ROOMWRIGHT_INLINE Real root(Real x) {
#if defined(__AVX__) && LANES == 8
  return _mm256_sqrt_ps(x);
#elif defined(__SSE2__) && LANES == 4
  return _mm_sqrt_ps(x);
#else
  for (int i = 0; i < LANES; ++i) x[i] = __builtin_sqrtf(x[i]);
  return x;
#endif
}
/// One bit a lane.
ROOMWRIGHT_INLINE int set_bits(Whole mask) {
#if defined(__AVX__) && LANES == 8
  return _mm256_movemask_ps((__m256)mask);
#elif defined(__SSE2__) && LANES == 4
  return _mm_movemask_ps((__m128)mask);
#else
  int bits = 0;
  for (int i = 0; i < LANES; ++i) bits |= (mask[i] & 1) << i;
  return bits;
#endif
}
ROOMWRIGHT_INLINE Real larger_of(Real a, Real b) {
  return a > b ? a : b;
}

struct Three {
  Real x, y, z;
};
ROOMWRIGHT_INLINE Real dot(Three a, Three b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
ROOMWRIGHT_INLINE Three along(Three a, Three d, Real t) {
  return {a.x + d.x * t, a.y + d.y * t, a.z + d.z * t};
}

struct alignas(64) Block {
  float x[trace_block], y[trace_block], z[trace_block];
  float dx[trace_block], dy[trace_block], dz[trace_block];
  float length[trace_block], weight[trace_block];
  unsigned state[4][trace_block];
  int order[trace_block];    ///< specular reflections; beyond_images and more once scattered
  int counted[trace_block];  ///< -1: this leg is for the spheres
  int alive[trace_block];    ///< -1 or 0
  int steps[trace_block];
  float energy[trace_block][trace_row];
  // of the step
  float run[trace_block], normal_x[trace_block], normal_y[trace_block], normal_z[trace_block];
  float scattering[trace_block];
  int surface[trace_block];
  int spread[trace_block];  ///< -1: scattered at this surface
};

template <class T, class E>
ROOMWRIGHT_INLINE T take(const E* from, int part) {
  return *reinterpret_cast<const T*>(from + part * LANES);
}
template <class T, class E>
ROOMWRIGHT_INLINE void put(E* to, int part, T value) {
  *reinterpret_cast<T*>(to + part * LANES) = value;
}
ROOMWRIGHT_INLINE Three position(const Block& block, int part) {
  return {take<Real>(block.x, part), take<Real>(block.y, part), take<Real>(block.z, part)};
}
ROOMWRIGHT_INLINE Three direction(const Block& block, int part) {
  return {take<Real>(block.dx, part), take<Real>(block.dy, part), take<Real>(block.dz, part)};
}
ROOMWRIGHT_INLINE Three normal(const Block& block, int part) {
  return {take<Real>(block.normal_x, part), take<Real>(block.normal_y, part),
          take<Real>(block.normal_z, part)};
}

struct Hit {
  Real run;
  Whole surface;
};

ROOMWRIGHT_INLINE void keep_nearer(Hit& hit, Whole ok, Real run, int surface) {
  hit.run = ok ? run : hit.run;
  hit.surface = ok ? Whole{} + surface : hit.surface;
}

/// Only surfaces that the ray runs against can be hit; one that rounding has left a hair in front
/// of the ray's start is hit at once.
template <bool convex>
ROOMWRIGHT_INLINE Hit nearest(const TraceScene& scene, Three from, Three way) {
  Hit hit{all(far_away), Whole{} - 1};
  const Real zero = Real{};
  const float slack = scene.tolerance_m;
  {
    const Real run = larger_of(from.z - scene.surfaces[0].offset, zero) / -way.z;
    keep_nearer(hit, (way.z < zero) & (run < hit.run), run, 0);
    const TraceSurface& ceiling = scene.surfaces[1];
    const Real against =
        way.x * ceiling.normal_x + way.y * ceiling.normal_y + way.z * ceiling.normal_z;
    const Real height = from.x * ceiling.normal_x + from.y * ceiling.normal_y +
                        from.z * ceiling.normal_z - ceiling.offset;
    const Real up = larger_of(height, zero) / -against;
    keep_nearer(hit, (against < zero) & (up < hit.run), up, 1);
  }
  for (int i = 2; i < 2 + scene.walls; ++i) {
    const TraceSurface& wall = scene.surfaces[i];
    const Real against = way.x * wall.normal_x + way.y * wall.normal_y;
    const Real height = from.x * wall.normal_x + from.y * wall.normal_y - wall.offset;
    const Real run = larger_of(height, zero) / -against;
    Whole ok = (against < zero) & (run < hit.run);
    if (!convex) {
      const Real u =
          (from.x + way.x * run) * wall.u_x + (from.y + way.y * run) * wall.u_y + wall.u_offset;
      ok &= (height >= -slack) & (u >= -slack) & (u <= wall.u_size + slack);
    }
    keep_nearer(hit, ok, run, i);
  }
  for (int i = 2 + scene.walls; i < 2 + scene.walls + scene.rectangles; ++i) {
    const TraceSurface& face = scene.surfaces[i];
    const Real against = way.x * face.normal_x + way.y * face.normal_y + way.z * face.normal_z;
    const Real height =
        from.x * face.normal_x + from.y * face.normal_y + from.z * face.normal_z - face.offset;
    const Real run = larger_of(height, zero) / -against;
    const Three at = along(from, way, run);
    const Real u = at.x * face.u_x + at.y * face.u_y + at.z * face.u_z + face.u_offset;
    const Real v = at.x * face.v_x + at.y * face.v_y + at.z * face.v_z + face.v_offset;
    keep_nearer(hit,
                (against < zero) & (run < hit.run) & (height >= -slack) & (u >= -slack) &
                    (u <= face.u_size + slack) & (v >= -slack) & (v <= face.v_size + slack),
                run, i);
  }
  return hit;
}

/// Adds energies, times the share, at the distance they have gone.
ROOMWRIGHT_INLINE void add_to_bin(const TraceScene& scene, float* histogram, const float* energy,
                                  float distance, float share) {
  const float place = distance * scene.bins_per_m;
  if (!(place < (float)scene.bins)) return;
  float* bin = histogram + (long long)(int)place * trace_row;
  for (int band = 0; band < trace_row; ++band) bin[band] += energy[band] * share;
}

static void through_spheres(const TraceScene& scene, const Block& block, float* histogram) {
  for (int r = 0; r < scene.receiver_count; ++r) {
    const TraceReceiver& receiver = scene.receivers[r];
    float* own = histogram + (long long)r * scene.bins * trace_row;
    for (int part = 0; part < parts; ++part) {
      const Three from = position(block, part), way = direction(block, part);
      const Three to{receiver.x - from.x, receiver.y - from.y, receiver.z - from.z};
      const Real middle = dot(to, way);
      const Three miss = along(to, way, -middle);
      const Real depth2 = receiver.radius2 - dot(miss, miss);
      const Whole in = take<Whole>(block.counted, part) & (middle > Real{}) &
                       (middle < take<Real>(block.run, part)) & (depth2 > Real{});
      for (int bits = set_bits(in); bits != 0; bits &= bits - 1) {
        const int lane = __builtin_ctz((unsigned)bits), i = part * LANES + lane;
        const float chord = 2 * __builtin_sqrtf(depth2[lane]);
        add_to_bin(scene, own, block.energy[i], block.length[i] + middle[lane],
                   chord * receiver.per_volume);
      }
    }
  }
}

/// Lanes that a surface hides from the receiver: their own side of it is its front, the receiver is
/// behind it, and the way between goes through it.
ROOMWRIGHT_INLINE Whole hidden(const TraceScene& scene, const TraceReceiver& receiver, Three from,
                               Three to) {
  Whole out = Whole{};
  for (int k = 0; k < receiver.blinds; ++k) {
    const TraceBlind& blind = receiver.blind[k];
    const TraceSurface& face = scene.surfaces[blind.surface];
    const Real height =
        from.x * face.normal_x + from.y * face.normal_y + from.z * face.normal_z - face.offset;
    const Real part = height / (height + blind.behind);
    const Three at = along(from, to, part);
    const Real u = at.x * face.u_x + at.y * face.u_y + at.z * face.u_z + face.u_offset;
    Whole cut = (height > scene.tolerance_m) & (u >= Real{}) & (u <= face.u_size);
    if (blind.surface >= 2 + scene.walls) {
      const Real v = at.x * face.v_x + at.y * face.v_y + at.z * face.v_z + face.v_offset;
      cut &= (v >= Real{}) & (v <= face.v_size);
    }
    out |= cut;
  }
  return out;
}

/// Points of scattering that wait until a block of them is full.
struct alignas(64) Shower {
  float x[2 * trace_block], y[2 * trace_block], z[2 * trace_block];
  float normal_x[2 * trace_block], normal_y[2 * trace_block], normal_z[2 * trace_block];
  float length[2 * trace_block];
  float energy[2 * trace_block][trace_row];
  int count;
};

/// One block of points shines on the receivers by Lambert's law.
static void rain_on_receivers(const TraceScene& scene, const Shower& shower, float* histogram) {
  constexpr float inverse_pi = 0.31830988618f;
  for (int part = 0; part < parts; ++part) {
    const Three from{take<Real>(shower.x, part), take<Real>(shower.y, part),
                     take<Real>(shower.z, part)};
    const Three n{take<Real>(shower.normal_x, part), take<Real>(shower.normal_y, part),
                  take<Real>(shower.normal_z, part)};
    for (int r = 0; r < scene.receiver_count; ++r) {
      const TraceReceiver& receiver = scene.receivers[r];
      float* own = histogram + (long long)r * scene.bins * trace_row;
      const Three to{receiver.x - from.x, receiver.y - from.y, receiver.z - from.z};
      const Real square = larger_of(dot(to, to), all(1e-6f)), distance = root(square);
      const Real share = dot(to, n) / distance * inverse_pi / square;
      Whole seen = share > Real{};
      if (receiver.blinds > 0) seen &= ~hidden(scene, receiver, from, to);
      for (int bits = set_bits(seen); bits != 0; bits &= bits - 1) {
        const int lane = __builtin_ctz((unsigned)bits), i = part * LANES + lane;
        add_to_bin(scene, own, shower.energy[i], shower.length[i] + distance[lane], share[lane]);
      }
    }
  }
}

/// What is past the first block moves to the front.
static void move_up(Shower& shower) {
  float* const lists[] = {shower.x,        shower.y,        shower.z,     shower.normal_x,
                          shower.normal_y, shower.normal_z, shower.length};
  shower.count -= trace_block;
  for (float* list : lists)
    for (int i = 0; i < shower.count; ++i) list[i] = list[trace_block + i];
  for (int i = 0; i < shower.count; ++i)
    for (int band = 0; band < trace_row; ++band)
      shower.energy[i][band] = shower.energy[trace_block + i][band];
}

static void gather_rain(const TraceScene& scene, const Block& block, Shower& shower,
                        float* histogram) {
  for (int part = 0; part < parts; ++part)
    for (int bits = set_bits(take<Whole>(block.spread, part)); bits != 0; bits &= bits - 1) {
      const int i = part * LANES + __builtin_ctz((unsigned)bits), k = shower.count++;
      shower.x[k] = block.x[i];
      shower.y[k] = block.y[i];
      shower.z[k] = block.z[i];
      shower.normal_x[k] = block.normal_x[i];
      shower.normal_y[k] = block.normal_y[i];
      shower.normal_z[k] = block.normal_z[i];
      shower.length[k] = block.length[i];
      for (int band = 0; band < trace_row; ++band) shower.energy[k][band] = block.energy[i][band];
    }
  if (shower.count < trace_block) return;
  rain_on_receivers(scene, shower, histogram);
  move_up(shower);
}

/// The last points, in a block that is not full: a place without a normal shines on nothing.
static void last_rain(const TraceScene& scene, Shower& shower, float* histogram) {
  for (int i = shower.count; i < trace_block; ++i)
    shower.normal_x[i] = shower.normal_y[i] = shower.normal_z[i] = 0;
  rain_on_receivers(scene, shower, histogram);
}

/// xoshiro128+ (D. Blackman & S. Vigna, ACM Trans. Math. Software 47, 2021): 0 <= value < 1.
ROOMWRIGHT_INLINE Real random_unit(Word state[4]) {
  const Word sum = state[0] + state[3], shifted = state[1] << 9;
  state[2] ^= state[0];
  state[3] ^= state[1];
  state[1] ^= state[2];
  state[0] ^= state[3];
  state[2] ^= shifted;
  state[3] = (state[3] << 11) | (state[3] >> 21);
  return __builtin_convertvector((Whole)(sum >> 8), Real) * 0x1p-24f;
}

/// A direction by Lambert's cosine law: the normal plus a point of the unit sphere.
ROOMWRIGHT_INLINE Three scattered(Three n, Real first, Real second) {
  const Real z = first * 2.0f - 1.0f, radius = root(larger_of(1.0f - z * z, Real{}));
  const Real half = (second - 0.5f) * 3.14159265359f, square = half * half;
  const Real sine =
      half *
      (1.0f + square * (-1.6666667e-1f +
                        square * (8.3333333e-3f +
                                  square * (-1.9841270e-4f +
                                            square * (2.7557319e-6f + square * -2.5052108e-8f)))));
  const Real cosine =
      1.0f +
      square * (-0.5f + square * (4.1666667e-2f +
                                  square * (-1.3888889e-3f +
                                            square * (2.4801587e-5f + square * -2.7557319e-7f))));
  const Three sum{n.x + radius * (1.0f - 2.0f * sine * sine), n.y + radius * (2.0f * sine * cosine),
                  n.z + z};
  const Real size2 = dot(sum, sum);
  const Whole good = size2 > all(1e-8f);
  const Real scale = 1.0f / root(good ? size2 : all(1.0f));
  return {good ? sum.x * scale : n.x, good ? sum.y * scale : n.y, good ? sum.z * scale : n.z};
}

static void turn_rays(const TraceScene& scene, Block& block) {
  for (int part = 0; part < parts; ++part) {
    Word state[4];
    for (int i = 0; i < 4; ++i) state[i] = take<Word>(block.state[i], part);
    const Real choice = random_unit(state), first = random_unit(state), second = random_unit(state);
    for (int i = 0; i < 4; ++i) put(block.state[i], part, state[i]);
    const Three n = normal(block, part), old = direction(block, part);
    const Whole spread = choice < take<Real>(block.scattering, part);
    Three way = along(old, n, -2.0f * dot(old, n));
    if (set_bits(spread) != 0) {
      const Three other = scattered(n, first, second);
      way = {spread ? other.x : way.x, spread ? other.y : way.y, spread ? other.z : way.z};
    }
    way = along(way, n, larger_of(1e-6f - dot(way, n), Real{}));  // never along the surface
    const Real scale = 1.5f - 0.5f * dot(way, way);
    put(block.dx, part, way.x * scale);
    put(block.dy, part, way.y * scale);
    put(block.dz, part, way.z * scale);
    // block.order already has the surface's own step; scattering takes the path from the images.
    const Whole order = take<Whole>(block.order, part);
    const Whole now = spread ? order | beyond_images : order;
    put(block.order, part, now);
    const Whole alive = take<Whole>(block.alive, part);
    put(block.spread, part, alive & spread);
    Whole counted = alive & (now > scene.image_order);
    if (scene.rain) counted &= ~spread;
    put(block.counted, part, counted);
  }
}

static void start_ray(const TraceCall& call, Block& block, int i, long long& next) {
  block.counted[i] = 0;
  block.order[i] = 0;
  block.steps[i] = 0;
  block.length[i] = 0;
  if (next >= call.last) {
    // What is left stays where it is and adds nothing.
    block.alive[i] = 0;
    block.scattering[i] = 0;
    block.weight[i] = 1;
    for (int band = 0; band < trace_row; ++band) block.energy[i][band] = 0;
    return;
  }
  TraceRay ray;
  call.emit(call.context, next++, ray);
  block.alive[i] = -1;
  block.x[i] = ray.position[0];
  block.y[i] = ray.position[1];
  block.z[i] = ray.position[2];
  block.dx[i] = ray.direction[0];
  block.dy[i] = ray.direction[1];
  block.dz[i] = ray.direction[2];
  block.weight[i] = ray.weight;
  for (int band = 0; band < trace_row; ++band) block.energy[i][band] = ray.energy[band];
  for (int k = 0; k < 4; ++k) block.state[k][i] = ray.state[k];
}

/// The surface where each ray has arrived: what it keeps of the energy, and its normal.
static void meet_surfaces(const TraceScene& scene, Block& block) {
  for (int i = 0; i < trace_block; ++i) {
    if (block.surface[i] < 0 || !block.alive[i]) {
      block.scattering[i] = 0;
      continue;
    }
    const TraceSurface& at = scene.surfaces[block.surface[i]];
    int material = at.material;
    if (at.patches > 0) {
      const float x = block.x[i], y = block.y[i], z = block.z[i];
      const float u = x * at.u_x + y * at.u_y + z * at.u_z + at.u_offset;
      const float v = x * at.v_x + y * at.v_y + z * at.v_z + at.v_offset;
      for (int k = at.first_patch; k < at.first_patch + at.patches; ++k) {
        const TracePatch& patch = scene.patches[k];
        if (u >= patch.from_u && u <= patch.to_u && v >= patch.from_v && v <= patch.to_v) {
          material = patch.material;
          break;
        }
      }
    }
    const TraceMaterial& made = scene.materials[material];
    block.normal_x[i] = at.normal_x;
    block.normal_y[i] = at.normal_y;
    block.normal_z[i] = at.normal_z;
    block.scattering[i] = made.scattering;
    block.weight[i] *= made.most_kept;
    block.order[i] = at.order == 1 ? block.order[i] + 1 : block.order[i] | beyond_images;
    for (int band = 0; band < trace_row; ++band) block.energy[i][band] *= made.kept[band];
  }
}

/// Stops or doubles a ray that carries next to nothing: true where it stops.
static bool stopped_by_chance(Block& block, int i) {
  const unsigned drawn = block.state[0][i] + block.state[3][i];
  const unsigned shifted = block.state[1][i] << 9;
  block.state[2][i] ^= block.state[0][i];
  block.state[3][i] ^= block.state[1][i];
  block.state[1][i] ^= block.state[2][i];
  block.state[0][i] ^= block.state[3][i];
  block.state[2][i] ^= shifted;
  block.state[3][i] = (block.state[3][i] << 11) | (block.state[3][i] >> 21);
  if ((drawn >> 31) != 0) return true;
  block.weight[i] *= 2;
  for (int band = 0; band < trace_row; ++band) block.energy[i][band] *= 2;
  return false;
}

template <bool convex>
static void move_rays(const TraceScene& scene, Block& block, float* histogram) {
  int counted = 0;
  for (int part = 0; part < parts; ++part) {
    const Hit hit = nearest<convex>(scene, position(block, part), direction(block, part));
    put(block.run, part, hit.run);
    put(block.surface, part, hit.surface);
    counted |= set_bits(take<Whole>(block.counted, part));
  }
  if (counted != 0) through_spheres(scene, block, histogram);
  for (int part = 0; part < parts; ++part) {
    const Whole going = take<Whole>(block.alive, part) & (take<Whole>(block.surface, part) >= 0);
    const Real run = going ? take<Real>(block.run, part) : Real{};
    const Three at = along(position(block, part), direction(block, part), run);
    put(block.x, part, at.x);
    put(block.y, part, at.y);
    put(block.z, part, at.z);
    put(block.length, part, take<Real>(block.length, part) + run);
    put(block.steps, part, take<Whole>(block.steps, part) + 1);
  }
}

/// Ends rays and puts others in their places; the rays still under way.
static int renew_rays(const TraceCall& call, Block& block, long long& next) {
  const TraceScene& scene = *call.scene;
  int alive = 0;
  for (int part = 0; part < parts; ++part) {
    const Whole living = take<Whole>(block.alive, part);
    const Whole over = living & ((take<Real>(block.length, part) >= scene.range_m) |
                                 (take<Real>(block.weight, part) < scene.least_weight) |
                                 (take<Whole>(block.surface, part) < 0) |
                                 (take<Whole>(block.steps, part) > scene.most_steps));
    for (int bits = set_bits(over); bits != 0; bits &= bits - 1) {
      const int i = part * LANES + __builtin_ctz((unsigned)bits);
      const bool lost = block.surface[i] < 0 || block.steps[i] > scene.most_steps;
      if (!lost && block.length[i] < scene.range_m && block.weight[i] > 0 &&
          !stopped_by_chance(block, i))
        continue;
      call.count->lost += lost;
      call.count->bounces += block.steps[i];
      call.count->path_m += (double)block.length[i];
      start_ray(call, block, i, next);
    }
    alive |= set_bits(take<Whole>(block.alive, part));
  }
  return alive;
}

template <bool convex>
static void trace_rays(const TraceCall& call) {
  const TraceScene& scene = *call.scene;
  Block block = {};
  Shower shower = {};
  for (int i = 0; i < trace_block; ++i) block.dx[i] = 1;
  long long next = call.first;
  int alive = 0;
  for (int i = 0; i < trace_block; ++i) {
    start_ray(call, block, i, next);
    alive |= block.alive[i];
  }
  while (alive != 0) {
    move_rays<convex>(scene, block, call.histogram);
    meet_surfaces(scene, block);
    turn_rays(scene, block);
    if (scene.rain) gather_rain(scene, block, shower, call.histogram);
    alive = renew_rays(call, block, next);
    ++call.count->steps;
  }
  last_rain(scene, shower, call.histogram);
}

static void trace_either(const TraceCall& call) {
  if (call.scene->convex)
    trace_rays<true>(call);
  else
    trace_rays<false>(call);
}

}  // namespace
}  // namespace roomwright::acoustics
