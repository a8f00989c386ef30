target_link_libraries(${target} PUBLIC nlohmann_json::nlohmann_json)
