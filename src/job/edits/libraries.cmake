find_package(PkgConfig REQUIRED)
pkg_check_modules(TOMLPLUSPLUS REQUIRED IMPORTED_TARGET tomlplusplus)
target_link_libraries(${target} PRIVATE PkgConfig::TOMLPLUSPLUS)
