// The SQLite file: settings, schema, faults; see database.h.
#include "app/store/database.h"

#include <sqlite3.h>
#include <unistd.h>

#include <filesystem>

namespace roomwright::app {

namespace {

constexpr int application_number = 0x526d7774;  // says `file`: a store of ours

Complaint full(const std::string& path) {
  return {
      path,
      "cannot be written: the disk is full; nothing of this change was kept, all earlier ones are",
      {},
      "free some space on that disk and do it again",
      0};
}

Complaint not_writable(const std::string& path) {
  return {path,
          "cannot be written: the file, its folder or the disk is read-only for this user",
          {},
          "give write permission, or name another file with --store",
          0};
}

}  // namespace

Complaint damaged(const std::string& path, const std::string& how) {
  return {
      path,
      "is damaged: " + how,
      {},
      "leave it as it is, make a copy, then put the newest sound backup in its place: roomwright "
      "store restore BACKUP (they lie in " +
          backup_folder(path) + ")",
      0};
}

Complaint store_fault(const SQLite::Exception& fault, const std::string& path) {
  const int code = fault.getErrorCode() & 0xff;
  switch (code) {
    case SQLITE_FULL:
      return full(path);
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return not_writable(path);
    case SQLITE_CORRUPT:
      return damaged(path, fault.what());
    case SQLITE_NOTADB:
      return {path,
              "is not a store, or its first page is damaged",
              {},
              "name the right file with --store, or put a backup in its place: roomwright store "
              "restore BACKUP",
              0};
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {path, "is held by another program", {}, "close that program, then do it again", 0};
    case SQLITE_CANTOPEN:
      if (::access(path.c_str(), F_OK) == 0 &&
          ::access(std::filesystem::path(path).parent_path().c_str(), W_OK) != 0)
        return not_writable(path);
      return {path, "cannot be opened", {}, "is the folder there, and may this user read it?", 0};
    case SQLITE_IOERR:
      return {path,
              std::string("the disk reports an error (") + fault.what() +
                  "); nothing of this change was kept",
              {},
              "look at the disk and its free space, then do it again; roomwright store check tells "
              "whether the store is sound",
              0};
    default:
      return {path,
              std::string("cannot be used: ") + fault.what(),
              {},
              "run roomwright store check",
              0};
  }
}

std::unique_ptr<SQLite::Database> open_database(const std::string& path, bool writing, bool create,
                                                bool durable) {
  constexpr int wait_ms = 5000;
  const int flags =
      writing ? SQLite::OPEN_READWRITE | (create ? SQLite::OPEN_CREATE : 0) : SQLite::OPEN_READONLY;
  auto database = std::make_unique<SQLite::Database>(path, flags, wait_ms);
  database->exec("PRAGMA foreign_keys = ON");
  database->exec("PRAGMA trusted_schema = OFF");
  if (!writing) {
    database->exec("PRAGMA query_only = ON");
    return database;
  }
  database->exec("PRAGMA journal_mode = WAL");
  database->exec(durable ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = OFF");
  database->exec("PRAGMA secure_delete = ON");
  return database;
}

std::string row_seal(std::initializer_list<std::string> words) {
  std::string all;
  for (const std::string& word : words) all += std::to_string(word.size()) + ":" + word;
  return sha256_hex(all);
}

StoreMark store_mark(SQLite::Database& database) {
  StoreMark mark;
  mark.ours = database.execAndGet("PRAGMA application_id").getInt() == application_number;
  mark.schema = database.execAndGet("PRAGMA user_version").getInt();
  mark.empty = database.execAndGet("SELECT count(*) FROM sqlite_schema").getInt() == 0;
  return mark;
}

// ---- schema -------------------------------------------------------------------------------------

namespace {

/// Schema 1. A released one is never altered: a change is a new step below.
constexpr const char* schema_1 = R"sql(
CREATE TABLE migrations (
  schema INTEGER PRIMARY KEY,
  at TEXT NOT NULL
) STRICT;

-- Every write, in order (5). version: of the document, or the number of a journal's entry.
CREATE TABLE changes (
  sequence INTEGER PRIMARY KEY AUTOINCREMENT,
  topic TEXT NOT NULL,
  id TEXT NOT NULL,
  version INTEGER NOT NULL,
  token TEXT UNIQUE
) STRICT;

-- undo_of: version of the step that an undo takes back; redo_of: of the undo that a redo takes back.
CREATE TABLE documents (
  id TEXT PRIMARY KEY,
  kind TEXT NOT NULL,
  version INTEGER NOT NULL CHECK (version >= 1),
  text BLOB NOT NULL,
  sha256 TEXT NOT NULL,
  removed INTEGER NOT NULL DEFAULT 0,
  erased INTEGER NOT NULL DEFAULT 0,
  undo_of INTEGER NOT NULL DEFAULT 0,
  redo_of INTEGER NOT NULL DEFAULT 0
) STRICT;

-- seal: SHA-256 of the words of a row, so that none is ever taken for another.
-- cut_from at byte cut_at became cut_to. beneath: what undo_of was before (of an undo: redo_of).
CREATE TABLE steps (
  document TEXT NOT NULL REFERENCES documents (id) ON UPDATE CASCADE,
  version INTEGER NOT NULL CHECK (version >= 1),
  sequence INTEGER NOT NULL UNIQUE REFERENCES changes (sequence),
  kind TEXT NOT NULL,
  of INTEGER NOT NULL DEFAULT 0,
  beneath INTEGER NOT NULL DEFAULT 0,
  who TEXT NOT NULL,
  at TEXT NOT NULL,
  note TEXT NOT NULL,
  edits TEXT NOT NULL,
  layout_kept INTEGER NOT NULL,
  cut_at INTEGER NOT NULL,
  cut_from BLOB NOT NULL,
  cut_to BLOB NOT NULL,
  sha256 TEXT NOT NULL,
  seal TEXT NOT NULL,
  PRIMARY KEY (document, version)
) STRICT, WITHOUT ROWID;

CREATE TABLE blobs (
  sha256 TEXT NOT NULL UNIQUE,
  size INTEGER NOT NULL,
  bytes BLOB NOT NULL
) STRICT;

CREATE TABLE files (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  sha256 TEXT NOT NULL REFERENCES blobs (sha256),
  document TEXT REFERENCES documents (id) ON UPDATE CASCADE,
  name TEXT NOT NULL,
  kind TEXT NOT NULL,
  piece TEXT NOT NULL,
  place TEXT NOT NULL,
  who TEXT NOT NULL,
  at TEXT NOT NULL,
  removed INTEGER NOT NULL DEFAULT 0,
  seal TEXT NOT NULL
) STRICT;
CREATE INDEX files_of_document ON files (document);
CREATE INDEX files_of_blob ON files (sha256);

CREATE TABLE journal (
  journal TEXT NOT NULL,
  number INTEGER NOT NULL CHECK (number >= 1),
  sequence INTEGER NOT NULL REFERENCES changes (sequence),
  subject TEXT NOT NULL,
  document TEXT REFERENCES documents (id) ON UPDATE CASCADE,
  body TEXT NOT NULL,
  who TEXT NOT NULL,
  at TEXT NOT NULL,
  seal TEXT NOT NULL,
  PRIMARY KEY (journal, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX journal_of_subject ON journal (journal, subject);
CREATE INDEX journal_of_document ON journal (document);
)sql";

/// What leads from schema i to schema i + 1.
constexpr const char* schema_steps[] = {schema_1};
static_assert(std::size(schema_steps) == store_schema);

}  // namespace

Result<Done> migrate_store(SQLite::Database& database, int from, const std::string& when,
                           const std::string& path) {
  SQLite::Transaction all(database, SQLite::TransactionBehavior::IMMEDIATE);
  for (int schema = from; schema < store_schema; ++schema) {
    database.exec(schema_steps[schema]);
    SQLite::Statement note(database, "INSERT INTO migrations VALUES (?, ?)");
    note.bind(1, schema + 1);
    note.bind(2, when);
    note.exec();
  }
  Diagnostics found;
  check_structure(database, path, found);
  if (!found.empty()) return found;
  database.exec("PRAGMA application_id = " + std::to_string(application_number));
  database.exec("PRAGMA user_version = " + std::to_string(store_schema));
  all.commit();
  return Done{};
}

void check_structure(SQLite::Database& database, const std::string& path, Diagnostics& found) {
  constexpr std::size_t most = 20;
  SQLite::Statement pages(database, "PRAGMA integrity_check(20)");
  while (pages.executeStep())
    if (const std::string says = pages.getColumn(0).getString(); says != "ok")
      found.add(damaged(path, says));
  SQLite::Statement keys(database, "PRAGMA foreign_key_check");
  while (keys.executeStep() && found.size() < most)
    found.add(damaged(path, "a row of " + keys.getColumn(0).getString() + " names a row of " +
                                keys.getColumn(2).getString() + " that is not there"));
}

}  // namespace roomwright::app
