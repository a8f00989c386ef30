// The store: what the shop must not lose. Documents (jobs, the price book, settings) with every
// step of their history, files by their content, journals (time, stock, inspections, certificates),
// and results that may be dropped. Behind this face stands one SQLite file today; nothing here
// assumes that. The store knows no clock and no user: each call that writes brings both.
//
// Invariants, which check() looks for:
// (1) What was answered is on the disk: a crash after the answer loses nothing, one before it
// leaves
//     all or nothing of the change.
// (2) A document's versions are 1, 2, 3 … without a gap; the text of each can be had, byte for
// byte. (3) History only grows. An undo is a new step. erase() alone takes away, and says what it
// left. (4) A write that was made on an older version is merged where it touches other places, else
//     refused with both values: never does one silently replace another.
// (5) Every write has one sequence number, larger than all before; changes() tells them in order.
// (6) A file's bytes have the SHA-256 that names them.
// (7) Dropping the results loses time, never work.
//
// Every call may come from any thread; the store serves one at a time. No call throws.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"
#include "job/edits/edits.h"

namespace roomwright::app {

/// Who writes, and when, by the caller's clock.
struct Stamp {
  std::string who;   ///< a name that the shop knows, 1 to 120 bytes
  std::string when;  ///< ISO 8601 in UTC, `2026-11-27T15:04:05Z`
  /// A word of the caller's for this one write (such as a UUID), so that a write whose answer was
  /// lost can be sent again: the second time it changes nothing and is answered as the first.
  std::string token;
};

// ---- documents ----------------------------------------------------------------------------------

struct DocumentHead {
  std::string id;        ///< 1 to 80 letters, digits, `.`, `_`, `-`; not a `.` first
  std::string kind;      ///< `job`, `shop` (a price book), `settings`, or a word of the caller's
  int version = 0;       ///< the newest
  bool removed = false;  ///< out of the way; undo brings it back
  bool erased = false;   ///< its text and history are gone on request; `text` says what was kept
  bool can_undo = false, can_redo = false;
  std::string who, when;  ///< of the newest step
};
struct StoredDocument {
  DocumentHead head;
  int version = 0;   ///< of `text`
  std::string text;  ///< TOML or JSON, as it was given, with the edits since
};

enum class StepKind { created, edited, replaced, removed, undone, redone, erased };
const std::vector<std::string>& step_kind_names();

/// One step of a document's history.
struct Step {
  int version = 0;            ///< that it led to
  std::int64_t sequence = 0;  ///< of the whole store
  StepKind kind = StepKind::edited;
  int of = 0;  ///< the version whose step was undone or redone
  std::string who, when, note;
  job::Edits edits = {};  ///< what it changed, as made
  bool layout_kept = true;
};

/// The answer to a write of a document.
struct Saved {
  int version = 0;            ///< the newest, after the write or as it stands where refused
  std::int64_t sequence = 0;  ///< of the write; 0 where refused, or where nothing had to change
  bool merged = false;        ///< others' steps lay between; `base` was older than the newest
  bool layout_kept = true;  ///< false: comments of the TOML text went; the version before has them
  /// Not empty: nothing was written. Each says what was, what is, and what this write wanted.
  std::vector<job::Conflict> conflicts = {};
  std::vector<Step> since =
      {};  ///< the steps after `base`, by whom and when, where merged or refused
};

// ---- files, journals, changes -------------------------------------------------------------------

inline constexpr std::size_t most_file_bytes = 512u << 20;

/// What a file is about.
struct FileNote {
  std::string name;      ///< `left wall.jpg`
  std::string kind;      ///< `photo`, `recording`, `certificate`, `paper`, or the caller's word
  std::string document;  ///< the job; empty: the shop's own
  std::string piece;     ///< label; may be empty
  std::string place;     ///< `wall2`, `seat`, …; may be empty
};
struct StoredFile {
  std::int64_t id = 0;
  FileNote note;
  std::string sha256;  ///< of the bytes, 64 hexadecimal digits
  std::int64_t bytes = 0;
  std::string who, when;
  bool removed = false;
};

/// A line of a journal: it is never altered; what was wrong is put right by another line.
struct Entry {
  std::int64_t number = 0;  ///< 1, 2, 3 … within its journal, without a gap
  std::string subject;      ///< what it is about: an item of the stock, a piece; may be empty
  std::string document;     ///< the job it belongs to; may be empty
  std::string body;         ///< a JSON object; its keys are the journal's affair
  std::string who, when;    ///< set by append
  std::int64_t sequence = 0;
};
struct NewEntry {
  std::string subject, document, body;
};
/// Where the journal is longer than expected, nothing is written.
struct Appended {
  bool refused = false;
  std::int64_t last = 0;  ///< number of the journal's last entry
  std::int64_t sequence = 0;
};
struct EntryFilter {
  std::int64_t after = 0;  ///< number
  std::optional<std::string> subject = {}, document = {};
  std::size_t most = 100'000;
};

/// That something was written: enough for a page to know what to ask for again.
struct Change {
  std::int64_t sequence = 0;
  std::string topic;  ///< `document`, `file`, or a journal's name
  std::string id;     ///< of the document, of the file, or the entry's subject
  int version = 0;    ///< of the document
};

// ---- the whole ----------------------------------------------------------------------------------

struct CheckReport {
  std::int64_t documents = 0, steps = 0, files = 0, entries = 0, bytes = 0;
  int schema = 0;
  Diagnostics faults;  ///< empty: sound
};

/// What to take away of a client's, and what the law wants kept.
struct Erasure {
  std::vector<std::string> documents;
  /// For each document, in order: a JSON object that stays in its place, such as the quote's
  /// number, date and totals for tax.
  std::vector<std::string> kept;
};
struct ErasedReport {
  std::int64_t steps = 0, files = 0, entries = 0;
  std::vector<std::string> backups;  ///< that still hold what was erased
};

class Store {
 public:
  virtual ~Store() = default;

  // Documents. `base` is the version that the caller last saw. Errors of all: an unknown id, a
  // stamp or text that is wrong, the machine's (disk full, file damaged), each with its remedy.

  /// In order of id; of one kind, or of all. Erased and removed ones are told by their marks.
  virtual Result<std::vector<DocumentHead>> documents(std::string_view kind = {}) = 0;
  /// version 0: the newest.
  virtual Result<StoredDocument> document(std::string_view id, int version = 0) = 0;
  /// Errors: the id is taken.
  virtual Result<Saved> create(std::string_view id, std::string_view kind, std::string_view text,
                               const Stamp& stamp, std::string_view note = {}) = 0;
  /// Edits as of `base`, merged where others have written since and nothing touches (4). All or
  /// none are made.
  virtual Result<Saved> edit(std::string_view id, int base, const job::Edits& edits,
                             const Stamp& stamp, std::string_view note = {}) = 0;
  /// The whole text anew, as from an editor; the step's edits are the difference. Refused where
  /// `base` is not the newest.
  virtual Result<Saved> replace(std::string_view id, int base, std::string_view text,
                                const Stamp& stamp, std::string_view note = {}) = 0;
  /// Refused where `base` is not the newest, as undo and redo are: nobody undoes what they have not
  /// seen.
  virtual Result<Saved> remove(std::string_view id, int base, const Stamp& stamp) = 0;
  /// Takes back the last step that was not taken back yet: the text is again what it was, byte for
  /// byte. Errors: nothing to undo.
  virtual Result<Saved> undo(std::string_view id, int base, const Stamp& stamp) = 0;
  /// Makes again what was undone last. Errors: nothing to redo, as after any other step.
  virtual Result<Saved> redo(std::string_view id, int base, const Stamp& stamp) = 0;
  /// Steps in order, those after a version.
  virtual Result<std::vector<Step>> history(std::string_view id, int after = 0,
                                            std::size_t most = 10'000) = 0;

  // Files.

  virtual Result<StoredFile> put_file(const FileNote& note, std::string_view bytes,
                                      const Stamp& stamp) = 0;
  virtual Result<StoredFile> file(std::int64_t id) = 0;
  /// Of a document, of the shop's own (empty), or of all (nullopt), in order of id.
  virtual Result<std::vector<StoredFile>> files(std::optional<std::string_view> document) = 0;
  /// A part of a file's bytes, so that a recording need not be held whole. Past the end: empty.
  virtual Result<std::string> file_bytes(std::int64_t id, std::int64_t from = 0,
                                         std::int64_t count = most_file_bytes) = 0;
  /// Out of the way, or back again; the bytes stay.
  virtual Result<Done> set_file_removed(std::int64_t id, bool removed, const Stamp& stamp) = 0;

  // Journals: `time`, `stock`, `inspection`, `certificate`, or a word of the caller's.

  /// All entries or none. `expected`: the number of the last entry that the caller has seen; where
  /// the journal has grown since, it is refused, and the caller reads on and decides anew. nullopt:
  /// whatever came before does not matter.
  virtual Result<Appended> append(std::string_view journal, std::optional<std::int64_t> expected,
                                  const std::vector<NewEntry>& entries, const Stamp& stamp) = 0;
  virtual Result<std::vector<Entry>> entries(std::string_view journal,
                                             const EntryFilter& filter = {}) = 0;

  // Results of long work, by all that they depend on (7).

  virtual std::optional<std::string> kept(const std::string& key) = 0;
  virtual void keep(const std::string& key, const std::string& value) = 0;

  // The whole.

  /// Number of the last write.
  virtual Result<std::int64_t> sequence() = 0;
  virtual Result<std::vector<Change>> changes(std::int64_t after, std::size_t most = 1000) = 0;
  /// Looks at all of it: the file's own structure, and the invariants above.
  virtual Result<CheckReport> check(const Watch& watch = {}) = 0;
  /// A whole copy, checked before it takes its name. Errors: the path is there already; the
  /// machine's.
  virtual Result<Done> backup(const std::string& path, const Watch& watch = {}) = 0;
  /// The backup of a day, in the store's own folder of backups, once a day; the path, or empty
  /// where that day has one. Keeps the last 14 days, and the first of each of the last 12 months.
  virtual Result<std::string> daily_backup(std::string_view date, const Watch& watch = {}) = 0;
  /// Takes text, history, files and journal entries of documents away for good. Stock and time
  /// entries stay without their job. Errors: an unknown id, what is kept is no JSON object.
  virtual Result<ErasedReport> erase(const Erasure& erasure, const Stamp& stamp) = 0;
};

struct StoreOptions {
  bool create = false;   ///< make it where it is not there
  bool reading = false;  ///< look only: beside another process that writes; no lock is taken
  /// Who opens it, for whom finds it locked: `roomwright serve`.
  std::string opener = "roomwright";
  std::string when;  ///< now, as in a Stamp: names the backup before a migration
  /// Called after each write, on the writing thread, outside the store's own lock.
  std::function<void(std::int64_t sequence)> on_change = {};
  bool durable = true;  ///< false: for tests of logic that need no disk
};

/// The store in a file. One process writes at a time, others are told who. An older schema is
/// brought forward after a backup; a newer one is refused. Errors, each with the path and what to
/// do: not there, not a store, locked, not writable, damaged, of a newer program, disk full.
Result<std::unique_ptr<Store>> open_store(const std::string& path, const StoreOptions& options);

/// Puts a backup in the store's place, after checking it. The file that was there is kept beside
/// it, under the name that is answered (empty: there was none). Errors: the backup is no sound
/// store, the store is open elsewhere; nothing has changed then.
Result<std::string> restore_store(const std::string& backup, const std::string& path,
                                  const std::string& when);

/// The backups of a store, oldest first.
std::vector<std::string> store_backups(const std::string& path);

/// SHA-256 (FIPS 180-4), 64 hexadecimal digits.
std::string sha256_hex(std::string_view bytes);

}  // namespace roomwright::app
