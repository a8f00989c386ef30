find_package(PkgConfig REQUIRED)
pkg_check_modules(PANGOCAIRO REQUIRED IMPORTED_TARGET pangocairo fontconfig)
target_link_libraries(${target} PRIVATE PkgConfig::PANGOCAIRO)
