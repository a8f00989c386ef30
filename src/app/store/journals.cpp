// Files by their content, journals, results and changes.
#include <sqlite3.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/store/sqlite_store.h"
#include "core/reading/reading.h"

namespace roomwright::app {

namespace {

constexpr std::size_t most_body_bytes = 1u << 20;

bool plain_text(std::string_view text, std::size_t most) {
  return text.size() <= most && std::none_of(text.begin(), text.end(), [](char sign) {
           return static_cast<unsigned char>(sign) < 0x20;
         });
}

Diagnostics note_faults(const FileNote& note, std::size_t bytes) {
  Diagnostics found;
  if (note.name.empty() || !plain_text(note.name, 200))
    found.add("name", "must be 1 to 200 bytes without controls", {}, "such as left wall.jpg");
  if (!good_id(note.kind)) found.add("kind", "must be a word", {}, "such as photo or recording");
  if (!plain_text(note.piece, 120)) found.add("piece", "must be at most 120 bytes");
  if (!plain_text(note.place, 120)) found.add("place", "must be at most 120 bytes");
  if (bytes > most_file_bytes)
    found.add(note.name, "is larger than 512 MiB", double(bytes), "cut the recording in parts");
  return found;
}

Complaint unknown_file(std::int64_t id) {
  return {"file " + std::to_string(id),
          "is not in the store",
          {},
          "roomwright store files names them",
          0};
}

constexpr const char* file_columns =
    "SELECT f.id, f.name, f.kind, coalesce(f.document, ''), f.piece, f.place, f.sha256, b.size, "
    "f.who, f.at, f.removed FROM files f JOIN blobs b ON b.sha256 = f.sha256 ";

StoredFile read_stored_file(SQLite::Statement& at) {
  StoredFile out;
  out.id = at.getColumn(0).getInt64();
  out.note = {at.getColumn(1).getString(), at.getColumn(2).getString(), at.getColumn(3).getString(),
              at.getColumn(4).getString(), at.getColumn(5).getString()};
  out.sha256 = at.getColumn(6).getString();
  out.bytes = at.getColumn(7).getInt64();
  out.who = at.getColumn(8).getString();
  out.when = at.getColumn(9).getString();
  out.removed = at.getColumn(10).getInt() != 0;
  return out;
}

/// A blob open for reading, a part at a time.
class BlobReader {
 public:
  BlobReader(SQLite::Database& database, std::int64_t row) {
    if (sqlite3_blob_open(database.getHandle(), "main", "blobs", "bytes", row, 0, &blob_) !=
        SQLITE_OK)
      throw SQLite::Exception(database.getHandle());
  }
  ~BlobReader() { sqlite3_blob_close(blob_); }
  BlobReader(const BlobReader&) = delete;
  BlobReader& operator=(const BlobReader&) = delete;

  std::string read(SQLite::Database& database, std::int64_t from, std::int64_t count) {
    const std::int64_t size = sqlite3_blob_bytes(blob_);
    if (from < 0 || from >= size || count <= 0) return {};
    std::string out(std::size_t(std::min(count, size - from)), '\0');
    if (sqlite3_blob_read(blob_, out.data(), int(out.size()), int(from)) != SQLITE_OK)
      throw SQLite::Exception(database.getHandle());
    return out;
  }

 private:
  sqlite3_blob* blob_ = nullptr;
};

}  // namespace

// ---- files --------------------------------------------------------------------------------------

Result<StoredFile> SqliteStore::put_file(const FileNote& note, std::string_view bytes,
                                         const Stamp& stamp) {
  if (const auto found = note_faults(note, bytes.size()); !found.empty()) return found;
  const std::string sha256 = sha256_hex(bytes);
  return written<StoredFile>(stamp, [&]() -> Result<StoredFile> {
    if (const auto before = earlier(stamp)) return file(before->version);
    if (!note.document.empty())
      if (const auto at = row(note.document); !at) return at.mistakes();
    SQLite::Statement blob(*database_,
                           "INSERT INTO blobs (sha256, size, bytes) VALUES (?, ?, ?) ON CONFLICT "
                           "(sha256) DO NOTHING");
    blob.bind(1, sha256);
    blob.bind(2, std::int64_t(bytes.size()));
    blob.bindNoCopy(3, bytes.empty() ? "" : bytes.data(), int(bytes.size()));
    blob.exec();
    SQLite::Statement add(*database_,
                          "INSERT INTO files (sha256, document, name, kind, piece, place, who, at, "
                          "seal) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)");
    add.bind(1, sha256);
    if (!note.document.empty()) add.bind(2, note.document);
    add.bind(3, note.name);
    add.bind(4, note.kind);
    add.bind(5, note.piece);
    add.bind(6, note.place);
    add.bind(7, stamp.who);
    add.bind(8, stamp.when);
    add.bind(
        9, row_seal({sha256, note.name, note.kind, note.piece, note.place, stamp.who, stamp.when}));
    add.exec();
    const std::int64_t id = database_->getLastInsertRowid();
    note_change("file", std::to_string(id), id, stamp);
    return file(id);
  });
}

Result<StoredFile> SqliteStore::file(std::int64_t id) {
  return guarded<StoredFile>([&]() -> Result<StoredFile> {
    SQLite::Statement find(*database_, std::string(file_columns) + "WHERE f.id = ?");
    find.bind(1, id);
    if (!find.executeStep()) return unknown_file(id);
    return read_stored_file(find);
  });
}

Result<std::vector<StoredFile>> SqliteStore::files(std::optional<std::string_view> document) {
  return guarded<std::vector<StoredFile>>([&]() -> Result<std::vector<StoredFile>> {
    SQLite::Statement find(
        *database_,
        std::string(file_columns) +
            (document ? "WHERE coalesce(f.document, '') = ? ORDER BY f.id" : "ORDER BY f.id"));
    if (document) find.bind(1, std::string(*document));
    std::vector<StoredFile> out;
    while (find.executeStep()) out.push_back(read_stored_file(find));
    return out;
  });
}

Result<std::string> SqliteStore::file_bytes(std::int64_t id, std::int64_t from,
                                            std::int64_t count) {
  return guarded<std::string>([&]() -> Result<std::string> {
    SQLite::Statement find(*database_,
                           "SELECT b.rowid, f.sha256, b.size FROM files f JOIN blobs b ON b.sha256 "
                           "= f.sha256 WHERE f.id = ?");
    find.bind(1, id);
    if (!find.executeStep()) return unknown_file(id);
    BlobReader blob(*database_, find.getColumn(0).getInt64());
    std::string out = blob.read(*database_, from, count);
    const bool whole = std::int64_t(out.size()) == find.getColumn(2).getInt64();
    if (whole && sha256_hex(out) != find.getColumn(1).getString())
      return damaged(path_, "file " + std::to_string(id) + " is not the one that was put in");
    return out;
  });
}

Result<Done> SqliteStore::set_file_removed(std::int64_t id, bool removed, const Stamp& stamp) {
  return written<Done>(stamp, [&]() -> Result<Done> {
    if (earlier(stamp)) return Done{};
    SQLite::Statement set(*database_, "UPDATE files SET removed = ? WHERE id = ?");
    set.bind(1, int(removed));
    set.bind(2, id);
    if (set.exec() == 0) return unknown_file(id);
    note_change("file", std::to_string(id), id, stamp);
    return Done{};
  });
}

// ---- journals -----------------------------------------------------------------------------------

Result<Appended> SqliteStore::append(std::string_view journal, std::optional<std::int64_t> expected,
                                     const std::vector<NewEntry>& entries, const Stamp& stamp) {
  Diagnostics found;
  if (!good_id(journal) || journal == "document" || journal == "file")
    found.add("journal", "must be a word of its own",
              "\"" + std::string(journal.substr(0, 80)) + "\"", "such as time or stock");
  for (std::size_t i = 0; i < entries.size(); ++i) {
    const std::string where = "entries[" + std::to_string(i) + "]";
    if (!plain_text(entries[i].subject, 200))
      found.add(where + ".subject", "must be at most 200 bytes without controls");
    const auto body = parse_json(entries[i].body, most_body_bytes);
    if (!body || !body->is_object())
      found.add(where + ".body", "must be a JSON object of at most 1 MB");
  }
  if (entries.empty()) found.add("entries", "must be at least one");
  if (!found.empty()) return found;
  return written<Appended>(stamp, [&]() -> Result<Appended> {
    if (const auto before = earlier(stamp))
      return Appended{false, before->version, before->sequence};
    SQLite::Statement last(*database_,
                           "SELECT coalesce(max(number), 0) FROM journal WHERE journal = ?");
    last.bind(1, std::string(journal));
    last.executeStep();
    Appended out{false, last.getColumn(0).getInt64()};
    if (expected && *expected != out.last) {
      out.refused = true;
      return out;
    }
    const std::int64_t end = out.last + std::int64_t(entries.size());
    out.sequence = note_change(journal, entries.front().subject, end, stamp);
    SQLite::Statement add(*database_,
                          "INSERT INTO journal (journal, number, sequence, subject, document, "
                          "body, who, at, seal) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)");
    for (const NewEntry& entry : entries) {
      if (!entry.document.empty())
        if (const auto at = row(entry.document); !at) return at.mistakes();
      add.reset();
      add.clearBindings();
      add.bind(1, std::string(journal));
      add.bind(2, ++out.last);
      add.bind(3, out.sequence);
      add.bind(4, entry.subject);
      if (!entry.document.empty()) add.bind(5, entry.document);
      add.bind(6, entry.body);
      add.bind(7, stamp.who);
      add.bind(8, stamp.when);
      add.bind(9, row_seal({std::string(journal), std::to_string(out.last), entry.subject,
                            entry.body, stamp.who, stamp.when}));
      add.exec();
    }
    return out;
  });
}

Result<std::vector<Entry>> SqliteStore::entries(std::string_view journal,
                                                const EntryFilter& filter) {
  return guarded<std::vector<Entry>>([&]() -> Result<std::vector<Entry>> {
    std::string ask =
        "SELECT number, subject, coalesce(document, ''), body, who, at, sequence FROM journal "
        "WHERE "
        "journal = ?1 AND number > ?2 AND (?3 IS NULL OR subject = ?3) AND (?4 IS NULL OR "
        "coalesce(document, '') = ?4) ORDER BY number LIMIT ?5";
    SQLite::Statement find(*database_, ask);
    find.bind(1, std::string(journal));
    find.bind(2, filter.after);
    if (filter.subject) find.bind(3, *filter.subject);
    if (filter.document) find.bind(4, *filter.document);
    find.bind(5, std::int64_t(std::min<std::size_t>(filter.most, 1'000'000'000)));
    std::vector<Entry> out;
    while (find.executeStep())
      out.push_back({find.getColumn(0).getInt64(), find.getColumn(1).getString(),
                     find.getColumn(2).getString(), find.getColumn(3).getString(),
                     find.getColumn(4).getString(), find.getColumn(5).getString(),
                     find.getColumn(6).getInt64()});
    return out;
  });
}

// ---- results and changes ------------------------------------------------------------------------

std::optional<std::string> SqliteStore::kept(const std::string& key) {
  return results_.find(key);
}

void SqliteStore::keep(const std::string& key, const std::string& value) {
  if (!options_.reading) results_.put(key, value);
}

Result<std::int64_t> SqliteStore::sequence() {
  return guarded<std::int64_t>([&]() -> Result<std::int64_t> {
    return std::int64_t(
        database_->execAndGet("SELECT coalesce(max(sequence), 0) FROM changes").getInt64());
  });
}

Result<std::vector<Change>> SqliteStore::changes(std::int64_t after, std::size_t most) {
  return guarded<std::vector<Change>>([&]() -> Result<std::vector<Change>> {
    SQLite::Statement find(*database_,
                           "SELECT sequence, topic, id, version FROM changes WHERE sequence > ? "
                           "ORDER BY sequence LIMIT ?");
    find.bind(1, after);
    find.bind(2, std::int64_t(std::min<std::size_t>(most, 1'000'000'000)));
    std::vector<Change> out;
    while (find.executeStep())
      out.push_back({find.getColumn(0).getInt64(), find.getColumn(1).getString(),
                     find.getColumn(2).getString(), find.getColumn(3).getInt()});
    return out;
  });
}

}  // namespace roomwright::app
