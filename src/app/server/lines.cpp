// See lines.h.
#include "app/server/lines.h"

#include <algorithm>

namespace roomwright::app {

Workers::Workers(int threads, std::size_t most_waiting) : most_waiting_(most_waiting) {
  for (int i = 0; i < threads; ++i) threads_.emplace_back([this] { take_turns(); });
}

bool Workers::submit(std::function<void()> work) {
  {
    const std::lock_guard lock(mutex_);
    if (stopped_ || waiting_.size() >= most_waiting_) return false;
    waiting_.push_back(std::move(work));
  }
  more_.notify_one();
  return true;
}

void Workers::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopped_ = true;
  }
  more_.notify_all();
  for (std::thread& thread : threads_)
    if (thread.joinable()) thread.join();
}

void Workers::take_turns() {
  for (;;) {
    std::function<void()> work;
    {
      std::unique_lock lock(mutex_);
      more_.wait(lock, [this] { return stopped_ || !waiting_.empty(); });
      if (waiting_.empty()) return;
      work = std::move(waiting_.front());
      waiting_.pop_front();
    }
    work();
  }
}

bool PartPipe::write(std::string_view part) {
  std::unique_lock lock(mutex_);
  room_.wait(lock, [this] { return left_ || bytes_.size() < most_bytes_; });
  if (left_) return false;
  bytes_ += part;
  wake_();
  return true;
}

std::string PartPipe::take() {
  std::string out;
  {
    const std::lock_guard lock(mutex_);
    out.swap(bytes_);
  }
  room_.notify_all();
  return out;
}

void PartPipe::leave() {
  {
    const std::lock_guard lock(mutex_);
    left_ = true;
  }
  room_.notify_all();
}

void EventQueue::push(const PageEvent& event) {
  const std::string text = event_text(event);
  const std::lock_guard lock(mutex_);
  if (left_ || full_) return;
  if (event.name == "gone") {
    full_ = true;
    return wake_();
  }
  // Progress may be missed: only a change counts against the listener.
  const bool fits = bytes_.size() + text.size() <= most_bytes_;
  if (!fits && event.sequence == 0) return;
  if (fits) bytes_ += text;
  full_ = !fits;
  wake_();
}

std::string EventQueue::take(bool& full) {
  const std::lock_guard lock(mutex_);
  full = full_;
  std::string out;
  out.swap(bytes_);
  return out;
}

void EventQueue::leave() {
  const std::lock_guard lock(mutex_);
  left_ = true;
}

std::string event_text(const PageEvent& event) {
  const auto one_line = [](std::string text) {
    std::replace_if(
        text.begin(), text.end(), [](char c) { return c == '\n' || c == '\r' || c == '\0'; }, ' ');
    return text;
  };
  std::string out;
  if (event.sequence > 0) out += "id: " + std::to_string(event.sequence) + "\n";
  out += "event: " + one_line(event.name) + "\n";
  return out + "data: " + one_line(event.data) + "\n\n";
}

}  // namespace roomwright::app
