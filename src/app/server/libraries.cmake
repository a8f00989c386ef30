# Boost's headers only: Beast and Asio. The files that take them are compiled apart, half a minute each.
find_package(Boost 1.74 REQUIRED)
find_package(OpenSSL 3 REQUIRED COMPONENTS Crypto SSL)
target_link_libraries(${target} PRIVATE Boost::headers OpenSSL::SSL OpenSSL::Crypto Threads::Threads)
# Under sanitizers g++ 12 takes Asio's own pair of new and delete for a mismatched one.
set_source_files_properties(${dir}/server.cpp PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON
  COMPILE_OPTIONS "$<$<CXX_COMPILER_ID:GNU>:-Wno-mismatched-new-delete>")
set(test_libraries OpenSSL::Crypto)
include(${PROJECT_SOURCE_DIR}/cmake/page.cmake)
roomwright_page(${target})
if(ROOMWRIGHT_SANITIZE MATCHES "thread") # which does not understand fences
  set_source_files_properties(${dir}/server.cpp PROPERTIES COMPILE_DEFINITIONS BOOST_ASIO_DISABLE_FENCED_BLOCK)
endif()
