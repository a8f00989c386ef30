find_package(SQLiteCpp REQUIRED)
find_package(SQLite3 REQUIRED)
find_package(OpenSSL 3 REQUIRED COMPONENTS Crypto)
target_link_libraries(${target} PRIVATE SQLiteCpp SQLite::SQLite3 OpenSSL::Crypto)
