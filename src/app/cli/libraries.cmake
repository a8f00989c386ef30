target_compile_definitions(${target} PRIVATE ROOMWRIGHT_VERSION="${PROJECT_VERSION}")
