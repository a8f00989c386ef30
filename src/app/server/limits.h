// Private to app/server: what one caller may take, so that the others are served too. All of it is
// touched by the thread of the connections alone; the time is the caller's.
#pragma once

#include <cstddef>
#include <map>
#include <string>

namespace roomwright::app {

/// Requests a second for each address, with a reserve for the burst of a page that opens.
class Rates {
 public:
  Rates(double per_second, double burst) : per_second_(per_second), burst_(burst) {}
  /// False: this one is too many.
  bool take(const std::string& peer, double now_s);
  std::size_t size() const { return known_.size(); }

 private:
  struct Bucket {
    double left = 0, at_s = 0;
  };
  void drop_full(double now_s);
  double per_second_, burst_;
  std::map<std::string, Bucket> known_;
};

/// Open connections, in total and for each address.
class Connections {
 public:
  Connections(int most, int most_for_one) : most_(most), most_for_one_(most_for_one) {}
  bool enter(const std::string& peer);
  void leave(const std::string& peer);
  int open() const { return open_; }

 private:
  int most_, most_for_one_, open_ = 0;
  std::map<std::string, int> by_peer_;
};

/// Is a transfer too slow to wait for? `grace_s` is free of it.
bool too_slow(double seconds, double bytes, double least_bytes_s, double grace_s);

}  // namespace roomwright::app
