find_package(Eigen3 3.4 REQUIRED NO_MODULE)
target_link_libraries(${target} PRIVATE Eigen3::Eigen)
