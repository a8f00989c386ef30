// Stages and papers of a version.
#include "app/service/parts.h"

namespace roomwright::app {

PageAnswer answer_worked(const Worked& worked) {
  switch (worked.end) {
    case Worked::End::faulty:
      return refused(422, worked.faults);
    case Worked::End::superseded:
      return refused(499, "version", "another version was asked for meanwhile", "ask for that one");
    case Worked::End::closing:
      return refused(503, "", "the program is closing", "start it again");
    default:
      return refused(499, "", "was not waited for", "ask again");
  }
}

namespace {

/// The texts of a job as the request names it, or why not.
struct AskedJob {
  std::optional<JobTexts> texts;
  PageAnswer refusal;
};

AskedJob asked_job(Desk& desk, const Asked& asked) {
  AskedJob out;
  const auto version = asked_version(asked);
  if (!version) {
    out.refusal = refused(400, version.mistakes());
    return out;
  }
  auto texts = job_texts(desk.store, asked.word(0), *version);
  if (texts)
    out.texts = std::move(*texts);
  else
    out.refusal = refused(404, texts.mistakes());
  return out;
}

PageAnswer stage_answer(int version, const std::string& stage, const std::string& result) {
  return {200,
          "application/json",
          "{\"version\":" + std::to_string(version) + ",\"stage\":\"" + stage +
              "\",\"result\":" + result + "}",
          {}};
}

PageAnswer needs_room(const std::string& stage) {
  return refused(422, stage, "needs a room, and this document is an order",
                 "order, build, price and pack work without one");
}

/// At once: nothing of it takes long.
PageAnswer survey_answer(const JobTexts& texts) {
  const auto job = read_texts(texts);
  if (!job) return refused(422, job.mistakes());
  if (job->order) return needs_room("survey");
  job::Pack pack;
  pack.survey = job::survey(*job);
  return stage_answer(texts.version, "survey", json_text(stage_json(*job, pack, "survey"), -1));
}

/// Papers that say what is paid: 01-quote, 08-purchase, 09-costing.
bool tells_money(const std::string& paper) {
  return paper.find("quote") != std::string::npos || paper.find("purchase") != std::string::npos ||
         paper.find("costing") != std::string::npos;
}
/// What is paid for material is the office's: a bench or a site gets the build without it.
void leave_out_costs(Json& tree) {
  if (tree.is_object()) {
    if (tree.erase("cost") > 0 && tree.contains("bound") && tree["bound"].is_string())
      tree.erase("bound");  // of sticks the bound is money too
    for (auto& [key, value] : tree.items()) leave_out_costs(value);
  } else if (tree.is_array()) {
    for (Json& value : tree) leave_out_costs(value);
  }
}

std::string for_role(Role role, const std::string& stage, const std::string& result) {
  if (role == Role::office || stage != "build") return result;
  Json tree = Json::parse(result, nullptr, false);
  leave_out_costs(tree);
  return json_text(tree, -1);
}

PageAnswer not_for_you(const std::string& what) {
  return refused(403, what, "is the office's alone", "ask the office");
}

}  // namespace

PageAnswer answer_stage(Desk& desk, const Asked& asked) {
  const std::string& stage = asked.word(1);
  if (stage == "price" && asked.admission.role != Role::office) return not_for_you(stage);
  const auto& names = stage_names();
  if (std::find(names.begin(), names.end(), stage) == names.end())
    return refused(404, stage, "is no stage", nearest(stage, names).value_or("survey"));
  const AskedJob job = asked_job(desk, asked);
  if (!job.texts) return job.refusal;
  if (stage == "survey") return survey_answer(*job.texts);
  const auto worked = desk.stages.ask(*job.texts, work_of_stage(stage), asked.gone);
  if (worked->end != Worked::End::done) return answer_worked(*worked);
  const auto found = worked->texts.find(stage);
  if (found == worked->texts.end()) return needs_room(stage);
  return stage_answer(job.texts->version, stage,
                      for_role(asked.admission.role, stage, found->second));
}

PageAnswer answer_papers(Desk& desk, const Asked& asked) {
  AskedJob job = asked_job(desk, asked);
  if (!job.texts) return job.refusal;
  job.texts->recordings = recordings_for_papers(desk, job.texts->id);
  const auto worked = desk.stages.ask(*job.texts, Work::papers, asked.gone);
  if (worked->end != Worked::End::done) return answer_worked(*worked);
  Json out = Json::array();
  for (const auto& [name, bytes] : worked->texts) {
    if (asked.admission.role != Role::office && tells_money(name)) continue;
    std::string title = name.substr(name.find('-') + 1);
    title.resize(title.size() - 4);
    std::replace(title.begin(), title.end(), '-', ' ');
    out.push_back({{"name", name}, {"title", title}, {"bytes", bytes.size()}});
  }
  return json_answer(out);
}

PageAnswer answer_paper(Desk& desk, const Asked& asked) {
  if (asked.admission.role != Role::office && tells_money(asked.word(1)))
    return not_for_you(asked.word(1));
  AskedJob job = asked_job(desk, asked);
  if (!job.texts) return job.refusal;
  job.texts->recordings = recordings_for_papers(desk, job.texts->id);
  const auto worked = desk.stages.ask(*job.texts, Work::papers, asked.gone);
  if (worked->end != Worked::End::done) return answer_worked(*worked);
  const auto found = worked->texts.find(asked.word(1));
  if (found == worked->texts.end())
    return refused(404, asked.word(1), "is not a paper of this job", "look at the list of papers");
  PageAnswer out{200, "application/pdf", found->second, {}};
  out.headers.emplace_back("Content-Disposition", "inline; filename=\"" + found->first + "\"");
  return out;
}

}  // namespace roomwright::app
