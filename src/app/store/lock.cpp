// One process writes at a time; see database.h. The lock is the system's own on a file beside the
// store, so that it ends with its process; what the file says is only for people.
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "app/store/database.h"

namespace roomwright::app {

namespace {

std::string host_name() {
  char name[256] = {};
  return ::gethostname(name, sizeof name - 1) == 0 ? name : "this machine";
}

std::string holder_of(int file) {
  char text[600] = {};
  const ssize_t size = ::pread(file, text, sizeof text - 1, 0);
  return size > 0 ? std::string(text, std::size_t(size)) : std::string("another program");
}

}  // namespace

Result<std::unique_ptr<StoreLock>> StoreLock::take(const std::string& path,
                                                   const std::string& opener,
                                                   const std::string& when) {
  const std::string name = path + ".lock";
  const int file = ::open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  if (file < 0)
    return Complaint{path,
                     std::string("cannot be opened for writing: ") + std::strerror(errno) +
                         " (at its lock, " + name + ")",
                     {},
                     "give write permission to the file and its folder, or name another with "
                     "--store",
                     0};
  if (::flock(file, LOCK_EX | LOCK_NB) != 0) {
    const std::string holder = holder_of(file);
    ::close(file);
    return Complaint{path,
                     "is open already: " + holder,
                     {},
                     "use that one, or end it first; history, export, check and backup work beside "
                     "it",
                     0};
  }
  const std::string text = opener + ", process " + std::to_string(::getpid()) + " on " +
                           host_name() + (when.empty() ? "" : ", since " + when);
  const bool told = ::ftruncate(file, 0) == 0 &&
                    ::pwrite(file, text.data(), text.size(), 0) == ssize_t(text.size());
  (void)told;  // a full disk leaves the lock without its words: it holds all the same
  return std::unique_ptr<StoreLock>(new StoreLock(file));
}

StoreLock::~StoreLock() {
  ::close(file_);
}

}  // namespace roomwright::app
