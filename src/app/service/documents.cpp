// Documents: trees and texts, edits, undo and redo, history.
#include "app/service/parts.h"
#include "job/edits/edits.h"

namespace roomwright::app {

std::optional<PageAnswer> Desk::missing(const std::string& id) const {
  const auto found = store.document(id);
  if (found) return std::nullopt;
  return refused(404, found.mistakes());
}

PageAnswer answer_document(Desk& desk, const Asked& asked) {
  Diagnostics found;
  const auto version = query_number(asked, "version", found);
  if (!found.empty()) return refused(400, found);
  const auto document = desk.store.document(asked.word(0), int(version));
  if (!document) return refused(404, document.mistakes());
  const auto tree = job::text_tree(document->text);
  if (!tree) return refused(500, tree.mistakes());
  return json_answer({{"head", head_json(document->head)},
                      {"version", document->version},
                      {"tree", *tree},
                      {"format", document->text.starts_with('{') ? "json" : "toml"}});
}

PageAnswer answer_edit(Desk& desk, const Asked& asked) {
  const auto body = parse_json(asked.body);
  if (!body) return refused(400, body.mistakes());
  Diagnostics found;
  Reader in(*body, "", found);
  const int base = int(in.whole("base", 1, 1'000'000'000));
  const std::string note = in.text_or("note", "", 500);
  const std::string token = in.text("token", {}, 200);
  const Json* list = in.required("edits");
  in.finish();
  auto edits = list ? job::read_edits(*list) : Result<job::Edits>(job::Edits{});
  if (!edits) found.add_all(edits.mistakes());
  if (!found.empty()) return refused(400, found);
  if (auto refusal = desk.missing(asked.word(0))) return *refusal;
  const auto saved = desk.store.edit(asked.word(0), base, *edits, desk.stamp(asked, token), note);
  if (!saved) return refused(422, saved.mistakes());
  return saved_answer(*saved);
}

}  // namespace roomwright::app
