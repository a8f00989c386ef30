find_package(Eigen3 3.4 REQUIRED NO_MODULE)
target_link_libraries(${target} PRIVATE Eigen3::Eigen)
target_compile_definitions(${target} PRIVATE EIGEN_MPL2_ONLY)

# The inner loops of the driven room are compiled once for each width of the vector unit, apart from
# the rest: see response_kernel.h.
set(lane_options -O3 -fno-math-errno -Wno-psabi -Wno-pedantic -Wno-conversion)
foreach(width baseline avx2 avx512)
  set_source_files_properties(${dir}/response_${width}.cpp PROPERTIES
    SKIP_UNITY_BUILD_INCLUSION ON COMPILE_OPTIONS "${lane_options}")
endforeach()
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
  target_compile_definitions(${target} PUBLIC ROOMWRIGHT_WIDE_WAVES)
  set_source_files_properties(${dir}/response_avx2.cpp PROPERTIES
    COMPILE_OPTIONS "${lane_options};-mavx2")
  set_source_files_properties(${dir}/response_avx512.cpp PROPERTIES
    COMPILE_OPTIONS "${lane_options};-mavx512f")
endif()
