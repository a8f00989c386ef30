# One library and one test program for each folder of src/, linked as tests/house/arrows.txt says.
# A folder that needs an outside library says so in a file libraries.cmake of its own, which sees
# the target's name as ${target}.

# A file of an inner loop that is compiled apart from the rest, for one width of the vector unit: only
# with the options given, so that nothing else of the program needs that processor.
function(roomwright_loop file)
  set_source_files_properties(${file} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON COMPILE_OPTIONS
    "-O3;-fno-math-errno;-Wno-psabi;-Wno-pedantic;-Wno-conversion;${ARGN}")
endfunction()

# Text files that become part of the program: KIND_NAME is the text of FOLDER/NAME.ENDING, in the
# namespace given, for files to declare as `extern const char* const`.
function(roomwright_texts target namespace kind folder ending)
  set(texts "")
  foreach(name ${ARGN})
    set(path ${PROJECT_SOURCE_DIR}/${folder}/${name}.${ending})
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${path})
    file(READ ${path} text)
    string(APPEND texts "extern const char* const ${kind}_${name};
const char* const ${kind}_${name} = R\"${kind}(${text})${kind}\";\n")
  endforeach()
  set(made ${PROJECT_BINARY_DIR}/${kind}s/${kind}s.cpp)
  file(CONFIGURE OUTPUT ${made} CONTENT
"// Made from ${folder}/*.${ending}.
namespace ${namespace} {
@texts@}  // namespace ${namespace}
" @ONLY)
  target_sources(${target} PRIVATE ${made})
endfunction()

function(roomwright_folder folder)
  string(REPLACE "/" "_" name ${folder})
  set(target rw_${name})
  set(dir ${PROJECT_SOURCE_DIR}/src/${folder})
  file(GLOB sources CONFIGURE_DEPENDS ${dir}/*.cpp)
  set(tests ${sources})
  list(FILTER sources EXCLUDE REGEX "_test\\.cpp$|/main\\.cpp$")
  list(FILTER tests INCLUDE REGEX "_test\\.cpp$")
  if(NOT sources)
    return()
  endif()
  add_library(${target} STATIC ${sources})
  target_link_libraries(${target} PUBLIC roomwright_flags)
  if(ROOMWRIGHT_UNWATCHED AND folder MATCHES "${ROOMWRIGHT_UNWATCHED}")
    set_target_properties(${target} PROPERTIES ROOMWRIGHT_UNWATCHED ON)
    if(ROOMWRIGHT_READY)
      add_library(${target}_ready STATIC IMPORTED GLOBAL)
      set_target_properties(${target}_ready PROPERTIES IMPORTED_LOCATION ${ROOMWRIGHT_READY}/lib${target}.a)
      target_link_libraries(${target} INTERFACE ${target}_ready)
      set_target_properties(${target} PROPERTIES SOURCES ${PROJECT_SOURCE_DIR}/cmake/ready.cpp)
    endif()
  endif()
  set_target_properties(${target} PROPERTIES UNITY_BUILD ${ROOMWRIGHT_UNITY} UNITY_BUILD_BATCH_SIZE 0)
  foreach(dependency ${ARGN})
    string(REPLACE "/" "_" dependency_name ${dependency})
    if(TARGET rw_${dependency_name})
      target_link_libraries(${target} PUBLIC rw_${dependency_name})
      if(TARGET ${target}_ready)
        target_link_libraries(${target}_ready INTERFACE rw_${dependency_name})
      endif()
    endif()
  endforeach()
  set(test_libraries "")
  set(tests_share_work OFF)  # ON: one run for all tests of the folder, as they share what is slow
  if(EXISTS ${dir}/libraries.cmake)
    include(${dir}/libraries.cmake)
  endif()
  if(ROOMWRIGHT_TESTS AND tests)
    add_executable(test_${name} ${tests})
    set_target_properties(test_${name} PROPERTIES UNITY_BUILD ${ROOMWRIGHT_UNITY} UNITY_BUILD_BATCH_SIZE 0)
    target_link_libraries(test_${name} PRIVATE ${target} ${test_libraries} GTest::gtest_main roomwright_test_flags)
    target_compile_definitions(test_${name} PRIVATE
      ROOMWRIGHT_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
      ROOMWRIGHT_SHARED_DATA="${ROOMWRIGHT_SHARED_DATA}")
    target_include_directories(test_${name} PRIVATE ${PROJECT_SOURCE_DIR}/tests)
    if(tests_share_work)
      add_test(NAME ${folder}:all COMMAND test_${name})
    else()
      gtest_discover_tests(test_${name} TEST_PREFIX ${folder}: DISCOVERY_TIMEOUT 60)
    endif()
  endif()
endfunction()

function(roomwright_folders arrows)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${arrows})
  file(STRINGS ${arrows} lines)
  foreach(line ${lines})
    if(line MATCHES "^([a-z_/]+):(.*)$")
      set(folder ${CMAKE_MATCH_1})
      string(STRIP "${CMAKE_MATCH_2}" dependencies)
      separate_arguments(dependencies)
      roomwright_folder(${folder} ${dependencies})
    endif()
  endforeach()
endfunction()
