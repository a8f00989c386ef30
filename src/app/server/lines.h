// Private to app/server: what passes between the thread of the connections and those that work.
//
// Invariants. (1) Nothing here grows without bound: work beyond the queue is refused, a writer of
// parts waits, a listener that does not keep up is let go. (2) A wake is never called after
// leave(): what it touches may be gone then.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "app/service/service.h"

namespace roomwright::app {

/// Threads that take work in order.
class Workers {
 public:
  Workers(int threads, std::size_t most_waiting);
  ~Workers() { stop(); }
  Workers(const Workers&) = delete;
  Workers& operator=(const Workers&) = delete;
  /// False: too much waits already, or it has been stopped. The work is then never done.
  bool submit(std::function<void()> work);
  /// Does what waits, then ends; returns when all is done.
  void stop();

 private:
  void take_turns();
  std::size_t most_waiting_;
  std::mutex mutex_;
  std::condition_variable more_;
  std::deque<std::function<void()>> waiting_;
  bool stopped_ = false;
  std::vector<std::thread> threads_;
};

/// Parts of a stream on their way out. One thread writes, the connection's thread takes.
class PartPipe {
 public:
  PartPipe(std::size_t most_bytes, std::function<void()> wake)
      : most_bytes_(most_bytes), wake_(std::move(wake)) {}
  /// Waits while too much is on its way. False: the other side has left.
  bool write(std::string_view part);
  /// What has come since.
  std::string take();
  void leave();

 private:
  std::size_t most_bytes_;
  std::mutex mutex_;
  std::condition_variable room_;
  std::string bytes_;
  bool left_ = false;
  std::function<void()> wake_;
};

/// Events for one listener, as they go over the line.
class EventQueue {
 public:
  EventQueue(std::size_t most_bytes, std::function<void()> wake)
      : most_bytes_(most_bytes), wake_(std::move(wake)) {}
  /// From any thread; never waits. Once it was full nothing more is taken: what is in it goes out,
  /// then the listener is let go, comes again and says what it heard last. So it is after `gone`,
  /// which is not written itself.
  void push(const PageEvent& event);
  /// What has come since; `full` says that it is the last.
  std::string take(bool& full);
  void leave();

 private:
  std::size_t most_bytes_;
  std::mutex mutex_;
  std::string bytes_;
  bool full_ = false, left_ = false;
  std::function<void()> wake_;
};

/// `id: 7\nevent: change\ndata: {…}\n\n` (WHATWG HTML, 9.2, server-sent events). Ends of lines in
/// name or data would begin a new field: they become blanks.
std::string event_text(const PageEvent& event);

}  // namespace roomwright::app
