// Looks for the invariants of store.h in the file: what `check` does beyond the file's structure.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/store/database.h"

namespace roomwright::app {

namespace {

constexpr std::size_t most_faults_told = 50;

class InvariantCheck {
 public:
  InvariantCheck(SQLite::Database& database, const std::string& path, const Watch& watch,
                 CheckReport& report)
      : database_(database), path_(path), watch_(watch), report_(report) {}

  void all() {
    counts();
    documents();
    blobs();
    journals();
    seals();
    sequences();
  }

 private:
  void fault(const std::string& how) {
    if (report_.faults.size() < most_faults_told) report_.faults.add(damaged(path_, how));
  }
  std::int64_t number(const char* ask) { return database_.execAndGet(ask).getInt64(); }

  void counts() {
    report_.documents = number("SELECT count(*) FROM documents");
    report_.steps = number("SELECT count(*) FROM steps");
    report_.files = number("SELECT count(*) FROM files");
    report_.entries = number("SELECT count(*) FROM journal");
    report_.bytes = number("SELECT coalesce(sum(size), 0) FROM blobs");
  }

  /// (2): versions without a gap, each text as it was written, back to the first.
  void documents() {
    SQLite::Statement find(database_, "SELECT id, version, text, sha256, erased FROM documents");
    std::int64_t done = 0;
    while (find.executeStep()) {
      watch_.tick(double(done++) / double(std::max<std::int64_t>(1, report_.documents)),
                  "checking documents");
      const std::string id = find.getColumn(0).getString();
      std::string text = find.getColumn(2).getString();
      if (sha256_hex(text) != find.getColumn(3).getString())
        fault("the text of " + id + " is not the one that was written");
      else
        steps(id, find.getColumn(1).getInt(), std::move(text), find.getColumn(4).getInt() != 0);
    }
  }

  void steps(const std::string& id, int version, std::string text, bool erased) {
    SQLite::Statement find(database_,
                           "SELECT version, cut_at, cut_from, cut_to, sha256 FROM steps WHERE "
                           "document = ? ORDER BY version DESC");
    find.bind(1, id);
    int expected = version;
    for (; find.executeStep(); --expected) {
      const std::string at = "version " + std::to_string(expected) + " of " + id;
      if (find.getColumn(0).getInt() != expected) return fault(at + " is missing");
      if (sha256_hex(text) != find.getColumn(4).getString())
        return fault(at + " is not the one that was written");
      const auto cut = std::size_t(find.getColumn(1).getInt64());
      const std::string from = find.getColumn(2).getString(), to = find.getColumn(3).getString();
      if (cut > text.size() || text.compare(cut, to.size(), to) != 0)
        return fault("the history of " + id + " does not join at version " +
                     std::to_string(expected));
      text.replace(cut, to.size(), from);
    }
    if (erased ? expected != version - 1 : expected != 0)
      fault("the history of " + id + " does not begin at version 1");
    else if (!text.empty())
      fault("the first version of " + id + " did not begin with nothing");
  }

  /// (6)
  void blobs() {
    SQLite::Statement find(database_, "SELECT sha256, size, bytes FROM blobs");
    while (find.executeStep()) {
      const std::string bytes = find.getColumn(2).getString();
      if (std::int64_t(bytes.size()) != find.getColumn(1).getInt64() ||
          sha256_hex(bytes) != find.getColumn(0).getString())
        fault("a file's bytes are not those that were put in (" +
              find.getColumn(0).getString().substr(0, 12) + " …)");
    }
    if (number("SELECT count(*) FROM blobs WHERE sha256 NOT IN (SELECT sha256 FROM files)") != 0)
      fault("bytes are kept that no file names");
  }

  void journals() {
    SQLite::Statement find(
        database_,
        "SELECT journal, count(*), max(number), min(number) FROM journal GROUP BY journal");
    while (find.executeStep())
      if (find.getColumn(1).getInt64() != find.getColumn(2).getInt64() ||
          find.getColumn(3).getInt64() != 1)
        fault("the journal " + find.getColumn(0).getString() + " has a gap");
    SQLite::Statement bodies(database_,
                             "SELECT journal, number FROM journal WHERE NOT json_valid(body)");
    while (bodies.executeStep())
      fault("entry " + bodies.getColumn(1).getString() + " of " + bodies.getColumn(0).getString() +
            " cannot be read");
  }

  /// Who, when and what are those that were written.
  void seals() {
    SQLite::Statement steps(
        database_,
        "SELECT document, version, kind, of, who, at, note, edits, sha256, seal "
        "FROM steps");
    while (steps.executeStep()) {
      const auto word = [&](int i) { return steps.getColumn(i).getString(); };
      if (row_seal({word(2), word(3), word(4), word(5), word(6), word(7), word(8)}) != word(9))
        fault("step " + word(1) + " of " + word(0) + " is not the one that was written");
    }
    SQLite::Statement files(
        database_, "SELECT id, sha256, name, kind, piece, place, who, at, seal FROM files");
    while (files.executeStep()) {
      const auto word = [&](int i) { return files.getColumn(i).getString(); };
      if (row_seal({word(1), word(2), word(3), word(4), word(5), word(6), word(7)}) != word(8))
        fault("what is said of file " + word(0) + " is not what was written");
    }
    SQLite::Statement entries(database_,
                              "SELECT journal, number, subject, body, who, at, seal FROM journal");
    while (entries.executeStep()) {
      const auto word = [&](int i) { return entries.getColumn(i).getString(); };
      if (row_seal({word(0), word(1), word(2), word(3), word(4), word(5)}) != word(6))
        fault("entry " + word(1) + " of " + word(0) + " is not the one that was written");
    }
  }

  /// (5)
  void sequences() {
    if (number("SELECT count(*) FROM steps s JOIN changes c ON c.sequence = s.sequence WHERE "
               "c.topic <> 'document' OR c.version <> s.version") != 0)
      fault("a step is not the change that its number names");
  }

  SQLite::Database& database_;
  const std::string& path_;
  const Watch& watch_;
  CheckReport& report_;
};

}  // namespace

void check_invariants(SQLite::Database& database, const std::string& path, const Watch& watch,
                      CheckReport& report) {
  InvariantCheck(database, path, watch, report).all();
}

}  // namespace roomwright::app
