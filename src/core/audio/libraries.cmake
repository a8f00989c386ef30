pkg_check_modules(ROOMWRIGHT_AUDIO REQUIRED IMPORTED_TARGET sndfile soxr)
target_link_libraries(${target} PRIVATE PkgConfig::ROOMWRIGHT_AUDIO)
