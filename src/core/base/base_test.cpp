// The small machinery: mistakes as sentences, results, random numbers, files whole or absent.
#include "core/base/base.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <set>

namespace roomwright {
namespace {

TEST(Complaint, reads_as_one_sentence) {
  const Complaint one{"layers[1].thickness_m", "must be above 0", -0.05,
                      "give the board's thickness", 12};
  EXPECT_EQ(
      one.sentence(),
      "line 12: layers[1].thickness_m: must be above 0, got -0.05; give the board's thickness");
  EXPECT_EQ((Complaint{"", "is empty", {}, "", 0}).sentence(), "is empty");
}

TEST(Result, holds_a_value_or_its_mistakes) {
  const Result<int> good = 7;
  EXPECT_TRUE(good.ok());
  EXPECT_EQ(*good, 7);
  const Result<int> bad = Complaint{"x", "is wrong", {}, "", 0};
  EXPECT_FALSE(bad.ok());
  EXPECT_EQ(bad.mistakes().size(), 1u);
}

TEST(Random, gives_the_same_numbers_for_the_same_seed_and_stays_in_range) {
  Random a(42), b(42), c(43);
  bool differs = false;
  for (int i = 0; i < 1000; ++i) {
    const auto x = a.next();
    EXPECT_EQ(x, b.next());
    differs = differs || x != c.next();
  }
  EXPECT_TRUE(differs);
  std::set<std::int64_t> seen;
  for (int i = 0; i < 2000; ++i) {
    const auto value = a.between(-3, 3);
    EXPECT_GE(value, -3);
    EXPECT_LE(value, 3);
    seen.insert(value);
    const double unit = a.unit();
    EXPECT_GE(unit, 0);
    EXPECT_LT(unit, 1);
  }
  EXPECT_EQ(seen.size(), 7u);
}

TEST(ParallelFor, visits_each_index_once_on_any_number_of_threads) {
  for (const int threads : {1, 2, 7}) {
    std::vector<int> visits(1000, 0);
    parallel_for(visits.size(), threads, [&](std::size_t i) { ++visits[i]; });
    for (const int count : visits) EXPECT_EQ(count, 1);
  }
  parallel_for(0, 4, [](std::size_t) { FAIL(); });
}

TEST(Fixed, rounds_halves_away_from_zero_and_has_no_minus_zero) {
  EXPECT_EQ(fixed(0.125, 2), "0.13");
  EXPECT_EQ(fixed(-0.125, 2), "-0.13");
  EXPECT_EQ(fixed(-0.0001, 2), "0.00");
  EXPECT_EQ(fixed(2.5, 0), "3");
  EXPECT_EQ(shortest(0.05), "0.05");
}

TEST(WriteFile, leaves_the_old_file_where_the_new_one_cannot_be_written) {
  const auto folder = std::filesystem::temp_directory_path() / "roomwright_base_test";
  std::filesystem::create_directories(folder);
  const std::string path = (folder / "a.txt").string();
  ASSERT_TRUE(write_file(path, "first").ok());
  ASSERT_TRUE(write_file(path, "second").ok());
  EXPECT_EQ(*read_file(path), "second");
  EXPECT_FALSE(write_file((folder / "missing" / "a.txt").string(), "x").ok());
  EXPECT_FALSE(read_file((folder / "none.txt").string()).ok());
  EXPECT_FALSE(read_file(path, 3).ok()) << "larger than allowed";
  std::size_t files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    files += entry.is_regular_file();
  EXPECT_EQ(files, 1u) << "no temporary file stays behind";
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace roomwright
