// Kept results as files of a folder: one a key, whole or not used. See base.h.
#include <algorithm>
#include <filesystem>

#include "core/base/base.h"

namespace roomwright {

namespace {

namespace fs = std::filesystem;

constexpr std::string_view kept_mark = "roomwright kept result 1\n";
constexpr std::size_t most_kept_bytes = 64u << 20;  // of one file
constexpr std::size_t most_kept_files = 500;

/// Fowler, Noll and Vo's 64-bit sum, from a start of the caller's.
std::uint64_t sum_of(std::string_view bytes, std::uint64_t start) {
  std::uint64_t sum = start;
  for (const char byte : bytes) sum = (sum ^ static_cast<unsigned char>(byte)) * 0x100000001b3ull;
  return sum;
}
constexpr std::uint64_t first_start = 0xcbf29ce484222325ull, second_start = 0x9e3779b97f4a7c15ull;

std::string hex(std::uint64_t value) {
  std::string out(16, '0');
  for (int i = 15; i >= 0; --i, value >>= 4) out[std::size_t(i)] = "0123456789abcdef"[value & 15];
  return out;
}

std::string path_of(const std::string& folder, const std::string& key) {
  return folder + "/" + hex(sum_of(key, first_start)) + hex(sum_of(key, second_start)) + ".kept";
}

/// mark, length of the key, key, value, sum of all before it.
std::string packed(const std::string& key, const std::string& value) {
  std::string out(kept_mark);
  out += hex(key.size()) + key + value;
  return out + hex(sum_of(out, first_start));
}

std::optional<std::string> unpacked(const std::string& key, const std::string& bytes) {
  const std::size_t head = kept_mark.size() + 16;
  if (bytes.size() < head + key.size() + 16) return std::nullopt;
  const std::string_view whole = std::string_view(bytes).substr(0, bytes.size() - 16);
  if (bytes.substr(bytes.size() - 16) != hex(sum_of(whole, first_start))) return std::nullopt;
  if (whole.substr(0, head) != std::string(kept_mark) + hex(key.size())) return std::nullopt;
  if (whole.substr(head, key.size()) != key) return std::nullopt;
  return std::string(whole.substr(head + key.size()));
}

/// Room for more: the ones not used for longest go.
void make_room(const std::string& folder) {
  std::vector<std::pair<fs::file_time_type, fs::path>> files;
  std::error_code fault;
  for (const auto& entry : fs::directory_iterator(folder, fault)) {
    std::error_code unreadable;
    const auto time = entry.last_write_time(unreadable);
    if (!unreadable && entry.path().extension() == ".kept") files.emplace_back(time, entry.path());
  }
  if (files.size() < most_kept_files) return;
  std::sort(files.begin(), files.end());
  for (std::size_t i = 0; i < files.size() / 4; ++i) fs::remove(files[i].second, fault);
}

}  // namespace

std::optional<std::string> KeptFiles::find(const std::string& key) const {
  if (folder_.empty()) return std::nullopt;
  const std::string path = path_of(folder_, key);
  std::error_code fault;
  if (!fs::exists(path, fault)) return std::nullopt;
  const auto bytes = read_file(path, most_kept_bytes);
  if (!bytes) return std::nullopt;
  auto value = unpacked(key, *bytes);
  if (value) fs::last_write_time(path, fs::file_time_type::clock::now(), fault);
  return value;
}

void KeptFiles::put(const std::string& key, const std::string& value) const {
  if (folder_.empty() || key.size() + value.size() > most_kept_bytes / 2) return;
  std::error_code fault;
  fs::create_directories(folder_, fault);
  if (fault) return;
  make_room(folder_);
  // What cannot be kept is worked out again: no reason to stop.
  (void)write_file(path_of(folder_, key), packed(key, value)).ok();
}

}  // namespace roomwright
