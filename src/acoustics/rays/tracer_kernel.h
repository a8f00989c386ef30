// Private to acoustics/rays: the inner loop of the tracer. Sixteen rays walk side by side, eight
// bands of energy with each. The same text (tracer_lanes.h) is compiled once for any machine and
// once for AVX2; which of them runs is chosen when the program runs. Every ray has its own random
// numbers, each lane does the same sums in the same order and nothing is contracted, so that both
// give the same bytes.
#pragma once

namespace roomwright::acoustics {

inline constexpr int trace_block = 16;
inline constexpr int trace_row = 8;
/// Added to the count of specular reflections by whatever the image sources do not know.
inline constexpr int beyond_images = 1 << 20;

/// A plane piece of boundary, its normal into the air; u and v are affine in the point.
struct TraceSurface {
  float normal_x, normal_y, normal_z, offset;
  float u_x, u_y, u_z, u_offset, u_size;
  float v_x, v_y, v_z, v_offset, v_size;
  int material, first_patch, patches;
  int order;  ///< what a specular reflection adds: 1, or beyond_images
};

struct TracePatch {
  float from_u, from_v, to_u, to_v;
  int material;
};

struct TraceMaterial {
  float kept[trace_row];  ///< 1 − α by band
  float most_kept;        ///< the largest of them
  float scattering;
};

/// A surface with a receiver behind it: it may hide the receiver from some points.
struct TraceBlind {
  int surface;
  float behind;  ///< the receiver's distance from its plane
};

struct TraceReceiver {
  float x, y, z;
  float radius2, per_volume;
  const TraceBlind* blind;
  int blinds;
};

/// Surfaces: floor, ceiling, walls (upright), then rectangles (any way).
struct TraceScene {
  const TraceSurface* surfaces;
  int walls, rectangles;
  bool convex;  ///< the plan is: no wall needs its ends
  const TracePatch* patches;
  const TraceMaterial* materials;
  const TraceReceiver* receivers;
  int receiver_count;
  float range_m, bins_per_m, tolerance_m;
  float least_weight;  ///< below it a ray is stopped or doubled, with even chances
  int bins, image_order, most_steps;
  bool rain;  ///< scattered sound goes to the receivers from where it is scattered
};

struct TraceRay {
  float position[3], direction[3];
  float energy[trace_row];
  float weight;  ///< at least the largest energy
  unsigned state[4];
};

struct TraceCount {
  long long bounces, lost, steps;
  double path_m;
};

struct TraceCall {
  const TraceScene* scene;
  const void* context;
  void (*emit)(const void* context, long long ray, TraceRay& out);
  long long first, last;  ///< rays [first, last)
  float* histogram;       ///< [receiver][bin][trace_row]
  TraceCount* count;
};

using TraceKernel = void (*)(const TraceCall& call);
void trace_baseline(const TraceCall& call);
#ifdef ROOMWRIGHT_TRACER_AVX2
void trace_avx2(const TraceCall& call);
#endif

/// The fastest that this processor can run.
TraceKernel fastest_tracer();

}  // namespace roomwright::acoustics
