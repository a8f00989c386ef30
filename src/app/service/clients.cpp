// A client's data: who there is, all of it as one archive, and taken away for good.
#include <map>

#include "app/service/parts.h"
#include "app/service/tar.h"

namespace roomwright::app {

namespace {

constexpr std::int64_t most_archive_bytes = std::int64_t(1) << 30;

Result<std::map<std::string, Json>> clients_and_jobs(Desk& desk) {
  const auto heads = desk.store.documents("job");
  if (!heads) return heads.mistakes();
  std::map<std::string, Json> out;
  for (const DocumentHead& head : *heads) {
    if (head.erased) continue;
    const auto facts = desk.facts.of(head);
    if (!facts) return facts.mistakes();
    const std::string name = (*facts)["client"];
    if (name.empty()) continue;
    auto& jobs = out.try_emplace(name, Json::array()).first->second;
    jobs.push_back({{"id", head.id},
                    {"title", (*facts)["title"]},
                    {"reference", (*facts)["reference"]},
                    {"date", (*facts)["date"]},
                    {"removed", head.removed}});
  }
  return out;
}

/// The jobs of a client and their alternatives, which say the same of them.
Result<std::vector<std::string>> documents_of_client(Store& store, const std::string& name) {
  auto jobs = jobs_of_client(store, name);
  if (!jobs) return jobs;
  std::vector<std::string> out = *jobs;
  for (const std::string& job : *jobs) {
    const auto more = alternatives_of(store, job);
    if (!more) return more.mistakes();
    out.insert(out.end(), more->begin(), more->end());
  }
  return out;
}

Result<std::int64_t> file_bytes_of(Store& store, const std::vector<std::string>& documents) {
  std::int64_t out = 0;
  for (const std::string& id : documents) {
    const auto files = store.files(id);
    if (!files) return files.mistakes();
    for (const StoredFile& file : *files) out += file.bytes;
  }
  return out;
}

std::string archive_name(const std::string& client) {
  std::string out;
  for (const char sign : client) {
    const bool plain = (sign >= '0' && sign <= '9') || (sign >= 'a' && sign <= 'z') ||
                       (sign >= 'A' && sign <= 'Z');
    if (plain || (!out.empty() && out.back() != '-')) out += plain ? sign : '-';
  }
  return (out.empty() ? "client" : out.substr(0, 60)) + ".tar";
}

/// No work on these jobs while it lives.
class ShutJobs {
 public:
  ShutJobs(StageDesk& desk, std::vector<std::string> jobs) : desk_(desk), jobs_(std::move(jobs)) {
    desk_.shut(jobs_);
  }
  ~ShutJobs() { desk_.open(jobs_); }
  ShutJobs(const ShutJobs&) = delete;
  ShutJobs& operator=(const ShutJobs&) = delete;

 private:
  StageDesk& desk_;
  std::vector<std::string> jobs_;
};

Json erased_json(const std::vector<std::string>& jobs, const ErasedClient& erased) {
  Json kept = Json::array();
  for (std::size_t i = 0; i < jobs.size() && i < erased.kept.size(); ++i)
    kept.push_back({{"job", jobs[i]}, {"text", erased.kept[i]}});
  return {{"jobs", jobs},
          {"kept", kept},
          {"steps", erased.report.steps},
          {"files", erased.report.files},
          {"entries", erased.report.entries},
          {"backups", erased.report.backups},
          {"why_kept",
           "The quote's number, date and totals stay, without a name, because the tax office asks "
           "for them; how long, local law says: ask your accountant."}};
}

}  // namespace

PageAnswer answer_clients(Desk& desk, const Asked&) {
  const auto clients = clients_and_jobs(desk);
  if (!clients) return refused(500, clients.mistakes());
  Json out = Json::array();
  for (const auto& [name, jobs] : *clients) out.push_back({{"name", name}, {"jobs", jobs}});
  return json_answer(out);
}

PageAnswer answer_export_client(Desk& desk, const Asked& asked) {
  const auto documents = documents_of_client(desk.store, asked.word(0));
  if (!documents) return refused(404, documents.mistakes());
  const auto bytes = file_bytes_of(desk.store, *documents);
  if (!bytes) return refused(500, bytes.mistakes());
  if (*bytes > most_archive_bytes)
    return refused(413, asked.word(0), "has more than 1 GB of files",
                   "roomwright store client NAME --out FOLDER writes them one by one");
  const auto files = client_files(desk.store, *documents);
  if (!files) return refused(500, files.mistakes());
  auto archive = tar_bytes(*files, seconds_of(desk.options.now()));
  if (!archive) return refused(500, archive.mistakes());
  PageAnswer out{200, "application/x-tar", std::move(*archive), {}};
  out.headers = {
      {"Content-Disposition", "attachment; filename=\"" + archive_name(asked.word(0)) + "\""},
      {"X-Content-Type-Options", "nosniff"},
      {"Cache-Control", "no-store"}};
  return out;
}

PageAnswer answer_erase_client(Desk& desk, const Asked& asked) {
  Body body(asked);
  const std::string& name = asked.word(0);
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    const std::string confirm = in.text("confirm", "the client's name once more");
    if (!confirm.empty() && confirm != name)
      in.complain("confirm", "is not the client's name", shown(confirm),
                  "write it as it stands in the job");
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  const auto documents = documents_of_client(desk.store, name);
  if (!documents) return refused(404, documents.mistakes());
  const ShutJobs shut(desk.stages, *documents);
  const auto erased = erase_jobs(desk.store, *documents, desk.stamp(asked));
  if (!erased) return refused(500, erased.mistakes());
  desk.journals.forget();
  desk.facts.forget();
  return json_answer(erased_json(*documents, *erased));
}

}  // namespace roomwright::app
