// Who hears what was written, and how far long work has come.
#include "app/service/parts.h"

namespace roomwright::app {

namespace {

/// Who is paired is the office's affair.
bool may_hear(Role role, const Change& change) {
  return role == Role::office || change.topic != "devices";
}

PageEvent event_of(const Change& change) {
  return {change.sequence, "change",
          json_text({{"sequence", change.sequence},
                     {"topic", change.topic},
                     {"id", change.id},
                     {"version", change.version}},
                    -1)};
}

}  // namespace

std::int64_t events_after(const RequestHead& head) {
  const auto query = query_of(head.target);
  std::string text = head.last_event_id;
  if (text.empty() && query && query->contains("after")) text = query->at("after");
  if (text.empty() || text.size() > 18) return -1;
  std::int64_t out = 0;
  for (const char sign : text) {
    if (sign < '0' || sign > '9') return -1;
    out = out * 10 + (sign - '0');
  }
  return out;
}

Listeners::Listeners(Store& store) : store_(store) {
  if (const auto now = store.sequence()) told_ = *now;
}

std::uint64_t Listeners::add(std::int64_t after, Role role, const std::string& device,
                             std::function<void(const PageEvent&)> heard) {
  const std::lock_guard lock(mutex_);
  for (std::int64_t from = after; from >= 0 && from < told_;) {
    const auto missed = store_.changes(from);
    if (!missed || missed->empty()) break;
    for (const Change& change : *missed)
      if (change.sequence <= told_ && may_hear(role, change)) heard(event_of(change));
    from = missed->back().sequence;
  }
  listeners_[++last_] = {role, device, std::move(heard)};
  return last_;
}

void Listeners::forget(std::uint64_t listener) {
  const std::lock_guard lock(mutex_);
  listeners_.erase(listener);
}

void Listeners::end(const std::string& device) {
  const std::lock_guard lock(mutex_);
  for (auto at = listeners_.begin(); at != listeners_.end();) {
    if (device.empty() || at->second.device != device) {
      ++at;
      continue;
    }
    at->second.heard({0, "gone", {}});
    at = listeners_.erase(at);
  }
}

void Listeners::changed(std::int64_t sequence) {
  const std::lock_guard lock(mutex_);
  while (told_ < sequence) {
    const auto fresh = store_.changes(told_);
    if (!fresh || fresh->empty()) return;
    for (const Change& change : *fresh)
      for (const auto& [number, listener] : listeners_)
        if (may_hear(listener.role, change)) listener.heard(event_of(change));
    told_ = fresh->back().sequence;
  }
}

void Listeners::progress(const StageProgress& progress) {
  const PageEvent event{0, "progress",
                        json_text({{"job", progress.job},
                                   {"version", progress.version},
                                   {"stage", progress.stage},
                                   {"share", progress.share},
                                   {"sentence", progress.sentence}},
                                  -1)};
  const std::lock_guard lock(mutex_);
  for (const auto& [number, listener] : listeners_) listener.heard(event);
}

}  // namespace roomwright::app
