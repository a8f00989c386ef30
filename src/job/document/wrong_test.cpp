// Wrong files, each with the exact message that a person gets: tests/wrong holds NAME.toml or
// NAME.json, beside it NAME.expected, and NAME.shop where the shop file is the wrong one.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <set>

#include "job/document/document.h"

namespace roomwright::job {
namespace {

namespace fs = std::filesystem;
const fs::path wrong_folder = fs::path(ROOMWRIGHT_SOURCE_DIR) / "tests/wrong";

std::string text_of(const fs::path& path) {
  return read_file(path.string()).value();
}

TEST(WrongFiles, each_gets_its_exact_message) {
  std::set<fs::path> files;
  for (const auto& entry : fs::directory_iterator(wrong_folder))
    if ((entry.path().extension() == ".toml" || entry.path().extension() == ".json") &&
        entry.path().filename() != "shop.toml")
      files.insert(entry.path());
  EXPECT_GE(files.size(), 60u);
  for (const fs::path& file : files) {
    fs::path own_shop = file, expected = file;
    own_shop.replace_extension(".shop");
    expected.replace_extension(".expected");
    const auto job = read_job(
        {text_of(file), text_of(fs::exists(own_shop) ? own_shop : wrong_folder / "shop.toml")});
    ASSERT_FALSE(job.ok()) << file << " is not wrong";
    const std::string got = job.mistakes().text();
    if (std::getenv("ROOMWRIGHT_ACCEPT")) ASSERT_TRUE(write_file(expected.string(), got).ok());
    ASSERT_TRUE(fs::exists(expected)) << file;
    EXPECT_EQ(got, text_of(expected)) << file;
  }
}

}  // namespace
}  // namespace roomwright::job
