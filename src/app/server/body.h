// Private to app/server: a request's body as it comes in. A small one stays in memory; a large one
// goes into a file without a name and is looked at through the system's page cache, so that a
// recording of hundreds of megabytes does not have to fit into the program.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace roomwright::app {

class SpooledBody {
 public:
  explicit SpooledBody(std::string folder) : folder_(std::move(folder)) {}
  ~SpooledBody();
  SpooledBody(const SpooledBody&) = delete;
  SpooledBody& operator=(const SpooledBody&) = delete;
  static constexpr std::size_t most_in_memory = 1u << 20;
  void add(std::string_view part) {
    memory_ += part;
    size_ += part.size();
  }
  std::size_t size() const { return size_; }
  /// Enough has gathered for flush() to be called.
  bool heavy() const { return memory_.size() >= most_in_memory; }
  /// Puts what has gathered into the file; false where the disk refuses. Slow: not on the thread of
  /// the connections.
  bool flush();
  /// The whole, after the last add(); false where the system refuses.
  bool finish();
  std::string_view bytes() const {
    return map_ ? std::string_view(map_, size_) : std::string_view(memory_);
  }

 private:
  std::string folder_, memory_;
  std::size_t size_ = 0;
  int file_ = -1;
  const char* map_ = nullptr;
};

}  // namespace roomwright::app
