// The list of jobs, what the page needs first, and new jobs.
#include "app/service/parts.h"
#include "job/edits/edits.h"

namespace roomwright::app {

PageAnswer answer_state(Desk& desk, const Asked& asked) {
  const auto sequence = desk.store.sequence();
  const auto heads = desk.store.documents("job");
  if (!sequence) return refused(500, sequence.mistakes());
  if (!heads) return refused(500, heads.mistakes());
  const bool empty = std::none_of(heads->begin(), heads->end(), [](const DocumentHead& one) {
    return !one.removed && !one.erased;
  });
  return json_answer({{"program", desk.options.program},
                      {"sequence", *sequence},
                      {"empty", empty},
                      {"role", role_names()[std::size_t(asked.admission.role)]},
                      {"who", asked.admission.who},
                      {"lan", !desk.options.lan_address.empty()}});
}

PageAnswer answer_jobs(Desk& desk, const Asked&) {
  const auto heads = desk.store.documents("job");
  if (!heads) return refused(500, heads.mistakes());
  Json out = Json::array();
  for (const DocumentHead& head : *heads) {
    if (head.removed || head.erased) continue;
    const auto document = desk.store.document(head.id);
    const auto tree = document ? job::text_tree(document->text) : Result<Json>(document.mistakes());
    if (!tree) continue;
    const auto word = [&](const char* key) {
      return tree->contains(key) && (*tree)[key].is_string() ? (*tree)[key].get<std::string>() : "";
    };
    out.push_back({{"id", head.id},
                   {"version", head.version},
                   {"title", word("title")},
                   {"reference", word("reference")},
                   {"revision", word("revision")},
                   {"date", word("date")},
                   {"client", ""},
                   {"state", "survey"},
                   {"pieces", 0},
                   {"pieces_done", 0},
                   {"pieces_hung", 0},
                   {"when", head.when},
                   {"who", head.who}});
  }
  return json_answer(out);
}

}  // namespace roomwright::app
