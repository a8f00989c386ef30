// A memory error on purpose: a build that calls itself a sanitizer build must catch it.
#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace {

TEST(Sanitizer, catches_a_read_behind_the_end_of_the_heap) {
  if (std::string(ROOMWRIGHT_SANITIZE).find("address") == std::string::npos)
    GTEST_SKIP() << "only in the sanitizer build";
  EXPECT_DEATH(
      {
        volatile std::size_t behind = 9;
        int* numbers = new int[8];
        numbers[0] = 1;
        volatile int read = numbers[behind];
        (void)read;
        delete[] numbers;
      },
      "heap-buffer-overflow|insufficient space");
}

}  // namespace
