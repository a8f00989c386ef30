// The store's answers as JSON, and documents that come from files.
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "job/edits/edits.h"

namespace roomwright::app {

namespace {

/// A JSON text as a value; null where it is empty.
Json value_of(const std::string& json) {
  return json.empty() ? Json() : Json::parse(json, nullptr, false);
}

std::string kind_of(const Json& tree) {
  if (tree.contains("room")) return "job";
  return tree.contains("timber") || tree.contains("terms") ? "shop" : "other";
}

}  // namespace

Json head_json(const DocumentHead& head) {
  return {{"id", head.id},
          {"kind", head.kind},
          {"version", head.version},
          {"removed", head.removed},
          {"erased", head.erased},
          {"can_undo", head.can_undo},
          {"can_redo", head.can_redo},
          {"who", head.who},
          {"when", head.when}};
}

Json step_json(const Step& step) {
  Json out = {{"version", step.version},
              {"sequence", step.sequence},
              {"kind", step_kind_names()[std::size_t(step.kind)]},
              {"who", step.who},
              {"when", step.when},
              {"edits", job::edits_json(step.edits)}};
  if (step.of) out["of"] = step.of;
  if (!step.note.empty()) out["note"] = step.note;
  if (!step.layout_kept) out["layout_kept"] = false;
  return out;
}

Json saved_json(const Saved& saved) {
  Json out = {{"version", saved.version},   {"sequence", saved.sequence},
              {"merged", saved.merged},     {"layout_kept", saved.layout_kept},
              {"conflicts", Json::array()}, {"since", Json::array()}};
  for (const job::Conflict& one : saved.conflicts) {
    const auto told = [](const std::string& text) {
      const Json value = value_of(text);
      return value.is_discarded() ? Json(text) : value;
    };
    out["conflicts"].push_back(
        {{"at", one.at}, {"was", told(one.was)}, {"now", told(one.now)}, {"mine", told(one.mine)}});
  }
  for (const Step& step : saved.since) out["since"].push_back(step_json(step));
  return out;
}

Json file_json(const StoredFile& file) {
  return {{"id", file.id},
          {"name", file.note.name},
          {"kind", file.note.kind},
          {"document", file.note.document},
          {"piece", file.note.piece},
          {"place", file.note.place},
          {"sha256", file.sha256},
          {"bytes", file.bytes},
          {"who", file.who},
          {"when", file.when},
          {"removed", file.removed}};
}

Json entry_json(const Entry& entry) {
  return {{"number", entry.number},      {"subject", entry.subject},
          {"document", entry.document},  {"who", entry.who},
          {"when", entry.when},          {"sequence", entry.sequence},
          {"body", value_of(entry.body)}};
}

Json check_json(const CheckReport& report) {
  Json out = json_of(report.faults);
  out["schema"] = report.schema;
  out["documents"] = report.documents;
  out["steps"] = report.steps;
  out["files"] = report.files;
  out["entries"] = report.entries;
  out["bytes"] = report.bytes;
  return out;
}

Result<Saved> import_text(Store& store, std::string_view id, std::string_view text,
                          const Stamp& stamp, std::string_view note) {
  const auto tree = job::text_tree(text);
  if (!tree) return tree.mistakes();
  const auto heads = store.documents();
  if (!heads) return heads.mistakes();
  for (const DocumentHead& head : *heads)
    if (head.id == id) return store.replace(id, head.version, text, stamp, note);
  return store.create(id, kind_of(*tree), text, stamp, note);
}

Result<job::Job> stored_job(Store& store, std::string_view id) {
  auto document = store.document(id);
  if (!document) return document.mistakes();
  if (document->head.erased)
    return Complaint{
        std::string(id), "was erased", {}, "what had to be kept stands in its text", 0};
  const auto shop = job::shop_file_of(document->text);
  if (!shop) return shop.mistakes();
  auto book = store.document(*shop);
  if (!book)
    return Complaint{std::string(id) + ".shop", "names a shop file that is not in the store",
                     "\"" + *shop + "\"", "roomwright store import " + *shop, 0};
  return job::read_job({std::move(document->text), std::move(book->text)});
}

Result<BuiltJob> build_stored(Store& store, std::string_view id, const shop::Ledger* ledger,
                              const Watch& watch, bool own_only) {
  auto read = stored_job(store, id);
  if (!read) return read.mistakes();
  if (ledger) read->shop = shop::shop_with_stock(read->shop, *ledger, std::string(id), own_only);
  auto treatment = job::placed(*read);
  if (!treatment) return treatment.mistakes();
  auto build = job::build(*read, *treatment, watch);
  if (!build) return build.mistakes();
  return BuiltJob{std::move(*read), std::move(*treatment), std::move(*build)};
}

}  // namespace roomwright::app
