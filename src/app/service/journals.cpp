// Journals: what is ticked, timed and noted at the bench and on site, and the office's entries of
// stock, inspections and certificates. An entry's own token stands in its body, so that what is
// sent again is not written twice, however much later.
#include "app/service/parts.h"
#include "shop/ledger/ledger.h"
#include "shop/parts/parts.h"

namespace roomwright::app {

// ---- what was read so far -----------------------------------------------------------------------

void JournalBook::note(const std::string& name, const Entry& entry) {
  const Json body = Json::parse(entry.body, nullptr, false);
  if (!body.is_object()) return;
  const auto text = [&](const char* key) { return text_at(body, key); };
  if (const std::string token = text("token"); !token.empty()) journals_[name].tokens.insert(token);
  if (name != "ticks" || entry.document.empty()) return;
  const std::string at = text("at");
  Tick& tick = ticks_[entry.document][text("step")];
  const auto done = body.find("done");
  if (at >= tick.at) tick = {at, done != body.end() && *done == true};
}

Result<JournalBook::Journal*> JournalBook::read_on(const std::string& name) {
  Journal& journal = journals_[name];
  EntryFilter filter;
  filter.after = journal.read_to;
  filter.most = 100'000'000;
  const auto fresh = store_.entries(name, filter);
  if (!fresh) return fresh.mistakes();
  for (const Entry& entry : *fresh) {
    note(name, entry);
    journal.read_to = entry.number;
  }
  return &journal;
}

Result<std::set<std::string>> JournalBook::done_steps(const std::string& job) {
  const std::lock_guard lock(mutex_);
  if (const auto read = read_on("ticks"); !read) return read.mistakes();
  std::set<std::string> out;
  for (const auto& [step, tick] : ticks_[job])
    if (tick.done) out.insert(step);
  return out;
}

Result<bool> JournalBook::knows(const std::string& journal, const std::string& token) {
  const std::lock_guard lock(mutex_);
  const auto read = read_on(journal);
  if (!read) return read.mistakes();
  return (*read)->tokens.contains(token);
}

Result<Appended> JournalBook::append(const std::string& name, std::optional<std::int64_t> expected,
                                     std::vector<WithToken> entries, const Stamp& stamp) {
  const std::lock_guard lock(mutex_);
  for (;;) {
    const auto journal = read_on(name);
    if (!journal) return journal.mistakes();
    std::vector<NewEntry> fresh;
    std::set<std::string> mine;
    for (const WithToken& one : entries)
      if (!(*journal)->tokens.contains(one.token) && mine.insert(one.token).second)
        fresh.push_back(one.entry);
    if (fresh.empty()) return Appended{false, (*journal)->read_to, 0};
    if (expected && *expected != (*journal)->read_to) return Appended{true, (*journal)->read_to, 0};
    // As of what was read, so that a token cannot have come in between.
    const auto kept = store_.append(name, (*journal)->read_to, fresh, stamp);
    if (!kept || !kept->refused || expected) return kept;
  }
}

void JournalBook::forget() {
  const std::lock_guard lock(mutex_);
  journals_.clear();
  ticks_.clear();
}

// ---- requests -----------------------------------------------------------------------------------

namespace {

const std::vector<std::string> journal_names = {"ticks", "time",       "notes",
                                                "stock", "inspection", "certificate"};
bool is_journal(const std::string& name) {
  return std::find(journal_names.begin(), journal_names.end(), name) != journal_names.end();
}
/// What is kept as it is said; all else is decided here, by the rack or by the shop's limits.
bool of_the_work(const std::string& name) {
  return name == "ticks" || name == "time" || name == "notes";
}
/// Pieces are inspected where they are made, and the roll's label is read there; the rack is the
/// office's.
bool may_write(Role role, const std::string& name) {
  if (role == Role::office || of_the_work(name)) return true;
  return role == Role::bench && (name == "inspection" || name == "certificate");
}

constexpr std::size_t most_entries = 1000;
constexpr const char* clock_remedy = "such as 2026-11-27T15:04:05Z";

std::vector<std::string> station_keys() {
  return {shop::station_names.begin(), shop::station_names.end()};
}

void read_tick(Reader& in) {
  in.text("step", "the key of the step", 400);
  if (const Json* done = in.required("done"); done && !done->is_boolean())
    in.complain("done", "must be true or false", shown(*done));
  in.text("at", clock_remedy, 40);
}

/// Of rework the station is one of the shop's, so that it can be summed up by it.
void read_time(Reader& in) {
  const bool rework = in.truth_or("rework", false);
  if (rework) {
    in.one_of("station", station_keys());
    in.text("cause", "what the inspection found", 40);
    if (in.tree().value("minutes", Json(1)) == 0)  // nothing cannot be summed up
      in.complain("minutes", "must be above 0 where it is rework", 0.0);
  } else {
    in.text("station", {}, 80);
  }
  in.text_or("piece", "", 120);
  in.text("step", {}, 400);
  in.text("started", clock_remedy, 40);
  in.text("stopped", clock_remedy, 40);
  in.number("minutes", {.at_least = 0, .at_most = 10'000});
  // Of what is noted apart from the plan's steps: set_up.STATION, feature.NAME.
  in.number_or("count", 1, {.above = 0, .at_most = 10'000});
}

void read_note(Reader& in) {
  in.text("text", {}, 2000);
  in.text("at", clock_remedy, 40);
  in.whole_or("file", 0, 0, 1'000'000'000'000);
}

using ReadBody = void (*)(Reader&);
ReadBody body_reader(const std::string& journal) {
  return journal == "ticks" ? read_tick : journal == "time" ? read_time : read_note;
}

struct NewEntries {
  std::optional<std::int64_t> expected;
  std::vector<JournalBook::WithToken> entries;
  std::vector<Json> bodies;
};

void read_entry(const std::string& journal, Reader& in, NewEntries& out) {
  JournalBook::WithToken one;
  one.entry.subject = text_or_none(in, "subject", 120);
  one.entry.document = text_or_none(in, "document", 80);
  one.token = read_token(in);
  in.required_child("body", [&](Reader& body) {
    if (of_the_work(journal)) {
      body_reader(journal)(body);
      body.finish();
    }
    out.bodies.push_back(body.tree());
  });
  in.finish();
  if (out.bodies.size() == out.entries.size()) out.bodies.emplace_back();
  Json kept = out.bodies.back().is_object() ? out.bodies.back() : Json::object();
  kept["token"] = one.token;
  one.entry.body = json_text(kept, -1);
  out.entries.push_back(std::move(one));
}

Result<NewEntries> read_entries(const std::string& journal, const Asked& asked) {
  Body body(asked);
  NewEntries out;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    const Json* expected = in.required("expected", "the last number seen, or null");
    if (expected && !expected->is_null()) out.expected = in.whole("expected", 0, 1'000'000'000'000);
    in.each("entries", 1, most_entries, [&](Reader& entry) { read_entry(journal, entry, out); });
    in.finish();
  }
  if (!body.found.empty()) return body.found;
  return out;
}

Json appended_json(const Appended& kept) {
  return {{"refused", kept.refused}, {"last", kept.last}, {"sequence", kept.sequence}};
}

PageAnswer appended_answer(const Result<Appended>& kept) {
  if (!kept) return refused(422, kept.mistakes());
  return json_answer(appended_json(*kept), kept->refused ? 409 : 200);
}

/// The complaints about a move, at their place in the request.
void add_move_faults(const Diagnostics& faults, std::size_t index, Diagnostics& found) {
  for (Complaint fault : faults.items()) {
    const auto end = fault.where.starts_with("stock[") ? fault.where.find("].") : std::string::npos;
    fault.where = "entries[" + std::to_string(index) + "].body" +
                  (end == std::string::npos ? "" : fault.where.substr(end + 1));
    found.add(std::move(fault));
  }
}

/// Moves as they are kept, decided on the rack as it stands.
struct DecidedMoves {
  std::vector<JournalBook::WithToken> entries;
  std::int64_t last = 0;  ///< of the journal they were decided on
};
Result<DecidedMoves> decide_moves(Desk& desk, const NewEntries& wanted) {
  const auto stock = read_stock(desk.store, {});
  if (!stock) return stock.mistakes();
  shop::Ledger ledger = stock->ledger;
  DecidedMoves out{wanted.entries, stock->last};
  Diagnostics found;
  for (std::size_t i = 0; i < out.entries.size(); ++i) {
    auto& [entry, token] = out.entries[i];
    const auto known = desk.journals.knows("stock", token);
    if (!known) return known.mistakes();
    if (*known) continue;
    Json body = wanted.bodies[i];
    const auto move = read_move({0, {}, entry.document, json_text(body, -1), {}, {}, 0});
    const auto made = move ? ledger.post(*move, {}) : move;
    if (!made) {
      add_move_faults(made.mistakes(), i, found);
      continue;
    }
    if (made->kind == shop::MoveKind::count) body["was"] = made->was;
    body["token"] = token;
    entry.subject = shop::item_name(made->slot);
    entry.body = json_text(body, -1);
  }
  if (!found.empty()) return found;
  return out;
}

PageAnswer append_moves(Desk& desk, const Asked& asked, const NewEntries& wanted) {
  constexpr int most_tries = 50;
  for (int attempt = 0;; ++attempt) {
    auto decided = decide_moves(desk, wanted);
    if (!decided) return refused(422, decided.mistakes());
    const auto kept = desk.journals.append("stock", wanted.expected.value_or(decided->last),
                                           std::move(decided->entries), desk.stamp(asked));
    // Where another move came in between, what was decided may not hold any more.
    const bool again = kept && kept->refused && !wanted.expected && attempt < most_tries;
    if (!again) return appended_answer(kept);
  }
}

std::optional<Length> metres_or_none(Reader& in, const char* key) {
  const auto value = in.optional_number(key, {.at_least = 0, .at_most = 100});
  return value ? std::optional(Length::from_nm(static_cast<long long>(*value * 1e9 + 0.5)))
               : std::nullopt;
}

std::optional<bool> truth_or_none(Reader& in, const char* key) {
  if (!in.has(key)) return std::nullopt;
  return in.truth_or(key, false);
}

InspectedPiece read_inspection(Reader& in, const std::string& label) {
  InspectedPiece piece;
  piece.label = label;
  piece.found.diagonal_a = metres_or_none(in, "diagonal_a_m");
  piece.found.diagonal_b = metres_or_none(in, "diagonal_b_m");
  piece.found.corner_gap = metres_or_none(in, "corner_gap_m");
  piece.found.mass_kg = in.optional_number("mass_kg", {.above = 0, .at_most = 1000});
  piece.found.cloth = truth_or_none(in, "cloth");
  piece.found.staples = truth_or_none(in, "staples");
  piece.found.label = truth_or_none(in, "label");
  piece.found.note = text_or_none(in, "note", 500);
  return piece;
}

Certificate read_certificate(Reader& in, const std::string& piece) {
  Certificate one;
  one.piece = in.has("piece") ? text_or_none(in, "piece", 120) : piece;
  one.material = text_or_none(in, "material", 80);
  one.kind = text_or_none(in, "kind", 40);
  one.says = text_or_none(in, "says", 500);
  one.supplier = text_or_none(in, "supplier", 200);
  one.file = in.whole_or("file", 0, 0, 1'000'000'000);
  return one;
}

/// Jobs with their products, each read once a request.
class BuiltJobs {
 public:
  explicit BuiltJobs(Store& store) : store_(store) {}
  const Result<BuiltJob>& of(const std::string& id) {
    const auto known = built_.find(id);
    return known != built_.end() ? known->second : built_.emplace(id, built(id)).first->second;
  }

 private:
  Result<BuiltJob> built(const std::string& id) const {
    auto job = stored_job(store_, id);
    if (!job) return job.mistakes();
    auto placed = job::placed(*job);
    if (!placed) return placed.mistakes();
    return BuiltJob{std::move(*job), std::move(*placed), {}};
  }
  Store& store_;
  std::map<std::string, Result<BuiltJob>> built_;
};

void add_at(const Diagnostics& faults, const std::string& where, Diagnostics& found) {
  for (Complaint fault : faults.items()) {
    fault.where = where + "." + fault.where;
    found.add(std::move(fault));
  }
}

/// What an entry is kept as; the limits of the shop judge what was measured.
std::optional<Json> decided_body(Desk& desk, BuiltJobs& jobs, const std::string& journal,
                                 const NewEntry& entry, Reader& in, Diagnostics& broken,
                                 Diagnostics& found) {
  const std::string where = in.where();
  if (journal == "certificate") {
    const Certificate one = read_certificate(in, entry.subject);
    in.finish();
    if (!broken.empty()) return std::nullopt;
    if (const auto good = check_certificate(desk.store, one); !good)
      return add_at(good.mistakes(), where, found), std::nullopt;
    return certificate_json(one);
  }
  const std::string at = in.text_or("at", "", 40);
  const InspectedPiece piece = read_inspection(in, entry.subject);
  in.finish();
  if (!broken.empty()) return std::nullopt;
  const auto& built = jobs.of(entry.document);
  if (!built) return found.add_all(built.mistakes()), std::nullopt;
  auto made = judged(*built, piece);
  if (!made) return add_at(made.mistakes(), where, found), std::nullopt;
  Json out = Json::parse(made->body, nullptr, false);
  if (!at.empty()) out["at"] = at;
  return out;
}

/// Inspections and certificates. What was written before is not looked at again.
PageAnswer append_decided(Desk& desk, const Asked& asked, const std::string& journal,
                          NewEntries wanted) {
  Diagnostics broken, found;
  BuiltJobs jobs(desk.store);
  for (std::size_t i = 0; i < wanted.entries.size(); ++i) {
    auto& [entry, token] = wanted.entries[i];
    const auto known = desk.journals.knows(journal, token);
    if (!known) return refused(500, known.mistakes());
    if (*known) continue;
    Reader in(wanted.bodies[i], "entries[" + std::to_string(i) + "].body", broken);
    auto body = decided_body(desk, jobs, journal, entry, in, broken, found);
    if (!body) continue;
    if (journal == "certificate") entry.subject = text_at(*body, "piece");
    (*body)["token"] = token;
    entry.body = json_text(*body, -1);
  }
  if (!broken.empty()) return refused(400, broken);
  if (!found.empty()) return refused(422, found);
  return appended_answer(
      desk.journals.append(journal, wanted.expected, std::move(wanted.entries), desk.stamp(asked)));
}

}  // namespace

PageAnswer answer_entries(Desk& desk, const Asked& asked) {
  if (!is_journal(asked.word(0)))
    return refused(404, asked.word(0), "is no journal",
                   nearest(asked.word(0), journal_names).value_or("ticks"));
  Diagnostics found;
  EntryFilter filter;
  filter.after = query_number(asked, "after", found);
  if (!found.empty()) return refused(400, found);
  if (const std::string document = asked.query_word("document"); !document.empty())
    filter.document = document;
  const auto entries = desk.store.entries(asked.word(0), filter);
  if (!entries) return refused(500, entries.mistakes());
  Json out = Json::array();
  for (const Entry& entry : *entries) {
    Json one = entry_json(entry);
    if (!one["body"].is_object()) one["body"] = Json::object();
    one["body"].erase("token");
    out.push_back(std::move(one));
  }
  return json_answer(out);
}

PageAnswer answer_append(Desk& desk, const Asked& asked) {
  const std::string& journal = asked.word(0);
  if (!is_journal(journal))
    return refused(404, journal, "is no journal",
                   nearest(journal, journal_names).value_or("ticks"));
  if (!may_write(asked.admission.role, journal))
    return refused(403, journal, "is not written by a device of this role", "tell the office");
  auto entries = read_entries(journal, asked);
  if (!entries) return refused(400, entries.mistakes());
  for (const auto& [entry, token] : entries->entries)
    if (!entry.document.empty())
      if (auto refusal = desk.missing(entry.document)) {
        refusal->status = 422;
        return *refusal;
      }
  if (journal == "ticks" && asked.admission.role != Role::office)
    for (std::size_t i = 0; i < entries->bodies.size(); ++i)
      if (text_at(entries->bodies[i], "step") == closing_step)
        return refused(403, "entries[" + std::to_string(i) + "].body.step",
                       "closes the job, which is the office's", "tell the office");
  if (journal == "stock") return append_moves(desk, asked, *entries);
  if (!of_the_work(journal)) return append_decided(desk, asked, journal, std::move(*entries));
  return appended_answer(desk.journals.append(journal, entries->expected,
                                              std::move(entries->entries), desk.stamp(asked)));
}

}  // namespace roomwright::app
