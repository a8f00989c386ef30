// Documents: trees and texts, edits, undo and redo, history.
#include "app/service/parts.h"
#include "job/edits/edits.h"

namespace roomwright::app {

Result<BaseAndToken> read_base(const Asked& asked) {
  Body body(asked);
  BaseAndToken out;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    out.base = int(in.whole("base", 1, 1'000'000'000));
    out.token = read_token(in);
    in.finish();
  }
  if (!body.found.empty()) return body.found;
  return out;
}

namespace {

/// A document of the version that the query names, or why not.
struct AskedDocument {
  std::optional<StoredDocument> document;
  PageAnswer refusal;
};

AskedDocument asked_document(Desk& desk, const Asked& asked) {
  AskedDocument out;
  const auto version = asked_version(asked);
  if (!version) {
    out.refusal = refused(400, version.mistakes());
    return out;
  }
  auto document = desk.store.document(asked.word(0), *version);
  if (!document) {
    out.refusal = refused(404, document.mistakes());
    return out;
  }
  // Bench and site work on jobs; prices, margins and settings are the office's.
  const std::string& kind = document->head.kind;
  if (asked.admission.role != Role::office && kind != "job" && kind != "alternative") {
    out.refusal = refused(403, asked.word(0), "is the office's alone", "ask the office");
    return out;
  }
  out.document = std::move(*document);
  return out;
}

bool is_json(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") != std::string::npos &&
         text[text.find_first_not_of(" \t\r\n")] == '{';
}

using StepBack = Result<Saved> (Store::*)(std::string_view, int, const Stamp&);
PageAnswer step_back(Desk& desk, const Asked& asked, StepBack step) {
  const auto body = read_base(asked);
  if (!body) return refused(400, body.mistakes());
  if (auto refusal = desk.missing(asked.word(0))) return *refusal;
  const auto saved = (desk.store.*step)(asked.word(0), body->base, desk.stamp(asked, body->token));
  return saved ? saved_answer(*saved) : refused(422, saved.mistakes());
}

}  // namespace

PageAnswer answer_documents(Desk& desk, const Asked& asked) {
  const auto heads = desk.store.documents(asked.query_word("kind"));
  if (!heads) return refused(500, heads.mistakes());
  Json out = Json::array();
  for (const DocumentHead& head : *heads) out.push_back(head_json(head));
  return json_answer(out);
}

PageAnswer answer_document(Desk& desk, const Asked& asked) {
  const AskedDocument found = asked_document(desk, asked);
  if (!found.document) return found.refusal;
  const StoredDocument& document = *found.document;
  const auto tree = job::text_tree(document.text);
  if (!tree) return refused(500, tree.mistakes());
  return json_answer({{"head", head_json(document.head)},
                      {"version", document.version},
                      {"tree", *tree},
                      {"format", is_json(document.text) ? "json" : "toml"}});
}

PageAnswer answer_document_text(Desk& desk, const Asked& asked) {
  AskedDocument found = asked_document(desk, asked);
  if (!found.document) return found.refusal;
  return {200, "text/plain; charset=utf-8", std::move(found.document->text), {}};
}

PageAnswer answer_export_job(Desk& desk, const Asked& asked) {
  AskedDocument found = asked_document(desk, asked);
  if (!found.document) return found.refusal;
  const bool json = is_json(found.document->text);
  PageAnswer out{
      200, json ? "application/json" : "application/toml", std::move(found.document->text), {}};
  const std::string ending = json ? ".json" : ".toml";
  const std::string name = asked.word(0).ends_with(ending) ? asked.word(0) : asked.word(0) + ending;
  out.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + name + "\"");
  return out;
}

PageAnswer answer_edit(Desk& desk, const Asked& asked) {
  Body body(asked);
  int base = 0;
  std::string note, token;
  job::Edits edits;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    base = int(in.whole("base", 1, 1'000'000'000));
    note = text_or_none(in, "note", 500);
    token = read_token(in);
    const Json* list = in.required("edits");
    in.finish();
    auto read = list ? job::read_edits(*list) : Result<job::Edits>(job::Edits{});
    if (read)
      edits = std::move(*read);
    else
      body.found.add_all(read.mistakes());
  }
  if (!body.found.empty()) return refused(400, body.found);
  if (auto refusal = desk.missing(asked.word(0))) return *refusal;
  const auto saved = desk.store.edit(asked.word(0), base, edits, desk.stamp(asked, token), note);
  return saved ? saved_answer(*saved) : refused(422, saved.mistakes());
}

PageAnswer answer_replace_document(Desk& desk, const Asked& asked) {
  Body body(asked);
  int base = 0;
  std::string note, token, text;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    base = int(in.whole("base", 1, 1'000'000'000));
    note = text_or_none(in, "note", 500);
    token = read_token(in);
    const Json* given = in.required("text");
    if (given && !given->is_string()) in.complain("text", "must be a text", shown(*given));
    if (given && given->is_string()) text = given->get<std::string>();
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  if (auto refusal = desk.missing(asked.word(0))) return *refusal;
  const auto saved = desk.store.replace(asked.word(0), base, text, desk.stamp(asked, token), note);
  return saved ? saved_answer(*saved) : refused(422, saved.mistakes());
}

PageAnswer answer_remove_document(Desk& desk, const Asked& asked) {
  return step_back(desk, asked, &Store::remove);
}

PageAnswer answer_undo(Desk& desk, const Asked& asked) {
  return step_back(desk, asked, &Store::undo);
}

PageAnswer answer_redo(Desk& desk, const Asked& asked) {
  return step_back(desk, asked, &Store::redo);
}

PageAnswer answer_history(Desk& desk, const Asked& asked) {
  Diagnostics found;
  const auto after = query_number(asked, "after", found);
  if (!found.empty()) return refused(400, found);
  const auto steps = desk.store.history(asked.word(0), int(std::min<std::int64_t>(after, 1 << 30)));
  if (!steps) return refused(404, steps.mistakes());
  Json out = Json::array();
  for (const Step& step : *steps) out.push_back(contract_step(step));
  return json_answer(out);
}

}  // namespace roomwright::app
