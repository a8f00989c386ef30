// What the office asks for before it decides: what to fill frames with, a trap for a band, places
// where the bass is evener, where sound presses at a frequency. Long work: it tells how far it is,
// and ends when nobody waits for it.
#include "app/service/parts.h"
#include "job/document/document.h"

namespace roomwright::app {

namespace {

const std::vector<std::string> advice_kinds = {"fill", "tune", "places", "pressure"};

/// The band of a trap, as the query names it.
Result<design::TrapTarget> trap_target(const Asked& asked) {
  Diagnostics found;
  design::TrapTarget out;
  if (!asked.query_word("hz").empty()) out.hz = double(query_number(asked, "hz", found));
  if (found.empty() && (out.hz < 20 || out.hz > 500))
    found.add("hz", "must be from 20 to 500", asked.query_word("hz"), "such as 63");
  out.half_width_hz = std::clamp(out.hz / 3, 1.0, 20.0);
  if (!found.empty()) return found;
  return out;
}

/// Today and, where there are pieces, with them; the findings' peaks where no frequency is named.
Result<Json> pressed(const job::Job& job, const job::Survey& survey, const Asked& asked,
                     const job::Run& run) {
  Diagnostics found;
  job::PressureOptions options;
  options.treated = true;
  options.loudspeaker = asked.query_word("loudspeaker");
  if (!asked.query_word("hz").empty()) options.hz = {double(query_number(asked, "hz", found))};
  if (!asked.query_word("plane_mm").empty())
    options.plane_m = double(query_number(asked, "plane_mm", found)) / 1000;
  if (!found.empty()) return found;
  const auto placed = job::placed(job);
  if (!placed) return placed.mistakes();
  const auto findings = options.hz.empty() ? job::findings(job, survey, run) : job::Findings();
  const auto report = job::pressure(job, survey, findings, *placed, options, run);
  if (!report) return report.mistakes();
  return pressure_json(*report);
}

/// The answers of `tune` with each trap's block as a tree too, for an edit.
void add_products(Json& result) {
  for (Json& answer : result["answers"]) {
    const auto tree = job::document_tree(answer["toml"].get<std::string>());
    answer["product"] = tree && tree->contains("products") ? (*tree)["products"][0] : Json();
  }
}

Result<Json> advised(const job::Job& job, const std::string& kind, const Asked& asked,
                     const job::Run& run) {
  const job::Survey survey = job::survey(job);
  if (kind == "fill") {
    const auto findings = job::findings(job, survey, {run.watch, run.keep, false});
    const auto report = job::fill(job, survey, findings, {}, run.watch);
    if (!report) return report.mistakes();
    return fill_json(job, *report);
  }
  if (kind == "tune") {
    const auto target = trap_target(asked);
    if (!target) return target.mistakes();
    const auto report = job::tune(job, survey, *target, run.watch);
    if (!report) return report.mistakes();
    Json out = tune_json(job, *report);
    add_products(out);
    return out;
  }
  if (kind == "pressure") return pressed(job, survey, asked, run);
  const auto placed = job::placed(job);
  if (!placed) return placed.mistakes();
  const auto report = job::places(job, survey, *placed, {}, run);
  if (!report) return report.mistakes();
  return places_json(*report);
}

}  // namespace

PageAnswer answer_advice(Desk& desk, const Asked& asked) {
  const std::string &id = asked.word(0), &kind = asked.word(1);
  if (std::find(advice_kinds.begin(), advice_kinds.end(), kind) == advice_kinds.end())
    return refused(404, kind, "is nothing that can be asked for",
                   nearest(kind, advice_kinds).value_or("fill"));
  if (auto refusal = desk.missing(id)) return *refusal;
  const auto texts = job_texts(desk.store, id, 0);
  if (!texts) return refused(404, texts.mistakes());
  const auto job = read_texts(*texts);
  if (!job) return refused(422, job.mistakes());
  if (job->order) return refused(422, kind, "needs a room, and this document is an order");
  job::Run run;
  std::atomic<int> last = -1;
  run.keep = desk.solutions;
  run.watch.cancel = &asked.gone;
  run.watch.progress = [&](double share, std::string_view doing) {
    const int hundredth = int(share * 100);
    if (asked.gone || last.exchange(hundredth) == hundredth) return;
    desk.listeners.progress({id, texts->version, kind, share, std::string(doing)});
  };
  const auto result = advised(*job, kind, asked, run);
  if (asked.gone) return refused(499, "", "was not waited for", "ask again");
  if (!result) return refused(422, result.mistakes());
  return json_answer({{"version", texts->version}, {"kind", kind}, {"result", *result}});
}

}  // namespace roomwright::app
