// The store as a whole: opening, checking, backing up, putting back, erasing.
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "app/store/sqlite_store.h"

namespace roomwright::app {

namespace {

namespace fs = std::filesystem;

Complaint system_says(const std::string& path, const std::string& doing,
                      const std::error_code& fault) {
  return {path,
          "cannot " + doing + ": " + fault.message(),
          {},
          "look at the folder's permissions and the disk's free space",
          0};
}

Complaint no_store(const std::string& path) {
  return {path,
          "is not there",
          {},
          "roomwright store import FILE makes it, or name another with --store",
          0};
}

/// The folder's own list of names, on the disk.
void sync_folder(const std::string& path) {
  const std::string folder = fs::absolute(path).parent_path().string();
  const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return;
  ::fsync(file);
  ::close(file);
}

/// Read-only, and where a folder cannot be written, as a file that nobody changes.
std::unique_ptr<SQLite::Database> open_to_read(const std::string& path) {
  try {
    auto database = open_database(path, false, false, true);
    (void)store_mark(*database);
    return database;
  } catch (const SQLite::Exception&) {
    std::error_code fault;
    const auto wal = fs::file_size(path + "-wal", fault);
    if (!fault && wal > 0) throw;
    std::string address = "file:";
    for (const char sign : fs::absolute(path).string())
      if (sign == '?' || sign == '#' || sign == '%') {
        char escaped[8];
        std::snprintf(escaped, sizeof escaped, "%%%02x", static_cast<unsigned char>(sign));
        address += escaped;
      } else {
        address += sign;
      }
    auto database = std::make_unique<SQLite::Database>(address + "?immutable=1",
                                                       SQLite::OPEN_READONLY | SQLite::OPEN_URI);
    database->exec("PRAGMA query_only = ON");
    return database;
  }
}

Result<Done> fits_this_program(const StoreMark& mark, const std::string& path) {
  if (!mark.ours)
    return Complaint{
        path, "is a database of another program", {}, "name the right file with --store", 0};
  if (mark.schema > store_schema)
    return Complaint{path,
                     "was written by a newer program (its schema is " +
                         std::to_string(mark.schema) + ", this one knows " +
                         std::to_string(store_schema) + "); it was not touched",
                     {},
                     "get a newer program, or put an older backup in its place: roomwright "
                     "store restore BACKUP",
                     0};
  return Done{};
}

bool dated(const std::string& name) {
  if (name.size() < 10) return false;
  for (std::size_t i = 0; i < 10; ++i)
    if (i == 4 || i == 7 ? name[i] != '-' : name[i] < '0' || name[i] > '9') return false;
  return true;
}

/// Daily ones beyond the last 14 days and the first of each of the last 12 months go.
void thin_out(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code fault;
  for (const auto& entry : fs::directory_iterator(folder, fault))
    if (const std::string name = entry.path().filename().string();
        dated(name) && name.substr(10) == ".store")
      names.push_back(name);
  std::sort(names.begin(), names.end());
  std::set<std::string> keep;
  for (std::size_t i = names.size() > 14 ? names.size() - 14 : 0; i < names.size(); ++i)
    keep.insert(names[i]);
  std::vector<std::string> months;
  for (const std::string& name : names)
    if (months.empty() || months.back().substr(0, 7) != name.substr(0, 7)) months.push_back(name);
  for (std::size_t i = months.size() > 12 ? months.size() - 12 : 0; i < months.size(); ++i)
    keep.insert(months[i]);
  for (const std::string& name : names)
    if (!keep.count(name)) fs::remove(fs::path(folder) / name, fault);
}

/// A name without signs that a disk may not take.
std::string file_word(const std::string& text) {
  std::string out;
  for (const char sign : text)
    out += (sign >= '0' && sign <= '9') || (sign >= 'A' && sign <= 'Z') || sign == '-' ? sign : '-';
  return out;
}

}  // namespace

std::string backup_folder(const std::string& path) {
  return path + ".backups";
}

std::vector<std::string> store_backups(const std::string& path) {
  std::vector<std::pair<fs::file_time_type, std::string>> found;
  std::error_code fault;
  for (const auto& entry : fs::directory_iterator(backup_folder(path), fault))
    if (entry.path().extension() == ".store")
      found.emplace_back(entry.last_write_time(fault), entry.path().string());
  std::sort(found.begin(), found.end());
  std::vector<std::string> out;
  for (auto& [time, name] : found) out.push_back(std::move(name));
  return out;
}

SqliteStore::SqliteStore(std::string path, StoreOptions options, std::unique_ptr<StoreLock> lock,
                         std::unique_ptr<SQLite::Database> database)
    : path_(std::move(path)),
      options_(std::move(options)),
      lock_(std::move(lock)),
      database_(std::move(database)),
      results_(path_ + ".results") {}

// ---- opening ------------------------------------------------------------------------------------

namespace {

Result<std::unique_ptr<Store>> open_for_reading(const std::string& path,
                                                const StoreOptions& options) {
  auto database = open_to_read(path);
  const StoreMark mark = store_mark(*database);
  if (const auto fits = fits_this_program(mark, path); !fits) return fits.mistakes();
  if (mark.schema < store_schema)
    return Complaint{path,
                     "is of an older schema",
                     {},
                     "open it once for writing, which brings it forward after a backup",
                     0};
  return std::unique_ptr<Store>(
      std::make_unique<SqliteStore>(path, options, nullptr, std::move(database)));
}

Result<Done> bring_forward(SQLite::Database& database, const StoreMark& mark,
                           const std::string& path, const std::string& when) {
  if (mark.schema == store_schema) return Done{};
  if (!mark.empty) {
    std::error_code fault;
    fs::create_directories(backup_folder(path), fault);
    if (fault) return system_says(backup_folder(path), "be made", fault);
    const std::string to = backup_folder(path) + "/before-schema-" + std::to_string(store_schema) +
                           "-" + file_word(when) + ".store";
    if (!fs::exists(to, fault))
      if (auto copied = copy_database(database, path, to, {}); !copied) return copied;
  }
  return migrate_store(database, mark.schema, when, path);
}

Result<std::unique_ptr<Store>> open_for_writing(const std::string& path,
                                                const StoreOptions& options) {
  std::error_code fault;
  if (options.create) {
    fs::create_directories(fs::absolute(path).parent_path(), fault);
    if (fault) return system_says(fs::absolute(path).parent_path().string(), "be made", fault);
  }
  auto lock = StoreLock::take(path, options.opener, options.when);
  if (!lock) return lock.mistakes();
  if (fs::exists(path, fault) && ::access(path.c_str(), W_OK) != 0)
    return Complaint{path,
                     "is read-only for this user: nothing can be saved",
                     {},
                     "give write permission, or look only: history, export and check need none",
                     0};
  auto database = open_database(path, true, options.create, options.durable);
  const StoreMark mark = store_mark(*database);
  if (mark.empty && !options.create)
    return Complaint{
        path,
        "is empty: what it held is not there",
        {},
        "put the newest backup in its place: roomwright store restore BACKUP (they lie "
        "in " +
            backup_folder(path) + ")",
        0};
  if (!mark.empty || mark.ours)
    if (const auto fits = fits_this_program(mark, path); !fits) return fits.mistakes();
  if (auto done = bring_forward(*database, mark, path, options.when); !done) return done.mistakes();
  sync_folder(path);
  return std::unique_ptr<Store>(
      std::make_unique<SqliteStore>(path, options, std::move(*lock), std::move(database)));
}

}  // namespace

Result<std::unique_ptr<Store>> open_store(const std::string& path, const StoreOptions& options) {
  std::error_code fault;
  if (!fs::exists(path, fault) && (!options.create || options.reading)) return no_store(path);
  try {
    return options.reading ? open_for_reading(path, options) : open_for_writing(path, options);
  } catch (const SQLite::Exception& thrown) {
    return store_fault(thrown, path);
  } catch (const std::exception& thrown) {
    return Complaint{path, thrown.what(), {}, {}, 0};
  }
}

// ---- checking -----------------------------------------------------------------------------------

Result<CheckReport> SqliteStore::check(const Watch& watch) {
  const std::lock_guard hold(mutex_);
  CheckReport report;
  try {
    report.schema = store_mark(*database_).schema;
    check_structure(*database_, path_, report.faults);
    check_invariants(*database_, path_, watch, report);
  } catch (const SQLite::Exception& fault) {
    report.faults.add(store_fault(fault, path_));
  }
  return report;
}

// ---- backing up and putting back
// ------------------------------------------------------------------

Result<Done> copy_database(SQLite::Database& from, const std::string& source, const std::string& to,
                           const Watch& watch) {
  constexpr int pages_a_step = 2048;
  std::error_code fault;
  const std::string beside = to + ".part" + std::to_string(::getpid());
  fs::remove(beside, fault);
  try {
    SQLite::Database copy(beside, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    {
      SQLite::Backup backup(copy, from);
      while (backup.executeStep(pages_a_step) != 101) {  // until done
        const int all = std::max(1, backup.getTotalPageCount());
        watch.tick(1 - double(backup.getRemainingPageCount()) / all, "copying the store");
        if (watch.cancelled()) {
          fs::remove(beside, fault);
          return Complaint{to, "was cancelled", {}, {}, 0};
        }
      }
    }
    copy.exec("PRAGMA journal_mode = DELETE");  // one file, which can be read anywhere
    Diagnostics found;
    check_structure(copy, source, found);
    if (!found.empty()) {
      fs::remove(beside, fault);
      return found;
    }
  } catch (const SQLite::Exception& thrown) {
    fs::remove(beside, fault);
    fs::remove(beside + "-journal", fault);
    return store_fault(thrown, thrown.getErrorCode() == 11 ? source : to);
  }
  fs::rename(beside, to, fault);
  if (fault) return system_says(to, "take its name", fault);
  sync_folder(to);
  return Done{};
}

Result<Done> SqliteStore::backup(const std::string& path, const Watch& watch) {
  std::error_code fault;
  if (fs::exists(path, fault))
    return Complaint{path, "is there already", {}, "choose another name", 0};
  try {
    // A connection of its own: others write on while it reads what was there when it began.
    auto reader = open_to_read(path_);
    reader->exec("BEGIN");
    (void)store_mark(*reader);
    return copy_database(*reader, path_, path, watch);
  } catch (const SQLite::Exception& thrown) {
    return store_fault(thrown, path_);
  }
}

Result<std::string> SqliteStore::daily_backup(std::string_view date, const Watch& watch) {
  const std::string day(date);
  if (day.size() != 10 || !dated(day))
    return Complaint{"date", "must be a day", "\"" + day.substr(0, 40) + "\"", "such as 2026-11-27",
                     0};
  std::error_code fault;
  fs::create_directories(backup_folder(path_), fault);
  if (fault) return system_says(backup_folder(path_), "be made", fault);
  const std::string to = backup_folder(path_) + "/" + day + ".store";
  if (fs::exists(to, fault)) return std::string();
  if (auto copied = backup(to, watch); !copied) return copied.mistakes();
  thin_out(backup_folder(path_));
  return to;
}

Result<std::string> restore_store(const std::string& backup, const std::string& path,
                                  const std::string& when) {
  std::error_code fault;
  if (!fs::exists(backup, fault))
    return Complaint{backup, "is not there", {}, "name a backup of the store", 0};
  auto lock = StoreLock::take(path, "roomwright store restore", when);
  if (!lock) return lock.mistakes();
  const std::string beside = path + ".restoring";
  try {
    auto source = open_to_read(backup);
    if (const auto fits = fits_this_program(store_mark(*source), backup); !fits)
      return fits.mistakes();
    Diagnostics found;
    check_structure(*source, backup, found);
    CheckReport report;
    if (found.empty() && store_mark(*source).schema == store_schema)
      check_invariants(*source, backup, {}, report);
    found.add_all(report.faults);
    if (!found.empty()) {
      found.add(backup, "is no sound backup: nothing was changed", {}, "choose an older one");
      return found;
    }
    fs::remove(beside, fault);
    if (auto copied = copy_database(*source, backup, beside, {}); !copied) return copied.mistakes();
  } catch (const SQLite::Exception& thrown) {
    Complaint why = store_fault(thrown, backup);
    why.what += "; nothing was changed";
    why.remedy = "choose another backup";
    return why;
  }
  std::string aside;
  if (fs::exists(path, fault)) {
    aside = path + ".replaced-" + file_word(when);
    for (int i = 2; fs::exists(aside, fault); ++i)
      aside = path + ".replaced-" + file_word(when) + "-" + std::to_string(i);
    // Its log goes with it: together they are what was there.
    fs::rename(path, aside, fault);
    if (fault) return system_says(path, "be moved aside", fault);
    for (const char* part : {"-wal", "-shm"})
      if (fs::exists(path + part)) fs::rename(path + part, aside + part, fault);
  }
  fs::rename(beside, path, fault);
  if (fault) return system_says(path, "be put in place", fault);
  sync_folder(path);
  return aside;
}

// ---- erasing ------------------------------------------------------------------------------------

Result<Done> SqliteStore::check_erasure(const Erasure& erasure) {
  Diagnostics found;
  if (erasure.documents.empty()) found.add("documents", "names none");
  if (erasure.kept.size() != erasure.documents.size())
    found.add("kept", "must say for each document what stays of it");
  for (const std::string& kept : erasure.kept)
    if (const auto tree = job::text_tree(kept); !tree || kept.empty() || kept[0] != '{')
      found.add("kept", "must be JSON objects");
  for (const std::string& id : erasure.documents)
    if (const auto at = row(id); !at) found.add_all(at.mistakes());
  if (!found.empty()) return found;
  return Done{};
}

Result<Done> SqliteStore::erase_document(const std::string& id, const std::string& kept,
                                         const Stamp& stamp, ErasedReport& report) {
  const auto with_id = [&](const char* ask) {
    SQLite::Statement statement(*database_, ask);
    statement.bind(1, id);
    return statement.exec();
  };
  auto found = row(id);
  if (!found) return found.mistakes();
  report.files += with_id("DELETE FROM files WHERE document = ?");
  // A journal has no gaps and no number stands for two entries: a line stays, emptied.
  SQLite::Statement left(
      *database_,
      "SELECT journal, number FROM journal WHERE document = ? AND journal NOT IN "
      "('stock', 'time')");
  left.bind(1, id);
  std::vector<std::pair<std::string, std::int64_t>> lines;
  while (left.executeStep())
    lines.emplace_back(left.getColumn(0).getString(), left.getColumn(1).getInt64());
  for (const auto& [journal, number] : lines) {
    SQLite::Statement blank(*database_,
                            "UPDATE journal SET subject = '', body = '{}', who = '', at = '', "
                            "document = NULL, seal = ? WHERE journal = ? AND number = ?");
    blank.bind(1, row_seal({journal, std::to_string(number), "", "{}", "", ""}));
    blank.bind(2, journal);
    blank.bind(3, number);
    report.entries += blank.exec();
  }
  with_id("UPDATE journal SET document = NULL WHERE document = ?");
  report.steps += with_id("DELETE FROM steps WHERE document = ?");
  DocumentRow& at = *found;
  at.erased = true;
  at.removed = false;
  at.undo_of = at.redo_of = 0;
  at.text.clear();
  StepRow step;
  step.step.kind = StepKind::erased;
  const Saved saved = write_step(at, step, kept, stamp);
  // The name of a document may name a person.
  const std::string anew = "erased-" + std::to_string(saved.sequence);
  SQLite::Statement named(*database_, "UPDATE documents SET id = ? WHERE id = ?");
  named.bind(1, anew);
  named.bind(2, id);
  named.exec();
  SQLite::Statement told(*database_,
                         "UPDATE changes SET id = ? WHERE topic = 'document' AND id = ?");
  told.bind(1, anew);
  told.bind(2, id);
  told.exec();
  return Done{};
}

Result<ErasedReport> SqliteStore::erase(const Erasure& erasure, const Stamp& stamp) {
  auto out = written<ErasedReport>(stamp, [&]() -> Result<ErasedReport> {
    if (const auto fine = check_erasure(erasure); !fine) return fine.mistakes();
    ErasedReport report;
    for (std::size_t i = 0; i < erasure.documents.size(); ++i)
      if (auto done = erase_document(erasure.documents[i], erasure.kept[i], stamp, report); !done)
        return done.mistakes();
    database_->exec("DELETE FROM blobs WHERE sha256 NOT IN (SELECT sha256 FROM files)");
    return report;
  });
  if (!out) return out;
  // What was deleted is gone from the pages (secure_delete); now also from the log and free pages.
  const auto swept = guarded<Done>([&]() -> Result<Done> {
    database_->exec("VACUUM");
    database_->exec("PRAGMA wal_checkpoint(TRUNCATE)");
    return Done{};
  });
  if (!swept) return swept.mistakes();
  std::error_code fault;
  fs::remove_all(path_ + ".results", fault);
  out->backups = store_backups(path_);
  return out;
}

}  // namespace roomwright::app
