// A client's data: all of it as a folder, and erased on request.
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "core/quantity/quantity.h"
#include "core/reading/reading.h"
#include "job/edits/edits.h"

namespace roomwright::app {

namespace {

constexpr const char* journals[] = {"ticks",      "time",        "notes",       "stock",
                                    "inspection", "certificate", "alternatives"};

/// A name that a disk takes, whatever a person called the file.
std::string safe_name(const StoredFile& file) {
  std::string out = std::to_string(file.id) + "-";
  for (const char sign : file.note.name) {
    const bool plain = static_cast<unsigned char>(sign) >= 0x20 && sign != '/' && sign != '\\' &&
                       sign != ':' && sign != '\x7f';
    out += plain ? sign : '_';
  }
  return out;
}

Result<Done> add_job(Store& store, const std::string& id, std::vector<PackFile>& out) {
  const auto document = store.document(id);
  if (!document) return document.mistakes();
  const auto steps = store.history(id, 0, 1'000'000);
  if (!steps) return steps.mistakes();
  const bool json = !document->text.empty() && document->text[0] == '{';
  const std::string ending = json ? ".json" : ".toml";
  out.push_back({id + "/" + id + ending, document->text});
  Json history = Json::array();
  for (const Step& step : *steps) {
    history.push_back(step_json(step));
    const auto version = store.document(id, step.version);
    if (!version) return version.mistakes();
    out.push_back({id + "/history/" + std::to_string(step.version) + ending, version->text});
  }
  out.push_back({id + "/history.json", json_text(history) + "\n"});
  for (const char* journal : journals) {
    const auto entries = store.entries(journal, {0, {}, id, 10'000'000});
    if (!entries) return entries.mistakes();
    Json lines = Json::array();
    for (const Entry& entry : *entries) lines.push_back(entry_json(entry));
    if (!lines.empty()) out.push_back({id + "/" + journal + ".json", json_text(lines) + "\n"});
  }
  const auto files = store.files(id);
  if (!files) return files.mistakes();
  for (const StoredFile& file : *files) {
    auto bytes = store.file_bytes(file.id);
    if (!bytes) return bytes.mistakes();
    out.push_back({id + "/files/" + safe_name(file), std::move(*bytes)});
  }
  return Done{};
}

/// What the tax office wants of a quote: no name, no room.
std::string kept_for_tax(Store& store, const std::string& id) {
  const auto job = stored_job(store, id);
  Json out = {{"erased", true}, {"kept_for", "tax: quote number, date and totals"}};
  if (!job) {
    out["totals"] = "the job could not be read when it was erased";
    return json_text(out) + "\n";
  }
  out["number"] = job->reference;
  out["revision"] = job->revision;
  out["date"] = job->date;
  const auto treatment = job::placed(*job);
  const auto build =
      treatment ? job::build(*job, *treatment) : Result<job::BuildSheet>(treatment.mistakes());
  const auto price =
      build ? job::price(*job, *treatment, *build) : Result<job::PriceSheet>(build.mistakes());
  if (!price) {
    out["totals"] = "the job could not be priced when it was erased";
    return json_text(out) + "\n";
  }
  const Currency& currency = job->shop.currency;
  out["currency"] = currency.code;
  for (const auto& option : price->quote.options)
    out["totals"].push_back({{"option", option.name},
                             {"net", plain_money(option.net, currency)},
                             {"tax", plain_money(option.tax, currency)},
                             {"total", plain_money(option.total, currency)}});
  return json_text(out) + "\n";
}

}  // namespace

Result<std::vector<std::string>> jobs_of_client(Store& store, std::string_view client) {
  const auto heads = store.documents("job");
  if (!heads) return heads.mistakes();
  std::vector<std::string> out;
  for (const DocumentHead& head : *heads) {
    if (head.erased) continue;
    const auto document = store.document(head.id);
    if (!document) return document.mistakes();
    const auto tree = job::text_tree(document->text);
    if (!tree || !tree->contains("client") || !(*tree)["client"].is_object()) continue;
    const Json& name = (*tree)["client"].value("name", Json());
    if (name.is_string() && name.get<std::string>() == client) out.push_back(head.id);
  }
  if (out.empty())
    return Complaint{"client", "has no job in the store", "\"" + std::string(client) + "\"",
                     "write the name as it stands in the job, under client.name", 0};
  return out;
}

Result<std::vector<PackFile>> client_files(Store& store, const std::vector<std::string>& jobs,
                                           const Watch& watch) {
  std::vector<PackFile> out;
  std::string page =
      "What this shop has of these jobs.\n\n"
      "Each folder is one job: its file as it stands, history/ with every version and history.json "
      "with who changed what and when, files/ with photos, recordings and papers, and what was "
      "written of time, stock, inspections and certificates.\n\n";
  for (std::size_t i = 0; i < jobs.size(); ++i) {
    watch.tick(double(i) / double(jobs.size()), jobs[i]);
    if (auto added = add_job(store, jobs[i], out); !added) return added.mistakes();
    page += jobs[i] + "\n";
  }
  out.insert(out.begin(), {"READ-ME.txt", page});
  return out;
}

Result<ErasedClient> erase_jobs(Store& store, const std::vector<std::string>& jobs,
                                const Stamp& stamp) {
  ErasedClient out;
  for (const std::string& id : jobs) {
    if (const auto document = store.document(id); !document) return document.mistakes();
    out.kept.push_back(kept_for_tax(store, id));
  }
  const Units units;
  const auto released = post_moves(
      store, units,
      [&](const Stock& stock) -> Result<std::vector<shop::Move>> {
        std::vector<shop::Move> moves;
        for (const std::string& id : jobs)
          for (auto& move : shop::release_plan(stock.ledger, id)) moves.push_back(move);
        return moves;
      },
      stamp);
  if (!released) return released.mistakes();
  auto report = store.erase({jobs, out.kept}, stamp);
  if (!report) return report.mistakes();
  out.report = std::move(*report);
  return out;
}

}  // namespace roomwright::app
