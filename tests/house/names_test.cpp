// One name, one type: two types of one name in one namespace are one to the linker, which keeps
// either's functions for both (C++20, [basic.def.odr]).
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>

namespace {

namespace fs = std::filesystem;

/// Types of a file that stand in a namespace with a name, outside any other brace.
std::set<std::string> types_of(const fs::path& path) {
  static const std::regex named(R"(namespace ([\w:]+) \{.*)"), nameless(R"(namespace \{.*)"),
      closed(R"(\}  // namespace.*)"),
      type(R"((?:struct|class|enum class|enum|union) (\w+)(?: final)?(?: :[^:].*)?\s*\{.*)");
  std::set<std::string> out;
  std::vector<std::string> inside;
  std::ifstream file(path);
  std::smatch found;
  for (std::string line; std::getline(file, line);) {
    if (std::regex_match(line, found, named)) {
      inside.push_back(found[1]);
    } else if (std::regex_match(line, nameless)) {
      inside.push_back("");
    } else if (std::regex_match(line, closed)) {
      if (!inside.empty()) inside.pop_back();
    } else if (std::regex_match(line, found, type) && !inside.empty() &&
               std::find(inside.begin(), inside.end(), "") == inside.end()) {
      std::string name;
      for (const std::string& one : inside) name += one + "::";
      out.insert(name + found[1].str());
    }
  }
  return out;
}

TEST(Names, of_types_stand_once_in_a_namespace) {
  std::map<std::string, fs::path> known;
  const fs::path base = fs::path(ROOMWRIGHT_SOURCE_DIR) / "src";
  for (const auto& entry : fs::recursive_directory_iterator(base)) {
    if (entry.path().extension() != ".h" && entry.path().extension() != ".cpp") continue;
    for (const std::string& name : types_of(entry.path())) {
      const auto [at, fresh] = known.emplace(name, entry.path());
      EXPECT_TRUE(fresh) << name << " is a type of " << at->second << " and of " << entry.path()
                         << ": give one of them another name";
    }
  }
  EXPECT_GT(known.size(), 500u);
}

}  // namespace
