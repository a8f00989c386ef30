// The program's own server: HTTP/1.1 on this machine's loopback address, and TLS on the local
// network where that is asked for. It knows sockets, names and limits; what is asked and answered
// is the service's affair (app/service), what the page looks like that of web/.
//
// Invariants. (1) Without `lan` nothing listens beyond loopback. (2) Nothing but a head is read of
// a request that is not admitted; no body beyond what was admitted. (3) One thread has all
// connections; it never waits for the store, a disk or a computation. (4) What one peer can take of
// memory, threads, connections and time is bounded.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>

#include "app/service/service.h"
#include "core/base/base.h"

namespace roomwright::app {

inline constexpr int usual_port = 8137;

/// Seconds, bytes and counts.
struct ServerLimits {
  double idle_s = 75;           ///< a connection that asks nothing
  double head_s = 10;           ///< a head, from its first byte on
  double stall_s = 15;          ///< no byte of a body, or none taken of an answer
  double least_bytes_s = 4096;  ///< of a body after its first `stall_s`
  double heartbeat_s = 15;  ///< of a stream of events; also when a device's right is looked at anew
  std::size_t head_bytes = 16384;
  std::size_t waiting_bytes = 256u << 10;  ///< of events or parts that a listener has not taken
  int connections = 512, connections_of_peer = 64;  ///< of a peer: on the local network
  double requests_s = 40, burst = 240;              ///< of a peer on the local network
  int quick_threads = 4, slow_threads = 6;
  int quick_waiting = 512, slow_waiting = 48;
  int large_bodies = 3;  ///< above 1 MB, at one time; others wait
  double drain_s = 8;    ///< after close
};

struct ServerOptions {
  int port = usual_port;  ///< 0: any that is free
  bool next_port = true;  ///< try the ones after it where it is taken
  bool lan = false;
  std::string lan_folder;    ///< of the certificates
  std::string spool_folder;  ///< where large bodies lie while they come in
  ServerLimits limits = {};
};

class Server {
 public:
  /// Binds and listens; nothing is answered before run(). Errors: the port is taken; no certificate
  /// can be made.
  static Result<std::unique_ptr<Server>> open(const ServerOptions& options);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  std::string address() const;      ///< `http://127.0.0.1:8137`
  std::string lan_address() const;  ///< `https://192.168.1.20:8138`; empty: off
  std::string fingerprint() const;  ///< of the authority; empty: off
  bool page_built_in() const;

  /// Serves until SIGINT, SIGTERM, SIGHUP or stop(); then closes the service, lets what is under
  /// way end, and returns. The service outlives the call; the server outlives the service. `ready`
  /// is called when a signal would already end it in order.
  void run(Service& service, const std::function<void()>& ready = {});
  /// From any thread.
  void stop();

 private:
  struct State;
  explicit Server(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace roomwright::app
