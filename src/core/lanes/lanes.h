// Private to inner loops: LANES doubles at a time. Each file that is compiled for one width of the
// vector unit sets LANES and includes the text of its loop, which includes this. Nothing of the
// standard library stands here, so that no inline function of it is ever compiled for a newer
// processor than the program asks for; everything is of the one file that includes it.
#pragma once

#if defined(__x86_64__)
#include <immintrin.h>
#endif

#define ROOMWRIGHT_INLINE static inline __attribute__((always_inline))

namespace roomwright {
namespace {

typedef double Part __attribute__((vector_size(LANES * 8)));
typedef long long Bits __attribute__((vector_size(LANES * 8)));

/// Straight into registers: a copy by halves would stall the loads that follow it.
typedef double LoosePart __attribute__((vector_size(LANES * 8), aligned(8), may_alias));
ROOMWRIGHT_INLINE Part load(const double* from) {
  return *reinterpret_cast<const LoosePart*>(from);
}
ROOMWRIGHT_INLINE void store(double* to, Part x) {
  *reinterpret_cast<LoosePart*>(to) = x;
}
ROOMWRIGHT_INLINE Part every(double x) {
  return Part{} + x;
}
ROOMWRIGHT_INLINE Part size_of(Part x) {
  return (Part)((Bits)x & 0x7fffffffffffffffll);
}
ROOMWRIGHT_INLINE Part root(Part x) {
#if defined(__AVX512F__) && LANES == 8
  return _mm512_sqrt_pd(x);
#elif defined(__AVX__) && LANES == 4
  return _mm256_sqrt_pd(x);
#elif defined(__SSE2__) && LANES == 2
  return _mm_sqrt_pd(x);
#else
  for (int i = 0; i < LANES; ++i) x[i] = __builtin_sqrt(x[i]);
  return x;
#endif
}

}  // namespace
}  // namespace roomwright
