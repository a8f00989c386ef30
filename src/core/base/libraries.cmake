target_link_libraries(${target} PUBLIC Threads::Threads)
