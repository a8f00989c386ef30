# The demo's job and shops become part of the program: an installed one has no folder of examples.
roomwright_texts(${target} roomwright::app example examples toml control_room shop_metric shop_inch)

# A client's data as one archive.
pkg_check_modules(LIBARCHIVE REQUIRED IMPORTED_TARGET libarchive)
target_link_libraries(${target} PRIVATE PkgConfig::LIBARCHIVE)
