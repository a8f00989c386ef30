# The inner loop is compiled twice, each time apart from the rest: see kernel.h.
roomwright_loop(${dir}/kernel_baseline.cpp)
roomwright_loop(${dir}/kernel_avx2.cpp)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
  target_compile_definitions(${target} PRIVATE ROOMWRIGHT_KERNEL_AVX2)
  roomwright_loop(${dir}/kernel_avx2.cpp -mavx2 -mfma -ffp-contract=fast)
endif()

# The witness in the tests solves the same stacks by finite elements.
if(ROOMWRIGHT_TESTS)
  find_package(Eigen3 3.4 REQUIRED NO_MODULE)
  list(APPEND test_libraries Eigen3::Eigen)
endif()
