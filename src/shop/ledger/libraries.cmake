set(test_libraries rapidcheck)
