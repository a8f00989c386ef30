find_package(PkgConfig REQUIRED)
pkg_check_modules(CBC REQUIRED IMPORTED_TARGET cbc osi-clp cgl)
target_link_libraries(${target} PRIVATE PkgConfig::CBC)
