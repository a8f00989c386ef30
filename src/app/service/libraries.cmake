# The demo's job and shops become part of the program: an installed one has no folder of examples.
set(examples "")
foreach(example control_room shop_metric shop_inch)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS
               ${PROJECT_SOURCE_DIR}/examples/${example}.toml)
  file(READ ${PROJECT_SOURCE_DIR}/examples/${example}.toml text)
  string(APPEND examples "const char* const example_${example} = R\"example(${text})example\";\n")
endforeach()
file(CONFIGURE OUTPUT ${PROJECT_BINARY_DIR}/examples/examples.cpp CONTENT
"// Made from examples/*.toml.
namespace roomwright::app {
extern const char* const example_control_room;
extern const char* const example_shop_metric;
extern const char* const example_shop_inch;
@examples@}  // namespace roomwright::app
" @ONLY)
target_sources(${target} PRIVATE ${PROJECT_BINARY_DIR}/examples/examples.cpp)

# A client's data as one archive.
pkg_check_modules(LIBARCHIVE REQUIRED IMPORTED_TARGET libarchive)
target_link_libraries(${target} PRIVATE PkgConfig::LIBARCHIVE)
