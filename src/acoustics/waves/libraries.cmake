find_package(Eigen3 3.4 REQUIRED NO_MODULE)
target_link_libraries(${target} PRIVATE Eigen3::Eigen)
target_compile_definitions(${target} PRIVATE EIGEN_MPL2_ONLY)
set(test_libraries Eigen3::Eigen)

# The inner loops of the driven room are compiled once for each width of the vector unit, apart from
# the rest: see response_kernel.h. Those of the sparse solver and of
# dense products likewise: see solid_kernel.h and dense_kernel.h.
foreach(loop response solid dense)
  roomwright_loop(${dir}/${loop}_baseline.cpp)
  roomwright_loop(${dir}/${loop}_avx2.cpp)
  roomwright_loop(${dir}/${loop}_avx512.cpp)
  if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
    target_compile_definitions(${target} PUBLIC ROOMWRIGHT_WIDE_WAVES)
    roomwright_loop(${dir}/${loop}_avx2.cpp -mavx2)
    roomwright_loop(${dir}/${loop}_avx512.cpp -mavx512f)
  endif()
endforeach()
