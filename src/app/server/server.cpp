// See server.h: listening, accepting, ending. What a connection does stands in session.h.
#include "app/server/server.h"

#include <openssl/ssl.h>
#include <sys/resource.h>

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ip/v6_only.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <cstdlib>
#include <ctime>

#include "app/server/session_streams.h"

namespace roomwright::app {

namespace {

using Tcp = net::ip::tcp;

Complaint taken(const std::string& where, const Fault& fault) {
  return {where,
          fault == net::error::address_in_use ? "is taken by another program"
                                              : "cannot be listened on: " + fault.message(),
          {},
          "name another port with --port, or leave --port out and a free one is taken",
          0};
}

/// Listens on one port of one address, or tells why not.
Fault listen_at(Tcp::acceptor& door, const net::ip::address& address, int port) {
  Fault fault;
  const Tcp::endpoint place(address, static_cast<unsigned short>(port));
  door.open(place.protocol(), fault);
  if (!fault) door.set_option(net::socket_base::reuse_address(true), fault);
  if (!fault && address.is_v6()) door.set_option(net::ip::v6_only(true), fault);
  if (!fault) door.bind(place, fault);
  if (!fault) door.listen(256, fault);
  Fault ignored;
  if (fault) door.close(ignored);
  return fault;
}

/// The first that is free, of one or of twenty in a row.
Fault listen_near(Tcp::acceptor& door, const net::ip::address& address, int port, bool next) {
  Fault fault;
  for (int tries = 0; tries < (next && port != 0 ? 20 : 1); ++tries) {
    fault = listen_at(door, address, port + tries);
    if (!fault) break;
  }
  return fault;
}

std::shared_ptr<net::ssl::context> tls_of(const ServerCertificate& certificate) {
  auto out = std::make_shared<net::ssl::context>(net::ssl::context::tls_server);
  SSL_CTX_set_min_proto_version(out->native_handle(), TLS1_2_VERSION);
  SSL_CTX_set_options(out->native_handle(), SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION |
                                                SSL_OP_CIPHER_SERVER_PREFERENCE);
  SSL_CTX_set_cipher_list(out->native_handle(), "ECDHE+AESGCM:ECDHE+CHACHA20");
  Fault fault;
  out->use_certificate_chain(net::buffer(certificate.chain_pem), fault);
  if (!fault) out->use_private_key(net::buffer(certificate.key_pem), net::ssl::context::pem, fault);
  return fault ? nullptr : out;
}

/// Each stream of events holds a connection, and the system allows 1024 files at first.
void allow_many_files() {
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
  limit.rlim_cur = std::min<rlim_t>(limit.rlim_max, 4096);
  ::setrlimit(RLIMIT_NOFILE, &limit);
}

std::string url(const char* scheme, const std::string& host, int port) {
  return std::string(scheme) + "://" + host + ":" + std::to_string(port);
}

}  // namespace

struct Server::State {
  explicit State(const ServerOptions& the_options) : options(the_options) {}

  net::io_context io{1};
  ServerOptions options;
  Tcp::acceptor near{io}, near_six{io}, far{io};
  std::shared_ptr<const Site> near_site, far_site;
  std::shared_ptr<net::ssl::context> tls;
  TrustPage trust;
  std::vector<LocalAddress> own;
  Connections connections{0, 0};
  std::shared_ptr<Hall> hall;
  net::signal_set signals{io};
  net::steady_timer drain{io}, refresh{io};
  bool asked_to_stop = false;

  Result<Done> open();
  Result<Done> open_far(int port);
  Result<Done> look_at_network();
  net::awaitable<void> accept(Tcp::acceptor& door, bool loopback);
  void welcome(Tcp::socket socket, bool loopback);
  template <class Stream>
  void begin(std::shared_ptr<Session<Stream>> session, const std::string& peer);
  void end_soon();
  void listen_to_signals();
  void keep_fresh();
};

Result<Done> Server::State::open() {
  allow_many_files();
  const auto here = net::ip::make_address_v4("127.0.0.1");
  if (const Fault fault = listen_near(near, here, options.port, options.next_port))
    return taken(url("http", "127.0.0.1", options.port), fault);
  const int port = near.local_endpoint().port();
  listen_at(near_six, net::ip::address_v6::loopback(), port);  // where there is IPv6
  near_site = std::make_shared<Site>(Site{true, false, {"127.0.0.1", "localhost", "[::1]"}, port});
  connections = Connections(options.limits.connections, options.limits.connections);
  return options.lan ? open_far(options.port == 0 ? 0 : port + 1) : Result<Done>(Done{});
}

Result<Done> Server::State::open_far(int port) {
  if (const Fault fault = listen_near(far, net::ip::address_v4::any(), port, options.next_port))
    return taken(url("https", "0.0.0.0", port), fault);
  return look_at_network();
}

/// The machine's addresses as they are now: names that are answered to, and their certificate.
Result<Done> Server::State::look_at_network() {
  own = local_addresses();
  const std::string machine = machine_name();
  auto certificate = certificate_for(options.lan_folder, {own, machine}, std::time(nullptr));
  if (!certificate) return certificate.mistakes();
  const auto context = tls_of(*certificate);
  if (!context)
    return Complaint{options.lan_folder,
                     "has a certificate that cannot be used",
                     {},
                     "remove the folder: another is made, and each phone has to trust it anew",
                     0};
  tls = context;
  Site site{false, true, {}, far.local_endpoint().port()};
  for (const LocalAddress& one : own) site.names.push_back(one.text);
  if (!machine.empty()) site.names.insert(site.names.end(), {machine + ".local", machine});
  site.names.insert(site.names.end(), {"localhost", "127.0.0.1"});
  if (trust.lan_address.empty()) trust.lan_address = url("https", site.names.front(), site.port);
  trust.certificate = std::move(*certificate);
  far_site = std::make_shared<Site>(std::move(site));
  if (hall) hall->trust = trust;
  return Done{};
}

net::awaitable<void> Server::State::accept(Tcp::acceptor& door, bool loopback) {
  while (door.is_open()) {
    Fault fault;
    Tcp::socket socket = co_await door.async_accept(net::redirect_error(net::use_awaitable, fault));
    if (!door.is_open()) co_return;
    if (fault) {  // no more files, say: others may end meanwhile
      net::steady_timer pause_timer(io, std::chrono::milliseconds(100));
      co_await pause_timer.async_wait(net::redirect_error(net::use_awaitable, fault));
      continue;
    }
    welcome(std::move(socket), loopback);
  }
}

void Server::State::welcome(Tcp::socket socket, bool loopback) {
  Fault fault;
  const auto other = socket.remote_endpoint(fault);
  if (fault) return;
  const std::string peer = other.address().to_string();
  if (!loopback && !is_near(peer, own)) return;
  socket.set_option(Tcp::no_delay(true), fault);
  if (!connections.enter((loopback ? "" : "far ") + peer)) return;
  if (loopback) {
    begin(std::make_shared<Session<beast::tcp_stream>>(hall, near_site, peer, std::move(socket)),
          peer);
  } else {
    begin(std::make_shared<Session<beast::ssl_stream<beast::tcp_stream>>>(
              hall, far_site, peer, beast::tcp_stream(std::move(socket)), *tls),
          "far " + peer);
  }
}

template <class Stream>
void Server::State::begin(std::shared_ptr<Session<Stream>> session, const std::string& peer) {
  net::co_spawn(
      io, [session] { return session->run(); },
      [this, session, peer](std::exception_ptr) { connections.leave(peer); });
}

void Server::State::end_soon() {
  if (hall->closing) return;
  hall->closing = true;
  Fault ignored;
  near.close(ignored);
  near_six.close(ignored);
  far.close(ignored);
  refresh.cancel();
  hall->service.close();
  for (AnySession* session : hall->sessions) session->end_soon();
  drain.expires_after(for_seconds(options.limits.drain_s));
  drain.async_wait([this](const Fault& fault) {
    if (!fault) io.stop();
  });
  // Looks whether all have ended, so that the program need not wait longer than they do.
  net::co_spawn(
      io,
      [this]() -> net::awaitable<void> {
        net::steady_timer look(io);
        while (!hall->sessions.empty()) {
          Fault fault;
          look.expires_after(std::chrono::milliseconds(20));
          co_await look.async_wait(net::redirect_error(net::use_awaitable, fault));
        }
        drain.cancel();
        signals.cancel();
      },
      net::detached);
}

void Server::State::listen_to_signals() {
  signals.async_wait([this](const Fault& fault, int) {
    if (fault) return;
    if (hall->closing) std::_Exit(1);  // asked twice: at once. What was answered is in the store.
    end_soon();
    listen_to_signals();
  });
}

/// Addresses change and certificates end while the program runs for weeks.
void Server::State::keep_fresh() {
  refresh.expires_after(std::chrono::minutes(10));
  refresh.async_wait([this](const Fault& fault) {
    if (fault || hall->closing) return;
    (void)look_at_network();  // else the old one stays until it can be made
    keep_fresh();
  });
}

Server::Server(std::unique_ptr<State> state) : state_(std::move(state)) {}
Server::~Server() = default;

Result<std::unique_ptr<Server>> Server::open(const ServerOptions& options) {
  auto state = std::make_unique<State>(options);
  if (const auto opened = state->open(); !opened) return opened.mistakes();
  return std::unique_ptr<Server>(new Server(std::move(state)));
}

std::string Server::address() const {
  return url("http", "127.0.0.1", state_->near_site->port);
}
std::string Server::lan_address() const {
  return state_->trust.lan_address;
}
std::string Server::fingerprint() const {
  return state_->trust.certificate.fingerprint;
}
bool Server::page_built_in() const {
  return !built_in_page().empty();
}

void Server::run(Service& service, const std::function<void()>& ready) {
  State& state = *state_;
  std::signal(SIGPIPE, SIG_IGN);
  state.hall = std::make_shared<Hall>(state.io, service, state.options);
  state.hall->trust = state.trust;
  state.signals.add(SIGINT);
  state.signals.add(SIGTERM);
  state.signals.add(SIGHUP);
  state.listen_to_signals();
  const auto answer_at = [&](Tcp::acceptor& door, bool loopback) {
    if (door.is_open())
      net::co_spawn(
          state.io, [&state, &door, loopback] { return state.accept(door, loopback); },
          net::detached);
  };
  answer_at(state.near, true);
  answer_at(state.near_six, true);
  answer_at(state.far, false);
  if (state.options.lan) state.keep_fresh();
  if (state.asked_to_stop) net::post(state.io, [&state] { state.end_soon(); });
  if (ready) ready();
  state.io.run();
  Fault ignored;
  state.signals.clear(ignored);  // from here on a signal ends the program as it always does
  for (AnySession* session : state.hall->sessions) session->abandon();
  state.hall->quick.stop();
  state.hall->slow.stop();
}

void Server::stop() {
  net::post(state_->io, [state = state_.get()] {
    if (state->hall)
      state->end_soon();
    else
      state->asked_to_stop = true;
  });
}

}  // namespace roomwright::app
