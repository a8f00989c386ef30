// What would be, while a finger is down: a stream of lines, ended by the next draft of the same
// page. The work has a thread of its own; the one that asks writes the parts and looks whether
// anybody still wants them.
#include <chrono>
#include <condition_variable>
#include <deque>
#include <thread>

#include "app/service/parts.h"
#include "job/edits/edits.h"

namespace roomwright::app {

namespace {

struct DraftAsked {
  std::string page;
  long long number = 0;
  int base = 0;
  job::Edits edits;
};

Result<DraftAsked> read_draft(const Asked& asked) {
  Body body(asked);
  DraftAsked out;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    out.page = in.text("page", "a word of the page", 200);
    out.number = in.whole("number", 0, 1'000'000'000'000);
    out.base = int(in.whole("base", 1, 1'000'000'000));
    const Json* list = in.required("edits");
    in.finish();
    // None: the finger is back where it began.
    const bool none = !list || (list->is_array() && list->empty());
    auto edits = none ? Result<job::Edits>(job::Edits{}) : job::read_edits(*list);
    if (edits)
      out.edits = std::move(*edits);
    else
      body.found.add_all(edits.mistakes());
  }
  if (!body.found.empty()) return body.found;
  return out;
}

/// From the worker to the thread that writes.
struct DraftLines {
  std::mutex mutex;
  std::condition_variable fresh;
  std::deque<std::string> lines;
  bool ended = false;

  void put(const Json& part) {
    const std::lock_guard lock(mutex);
    lines.push_back(json_text(part, -1) + "\n");
    fresh.notify_one();
  }
  void end() {
    const std::lock_guard lock(mutex);
    ended = true;
    fresh.notify_one();
  }
};

void put_faults(DraftLines& lines, long long number, const Diagnostics& faults) {
  lines.put({{"number", number},
             {"part", "errors"},
             {"provisional", false},
             {"errors", json_of(faults)["errors"]}});
}

/// Fit and decay are exact; what may be rough is the bass. Where there is none, the curve on the
/// screen stays, and the note says why.
void put_answer(DraftLines& lines, long long number, const job::Job& job,
                const job::DraftAnswer& answer, bool fit, bool response) {
  job::Pack pack;
  pack.treatment = answer.treatment;
  const Json treatment = stage_json(job, pack, "treatment");
  const auto part = [&](const char* name, bool provisional) {
    return Json{{"number", number}, {"part", name}, {"provisional", provisional}};
  };
  if (fit) {
    Json pieces = part("fit", false), decay = part("decay", false);
    pieces["pieces"] = treatment["pieces"];
    decay["decay"] = treatment["after"];
    decay["statements"] = treatment["statements"];
    lines.put(pieces);
    lines.put(decay);
  }
  if (response) {
    Json bass = part("response", answer.provisional);
    if (!answer.treatment.bass.levels.empty()) bass["bass"] = treatment["bass"];
    bass["statements"] = treatment["statements"];
    if (!answer.note.empty()) bass["note"] = answer.note;
    lines.put(bass);
  }
}

Result<job::Job> job_after(const JobTexts& texts, const job::Edits& edits) {
  if (edits.empty()) return read_texts(texts);
  auto edited = job::edit_text(texts.sources.job_text, edits);
  if (!edited) return edited.mistakes();
  JobTexts wanted = texts;
  wanted.sources.job_text = std::move(edited->text);
  return read_texts(wanted);
}

void work_out_draft(Desk& desk, const JobTexts& texts, const DraftAsked& draft,
                    const std::atomic<bool>& cancel, DraftLines& lines) {
  const auto base = read_texts(texts);
  const auto wanted = base ? job_after(texts, draft.edits) : base;
  if (!wanted) return put_faults(lines, draft.number, wanted.mistakes());
  if (wanted->order) {
    Diagnostics found;
    found.add("draft", "needs a room, and this document is an order");
    return put_faults(lines, draft.number, found);
  }
  bool began = false;
  Watch watch;
  watch.cancel = &cancel;
  const auto first = [&](const job::DraftAnswer& answer) {
    began = true;
    put_answer(lines, draft.number, *wanted, answer, true, false);
  };
  const auto answer = desk.drafts.ask(*base, *wanted, first, watch);
  if (cancel) return;
  if (!answer) return put_faults(lines, draft.number, answer.mistakes());
  put_answer(lines, draft.number, *wanted, *answer, !began, true);
}

/// Writes what comes until the work has ended, the other side is gone or a newer draft has come.
bool write_lines(const Asked& asked, DraftLines& lines, const std::atomic<bool>& cancel) {
  std::unique_lock lock(lines.mutex);
  for (;;) {
    lines.fresh.wait_for(lock, std::chrono::milliseconds(20),
                         [&] { return lines.ended || !lines.lines.empty(); });
    if (asked.gone || cancel) return false;
    while (!lines.lines.empty() && !cancel) {
      const std::string line = std::move(lines.lines.front());
      lines.lines.pop_front();
      lock.unlock();
      const bool there = !asked.part || asked.part(line);
      lock.lock();
      if (!there) return false;
    }
    if (lines.ended) return !cancel;
  }
}

/// The newest draft of a page; the one before it is cancelled.
class DraftTurn {
 public:
  DraftTurn(Desk& desk, std::string page) : desk_(desk), page_(std::move(page)) {
    const std::lock_guard lock(desk_.drafting);
    auto& mine = desk_.drafts_by_page[page_];
    if (mine) *mine = true;
    mine = cancel_ = std::make_shared<std::atomic<bool>>(false);
    if (desk_.closing) *cancel_ = true;
  }
  ~DraftTurn() {
    const std::lock_guard lock(desk_.drafting);
    const auto mine = desk_.drafts_by_page.find(page_);
    if (mine != desk_.drafts_by_page.end() && mine->second == cancel_)
      desk_.drafts_by_page.erase(mine);
  }
  DraftTurn(const DraftTurn&) = delete;
  DraftTurn& operator=(const DraftTurn&) = delete;
  std::atomic<bool>& cancel() { return *cancel_; }

 private:
  Desk& desk_;
  std::string page_;
  std::shared_ptr<std::atomic<bool>> cancel_;
};

}  // namespace

PageAnswer answer_draft(Desk& desk, const Asked& asked) {
  const auto draft = read_draft(asked);
  if (!draft) return refused(400, draft.mistakes());
  const auto texts = job_texts(desk.store, asked.word(0), draft->base);
  if (!texts) return refused(404, texts.mistakes());
  DraftTurn turn(desk, asked.admission.who + "\n" + draft->page);
  DraftLines lines;
  std::thread worker([&] {
    try {
      work_out_draft(desk, *texts, *draft, turn.cancel(), lines);
    } catch (const std::exception& fault) {
      Diagnostics found;
      found.add("", std::string("our own mistake: ") + fault.what());
      put_faults(lines, draft->number, found);
    }
    if (!turn.cancel())
      lines.put({{"number", draft->number}, {"part", "done"}, {"provisional", false}});
    lines.end();
  });
  if (!write_lines(asked, lines, turn.cancel())) turn.cancel() = true;
  worker.join();
  return {200, "application/x-ndjson", {}, {}};
}

}  // namespace roomwright::app
