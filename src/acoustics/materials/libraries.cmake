# The tables of data/ become part of the program.
set(tables "")
foreach(table surfaces porous_boards resistivity_relations)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/data/${table}.csv)
  file(READ ${PROJECT_SOURCE_DIR}/data/${table}.csv text)
  string(APPEND tables "const char* const table_${table} = R\"table(${text})table\";\n")
endforeach()
file(CONFIGURE OUTPUT ${PROJECT_BINARY_DIR}/tables/tables.cpp CONTENT
"// Made from data/*.csv.
namespace roomwright::acoustics {
extern const char* const table_surfaces;
extern const char* const table_porous_boards;
extern const char* const table_resistivity_relations;
@tables@}  // namespace roomwright::acoustics
" @ONLY)
target_sources(${target} PRIVATE ${PROJECT_BINARY_DIR}/tables/tables.cpp)
