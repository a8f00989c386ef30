// Private to app/store: the SQLite file, its lock, its schema, and its faults as sentences.
#pragma once

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>

#include <initializer_list>
#include <memory>
#include <string>

#include "app/store/store.h"
#include "core/base/base.h"

namespace roomwright::app {

/// What went wrong with the file, and what to do. Nothing of the write that met it is kept.
Complaint store_fault(const SQLite::Exception& fault, const std::string& path);
/// Some of the file does not hold together.
Complaint damaged(const std::string& path, const std::string& how);

/// Held while a process may write; the system lets go of it when the process ends, however it ends.
class StoreLock {
 public:
  /// Errors: held already (by whom), or the lock's file cannot be made.
  static Result<std::unique_ptr<StoreLock>> take(const std::string& path, const std::string& opener,
                                                 const std::string& when);
  ~StoreLock();
  StoreLock(const StoreLock&) = delete;
  StoreLock& operator=(const StoreLock&) = delete;

 private:
  explicit StoreLock(int file) : file_(file) {}
  int file_;
};

inline constexpr int store_schema = 1;

/// Opens the file with the settings that the invariants rest on. Throws.
std::unique_ptr<SQLite::Database> open_database(const std::string& path, bool writing, bool create,
                                                bool durable);

/// What a row says of itself, in one word: kept beside it, and looked at by `check`.
std::string row_seal(std::initializer_list<std::string> words);

/// What a file says of itself.
struct StoreMark {
  bool empty = false;  ///< no tables yet
  bool ours = false;   ///< our application's number
  int schema = 0;
};
StoreMark store_mark(SQLite::Database& database);

/// Brings an older schema (or none: 0) forward, each step in a transaction with its own checks.
/// Throws; an error where the checks find the result unsound.
Result<Done> migrate_store(SQLite::Database& database, int from, const std::string& when,
                           const std::string& path);

/// A copy of the whole under a temporary name, checked, then named.
Result<Done> copy_database(SQLite::Database& from, const std::string& source, const std::string& to,
                           const Watch& watch);

/// The file's own structure. Throws where the file cannot even be read.
void check_structure(SQLite::Database& database, const std::string& path, Diagnostics& found);
/// The store's invariants.
void check_invariants(SQLite::Database& database, const std::string& path, const Watch& watch,
                      CheckReport& report);

std::string backup_folder(const std::string& path);

}  // namespace roomwright::app
