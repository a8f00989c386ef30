// Other texts of a job, side by side with it. Each is a document of kind `alternative`; the journal
// `alternatives` says of which job, under which name, and from which version it was copied.
#include "app/service/parts.h"

namespace roomwright::app {

namespace {

constexpr const char* alternatives_journal = "alternatives";
constexpr std::size_t most_alternatives = 50;

struct AlternativeOf {
  std::string id, name;
  int of = 0;
};

Result<std::vector<AlternativeOf>> read_alternatives(Store& store, const std::string& job) {
  EntryFilter filter;
  filter.document = job;
  const auto entries = store.entries(alternatives_journal, filter);
  if (!entries) return entries.mistakes();
  std::vector<AlternativeOf> out;
  for (const Entry& entry : *entries) {
    const Json body = Json::parse(entry.body, nullptr, false);
    if (!body.is_object()) continue;
    const bool twice = std::any_of(
        out.begin(), out.end(), [&](const AlternativeOf& one) { return one.id == entry.subject; });
    if (!twice) out.push_back({entry.subject, body.value("name", ""), body.value("of", 0)});
  }
  return out;
}

/// A live job of kind `job`, or why there is none.
std::optional<PageAnswer> no_job(Desk& desk, const std::string& id) {
  if (auto refusal = desk.missing(id)) return refusal;
  const auto document = desk.store.document(id);
  if (document && document->head.kind == "job") return std::nullopt;
  return refused(404, id, "is no job", "look at the list of jobs");
}

/// The alternative that the request names, if it is one of the job.
std::optional<PageAnswer> no_alternative(Desk& desk, const std::string& job,
                                         const std::string& id) {
  const auto all = read_alternatives(desk.store, job);
  if (!all) return refused(500, all.mistakes());
  const bool there =
      std::any_of(all->begin(), all->end(), [&](const AlternativeOf& one) { return one.id == id; });
  if (there) return desk.missing(id);
  return refused(404, id, "is no alternative of this job", "look at the list of alternatives");
}

}  // namespace

Result<std::vector<std::string>> alternatives_of(Store& store, const std::string& job) {
  const auto all = read_alternatives(store, job);
  if (!all) return all.mistakes();
  std::vector<std::string> out;
  for (const AlternativeOf& one : *all)
    if (const auto document = store.document(one.id); document && !document->head.erased)
      out.push_back(one.id);
  return out;
}

PageAnswer answer_alternatives(Desk& desk, const Asked& asked) {
  if (auto refusal = no_job(desk, asked.word(0))) return *refusal;
  const auto all = read_alternatives(desk.store, asked.word(0));
  if (!all) return refused(500, all.mistakes());
  Json out = Json::array();
  for (const AlternativeOf& one : *all) {
    const auto document = desk.store.document(one.id);
    if (!document || document->head.removed || document->head.erased) continue;
    out.push_back({{"id", one.id},
                   {"name", one.name},
                   {"version", document->head.version},
                   {"of", one.of},
                   {"who", document->head.who},
                   {"when", document->head.when}});
  }
  return json_answer(out);
}

PageAnswer answer_add_alternative(Desk& desk, const Asked& asked) {
  Body body(asked);
  std::string name, token;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    name = in.text("name", "such as: with the deeper traps", 120);
    token = read_token(in);
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  const std::string& job = asked.word(0);
  if (auto refusal = no_job(desk, job)) return *refusal;
  const auto before = read_alternatives(desk.store, job);
  if (!before) return refused(500, before.mistakes());
  if (before->size() >= most_alternatives)
    return refused(422, "name", "would be one more than a job may have", "take one away");
  const auto document = desk.store.document(job);
  if (!document) return refused(404, document.mistakes());
  auto made =
      create_named(desk, job.substr(0, 56) + "-alternative", "alternative", document->text,
                   desk.stamp(asked, token),
                   "copied from version " + std::to_string(document->version) + ": " + name);
  if (!made) return refused(422, made.mistakes());
  const Json entry = {{"name", name}, {"of", document->version}};
  const auto noted = desk.store.append(alternatives_journal, std::nullopt,
                                       {{made->first, job, json_text(entry, -1)}},
                                       desk.stamp(asked, token + "\nname"));
  if (!noted) return refused(500, noted.mistakes());
  return json_answer({{"id", made->first}, {"saved", contract_saved(made->second)}}, 201);
}

PageAnswer answer_take_alternative(Desk& desk, const Asked& asked) {
  const auto body = read_base(asked);
  if (!body) return refused(400, body.mistakes());
  if (auto refusal = no_job(desk, asked.word(0))) return *refusal;
  if (auto refusal = no_alternative(desk, asked.word(0), asked.word(1))) return *refusal;
  const auto alternative = desk.store.document(asked.word(1));
  if (!alternative) return refused(404, alternative.mistakes());
  const auto saved =
      desk.store.replace(asked.word(0), body->base, alternative->text,
                         desk.stamp(asked, body->token), "taken from " + asked.word(1));
  return saved ? saved_answer(*saved) : refused(422, saved.mistakes());
}

PageAnswer answer_remove_alternative(Desk& desk, const Asked& asked) {
  if (auto refusal = no_job(desk, asked.word(0))) return *refusal;
  if (auto refusal = no_alternative(desk, asked.word(0), asked.word(1))) return *refusal;
  const auto document = desk.store.document(asked.word(1));
  if (!document) return refused(404, document.mistakes());
  const auto saved = desk.store.remove(asked.word(1), document->head.version, desk.stamp(asked));
  return saved ? saved_answer(*saved) : refused(422, saved.mistakes());
}

}  // namespace roomwright::app
