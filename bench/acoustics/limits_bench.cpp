// What the machine's memory gives one core at most: a[i] = b[i] + 3 c[i] over arrays far larger
// than the caches. The limit of the vector unit stands in absorbers_bench.cpp.
#include <benchmark/benchmark.h>

#include <cstdint>
#include <vector>

static void memory_stream(benchmark::State& state) {
  constexpr std::size_t count = 1 << 23;  // 64 MB each
  std::vector<double> a(count, 1), b(count, 2), c(count, 3);
  for (auto _ : state) {
    for (std::size_t i = 0; i < count; ++i) a[i] = b[i] + 3 * c[i];
    benchmark::DoNotOptimize(a.data());
    benchmark::ClobberMemory();
  }
  state.SetBytesProcessed(std::int64_t(state.iterations()) * std::int64_t(3 * 8 * count));
}
BENCHMARK(memory_stream)->Unit(benchmark::kMillisecond);

#ifdef __x86_64__
// Products and sums apart, as all our loops are compiled (so that every processor gives the same
// bytes), eight doubles at a time.
#include <immintrin.h>
__attribute__((target("avx512f"))) static void many_sums(__m512d* sums, int turns) {
  const __m512d by = _mm512_set1_pd(0.999), more = _mm512_set1_pd(0.001);
  __m512d s[16];
  for (int i = 0; i < 16; ++i) s[i] = sums[i];
  for (int turn = 0; turn < turns; ++turn)
    for (int i = 0; i < 16; ++i) s[i] = _mm512_add_pd(_mm512_mul_pd(s[i], by), more);
  for (int i = 0; i < 16; ++i) sums[i] = s[i];
}
static void products_and_sums_apart(benchmark::State& state) {
  if (!__builtin_cpu_supports("avx512f")) return state.SkipWithError("needs AVX-512");
  alignas(64) __m512d sums[16] = {};
  for (auto _ : state) {
    many_sums(sums, 1000);
    benchmark::DoNotOptimize(sums);
  }
  state.counters["flops"] =
      benchmark::Counter(2 * 8 * 16 * 1000, benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(products_and_sums_apart);
#endif
