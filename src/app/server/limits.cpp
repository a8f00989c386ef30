// See limits.h.
#include "app/server/limits.h"

#include <algorithm>

namespace roomwright::app {

bool Rates::take(const std::string& peer, double now_s) {
  if (known_.size() > 1000) drop_full(now_s);
  const auto [at, added] = known_.try_emplace(peer, Bucket{burst_, now_s});
  Bucket& bucket = at->second;
  bucket.left = std::min(burst_, bucket.left + std::max(0.0, now_s - bucket.at_s) * per_second_);
  bucket.at_s = now_s;
  if (bucket.left < 1) return false;
  bucket.left -= 1;
  return true;
}

/// Whoever has been silent long enough to have all of his reserve again need not be known.
void Rates::drop_full(double now_s) {
  for (auto at = known_.begin(); at != known_.end();)
    at = at->second.left + (now_s - at->second.at_s) * per_second_ >= burst_ ? known_.erase(at)
                                                                             : std::next(at);
}

bool Connections::enter(const std::string& peer) {
  if (open_ >= most_) return false;
  int& of_peer = by_peer_[peer];
  if (of_peer >= most_for_one_) return false;
  ++of_peer;
  ++open_;
  return true;
}

void Connections::leave(const std::string& peer) {
  const auto at = by_peer_.find(peer);
  if (at == by_peer_.end()) return;
  --open_;
  if (--at->second == 0) by_peer_.erase(at);
}

bool too_slow(double seconds, double bytes, double least_bytes_s, double grace_s) {
  return seconds > grace_s && bytes < (seconds - grace_s) * least_bytes_s;
}

}  // namespace roomwright::app
