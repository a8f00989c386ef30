find_package(SQLiteCpp REQUIRED)
find_package(SQLite3 REQUIRED)
target_link_libraries(${target} PRIVATE SQLiteCpp SQLite::SQLite3)
