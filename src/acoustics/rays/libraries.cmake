# The tracer's inner loop is compiled twice, each time apart from the rest: see tracer_kernel.h.
set(tracer_options -O3 -Wno-psabi -Wno-pedantic -Wno-conversion -fno-math-errno)
set_source_files_properties(${dir}/tracer_baseline.cpp PROPERTIES
  SKIP_UNITY_BUILD_INCLUSION ON COMPILE_OPTIONS "${tracer_options}")
set_source_files_properties(${dir}/tracer_avx2.cpp PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
  target_compile_definitions(${target} PRIVATE ROOMWRIGHT_TRACER_AVX2)
  set_source_files_properties(${dir}/tracer_avx2.cpp PROPERTIES
    COMPILE_OPTIONS "${tracer_options};-mavx2")
endif()
