// Private to app/store: the store in one SQLite file. Each public call takes the lock, does its
// work in one transaction and turns what the library throws into a complaint.
#pragma once

#include <memory>
#include <mutex>
#include <string>

#include "app/store/database.h"
#include "app/store/store.h"

namespace roomwright::app {

/// A row of the table of documents.
struct DocumentRow {
  std::string id, kind, text, sha256;
  int version = 0, undo_of = 0, redo_of = 0;
  bool removed = false, erased = false;
};

/// A step as it is written and walked back over.
struct StepRow {
  Step step;
  int beneath = 0;
  std::size_t cut_at = 0;
  std::string cut_from, cut_to, sha256;
};

class SqliteStore final : public Store {
 public:
  SqliteStore(std::string path, StoreOptions options, std::unique_ptr<StoreLock> lock,
              std::unique_ptr<SQLite::Database> database);

  Result<std::vector<DocumentHead>> documents(std::string_view kind) override;
  Result<StoredDocument> document(std::string_view id, int version) override;
  Result<Saved> create(std::string_view id, std::string_view kind, std::string_view text,
                       const Stamp& stamp, std::string_view note) override;
  Result<Saved> edit(std::string_view id, int base, const job::Edits& edits, const Stamp& stamp,
                     std::string_view note) override;
  Result<Saved> replace(std::string_view id, int base, std::string_view text, const Stamp& stamp,
                        std::string_view note) override;
  Result<Saved> remove(std::string_view id, int base, const Stamp& stamp) override;
  Result<Saved> undo(std::string_view id, int base, const Stamp& stamp) override;
  Result<Saved> redo(std::string_view id, int base, const Stamp& stamp) override;
  Result<std::vector<Step>> history(std::string_view id, int after, std::size_t most) override;

  Result<StoredFile> put_file(const FileNote& note, std::string_view bytes,
                              const Stamp& stamp) override;
  Result<StoredFile> file(std::int64_t id) override;
  Result<std::vector<StoredFile>> files(std::optional<std::string_view> document) override;
  Result<std::string> file_bytes(std::int64_t id, std::int64_t from, std::int64_t count) override;
  Result<Done> set_file_removed(std::int64_t id, bool removed, const Stamp& stamp) override;

  Result<Appended> append(std::string_view journal, std::optional<std::int64_t> expected,
                          const std::vector<NewEntry>& entries, const Stamp& stamp) override;
  Result<std::vector<Entry>> entries(std::string_view journal, const EntryFilter& filter) override;

  std::optional<std::string> kept(const std::string& key) override;
  void keep(const std::string& key, const std::string& value) override;

  Result<std::int64_t> sequence() override;
  Result<std::vector<Change>> changes(std::int64_t after, std::size_t most) override;
  Result<CheckReport> check(const Watch& watch) override;
  Result<Done> backup(const std::string& path, const Watch& watch) override;
  Result<std::string> daily_backup(std::string_view date, const Watch& watch) override;
  Result<ErasedReport> erase(const Erasure& erasure, const Stamp& stamp) override;

 private:
  /// Runs `body` under the lock; what the library throws becomes a complaint.
  template <class T, class Body>
  Result<T> guarded(const Body& body);
  /// The same in a transaction that is kept where `body` succeeds, then tells whoever listens. A
  /// body that writes nothing answers with sequence 0.
  template <class T, class Body>
  Result<T> written(const Stamp& stamp, const Body& body);

  Result<DocumentRow> row(std::string_view id);
  Result<DocumentRow> live_row(std::string_view id, int base);
  std::vector<StepRow> steps(const std::string& id, int after, std::size_t most, bool newest_first);
  /// The text of a version, walked back from the newest.
  Result<std::string> text_at(const DocumentRow& row, int version);
  std::int64_t note_change(std::string_view topic, std::string_view id, std::int64_t version,
                           const Stamp& stamp);
  /// The answer to a write whose token came before.
  std::optional<Change> earlier(const Stamp& stamp);
  Saved write_step(DocumentRow& row, StepRow& step, const std::string& text, const Stamp& stamp);
  Result<Saved> conflict(const DocumentRow& row, int base, std::vector<job::Conflict> conflicts);
  Result<Saved> edit_as_of(DocumentRow& row, int base, const job::Edits& edits, const Stamp& stamp,
                           std::string_view note);
  /// `step` on the newest version alone: nobody takes back what they have not seen.
  Result<Saved> step_back(std::string_view id, int base, const Stamp& stamp, const char* wanted,
                          Result<Saved> (SqliteStore::*step)(DocumentRow&, const Stamp&));
  Result<Saved> take_back(DocumentRow& row, const Stamp& stamp);
  Result<Saved> make_again(DocumentRow& row, const Stamp& stamp);
  Result<Done> check_erasure(const Erasure& erasure);
  Result<Done> erase_document(const std::string& id, const std::string& kept, const Stamp& stamp,
                              ErasedReport& report);

  const std::string path_;
  const StoreOptions options_;
  const std::unique_ptr<StoreLock> lock_;
  const std::unique_ptr<SQLite::Database> database_;
  const KeptFiles results_;
  std::recursive_mutex mutex_;
};

/// Errors: what is wrong with who, when or token.
Result<Done> check_stamp(const Stamp& stamp);
bool good_id(std::string_view id);
Complaint unknown_document(std::string_view id);

// ---- templates ----------------------------------------------------------------------------------

template <class T, class Body>
Result<T> SqliteStore::guarded(const Body& body) {
  const std::lock_guard hold(mutex_);
  try {
    return body();
  } catch (const SQLite::Exception& fault) {
    return store_fault(fault, path_);
  } catch (const std::exception& fault) {
    return Complaint{path_, std::string("our own mistake: ") + fault.what(), {}, {}, 0};
  }
}

template <class T, class Body>
Result<T> SqliteStore::written(const Stamp& stamp, const Body& body) {
  if (options_.reading)
    return Complaint{path_, "was opened to look only", {}, "open it for writing", 0};
  if (const auto fine = check_stamp(stamp); !fine) return fine.mistakes();
  std::int64_t before = 0, told = 0;
  const auto last = [&] {
    return database_->execAndGet("SELECT coalesce(max(sequence), 0) FROM changes").getInt64();
  };
  auto out = guarded<T>([&]() -> Result<T> {
    SQLite::Transaction all(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    before = last();
    Result<T> done = body();
    if (!done) return done;
    told = last();
    all.commit();
    return done;
  });
  if (out && told > before && options_.on_change) options_.on_change(told);
  return out;
}

}  // namespace roomwright::app
