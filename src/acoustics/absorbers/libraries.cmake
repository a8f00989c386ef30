# The inner loop is compiled twice, each time apart from the rest: see kernel.h.
set(kernel_options -O3 -Wno-psabi -Wno-pedantic -Wno-conversion)
set_source_files_properties(${dir}/kernel_baseline.cpp PROPERTIES
  SKIP_UNITY_BUILD_INCLUSION ON COMPILE_OPTIONS "${kernel_options}")
set_source_files_properties(${dir}/kernel_avx2.cpp PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
  target_compile_definitions(${target} PRIVATE ROOMWRIGHT_KERNEL_AVX2)
  set_source_files_properties(${dir}/kernel_avx2.cpp PROPERTIES
    COMPILE_OPTIONS "${kernel_options};-mavx2;-mfma;-ffp-contract=fast")
endif()

# The witness in the tests solves the same stacks by finite elements.
if(ROOMWRIGHT_TESTS)
  find_package(Eigen3 3.4 REQUIRED NO_MODULE)
  list(APPEND test_libraries Eigen3::Eigen)
endif()
