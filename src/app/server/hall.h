// Private to app/server: what all connections share, and how a coroutine on their thread waits for
// work on another. All of it is of that one thread, but for what says otherwise.
#pragma once

#include <atomic>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <memory>
#include <set>
#include <string>
#include <utility>

#include "app/server/limits.h"
#include "app/server/lines.h"
#include "app/server/server.h"
#include "app/server/trust.h"

namespace roomwright::app {

namespace net = boost::asio;
using Clock = std::chrono::steady_clock;
using Fault = boost::system::error_code;

inline std::chrono::milliseconds for_seconds(double seconds) {
  return std::chrono::milliseconds(std::int64_t(seconds * 1000));
}

class AnySession {
 public:
  virtual ~AnySession() = default;
  /// The program ends: a connection that has asked nothing whole yet is cut.
  virtual void end_soon() = 0;
  /// Nobody runs it any more: what works for it on another thread is not to wait for it.
  virtual void abandon() = 0;
};

/// What all sessions share; of the thread of the connections.
struct Hall {
  Hall(net::io_context& context, Service& the_service, const ServerOptions& options)
      : io(context),
        service(the_service),
        limits(options.limits),
        spool_folder(options.spool_folder),
        quick(limits.quick_threads, std::size_t(limits.quick_waiting)),
        slow(limits.slow_threads, std::size_t(limits.slow_waiting)),
        rates(limits.requests_s, limits.burst) {}
  net::io_context& io;
  Service& service;
  ServerLimits limits;
  std::string spool_folder;
  Workers quick, slow;
  Rates rates;
  TrustPage trust;
  std::set<AnySession*> sessions;
  int large_bodies = 0;
  bool closing = false;
};

/// One coroutine's wait for another thread.
struct Waiting {
  explicit Waiting(net::io_context& io) : timer(io) {}
  net::steady_timer timer;
  bool done = false;
  std::atomic<bool> gone{false};
  std::atomic<bool> woken{false};
};

/// Wakes the coroutine, from any thread. Many wakes before it runs are one.
inline void wake(net::io_context& io, const std::shared_ptr<Waiting>& waiting) {
  if (waiting->woken.exchange(true)) return;
  net::post(io, [waiting] { waiting->timer.cancel(); });
}

/// Until woken, or for so long.
inline net::awaitable<void> pause(std::shared_ptr<Waiting> waiting, double seconds) {
  if (!waiting->woken.exchange(false)) {
    Fault fault;
    waiting->timer.expires_after(for_seconds(seconds));
    co_await waiting->timer.async_wait(net::redirect_error(net::use_awaitable, fault));
    waiting->woken.exchange(false);
  }
}

}  // namespace roomwright::app
