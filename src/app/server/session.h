// Private to app/server: one connection, from its first byte to its last, as a coroutine on the
// thread of the connections. The same text serves plain and TLS streams.
//
// Invariants. (1) All of it runs on one thread; only work given to a pool does not. (2) A coroutine
// waits for its work on a pool before it goes on or ends, so the work may refer to its locals.
// (3) Each wait for the other side has an end.
#pragma once

#include <poll.h>

#include <boost/asio/ssl.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/ssl.hpp>
#include <memory>
#include <utility>

#include "app/server/answers.h"
#include "app/server/body.h"
#include "app/server/files.h"
#include "app/server/hall.h"
#include "app/server/head.h"
#include "app/server/parse.h"

namespace roomwright::app {

namespace beast = boost::beast;

template <class Stream>
class Session : public AnySession, public std::enable_shared_from_this<Session<Stream>> {
 public:
  static constexpr bool secure = !std::is_same_v<Stream, beast::tcp_stream>;

  template <class... Arguments>
  Session(std::shared_ptr<Hall> hall, std::shared_ptr<const Site> site, std::string peer,
          Arguments&&... stream)
      : hall_(std::move(hall)),
        site_(std::move(site)),
        peer_(std::move(peer)),
        stream_(std::forward<Arguments>(stream)...) {
    hall_->sessions.insert(this);
  }
  ~Session() override { hall_->sessions.erase(this); }

  void end_soon() override {
    if (reading_) lowest().cancel();
  }

  void abandon() override {
    if (const auto waiting = at_work_.lock()) waiting->gone = true;
    if (const auto pipe = pipe_.lock()) pipe->leave();
  }

  net::awaitable<void> run() {
    const bool met = co_await greeted();
    if (met) {
      for (;;) {
        const bool more = co_await one_request();
        if (!more) break;
      }
      co_await say_goodbye();
    }
  }

 private:
  beast::tcp_stream& lowest() { return beast::get_lowest_layer(stream_); }
  void allow(double seconds) { lowest().expires_after(for_seconds(seconds)); }

  /// TLS is agreed on; whoever speaks plainly to it is shown the way.
  net::awaitable<bool> greeted() {
    if constexpr (secure) {
      Fault fault;
      allow(hall_->limits.head_s);
      const std::size_t size = co_await lowest().async_read_some(
          buffer_.prepare(4096), net::redirect_error(net::use_awaitable, fault));
      if (fault) co_return false;
      buffer_.commit(size);
      if (*static_cast<const unsigned char*>(buffer_.data().data()) != 0x16) {
        const std::string text =
            "HTTP/1.1 307 Temporary Redirect\r\nLocation: " + hall_->trust.lan_address +
            "/trust\r\nContent-Length: 0\r\nConnection: close\r\n\r\n";
        co_await net::async_write(lowest(), net::buffer(text),
                                  net::redirect_error(net::use_awaitable, fault));
        lowest().socket().shutdown(net::ip::tcp::socket::shutdown_send, fault);
        co_return false;
      }
      const std::size_t used =
          co_await stream_.async_handshake(net::ssl::stream_base::server, buffer_.data(),
                                           net::redirect_error(net::use_awaitable, fault));
      buffer_.consume(used);
      co_return !fault;
    } else {
      co_return true;
    }
  }

  net::awaitable<void> say_goodbye() {
    Fault fault;
    if constexpr (secure) {
      allow(2);
      co_await stream_.async_shutdown(net::redirect_error(net::use_awaitable, fault));
    }
    lowest().socket().shutdown(net::ip::tcp::socket::shutdown_send, fault);
    // What is on its way is read and dropped, so that the last answer is not lost to a reset.
    if (!drop_rest_) co_return;
    const Clock::time_point until = Clock::now() + std::chrono::seconds(2);
    char dropped[16384];
    for (std::size_t total = 0; total < (1u << 20) && Clock::now() < until && !fault;) {
      allow(1);
      total += co_await lowest().async_read_some(net::buffer(dropped),
                                                 net::redirect_error(net::use_awaitable, fault));
    }
  }

  // ---- reading ----------------------------------------------------------------------------------

  /// False: the connection is to end.
  net::awaitable<bool> one_request() {
    if (buffer_.size() == 0) {
      if (hall_->closing) co_return false;
      allow(hall_->limits.idle_s);
      const bool asked = co_await more();
      if (!asked) co_return false;
    }
    HeadParser parser;
    prepare(parser);
    const int status = co_await read_head(parser);
    if (status != 0) {
      co_await answer_broken(status);
      co_return false;
    }
    keep_ = parser.get().keep_alive() && !hall_->closing;
    chunked_ = parser.get().version() == 11;
    head_only_ = false;
    const HttpHead head = head_of(parser);
    co_await answer_request(head, parser);
    co_return keep_ && !hall_->closing;
  }

  /// Some more bytes; false: the end, or the time is up.
  net::awaitable<bool> more() {
    Fault fault;
    reading_ = true;
    const std::size_t size = co_await stream_.async_read_some(
        buffer_.prepare(8192), net::redirect_error(net::use_awaitable, fault));
    reading_ = false;
    buffer_.commit(fault ? 0 : size);
    co_return !fault && size > 0;
  }

  /// 0: the head is whole; else what to answer.
  net::awaitable<int> read_head(HeadParser& parser) {
    allow(hall_->limits.head_s);  // once, for all of it
    std::size_t taken = 0;
    for (;;) {
      const HeadStep step = read_on(parser, buffer_, taken, hall_->limits.head_bytes);
      if (step == HeadStep::whole) co_return 0;
      if (step == HeadStep::too_long) co_return 431;
      if (step == HeadStep::broken) co_return 400;
      const bool came = co_await more();
      if (!came) co_return hall_->closing ? 503 : 400;
    }
  }

  /// Said where somebody may still listen; then the connection ends.
  net::awaitable<void> answer_broken(int status) {
    keep_ = false;
    drop_rest_ = true;
    PageAnswer out = told(status,
                          status == 431   ? "the head of the request is too long"
                          : status == 503 ? "the program is ending"
                                          : "this is no request",
                          false);
    co_await send_answer(out);
  }

  net::awaitable<void> answer_request(const HttpHead& head, HeadParser& parser) {
    const bool has_body = parser.chunked() || length_of(parser).value_or(0) > 0;
    const bool api = head.path() == "/api" || head.path().rfind("/api/", 0) == 0;
    head_only_ = head.method == "HEAD";
    if (const auto turned = turned_away(head, *site_)) {
      close_unread(has_body || turned->status == 400 || turned->status == 501);
      PageAnswer out = told(turned->status, turned->why, api);
      co_await send_answer(out);
    } else if (!site_->loopback && !hall_->rates.take(peer_, seconds_now())) {
      close_unread(has_body);
      PageAnswer out = told(429, "too many requests: wait a second", api);
      out.headers.emplace_back("Retry-After", "1");
      co_await send_answer(out);
    } else if (api) {
      co_await answer_api(head, parser);
    } else if (head.path() == "/trust" || head.path().rfind("/trust/", 0) == 0) {
      close_unread(has_body);
      PageAnswer out = head.reads() ? answer_trust(hall_->trust, head.path())
                                    : told(405, "this page is only read", false);
      out.headers.emplace_back("Content-Security-Policy", std::string(page_policy()));
      co_await send_answer(out);
    } else {
      close_unread(has_body);
      const FileAnswer out = answer_file(built_in_page(), head);
      const std::string_view bytes =
          out.own_body.empty() ? out.body : std::string_view(out.own_body);
      co_await send(out.status, out.content_type, out.headers, bytes);
    }
  }

  /// A body that nobody will read ends the connection: what follows it cannot be found.
  void close_unread(bool unread) {
    if (!unread) return;
    keep_ = false;
    drop_rest_ = true;
  }

  net::awaitable<void> answer_api(const HttpHead& head, HeadParser& parser) {
    const RequestHead asked = request_head(head, *site_, peer_);
    Admission admission;
    const bool taken = co_await on_pool(
        hall_->quick, [&](const std::atomic<bool>&) { admission = hall_->service.admit(asked); },
        0);
    const auto length = length_of(parser);
    const bool has_body = parser.chunked() || length.value_or(0) > 0;
    if (!taken || !admission.ok) {
      close_unread(has_body);
      if (!taken) admission.refusal = busy();
      co_await send_answer(admission.refusal);
      co_return;
    }
    if (length.value_or(0) > admission.most_body ||
        (parser.chunked() && admission.most_body == 0)) {
      close_unread(true);
      PageAnswer out = too_long(admission);
      co_await send_answer(out);
      co_return;
    }
    if (const std::string_view wish = head.field("expect"); has_body && !wish.empty()) {
      if (!same_word(wish, "100-continue")) {
        close_unread(true);
        PageAnswer out = told(417, "only 100-continue is understood", true);
        co_await send_answer(out);
        co_return;
      }
      const bool told_so = co_await send_bytes("HTTP/1.1 100 Continue\r\n\r\n");
      if (!told_so) co_return;
    }
    SpooledBody body(hall_->spool_folder);
    LargeSlot slot{*hall_};
    if (has_body) {
      PageAnswer refusal = co_await read_body(parser, admission, body, slot);
      if (refusal.status != 200) {
        close_unread(true);
        if (refusal.status != 0) co_await send_answer(refusal);
        co_return;
      }
    }
    switch (admission.pace) {
      case Pace::quick:
        co_await answer_once(hall_->quick, admission, asked, body);
        break;
      case Pace::long_:
        co_await answer_once(hall_->slow, admission, asked, body);
        break;
      case Pace::stream:
        co_await answer_stream(admission, asked, body);
        break;
      case Pace::events:
        co_await answer_events(admission, asked);
        break;
    }
  }

  static PageAnswer busy() {
    PageAnswer out = told(503, "too much is under way: try again in a moment", true);
    out.headers.emplace_back("Retry-After", "2");
    return out;
  }
  static PageAnswer too_long(const Admission& admission) {
    return told(413,
                admission.most_body == 0
                    ? "takes no body"
                    : "is longer than " + std::to_string(admission.most_body) + " bytes",
                true);
  }
  static PageAnswer fine() { return {}; }
  /// Nobody is there to be told.
  static PageAnswer nobody() {
    PageAnswer out;
    out.status = 0;
    return out;
  }

  /// One of the few places for a large body; held until the request is answered.
  struct LargeSlot {
    Hall& hall;
    bool held = false;
    ~LargeSlot() {
      if (held) --hall.large_bodies;
    }
    LargeSlot(const LargeSlot&) = delete;
    explicit LargeSlot(Hall& the_hall) : hall(the_hall) {}
  };

  /// False: none came free in time.
  net::awaitable<bool> take_slot(LargeSlot& slot) {
    if (slot.held) co_return true;
    lowest().expires_never();
    const auto waiting = std::make_shared<Waiting>(hall_->io);
    for (int tries = 0; hall_->large_bodies >= hall_->limits.large_bodies; ++tries) {
      if (tries > 600 || hung_up() || hall_->closing) co_return false;
      co_await pause(waiting, 0.1);
    }
    ++hall_->large_bodies;
    slot.held = true;
    co_return true;
  }

  /// Status 200: all of it is in `body`; 0: the other side is gone.
  net::awaitable<PageAnswer> read_body(HeadParser& parser, const Admission& admission,
                                       SpooledBody& body, LargeSlot& slot) {
    char piece[65536];
    double waited_s = 0;
    while (!parser.is_done()) {
      auto& target = parser.get().body();
      target.data = piece;
      target.size = sizeof piece;
      target.more = true;
      Fault fault;
      allow(hall_->limits.stall_s);
      const Clock::time_point before = Clock::now();
      reading_ = true;
      co_await beast::http::async_read_some(stream_, buffer_, parser,
                                            net::redirect_error(net::use_awaitable, fault));
      reading_ = false;
      if (hall_->closing) co_return nobody();
      waited_s += std::chrono::duration<double>(Clock::now() - before).count();
      if (fault == beast::http::error::need_buffer) fault = {};
      if (fault == beast::error::timeout) co_return nobody();
      if (fault) co_return told(400, "the body is malformed or ends early", true);
      body.add({piece, sizeof piece - target.size});
      if (body.size() > admission.most_body) co_return too_long(admission);
      if (too_slow(waited_s, double(body.size()), hall_->limits.least_bytes_s,
                   hall_->limits.stall_s))
        co_return told(408, "the body comes too slowly", true);
      if (!body.heavy()) continue;
      const bool mine = co_await take_slot(slot);
      if (!mine) co_return busy();
      bool kept = false;
      const bool done = co_await on_pool(
          hall_->quick, [&](const std::atomic<bool>&) { kept = body.flush(); }, 0);
      if (!done) co_return busy();
      if (!kept) co_return told(507, "the disk takes no more", true);
    }
    if (!body.finish()) co_return told(507, "the disk takes no more", true);
    co_return fine();
  }

  // ---- work on other threads --------------------------------------------------------------------

  /// Waits for work on a pool; false where the pool is full. `watch_s` above 0: how often to look
  /// whether the other side is still there.
  template <class Work>
  net::awaitable<bool> on_pool(Workers& pool, Work work, double watch_s) {
    lowest().expires_never();
    const auto waiting = std::make_shared<Waiting>(hall_->io);
    at_work_ = waiting;
    net::io_context& io = hall_->io;
    const bool taken = pool.submit([waiting, &work, &io] {
      work(waiting->gone);
      net::post(io, [waiting] {
        waiting->done = true;
        waiting->timer.cancel();
      });
    });
    if (!taken) co_return false;
    while (!waiting->done) {
      co_await pause(waiting, watch_s > 0 ? watch_s : 60);
      if (watch_s > 0 && !waiting->done && hung_up()) waiting->gone = true;
    }
    co_return true;
  }

  /// Has the other side closed its half, or all of it?
  bool hung_up() {
    pollfd look{lowest().socket().native_handle(), POLLRDHUP, 0};
    return ::poll(&look, 1, 0) > 0 && (look.revents & (POLLRDHUP | POLLHUP | POLLERR)) != 0;
  }

  static double seconds_now() {
    return std::chrono::duration<double>(Clock::now().time_since_epoch()).count();
  }

  net::awaitable<void> answer_once(Workers& pool, const Admission& admission,
                                   const RequestHead& asked, const SpooledBody& body) {
    PageAnswer answer;
    const bool taken = co_await on_pool(
        pool,
        [&](const std::atomic<bool>& gone) {
          answer = hall_->service.answer(admission, asked, body.bytes(), gone);
        },
        0.25);
    if (!taken) answer = busy();
    co_await send_answer(answer);
  }

  /// Of Pace::stream and Pace::events: session_streams.h.
  net::awaitable<void> answer_stream(const Admission& admission, const RequestHead& asked,
                                     const SpooledBody& body);
  net::awaitable<void> answer_events(const Admission& admission, const RequestHead& asked);

  /// A device that was unpaired hears no more.
  net::awaitable<bool> still_admitted(const RequestHead& asked) {
    bool ok = true;
    co_await on_pool(
        hall_->quick, [&](const std::atomic<bool>&) { ok = hall_->service.admit(asked).ok; }, 0);
    co_return ok;
  }

  // ---- writing ----------------------------------------------------------------------------------

  net::awaitable<bool> send_bytes(std::string_view bytes) {
    while (!bytes.empty()) {
      const std::string_view piece = bytes.substr(0, 65536);
      Fault fault;
      allow(hall_->limits.stall_s);
      co_await net::async_write(stream_, net::buffer(piece.data(), piece.size()),
                                net::redirect_error(net::use_awaitable, fault));
      if (fault) {
        keep_ = false;
        co_return false;
      }
      bytes.remove_prefix(piece.size());
    }
    co_return true;
  }

  std::string head_text(int status, std::string_view type, const Headers& headers) {
    const bool last = !keep_ || hall_->closing;
    return answer_head(status, type, headers, last ? "close" : chunked_ ? "" : "keep-alive");
  }

  /// The compiler (g++ 12) destroys some temporaries of an awaited call twice: answers are awaited
  /// by reference to a named one, everywhere.
  net::awaitable<void> send_answer(PageAnswer& answer) {
    if (!has_header(answer.headers, "Cache-Control"))
      answer.headers.emplace_back("Cache-Control", "no-store");
    // A browser's own viewer of PDF is a plug-in to the policy; a PDF runs nothing of ours.
    const bool pdf = answer.content_type == "application/pdf";
    if (!pdf && !has_header(answer.headers, "Content-Security-Policy"))
      answer.headers.emplace_back("Content-Security-Policy", answer_policy());
    if (answer.piece)
      co_await send_pieces(answer);
    else
      co_await send(answer.status, answer.content_type, answer.headers, answer.body);
  }

  /// A long body, of which one part at a time is in memory.
  net::awaitable<void> send_pieces(const PageAnswer& answer) {
    const std::string head = head_text(answer.status, answer.content_type, answer.headers) +
                             "Content-Length: " + std::to_string(answer.length) + "\r\n\r\n";
    bool sent = co_await send_bytes(head);
    std::string part;
    for (std::int64_t from = 0; sent && !head_only_ && from < answer.length;
         from += std::int64_t(part.size())) {
      // Large parts: the store walks to the place anew for each.
      const std::int64_t most = std::min<std::int64_t>(answer.length - from, 4 << 20);
      const bool taken = co_await on_pool(
          hall_->quick, [&](const std::atomic<bool>&) { part = answer.piece(from, most); }, 0);
      // Its length was told: an answer that stops short is known by its connection's end.
      sent = taken && !part.empty() && std::int64_t(part.size()) <= most;
      if (!sent) keep_ = false;
      if (sent) sent = co_await send_bytes(part);
    }
  }

  net::awaitable<void> send(int status, std::string_view type, const Headers& headers,
                            std::string_view body) {
    std::string text = head_text(status, type, headers);
    const bool bodiless = status == 204 || status == 304;
    if (!bodiless) text += "Content-Length: " + std::to_string(body.size()) + "\r\n";
    text += "\r\n";
    if (bodiless || head_only_) body = {};
    if (body.size() <= 32768) {
      text += body;
      body = {};
    }
    const bool sent = co_await send_bytes(text);
    if (sent) co_await send_bytes(body);
  }

  /// A part of an answer whose end is not known; the first brings the head.
  net::awaitable<bool> send_part(std::string_view part, bool begun, std::string_view type) {
    std::string text;
    if (!begun) {
      if (!chunked_) keep_ = false;
      text = head_text(200, type,
                       {{"Cache-Control", "no-store"},
                        {"Content-Security-Policy", std::string(answer_policy())}});
      text += chunked_ ? "Transfer-Encoding: chunked\r\n\r\n" : "\r\n";
    }
    if (chunked_) {
      char size[24];
      std::snprintf(size, sizeof size, "%zx\r\n", part.size());
      text += size;
    }
    text += part;
    if (chunked_) text += "\r\n";
    const bool sent = co_await send_bytes(text);
    co_return sent;
  }
  net::awaitable<void> end_parts() {
    if (chunked_) co_await send_bytes("0\r\n\r\n");
  }

  std::shared_ptr<Hall> hall_;
  std::shared_ptr<const Site> site_;
  std::string peer_;
  Stream stream_;
  beast::flat_buffer buffer_{65536};
  std::weak_ptr<Waiting> at_work_;
  std::weak_ptr<PartPipe> pipe_;
  bool reading_ = false;    ///< waits for the other side: nothing has been done yet
  bool keep_ = true;        ///< the connection goes on after this answer
  bool chunked_ = true;     ///< the other side understands parts
  bool head_only_ = false;  ///< asked by HEAD
  bool drop_rest_ = false;  ///< something unread is still on its way
};

}  // namespace roomwright::app
