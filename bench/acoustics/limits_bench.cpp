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
