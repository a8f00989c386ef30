# The tracer's inner loop is compiled twice, each time apart from the rest: see tracer_kernel.h.
roomwright_loop(${dir}/tracer_baseline.cpp)
roomwright_loop(${dir}/tracer_avx2.cpp)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
  target_compile_definitions(${target} PRIVATE ROOMWRIGHT_TRACER_AVX2)
  roomwright_loop(${dir}/tracer_avx2.cpp -mavx2)
endif()
