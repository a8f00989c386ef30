# The built page inside the program: its files as they are, and what was compressed beside them, put
# in by the assembler. Where the page was not built the list is empty, and the program says so.
set(ROOMWRIGHT_PAGE "${PROJECT_SOURCE_DIR}/build/web/dist" CACHE PATH
    "folder of the built page (scripts/page.sh); empty or not there: a program without its page")

function(roomwright_page target)
  set(assembly "")
  set(declared "")
  set(table "")
  set(files "")
  set(number 0)
  if(ROOMWRIGHT_PAGE)
    file(GLOB_RECURSE files CONFIGURE_DEPENDS ${ROOMWRIGHT_PAGE}/*)
  endif()
  list(FILTER files EXCLUDE REGEX "\\.map$")
  foreach(file ${files})
    string(APPEND assembly
      ".balign 16\n.globl roomwright_page_${number}\nroomwright_page_${number}:\n.incbin \"${file}\"\n"
      ".globl roomwright_page_end_${number}\nroomwright_page_end_${number}:\n.byte 0\n")
    string(APPEND declared "extern const char roomwright_page_${number}[], roomwright_page_end_${number}[];\n")
    file(RELATIVE_PATH name ${ROOMWRIGHT_PAGE} ${file})
    if(name MATCHES "\\.(gz|br)$")
      set(kind ${CMAKE_MATCH_1})
      string(REGEX REPLACE "\\.(gz|br)$" "" base "${name}")
      set(${kind}_${base} ${number})
    endif()
    set(plain_${name} ${number})
    math(EXPR number "${number} + 1")
  endforeach()
  foreach(file ${files})
    file(RELATIVE_PATH name ${ROOMWRIGHT_PAGE} ${file})
    if(name MATCHES "\\.(gz|br)$")
      continue()
    endif()
    string(APPEND table "    {\"${name}\", bytes(roomwright_page_${plain_${name}}, roomwright_page_end_${plain_${name}})")
    foreach(kind gz br)
      if(DEFINED ${kind}_${name})
        string(APPEND table ", bytes(roomwright_page_${${kind}_${name}}, roomwright_page_end_${${kind}_${name}})")
      else()
        string(APPEND table ", {}")
      endif()
    endforeach()
    string(APPEND table "},\n")
  endforeach()
  set(folder ${PROJECT_BINARY_DIR}/page)
  set(mark "@progbits")
  file(CONFIGURE OUTPUT ${folder}/page.S @ONLY CONTENT
"    .section .rodata
@assembly@    .section .note.GNU-stack,\"\",@mark@
")
  file(CONFIGURE OUTPUT ${folder}/page.cpp @ONLY CONTENT
"// Made by cmake/page.cmake.
#include \"app/server/files.h\"

extern \"C\" {
@declared@}

namespace roomwright::app {

namespace {
[[maybe_unused]] std::string_view bytes(const char* from, const char* end) {
  return {from, static_cast<std::size_t>(end - from)};
}
}  // namespace

const PageFiles& built_in_page() {
  static const PageFiles files({
@table@  });
  return files;
}

}  // namespace roomwright::app
")
  target_sources(${target} PRIVATE ${folder}/page.cpp)
  set_source_files_properties(${folder}/page.cpp PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  if(files)
    target_sources(${target} PRIVATE ${folder}/page.S)
    set_source_files_properties(${folder}/page.S PROPERTIES OBJECT_DEPENDS "${files}" LANGUAGE ASM)
  endif()
endfunction()
