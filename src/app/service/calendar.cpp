// When each live job is built and hung: the calendar of its build stage, worked out once a version
// like any other stage.
#include "app/service/parts.h"

namespace roomwright::app {

namespace {

std::string first_reason(const Worked& worked) {
  if (worked.end != Worked::End::faulty || worked.faults.empty())
    return "It was changed while its parts were counted.";
  const std::size_t more = worked.faults.size() - 1;
  return worked.faults.items()[0].sentence() +
         (more ? " (and " + std::to_string(more) + " more)" : std::string());
}

/// `calendar` and `reason` of a row.
void add_calendar(Desk& desk, const Asked& asked, const std::string& job, Json& row) {
  row["calendar"] = nullptr;
  row["reason"] = "";
  const auto texts = job_texts(desk.store, job, 0);
  if (!texts) {
    row["reason"] = texts.mistakes().items()[0].sentence();
    return;
  }
  row["version"] = texts->version;
  const auto worked = desk.stages.ask(*texts, Work::parts, asked.gone);
  const auto build = worked->texts.find("build");
  if (worked->end != Worked::End::done || build == worked->texts.end()) {
    row["reason"] = first_reason(*worked);
    return;
  }
  const Json tree = Json::parse(build->second, nullptr, false);
  row["calendar"] = tree.value("calendar", Json());
}

}  // namespace

PageAnswer answer_calendar(Desk& desk, const Asked& asked) {
  const auto jobs = job_rows(desk);
  if (!jobs) return refused(500, jobs.mistakes());
  Json out = Json::array();
  for (const Json& job : *jobs) {
    if (asked.gone || desk.closing) return refused(499, "", "was not waited for", "ask again");
    if (job["state"] == "proof" || job["state"] == "sending" || job["state"] == "done") continue;
    Json row = {{"job", job["id"]},        {"version", job["version"]},
                {"title", job["title"]},   {"reference", job["reference"]},
                {"client", job["client"]}, {"state", job["state"]}};
    add_calendar(desk, asked, job["id"].get<std::string>(), row);
    out.push_back(std::move(row));
  }
  return json_answer(out);
}

}  // namespace roomwright::app
