// What the page asks and what it is answered: who may ask what, documents and their steps, stages
// and drafts with progress and cancel, papers, files, journals, stock, devices. No transport: the
// server reads a request's head, asks admit(), reads the body within the limit it was told, and
// asks answer(). The contract is web/api/openapi.json; a test holds each operation against it.
//
// Invariants. (1) Nothing is done for a request that admit() refused. (2) A write is in the store
// before it is answered. (3) Of a device's secret only a hash is kept. (4) The service knows no
// sockets; the only clock is the one it is given.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/store/store.h"
#include "core/base/base.h"

namespace roomwright::app {

enum class Role { office, bench, site };
inline const std::vector<std::string>& role_names() {
  static const std::vector<std::string> names = {"office", "bench", "site"};
  return names;
}

/// The cookie in which a paired device keeps its secret; set by the answer to `pair`.
inline constexpr const char* device_cookie = "roomwright";

/// A request before its body.
struct RequestHead {
  std::string method;         ///< `GET`
  std::string target;         ///< as sent: `/api/jobs/attic/stages/build?version=3`
  std::string content_type;   ///< may be empty
  std::string range;          ///< header Range; may be empty
  std::string last_event_id;  ///< header Last-Event-ID; may be empty
  std::string secret;         ///< value of the cookie; empty: none
  bool loopback = true;       ///< came in over the machine's own loopback address
  std::string peer;           ///< address of the other side, for limits on guessing
};

struct PageAnswer {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;  ///< further ones
  /// Of a body too long to hold (`body` is empty then): its length, and any part of it, one call at
  /// a time from any thread as long as the service lives; empty: it cannot be had.
  std::int64_t length = 0;
  std::function<std::string(std::int64_t from, std::int64_t count)> piece = {};
};

/// How a request is served.
enum class Pace {
  quick,   ///< milliseconds
  long_,   ///< seconds to a minute: apart from quick ones; ends when `gone` says so
  stream,  ///< as long_, its parts written as they come (draft)
  events   ///< Service::listen
};

/// What admit() decided from the head alone.
struct Admission {
  bool ok = false;
  PageAnswer refusal;              ///< where not ok: 400, 401, 403, 404, 405, 415 or 429
  std::string operation;           ///< operationId of the contract
  std::vector<std::string> words;  ///< of the path's places, decoded
  Role role = Role::office;
  std::string who;     ///< name of the device, or `office`
  std::string device;  ///< its id; empty: this machine itself
  Pace pace = Pace::quick;
  std::size_t most_body = 0;  ///< bytes; a longer one is answered 413
};

/// Where the parts of a stream go. write() blocks while the other side is slow and answers false
/// where it is gone.
using PartWriter = std::function<bool(std::string_view)>;

/// One server-sent event. One named `gone` is not told: the listener's device was unpaired, and
/// nothing follows.
struct PageEvent {
  std::int64_t sequence = 0;  ///< 0: has no id (progress)
  std::string name;           ///< `change` or `progress`
  std::string data;           ///< one line of JSON
};

struct ServiceOptions {
  std::string program = "roomwright";
  std::function<std::string()> now;     ///< UTC, `2026-11-27T15:04:05Z`
  std::function<std::string()> secret;  ///< 32 random bytes as 64 hexadecimal digits
  std::string lan_address;              ///< `https://192.168.1.20:8138`; empty: no local network
  std::string kept_folder;              ///< of long solutions; empty: the store's own results
  bool sound_field = true;  ///< false: stages leave it out, for tests of everything else
};

/// Every call may come from any thread. No call throws.
class Service {
 public:
  /// The store outlives the service.
  Service(Store& store, ServiceOptions options);
  ~Service();
  Service(const Service&) = delete;
  Service& operator=(const Service&) = delete;

  Admission admit(const RequestHead& head);
  /// The answer to an admitted request. `gone` turns true when nobody waits for it any more. A
  /// stream's parts go to `part`; its answer then has an empty body.
  PageAnswer answer(const Admission& admission, const RequestHead& head, std::string_view body,
                    const std::atomic<bool>& gone, const PartWriter& part = {});

  /// From now on `heard` is called for each event that the role may hear, on the thread that caused
  /// it; it must not block, nor call the service. What was written after `after` is told at once;
  /// below 0: nothing of what was before. Ends with forget(), after which it is not called.
  /// `device`: as admit() said; once it is unpaired, `gone` is the last that it hears.
  std::uint64_t listen(std::int64_t after, Role role, std::function<void(const PageEvent&)> heard,
                       const std::string& device = {});
  void forget(std::uint64_t listener);
  /// The store's on_change comes here.
  void changed(std::int64_t sequence);

  /// Cancels all work and lets nothing new begin; answers given meanwhile say so (503).
  void close();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Where a stream of events begins: the header Last-Event-ID, else `after` of the query, else -1.
std::int64_t events_after(const RequestHead& head);

/// An operation of the contract, as the service knows it.
struct Operation {
  std::string id, method, path;  ///< `stage`, `GET`, `/api/jobs/{id}/stages/{stage}`
  std::vector<Role> roles;       ///< empty: anyone who can reach the address
  Pace pace = Pace::quick;
  std::size_t most_body = 0;
};
const std::vector<Operation>& operations();

}  // namespace roomwright::app
