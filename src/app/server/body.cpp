// See body.h.
#include "app/server/body.h"

#include <fcntl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>

namespace roomwright::app {

namespace {

int nameless_file(const std::string& folder) {
  int file = ::open(folder.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
  if (file >= 0) return file;
  // A file system without O_TMPFILE.
  std::string name = folder + "/.arriving-" + std::string(6, 'X');
  file = ::mkostemp(name.data(), O_CLOEXEC);
  if (file >= 0) ::unlink(name.c_str());
  return file;
}

}  // namespace

SpooledBody::~SpooledBody() {
  if (map_) ::munmap(const_cast<char*>(map_), size_);
  if (file_ >= 0) ::close(file_);
}

bool SpooledBody::flush() {
  if (file_ < 0) file_ = nameless_file(folder_);
  if (file_ < 0) return false;
  std::string_view rest = memory_;
  while (!rest.empty()) {
    const ssize_t written = ::write(file_, rest.data(), rest.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    rest.remove_prefix(std::size_t(written));
  }
  memory_.clear();
  return true;
}

bool SpooledBody::finish() {
  if (file_ < 0) return true;
  if (!flush()) return false;
  void* map = ::mmap(nullptr, size_, PROT_READ, MAP_PRIVATE, file_, 0);
  if (map == MAP_FAILED) return false;
  map_ = static_cast<const char*>(map);
  return true;
}

}  // namespace roomwright::app
