// Documents of the store: heads, versions, steps. A step keeps the one cut that it made in the text
// (bytes taken out, bytes put in), so that every version can be walked back to from the newest,
// byte for byte, and an undo needs no parser. undo_of is the top of the steps that can be taken
// back and `beneath` what lies under it; redo_of likewise for what was taken back.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/store/sqlite_store.h"
#include "core/reading/reading.h"

namespace roomwright::app {

const std::vector<std::string>& step_kind_names() {
  static const std::vector<std::string> names = {"created", "edited", "replaced", "removed",
                                                 "undone",  "redone", "erased"};
  return names;
}

Complaint unknown_document(std::string_view id) {
  return {std::string(id.substr(0, 80)),
          "is no document of the store",
          {},
          "roomwright store list names them; roomwright store import brings one in",
          0};
}

bool good_id(std::string_view id) {
  if (id.empty() || id.size() > 80 || id[0] == '.') return false;
  return std::all_of(id.begin(), id.end(), [](char sign) {
    return (sign >= 'a' && sign <= 'z') || (sign >= 'A' && sign <= 'Z') ||
           (sign >= '0' && sign <= '9') || sign == '.' || sign == '_' || sign == '-';
  });
}

Result<Done> check_stamp(const Stamp& stamp) {
  Diagnostics found;
  const auto plain = [](const std::string& text, std::size_t least, std::size_t most) {
    return text.size() >= least && text.size() <= most &&
           std::none_of(text.begin(), text.end(),
                        [](char sign) { return static_cast<unsigned char>(sign) < 0x20; });
  };
  if (!plain(stamp.who, 1, 120))
    found.add("who", "must be a name of 1 to 120 bytes", {}, "name who makes the change");
  const bool dated = stamp.when.size() == 20 && stamp.when[4] == '-' && stamp.when[7] == '-' &&
                     stamp.when[10] == 'T' && stamp.when[13] == ':' && stamp.when[16] == ':' &&
                     stamp.when[19] == 'Z';
  if (!dated)
    found.add("when", "must be a time in UTC", "\"" + stamp.when.substr(0, 40) + "\"",
              "such as 2026-11-27T15:04:05Z");
  if (!plain(stamp.token, 0, 120)) found.add("token", "must be at most 120 bytes without controls");
  if (!found.empty()) return found;
  return Done{};
}

namespace {

/// What differs between two texts, as one cut.
void set_cut(StepRow& step, std::string_view before, std::string_view after) {
  std::size_t front = 0, back = 0;
  const std::size_t most = std::min(before.size(), after.size());
  while (front < most && before[front] == after[front]) ++front;
  while (back < most - front && before[before.size() - 1 - back] == after[after.size() - 1 - back])
    ++back;
  step.cut_at = front;
  step.cut_from = before.substr(front, before.size() - front - back);
  step.cut_to = after.substr(front, after.size() - front - back);
}

bool walk_back(std::string& text, const StepRow& step) {
  if (text.compare(std::min(step.cut_at, text.size()), step.cut_to.size(), step.cut_to) != 0 ||
      step.cut_at + step.cut_to.size() > text.size())
    return false;
  text.replace(step.cut_at, step.cut_to.size(), step.cut_from);
  return true;
}

StepRow read_step(SQLite::Statement& at) {
  StepRow out;
  Step& step = out.step;
  step.version = at.getColumn(0).getInt();
  step.sequence = at.getColumn(1).getInt64();
  const auto& names = step_kind_names();
  const auto kind = std::find(names.begin(), names.end(), at.getColumn(2).getString());
  step.kind = kind == names.end() ? StepKind::edited : StepKind(kind - names.begin());
  step.of = at.getColumn(3).getInt();
  out.beneath = at.getColumn(4).getInt();
  step.who = at.getColumn(5).getString();
  step.when = at.getColumn(6).getString();
  step.note = at.getColumn(7).getString();
  const Json edits = Json::parse(at.getColumn(8).getString(), nullptr, false);
  for (const Json& edit : edits.is_array() ? edits : Json::array())
    step.edits.push_back({edit.value("at", ""), edit.contains("from") ? edit["from"].dump() : "",
                          edit.contains("to") ? edit["to"].dump() : ""});
  step.layout_kept = at.getColumn(9).getInt() != 0;
  out.cut_at = std::size_t(at.getColumn(10).getInt64());
  out.cut_from = at.getColumn(11).getString();
  out.cut_to = at.getColumn(12).getString();
  out.sha256 = at.getColumn(13).getString();
  return out;
}

void bind_bytes(SQLite::Statement& statement, int at, const std::string& bytes) {
  statement.bindNoCopy(at, bytes.data(), int(bytes.size()));
}

Complaint not_seen(const DocumentRow& row, int base) {
  return {row.id,
          "has no version " + std::to_string(base),
          {},
          "the newest is " + std::to_string(row.version),
          0};
}

}  // namespace

// ---- rows ---------------------------------------------------------------------------------------

Result<DocumentRow> SqliteStore::row(std::string_view id) {
  SQLite::Statement find(
      *database_,
      "SELECT id, kind, version, text, sha256, removed, erased, undo_of, redo_of "
      "FROM documents WHERE id = ?");
  find.bind(1, std::string(id));
  if (!find.executeStep()) return unknown_document(id);
  DocumentRow out;
  out.id = find.getColumn(0).getString();
  out.kind = find.getColumn(1).getString();
  out.version = find.getColumn(2).getInt();
  out.text = find.getColumn(3).getString();
  out.sha256 = find.getColumn(4).getString();
  out.removed = find.getColumn(5).getInt() != 0;
  out.erased = find.getColumn(6).getInt() != 0;
  out.undo_of = find.getColumn(7).getInt();
  out.redo_of = find.getColumn(8).getInt();
  if (sha256_hex(out.text) != out.sha256)
    return damaged(path_, "the text of " + out.id + " is not the one that was written");
  return out;
}

Result<DocumentRow> SqliteStore::live_row(std::string_view id, int base) {
  auto out = row(id);
  if (!out) return out;
  if (out->erased)
    return Complaint{out->id, "was erased", {}, "what had to be kept can be read, not changed", 0};
  if (base < 1 || base > out->version) return not_seen(*out, base);
  return out;
}

std::vector<StepRow> SqliteStore::steps(const std::string& id, int after, std::size_t most,
                                        bool newest_first) {
  SQLite::Statement find(
      *database_,
      std::string("SELECT version, sequence, kind, of, beneath, who, at, note, edits, layout_kept, "
                  "cut_at, cut_from, cut_to, sha256 FROM steps WHERE document = ? AND version > ? "
                  "ORDER BY version ") +
          (newest_first ? "DESC" : "ASC") + " LIMIT ?");
  find.bind(1, id);
  find.bind(2, after);
  find.bind(3, std::int64_t(std::min<std::size_t>(most, 1'000'000'000)));
  std::vector<StepRow> out;
  while (find.executeStep()) out.push_back(read_step(find));
  return out;
}

Result<std::string> SqliteStore::text_at(const DocumentRow& row, int version) {
  std::string text = row.text;
  std::string wanted = row.sha256;
  for (const StepRow& step : steps(row.id, version, 1'000'000'000, true))
    if (!walk_back(text, step))
      return damaged(path_, "the history of " + row.id + " does not lead back to version " +
                                std::to_string(version));
  SQLite::Statement find(*database_, "SELECT sha256 FROM steps WHERE document = ? AND version = ?");
  find.bind(1, row.id);
  find.bind(2, version);
  if (find.executeStep()) wanted = find.getColumn(0).getString();
  if (sha256_hex(text) != wanted)
    return damaged(path_, "version " + std::to_string(version) + " of " + row.id +
                              " is not the one that was written");
  return text;
}

std::int64_t SqliteStore::note_change(std::string_view topic, std::string_view id,
                                      std::int64_t version, const Stamp& stamp) {
  SQLite::Statement add(*database_,
                        "INSERT INTO changes (topic, id, version, token) VALUES (?, ?, ?, ?)");
  add.bind(1, std::string(topic));
  add.bind(2, std::string(id));
  add.bind(3, version);
  if (!stamp.token.empty()) add.bind(4, stamp.token);
  add.exec();
  return database_->getLastInsertRowid();
}

std::optional<Change> SqliteStore::earlier(const Stamp& stamp) {
  if (stamp.token.empty()) return std::nullopt;
  SQLite::Statement find(*database_,
                         "SELECT sequence, topic, id, version FROM changes WHERE token = ?");
  find.bind(1, stamp.token);
  if (!find.executeStep()) return std::nullopt;
  return Change{find.getColumn(0).getInt64(), find.getColumn(1).getString(),
                find.getColumn(2).getString(), find.getColumn(3).getInt()};
}

Saved SqliteStore::write_step(DocumentRow& row, StepRow& step, const std::string& text,
                              const Stamp& stamp) {
  if (step.step.kind != StepKind::undone && step.step.kind != StepKind::redone &&
      step.step.kind != StepKind::created && step.step.kind != StepKind::erased) {
    step.beneath = row.undo_of;
    row.undo_of = row.version + 1;
    row.redo_of = 0;
  }
  set_cut(step, row.text, text);
  row.text = text;
  row.sha256 = sha256_hex(text);
  ++row.version;
  Saved out{row.version, note_change("document", row.id, row.version, stamp)};
  out.layout_kept = step.step.layout_kept;

  SQLite::Statement head(
      *database_,
      "INSERT INTO documents (id, kind, version, text, sha256, removed, erased, undo_of, redo_of) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET version = "
      "excluded.version, text = excluded.text, sha256 = excluded.sha256, removed = "
      "excluded.removed, erased = excluded.erased, undo_of = excluded.undo_of, redo_of = "
      "excluded.redo_of");
  head.bind(1, row.id);
  head.bind(2, row.kind);
  head.bind(3, row.version);
  bind_bytes(head, 4, row.text);
  head.bind(5, row.sha256);
  head.bind(6, int(row.removed));
  head.bind(7, int(row.erased));
  head.bind(8, row.undo_of);
  head.bind(9, row.redo_of);
  head.exec();

  SQLite::Statement add(
      *database_,
      "INSERT INTO steps (document, version, sequence, kind, of, beneath, who, "
      "at, note, edits, layout_kept, cut_at, cut_from, cut_to, sha256, seal) VALUES "
      "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  add.bind(1, row.id);
  add.bind(2, row.version);
  add.bind(3, out.sequence);
  add.bind(4, step_kind_names()[std::size_t(step.step.kind)]);
  add.bind(5, step.step.of);
  add.bind(6, step.beneath);
  add.bind(7, stamp.who);
  add.bind(8, stamp.when);
  add.bind(9, step.step.note);
  const std::string edits = json_text(job::edits_json(step.step.edits), -1);
  const std::string& kind = step_kind_names()[std::size_t(step.step.kind)];
  add.bind(10, edits);
  add.bind(11, int(step.step.layout_kept));
  add.bind(12, std::int64_t(step.cut_at));
  bind_bytes(add, 13, step.cut_from);
  bind_bytes(add, 14, step.cut_to);
  add.bind(15, row.sha256);
  add.bind(16, row_seal({kind, std::to_string(step.step.of), stamp.who, stamp.when, step.step.note,
                         edits, row.sha256}));
  add.exec();
  return out;
}

/// Refused: what others wrote since stands in the answer.
Result<Saved> SqliteStore::conflict(const DocumentRow& row, int base,
                                    std::vector<job::Conflict> conflicts) {
  Saved out{row.version};
  out.conflicts = std::move(conflicts);
  for (StepRow& step : steps(row.id, base, 1000, false)) out.since.push_back(std::move(step.step));
  return out;
}

// ---- what the face promises ---------------------------------------------------------------------

Result<std::vector<DocumentHead>> SqliteStore::documents(std::string_view kind) {
  return guarded<std::vector<DocumentHead>>([&]() -> Result<std::vector<DocumentHead>> {
    SQLite::Statement find(
        *database_,
        "SELECT d.id, d.kind, d.version, d.removed, d.erased, d.undo_of, d.redo_of, s.who, s.at "
        "FROM documents d LEFT JOIN steps s ON s.document = d.id AND s.version = d.version "
        "WHERE ?1 = '' OR d.kind = ?1 ORDER BY d.id");
    find.bind(1, std::string(kind));
    std::vector<DocumentHead> out;
    while (find.executeStep())
      out.push_back({find.getColumn(0).getString(), find.getColumn(1).getString(),
                     find.getColumn(2).getInt(), find.getColumn(3).getInt() != 0,
                     find.getColumn(4).getInt() != 0, find.getColumn(5).getInt() != 0,
                     find.getColumn(6).getInt() != 0, find.getColumn(7).getString(),
                     find.getColumn(8).getString()});
    return out;
  });
}

Result<StoredDocument> SqliteStore::document(std::string_view id, int version) {
  return guarded<StoredDocument>([&]() -> Result<StoredDocument> {
    auto found = row(id);
    if (!found) return found.mistakes();
    if (version < 0 || version > found->version) return not_seen(*found, version);
    StoredDocument out;
    out.version = version == 0 ? found->version : version;
    auto text = out.version == found->version ? Result<std::string>(found->text)
                                              : text_at(*found, out.version);
    if (!text) return text.mistakes();
    out.text = std::move(*text);
    out.head = {found->id,
                found->kind,
                found->version,
                found->removed,
                found->erased,
                found->undo_of != 0,
                found->redo_of != 0,
                {},
                {}};
    for (const StepRow& step : steps(found->id, found->version - 1, 1, true))
      out.head.who = step.step.who, out.head.when = step.step.when;
    return out;
  });
}

Result<Saved> SqliteStore::create(std::string_view id, std::string_view kind, std::string_view text,
                                  const Stamp& stamp, std::string_view note) {
  if (!good_id(id))
    return Complaint{"id", "must be 1 to 80 letters, digits, dots, _ or -, no dot first",
                     "\"" + std::string(id.substr(0, 80)) + "\"", "such as D-017", 0};
  if (!good_id(kind)) return Complaint{"kind", "must be a word", {}, "such as job or shop", 0};
  if (const auto fine = job::check_text(text); !fine) return fine.mistakes();
  return written<Saved>(stamp, [&]() -> Result<Saved> {
    if (const auto before = earlier(stamp)) return Saved{before->version, before->sequence};
    SQLite::Statement find(*database_, "SELECT 1 FROM documents WHERE id = ?");
    find.bind(1, std::string(id));
    if (find.executeStep())
      return Complaint{std::string(id),
                       "is a document of the store already",
                       {},
                       "change that one, or choose another name",
                       0};
    DocumentRow made;
    made.id = id;
    made.kind = kind;
    StepRow step;
    step.step.kind = StepKind::created;
    step.step.note = note;
    return write_step(made, step, std::string(text), stamp);
  });
}

Result<Saved> SqliteStore::edit_as_of(DocumentRow& row, int base, const job::Edits& edits,
                                      const Stamp& stamp, std::string_view note) {
  StepRow step;
  step.step.kind = StepKind::edited;
  step.step.note = note;
  step.step.edits = edits;
  if (base < row.version) {
    const auto then = text_at(row, base);
    if (!then) return then.mistakes();
    auto old_tree = job::text_tree(*then);
    const auto now = job::text_tree(row.text);
    if (!old_tree || !now) return (old_tree ? now : old_tree).mistakes();
    const job::Edits theirs = job::difference(*old_tree, *now);
    auto mine = job::apply_edits(*old_tree, edits);
    if (!mine) return mine.mistakes();
    job::Rebased after = job::rebase(*mine, theirs);
    if (!after.conflicts.empty()) return conflict(row, base, std::move(after.conflicts));
    step.step.edits = std::move(after.edits);
  }
  const bool merged = base < row.version;
  auto next = job::edit_text(row.text, step.step.edits);
  if (!next) return next.mistakes();
  Saved out{row.version};
  if (next->text != row.text) {
    step.step.layout_kept = next->layout_kept;
    step.step.edits = std::move(next->made);
    out = write_step(row, step, next->text, stamp);
  }
  out.merged = merged;
  if (merged) {
    for (StepRow& one : steps(row.id, base, 1000, false))
      if (one.step.version < out.version || out.sequence == 0)
        out.since.push_back(std::move(one.step));
  }
  return out;
}

Result<Saved> SqliteStore::edit(std::string_view id, int base, const job::Edits& edits,
                                const Stamp& stamp, std::string_view note) {
  return written<Saved>(stamp, [&]() -> Result<Saved> {
    if (const auto before = earlier(stamp)) return Saved{before->version, before->sequence};
    auto found = live_row(id, base);
    if (!found) return found.mistakes();
    if (found->removed) return Complaint{found->id, "was removed", {}, "undo that first", 0};
    return edit_as_of(*found, base, edits, stamp, note);
  });
}

Result<Saved> SqliteStore::replace(std::string_view id, int base, std::string_view text,
                                   const Stamp& stamp, std::string_view note) {
  const auto tree = job::text_tree(text);
  if (!tree) return tree.mistakes();
  return written<Saved>(stamp, [&]() -> Result<Saved> {
    if (const auto before = earlier(stamp)) return Saved{before->version, before->sequence};
    auto found = live_row(id, base);
    if (!found) return found.mistakes();
    if (found->removed) return Complaint{found->id, "was removed", {}, "undo that first", 0};
    if (found->text == text) return Saved{found->version};
    const auto then = text_at(*found, base);
    if (!then) return then.mistakes();
    const auto old_tree = job::text_tree(*then), now = job::text_tree(found->text);
    if (!old_tree || !now) return (old_tree ? now : old_tree).mistakes();
    job::Edits mine = job::difference(*old_tree, *tree);
    if (base < found->version) {
      // The text as a whole cannot be merged: comments would go unseen. Both sides' changes are
      // told.
      auto conflicts = job::rebase(mine, job::difference(*old_tree, *now)).conflicts;
      if (conflicts.empty())
        conflicts.push_back({"", "", "version " + std::to_string(found->version),
                             "the whole text, made on version " + std::to_string(base)});
      return conflict(*found, base, std::move(conflicts));
    }
    StepRow step;
    step.step.kind = StepKind::replaced;
    step.step.note = note;
    step.step.edits = std::move(mine);
    return write_step(*found, step, std::string(text), stamp);
  });
}

Result<Saved> SqliteStore::remove(std::string_view id, int base, const Stamp& stamp) {
  return written<Saved>(stamp, [&]() -> Result<Saved> {
    if (const auto before = earlier(stamp)) return Saved{before->version, before->sequence};
    auto found = live_row(id, base);
    if (!found) return found.mistakes();
    if (found->removed) return Saved{found->version};
    if (base < found->version)
      return conflict(*found, base,
                      {{"", "", "version " + std::to_string(found->version), "removed"}});
    StepRow step;
    step.step.kind = StepKind::removed;
    found->removed = true;
    return write_step(*found, step, std::string(found->text), stamp);
  });
}

Result<Saved> SqliteStore::take_back(DocumentRow& row, const Stamp& stamp) {
  if (row.undo_of == 0)
    return Complaint{row.id, "has nothing to undo", {}, "its first version cannot be undone", 0};
  const StepRow top = steps(row.id, row.undo_of - 1, 1, false).at(0);
  std::string text = row.text;
  if (!walk_back(text, top)) return damaged(path_, "the history of " + row.id + " does not join");
  if (top.step.kind == StepKind::removed) row.removed = false;
  StepRow step;
  step.step.kind = StepKind::undone;
  step.step.of = top.step.version;
  step.step.edits = job::invert(top.step.edits);
  step.beneath = row.redo_of;
  row.undo_of = top.beneath;
  row.redo_of = row.version + 1;
  return write_step(row, step, text, stamp);
}

Result<Saved> SqliteStore::make_again(DocumentRow& row, const Stamp& stamp) {
  if (row.redo_of == 0)
    return Complaint{row.id,
                     "has nothing to redo",
                     {},
                     "only what was undone last, before any other "
                     "change, can be made again",
                     0};
  const StepRow undo = steps(row.id, row.redo_of - 1, 1, false).at(0);
  const StepRow again = steps(row.id, undo.step.of - 1, 1, false).at(0);
  std::string text = row.text;
  if (!walk_back(text, undo)) return damaged(path_, "the history of " + row.id + " does not join");
  if (again.step.kind == StepKind::removed) row.removed = true;
  StepRow step;
  step.step.kind = StepKind::redone;
  step.step.of = again.step.version;
  step.step.edits = again.step.edits;
  row.undo_of = again.step.version;
  row.redo_of = undo.beneath;
  return write_step(row, step, text, stamp);
}

Result<Saved> SqliteStore::step_back(std::string_view id, int base, const Stamp& stamp,
                                     const char* wanted,
                                     Result<Saved> (SqliteStore::*step)(DocumentRow&,
                                                                        const Stamp&)) {
  return written<Saved>(stamp, [&]() -> Result<Saved> {
    if (const auto before = earlier(stamp)) return Saved{before->version, before->sequence};
    auto found = live_row(id, base);
    if (!found) return found.mistakes();
    if (base < found->version)
      return conflict(*found, base,
                      {{"", "", "version " + std::to_string(found->version), wanted}});
    return (this->*step)(*found, stamp);
  });
}

Result<Saved> SqliteStore::undo(std::string_view id, int base, const Stamp& stamp) {
  return step_back(id, base, stamp, "undo", &SqliteStore::take_back);
}

Result<Saved> SqliteStore::redo(std::string_view id, int base, const Stamp& stamp) {
  return step_back(id, base, stamp, "redo", &SqliteStore::make_again);
}

Result<std::vector<Step>> SqliteStore::history(std::string_view id, int after, std::size_t most) {
  return guarded<std::vector<Step>>([&]() -> Result<std::vector<Step>> {
    const auto found = row(id);
    if (!found) return found.mistakes();
    std::vector<Step> out;
    for (StepRow& step : steps(found->id, after, most, false)) out.push_back(std::move(step.step));
    return out;
  });
}

}  // namespace roomwright::app
