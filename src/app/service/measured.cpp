// What was measured in a room before and after hanging: recordings of the job (files of kind
// `recording`, their place says `before`, `after` or `sweep`), the newest of each evaluated, and
// what they say beside what was promised. Each is evaluated once for its bytes and this build.
#include <cmath>

#include "app/service/parts.h"
#include "core/quantity/quantity.h"

namespace roomwright::app {

namespace {

/// The newest recording of a job that is not put away, by its place.
Result<std::map<std::string, StoredFile>> recordings_of(Store& store, const std::string& job) {
  const auto files = store.files(job);
  if (!files) return files.mistakes();
  std::map<std::string, StoredFile> out;
  for (const StoredFile& file : *files)
    if (!file.removed && file.note.kind == "recording") out[file.note.place] = file;
  return out;
}

/// Errors of the recording are part of what is told of it: `fault`.
Json evaluated(Desk& desk, const StoredFile& file, const StoredFile* sweep) {
  const std::string key = "measured 1\n" + build_of_program() + "\n" + file.sha256 +
                          (sweep ? "\n" + sweep->sha256 : std::string());
  Json out;
  if (const auto before = desk.store.kept(key)) out = Json::parse(*before, nullptr, false);
  if (!out.is_object()) {
    const auto bytes = desk.store.file_bytes(file.id);
    const auto played = sweep ? desk.store.file_bytes(sweep->id) : Result<std::string>("");
    auto made = bytes && played ? measured_json(*bytes, file.note.name, *played,
                                                sweep ? sweep->note.name : std::string())
                                : Result<Json>((bytes ? played : bytes).mistakes());
    out = made ? std::move(*made)
               : Json{{"seconds", 0},
                      {"bands", Json::array()},
                      {"levels", Json::array()},
                      {"fault", made.mistakes().items()[0].sentence()}};
    if (made) desk.store.keep(key, json_text(out, -1));
  }
  if (!out.contains("fault")) out["fault"] = "";
  out["file"] = file.id;
  out["name"] = file.note.name;
  out["who"] = file.who;
  out["when"] = file.when;
  return out;
}

// ---- what it says -------------------------------------------------------------------------------

std::string seconds(double value) {
  return fixed(value, 2) + " s";
}

std::string hertz(double hz) {
  return hz >= 1000 ? fixed(hz / 1000, 0) + " kHz" : shortest(hz) + " Hz";
}

Json said(double weight, const std::string& sentence, const std::string& cause = {},
          const std::string& next = {}) {
  return {{"weight", weight},
          {"topic", "measured"},
          {"sentence", sentence},
          {"cause", cause},
          {"next", next}};
}

/// T20 of an octave, where it may be trusted.
std::optional<double> rings(const Json& side, double hz) {
  for (const Json& band : side["bands"])
    if (band["hz"] == hz && band["t20_s"]["valid"] == true)
      return band["t20_s"]["value"].get<double>();
  return std::nullopt;
}

/// Mean of 500 Hz and 1 kHz, where both may be trusted.
std::optional<double> middle(const Json& side) {
  if (!side.is_object()) return std::nullopt;
  const auto low = rings(side, 500), high = rings(side, 1000);
  return low && high ? std::optional((*low + *high) / 2) : std::nullopt;
}

/// The farthest that a third octave from 200 Hz to 4 kHz lies from their mean.
std::optional<double> unevenness(const Json& side) {
  if (!side.is_object() || side["levels"].empty()) return std::nullopt;
  double most = 0;
  for (const Json& level : side["levels"])
    if (level["hz"] >= 200 && level["hz"] <= 4000)
      most = std::max(most, std::abs(level["level_db"].get<double>()));
  return most;
}

void say_middle(const Json& before, const Json& after, Json& out) {
  const auto was = middle(before), is = middle(after);
  if (was && is)
    out.push_back(said(60, "Measured, the room rings for " + seconds(*is) +
                               " at 500 Hz and 1 kHz (T20); before hanging it rang for " +
                               seconds(*was) + "."));
  else if (is || was)
    out.push_back(said(
        60, std::string(is ? "Measured after hanging, " : "Measured before hanging, ") +
                "the room rings for " + seconds(is ? *is : *was) + " at 500 Hz and 1 kHz (T20)."));
  const auto rough = unevenness(before), even = unevenness(after);
  if (even)
    out.push_back(said(30, "From 200 Hz to 4 kHz the third octaves lie within " + fixed(*even, 1) +
                               " dB of their mean" +
                               (rough ? ", " + fixed(*rough, 1) + " dB before" : "") +
                               "; within 3 dB is wanted."));
}

/// Band by band against what was promised.
void say_promise(const Json& after, const Json& predicted, Json& out) {
  int kept = 0, compared = 0;
  std::string misses;
  for (const Json& row : predicted) {
    const double hz = row["hz"].get<double>();
    const auto is = rings(after, hz);
    if (!is) continue;
    const double low = row["low_s"].get<double>(), high = row["high_s"].get<double>();
    ++compared;
    // As they are printed: nobody is told that 0.34 s is not 0.25 to 0.34 s.
    const auto printed = [](double value) { return std::lround(value * 100); };
    if (printed(*is) >= printed(low) && printed(*is) <= printed(high)) {
      ++kept;
      continue;
    }
    misses += (misses.empty() ? "at " : "; at ") + hertz(hz) + " " + seconds(*is) + " instead of " +
              fixed(low, 2) + " to " + seconds(high);
  }
  if (compared == 0) return;
  out.push_back(said(kept == compared ? 10 : 55,
                     kept == compared
                         ? "All " + std::to_string(compared) +
                               " octaves that could be measured are within what was promised."
                         : std::to_string(kept) + " of " + std::to_string(compared) +
                               " octaves that could be measured are within what was promised."));
  if (!misses.empty())
    out.push_back(said(50, "Not as promised: " + misses + ".", "",
                       "measure those bands once more before a panel is added or moved"));
}

/// Bands that a recording does not tell, those of one reason together.
void say_limits(const Json& side, const std::string& which, Json& out) {
  if (!side.is_object()) return;
  if (const std::string fault = side["fault"]; !fault.empty())
    out.push_back(said(70, "The recording " + which + " says nothing: " + fault + ".", "",
                       "choose another file"));
  for (const Json& band : side["bands"])
    if (band["t20_s"]["valid"] == false)
      out.push_back(said(20, "At " + hertz(band["hz"].get<double>()) + " the recording " + which +
                                 " does not tell how long it rings: " +
                                 band["t20_s"]["reason"].get<std::string>() + "."));
}

Json statements_of(const Json& before, const Json& after, const Json& predicted) {
  Json out = Json::array();
  if (before.is_null() && after.is_null())
    out.push_back(said(0, "Nothing is measured yet.", "",
                       "put in the recordings of before and after hanging"));
  say_middle(before, after, out);
  if (after.is_object()) say_promise(after, predicted, out);
  say_limits(before, "before hanging", out);
  say_limits(after, "after hanging", out);
  return out;
}

/// What the proof promises for each octave; empty where it is not worked out.
Json promised(Desk& desk, const JobTexts& texts, const std::atomic<bool>& gone) {
  const auto worked = desk.stages.ask(texts, Work::sound, gone);
  const auto proof = worked->texts.find("proof");
  if (worked->end != Worked::End::done || proof == worked->texts.end()) return Json::array();
  return Json::parse(proof->second, nullptr, false).value("predicted", Json::array());
}

}  // namespace

std::string recordings_for_papers(Desk& desk, const std::string& job) {
  const auto recordings = recordings_of(desk.store, job);
  if (!recordings) return {};
  const auto sweep = recordings->find("sweep");
  Json out = Json::object();
  for (const char* place : {"before", "after"}) {
    const auto file = recordings->find(place);
    if (file == recordings->end()) continue;
    const Json told =
        evaluated(desk, file->second, sweep == recordings->end() ? nullptr : &sweep->second);
    if (told["fault"] == "")
      out[place] = {{"name", file->second.note.name},
                    {"measured", {{"bands", told["bands"]}, {"levels", told["levels"]}}}};
  }
  return out.empty() ? std::string() : json_text(out, -1);
}

PageAnswer answer_measured(Desk& desk, const Asked& asked) {
  const std::string& id = asked.word(0);
  if (auto refusal = desk.missing(id)) return *refusal;
  const auto texts = job_texts(desk.store, id, 0);
  if (!texts) return refused(404, texts.mistakes());
  const auto recordings = recordings_of(desk.store, id);
  if (!recordings) return refused(500, recordings.mistakes());
  const auto at = [&](const char* place) -> const StoredFile* {
    const auto found = recordings->find(place);
    return found == recordings->end() ? nullptr : &found->second;
  };
  const StoredFile* sweep = at("sweep");
  const auto side = [&](const char* place) {
    const StoredFile* file = at(place);
    return file ? evaluated(desk, *file, sweep) : Json();
  };
  const Json before = side("before"), after = side("after");
  const Json predicted = after.is_object() ? promised(desk, *texts, asked.gone) : Json::array();
  return json_answer({{"before", before},
                      {"after", after},
                      {"sweep", sweep ? Json(sweep->note.name) : Json()},
                      {"statements", statements_of(before, after, predicted)}});
}

}  // namespace roomwright::app
