// The program as a browser meets it: `roomwright serve` in a process of its own, and a client that
// sends exactly the bytes it is told, right or wrong.
#pragma once

#include <sys/types.h>

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace roomwright::served {

struct Answer {
  int status = 0;                              ///< 0: nothing whole came
  std::map<std::string, std::string> headers;  ///< names in lower case
  std::string body;
  std::string header(const std::string& name) const {
    const auto found = headers.find(name);
    return found == headers.end() ? "" : found->second;
  }
};

/// One connection to a port of this machine.
class Line {
 public:
  explicit Line(int port, const std::string& host = "127.0.0.1");
  virtual ~Line();
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;
  bool open() const { return socket_ >= 0; }
  virtual bool send(std::string_view bytes);
  /// Nothing more will be sent.
  void end_sending();
  void close();
  /// The next answer, of a length that it says, in parts, or up to the end.
  Answer read(double seconds = 20, bool head_only = false);
  /// What comes until it holds `word`, or time is up; it stays to be read on.
  std::string until(std::string_view word, double seconds = 10);
  /// Whether the other side ends within the time; what it says meanwhile is dropped.
  bool ends(double seconds);
  std::string& waiting() { return waiting_; }

 protected:
  /// Bytes, 0 at the end, below 0 when time is up.
  virtual long receive(char* to, std::size_t most, double seconds);
  bool fill(double seconds);
  int socket_ = -1;
  std::string waiting_;
  bool ended_ = false;
};

using Fields = std::vector<std::pair<std::string, std::string>>;

/// A whole request as text; Host, and Content-Length where there is a body, are added.
std::string request_text(const std::string& host, const std::string& method,
                         const std::string& target, const std::string& body = "",
                         const Fields& fields = {});

/// The program, serving a store.
class Served {
 public:
  /// Arguments after `serve`; --no-open is added, and --port 0 where no port is named.
  Served(const std::string& store, const std::vector<std::string>& arguments = {});
  ~Served();
  Served(const Served&) = delete;
  Served& operator=(const Served&) = delete;
  bool up() const { return port_ > 0; }
  int port() const { return port_; }
  int lan_port() const { return lan_port_; }
  const std::string& lan_host() const { return lan_host_; }
  pid_t process() const { return process_; }
  /// What it has printed so far, both streams.
  std::string said();
  bool alive();
  void signal(int number);
  /// Its exit code, or minus the signal that ended it; -1000 where it does not end in time.
  int wait(double seconds = 20);
  int stop();
  /// Megabytes of its own memory, as the system counts them (RssAnon).
  double memory_mb() const;
  /// Processor time that it took so far.
  double worked_s() const;

  Answer ask(const std::string& method, const std::string& target, const std::string& body = "",
             Fields fields = {});

 private:
  pid_t process_ = -1;
  int output_ = -1, port_ = 0, lan_port_ = 0, code_ = -1000;
  bool ended_ = false;
  std::string said_, lan_host_;
};

/// A word that no other has.
std::string fresh_token();

}  // namespace roomwright::served
