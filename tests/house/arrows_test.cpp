// The arrows between folders are those of arrows.txt: none that is not there, none there that
// nobody uses, no ring, and from outside a folder's face alone.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

namespace {

namespace fs = std::filesystem;
using Names = std::set<std::string>;

const fs::path root = ROOMWRIGHT_SOURCE_DIR;

std::map<std::string, Names> allowed_arrows() {
  std::map<std::string, Names> out;
  std::ifstream file(root / "tests/house/arrows.txt");
  for (std::string line; std::getline(file, line);) {
    const auto colon = line.find(':');
    if (line.empty() || line[0] == '#' || colon == std::string::npos) continue;
    std::istringstream rest(line.substr(colon + 1));
    Names& to = out[line.substr(0, colon)];
    for (std::string name; rest >> name;) to.insert(name);
  }
  return out;
}

/// The folder of an include such as "acoustics/sound/sound.h", by the longest known name.
std::string folder_of(const std::string& path, const std::map<std::string, Names>& known) {
  std::string folder = fs::path(path).parent_path().generic_string();
  while (!folder.empty() && !known.count(folder))
    folder = fs::path(folder).parent_path().generic_string();
  return folder;
}

struct Include {
  std::string from_folder, to_folder, file, target;
};

std::vector<Include> includes(const std::map<std::string, Names>& known) {
  std::vector<Include> out;
  const std::regex pattern("^#include \"([^\"]+)\"");
  for (const auto& entry : fs::recursive_directory_iterator(root / "src")) {
    const auto extension = entry.path().extension();
    if (extension != ".h" && extension != ".cpp") continue;
    const std::string file = fs::relative(entry.path(), root / "src").generic_string();
    std::ifstream text(entry.path());
    std::smatch match;
    for (std::string line; std::getline(text, line);)
      if (std::regex_search(line, match, pattern))
        out.push_back({folder_of(file, known), folder_of(match[1], known), file, match[1]});
  }
  return out;
}

TEST(Arrows, every_include_is_allowed) {
  const auto known = allowed_arrows();
  int seen = 0;
  for (const Include& one : includes(known)) {
    if (one.to_folder.empty()) {
      EXPECT_TRUE(one.target.rfind("figures/", 0) == 0 || one.target.rfind("kept/", 0) == 0)
          << one.file << " includes " << one.target;
      continue;
    }
    ++seen;
    if (one.from_folder == one.to_folder) continue;
    EXPECT_TRUE(known.at(one.from_folder).count(one.to_folder))
        << one.file << " includes " << one.target;
  }
  EXPECT_GT(seen, 100);
}

TEST(Arrows, every_permission_is_used) {
  const auto known = allowed_arrows();
  std::map<std::string, Names> used;
  Names with_files;
  for (const Include& one : includes(known)) {
    used[one.from_folder].insert(one.to_folder);
    with_files.insert(one.from_folder);
  }
  for (const auto& [from, to] : known)
    for (const std::string& name : to)
      EXPECT_TRUE(!with_files.count(from) || used[from].count(name))
          << from << " never uses " << name;
}

TEST(Arrows, run_downward_only) {
  const auto known = allowed_arrows();
  Names done;
  for (std::size_t round = 0; round <= known.size(); ++round)
    for (const auto& [from, to] : known)
      if (std::all_of(to.begin(), to.end(),
                      [&](const std::string& name) { return done.count(name); }))
        done.insert(from);
  EXPECT_EQ(done.size(), known.size())
      << "the folders left over form a ring or name one that is not there";
}

TEST(Arrows, outside_core_only_a_folders_face_is_included) {
  const auto known = allowed_arrows();
  for (const Include& one : includes(known)) {
    if (one.to_folder.empty() || one.from_folder == one.to_folder ||
        one.to_folder.rfind("core/", 0) == 0)
      continue;
    const std::string face =
        one.to_folder + "/" + fs::path(one.to_folder).filename().generic_string() + ".h";
    EXPECT_EQ(one.target, face) << one.file;
  }
}

TEST(Arrows, the_wings_do_not_know_each_other) {
  for (const auto& [from, to] : allowed_arrows())
    for (const std::string& name : to) {
      EXPECT_FALSE(from.rfind("acoustics/", 0) == 0 && name.rfind("shop/", 0) == 0)
          << from << " " << name;
      EXPECT_FALSE(from.rfind("shop/", 0) == 0 && name.rfind("acoustics/", 0) == 0)
          << from << " " << name;
    }
  EXPECT_EQ(allowed_arrows().at("shop/cutting"), Names{"core/base"});
}

}  // namespace
