// Private to app/server: answers without a known end, of a session (session.h): a stream whose
// parts go out as they come, and events for as long as somebody listens.
#pragma once

#include "app/server/session.h"

namespace roomwright::app {

template <class Stream>
net::awaitable<void> Session<Stream>::answer_stream(const Admission& admission,
                                                    const RequestHead& asked,
                                                    const SpooledBody& body) {
  lowest().expires_never();
  const auto waiting = std::make_shared<Waiting>(hall_->io);
  net::io_context& io = hall_->io;
  const auto pipe = std::make_shared<PartPipe>(hall_->limits.waiting_bytes,
                                               [waiting, &io] { wake(io, waiting); });
  at_work_ = waiting;
  pipe_ = pipe;
  PageAnswer answer;
  const bool taken =
      hall_->slow.submit([this, waiting, pipe, &io, &admission, &asked, &body, &answer] {
        answer = hall_->service.answer(admission, asked, body.bytes(), waiting->gone,
                                       [&](std::string_view part) { return pipe->write(part); });
        net::post(io, [waiting] {
          waiting->done = true;
          waiting->timer.cancel();
        });
      });
  if (!taken) {
    answer = busy();
    co_await send_answer(answer);
    co_return;
  }
  bool begun = false, lost = false;
  for (;;) {
    const bool last = waiting->done;
    const std::string part = pipe->take();
    if (!lost && !part.empty()) {
      const bool sent = co_await send_part(part, begun, "application/x-ndjson");
      begun = true;
      lost = !sent;
    }
    if (!lost && !waiting->done && hung_up()) lost = true;
    if (lost) {
      waiting->gone = true;
      pipe->leave();
    }
    if (last) break;
    if (!waiting->done) co_await pause(waiting, 0.25);
  }
  if (lost)
    keep_ = false;
  else if (!begun)
    co_await send_answer(answer);
  else
    co_await end_parts();
}

template <class Stream>
net::awaitable<void> Session<Stream>::answer_events(const Admission& admission,
                                                    const RequestHead& asked) {
  const auto waiting = std::make_shared<Waiting>(hall_->io);
  net::io_context& io = hall_->io;
  const auto queue = std::make_shared<EventQueue>(hall_->limits.waiting_bytes,
                                                  [waiting, &io] { wake(io, waiting); });
  std::uint64_t listener = 0;
  const bool taken = co_await on_pool(
      hall_->quick,
      [&](const std::atomic<bool>&) {
        listener = hall_->service.listen(
            events_after(asked), admission.role,
            [queue](const PageEvent& event) { queue->push(event); }, admission.device);
      },
      0);
  if (!taken) {
    PageAnswer out = busy();
    co_await send_answer(out);
    co_return;
  }
  bool open = co_await send_part(": from here on\nretry: 2000\n\n", false, "text/event-stream");
  Clock::time_point heard = Clock::now();
  while (open && !hall_->closing) {
    bool full = false;
    const std::string text = queue->take(full);
    if (!text.empty()) {
      open = co_await send_part(text, true, {});
      heard = Clock::now();
    } else if (Clock::now() - heard > for_seconds(hall_->limits.heartbeat_s)) {
      open = co_await send_part(": here\n\n", true, {});
      heard = Clock::now();
      const bool still = co_await still_admitted(asked);
      open = open && still;
    }
    if (full || hung_up()) break;
    if (open && text.empty()) co_await pause(waiting, 1);
  }
  queue->leave();
  if (open) co_await end_parts();
  keep_ = false;
  // Also while the program ends: the pool takes work until the last session is gone.
  co_await on_pool(
      hall_->quick, [&](const std::atomic<bool>&) { hall_->service.forget(listener); }, 0);
}

}  // namespace roomwright::app
