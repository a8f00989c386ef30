// Runs a fuzzer's function without a fuzzer's compiler: over the kept inputs, then over as many as
// asked for, made from them by seeded changes. What breaks it is written beside the program.
// Usage: replay_NAME CORPUS RUNS
#include <algorithm>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "core/base/base.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" void __sanitizer_set_death_callback(void (*callback)()) __attribute__((weak));

namespace {

constexpr std::size_t longest = 65536;
std::string in_hand, broken_path;

void keep_in_hand() {
  if (std::FILE* file = std::fopen(broken_path.c_str(), "wb")) {
    std::fwrite(in_hand.data(), 1, in_hand.size(), file);
    std::fclose(file);
    std::fprintf(stderr, "The input that broke it: %s\n", broken_path.c_str());
  }
}

void run(const std::string& input) {
  in_hand = input;
  // A copy of its own size, so that a read past the end is one.
  const std::vector<std::uint8_t> bytes(input.begin(), input.end());
  LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
}

std::string part_of(roomwright::Random& random, const std::string& text) {
  if (text.empty()) return {};
  const std::size_t from = random.below(std::uint32_t(text.size()));
  return text.substr(from, 1 + random.below(64));
}

void change(roomwright::Random& random, const std::vector<std::string>& kept, std::string& text) {
  static const std::vector<std::string> words = {std::string(1, '\0'),
                                                 "\xff",
                                                 "-1",
                                                 "1e999",
                                                 "4294967296",
                                                 "..",
                                                 "\"",
                                                 "[",
                                                 "{",
                                                 "\r\n",
                                                 "\n",
                                                 "=",
                                                 "%00",
                                                 "0"};
  const std::size_t at = random.below(std::uint32_t(text.size() + 1));
  switch (random.below(6)) {
    case 0:
      if (at < text.size()) text[at] = char(random.below(256));
      break;
    case 1:
      text.insert(at, words[random.below(std::uint32_t(words.size()))]);
      break;
    case 2:
      text.erase(at, 1 + random.below(32));
      break;
    case 3:
      text.insert(at, part_of(random, text));
      break;
    case 4:
      text.insert(at, part_of(random, kept[random.below(std::uint32_t(kept.size()))]));
      break;
    default:
      if (at < text.size()) text[at] = char(text[at] ^ (1 << random.below(8)));
  }
  if (text.size() > longest) text.resize(longest);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "Usage: %s CORPUS RUNS\n", argv[0]);
    return 2;
  }
  broken_path = std::string(argv[0]) + ".broken";
  if (__sanitizer_set_death_callback) __sanitizer_set_death_callback(keep_in_hand);
  std::signal(SIGABRT, [](int) {
    keep_in_hand();
    std::_Exit(1);
  });
  std::vector<std::string> paths, kept;
  for (const auto& entry : std::filesystem::directory_iterator(argv[1]))
    if (entry.is_regular_file()) paths.push_back(entry.path().string());
  std::sort(paths.begin(), paths.end());
  for (const std::string& path : paths) {
    const auto bytes = roomwright::read_file(path);
    if (bytes) kept.push_back(*bytes);
  }
  if (kept.empty()) {
    std::fprintf(stderr, "There is no kept input in %s.\n", argv[1]);
    return 1;
  }
  for (const std::string& input : kept) run(input);
  roomwright::Random random(20261);
  const int runs = std::atoi(argv[2]);
  for (int i = 0; i < runs; ++i) {
    std::string input = kept[random.below(std::uint32_t(kept.size()))];
    for (std::uint32_t k = 1 + random.below(6); k > 0; --k) change(random, kept, input);
    run(input);
  }
  std::printf("%zu kept inputs and %d made from them.\n", kept.size(), runs);
  return 0;
}
