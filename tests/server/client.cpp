// See client.h.
#include "server/client.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <thread>

namespace roomwright::served {

namespace {

using Clock = std::chrono::steady_clock;

double seconds_left(Clock::time_point until) {
  return std::chrono::duration<double>(until - Clock::now()).count();
}

Clock::time_point in_seconds(double seconds) {
  return Clock::now() + std::chrono::microseconds(std::int64_t(seconds * 1e6));
}

std::string lower(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = char(c - 'A' + 'a');
  return text;
}

}  // namespace

Line::Line(int port, const std::string& host) {
  socket_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in place{};
  place.sin_family = AF_INET;
  place.sin_port = htons(static_cast<std::uint16_t>(port));
  ::inet_pton(AF_INET, host.c_str(), &place.sin_addr);
  if (::connect(socket_, reinterpret_cast<sockaddr*>(&place), sizeof place) != 0) close();
  const int yes = 1;
  if (socket_ >= 0) ::setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
}

Line::~Line() {
  close();
}

void Line::close() {
  if (socket_ >= 0) ::close(socket_);
  socket_ = -1;
}

bool Line::send(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return false;
    bytes.remove_prefix(std::size_t(sent));
  }
  return true;
}

void Line::end_sending() {
  if (socket_ >= 0) ::shutdown(socket_, SHUT_WR);
}

long Line::receive(char* to, std::size_t most, double seconds) {
  pollfd look{socket_, POLLIN, 0};
  if (socket_ < 0) return 0;
  if (::poll(&look, 1, int(seconds * 1000)) <= 0) return -1;
  const ssize_t got = ::recv(socket_, to, most, 0);
  return got < 0 ? 0 : long(got);
}

bool Line::fill(double seconds) {
  if (ended_ || seconds <= 0) return false;
  char bytes[65536];
  const long got = receive(bytes, sizeof bytes, seconds);
  if (got == 0) ended_ = true;
  if (got <= 0) return false;
  waiting_.append(bytes, std::size_t(got));
  return true;
}

std::string Line::until(std::string_view word, double seconds) {
  const auto end = in_seconds(seconds);
  while (waiting_.find(word) == std::string::npos && fill(seconds_left(end))) {
  }
  return waiting_;
}

bool Line::ends(double seconds) {
  const auto end = in_seconds(seconds);
  while (!ended_ && seconds_left(end) > 0) fill(seconds_left(end));
  return ended_;
}

Answer Line::read(double seconds, bool head_only) {
  const auto end = in_seconds(seconds);
  const auto need = [&](std::size_t bytes) {
    while (waiting_.size() < bytes && fill(seconds_left(end))) {
    }
    return waiting_.size() >= bytes;
  };
  Answer out;
  std::size_t head = std::string::npos;
  while ((head = waiting_.find("\r\n\r\n")) == std::string::npos)
    if (!fill(seconds_left(end))) return out;
  std::string_view lines = std::string_view(waiting_).substr(0, head + 2);
  const int status = std::atoi(std::string(lines.substr(9, 3)).c_str());
  for (std::size_t at = lines.find("\r\n") + 2; at < lines.size();) {
    const std::size_t stop = lines.find("\r\n", at), colon = lines.find(':', at);
    if (colon < stop)
      out.headers[lower(std::string(lines.substr(at, colon - at)))] =
          std::string(lines.substr(colon + 2, stop - colon - 2));
    at = stop + 2;
  }
  waiting_.erase(0, head + 4);
  if (head_only || status == 100 || status == 204 || status == 304) {
    out.status = status;
    return out;
  }
  if (out.header("transfer-encoding") == "chunked") {
    for (;;) {
      std::size_t line = 0;
      while ((line = waiting_.find("\r\n")) == std::string::npos)
        if (!fill(seconds_left(end))) return out;
      const std::size_t size = std::strtoul(waiting_.c_str(), nullptr, 16);
      if (!need(line + 2 + size + 2)) return out;
      out.body += waiting_.substr(line + 2, size);
      waiting_.erase(0, line + 2 + size + 2);
      if (size == 0) break;
    }
  } else if (out.headers.contains("content-length")) {
    const std::size_t size = std::strtoul(out.header("content-length").c_str(), nullptr, 10);
    if (!need(size)) return out;
    out.body = waiting_.substr(0, size);
    waiting_.erase(0, size);
  } else {
    while (fill(seconds_left(end))) {
    }
    out.body.swap(waiting_);
  }
  out.status = status;
  return out;
}

std::string request_text(const std::string& host, const std::string& method,
                         const std::string& target, const std::string& body, const Fields& fields) {
  std::string out = method + " " + target + " HTTP/1.1\r\nHost: " + host + "\r\n";
  for (const auto& [name, value] : fields) out += name + ": " + value + "\r\n";
  if (!body.empty() || method == "POST" || method == "PUT")
    out += "Content-Length: " + std::to_string(body.size()) + "\r\n";
  return out + "\r\n" + body;
}

Served::Served(const std::string& store, const std::vector<std::string>& arguments) {
  std::vector<std::string> words = {ROOMWRIGHT_PROGRAM, "serve", "--store", store, "--no-open"};
  bool named = false;
  for (const std::string& one : arguments) named = named || one == "--port";
  if (!named) words.insert(words.end(), {"--port", "0"});
  words.insert(words.end(), arguments.begin(), arguments.end());
  int pipe[2];
  if (::pipe2(pipe, O_CLOEXEC) != 0) return;
  std::vector<char*> plain;
  for (std::string& word : words) plain.push_back(word.data());
  plain.push_back(nullptr);
  process_ = ::fork();
  if (process_ == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // a test that dies leaves no server behind
    ::dup2(pipe[1], 1);
    ::dup2(pipe[1], 2);
    // What was given back does not count as taken: the address sanitizer would hold on to 256 MB.
    ::setenv("ASAN_OPTIONS", "quarantine_size_mb=16", 0);
    ::execv(plain[0], plain.data());
    ::_exit(127);
  }
  ::close(pipe[1]);
  output_ = pipe[0];
  ::fcntl(output_, F_SETFL, O_NONBLOCK);
  const auto end = in_seconds(30);
  while (said().find("Ctrl+C") == std::string::npos && seconds_left(end) > 0 && alive())
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  const auto number_behind = [&](const std::string& word) {
    const std::size_t at = said_.find(word);
    return at == std::string::npos ? 0 : std::atoi(said_.c_str() + at + word.size());
  };
  if (said().find("Ctrl+C") == std::string::npos) return;
  port_ = number_behind("http://127.0.0.1:");
  if (const std::size_t at = said_.find("https://"); at != std::string::npos) {
    const std::size_t colon = said_.find(':', at + 8);
    lan_host_ = said_.substr(at + 8, colon - at - 8);
    lan_port_ = std::atoi(said_.c_str() + colon + 1);
  }
}

Served::~Served() {
  if (alive()) {
    ::kill(process_, SIGKILL);
    wait();
  }
  if (output_ >= 0) ::close(output_);
}

std::string Served::said() {
  char bytes[4096];
  for (ssize_t got; (got = ::read(output_, bytes, sizeof bytes)) > 0;)
    said_.append(bytes, std::size_t(got));
  return said_;
}

bool Served::alive() {
  if (ended_ || process_ <= 0) return false;
  int status = 0;
  if (::waitpid(process_, &status, WNOHANG) != process_) return true;
  ended_ = true;
  code_ = WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
  return false;
}

void Served::signal(int number) {
  if (alive()) ::kill(process_, number);
}

int Served::wait(double seconds) {
  const auto end = in_seconds(seconds);
  while (alive() && seconds_left(end) > 0)
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  return code_;
}

int Served::stop() {
  signal(SIGTERM);
  return wait();
}

double Served::memory_mb() const {
  std::ifstream file("/proc/" + std::to_string(process_) + "/status");
  for (std::string line; std::getline(file, line);)
    if (line.rfind("RssAnon:", 0) == 0) return std::atof(line.c_str() + 8) / 1024;
  return 0;
}

double Served::worked_s() const {
  std::ifstream file("/proc/" + std::to_string(process_) + "/stat");
  std::string text;
  std::getline(file, text);
  text = text.substr(std::min(text.size(), text.rfind(')') + 2));
  double out = 0;
  std::size_t at = 0;
  for (int field = 3; field <= 15 && at != std::string::npos; ++field) {
    if (field == 14 || field == 15) out += std::atof(text.c_str() + at);
    at = text.find(' ', at);
    if (at != std::string::npos) ++at;
  }
  return out / double(::sysconf(_SC_CLK_TCK));
}

Answer Served::ask(const std::string& method, const std::string& target, const std::string& body,
                   Fields fields) {
  Line line(port_);
  if (!body.empty() && fields.empty()) fields = {{"Content-Type", "application/json"}};
  if (!line.send(request_text("127.0.0.1:" + std::to_string(port_), method, target, body, fields)))
    return {};
  return line.read(60, method == "HEAD");
}

std::string fresh_token() {
  static std::atomic<std::int64_t> last{0};
  return "t" + std::to_string(::getpid()) + "-" + std::to_string(++last) + "-" +
         std::to_string(Clock::now().time_since_epoch().count());
}

}  // namespace roomwright::served
