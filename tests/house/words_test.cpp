// Words that no file of the project may hold: paths of a machine, unfinished business.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

namespace {

namespace fs = std::filesystem;

TEST(Words, no_file_names_a_machine_or_leaves_business_unfinished) {
  const std::string forbidden[] = {std::string("/wo") + "rk/", std::string("/ro") + "ot/",
                                   std::string("TO") + "DO", std::string("FIX") + "ME",
                                   std::string("XX") + "X"};
  int files = 0;
  for (const char* folder :
       {"src", "tests", "docs", "scripts", "examples", "data", "cmake", "bench"}) {
    const fs::path base = fs::path(ROOMWRIGHT_SOURCE_DIR) / folder;
    if (!fs::exists(base)) continue;
    for (const auto& entry : fs::recursive_directory_iterator(base)) {
      if (!entry.is_regular_file() || entry.path().extension() == ".png" ||
          entry.path().string().find("/corpus/") != std::string::npos)
        continue;
      std::ifstream file(entry.path());
      std::stringstream text;
      text << file.rdbuf();
      ++files;
      for (const std::string& word : forbidden)
        EXPECT_EQ(text.str().find(word), std::string::npos) << entry.path() << " holds " << word;
    }
  }
  EXPECT_GT(files, 100);
}

}  // namespace
